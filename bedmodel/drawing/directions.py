"""Ways of looking at a part, and how views stand to one another in third-angle projection.

            +-----+
            | top |
    +------+-------+-------+
    | left | front | right |
    +------+-------+-------+
           | bottom |
           +-------+

In third-angle projection each view lies on the side from which it is seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bedmodel.drawing.curves import Point
from bedmodel.frames import ORIGIN, Frame, Vector, cross, dot, scale, unit

Side = Literal["front", "back", "top", "bottom", "left", "right"]


@dataclass(frozen=True)
class Look:
    """Which way is right, up, and towards the eye, in the frame of what is seen."""

    right: Vector
    up: Vector

    @property
    def toward(self) -> Vector:
        return cross(self.right, self.up)

    @property
    def frame(self) -> Frame:
        return Frame(ORIGIN, self.right, self.up, self.toward)

    def flat(self, p: Vector) -> Point:
        return dot(p, self.right), dot(p, self.up)

    def depth(self, p: Vector) -> float:
        """How near the eye a point is."""
        return dot(p, self.toward)

    def seen_from(self, side: Side) -> Look:
        """The view from one side of this one, which is the front."""
        r, u, n = self.right, self.up, self.toward
        return {
            "front": Look(r, u),
            "top": Look(r, scale(n, -1.0)),
            "bottom": Look(r, n),
            "right": Look(scale(n, -1.0), u),
            "left": Look(n, u),
            "back": Look(r, scale(u, -1.0)),
        }[side]

    def side_of(self, direction: Vector) -> Side:
        """From which side something that looks that way is seen."""
        towards: dict[Side, float] = {
            "right": dot(direction, self.right),
            "left": -dot(direction, self.right),
            "top": dot(direction, self.up),
            "bottom": -dot(direction, self.up),
            "front": dot(direction, self.toward),
            "back": -dot(direction, self.toward),
        }
        return max(towards, key=lambda side: round(towards[side], 6))


def isometric(right: float = 1.0, back: float = 1.0) -> Look:
    """From above, at equal angles to the three axes; ``right`` and ``back`` say which corner."""
    toward = unit((right, back, 1.0))
    across = unit(cross((0.0, 0.0, 1.0), toward))
    return Look(across, cross(toward, across))
