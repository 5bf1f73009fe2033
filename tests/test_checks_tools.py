"""The measuring tools of the checks, against plain sums and the kernel."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import cadquery as cq
import pytest
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_State
from OCP.TopoDS import TopoDS_Shape

from bedmodel.assembly import Bed
from bedmodel.bed import Piece
from bedmodel.checks.boxes import box_of, exact_box, quick_box
from bedmodel.checks.faces import contact_area, section_area
from bedmodel.checks.nearest import FAR, distance, least_distance
from bedmodel.checks.overlap import candidate_pairs, check_overlap, common_volume
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.checks.walls import find_walls
from bedmodel.frames import Frame, Vector, dot
from bedmodel.solids import location
from tests.beds import EXAMPLES, UNSCREWED, bed_of, block, compound, good, thrice_broken

# --- overlap ------------------------------------------------------------------------------


def by_the_kernel(bed: Bed) -> dict[frozenset[str], float]:
    """Common volume of every pair of parts that has any, each simply cut with each."""
    solids = [(piece.name, bed.solid(piece)) for piece in bed.pieces]
    volumes = {
        frozenset((a, b)): abs(one.intersect(other).Volume())
        for (a, one), (b, other) in itertools.combinations(solids, 2)
    }
    assert len(volumes) == len(solids) * (len(solids) - 1) // 2
    return {pair: volume for pair, volume in volumes.items() if volume > 1.0}


def by_the_check(bed: Bed) -> dict[frozenset[str], float]:
    (result,) = check_overlap(Probe(bed))
    return {frozenset(finding.parts): finding.measured for finding in result.findings}


def test_overlaps_are_those_of_a_plain_loop_over_all_pairs() -> None:
    assert by_the_kernel(good("sorrel")) == {}
    broken = thrice_broken()
    plain = by_the_kernel(broken)
    told = by_the_check(broken)
    for pair in (
        ("runner_left", "slat_09"),
        ("side_rail_left", "runner_left"),
        ("footboard_board_tenon_1_right", "foot_leg_right"),
    ):
        assert frozenset(pair) in plain
    assert told == pytest.approx(plain, rel=1e-4, abs=0.01)


def turned(bed: Bed, by: Frame) -> Bed:
    pieces = tuple(replace(piece, placement=by @ piece.placement) for piece in bed.pieces)
    return Bed(bed.layout, pieces, bed.solids)


ABOUT_Z = Frame(
    (1234.5, -678.9, 12.3),
    (math.cos(math.pi / 6), math.sin(math.pi / 6), 0.0),
    (-math.sin(math.pi / 6), math.cos(math.pi / 6), 0.0),
)
ASKEW = Frame.from_zx((-50.0, 900.0, 3000.0), (0.3, -0.5, 0.8), (1.0, 0.2, -0.4))


@pytest.mark.parametrize("by", [ABOUT_Z, ASKEW], ids=["about z", "askew"])
@pytest.mark.parametrize("name", ["sorrel", "campion"])
def test_overlaps_do_not_depend_on_how_the_bed_lies(name: str, by: Frame) -> None:
    assert by_the_check(turned(good(name), by)) == {}
    broken = thrice_broken(name)
    assert by_the_check(turned(broken, by)) == pytest.approx(
        by_the_check(broken), rel=1e-4, abs=0.01
    )


def bar(length: float, width: float, thick: float) -> cq.Solid:
    """A bar about the origin."""
    return block((length, width, thick), (-length / 2, -width / 2, -thick / 2))


def channel() -> cq.Shape:
    """A channel 100 long, 60 wide and high, with a slot 20 wide and 40 deep from the top."""
    return block((100, 60, 60)).cut(block((100, 20, 40), (0, 20, 20)))


HALF_TURN = math.sqrt(0.5)
INSIDE = replace(ABOUT_Z, origin=(1.0, 2.0, 3.0))
ON_EDGE = Frame.from_zx((0, 0, 0), (0, HALF_TURN, HALF_TURN), (1, 0, 0))
CROSSED = Frame.from_zx((0, 0, 0), (HALF_TURN, 0, HALF_TURN), (0, 1, 0))
# Two bars on their edges, crossed: their edges touch when the axes are this far apart.
CREST = 20 * HALF_TURN * 2

PAIRS = {
    "face on face": (bar(100, 50, 20), Frame(), bar(60, 30, 10), Frame((0, 0, 15)), 0.0),
    "half a millimetre deep": (
        bar(100, 50, 20),
        Frame(),
        bar(60, 30, 10),
        Frame((0, 0, 14.5)),
        60 * 30 * 0.5,
    ),
    "one inside the other": (bar(100, 50, 20), Frame(), bar(40, 20, 10), INSIDE, 40 * 20 * 10),
    "one and the same": (bar(100, 50, 20), ASKEW, bar(100, 50, 20), ASKEW, 100 * 50 * 20),
    "in a slot it fits": (
        channel(),
        Frame(),
        block((100, 20, 40), (0, 20, 20)),
        Frame(),
        0.0,
    ),
    "too wide for the slot": (
        channel(),
        Frame(),
        block((100, 20.5, 40), (0, 20, 20)),
        Frame(),
        100 * 0.5 * 40,
    ),
    "through the walls of the slot": (
        channel(),
        Frame(),
        block((10, 100, 10), (45, -20, 40)),
        Frame(),
        10 * 10 * 40,
    ),
    "edges a hair apart": (
        bar(200, 20, 20),
        ON_EDGE,
        bar(200, 20, 20),
        CROSSED.moved((0, 0, CREST + 0.001)),
        0.0,
    ),
    # Two wedges, each cut by the other's edges: a pyramid on a square of sides 2 d.
    "edges a millimetre deep": (
        bar(200, 20, 20),
        ON_EDGE,
        bar(200, 20, 20),
        CROSSED.moved((0, 0, CREST - 1)),
        2 / 3 * 1**3,
    ),
    "edges six millimetres deep": (
        bar(200, 20, 20),
        ON_EDGE,
        bar(200, 20, 20),
        CROSSED.moved((0, 0, CREST - 6)),
        2 / 3 * 6**3,
    ),
}


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("by", [Frame(), ASKEW], ids=["straight", "askew"])
def test_two_parts_share_what_they_share(pair: str, by: Frame) -> None:
    one, at_one, other, at_other, volume = PAIRS[pair]
    probe = Probe(bed_of((one, by @ at_one), (other, by @ at_other)))
    first, second = probe.bed.pieces
    assert common_volume(probe, first, second) == pytest.approx(volume, rel=1e-6, abs=1e-4)
    (result,) = check_overlap(probe)
    told = [finding.measured for finding in result.findings]
    assert told == pytest.approx([volume] if volume > 1 else [], rel=1e-6)
    assert result.tested == 1


@pytest.mark.parametrize("length", [100, 50], ids=["of one length", "of half the length"])
def test_twins_in_one_place_overlap_however_they_lie(length: int) -> None:
    """Their faces are in one plane, up to rounding, which differs with each placement."""
    lie = random.Random(length)
    for _ in range(60):
        z, x, origin = ([lie.uniform(-1, 1) for _ in range(3)] for _ in range(3))
        at = Frame.from_zx(
            (9e3 * origin[0], 9e3 * origin[1], 0.0), (z[0], z[1], z[2]), (x[0], x[1], x[2])
        )
        probe = Probe(bed_of((block((100, 50, 20)), at), (block((length, 50, 20)), at)))
        (result,) = check_overlap(probe)
        (finding,) = result.findings
        assert finding.measured == pytest.approx(length * 50 * 20, rel=1e-6)


def test_parts_thrown_together_overlap_as_the_kernel_says() -> None:
    """A channel and a leg among bars, in any pose; some meet and some do not."""
    throw = random.Random(7)
    leg = good("sorrel").solids["foot_leg_left"]
    forms = (channel(), bar(90, 40, 15), block((300, 9, 9)), leg)
    verdicts = []
    for _ in range(120):
        one, other = throw.choice(forms), throw.choice(forms)
        z, x, at = ([throw.uniform(-1, 1) for _ in range(3)] for _ in range(3))
        pose = Frame.from_zx(
            (90 * at[0] + 60, 90 * at[1] + 30, 90 * at[2]),
            (z[0], z[1], z[2]),
            (x[0], x[1], x[2]),
        )
        bed = bed_of((one, ASKEW), (other, ASKEW @ pose))
        assert by_the_check(bed) == pytest.approx(by_the_kernel(bed), rel=1e-3, abs=0.1)
        verdicts.append(bool(by_the_check(bed)))
    assert 20 < sum(verdicts) < 100


def test_most_pairs_need_no_cutting_and_none_that_overlaps_is_spared() -> None:
    broken = thrice_broken()
    probe = Probe(broken)
    names = [piece.name for piece in broken.pieces]
    candidates = {frozenset((names[i], names[j])) for i, j in candidate_pairs(probe)}
    assert candidates >= set(by_the_check(broken))
    assert len(candidates) < len(names) * (len(names) - 1) / 2 / 10


# --- measuring tools ----------------------------------------------------------------------


def middle_of(face: FaceData) -> Vector:
    """A point of a flat face that lies in it: the middle of one of its triangles."""
    points, triangles = cq.Face(face.face).tessellate(0.05, 0.1)
    corners = max(
        ([points[i] for i in triangle] for triangle in triangles),
        key=lambda c: (c[1] - c[0]).cross(c[2] - c[0]).Length,
    )
    centre = (corners[0] + corners[1] + corners[2]) / 3
    return centre.x, centre.y, centre.z


def holds(solid: TopoDS_Shape, point: Vector) -> bool:
    classifier = BRepClass3d_SolidClassifier(solid, gp_Pnt(*point), 1e-6)
    return bool(classifier.State() == TopAbs_State.TopAbs_IN)


def check_normals(probe: Probe, kind: str) -> int:
    """Count the flat faces whose normals point out of the wood; fail if one does not."""
    solid, count = probe.bed.solids[kind].wrapped, 0
    for face in probe.faces(kind):
        if face.normal is None:
            continue
        middle = middle_of(face)
        ahead, behind = (
            tuple(m + side * n for m, n in zip(middle, face.normal, strict=True))
            for side in (0.01, -0.01)
        )
        assert not holds(solid, (ahead[0], ahead[1], ahead[2])), (kind, face.normal)
        assert holds(solid, (behind[0], behind[1], behind[2])), (kind, face.normal)
        count += 1
    return count


def test_normals_look_out_of_the_wood() -> None:
    """On both hands of the legs, and on every other kind."""
    bed = good("sorrel", None, *UNSCREWED)
    probe = Probe(bed)
    counts = {kind: check_normals(probe, kind) for kind in bed.kinds}
    assert min(counts.values()) >= 4
    assert counts["head_leg_left"] == counts["head_leg_right"]


@pytest.mark.parametrize("plane", ["XY", "YZ", "XZ"])
def test_normals_look_out_of_a_mirror_image(plane: Literal["XY", "YZ", "XZ"]) -> None:
    """A mirror image has left-handed planes or reversed faces."""
    image = channel().mirror(plane)
    probe = Probe(bed_of((image, Frame()), (channel(), Frame())))
    # Four outside, two tops, three of the slot; the slot's bottom is one of these.
    assert check_normals(probe, "one") == check_normals(probe, "two") == 10


@pytest.mark.parametrize("by", [Frame(), ASKEW], ids=["straight", "askew"])
@pytest.mark.parametrize("name", ["campion", "sorrel"])
def test_a_quick_box_holds_its_face(name: str, by: Frame) -> None:
    """Points of a mesh lie on the face, so none may be outside; legs have every kind of face."""
    for face in good(name).solids["head_leg_left"].moved(location(by)).Faces():
        low, high = quick_box(face.wrapped)
        points, _ = face.tessellate(0.01, 0.05)
        assert len(points) >= 3
        for i, axis in enumerate("xyz"):
            reach = [getattr(point, axis) for point in points]
            assert low[i] - 1e-5 <= min(reach)
            assert max(reach) <= high[i] + 1e-5


@pytest.mark.parametrize("by", [Frame(), ASKEW], ids=["straight", "askew"])
def test_an_exact_box_is_the_smallest(by: Frame) -> None:
    """Found by the kernel's own search, for which no face is special."""
    for face in good("campion").solids["head_leg_left"].moved(location(by)).Faces():
        low, high = exact_box(face.wrapped)
        smallest = box_of(face.wrapped, exact=True)
        assert low == pytest.approx(smallest[0], abs=1e-5)
        assert high == pytest.approx(smallest[1], abs=1e-5)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_box_of_a_kind_is_that_of_its_blank(name: str) -> None:
    """A blank is cut to the part, so the part touches all six of its sides."""
    bed = good(name, None, *UNSCREWED)
    probe = Probe(bed)
    for kind in bed.kinds.values():
        low, high = probe.box(kind.name)
        assert low == pytest.approx((0, 0, 0), abs=1e-5), kind.name
        assert high == pytest.approx(kind.shape.blank, abs=1e-5), kind.name


