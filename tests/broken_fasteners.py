"""Beds broken on purpose in one way: the knock-down fasteners of the rails.

What must be measured is worked out from how the bed was broken, never from what
the checks report. Hawthorn's rails are square to its legs, so that a hook's sides,
a bolt and a barrel stand square to each other.
"""

from __future__ import annotations

import math
from dataclasses import replace

from bedmodel.assembly import Bed
from bedmodel.bed import Piece
from bedmodel.checks.finding import Code
from bedmodel.cuts import Boss
from bedmodel.frames import Frame, Vector, scale
from bedmodel.hardware import Bolt, HookPlate
from bedmodel.outline import Point
from bedmodel.solids import make_solid
from tests.beds import (
    Broken,
    Case,
    cut_of,
    good,
    hawthorn,
    moved,
    register_in,
    shape_of,
    with_cut,
    with_sheet,
)

LEG, RAIL = "head_leg_right", "side_rail_right"
HOOKS, SLOTS = "head_hook_plate_right", "head_slot_plate_right"
BOLT, BARREL = "head_bolt_right", "head_barrel_nut_right"
FIRST = "hook 1 from below"
END_ROOM = 1.5
SIDES = ("left", "right")
ENDS = ("head", "foot")

CASES: list[Case] = []
breaks = register_in(CASES)


def bracketed() -> Bed:
    return good("hawthorn", None, "side_rail.joint=brackets")


def bolted() -> Bed:
    return good("hawthorn", None, "side_rail.joint=bolts")


def hooked(bed: Bed) -> HookPlate:
    """The row of hawthorn's hook plates, of the sizes reckoned with below."""
    row = bed.layout.fastener.row if bed.layout.fastener else None
    assert isinstance(row, HookPlate)
    assert (row.thickness, row.neck, row.drop, row.projection) == (3, 10, 8, 10)
    assert (row.hook_width, row.slot_play, row.pocket_width) == (3, 0.75, 8)
    assert bed.layout.sheet.fastener.end_room == END_ROOM
    return row


def in_part(piece: Piece, by: Vector) -> Vector:
    """A shift given in the bed, as the piece's own part frame sees it."""
    return piece.placement.inverse().direction(by)


# --- hooks --------------------------------------------------------------------------------


def with_hook(bed: Bed, changed: Boss) -> Bed:
    """The bed with the lowest hook of one plate changed."""
    shape = shape_of(bed, HOOKS)
    lowest = lowest_hook(bed)
    bosses = tuple(changed if boss is lowest else boss for boss in shape.bosses)
    return bed.with_piece(HOOKS, shape=replace(shape, bosses=bosses))


def lowest_hook(bed: Bed) -> Boss:
    piece = bed.piece(HOOKS)
    return min(
        piece.kind.shape.bosses, key=lambda boss: piece.placement.point(boss.frame.origin)[2]
    )


def redrawn(boss: Boss, points: dict[Point, Point]) -> Boss:
    """A hook with some corners of its outline put elsewhere (x is up, y out of the plate)."""
    there = [points.get(p, p) for p in boss.outline.vertices]
    assert sum(a != b for a, b in zip(there, boss.outline.vertices, strict=True)) == len(points)
    return replace(boss, outline=replace(boss.outline, vertices=tuple(there)))


def tip_of(boss: Boss) -> tuple[Point, Point]:
    """The two corners of a hook's nose, the near one first."""
    (edge,) = boss.outline.named("tip")
    far, near = edge.start, edge.end
    assert near[1] < far[1]
    return near, far


@breaks(Code.HOOK_ENGAGEMENT_SHORT)
def short_nose() -> Broken:
    """The nose of one hook is filed off until it hangs behind the plate by 3 mm."""
    bed = hawthorn()
    hooked(bed)
    hook = lowest_hook(bed)
    near, far = tip_of(hook)
    filed = redrawn(hook, {near: (-3.0, near[1]), far: (-3.0, far[1])})
    parts = {(HOOKS, SLOTS): 3.0}
    limit = "at least 4 mm behind the slot plate"
    return Broken(with_hook(bed, filed), parts, limit, place=FIRST)


