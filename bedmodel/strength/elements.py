"""The members of a frame as numbers: stiffness, line loads, and the forces at their ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bedmodel.frames import Vector, add, cross, dot, scale, subtract, unit
from bedmodel.strength.frame import Bar, FrameLoad, FrameModel, Member

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_TURNS = (3, 4, 5, 9, 10, 11)
_ALONG_Z = 1e-6  # a member is upright, so that "up" says nothing, within this


@dataclass(frozen=True)
class Parts:
    """Members made ready: the frame's stiffness, and for each member its own.

    ``local`` (12 x 12, springs taken in), ``turned`` (local from global, arms taken in),
    ``spread`` (what springs do to the forces of a line load), all stacked.
    """

    stiffness: Array
    local: Array
    turned: Array
    spread: Array
    lengths: tuple[float, ...]
    axes: tuple[tuple[Vector, Vector, Vector], ...]


def local_axes(start: Vector, end: Vector, up: Vector) -> tuple[Vector, Vector, Vector]:
    """Local axes of a member; "up" along the member falls back to global Y."""
    x = unit(subtract(end, start))
    square = subtract(up, scale(x, dot(up, x)))
    if math.sqrt(dot(square, square)) < _ALONG_Z:
        square = subtract((0.0, 1.0, 0.0), scale(x, x[1]))
    y = unit(square)
    return x, y, cross(x, y)


def assemble(model: FrameModel) -> Parts:
    import numpy as np

    count = len(model.members)
    local = np.zeros((count, 12, 12))
    turned = np.zeros((count, 12, 12))
    spread = np.zeros((count, 12, 12))
    spread[:] = np.eye(12)
    lengths, axes = [], []
    for i, member in enumerate(model.members):
        start = add(model.nodes[member.start], member.arm_start)
        end = add(model.nodes[member.end], member.arm_end)
        length = math.dist(start, end)
        own = local_axes(start, end, member.up)
        lengths.append(length)
        axes.append(own)
        local[i] = np.array(_stiffness(member.bar, length)).reshape(12, 12)
        turned[i] = _turned(own, member.arm_start, member.arm_end)
        if _has_springs(member):
            local[i], spread[i] = _with_springs(local[i], member)
    whole = np.einsum("mji,mjk,mkl->mil", turned, local, turned, optimize=True)
    size = 6 * len(model.nodes)
    starts = np.array([m.start for m in model.members])
    ends = np.array([m.end for m in model.members])
    six = np.arange(6)
    dofs = np.concatenate([starts[:, None] * 6 + six, ends[:, None] * 6 + six], axis=1)
    places = (dofs[:, :, None] * size + dofs[:, None, :]).ravel()
    summed = np.bincount(places, whole.ravel(), size * size)
    stiffness = np.asarray(summed, dtype=np.float64).reshape(size, size)
    return Parts(stiffness, local, turned, spread, tuple(lengths), tuple(axes))


def _stiffness(bar: Bar, length: float) -> list[float]:
    """A member's own stiffness, row by row."""
    k = [0.0] * 144

    def put(i: int, j: int, value: float) -> None:
        k[12 * i + j] = value
        k[12 * j + i] = value

    along, twist = bar.modulus * bar.area / length, bar.shear_modulus * bar.torsion / length
    for first, value in ((0, along), (3, twist)):
        put(first, first, value)
        put(first + 6, first + 6, value)
        put(first, first + 6, -value)
    # In the x-y plane turning is about z, positive as y' is; in x-z about y, against it.
    for move, turn, inertia, sign in ((1, 5, bar.inertia_z, 1.0), (2, 4, bar.inertia_y, -1.0)):
        ei = bar.modulus * inertia
        give = 0.0
        if bar.shear_area:
            give = 12 * ei / (bar.shear_modulus * bar.shear_area * length**2)
        each = ei / (length**3 * (1 + give))
        a, b = 6 * length * each * sign, 12 * each
        put(move, move, b)
        put(move + 6, move + 6, b)
        put(move, move + 6, -b)
        put(move, turn, a)
        put(move, turn + 6, a)
        put(move + 6, turn, -a)
        put(move + 6, turn + 6, -a)
        put(turn, turn, (4 + give) * length**2 * each)
        put(turn + 6, turn + 6, (4 + give) * length**2 * each)
        put(turn, turn + 6, (2 - give) * length**2 * each)
    return k


