"""Find room for words among lines: no word lies on a line or on another word."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from bedmodel.drawing.curves import Curve, Point
from bedmodel.drawing.figure import HATCH_GAP, Figure, Measure, Stroke, stroke
from bedmodel.exports.paper.sheet import Box, Pen, Text, hatch

_COARSE = 0.15  # mm between a curve and its bits
_CELL = 8.0  # mm
Segment = tuple[Point, Point]


@dataclass
class Ink:
    """The lines and words that are there already, in cells of some mm."""

    cells: dict[tuple[int, int], list[Segment]] = field(default_factory=dict)
    boxes: list[Box] = field(default_factory=list)

    @classmethod
    def of(cls, figure: Figure) -> Ink:
        ink = cls()
        for line in figure.lines:
            ink.add_curve(line.curve)
        for text in figure.texts:
            ink.boxes.append(text.box)
        for area in figure.hatches:
            for path in hatch(area.rings[0], HATCH_GAP, area.angle_deg, Pen()):
                ink.add_segment(*path.points)
        return ink

    def copy(self) -> Ink:
        return Ink({cell: list(bits) for cell, bits in self.cells.items()}, list(self.boxes))

    def add_measure(self, measure: Measure) -> None:
        """A dimension, with its lines and its text."""
        for line in measure.strokes:
            self.add_curve(line.curve)
        if measure.text.text:
            self.boxes.append(measure.text.box)

    def add_curve(self, curve: Curve) -> None:
        run = curve.points(_COARSE)
        for a, b in pairwise(run):
            self.add_segment(a, b)

    def add_segment(self, a: Point, b: Point) -> None:
        for cell in _cells(_hull(a, b)):
            self.cells.setdefault(cell, []).append((a, b))

    def crossing(self, box: Box) -> Iterator[Segment]:
        """The lines that run through a box."""
        for cell in _cells(box):
            for a, b in self.cells.get(cell, ()):
                if crosses(a, b, box):
                    yield a, b

    def is_free(self, box: Box) -> bool:
        if any(box.meets(other) for other in self.boxes):
            return False
        return next(self.crossing(box), None) is None

    def leaves_words(self, lines: Iterable[Stroke]) -> bool:
        """True when no word is crossed by new lines."""
        runs = [line.curve.points(_COARSE) for line in lines]
        bits = [bit for run in runs for bit in pairwise(run)]
        return not any(crosses(a, b, box) for a, b in bits for box in self.boxes)


def crosses(a: Point, b: Point, box: Box) -> bool:
    """True when a line has any point inside a box."""
    low, high = 0.0, 1.0
    for start, way, least, most in (
        (a[0], b[0] - a[0], box.x0, box.x1),
        (a[1], b[1] - a[1], box.y0, box.y1),
    ):
        if abs(way) < 1e-12:
            if not least < start < most:
                return False
            continue
        ends = sorted(((least - start) / way, (most - start) / way))
        low, high = max(low, ends[0]), min(high, ends[1])
        if low >= high:
            return False
    return True


def set_label(
    ink: Ink,
    at: Point,
    text: str,
    size: float,
    *,
    bold: bool = False,
    least: float = 1.0,
    prefer_deg: float = 45.0,
    within: Box | None = None,
    reach: float = 34.0,
    avoid: Sequence[Point] = (),
) -> tuple[Text, tuple[Stroke, ...]]:
    """A word as near as can be to a point, with a leader where it is not beside it.

    It stays ``within`` a box, no further than ``reach``, and covers none of the points that
    other words are for.
    """
    plain = Text(text, (0.0, 0.0), size, bold).box
    high, wide = plain.height, plain.width
    best: tuple[Text, tuple[Stroke, ...]] | None = None
    distance = least
    while distance < reach and best is None:
        for k in range(16):
            turn = math.radians(prefer_deg + (k + 1) // 2 * (22.5 if k % 2 else -22.5))
            c, s = math.cos(turn), math.sin(turn)
            x = at[0] + c * (distance + wide / 2 * abs(c))
            y = at[1] + s * (distance + high / 2 * abs(s))
            box = Box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
            clear = Box(box.x0 - 0.35, box.y0 - 0.25, box.x1 + 0.35, box.y1 + 0.25)
            if not ink.is_free(clear) or not (within is None or within.holds(clear)):
                continue
            if any(crosses(p, (p[0] + 0.1, p[1]), clear) for p in avoid if p != at):
                continue
            lead = _leader(at, box) if distance > 3.0 else ()
            if not ink.leaves_words(lead):
                continue
            best = Text(text, (box.x0, box.y0 - plain.y0), size, bold), lead
            break
        distance += 0.8
    if best is None:
        word = Text(text, (at[0] + least, at[1] + least - plain.y0), size, bold)
        best = word, ()
    word, lead = best
    ink.boxes.append(word.box)
    for line in lead:
        ink.add_curve(line.curve)
    return word, lead


def _leader(at: Point, box: Box) -> tuple[Stroke, ...]:
    to = (min(max(at[0], box.x0), box.x1), min(max(at[1], box.y0), box.y1))
    length = math.dist(at, to)
    if length < 1.5:
        return ()
    end = tuple(t + (a - t) * 0.4 / length for a, t in zip(at, to, strict=True))
    return stroke("thin", at, (end[0], end[1]))


def _hull(a: Point, b: Point) -> Box:
    return Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))


def _cells(box: Box) -> Iterable[tuple[int, int]]:
    left, right = math.floor(box.x0 / _CELL), math.floor(box.x1 / _CELL)
    low, high = math.floor(box.y0 / _CELL), math.floor(box.y1 / _CELL)
    if left == right and low == high:  # as nearly always
        return ((left, low),)
    return [(i, j) for i in range(left, right + 1) for j in range(low, high + 1)]