def box_gap(one: FaceData, other: FaceData) -> float:
    gaps = [max(0.0, c - b, a - d) for a, b, c, d in zip(*one.box, *other.box, strict=True)]
    return math.hypot(*gaps)


def by_the_kernel_alone(ones: Sequence[FaceData], others: Sequence[FaceData]) -> float:
    """The least distance over all pairs, but for what the kernel cannot mean.

    Of two cylinders it may say 0 though their boxes are hundreds of millimetres apart.
    """
    measured = [(distance(a.face, b.face), box_gap(a, b)) for a in ones for b in others]
    return min(value for value, gap in measured if value > gap - 1e-6)


@pytest.mark.parametrize("kind", ["head_leg_right", "headboard_board_2", "side_rail"])
def test_the_least_distance_is_that_of_the_kernel(kind: str) -> None:
    """Found by the kernel for each pair of faces, with no bound and no short cut."""
    probe = Probe(good("campion", None, *UNSCREWED))
    cuts = find_walls(probe, probe.bed.kinds[kind])
    owned = {id(face) for own in cuts for face in own.faces}
    rest = [face for face in probe.faces(kind) if id(face) not in owned]
    # Every third face outside stands for all.
    groups = [own.faces for own in cuts] + [(face,) for face in rest[::3]]
    near = 0
    for i, own in enumerate(cuts):
        for other in groups[i + 1 :]:
            found = least_distance(own.faces, other)
            if found > FAR - 1e-6:
                # A bound is enough for what is far off.
                assert max(box_gap(a, b) for a in own.faces for b in other) > FAR / 2
                continue
            near += 1
            assert found == pytest.approx(by_the_kernel_alone(own.faces, other), abs=1e-6)
    assert near >= 10


