"""The still picture: what covers what, where it falls, and that it can be made again.

Oracles: the shadow of a box on a plane has the sum of its faces' areas, each by
the cosine of its slant (Cauchy); pictures are read back by Pillow.
"""

from __future__ import annotations

import io
import math
import os
import subprocess
import sys
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
from numpy.typing import NDArray
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from PIL import Image

from bedmodel.bed import Kind, Piece
from bedmodel.errors import InputError
from bedmodel.exports import scene
from bedmodel.exports.picture import Camera, png_bytes
from bedmodel.exports.raster import NOTHING, View, rasterise
from bedmodel.frames import Frame, Vector
from bedmodel.outline import Outline
from bedmodel.shape import Shape

WHITE = (255, 255, 255)
SIZES = {"beam": (800.0, 300.0, 400.0), "post": (200.0, 200.0, 600.0)}


@dataclass(frozen=True)
class Look:
    colour: tuple[float, float, float]


LOOKS = {
    "red": Look((0.85, 0.25, 0.2)),
    "blue": Look((0.2, 0.3, 0.85)),
    "oak": Look((0.75, 0.6, 0.42)),
}
SOLIDS: dict[str, cq.Shape] = {
    f"{name}_{species}": cq.Workplane().box(*size, centered=False).val()
    for name, size in SIZES.items()
    for species in LOOKS
}


def piece(name: str, kind: str, species: str, origin: Vector) -> Piece:
    length, width, thickness = SIZES[kind]
    outline = Outline.rectangle(length, width, ("low", "end", "high", "start"))
    shape = Shape(length, width, thickness, outline)
    return Piece(name, Kind(f"{kind}_{species}", shape, species), "all", Frame(origin))


def picture(pieces: list[Piece], camera: Camera, **options: object) -> NDArray[np.uint8]:
    options = {"width": 400, "height": 300, **options}
    data = png_bytes(pieces, SOLIDS, LOOKS, camera=camera, **options)  # type: ignore[arg-type]
    return np.asarray(Image.open(io.BytesIO(data)))


def reddish(image: NDArray[np.uint8]) -> NDArray[np.bool_]:
    return image[..., 0].astype(int) > image[..., 2].astype(int) + 40


def bluish(image: NDArray[np.uint8]) -> NDArray[np.bool_]:
    return image[..., 2].astype(int) > image[..., 0].astype(int) + 40


BEAM = piece("beam", "beam", "oak", (-400.0, -150.0, 0.0))
RIGHT = piece("right", "post", "red", (300.0, -100.0, 0.0))
LEFT = piece("left", "post", "blue", (-500.0, -100.0, 0.0))
HEAD_ON = Camera(azimuth_deg=90.0, elevation_deg=0.0, perspective_deg=0.0)


def test_the_file_is_a_png_of_the_size_asked_for() -> None:
    data = png_bytes([BEAM], SOLIDS, LOOKS, width=330, height=210)
    image = Image.open(io.BytesIO(data))
    image.load()
    assert (image.format, image.size, image.mode) == ("PNG", (330, 210), "RGB")


def test_two_processes_write_the_same_bytes(tmp_path: Path) -> None:
    code = (
        "import sys; from test_picture import *; "
        "sys.stdout.buffer.write(png_bytes([BEAM, RIGHT, LEFT], SOLIDS, LOOKS, "
        "width=320, height=200))"
    )
    here = Path(__file__).parent
    path = os.pathsep.join((str(here), str(here.parent)))
    made = []
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONPATH": path, "PYTHONHASHSEED": seed}
        run = subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            check=True,
            env=environment,
            cwd=tmp_path,
        )
        made.append(run.stdout)
    assert made[0] == made[1]
    assert made[0].startswith(b"\x89PNG")
    assert len(made[0]) > 5000


