"""Beds broken on purpose in one way: what fills and caps their ends."""

from __future__ import annotations

import itertools
from dataclasses import replace

from bedmodel.assembly import Bed
from bedmodel.bed import Piece
from bedmodel.checks.finding import Code
from bedmodel.cuts import slot
from bedmodel.ends.record import PanelPlan, UprightPlan
from bedmodel.outline import Outline
from bedmodel.shape import Shape
from tests.beds import Broken, Case, cut_of, good, register_in, shape_of, with_cut

CASES: list[Case] = []
breaks = register_in(CASES)

PINNED = "headboard.spindles.pin=14"
WIDE = (
    *("headboard.spindles.gap_wanted=100", "headboard.spindles.gap_greatest=130"),
    "headboard.spindles.trapping=told",
)


def uprights(bed: Bed) -> UprightPlan:
    (plan,) = bed.layout.head.fills
    assert isinstance(plan, UprightPlan)
    return plan


def panels(bed: Bed) -> PanelPlan:
    (plan,) = bed.layout.foot.fills
    assert isinstance(plan, PanelPlan)
    return plan


@breaks(Code.UPRIGHT_GAPS_UNEQUAL)
def one_spindle_slimmer() -> Broken:
    """Turned 4 mm too thin between its pins: the gaps on both sides are 2 mm wider."""
    bed, name = good("yarrow", None, PINNED), "headboard_spindle_03"
    piece, plan = bed.piece(name), uprights(bed)
    slim = plan.width - 4.0
    circle = slot(slim, slim, "round").mapped(lambda p: (p[0] + slim / 2, p[1] + slim / 2))
    old = piece.kind.shape
    bosses = tuple(replace(b, frame=b.frame.moved((0.0, -2.0, -2.0))) for b in old.bosses)
    shape = replace(old, width=slim, thickness=slim, outline=circle, bosses=bosses)
    moved = piece.placement.moved(piece.placement.direction((0.0, 2.0, 2.0)))
    names = [f"headboard_spindle_{i:02d}" for i in (2, 3, 4)]
    wide = dict.fromkeys(itertools.pairwise(names), plan.gap + 2.0)
    broken = bed.with_piece(name, shape=shape, placement=moved)
    return Broken(broken, wide, f"{plan.gap:.2f} mm within 0.1 mm")


@breaks(Code.GAP_TRAPS_HEAD)
def gaps_of_a_hand_and_more() -> Broken:
    """Gaps that the sheet allowed, looked at by one that does not."""
    bed = good("yarrow", None, *WIDE)
    sheet, plan = bed.layout.sheet, uprights(bed)
    table = sheet.headboard.spindles.model_copy(update={"trapping": "avoid"})
    head = sheet.headboard.model_copy(update={"spindles": table})
    changed = replace(bed.layout, sheet=sheet.model_copy(update={"headboard": head}))
    count = len(plan.middles)
    stops = [f"headboard_spindle_{i:02d}" for i in range(1, count + 1)]
    stops = ["head_leg_left", *stops, "head_leg_right"]
    found = dict.fromkeys(itertools.pairwise(stops), plan.gap)
    # 60 and 230 mm: crib slats and bunk openings, the reference's figures.
    assert 60 < plan.gap < 230
    return Broken(Bed(changed, bed.pieces, bed.solids), found, "at most 60 mm, or from 230 mm")


@breaks(Code.CAP_NOT_SEATED)
def a_cap_with_less_room_below_it() -> Broken:
    """The layout asks for a millimetre more over the upper rail than the bed has."""
    bed = good("yarrow")
    head, cap = bed.layout.head, bed.layout.head.cap
    assert cap is not None
    asked = replace(bed.layout, head=replace(head, cap=replace(cap, room=cap.room + 1.0)))
    found = {("headboard_cap", "headboard_rail_2"): cap.room}
    limit = f"{cap.room + 1.0:g} mm within 0.02 mm"
    return Broken(Bed(asked, bed.pieces, bed.solids), found, limit)


@breaks(Code.END_JOINT_FIT)
def a_spindles_hole_too_deep() -> Broken:
    bed, rail = good("yarrow"), "headboard_rail_1"
    name, shape = "headboard_spindle_04_lower", shape_of(bed, rail)
    room = uprights(bed).end_room
    deeper = with_cut(shape, name, depth=cut_of(shape, name).depth + 1.5)
    broken = bed.with_piece(rail, shape=deeper)
    return Broken(broken, {("headboard_spindle_04", rail): room + 1.5}, "2 mm within 0.02 mm")


