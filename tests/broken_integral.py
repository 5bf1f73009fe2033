"""Beds broken on purpose in one way: boards with tenons of their own, and wide boards.

What must be measured is worked out from how the bed was broken, never from what
the checks report.
"""

from __future__ import annotations

import math
from dataclasses import replace

from bedmodel.assembly import Bed
from bedmodel.checks.finding import Code
from bedmodel.cuts import Boss, slot
from bedmodel.joints import TenonJoint, board_joints
from bedmodel.solids import make_solid
from tests.beds import (
    Broken,
    Case,
    block,
    cut_of,
    good,
    hawthorn,
    register_in,
    shape_of,
    with_cut,
    with_length,
)

BOARD, LEG = "headboard_board", "head_leg_right"
TENON, HAUNCH = f"{BOARD}_tenon_2_right", f"{BOARD}_haunch_1_right"
# White ash 0.00274 a point (Wood Handbook, Table 13-5), 5 points, a third of 385 mm apart.
ROOM = 385 / 3 * 0.00274 * 5

CASES: list[Case] = []
breaks = register_in(CASES)


def tenoned() -> Bed:
    """The bed on square posts: a headboard board with three tenons, the outer ones dry."""
    return good("hawthorn", None, "headboard.joint=tenon", "footboard.joint=tenon")


def joint(bed: Bed, half: str) -> TenonJoint:
    name = half.removesuffix("_right")
    return next(joint for joint in board_joints(bed.layout) if joint.name == name)


def with_boss(bed: Bed, half: str, **larger: float) -> Bed:
    """The bed with one tenon or haunch, on the board's right end, of another size."""
    wanted = joint(bed, half)
    old, _ = wanted.bosses(bed.piece(BOARD).placement)
    plan = wanted.plan
    width, thickness = plan.width, plan.thickness + larger.get("thickness", 0.0)
    new = Boss(old.frame, slot(width, thickness, plan.ends), old.height + larger.get("height", 0))
    shape = shape_of(bed, BOARD)
    assert shape.bosses.count(old) == 1
    bosses = tuple(new if boss == old else boss for boss in shape.bosses)
    return bed.with_piece(BOARD, shape=replace(shape, bosses=bosses))


def with_leg_cut(bed: Bed, half: str, **more: float) -> Bed:
    """The bed with one mortise or groove in the right head leg larger in some of its sizes."""
    shape = shape_of(bed, LEG)
    sizes = {size: getattr(cut_of(shape, half), size) + by for size, by in more.items()}
    return bed.with_piece(LEG, shape=with_cut(shape, half, **sizes))


@breaks(Code.TENON_CHEEK_CLEARANCE)
def thin_own_tenon() -> Broken:
    bed = with_boss(tenoned(), TENON, thickness=-0.2)
    return Broken(bed, {(TENON, LEG): 0.2}, "0.1 mm within 0.02 mm")


@breaks(Code.TENON_CHEEK_CLEARANCE)
def thin_haunch() -> Broken:
    bed = with_boss(tenoned(), HAUNCH, thickness=-0.2)
    return Broken(bed, {(HAUNCH, LEG): 0.2}, "0.1 mm within 0.02 mm")


@breaks(Code.TENON_CHEEK_CLEARANCE)
def wide_mortise_for_own_tenon() -> Broken:
    bed = with_leg_cut(tenoned(), TENON, width=0.1)
    return Broken(bed, {(TENON, LEG): 0.15}, "0.1 mm within 0.02 mm")


@breaks(Code.TENON_END_GAP)
def shallow_mortise_for_own_tenon() -> Broken:
    bed = with_leg_cut(tenoned(), TENON, depth=-0.7)
    return Broken(bed, {(TENON, LEG): 0.8}, "at least 1.5 mm")


@breaks(Code.TENON_END_GAP)
def long_haunch() -> Broken:
    bed = with_boss(tenoned(), HAUNCH, height=1.0)
    return Broken(bed, {(HAUNCH, LEG): 0.5}, "at least 1.5 mm")


