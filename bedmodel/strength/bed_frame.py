"""The whole bed pushed, sat on, slept in, on a bad floor, and lifted at one end.

Each answer is a range over the stiffness of the rail fasteners, which no geometry gives:
``loose``, ``usual``, ``firm``. Play is told apart: it adds to the movement whatever the
stiffness. Movement in mm, forces in N, moments in N.mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.hardware import Hooked
from bedmodel.skeleton import Layout
from bedmodel.strength.bed_model import FLOOR_STIFFNESS, BedModel, bed_model, with_hooks
from bedmodel.strength.elements import Parts, assemble
from bedmodel.strength.ends import highest_board
from bedmodel.strength.frame import Contact, FrameLoad, FrameModel, Moved, Topples
from bedmodel.strength.loads import (
    GRAVITY,
    Loads,
    body_line_loads,
    mattress_line_load,
    sleepers_count,
)
from bedmodel.strength.solve import solve_frame
from bedmodel.strength.timber import Rules

# Legs that grip the floor, or slide; one foot of them short; or both rails' head ends lifted.
Floor = Literal["grip", "slide", "short", "lifted"]
SHORT_FOOT = "foot_leg_right"
FRAME_ASSUMPTIONS = (
    "stiffness of rail fasteners is not known from their sizes: three classes, assumed",
    "glued tenons and dowels taken as firm, so true movement is a little more",
    "legs grip a hard floor when the bed is pushed, and slide when it is sat on",
    "slats do not help against racking",
)
CLASSES = ("loose", "usual", "firm")
PILLOW_SPACE = 50.0  # mm from the pocket's head end to the sleeper's head


@dataclass(frozen=True)
class JointForce:
    """What one joint bears: moment about the board's or rail's upright bending axis and in
    plan (N.mm), pull along it and load across it (N)."""

    name: str
    upright_nmm: float
    plan_nmm: float
    along_n: float
    across_n: float


@dataclass(frozen=True)
class BedMoved:
    """One case with one class of fastener.

    ``moved`` at the place asked about; ``hooks`` and ``boards`` the worst joint of each
    kind; ``lifted`` the feet that leave the floor; ``topples`` when nothing holds it.
    """

    moved: float
    hooks: JointForce | None
    boards: tuple[JointForce, ...]
    lifted: tuple[str, ...]
    topples: bool = False


@dataclass(frozen=True)
class FrameCase:
    """One case over all classes of fastener; ``play`` is its movement from play alone.

    ``limit`` is the most movement proposed, without play; None where nothing is.
    """

    name: str
    place: str
    by_class: Mapping[str, BedMoved]
    play: float
    limit: float | None = None

    @property
    def least(self) -> float:
        return min(m.moved for m in self.by_class.values())

    @property
    def most(self) -> float:
        return max(m.moved for m in self.by_class.values())


@dataclass(frozen=True)
class _Asked:
    """A case as it is put to the frame: which load, where to look, how the bed stands."""

    name: str
    place: str
    spot: str
    axis: int
    load: Callable[[BedModel], FrameLoad]
    floor: Floor
    play: float = 0.0
    limit: float | None = None


def hook_classes(rules: Rules) -> dict[str, float]:
    """Turning stiffness of each class of rail fastener (kN.m/rad)."""
    values = (rules.hook_loose_knm, rules.hook_usual_knm, rules.hook_firm_knm)
    return dict(zip(CLASSES, values, strict=True))


def frame_cases(
    layout: Layout,
    loads: Loads,
    rules: Rules,
    *,
    classes: Mapping[str, float] | None = None,
    names: tuple[str, ...] = (),
) -> tuple[FrameCase, ...]:
    """Solve the cases (all, or those of ``names``) for each class of fastener."""
    classes = classes or hook_classes(rules)
    asked = [a for a in _cases(layout, loads, rules) if not names or a.name in names]
    found: dict[str, dict[str, BedMoved]] = {a.name: {} for a in asked}
    first = next(iter(classes.values()))
    model = bed_model(layout, rules, first)
    for label, stiffness in classes.items():
        model = with_hooks(model, rules, stiffness)
        for name, moved in _answers(model, asked, layout, loads):
            found[name][label] = moved
    return tuple(FrameCase(a.name, a.place, found[a.name], a.play, a.limit) for a in asked)


def _answers(
    model: BedModel, asked: list[_Asked], layout: Layout, loads: Loads
) -> list[tuple[str, BedMoved]]:
    """Cases that stand alike on the floor share one solution of the frame."""
    rest = at_rest(model, layout, loads)
    parts = assemble(model.frame)
    groups: dict[Floor, list[_Asked]] = {}
    for a in asked:
        groups.setdefault(a.floor, []).append(a)
    answers = []
    for floor, group in groups.items():
        given = [_sum(rest, a.load(model)) for a in group]
        frame = _standing(model, floor, loads)
        # What the weight at rest does is no movement of the case.
        flat = frame if floor in ("grip", "slide") else _standing(model, "slide", loads)
        (before,) = solve_frame(flat, [rest], parts)
        for a, moved in zip(group, _each(frame, given, parts), strict=True):
            told = BedMoved(math.inf, None, (), (), topples=True)
            if moved is not None:
                told = _told(model, a, before, moved)
            answers.append((a.name, told))
    return answers


def _each(frame: FrameModel, loads: list[FrameLoad], parts: Parts) -> list[Moved | None]:
    """Every load's answer; None for one under which the frame turns over."""
    try:
        return list(solve_frame(frame, loads, parts))
    except Topples:
        if len(loads) == 1:
            return [None]
        return [moved for load in loads for moved in _each(frame, [load], parts)]