def _turned(axes: tuple[Vector, Vector, Vector], arm_start: Vector, arm_end: Vector) -> Array:
    """Local moves of a member's ends from the global moves of its nodes."""
    import numpy as np

    turned = np.zeros((12, 12))
    r = np.array(axes)
    for first, arm in ((0, arm_start), (6, arm_end)):
        turned[first : first + 3, first : first + 3] = r
        turned[first + 3 : first + 6, first + 3 : first + 6] = r
        if any(arm):
            ax, ay, az = arm
            # A turn moves the arm's end by turn cross arm.
            carried = np.array([[0.0, az, -ay], [-az, 0.0, ax], [ay, -ax, 0.0]])
            turned[first : first + 3, first + 3 : first + 6] = r @ carried
    return turned


def _has_springs(member: Member) -> bool:
    return any(not math.isinf(k) for k in (*member.turning_start, *member.turning_end))


def _with_springs(local: Array, member: Member) -> tuple[Array, Array]:
    """Put springs between a member's ends and its nodes, by taking out the ends' own turns."""
    import numpy as np

    springs = [
        (dof, k)
        for dof, k in zip(_TURNS, (*member.turning_start, *member.turning_end), strict=True)
        if not math.isinf(k)
    ]
    inner = [dof for dof, _ in springs]
    stiff = np.diag([k for _, k in springs])
    both = np.linalg.inv(local[np.ix_(inner, inner)] + stiff)
    # Own turns = A moves + B line-load forces, with A as below.
    own = np.zeros((len(inner), 12))
    own[:, :] = -both @ local[inner]
    own[:, inner] = both @ stiff
    full = local.copy()
    full[:, inner] = 0.0
    result = full + local[:, inner] @ own
    # At a sprung turn the node feels the spring: k (node's turn - own turn).
    spread = np.eye(12)
    spread[:, inner] = 0.0
    spread_inner = np.zeros((12, len(inner)))
    spread_inner[:, :] = -local[:, inner] @ both
    for row, dof in enumerate(inner):
        k = stiff[row, row]
        result[dof] = -k * own[row]
        result[dof, dof] += k
        spread_inner[dof] = k * both[row]
        spread[dof] = 0.0
    spread[:, inner] = spread_inner
    return result, spread


def fixed_ends(load: Vector, axes: tuple[Vector, Vector, Vector], length: float) -> list[float]:
    """Forces that a line load puts on a member's two firm ends, in local axes."""
    along, y, z = (dot(load, axis) for axis in axes)
    half, twelfth = length / 2, length**2 / 12
    one = [along * half, y * half, z * half, 0.0, -z * twelfth, y * twelfth]
    two = [along * half, y * half, z * half, 0.0, z * twelfth, -y * twelfth]
    return one + two


def nodal_forces(model: FrameModel, parts: Parts, loads: Sequence[FrameLoad]) -> Array:
    """Forces on all degrees of freedom, one column a load."""
    import numpy as np

    forces = np.zeros((6 * len(model.nodes), len(loads)))
    for column, load in enumerate(loads):
        for node, given in load.nodes.items():
            forces[6 * node : 6 * node + 6, column] += np.asarray(given)
        for i, line in load.members.items():
            member = model.members[i]
            fixed = np.array(fixed_ends(line, parts.axes[i], parts.lengths[i]))
            nodal = parts.turned[i].T @ (parts.spread[i] @ fixed)
            forces[6 * member.start : 6 * member.start + 6, column] += nodal[:6]
            forces[6 * member.end : 6 * member.end + 6, column] += nodal[6:]
    return forces


def end_forces(model: FrameModel, parts: Parts, moves: Array, load: FrameLoad) -> Array:
    """What the nodes do to each member's ends, in local axes."""
    import numpy as np

    starts = np.array([m.start for m in model.members])
    ends = np.array([m.end for m in model.members])
    by_node = moves.reshape(-1, 6)
    both = np.concatenate([by_node[starts], by_node[ends]], axis=1)
    forces = np.einsum("mij,mjk,mk->mi", parts.local, parts.turned, both, optimize=True)
    for i, line in load.members.items():
        fixed = np.array(fixed_ends(line, parts.axes[i], parts.lengths[i]))
        forces[i] -= parts.spread[i] @ fixed
    return np.asarray(forces)