@breaks(Code.MORTISE_MISSING)
def mortise_of_own_tenon_wider_than_its_record() -> Broken:
    """In a board without haunches: the tenon still goes in."""
    bed = good("hawthorn", None, "headboard.joint=tenon", "tenon.haunch=0")
    shape = shape_of(bed, LEG)
    solid = make_solid(with_cut(shape, TENON, width=cut_of(shape, TENON).width + 0.2))
    broken = bed.with_piece(LEG, shape=shape, solid=solid)
    return Broken(broken, {(TENON, LEG): 0}, "a mortise with five walls")


@breaks(Code.MORTISE_WALL_THIN)
def deep_mortise_of_own_tenon() -> Broken:
    """Four millimetres are left to the post's outer side."""
    bed = tenoned()
    deep = bed.layout.sheet.leg.top_width - 4 - cut_of(shape_of(bed, LEG), TENON).depth
    bed = with_leg_cut(bed, TENON, depth=deep)
    return Broken(bed, {(f"{LEG}_changed", TENON): 4.0}, "at least 6 mm of wood")


@breaks(Code.MORTISE_WALL_THIN)
def groove_near_the_top() -> Broken:
    """The groove goes on to five millimetres under the post's top: no board covers it there."""
    bed = tenoned()
    above = bed.layout.sheet.leg.above_boards + 6  # from the groove's end to the top
    return _groove_up(bed, above - 5, 5.0)


def _groove_up(bed: Bed, by: float, left: float) -> Broken:
    shape = shape_of(bed, LEG)
    cut = cut_of(shape, HAUNCH)
    # The part's x runs along the grain, up the leg.
    frame = cut.frame.moved((by / 2, 0.0, 0.0))
    changed = with_cut(shape, HAUNCH, length=cut.length + by, frame=frame)
    broken = bed.with_piece(LEG, shape=changed)
    return Broken(broken, {(f"{LEG}_changed", HAUNCH): left}, "at least 6 mm of wood")


@breaks(Code.MORTISE_BREAKS_OUT)
def mortise_of_own_tenon_through_the_leg() -> Broken:
    bed = tenoned()
    through = bed.layout.sheet.leg.top_width + 2 - cut_of(shape_of(bed, LEG), TENON).depth
    bed = with_leg_cut(bed, TENON, depth=through)
    return Broken(bed, {(f"{LEG}_changed", TENON): 0.0}, "at least 6 mm of wood")


@breaks(Code.MORTISES_MEET)
def mortises_run_together_under_their_groove() -> Broken:
    """They may run into the groove, and not into one another."""
    bed = tenoned()
    shape = shape_of(bed, LEG)
    first = f"{BOARD}_tenon_1_right"
    one, two = cut_of(shape, first), cut_of(shape, TENON)
    low, high = (two.frame.origin[0] + s * two.length / 2 for s in (-1, 1))
    low -= low - (one.frame.origin[0] + one.length / 2) + 1.0
    frame = two.frame.moved(((low + high) / 2 - two.frame.origin[0], 0.0, 0.0))
    changed = with_cut(shape, TENON, length=high - low, frame=frame)
    return Broken(
        bed.with_piece(LEG, shape=changed),
        {(f"{LEG}_changed", first): 0.0},
        "at least 6 mm of wood",
    )


@breaks(Code.JOINT_BEARING_SHORT)
def notched_shoulder() -> Broken:
    """A notch of 20 by 8 in the cheek shoulder at the right end."""
    bed = tenoned()
    shape = shape_of(bed, BOARD)
    shoulder = shape.length - bed.layout.head.boards[0].tenons.embedment_leg
    solid = bed.solids[BOARD].cut(block((3, 20, 8), (shoulder - 3, 60, 0)))
    whole = shape.width * shape.thickness - 4 * 2.5**2 / 2
    # Of the leg's cuts the groove alone opens on it: 373 by 11.2 with round ends.
    groove = (373 - 11.2) * 11.2 + math.pi * 11.2**2 / 4
    return Broken(
        bed.with_piece(BOARD, solid=solid),
        {(BOARD, LEG): whole - groove - 20 * 8},
        f"at least {whole - groove:.0f} mm2 of contact",
        within=0.1,
    )


