"""Lines and curves in a plane: what a view is drawn of.

Angles are in radians, anticlockwise from the x axis; everything else is in the unit of
whoever holds them (mm of the model, or mm of paper).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]
_SAGITTA = 0.02  # of the curve's own unit, when it is flattened


@dataclass(frozen=True)
class Line:
    """A straight line between two points."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    def points(self, sagitta: float = _SAGITTA) -> list[Point]:
        return [self.start, self.end]

    def placed(self, at: Point, factor: float = 1.0) -> Line:
        return Line(_placed(self.start, at, factor), _placed(self.end, at, factor))


@dataclass(frozen=True)
class Arc:
    """An arc of a circle, anticlockwise from ``first`` to ``last`` (last > first)."""

    centre: Point
    radius: float
    first: float
    last: float

    @property
    def length(self) -> float:
        return self.radius * (self.last - self.first)

    @property
    def is_whole(self) -> bool:
        return self.last - self.first > math.tau - 1e-6

    def point_at(self, angle: float) -> Point:
        cx, cy = self.centre
        return cx + self.radius * math.cos(angle), cy + self.radius * math.sin(angle)

    def points(self, sagitta: float = _SAGITTA) -> list[Point]:
        step = _step(self.radius, sagitta)
        count = max(2, math.ceil((self.last - self.first) / step))
        turn = (self.last - self.first) / count
        return [self.point_at(self.first + i * turn) for i in range(count + 1)]

    def placed(self, at: Point, factor: float = 1.0) -> Arc:
        return Arc(_placed(self.centre, at, factor), self.radius * factor, self.first, self.last)


@dataclass(frozen=True)
class EllipseArc:
    """An arc of an ellipse; ``major`` is its half long axis as a vector, angles are parameters."""

    centre: Point
    major: Point
    ratio: float
    first: float
    last: float

    @property
    def length(self) -> float:
        run = self.points()
        return sum(math.dist(a, b) for a, b in pairwise(run))

    def point_at(self, t: float) -> Point:
        c, s = math.cos(t), math.sin(t) * self.ratio
        (mx, my), (cx, cy) = self.major, self.centre
        return cx + mx * c - my * s, cy + my * c + mx * s

    def points(self, sagitta: float = _SAGITTA) -> list[Point]:
        step = _step(math.hypot(*self.major), sagitta)
        count = max(2, math.ceil((self.last - self.first) / step))
        turn = (self.last - self.first) / count
        return [self.point_at(self.first + i * turn) for i in range(count + 1)]

    def placed(self, at: Point, factor: float = 1.0) -> EllipseArc:
        mx, my = self.major
        centre = _placed(self.centre, at, factor)
        return EllipseArc(centre, (mx * factor, my * factor), self.ratio, self.first, self.last)


@dataclass(frozen=True)
class Poly:
    """A curve of no simple form, by points that lie close on it."""

    run: tuple[Point, ...]

    @property
    def length(self) -> float:
        return sum(math.dist(a, b) for a, b in pairwise(self.run))

    def points(self, sagitta: float = _SAGITTA) -> list[Point]:
        return list(self.run)

    def placed(self, at: Point, factor: float = 1.0) -> Poly:
        return Poly(tuple(_placed(p, at, factor) for p in self.run))


Curve = Line | Arc | EllipseArc | Poly


def bounds(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """The box round points: least x, least y, greatest x, greatest y."""
    run = list(points)
    xs, ys = [p[0] for p in run], [p[1] for p in run]
    return min(xs), min(ys), max(xs), max(ys)


def bounds_of(curves: Iterable[Curve]) -> tuple[float, float, float, float]:
    return bounds(point for curve in curves for point in curve.points())


def _placed(p: Point, at: Point, factor: float) -> Point:
    return at[0] + factor * p[0], at[1] + factor * p[1]


def _step(radius: float, sagitta: float) -> float:
    return 2 * math.acos(1 - min(sagitta / max(radius, sagitta), 0.2))
