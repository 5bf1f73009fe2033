"""Beds broken on purpose in one way: their solids, the pocket, slats, floor and height.

What must be measured is worked out from how the bed was broken, never from what
the checks report. Hawthorn stands square and is quick to make; a splayed bed
comes in where a lean matters.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import cadquery as cq

from bedmodel.assembly import make_bed
from bedmodel.checks.finding import Code
from bedmodel.cuts import Trim
from bedmodel.frames import Frame, add, scale
from bedmodel.solids import make_solid
from tests.beds import (
    UNSCREWED,
    Broken,
    Case,
    altered,
    block,
    compound,
    good,
    hawthorn,
    moved,
    open_box,
    register_in,
    shape_of,
    unscrewed,
    with_length,
    with_mattress,
    with_sheet,
)

SLAT = "slat_05"
CHANGED = f"{SLAT}_changed"

CASES: list[Case] = []
breaks = register_in(CASES)

# --- the solid of each part ---------------------------------------------------------------


@breaks(Code.SOLID_NOT_VALID)
def lacks_a_face() -> Broken:
    bed = hawthorn()
    solid = open_box(block(shape_of(bed, SLAT).blank))
    return Broken(bed.with_piece(SLAT, solid=solid), {(CHANGED,): 1}, "valid and closed")


@breaks(Code.SOLID_NOT_VALID)
def inside_out() -> Broken:
    bed = hawthorn()
    solid = cq.Solid(bed.solids["slat"].wrapped.Reversed())
    return Broken(bed.with_piece(SLAT, solid=solid), {(CHANGED,): 1}, "valid and closed")


@breaks(Code.SOLID_NOT_VALID)
def crosses_itself() -> Broken:
    """An outline whose end is twisted, as a bow tie is."""
    bed = hawthorn()
    length, width, thick = shape_of(bed, SLAT).blank
    near = length - 20
    points = [(0, 0), (near, 0), (length, width), (length, 0), (near, width), (0, width)]
    wire = cq.Wire.makePolygon([cq.Vector(x, y, 0) for x, y in points], close=True)
    solid = cq.Solid.extrudeLinear(wire, [], cq.Vector(0, 0, thick))
    return Broken(bed.with_piece(SLAT, solid=solid), {(CHANGED,): 1}, "valid and closed")


@breaks(Code.SOLID_NOT_SINGLE)
def sawn_in_two() -> Broken:
    bed = hawthorn()
    length, width, thick = shape_of(bed, SLAT).blank
    halves = [
        block((700, width, thick)),
        block((length - 703, width, thick), (703, 0, 0)),
    ]
    broken = bed.with_piece(SLAT, solid=compound(halves))
    return Broken(broken, {(CHANGED,): 2}, "1 body")


@breaks(Code.SOLID_NOT_SINGLE)
def hollow_inside() -> Broken:
    bed = hawthorn()
    solid = bed.solids["slat"].cut(block((50, 20, 8), (400, 10, 5)))
    return Broken(bed.with_piece(SLAT, solid=solid), {(CHANGED,): 2}, "1 body")


@breaks(Code.SOLID_OUTSIDE_BLANK)
def bump_on_its_end() -> Broken:
    """One millimetre proud, which still clears the rail by one."""
    bed = hawthorn()
    assert bed.layout.sheet.slat.end_clearance == 2
    solid = bed.solids["slat"].fuse(block((11, 10, 6), (-1, 20, 8)))
    limit = "at most 0.01 mm outside the blank"
    return Broken(bed.with_piece(SLAT, solid=solid), {(CHANGED,): 1.0}, limit)


@breaks(Code.SIZE_DIFFERS)
def shorter_than_its_shape() -> Broken:
    bed = hawthorn()
    shape = shape_of(bed, SLAT)
    solid = make_solid(with_length(shape, shape.length - 3)).moved(cq.Location((1.5, 0, 0)))
    limit = "at most 0.01 mm short of the size"
    return Broken(bed.with_piece(SLAT, shape=shape, solid=solid), {(CHANGED,): 3.0}, limit)


@breaks(Code.OUTLINE_DIFFERS)
def shaved_ankle() -> Broken:
    """Half a millimetre off the middle of the ankle: two of its four places lack wood."""
    bed = good("sorrel")
    (ankle,) = shape_of(bed, "head_leg_right").outline.named("ankle")
    a, b = ankle.point_at(0.3), ankle.point_at(0.7)
    # The outline runs anticlockwise, so the wood lies to the left.
    wood = (-(b[1] - a[1]) / math.dist(a, b), (b[0] - a[0]) / math.dist(a, b))
    far = [(p[0] + s * wood[0], p[1] + s * wood[1]) for p, s in ((a, -5), (b, -5), (b, 0.5))]
    far.append((a[0] + 0.5 * wood[0], a[1] + 0.5 * wood[1]))
    wire = cq.Wire.makePolygon([cq.Vector(x, y, -1) for x, y in far], close=True)
    plane = cq.Solid.extrudeLinear(wire, [], cq.Vector(0, 0, 100))
    name = "head_leg_right"
    broken = bed.with_piece(name, solid=bed.solids[name].cut(plane))
    return Broken(broken, {(f"{name}_changed",): 2}, "within 0.02 mm of the outline")


# --- parts against each other -------------------------------------------------------------


def integral(f: Callable[[float], float], steps: int = 2000) -> float:
    """Of ``f`` over 0 to 1, by the rule of midpoints."""
    return sum(f((i + 0.5) / steps) for i in range(steps)) / steps


@breaks(Code.PARTS_OVERLAP)
def sunk_slat() -> Broken:
    """One millimetre into runners and centre rail; volumes from the eased sections.

    ``d`` is the depth below the tops. There the slat's section, rounded by 2 mm, is
    narrower by what the quarter circle leaves; runner and rail by their chamfers.
    """
    bed = hawthorn()
    sheet = bed.layout.sheet
    assert (sheet.slat.edge, sheet.slat.edge_size) == ("roundover", 2)
    assert (sheet.runner.edge, sheet.runner.edge_size) == ("chamfer", 1)
    assert (sheet.centre_rail.edge, sheet.centre_rail.edge_size) == ("chamfer", 2)

    def slat(d: float) -> float:
        return sheet.slat.width - 2 * (2 - math.sqrt(4 - (1 + d) ** 2))

    lap = sheet.runner.width - sheet.slat.end_clearance
    on_runner = integral(lambda d: (lap - (1 - d)) * slat(d))
    on_rail = integral(lambda d: (sheet.centre_rail.width - 2 * (2 - d)) * slat(d))
    return Broken(
        moved(bed, SLAT, (0, 0, -1)),
        {
            ("runner_left", SLAT): on_runner,
            ("runner_right", SLAT): on_runner,
            ("centre_rail", SLAT): on_rail,
        },
        "at most 1 mm3 in common",
        within=0.05,
    )


# --- the mattress's pocket ----------------------------------------------------------------


@breaks(Code.POCKET_TOO_SMALL)
def mattress_too_wide() -> Broken:
    """Pockets have 11 mm on each side and 22 mm in the length to spare."""
    bed = with_mattress(hawthorn(), width=25)
    limit = "at least 0 mm more than the mattress"
    return Broken(bed, {("mattress",): -3.0}, limit, place="in width")


@breaks(Code.POCKET_TOO_SMALL)
def mattress_too_long() -> Broken:
    bed = with_mattress(hawthorn(), length=25)
    limit = "at least 0 mm more than the mattress"
    return Broken(bed, {("mattress",): -3.0}, limit, place="in length")


@breaks(Code.POCKET_TIGHT_AT_TOLERANCE)
def mattress_rather_wide() -> Broken:
    bed = with_mattress(hawthorn(), width=5)
    limit = "at least 20 mm more than the mattress"
    return Broken(bed, {("mattress",): 17.0}, limit, place="in width")


@breaks(Code.POCKET_TIGHT_AT_TOLERANCE)
def mattress_rather_long() -> Broken:
    bed = with_mattress(good("sorrel"), length=5)
    limit = "at least 20 mm more than the mattress"
    return Broken(bed, {("mattress",): 17.0}, limit, place="in length")


@breaks(Code.POCKET_OBSTRUCTED)
def raised_slat() -> Broken:
    """The top 5 mm of a slat, less what two roundovers of 2 mm take."""
    bed = hawthorn()
    length, width, _ = shape_of(bed, SLAT).blank
    volume = length * (5 * width - 2 * (1 - math.pi / 4) * 2**2)
    broken = moved(bed, SLAT, (0, 0, 5))
    return Broken(broken, {(SLAT,): volume}, "at most 1 mm3 inside", within=1.0)


# --- slats and what carries them ----------------------------------------------------------


@breaks(Code.SLAT_GAPS_UNEQUAL)
def slat_out_of_its_row() -> Broken:
    bed = hawthorn()
    gap = bed.layout.slats.gap
    parts = {("slat_04", SLAT): gap + 2, (SLAT, "slat_06"): gap - 2}
    return Broken(moved(bed, SLAT, (0, 2, 0)), parts, f"{gap:.2f} mm within 0.1 mm")


@breaks(Code.SLAT_GAP_OUT_OF_BAND)
def narrower_band() -> Broken:
    bed = hawthorn()
    count, gap = bed.layout.slats.count, bed.layout.slats.gap
    row = ["head_leg_right", *(f"slat_{i + 1:02d}" for i in range(count)), "foot_leg_right"]
    parts = dict.fromkeys(itertools.pairwise(row), gap)
    return Broken(with_sheet(bed, "slat", gap_least=55.0), parts, "55 to 69.85 mm")


@breaks(Code.SLAT_GAP_OUT_OF_BAND)
def row_set_close_together() -> Broken:
    """The end gaps alone, when the whole row was set a little close together."""
    bed = hawthorn()
    count, gap = bed.layout.slats.count, bed.layout.slats.gap
    for i in range(count):
        bed = moved(bed, f"slat_{i + 1:02d}", (0, 0.004 * (i - (count - 1) / 2), 0))
    ends = gap - 0.004 * (count - 1) / 2
    parts = {("head_leg_right", "slat_01"): ends, (f"slat_{count}", "foot_leg_right"): ends}
    # The other gaps are 0.004 over the even one.
    return Broken(with_sheet(bed, "slat", gap_least=gap), parts, f"{gap:g} to 69.85 mm")


@breaks(Code.SLAT_BEARING_SHORT)
def short_slat() -> Broken:
    """Twenty millimetres less at each end than the runner, less its chamfer and the gap."""
    bed = hawthorn()
    sheet = bed.layout.sheet
    shape = shape_of(bed, SLAT)
    bearing = sheet.runner.width - sheet.runner.edge_size - sheet.slat.end_clearance - 20
    placement = bed.piece(SLAT).placement.moved((20, 0, 0))
    broken = bed.with_piece(SLAT, shape=with_length(shape, shape.length - 40), placement=placement)
    parts = {(SLAT, f"runner_{side}"): bearing for side in ("left", "right")}
    return Broken(broken, parts, "at least 18 mm")


@breaks(Code.SUPPORTS_NOT_LEVEL)
def low_runner() -> Broken:
    broken = moved(unscrewed(), "runner_right", (0, 0, -0.5))
    return Broken(broken, {("runner_right",): 0.5}, "within 0.05 mm of each other")


@breaks(Code.SUPPORTS_NOT_LEVEL)
def sloping_runner() -> Broken:
    """Turned about its upper edge at the head, so that the foot's end is the lowest."""
    bed = unscrewed()
    piece = bed.piece("runner_right")
    slope = 1e-3
    top = (0.0, piece.kind.shape.width, 0.0)
    cosine, sine = math.cos(slope), math.sin(slope)
    turn = Frame(x=(cosine, -sine, 0.0), y=(sine, cosine, 0.0))
    tipped = piece.placement @ turn
    back = tuple(a - b for a, b in zip(piece.placement.point(top), tipped.point(top), strict=True))
    placement = tipped.moved((back[0], back[1], back[2]))
    fall = piece.kind.shape.length * math.sin(slope)
    broken = bed.with_piece("runner_right", placement=placement)
    return Broken(broken, {("runner_right",): fall}, "within 0.05 mm of each other")


