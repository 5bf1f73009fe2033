"""A still picture of the bed: shaded wood, thin dark edges, a soft shadow on the floor.

Made pixel by pixel in numpy, so that it needs neither a display nor a graphics
driver. Same pieces, same bytes. The picture is drawn larger (``oversample``)
and brought down, which smooths the edges.

Azimuth of the camera, seen from above (+Z towards the reader):

              90: foot end, +Y
                    |
        180 --- the bed --- 0: +X, the sleeper's right
                    |
             270: head end, -Y
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import cadquery as cq
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from bedmodel.bed import Piece
from bedmodel.errors import InputError
from bedmodel.exports import edges, scene
from bedmodel.exports.light import Daylight, Shadows, lamps
from bedmodel.exports.raster import NOTHING, Singles, View
from bedmodel.exports.scene import FLOOR, FLOOR_REACH, Buffers, Scene

Colour = tuple[float, float, float]
Bytes = NDArray[np.uint8]

_MARGIN = 0.07  # of the picture's width or height, whichever is less
_KEY_TURN_DEG, _KEY_ELEVATION_DEG = -32.0, 50.0  # the key light, round from the camera
_KEY_TINT: Colour = (1.05, 1.0, 0.93)
_SKY_TINT: Colour = (0.96, 1.0, 1.06)
_LINE: Colour = (0.17, 0.11, 0.07)
_PALE: Colour = (0.91, 0.91, 0.90)
_PALE_LINE: Colour = (0.56, 0.56, 0.55)
_PALE_LIFT = 0.6
_WHITE: Colour = (1.0, 1.0, 1.0)
_FLOOR_LOSS = np.array((0.62, 0.66, 0.70), dtype=np.float32)  # a warm shadow on the floor
_FLOOR_KEY = 0.4  # share of the key light's shadow in the floor's; the rest is the sky's
_FLOOR_CLEAN = 0.015  # a shade as faint as this is left white
_FLOOR_SEEN_DEG = 1.0  # a lower camera sees no floor
_TONE_SPREAD = 0.07  # how far boards of one species differ in brightness
_GRAIN, _RING = 0.16, 9.0  # contrast of growth rings, and their distance (mm)
_MOST_PIXELS = 60_000_000  # drawn before they are brought down; some 80 bytes each
_BAND = 128  # rows painted at once


class Look(Protocol):
    """How a species looks: its ``colour`` as sRGB, 0 to 1."""

    @property
    def colour(self) -> Colour: ...


@dataclass(frozen=True)
class Camera:
    """Where the picture is taken from; the distance is chosen so that the bed fits.

    ``azimuth_deg`` is anticlockwise from +X seen from above, ``elevation_deg``
    above the level, ``perspective_deg`` the angle of view (0 is parallel).
    """

    azimuth_deg: float = 58.0
    elevation_deg: float = 27.0
    perspective_deg: float = 26.0


@dataclass(frozen=True)
class _Paint:
    """How one piece is drawn: linear colour, contrast of the grain, line, and its own chances.

    ``lift`` is the share of the light that does not depend on how the piece lies.
    """

    wood: Colour
    lift: float
    grain: float
    line: Colour
    chance: NDArray[np.float64]


@dataclass(frozen=True)
class _Stage:
    """What is drawn, and how it is seen and lit."""

    scene: Scene
    view: View
    buffers: Buffers
    daylight: Daylight
    oversample: int


def png_bytes(
    pieces: Sequence[Piece],
    solids: Mapping[str, cq.Shape],
    looks: Mapping[str, Look],
    *,
    width: int = 1600,
    height: int = 1000,
    camera: Camera = Camera(),
    background: Colour | None = (1.0, 1.0, 1.0),
    oversample: int = 2,
    grey: frozenset[str] = frozenset(),
) -> bytes:
    """Draw placed pieces as a PNG file of width x height pixels.

    ``solids`` go by name of kind, in the part frame; ``looks`` by species. The
    pieces named in ``grey`` are drawn pale. With no ``background`` the picture is transparent
    beside the bed, its shadow half so. Raises InputError when there is
    nothing to draw or the camera or the picture's size cannot be used.
    """
    _check(pieces, camera, width, height, oversample)
    stage = _stage(scene.build(pieces, solids), camera, width, height, oversample)
    palette = [_paint(p, looks[p.kind.species].colour, p.name in grey) for p in pieces]
    screen = np.empty((height * oversample, width * oversample, 3), dtype=np.uint8)
    cover = np.empty(screen.shape[:2], dtype=np.uint8)
    for top in range(0, len(screen), _BAND):
        band = slice(top, min(len(screen), top + _BAND))
        screen[band], cover[band] = _painted(band, pieces, palette, background or _WHITE, stage)
    _ink(screen, cover, stage.buffers, palette, oversample)
    return _png(screen, None if background else cover, width, height)


def _check(
    pieces: Sequence[Piece], camera: Camera, width: int, height: int, oversample: int
) -> None:
    if not pieces:
        raise InputError("picture", None, "needs at least one piece to draw")
    ranges = (
        ("picture width", width, 16, 8000, "pixels"),
        ("picture height", height, 16, 8000, "pixels"),
        ("picture oversample", oversample, 1, 4, "times"),
        ("camera azimuth", camera.azimuth_deg, -360, 360, "degrees"),
        ("camera elevation", camera.elevation_deg, -90, 90, "degrees"),
        ("camera perspective", camera.perspective_deg, 0, 100, "degrees"),
    )
    for name, value, low, high, unit in ranges:
        if not low <= value <= high:
            raise InputError(name, value, f"must be {low} to {high} {unit}")
    drawn = width * height * oversample**2
    if drawn > _MOST_PIXELS:
        remedy = "take a smaller picture, or oversample less"
        raise InputError("picture", f"{drawn} pixels", f"at most {_MOST_PIXELS} drawn", remedy)


def _stage(built: Scene, camera: Camera, width: int, height: int, oversample: int) -> _Stage:
    wide, high = width * oversample, height * oversample
    azimuth, elevation = camera.azimuth_deg, camera.elevation_deg
    margin = _MARGIN * min(wide, high)
    view = scene.aimed(built, azimuth, elevation, camera.perspective_deg, wide, high, margin)
    buffers = scene.drawn(built, view, wide, high)
    if elevation > _FLOOR_SEEN_DEG:
        scene.lay_floor(buffers, built, view)
    sources = lamps(azimuth + _KEY_TURN_DEG, _KEY_ELEVATION_DEG, from_below=elevation < 0.0)
    step = 2 * oversample
    places = [np.arange(step // 2, size, step, dtype=np.float32) + 0.5 for size in (wide, high)]
    column, row = np.meshgrid(*places)
    thin = (slice(step // 2, None, step), slice(step // 2, None, step))
    with np.errstate(invalid="ignore"):
        points = view.space(column, row, buffers.depth[thin])
    shadows = Shadows(built.corners, scene.is_flat(built), sources)
    daylight = Daylight(buffers.piece[thin], points, buffers.normal[thin], shadows, step)
    return _Stage(built, view, buffers, daylight, oversample)


def _paint(piece: Piece, colour: Colour, pale: bool) -> _Paint:
    # No two boards are of one tone; the name decides, so that a picture can be made again.
    chance = np.random.Generator(np.random.PCG64(zlib.crc32(piece.name.encode()))).random(8)
    if pale:
        return _Paint(_linear(_PALE), _PALE_LIFT, 0.0, _PALE_LINE, chance)
    tone = 1.0 + _TONE_SPREAD * (2.0 * chance[0] - 1.0)
    warm = 1.0 + 0.3 * _TONE_SPREAD * (2.0 * chance[1] - 1.0)
    red, green, blue = _linear(colour)
    if piece.kind.is_metal:
        return _Paint((red, green, blue), 0.0, 0.0, _LINE, chance)
    line = tuple(0.85 * a + 0.15 * b * b for a, b in zip(_LINE, colour, strict=True))
    wood = (red * tone * warm, green * tone, blue * tone / warm)
    return _Paint(wood, 0.0, _GRAIN, (line[0], line[1], line[2]), chance)


def _linear(colour: Colour) -> Colour:
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour)
    return (red, green, blue)


def _painted(
    band: slice,
    pieces: Sequence[Piece],
    palette: Sequence[_Paint],
    background: Colour,
    stage: _Stage,
) -> tuple[Bytes, Bytes]:
    """The colours of some rows, without lines, and how much of the background they cover."""
    number = stage.buffers.piece[band]
    out = np.empty((*number.shape, 3), dtype=np.uint8)
    out[:] = [round(255 * c) for c in background]
    cover = np.where(number >= 0, np.uint8(255), np.uint8(0))
    row, column = np.nonzero(number != NOTHING)
    own = number[row, column]
    order = np.argsort(own, kind="stable")
    row, column, own = row[order], column[order], own[order]
    normal = stage.buffers.normal[band][row, column]
    x, y = (a.astype(np.float32) + np.float32(0.5) for a in (column, row + band.start))
    at = stage.view.space(x, y, stage.buffers.depth[band][row, column])
    key, sky = stage.daylight.at(row + band.start, column, own, at, normal)
    starts = np.flatnonzero(np.diff(own, prepend=np.int16(-9)))
    for start, stop in zip(starts, np.append(starts, len(own))[1:], strict=True):
        part = slice(start, stop)
        here = [a[part] for a in at]
        if own[start] == FLOOR:
            shade = _floor_shade(stage, here, x[part], y[part], key[part], sky[part])
            colour = np.array(background, np.float32) * (1.0 - shade[:, None] * _FLOOR_LOSS)
            cover[row[part], column[part]] = np.round(255.0 * shade * _FLOOR_LOSS.max())
        else:
            paint = palette[own[start]]
            grain = _grain(paint, pieces[own[start]], here, stage.view.scale / stage.oversample)
            colour = _wood_colour(paint, grain, key[part], sky[part])
        out[row[part], column[part]] = np.round(255.0 * np.clip(colour, 0.0, 1.0))
    return out, cover


def _wood_colour(paint: _Paint, wood: Singles, key: Singles, sky: Singles) -> Singles:
    bands = [
        c * wood * (paint.lift + (1.0 - paint.lift) * (k * key + s * sky))
        for c, k, s in zip(paint.wood, _KEY_TINT, _SKY_TINT, strict=True)
    ]
    glow = np.clip(np.stack(bands, axis=1), 1e-5, None).astype(np.float32)
    shown: Singles = np.float32(1.055) * glow ** np.float32(1 / 2.4) - np.float32(0.055)
    return shown


def _grain(paint: _Paint, piece: Piece, at: list[Singles], pixel: float) -> Singles:
    """Brightness from growth rings round a pith that runs a little askew of the part's x."""
    if not paint.grain:
        return np.ones(1, dtype=np.float32)
    back = piece.placement.inverse()
    x, y, z = (
        np.float32(back.origin[i])
        + np.float32(back.x[i]) * at[0]
        + np.float32(back.y[i]) * at[1]
        + np.float32(back.z[i]) * at[2]
        for i in range(3)
    )
    shape, chance = piece.kind.shape, paint.chance.astype(np.float32)
    sway = np.sin(x / 260.0 + 6.28 * chance[2]) + 0.4 * np.sin(x / 71.0 + 6.28 * chance[3])
    y = y - shape.width * (0.2 + 0.6 * chance[4]) - x * (chance[5] - 0.5) * 0.03 - 4.0 * sway
    z = z + 25.0 + 60.0 * chance[6] + x * (chance[7] - 0.5) * 0.06
    rings = np.sqrt(y * y + z * z) / _RING + 0.25 * sway
    wave = 0.5 + 0.5 * np.sin(6.2832 * rings)
    # Rings that are finer than the pixels would shimmer.
    strength = paint.grain * min(1.0, max(0.0, (pixel * _RING - 2.0) / 3.0))
    grain: Singles = (1.0 + strength * (0.4 - wave * wave)).astype(np.float32)
    return grain


