"""Beds broken on purpose in one way: faces that must be flush or bear, tenons, mortises.

What must be measured is worked out from how the bed was broken, never from what
the checks report.
"""

from __future__ import annotations

import math
from dataclasses import replace

from bedmodel.assembly import Bed
from bedmodel.checks.finding import Code
from bedmodel.frames import Frame, Vector
from bedmodel.solids import make_solid
from tests.beds import (
    UNSCREWED,
    Broken,
    Case,
    block,
    cut_of,
    good,
    hawthorn,
    joint_of,
    moved,
    register_in,
    shape_of,
    with_cut,
    with_length,
)

TENON = "headboard_board_tenon_2"
HALF = f"{TENON}_right"

CASES: list[Case] = []
breaks = register_in(CASES)

# --- faces and joints ---------------------------------------------------------------------


@breaks(Code.BOARD_NOT_FLUSH)
def thin_board() -> Broken:
    """A millimetre off its inside face alone: the mortises stay where they were."""
    bed = hawthorn()
    piece = bed.piece("headboard_board")
    shape = piece.kind.shape
    cuts = tuple(replace(cut, frame=cut.frame.moved((0, 0, -1))) for cut in shape.cuts)
    thin = replace(shape, thickness=shape.thickness - 1, cuts=cuts)
    # The part's origin is on the inside face, its z towards the head.
    assert piece.placement.z == (0.0, -1.0, 0.0)
    placement = piece.placement.moved((0, -1, 0))
    reveal = bed.layout.sheet.headboard.reveal
    return Broken(
        bed.with_piece("headboard_board", shape=thin, placement=placement),
        {("headboard_board", f"head_leg_{side}"): reveal + 1 for side in ("left", "right")},
        "8 mm within 0.05 mm",
    )


def butted(name: str = "hawthorn") -> Bed:
    """The bed without fasteners, which a rail moved or cut by itself would tear at."""
    return good(name, None, "side_rail.joint=butt")


@breaks(Code.RAIL_NOT_FLUSH)
def right_rail_out() -> Broken:
    return _rail_moved(butted(), "right", 1.0)


@breaks(Code.RAIL_NOT_FLUSH)
def left_rail_out() -> Broken:
    return _rail_moved(butted(), "left", -1.0)


@breaks(Code.RAIL_NOT_FLUSH)
def turned_rail_out() -> Broken:
    """The rails of a bed wider at the head, which are turned by half a degree."""
    bed = butted("campion")
    assert bed.layout.yaw > 0.008
    return _rail_moved(bed, "right", 1.0)


def _rail_moved(bed: Bed, side: str, by: float) -> Broken:
    rail = f"side_rail_{side}"
    return Broken(
        moved(bed, rail, (by, 0, 0)),
        {(rail, f"{end}_leg_{side}"): 1.0 for end in ("head", "foot")},
        "0 mm within 0.05 mm",
    )


def _rail_section(bed: Bed) -> float:
    rail = bed.layout.sheet.side_rail
    assert rail.edge == "chamfer"
    return rail.width * rail.thickness - 4 * rail.edge_size**2 / 2


@breaks(Code.JOINT_BEARING_SHORT)
def short_rail() -> Broken:
    """Held to the head leg, it stands a millimetre off the foot leg."""
    bed = butted()
    shape = shape_of(bed, "side_rail_right")
    assert bed.layout.yaw == 0
    return Broken(
        bed.with_piece("side_rail_right", shape=with_length(shape, shape.length - 1)),
        {("side_rail_right", "foot_leg_right"): 0.0},
        f"at least {_rail_section(bed):.0f} mm2 of contact",
    )


