"""Search one class of wood for its best plan, board by board only where it matters.

A board's patterns around its defects take long to work out. At first a board with defects
is taken twice over: *hopeful*, as if it had none, and *sure*, with only the segments
that lie clear of them. The cheapest hopeful plan is a bound on every plan. The boards that
it uses are then worked out in full and it is solved again, until it uses none that
is only hoped for: then it is a plan, and the best one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bedmodel.stock.choose import Choice, best_choice, first_choice, least_cost, least_short
from bedmodel.stock.grid import Blank, WoodClass
from bedmodel.stock.patterns import Pattern, patterns
from bedmodel.stock.segments import Fillings, covers
from bedmodel.stock.work import OutOfWork, Work


@dataclass(frozen=True)
class Effort:
    """A budget of work: steps of looking for patterns in a class, nodes of choosing among them.

    With no nodes the plan is the first one found, and has no bound.
    """

    steps_count: int = 3_000_000
    nodes_count: int = 2_000


@dataclass(frozen=True)
class Found:
    """The best plan of a class that was found: from each blank's patterns, which are cut.

    ``bound`` is in the units of cost; 0 when nothing could be proven. ``impossible``: it is
    proven that no plan gives all.
    """

    patterns: tuple[tuple[Pattern, ...], ...]
    choice: Choice
    bound: int
    impossible: bool = False


class _Rack:
    """What is known of each blank's patterns so far."""

    def __init__(self, wood: WoodClass, fillings: Fillings) -> None:
        self.wood = wood
        self.fillings = fillings
        self.costs = [blank.cost for blank in wood.blanks]
        self.stock = [len(blank.boards) for blank in wood.blanks]
        self.sure: list[list[Pattern]] = []
        self.hopeful: list[list[Pattern]] = []
        for blank in wood.blanks:
            self.sure.append(patterns(blank, fillings, around_defects=False))
        for blank, sure in zip(wood.blanks, self.sure, strict=True):
            self.hopeful.append(self._hopeful(blank, sure))

    def _hopeful(self, blank: Blank, sure: list[Pattern]) -> list[Pattern]:
        if not blank.barriers:
            return sure
        hopeful = patterns(replace(blank, barriers=()), self.fillings, around_defects=False)
        return sure if _as_good(sure, hopeful) else hopeful

    def is_sure(self, number: int) -> bool:
        return self.hopeful[number] is self.sure[number]

    def found(self, choice: Choice, bound: int) -> Found:
        return Found(tuple(map(tuple, self.sure)), choice, min(bound, choice.cost))

    def work_out(self, number: int) -> None:
        """Find a blank's patterns in full. Raises OutOfWork."""
        full = patterns(self.wood.blanks[number], self.fillings, around_defects=True)
        self.sure[number] = self.hopeful[number] = full


def _as_good(sure: Sequence[Pattern], hopeful: Sequence[Pattern]) -> bool:
    return all(any(covers(a.load, b.load) for a in sure) for b in hopeful)


def search(wood: WoodClass, effort: Effort) -> Found:
    """Find the cheapest plan of a class.

    Raises OutOfWork when the budget does not even reach for the plainest patterns.
    """
    fillings = Fillings(wood, Work(effort.steps_count))
    rack = _Rack(wood, fillings)
    first = first_choice(rack.sure, rack.costs, rack.stock, wood.wanted, wood.weights)
    if not effort.nodes_count and not any(first.short):
        return rack.found(first, 0)
    nodes = max(effort.nodes_count, 1)
    bound = 0
    try:
        while True:
            hope = best_choice(rack.hopeful, rack.costs, rack.stock, wood.wanted, None, nodes)
            least = _bound(rack, hope, nodes)
            if hope is None or least is None:
                return _short(rack, nodes, impossible=least is None)
            bound = max(bound, least)
            unsure = [b for b in sorted({b for b, _, _ in hope.picks}) if not rack.is_sure(b)]
            if not unsure:
                return rack.found(hope, bound)
            for number in unsure:
                rack.work_out(number)
    except OutOfWork:
        return _as_far_as_known(rack, first, bound, nodes)


def _bound(rack: _Rack, hope: Choice | None, nodes: int) -> int | None:
    if len(rack.wood.pools) < 2:
        return None if hope is None else hope.bound
    return least_cost(rack.hopeful, rack.costs, rack.stock, rack.wood.wanted, nodes)


def _as_far_as_known(rack: _Rack, first: Choice, bound: int, nodes: int) -> Found:
    """The best plan of sure patterns, when the budget is used up."""
    start = None if any(first.short) else first
    try:
        best = best_choice(rack.sure, rack.costs, rack.stock, rack.wood.wanted, start, nodes)
    except OutOfWork:
        best = start
    return _short(rack, nodes) if best is None else rack.found(best, bound)


def _short(rack: _Rack, nodes: int, *, impossible: bool = False) -> Found:
    """Cut as much as there is wood for, every board worked out as far as the budget goes."""
    try:
        for number in range(len(rack.stock)):
            if not rack.is_sure(number):
                rack.work_out(number)
    except OutOfWork:
        pass
    wood = rack.wood
    choice = least_short(rack.sure, rack.stock, wood.wanted, wood.weights, nodes)
    return replace(rack.found(choice, 0), impossible=impossible)
