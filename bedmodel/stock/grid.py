"""The problem of one class of wood in whole steps of the rule, kerfs reckoned in.

A tape is read to a division, so all sizes are whole numbers of it: wanted sizes rounded
up, boards down, defects outwards. Every size is *grown* by one kerf, on its right and
upper side, and so is the board's usable rectangle: grown pieces that touch are then one
kerf apart, and a board takes n pieces of length a when n (a + kerf) <= length + kerf.

A *load* is a tuple of counts, one for each kind of part in the order of the class, then
for each pool of staves the net width so far. Loads are capped at what is wanted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from operator import add

from bedmodel.stock.boards import Board
from bedmodel.stock.demand import Demand, PanelDemand, PartDemand

Load = tuple[int, ...]
_SLACK = 1e-6


@dataclass(frozen=True)
class PartKind:
    """Rough parts of one size: grown sizes, and how many are wanted under which names."""

    length: int
    width: int
    count: int
    demands: tuple[PartDemand, ...]


@dataclass(frozen=True)
class Pool:
    """Staves of one length that serve one or more panels: grown sizes, and net width wanted."""

    length: int
    least: int
    most: int
    taken: int  # of a grown stave's width: the kerf and what its joints lose
    net_width: int
    panels: tuple[tuple[PanelDemand, int], ...]  # each with its number, from 1

    @property
    def names(self) -> set[str]:
        """The panels that it serves."""
        return {panel.name for panel, _ in self.panels}


@dataclass(frozen=True)
class Barrier:
    """A defect, grown: strips end before ``start`` or begin at ``stop``; likewise across."""

    start: int
    stop: int
    low: int
    high: int


@dataclass(frozen=True)
class Blank:
    """The usable, grown rectangle of equal boards, with their cost in whole units.

    ``left`` and ``low`` are where it begins on the board, in steps of the rule.
    """

    length: int
    width: int
    barriers: tuple[Barrier, ...]
    cost: int
    left: int
    low: int
    boards: tuple[Board, ...]


@dataclass(frozen=True)
class WoodClass:
    """The grown problem of one class: what is wanted, from which blanks."""

    rule: float
    kerf: int
    parts: tuple[PartKind, ...]
    pools: tuple[Pool, ...]
    blanks: tuple[Blank, ...]

    @cached_property
    def wanted(self) -> Load:
        """The load that serves everything."""
        return (*(p.count for p in self.parts), *(p.net_width for p in self.pools))

    @cached_property
    def caps(self) -> Load:
        """What more than which is of no use in one load."""
        return self.wanted

    @cached_property
    def weights(self) -> tuple[float, ...]:
        """How much wood one of each kind is, or a step of a stave's width: 1 for the most."""
        areas = [(p.length - self.kerf) * (p.width - self.kerf) for p in self.parts]
        areas += [p.length - self.kerf for p in self.pools]
        return tuple(area / max(areas) for area in areas)

    def joined(self, one: Load, other: Load) -> Load:
        """Two loads together."""
        return tuple(map(min, map(add, one, other), self.caps))


def pooled(wood: WoodClass) -> WoodClass:
    """The same class with one pool for all panels: whatever serves them serves it too."""
    if len(wood.pools) < 2:
        return wood
    one = Pool(
        min(p.length for p in wood.pools),
        min(p.least for p in wood.pools),
        max(p.most for p in wood.pools),
        min(p.taken for p in wood.pools),
        sum(p.net_width for p in wood.pools),
        tuple(panel for p in wood.pools for panel in p.panels),
    )
    return replace(wood, pools=(one,))


def widened(wood: WoodClass, pool: int, steps: int) -> WoodClass:
    """The same class, asking for more stave width than its panels have."""
    pools = list(wood.pools)
    pools[pool] = replace(pools[pool], net_width=pools[pool].net_width + steps)
    return replace(wood, pools=tuple(pools))


