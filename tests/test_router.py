"""Templates and reliefs, held against plane geometry worked out apart and a simulated cut.

Oracles: closed forms of a circle in and round a corner; the offsets of shapely; the
simulated cut, which knows radii and distances but no offset rule, and is itself held
against closed forms below.
"""

from __future__ import annotations

import cmath
import functools
import math
import re
from collections.abc import Callable, Sequence

import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from bedmodel.cuts import Mortise
from bedmodel.cutters import Cutter, finished_inside_radius
from bedmodel.errors import InputError
from bedmodel.frames import Frame
from bedmodel.outline import Outline, Point
from bedmodel.sheets import load_sheet
from bedmodel.shop.relief import (
    RELIEF,
    cautions,
    relieved,
    rounded_outside_corners,
    sharp_inside_corners,
)
from bedmodel.shop.router import (
    Side,
    check_follows,
    inside_template,
    mortise_template,
    offset,
    outside_template,
    recess_template,
)
from bedmodel.shop.simulate import CutReport, polygon, simulate
from bedmodel.skeleton import lay_out

INCH = 25.4
QUICK = settings(
    deadline=None, database=None, max_examples=40, suppress_health_check=list(HealthCheck)
)
CLEAN = CutReport(0.0, 0.0, 0.0, 0.0)
TEMPLATE: dict[Side, Callable[[Outline, Cutter], Outline]] = {
    "inside": inside_template,
    "outside": outside_template,
}
SIDES: tuple[Side, Side] = ("inside", "outside")


def simulate_free(outline: Outline, diameter: float, side: Side) -> CutReport:
    """Cut an outline with a bit steered by a machine: one guided by its own size."""
    return simulate(outline, outline, Cutter(diameter, diameter), side)


# --- outlines to try ---------------------------------------------------------------------


def filleted(corners: Sequence[Point], radii: Sequence[float]) -> Outline:
    """A polygon with a round corner wherever the radius is not 0; edges named by number."""
    steps: list[tuple[Point, float, str]] = []
    for i, (p, r) in enumerate(zip(corners, radii, strict=True)):
        a, b = corners[i - 1], corners[(i + 1) % len(corners)]
        u = complex(a[0] - p[0], a[1] - p[1])
        v = complex(b[0] - p[0], b[1] - p[1])
        u, v = u / abs(u), v / abs(v)
        turn = math.remainder(math.atan2(v.imag, v.real) - math.atan2(-u.imag, -u.real), math.tau)
        back = r * abs(math.tan(turn / 2))
        if r:
            steps.append(
                ((p[0] + back * u.real, p[1] + back * u.imag), math.tan(turn / 4), f"r{i}")
            )
        steps.append(((p[0] + back * v.real, p[1] + back * v.imag), 0.0, f"e{i}"))
    return Outline.of(steps)


def rectangle(x: float, y: float, radius: float = 0.0) -> Outline:
    return filleted([(0, 0), (x, 0), (x, y), (0, y)], [radius] * 4)


def circle(diameter: float) -> Outline:
    r = diameter / 2
    return Outline(((-r, 0.0), (r, 0.0)), (1.0, 1.0), ("low", "high"))


@functools.cache
def leg(name: str, top: float) -> Outline:
    return lay_out(load_sheet(name)).legs.outline(top)


LEGS = st.builds(
    leg, st.sampled_from(["campion", "sorrel"]), st.sampled_from([420.0, 655.5, 760.0])
)
STADIUMS = st.builds(
    lambda width, more: rectangle(width + more, width, width / 2),
    st.floats(30, 80),
    st.floats(1, 300),
)
ROUNDED = st.builds(rectangle, st.floats(120, 400), st.floats(110, 300), st.floats(26, 50))


def bracket(
    radius_in: float, radius_out: float, lean: float, arm: float, rounds: Sequence[bool]
) -> Outline:
    """An L, sheared: five corners that stick out, the fourth hollow; some of them round."""
    corners = [(0, 0), (260, 0), (260, arm), (110, arm), (110, 240), (0, 240)]
    radii = [radius_out if i == 3 else radius_in for i in range(6)]
    return filleted(
        [(x + lean * y, y) for x, y in corners],
        [r if round_ else 0.0 for r, round_ in zip(radii, rounds, strict=True)],
    )