# --- floor and height ---------------------------------------------------------------------


@breaks(Code.FOOT_OFF_FLOOR)
def sunk_foot() -> Broken:
    broken = moved(hawthorn(), "support_foot_2", (0, 0, -1))
    return Broken(broken, {("support_foot_2",): -1.0}, "within 0.05 mm of the floor")


@breaks(Code.FOOT_OFF_FLOOR)
def hanging_foot() -> Broken:
    """Cut a millimetre short and fixed to the centre rail."""
    bed = hawthorn()
    piece = bed.piece("support_foot_2")
    broken = bed.with_piece(
        piece.name,
        shape=with_length(piece.kind.shape, piece.kind.shape.length - 1),
        placement=piece.placement.moved((0, 0, 1)),
    )
    return Broken(broken, {(piece.name,): 1.0}, "within 0.05 mm of the floor")


@breaks(Code.FOOT_NOT_LEVEL)
def slanting_foot() -> Broken:
    """A raked leg whose level cut leans two degrees more, from the same arris."""
    bed = good("hawthorn", None, "frame.rake=5", *UNSCREWED)
    piece = bed.piece("head_leg_right")
    (cut,) = piece.kind.shape.trims
    leg, lean = bed.layout.sheet.leg, bed.layout.head.lean
    arris = piece.placement.inverse().point(
        lean.point((bed.layout.head.joint_x, 0.0, lean.along(0.0)))
    )
    more = math.radians(2.0)
    along = piece.placement.inverse().direction((0.0, 1.0, 0.0))
    normal = add(scale(cut.frame.z, math.cos(more)), scale(along, -math.sin(more)))
    wrong = Trim("level_cut", Frame.from_zx(arris, normal, (0.0, 1.0, 0.0)))
    broken = bed.with_piece(piece.name, shape=replace(piece.kind.shape, trims=(wrong,)))
    # Its far corners lie where the eased arris of the outer faces begins.
    run = (leg.thickness - leg.edge_size) / math.cos(math.radians(5.0 + 2.0))
    return Broken(
        broken, {(piece.name,): run * math.sin(more)}, "within 0.05 mm of level all over", 0.2
    )


@breaks(Code.PLATFORM_TOO_HIGH)
def high_bed() -> Broken:
    bed = make_bed(altered(hawthorn().layout.sheet, "height", platform=640.0))
    return Broken(bed, {("slat",): 640.0}, "under 600 mm")
