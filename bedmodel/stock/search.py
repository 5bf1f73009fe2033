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

from bedmodel.stock.choose import Choice, best_choice, first_choice, least_short
from bedmodel.stock.grid import Blank, WoodClass, pooled, without_least
from bedmodel.stock.patterns import Pattern, patterns
from bedmodel.stock.segments import Fillings, covers
from bedmodel.stock.work import OutOfWork, Work


@dataclass(frozen=True)
class Effort:
    """A budget of work: steps of looking for patterns in a class, nodes of choosing among them.

    With no nodes the plan is the first one found, and has no bound.
    """

    steps_count: int = 2_000_000
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

    def __init__(self, wood: WoodClass, steps_count: int) -> None:
        self.wood = wood
        self.costs = [blank.cost for blank in wood.blanks]
        self.stock = [len(blank.boards) for blank in wood.blanks]
        self.steps_left = steps_count
        self.complete = True
        self.fillings = Fillings(wood, Work(0))
        self.sure: list[list[Pattern]] = []
        self.hopeful: list[list[Pattern]] = []
        for blank in wood.blanks:
            # No board may take all, so that the others have some patterns too.
            share = self.steps_left // 4
            self.sure.append(self._patterns(blank, share, around_defects=False))

    def hope(self) -> None:
        """Find what each board could give without its defects. Raises OutOfWork."""
        for blank, sure in zip(self.wood.blanks, self.sure, strict=True):
            bare = replace(blank, barriers=())
            hopeful = sure
            if blank.barriers:
                hopeful = self._patterns(bare, self.steps_left, around_defects=False)
            if not self.complete:
                raise OutOfWork
            self.hopeful.append(sure if _as_good(sure, hopeful) else hopeful)

    def _patterns(self, blank: Blank, steps: int, *, around_defects: bool) -> list[Pattern]:
        work = self.fillings.work = Work(steps)
        self.fillings.complete = True
        found = patterns(blank, self.fillings, around_defects=around_defects)
        self.steps_left -= steps - max(work.left, 0)
        self.complete = self.complete and self.fillings.complete
        return found

    def is_sure(self, number: int) -> bool:
        return self.hopeful[number] is self.sure[number]

    def work_out(self, number: int) -> None:
        """Find a blank's patterns in full. Raises OutOfWork, with some more of them found."""
        full = self._patterns(self.wood.blanks[number], self.steps_left, around_defects=True)
        if not self.complete:
            self.sure[number] = [*self.sure[number], *full]
            raise OutOfWork
        self.sure[number] = self.hopeful[number] = full

    def best(self, among: Sequence[Sequence[Pattern]], nodes: int) -> Choice | None:
        """The cheapest choice. Raises OutOfWork."""
        return best_choice(among, self.costs, self.stock, self.wood.wanted, None, nodes)

    def found(self, choice: Choice, bound: int) -> Found:
        return Found(tuple(map(tuple, self.sure)), choice, min(bound, choice.cost))


def _as_good(sure: Sequence[Pattern], hopeful: Sequence[Pattern]) -> bool:
    return all(any(covers(a.load, b.load) for a in sure) for b in hopeful)


def search(wood: WoodClass, effort: Effort) -> Found:
    """Find the cheapest plan of a class, or what gives the most of it."""
    rack = _Rack(wood, effort.steps_count)
    first = first_choice(rack.sure, rack.costs, rack.stock, wood.wanted, wood.weights)
    if not effort.nodes_count and not any(first.short):
        return rack.found(first, 0)
    nodes = max(effort.nodes_count, 1)
    bound = 0
    try:
        rack.hope()
        while True:
            hope = rack.best(rack.hopeful, nodes)
            if hope is None:
                return _settled(wood, _short(rack, nodes), 0, effort, impossible=True)
            bound = max(bound, hope.bound)
            unsure = [b for b in sorted({b for b, _, _ in hope.picks}) if not rack.is_sure(b)]
            if not unsure:
                return _settled(wood, rack.found(hope, bound), bound, effort)
            for number in unsure:
                rack.work_out(number)
    except OutOfWork:
        return _settled(wood, _as_far_as_known(rack, first, bound, nodes), bound, effort)


def _settled(
    wood: WoodClass, found: Found, bound: int, effort: Effort, *, impossible: bool = False
) -> Found:
    """What is proven of a plan. With several pools, what was found of one for all of them.

    A board can be cut with any division between the staves of two pools, of which the
    patterns have only the extremes: no bound follows from them.
    """
    if len(wood.pools) > 1 and effort.nodes_count:
        relaxed = search(pooled(wood), effort)
        bound, impossible = relaxed.bound, relaxed.impossible
    elif not bound and not impossible and effort.nodes_count:
        bound = _plain_bound(wood, effort)
    if any(found.choice.short):
        return replace(found, bound=0, impossible=impossible)
    return replace(found, bound=min(bound, found.choice.cost))


def _plain_bound(wood: WoodClass, effort: Effort) -> int:
    """A bound from fewer kinds of parts, as many as the budget reaches for."""
    fewer = without_least(wood)
    while fewer is not None:
        try:
            rack = _Rack(fewer, effort.steps_count // 4)
            rack.hope()
            hope = rack.best(rack.hopeful, effort.nodes_count)
            return 0 if hope is None else hope.bound
        except OutOfWork:
            fewer = without_least(fewer)
    return 0


def _as_far_as_known(rack: _Rack, first: Choice, bound: int, nodes: int) -> Found:
    """The best plan of sure patterns, when the budget is used up."""
    start = None if any(first.short) else first
    try:
        best = best_choice(rack.sure, rack.costs, rack.stock, rack.wood.wanted, start, nodes)
    except OutOfWork:
        best = start
    if best is None:
        return _short(rack, nodes)
    return rack.found(best, bound)


def _short(rack: _Rack, nodes: int) -> Found:
    """Cut as much as there is wood for, every board worked out as far as the budget goes."""
    try:
        for number in range(len(rack.hopeful)):
            if not rack.is_sure(number):
                rack.work_out(number)
    except OutOfWork:
        pass
    wood = rack.wood
    choice = least_short(rack.sure, rack.stock, wood.wanted, wood.weights, nodes)
    return rack.found(choice, 0)