BRACKETS = st.builds(
    bracket,
    st.floats(14, 25),
    st.floats(14, 25),
    st.floats(-0.5, 0.5),
    st.floats(95, 130),
    st.lists(st.booleans(), min_size=6, max_size=6),
)
# Every edge bowed in or out, so that the corners lie between arcs.
BOWED = st.builds(
    lambda x, y, lean, bulges: Outline(
        ((0.0, 0.0), (x, 0.0), (x + lean, y), (lean, y)), tuple(bulges), ("a", "b", "c", "d")
    ),
    st.floats(150, 400),
    st.floats(100, 200),
    st.floats(-30, 30),
    st.lists(
        st.one_of(st.just(0.0), st.floats(0.002, 0.15), st.floats(-0.15, -0.002)),
        min_size=4,
        max_size=4,
    ),
)
OUTLINES = st.one_of(LEGS, STADIUMS, ROUNDED, BRACKETS, BOWED)
# Bits up to 24 mm, offsets of -2 to 10 mm: all that the outlines above have room for.
CUTTERS = st.builds(
    lambda diameter, by: Cutter(diameter, diameter + 2 * by), st.floats(6, 24), st.floats(-2, 10)
)


def corner_area(radius: float, angle: float) -> float:
    """Between a corner of ``angle`` and the circle that touches both its sides."""
    return radius**2 * (1 / math.tan(angle / 2) - (math.pi - angle) / 2)


def angles(outline: Outline, hollow: bool) -> list[float]:
    """Angle of the enclosed side of every corner between two lines that is (not) hollow."""
    found = []
    edges = list(outline.edges())
    for before, after in zip([edges[-1], *edges], edges, strict=False):
        if not before.is_arc and not after.is_arc:
            back = complex(*before.start) - complex(*before.end)
            on = complex(*after.end) - complex(*after.start)
            inner = cmath.phase(back / on) % math.tau
            if (inner > math.pi) == hollow:
                found.append(min(inner, math.tau - inner))
    return found


def apart(a: Outline, b: Outline) -> float:
    assert a.names == b.names
    bulges = max(abs(p - q) for p, q in zip(a.bulges, b.bulges, strict=True))
    return max(bulges, *(math.dist(p, q) for p, q in zip(a.vertices, b.vertices, strict=True)))


def named_size(refusal: pytest.ExceptionInfo[InputError]) -> float:
    """The size that a refusal says would do."""
    found = re.search(r"would do (?:with this bit )?is ([\d.]+) mm", str(refusal.value))
    assert found, str(refusal.value)
    return float(found[1])


# --- the simulated cut itself ------------------------------------------------------------


@pytest.mark.parametrize("diameter", [6.0, 12.7, 19.0])
def test_a_bit_leaves_the_closed_form_in_square_corners(diameter: float) -> None:
    r = diameter / 2
    told = simulate_free(rectangle(90, 40), diameter, "inside")
    assert told.uncut_area == pytest.approx(4 * (1 - math.pi / 4) * r**2, rel=2e-3)
    assert told.uncut_depth == pytest.approx(r * (math.sqrt(2) - 1), abs=3e-3)
    assert (told.overcut_area, told.overcut_depth) == (0, 0)
    assert simulate_free(rectangle(90, 40), diameter, "outside") == CLEAN


def test_a_guide_that_does_not_enter_cuts_nothing() -> None:
    told = simulate(rectangle(60, 29), rectangle(50, 19), Cutter(10, 30), "inside")
    assert told == CutReport(pytest.approx(950), 0.0, math.inf, 0.0)