@breaks(Code.JOINT_BEARING_SHORT)
def steep_rail_end() -> Broken:
    """Cut for a head end that leans a degree more: it touches its leg at the upper edge only."""
    bed = good("hawthorn", None, "side_rail.joint=butt", "frame.rake=6", *UNSCREWED)
    piece, lean = bed.piece("side_rail_right"), bed.layout.head.lean
    (cut,) = piece.kind.shape.trims
    more, top = math.radians(7.0), bed.layout.rail_top
    edge = (0.0, lean.inside_y(top), top)
    off = Frame.from_zx(edge, (0.0, -math.cos(more), -math.sin(more)), (1.0, 0.0, 0.0))
    wrong = replace(cut, frame=piece.placement.inverse() @ off)
    shape = replace(piece.kind.shape, trims=(wrong,))
    intended = _rail_section(bed) / math.cos(lean.rake)
    return Broken(
        bed.with_piece(piece.name, shape=shape),
        {(piece.name, "head_leg_right"): 0.0},
        f"at least {intended:.0f} mm2 of contact",
    )


@breaks(Code.JOINT_BEARING_SHORT)
def notched_rail() -> Broken:
    """A notch right through the rail's thickness, 20 high, in its end at the head."""
    return _notched(butted(), height=60, holes=0.0)


@breaks(Code.JOINT_BEARING_SHORT)
def notched_rail_on_bolts() -> Broken:
    """The same notch, above the bolt: its hole and those of the dowels bear nothing at all."""
    bed = good("hawthorn", None, "side_rail.joint=bolts", "fastener.name=bolt-m8-110")
    bolt, dowel = 8 + 1, 8 + 2 * 0.05  # with their play
    assert bed.layout.fastener is not None
    assert bed.layout.fastener.height - bed.layout.rail_bottom + 35 + dowel / 2 < 96
    return _notched(bed, height=100, holes=math.pi / 4 * (bolt**2 + 2 * dowel**2))


def _notched(bed: Bed, height: float, holes: float) -> Broken:
    name, thickness = "side_rail_right", bed.layout.sheet.side_rail.thickness
    notch = block((3, 20, thickness), (0, height, 0))
    intended = _rail_section(bed) - holes
    return Broken(
        bed.with_piece(name, solid=bed.solids[bed.piece(name).kind.name].cut(notch)),
        {(name, "head_leg_right"): intended - 20 * thickness},
        f"at least {intended:.0f} mm2 of contact",
        within=0.1,
    )


# --- tenons and mortises ------------------------------------------------------------------


def with_tenon(bed: Bed, by: Vector = (0, 0, 0), **more: float) -> Bed:
    """The bed with one tenon made larger in some of its sizes, and shifted."""
    joint = joint_of(bed, TENON)
    sizes = {size: getattr(joint.plan, size) + grown for size, grown in more.items()}
    shape, placement = replace(joint, plan=replace(joint.plan, **sizes)).tenon()
    return bed.with_piece(HALF, shape=shape, placement=placement.moved(by))


@breaks(Code.TENON_CHEEK_CLEARANCE)
def thin_tenon() -> Broken:
    bed = with_tenon(hawthorn(), thickness=-0.2)
    parts = {(HALF, "head_leg_right"): 0.2, (HALF, "headboard_board"): 0.2}
    return Broken(bed, parts, "0.1 mm within 0.02 mm")


@breaks(Code.TENON_CHEEK_CLEARANCE)
def thin_tenon_to_one_side() -> Broken:
    """Gaps of 0.1 and 0.2: the wrong one is told."""
    bed = with_tenon(hawthorn(), by=(0, 0.05, 0), thickness=-0.1)
    parts = {(HALF, "head_leg_right"): 0.2, (HALF, "headboard_board"): 0.2}
    return Broken(bed, parts, "0.1 mm within 0.02 mm")


@breaks(Code.TENON_CHEEK_CLEARANCE)
def wide_mortise_in_leg() -> Broken:
    bed = hawthorn()
    shape = shape_of(bed, "head_leg_right")
    wide = with_cut(shape, HALF, width=cut_of(shape, HALF).width + 0.1)
    broken = bed.with_piece("head_leg_right", shape=wide)
    return Broken(broken, {(HALF, "head_leg_right"): 0.15}, "0.1 mm within 0.02 mm")


