"""Panels that float in a frame of rails, muntins, and the legs or stiles of their own.

       rail    ______________________
              |______________________|   groove, ``groove_depth`` deep
        leg  |=|  panel   |=|  panel  |=|  leg, as stile
              ______________________
              |______________________|   rail
                          muntin

A panel is never glued: across its grain it moves with the seasons, so the tongue has room in
its grooves to swell and stands so deep in them that it does not come out when it shrinks:

    groove = least engagement + side room + what an edge moves, dry and damp

How far wood moves is that of the boards' dry tenons (``glue_zone.swing``): the change of
moisture content that ``tenon.moisture_change`` says, to either side of what it was made at.
"""

from __future__ import annotations

import math

from bedmodel.end_spec import FramePanels
from bedmodel.ends.record import Between, Fill, PanelPlan
from bedmodel.errors import InputError
from bedmodel.glue_zone import swing
from bedmodel.legs import LegFamily
from bedmodel.spec import Board, BoardEnd, Sheet
from bedmodel.spread import Zone, bands

LOWEST = 60.0  # an opening lower than this is no place for a panel
NARROWEST = 80.0
LEAST_TENON = 10.0  # between the grooves of a muntin


def panels(
    sheet: Sheet, name: str, end: BoardEnd, rails: tuple[Board, Board], where: Between
) -> PanelPlan:
    """The panels of one opening. Raises InputError where they or their grooves do not fit."""
    given, parameter = end.panels, f"{name}.panels"
    if where.height < LOWEST:
        raise InputError(
            f"{name}.board.{where.upper + 1}.above_platform",
            f"{sheet.show(where.height)} above the rail below",
            f"leaves no room for panels, must be at least {sheet.at_least(LOWEST)} above it",
            "raise it, or make a rail narrower",
        )
    thin = min(rail.thickness for rail in rails)
    wall = sheet.fastener.wall_least
    _check_thickness(sheet, parameter, end, thin, wall)
    uprights, openings = _divided(sheet, parameter, given, where)
    each = swing(sheet)
    moving = where.height if given.grain == "horizontal" else max(b - a for a, b in openings)
    depth = _depth(sheet, parameter, given, moving, each)
    edge_moves = each * (moving + 2 * depth) / 2
    plan = PanelPlan(
        where=where,
        openings=openings,
        uprights=uprights,
        upright_width=given.muntin_width,
        upright_thickness=thin,
        stiles=given.stiles,
        grain=given.grain,
        tongue=given.tongue,
        thickness=given.tongue if given.style == "flat" else max(given.raised, given.tongue),
        border=given.border if given.style == "raised" else 0.0,
        groove_depth=depth,
        clearance=given.clearance,
        room=edge_moves + given.side_room,
        end_room=given.end_room,
        swing=edge_moves,
        engaged_least=given.engaged_least,
        wall_least=wall,
        tenon_clearance=min(sheet.tenon.cheek_clearance, given.clearance),
        edge=end.edge,
        edge_size=end.edge_size,
    )
    _check_plan(sheet, parameter, given, plan)
    return plan


def _check_thickness(sheet: Sheet, parameter: str, end: BoardEnd, thin: float, wall: float) -> None:
    """Wood is left on both sides of the groove's mouth, beside the eased arrises."""
    given = end.panels
    eased = end.edge_size if end.edge != "square" else 0.0
    most = thin - 2 * (wall + eased + given.clearance)
    if given.tongue > most + 1e-9:
        raise InputError(
            f"{parameter}.tongue",
            sheet.show(given.tongue),
            f"must be at most {sheet.at_most(most)} in rails {sheet.show(thin)} thick",
            "make it less, the rails thicker, or their edge_size or fastener.wall_least less",
        )


def _divided(
    sheet: Sheet, parameter: str, given: FramePanels, where: Between
) -> tuple[tuple[float, ...], tuple[tuple[float, float], ...]]:
    """Middles of muntins and stiles, and the openings between them, all equal."""
    wide = given.muntin_width
    own = given.stiles == "own"
    clear = 2 * where.half - (2 * wide if own else 0.0)
    count = given.muntins
    if count is None:
        count = max(0, math.ceil((clear - given.width_most) / (given.width_most + wide) - 1e-9))
    opening = (clear - count * wide) / (count + 1)
    if opening < NARROWEST:
        most = max(0, math.floor((clear - NARROWEST) / (NARROWEST + wide) + 1e-9))
        raise InputError(
            f"{parameter}.muntins",
            count,
            f"must be at most {most}, or panels are under {sheet.show(NARROWEST)} wide",
            "take fewer, or make muntin_width less or width_most more",
        )
    start = -where.half + (wide if own else 0.0)
    openings = tuple(
        (start + i * (opening + wide), start + i * (opening + wide) + opening)
        for i in range(count + 1)
    )
    muntins = [b + wide / 2 for _, b in openings[:-1]]
    if own:
        muntins = [-where.half + wide / 2, *muntins, where.half - wide / 2]
    return tuple(muntins), openings


