"""Solve a frame: one elimination for all its loads, then the feet that lift are found.

The frame is solved with every contact as a spring, under the loads and under one newton
at each contact. Taking a contact away, or giving it a gap, is then a small correction of
that one solution.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bedmodel.strength.elements import Parts, assemble, end_forces, nodal_forces
from bedmodel.strength.frame import FrameLoad, FrameModel, Moved, Topples
from bedmodel.strength.levels import levels, solve_levels

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_NO_PUSH = 1e-6  # N
_FALLEN = 1e6  # mm; what moves so far has nothing to hold it


def solve_frame(
    model: FrameModel, loads: Sequence[FrameLoad], parts: Parts | None = None
) -> tuple[Moved, ...]:
    """Solve a frame under several loads, each by itself. Raises Topples.

    ``parts`` are ``elements.assemble(model)``, to be used again where only what the
    frame stands on differs.
    """
    import numpy as np

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
    """Find which contacts push: take away the one that pulls most, then the next.

    When none pulls, the one that reaches deepest into the floor comes back. One at a time,
    since two that pull at once may be the two ends of one tilt, of which one stays. What
    comes back no longer grips: a foot so lightly set down slides.
    """
    contacts = model.contacts
    on = [True] * len(contacts)
    gripping = [contact.grip for contact in contacts]
    seen: set[tuple[bool, ...]] = set()
    while (*on, *gripping) not in seen:
        seen.add((*on, *gripping))
        moves = _corrected(model, dofs, every, pushed, units, on, gripping)
        pushes = [
            -contact.stiffness * (float(moves[own[0]]) + contact.gap)
            for contact, own in zip(contacts, dofs, strict=True)
        ]
        pulling = [i for i, push in enumerate(pushes) if on[i] and push < -_NO_PUSH]
        below = [i for i, push in enumerate(pushes) if not on[i] and push > _NO_PUSH]
        if pulling:
            first = min(pulling, key=lambda i: pushes[i])
            on[first] = gripping[first] = False
        elif below:
            on[max(below, key=lambda i: pushes[i])] = True
        else:
            return moves, tuple(
                max(push, 0.0) if held else 0.0 for push, held in zip(pushes, on, strict=True)
            )
    raise Topples("the frame finds no rest on its feet")


def _corrected(
    model: FrameModel,
    dofs: list[list[int]],
    every: list[int],
    pushed: Array,
    units: Array,
    on: list[bool],
    gripping: list[bool],
) -> Array:
    """The moves when only the contacts that are ``on`` hold, each from its own gap.

    The system was solved with all contacts as plain springs. A spring taken away is a
    force that gives back what it held; a gap is a force of stiffness times gap.
    """
    import numpy as np

    moves = pushed.copy()
    off_columns, column = [], 0
    for contact, own, held, grips in zip(model.contacts, dofs, on, gripping, strict=True):
        columns = list(range(column, column + len(own)))
        column += len(own)
        if held and contact.gap:
            moves = moves - contact.stiffness * contact.gap * units[:, columns[0]]
        loose = columns if not held else [] if grips else columns[1:]
        off_columns += [(c, contact.stiffness) for c in loose]
    if not off_columns:
        return moves
    columns = [c for c, _ in off_columns]
    rows = [every[c] for c in columns]
    stiffness = np.array([k for _, k in off_columns])
    # What each released place moves by the forces at all of them, less what held it.
    system = np.eye(len(columns)) - units[np.ix_(rows, columns)] * stiffness
    try:
        released = np.linalg.solve(system, moves[rows])
    except np.linalg.LinAlgError:
        raise Topples("the frame turns over") from None
    if not float(np.abs(released).max()) < _FALLEN:
        raise Topples("the frame turns over")
    return np.asarray(moves + units[:, columns] @ (stiffness * released))