def test_an_island_that_only_touches_the_cut_is_found() -> None:
    """Three discs of radius 5, centres 9.9 apart: a gap of radius 9.9/sqrt(3) - 5 between them."""
    out = 9.9 / (2 * math.sqrt(3)) + math.sqrt(25 - 4.95**2)
    vertices = [
        (out * math.cos(a), out * math.sin(a)) for a in (-math.pi / 3, math.pi / 3, math.pi)
    ]
    radius = 9.9 / math.sqrt(3)  # to the centres, which lie between the vertices
    centre, start = complex(radius, 0), complex(*vertices[0])
    half = math.atan2((start - centre).imag, (start - centre).real) % math.tau
    sweep = 2 * (math.tau - half)
    clover = Outline(tuple(vertices), (math.tan(sweep / 4),) * 3, ("a", "b", "c"))
    assert clover.named("a")[0].radius == pytest.approx(5)
    told = simulate_free(clover, 10, "inside")
    assert told.uncut_depth == pytest.approx(radius - 5, abs=0.01)


@pytest.mark.parametrize(("error", "side"), [(e, s) for e in (0.2, -0.2) for s in SIDES])
def test_a_template_off_by_a_fifth_of_a_millimetre_is_caught(error: float, side: Side) -> None:
    cutter, wanted = Cutter(12.7, 19.05), rectangle(200, 90, 20)
    sign = 1 if side == "inside" else -1
    told = simulate(offset(TEMPLATE[side](wanted, cutter), error), wanted, cutter, side)
    reached = (told.overcut_depth, told.uncut_depth)
    assert reached == pytest.approx((0.2, 0) if sign * error > 0 else (0, 0.2), abs=3e-3)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("wrong", [-1.0, 0.0, 2.0])  # the usual slips: sign, none, OD - d
def test_the_usual_slips_are_caught(wrong: float, side: Side) -> None:
    cutter, wanted = Cutter(12.7, 19.05), leg("campion", 655.5)
    by = cutter.offset * (1 if side == "inside" else -1)
    told = simulate(offset(wanted, wrong * by), wanted, cutter, side)
    deep = told.overcut_depth if wrong > 1 else told.uncut_depth
    assert deep > 0.99 * cutter.offset


# --- templates ---------------------------------------------------------------------------


def test_round_hole_of_six_inches() -> None:
    """OD 5/16 and bit 1/4 in: a template hole of 6 1/16 in."""
    template = inside_template(circle(6 * INCH), Cutter(INCH / 4, INCH * 5 / 16, "bushing"))
    x0, y0, x1, y1 = template.bounds()
    assert (x1 - x0, y1 - y0) == pytest.approx((6.0625 * INCH, 6.0625 * INCH))
    assert template.names == ("low", "high")


@pytest.mark.parametrize(
    ("cutter", "more"),
    [
        (Cutter(INCH / 2, INCH * 3 / 4, "bushing"), INCH / 4),
        (Cutter(10, 30, "bushing"), 20),
        (Cutter(9, 15, "bushing"), 6),
    ],
    ids=str,
)
def test_inside_templates_grow_and_outside_ones_shrink(cutter: Cutter, more: float) -> None:
    grown, shrunk = (TEMPLATE[side](rectangle(90, 70), cutter).bounds() for side in SIDES)
    assert grown == pytest.approx((-more / 2, -more / 2, 90 + more / 2, 70 + more / 2))
    assert shrunk == pytest.approx((more / 2, more / 2, 90 - more / 2, 70 - more / 2))


@QUICK
@given(OUTLINES, st.floats(0.1, 10))
def test_moved_out_and_in_is_the_same_outline(outline: Outline, by: float) -> None:
    for size in (by, -by):
        assert apart(offset(offset(outline, size), -size), outline) < 1e-6


@QUICK
@given(st.one_of(STADIUMS, ROUNDED, BRACKETS), st.floats(-10, 10))
def test_area_is_that_of_a_mitred_offset(outline: Outline, by: float) -> None:
    """Mitred by shapely, the arcs as chords 0.0001 mm off, which lose that much per length."""
    other = polygon(outline, 1e-4).buffer(by, join_style="mitre", mitre_limit=20)
    ours = offset(outline, by)
    assert ours.area == pytest.approx(other.area, abs=4e-4 * ours.perimeter)
    assert polygon(ours).symmetric_difference(other).area < 4e-3 * ours.perimeter


