"""Draw one board to scale: its parts, its cuts in order, checks, defects, off-cuts.

A long board is broken into two or three rows, one under the other, so that its narrowest
part can still be written on. Of each row:

        (1)          (2)              numbers of the crosscuts of the whole board
    +----|------------|-----------+
    |/// |  A  slat   |  K1       |   the row; rips and later cuts have theirs on the line
    +----|------------|-----------+
         3           64 7/8           lines to mark, from the board's left end
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.exports.paper.sheet import (
    Box,
    Circle,
    Mark,
    Path,
    Pen,
    Point,
    Text,
    hatch,
    line,
    rectangle,
)
from bedmodel.exports.paper.type import ASCENT, MM_PER_POINT, text_width
from bedmodel.exports.plan_pages.room import CLEAR, Taken, Words, set_words
from bedmodel.exports.plan_pages.words import (
    Copies,
    Lengths,
    Named,
    board_cuts,
    cut_words,
    keeps_of,
    parts_of,
)
from bedmodel.stock.plan import Cut, CutBoard, Rectangle

PART, WASTE, KEEP = "#f4e3c1", "#d9d9d9", "#ffffff"
GREY = "#555555"
OUTLINE, HAIR = Pen(0.4), Pen(0.15)
HATCH, CROSS_HATCH = Pen(0.15, GREY), Pen(0.2)
KEPT = Pen(0.3, GREY, (2.0, 1.0))
BREAK = Pen(0.25, GREY, (4.0, 1.0, 0.6, 1.0))

ABOVE, BELOW, SIDE = 7.0, 5.6, 5.0  # mm of paper round a row
_WRITABLE = 6.0  # mm of paper across the narrowest part
_MOST_ROWS = 3
_WORTH = 0.8  # of the scale, for one row more
_NEAR_HALF = 0.62
_NUMBER = 9.0  # points
_DISC = 5.4


@dataclass(frozen=True)
class View:
    """A stretch of the board on the paper, at 1 to ``scale``."""

    start: float
    stop: float
    scale: float
    left: float
    bottom: float

    def point(self, x: float, y: float) -> Point:
        return self.left + (x - self.start) / self.scale, self.bottom + y / self.scale

    def box(self, r: Rectangle) -> Box | None:
        """What of a rectangle lies in the row; None when nothing does."""
        x0, x1 = max(r.x, self.start), min(r.x + r.length, self.stop)
        if x1 - x0 < 1e-6:
            return None
        return Box(*self.point(x0, r.y), *self.point(x1, r.y + r.width))


@dataclass(frozen=True)
class Drawing:
    """A drawn board; ``height`` is what it takes of the paper."""

    marks: tuple[Mark, ...]
    scale: int
    height: float


def draw_board(
    cut: CutBoard,
    kerf: float,
    copies: Copies,
    lengths: Lengths,
    place: Box,
) -> Drawing:
    """Draw a board into a place, from its upper edge down, as large as it fits."""
    stretches, scale = _rows(cut, kerf, place.width - 2 * SIDE, place.height)
    board = cut.board
    tall = board.width / scale
    marks: list[Mark] = []
    top = place.y1
    for row, (start, stop) in enumerate(stretches, start=1):
        view = View(start, stop, scale, place.x0 + SIDE, top - ABOVE - tall)
        marks += _Row(cut, row, view, kerf, lengths, copies).draw()
        top -= ABOVE + tall + BELOW
    return Drawing(tuple(marks), scale, place.y1 - top)


# --- rows --------------------------------------------------------------------------------


def _rows(
    cut: CutBoard, kerf: float, width: float, height: float
) -> tuple[list[tuple[float, float]], int]:
    """Break the board into the fewest rows that can be written on, and the scale."""
    narrow = min((p.place.width for p in cut.placed), default=cut.board.width)
    best: tuple[list[tuple[float, float]], int] | None = None
    for count in range(1, _MOST_ROWS + 1):
        stretches = _broken(cut, kerf, count)
        room = height / count - ABOVE - BELOW
        if room <= 0:
            break
        along = max(stop - start for start, stop in stretches) / width
        scale = max(math.ceil(along - 1e-9), math.ceil(cut.board.width / room - 1e-9), 1)
        if best is None or scale <= _WORTH * best[1]:
            best = stretches, scale
        if narrow / best[1] >= _WRITABLE:
            break
    assert best is not None, "no room for a drawing"
    return best


def _broken(cut: CutBoard, kerf: float, count: int) -> list[tuple[float, float]]:
    length = cut.board.length
    breaks = [length * i / count for i in range(1, count)]
    if count == 2:
        # Where the board is cut anyway no part is shown in two halves.
        at = min(
            (x for each in board_cuts(cut) if 0 < (x := each.at + kerf) < length),
            key=lambda x: max(x, length - x),
            default=0.0,
        )
        if max(at, length - at) <= _NEAR_HALF * length:
            breaks = [at]
    ends = [0.0, *breaks, length]
    return list(itertools.pairwise(ends))


# --- one row -----------------------------------------------------------------------------


class _Row:
    """One row: what is drawn, and what is taken up by words."""

    def __init__(
        self,
        cut: CutBoard,
        row: int,
        view: View,
        kerf: float,
        lengths: Lengths,
        copies: Copies,
    ) -> None:
        self.row = row
        self.cut, self.view, self.kerf, self.lengths = cut, view, kerf, lengths
        self.parts, self.keeps = parts_of(cut, copies), keeps_of(cut)
        self.taken = Taken()

    def draw(self) -> list[Mark]:
        board = Rectangle(0.0, 0.0, self.cut.board.length, self.cut.board.width)
        marks = list(self._filled([board], WASTE, "board"))
        marks += self._filled([each.place for each in self.keeps], KEEP, "offcut", KEPT)
        marks += self._filled([each.place for each in self.parts], PART, "part")
        marks += self._spoilt()
        marks += self._edges()
        marks += [mark for each in self.cut.cuts for mark in self._kerf(each)]
        for part in self.parts:
            marks += self._outline(part.place, HAIR)
        marks += self._outline(board, OUTLINE)
        marks += self._ends()
        marks += self._board_cuts()
        marks += self._later_cuts()
        for part in self.parts:
            marks += self._named(part)
        for keep in self.keeps:
            marks += self._kept(keep)
        return marks

    def _filled(
        self, places: Sequence[Rectangle], fill: str, role: str, pen: Pen | None = None
    ) -> Iterator[Mark]:
        for place in places:
            box = self.view.box(place)
            if box is not None:
                yield rectangle(box, pen, fill, role)

    def _spoilt(self) -> Iterator[Mark]:
        """End checks hatched one way, defects both ways."""
        board = self.cut.board
        right = board.length - board.check_right
        for place in (
            Rectangle(0.0, 0.0, board.check_left, board.width),
            Rectangle(right, 0.0, board.check_right, board.width),
        ):
            box = self.view.box(place)
            if box is not None:
                yield rectangle(box, None, "", "check")
                yield from hatch(box.corners, 1.2, 45.0, HATCH)
        for d in board.defects:
            box = self.view.box(Rectangle(d.start, d.low, d.stop - d.start, d.high - d.low))
            if box is not None:
                yield rectangle(box, Pen(0.3), "#ffffff", "defect")
                yield from hatch(box.corners, 0.9, 45.0, CROSS_HATCH)
                yield from hatch(box.corners, 0.9, 135.0, CROSS_HATCH)
                self.taken.take(box)

    def _edges(self) -> Iterator[Mark]:
        """Where the straightened edges come to lie."""
        blank = self.cut.blank
        pen = Pen(0.15, GREY, (1.5, 1.0))
        for y in (blank.y, blank.y + blank.width):
            if 1e-6 < y < self.cut.board.width - 1e-6:
                yield line(
                    self.view.point(self.view.start, y), self.view.point(self.view.stop, y), pen
                )

    def _kerf(self, cut: Cut) -> Iterator[Mark]:
        p = cut.piece
        if cut.kind == "crosscut":
            place = Rectangle(cut.at, p.y, self.kerf, p.width)
        else:
            place = Rectangle(p.x, cut.at, p.length, self.kerf)
        yield from self._filled([place], "#000000", "kerf")

    def _outline(self, place: Rectangle, pen: Pen) -> Iterator[Mark]:
        """A rectangle's outline without the sides that are only the row's ends."""
        box = self.view.box(place)
        if box is None:
            return
        from_left = place.x >= self.view.start - 1e-6
        to_right = place.x + place.length <= self.view.stop + 1e-6
        low_left, low_right, high_right, high_left = box.corners
        if from_left and to_right:
            yield Path(box.corners, pen, closed=True)
        elif from_left:
            yield Path((high_right, high_left, low_left, low_right), pen)
        elif to_right:
            yield Path((high_left, high_right, low_right, low_left), pen)
        else:
            yield line(low_left, low_right, pen)
            yield line(high_left, high_right, pen)

    def _ends(self) -> Iterator[Mark]:
        """Say which end is which, and where the board goes on."""
        view, width = self.view, self.cut.board.width
        length = self.cut.board.length
        row = f"row {self.row}"
        left = ("left end", "left") if view.start == 0 else (row,)
        right = ("right end", "right") if view.stop == length else (f"to row {self.row + 1}",)
        for x, words in ((view.start, left), (view.stop, right)):
            px, middle = view.point(x, width / 2)
            tall = width / view.scale
            at = px - 1.6 if x == view.start else px + 1.4 + ASCENT * _NUMBER * MM_PER_POINT
            fits = [word for word in words if text_width(word, _NUMBER) <= tall + 1.0]
            for word in fits[:1]:
                text = Text(word, (at, middle), _NUMBER, False, "middle", 90.0, role="end")
                self.taken.take(text.box)
                yield text
            if 0 < x < length:
                low, high = view.point(x, 0.0)[1] - 1.0, view.point(x, width)[1] + 1.0
                yield line((px, low), (px, high), BREAK)

    # --- numbers ---

    def _board_cuts(self) -> Iterator[Mark]:
        """Numbers of the whole board's crosscuts above it, their marks below."""
        words = {w.number: w for w in cut_words(self.cut, self.parts, self.kerf, self.lengths)}
        above = below = self.view.left - CLEAR
        top = self.view.point(0.0, self.cut.board.width)[1]
        for cut in board_cuts(self.cut):
            if not self.view.start <= cut.at < self.view.stop:
                continue
            x = self.view.point(cut.at + self.kerf / 2, 0.0)[0]
            at = max(x, above + _disc(cut) / 2 + CLEAR)
            yield line((x, top - self.cut.blank.y / self.view.scale), (x, top + 0.8), HAIR)
            yield line((x, top + 0.8), (at, top + ABOVE - _DISC), HAIR)
            yield from self._number(cut, (at, top + ABOVE - _DISC / 2 - 0.4))
            above = at + _disc(cut) / 2
            text = self.lengths.number(words[str(cut.number)].mark)
            mark_x = self.view.point(words[str(cut.number)].mark, 0.0)[0]
            half = text_width(text, _NUMBER) / 2
            at = max(mark_x, below + half)
            foot = self.view.bottom
            yield line((mark_x, foot), (mark_x, foot - 0.7), HAIR)
            yield line((mark_x, foot - 0.7), (at, foot - 1.5), HAIR)
            yield Text(
                text,
                (at, foot - 1.7 - 0.76 * _NUMBER * MM_PER_POINT),
                _NUMBER,
                anchor="middle",
                role="mark",
            )
            below = at + half + 1.5

    def _later_cuts(self) -> Iterator[Mark]:
        """Numbers of all other cuts on their own lines, clear of one another."""
        later = self.cut.cuts[len(board_cuts(self.cut)) :]
        for kind in ("crosscut", "rip"):
            for cut in later:
                if cut.kind == kind:
                    spot = self._spot(cut)
                    if spot is not None:
                        yield from self._number(cut, spot)

    def _spot(self, cut: Cut) -> Point | None:
        p, half = cut.piece, _disc(cut) / 2
        if cut.kind == "crosscut":
            if not self.view.start <= cut.at < self.view.stop:
                return None
            x, y0 = self.view.point(cut.at + self.kerf / 2, p.y)
            y1 = y0 + p.width / self.view.scale
            tries = [(x, (y0 + y1) / 2)]
            tries += [(x, y1 - half + 1.0 - k) for k in range(int(y1 - y0))]
            tries += [(x + side * half, (y0 + y1) / 2) for side in (1, -1)]
        else:
            box = self.view.box(Rectangle(p.x, cut.at, p.length, self.kerf))
            if box is None:
                return None
            y = (box.y0 + box.y1) / 2
            steps = int(max(box.width - 2 * half - 1, 0) / 1.5) + 1
            tries = [(box.x0 + half + 1 + 1.5 * k, y) for k in range(steps)]
            # Of a short piece the number may stand out over its left end.
            tries += [(box.x1 - half - 0.5, y), (box.x0, y), (box.x0 - half, y)]
        for x, y in tries:
            if self.taken.free(Box(x - half, y - half, x + half, y + half)):
                return x, y
        return tries[0]

    def _number(self, cut: Cut, at: Point) -> Iterator[Mark]:
        """White discs for crosscuts, black ones for rips."""
        half = _disc(cut) / 2
        self.taken.take(Box(at[0] - half, at[1] - half, at[0] + half, at[1] + half))
        cross = cut.kind == "crosscut"
        ink, ground = ("#000000", "#ffffff") if cross else ("#ffffff", "#000000")
        yield Circle(at, 2 * half, Pen(0.3), ground, "number")
        sink = 0.365 * _NUMBER * MM_PER_POINT
        yield Text(str(cut.number), (at[0], at[1] - sink), _NUMBER, True, "middle", 0.0, ink, "cut")

    # --- names ---

    def _named(self, part: Named) -> list[Mark]:
        box = self.view.box(part.place)
        if box is None:
            return []
        size = self.lengths.size(part.place.length, part.place.width)
        letter = (part.letter, True)
        choices = [
            Words(((letter, (f"{part.title} · {size}", False)),)),
            Words(((letter, (part.title, False)), ((size, False),))),
            Words(((letter, (f"{part.short} · {size}", False)),)),
            Words(((letter,), ((part.short, False),), ((size, False),))),
            Words(((letter, (part.title, False)),)),
            Words(((letter, (part.short, False)),)),
            Words(((letter, (size, False)),)),
            Words(((letter,),)),
        ]
        return set_words(choices, box, self.taken, "name", "#000000") or self._outside(part, box)

    def _outside(self, part: Named, box: Box) -> list[Mark]:
        """The letter above the board, with a leader, when the part is too small for it."""
        top = self.view.point(0.0, self.cut.board.width)[1]
        x, y = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
        lane = Box(self.view.left, top + 1.0, self.view.left + 400.0, top + ABOVE)
        for k in range(200):
            at = x + (k // 2 + k % 2) * (1.0 if k % 2 else -1.0)
            near = Box(max(at - 4, lane.x0), lane.y0, at + 4, lane.y1)
            words = [Words((((part.letter, True),),))]
            found = set_words(words, near, self.taken, "name", "#000000", (_NUMBER,))
            if found:
                first = found[0]
                assert isinstance(first, Text)
                return [line((x, y), (first.at[0] + 1.0, first.box.y0), HAIR), *found]
        return []

    def _kept(self, keep: Named) -> list[Mark]:
        box = self.view.box(keep.place)
        if box is None:
            return []
        size = self.lengths.size(keep.place.length, keep.place.width)
        letter = (keep.letter, True)
        choices = [
            Words(((letter, (f"keep · {size}", False)),)),
            Words(((letter, ("keep", False)), ((size, False),))),
            Words(((letter, (size, False)),)),
            Words(((letter,), ((size, False),))),
            Words(((letter,),)),
        ]
        return set_words(choices, box, self.taken, "keep", GREY)


def _disc(cut: Cut) -> float:
    return max(_DISC, text_width(str(cut.number), _NUMBER, True) + 1.0)
