"""A rough board as it lies on the rack, and the lumber trade's measures of it.

    y ^   high  +-----+
      |   low   |knot |              width
      +---------+-----+------------> x
      0     start     stop         length

``x`` runs along the grain from the board's left end, ``y`` across it from its lower
edge; a defect is a rectangle that no part may touch.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass

from bedmodel.units import MM_PER_INCH

# Source: a board foot is 144 cubic inches, by definition.
BOARD_FOOT_MM3 = 144 * MM_PER_INCH**3
QUARTER = MM_PER_INCH / 4


@dataclass(frozen=True)
class Defect:
    """A knot, split or stain that parts must avoid, in the board's frame (mm)."""

    start: float
    stop: float
    low: float
    high: float


@dataclass(frozen=True)
class Board:
    """One rough board (mm); ``quarters_count`` is its thickness class, 8 for 8/4.

    ``check_left`` and ``check_right`` are cut off its ends. ``price`` is the whole
    board's, in any one currency; None when it is not known. ``species`` "" serves any.
    A board that was sawn out of another one says of which, and where its lower left corner
    lies on it: ``along`` and ``across``.
    """

    name: str
    thickness: float
    quarters_count: int
    width: float
    length: float
    check_left: float = 0.0
    check_right: float = 0.0
    defects: tuple[Defect, ...] = ()
    price: float | None = None
    species: str = ""
    of: str = ""
    along: float = 0.0
    across: float = 0.0

    @property
    def board_feet(self) -> float:
        """The board's measure at its nominal rough thickness; unrounded."""
        return board_feet(self.quarters_count, self.width, self.length)


def board_feet(quarters_count: int, width: float, length: float) -> float:
    """Board feet of a piece: surface times nominal rough thickness.

    Source: by definition. The trade rounds a board's surface to whole feet; we do not.
    """
    return quarters_count * QUARTER * width * length / BOARD_FOOT_MM3


def quarters_of(thickness: float) -> int:
    """The thickness class of a rough thickness in mm: the thickest it is sold as.

    A board 1/16 in under its class still is of it: rough sawing is not exact.
    """
    return int((thickness + QUARTER / 4) / QUARTER)


def part_of(
    board: Board, name: str, along: tuple[float, float], across: tuple[float, float]
) -> Board:
    """The piece of a board between two crosscuts and two rips (mm), as a board of its own.

    Its defects, the checks that are left at its ends and its share of the price go with it.
    """
    (x0, x1), (y0, y1) = along, across
    defects = tuple(
        Defect(
            max(d.start, x0) - x0, min(d.stop, x1) - x0, max(d.low, y0) - y0, min(d.high, y1) - y0
        )
        for d in board.defects
        if d.start < x1 and d.stop > x0 and d.low < y1 and d.high > y0
    )
    share = (x1 - x0) * (y1 - y0) / (board.length * board.width)
    return Board(
        name,
        board.thickness,
        board.quarters_count,
        y1 - y0,
        x1 - x0,
        max(board.check_left - x0, 0.0),
        max(board.check_right - (board.length - x1), 0.0),
        defects,
        None if board.price is None else board.price * share,
        board.species,
        board.of or board.name,
        board.along + x0,
        board.across + y0,
    )


def name_beside(name: str, taken: Container[str]) -> str:
    """The name, with a stroke or more behind it where a board has it already."""
    while name in taken:
        name += "'"
    return name
