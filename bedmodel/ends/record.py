"""What fills an end between two of its rails, as plain numbers (mm, bed frame).

lower, upper   the two rails, by their places in the end's list of boards
bottom, top    the rails' facing edges, above the floor
setback        the fill's middle plane, from the legs' inside faces
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bedmodel.cuts import SlotEnds
from bedmodel.shape import EasingStyle


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

    def keep_out(self, joint_wall: float) -> float:
        """How much of a rail's edge its joint with the leg must leave alone.

        ``joint_wall`` is the wall that the joint itself keeps.
        """
        return self.hole_depth + max(0.0, self.wall_least - joint_wall)


@dataclass(frozen=True)
class PanelPlan:
    """The panels of one opening, and the muntins or own stiles between and beside them.

    ``openings`` are along X, from left to right, frame edge to frame edge; ``uprights`` the
    middles of muntins and stiles. ``room`` is left beside the tongue across the grain at
    each edge, ``end_room`` along it; ``swing`` is how far an edge moves either way.
    """

    where: Between
    openings: tuple[tuple[float, float], ...]
    uprights: tuple[float, ...]
    upright_width: float
    upright_thickness: float
    stiles: Literal["legs", "own"]
    grain: Literal["horizontal", "upright"]
    tongue: float
    thickness: float
    border: float
    groove_depth: float
    clearance: float
    room: float
    end_room: float
    swing: float
    engaged_least: float
    wall_least: float
    tenon_clearance: float
    edge: EasingStyle
    edge_size: float

    @property
    def is_raised(self) -> bool:
        return self.thickness > self.tongue

    @property
    def groove_width(self) -> float:
        return self.tongue + 2 * self.clearance

    @property
    def hole_depth(self) -> float:
        """How deep it goes into the rails' edges."""
        return self.groove_depth

    @property
    def tenon_length(self) -> float:
        """Of a muntin's stub tenon in the rails' grooves."""
        return self.groove_depth - self.end_room

    @property
    def tenon_thickness(self) -> float:
        return self.groove_width - 2 * self.tenon_clearance

    @property
    def tenon_width(self) -> float:
        """Between the grooves in a muntin's edges, with wood left beside them."""
        return self.upright_width - 2 * (self.groove_depth + self.wall_least)

    def size(self, opening: tuple[float, float]) -> tuple[float, float]:
        """Width and height of a panel, tongues counted in (mm, along X and Z)."""
        along, across = self.groove_depth - self.end_room, self.groove_depth - self.room
        x, z = (along, across) if self.grain == "horizontal" else (across, along)
        return opening[1] - opening[0] + 2 * x, self.where.height + 2 * z

    def keep_out(self, joint_wall: float) -> float:
        """How much of a rail's edge its joint with the leg must leave alone."""
        return self.groove_depth + max(0.0, self.wall_least - joint_wall)


Fill = UprightPlan | PanelPlan


@dataclass(frozen=True)
class CapDowel:
    """One dowel of a cap: where it stands, and in what below it.

    ``x`` is along X from the centreline, ``setback`` from the legs' inside faces. One in a
    leg is the right-hand one of a pair.
    """

    x: float
    setback: float
    into: Literal["leg", "board"]


@dataclass(frozen=True)
class CapPlan:
    """A cap rail: flat on top of an end (mm).

    ``inner`` is how far its edge stands inside the legs' inside faces, towards the mattress;
    negative when it stands back. ``board`` is the board under it, by its place in the list.
    """

    use: Literal["between", "over"]
    board: int
    length: float
    width: float
    thickness: float
    bottom: float
    inner: float
    room: float
    dowels: tuple[CapDowel, ...]
    diameter: float
    in_cap: float
    in_below: float
    clearance: float
    end_gap: float
    edge: EasingStyle
    edge_size: float

    @property
    def top(self) -> float:
        return self.bottom + self.thickness

    @property
    def hole(self) -> float:
        """Diameter of the dowels' holes."""
        return self.diameter + 2 * self.clearance
