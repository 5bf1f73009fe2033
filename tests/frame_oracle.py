"""A frame solved by PyNiteFEA, as a second opinion, in tests only.

It takes global Y as up, so everything is turned: (X, Y, Z) here is (X, Z, -Y) there. It
has no shear in its members, no springs at their ends and no rigid arms: shear is left
out on both sides, a spring becomes a bar a tenth of a millimetre long, a
free turn a release, an arm a bar a
thousand times as stiff. Only what stands is given to it: contacts that lift, lift in
both.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from bedmodel.frames import Vector, add, cross, dot
from bedmodel.strength.elements import local_axes
from bedmodel.strength.frame import FrameLoad, FrameModel, Member

DUMMY = 0.1  # mm; shorter ones make its equations too stiff to solve
STUB = 1.0  # a firm turn, or no stretch, is that of a bar so long
RIGID = 1e3


def without_shear(model: FrameModel) -> FrameModel:
    members = tuple(replace(m, bar=replace(m.bar, shear_area=0.0)) for m in model.members)
    return replace(model, members=members)


def turned(v: Vector) -> Vector:
    return (v[0], v[2], -v[1])


def turned_back(v: Vector) -> Vector:
    return (v[0], -v[2], v[1])


@dataclass
class Oracle:
    """The other program's model, under construction."""

    engine: Any
    count: int = 0

    def node(self, at: Vector) -> str:
        self.count += 1
        name = f"n{self.count}"
        self.engine.add_node(name, *turned(at))
        return name

    def bar(self, i: str, j: str, moduli: tuple[float, float], numbers: tuple[float, ...]) -> str:
        """A member of area, two inertias (y, z) and torsion, with its own material."""
        self.count += 1
        name = f"m{self.count}"
        e, g = moduli
        self.engine.add_material(name, e, g, 0.3, 0.0)
        self.engine.add_section(name, *numbers)
        self.engine.add_member(name, i, j, name, name)
        return name

    def aim(self, name: str, y: Vector, x: Vector) -> None:
        """Turn a member about its axis until its local y is ``y``."""
        member = self.engine.members[name]
        rows = [tuple(float(v) for v in row[:3]) for row in member.T()[:3]]
        x, y = turned(x), turned(y)
        sine, cosine = dot(cross(rows[1], y), x), dot(rows[1], y)
        member.rotation = math.degrees(math.atan2(sine, cosine))
        made = tuple(float(v) for v in self.engine.members[name].T()[1][:3])
        assert math.dist(made, y) < 1e-9, "the member is not turned as meant"


def solve_by_oracle(
    model: FrameModel, load: FrameLoad, standing: Mapping[int, bool] | None = None
) -> list[Vector]:
    """Moves of the model's nodes. ``standing`` says which contacts hold; all by default."""
    from Pynite import FEModel3D

    oracle = Oracle(FEModel3D())
    engine = oracle.engine
    nodes = [oracle.node(at) for at in model.nodes]
    names = {}
    for i, member in enumerate(model.members):
        names[i] = _member(oracle, model, nodes, member)
    for node, which in model.fixed.items():
        x, y, z, rx, ry, rz = which
        engine.def_support(nodes[node], x, z, y, rx, rz, ry)
    for i, contact in enumerate(model.contacts):
        name = nodes[contact.node]
        if standing is None or standing.get(i, True):
            engine.def_support_spring(name, "DY", contact.stiffness)
        side = contact.stiffness if contact.grip and (standing or {}).get(i, True) else 0.0
        for dof in ("DX", "DZ"):
            engine.def_support_spring(name, dof, side + model.ground)
    for node, six in load.nodes.items():
        force = turned((six[0], six[1], six[2]))
        moment = turned((six[3], six[4], six[5]))
        for dof, value in zip(("FX", "FY", "FZ"), force, strict=True):
            engine.add_node_load(nodes[node], dof, value)
        for dof, value in zip(("MX", "MY", "MZ"), moment, strict=True):
            engine.add_node_load(nodes[node], dof, value)
    for i, line in load.members.items():
        for dof, value in zip(("FX", "FY", "FZ"), turned(line), strict=True):
            if value:
                engine.add_member_dist_load(names[i], dof, value, value)
    engine.analyze_linear(check_stability=False)
    combo = "Combo 1"
    return [
        turned_back(
            (
                engine.nodes[n].DX[combo],
                engine.nodes[n].DY[combo],
                engine.nodes[n].DZ[combo],
            )
        )
        for n in nodes
    ]


def _member(oracle: Oracle, model: FrameModel, nodes: list[str], member: Member) -> str:
    bar = member.bar
    start = add(model.nodes[member.start], member.arm_start)
    end = add(model.nodes[member.end], member.arm_end)
    x, y, _ = local_axes(start, end, member.up)
    ends, free = [], []
    for node, arm, at, turning, sign in (
        (member.start, member.arm_start, start, member.turning_start, 1.0),
        (member.end, member.arm_end, end, member.turning_end, -1.0),
    ):
        name = nodes[node]
        if any(arm):
            tip = oracle.node(at)
            arm_bar = (bar.area, bar.inertia_y, bar.inertia_z, bar.torsion)
            most = max(arm_bar[1:])
            moduli = (bar.modulus * RIGID, bar.modulus * RIGID)
            oracle.bar(name, tip, moduli, (bar.area, most, most, most))
            name = tip
        free += [k == 0 for k in turning]
        if any(k and not math.isinf(k) for k in turning):
            assert all(turning), "a short bar that does not turn carries nothing across"
            inner = oracle.node(add(at, tuple(DUMMY * sign * c for c in x)))  # type: ignore[arg-type]
            kx, ky, kz = (min(k, bar.modulus * bar.inertia_z / STUB) for k in turning)
            pair = (name, inner) if sign > 0 else (inner, name)
            dummy = (bar.area * bar.modulus * DUMMY / STUB, ky * DUMMY, kz * DUMMY, kx * DUMMY)
            made = oracle.bar(*pair, (1.0, 1.0), dummy)
            oracle.aim(made, y, x)
            name = inner
        ends.append(name)
    numbers = (bar.area, bar.inertia_y, bar.inertia_z, bar.torsion)
    name = oracle.bar(ends[0], ends[1], (bar.modulus, bar.shear_modulus), numbers)
    oracle.aim(name, y, x)
    held = [False] * 3
    oracle.engine.def_releases(name, *held, *free[:3], *held, *free[3:])
    return name
