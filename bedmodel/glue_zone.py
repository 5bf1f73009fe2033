"""Where a wide board is glued, and how far what is left dry in it must be able to slide.

A board's width swells and shrinks with the seasons and a leg's length does not, so a
wide board is glued to the leg in one zone and slides in longer mortises elsewhere:

        |  ===   |   dry: its mortise in the leg is longer, the more so the
        |        |   farther it is from the zone
        |  ###   |   glued
        |        |
        |  ===   |   dry

Source: common practice for the zone; Wood Handbook (FPL-GTR-282), eq. 13-2 and
Table 13-5, flat-sawn, for the movement.
"""

from __future__ import annotations

from collections.abc import Sequence

from bedmodel.spec import Board, BoardEnd, Sheet


def swing(sheet: Sheet) -> float:
    """How much each mm of a board's width moves between its driest and its dampest (mm)."""
    timber = sheet.bed_wood
    # Boards are sold as a group of species; the group's value is taken where it is larger.
    coefficient = max(timber.coefficient_tangential, timber.trade_tangential or 0.0)
    return coefficient * sheet.tenon.moisture_change


def is_wide(sheet: Sheet, width: float) -> bool:
    """Whether a board of a width (mm) is wider than may be glued throughout."""
    return width > sheet.tenon.glued_most


def slides(sheet: Sheet, end: BoardEnd, board: Board) -> bool:
    """Whether a board is glued in one zone only."""
    return end.glue == "zone" and is_wide(sheet, board.width)


def tenon_slack(
    sheet: Sheet, end: BoardEnd, board: Board, heights: Sequence[float]
) -> tuple[float, ...]:
    """How far each tenon of a board may slide from where it is set, up or down (mm).

    The tenon nearest the middle is glued and has none.
    """
    if not slides(sheet, end, board):
        return (0.0,) * len(heights)
    glued, each = heights[(len(heights) - 1) // 2], swing(sheet)
    return tuple(abs(height - glued) * each for height in heights)


def dowel_slack(
    sheet: Sheet, end: BoardEnd, board: Board, heights: Sequence[float], middle: float, size: float
) -> tuple[float, ...]:
    """The same of dowels: those of a zone round the board's ``middle`` are glued.

    The zone is as wide as a board that is glued throughout; where no dowel stands in
    it, the one nearest to it is glued.
    """
    if not slides(sheet, end, board):
        return (0.0,) * len(heights)
    reach = (sheet.tenon.glued_most - size) / 2 + 1e-9
    zone = [h for h in heights if abs(h - middle) <= reach]
    zone = zone or [min(heights, key=lambda h: round(abs(h - middle), 6))]
    centre, each = (zone[0] + zone[-1]) / 2, swing(sheet)
    return tuple(0.0 if h in zone else abs(h - centre) * each for h in heights)


def most_slack(sheet: Sheet, end: BoardEnd, board: Board, apart: float) -> float:
    """The slack of what stands ``apart`` mm from the glued zone's middle."""
    return apart * swing(sheet) if slides(sheet, end, board) else 0.0