@breaks(Code.END_JOINT_FIT)
def a_dowel_of_the_cap_too_thin() -> Broken:
    """0.4 mm less: the gap round it is 0.2 mm more, in the cap and in the leg."""
    bed, name = good("yarrow"), "headboard_cap_dowel_1_right"
    cap, piece = bed.layout.head.cap, bed.piece(name)
    assert cap is not None
    thin = cap.diameter - 0.4
    circle = slot(thin, thin, "round").mapped(lambda p: (p[0] + thin / 2, p[1] + thin / 2))
    shape = replace(piece.kind.shape, width=thin, thickness=thin, outline=circle)
    moved = piece.placement.moved(piece.placement.direction((0.0, 0.2, 0.2)))
    gap = cap.clearance + 0.2
    found = {(name, "head_leg_right"): gap, (name, "headboard_cap"): gap}
    broken = bed.with_piece(name, shape=shape, placement=moved)
    return Broken(broken, found, "0.05 mm within 0.02 mm", 1e-4)


@breaks(Code.END_JOINT_FIT)
def a_muntins_stub_too_short() -> Broken:
    bed, name = good("bracken"), "footboard_muntin_1"
    piece, plan = bed.piece(name), panels(bed)
    old = piece.kind.shape
    # The boss at the upper end, which alone reaches the blank's far end.
    upper = max(old.bosses, key=lambda boss: boss.frame.origin[0])
    short = replace(upper, height=upper.height - 1.0)
    bosses = tuple(short if boss is upper else boss for boss in old.bosses)
    shape = replace(old, length=old.length - 1.0, bosses=bosses, base=(0.0, old.length))
    shape = replace(shape, base=None)
    found = {(name, "footboard_rail_2"): plan.end_room + 1.0}
    limit = f"{plan.end_room:g} mm within 0.02 mm"
    return Broken(bed.with_piece(name, shape=shape), found, limit)


def with_panel(bed: Bed, by: float) -> Bed:
    """The first panel of the foot end larger by so much at each edge across its grain."""
    piece: Piece = bed.piece("footboard_floating_panel_1")
    old = piece.kind.shape
    outline = Outline.rectangle(old.length, old.width + 2 * by, ("edge",) * 4)
    shape = Shape(old.length, old.width + 2 * by, old.thickness, outline)
    moved = piece.placement.moved(piece.placement.direction((0.0, -by, 0.0)))
    return bed.with_piece(piece.name, shape=shape, placement=moved)


PANEL = "footboard_floating_panel_1"
RAILS = ("footboard_rail_1", "footboard_rail_2")


@breaks(Code.PANEL_CANNOT_MOVE)
def a_panel_too_wide_to_swell() -> Broken:
    bed = good("bracken")
    plan = panels(bed)
    by = plan.room - plan.swing + 0.3  # 0.3 mm of what it swells is taken
    found = {(PANEL, rail): plan.room - by for rail in RAILS}
    return Broken(with_panel(bed, by), found, f"at least {plan.swing:.2f} mm to swell into")


@breaks(Code.PANEL_LOOSE)
def a_panel_that_comes_out_when_it_dries() -> Broken:
    bed = good("bracken")
    plan = panels(bed)
    deep = plan.groove_depth - plan.room - plan.swing
    by = plan.engaged_least - deep - 0.4  # 0.4 mm less than it must stand in
    found = {(PANEL, rail): plan.engaged_least - 0.4 for rail in RAILS}
    limit = f"at least {plan.engaged_least:g} mm deep when it has shrunk"
    return Broken(with_panel(bed, by), found, limit)


@breaks(Code.PANEL_ROOM_SHORT)
def panels_that_nobody_gave_room() -> Broken:
    """No change of moisture reckoned with: only ``side_room`` is left for the climate's.

    The head end has grooves that are deep enough for it, and room.
    """
    deep = ("headboard.panels.side_room=5 mm", "headboard.panels.groove_depth=14 mm")
    bed = good("bracken", None, "tenon.moisture_change=0", *deep)
    plan = panels(bed)
    wide = plan.where.height + 2 * (plan.groove_depth - plan.room)
    # Black cherry 0.00248 a point (Wood Handbook Table 13-5), made at 7 %, dampest 10 %.
    swells = 0.00248 * 3 * wide / 2
    found = {("footboard_floating_panel",): plan.room - swells}
    return Broken(bed, found, "at least 0 mm to spare [unconfirmed]", 0.02)
