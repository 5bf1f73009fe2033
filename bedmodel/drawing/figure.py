"""One view as it stands on paper: lines, hatching, dimensions and words, before it has its place.

Everything is in mm of paper round the view's own origin; ``scale`` says how many mm of the
model are one of paper, so a true length is a length here times ``scale``.

measure    a dimension: what it measures, what is written, and how it is drawn
body       the box of the part as seen, without its dimensions
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Literal

from bedmodel.drawing.curves import Curve, Line, Point, bounds
from bedmodel.exports.paper.sheet import Box, Text

HATCH_GAP = 1.6  # mm of paper between hatching lines
# What a line stands for; widths and dashes are in ``pens``.
Ink = Literal["visible", "hidden", "centre", "phantom", "thin", "plane", "done", "edge", "whole"]
MeasureKind = Literal["linear", "aligned", "running", "radius", "diameter", "angle"]


@dataclass(frozen=True)
class Stroke:
    """A curve and what it stands for."""

    ink: Ink
    curve: Curve

    @cached_property
    def box(self) -> Box:
        return box_of(self.curve.points())


@dataclass(frozen=True)
class Fill:
    """A small filled area: an arrowhead, a dot."""

    points: tuple[Point, ...]


@dataclass(frozen=True)
class Hatch:
    """A cut face: its rings, the outer one first, and the direction of its lines (degrees)."""

    rings: tuple[tuple[Point, ...], ...]
    angle_deg: float = 45.0


@dataclass(frozen=True)
class Measure:
    """A dimension.

    ``points`` are what it measures between, by its kind: the two ends and a point on the
    dimension line; datum, place and end of the leader; centre and a point of the arc; the
    angle's corner, a point on either leg, and a point on its arc. ``value`` is in mm of the
    model, or degrees; ``of`` names what is measured.
    """

    kind: MeasureKind
    points: tuple[Point, ...]
    value: float
    of: str
    text: Text
    strokes: tuple[Stroke, ...]
    fills: tuple[Fill, ...] = ()
    along: Literal["x", "y", ""] = ""

    @cached_property
    def box(self) -> Box:
        """What its text and its lines cover."""
        return around([self.text.box, *(s.box for s in self.strokes)])


@dataclass(frozen=True)
class Figure:
    """A view with all that belongs to it."""

    name: str
    scale: float
    body: Box
    strokes: tuple[Stroke, ...] = ()
    measures: tuple[Measure, ...] = ()
    hatches: tuple[Hatch, ...] = ()
    words: tuple[Text, ...] = ()
    fills: tuple[Fill, ...] = ()

    @cached_property
    def box(self) -> Box:
        """What all its ink covers."""
        boxes = [self.body, *(word.box for word in self.words)]
        boxes += [measure.box for measure in self.measures]
        boxes += [s.box for s in self.strokes]
        return around(boxes)

    @property
    def texts(self) -> tuple[Text, ...]:
        return (*self.words, *(m.text for m in self.measures if m.text.text))

    @property
    def lines(self) -> Iterator[Stroke]:
        """Every line drawn, those of the dimensions too."""
        yield from self.strokes
        for measure in self.measures:
            yield from measure.strokes

    def shrunk(self, by: float) -> Figure:
        """A picture without words or dimensions, ``by`` times smaller."""
        strokes = tuple(Stroke(s.ink, s.curve.placed((0.0, 0.0), 1 / by)) for s in self.strokes)
        body = around(s.box for s in strokes)
        return Figure(self.name, self.scale * by, body, strokes)

    def adding(
        self,
        *,
        strokes: Iterable[Stroke] = (),
        measures: Iterable[Measure] = (),
        words: Iterable[Text] = (),
        fills: Iterable[Fill] = (),
        hatches: Iterable[Hatch] = (),
    ) -> Figure:
        return replace(
            self,
            strokes=(*self.strokes, *strokes),
            measures=(*self.measures, *measures),
            words=(*self.words, *words),
            fills=(*self.fills, *fills),
            hatches=(*self.hatches, *hatches),
        )


def box_of(points: Iterable[Point]) -> Box:
    return Box(*bounds(points))


def around(boxes: Iterable[Box]) -> Box:
    """The box round boxes."""
    run = list(boxes)
    return Box(
        min(b.x0 for b in run),
        min(b.y0 for b in run),
        max(b.x1 for b in run),
        max(b.y1 for b in run),
    )


def grown(box: Box, by: float) -> Box:
    return Box(box.x0 - by, box.y0 - by, box.x1 + by, box.y1 + by)


def stroke(ink: Ink, *points: Point) -> tuple[Stroke, ...]:
    """A run of straight lines through points."""
    return tuple(Stroke(ink, Line(a, b)) for a, b in pairwise(points) if a != b)