def test_facets_left_in_the_solid_by_an_earlier_export_change_nothing() -> None:
    def drum() -> dict[str, cq.Shape]:
        return {"post_oak": cq.Workplane().circle(100).extrude(600).val()}

    post = piece("post", "post", "oak", (0.0, 0.0, 0.0))
    clean, used = drum(), drum()
    BRepMesh_IncrementalMesh(used["post_oak"].wrapped, 0.005, False, 0.02, False)
    assert np.array_equal(scene.build([post], clean).corners, scene.build([post], used).corners)


def test_two_triangles_cover_a_rectangle_once_without_a_seam() -> None:
    a, b, c, d = (10.0, 20.0, 5.0), (50.0, 20.0, 5.0), (50.0, 45.0, 30.0), (10.0, 45.0, 30.0)
    index, depth = rasterise(np.array([[a, b, c], [a, c, d]]), 64, 64)
    covered = index != NOTHING
    assert covered.sum() == 40 * 25
    assert covered[20:45, 10:50].all()
    rows = np.arange(20, 45)[:, None] + 0.5
    assert depth[20:45, 10:50] == pytest.approx(
        np.broadcast_to(5.0 + (rows - 20.0), (25, 40)), abs=1e-4
    )
    assert np.isinf(depth[~covered]).all()


@pytest.mark.parametrize(("near", "far"), [(0, 1), (1, 0)])
def test_the_nearer_triangle_wins_whatever_the_order(near: int, far: int) -> None:
    flat = np.array([[0.0, 0.0, 0.0], [40.0, 0.0, 0.0], [0.0, 40.0, 0.0]])
    both = np.zeros((2, 3, 3))
    both[near], both[far] = flat, flat
    both[near, :, 2], both[far, :, 2] = 7.0, 7.001
    index, _ = rasterise(both, 40, 40)
    assert set(np.unique(index)) == {NOTHING, near}


def test_what_lies_off_the_screen_is_left_out() -> None:
    wide = np.array([[[-500.0, -500.0, 1.0], [1500.0, -500.0, 1.0], [-500.0, 1500.0, 1.0]]])
    index, _ = rasterise(wide, 30, 20)
    assert (index == 0).all()
    wide[:, :, 0] += 3000.0
    index, _ = rasterise(wide, 30, 20)
    assert (index == NOTHING).all()


def test_a_box_seen_square_fills_the_rectangle_that_its_size_says() -> None:
    image = picture([BEAM], HEAD_ON)
    # The picture is 400 x 300 with a margin of 7 % of 300, so 800 mm get 358 pixels.
    wide, high = 358.0, 358.0 * 400.0 / 800.0
    covered = (image != WHITE).any(axis=2)
    rows, columns = np.flatnonzero(covered.any(axis=1)), np.flatnonzero(covered.any(axis=0))
    # The line round it is a pixel wide, half of it outside, and softened by another.
    assert columns[0] == pytest.approx(200 - wide / 2, abs=2)
    assert columns[-1] + 1 == pytest.approx(200 + wide / 2, abs=2)
    assert rows[0] == pytest.approx(150 - high / 2, abs=2)
    assert rows[-1] + 1 == pytest.approx(150 + high / 2, abs=2)
    assert wide * high <= covered.sum() + (wide + high)
    assert covered.sum() <= (wide + 4) * (high + 4)
    assert covered[rows[0] + 2 : rows[-1] - 1, columns[0] + 2 : columns[-1] - 1].all()


@pytest.mark.parametrize(("azimuth", "elevation"), [(17.0, 35.0), (110.0, 8.0), (301.0, -50.0)])
def test_a_box_seen_askew_covers_the_area_of_its_faces_by_their_slant(
    azimuth: float, elevation: float
) -> None:
    built = scene.build([BEAM], SOLIDS)
    view = scene.aimed(built, azimuth, elevation, 0.0, 600, 500, 30.0)
    buffers = scene.drawn(built, view, 600, 500)
    length, width, height = SIZES["beam"]
    level = math.cos(math.radians(elevation))
    area = width * height * level * abs(math.cos(math.radians(azimuth)))
    area += length * height * level * abs(math.sin(math.radians(azimuth)))
    area += length * width * abs(math.sin(math.radians(elevation)))
    # Pixels along the outline may fall either way; over its length they even out.
    outline = 2 * (600 + 500)
    assert (buffers.piece == 0).sum() == pytest.approx(
        area * view.scale**2, abs=3 * math.sqrt(outline)
    )