@QUICK
@given(st.one_of(LEGS, BOWED), st.floats(0.1, 10))
def test_shrunk_area_is_that_of_an_erosion_where_arcs_meet_too(outline: Outline, by: float) -> None:
    other = polygon(outline, 1e-4).buffer(-by, quad_segs=200)
    assert offset(outline, -by).area == pytest.approx(other.area, abs=4e-4 * outline.perimeter)


@QUICK
@given(OUTLINES, CUTTERS)
def test_what_a_template_cuts_is_wanted_but_for_the_corners(
    outline: Outline, cutter: Cutter
) -> None:
    for side in SIDES:
        told = simulate(TEMPLATE[side](outline, cutter), outline, cutter, side)
        inside = sharp_inside_corners(outline, cutter.diameter, side)
        outside = rounded_outside_corners(outline, cutter, side)
        assert told.uncut_depth <= max((c.miss for c in inside), default=0.0) + 0.015
        assert bool(told.uncut_area) <= bool(inside)
        # Into a side the rolling guide cuts o (1 - sin t/2) next to a corner of angle t.
        bites = [cutter.offset * (1 - math.sin(math.radians(c.angle_deg / 2))) for c in outside]
        assert told.overcut_depth <= max(bites, default=0.0) + 0.015
        assert bool(told.overcut_area) <= bool(outside)


@QUICK
@given(BRACKETS, CUTTERS)
def test_what_the_corners_miss_is_the_closed_form(outline: Outline, cutter: Cutter) -> None:
    r, o = cutter.diameter / 2, max(0.0, cutter.offset)
    out, hollow = angles(outline, False), angles(outline, True)
    for side, uncut, overcut in (("inside", out, hollow), ("outside", hollow, out)):
        told = simulate(TEMPLATE[side](outline, cutter), outline, cutter, side)  # type: ignore[index,arg-type]
        room = 0.003 * outline.perimeter
        assert told.uncut_area == pytest.approx(sum(corner_area(r, a) for a in uncut), abs=room)
        assert told.overcut_area == pytest.approx(sum(corner_area(o, a) for a in overcut), abs=room)


@pytest.mark.parametrize("name", ["campion", "sorrel"])
def test_a_leg_is_cut_clean_by_a_bearing_of_the_bits_own_size(name: str) -> None:
    outline, cutter = leg(name, 700.0), Cutter(19, 19)
    assert outside_template(outline, cutter) == outline
    assert simulate(outline, outline, cutter, "outside") == CLEAN
    assert cautions(outline, cutter, "outside") == ()
    # A smaller bearing needs a larger template, and still leaves sharp corners.
    small = Cutter(19, 16)
    assert simulate(outside_template(outline, small), outline, small, "outside") == CLEAN


@QUICK
@given(st.just(0.0) | st.floats(0.5, 30), st.floats(6, 12), st.floats(0.5, 8))
def test_a_template_corner_leaves_the_finished_radius(r: float, diameter: float, o: float) -> None:
    """Rounded or not, a template corner comes out as max(d/2, r - o): cut and compared."""
    cutter = Cutter(diameter, diameter + 2 * o, "bushing")
    wanted = rectangle(120, 100, finished_inside_radius(r, cutter))
    corners = [(-o, -o), (120 + o, -o), (120 + o, 100 + o), (-o, 100 + o)]
    template = filleted(corners, [r] * 4)
    assert simulate(template, wanted, cutter, "inside") == CLEAN


def test_thin_corners_are_rounded_and_still_cut_right() -> None:
    """At 20 degrees a mitre would reach 5.8 offsets out; the guide never goes there."""
    thin = Outline.of([((0, 0), 0, "a"), ((300, 0), 0, "b"), ((300, 300 * math.tan(0.35)), 0, "c")])
    cutter = Cutter(12, 20, "bushing")
    template = inside_template(thin, cutter)
    (arc,) = [edge for edge in template.edges() if edge.is_arc]
    assert (arc.name, arc.radius, arc.bulge > 0) == ("c", pytest.approx(4), True)
    assert sorted(template.names) == ["a", "b", "c", "c"]
    told = simulate(template, thin, cutter, "inside")
    free = simulate_free(thin, 12, "inside")
    assert told.uncut_area == pytest.approx(free.uncut_area, rel=1e-3)
    assert told.overcut_area == 0
    assert offset(template, -4).canonical(digits=4) == thin.canonical(digits=4)