def _told(model: BedModel, asked: _Asked, before: Moved, after: Moved) -> BedMoved:
    node = model.spots[asked.spot]
    moved = abs(after.move(node)[asked.axis] - before.move(node)[asked.axis])
    hooks = [_joint(name, after, m, end) for name, (m, end) in model.hooks.items()]
    boards = []
    for name, halves in model.boards.items():
        ends = [_joint(name, after, m, end) for end, m in enumerate(halves)]
        boards.append(max(ends, key=lambda joint: joint.upright_nmm))
    lifted = tuple(model.feet[i] for i in after.lifted() if i < len(model.feet))
    worst = max(hooks, key=lambda joint: joint.upright_nmm)
    return BedMoved(moved, worst, tuple(boards), lifted)


def _joint(name: str, moved: Moved, member: int, end: int) -> JointForce:
    _, plan, upright = moved.end_moment(member, end)
    along, up, sideways = moved.end_force(member, end)
    return JointForce(name, abs(upright), abs(plan), abs(along), math.hypot(up, sideways))


# --- loads on the frame ------------------------------------------------------------------


def _sum(a: FrameLoad, b: FrameLoad) -> FrameLoad:
    nodes = {n: list(v) for n, v in a.nodes.items()}
    for node, six in b.nodes.items():
        old = nodes.get(node, [0.0] * 6)
        nodes[node] = [p + q for p, q in zip(old, six, strict=True)]
    members = dict(a.members)
    for member, line in b.members.items():
        x, y, z = members.get(member, (0.0, 0.0, 0.0))
        members[member] = (x + line[0], y + line[1], z + line[2])
    return FrameLoad(nodes, members)


def at_rest(model: BedModel, layout: Layout, loads: Loads) -> FrameLoad:
    """The bed's own weight and the mattress's."""
    own = {}
    timber = layout.sheet.bed_wood
    for i, member in enumerate(model.frame.members):
        own[i] = (0.0, 0.0, -member.bar.area * timber.density_kg_m3 * 1e-9 * GRAVITY)
    pressure = mattress_line_load(layout, loads) / (2 * layout.half_foot)
    return _sum(FrameLoad({}, own), _on_slats(model, layout, lambda y: pressure))


def _on_slats(model: BedModel, layout: Layout, pressure: Callable[[float], float]) -> FrameLoad:
    """A pressure (N/mm2) that varies along the bed, as line loads on the slats."""
    row = layout.slats
    pitch = row.width + row.gap
    lines = {}
    for start, halves in zip(row.starts(), model.slats, strict=True):
        force = pressure(start + row.width / 2) * pitch
        for member in halves:
            lines[member] = (0.0, 0.0, -force)
    return FrameLoad({}, lines)


