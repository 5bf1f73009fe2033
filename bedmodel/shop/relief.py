"""Find the corners that a round cutter cannot leave as drawn, and relieve the inside ones.

A relief lets a square corner of the other part seat without a chisel. Wood below and
to the left, V the drawn corner, t the angle of the air, r the radius of the bit:

         |   air               |   air           o  centre of the bit, r from V
        /                      |
       (   o                   |                 dog-bone  o on the bisector of the corner
       (V                      V  o  ._______    T-bone    o on a line along one edge, the
        `-..._______            `---'                      bit cuts into the other
          dog-bone              T-bone

Into each edge the dog-bone cuts r (1 - sin t/2), the T-bone r (1 + cos t) into one
and nothing into the other. Where t is less than 90 degrees the bit is wider than the
corner, and a straight slot leads to the round end.

Source: plane geometry.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Literal

from bedmodel.cutters import Cutter, round_down
from bedmodel.errors import InputError
from bedmodel.outline import Edge, Outline, Point
from bedmodel.shop.router import (
    Side,
    check_follows,
    crosses_itself,
    direction,
    hollow_sign,
    meeting,
    turn_between,
)

Style = Literal["dog-bone", "t-bone"]
RELIEF = "relief"  # the name of every edge that a relief adds

NOTICEABLE = 0.01  # mm; a corner that misses its drawing by less is not worth a word
_Step = tuple[Point, float, str]


# --- corners ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Corner:
    """A place where the wood does not come out as drawn.

    ``index`` is that of the vertex, or of the edge for an arc tighter than the bit;
    ``angle_deg`` the angle of the air in an inside corner, of the wood in an outside
    one; ``radius`` 0 when drawn sharp; ``names`` those of the edges that meet;
    ``miss`` how far from ``at`` the wood ends up (mm), infinite where the bit does
    not fit in. Each corner and each arc is judged by itself, as if its edges were
    long enough; the whole is judged by ``simulate``.
    """

    index: int
    at: Point
    angle_deg: float
    radius: float
    names: tuple[str, str]
    miss: float


def sharp_inside_corners(
    outline: Outline, diameter: float, side: Side = "outside"
) -> tuple[Corner, ...]:
    """Find the places a bit cannot reach into, and that want a chisel or a relief.

    ``side`` says whether the outline is the part (cut outside) or an opening (cut
    inside). Arcs tighter than the bit count too.
    """
    sign = hollow_sign(side)
    found = [c for c in _corners(outline, sign, diameter / 2) if c.miss > NOTICEABLE]
    for i, edge in enumerate(outline.edges()):
        if edge.bulge * sign > 0 and edge.radius < diameter / 2 - 1e-6:
            turn = abs(edge.sweep)
            more = (diameter / 2 - edge.radius) * (1 / math.cos(turn / 2) - 1)
            miss = more if turn < math.pi - 1e-9 else math.inf
            angle, names = math.degrees(math.pi - turn), (edge.name, edge.name)
            found.append(Corner(i, edge.point_at(0.5), angle, edge.radius, names, miss))
    return tuple(sorted(found, key=lambda corner: corner.index))


def rounded_outside_corners(outline: Outline, cutter: Cutter, side: Side) -> tuple[Corner, ...]:
    """Find the sharp outside corners that a guide rolls round, and so leaves round."""
    found = _corners(outline, -hollow_sign(side), max(0.0, cutter.offset))
    return tuple(corner for corner in found if corner.miss > NOTICEABLE)


def cautions(outline: Outline, cutter: Cutter, side: Side) -> tuple[str, ...]:
    """Say in words which corners will not come out as drawn, and what to do about each."""
    inside = sharp_inside_corners(outline, cutter.diameter, side)
    outside = rounded_outside_corners(outline, cutter, side)
    return (
        *(
            f"inside corner {_where(corner)} keeps the radius of the bit, "
            f"{cutter.diameter / 2:.2f} mm: chisel it or relieve it"
            for corner in inside
        ),
        *(
            f"outside corner {_where(corner)} comes out round, radius {cutter.offset:.2f} mm: "
            "use a bearing of the bit's own size, or guide each side on its own, straight past "
            "the corner"
            for corner in outside
        ),
    )


def _where(corner: Corner) -> str:
    (before, after), (x, y) = corner.names, (round(c, 1) + 0.0 for c in corner.at)
    edges = f"in {before}" if corner.radius else f"between {before} and {after}"
    return f"{edges} at ({x:.1f}, {y:.1f})"


def _corners(outline: Outline, sign: int, radius: float) -> Iterator[Corner]:
    """Corners that turn to one side, as a circle rolled into them, or round them, leaves them."""
    edges = list(outline.edges())
    for i, edge in enumerate(edges):
        turn = turn_between(edges[i - 1], edge)
        if turn * sign > 0:
            centre = meeting(edges[i - 1], edge, -sign * radius)
            if centre is None:  # an arc smaller than the circle: judged by its tangent
                miss = radius * (1 / max(math.cos(turn / 2), 1e-12) - 1)
            else:
                miss = math.dist(centre, edge.start) - radius
            angle = 180.0 - abs(math.degrees(turn))
            yield Corner(i, edge.start, angle, 0.0, (edges[i - 1].name, edge.name), miss)


# --- reliefs ------------------------------------------------------------------------------


def relieved(
    outline: Outline,
    diameter: float,
    style: Style = "dog-bone",
    side: Side = "outside",
    overcut: Collection[str] = (),
) -> Outline:
    """Add a relief to every sharp inside corner, for a bit of ``diameter`` (mm).

    ``side`` as in ``sharp_inside_corners``. A T-bone cuts into the edge whose name
    is in ``overcut``, else into the longer one. The new edges are named "relief".
    Raises InputError for an arc too tight for the bit, a corner at an arc, and a
    relief without room, with the largest bit that would do.
    """
    check_follows(outline, diameter, side)
    edges = list(outline.edges())
    corners = sharp_inside_corners(outline, diameter, side)
    curved = [c for c in corners if edges[c.index - 1].is_arc or edges[c.index].is_arc]
    if curved:
        raise InputError(
            "relief", style, f"the corner {_where(curved[0])} lies at a curve", "chisel it by hand"
        )
    try:
        return _with_bays(outline, diameter, style, side, overcut)
    except _NoRoom as why:
        low, high = 0.0, diameter
        while high - low > 1e-5:
            middle = (low + high) / 2
            try:
                _with_bays(outline, middle, style, side, overcut)
            except _NoRoom:
                high = middle
            else:
                low = middle
        remedy = f"the largest bit that would do is {round_down(low)} mm"
        raise InputError("bit", f"{diameter:g} mm", str(why), remedy) from None


class _NoRoom(ValueError):
    """A relief takes more of an edge than there is, or runs into another edge."""


def _with_bays(
    outline: Outline, diameter: float, style: Style, side: Side, overcut: Collection[str]
) -> Outline:
    edges = list(outline.edges())
    corners = {corner.index for corner in sharp_inside_corners(outline, diameter, side)}
    left = [edge.length for edge in edges]
    steps: list[_Step] = []
    for i, edge in enumerate(edges):
        bay = [edge.start]
        if i in corners:
            before = edges[i - 1]
            bay, bulges = _bay(before, edge, diameter / 2, style, overcut)
            steps += [(p, hollow_sign(side) * b, RELIEF) for p, b in zip(bay, bulges, strict=False)]
            left[i - 1] -= math.dist(edge.start, bay[0])
        left[i] -= math.dist(edge.start, bay[-1])
        steps.append((bay[-1], edge.bulge, edge.name))
    for edge, rest in zip(edges, left, strict=True):
        if rest < -1e-9:
            raise _NoRoom(f"the edge {edge.name} is too short for its relief")
    new = Outline.of(steps)
    if crosses_itself(new):
        raise _NoRoom("a relief would run into another edge")
    return new


def _bay(
    before: Edge, after: Edge, r: float, style: Style, overcut: Collection[str]
) -> tuple[list[Point], list[float]]:
    """The points of a relief, the last on the edge after, and the bulges between them.

    The bulges are those of an opening; outside a part they turn the other way.
    """
    corner = after.start
    if style == "dog-bone":
        return _dog_bone(corner, _back(before), direction(after), r)
    if _cuts_into_after(before, after, overcut):
        return _t_bone(corner, _back(before), direction(after), r)
    points, bulges = _t_bone(corner, direction(after), _back(before), r)
    return points[::-1], bulges[::-1]


def _cuts_into_after(before: Edge, after: Edge, overcut: Collection[str]) -> bool:
    if (before.name in overcut) != (after.name in overcut):
        return after.name in overcut
    return after.length >= before.length


def _dog_bone(v: Point, a: Point, b: Point, r: float) -> tuple[list[Point], list[float]]:
    """From the edge in direction ``a`` off the corner round to the one in direction ``b``."""
    half = _angle_between(a, b) / 2
    if half >= math.pi / 4 - 1e-9:
        reach = 2 * r * math.cos(half)
        return [_at(v, (reach, a)), _at(v, (reach, b))], [math.tan(math.pi / 2 - half)]
    reach, k = r / math.sin(half), 2 * math.cos(half)
    middle = ((a[0] + b[0]) / k, (a[1] + b[1]) / k)
    k = 2 * math.sin(half)
    across = ((a[0] - b[0]) / k, (a[1] - b[1]) / k)
    points = [
        _at(v, (reach, a)),
        _at(v, (r, middle), (r, across)),
        _at(v, (r, middle), (-r, across)),
        _at(v, (reach, b)),
    ]
    return points, [0.0, 1.0, 0.0]


def _t_bone(v: Point, a: Point, b: Point, r: float) -> tuple[list[Point], list[float]]:
    """Along the edge in direction ``a``, and into the one in direction ``b``."""
    angle = _angle_between(a, b)
    sine, cosine = math.sin(angle), math.cos(angle)
    if angle >= math.pi / 2 - 1e-9:
        return [v, _at(v, (2 * r * sine, b))], [math.tan((math.pi - angle) / 2)]
    square = ((b[0] - cosine * a[0]) / sine, (b[1] - cosine * a[1]) / sine)
    return [v, _at(v, (2 * r, square)), _at(v, (2 * r / sine, b))], [1.0, 0.0]


def _at(point: Point, *ways: tuple[float, Point]) -> Point:
    return (
        point[0] + sum(far * way[0] for far, way in ways),
        point[1] + sum(far * way[1] for far, way in ways),
    )


def _back(edge: Edge) -> Point:
    x, y = direction(edge)
    return (-x, -y)


def _angle_between(a: Point, b: Point) -> float:
    return math.atan2(abs(a[0] * b[1] - a[1] * b[0]), a[0] * b[0] + a[1] * b[1])
