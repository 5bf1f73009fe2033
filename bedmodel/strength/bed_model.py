"""A bed's layout as a frame: which nodes and members stand for which parts.

    legs     a chain of nodes each: floor, rail, boards, top, along the leg's middle
    boards   from leg to leg, tenons as turning springs, arms to where they lie
    rails    a chain of nodes, one at each slat, fasteners as turning springs
    slats    two halves each, hinged on the runners and held down on the centre rail;
             free to turn in plan, so that they do not help against racking
    feet     contacts under the legs and under the centre rail

Joints' stiffness is not known from their geometry: fasteners come in three classes,
glued tenons are taken as firm. Source of the classes: ``data/strength_rules.csv``.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, replace

from bedmodel.end_plan import EndPlan, board_name
from bedmodel.frames import Vector, subtract
from bedmodel.skeleton import Layout
from bedmodel.strength.frame import FIRM, Bar, Contact, FrameModel, Member, Turning
from bedmodel.strength.leg_sections import section_of
from bedmodel.strength.platform import slat_wood, strip_wood
from bedmodel.strength.timber import Rules, Section, modulus, shear_modulus
from bedmodel.supports import row_bearing
from bedmodel.tables import Wood

_SAME_PLACE = 1e-3  # mm
_SAME_HEIGHT = 1.0  # mm; two nodes of a leg nearer than this are one
FLOOR_STIFFNESS = 1e5  # N/mm under each foot: a hard floor
HINGE: Turning = (0.0, 0.0, 0.0)
SIDES = (("right", 1.0), ("left", -1.0))


@dataclass(frozen=True)
class BedModel:
    """A bed as a frame, with names.

    ``rails`` are the members of each side rail in order, ``hooks`` the rail-end members
    as (member, end), ``boards`` both halves by the names of pieces; ``spots`` nodes by what
    they are; ``feet`` names each contact.
    """

    frame: FrameModel
    spots: Mapping[str, int]
    rails: Mapping[str, tuple[int, ...]]
    rail_nodes: Mapping[str, tuple[int, ...]]
    slats: tuple[tuple[int, ...], ...]
    hooks: Mapping[str, tuple[int, int]]
    boards: Mapping[str, tuple[int, int]]
    feet: tuple[str, ...]


def bar_of(section: Section, timber: Wood, rules: Rules) -> Bar:
    """A rectangle with its depth along local y."""
    return Bar(
        modulus(timber, rules),
        shear_modulus(timber, rules),
        section.area,
        section.inertia_across,
        section.inertia,
        section.torsion,
        section.shear_area,
    )


def bed_model(layout: Layout, rules: Rules, hook_knm: float) -> BedModel:
    """Make the frame of a bed whose rail fasteners turn with ``hook_knm`` kN.m/rad."""
    making = _Making(layout, rules)
    for end in layout.ends:
        making.end(end)
    flat = hook_knm * rules.hook_flat_share
    for name, side in SIDES:
        making.rail(name, side, (flat * 1e6, flat * 1e6, hook_knm * 1e6))
    making.platform()
    return making.finished()


def with_hooks(model: BedModel, rules: Rules, hook_knm: float) -> BedModel:
    """The same bed with other rail fasteners."""
    flat = hook_knm * rules.hook_flat_share
    turning = (flat * 1e6, flat * 1e6, hook_knm * 1e6)
    members = list(model.frame.members)
    for member, end in model.hooks.values():
        old = members[member]
        members[member] = (
            replace(old, turning_end=turning) if end else replace(old, turning_start=turning)
        )
    return replace(model, frame=replace(model.frame, members=tuple(members)))


class _Making:
    """Nodes and members as they are added; local to ``bed_model``."""

    def __init__(self, layout: Layout, rules: Rules) -> None:
        self.layout, self.rules = layout, rules
        self.timber = layout.sheet.bed_wood
        self.nodes: list[Vector] = []
        self.members: list[Member] = []
        self.contacts: list[Contact] = []
        self.feet: list[str] = []
        self.spots: dict[str, int] = {}
        self.rails: dict[str, tuple[int, ...]] = {}
        self.rail_nodes: dict[str, tuple[int, ...]] = {}
        self.hooks: dict[str, tuple[int, int]] = {}
        self.boards: dict[str, tuple[int, int]] = {}
        self.slats: list[tuple[int, ...]] = []
        self.rail_middle = (layout.rail_top + layout.rail_bottom) / 2

    def node(self, at: Vector, name: str = "") -> int:
        self.nodes.append(at)
        if name:
            self.spots[name] = len(self.nodes) - 1
        return len(self.nodes) - 1

    def member(self, member: Member) -> int:
        self.members.append(member)
        return len(self.members) - 1

    # --- ends ------------------------------------------------------------------------

    def leg_middle(self, end: EndPlan, side: float, height: float) -> Vector:
        """The middle of a leg at a height along it; its foot is the middle of where it stands."""
        leg = self.layout.sheet.leg
        outward = self.layout.legs.section_at(height).middle
        y = end.inside_y - end.inward * leg.thickness / 2
        return end.lean.point((side * (end.joint_x + outward), y, height))

    def end(self, end: EndPlan) -> None:
        middle_y = -end.inward * self.layout.sheet.leg.thickness / 2
        heights = [end.lean.along(0.0, middle_y), end.lean.along(self.rail_middle), end.leg_top]
        heights += [board.bottom + board.width / 2 for board in end.boards]
        columns = {name: self._leg(end, name, side, heights) for name, side in SIDES}
        for board in end.boards:
            middle = board.bottom + board.width / 2
            y = end.inside_y - end.inward * (end.reveal + board.thickness / 2)
            nodes = [_nearest(columns[name], middle) for name, _ in SIDES]
            tips = [end.lean.point((side * end.joint_x, y, middle)) for _, side in SIDES]
            arms = [subtract(t, self.nodes[n]) for t, n in zip(tips, nodes, strict=True)]
            bar = bar_of(Section(board.thickness, board.width), self.timber, self.rules)
            # In halves, so that its middle can be pushed and its sag seen.
            half = self.node(end.lean.point((0.0, y, middle)), f"{board_name(end, board)}_middle")
            self.boards[board_name(end, board)] = (
                self.member(Member(nodes[0], half, bar, arm_start=arms[0])),
                self.member(Member(half, nodes[1], bar, arm_end=arms[1])),
            )

    def _leg(self, end: EndPlan, name: str, side: float, heights: list[float]) -> dict[float, int]:
        column: dict[float, int] = {}
        for height in sorted(heights):
            if column and height - max(column) < _SAME_HEIGHT:
                column[height] = column[max(column)]
                continue
            column[height] = self.node(self.leg_middle(end, side, height))
        order = list(dict.fromkeys(column.values()))
        leg = self.layout.sheet.leg
        for below, above in itertools.pairwise(order):
            middle = (self.nodes[below][2] + self.nodes[above][2]) / 2
            middle = end.lean.along(middle, -end.inward * leg.thickness / 2)
            section = section_of(self.layout.legs.section_at(max(middle, 0.0)))
            # Local y lengthwise, so that the leg's depth there is its thickness.
            bar = bar_of(section, self.timber, self.rules)
            self.member(Member(below, above, bar, up=end.lean.direction((0.0, 1.0, 0.0))))
        piece = f"{end.end}_leg_{name}"
        self.spots[piece] = order[0]
        self.spots[f"{piece}_top"] = order[-1]
        self.spots[f"{piece}_rail"] = _nearest(column, end.lean.along(self.rail_middle))
        self.contacts.append(Contact(order[0], FLOOR_STIFFNESS))
        self.feet.append(piece)
        return column

    # --- rails and platform ------------------------------------------------------------

    def rail(self, name: str, side: float, turning: Turning) -> None:
        layout, given = self.layout, self.layout.sheet.side_rail
        ys = self._slat_ys()
        stations, places = _stations([*ys, layout.pocket_length / 2])
        ys, middle = places[:-1], places[-1]
        out = given.thickness / 2

        def at(y: float) -> Vector:
            return (side * (layout.half_width(y) + out), y, self.rail_middle)

        nodes = [self.node(at(y)) for y in stations]
        self.spots[f"side_rail_{name}_middle"] = nodes[stations.index(middle)]
        self.spots[f"side_rail_{name}_head"] = nodes[0]
        ends = [self.spots[f"{end}_leg_{name}_rail"] for end in ("head", "foot")]
        tips = [at(layout.head.lean.inside_y(self.rail_middle)), at(layout.pocket_length)]
        arms = [subtract(t, self.nodes[n]) for t, n in zip(tips, ends, strict=True)]
        bar = bar_of(Section(given.thickness, given.width), self.timber, self.rules)
        made = [
            self.member(Member(ends[0], nodes[0], bar, arm_start=arms[0], turning_start=turning))
        ]
        for a, b in itertools.pairwise(nodes):
            made.append(self.member(Member(a, b, bar)))
        made.append(
            self.member(Member(nodes[-1], ends[1], bar, arm_end=arms[1], turning_end=turning))
        )
        self.rails[name] = tuple(made)
        self.rail_nodes[name] = tuple(nodes[stations.index(y)] for y in ys)
        self.hooks[f"head_{name}"] = (made[0], 0)
        self.hooks[f"foot_{name}"] = (made[-1], 1)

    def _slat_ys(self) -> list[float]:
        row = self.layout.slats
        return [start + row.width / 2 for start in row.starts()]

    def platform(self) -> None:
        layout = self.layout
        # A box spring without bearers is taken to be as limp as a row of the sheet's slats.
        thick = layout.support_thickness or layout.sheet.slat.thickness
        bar = bar_of(Section(layout.slats.width, thick), strip_wood(layout), self.rules)
        height = layout.platform - thick / 2
        centre = self._centre_rail(slat_wood(layout))
        reach = layout.slats.length / 2
        for i, y in enumerate(self._slat_ys()):
            rails, arms = [], []
            for name, side in SIDES:
                node = self.rail_nodes[name][i]
                bearing = (reach + layout.half_width(y) - layout.sheet.runner.width) / 2
                rails.append(node)
                arms.append(subtract((side * bearing, y, height), self.nodes[node]))
            if not centre:
                self.slats.append((self.member(_whole_slat(rails, arms, bar)),))
                continue
            up = height - self.nodes[centre[y]][2]
            aside = 0.0
            if layout.rows == 2:
                aside = (layout.sheet.support.row_gap + row_bearing(layout.sheet)) / 2
            self.slats.append(
                tuple(
                    self.member(
                        _half_slat(node, centre[y], bar, arm, (side * aside, 0.0, up), layout.rows)
                    )
                    for node, arm, (_, side) in zip(rails, arms, SIDES, strict=True)
                )
            )

    def _centre_rail(self, timber: Wood) -> dict[float, int]:
        plan, given = self.layout.centre_rail, self.layout.sheet.centre_rail
        if plan is None:
            return {}
        z = (plan.top + plan.bottom) / 2
        ys = self._slat_ys()
        stations, places = _stations([*ys, *plan.feet])
        at = {y: self.node((0.0, y, z)) for y in stations}
        nodes = dict(zip([*ys, *plan.feet], (at[y] for y in places), strict=True))
        bar = bar_of(Section(given.width, plan.height), timber, self.rules)
        for a, b in itertools.pairwise(stations):
            self.member(Member(at[a], at[b], bar))
        foot = self.layout.sheet.support_foot
        post = modulus(self.timber, self.rules) * foot.size**2 / plan.bottom
        for i, y in enumerate(plan.feet):
            stiffness = 1 / (1 / FLOOR_STIFFNESS + 1 / post)
            self.contacts.append(Contact(nodes[y], stiffness))
            self.feet.append(f"support_foot_{i + 1}")
            self.spots[f"support_foot_{i + 1}"] = nodes[y]
        return nodes

    def finished(self) -> BedModel:
        frame = FrameModel(tuple(self.nodes), tuple(self.members), {}, tuple(self.contacts))
        return BedModel(
            frame,
            self.spots,
            self.rails,
            self.rail_nodes,
            tuple(self.slats),
            self.hooks,
            self.boards,
            tuple(self.feet),
        )


def _half_slat(rail: int, centre: int, bar: Bar, arm: Vector, up: Vector, rows: int) -> Member:
    """From a runner, where it is hinged, to the centre rail, where only its plan is free.

    One of two rows is hinged there too.
    """
    return Member(
        rail,
        centre,
        bar,
        arm_start=arm,
        arm_end=up,
        turning_start=HINGE,
        turning_end=(FIRM, 0.0, FIRM) if rows == 1 else (FIRM, 0.0, 0.0),
    )


def _whole_slat(rails: list[int], arms: list[Vector], bar: Bar) -> Member:
    """From runner to runner; held against rolling at one end."""
    return Member(
        rails[0],
        rails[1],
        bar,
        arm_start=arms[0],
        arm_end=arms[1],
        turning_start=HINGE,
        turning_end=(FIRM, 0.0, 0.0),
    )


def _stations(places: list[float]) -> tuple[list[float], list[float]]:
    """Places along a member in order, and for each given one the place that stands for it.

    Two nearer than a micron are one: a member so short between them would swamp all others.
    """
    stations: list[float] = []
    for place in sorted(places):
        if not stations or place - stations[-1] > _SAME_PLACE:
            stations.append(place)
    return stations, [min(stations, key=lambda s: abs(s - place)) for place in places]


def _nearest(column: Mapping[float, int], height: float) -> int:
    return column[min(column, key=lambda h: abs(h - height))]
