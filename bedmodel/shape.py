"""What one part is: its blank, its outline, its cuts and its eased edges, as plain data.

Words used here:

part frame   x along the grain, y across the grain, z through the thickness;
             the blank fills 0..length, 0..width, 0..thickness
face         the pair of axes the outline is drawn in: "xy" for an outline seen
             on the wide face (legs, boards), "xz" for one seen on the narrow
             edge (a side rail with its slanted ends), "yz" for a cross-section
             (a loose tenon with its round edges)
arris        the sharp edge where a face meets a side of the outline
easing       taking that sharpness off: a roundover or a chamfer

A shape holds no solid. Sizes, hands, cut list and routing templates are taken
from it without the solid modeller; ``solids`` makes the solid from it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.frames import Frame, Vector
from bedmodel.outline import Outline, Point

Face = Literal["xy", "xz", "yz"]
Axis = Literal["x", "y", "z"]
SlotEnds = Literal["round", "square"]
EasingStyle = Literal["square", "roundover", "chamfer"]
Key = tuple[object, ...]

_DIGITS = 6  # shapes equal to a nanometre are one shape


@dataclass(frozen=True)
class Easing:
    """Which arrises are eased, how, and by how much (roundover radius or chamfer leg, mm)."""

    style: EasingStyle
    size: float
    edges: frozenset[str]

    @property
    def active(self) -> bool:
        return self.style != "square" and self.size > 0 and bool(self.edges)


SQUARE = Easing("square", 0.0, frozenset())


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

    A hole for a dowel is a slot with round ends that is as long as it is wide.

        x along the slot, y across it, z into the wood; origin at the centre
        of the opening

             |<------- length ------->|
              ________________________
             (           + ->x         )   | width
              ------------------------

    ``frame`` places it in the part frame; ``name`` is unique in the part.
    """

    name: str
    frame: Frame
    length: float
    width: float
    depth: float
    ends: SlotEnds = "round"

    @property
    def opening(self) -> Outline:
        """The slot's outline in the frame's x and y."""
        return slot(self.length, self.width, self.ends)

    def reflected(self, axis: Axis, blank: Vector) -> Mortise:
        f = self.frame
        z, x = _flip(f.z, axis), _flip(f.x, axis)
        mirrored = Frame.from_zx(_flip_point(f.origin, axis, blank), z, x)
        return replace(self, frame=mirrored)

    def key(self) -> Key:
        # A slot is the same when turned end for end, so x counts without its sign.
        x = tuple(round(c, _DIGITS) + 0.0 for c in self.frame.x)
        x = max(x, tuple(-c + 0.0 for c in x))
        return (
            self.ends,
            _rounded(self.frame.origin),
            _rounded(self.frame.z),
            x,
            _rounded((self.length, self.width, self.depth)),
        )


Cut = Mortise


@dataclass(frozen=True)
class Shape:
    """One part in its own frame: the outline pushed through the blank, then cut, then eased."""

    length: float
    width: float
    thickness: float
    outline: Outline
    face: Face = "xy"
    cuts: tuple[Cut, ...] = ()
    easing: Easing = SQUARE

    @property
    def blank(self) -> Vector:
        return (self.length, self.width, self.thickness)

    @property
    def depth(self) -> float:
        """How far the outline is pushed through the blank (mm)."""
        return {"xy": self.thickness, "xz": self.width, "yz": self.length}[self.face]

    def with_cuts(self, cuts: tuple[Cut, ...]) -> Shape:
        return replace(self, cuts=self.cuts + cuts)

    def reflected(self, axis: Axis) -> Shape:
        """The mirror image in the middle plane of the blank square to ``axis``."""
        outline = self.outline
        if axis in self.face:
            across = self.blank["xyz".index(axis)]

            def flip(p: Point) -> Point:
                return (across - p[0], p[1]) if axis == self.face[0] else (p[0], across - p[1])

            outline = outline.mapped(flip, mirrored=True)
        cuts = tuple(cut.reflected(axis, self.blank) for cut in self.cuts)
        return replace(self, outline=outline, cuts=cuts)

    def key(self) -> Key:
        """A value equal for shapes that are the same part, whatever the names inside."""
        eased = self.easing.edges if self.easing.active else frozenset()
        easing = (self.easing.style, round(self.easing.size, _DIGITS)) if self.easing.active else ()
        return (
            _rounded(self.blank),
            self.face,
            self.outline.canonical(eased),
            easing,
            tuple(sorted((cut.key() for cut in self.cuts), key=repr)),
        )


def mirror_pair(shape: Shape, placement: Frame) -> tuple[Shape, Frame]:
    """Return the left-hand part that mirrors a right-hand one across the bed's centre plane.

    When the shape is its own mirror image in one of its middle planes, the same
    shape comes back, turned round; else its mirror image does, as a part of its
    own. Either way the placement is a turn and a shift, never a reflection.
    """
    for axis in ("z", "y", "x"):
        image = shape.reflected(axis)
        if image.key() == shape.key():
            return shape, _mirrored_placement(placement, axis, shape.blank)
    return shape.reflected("z"), _mirrored_placement(placement, "z", shape.blank)


def _mirrored_placement(placement: Frame, axis: Axis, blank: Vector) -> Frame:
    """The bed's mirror (x to -x) after the placement after the blank's own mirror."""
    i = "xyz".index(axis)
    corner = tuple(blank[k] if k == i else 0.0 for k in range(3))
    axes = [_flip(a, "x") for a in (placement.x, placement.y, placement.z)]
    axes[i] = tuple(-c for c in axes[i])  # type: ignore[assignment]
    origin = _flip(placement.point((corner[0], corner[1], corner[2])), "x")
    return Frame(origin, *axes)


def _flip(v: Vector, axis: Axis) -> Vector:
    i = "xyz".index(axis)
    return (-v[0] if i == 0 else v[0], -v[1] if i == 1 else v[1], -v[2] if i == 2 else v[2])


def _flip_point(p: Vector, axis: Axis, blank: Vector) -> Vector:
    i = "xyz".index(axis)
    x, y, z = (blank[k] - p[k] if k == i else p[k] for k in range(3))
    return (x, y, z)


def _rounded(values: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(round(v, _DIGITS) + 0.0 for v in values)
