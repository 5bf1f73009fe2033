"""Outlines as polygons, and polygons as convex parts.

An arc becomes a few chords or a few tangents. The *outer* polygon of an outline holds
all of it, so what fits as a polygon fits as wood; the *inner* one lies within it, so
that what is proven impossible for it is impossible for the wood.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from bedmodel.outline import Edge, Outline, Point

Polygon = tuple[Point, ...]  # anticlockwise, the last joined to the first
Box = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y

_FLAT = 1e-9  # mm2; a corner that turns by less is straight


def outer_polygon(outline: Outline, tolerance: float) -> Polygon:
    """A polygon that holds the outline and is nowhere more than ``tolerance`` (mm) outside."""
    return _polygon(outline, tolerance, "outer")


def inner_polygon(outline: Outline, tolerance: float) -> Polygon:
    """A polygon within the outline, nowhere more than ``tolerance`` (mm) inside."""
    return _polygon(outline, tolerance, "inner")


def _polygon(outline: Outline, tolerance: float, side: Literal["outer", "inner"]) -> Polygon:
    points: list[Point] = []
    for edge in outline.edges():
        points.append(edge.start)
        if edge.is_arc:
            # The wood lies inside a bulging arc, but outside the circle of a hollow one.
            tangents = (edge.bulge > 0) == (side == "outer")
            points += _tangent_corners(edge, tolerance) if tangents else _on_arc(edge, tolerance)
    return without_flat_corners(points)


def _on_arc(arc: Edge, tolerance: float) -> Iterator[Point]:
    """Points on the arc whose chords stray from it by the tolerance at most."""
    half = math.acos(max(1 - tolerance / arc.radius, 0.0))
    pieces = max(math.ceil(abs(arc.sweep) / (2 * half) - 1e-9), 1)
    for i in range(1, pieces):
        yield arc.point_at(i / pieces)


def _tangent_corners(arc: Edge, tolerance: float) -> Iterator[Point]:
    """Where the tangents at both ends, and between, meet one another."""
    half = math.acos(1 / (1 + tolerance / arc.radius))
    pieces = max(math.ceil(abs(arc.sweep) / (2 * half) - 1e-9), 1)
    step = arc.sweep / pieces
    reach = arc.radius / math.cos(step / 2)
    cx, cy = arc.centre
    first = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    for i in range(pieces):
        angle = first + (i + 0.5) * step
        yield (cx + reach * math.cos(angle), cy + reach * math.sin(angle))


def without_flat_corners(points: Sequence[Point]) -> Polygon:
    """The same polygon without repeated points and corners that do not turn."""
    kept = list(points)
    i = 0
    while i < len(kept) and len(kept) > 3:
        if abs(_turn(kept[i - 1], kept[i], kept[(i + 1) % len(kept)])) < _FLAT:
            kept.pop(i)
            i = max(i - 1, 0)
        else:
            i += 1
    return tuple(kept)


def area(polygon: Polygon) -> float:
    """The area (mm2), positive when it runs anticlockwise."""
    pairs = zip(polygon, polygon[1:] + polygon[:1], strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


def box(polygon: Sequence[Point]) -> Box:
    xs, ys = [p[0] for p in polygon], [p[1] for p in polygon]
    return min(xs), min(ys), max(xs), max(ys)


def moved(polygon: Polygon, dx: float, dy: float) -> Polygon:
    return tuple((x + dx, y + dy) for x, y in polygon)


def turned(polygon: Polygon, angle_deg: float) -> Polygon:
    """The polygon turned anticlockwise round the origin; exact for half turns."""
    if angle_deg % 180 == 0:
        sign = 1.0 if angle_deg % 360 == 0 else -1.0
        return tuple((sign * x, sign * y) for x, y in polygon)
    angle = math.radians(angle_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    return tuple((x * cosine - y * sine, x * sine + y * cosine) for x, y in polygon)


def turned_over(polygon: Polygon) -> Polygon:
    """The polygon mirrored in the x axis, anticlockwise again."""
    return tuple((x, -y) for x, y in reversed(polygon))


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Polygon:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


# --- convex parts -------------------------------------------------------------------------


def convex_parts(polygon: Polygon) -> tuple[Polygon, ...]:
    """Cut a polygon without holes into convex ones, along lines from its hollow corners."""
    hollow = _hollow_corners(polygon)
    if not hollow:
        return (polygon,)
    count = len(polygon)
    best: tuple[float, float, int, int] | None = None
    for i in hollow:
        for j in range(count):
            if (i - j) % count in (0, 1, count - 1) or not _sees(polygon, i, j):
                continue
            first, second = _halves(polygon, i, j)
            left = len(_hollow_corners(first)) + len(_hollow_corners(second))
            rank = (left, math.dist(polygon[i], polygon[j]), i, j)
            if best is None or rank < best:
                best = rank
    assert best is not None, "a polygon that does not cross itself can always be cut"
    first, second = _halves(polygon, best[2], best[3])
    return convex_parts(first) + convex_parts(second)


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _hollow_corners(polygon: Polygon) -> list[int]:
    count = len(polygon)
    return [
        i
        for i in range(count)
        if _turn(polygon[i - 1], polygon[i], polygon[(i + 1) % count]) < -_FLAT
    ]


def _halves(polygon: Polygon, i: int, j: int) -> tuple[Polygon, Polygon]:
    low, high = min(i, j), max(i, j)
    return (
        without_flat_corners(polygon[low : high + 1]),
        without_flat_corners(polygon[high:] + polygon[: low + 1]),
    )


def _sees(polygon: Polygon, i: int, j: int) -> bool:
    """Whether the line between two corners runs inside the polygon."""
    count, p, q = len(polygon), polygon[i], polygon[j]
    for at, towards in ((i, q), (j, p)):
        before, here, after = polygon[at - 1], polygon[at], polygon[(at + 1) % count]
        left, right = _turn(before, here, towards) > _FLAT, _turn(towards, here, after) > _FLAT
        solid = _turn(before, here, after) >= -_FLAT
        if not (left and right if solid else left or right):
            return False
    for k in range(count):
        m = (k + 1) % count
        if {k, m} & {i, j}:
            continue
        a, b = polygon[k], polygon[m]
        if _turn(p, q, a) * _turn(p, q, b) <= 0 and _turn(a, b, p) * _turn(a, b, q) <= 0:
            return False
    return True
