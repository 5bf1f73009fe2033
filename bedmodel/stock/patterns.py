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
    boards have no better patterns. Raises OutOfWork.
    """
    wood = fillings.wood
    empty = (0,) * len(wood.caps)
    best: dict[Load, int] = {empty: 0}
    rows: dict[Load, tuple[Segment, ...]] = {empty: ()}
    queue = [(0, empty)]
    steps: dict[int, list[tuple[int, int, Filling]]] = {}
    dirty: _Dirty | None = {} if around_defects else None
    while queue:
        end, load = heapq.heappop(queue)
        if best[load] < end:
            continue
        if load == wood.caps:
            return [Pattern(load, rows[load])]
        if end not in steps:
            steps[end] = list(_next_segments(blank, fillings, end, dirty))
        for start, stop, filling in steps[end]:
            fillings.work.spend()
            new = wood.joined(load, filling.load)
            if new != load and best.get(new, stop + 1) > stop:
                best[new] = stop
                rows[new] = (*rows[load], Segment(start, stop, filling.strips))
                heapq.heappush(queue, (stop, new))
    found = [Pattern(load, row) for load, row in rows.items() if row]
    return maximal(found, lambda pattern: pattern.load, fillings.work)


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
            if start == end or not _given(given, stop, filling):
                given.append((stop, filling))
                yield start, stop, filling
        if dirty is not None:
            for stop, filling in _dirty_segments(blank, fillings, start, ahead, dirty):
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
            for filling in dirty[key]:
                yield stop, filling
