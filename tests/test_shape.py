"""Outlines, frames, shapes and mirror twins, against shapely, numpy and plain geometry."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from bedmodel.cuts import Axis, Mortise
from bedmodel.frames import Frame, Vector
from bedmodel.outline import Outline, Point
from bedmodel.shape import SQUARE, Easing, Shape, mirror_pair

CHORDS = 4000
NAMES = ("a", "b", "c", "d", "e", "f", "g", "h")


@st.composite
def outlines(draw: st.DrawFn) -> Outline:
    """A star-shaped ring of 3 to 8 corners, with lines and arcs both hollow and full."""
    count = draw(st.integers(3, 8))
    radii = draw(st.lists(st.floats(60, 200), min_size=count, max_size=count))
    bulges = draw(st.lists(st.floats(-0.2, 0.4) | st.just(0.0), min_size=count, max_size=count))
    steps = []
    for i, (r, b, n) in enumerate(zip(radii, bulges, NAMES, strict=False)):
        turn = math.tau * i / count
        # A bulge too small to be told from a line by the chords would prove nothing.
        steps.append(((r * math.cos(turn), r * math.sin(turn)), b if abs(b) > 1e-3 else 0.0, n))
    return Outline.of(steps)


def chord_points(outline: Outline) -> list[Point]:
    """Points along the ring, arcs by their centre: a route apart from ``Edge.point_at``.

    The centre of the arc over a chord of length c stands on the chord's bisector,
    c (1 - b^2) / 4b to the left.
    """
    points: list[Point] = []
    count = len(outline.vertices)
    for i, (start, b) in enumerate(zip(outline.vertices, outline.bulges, strict=True)):
        points.append(start)
        if b == 0:
            continue
        p, q = np.array(start), np.array(outline.vertices[(i + 1) % count])
        along = q - p
        centre = (p + q) / 2 + np.array([-along[1], along[0]]) * (1 - b * b) / (4 * b)
        turn = 4 * math.atan(b)
        for k in range(1, CHORDS):
            a = turn * k / CHORDS
            c, s = math.cos(a), math.sin(a)
            x, y = np.array([[c, -s], [s, c]]) @ (p - centre) + centre
            points.append((float(x), float(y)))
    return points


# --- outlines -----------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(outlines())
def test_area_bounds_and_perimeter_are_those_of_fine_chords(outline: Outline) -> None:
    """4000 chords an arc are short by under 1e-6 of it."""
    fine = np.array(chord_points(outline))
    ring = Polygon(fine)
    # Shapely's area has no sign; a ring that crosses itself has none to compare.
    if ring.is_valid:
        assert outline.area == pytest.approx(ring.area, rel=1e-6)
    assert outline.perimeter == pytest.approx(ring.length, rel=1e-6)
    assert outline.bounds() == pytest.approx((*fine.min(axis=0), *fine.max(axis=0)), abs=1e-4)


def test_closed_forms_of_round_outlines() -> None:
    stadium = Outline.of(
        [((0, 0), 0.0, "a"), ((50, 0), 1.0, "b"), ((50, 20), 0.0, "c"), ((0, 20), 1.0, "d")]
    )
    assert stadium.area == pytest.approx(50 * 20 + math.pi * 100)
    assert stadium.perimeter == pytest.approx(100 + math.pi * 20)
    assert stadium.bounds() == pytest.approx((-10, 0, 60, 20))
    bitten = Outline.of(
        [((0, 0), 0.0, "a"), ((50, 0), -1.0, "b"), ((50, 20), 0.0, "c"), ((0, 20), 0.0, "d")]
    )
    assert bitten.area == pytest.approx(50 * 20 - math.pi * 50)
    assert bitten.bounds() == pytest.approx((0, 0, 50, 20))


@given(outlines())
def test_a_clockwise_list_is_turned_with_its_arcs_and_names(outline: Outline) -> None:
    count = len(outline.vertices)
    back = [
        (outline.vertices[-i % count], -outline.bulges[(-i - 1) % count], outline.names[-i - 1])
        for i in range(count)
    ]
    again = Outline.of(back)
    assert again.area == pytest.approx(outline.area)
    assert again.canonical() == outline.canonical()
    for edge in outline.edges():
        (twin,) = again.named(edge.name)
        assert (twin.start, twin.end) == (edge.start, edge.end)
        assert twin.bulge == edge.bulge


@given(outlines(), st.integers(0, 7))
def test_canonical_does_not_hang_on_the_start(outline: Outline, by: int) -> None:
    by %= len(outline.vertices)
    turned = Outline(
        *(
            column[by:] + column[:by]  # type: ignore[arg-type]
            for column in (outline.vertices, outline.bulges, outline.names)
        )
    )
    assert turned.canonical() == outline.canonical()
    assert turned.canonical(frozenset("a")) == outline.canonical(frozenset("a"))
    assert outline.canonical(frozenset("a")) != outline.canonical(frozenset("b"))
    bent = replace(outline, bulges=(outline.bulges[0] + 1e-6, *outline.bulges[1:]))
    assert bent.canonical() != outline.canonical()


def test_merged_vertices_keep_the_later_edge() -> None:
    steps = [((0, 0), 0.0, "a"), ((50, 0), 0.0, "gone"), ((50, 1e-8), 0.0, "b"), ((0, 9), 0.0, "c")]
    outline = Outline.of(steps)
    assert outline.names == ("a", "b", "c")


# --- shapes -----------------------------------------------------------------------------


@st.composite
def shapes(draw: st.DrawFn) -> Shape:
    """A plate with an outline in one of the three faces, some mortises and eased edges."""
    outline = draw(outlines())
    x0, y0, x1, y1 = outline.bounds()
    outline = outline.mapped(lambda p: (p[0] - x0, p[1] - y0))
    depth = draw(st.floats(20, 60))
    face = draw(st.sampled_from(["xy", "xz", "yz"]))
    a, b = x1 - x0, y1 - y0
    blank = {"xy": (a, b, depth), "xz": (a, depth, b), "yz": (depth, a, b)}[face]
    cuts = []
    for i in range(draw(st.integers(0, 3))):
        place = tuple(draw(st.floats(0, side)) for side in blank)
        z = draw(st.sampled_from([(1, 0, 0), (0, -1, 0), (0, 0, 1), (0.6, 0.8, 0)]))
        x = draw(st.sampled_from([(0, 0.6, 0.8), (0.8, -0.6, 0.0), (0, 0, 1), (0, 1, 0)]))
        if abs(np.dot(z, x)) < 0.99:
            frame = Frame.from_zx(place, z, x)  # type: ignore[arg-type]
            cuts.append(Mortise(f"m{i}", frame, 40, 8, 15))
    easing = draw(st.sampled_from([SQUARE, Easing("roundover", 2.0, frozenset("ac"))]))
    return Shape(*blank, outline, face, tuple(cuts), easing)  # type: ignore[arg-type]


AXES: tuple[Axis, ...] = ("x", "y", "z")


@given(shapes(), st.sampled_from(AXES))
def test_reflected_twice_is_the_same_part(shape: Shape, axis: Axis) -> None:
    once = shape.reflected(axis)
    assert once.blank == shape.blank
    assert once.outline.area == pytest.approx(shape.outline.area)
    again = once.reflected(axis)
    assert np.allclose(numbers_of(again), numbers_of(shape), atol=1e-9)
    assert [cut.name for cut in again.cuts] == [cut.name for cut in shape.cuts]
    for cut in once.cuts:
        f = cut.frame
        assert np.linalg.det([f.x, f.y, f.z]) == pytest.approx(1.0)


def numbers_of(shape: Shape) -> list[float]:
    """All numbers of a shape in order, the outline from its lowest corner on."""
    rows = sorted(zip(shape.outline.names, shape.outline.vertices, strict=True))
    flat = [*shape.blank, *(c for _, vertex in rows for c in vertex)]
    flat += [b for _, b in sorted(zip(shape.outline.names, shape.outline.bulges, strict=True))]
    for cut in shape.cuts:
        flat += [*cut.frame.origin, *cut.frame.z, *(abs(c) for c in cut.frame.x)]
    return flat


@given(shapes(), st.sampled_from(AXES))
def test_reflection_moves_each_point_of_the_plate(shape: Shape, axis: Axis) -> None:
    image = shape.reflected(axis)
    i = AXES.index(axis)
    for old in shape.outline.edges():
        ends = np.array([in_space(p, shape.face) for p in (old.start, old.end)])
        ends[:, i] = shape.blank[i] - ends[:, i]
        kept = [k for k in range(3) if AXES[k] in shape.face]
        (edge,) = image.outline.named(old.name)
        found = np.array([edge.start, edge.end])
        # Turned to run anticlockwise again, the edge starts where it ended.
        back = found[::-1] if axis in shape.face else found
        assert np.allclose(back, ends[:, kept], atol=1e-9)
    for cut, twin in zip(shape.cuts, image.cuts, strict=True):
        flip = np.where(np.arange(3) == i, -1.0, 1.0)
        origin = np.where(np.arange(3) == i, shape.blank[i] - np.array(cut.frame.origin), 0)
        assert twin.frame.origin[i] == pytest.approx(origin[i])
        assert np.allclose(twin.frame.z, flip * np.array(cut.frame.z))
        assert np.allclose(twin.frame.x, flip * np.array(cut.frame.x))


def in_space(p: Point, face: str) -> Vector:
    """A point of the outline on the face that starts the plate."""
    a, b = p
    return {"xy": (a, b, 0.0), "xz": (a, 0.0, b), "yz": (0.0, a, b)}[face]


def test_the_key_tells_what_makes_another_part() -> None:
    outline = Outline.rectangle(300, 80, ("long", "end", "long", "end"))
    frame = Frame.from_zx((0, 40, 12), (1, 0, 0), (0, 1, 0))
    cut = Mortise("m", frame, 40, 8, 15)
    shape = Shape(
        300, 80, 25, outline, cuts=(cut,), easing=Easing("roundover", 3, frozenset({"long"}))
    )
    same = [
        replace(shape, cuts=(replace(cut, name="another"),)),
        # A slot turned end for end is the same slot.
        replace(
            shape, cuts=(replace(cut, frame=Frame.from_zx((0, 40, 12), (1, 0, 0), (0, -1, 0))),)
        ),
        replace(shape, outline=replace(outline, names=("long", "other", "long", "end"))),
    ]
    assert {s.key() for s in same} == {shape.key()}
    others = [
        replace(shape, thickness=26),
        replace(shape, cuts=()),
        replace(shape, cuts=(replace(cut, depth=16),)),
        replace(
            shape, cuts=(replace(cut, frame=Frame.from_zx((0, 41, 12), (1, 0, 0), (0, 1, 0))),)
        ),
        replace(
            shape, cuts=(replace(cut, frame=Frame.from_zx((0, 40, 12), (1, 0, 0), (0, 0, 1))),)
        ),
        replace(shape, easing=Easing("chamfer", 3, frozenset({"long"}))),
        replace(shape, easing=Easing("roundover", 2, frozenset({"long"}))),
        replace(shape, easing=Easing("roundover", 3, frozenset({"end"}))),
        replace(shape, easing=SQUARE),
    ]
    keys = [s.key() for s in (shape, *others)]
    assert len(set(keys)) == len(keys)


# --- frames -------------------------------------------------------------------------------


@st.composite
def frames(draw: st.DrawFn) -> Frame:
    part = st.floats(-1, 1)
    z = draw(st.tuples(part, part, part).filter(lambda v: math.hypot(*v) > 0.1))
    x = draw(st.tuples(part, part, part).filter(lambda v: np.linalg.norm(np.cross(v, z)) > 0.05))
    far = st.floats(-3000, 3000)
    return Frame.from_zx(draw(st.tuples(far, far, far)), z, x)


POINTS = st.tuples(*[st.floats(-3000, 3000)] * 3)


def matrix(f: Frame) -> np.ndarray:
    m = np.eye(4)
    m[:3, :3] = np.array([f.x, f.y, f.z]).T
    m[:3, 3] = f.origin
    return m


@given(frames(), frames(), POINTS)
def test_frames_compose_as_matrices_do(a: Frame, b: Frame, p: Vector) -> None:
    m = matrix(a)
    assert np.allclose(m[:3, :3] @ m[:3, :3].T, np.eye(3), atol=1e-12)
    assert np.linalg.det(m[:3, :3]) == pytest.approx(1.0)
    assert np.allclose(matrix(a @ b), matrix(a) @ matrix(b), atol=1e-9)
    assert np.allclose(a.point(p), (m @ [*p, 1.0])[:3], atol=1e-9)
    assert np.allclose(a.direction(p), (m @ [*p, 0.0])[:3], atol=1e-9)
    assert np.allclose(matrix(a.moved(p)), m + np.outer([*p, 0], [0, 0, 0, 1]), atol=1e-9)


@given(frames(), POINTS)
def test_inverse_is_the_matrix_inverse(a: Frame, p: Vector) -> None:
    assert np.allclose(matrix(a.inverse()), np.linalg.inv(matrix(a)), atol=1e-8)
    assert np.allclose(a.inverse().point(a.point(p)), p, atol=1e-8)


# --- twins --------------------------------------------------------------------------------


def corners_in_bed(shape: Shape, placement: Frame) -> np.ndarray:
    """All corners of the plate, both faces, and each mortise's opening and bottom."""
    push = np.array({"xy": (0, 0, 1), "xz": (0, 1, 0), "yz": (1, 0, 0)}[shape.face])
    points = []
    for vertex in shape.outline.vertices:
        near = np.array(in_space(vertex, shape.face))
        points += [near, near + shape.depth * push]
    for cut in shape.cuts:
        points += [np.array(cut.frame.origin), np.array(cut.frame.point((0, 0, cut.depth)))]
    placed = np.array([placement.point(tuple(p)) for p in points])
    return placed[np.lexsort(placed.round(6).T)]


