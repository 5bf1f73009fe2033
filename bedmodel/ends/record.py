"""What fills an end between two of its rails, as plain numbers (mm, bed frame).

    lower, upper   the two rails, by their places in the end's list of boards
    bottom, top    the rails' facing edges, above the floor
    setback        the fill's middle plane, from the legs' inside faces
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bedmodel.shape import EasingStyle, SlotEnds


@dataclass(frozen=True)
class Between:
    """The opening between two rails of an end; ``half`` is half its width, leg to leg."""

    lower: int
    upper: int
    bottom: float
    top: float
    setback: float
    half: float

    @property
    def height(self) -> float:
        return self.top - self.bottom


@dataclass(frozen=True)
class UprightPlan:
    """Slats or spindles of one opening: where they stand, and how their ends are let in.

    ``middles`` are along X, from left to right. A round one has ``tenon_width`` and
    ``tenon_thickness`` alike, the diameter of its pin.
    """

    word: Literal["slat", "spindle"]
    where: Between
    middles: tuple[float, ...]
    gap: float
    end_gap: float
    width: float
    thickness: float
    tenon_width: float
    tenon_thickness: float
    let_in: float
    clearance: float
    end_room: float
    wall_least: float
    ends: SlotEnds
    edge: EasingStyle
    edge_size: float

    @property
    def is_round(self) -> bool:
        return self.word == "spindle"

    @property
    def length(self) -> float:
        """Over all, pins or tenons counted in."""
        return self.where.height + 2 * self.let_in

    @property
    def hole_depth(self) -> float:
        return self.let_in + self.end_room

    @property
    def gaps(self) -> tuple[tuple[str, float], ...]:
        """Each sort of gap once: what it is between, and how wide."""
        between = ((f"between {self.word}s", self.gap),) if len(self.middles) > 1 else ()
        return (*between, (f"between {self.word} and leg", self.end_gap))


Fill = UprightPlan
