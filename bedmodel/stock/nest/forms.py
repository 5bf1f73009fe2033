"""What is nested, in each way it may lie, and the room it is nested in.

    y ^ high +----------------------------+
      |      |  usable, less the margins  |      x along the grain
      |  low +----------------------------+--> x
            start                       stop

A *form* is a part lying in one way: turned over or not, end for end or not, perhaps
tilted. Its polygon is centred: the middle of its box is the origin.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

from bedmodel.outline import Point
from bedmodel.stock.nest.polygons import (
    Box,
    Polygon,
    box,
    convex_parts,
    moved,
    turned,
    turned_over,
)

_ROUNDED = 6


@dataclass(frozen=True)
class Way:
    """How a part lies: first turned over (or not), then turned anticlockwise."""

    mirrored: bool
    turn_deg: float


@dataclass(frozen=True)
class Form:
    """A part lying in one way. ``shift`` took the part's own turned outline to the middle."""

    kind: int
    way: Way
    polygon: Polygon
    shift: Point
    base: Polygon  # the part's own polygon

    @cached_property
    def parts(self) -> tuple[Polygon, ...]:
        """The polygon cut into convex ones."""
        return tuple(moved(_laid(part, self.way), *self.shift) for part in _cut(self.base))

    @property
    def lean_deg(self) -> float:
        """How far it is out of the grain before any further tilt."""
        return math.remainder(self.way.turn_deg, 180.0)

    @cached_property
    def half(self) -> tuple[float, float]:
        """Half the length and half the width of its box."""
        _, _, x, y = box(self.polygon)
        return x, y

    @cached_property
    def reach(self) -> float:
        """How far its farthest corner is from the middle."""
        return max(math.hypot(*p) for p in self.polygon)

    @cached_property
    def key(self) -> tuple[Point, ...]:
        """Equal for forms that look the same."""
        return self.mirror_key(1, 1)

    def mirror_key(self, x_sign: int, y_sign: int) -> tuple[Point, ...]:
        """The key of the form's image mirrored across an axis or both."""
        return _key(self.polygon, x_sign, y_sign)


@cache
def _key(polygon: Polygon, x_sign: int, y_sign: int) -> tuple[Point, ...]:
    image = polygon if x_sign == y_sign else polygon[::-1]
    rounded = [
        (round(x_sign * x, _ROUNDED) + 0.0, round(y_sign * y, _ROUNDED) + 0.0) for x, y in image
    ]
    first = rounded.index(min(rounded))
    return (*rounded[first:], *rounded[:first])


@dataclass(frozen=True)
class Spot:
    """Where the middle of a form lies, and how far it is tilted there."""

    form: Form
    x: float
    y: float
    tilt_deg: float = 0.0

    @property
    def polygon(self) -> Polygon:
        """The polygon where it lies."""
        return moved(turned(self.form.polygon, self.tilt_deg), self.x, self.y)


@dataclass(frozen=True)
class Room:
    """Where parts may lie (mm); they keep clear of the obstacles, which are boxes."""

    start: float
    low: float
    stop: float
    high: float
    obstacles: tuple[Box, ...] = ()

    @property
    def width(self) -> float:
        return self.high - self.low


def form_of(kind: int, polygon: Polygon, way: Way) -> Form:
    """The form of a part's polygon in one way of lying."""
    laid = _laid(polygon, way)
    x0, y0, x1, y1 = box(laid)
    dx, dy = -(x0 + x1) / 2, -(y0 + y1) / 2
    return Form(kind, way, moved(laid, dx, dy), (dx, dy), polygon)


def _laid(polygon: Polygon, way: Way) -> Polygon:
    return turned(turned_over(polygon) if way.mirrored else polygon, way.turn_deg)


_cut = cache(convex_parts)


def forms_of(kind: int, polygon: Polygon, ways: Iterable[Way]) -> tuple[Form, ...]:
    """The forms of a part, those that look the same only once."""
    found: dict[tuple[Point, ...], Form] = {}
    for way in ways:
        form = form_of(kind, polygon, way)
        found.setdefault(form.key, form)
    return tuple(found.values())


def tilt_of_least_width(polygon: Polygon, limit_deg: float) -> float:
    """The tilt within the limit at which a polygon is least wide across the grain (degrees).

    The least width of a polygon is found where an edge of its hull lies along the grain,
    or at the limits, or upright.
    """
    tilts = {0.0, limit_deg, -limit_deg}
    for a in polygon:
        for b in polygon:
            if a != b:
                lie = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
                lie -= 180 * round(lie / 180)
                if abs(lie) <= limit_deg:
                    tilts.add(-lie)
    return min(sorted(tilts, key=lambda t: (abs(t), t)), key=lambda t: width_at(polygon, t))


def width_at(polygon: Sequence[Point], tilt_deg: float) -> float:
    """How wide a polygon is across the grain when tilted."""
    _, low, _, high = box(turned(tuple(polygon), tilt_deg))
    return high - low