@breaks(Code.HOOK_ENGAGEMENT_SHORT)
def loose_nose() -> Broken:
    """The root of one hook's nose stands a fifth of a millimetre off the slot plate."""
    bed = hawthorn()
    row = hooked(bed)
    loose = redrawn(lowest_hook(bed), {(0.0, row.thickness): (0.0, row.thickness + 0.2)})
    parts = {(HOOKS, SLOTS): 0.2}
    limit = "within 0.05 mm of the slot plate's far face"
    return Broken(with_hook(bed, loose), parts, limit, place=f"{FIRST}, its root")


@breaks(Code.HOOK_ENGAGEMENT_SHORT)
def hook_broken_off() -> Broken:
    bed = hawthorn()
    shape, lost = shape_of(bed, HOOKS), lowest_hook(bed)
    left = replace(shape, bosses=tuple(boss for boss in shape.bosses if boss is not lost))
    parts = {(HOOKS, SLOTS): 0.0}
    limit = "at least 4 mm behind the slot plate"
    broken = bed.with_piece(HOOKS, shape=shape, solid=make_solid(left))
    return Broken(broken, parts, limit, place=FIRST)


def lowered(bed: Bed, name: str, cut: str, by: float) -> Bed:
    """The bed with a slot or pocket that begins where it did and ends lower."""
    piece = bed.piece(name)
    old = cut_of(piece.kind.shape, cut)
    assert abs(piece.placement.direction(old.frame.x)[2]) == 1
    frame = old.frame.moved(in_part(piece, (0.0, 0.0, -by / 2)))
    return bed.with_piece(
        name, shape=with_cut(piece.kind.shape, cut, length=old.length - by, frame=frame)
    )


def lowest_of(bed: Bed, name: str, stem: str) -> str:
    """The lowest of a piece's cuts of that name."""
    piece = bed.piece(name)
    cuts = [cut for cut in piece.kind.shape.cuts if cut.name.startswith(stem)]
    return min(cuts, key=lambda cut: piece.placement.point(cut.frame.origin)[2]).name


@breaks(Code.HOOK_TRAVEL_SHORT)
def low_slot() -> Broken:
    """A slot is 9 mm higher than its hook; two of these are taken."""
    bed = hawthorn()
    hooked(bed)
    limit = "at least 8 mm, what it hangs behind the slot plate"
    broken = lowered(bed, SLOTS, lowest_of(bed, SLOTS, "slot"), 2.0)
    return Broken(broken, {(HOOKS, SLOTS): 7.0}, limit, place=f"{FIRST}, above it")


@breaks(Code.HOOK_TRAVEL_SHORT)
def low_pocket() -> Broken:
    """A pocket's round end, 4 mm in radius, comes down to 7.5 mm above the hook's middle."""
    bed = hawthorn()
    hooked(bed)
    # Drop, a millimetre of lift, and the end room.
    broken = lowered(bed, LEG, "rail_fastener_pocket_1", 8 + 1 + END_ROOM - 7.5)
    beside = 4 - math.sqrt(4**2 - 1.5**2)
    limit = "at least 8 mm, what it hangs behind the slot plate"
    return Broken(broken, {(HOOKS, SLOTS): 7.5 - beside}, limit, place=f"{FIRST}, above it")


@breaks(Code.HOOK_TRAVEL_SHORT)
def shallow_pocket() -> Broken:
    bed = hawthorn()
    hooked(bed)
    shape = shape_of(bed, LEG)
    name = "rail_fastener_pocket_1"
    shallow = with_cut(shape, name, depth=cut_of(shape, name).depth - 1)
    broken = bed.with_piece(LEG, shape=shallow)
    limit = "at least 1.5 mm of room"
    return Broken(broken, {(HOOKS, SLOTS): END_ROOM - 1}, limit, place=f"{FIRST}, beyond its end")