@given(shapes(), frames())
def test_the_twin_is_the_mirror_image_in_the_bed(shape: Shape, placement: Frame) -> None:
    twin, there = mirror_pair(shape, placement)
    assert np.linalg.det(matrix(there)[:3, :3]) == pytest.approx(1.0)  # a turn, no mirror
    image = corners_in_bed(shape, placement) * [-1, 1, 1]
    image = image[np.lexsort(image.round(6).T)]
    twins = corners_in_bed(twin, there)
    # Sorting may swap rows that are equal to rounding: compare each with its nearest.
    far = np.linalg.norm(image[:, None] - twins[None], axis=2)
    assert far.min(axis=0).max() < 1e-6
    assert far.min(axis=1).max() < 1e-6
    assert len(image) == len(twins)


@given(st.floats(200, 900), st.floats(40, 90), st.floats(20, 60), frames())
def test_symmetric_parts_are_their_own_twins(
    length: float, width: float, thickness: float, placement: Frame
) -> None:
    outline = Outline.rectangle(length, width, ("long", "end", "long", "end"))
    middle = Frame.from_zx((length / 3, 0, thickness / 2), (0, 1, 0), (1, 0, 0))
    plain = Shape(length, width, thickness, outline)
    centred = plain.with_cuts((Mortise("m", middle, 40, 8, 15),))
    for shape in (plain, centred):
        twin, _ = mirror_pair(shape, placement)
        assert twin is shape
    off = Frame.from_zx((length / 3, 0, thickness / 2 + 1.5), (0, 1, 0), (1, 0, 0))
    chiral = plain.with_cuts((Mortise("m", off, 40, 8, 15),))
    twin, _ = mirror_pair(chiral, placement)
    assert twin.key() != chiral.key()
    assert mirror_pair(twin, placement)[0].key() == chiral.key()


@pytest.mark.parametrize("step", [25.4 / 64, 25.4 / 32, 0.1])
def test_sizes_in_fractions_do_not_hide_a_symmetry(step: float) -> None:
    """Half of an odd number of 64ths of an inch ends in a 5 at the seventh place."""
    for i in range(80, 160):
        thickness = i * step
        # As a joint places it: from the two faces, by different sums.
        board = thickness - 20.0
        setback = 10.0 + board / 2
        frame = Frame.from_zx((100, 0, thickness - setback), (0, 1, 0), (1, 0, 0))
        outline = Outline.rectangle(500, 60, ("a", "b", "a", "b"))
        shape = Shape(500, 60, thickness, outline, cuts=(Mortise("m", frame, 40, 8, 15),))
        assert mirror_pair(shape, Frame())[0] is shape, thickness