def _sleepers(model: BedModel, layout: Layout, loads: Loads) -> FrameLoad:
    runs = body_line_loads(layout, loads, PILLOW_SPACE)
    count = sleepers_count(layout, loads)
    width = 2 * layout.half_foot
    row = layout.slats
    pitch = row.width + row.gap

    def pressure(y: float) -> float:
        """Mean over the pitch that a slat at ``y`` carries, so that nothing is lost."""
        low, high = y - pitch / 2, y + pitch / 2
        force = sum(
            per_mm * max(0.0, min(high, end) - max(low, start)) for start, end, per_mm in runs
        )
        return count * force / pitch / width

    return _on_slats(model, layout, pressure)


def _push(*pushes: tuple[str, int, float]) -> Callable[[BedModel], FrameLoad]:
    def load(model: BedModel) -> FrameLoad:
        given = FrameLoad()
        for spot, axis, force in pushes:
            six = [0.0] * 6
            six[axis] = force
            given = _sum(given, FrameLoad({model.spots[spot]: six}))
        return given

    return load


def _has_play(layout: Layout) -> bool:
    """Bolts drawn tight have none."""
    return layout.fastener is None or layout.fastener.kind != "bolts"


def _hook_spacing(layout: Layout, rules: Rules) -> float:
    """Height between the outermost hooks of a rail's end; the rule's where there are none."""
    row = layout.fastener.row if layout.fastener else None
    if isinstance(row, Hooked) and row.hooks > 1:
        return row.hook_pitch * (row.hooks - 1)
    return rules.hook_spacing


def _cases(layout: Layout, loads: Loads, rules: Rules) -> list[_Asked]:
    tops = ("head_leg_right_top", "head_leg_left_top")
    middle = "side_rail_right_middle"
    height = highest_board(layout.head).top - (layout.rail_top + layout.rail_bottom) / 2
    turn = rules.hook_play / _hook_spacing(layout, rules) if _has_play(layout) else 0.0
    most = rules.headboard_drift_most
    push, side = loads.headboard_push_n, loads.headboard_side_push_n

    def headboard(direction: float) -> Callable[[BedModel], FrameLoad]:
        return _push(*((top, 1, direction * push / 2) for top in tops))

    return [
        _Asked("headboard push back", "top of the headboard", tops[0], 1, headboard(-1), "grip",
               play=max(0.0, height * turn), limit=most),
        _Asked("headboard push forward", "top of the headboard", tops[0], 1, headboard(1), "grip",
               play=max(0.0, height * turn), limit=most),
        _Asked("headboard push sideways", "top of the headboard", tops[0], 0,
               _push((tops[0], 0, side)), "grip", limit=most),
        _Asked("rail push sideways", "middle of the side rail", middle, 0,
               _push((middle, 0, loads.rail_push_n)), "grip"),
        _Asked("rail push lengthwise", "middle of the side rail", middle, 1,
               _push((middle, 1, loads.rail_push_n)), "grip",
               play=turn * (layout.rail_top + layout.rail_bottom) / 2),
        _Asked("edge sitting", "middle of the side rail", middle, 2,
               _push((middle, 2, -loads.edge_n)), "slide"),
        _Asked("sleepers", "middle of the side rail", middle, 2,
               lambda model: _sleepers(model, layout, loads), "slide"),
        _Asked("one foot short", "the short foot", SHORT_FOOT, 2,
               lambda model: _sleepers(model, layout, loads), "short"),
        _Asked("lift at the head", "head end of the rail", "side_rail_right_head", 2,
               lambda model: FrameLoad(), "lifted"),
    ]  # fmt: skip


def _standing(model: BedModel, floor: Floor, loads: Loads) -> FrameModel:
    """The bed as it stands: each foot gripping or sliding, one short, or held up in hands."""
    contacts = []
    for name, contact in zip(model.feet, model.frame.contacts, strict=True):
        grip = floor == "grip" and not name.startswith("support_foot")
        gap = loads.floor_unevenness if floor == "short" and name == SHORT_FOOT else 0.0
        contacts.append(replace(contact, grip=grip, gap=gap))
    if floor == "lifted":
        # Hands are floors of their own, higher than where the rails lie.
        for side in ("left", "right"):
            node = model.spots[f"side_rail_{side}_head"]
            contacts.append(Contact(node, FLOOR_STIFFNESS, gap=-loads.lift_height))
    return replace(model.frame, contacts=tuple(contacts))
