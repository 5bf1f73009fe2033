"""The boards of an end as its kind and height make them, and what the kind asks of them.

    boards, panel     the listed boards; the panel is one
    slats and others  the listed boards are rails, filled between
    none              one low board, a stretcher

Of an end with a ``height`` the highest board is moved, all others stay.
"""

from __future__ import annotations

import re
from typing import Literal

from bedmodel.end_spec import EndKind
from bedmodel.errors import InputError
from bedmodel.spec import Board, BoardEnd, Sheet

End = Literal["head", "foot"]
ENDS: tuple[End, End] = ("head", "foot")

# A single board wider than this is not sawn of one tree; panels are glued up of staves.
WIDEST_BOARD = 500.0
WORDS: dict[EndKind, str] = {
    "boards": "board",
    "panel": "panel",
    "slats": "rail",
    "spindles": "rail",
    "frame_and_panel": "rail",
    "none": "stretcher",
}
_BOARD = re.compile(r"(head|foot)board_(board|panel|rail|stretcher)(_\d+)?")
FILLED: frozenset[EndKind] = frozenset({"slats", "spindles", "frame_and_panel"})


def is_board(name: str) -> bool:
    """Whether a piece, by its name, is a board that goes from leg to leg."""
    return _BOARD.fullmatch(name) is not None


def given_of(sheet: Sheet, end: End) -> tuple[str, BoardEnd]:
    """The table of an end, and its name in the sheet."""
    return ("headboard", sheet.headboard) if end == "head" else ("footboard", sheet.footboard)


def boards_of(sheet: Sheet, end: End) -> tuple[Board, ...]:
    """The boards of an end, in the order of the sheet, at the heights of ``height``.

    Raises InputError where their count or width is not that of the kind.
    """
    name, given = given_of(sheet, end)
    _check_kind(sheet, name, given)
    if given.height == "given":
        return given.board
    highest = _highest(given)
    top = sheet.side_rail.above_platform if given.height == "low" else _other_top(sheet, end)
    board = given.board[highest]
    moved = board.model_copy(update={"above_platform": top - board.width})
    return (*given.board[:highest], moved, *given.board[highest + 1 :])


def top_of(boards: tuple[Board, ...]) -> float:
    """Upper edge of the highest board, above the platform (mm)."""
    return max(board.above_platform + board.width for board in boards)


def _highest(given: BoardEnd) -> int:
    tops = [board.above_platform + board.width for board in given.board]
    return tops.index(max(tops))


def _other_top(sheet: Sheet, end: End) -> float:
    name, other = given_of(sheet, "foot" if end == "head" else "head")
    if other.height == "full":
        raise InputError(
            f"{name}.height", "full", "the other end is full, too", "give one end its own height"
        )
    if other.height == "low":
        return sheet.side_rail.above_platform
    return top_of(other.board)


def _check_kind(sheet: Sheet, name: str, given: BoardEnd) -> None:
    kind, count = given.kind, len(given.board)
    if kind in ("panel", "none") and count != 1:
        what = "is one board" if kind == "panel" else "has one low board alone"
        raise InputError(
            f"{name}.kind", kind, f"{what}, and {count} are listed", f"leave one [[{name}.board]]"
        )
    if kind in FILLED and count < 2:
        raise InputError(
            f"{name}.kind",
            kind,
            "stands between two rails at least, and one board is listed",
            f"give [[{name}.board]] twice, the lower rail and the upper one",
        )
    for i, board in enumerate(given.board, start=1):
        if kind != "panel" and board.width > WIDEST_BOARD:
            raise InputError(
                f"{name}.board.{i}.width",
                sheet.show(board.width),
                f"must be at most {sheet.at_most(WIDEST_BOARD)}",
                f'make it narrower, or {name}.kind "panel", which is glued up',
            )


def check_low(sheet: Sheet, end: End, above: float) -> None:
    """An end without a head or foot board keeps below the mattress's top, ``above`` the platform.

    Raises InputError for a stretcher that stands higher.
    """
    name, given = given_of(sheet, end)
    if given.kind != "none":
        return
    (board,) = boards_of(sheet, end)
    if board.above_platform + board.width > above + 1e-9:
        raise InputError(
            f"{name}.board.1.above_platform",
            sheet.show(board.above_platform),
            f"puts it above the mattress, must be at most {sheet.at_most(above - board.width)}",
            f'lower it, or take {name}.kind "boards"',
        )
