"""Dowels of one board's ends: how many, how thick, how deep.

Proportions are common practice: a dowel two fifths of the board thick, three
times its diameter into each part, about one for each 45 mm of the board's width. Of a
wide board the dowels near its middle are glued; the others stand dry in slots in the
leg, a little longer than they are thick, as pegs do that hold a wide board flat.
"""

from __future__ import annotations

from bedmodel.edge_walls import wall_at_edge
from bedmodel.errors import InputError
from bedmodel.glue_zone import dowel_slack, is_wide, most_slack, swing
from bedmodel.leg_outline import LegFamily
from bedmodel.spec import Board, BoardEnd, Sheet
from bedmodel.spread import Span, Zone, bands, free_spans, is_clear, spread
from bedmodel.tenons import Fit, TenonPlan, depth_in_leg

SHARE = 0.4
DEPTH_RATIO = 3.0
BOARD_PER_DOWEL = 45.0
DIAMETERS = (6.0, 8.0, 10.0, 12.0, 16.0)  # as sold, common practice


def dowel_plan(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    bottom: float,
    legs: LegFamily,
    zones: tuple[Zone, ...] = (),
) -> TenonPlan:
    """Choose the dowels of a board's end, or check the ones the sheet gives.

    ``zones`` is what a rail's fastener takes of the legs. Raises InputError with
    the thickest or deepest dowel, or the most, that fit.
    """
    dowel = sheet.dowel
    diameter = _diameter(sheet, parameter, board)
    setback = end.reveal + board.thickness / 2
    setbacks = (setback,)
    reach = diameter / 2 + dowel.clearance
    deep = (dowel.depth or DEPTH_RATIO * diameter) + dowel.end_gap
    taken = bands(zones, (setback - reach, setback + reach), deep, sheet.fastener.wall_least)
    heights, slack = _places(sheet, end, parameter, board, bottom, diameter, taken)
    fit = Fit(
        section="dowel",
        depth_name="depth",
        half=diameter / 2,
        clearance=dowel.clearance,
        end_gap=dowel.end_gap,
        wall_least=dowel.wall_least,
        depth=dowel.depth,
        wanted=DEPTH_RATIO * diameter,
    )
    highest = heights[-1] + diameter / 2 + dowel.clearance + slack[-1]
    return TenonPlan(
        heights=heights,
        setbacks=setbacks,
        thickness=diameter,
        width=diameter,
        embedment_leg=depth_in_leg(sheet, legs, parameter, fit, highest, setbacks),
        embedment_board=dowel.depth or DEPTH_RATIO * diameter,
        cheek_clearance=dowel.clearance,
        edge_clearance=dowel.clearance,
        end_gap=dowel.end_gap,
        wall_least=dowel.wall_least,
        slack=slack,
    )


def _places(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    bottom: float,
    diameter: float,
    taken: list[Span],
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Heights of the dowels' middles and their slack, which each depend on the other.

    They are placed with room for the most slack that any needs as a rule, and for
    more only where a fastener puts them to one side of the glued zone.
    """
    reach = diameter / 2 + sheet.dowel.clearance
    for apart in (board.width / 2, board.width * 3 / 4, board.width):
        most = most_slack(sheet, end, board, apart)
        inset = _inset(sheet, end, parameter, board, diameter, most)
        count = _count(sheet, end, parameter, board, diameter, inset, most)
        span = (bottom + inset, bottom + board.width - inset)
        heights = _heights(sheet, parameter, count, 2 * (reach + most), span, taken)
        slack = dowel_slack(sheet, end, board, heights, bottom + board.width / 2, diameter)
        if max(slack) <= most + 1e-9:
            break
    return heights, slack


def _heights(
    sheet: Sheet, parameter: str, count: int, slot: float, span: Span, taken: list[Span]
) -> tuple[float, ...]:
    """Heights of the middles: even, or between the bands, as many as find room."""
    heights = _even(span, count)
    if is_clear(heights, slot, taken):
        return heights
    free = free_spans(span[0] - slot / 2, span[1] + slot / 2, taken)
    fewest = count if sheet.dowel.count is not None else 2
    for fewer in range(count, fewest - 1, -1):
        found = spread(_even(span, fewer), slot, sheet.dowel.wall_least, free)
        if found is not None:
            return found
    raise InputError(
        "side_rail.joint",
        sheet.side_rail.joint,
        f"its fastener leaves no room in the leg for {fewest} dowels of {parameter}",
        f"move fastener.height or {parameter}.above_platform, make dowel.diameter, "
        "dowel.wall_least or dowel.count less, or take another side_rail.joint",
    )


def _even(span: Span, count: int) -> tuple[float, ...]:
    pitch = (span[1] - span[0]) / (count - 1)
    return tuple(span[0] + i * pitch for i in range(count))


def _diameter(sheet: Sheet, parameter: str, board: Board) -> float:
    dowel = sheet.dowel
    greatest = board.thickness - 2 * (dowel.wall_least + dowel.clearance)
    if dowel.diameter is not None:
        if dowel.diameter > greatest + 1e-9:
            raise InputError(
                "dowel.diameter",
                sheet.show(dowel.diameter),
                f"must be at most {sheet.at_most(greatest)} in {parameter}",
                "make it less, the board thicker or dowel.wall_least less",
            )
        return dowel.diameter
    fit = [d for d in DIAMETERS if d <= greatest and d <= SHARE * board.thickness + 1e-9]
    if not fit:
        least = max(DIAMETERS[0] / SHARE, DIAMETERS[0] + 2 * (dowel.wall_least + dowel.clearance))
        raise InputError(
            f"{parameter}.thickness",
            sheet.show(board.thickness),
            f"too thin for a dowel, must be at least {sheet.at_least(least)}",
            "make the board thicker or dowel.wall_least less, or give dowel.diameter",
        )
    return fit[-1]


def _inset(
    sheet: Sheet, end: BoardEnd, parameter: str, board: Board, diameter: float, most: float
) -> float:
    """From the board's edges to the middles of the outer dowels, whose slots stay hidden."""
    dowel = sheet.dowel
    reach = diameter / 2 + dowel.clearance
    cheek_wall = board.thickness / 2 - reach
    wall = wall_at_edge(sheet, end, parameter, board, "dowel", cheek_wall)
    # Twice the diameter from the edge, as a rule of thumb, where there is room.
    return max(reach + wall + most, min(2 * diameter, board.width / 4))


def _count(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    diameter: float,
    inset: float,
    most: float,
) -> int:
    dowel = sheet.dowel
    between = diameter + 2 * (dowel.clearance + most) + dowel.wall_least
    room = board.width - 2 * inset
    fit = 1 + int(room / between + 1e-9)
    if fit < 2:
        # Without slack; a wide board's own, which grows with it, is added where it has some.
        least = 2 * (inset - most) + between - 2 * most
        if is_wide(sheet, max(least, board.width)) and end.glue == "zone":
            least /= 1 - 4 * swing(sheet)
        raise InputError(
            f"{parameter}.width",
            sheet.show(board.width),
            f"too narrow for two dowels, must be at least {sheet.at_least(least)}",
            "make the board wider, or dowel.diameter or dowel.wall_least less",
        )
    if dowel.count is not None:
        if dowel.count > fit:
            raise InputError(
                "dowel.count",
                dowel.count,
                f"must be at most {fit} in {parameter}, {sheet.show(board.width)} wide",
                "use fewer dowels or a wider board",
            )
        return dowel.count
    return min(fit, max(2, round(board.width / BOARD_PER_DOWEL)))
