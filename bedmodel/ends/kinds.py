"""The kinds of fill, one line each, and how the openings of an end are filled with them.

A kind that is not in the list has nothing between its boards.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from bedmodel.end_spec import EndKind
from bedmodel.ends.boards import End, boards_of, given_of
from bedmodel.ends.panels import panels
from bedmodel.ends.record import Between, Fill
from bedmodel.ends.uprights import slats, spindles
from bedmodel.spec import Board, BoardEnd, Sheet

Plan = Callable[[Sheet, str, BoardEnd, tuple[Board, Board], Between], Fill]

KINDS: Mapping[EndKind, Plan] = MappingProxyType(
    {"slats": slats, "spindles": spindles, "frame_and_panel": panels}
)


def fills_of(sheet: Sheet, end: End, platform: float, half: float) -> tuple[Fill, ...]:
    """What fills each opening of an end, from the lowest up.

    ``half`` is half the width between the legs. Raises InputError where it does not fit.
    """
    name, given = given_of(sheet, end)
    plan = KINDS.get(given.kind)
    if plan is None:
        return ()
    boards = boards_of(sheet, end)
    return tuple(
        plan(sheet, name, given, (boards[where.lower], boards[where.upper]), where)
        for where in _openings(given, boards, platform, half)
    )


def _openings(
    given: BoardEnd, boards: tuple[Board, ...], platform: float, half: float
) -> Iterator[Between]:
    order = sorted(range(len(boards)), key=lambda i: boards[i].above_platform)
    for lower, upper in itertools.pairwise(order):
        below, above = boards[lower], boards[upper]
        thin = min(below.thickness, above.thickness)
        yield Between(
            lower,
            upper,
            platform + below.above_platform + below.width,
            platform + above.above_platform,
            given.reveal + thin / 2,
            half,
        )


def let_in(fills: tuple[Fill, ...], board: int, joint_wall: float) -> tuple[float, float]:
    """How much of a board's lower and of its upper edge its joints keep out of (mm).

    ``joint_wall`` is the wood that these leave round themselves.
    """
    low = max((f.keep_out(joint_wall) for f in fills if f.where.upper == board), default=0.0)
    high = max((f.keep_out(joint_wall) for f in fills if f.where.lower == board), default=0.0)
    return low, high
