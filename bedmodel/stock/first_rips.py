"""Rip boards down that are too wide for the saws, before anything else is cut from them.

    crosscut   a board wider than the crosscut station takes cannot be cut to length
    rip        what runs between blade and fence must not be wider than the fence stands off

So a wide board is first ripped along its whole length into equal widths that both machines
take: common practice, as for the jointer. Each of them is planned as a board of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bedmodel.stock.boards import Board, name_beside, part_of


def ripped_down(boards: Sequence[Board], widest: float, kerf: float) -> list[Board]:
    """The boards, those wider than ``widest`` in pieces of one width each (mm)."""
    names = {board.name for board in boards}
    return [piece for board in boards for piece in _pieces(board, widest, kerf, names)]


def _pieces(board: Board, widest: float, kerf: float, names: set[str]) -> Iterator[Board]:
    if board.width <= widest + 1e-6:
        yield board
        return
    count = math.ceil((board.width + kerf) / (widest + kerf) - 1e-9)
    width = (board.width - (count - 1) * kerf) / count
    for number in range(count):
        low = number * (width + kerf)
        name = name_beside(f"{board.name}.{number + 1}", names)
        yield part_of(board, name, (0.0, board.length), (low, low + width))