@breaks(Code.HOOK_BINDS)
def hook_set_aside() -> Broken:
    bed = hawthorn()
    row = hooked(bed)
    hook = lowest_hook(bed)
    aside = replace(hook, frame=hook.frame.moved(scale(hook.frame.z, 0.5)))
    limit = "at least 0.375 mm to each side"
    return Broken(with_hook(bed, aside), {(HOOKS, SLOTS): row.slot_play - 0.5}, limit, place=FIRST)


@breaks(Code.HOOK_BINDS)
def hook_turned() -> Broken:
    """One hook is turned by 8 degrees from its plate's middle line; its root still touches.

    Seen from above, its side is nearest to the slot's edge at the plate's far face,
    3 mm off the hook plate and 2.25 mm off the middle.
    """
    bed = hawthorn()
    row = hooked(bed)
    hook = lowest_hook(bed)
    turn = math.radians(8)
    sine, cosine = math.sin(turn), math.cos(turn)
    half = row.hook_width / 2
    middle = hook.frame.point((0.0, 0.0, half))
    y = tuple(cosine * b + sine * c for b, c in zip(hook.frame.y, hook.frame.z, strict=True))
    z = tuple(cosine * c - sine * b for b, c in zip(hook.frame.y, hook.frame.z, strict=True))
    frame = Frame(middle, hook.frame.x, (y[0], y[1], y[2]), (z[0], z[1], z[2]))
    frame = frame.moved(scale(frame.z, -half))
    near, far = tip_of(hook)
    drawn: dict[Point, Point] = {
        (0.0, row.thickness): (0.0, (row.thickness + half * sine) / cosine)
    }
    # It starts inside the plate, and ends inside its blank.
    drawn |= {(x, 0.0): (x, -0.5) for x in (0.0, row.neck)}
    drawn |= {(x, row.projection): (x, row.projection - 0.3) for x in (-row.drop, row.neck)}
    assert near not in drawn
    assert far in drawn
    turned = replace(redrawn(hook, drawn), frame=frame)
    gap = (half + row.slot_play) * cosine - row.thickness * sine - half
    limit = "at least 0.375 mm to each side"
    return Broken(with_hook(bed, turned), {(HOOKS, SLOTS): gap}, limit, place=FIRST)


# --- screws -------------------------------------------------------------------------------

PILOT = "rail_fastener_screw_1"
BITE = "at least 15 mm of thread in a hole closed all round"


@breaks(Code.SCREW_BITE_SHORT)
def short_pilot_hole() -> Broken:
    bed = hawthorn()
    broken = bed.with_piece(LEG, shape=with_cut(shape_of(bed, LEG), PILOT, depth=10.0))
    return Broken(broken, {(LEG, PILOT): 10.0}, BITE)


@breaks(Code.SCREW_BITE_SHORT)
def pilot_hole_not_drilled() -> Broken:
    """Its record says it is there, its solid does not."""
    bed = hawthorn()
    shape = shape_of(bed, RAIL)
    pilot = "head_fastener_screw_2"
    without = replace(shape, cuts=tuple(cut for cut in shape.cuts if cut.name != pilot))
    broken = bed.with_piece(RAIL, shape=shape, solid=make_solid(without))
    return Broken(broken, {(RAIL, pilot): 0.0}, BITE)


@breaks(Code.SCREW_BITE_SHORT)
def pilot_hole_in_a_pocket() -> Broken:
    """The lower pocket comes down to the middle of a screw, and opens its hole on one side.

    Round the pilot hole, of radius r, those directions lie in the pocket's end, of
    radius R, whose angle from straight up has a cosine over r / 2 R.
    """
    bed = hawthorn()
    hooked(bed)
    piece = bed.piece(LEG)
    pocket, pilot = (cut_of(piece.kind.shape, name) for name in ("rail_fastener_pocket_1", PILOT))
    middle, screw = (piece.placement.point(cut.frame.origin)[2] for cut in (pocket, pilot))
    longer = middle - pocket.length / 2 - screw
    assert longer > 0
    frame = pocket.frame.moved(in_part(piece, (0.0, 0.0, -longer / 2)))
    shape = with_cut(piece.kind.shape, pocket.name, length=pocket.length + longer, frame=frame)
    open_share = math.acos(pilot.width / 2 / pocket.width) / math.pi
    bite = pilot.depth - pocket.depth * open_share
    return Broken(bed.with_piece(LEG, shape=shape), {(LEG, PILOT): bite}, BITE, within=1e-4)


