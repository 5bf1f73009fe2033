"""The volume of a part from its shape alone, without the solid modeller.

Outlines, bosses, cuts and profiles by closed forms. What a slanting saw cut or the lathe takes
off is added up over slices through the part, square to the way its outline is pushed:

      _________________________
     |                      /  |      one slice: the outline, and of it what falls off
     |_____________________/___|
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING

from bedmodel.cuts import Boss, Trim, Turning
from bedmodel.frames import Frame, Vector, dot, subtract
from bedmodel.outline import Outline, Point
from bedmodel.shape import Shape

if TYPE_CHECKING:
    from shapely import Polygon

SLICES = 24  # within 1 part in 1,000 on the legs of every style
_CHORD = math.radians(4)
_FLAT = 1e-9
_ROUND = 1 - math.pi / 4  # of a square, what a quarter circle leaves


def volume(shape: Shape) -> float:
    """Volume of a part (mm3).

    Where two cuts or tenons run into one another, what they share counts twice: up to 4 parts
    in a thousand of a leg or board with haunches, far less elsewhere. The checks measure the
    solids themselves.
    """
    easing = shape.easing
    corner = _ROUND if easing.style == "roundover" else 0.5
    corner *= easing.size**2 if easing.active else 0.0
    long = sum(e.length for e in shape.outline.edges() if e.name in easing.edges)
    # Profiles are cut over the easing, so what that took is not taken again.
    moulded = sum(m.length * max(0.0, m.profile.area - corner) for m in shape.mouldings)
    added = sum(_stands_out(shape, boss) for boss in shape.bosses)
    taken = sum(cut.opening.area * cut.depth for cut in shape.cuts)
    pushed = shape.outline.area * shape.depth - _sawn_off(shape)
    return pushed - 2 * long * corner - moulded + added - taken


def _stands_out(shape: Shape, boss: Boss) -> float:
    """A boss less what of it lies inside the pushed outline."""
    whole = boss.outline.area * boss.height
    axis = "xyz".index(shape.across)
    if abs(abs(boss.frame.z[axis]) - 1) > _FLAT:
        return whole  # it stands on a side of the outline
    ends = sorted(boss.frame.point((0.0, 0.0, h))[axis] for h in (0.0, boss.height))
    start, end = shape.reach
    inside = min(end, ends[1]) - max(start, ends[0])
    if inside <= 0:
        return whole
    a, b = ("xyz".index(letter) for letter in shape.face)

    def drawn(p: Point) -> Point:
        there = boss.frame.point((p[0], p[1], 0.0))
        return there[a], there[b]

    outline = boss.outline.mapped(drawn)
    return whole - float(_polygon(outline).intersection(_polygon(shape.outline)).area) * inside


def _sawn_off(shape: Shape) -> float:
    """What saw cuts and the lathe take off the pushed outline."""
    if not shape.trims:
        return 0.0
    from shapely import union_all

    start, end = shape.reach
    outline, thick = _polygon(shape.outline), (end - start) / SLICES
    total = 0.0
    for i in range(SLICES):
        level = start + (i + 0.5) * thick
        waste = union_all([_waste(shape, trim, level) for trim in shape.trims])
        total += float(outline.intersection(waste).area) * thick
    return total


def _waste(shape: Shape, trim: Trim | Turning, level: float) -> Polygon:
    """What falls off at a level of the pushing, in the axes of the outline."""
    from shapely import Polygon

    reach = 2 * max(shape.blank)
    square = [(-reach, -reach), (2 * reach, -reach), (2 * reach, 2 * reach), (-reach, 2 * reach)]

    def place(p: Point) -> Vector:
        there = dict(zip(shape.face, p, strict=True)) | {shape.across: level}
        return there["x"], there["y"], there["z"]

    planes = trim.planes if isinstance(trim, Trim) else (trim.frame,)
    ring: Sequence[Point] = square
    for plane in planes:
        ring = list(_beyond(ring, partial(_height, plane, place)))
    waste = Polygon(ring) if len(ring) > 2 else Polygon()
    return waste.difference(_kept(shape, trim, level)) if isinstance(trim, Turning) else waste


def _height(plane: Frame, place: Callable[[Point], Vector], p: Point) -> float:
    """How far a point of a slice lies over a plane."""
    return dot(subtract(place(p), plane.origin), plane.z)


def _beyond(ring: Sequence[Point], height: Callable[[Point], float]) -> Iterator[Point]:
    """A convex ring's part over a line, on which the height is 0."""
    for i, here in enumerate(ring):
        there = ring[(i + 1) % len(ring)]
        one, other = height(here), height(there)
        if one >= 0:
            yield here
        if one * other < 0:
            t = one / (one - other)
            yield here[0] + t * (there[0] - here[0]), here[1] + t * (there[1] - here[1])


def _kept(shape: Shape, turning: Turning, level: float) -> Polygon:
    """The slice of the cone at a level: its axis lies in the plane of the slices."""
    from shapely import Polygon

    frame, axis = turning.frame, "xyz".index(shape.across)
    off = level - frame.origin[axis]
    a, b = ("xyz".index(letter) for letter in shape.face)
    side = (frame.x, frame.y)[abs(frame.x[axis]) > 0.5]
    ends = []
    for i in range(SLICES + 1):
        along = turning.length * i / SLICES
        half = math.sqrt(max(0.0, turning.radius_at(along) ** 2 - off**2))
        ends.append((frame.point((0.0, 0.0, along)), half))
    ring = [(p[a] + h * side[a], p[b] + h * side[b]) for p, h in ends]
    ring += [(p[a] - h * side[a], p[b] - h * side[b]) for p, h in reversed(ends)]
    return Polygon(ring).buffer(0)


def _polygon(outline: Outline) -> Polygon:
    """The outline with its arcs as chords of a few degrees, of the same area but for 1 in 1,000."""
    from shapely import Polygon

    ring: list[Point] = []
    for edge in outline.edges():
        steps = max(1, math.ceil(abs(edge.sweep) / _CHORD))
        ring += [edge.point_at(i / steps) for i in range(steps)]
    return Polygon(ring)
