"""The pocket: the clear space for the mattress, and what its stance does to the rails.

y = 0   head legs' inside faces      half_head from the centreline to a rail
y = L   foot legs' inside faces      half_foot, less by half the stance
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.angles import side_rail_length, side_rail_yaw_deg


@dataclass(frozen=True)
class Pocket:
    """Length between head and foot legs, and half widths between the side rails (mm)."""

    length: float
    half_head: float
    half_foot: float
    rake: float = 0.0  # of the head end, about the platform's line (radians)

    @property
    def yaw(self) -> float:
        """How far each side rail is turned from the bed's length (radians)."""
        yaw_deg = side_rail_yaw_deg(2 * self.half_head, 2 * self.half_foot, self.length)
        return math.radians(yaw_deg)

    @property
    def rail_length(self) -> float:
        """Length of a side rail along its inside face."""
        return side_rail_length(2 * self.half_head, 2 * self.half_foot, self.length)

    def lost_below(self, depth: float) -> float:
        """How far the raked head end stands into the pocket's length below its platform."""
        return depth * math.tan(self.rake) if self.rake else 0.0

    def half_width(self, y: float) -> float:
        """Distance of the rails' inside faces from the centreline at ``y``."""
        return self.half_head + (self.half_foot - self.half_head) * y / self.length