# --- wood left ----------------------------------------------------------------------------


@breaks(Code.RECESS_WALL_THIN)
def deep_pilot_hole() -> Broken:
    """Three millimetres are left to the leg's show face."""
    bed = hawthorn()
    row, thickness = hooked(bed), bed.layout.sheet.leg.thickness
    shape = with_cut(shape_of(bed, LEG), PILOT, depth=thickness - row.thickness - 3)
    limit = "at least 4 mm of wood"
    return Broken(bed.with_piece(LEG, shape=shape), {(f"{LEG}_changed", PILOT): 3.0}, limit)


@breaks(Code.RECESS_WALL_THIN)
def pilot_hole_through_the_leg() -> Broken:
    """As deep as the leg is thick; its thread still has all the wood it wants."""
    bed = hawthorn()
    row, thickness = hooked(bed), bed.layout.sheet.leg.thickness
    shape = with_cut(shape_of(bed, LEG), PILOT, depth=thickness - row.thickness - 0.0005)
    limit = "at least 4 mm of wood"
    return Broken(bed.with_piece(LEG, shape=shape), {(f"{LEG}_changed", PILOT): 0.0005}, limit)


@breaks(Code.RECESS_WALL_THIN)
def hole_unlike_its_record() -> Broken:
    """A dowel's hole is drilled deeper than its record says, so its wall is not known for it."""
    bed = bolted()
    shape, name = shape_of(bed, LEG), "rail_fastener_dowel_1"
    deeper = make_solid(with_cut(shape, name, depth=cut_of(shape, name).depth + 2))
    return Broken(
        bed.with_piece(LEG, shape=shape, solid=deeper),
        {(f"{LEG}_changed", name): 0.0},
        "at least 4 mm of wood",
        place="round a cut not found",
    )


@breaks(Code.FASTENER_NEAR_MORTISE)
def mortise_up_to_a_screw() -> Broken:
    """A dry tenon's mortise is made longer, up to 3 mm from the side of a pilot hole."""
    bed = hawthorn()
    name, slot, pilot = "foot_leg_right", "footboard_board_tenon_1_right", "rail_fastener_screw_2"
    piece = bed.piece(name)
    mortise, screw = (cut_of(piece.kind.shape, cut) for cut in (slot, pilot))
    at_mortise, at_screw = (piece.placement.point(c.frame.origin) for c in (mortise, screw))
    # Both pass each other in the leg: the one along X, the other along Y.
    assert at_mortise[0] < at_screw[0] < at_mortise[0] + mortise.depth
    assert at_screw[1] < at_mortise[1] < at_screw[1] + screw.depth
    top = at_screw[2] - screw.width / 2 - 3
    longer = top - at_mortise[2] - mortise.length / 2
    assert longer > 0
    frame = mortise.frame.moved(in_part(piece, (0.0, 0.0, longer / 2)))
    shape = with_cut(piece.kind.shape, slot, length=mortise.length + longer, frame=frame)
    parts = {(f"{name}_changed", slot, pilot): 3.0}
    return Broken(bed.with_piece(name, shape=shape), parts, "at least 4 mm of wood")


# --- plates -------------------------------------------------------------------------------


@breaks(Code.PLATE_NOT_FLUSH)
def thin_slot_plate() -> Broken:
    """A fifth of a millimetre is filed off its outer face."""
    bed = hawthorn()
    piece = bed.piece(SLOTS)
    shape = piece.kind.shape
    thin = replace(
        shape,
        thickness=shape.thickness - 0.2,
        cuts=tuple(replace(cut, depth=cut.depth - 0.2) for cut in shape.cuts),
    )
    # The part's z goes into the leg, away from the rail.
    assert piece.placement.z == (0.0, -1.0, 0.0)
    placement = piece.placement.moved((0.0, -0.2, 0.0))
    broken = bed.with_piece(SLOTS, shape=thin, placement=placement)
    limit = "within 0.05 mm of the wood's face"
    return Broken(broken, {(SLOTS, LEG): -0.2}, limit, place="on the leg's inside face")