def _floor_shade(
    stage: _Stage, at: list[Singles], x: Singles, y: Singles, key: Singles, sky: Singles
) -> Singles:
    """How much of its light the bed takes from the floor, fading out away from the bed."""
    full_key, full_sky = stage.daylight.on_floor
    shade = 1.0 - (_FLOOR_KEY * key / full_key + (1.0 - _FLOOR_KEY) * sky / full_sky)
    high, wide = stage.buffers.piece.shape
    rim = np.minimum(np.minimum(x, wide - x), np.minimum(y, high - y)) / (0.08 * high)
    fade = 1.0 - scene.beside(stage.scene, at) / FLOOR_REACH
    fade = np.clip(fade, 0.0, 1.0) * np.clip(rim, 0.0, 1.0)
    shade = np.clip(shade - _FLOOR_CLEAN, 0.0, 1.0) * fade * fade * (3.0 - 2.0 * fade)
    floor: Singles = shade.astype(np.float32)
    return floor


def _ink(
    screen: Bytes, cover: Bytes, buffers: Buffers, palette: Sequence[_Paint], oversample: int
) -> None:
    """Darken, in place, the pixels where an edge is seen, each in its piece's own line colour."""
    dark = edges.strengths(buffers, oversample)
    own = edges.owners(buffers.piece, oversample)
    row, column = np.nonzero(dark)
    inks = np.array([[255.0 * c for c in p.line] for p in palette], dtype=np.float32)
    share = dark[row, column][:, None].astype(np.float32) / np.float32(255.0)
    mixed = screen[row, column] * (1.0 - share) + inks[own[row, column]] * share
    screen[row, column] = np.round(mixed)
    under = cover[row, column].astype(np.float32)
    cover[row, column] = np.round(under + (255.0 - under) * share[:, 0])


