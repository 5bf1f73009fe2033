"""Hook plate in the rail's end, and the slot plate in the leg that its hooks hang in.

The hooks' seats are set so that each pocket's middle stands at the hook's pitch:

    leg                     x up
     |   .------.   lifted, the hook's top has room here
     |   |      |
     |===| slot |===  slot plate, flush with the leg's inside face
     |   |  []  |     the hook's neck, on the slot's lower edge: the seat
     |   '--||--'
     |      |]        its nose, behind the plate, over the drop
"""

from __future__ import annotations

import math

from bedmodel.cuts import Boss, Cut, Mortise, slot
from bedmodel.fasteners.fitting import (
    INTO_LEG,
    INTO_RAIL,
    Fitting,
    Hook,
    Loose,
    ScrewPlace,
    Wood,
    at,
    evenly,
    hole,
)
from bedmodel.frames import Frame
from bedmodel.hardware import Hooked, HookPlate
from bedmodel.outline import Outline
from bedmodel.screws import clearance_diameter, screw
from bedmodel.shape import Shape

LIFT = 1.0  # a rail is lifted this much higher than its hooks' drop before it comes free


def hooks_of(row: Hooked) -> tuple[Hook, ...]:
    """The hooks of a plate or bracket, from the lowest up."""
    middles = [row.hook_pitch * (i - (row.hooks - 1) / 2) for i in range(row.hooks)]
    return tuple(
        Hook(middle - row.neck / 2, row.neck, row.drop, row.hook_width, row.projection)
        for middle in middles
    )


def fit_hook_plate(row: HookPlate, wood: Wood, parameter: str) -> Fitting:
    """The flat hook plate in the rail's end and the slot plate in the leg."""
    t, holes = row.thickness, screw_heights(row)
    pilot = wood.pilot(row.screw_gauge, parameter)
    end = at(INTO_RAIL, (0.0, 0.0, t))
    rail_cuts: list[Cut] = [_seat("plate", INTO_RAIL, row, wood)]
    screws = []
    for i, x in enumerate(holes, start=1):
        place = at(end, (x, 0.0, 0.0))
        name = f"screw_{i}"
        rail_cuts.append(hole(name, place, pilot, row.rail_screw - t, pilot=True))
        head = at(INTO_RAIL, (x, 0.0, 0.0))
        screws.append(ScrewPlace(name, row.screw_gauge, row.rail_screw, head, t))
    leg_cuts, leg_screws = slot_plate_side(row, wood, pilot)
    plate = _plate(row, t + row.projection, hook_bosses(row, row.width / 2, row.length / 2, t))
    corner = Frame((-row.length / 2, -row.width / 2, -t))
    loose = (Loose("hook_plate", plate, corner, row.metal), slot_plate(row))
    return Fitting(tuple(leg_cuts), tuple(rail_cuts), loose, (*screws, *leg_screws), hooks_of(row))


# --- the leg's side ------------------------------------------------------------------------


def slot_plate_side(
    row: Hooked, wood: Wood, pilot: float, across: float = 0.0
) -> tuple[list[Cut], list[ScrewPlace]]:
    """The cuts in the leg and the screws of the slot plate; its middle lies ``across``."""
    t = row.thickness
    face = at(INTO_LEG, (0.0, across, 0.0))
    cuts: list[Cut] = [_seat("plate", face, row, wood)]
    depth = row.projection - t + wood.end_room
    length = pocket_length(row, wood.end_room)
    for i, hook in enumerate(hooks_of(row), start=1):
        place = at(face, (hook.seat + hook.neck / 2, 0.0, t))
        cuts.append(
            Mortise(f"pocket_{i}", place, length, row.pocket_width, depth, "round", "pocket")
        )
    screws = []
    for i, x in enumerate(screw_heights(row), start=1):
        name = f"screw_{i}"
        cuts.append(hole(name, at(face, (x, 0.0, t)), pilot, row.leg_screw - t, pilot=True))
        head = at(face, (x, 0.0, 0.0))
        screws.append(ScrewPlace(name, row.screw_gauge, row.leg_screw, head, t))
    return cuts, screws