def without_least(wood: WoodClass) -> WoodClass | None:
    """The same class without the kind that is the least wood; None when it is the last."""
    sizes = [w * n for w, n in zip(wood.weights, wood.wanted, strict=True)]
    if len(sizes) < 2:
        return None
    least = sizes.index(min(sizes))
    first = len(wood.parts)
    return replace(
        wood,
        parts=tuple(p for i, p in enumerate(wood.parts) if i != least),
        pools=tuple(p for i, p in enumerate(wood.pools, start=first) if i != least),
    )


def steps_up(length: float, rule: float) -> int:
    """Whole steps that hold a length."""
    return math.ceil(length / rule - _SLACK)


def steps_down(length: float, rule: float) -> int:
    """Whole steps that a length holds."""
    return math.floor(length / rule + _SLACK)


def wood_class(
    boards: Iterable[Board],
    demands: Sequence[Demand],
    rule: float,
    kerf: float,
    edge_loss: float,
    costs: Sequence[int],
) -> WoodClass:
    """Put one class on the grid; ``costs`` are the boards', in whole units."""
    k = steps_up(kerf, rule)
    parts = [d for d in demands if isinstance(d, PartDemand)]
    panels = [d for d in demands if isinstance(d, PanelDemand)]
    kinds: dict[tuple[int, int], list[PartDemand]] = {}
    for part in parts:
        size = (steps_up(part.length, rule) + k, steps_up(part.width, rule) + k)
        kinds.setdefault(size, []).append(part)
    pools: dict[tuple[int, int, int, int], list[PanelDemand]] = {}
    for panel in panels:
        key = (
            steps_up(panel.length, rule) + k,
            steps_up(panel.stave_least, rule) + k,
            steps_down(panel.stave_most, rule) + k,
            steps_up(panel.joint_loss, rule) + k,
        )
        pools.setdefault(key, []).append(panel)
    blanks: dict[tuple[object, ...], list[Board]] = {}
    for board, cost in zip(boards, costs, strict=True):
        shape = _blank_shape(board, rule, k, edge_loss)
        blanks.setdefault((*shape, cost), []).append(board)
    return WoodClass(
        rule,
        k,
        tuple(
            PartKind(*size, sum(p.count for p in group), tuple(group))
            for size, group in kinds.items()
        ),
        tuple(
            Pool(
                *key,
                sum(p.count * steps_up(p.width, rule) for p in group),
                tuple((p, number) for p in group for number in range(1, p.count + 1)),
            )
            for key, group in pools.items()
        ),
        tuple(
            Blank(length, width, barriers, cost, left, low, tuple(group))  # type: ignore[arg-type]
            for (length, width, barriers, left, low, cost), group in blanks.items()
        ),
    )


def _blank_shape(board: Board, rule: float, k: int, edge_loss: float) -> tuple[object, ...]:
    # The saw that takes a check off must stand in it.
    left = max(steps_up(board.check_left, rule), k) if board.check_left > 0 else 0
    right = steps_down(board.length - board.check_right, rule)
    low = steps_up(edge_loss, rule)
    high = steps_down(board.width - edge_loss, rule)
    barriers = []
    for d in board.defects:
        start = max(steps_down(d.start, rule) - left, 0) + k
        stop = max(steps_up(d.stop, rule) - left, start)
        bottom = max(steps_down(d.low, rule) - low, 0) + k
        top = max(steps_up(d.high, rule) - low, bottom)
        if steps_up(d.stop, rule) > left and start < right - left + k and bottom < high - low + k:
            barriers.append(Barrier(start, stop, bottom, top))
    barriers.sort(key=lambda b: (b.start, b.stop, b.low, b.high))
    return max(right - left, 0) + k, max(high - low, 0) + k, tuple(barriers), left, low


def sums(lengths: Iterable[tuple[int, int]], most: int) -> tuple[int, ...]:
    """Every sum up to ``most`` of lengths, each used at most its count of times; with 0."""
    reached = 1
    mask = (1 << (most + 1)) - 1
    for length, count in lengths:
        for _ in range(min(count, most // length)):
            reached |= (reached << length) & mask
    return tuple(i for i in range(most + 1) if reached >> i & 1)