@breaks(Code.JOINT_BEARING_SHORT)
def short_between_the_shoulders() -> Broken:
    """Held to the left leg, its right shoulder stands a millimetre off; the tenon is longer."""
    bed = tenoned()
    shape = shape_of(bed, BOARD)
    plan = bed.layout.head.boards[0].tenons
    body = with_length(shape, 2 * bed.layout.head.joint_x - 1).outline
    outline = body.mapped(lambda p: (p[0] + plan.embedment_leg, p[1]))
    back = (-1.0, 0.0, 0.0)
    bosses = tuple(
        replace(b, frame=b.frame.moved(back), height=b.height + 1) if b.frame.z[0] > 0 else b
        for b in shape.bosses
    )
    whole = shape.width * shape.thickness - 4 * 2.5**2 / 2
    groove = (373 - 11.2) * 11.2 + math.pi * 11.2**2 / 4
    changed = replace(shape, outline=outline, bosses=bosses)
    return Broken(
        bed.with_piece(BOARD, shape=changed),
        {(BOARD, LEG): 0.0},
        f"at least {whole - groove:.0f} mm2 of contact",
    )


# --- room to slide --------------------------------------------------------------------------


@breaks(Code.BOARD_CANNOT_MOVE)
def short_slot_for_a_dry_tenon_of_the_board() -> Broken:
    return _short_slot(tenoned(), f"{BOARD}_tenon_3_right")


@breaks(Code.BOARD_CANNOT_MOVE)
def short_slot_for_a_dry_loose_tenon() -> Broken:
    return _short_slot(hawthorn(), f"{BOARD}_tenon_1_right")


def _short_slot(bed: Bed, half: str) -> Broken:
    """The slot in the leg is shorter by 2 mm: a millimetre less at each end than made for."""
    bed = with_leg_cut(bed, half, length=-2.0)
    return Broken(bed, {(half, LEG): ROOM + 0.5 - 1.0}, f"at least {ROOM:.2f} mm of room to slide")


@breaks(Code.BOARD_CANNOT_MOVE)
def round_hole_for_a_dry_dowel() -> Broken:
    """Bored as those of the glued dowels are: no more room than their gap."""
    bed = good("hawthorn", None, "headboard.joint=dowels", "footboard.joint=dowels")
    half = f"{BOARD}_dowel_9_right"
    shape = shape_of(bed, LEG)
    bored = with_cut(shape, half, length=cut_of(shape, half).width)
    # Nine of 12 mm, the outer ones twice their diameter from the edges; three are glued.
    needed = (385 / 2 - 24) * 0.00274 * 5
    return Broken(
        bed.with_piece(LEG, shape=bored),
        {(half, LEG): 0.05},
        f"at least {needed:.2f} mm of room to slide",
    )


@breaks(Code.BOARD_CANNOT_MOVE)
def short_groove_for_a_dry_haunch() -> Broken:
    """Shorter at its upper end alone."""
    bed = tenoned()
    haunch = bed.layout.head.boards[0].tenons.haunches[0]
    needed = (haunch.high - (bed.layout.head.boards[0].bottom + 385 / 2)) * 0.00274 * 5
    shape = shape_of(bed, LEG)
    cut = cut_of(shape, HAUNCH)
    shorter = with_cut(shape, HAUNCH, length=cut.length - 1, frame=cut.frame.moved((-0.5, 0, 0)))
    return Broken(
        bed.with_piece(LEG, shape=shorter),
        {(HAUNCH, LEG): needed + 0.5 - 1.0},
        f"at least {needed:.2f} mm of room to slide",
    )
