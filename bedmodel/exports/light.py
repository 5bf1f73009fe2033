"""Soft daylight from many small lamps, with the shadows that the bed casts on itself.

Each lamp is a direction. For each, the bed is drawn as the lamp sees it, and a
point is lit by the lamp when nothing drawn there is nearer. Lamps spread over
the sky give the soft dark of corners; lamps close together give the key light
its soft-edged shadow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bedmodel.exports.raster import (
    NOTHING,
    Floats,
    Ints,
    Singles,
    View,
    direction,
    outward,
    rasterise,
    snapped,
)
from bedmodel.exports.scene import FLOOR
from bedmodel.frames import Vector, add, cross, scale, unit

KEY, SKY = 0, 1

_GOLDEN = math.pi * (3.0 - math.sqrt(5.0))
_KEY_COUNT, _SKY_COUNT = 32, 88  # each a multiple of 4
_KEY_SPREAD = 0.22  # radius of the key light's disc, seen from the bed (radians, about)
_KEY_POWER, _SKY_POWER = 0.80, 0.64  # light on a surface square to the key, under the whole sky
_BOUNCE = 0.18  # what the floor gives back to a surface that faces it
_MAP_SIZE = 384  # pixels along a lamp's map of the bed
_LEAST_CASTER = 8.0  # longest side of the smallest facet that casts a shadow (mm)
_LEAST_WIDTH = 2.0  # of a facet of a curved face, across its longest side (mm)
_KIN = 0.93  # cosine of the angle between surfaces that may share their light
_ALONE = 0.05  # a pixel with less kin about it is worked out by itself
_LIFT = 1.6  # a point is tested this many of those pixels off its surface
_LEAK = 0.04  # light that comes in everywhere, by many turns
_FLOOR_BLUR = 3  # worked-out pixels to either side
_TABLE = 256  # rows of the table of light by direction of the surface


@dataclass(frozen=True)
class Lamp:
    """One direction that light comes from: towards the lamp, its power, and its group."""

    towards: Vector
    power: float
    group: int


def lamps(
    key_azimuth_deg: float, key_elevation_deg: float, from_below: bool = False
) -> tuple[Lamp, ...]:
    """Set up the key light and the sky, or their mirror image under the floor."""
    made = _key(direction(key_azimuth_deg, key_elevation_deg)) + _sky(key_azimuth_deg)
    return tuple(_sunk(lamp) for lamp in made) if from_below else made


def _sunk(lamp: Lamp) -> Lamp:
    x, y, z = lamp.towards
    return replace(lamp, towards=(x, y, -z))


def _key(middle: Vector) -> tuple[Lamp, ...]:
    side = unit(cross((0.0, 0.0, 1.0), middle))
    rise = cross(middle, side)
    made = []
    for i in range(_KEY_COUNT):
        radius = _KEY_SPREAD * math.sqrt((i + 0.5) / _KEY_COUNT)
        turn = i * _GOLDEN
        off = add(scale(side, radius * math.cos(turn)), scale(rise, radius * math.sin(turn)))
        made.append(Lamp(unit(add(middle, off)), _KEY_POWER / _KEY_COUNT, KEY))
    return tuple(made)


def _sky(first_azimuth_deg: float) -> tuple[Lamp, ...]:
    made = []
    for i in range(_SKY_COUNT):
        # Even steps of height spread the directions evenly over the half sphere.
        height = 1.0 - (i + 0.5) / _SKY_COUNT
        level = math.sqrt(1.0 - height**2)
        turn = math.radians(first_azimuth_deg) + i * _GOLDEN
        towards = (level * math.cos(turn), level * math.sin(turn), height)
        made.append(Lamp(towards, 2.0 * _SKY_POWER / _SKY_COUNT, SKY))
    return tuple(made)


class OpenLight:
    """The light on a surface with nothing in the way, by the direction it faces."""

    def __init__(self, sources: tuple[Lamp, ...]) -> None:
        # The whole sphere is folded out on a square: an octahedron, its lower half turned out.
        step = (np.arange(_TABLE, dtype=np.float32) + 0.5) / _TABLE * 2.0 - 1.0
        u, v = np.meshgrid(step, step)
        z = 1.0 - np.abs(u) - np.abs(v)
        under = np.maximum(-z, 0.0)
        x = u - np.copysign(under, u)
        y = v - np.copysign(under, v)
        size = np.sqrt(x * x + y * y + z * z)
        normals = [(a / size).ravel().astype(np.float32) for a in (x, y, z)]
        self._table = [_open(normals, sources, group) for group in (KEY, SKY)]

    def at(self, x: Singles, y: Singles, z: Singles) -> tuple[Singles, Singles]:
        """Return the key light and the sky light on surfaces with these unit normals."""
        size = np.abs(x) + np.abs(y) + np.abs(z)
        size = np.where(size == 0.0, np.float32(1.0), size)
        u, v = x / size, y / size
        under = z < 0.0
        folded = (np.copysign(1.0 - np.abs(v), u), np.copysign(1.0 - np.abs(u), v))
        u, v = np.where(under, folded[0], u), np.where(under, folded[1], v)
        column = np.minimum(((u + 1.0) * (_TABLE / 2)).astype(np.int32), _TABLE - 1)
        row = np.minimum(((v + 1.0) * (_TABLE / 2)).astype(np.int32), _TABLE - 1)
        cell = row * _TABLE + column
        bounce = np.float32(_BOUNCE) * (0.5 - 0.5 * z)
        return self._table[KEY][cell], self._table[SKY][cell] + bounce.astype(np.float32)


def _open(normals: list[Singles], sources: tuple[Lamp, ...], group: int) -> Singles:
    total = np.zeros(len(normals[0]), dtype=np.float32)
    for lamp in sources:
        if lamp.group == group:
            total += np.float32(lamp.power) * _slant(normals, lamp.towards)
    return total


def _slant(normals: list[Singles], towards: Vector) -> Singles:
    x, y, z = (np.float32(c) for c in towards)
    slant: Singles = np.maximum(normals[0] * x + normals[1] * y + normals[2] * z, np.float32(0.0))
    return slant


class Shadows:
    """What each lamp sees of the bed: a map of the nearest depth, in parallel view.

    Takes the corners of all facets (n x 3 x 3, mm) and which of them lie on flat faces.
    """

    def __init__(
        self, casters: Floats, is_flat: NDArray[np.bool_], sources: tuple[Lamp, ...]
    ) -> None:
        longest = np.linalg.norm(casters - np.roll(casters, 1, axis=1), axis=2).max(axis=1)
        low, high = casters.min(axis=(0, 1)), casters.max(axis=(0, 1))
        middle = (low + high) / 2
        self._target = (float(middle[0]), float(middle[1]), float(middle[2]))
        self.sources = sources
        first, second = casters[:, 1] - casters[:, 0], casters[:, 2] - casters[:, 0]
        width = np.linalg.norm(np.cross(first, second), axis=1) / np.maximum(longest, 1e-9)
        # Facets too small to fill a pixel of a map only cost time, as do the slivers of eased
        # edges and screw holes; slivers that tile a flat face are needed.
        big = (longest > _LEAST_CASTER) & (is_flat | (width > _LEAST_WIDTH))
        self._casters = casters[big].reshape(-1, 3)
        corners = np.unique(self._casters, axis=0)
        self._views = []
        self._maps = []
        for lamp in sources:
            view = View.towards(lamp.towards, self._target)
            view = view.fitted(corners, _MAP_SIZE, _MAP_SIZE, 2.0)
            seen = snapped(view.project(self._casters).reshape(-1, 3, 3))
            self._views.append(view)
            self._maps.append(rasterise(seen[outward(seen)], _MAP_SIZE, _MAP_SIZE)[1].ravel())

    def shares(
        self, points: list[Singles], normals: list[Singles], first: int = 0, every: int = 1
    ) -> Singles:
        """Return the shares (n x 2, 0 to 1) of key and sky light that reach points on surfaces.

        ``points`` and ``normals`` are x, y, z. Only each ``every``-th lamp is asked.
        """
        most = np.empty((2, len(points[0])), dtype=np.float32)
        most[KEY], most[SKY] = 1e-6, _LEAK
        got = most.copy()
        local = [p - np.float32(t) for p, t in zip(points, self._target, strict=True)]
        for number in range(first, len(self.sources), every):
            lamp = self.sources[number]
            slant = np.float32(lamp.power) * _slant(normals, lamp.towards)
            most[lamp.group] += slant
            got[lamp.group] += slant * self._lit(number, local, normals)
        shares: Singles = (got / most).T
        return shares

    def _lit(self, number: int, points: list[Singles], normals: list[Singles]) -> Singles:
        """Say (1 or 0) which points see a lamp: those with nothing nearer to it."""
        view = self._views[number]
        pixel = np.float32(view.scale)
        lift = np.float32(_LIFT / view.scale)
        x, y, z = (p + lift * n for p, n in zip(points, normals, strict=True))
        right, up, back = (np.array(a, dtype=np.float32) for a in (view.right, view.up, view.back))
        right, up = right * pixel, up * pixel
        column = np.float32(view.column) + (right[0] * x + right[1] * y + right[2] * z)
        row = np.float32(view.row) - (up[0] * x + up[1] * y + up[2] * z)
        # The rim of the map is empty, so what falls outside is lit.
        np.clip(column, 0, _MAP_SIZE - 1, out=column)
        np.clip(row, 0, _MAP_SIZE - 1, out=row)
        cell = row.astype(np.int32) * _MAP_SIZE + column.astype(np.int32)
        depth = -(back[0] * x + back[1] * y + back[2] * z)
        lit: Singles = (self._maps[number][cell] >= depth).astype(np.float32)
        return lit


class Daylight:
    """The light on what a view shows: worked out for one pixel in ``step``, then spread.

    Takes for each pixel the piece's number, x, y and z in space and the normal,
    already thinned to every ``step``-th row and column; ``step`` must be even.
    """

    def __init__(
        self,
        piece: NDArray[np.int16],
        points: list[Singles],
        normal: Singles,
        shadows: Shadows,
        step: int,
    ) -> None:
        self._open, self._shadows = OpenLight(shadows.sources), shadows
        self._step, self._piece, self._normal = step, piece, normal
        self._share = np.ones((*piece.shape, 2), dtype=np.float32)
        for first, (i, j) in enumerate(((0, 0), (0, 1), (1, 0), (1, 1))):
            # Neighbours ask different lamps; evening out gives each the answers of all four.
            row, column = np.nonzero(piece[i::2, j::2] != NOTHING)
            row, column = 2 * row + i, 2 * column + j
            here = [p[row, column] for p in points]
            normals = [normal[row, column, k] for k in range(3)]
            self._share[row, column] = shadows.shares(here, normals, first, 4)
        self._share = self._evened()
        self._floor_smoothed()

    @property
    def on_floor(self) -> tuple[float, float]:
        """Key and sky light on the open floor."""
        up = [np.array([c], dtype=np.float32) for c in (0.0, 0.0, 1.0)]
        key, sky = self._open.at(*up)
        return float(key[0]), float(sky[0])

    def at(
        self,
        row: Ints,
        column: Ints,
        own: NDArray[np.int16],
        points: list[Singles],
        normal: Singles,
    ) -> tuple[Singles, Singles]:
        """Return key and sky light in pixels of the full view, by place, piece and normal."""
        down, rows = self._places(row, self._piece.shape[0])
        across, columns = self._places(column, self._piece.shape[1])
        total = np.zeros((len(row), 2), dtype=np.float32)
        most = np.zeros(len(row), dtype=np.float32)
        for i, j in ((0, 0), (0, 1), (1, 0), (1, 1)):
            cell = rows[i] * self._piece.shape[1] + columns[j]
            weight = (down if i else 1.0 - down) * (across if j else 1.0 - across)
            weight = (weight + np.float32(0.02)) * self._kinship(cell, own, normal)
            most += weight
            total += weight[:, None] * self._share.reshape(-1, 2)[cell]
        share = total / (most + np.float32(1e-9))[:, None]
        alone = np.flatnonzero(most < _ALONE)
        normals = [normal[alone, k] for k in range(3)]
        share[alone] = self._shadows.shares([p[alone] for p in points], normals)
        key, sky = self._open.at(*(normal[:, k] for k in range(3)))
        return key * share[:, 0], sky * share[:, 1]

    def _places(self, place: Ints, count: int) -> tuple[Singles, tuple[Ints, Ints]]:
        at = (place - self._step // 2).astype(np.float32) / np.float32(self._step)
        low = np.floor(at)
        first = low.astype(np.int64)
        ends = (np.clip(first, 0, count - 1), np.clip(first + 1, 0, count - 1))
        return at - low, ends

    def _kinship(self, cell: Ints, own: NDArray[np.int16], normal: Singles) -> Singles:
        """1 where a worked-out pixel may speak for a pixel: same piece, much the same slant."""
        theirs = self._normal.reshape(-1, 3)[cell]
        alike = theirs[:, 0] * normal[:, 0]
        alike += theirs[:, 1] * normal[:, 1]
        alike += theirs[:, 2] * normal[:, 2]
        kin: NDArray[np.bool_] = (self._piece.ravel()[cell] == own) & (alike > _KIN)
        return kin.astype(np.float32)

    def _evened(self) -> Singles:
        """Average the shares over 3 x 3 worked-out pixels of one piece and slant.

        Weights of 1, 2, 1 each way give the four interleaved sets an equal say.
        """
        row, column = np.nonzero(self._piece != NOTHING)
        own, normal = self._piece[row, column], self._normal[row, column]
        total = np.zeros((len(row), 2), dtype=np.float32)
        most = np.zeros((len(row), 1), dtype=np.float32)
        high, wide = self._piece.shape
        for i in (-1, 0, 1):
            for j in (-1, 0, 1):
                r, c = np.clip(row + i, 0, high - 1), np.clip(column + j, 0, wide - 1)
                cell = r * wide + c
                weight = np.float32((2 - abs(i)) * (2 - abs(j))) * self._kinship(cell, own, normal)
                most += weight[:, None]
                total += weight[:, None] * self._share.reshape(-1, 2)[cell]
        evened = self._share.copy()
        evened[row, column] = total / most
        return evened

    def _floor_smoothed(self) -> None:
        """Blur the shadow on the floor, for no more than the floor itself."""
        floor = self._piece == FLOOR
        held = np.concatenate((self._share * floor[..., None], floor[..., None]), axis=2)
        for _ in range(2):
            held = _boxed(np.swapaxes(_boxed(held), 0, 1)).swapaxes(0, 1)
        self._share[floor] = held[floor][:, :2] / held[floor][:, 2:]


def _boxed(values: Singles) -> Singles:
    """Mean over neighbours in each column."""
    width = 2 * _FLOOR_BLUR + 1
    ends = ((_FLOOR_BLUR + 1, _FLOOR_BLUR), (0, 0), (0, 0))
    running = np.cumsum(np.pad(values, ends), axis=0, dtype=np.float64)
    boxed: Singles = ((running[width:] - running[:-width]) / width).astype(np.float32)
    return boxed