def test_a_round_wall_is_as_near_as_its_nearest_line() -> None:
    """Two holes of radius 4, 30 apart, in a block 12 above the middle of the one."""
    block_with_holes = (
        cq.Workplane().box(100, 24, 20).faces(">Z").workplane().pushPoints([(-15, 0), (15, 0)])
    ).hole(8)
    solid = block_with_holes.val()
    assert isinstance(solid, cq.Shape)
    for by in (Frame(), ASKEW):
        probe = Probe(bed_of((solid.moved(location(by)), Frame())))
        faces = probe.faces("one")
        first, second = (f for f in faces if f.cylinder is not None)
        side = next(f for f in faces if f.normal and dot(f.normal, by.y) > 0.99)
        assert least_distance([first], [second]) == pytest.approx(30 - 2 * 4, abs=1e-9)
        assert least_distance([first], [side]) == pytest.approx(12 - 4, abs=1e-9)
        assert first.reach(by.y) == pytest.approx(
            (dot(by.origin, by.y) - 4, dot(by.origin, by.y) + 4), abs=1e-9
        )


def test_twins_are_mirror_images() -> None:
    """Left and right legs are; one leg with a hole that the other has not is none."""
    bed = good("sorrel", None, *UNSCREWED)
    probe = Probe(bed)
    assert {(t.kind, t.axis) for t in probe.twins("head_leg_left")} == {("head_leg_right", "z")}
    assert {(t.kind, t.axis) for t in probe.twins("slat")} == {("slat", a) for a in "xyz"}
    shape = bed.kinds["head_leg_right"].shape
    x, y, _ = (side / 2 for side in shape.blank)
    other_hole = cq.Solid.makeCylinder(2, 5, cq.Vector(x, y, 0))
    bored = bed.with_piece(
        "head_leg_right", shape=shape, solid=bed.solids["head_leg_right"].cut(other_hole)
    )
    assert Probe(bored).twins("head_leg_left") == ()


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_twin_lies_where_its_mirror_image_is(name: str) -> None:
    """The image of each left-hand piece fills the place of the right-hand one."""
    bed = good(name, None, *UNSCREWED)
    probe = Probe(bed)
    for piece in bed.pieces:
        if not piece.name.endswith("_left"):
            continue
        right = bed.solid(bed.piece(piece.name.removesuffix("left") + "right"))
        twins = probe.twins(piece.kind.name)
        assert twins, piece.name
        for twin in twins:
            image = bed.solids[twin.kind].moved(location(twin.image(piece)))
            assert cq.Vector(image.Center()).toTuple() == pytest.approx(
                right.Center().toTuple(), abs=1e-6
            )
            low, high = box_of(image.wrapped)
            assert (*low, *high) == pytest.approx(sum(box_of(right.wrapped), ()), abs=1e-5)


