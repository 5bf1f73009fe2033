"""Any smooth curve as true arcs, each joined to the next on one tangent.

Between two points with their tangents lies a biarc: two arcs that meet on a tangent. Where
the curve strays from it by more than is allowed, it is halved. Source of the joint's place:
Bolton, Biarc curves, Computer-Aided Design 7 (1975), with equal tangent lengths.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence

from bedmodel.outline import Edge, Point

Curve = Callable[[float], Point]

_SAMPLES = 24
_FLAT = 1e-7  # mm; an arc that rises less over its chord is a line
MOST_ARCS = 400


class TooManyArcs(ValueError):
    """The curve would need more arcs than a drawing of a leg may have."""


def as_arcs(
    point: Curve, slope: Curve, knots: Sequence[float], name: str, within: float
) -> tuple[list[Edge], float]:
    """Arcs for a curve, and how far it strays from them (mm).

    ``point`` and ``slope`` give place and derivative at a parameter; ``knots`` are the
    parameters from start to end between which the curve is smooth. Raises TooManyArcs.
    """
    found: list[Edge] = []
    worst = 0.0
    spans = [(a, b) for a, b in itertools.pairwise(knots) if b > a][::-1]
    while spans:
        a, b = spans.pop()
        pair = _biarc(point(a), _unit(point, slope, a, b), point(b), _unit(point, slope, b, a))
        off = _strays(point, a, b, pair, _SAMPLES)
        if off > 0.8 * within and b - a > 1e-9 * (abs(a) + abs(b)):
            if len(found) + 2 * len(spans) > MOST_ARCS:
                raise TooManyArcs
            spans += [((a + b) / 2, b), (a, (a + b) / 2)]
            continue
        # Looked at again, more closely, for what is told.
        worst = max(worst, off, _strays(point, a, b, pair, 5 * _SAMPLES + 1))
        found += [Edge(s, e, bulge, name) for s, e, bulge in pair if math.dist(s, e) > 1e-9]
    return found, worst


_Arc = tuple[Point, Point, float]


def _unit(point: Curve, slope: Curve, at: float, other: float) -> Point:
    """The tangent at one end of a span, as seen from inside it, in the curve's sense."""
    inside = at + (other - at) * 1e-7
    x, y = slope(inside)
    size = math.hypot(x, y)
    if not size > 1e-12:  # a cusp: the chord has to do
        sign = 1.0 if other > at else -1.0
        (x0, y0), (x1, y1) = point(at), point(at + (other - at) * 1e-3)
        x, y = sign * (x1 - x0), sign * (y1 - y0)
        size = math.hypot(x, y) or 1.0
    return x / size, y / size


def _biarc(a: Point, ta: Point, b: Point, tb: Point) -> list[_Arc]:
    v = (b[0] - a[0], b[1] - a[1])
    t = (ta[0] + tb[0], ta[1] + tb[1])
    vt, vv = v[0] * t[0] + v[1] * t[1], v[0] ** 2 + v[1] ** 2
    spare = 2 * (1 - ta[0] * tb[0] - ta[1] * tb[1])
    if vv < 1e-24:
        return [(a, b, 0.0)]
    if spare < 1e-12:
        along = v[0] * tb[0] + v[1] * tb[1]
        reach = vv / (4 * along) if along > 1e-12 else math.sqrt(vv)
    else:
        reach = (math.sqrt(vt * vt + spare * vv) - vt) / spare
    middle = (
        (a[0] + b[0] + reach * (ta[0] - tb[0])) / 2,
        (a[1] + b[1] + reach * (ta[1] - tb[1])) / 2,
    )
    return [
        (a, middle, _bulge(a, middle, ta, 1.0)),
        (middle, b, _bulge(middle, b, tb, -1.0)),
    ]


def _bulge(a: Point, b: Point, tangent: Point, sign: float) -> float:
    """Of the arc that leaves ``a`` on the tangent, or with sign -1 comes to ``b`` on it."""
    x, y = b[0] - a[0], b[1] - a[1]
    turn = math.atan2(tangent[0] * y - tangent[1] * x, tangent[0] * x + tangent[1] * y)
    bulge = math.tan(sign * turn / 2)
    return 0.0 if abs(bulge) * math.hypot(x, y) / 2 < _FLAT else bulge


def _strays(point: Curve, a: float, b: float, pair: Sequence[_Arc], samples: int) -> float:
    edges = [Edge(s, e, bulge, "") for s, e, bulge in pair if math.dist(s, e) > 1e-12]
    worst = 0.0
    for i in range(1, samples):
        p = point(a + (b - a) * i / samples)
        worst = max(worst, min((distance_to(p, e) for e in edges), default=math.inf))
    return worst


def distance_to(p: Point, edge: Edge) -> float:
    """How far a point is from a line or an arc (mm)."""
    ends = min(math.dist(p, edge.start), math.dist(p, edge.end))
    if edge.is_arc:
        cx, cy = edge.centre
        turn = math.atan2(p[1] - cy, p[0] - cx)
        first = math.atan2(edge.start[1] - cy, edge.start[0] - cx)
        along = (turn - first) % math.tau if edge.bulge > 0 else (first - turn) % math.tau
        if along <= abs(edge.sweep):
            return abs(math.dist(p, (cx, cy)) - edge.radius)
        return ends
    (x0, y0), (x1, y1) = edge.start, edge.end
    x, y, size = x1 - x0, y1 - y0, edge.chord
    share = ((p[0] - x0) * x + (p[1] - y0) * y) / (size * size) if size > 0 else 0.0
    if 0 <= share <= 1:
        return abs((p[0] - x0) * y - (p[1] - y0) * x) / size
    return ends
