"""Published cutting problems with known least numbers of stock pieces.

Source of the sizes: J. E. Beasley, Algorithms for unconstrained two-dimensional guillotine
cutting, J. Opl Res. Soc. 36 (1985) 297-306, problems gcut1 and gcut2, as they are passed on in
the OR-Library: stock of 250 x 250, one of each item, none turned, no kerf. The least
numbers, 5 and 6, are those of Martello and Vigo, Management Science 44 (1998) 388-399, told
from memory; they are for any layout, so what a plan with fewer kinds of cuts needs is not less.
"""

from __future__ import annotations

from bedmodel.stock.boards import Board
from bedmodel.stock.demand import PartDemand
from bedmodel.stock.planner import Sawing

SIDE = 250
NO_KERF = Sawing(kerf=0.0, rule=1.0, offcut_length=1000.0)

# Name: the items, and the least number of stock pieces.
SETS: dict[str, tuple[tuple[tuple[int, int], ...], int]] = {
    "gcut1": (
        (
            *((167, 184), (114, 118), (167, 152), (83, 140), (70, 86)),
            *((143, 166), (120, 160), (66, 148), (87, 141), (69, 165)),
        ),
        5,
    ),
    "gcut2": (
        (
            *((120, 133), (135, 186), (86, 75), (103, 73), (66, 85)),
            *((135, 97), (91, 175), (131, 176), (71, 176), (153, 72)),
            *((87, 148), (168, 107), (18, 90), (140, 109), (132, 159)),
            *((152, 93), (135, 68), (121, 158), (68, 94), (155, 76)),
        ),
        6,
    ),
}


def problem(name: str, count: int) -> tuple[list[Board], list[PartDemand]]:
    """A rack of so many equal boards, and the items as parts."""
    items, _ = SETS[name]
    rack = [Board(f"B{i}", 25.4, 4, SIDE, SIDE) for i in range(count)]
    parts = [
        PartDemand(f"p{i}", 1, length, width, 4) for i, (length, width) in enumerate(items, start=1)
    ]
    return rack, parts
