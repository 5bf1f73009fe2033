"""All ways to cut one board that are worth considering: its patterns.

A pattern is a row of crosscut segments from the left end. For each load only the row
that ends first matters, since whatever follows may then begin earlier; and of all loads
only those that no other covers.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bedmodel.stock.grid import Blank, Load
from bedmodel.stock.segments import Filling, Fillings, Strip, covers, maximal
from bedmodel.stock.work import OutOfWork, unlimited


@dataclass(frozen=True)
class Segment:
    """A length of a board that is crosscut off, then ripped; grown steps."""

    start: int
    stop: int
    strips: tuple[Strip, ...]


@dataclass(frozen=True)
class Pattern:
    """One way to cut a board: what it gives, from which segments."""

    load: Load
    segments: tuple[Segment, ...]


def patterns(blank: Blank, fillings: Fillings, *, around_defects: bool) -> list[Pattern]:
    """Every pattern of a board that no other one covers.

    Unless ``around_defects``, segments lie clear of all defects: that is quick, and most
    boards have no better patterns. When the budget is used up they are only some;
    ``fillings.complete`` is False then.
    """
    rows = _Rows(blank, fillings, {} if around_defects else None)
    try:
        rows.grow()
        found = [Pattern(load, row) for load, row in rows.rows.items() if row]
        return maximal(found, lambda pattern: pattern.load, fillings.work)
    except OutOfWork:
        fillings.complete = False
        fillings.work = unlimited()
        rows.dirty = None
        found = [Pattern(load, rows.rows[load]) for load in rows.finish()]
        return maximal(found, lambda pattern: pattern.load, unlimited())


class _Rows:
    """Rows of segments by what they load, each ending as early as it can."""

    def __init__(self, blank: Blank, fillings: Fillings, dirty: _Dirty | None) -> None:
        self.blank = blank
        self.fillings = fillings
        self.dirty = dirty
        self.empty: Load = (0,) * len(fillings.wood.caps)
        self.ends: dict[Load, int] = {self.empty: 0}
        self.rows: dict[Load, tuple[Segment, ...]] = {self.empty: ()}
        self._next: dict[int, list[tuple[int, int, Filling]]] = {}

    def grow(self) -> None:
        """Find all rows. Raises OutOfWork."""
        queue = [(0, self.empty)]
        while queue:
            end, load = heapq.heappop(queue)
            if self.ends[load] < end:
                continue
            if load == self.fillings.wood.caps:
                self.rows = {load: self.rows[load]}
                return
            for start, stop, filling in self.next(end):
                self.fillings.work.spend()
                new = self.add(load, start, stop, filling)
                if new is not None:
                    heapq.heappush(queue, (stop, new))

    def next(self, end: int) -> list[tuple[int, int, Filling]]:
        if end not in self._next:
            self._next[end] = list(_next_segments(self.blank, self.fillings, end, self.dirty))
        return self._next[end]

    def add(self, load: Load, start: int, stop: int, filling: Filling) -> Load | None:
        """The load with one more segment, if that is the earliest way to it."""
        new = self.fillings.wood.joined(load, filling.load)
        if new == load or self.ends.get(new, stop + 1) <= stop:
            return None
        self.ends[new] = stop
        self.rows[new] = (*self.rows[load], Segment(start, stop, filling.strips))
        return new

    def finish(self) -> list[Load]:
        """The fullest of the rows found so far, greedily filled up to the board's end.

        Of each kind also the row that has the most of it: else slender parts would get none.
        """
        weights = self.fillings.wood.weights

        def worth(load: Load) -> float:
            return sum(a * b for a, b in zip(load, weights, strict=True))

        for first in self.next(0):
            self.add(self.empty, *first)
        chosen = heapq.nsmallest(_FINISHED, self.rows, key=lambda load: (-worth(load), load))
        for kind in range(len(weights)):
            most = max(load[kind] for load in self.rows)
            holders = [load for load in self.rows if load[kind] == most]
            chosen.append(max(holders, key=lambda load: (worth(load), load)))
        finished: dict[Load, None] = {}
        for load in dict.fromkeys((*chosen, self.empty)):
            at: Load | None = load
            while at is not None:
                if any(at):
                    finished[at] = None
                best: tuple[float, int, int, Filling] | None = None
                for start, stop, filling in self.next(self.ends[at]):
                    gain = worth(self.fillings.wood.joined(at, filling.load)) - worth(at)
                    density = gain / (stop - self.ends[at])
                    if gain > 0 and (best is None or density > best[0]):
                        best = density, start, stop, filling
                at = None if best is None else self.add(at, *best[1:])
        return list(finished)


_FINISHED = 12
_Dirty = dict[tuple[object, ...], list[Filling]]


def _next_segments(
    blank: Blank, fillings: Fillings, end: int, dirty: _Dirty | None
) -> Iterator[tuple[int, int, Filling]]:
    """Segments that may follow, the row so far ending at ``end``: start, stop, filling."""
    barriers = blank.barriers
    clean = fillings.clean(blank.width)
    given: list[tuple[int, Filling]] = []
    for start in sorted({end, *(b.stop for b in barriers if b.stop > end)}):
        ahead = [n for n, b in enumerate(barriers) if b.stop > start]
        limit = min((barriers[n].start for n in ahead), default=blank.length)
        limit = min(limit, blank.length)
        for length, filling in clean:
            stop = start + length
            if stop > limit:
                break
            # Those from the first start cover none of each other.
            if start > end:
                fillings.work.spend(1 + len(given) // 8)
            if start == end or not _given(given, stop, filling):
                given.append((stop, filling))
                yield start, stop, filling
        if dirty is not None:
            for stop, filling in _dirty_segments(blank, fillings, start, ahead, dirty):
                fillings.work.spend(1 + len(given) // 8)
                if not _given(given, stop, filling):
                    given.append((stop, filling))
                    yield start, stop, filling
        fillings.work.spend(len(given))


def _given(given: Iterable[tuple[int, Filling]], stop: int, filling: Filling) -> bool:
    return any(end <= stop and covers(other.load, filling.load) for end, other in given)


def _dirty_segments(
    blank: Blank, fillings: Fillings, start: int, ahead: list[int], dirty: _Dirty
) -> Iterator[tuple[int, Filling]]:
    """Segments from ``start`` that have one or more defects in them."""
    barriers = blank.barriers
    origins = {start, *(barriers[n].stop for n in ahead)}
    seen: set[tuple[object, ...]] = set()
    stops = {origin + length for origin in origins for length in fillings.lengths[1:]}
    for stop in sorted(stops):
        if stop > blank.length:
            break
        inside = tuple(n for n in ahead if barriers[n].start < stop)
        if not inside:
            continue
        key = (
            inside,
            fillings.floor(stop - start),
            tuple(fillings.floor(barriers[n].start - start) for n in inside),
            tuple(fillings.floor(stop - barriers[n].stop) for n in inside),
        )
        if key not in dirty:
            dirty[key] = fillings.around(barriers, inside, start, stop, blank.width)
        # From one start a longer segment with the same clear lengths holds nothing more.
        if key not in seen:
            seen.add(key)
            for filling in dirty[key]:
                yield stop, filling
