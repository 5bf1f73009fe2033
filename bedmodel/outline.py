"""Closed outlines of straight lines and true arcs, each edge with its name.

One outline value feeds the solid, the routing template, the nest and the
drawing, so that they cannot disagree. An arc is held as its bulge, as in the
LWPOLYLINE entity of DXF: the tangent of a quarter of the included angle,
positive when the arc turns anticlockwise, 0 for a straight line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True)
class Edge:
    """One edge of an outline, from ``start`` to ``end`` (mm), with its name."""

    start: Point
    end: Point
    bulge: float
    name: str

    @property
    def is_arc(self) -> bool:
        return abs(self.bulge) > 1e-12

    @property
    def chord(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def radius(self) -> float:
        """Radius of an arc (mm); infinite for a line."""
        return self.chord * (1 + self.bulge**2) / (4 * abs(self.bulge)) if self.is_arc else math.inf

    @property
    def sweep(self) -> float:
        """Included angle of an arc (radians), positive anticlockwise; 0 for a line."""
        return 4 * math.atan(self.bulge)

    @property
    def length(self) -> float:
        return abs(self.sweep) * self.radius if self.is_arc else self.chord

    @property
    def centre(self) -> Point:
        """Centre of an arc; undefined for a line."""
        (x0, y0), (x1, y1) = self.start, self.end
        k = (1 - self.bulge**2) / (4 * self.bulge)
        return ((x0 + x1) / 2 - k * (y1 - y0), (y0 + y1) / 2 + k * (x1 - x0))

    def point_at(self, t: float) -> Point:
        """The point at the share ``t`` (0 to 1) of the edge's length."""
        if not self.is_arc:
            return (
                self.start[0] + t * (self.end[0] - self.start[0]),
                self.start[1] + t * (self.end[1] - self.start[1]),
            )
        cx, cy = self.centre
        angle = math.atan2(self.start[1] - cy, self.start[0] - cx) + t * self.sweep
        return (cx + self.radius * math.cos(angle), cy + self.radius * math.sin(angle))

    def extremes(self) -> Iterator[Point]:
        """End points, and the quadrant points that lie on the arc."""
        yield self.start
        yield self.end
        if not self.is_arc:
            return
        cx, cy = self.centre
        first = math.atan2(self.start[1] - cy, self.start[0] - cx)
        for quarter in range(4):
            turn = (quarter * math.pi / 2 - first) % math.tau
            if self.bulge < 0:
                turn -= math.tau
            if abs(turn) < abs(self.sweep):
                angle = first + turn
                yield (cx + self.radius * math.cos(angle), cy + self.radius * math.sin(angle))


@dataclass(frozen=True)
class Outline:
    """A closed outline, anticlockwise: vertices, and for each the edge that leaves it.

    ``vertices[i]`` is joined to the next one by an edge of ``bulges[i]`` named
    ``names[i]``; the last joins the first.
    """

    vertices: tuple[Point, ...]
    bulges: tuple[float, ...]
    names: tuple[str, ...]

    @classmethod
    def of(cls, steps: Sequence[tuple[Point, float, str]]) -> Outline:
        """Make an outline from (vertex, bulge, edge name) in either direction.

        Vertices closer than a nanometre are merged; a clockwise list is turned.
        """
        kept = [
            step
            for i, step in enumerate(steps)
            if math.dist(step[0], steps[(i + 1) % len(steps)][0]) > 1e-6
        ]
        outline = cls(*(tuple(column) for column in zip(*kept, strict=True)))
        return outline if outline.area > 0 else outline.reversed()

    @classmethod
    def rectangle(cls, width: float, height: float, names: tuple[str, str, str, str]) -> Outline:
        """A rectangle from the origin; names for the low-y, high-x, high-y, low-x edge."""
        corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
        return cls(corners, (0.0,) * 4, names)

    def edges(self) -> Iterator[Edge]:
        count = len(self.vertices)
        for i in range(count):
            yield Edge(
                self.vertices[i], self.vertices[(i + 1) % count], self.bulges[i], self.names[i]
            )

    def named(self, name: str) -> list[Edge]:
        return [edge for edge in self.edges() if edge.name == name]

    @property
    def area(self) -> float:
        """Enclosed area (mm2), negative when clockwise."""
        total = 0.0
        for e in self.edges():
            total += (e.start[0] * e.end[1] - e.end[0] * e.start[1]) / 2
            if e.is_arc:
                total += e.radius**2 * (e.sweep - math.sin(e.sweep)) / 2
        return total

    @property
    def perimeter(self) -> float:
        return sum(e.length for e in self.edges())

    def bounds(self) -> tuple[float, float, float, float]:
        """The box round the outline: least x, least y, greatest x, greatest y."""
        points = [p for e in self.edges() for p in e.extremes()]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return min(xs), min(ys), max(xs), max(ys)

    def mapped(self, place: Callable[[Point], Point], mirrored: bool = False) -> Outline:
        """The outline with each vertex moved by a rigid map; say if it mirrors."""
        sign = -1.0 if mirrored else 1.0
        moved = Outline(
            tuple(place(p) for p in self.vertices),
            tuple(sign * b for b in self.bulges),
            self.names,
        )
        return moved.reversed() if mirrored else moved

    def reversed(self) -> Outline:
        """The same closed line, run the other way."""
        count = len(self.vertices)
        order = [(-i) % count for i in range(count)]
        return Outline(
            tuple(self.vertices[i] for i in order),
            tuple(-self.bulges[(i - 1) % count] for i in order),
            tuple(self.names[(i - 1) % count] for i in order),
        )

    def canonical(
        self, marked: frozenset[str] = frozenset(), digits: int = 6
    ) -> tuple[tuple[float, ...], ...]:
        """A value equal for outlines that are the same line, wherever they start.

        Names do not count, but whether an edge's name is among ``marked`` does.
        """
        rows = [
            (
                round(x, digits) + 0.0,
                round(y, digits) + 0.0,
                round(b, digits + 3) + 0.0,
                n in marked,
            )
            for (x, y), b, n in zip(self.vertices, self.bulges, self.names, strict=True)
        ]
        first = min(range(len(rows)), key=lambda i: rows[i])
        return tuple(rows[first:] + rows[:first])
