"""Loose tenons of one board's ends: how many, how large, how deep.

Proportions are common practice: a tenon a third of the board thick, set about
three times its thickness into each part, with wood left all round the mortise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.leg_outline import LegFamily
from bedmodel.spec import Board, BoardEnd, Sheet

THIRD = 1 / 3
EMBEDMENT_RATIO = 3.0
LEAST_EMBEDMENT_RATIO = 1.0
BOARD_PER_TENON = 125.0
SHARE = 0.55


@dataclass(frozen=True)
class TenonPlan:
    """The tenons at one end of one board (mm).

    ``heights`` are the middles above the floor; ``setback`` is from the legs'
    inside faces to the middle of the tenon's thickness.
    """

    heights: tuple[float, ...]
    thickness: float
    width: float
    embedment_leg: float
    embedment_board: float
    setback: float
    cheek_clearance: float
    edge_clearance: float
    end_gap: float

    @property
    def mortise_length(self) -> float:
        return self.width + 2 * self.edge_clearance

    @property
    def mortise_width(self) -> float:
        return self.thickness + 2 * self.cheek_clearance


def tenon_plan(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    bottom: float,
    legs: LegFamily,
) -> TenonPlan:
    """Choose the tenons of a board's end, or check the ones the sheet gives.

    Raises InputError with the largest tenon or the deepest mortise that fits.
    """
    tenon = sheet.tenon
    thickness = _thickness(sheet, end, parameter, board)
    count = tenon.count or max(1, round(board.width / BOARD_PER_TENON))
    pitch = board.width / count
    width = _width(sheet, end, parameter, board, count, thickness)
    heights = tuple(bottom + (i + 0.5) * pitch for i in range(count))
    highest = heights[-1] + width / 2 + tenon.edge_clearance
    setback = end.reveal + board.thickness / 2
    depth = _leg_embedment(sheet, legs, parameter, thickness, highest, setback)
    return TenonPlan(
        heights=heights,
        thickness=thickness,
        width=width,
        embedment_leg=depth,
        embedment_board=tenon.embedment or EMBEDMENT_RATIO * thickness,
        setback=setback,
        cheek_clearance=tenon.cheek_clearance,
        edge_clearance=tenon.edge_clearance,
        end_gap=tenon.end_gap,
    )


def corner_wall(a: float, b: float, style: str, size: float) -> float:
    """Least wood between a mortise's corner and an eased arris of its part (mm).

    ``a`` and ``b`` are the walls to the two faces that meet at the arris.
    """
    if style == "chamfer":
        return min(a, b, (a + b - size) / math.sqrt(2))
    if style == "roundover" and a < size and b < size:
        return size - math.hypot(size - a, size - b)
    return min(a, b)


def _thickness(sheet: Sheet, end: BoardEnd, parameter: str, board: Board) -> float:
    tenon = sheet.tenon
    greatest = board.thickness - 2 * (tenon.wall_least + tenon.cheek_clearance)
    if tenon.thickness is not None:
        if tenon.thickness > greatest + 1e-9:
            raise InputError(
                "tenon.thickness",
                sheet.show(tenon.thickness),
                f"must be at most {sheet.at_most(greatest)} in {parameter}",
                "make it thinner, the board thicker or tenon.wall_least less",
            )
        return tenon.thickness
    step = 25.4 / 16 if sheet.design.unit == "inch" else 1.0
    chosen = math.floor(min(board.thickness * THIRD, greatest) / step + 1e-9) * step
    if chosen < 4.0:
        least = 4.0 + 2 * (tenon.wall_least + tenon.cheek_clearance)
        raise InputError(
            f"{parameter}.thickness",
            sheet.show(board.thickness),
            f"too thin for a tenon, must be at least {sheet.at_least(least + step)}",
            "make the board thicker or tenon.wall_least less",
        )
    return chosen


def _width(
    sheet: Sheet, end: BoardEnd, parameter: str, board: Board, count: int, thickness: float
) -> float:
    tenon = sheet.tenon
    pitch = board.width / count
    wanted = tenon.width if tenon.width is not None else SHARE * pitch
    cheek_wall = (board.thickness - thickness) / 2 - tenon.cheek_clearance
    # Between two mortises there is one wall; at the board's edges one each, which
    # an eased arris may make thinner.
    wall = tenon.wall_least
    while corner_wall(wall, cheek_wall, end.edge, end.edge_size) < tenon.wall_least - 1e-9:
        wall += 0.25
        if wall > board.width:
            raise InputError(
                f"{parameter}.thickness",
                sheet.show(board.thickness),
                "leaves too little wood between its tenons and its eased edges",
                "make the board thicker, its edge_size or tenon.wall_least less",
            )
    greatest = pitch - 2 * (wall + tenon.edge_clearance)
    least = max(12.0, 1.5 * thickness)
    if greatest < least:
        raise InputError(
            "tenon.count",
            count,
            f"must be at most {max(1, int(board.width / (least + 2 * (wall + 0.5))))} "
            f"in {parameter}, {sheet.show(board.width)} wide",
            "use fewer tenons, a wider board or less tenon.wall_least",
        )
    if tenon.width is not None and not least - 1e-9 <= wanted <= greatest + 1e-9:
        raise InputError(
            "tenon.width",
            sheet.show(wanted),
            f"must be {sheet.at_least(least)} to {sheet.at_most(greatest)} in {parameter}",
            "change it, tenon.count or the board's width",
        )
    return min(max(wanted, least), greatest)


def _leg_embedment(
    sheet: Sheet,
    legs: LegFamily,
    parameter: str,
    thickness: float,
    highest: float,
    setback: float,
) -> float:
    tenon, leg = sheet.tenon, sheet.leg
    half = thickness / 2 + tenon.cheek_clearance
    cheek_wall = min(setback - half, leg.thickness - setback - half)
    wall = tenon.wall_least
    while corner_wall(wall, cheek_wall, leg.edge, leg.edge_size) < tenon.wall_least - 1e-9:
        wall += 0.25
        if wall > 100:
            raise InputError(
                "leg.edge_size",
                sheet.show(leg.edge_size),
                "leaves too little wood round the mortises",
                "make it less, or leg.thickness more",
            )
    greatest = legs.width_at(highest) - wall / math.cos(legs.splay) - tenon.end_gap
    least = max(8.0, LEAST_EMBEDMENT_RATIO * thickness)
    if greatest < least:
        raise InputError(
            "leg.top_width",
            sheet.show(leg.top_width),
            f"must be at least {sheet.at_least(leg.top_width + least - greatest)} for its mortises",
            "make the leg wider at the top",
        )
    if tenon.embedment is not None and tenon.embedment > greatest + 1e-9:
        raise InputError(
            "tenon.embedment",
            sheet.show(tenon.embedment),
            f"breaks through the leg at {parameter}, must be at most {sheet.at_most(greatest)}",
            "make it less or leg.top_width more",
        )
    return tenon.embedment or min(EMBEDMENT_RATIO * thickness, greatest)