@pytest.mark.parametrize("bulge", [1e-11, 1e-9, 1e-7, 9e-6, 1.1e-5, 1e-4, -1e-9, -2e-5])
def test_an_arc_that_is_all_but_straight_moves_as_a_line_does(bulge: float) -> None:
    corners = ((0.0, 0.0), (900.0, 0.0), (930.0, 200.0), (30.0, 200.0))
    bowed = Outline(corners, (0.0, 0.125, bulge, bulge), ("a", "b", "c", "d"))
    like = Outline(corners, (0.0, 0.125, 0.0, 0.0), ("a", "b", "c", "d"))
    for by in (8, -8):
        room = abs(bulge) * 1200  # its own height, and how that turns the corner
        new = offset(bowed, by)
        assert apart(new, offset(like, by)) < room + 1e-3
        assert apart(offset(new, -by), bowed) < 1e-3


# --- slots and recesses ------------------------------------------------------------------


@QUICK
@given(st.floats(6, 20), st.floats(0, 90), st.floats(0.3, 1), st.floats(0, 8))
def test_mortise_template_leaves_the_mortise(
    width: float, more: float, share: float, o: float
) -> None:
    place = Frame.from_zx((7.0, 5.0, 3.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0))
    mortise = Mortise("m", place, width + more, width, 30.0)
    cutter = Cutter(share * width, share * width + 2 * o)
    template = mortise_template(mortise, cutter)
    long, wide = width + more + 2 * o, width + 2 * o
    assert template.bounds() == pytest.approx((-long / 2, -wide / 2, long / 2, wide / 2))
    assert template.area == pytest.approx(math.pi * wide**2 / 4 + (long - wide) * wide)
    slot = rectangle(width + more, width, width / 2)
    slot = slot.mapped(lambda p: (p[0] - (width + more) / 2, p[1] - width / 2))
    assert simulate(template, slot, cutter, "inside") == CLEAN


def test_recess_template_has_corners_that_the_bushing_just_enters() -> None:
    cutter = Cutter(10, 30, "bushing")
    template = recess_template(100, 60, cutter)
    assert {round(e.radius, 9) for e in template.named("corner")} == {15}
    assert template.bounds() == pytest.approx((-60, -40, 60, 40))
    wanted = rectangle(100, 60, 5).mapped(lambda p: (p[0] - 50, p[1] - 30))
    assert simulate(template, wanted, cutter, "inside") == CLEAN
    assert len(recess_template(10, 10, cutter).vertices) == 4  # nothing but its corners


# --- refusals ----------------------------------------------------------------------------


@QUICK
@given(st.floats(3, 20), st.floats(0.2, 12), st.sampled_from(SIDES))
def test_the_largest_bit_that_a_refusal_names_does(r: float, more: float, side: Side) -> None:
    outline = bracket(r, r, 0.2, 100, [True] * 6)
    with pytest.raises(InputError, match=r"^bit = .* does not follow the curve r\d") as refusal:
        TEMPLATE[side](outline, Cutter(2 * r + more, 2 * r + more))
    named = named_size(refusal)
    assert named == pytest.approx(2 * r, abs=0.0011)
    cutter = Cutter(named, named)
    told = simulate(TEMPLATE[side](outline, cutter), outline, cutter, side)
    assert (told.uncut_area, told.overcut_area) == (0, 0)
    with pytest.raises(InputError):
        TEMPLATE[side](outline, Cutter(named + 0.002, named + 0.002))


@QUICK
@given(st.floats(20, 60), st.floats(0.5, 10))
def test_the_largest_bushing_that_a_refusal_names_does(width: float, more: float) -> None:
    part, bit = rectangle(200, width), 8.0
    with pytest.raises(InputError, match=r"^cutter = 8 mm bit with a .* bushing: ") as refusal:
        outside_template(part, Cutter(bit, bit + width + more, "bushing"))
    named = named_size(refusal)
    assert named == pytest.approx(bit + width, abs=0.002)
    assert outside_template(part, Cutter(bit, named, "bushing")).area > 0
    with pytest.raises(InputError):
        outside_template(part, Cutter(bit, named + 0.003, "bushing"))


