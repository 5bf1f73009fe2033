"""A frame of straight members in space: how far it moves and what its joints bear.

    node        a point that moves and turns: 6 degrees of freedom
    member      between two nodes; its axis may stand off them by rigid arms, and each
                end may be held by turning springs (a hook, a tenon) instead of firmly
    contact     a foot on the floor: it pushes up, never pulls down; a gap says that it
                begins off the floor; with grip it also holds still while it stands

Global axes X, Y, Z (Z up). Local axes of a member: x from start to end, y the part of
``up`` square to it, z = x cross y; ``inertia_z`` resists bending in the x-y plane.
Numbers are N, mm, MPa, radians. Members shear too (Timoshenko) where a shear area is
given. Lifting feet are found by taking contacts away one set after another, each time
by a correction of the one solved system, so a load costs one solution.

Source of the element: any text on the stiffness method; here after Timoshenko's beam.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from bedmodel.frames import Vector

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FIRM = float("inf")
Turning = tuple[float, float, float]
HELD: Turning = (FIRM, FIRM, FIRM)


@dataclass(frozen=True)
class Bar:
    """What a member is made of: MPa, mm2, mm4; a shear area of 0 leaves its shear out."""

    modulus: float
    shear_modulus: float
    area: float
    inertia_y: float
    inertia_z: float
    torsion: float
    shear_area: float = 0.0


@dataclass(frozen=True)
class Member:
    """A member between nodes ``start`` and ``end``.

    ``arm_*`` lead from a node to the member's end (mm, global); ``turning_*`` are the
    stiffnesses of its ends about local x, y, z (N.mm/rad), firm where not given.
    """

    start: int
    end: int
    bar: Bar
    up: Vector = (0.0, 0.0, 1.0)
    arm_start: Vector = (0.0, 0.0, 0.0)
    arm_end: Vector = (0.0, 0.0, 0.0)
    turning_start: Turning = HELD
    turning_end: Turning = HELD


@dataclass(frozen=True)
class Contact:
    """A foot on the floor at a node: stiffness (N/mm), and how far it begins off it (mm)."""

    node: int
    stiffness: float = 1e6
    gap: float = 0.0
    grip: bool = False


@dataclass(frozen=True)
class FrameModel:
    """Nodes, members, fixed degrees of freedom, contacts, and weak springs to earth.

    ``fixed`` holds for a node which of X, Y, Z and the turns about them are held.
    ``ground`` is a weak spring (N/mm) at each contact in X and Y, so that a bed that
    nothing pushes sideways has a place to stand.
    """

    nodes: tuple[Vector, ...]
    members: tuple[Member, ...]
    fixed: Mapping[int, tuple[bool, ...]] = field(default_factory=dict)
    contacts: tuple[Contact, ...] = ()
    ground: float = 0.01


@dataclass(frozen=True)
class FrameLoad:
    """Forces and moments on nodes (6 each), and line loads on members (N/mm, global)."""

    nodes: Mapping[int, Sequence[float]] = field(default_factory=dict)
    members: Mapping[int, Vector] = field(default_factory=dict)


class Topples(ValueError):
    """Nothing holds the frame up: it has too few supports, or it turns over."""


@dataclass(frozen=True)
class Moved:
    """A frame under one load.

    ``moves`` holds 6 numbers a node; ``ends`` 12 a member, the forces and moments of its
    end nodes on it in local axes; ``contact_n`` the floor's push at each contact.
    """

    moves: Array
    ends: Array
    contact_n: tuple[float, ...]

    def move(self, node: int) -> Vector:
        x, y, z = (float(v) for v in self.moves[node][:3])
        return (x, y, z)

    def end_moment(self, member: int, end: int) -> Vector:
        """Moment about local x, y, z at a member's start (0) or end (1), N.mm."""
        x, y, z = (float(v) for v in self.ends[member][6 * end + 3 : 6 * end + 6])
        return (x, y, z)

    def end_force(self, member: int, end: int) -> Vector:
        """Force along local x, y, z at a member's start (0) or end (1), N."""
        x, y, z = (float(v) for v in self.ends[member][6 * end : 6 * end + 3])
        return (x, y, z)

    def lifted(self) -> tuple[int, ...]:
        """Which contacts stand off the floor."""
        return tuple(i for i, push in enumerate(self.contact_n) if push <= 0.0)
