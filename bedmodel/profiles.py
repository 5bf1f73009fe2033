"""Edge profiles: what a router bit with a bearing takes off an arris, as true arcs and steps.

Drawn across the arris, y over the face away from it, z down the edge, both into the wood:

    arris                      roundover   one quarter of a circle, no step
      +----- width -----> y    chamfer     one flat at 45 degrees
      |   removed  |           ovolo       a quarter round with a step (quirk) at each end
    drop      _____|           thumbnail   one arc, flat where it leaves a step in the face and
      |  ___/                              falling to the edge
      v z  wood

An ovolo takes ``size`` for its radius. A thumbnail is ``size`` wide and half as deep below its
step, so that its radius is 1.25 of its size; no standard fixes the form, this is common
practice. Sources: forms of roundover, chamfer and ovolo (round over with two beads) as router
bits are sold, from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.frames import Frame, Vector, add, cross, dot, scale, subtract
from bedmodel.outline import Edge, Outline, Point

ProfileStyle = Literal["roundover", "chamfer", "ovolo", "thumbnail"]
OVERSHOOT = 1.0  # mm that a tool's section goes past the two faces
_DIGITS = 6
_TAN_EIGHTH = math.tan(math.pi / 8)  # bulge of a quarter circle


@dataclass(frozen=True)
class Profile:
    """The section that is taken off (mm); ``quirk`` is the step of an ovolo or thumbnail."""

    style: ProfileStyle
    size: float
    quirk: float = 0.0

    @property
    def width(self) -> float:
        """Over the face."""
        return self.size + self.quirk if self.style == "ovolo" else self.size

    @property
    def drop(self) -> float:
        """Down the edge."""
        if self.style == "thumbnail":
            return self.size / 2 + self.quirk
        return self.width

    @property
    def radius(self) -> float:
        """Of its arc; of a chamfer, 0."""
        if self.style == "thumbnail":
            return 1.25 * self.size
        return 0.0 if self.style == "chamfer" else self.size

    @property
    def area(self) -> float:
        """What is taken off, across the arris (mm2)."""
        s, q = self.size, self.quirk
        if self.style == "chamfer":
            return s**2 / 2
        if self.style == "roundover":
            return (1 - math.pi / 4) * s**2
        if self.style == "ovolo":
            return (s + q) ** 2 - math.pi * s**2 / 4
        r = self.radius
        under = s / 2 * math.sqrt(r**2 - s**2) + r**2 / 2 * math.asin(s / r)
        return q * s + r * s - under

    def drop_at(self, y: float) -> float:
        """How deep it is at ``y`` over the face."""
        s, q = self.size, self.quirk
        if y >= self.width:
            return 0.0
        if self.style == "chamfer":
            return s - y
        if self.style == "thumbnail":
            return q + self.radius - math.sqrt(self.radius**2 - (s - y) ** 2)
        if y < q:
            return self.drop
        return q + s - math.sqrt(max(0.0, s**2 - (s + q - y) ** 2))

    def outline(self, beyond: float = 0.0) -> Outline:
        """What is taken off, anticlockwise in y and z, going ``beyond`` past both faces."""
        w, d, q = self.width, self.drop, self.quirk
        steps: list[tuple[Point, float, str]] = [
            ((-beyond, -beyond), 0.0, "outside"),
            ((w, -beyond), 0.0, "outside" if self.style in ("chamfer", "roundover") else "step"),
        ]
        if self.style == "chamfer":
            steps.append(((w, 0.0), 0.0, "flat"))
        elif self.style == "thumbnail":
            # The arc's middle lies under its flat end; half the turned angle is its bulge's.
            turned = math.asin(self.size / self.radius)
            steps.append(((w, q), -math.tan(turned / 4), "arc"))
        else:
            start = q if self.style == "ovolo" else 0.0
            steps.append(((w, start), -_TAN_EIGHTH, "arc"))
            if self.style == "ovolo":
                steps.append(((q, d), 0.0, "step"))
        if self.style != "ovolo":
            steps.append(((0.0, d), 0.0, "outside"))
        if beyond or self.style == "ovolo":
            steps.append(((-beyond, d), 0.0, "outside"))
        return Outline.of(steps)

    def key(self) -> tuple[object, ...]:
        return (self.style, round(self.size, _DIGITS), round(self.quirk, _DIGITS))


@dataclass(frozen=True)
class Moulding:
    """A profile along a straight arris, or along an arc, in the part frame.

    ``frame`` lies at its start: x along the arris, y over the face, z down the edge. A stopped
    end runs out as the bit does, round its axis, which stands ``bearing`` (a radius) off the
    edge; an end that is not stopped goes out through the end of the part. Of an arc the
    middle lies at y = ``bend``: into the wood of a round edge, outside of a hollow one.
    """

    name: str
    frame: Frame
    length: float
    profile: Profile
    bearing: float
    stopped: tuple[bool, bool]
    bend: float | None = None

    def at(self, along: float) -> Frame:
        """The frame of the arris ``along`` mm from its start."""
        f = self.frame
        if self.bend is None:
            return Frame(add(f.origin, scale(f.x, along)), f.x, f.y, f.z)
        turn = along / self.bend
        sine, cosine = math.sin(turn), math.cos(turn)
        place = f.point((self.bend * sine, self.bend * (1 - cosine), 0.0))
        return Frame(
            place, f.direction((cosine, sine, 0.0)), f.direction((-sine, cosine, 0.0)), f.z
        )

    @property
    def run_out(self) -> float:
        """How far a stopped end goes on along the arris while it runs out (mm)."""
        return run_out(self.profile, self.bearing)

    def reflected(self, axis: Literal["x", "y", "z"], blank: Vector) -> Moulding:
        i = "xyz".index(axis)

        def turned(v: Vector) -> Vector:
            a, b, c = (-value if k == i else value for k, value in enumerate(v))
            return a, b, c

        end = self.at(self.length)
        x, y, z = (blank[k] - end.origin[k] if k == i else end.origin[k] for k in range(3))
        # Mirrored, its axes are a left hand's: so it begins at its other end.
        frame = Frame((x, y, z), scale(turned(end.x), -1.0), turned(end.y), turned(end.z))
        return replace(self, frame=frame, stopped=(self.stopped[1], self.stopped[0]))

    def key(self) -> tuple[object, ...]:
        f = self.frame
        numbers = (*f.origin, *f.x, *f.y, *f.z, self.length, self.bearing, self.bend or 0.0)
        return (*(round(n, _DIGITS) + 0.0 for n in numbers), *self.profile.key(), self.stopped)


def run_out(profile: Profile, bearing: float) -> float:
    """How far along the arris a bit of that bearing radius cuts ahead of its axis."""
    return math.sqrt((bearing + profile.width) ** 2 - bearing**2)


def moulding(
    name: str,
    ends: tuple[Vector, Vector],
    across: Vector,
    down: Vector,
    profile: Profile,
    bearing: float,
    stopped: tuple[bool, bool],
) -> Moulding:
    """A moulding between two points of an arris, whichever way round its axes make a right hand."""
    start, end = ends
    along = subtract(end, start)
    length = math.sqrt(dot(along, along))
    x = scale(along, 1 / length)
    if dot(cross(x, across), down) < 0:
        start, x, stopped = end, scale(x, -1.0), (stopped[1], stopped[0])
    return Moulding(name, Frame(start, x, across, down), length, profile, bearing, stopped)


def arc_moulding(
    name: str,
    edge: Edge,
    level: float,
    down: Vector,
    profile: Profile,
    bearing: float,
) -> Moulding:
    """A moulding along an arc of an outline in x and y, at height ``level``, both ends stopped."""
    ends = ((edge.start, edge.end), (edge.end, edge.start))[down[2] < 0]
    cx, cy = edge.centre
    x0, y0 = ends[0]
    out = ((x0 - cx) / edge.radius, (y0 - cy) / edge.radius)
    # The outline runs anticlockwise: of a hollow arc, which turns clockwise, the middle is outside.
    hollow = edge.bulge < 0
    across = (out[0], out[1], 0.0) if hollow else (-out[0], -out[1], 0.0)
    frame = Frame((x0, y0, level), cross(across, down), across, down)
    bend = -edge.radius if hollow else edge.radius
    return Moulding(name, frame, edge.length, profile, bearing, (True, True), bend)


def shortened(found: Moulding, start: float, end: float, stops: tuple[bool, bool]) -> Moulding:
    """The part of a moulding from ``start`` to ``end`` along it."""
    return replace(found, frame=found.at(start), length=end - start, stopped=stops)
