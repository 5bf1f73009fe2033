"""What is cut into a part, sawn off it, turned on it, or stands out of it, as plain data.

Each has its own frame in the part frame, a mirror image, and a key that is equal for equal
cuts however their frames are turned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.frames import Frame, Vector, X, Y, Z, dot, scale, subtract
from bedmodel.outline import Outline, Point

Axis = Literal["x", "y", "z"]
SlotEnds = Literal["round", "square"]
# mortise for a tenon or a dowel; haunch, a shallow one for the haunch beside a tenon;
# groove for a panel's edge; recess for a plate let in flush; pocket behind a plate's slots;
# hole for a bolt, a barrel, a pin, or through metal; pilot for a screw's thread
Role = Literal["mortise", "haunch", "groove", "recess", "pocket", "hole", "pilot"]
Key = tuple[object, ...]

DIGITS = 6  # shapes equal to a nanometre are one shape


def slot(length: float, width: float, ends: SlotEnds) -> Outline:
    """A slot round the origin, ``length`` along x: cheeks along it, edges across."""
    x, y = length / 2, width / 2
    if ends == "square":
        corners = ((-x, -y), (x, -y), (x, y), (-x, y))
        names = ("cheek", "edge", "cheek", "edge")
        return Outline(corners, (0.0,) * 4, names)
    x -= y
    return Outline.of(
        [
            ((-x, -y), 0.0, "cheek"),
            ((x, -y), 1.0, "edge"),
            ((x, y), 0.0, "cheek"),
            ((-x, y), 1.0, "edge"),
        ]
    )


@dataclass(frozen=True)
class Mortise:
    """A slot for a tenon; its ends are round, as a router leaves them, or square.

    A hole for a dowel, a bolt or a screw is a slot with round ends that is as
    long as it is wide.

        x along the slot, y across it, z into the wood; origin at the centre
        of the opening

             |<------- length ------->|
              ________________________
             (           + ->x         )   | width
              ------------------------

    ``frame`` places it in the part frame; ``name`` is unique in the part. Cuts of
    one ``family`` are made to run into one another: those of one fastener, a haunch's
    groove and the mortises in it; a mortise by itself has none. A cut that goes
    ``through`` comes out of the far face.
    """

    name: str
    frame: Frame
    length: float
    width: float
    depth: float
    ends: SlotEnds = "round"
    role: Role = "mortise"
    family: str = ""
    through: bool = False

    @property
    def opening(self) -> Outline:
        """The slot's outline in the frame's x and y."""
        return slot(self.length, self.width, self.ends)

    @property
    def sweep(self) -> Outline:
        """What the tool covers; the opening itself."""
        return self.opening

    @property
    def is_round(self) -> bool:
        """True for a hole."""
        return self.ends == "round" and self.length == self.width

    def reflected(self, axis: Axis, blank: Vector) -> Mortise:
        return replace(self, frame=_mirrored_frame(self.frame, axis, blank))

    def key(self) -> Key:
        # A slot is the same when turned end for end, so x counts without its sign.
        x = tuple(round(c, DIGITS) + 0.0 for c in self.frame.x)
        x = max(x, tuple(-c + 0.0 for c in x))
        return (
            self.ends,
            rounded(self.frame.origin),
            rounded(self.frame.z),
            () if self.is_round else x,
            rounded((self.length, self.width, self.depth)),
        )


@dataclass(frozen=True)
class Recess:
    """A flat-bottomed cut of any outline, that may run out at the sides of its part.

    ``opening`` is drawn in the frame's x and y, round its origin; z goes into
    the wood. ``sweep`` is what the tool covers: the opening, and more where it
    runs out over an edge of the part.
    """

    name: str
    frame: Frame
    opening: Outline
    sweep: Outline
    depth: float
    role: Role = "recess"
    family: str = ""
    through: bool = False

    @property
    def length(self) -> float:
        """Extent along x of the sweep, as if its middle were the origin."""
        x0, _, x1, _ = self.sweep.bounds()
        return 2 * max(-x0, x1)

    @property
    def width(self) -> float:
        """Extent along y of the sweep, as if its middle were the origin."""
        _, y0, _, y1 = self.sweep.bounds()
        return 2 * max(-y0, y1)

    @property
    def is_round(self) -> bool:
        return False

    def reflected(self, axis: Axis, blank: Vector) -> Recess:
        return replace(
            self,
            frame=_mirrored_frame(self.frame, axis, blank),
            opening=_mirrored_outline(self.opening),
            sweep=_mirrored_outline(self.sweep),
        )

    def key(self) -> Key:
        return (_plane_key(self.frame, self.sweep), round(self.depth, DIGITS))


Cut = Mortise | Recess


def is_for_tenon(cut: Cut) -> bool:
    """True for what a tenon, a haunch or a dowel goes into; all else is a fastener's."""
    return cut.role in ("mortise", "haunch")


def made_to_meet(one: Cut, other: Cut) -> bool:
    """Whether two cuts of a part may run into one another; two mortises never may."""
    related = bool(one.family) and one.family == other.family
    return related and not one.role == other.role == "mortise"