def test_an_outside_arc_tighter_than_the_offset_is_refused() -> None:
    part = rectangle(200, 100, 6)
    with pytest.raises(InputError, match=r"the arc r\d has a radius of only 6.00 mm") as refusal:
        outside_template(part, Cutter(10, 30, "bushing"))
    named = named_size(refusal)
    assert named == pytest.approx(22, abs=0.002)  # d + 2 r
    cutter = Cutter(10, named, "bushing")
    assert simulate(outside_template(part, cutter), part, cutter, "outside") == CLEAN
    sharp = offset(part, -6)  # exactly its radius: the arcs are gone, the corners sharp
    assert sharp.names == ("e0", "e1", "e2", "e3")
    assert sharp.area == pytest.approx(188 * 88)


def test_a_guide_too_large_for_a_given_template_is_refused() -> None:
    template = rectangle(200, 100, 9)
    with pytest.raises(InputError, match=r"^bushing = 20 mm: .* bushing that") as refusal:
        check_follows(template, 20, "inside", "bushing")
    check_follows(template, named_size(refusal), "inside", "bushing")
    check_follows(template, 500, "outside", "bushing")  # its corners stick out: nothing to enter


# What is moved too far: outline, how far, the largest move that loses nothing.
LIPS = [(0, 0), (120, 0), (120, 120), (70, 120), (70, 90), (90, 90), (90, 30), (30, 30)]
LIPS += [(30, 90), (50, 90), (50, 120), (0, 120)]
DUMBBELL = [(0, 0), (60, 0), (60, 20), (100, 20), (100, 0), (160, 0), (160, 60), (100, 60)]
DUMBBELL += [(100, 40), (60, 40), (60, 60), (0, 60)]
SLOTTED = [(0, 0), (120, 0), (120, 80), (70, 80), (70, 30), (50, 30), (50, 60), (0, 60)]
REULEAUX = [(100.0, 0.0), (50.0, 50 * math.sqrt(3)), (0.0, 0.0)]
TOO_FAR = {
    "lips 20 apart that meet": (filleted(LIPS, [0.0] * 12), 12, 10),
    "neck 20 wide that closes": (filleted(DUMBBELL, [0.0] * 12), -12, 10),
    "square turned inside out": (rectangle(30, 30), -20, 15),
    "slot whose floor vanishes": (filleted(SLOTTED, [0.0] * 8), 12, 10),
    # Its inscribed circle: R (1 - 1/sqrt 3).
    "triangle of arcs": (
        Outline(tuple(REULEAUX), (math.tan(math.pi / 12),) * 3, ("a", "b", "c")),
        -45,
        100 * (1 - 1 / math.sqrt(3)),
    ),
}


@pytest.mark.parametrize("case", TOO_FAR)
def test_a_move_that_loses_something_is_refused(case: str) -> None:
    outline, by, most = TOO_FAR[case]
    with pytest.raises(InputError, match=f"^offset = {by} mm: ") as refusal:
        offset(outline, by)
    named = named_size(refusal)
    assert named == pytest.approx(most, abs=0.002)
    assert offset(outline, math.copysign(named, by)).area > 0


@pytest.mark.parametrize("make", [recess_template, None], ids=["recess", "mortise"])
def test_a_bit_wider_than_the_slot_is_refused(make: Callable[..., Outline] | None) -> None:
    place = Frame.from_zx((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))

    def slot(diameter: float) -> Outline:
        cutter = Cutter(diameter, 20)
        if make:
            return make(60, 9.5, cutter)
        return mortise_template(Mortise("m", place, 60, 9.5, 20), cutter)

    with pytest.raises(InputError, match="does not fit") as refusal:
        slot(10)
    assert named_size(refusal) == 9.5
    assert slot(9.5).area > 0


# --- corners told ------------------------------------------------------------------------