UP = (0.0, 0.0, 1.0)


def touching(gap: float, tilt: float, by: Frame) -> tuple[Probe, Piece, Piece]:
    """A box 100 x 50 x 20, and one like it on its top, shifted by 40 and 20."""
    leaning = Frame.from_zx(
        (40.0, 20.0, 20.0 + gap), (math.sin(tilt), 0, math.cos(tilt)), (1, 0, 0)
    )
    bed = bed_of((block((100, 50, 20)), by), (block((100, 50, 20)), by @ leaning))
    return Probe(bed), bed.pieces[0], bed.pieces[1]


@pytest.mark.parametrize("by", [Frame(), ASKEW], ids=["straight", "askew"])
def test_contact_is_the_area_that_two_faces_share(by: Frame) -> None:
    probe, one, other = touching(0.0, 0.0, by)
    assert contact_area(probe, one, other, by.direction(UP)) == pytest.approx(60 * 30, rel=1e-6)
    down = by.direction((0.0, 0.0, -1.0))
    assert contact_area(probe, other, one, down) == pytest.approx(60 * 30, rel=1e-6)
    assert contact_area(probe, one, other, down) == 0


@pytest.mark.parametrize(
    ("gap", "tilt", "area"),
    [(0.01, 0.0, 60 * 30), (0.03, 0.0, 0.0), (-0.03, 0.0, 0.0), (0.0, 1e-3, 0.0)],
)
def test_contact_ends_two_hundredths_of_a_millimetre_off(
    gap: float, tilt: float, area: float
) -> None:
    """A tilt of 0.001 over 100 mm opens a tenth of a millimetre."""
    probe, one, other = touching(gap, tilt, Frame())
    assert contact_area(probe, one, other, UP) == pytest.approx(area, rel=1e-4)


def test_contact_leaves_out_what_is_cut_away() -> None:
    two_feet = compound([block((10, 50, 20)), block((10, 50, 20), (90, 0, 0))])
    bed = bed_of((channel(), Frame()), (two_feet, Frame((0, 0, 60))))
    first, second = bed.pieces
    # Each foot crosses the slot, which takes 20 of its 50 mm.
    area = contact_area(Probe(bed), first, second, UP)
    assert area == pytest.approx(2 * 10 * (50 - 20), rel=1e-6)


@pytest.mark.parametrize("kind", ["side_rail", "slat", "runner", "footboard_board"])
@pytest.mark.parametrize("name", ["hawthorn", "sorrel"])
def test_the_area_of_a_section_is_that_of_the_solid_sawn_through(name: str, kind: str) -> None:
    bed = good(name, None, *UNSCREWED)
    shape = bed.kinds[kind].shape
    saw = block((2, shape.width + 2, shape.thickness + 2), (shape.length / 2, -1, -1))
    sawn = abs(bed.solids[kind].intersect(saw).Volume()) / 2
    assert section_area(shape) == pytest.approx(sawn, rel=1e-9)
