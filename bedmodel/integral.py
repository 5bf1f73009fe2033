"""Integral tenons: cut on the board itself, with shoulders all round and, in wide boards, haunches.

        board                leg
    ----------------+........................   edge shoulder: the board's edge covers
                    |                           the mortise
                    +---+ haunch                a short stub that keeps the board from
                    |   +----------+            cupping where it has no tenon
        cheek       |      tenon   |
        shoulders   |   +----------+
        both sides  |   | haunch
                    |   +----------+
                    |      tenon   |
                    |   +----------+
                    +---+
    ----------------+........................

Sizes and places are those of loose tenons, by the same rules. Proportions of the
haunch are common practice (no source): a third of the tenon's length, over the whole
width between the edge shoulders, so that the leg has one shallow groove for it.
"""

from __future__ import annotations

from dataclasses import replace

from bedmodel.edge_walls import wall_at_edge
from bedmodel.errors import InputError
from bedmodel.glue_zone import slides, swing
from bedmodel.legs import LegFamily
from bedmodel.spec import Board, BoardEnd, Sheet
from bedmodel.spread import Span, Zone, bands, free_spans
from bedmodel.tenons import (
    Haunch,
    TenonPlan,
    even_count,
    greatest_depth,
    tenon_fit,
    tenon_plan,
)

HAUNCH_SHARE = 1 / 3  # of the tenon's length
GREATEST_SHARE = 1 / 2  # a longer one would leave little wood between the mortises
LEAST_HAUNCH = 2.0  # a shorter one holds nothing
LEAST_BESIDE = 3.0  # a haunch goes on beside a tenon when there is room for this much of it


def integral_plan(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    bottom: float,
    legs: LegFamily,
    zones: tuple[Zone, ...] = (),
) -> TenonPlan:
    """Choose the tenons and haunches of a board's end, or check the ones the sheet gives.

    ``zones`` is what a rail's fastener takes of the legs. Raises InputError with
    the largest tenon, the deepest mortise or the longest haunch that fits.
    """
    loose = tenon_plan(sheet, end, parameter, board, bottom, legs, zones)
    plan = replace(loose, integral=True, embedment_board=0.0)
    if len(plan.heights) == 1 and even_count(board) == 1:
        return plan
    cheek_wall = (board.thickness / sheet.tenon.rows - plan.mortise_width) / 2
    wall = wall_at_edge(sheet, end, parameter, board, "tenon", cheek_wall)
    ends = bottom + wall, bottom + board.width - wall
    length = _length(sheet, parameter, plan, legs, ends[1])
    if not length:
        return plan
    half, reach = plan.mortise_width / 2, length + plan.end_gap
    depth = plan.setbacks[0] - half, plan.setbacks[-1] + half
    taken = bands(zones, depth, reach, sheet.fastener.wall_least)
    each = swing(sheet) if slides(sheet, end, board) else 0.0
    found = [_haunch(plan, span, each) for span in free_spans(*ends, taken)]
    haunches = tuple(haunch for haunch in found if haunch is not None)
    return replace(plan, haunch=length, haunches=haunches) if haunches else plan


def _length(
    sheet: Sheet, parameter: str, plan: TenonPlan, legs: LegFamily, highest: float
) -> float:
    """How far the haunches stand out; 0 for none."""
    given = sheet.tenon.haunch
    fit = tenon_fit(sheet, plan.thickness)
    room = greatest_depth(sheet, legs, fit, highest, plan.setbacks)
    greatest = min(GREATEST_SHARE * plan.embedment_leg, room)
    if given is None:
        chosen = min(HAUNCH_SHARE * plan.embedment_leg, greatest)
        return chosen if chosen >= LEAST_HAUNCH else 0.0
    if given == 0:
        return 0.0
    if greatest < LEAST_HAUNCH:
        raise InputError(
            "tenon.haunch",
            sheet.show(given),
            f"finds no room in the leg at {parameter}, must be {sheet.show(0.0)}",
            "set it to 0, or make leg.top_width or tenon.embedment more",
        )
    if not LEAST_HAUNCH <= given <= greatest + 1e-9:
        raise InputError(
            "tenon.haunch",
            sheet.show(given),
            f"must be {sheet.at_least(LEAST_HAUNCH)} to {sheet.at_most(greatest)} in {parameter}, "
            "or 0 for none",
            "change it, or make tenon.embedment more",
        )
    return given


def _haunch(plan: TenonPlan, span: Span, each: float) -> Haunch | None:
    """The haunch in a free span of the leg, with room in its groove to slide; None for none.

    ``each`` is how much each mm between it and the glued tenon moves.
    """
    inside = [h for h in plan.heights if span[0] <= h <= span[1]]
    if not inside:
        return None
    glued = plan.heights[(len(plan.heights) - 1) // 2]
    gap, half = plan.edge_clearance, plan.width / 2
    low, high = _stub_low(span[0] + gap, glued, each), _stub_high(span[1] - gap, glued, each)
    groove_low, groove_high = span
    # Next to a tenon that leaves it no room, it ends with the tenon.
    beside = [True, True]
    first, last = inside[0], inside[-1]
    if low > first - half - LEAST_BESIDE:
        low, beside[0] = first - half, False
        groove_low = low - gap - plan.slack_at(first)
    if high < last + half + LEAST_BESIDE:
        high, beside[1] = last + half, False
        groove_high = high + gap + plan.slack_at(last)
    if len(inside) == 1 and not any(beside):
        return None
    return Haunch(low, high, groove_low, groove_high)


def _stub_low(limit: float, glued: float, each: float) -> float:
    """Where a stub may begin, so that its room to slide ends at the limit."""
    # limit = low - each * |low - glued|
    if limit < glued:
        return (limit + each * glued) / (1 + each)
    return (limit - each * glued) / (1 - each)


def _stub_high(limit: float, glued: float, each: float) -> float:
    return -_stub_low(-limit, -glued, each)
