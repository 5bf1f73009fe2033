"""Knock-down fasteners and screws: recesses and holes for ``Workplane.invoke``.

``into_rail`` and ``into_leg`` take a fitting, which ``hook_plates``, ``brackets`` or ``bolts``
gives: one record for both parts. A place is the fastener's middle: on the rail's end in the
middle of its thickness, on the leg where that comes to lie. The workplane's x, turned by
``rotation``, points up on both.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal, TypeVar

import cadquery as cq

from bedmodel.cuts import Cut
from bedmodel.errors import InputError
from bedmodel.fasteners.bolt import fit_bolt, grip, reach
from bedmodel.fasteners.bracket import fit_bracket
from bedmodel.fasteners.fitting import Fitting, Wood, hole
from bedmodel.fasteners.hooked import fit_hook_plate
from bedmodel.frames import Frame
from bedmodel.hardware import (
    TABLE,
    Bolt,
    Bracket,
    Fastener,
    Fasteners,
    Hooked,
    HookPlate,
    own_fasteners,
)
from bedmodel.joinery.places import Tool, cut_away, into_wood, one_of, out_of, positive, tools
from bedmodel.joinery.plans import usual_rules
from bedmodel.joinery.woodwork import Step
from bedmodel.screwing import COUNTERBORE_ROOM
from bedmodel.screws import clearance_diameter, pilot_diameter, screw
from bedmodel.sheets import shared_folder, validated
from bedmodel.solids import OVERSHOOT, location, make_solid
from bedmodel.spec import Sheet
from bedmodel.tables import wood as wood_of

Row = TypeVar("Row", bound=Fastener)
Face = Literal["+y", "-y"]
Head = Literal["none", "counterbore", "countersink"]
PAST_BARREL = 25.0  # how far a bolt's tip may stand behind its barrel, as of the beds


def hook_plates(
    rail_thickness: float,
    rail_width: float,
    leg_thickness: float,
    *,
    name: str | None = None,
    rules: Sheet | None = None,
    **changes: float | str,
) -> Fitting:
    """Hook plate for a rail's end and slot plate for its leg (mm).

    The first row of the table that fits the rail's end, or the one of that ``name``; its
    fields may be changed, as ``length=120``. Raises InputError for a row or a field that is
    none, and where none fits.
    """
    sheet, wood = _wood(rail_thickness, leg_thickness, "+y", rules)
    wall, fit = sheet.fastener.wall_least, sheet.fastener.fit

    def fits(row: HookPlate) -> bool:
        return (
            row.width + 2 * (wall + fit) <= rail_thickness
            and row.length + 2 * wall <= rail_width
            and _hangs(row, leg_thickness, sheet)
        )

    row = _row("hook_plate", _table().hook_plate, fits, name, changes)
    return fit_hook_plate(row, wood, "screw_gauge")


def brackets(
    rail_thickness: float,
    rail_width: float,
    leg_thickness: float,
    *,
    inside: Face = "+y",
    name: str | None = None,
    rules: Sheet | None = None,
    **changes: float | str,
) -> Fitting:
    """Angle bracket for a rail's end and inside face, and slot plate for its leg (mm).

    ``inside`` says on which side of the rail's end its inside face lies: with x up, "+y" is
    the left as you look at the end. Otherwise as ``hook_plates``.
    """
    sheet, wood = _wood(rail_thickness, leg_thickness, inside, rules)
    wall, fit = sheet.fastener.wall_least, sheet.fastener.fit

    def fits(row: Bracket) -> bool:
        return (
            row.end_flange + wall + fit <= rail_thickness
            and row.face_screw + wall <= rail_thickness
            and row.length + 2 * wall <= rail_width
            and _hangs(row, leg_thickness, sheet)
        )

    row = _row("bracket", _table().bracket, fits, name, changes)
    return fit_bracket(row, wood, "screw_gauge")


def bolts(
    rail_thickness: float,
    rail_width: float,
    leg_thickness: float,
    *,
    inside: Face = "+y",
    name: str | None = None,
    rules: Sheet | None = None,
    **changes: float | str,
) -> Fitting:
    """A bolt through the leg into a barrel nut in the rail, with two alignment dowels (mm).

    The barrel's hole is bored from the rail's ``inside`` face; head and washer lie in a
    counterbore of the leg's far face, so the bolt goes with the leg's thickness. Otherwise as
    ``brackets``.
    """
    sheet, wood = _wood(rail_thickness, leg_thickness, inside, rules)
    wall = sheet.fastener.wall_least

    def fits(row: Bolt) -> bool:
        return (
            row.dowel_pitch + row.dowel + 2 * wall <= rail_width
            and max(row.dowel, row.diameter + row.play) + 2 * wall <= rail_thickness
            and row.barrel_length / 2 + wall <= rail_thickness / 2
            and row.dowel_in_leg + wood.end_room + wall <= leg_thickness
            and grip(row, leg_thickness) >= wall
            and 0 <= reach(row, leg_thickness) - row.barrel_inset - row.barrel / 2 <= PAST_BARREL
        )

    row = _row("bolt", _table().bolt, fits, name, changes)
    return fit_bolt(row, wood, "screw_gauge")


def into_rail(fitting: Fitting, *, rotation: float = 0.0) -> Step:
    """What a fastener asks of the rail: cut at each place, on the rail's end."""

    def step(work: cq.Workplane) -> cq.Workplane:
        frames = out_of(work, "into_rail", rotation)
        return _fitted(work, "into_rail", frames, fitting.rail_cuts)

    return step