@breaks(Code.PLATE_NOT_FLUSH)
def thin_flange() -> Broken:
    """A bracket's flange, a fifth of a millimetre back from the rail's inside face."""
    bed = bracketed()
    name = "head_rail_bracket_right"
    shape = shape_of(bed, name)
    (flange,) = (boss for boss in shape.bosses if boss.outline.named("far"))
    # Its outer face is one side of the bracket's box; its frame's z goes into the rail.
    assert flange.frame.z == (0.0, -1.0, 0.0)
    assert flange.frame.origin[1] == shape.width
    inwards = scale(flange.frame.z, 0.2)
    thin = replace(flange, frame=flange.frame.moved(inwards), height=flange.height - 0.2)
    assert all(cut.depth == flange.height for cut in shape.cuts)
    changed = replace(
        shape,
        width=shape.width - 0.2,
        bosses=tuple(thin if boss is flange else boss for boss in shape.bosses),
        cuts=tuple(
            replace(cut, frame=cut.frame.moved(inwards), depth=cut.depth - 0.2)
            for cut in shape.cuts
        ),
    )
    limit = "within 0.05 mm of the wood's face"
    broken = bed.with_piece(name, shape=changed)
    return Broken(broken, {(name, RAIL): -0.2}, limit, place="on the rail's inside face")


# --- bolts --------------------------------------------------------------------------------


def bolt_row(bed: Bed) -> Bolt:
    row = bed.layout.fastener.row if bed.layout.fastener else None
    assert isinstance(row, Bolt)
    return row


@breaks(Code.BOLT_REACH_SHORT)
def short_bolt() -> Broken:
    """Sawn off until its tip is a millimetre short of the barrel's far side."""
    bed = bolted()
    row, shape = bolt_row(bed), shape_of(bed, BOLT)
    (shank,) = shape.bosses
    # From the joint: the tip, and the barrel's far side.
    sunk = row.washer_thickness + row.head_height + 0.5
    tip = row.length - row.washer_thickness - (bed.layout.sheet.leg.thickness - sunk)
    less = tip - (row.barrel_inset + row.barrel / 2) + 1
    assert less > 1
    short = replace(
        shape,
        length=shape.length - less,
        bosses=(replace(shank, height=shank.height - less),),
    )
    broken = bed.with_piece(BOLT, shape=short)
    return Broken(broken, {(BOLT, BARREL): -1.0}, "at least 0 mm", place="past the barrel")


@breaks(Code.BOLT_REACH_SHORT)
def shallow_bolt_hole() -> Broken:
    return _shallow(RAIL, "head_fastener_bolt", BOLT, "beyond its tip")


@breaks(Code.BOLT_REACH_SHORT)
def shallow_dowel_hole_in_leg() -> Broken:
    return _shallow(LEG, "rail_fastener_dowel_1", "head_alignment_dowel_1_right", "beyond its end")


@breaks(Code.BOLT_REACH_SHORT)
def shallow_dowel_hole_in_rail() -> Broken:
    return _shallow(RAIL, "head_fastener_dowel_2", "head_alignment_dowel_2_right", "beyond its end")


def _shallow(name: str, hole: str, metal: str, place: str) -> Broken:
    """A millimetre less than the hole should be deep."""
    bed = bolted()
    shape = shape_of(bed, name)
    shallow = with_cut(shape, hole, depth=cut_of(shape, hole).depth - 1)
    broken = bed.with_piece(name, shape=shallow)
    return Broken(broken, {(metal, name): END_ROOM - 1}, "at least 1.5 mm", place=place)


