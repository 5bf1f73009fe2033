"""An outline at full size, as lines and words in mm: what is laid on paper.

Arcs become chords no more than ``FLAT`` from them, far below what a pencil or a printer's
dot can show.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from bedmodel.exports.paper.sheet import Box, Path, Pen, Point, Text, line
from bedmodel.exports.paper.type import MM_PER_POINT, drawable, fitted
from bedmodel.outline import Edge, Outline
from bedmodel.shop.sheet import FACE, GRAIN, NOTES, Label, Mark

FLAT = 0.002  # mm
EDGE = Pen(0.2)
ENGRAVED = Pen(0.13, "#404040")
LEADER = Pen(0.13, "#808080")
_CAPITALS = 0.73  # share of a size that capitals stand high, read from the font's outlines
_LEAST = 4.0  # points


@dataclass(frozen=True)
class FullSize:
    """An outline to be printed 1:1: rings, straight marks and words (mm), and what it is."""

    name: str
    title: str
    rings: tuple[Outline, ...]
    marks: tuple[Mark, ...]
    labels: tuple[Label, ...]

    @cached_property
    def lines(self) -> tuple[Path, ...]:
        rings = (Path(tuple(flattened(ring)), EDGE, closed=True, role="cut") for ring in self.rings)
        return (*rings, *(line(m.start, m.end, _pen(m), role="mark") for m in self.marks))

    @cached_property
    def words(self) -> tuple[Text, ...]:
        return tuple(_text(label) for label in self.labels)

    @cached_property
    def box(self) -> Box:
        """What all of it covers, words too."""
        points = [point for path in self.lines for point in path.points]
        points += [corner for text in self.words for corner in text.box.corners]
        xs, ys = zip(*points, strict=True)
        return Box(min(xs), min(ys), max(xs), max(ys))


def flattened(outline: Outline) -> Iterator[Point]:
    """The corners of an outline, and points of its arcs no more than ``FLAT`` from the chord."""
    for edge in outline.edges():
        yield edge.start
        steps = _steps(edge)
        yield from (edge.point_at(k / steps) for k in range(1, steps))


def _steps(edge: Edge) -> int:
    if not edge.is_arc:
        return 1
    # A chord of angle a leaves an arc by r (1 - cos(a / 2)).
    largest = 2 * math.acos(max(0.0, 1 - FLAT / edge.radius))
    return max(2, math.ceil(abs(edge.sweep) / largest))


def _pen(mark: Mark) -> Pen:
    return LEADER if mark.layer in (NOTES, GRAIN, FACE) else ENGRAVED


def _text(label: Label) -> Text:
    """A label in the font of the sheets, no wider than the room that was kept for it."""
    from bedmodel.exports.words import text_width

    words, size = fitted(
        drawable(label.text),
        text_width(label.text, label.height),
        label.height / _CAPITALS / MM_PER_POINT,
        _LEAST,
    )
    return Text(words, label.at, size, turn_deg=label.turn_deg, role="word")


def pieces_of(path: Path) -> Sequence[Point]:
    """The points of a line, the first again at the end when it is closed."""
    return (*path.points, path.points[0]) if path.closed else path.points
