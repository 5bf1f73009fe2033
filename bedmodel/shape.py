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

import functools
from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.cuts import (
    DIGITS,
    Axis,
    Boss,
    Cut,
    Key,
    Mortise,
    Trim,
    Turning,
    flipped,
    is_for_tenon,
    rounded,
)
from bedmodel.frames import Frame, Vector
from bedmodel.outline import Outline, Point
from bedmodel.profiles import Moulding

Face = Literal["xy", "xz", "yz"]
EasingStyle = Literal["square", "roundover", "chamfer"]


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


@dataclass(frozen=True)
class Shape:
    """One part in its own frame: the outline pushed through, eased, moulded, sawn, added to, cut.

    ``base`` says from where to where the outline is pushed, where that is less than
    the whole blank because bosses fill the rest.
    """

    length: float
    width: float
    thickness: float
    outline: Outline
    face: Face = "xy"
    cuts: tuple[Cut, ...] = ()
    easing: Easing = SQUARE
    bosses: tuple[Boss, ...] = ()
    base: tuple[float, float] | None = None
    trims: tuple[Trim | Turning, ...] = ()
    mouldings: tuple[Moulding, ...] = ()

    @property
    def blank(self) -> Vector:
        return (self.length, self.width, self.thickness)

    @property
    def depth(self) -> float:
        """How far the outline is pushed (mm)."""
        start, end = self.reach
        return end - start

    @property
    def reach(self) -> tuple[float, float]:
        """From where to where the outline is pushed, along the axis square to its face."""
        return self.base or (0.0, self.blank["xyz".index(self.across)])

    @property
    def across(self) -> Axis:
        """The axis along which the outline is pushed."""
        across: dict[Face, Axis] = {"xy": "z", "xz": "y", "yz": "x"}
        return across[self.face]

    @property
    def mortises(self) -> tuple[Mortise, ...]:
        """The mortises of tenons and dowels among the cuts."""
        return tuple(c for c in self.cuts if isinstance(c, Mortise) and c.role == "mortise")

    @property
    def tenon_cuts(self) -> tuple[Mortise, ...]:
        """What tenons, haunches and dowels go into."""
        return tuple(c for c in self.cuts if isinstance(c, Mortise) and is_for_tenon(c))

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
        base = self.base
        if base is not None and axis == self.across:
            whole = self.blank["xyz".index(axis)]
            base = (whole - base[1], whole - base[0])
        cuts = tuple(cut.reflected(axis, self.blank) for cut in self.cuts)
        bosses = tuple(boss.reflected(axis, self.blank) for boss in self.bosses)
        trims = tuple(trim.reflected(axis, self.blank) for trim in self.trims)
        mouldings = tuple(each.reflected(axis, self.blank) for each in self.mouldings)
        return replace(
            self,
            outline=outline,
            cuts=cuts,
            bosses=bosses,
            base=base,
            trims=trims,
            mouldings=mouldings,
        )

    def key(self) -> Key:
        """A value equal for shapes that are the same part, whatever the names inside."""
        return self._key

    @functools.cached_property
    def _key(self) -> Key:
        eased = self.easing.edges if self.easing.active else frozenset()
        easing = (self.easing.style, round(self.easing.size, DIGITS)) if self.easing.active else ()
        return (
            rounded(self.blank),
            self.face,
            self.outline.canonical(eased),
            easing,
            tuple(sorted((cut.key() for cut in self.cuts), key=repr)),
            tuple(sorted((boss.key() for boss in self.bosses), key=repr)),
            rounded(self.reach),
            tuple(sorted((trim.key() for trim in self.trims), key=repr)),
            tuple(sorted((each.key() for each in self.mouldings), key=repr)),
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
            return shape, mirrored_placement(placement, axis, shape.blank)
    return shape.reflected("z"), mirrored_placement(placement, "z", shape.blank)


def mirrored_placement(placement: Frame, axis: Axis, blank: Vector) -> Frame:
    """Where the blank's own mirror image lies when the bed is mirrored (x to -x)."""
    i = "xyz".index(axis)
    corner = tuple(blank[k] if k == i else 0.0 for k in range(3))
    axes = [flipped(a, "x") for a in (placement.x, placement.y, placement.z)]
    axes[i] = tuple(-c for c in axes[i])  # type: ignore[assignment]
    origin = flipped(placement.point((corner[0], corner[1], corner[2])), "x")
    return Frame(origin, *axes)