def pocket_length(row: Hooked, end_room: float) -> float:
    """Height of a pocket: the hook, its travel both ways, and room for the round ends."""
    half, r = row.hook_width / 2, row.pocket_width / 2
    # A round end is lower beside the middle, where the hook's side comes.
    lost = r - math.sqrt(max(r * r - half * half, 0.0))
    return 2 * (row.neck / 2 + row.drop + LIFT + max(end_room, lost))


def _seat(name: str, frame: Frame, row: Hooked, wood: Wood) -> Mortise:
    length, width = row.length + 2 * wood.fit, row.width + 2 * wood.fit
    return Mortise(name, frame, length, width, row.thickness, row.ends, "recess")


def screw_heights(row: Hooked) -> list[float]:
    return evenly(row.screws, row.screw_pitch)


# --- metal ---------------------------------------------------------------------------------


def _plate(
    row: Hooked, whole: float, bosses: tuple[Boss, ...], cuts: tuple[Cut, ...] = ()
) -> Shape:
    """A flat plate along x, its screw holes bored, ``whole`` thick with what stands out of it."""
    middle = (row.length / 2, row.width / 2)
    outline = slot(row.length, row.width, row.ends).mapped(
        lambda p: (p[0] + middle[0], p[1] + middle[1])
    )
    shank = clearance_diameter(screw(row.screw_gauge), "mm")
    bored = [
        hole(
            f"screw_{i}",
            Frame((middle[0] + x, middle[1], 0.0)),
            shank,
            row.thickness,
            through=True,
        )
        for i, x in enumerate(screw_heights(row), start=1)
    ]
    base = (0.0, row.thickness) if bosses else None
    return Shape(
        row.length, row.width, whole, outline, cuts=(*bored, *cuts), bosses=bosses, base=base
    )


def slot_plate(row: Hooked, across: float = 0.0) -> Loose:
    """The slot plate, flush with the leg's inside face."""
    height = row.neck + row.drop + LIFT
    slots = []
    for i, hook in enumerate(hooks_of(row), start=1):
        middle = row.length / 2 + hook.seat + height / 2
        slots.append(
            Mortise(
                f"slot_{i}",
                Frame((middle, row.width / 2, 0.0)),
                height,
                row.hook_width + 2 * row.slot_play,
                row.thickness,
                "square",
                "hole",
                through=True,
            )
        )
    shape = _plate(row, row.thickness, (), tuple(slots))
    corner = Frame((-row.length / 2, across - row.width / 2, 0.0))
    return Loose("slot_plate", shape, corner, row.metal)


def hook_bosses(row: Hooked, across: float, middle: float, face: float) -> tuple[Boss, ...]:
    """The hooks on a plate whose outer face is at z = ``face``, in the plate's part frame."""
    back = row.thickness  # the slot plate's far face, from the joint's plane
    lean = row.drop * math.tan(math.radians(row.wedge))
    bosses = []
    for hook in hooks_of(row):
        outline = Outline.of(
            [
                ((0.0, 0.0), 0.0, "plate"),
                ((row.neck, 0.0), 0.0, "top"),
                ((row.neck, row.projection), 0.0, "end"),
                ((-row.drop, row.projection), 0.0, "tip"),
                ((-row.drop, back + lean), 0.0, "wedge"),
                ((0.0, back), 0.0, "seat"),
            ]
        )
        # Drawn in x (up) and z (out of the plate); pushed across the plate.
        frame = Frame(
            (middle + hook.seat, across + row.hook_width / 2, face),
            (1.0, 0.0, 0.0),
            (0.0, 0.0, 1.0),
            (0.0, -1.0, 0.0),
        )
        bosses.append(Boss(frame, outline, row.hook_width))
    return tuple(bosses)
