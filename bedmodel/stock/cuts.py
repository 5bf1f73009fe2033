"""From patterns to cuts: the order of sawing, where each part lies, what is left over."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.stock.boards import Board
from bedmodel.stock.grid import Blank, WoodClass
from bedmodel.stock.patterns import Pattern, Segment
from bedmodel.stock.plan import Cut, CutBoard, Placed, Rectangle
from bedmodel.stock.segments import clear_lengths

_TINY = 1e-6
_Axis = Literal["crosscut", "rip"]


@dataclass(frozen=True)
class Spot:
    """A place for one piece: which kind of the class it is, in ungrown steps of the rule."""

    kind: int
    x: int
    y: int
    length: int
    width: int
    segment: int
    strip: int


def spots(wood: WoodClass, blank: Blank, pattern: Pattern) -> list[Spot]:
    """Where a pattern has room for pieces, from the left and from below."""
    found = []
    k = wood.kerf
    for s, segment in enumerate(pattern.segments):
        for t, strip in enumerate(segment.strips):
            clear = clear_lengths(blank.barriers, strip.hit, segment.start, segment.stop)
            for (x, _), counts in zip(clear, strip.counts, strict=True):
                for kind, count in _long_first(wood, counts):
                    length, width = _grown_size(wood, kind, strip.width)
                    for _ in range(count):
                        found.append(Spot(kind, x, strip.low, length - k, width - k, s, t))
                        x += length
    return found


def _long_first(wood: WoodClass, counts: Sequence[int]) -> list[tuple[int, int]]:
    kinds = [(kind, count) for kind, count in enumerate(counts) if count]
    return sorted(kinds, key=lambda each: (-_grown_size(wood, each[0], 0)[0], each[0]))


def _grown_size(wood: WoodClass, kind: int, strip_width: int) -> tuple[int, int]:
    if kind < len(wood.parts):
        return wood.parts[kind].length, wood.parts[kind].width
    return wood.pools[kind - len(wood.parts)].length, strip_width


@dataclass(frozen=True)
class OffcutLimits:
    """The least off-cut that is worth keeping (mm)."""

    length: float
    width: float


def cut_board(
    wood: WoodClass,
    blank: Blank,
    board: Board,
    pattern: Pattern,
    named: Sequence[tuple[Spot, Placed]],
    usable: tuple[float, float],
    limits: OffcutLimits,
) -> CutBoard:
    """Lay out the cuts that free the named pieces of a pattern, and no others.

    ``usable`` is the lower and the upper edge once both are straight.
    """
    sawing = _Sawing(wood, blank)
    root = Rectangle(0.0, usable[0], board.length, usable[1] - usable[0])
    placed = tuple(replace(each, place=sawing.rectangle(spot)) for spot, each in named)
    kept = [(spot, each.place) for (spot, _), each in zip(named, placed, strict=True)]
    used = [s for s in range(len(pattern.segments)) if any(spot.segment == s for spot, _ in kept)]
    ends = [_segment_end(pattern.segments[s], s, kept, wood.kerf, sawing) for s in used]
    segments = sawing.saw(root, "crosscut", ends)
    strips: list[tuple[Rectangle, list[Rectangle]]] = []
    for s, segment in zip(used, segments, strict=True):
        mine = [(spot, place) for spot, place in kept if spot.segment == s]
        rows = sorted({spot.strip for spot, _ in mine})
        edges = [
            (
                min(place.y for spot, place in mine if spot.strip == t),
                max(place.y + place.width for spot, place in mine if spot.strip == t),
            )
            for t in rows
        ]
        for t, strip in zip(rows, sawing.saw(segment, "rip", edges), strict=True):
            strips.append((strip, [place for spot, place in mine if spot.strip == t]))
    pieces: list[tuple[Rectangle, Rectangle]] = []
    for strip, places in strips:
        places = sorted(places, key=lambda place: place.x)
        along = [(p.x, p.x + p.length) for p in places]
        pieces += zip(sawing.saw(strip, "crosscut", along), places, strict=True)
    for piece, place in pieces:
        sawing.saw(piece, "rip", [(place.y, place.y + place.width)])
    offcuts = tuple(_offcuts(sawing.leavings, board, limits))
    return CutBoard(board, root, tuple(sawing.cuts), placed, offcuts)


def _segment_end(
    segment: Segment,
    number: int,
    kept: Sequence[tuple[Spot, Rectangle]],
    kerf: int,
    sawing: _Sawing,
) -> tuple[float, float]:
    """A segment from its first piece to its last; shorter than planned when some are left out."""
    mine = [place for spot, place in kept if spot.segment == number]
    return min(p.x for p in mine), max(p.x + p.length for p in mine)


class _Sawing:
    """The cuts made so far and what has fallen off."""

    def __init__(self, wood: WoodClass, blank: Blank) -> None:
        self.rule = wood.rule
        self.kerf = wood.kerf * wood.rule
        self.blank = blank
        self.cuts: list[Cut] = []
        self.leavings: list[Rectangle] = []

    def rectangle(self, spot: Spot) -> Rectangle:
        """A spot in mm on the board. Both ends are products, so that equal steps agree."""
        x0, x1 = ((self.blank.left + x) * self.rule for x in (spot.x, spot.x + spot.length))
        y0, y1 = ((self.blank.low + y) * self.rule for y in (spot.y, spot.y + spot.width))
        return Rectangle(x0, y0, x1 - x0, y1 - y0)

    def saw(
        self, piece: Rectangle, kind: _Axis, spans: Sequence[tuple[float, float]]
    ) -> list[Rectangle]:
        """Free the spans of a piece one after the other, from the left or from below."""
        freed = []
        left: Rectangle | None = piece
        for start, stop in spans:
            assert left is not None, "the saw has come to the end"
            if start > _from(left, kind) + _TINY:
                fallen, left = self._cut(left, kind, start - self.kerf)
                self._leave(fallen)
                assert left is not None
            if stop < _to(left, kind) - _TINY:
                part, left = self._cut(left, kind, stop)
            else:
                part, left = left, None
            assert part is not None
            freed.append(part)
        self._leave(left)
        return freed

    def _cut(
        self, piece: Rectangle, kind: _Axis, at: float
    ) -> tuple[Rectangle | None, Rectangle | None]:
        self.cuts.append(Cut(len(self.cuts) + 1, kind, piece, at))
        return _part(piece, kind, _from(piece, kind), at), _part(
            piece, kind, at + self.kerf, _to(piece, kind)
        )

    def _leave(self, fallen: Rectangle | None) -> None:
        if fallen is not None:
            self.leavings.append(fallen)


def _from(piece: Rectangle, kind: _Axis) -> float:
    return piece.x if kind == "crosscut" else piece.y


def _to(piece: Rectangle, kind: _Axis) -> float:
    return piece.x + piece.length if kind == "crosscut" else piece.y + piece.width


def _part(piece: Rectangle, kind: _Axis, start: float, stop: float) -> Rectangle | None:
    if stop - start <= _TINY:
        return None
    if kind == "crosscut":
        return Rectangle(start, piece.y, stop - start, piece.width)
    return Rectangle(piece.x, start, piece.length, stop - start)


def _offcuts(
    leavings: Sequence[Rectangle], board: Board, limits: OffcutLimits
) -> Iterator[Rectangle]:
    """The longest clear length of each leaving that is worth keeping."""
    for piece in leavings:
        start = max(piece.x, board.check_left)
        end = min(piece.x + piece.length, board.length - board.check_right)
        spans = []
        for d in sorted(board.defects, key=lambda each: each.start):
            if d.low < piece.y + piece.width and d.high > piece.y and d.stop > start:
                spans.append((start, min(d.start, end)))
                start = max(start, d.stop)
        spans.append((start, end))
        first, last = max(spans, key=lambda span: span[1] - span[0])
        if last - first >= limits.length - _TINY and piece.width >= limits.width - _TINY:
            yield Rectangle(first, piece.y, last - first, piece.width)