@dataclass(frozen=True)
class Boss:
    """What stands out of the pushed outline: a second outline, pushed ``height`` along z.

    The outline is drawn in the frame's x and y; the frame lies in the part frame.
    A tenon on a board's end is one, a hook on its plate, the shank under a head.
    """

    frame: Frame
    outline: Outline
    height: float

    def reflected(self, axis: Axis, blank: Vector) -> Boss:
        return replace(
            self,
            frame=_mirrored_frame(self.frame, axis, blank),
            outline=_mirrored_outline(self.outline),
        )

    def key(self) -> Key:
        # Pushed from either end, it is the same.
        there = max(self, self._from_far_end(), key=lambda boss: rounded(boss.frame.z))
        return (_plane_key(there.frame, there.outline), round(self.height, DIGITS))

    def _from_far_end(self) -> Boss:
        f = self.frame
        far = f.point((0.0, 0.0, self.height))
        back = Frame.from_zx(far, scale(f.z, -1.0), f.x)
        return replace(self, frame=back, outline=_mirrored_outline(self.outline))


@dataclass(frozen=True)
class Trim:
    """A saw cut through the whole part: the wood beyond a plane is taken off.

    The plane is that of the frame's x and y, in the part frame; z points to what falls off.
    Trims come after easing, so a sawn face has sharp arrises, and before bosses and cuts.
    With a ``stop``, the plane of another frame, only what lies beyond both comes off: the
    cut ends inside the part, as a stopped chamfer does.
    """

    name: str
    frame: Frame
    stop: Frame | None = None

    def reflected(self, axis: Axis, blank: Vector) -> Trim:
        stop = _mirrored_frame(self.stop, axis, blank) if self.stop else None
        return replace(self, frame=_mirrored_frame(self.frame, axis, blank), stop=stop)

    def moved(self, by: Vector) -> Trim:
        stop = self.stop.moved(by) if self.stop else None
        return replace(self, frame=self.frame.moved(by), stop=stop)

    @property
    def planes(self) -> tuple[Frame, ...]:
        return (self.frame, self.stop) if self.stop else (self.frame,)

    def beyond(self, p: Vector) -> float:
        """How far inside what falls off a point of the part frame lies (mm); else negative."""
        return min(dot(subtract(p, plane.origin), plane.z) for plane in self.planes)

    def key(self) -> Key:
        return tuple((rounded(f.z), round(dot(f.origin, f.z), DIGITS) + 0.0) for f in self.planes)


@dataclass(frozen=True)
class Turning:
    """An end of the part turned to a cone on the lathe, from the frame's plane on.

    The frame's z is the lathe's axis and points to the end; ``radius`` is that below the
    square shoulder in the frame's plane, ``end_radius`` that ``length`` further on.
    """

    name: str
    frame: Frame
    length: float
    radius: float
    end_radius: float

    def reflected(self, axis: Axis, blank: Vector) -> Turning:
        return replace(self, frame=_mirrored_frame(self.frame, axis, blank))

    def moved(self, by: Vector) -> Turning:
        return replace(self, frame=self.frame.moved(by))

    def lengthened(self, by: float) -> Turning:
        """The same cone, going on ``by`` (mm) beyond its end."""
        length = self.length + by
        return replace(self, length=length, end_radius=self.radius_at(length))

    def radius_at(self, along: float) -> float:
        return self.radius + (self.end_radius - self.radius) * along / self.length

    def beyond(self, p: Vector) -> float:
        """How far inside what is turned off a point of the part frame lies (mm), nearly."""
        x, y, z = self.frame.inverse().point(p)
        return min(z, math.hypot(x, y) - self.radius_at(z))

    def key(self) -> Key:
        f = self.frame
        sizes = rounded((self.length, self.radius, self.end_radius))
        return (rounded(f.origin), rounded(f.z), sizes)


def _mirrored_frame(frame: Frame, axis: Axis, blank: Vector) -> Frame:
    """The frame with its z and x mirrored; its y then points the other way round."""
    z, x = flipped(frame.z, axis), flipped(frame.x, axis)
    return Frame.from_zx(flipped_point(frame.origin, axis, blank), z, x)


def _mirrored_outline(outline: Outline) -> Outline:
    """An outline as drawn in a mirrored frame."""
    return outline.mapped(lambda p: (p[0], -p[1]), mirrored=True)


def _plane_key(frame: Frame, outline: Outline) -> Key:
    """Equal for equal outlines in one plane, however their frames are turned in it."""
    least = min((X, Y, Z), key=lambda axis: round(abs(dot(axis, frame.z)), DIGITS))
    plane = Frame.from_zx((0.0, 0.0, 0.0), frame.z, least)

    def drawn(p: Point) -> Point:
        there = frame.point((p[0], p[1], 0.0))
        return dot(there, plane.x), dot(there, plane.y)

    level = round(dot(frame.origin, frame.z), DIGITS) + 0.0
    return rounded(frame.z), level, outline.mapped(drawn).canonical()


def flipped(v: Vector, axis: Axis) -> Vector:
    i = "xyz".index(axis)
    return (-v[0] if i == 0 else v[0], -v[1] if i == 1 else v[1], -v[2] if i == 2 else v[2])


def flipped_point(p: Vector, axis: Axis, blank: Vector) -> Vector:
    i = "xyz".index(axis)
    x, y, z = (blank[k] - p[k] if k == i else p[k] for k in range(3))
    return (x, y, z)


def rounded(values: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(round(v, DIGITS) + 0.0 for v in values)
