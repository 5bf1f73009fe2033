"""A cap rail on top of an end: between the legs, or over them.

    between                                over
         ____________________                ____________________________
     ||  |__________________|  ||           |____________________________|
     ||   |                |   ||             ||   room to move       ||
     ||   |  highest board |   ||             ||  |  highest board  | ||

Between the legs its grain runs as the board's does, so it is glued to it. Over the legs it
is dowelled to these alone, and the board's top edge has room below it: how far the edge
moves is reckoned as for dry tenons, from the lower of two tenons, which is the glued one.
"""

from __future__ import annotations

import math

from bedmodel.end_spec import Cap
from bedmodel.ends.boards import End, boards_of, given_of
from bedmodel.ends.record import CapDowel, CapPlan
from bedmodel.errors import InputError
from bedmodel.glue_zone import swing
from bedmodel.legs import LegFamily
from bedmodel.spec import Board, Sheet
from bedmodel.tenons import TenonPlan

DIAMETERS = (10.0, 8.0, 6.0)
MOVING_SHARE = 0.75  # of the highest board's width lies above its glued tenon, at most
DEPTH_RATIO = 3.0  # common practice: a dowel stands three diameters deep
LEAST_DEPTH_RATIO = 1.2
IN_LEG = (0.27, 0.73)  # of the leg's width at the top, where the dowels stand
FIRST = 70.0  # mm from a leg to the first dowel in a board
EASED_SHARE = 0.45


def room_under(sheet: Sheet, board: Board) -> float:
    """Room between the highest board and a cap over the legs (mm)."""
    return math.ceil(MOVING_SHARE * board.width * swing(sheet) * 2) / 2


def leg_above(sheet: Sheet, end: End, board: Board) -> float:
    """How far the legs of an end stand above its highest board (mm)."""
    _, given = given_of(sheet, end)
    if given.cap.use == "over":
        return room_under(sheet, board)
    return sheet.leg.above_boards + (given.cap.thickness if given.cap.use == "between" else 0.0)


def cap_of(
    sheet: Sheet,
    end: End,
    platform: float,
    half: float,
    legs: LegFamily,
    leg_top: float,
    mattress_top: float,
    tenons: tuple[TenonPlan, ...],
) -> CapPlan | None:
    """The cap of an end, or None. Raises InputError where it or its dowels do not fit."""
    name, given = given_of(sheet, end)
    cap, boards = given.cap, boards_of(sheet, end)
    if cap.use == "none":
        return None
    _check_easing(sheet, name, cap)
    tops = [board.above_platform + board.width for board in boards]
    highest = tops.index(max(tops))
    board, plan = boards[highest], tenons[highest]
    bottom = platform + tops[highest]
    if cap.use == "over":
        bottom, wide, length = leg_top, sheet.leg.thickness, 2 * (half + legs.width_at(leg_top))
        length, back = length + 2 * cap.beyond, 0.0
    else:
        wide, length, back = board.thickness, 2 * half - 2 * cap.end_gap, given.reveal
    # Beside the mattress nothing may stand in its way.
    below = math.inf  # how deep a hole may be in what is under the cap
    inner = cap.overhang - back if bottom >= mattress_top else min(cap.overhang - back, 0.0)
    width = wide + cap.overhang + back + inner
    wall = sheet.fastener.wall_least
    if cap.use == "over":
        low = plan.setbacks[-1] + plan.mortise_width / 2 + wall
        room = sheet.leg.thickness - _eased(sheet.leg.edge, sheet.leg.edge_size) - wall - low
        setback = low + room / 2
        across = legs.width_at(leg_top) - _eased(sheet.leg.edge, sheet.leg.edge_size)
        # From joint face to the first, and from the first to the second.
        across_room = min(2 * (IN_LEG[0] * across - wall), (IN_LEG[1] - IN_LEG[0]) * across - wall)
        room = min(room, across_room)
        if room < DIAMETERS[-1] + 2 * sheet.dowel.clearance:
            # No room behind the board's joint: above it, and less deep.
            setback, room, below = sheet.leg.thickness / 2, across_room, leg_top - _top(plan) - wall
        dowels = tuple(CapDowel(half + across * share, setback, "leg") for share in IN_LEG)
    else:
        setback = given.reveal + board.thickness / 2
        room = board.thickness - 2 * (wall + _eased(given.edge, given.edge_size))
        dowels = tuple(CapDowel(x, setback, "board") for x in _spread(sheet, cap, half, plan, wall))
    clearance, gap = sheet.dowel.clearance, sheet.dowel.end_gap
    room = min(room - 2 * clearance, (below - gap) / LEAST_DEPTH_RATIO)
    diameter = _diameter(sheet, name, cap, room)
    in_cap = min(DEPTH_RATIO * diameter, cap.thickness - wall - gap)
    if in_cap < LEAST_DEPTH_RATIO * diameter:
        least = LEAST_DEPTH_RATIO * diameter + wall + gap
        raise InputError(
            f"{name}.cap.thickness",
            sheet.show(cap.thickness),
            f"must be at least {sheet.at_least(least)} for dowels of {sheet.show(diameter)}",
            "make it more, or cap.dowel_diameter less",
        )
    in_below = min(DEPTH_RATIO * diameter, below - gap)
    if cap.use == "between":
        in_below = min(in_below, board.width / 2)
    return CapPlan(
        use=cap.use,
        board=highest,
        length=length,
        width=width,
        thickness=cap.thickness,
        bottom=bottom,
        inner=inner,
        room=bottom - platform - tops[highest],
        dowels=dowels,
        diameter=diameter,
        in_cap=in_cap,
        in_below=in_below,
        clearance=clearance,
        end_gap=gap,
        edge=cap.edge,
        edge_size=cap.edge_size,
    )


