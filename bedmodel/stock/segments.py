"""What a crosscut segment of a board can hold: strips ripped from it, pieces cut from strips.

All numbers are grown steps (see ``grid``). A segment is ripped into strips one above the
other. A strip that touches defects is crosscut on either side of them; the clear
lengths between hold pieces no wider than the strip, which are trimmed to width last.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from operator import ge
from typing import TypeVar

from bedmodel.stock.grid import Barrier, Load, WoodClass, sums
from bedmodel.stock.work import OutOfWork, Work

_T = TypeVar("_T")


@dataclass(frozen=True)
class Strip:
    """One strip of a segment: its lower edge and grown width, the defects that it
    touches by number, and for each clear length the pieces of each kind in it.
    """

    low: int
    width: int
    hit: tuple[int, ...]
    counts: tuple[Load, ...]


@dataclass(frozen=True)
class Filling:
    """One way to fill a segment: the load that it gives, from which strips."""

    load: Load
    strips: tuple[Strip, ...]


def covers(one: Load, other: Load) -> bool:
    """True when a load has all that another has."""
    return all(map(ge, one, other))


def maximal(items: Iterable[_T], load: Callable[[_T], Load], work: Work) -> list[_T]:
    """Drop what another one covers; of equal loads the first stays."""
    kept: list[_T] = []
    for item in sorted(items, key=lambda each: -sum(load(each))):
        work.spend(1 + len(kept) // 8)
        if not any(covers(load(other), load(item)) for other in kept):
            kept.append(item)
    return kept


def clear_lengths(
    barriers: Sequence[Barrier], hit: tuple[int, ...], start: int, stop: int
) -> list[tuple[int, int]]:
    """The lengths between the defects that a strip touches: from and to, grown."""
    found = []
    for number in hit:
        barrier = barriers[number]
        found.append((start, max(min(barrier.start, stop), start)))
        start = max(start, barrier.stop)
    found.append((start, max(stop, start)))
    return found


class Fillings:
    """The fillings of segments of one class of wood, each worked out once."""

    def __init__(self, wood: WoodClass, work: Work) -> None:
        self.wood = wood
        self.work = work
        self.complete = True
        self._partial: set[int] = set()
        longest = max((blank.length for blank in wood.blanks), default=0)
        usable = [(p.length, p.count) for p in wood.parts]
        usable += [(p.length, longest // p.length) for p in wood.pools]
        self.lengths = sums(usable, longest)
        self._floor = _floors(self.lengths, longest)
        self._strips: dict[tuple[tuple[int, ...], int], list[tuple[Load, tuple[Load, ...]]]] = {}
        self._clean: dict[int, list[tuple[int, Filling]]] = {}
        edges = {p.width for p in wood.parts}
        edges |= {width for p in wood.pools for width in (p.least, p.most)}
        self._widths = tuple(sorted(edges))

    def floor(self, length: int) -> int:
        """The longest sum of pieces that a length holds."""
        return self._floor[min(max(length, 0), len(self._floor) - 1)]

    def clean(self, width: int) -> list[tuple[int, Filling]]:
        """Fillings of segments without defects, each with the least length that takes it.

        When the budget is used up, only the plainest ones besides those found so far;
        ``complete`` is False from then on.
        """
        if width not in self._clean:
            found: list[tuple[int, Filling]] = []
            self._clean[width] = found
            try:
                for length in self.lengths[1:]:
                    new = self._stack(width, (), _fixed(length))
                    self.work.spend(len(new) * (1 + len(found) // 8))
                    found += [(length, filling) for filling in new if not _beaten(found, filling)]
                    if new and new[0].load == self.wood.caps:
                        break
            except OutOfWork:
                self._partial.add(width)
                for length, filling in self._plain(width):
                    if not _beaten(found, filling):
                        found.append((length, filling))
                found.sort(key=lambda each: each[0])
        self.complete = self.complete and width not in self._partial
        return self._clean[width]

    def _plain(self, width: int) -> Iterator[tuple[int, Filling]]:
        """Segments as long as one piece, filled with equal strips of one kind."""
        grown = [(p.length, p.width) for p in self.wood.parts]
        grown += [(p.length, min(p.most, max(p.least, width))) for p in self.wood.pools]
        for kind, (length, strip) in enumerate(grown):
            counts = tuple(int(i == kind) for i in range(len(grown)))
            load = (0,) * len(grown)
            strips: list[Strip] = []
            while (len(strips) + 1) * strip <= width and load[kind] < self.wood.wanted[kind]:
                strips.append(Strip(len(strips) * strip, strip, (), (counts,)))
                load = self.wood.joined(load, self._gain(counts, strip))
            if strips:
                yield length, Filling(load, tuple(strips))

    def around(
        self,
        barriers: Sequence[Barrier],
        inside: tuple[int, ...],
        start: int,
        stop: int,
        width: int,
    ) -> list[Filling]:
        """Fillings of a segment that has the defects numbered ``inside`` in it."""

        def capacities(hit: tuple[int, ...]) -> tuple[int, ...]:
            clear = clear_lengths(barriers, hit, start, stop)
            return tuple(self.floor(b - a) for a, b in clear)

        return self._stack(width, [(n, barriers[n]) for n in inside], capacities)

    def _stack(
        self,
        width: int,
        inside: Sequence[tuple[int, Barrier]],
        capacities: Callable[[tuple[int, ...]], tuple[int, ...]],
    ) -> list[Filling]:
        """Fill a segment upwards: of each load keep the way that needs the least width."""
        wood = self.wood
        empty = (0,) * len(wood.caps)
        best: dict[Load, int] = {empty: 0}
        chains: dict[Load, tuple[Strip, ...]] = {empty: ()}
        queue = [(0, empty)]
        while queue:
            low, load = heapq.heappop(queue)
            if best[load] < low:
                continue
            for strip_low, strip_width in self._places(low, width, inside):
                hit = tuple(
                    n for n, b in inside if strip_low < b.high and strip_low + strip_width > b.low
                )
                for gain, counts in self._strip(capacities(hit), strip_width):
                    self.work.spend()
                    new = wood.joined(load, gain)
                    top = strip_low + strip_width
                    if new != load and best.get(new, top + 1) > top:
                        best[new] = top
                        chains[new] = (*chains[load], Strip(strip_low, strip_width, hit, counts))
                        heapq.heappush(queue, (top, new))
        fillings = [Filling(load, chain) for load, chain in chains.items() if chain]
        return maximal(fillings, lambda filling: filling.load, self.work)

    def _places(
        self, low: int, width: int, inside: Sequence[tuple[int, Barrier]]
    ) -> list[tuple[int, int]]:
        """Where the next strip may lie: on the last one or on a defect, and how wide.

        A stave may have any width, but at most one in a row needs another width than
        the extremes: the one that takes up what is left below a defect or the edge.
        """
        found = []
        for start in sorted({low, *(b.high for _, b in inside if b.high > low)}):
            widths = {w for w in self._widths if start + w <= width}
            for barrier in (width, *(b.low for _, b in inside if b.low <= width)):
                rest = barrier - start
                if any(p.least <= rest <= p.most for p in self.wood.pools):
                    widths.add(rest)
            found += [(start, w) for w in sorted(widths)]
        return found

    def _strip(
        self, capacities: tuple[int, ...], width: int
    ) -> list[tuple[Load, tuple[Load, ...]]]:
        """Loads of one strip: gain, and the counts in each of its clear lengths."""
        key = (capacities, width)
        if key not in self._strips:
            loads: list[tuple[Load, tuple[Load, ...]]] = [((0,) * len(self.wood.caps), ())]
            for capacity in capacities:
                one = self._one_length(capacity, width)
                self.work.spend(len(one) * len(loads))
                loads = [
                    (self.wood.joined(load, self._gain(counts, width)), (*chain, counts))
                    for load, chain in loads
                    for counts in one
                ]
            loads = maximal(loads, lambda each: each[0], self.work)
            self._strips[key] = [each for each in loads if any(each[0])]
        return self._strips[key]

    def _gain(self, counts: Load, width: int) -> Load:
        first = len(self.wood.parts)
        staves = zip(counts[first:], self.wood.pools, strict=True)
        return (*counts[:first], *(count * (width - pool.taken) for count, pool in staves))

    def _one_length(self, capacity: int, width: int) -> list[Load]:
        """Counts of pieces that fill one clear length of a strip as far as they can."""
        wood = self.wood
        fit: list[tuple[int, int, int]] = []
        for i, part in enumerate(wood.parts):
            if part.width <= width and part.length <= capacity:
                fit.append((part.length, i, part.count))
        for i, pool in enumerate(wood.pools, start=len(wood.parts)):
            if pool.least <= width <= pool.most and pool.length <= capacity:
                fit.append((pool.length, i, capacity // pool.length))
        fit.sort(reverse=True)
        found: list[Load] = []
        counts = [0] * len(wood.caps)

        def fill(at: int, left: int) -> None:
            self.work.spend()
            if at == len(fit):
                found.append(tuple(counts))
                return
            length, i, cap = fit[at]
            most = min(cap, left // length)
            # The last kind takes all that is left: fewer would only be covered by more.
            for count in (most,) if at == len(fit) - 1 else range(most, -1, -1):
                counts[i] = count
                fill(at + 1, left - count * length)
            counts[i] = 0

        fill(0, capacity)
        return maximal(found, lambda load: load, self.work)


def _beaten(found: Iterable[tuple[int, Filling]], filling: Filling) -> bool:
    return any(covers(old.load, filling.load) for _, old in found)


def _fixed(length: int) -> Callable[[tuple[int, ...]], tuple[int, ...]]:
    return lambda hit: (length,)


def _floors(lengths: Sequence[int], longest: int) -> list[int]:
    floors = []
    last = 0
    members = set(lengths)
    for length in range(longest + 1):
        if length in members:
            last = length
        floors.append(last)
    return floors