@pytest.mark.parametrize("perspective", [0.0, 35.0])
def test_a_view_finds_the_point_again(perspective: float) -> None:
    built = scene.build([BEAM], SOLIDS)
    view = scene.aimed(built, 40.0, 25.0, perspective, 600, 500, 30.0)
    points = np.array([(310.0, -20.0, 5.0), (-399.0, 140.0, 380.0), (700.0, 900.0, 0.0)])
    seen = view.project(points).astype(np.float32)
    back = view.space(*(seen[:, i] for i in range(3)))
    assert np.stack(back, axis=1) == pytest.approx(points, abs=0.01)
    floor = view.floor_depth(seen[2:, 1], 0.0)
    assert floor == pytest.approx(seen[2:, 2], abs=0.01)


def test_nearer_things_look_larger_in_perspective_only() -> None:
    def height(view: View, x: float) -> float:
        low, top = view.project(np.array([(x, 0.0, 0.0), (x, 0.0, 100.0)]))[:, 1]
        return float(low - top)

    parallel = View.orbit(0.0, 0.0, (0.0, 0.0, 50.0))
    assert height(parallel, 200.0) == pytest.approx(height(parallel, -200.0))
    # The eye is 1000 mm from the target, so 800 and 1200 mm from the two.
    eye = View.orbit(0.0, 0.0, (0.0, 0.0, 50.0), nearness=1 / 1000.0)
    assert height(eye, 200.0) / height(eye, -200.0) == pytest.approx(1200 / 800)


def test_the_right_hand_side_stands_left_when_seen_from_the_foot() -> None:
    image = picture([RIGHT, LEFT], HEAD_ON)
    assert reddish(image)[150, 60]
    assert bluish(image)[150, 340]
    image = picture([RIGHT, LEFT], Camera(270.0, 0.0, 0.0))
    assert bluish(image)[150, 60]
    assert reddish(image)[150, 340]


@pytest.mark.parametrize("order", [[RIGHT, LEFT], [LEFT, RIGHT]])
@pytest.mark.parametrize("perspective", [0.0, 30.0])
def test_the_nearer_post_hides_the_farther(order: list[Piece], perspective: float) -> None:
    from_right = picture(order, Camera(0.0, 0.0, perspective))
    assert reddish(from_right).sum() > 5000
    assert not bluish(from_right).any()
    from_left = picture(order, Camera(180.0, 0.0, perspective))
    assert bluish(from_left).sum() > 5000
    assert not reddish(from_left).any()


def test_from_straight_above_the_foot_end_is_at_the_bottom() -> None:
    head = piece("head", "post", "red", (0.0, 0.0, 0.0))
    foot = piece("foot", "post", "blue", (0.0, 900.0, 0.0))
    image = picture([head, foot], Camera(90.0, 90.0, 0.0))
    assert np.nonzero(reddish(image))[0].mean() < 100
    assert np.nonzero(bluish(image))[0].mean() > 200


@pytest.mark.parametrize("background", [(1.0, 1.0, 1.0), (0.2, 0.4, 0.6)])
def test_the_background_is_pure_along_the_border(background: tuple[float, float, float]) -> None:
    image = picture([BEAM, RIGHT], Camera(), background=background)
    colour = [round(255 * c) for c in background]
    for border in (image[0], image[-1], image[:, 0], image[:, -1]):
        assert (border == colour).all()


