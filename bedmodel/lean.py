"""How one end of the bed leans: from its own upright frame to where it stands in the bed.

An end is laid out as if it stood upright: X across, Y from head to foot, Z up along its
legs. A raked head end is then turned about one line, where the legs' inside faces meet
the platform, so that its top leans back and its feet come towards the foot of the bed:

      \\  |          side view; the end's own heights are measured along the leg, and
       \\ | Z up     above the platform they begin at that line
        \\|
    -----+--------- platform: y = 0, the pocket's head end
         |\\  -> Y
         | \\
    _____|__\\______ floor

Heights along the leg and plumb heights are the same on the platform's line, and differ by
1 / cos(rake) of the distance from it elsewhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from bedmodel.frames import Frame, Vector


@dataclass(frozen=True)
class Lean:
    """The lean of one end: ``rake`` from plumb (radians) about the line at height ``pivot`` (mm).

    Without a rake every method gives back what it was given, to the last bit.
    """

    rake: float = 0.0
    pivot: float = 0.0

    @cached_property
    def frame(self) -> Frame:
        """The end's own upright frame, placed in the bed."""
        if not self.rake:
            return Frame()
        sine, cosine = math.sin(self.rake), math.cos(self.rake)
        origin = (0.0, self.pivot * sine, self.pivot - self.pivot * cosine)
        return Frame(origin, (1.0, 0.0, 0.0), (0.0, cosine, sine), (0.0, -sine, cosine))

    def placed(self, own: Frame) -> Frame:
        """What stands in the end's upright frame, in the bed."""
        return self.frame @ own if self.rake else own

    def point(self, own: Vector) -> Vector:
        """A point of the end's upright frame, in the bed."""
        return self.frame.point(own) if self.rake else own

    def own(self, there: Vector) -> Vector:
        """A point of the bed, in the end's upright frame."""
        return self.frame.inverse().point(there) if self.rake else there

    def direction(self, own: Vector) -> Vector:
        """A direction of the end's upright frame, in the bed."""
        return self.frame.direction(own) if self.rake else own

    def along(self, height: float, out: float = 0.0) -> float:
        """Height along the leg of a plumb height, ``out`` from the inside faces towards +Y."""
        if not self.rake:
            return height
        return self.pivot + (height - self.pivot) / math.cos(self.rake) - out * math.tan(self.rake)

    def plumb(self, own: float, out: float = 0.0) -> float:
        """Plumb height of a height along the leg, ``out`` from the inside faces towards +Y."""
        if not self.rake:
            return own
        return self.pivot + (own - self.pivot) * math.cos(self.rake) + out * math.sin(self.rake)

    def inside_y(self, height: float) -> float:
        """Y of the legs' inside faces at a plumb height: towards the foot below the pivot."""
        return (self.pivot - height) * math.tan(self.rake) if self.rake else 0.0


UPRIGHT = Lean()