def test_corners_are_told_with_place_angle_and_remedy() -> None:
    shelf = filleted([(0, 0), (260, 0), (260, 100), (110, 100), (110, 240), (0, 240)], [0.0] * 6)
    (corner,) = sharp_inside_corners(shelf, 12)
    assert (corner.at, corner.names, corner.radius) == ((110, 100), ("e2", "e3"), 0)
    assert corner.angle_deg == pytest.approx(90)
    assert corner.miss == pytest.approx(6 * (math.sqrt(2) - 1))
    assert len(sharp_inside_corners(shelf, 12, "inside")) == 5
    told = cautions(shelf, Cutter(12, 20), "outside")
    assert [line.split(" ")[0] for line in told] == ["inside"] + ["outside"] * 5
    assert "between e2 and e3 at (110.0, 100.0) keeps the radius of the bit, 6.00 mm" in told[0]
    assert "comes out round, radius 4.00 mm" in told[1]


def test_tight_arcs_are_told_by_how_much_they_miss() -> None:
    outline = bracket(4, 4, 0.0, 100, [True] * 6)
    told = sharp_inside_corners(outline, 20, "inside")
    assert [c.radius for c in told] == pytest.approx([4] * 5)
    assert [c.miss for c in told] == pytest.approx([6 * (math.sqrt(2) - 1)] * 5)
    free = simulate_free(outline, 20, "inside")
    assert free.uncut_depth == pytest.approx(told[0].miss, abs=3e-3)
    ends = sharp_inside_corners(circle(10), 12, "inside")  # the bit does not go in at all
    assert [end.miss for end in ends] == [math.inf, math.inf]


@QUICK
@given(LEGS, st.floats(6, 24))
def test_what_a_corner_misses_is_right_between_arcs_too(outline: Outline, diameter: float) -> None:
    worst = max(c.miss for c in sharp_inside_corners(outline, diameter, "inside"))
    told = simulate_free(outline, diameter, "inside")
    assert told.uncut_depth == pytest.approx(worst, abs=0.01)


# --- reliefs -----------------------------------------------------------------------------


def notch(angle_deg: float, turned: float = 0.0) -> Outline:
    """A board with one hollow corner at (100, 60): its floor along x, its wall leaning."""
    a = math.radians(angle_deg)
    wall = (100 + 120 * math.cos(a), 60 + 120 * math.sin(a))
    corners = [(-100, -60), (220, -60), (220, 60), (100, 60), wall, (-100, wall[1])]
    names = ["bottom", "end", "floor", "wall", "top", "back"]
    board = Outline.of([(p, 0.0, n) for p, n in zip(corners, names, strict=True)])
    t = math.radians(turned)
    return board.mapped(
        lambda p: (p[0] * math.cos(t) - p[1] * math.sin(t), p[0] * math.sin(t) + p[1] * math.cos(t))
    )


def test_dog_bone_of_a_square_corner() -> None:
    """r = 3, from the corner: centre (2.121, 2.121), 0.879 into each edge."""
    new = relieved(notch(90), 6)
    (arc,) = new.named(RELIEF)
    assert (arc.centre[0] - 100, arc.centre[1] - 60) == pytest.approx((2.121, 2.121), abs=5e-4)
    assert arc.radius == pytest.approx(3)
    assert math.dist(arc.centre, (100, 60)) == pytest.approx(3)
    assert 60 - min(p[1] for p in arc.extremes()) == pytest.approx(0.879, abs=5e-4)
    assert 100 - min(p[0] for p in arc.extremes()) == pytest.approx(0.879, abs=5e-4)


@pytest.mark.parametrize(("edge", "centre"), [("floor", (3, 0)), ("wall", (0, 3))])
def test_t_bone_of_a_square_corner(edge: str, centre: Point) -> None:
    new = relieved(notch(90), 6, "t-bone", overcut={edge})
    (arc,) = new.named(RELIEF)
    assert (arc.centre[0] - 100, arc.centre[1] - 60) == pytest.approx(centre)
    deep = 60 - min(p[1] for p in arc.extremes()), 100 - min(p[0] for p in arc.extremes())
    assert deep == pytest.approx((3, 0) if edge == "floor" else (0, 3), abs=1e-9)