def test_the_floor_is_darkest_beside_the_box_and_bare_without_it() -> None:
    raised = piece("beam", "beam", "oak", (-400.0, -150.0, 60.0))
    image = picture([raised], Camera(90.0, 25.0, 0.0)).astype(int).sum(axis=2)
    foot = 300 - np.flatnonzero(image[::-1, 200] < 450)[0]
    below = image[foot + 3 : -1, 200]
    assert below[0] < 740
    assert (np.diff(below) >= -2).all()
    assert below[-1] == 765
    level = picture([raised], HEAD_ON)
    assert (level[-18:] == 255).all()


def test_the_underside_is_lit_when_seen_from_below() -> None:
    image = picture([BEAM], Camera(60.0, -90.0, 0.0))
    assert image[150, 200].astype(int).sum() > 250


def test_grey_pieces_come_out_pale_and_leave_the_others_alone() -> None:
    plain = picture([RIGHT, LEFT], HEAD_ON)
    pale = picture([RIGHT, LEFT], HEAD_ON, grey=frozenset({"right"}))
    shade = pale[100:200, 40:80].reshape(-1, 3).astype(int)
    assert np.ptp(shade, axis=1).max() < 25
    assert shade.mean() > plain[100:200, 40:80].mean() + 60
    assert shade.min() > 190
    assert (pale[:, 250:] == plain[:, 250:]).all()


def test_pieces_of_one_species_differ_a_little_by_name() -> None:
    row = [piece(f"post_{i}", "post", "oak", (400.0 * i, 0.0, 0.0)) for i in range(4)]
    image = picture(row, Camera(270.0, 0.0, 0.0)).astype(float)
    # 1400 mm get 358 pixels from the left margin of 21 on; the middle of each post is taken.
    middles = [21 + round(358 / 1400 * (400 * i + 100)) for i in range(4)]
    tones = [image[110:190, c - 12 : c + 12].mean() for c in middles]
    assert min(abs(a - b) for a, b in pairwise(tones)) > 0.2
    assert 3 < max(tones) - min(tones) < 30


def edge_profile(radius: float) -> NDArray[np.int64]:
    """Brightness across the upright arris of a post turned by 45 degrees."""
    block = cq.Workplane().box(200, 200, 600, centered=False)
    if radius:
        block = block.edges("|Z").fillet(radius)
    post = piece("post", "post", "red", (0.0, 0.0, 0.0))
    data = png_bytes(
        [post],
        {"post_red": block.val()},
        {"red": Look((0.9, 0.9, 0.9))},
        width=400,
        height=300,
        camera=Camera(45.0, 0.0, 0.0),
    )
    image = np.asarray(Image.open(io.BytesIO(data))).astype(np.int64)
    return image[100:200, 180:220].sum(axis=2).mean(axis=0)


def test_an_arris_gets_a_line_sharp_or_slightly_rounded_but_not_a_wide_round() -> None:
    for radius, lined in ((0.0, True), (3.0, True), (80.0, False)):
        profile = edge_profile(radius)
        faces = min(profile[2], profile[-3])
        assert bool(profile[17:23].min() < faces - 40) is lined, radius


@pytest.mark.parametrize(
    ("options", "parameter"),
    [
        ({"camera": Camera(elevation_deg=91.0)}, "camera elevation"),
        ({"camera": Camera(azimuth_deg=math.nan)}, "camera azimuth"),
        ({"camera": Camera(perspective_deg=-1.0)}, "camera perspective"),
        ({"width": 5}, "picture width"),
        ({"oversample": 0}, "picture oversample"),
        ({"width": 8000, "height": 8000, "oversample": 4}, "picture"),
    ],
)
def test_what_cannot_be_drawn_is_refused_in_one_line(
    options: dict[str, object], parameter: str
) -> None:
    with pytest.raises(InputError) as caught:
        png_bytes([BEAM], SOLIDS, LOOKS, **options)  # type: ignore[arg-type]
    assert caught.value.parameter == parameter
    assert "\n" not in str(caught.value)


def test_a_picture_of_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="at least one piece"):
        png_bytes([], SOLIDS, LOOKS)