def _depth(sheet: Sheet, parameter: str, given: FramePanels, moving: float, each: float) -> float:
    """Depth of the grooves, so that the tongue keeps in when the panel dries.

    An edge needs ``side_room`` and room to swell, and must stand ``engaged_least`` deep
    after it has shrunk: depth = engaged + side room + 2 x each x (moving + 2 depth) / 2.
    """
    needed = (given.engaged_least + given.side_room + each * moving) / (1 - 2 * each)
    along = given.engaged_least + given.end_room
    needed = max(needed, along)
    if given.groove_depth is not None:
        if given.groove_depth < needed - 1e-9:
            raise InputError(
                f"{parameter}.groove_depth",
                sheet.show(given.groove_depth),
                f"must be at least {sheet.at_least(needed)}, or the panel comes out when it dries",
                "make it more, the panels narrower across their grain, or engaged_least less",
            )
        return given.groove_depth
    step = 25.4 / 32 if sheet.design.unit == "inch" else 0.5
    return max(6.0, math.ceil(needed / step - 1e-9) * step)


def _check_plan(sheet: Sheet, parameter: str, given: FramePanels, plan: PanelPlan) -> None:
    if plan.uprights and plan.tenon_width < LEAST_TENON:
        raise InputError(
            f"{parameter}.muntin_width",
            sheet.show(given.muntin_width),
            f"must be at least "
            f"{sheet.at_least(LEAST_TENON + plan.upright_width - plan.tenon_width)} for grooves "
            f"{sheet.show(plan.groove_depth)} deep",
            "make it more",
        )
    if plan.is_raised:
        least = min(plan.where.height, *(b - a for a, b in plan.openings))
        most = (least - LOWEST / 2) / 2
        if plan.border > most:
            raise InputError(
                f"{parameter}.border",
                sheet.show(given.border),
                f"must be at most {sheet.at_most(most)}, or nothing is left of the field",
                "make it less",
            )


def check_in_leg(
    sheet: Sheet, name: str, plan: Fill, legs: LegFamily, zones: tuple[Zone, ...]
) -> None:
    """The grooves in the legs leave wood, and keep clear of a rail's fastener.

    ``zones`` is what that takes of the legs. Raises InputError.
    """
    if not isinstance(plan, PanelPlan) or plan.stiles == "own":
        return
    where, wall = plan.where, plan.wall_least
    half = plan.groove_width / 2
    depth = (where.setback - half, where.setback + half)
    # Source: common practice; the same wall as round a fastener.
    behind = sheet.leg.thickness - depth[1]
    if behind < wall - 1e-9 or depth[0] < wall - 1e-9:
        raise InputError(
            f"{name}.panels.tongue",
            sheet.show(plan.tongue),
            f"its groove leaves {sheet.show(max(0.0, min(behind, depth[0])))} of the leg, must "
            f"leave {sheet.at_least(wall)}",
            f'make it less or leg.thickness more, or take {name}.panels.stiles "own"',
        )
    top, bottom = where.top + plan.groove_depth, where.bottom - plan.groove_depth
    narrow = legs.width_at(top) - wall / math.cos(legs.splay)
    if plan.groove_depth > narrow + 1e-9:
        raise InputError(
            f"{name}.panels.groove_depth",
            sheet.show(plan.groove_depth),
            f"must be at most {sheet.at_most(narrow)} in the legs",
            f'make leg.top_width more, or take {name}.panels.stiles "own"',
        )
    taken = bands(zones, depth, plan.groove_depth, wall)
    for low, high in taken:
        if low < top - 1e-9 and high > bottom + 1e-9:
            raise InputError(
                "side_rail.joint",
                sheet.side_rail.joint,
                f"its fastener meets the grooves of {name}.panels in the legs",
                f"raise the lower rail of {name}, move fastener.height, or take "
                f'{name}.panels.stiles "own"',
            )