@breaks(Code.TENON_END_GAP)
def long_tenon() -> Broken:
    bed = with_tenon(hawthorn(), embedment_leg=0.7)
    return Broken(bed, {(HALF, "head_leg_right"): 0.8}, "at least 1.5 mm")


@breaks(Code.TENON_END_GAP)
def shallow_mortise_in_board() -> Broken:
    bed = hawthorn()
    shape = shape_of(bed, "headboard_board")
    shallow = with_cut(shape, HALF, depth=cut_of(shape, HALF).depth - 1)
    broken = bed.with_piece("headboard_board", shape=shallow)
    return Broken(broken, {(HALF, "headboard_board"): 0.5}, "at least 1.5 mm")


def _mortised_otherwise(**more: float) -> Broken:
    """The leg's solid has one mortise unlike its record; the tenon still goes in."""
    bed = hawthorn()
    shape = shape_of(bed, "head_leg_right")
    sizes = {size: getattr(cut_of(shape, HALF), size) + by for size, by in more.items()}
    solid = make_solid(with_cut(shape, HALF, **sizes))
    return Broken(
        bed.with_piece("head_leg_right", shape=shape, solid=solid),
        {(HALF, "head_leg_right"): 0},
        "a mortise with five walls",
    )


@breaks(Code.MORTISE_MISSING)
def mortise_wider_than_its_record() -> Broken:
    return _mortised_otherwise(width=0.2)


@breaks(Code.MORTISE_MISSING)
def mortise_deeper_than_its_record() -> Broken:
    return _mortised_otherwise(depth=1.0)


@breaks(Code.MORTISE_WALL_THIN)
def deep_mortise() -> Broken:
    """Four millimetres are left to the leg's outer edge."""
    return _mortised_to(-4.0, 4.0, "at least 6 mm of wood")


@breaks(Code.MORTISE_WALL_THIN)
def long_mortise() -> Broken:
    """Three millimetres are left between two slots in the end of a board."""
    return _slots_apart(3.0)


@breaks(Code.MORTISE_BREAKS_OUT)
def mortise_through_the_leg() -> Broken:
    return _mortised_to(2.0, 0.0, "at least 6 mm of wood")


@breaks(Code.MORTISE_BREAKS_OUT)
def mortise_all_but_through() -> Broken:
    """A skin half a micrometre thick is no wall."""
    return _mortised_to(-0.0005, 0.0005, "at least 6 mm of wood")


def _mortised_to(beyond: float, left: float, limit: str) -> Broken:
    """A mortise in the square leg, ``beyond`` its outer edge; its record says so too."""
    bed = hawthorn()
    name = "head_leg_right"
    shape = with_cut(shape_of(bed, name), HALF, depth=bed.layout.sheet.leg.top_width + beyond)
    return Broken(bed.with_piece(name, shape=shape), {(f"{name}_changed", HALF): left}, limit)


@breaks(Code.MORTISES_MEET)
def slots_run_together() -> Broken:
    return _slots_apart(-1.0)


def _slots_apart(wall: float) -> Broken:
    """The middle slot in a board's right end lengthened down to ``wall`` above the lowest."""
    bed = hawthorn()
    shape = shape_of(bed, "headboard_board")
    first, second = (cut_of(shape, f"headboard_board_tenon_{i}_right") for i in (1, 2))
    top = second.frame.origin[1] + second.length / 2
    bottom = first.frame.origin[1] + first.length / 2 + wall
    x, _, z = second.frame.origin
    frame = replace(second.frame, origin=(x, (top + bottom) / 2, z))
    changed = with_cut(shape, second.name, length=top - bottom, frame=frame)
    return Broken(
        bed.with_piece("headboard_board", shape=changed),
        {("headboard_board_changed", first.name): max(wall, 0.0)},
        "at least 6 mm of wood",
    )