def _eased(style: str, size: float) -> float:
    return size if style != "square" else 0.0


def _top(plan: TenonPlan) -> float:
    """Top of the highest mortise or groove in the leg, above the floor."""
    slack = plan.slack[-1] if plan.slack else 0.0
    mortise = plan.heights[-1] + plan.width / 2 + plan.edge_clearance + slack
    return max(mortise, *(haunch.groove_high for haunch in plan.haunches), mortise)


def _check_easing(sheet: Sheet, name: str, cap: Cap) -> None:
    greatest = EASED_SHARE * cap.thickness
    if cap.edge != "square" and cap.edge_size > greatest:
        raise InputError(
            f"{name}.cap.edge_size",
            sheet.show(cap.edge_size),
            f"must be at most {sheet.at_most(greatest)} on the narrowest side",
            f'make it less, the cap thicker, or {name}.cap.edge "square"',
        )


def _spread(sheet: Sheet, cap: Cap, half: float, plan: TenonPlan, wall: float) -> tuple[float, ...]:
    """Places of the dowels along the board, alike from both ends, clear of its tenons."""
    inside = 0.0 if plan.integral else plan.embedment_board + plan.end_gap
    reach = half - max(FIRST, inside + wall + DIAMETERS[0])
    count = max(2, 1 + math.ceil(2 * reach / cap.dowel_pitch - 1e-9))
    pitch = 2 * reach / (count - 1)
    left = [-reach + i * pitch for i in range(count // 2)]
    return (*left, *([0.0] if count % 2 else []), *(-x for x in reversed(left)))


def _diameter(sheet: Sheet, name: str, cap: Cap, room: float) -> float:
    if cap.dowel_diameter is not None:
        if cap.dowel_diameter <= room + 1e-9:
            return cap.dowel_diameter
        raise InputError(
            f"{name}.cap.dowel_diameter",
            sheet.show(cap.dowel_diameter),
            f"must be at most {sheet.at_most(room)} beside the other joints",
            "make it less",
        )
    for diameter in DIAMETERS:
        if diameter <= room + 1e-9:
            return diameter
    where = "leg.thickness" if cap.use == "over" else "the board's thickness"
    raise InputError(
        f"{name}.cap.use",
        cap.use,
        f"leaves {sheet.show(max(0.0, room))} for its dowels, and they need "
        f"{sheet.show(DIAMETERS[-1])}",
        f"make {where} more, fastener.wall_least or tenon.rows less, or take the other use",
    )
