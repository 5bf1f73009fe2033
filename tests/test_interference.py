"""Which parts overlap, by a second route: booleans of closed meshes with manifold3d.

Kernel and mesh agree on flat contacts to rounding. On curved contacts a mesh of
chords stands a little inside or outside the true surface, so that two parts which
only touch may share a few mm3 of mesh; the fine meshes here keep that under
``FALSE_ALARM``, and every overlap made on purpose is far above it.
"""

from __future__ import annotations

import functools
import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from bedmodel.assembly import Bed, make_bed
from bedmodel.checks.overlap import TOUCH_VOLUME, check_overlap, common_volume
from bedmodel.checks.probe import Probe
from bedmodel.exports.mesh import Mesh, mesh_of
from bedmodel.frames import Frame
from bedmodel.sheets import load_sheet

manifold3d = pytest.importorskip("manifold3d")

EXAMPLES = ("campion", "hawthorn", "sorrel")
FALSE_ALARM = 10.0  # mm3
FINE = {"tolerance": 0.02, "angle": 0.05}

Pairs = dict[tuple[str, str], float]


JOINTS: dict[str, list[str]] = {
    "": [],
    "doweled": ["headboard.joint=dowels", "footboard.joint=dowels"],
    "tenoned": ["headboard.joint=tenon", "footboard.joint=tenon"],
}


@functools.cache
def bed(name: str) -> Bed:
    """An example by its name; behind it may stand how its boards are joined."""
    sheet, _, joint = name.partition(" ")
    return make_bed(load_sheet(sheet, changes=JOINTS[joint]))


@functools.cache
def kind_mesh(name: str, kind: str) -> Mesh:
    """Meshed once: a second meshing of one solid could keep the first one's triangles."""
    return mesh_of(bed(name).solids[kind], **FINE)


def body(mesh: Mesh, frame: Frame) -> Any:
    placed = mesh.placed(frame)
    made = manifold3d.Manifold(
        manifold3d.Mesh64(
            np.ascontiguousarray(placed.vertices, np.float64),
            np.ascontiguousarray(placed.triangles, np.uint64),
        )
    )
    # A mesh that is not closed gives an empty body, which overlaps nothing.
    assert made.status() == manifold3d.Error.NoError
    assert made.volume() == pytest.approx(mesh.volume, rel=1e-6)
    return made


def by_mesh(made: Bed, name: str) -> Pairs:
    """Common volume of each pair of pieces, those that share none left out."""
    bodies = {p.name: body(kind_mesh(name, p.kind.name), p.placement) for p in made.pieces}
    boxes = {n: np.array(b.bounding_box()).reshape(2, 3) for n, b in bodies.items()}
    found: Pairs = {}
    for one, other in itertools.combinations(bodies, 2):
        a, b = boxes[one], boxes[other]
        if np.any(a[0] > b[1]) or np.any(b[0] > a[1]):  # boxes of the meshes themselves
            continue
        common = bodies[one] ^ bodies[other]
        assert common.status() == manifold3d.Error.NoError
        if common.volume() > 0:
            found[(one, other)] = common.volume()
    return found


def by_kernel(made: Bed) -> Pairs:
    (result,) = check_overlap(Probe(made))
    assert result.tested == len(made.pieces) * (len(made.pieces) - 1) // 2
    return {(f.parts[0], f.parts[1]): f.measured for f in result.findings}


def alike(made: Bed, name: str) -> Pairs:
    """Assert that both routes give one verdict for every pair; return the kernel's volumes."""
    kernel, mesh = by_kernel(made), by_mesh(made, name)
    assert {pair for pair, volume in mesh.items() if volume > FALSE_ALARM} == set(kernel)
    for pair, volume in mesh.items():
        if TOUCH_VOLUME < volume <= FALSE_ALARM:  # the kernel decides, and says they touch
            one, other = (made.piece(piece) for piece in pair)
            assert common_volume(Probe(made), one, other) <= TOUCH_VOLUME, pair
    for pair, volume in kernel.items():
        assert mesh[pair] == pytest.approx(volume, rel=0.01, abs=FALSE_ALARM / 2), pair
    return kernel


@pytest.mark.parametrize("name", [*EXAMPLES, "campion doweled", "sorrel doweled"])
def test_no_two_parts_of_the_examples_overlap(name: str) -> None:
    assert alike(bed(name), name) == {}


def shifted(made: Bed, piece: str, by: tuple[float, float, float]) -> Bed:
    return made.with_piece(piece, placement=made.piece(piece).placement.moved(by))


def test_a_slat_set_too_low_is_found_in_all_that_carry_it() -> None:
    made = shifted(bed("campion"), "slat_09", (0.0, 0.0, -1.5))
    found = alike(made, "campion")
    carriers = {"runner_left", "runner_right", "centre_rail"}
    assert {n for pair in found for n in pair} == carriers | {"slat_09"}
    # On the centre rail, layer by layer: the slat's roundover (2 mm) makes it narrower
    # at the height h above its underside, the rail's chamfer (2 mm) makes that narrower.
    sheet = made.layout.sheet
    h = (np.arange(100_000) + 0.5) * 1.5e-5
    slat = sheet.slat.width - 2 * (2 - np.sqrt(4 - (2 - h) ** 2))
    rail = sheet.centre_rail.width - 2 * (2 - (1.5 - h))
    (middle,) = (v for pair, v in found.items() if "centre_rail" in pair)
    assert middle == pytest.approx(float(np.sum(slat * rail)) * 1.5e-5, rel=1e-5)


def test_a_board_pushed_into_a_leg_is_found_with_its_tenons() -> None:
    made = shifted(bed("campion"), "headboard_board_2", (2.5, 0.0, 0.0))
    found = alike(made, "campion")
    plan = made.layout.head.boards[1].tenons
    tenons = {
        f"headboard_board_2_tenon_{i + 1}_{side}"
        for i in range(len(plan.heights))
        for side in ("left", "right")
    }
    # The tenons stay where they were: the floors of the right mortises go past their
    # tenons' ends by 2.5 mm less the gap for glue; the left ones draw back.
    assert {n for pair in found for n in pair} == (
        {"headboard_board_2", "head_leg_right"} | {t for t in tenons if t.endswith("right")}
    )


def test_a_turned_tenon_is_found_though_its_box_stays_put() -> None:
    made = bed("hawthorn")
    name = "footboard_board_tenon_1_right"
    old = made.piece(name).placement
    # Turned by 2 degrees about its own length, through its middle.
    shape = made.piece(name).kind.shape
    turn = np.radians(2.0)
    c, s = float(np.cos(turn)), float(np.sin(turn))
    about = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, c, s), (0.0, -s, c))
    middle = (shape.length / 2, shape.width / 2, shape.thickness / 2)
    back = Frame(tuple(-v for v in middle))  # type: ignore[arg-type]
    there = old @ Frame(middle) @ about @ back
    found = alike(made.with_piece(name, placement=there), "hawthorn")
    assert {frozenset(pair) for pair in found} == {
        frozenset({name, "footboard_board"}),
        frozenset({name, "foot_leg_right"}),
    }


def test_a_mesh_that_is_not_closed_is_not_taken_for_an_empty_part() -> None:
    mesh = kind_mesh("hawthorn", "slat")
    holed = replace(mesh, triangles=mesh.triangles[1:], faces=mesh.faces[1:])
    with pytest.raises(AssertionError):
        body(holed, Frame())