def into_leg(fitting: Fitting, *, rotation: float = 0.0) -> Step:
    """What a fastener asks of the leg: cut at each place, on the face that meets the rail."""

    def step(work: cq.Workplane) -> cq.Workplane:
        frames = into_wood(work, "into_leg", rotation)
        return _fitted(work, "into_leg", frames, fitting.leg_cuts)

    return step


def metal(fitting: Fitting, *, rotation: float = 0.0) -> Step:
    """Plates, bolts and dowels of a fastener as solids of their own, at places on rails' ends."""

    def step(work: cq.Workplane) -> cq.Workplane:
        return work.newObject(
            [
                make_solid(loose.shape).moved(location(frame @ loose.frame))
                for frame in out_of(work, "metal", rotation)
                for loose in fitting.loose
            ]
        )

    return step


def hook_plate_recess(fitting: Fitting, *, rotation: float = 0.0) -> Step:
    """The hook plate's recess and pilot holes in a rail's end, of ``hook_plates``."""
    return into_rail(fitting, rotation=rotation)


def slot_plate_recess(fitting: Fitting, *, rotation: float = 0.0) -> Step:
    """The slot plate's recess, pockets and pilots in a leg, of ``hook_plates`` or ``brackets``."""
    return into_leg(fitting, rotation=rotation)


def bracket_recess(fitting: Fitting, *, rotation: float = 0.0) -> Step:
    """Both recesses and the pilot holes of a bracket in a rail, of ``brackets``."""
    return into_rail(fitting, rotation=rotation)


def clearance_hole(
    gauge: int,
    depth: float | None = None,
    *,
    head: Head = "counterbore",
    sunk: float | None = None,
    diameter: float | None = None,
    rules: Sheet | None = None,
) -> Step:
    """The hole of a screw's shank in the part that it holds, with room for its head (mm).

    depth      the part's thickness; without it the hole goes right through
    sunk       how far the head lies below the surface, ``screw.sunk`` of the rules
    diameter   of the hole; by the gauge
    """
    sheet, of = rules or usual_rules(), screw(gauge)
    one_of("head", head, ("none", "counterbore", "countersink"))
    wide = clearance_diameter(of, sheet.design.unit) if diameter is None else diameter
    positive("diameter", wide)
    if depth is not None:
        positive("depth", depth)
    low = sheet.screw.sunk if sunk is None else sunk
    if low < 0:
        raise InputError("sunk", f"{low:g} mm", "must be 0 or more")

    def step(work: cq.Workplane) -> cq.Workplane:
        frames = into_wood(work, "clearance_hole", 0.0)
        found = list[Tool]()
        for i, frame in enumerate(frames):
            deep = _through(work, frame) if depth is None else depth
            cuts = [hole("clearance", frame, wide, deep, through=True)]
            if head == "counterbore" and low:
                cuts.append(hole("counterbore", frame, of.head + COUNTERBORE_ROOM, low))
            found += tools(cuts, i, frame)
            if head == "countersink":
                found.append(_countersink(frame, wide, of.head, low, i))
        return cut_away(work, "clearance_hole", frames, found)

    return step