@QUICK
@given(
    st.floats(35, 165),
    st.floats(0, 360),
    st.floats(4, 12),
    st.sampled_from(["dog-bone", "floor", "wall"]),
)
def test_a_relief_clears_the_corner_and_no_more(
    angle: float, turned: float, diameter: float, kind: str
) -> None:
    board, r, t = notch(angle, turned), diameter / 2, math.radians(angle)
    assume(sharp_inside_corners(board, diameter))
    style = "dog-bone" if kind == "dog-bone" else "t-bone"
    new = relieved(board, diameter, style, overcut={kind})  # type: ignore[arg-type]
    assert simulate_free(new, diameter, "outside") == CLEAN  # the bit can cut what is drawn
    told = simulate(new, board, Cutter(diameter, diameter), "outside")
    assert told.uncut_area == 0
    deep = r * (1 - math.sin(t / 2)) if kind == "dog-bone" else r * (1 + math.cos(t))
    assert told.overcut_depth == pytest.approx(deep, abs=0.01)
    if style == "t-bone":
        spared = board.named("wall" if kind == "floor" else "floor")[0]
        assert spared in list(new.edges())  # not a hair of it is cut


@pytest.mark.parametrize("style", ["dog-bone", "t-bone"])
def test_an_opening_is_relieved_in_every_corner(style: str) -> None:
    opening = rectangle(80, 50)
    new = relieved(opening, 6, style, "inside")  # type: ignore[arg-type]
    assert new.names.count(RELIEF) == 4
    deep = {"dog-bone": 3 * (1 - math.sqrt(0.5)), "t-bone": 3.0}[style]
    x0, y0, x1, y1 = new.bounds()
    # A T-bone goes into the longer edge: the 80 mm ones, low and high.
    sides = deep if style == "dog-bone" else 0.0
    assert (x0, y0, x1, y1) == pytest.approx((-sides, -deep, 80 + sides, 50 + deep))
    assert shapely.covers(polygon(new).buffer(0.002), polygon(opening))
    assert simulate_free(new, 6, "inside") == CLEAN
    assert relieved(opening, 6, "dog-bone", "outside") == opening


@pytest.mark.parametrize("style", ["dog-bone", "t-bone"])
def test_the_largest_bit_that_a_relief_names_does(style: str) -> None:
    opening = rectangle(26, 14)
    with pytest.raises(InputError, match=r"^bit = 14 mm: the edge e\d is too") as refusal:
        relieved(opening, 14, style, "inside")  # type: ignore[arg-type]
    named = named_size(refusal)
    # Two dog-bones take 2 sqrt(2) r of the 14 mm edges; two T-bones 4 r of the 26 mm ones.
    assert named == pytest.approx(14 / math.sqrt(2) if style == "dog-bone" else 13, abs=0.002)
    assert relieved(opening, named, style, "inside").area > 26 * 14  # type: ignore[arg-type]


def test_a_relief_that_breaks_through_is_refused() -> None:
    """A web 2 mm thick under the corner: a T-bone of r = 3 would cut it off."""
    board = Outline.of(
        [
            ((0, 0), 0, "bottom"),
            ((100, 0), 0, "end"),
            ((100, 2), 0, "floor"),
            ((50, 2), 0, "wall"),
            ((50, 60), 0, "top"),
            ((0, 60), 0, "back"),
        ]
    )
    with pytest.raises(InputError, match="run into another edge") as refusal:
        relieved(board, 6, "t-bone", overcut={"floor"})
    assert named_size(refusal) == pytest.approx(4, abs=0.002)
    assert simulate_free(relieved(board, 6), 6, "outside") == CLEAN


def test_reliefs_at_curves_and_of_tight_arcs_are_refused() -> None:
    with pytest.raises(InputError, match=r"between flare and floor at .* lies at a curve"):
        relieved(leg("campion", 700.0), 6, side="inside")
    with pytest.raises(InputError, match="does not follow the curve r3"):
        relieved(bracket(20, 4, 0, 100, [True] * 6), 10)