@breaks(Code.BOLT_REACH_SHORT)
def high_head() -> Broken:
    """Its head lies half a millimetre below the show face; it is made one higher."""
    bed = bolted()
    piece = bed.piece(BOLT)
    shape = piece.kind.shape
    (shank,) = shape.bosses
    assert shape.base is not None
    # The part's x runs from the head to the tip.
    high = replace(
        shape,
        length=shape.length + 1,
        base=(0.0, shape.base[1] + 1),
        bosses=(replace(shank, frame=shank.frame.moved((1.0, 0.0, 0.0))),),
    )
    placement = piece.placement.moved(scale(piece.placement.x, -1.0))
    broken = bed.with_piece(BOLT, shape=high, placement=placement)
    return Broken(broken, {(BOLT, LEG): -0.5}, "at least 0 mm", place="below the show face")


# --- what shows ---------------------------------------------------------------------------


@breaks(Code.FASTENER_SHOWS)
def bolts_that_must_not_show() -> Broken:
    """Another sheet asks for it: the bolts' heads and the barrels' holes are seen."""
    bed = with_sheet(bolted(), "fastener", visible="never")
    parts = {
        (f"{end}_leg_{side}", "rail_fastener_counterbore"): 1.0 for end in ENDS for side in SIDES
    }
    parts |= {
        (f"side_rail_{side}", f"{end}_fastener_barrel"): 1.0 for end in ENDS for side in SIDES
    }
    return Broken(bed, parts, "0 in sight")


@breaks(Code.FASTENER_SHOWS)
def brackets_that_must_not_show() -> Broken:
    """Each lies in the rail's inside face, where its end's recess comes out too."""
    bed = with_sheet(bracketed(), "fastener", visible="never")
    parts = {
        (f"side_rail_{side}", f"{end}_fastener_{flange}_flange"): 1.0
        for end in ENDS
        for side in SIDES
        for flange in ("end", "face")
    }
    return Broken(bed, parts, "0 in sight")


@breaks(Code.FASTENER_SHOWS)
def recess_below_the_rail() -> Broken:
    """The slot plate's recess is routed on downwards, to 5 mm below the rail."""
    bed = with_sheet(hawthorn(), "fastener", visible="never")
    piece, name = bed.piece(LEG), "rail_fastener_plate"
    recess = cut_of(piece.kind.shape, name)
    bottom = piece.placement.point(recess.frame.origin)[2] - recess.length / 2
    longer = bottom - bed.layout.rail_bottom + 5
    frame = recess.frame.moved(in_part(piece, (0.0, 0.0, -longer / 2)))
    shape = with_cut(piece.kind.shape, name, length=recess.length + longer, frame=frame)
    return Broken(bed.with_piece(LEG, shape=shape), {(LEG, name): 1.0}, "0 in sight")


# --- heights ------------------------------------------------------------------------------

LEVEL = "within 0.05 mm of each other"


@breaks(Code.RAILS_NOT_LEVEL)
def high_rail() -> Broken:
    """Butted rails can be set at any height; the one on the right is a millimetre high."""
    parts = {("side_rail_left", f"{end}_leg_left"): 1.0 for end in ENDS}
    glued = good("hawthorn", None, "side_rail.joint=butt", "runner.joint=glue")
    return Broken(moved(glued, RAIL, (0, 0, 1)), parts, LEVEL)


@breaks(Code.RAILS_NOT_LEVEL)
def low_slot_plate() -> Broken:
    """One slot plate has slipped down in its recess, which is a tenth of a millimetre longer."""
    bed = hawthorn()
    assert bed.layout.sheet.fastener.fit == 0.1
    return Broken(moved(bed, SLOTS, (0, 0, -0.08)), {(SLOTS,): 0.08}, LEVEL)


@breaks(Code.RAILS_NOT_LEVEL)
def high_bolt() -> Broken:
    """One bolt is a fifth of a millimetre high in its hole; the other three are low."""
    names = [f"{end}_bolt_{side}" for end in ENDS for side in SIDES]
    parts = {(name,): 0.2 for name in names if name != BOLT}
    return Broken(moved(bolted(), BOLT, (0, 0, 0.2)), parts, LEVEL)