def pilot_hole(
    gauge: int,
    depth: float,
    *,
    wood: str | None = None,
    diameter: float | None = None,
    rules: Sheet | None = None,
) -> Step:
    """The hole for a screw's thread, ``depth`` mm deep, by the density of the ``wood``.

    ``wood`` is a name of the table of woods; without it that of the rules.
    """
    sheet = rules or usual_rules()
    positive("depth", depth)
    gravity = (sheet.bed_wood if wood is None else wood_of(wood, "wood")).specific_gravity
    wide = (
        pilot_diameter(screw(gauge), gravity, sheet.design.unit) if diameter is None else diameter
    )
    positive("diameter", wide)

    def step(work: cq.Workplane) -> cq.Workplane:
        frames = into_wood(work, "pilot_hole", 0.0)
        found = [
            tool
            for i, frame in enumerate(frames)
            for tool in tools([hole("pilot", frame, wide, depth, pilot=True)], i, frame)
        ]
        return cut_away(work, "pilot_hole", frames, found)

    return step


# --- what they share -----------------------------------------------------------------------


def _table() -> Fasteners:
    return own_fasteners(shared_folder() / TABLE)


def _row(
    kind: str,
    rows: tuple[Row, ...],
    fits: Callable[[Row], bool],
    name: str | None,
    changes: dict[str, float | str],
) -> Row:
    """The row of that name, or the first that fits; with what is changed of it."""
    if name is not None:
        rows = tuple(row for row in rows if row.name == name)
        if not rows:
            raise InputError(kind, name, "is not in the table of fasteners")
    altered = [
        validated(type(row), {**row.model_dump(), **changes}, "mm") if changes else row
        for row in rows
    ]
    found = [row for row in altered if fits(row)]
    if not found:
        which = "no row of the table fits" if name is None else "does not fit"
        raise InputError(
            kind,
            name,
            f"{which} this rail and leg with their walls",
            "give a name and change its fields, or make rail or leg wider or thicker",
        )
    return found[0]


def _hangs(row: Hooked, leg_thickness: float, sheet: Sheet) -> bool:
    """Whether pockets and screws of a slot plate stay inside the leg."""
    wall = sheet.fastener.wall_least
    deepest = max(row.projection + sheet.fastener.end_room, row.leg_screw)
    return deepest + wall <= leg_thickness


def _wood(
    rail_thickness: float, leg_thickness: float, inside: Face, rules: Sheet | None
) -> tuple[Sheet, Wood]:
    sheet = rules or usual_rules()
    positive("rail_thickness", rail_thickness)
    positive("leg_thickness", leg_thickness)
    one_of("inside", inside, ("+y", "-y"))
    side = 1.0 if inside == "+y" else -1.0
    face = Frame.from_zx((0.0, side * rail_thickness / 2, 0.0), (0.0, -side, 0.0), (0.0, 0.0, -1.0))
    return sheet, Wood(
        sheet, face, leg_thickness, rail_thickness, sheet.fastener.fit, sheet.fastener.end_room
    )


def _fitted(
    work: cq.Workplane, what: str, frames: list[Frame], cuts: tuple[Cut, ...]
) -> cq.Workplane:
    found = list[Tool]()
    for i, frame in enumerate(frames):
        found += tools([replace(cut, frame=frame @ cut.frame) for cut in cuts], i, frame)
    return cut_away(work, what, frames, found)


def _through(work: cq.Workplane, frame: Frame) -> float:
    """From the place to the far side of the box round the part."""
    box = work.findSolid().BoundingBox()
    there = frame.inverse()
    return max(
        there.point((x, y, z))[2]
        for x in (box.xmin, box.xmax)
        for y in (box.ymin, box.ymax)
        for z in (box.zmin, box.zmax)
    )


def _countersink(frame: Frame, hole_wide: float, head: float, sunk: float, place: int) -> Tool:
    """Room for a head of 90 degrees whose top lies ``sunk`` below the surface."""
    r, small = head / 2, hole_wide / 2
    top = cq.Solid.makeCylinder(r, sunk + OVERSHOOT, cq.Vector(0, 0, -OVERSHOOT))
    cone = cq.Solid.makeCone(r, small, r - small, cq.Vector(0, 0, sunk))
    return Tool(top.fuse(cone).moved(location(frame)), place)
