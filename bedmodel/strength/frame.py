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

    from bedmodel.strength.elements import Parts

    Array = NDArray[np.float64]

FIRM = float("inf")
Turning = tuple[float, float, float]
HELD: Turning = (FIRM, FIRM, FIRM)
_FALLEN = 1e6  # mm; what moves so far has nothing to hold it


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


def solve_frame(
    model: FrameModel, loads: Sequence[FrameLoad], parts: Parts | None = None
) -> tuple[Moved, ...]:
    """Solve a frame under several loads, each by itself. Raises Topples.

    ``parts`` are ``elements.assemble(model)``, to be used again where only what the
    frame stands on differs.
    """
    import numpy as np

    from bedmodel.strength.elements import assemble, end_forces, nodal_forces
    from bedmodel.strength.levels import levels, solve_levels

    parts = parts or assemble(model)
    forces = nodal_forces(model, parts, loads)
    dofs = _contact_dofs(model)
    system = parts.stiffness.copy()
    for contact, own in zip(model.contacts, dofs, strict=True):
        for dof in own:
            system[dof, dof] += contact.stiffness
        for dof in (6 * contact.node, 6 * contact.node + 1):
            system[dof, dof] += model.ground
    held = _held(model)
    order = levels(len(model.nodes), ((m.start, m.end) for m in model.members))
    blocks = [
        np.array([d for n in level for d in range(6 * n, 6 * n + 6) if d not in held], dtype=int)
        for level in order
    ]
    every = [dof for own in dofs for dof in own]
    units = np.zeros((len(system), len(every)))
    for column, dof in enumerate(every):
        units[dof, column] = 1.0
    try:
        solved = solve_levels(system, np.concatenate([forces, units], axis=1), blocks)
    except np.linalg.LinAlgError:
        raise Topples("the frame has too few supports") from None
    if not float(np.abs(solved[:, : len(loads)]).max(initial=0.0)) < _FALLEN:
        raise Topples("the frame has too few supports")
    count = len(loads)
    answers = []
    for i in range(count):
        moves, pushes = _standing(model, dofs, every, solved[:, i], solved[:, count:])
        ends = end_forces(model, parts, moves, loads[i])
        answers.append(Moved(moves.reshape(-1, 6), ends, pushes))
    return tuple(answers)


def _contact_dofs(model: FrameModel) -> list[list[int]]:
    dofs = []
    for contact in model.contacts:
        first = 6 * contact.node
        dofs.append([first + 2, first, first + 1] if contact.grip else [first + 2])
    return dofs


def _held(model: FrameModel) -> set[int]:
    return {
        6 * node + i for node, which in model.fixed.items() for i, held in enumerate(which) if held
    }


def _standing(
    model: FrameModel, dofs: list[list[int]], every: list[int], pushed: Array, units: Array
) -> tuple[Array, tuple[float, ...]]:
    """Take away the contacts that would pull, and bring back those that are reached again."""
    contacts = model.contacts
    on = [True] * len(contacts)
    seen = set()
    while tuple(on) not in seen:
        seen.add(tuple(on))
        moves = _corrected(model, dofs, every, pushed, units, on)
        pushes = [
            -contact.stiffness * (float(moves[own[0]]) + contact.gap)
            for contact, own in zip(contacts, dofs, strict=True)
        ]
        # A contact that is off comes back when its foot would be below the floor.
        now = [push > 1e-9 for push in pushes]
        if now == on:
            return moves, tuple(p if held else 0.0 for p, held in zip(pushes, on, strict=True))
        on = now
    raise Topples("the frame finds no rest on its feet")


def _corrected(
    model: FrameModel,
    dofs: list[list[int]],
    every: list[int],
    pushed: Array,
    units: Array,
    on: list[bool],
) -> Array:
    """The moves when only the contacts that are ``on`` hold, each from its own gap.

    The system was solved with all contacts as plain springs. A spring taken away is a
    force that gives back what it held; a gap is a force of stiffness times gap.
    """
    import numpy as np

    moves = pushed.copy()
    off_columns, column = [], 0
    for contact, own, held in zip(model.contacts, dofs, on, strict=True):
        columns = list(range(column, column + len(own)))
        column += len(own)
        if held and contact.gap:
            moves = moves - contact.stiffness * contact.gap * units[:, columns[0]]
        if not held:
            off_columns += [(c, contact.stiffness) for c in columns]
    if not off_columns:
        return moves
    columns = [c for c, _ in off_columns]
    rows = [every[c] for c in columns]
    stiffness = np.array([k for _, k in off_columns])
    # What each released place moves by the forces at all of them, less what held it.
    system = np.eye(len(columns)) - units[np.ix_(rows, columns)] * stiffness
    if np.linalg.cond(system) > 1e13:
        raise Topples("the frame turns over")
    released = np.linalg.solve(system, moves[rows])
    return np.asarray(moves + units[:, columns] @ (stiffness * released))