def _png(screen: Bytes, cover: Bytes | None, width: int, height: int) -> bytes:
    picture = _sized(screen, width, height)
    if cover is not None:
        picture = _without_white(picture, _sized(cover, width, height))
    held = io.BytesIO()
    picture.save(held, format="PNG", compress_level=6)
    return held.getvalue()


def on_white(data: bytes) -> bytes:
    """A transparent picture (PNG) laid on white."""
    picture = Image.open(io.BytesIO(data)).convert("RGBA")
    white = Image.new("RGBA", picture.size, (255, 255, 255, 255))
    held = io.BytesIO()
    Image.alpha_composite(white, picture).convert("RGB").save(held, "PNG", compress_level=6)
    return held.getvalue()


def _sized(screen: Bytes, width: int, height: int) -> Image.Image:
    picture = Image.fromarray(screen)
    if picture.size != (width, height):
        picture = picture.resize((width, height), Image.Resampling.BICUBIC)
    return picture


def _without_white(picture: Image.Image, cover: Image.Image) -> Image.Image:
    """The picture, drawn on white, with the white behind it taken away again."""
    share = np.asarray(cover, dtype=np.float32)[..., None] / np.float32(255.0)
    drawn = np.asarray(picture, dtype=np.float32)
    own = np.clip((drawn - 255.0 * (1.0 - share)) / np.maximum(share, 1e-3), 0.0, 255.0)
    return Image.fromarray(np.dstack((np.round(own).astype(np.uint8), np.asarray(cover))), "RGBA")
