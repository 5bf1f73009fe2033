"""The wood left between a mortise and the eased arrises of its part."""

from __future__ import annotations

import math
from typing import Literal

from bedmodel.errors import InputError
from bedmodel.spec import Board, BoardEnd, Sheet


def corner_wall(a: float, b: float, style: str, size: float) -> float:
    """Least wood between a mortise's corner and an eased arris of its part (mm).

    ``a`` and ``b`` are the walls to the two faces that meet at the arris.
    """
    if style == "chamfer":
        return min(a, b, (a + b - size) / math.sqrt(2))
    if style == "roundover" and a < size and b < size:
        return size - math.hypot(size - a, size - b)
    return min(a, b)


def wall_beside_arris(cheek_wall: float, least: float, style: str, size: float) -> float | None:
    """The wall that a mortise needs to a face whose arris is eased; None when none will do.

    ``cheek_wall`` is its wall to the other face of that arris.
    """
    wall = least
    while corner_wall(wall, cheek_wall, style, size) < least - 1e-9:
        wall += 0.25
        if wall > 100:
            return None
    return wall


def wall_at_edge(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    section: Literal["tenon", "dowel"],
    cheek_wall: float,
) -> float:
    """The wall that a board's outer mortises need to its upper and lower edges (mm).

    Raises InputError where the eased edges leave none.
    """
    least = sheet.tenon.wall_least if section == "tenon" else sheet.dowel.wall_least
    wall = wall_beside_arris(cheek_wall, least, end.edge, end.edge_size)
    if wall is None:
        raise InputError(
            f"{parameter}.thickness",
            sheet.show(board.thickness),
            f"leaves too little wood between its {section}s and its eased edges",
            f"make the board thicker, its edge_size or {section}.wall_least less",
        )
    return wall
