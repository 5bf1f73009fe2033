"""Joints of what fills an end: one record gives the tenon of an upright and its hole in a rail.

The joint frame lies in the bed, at the middle of the hole's or groove's mouth: z into the
part it is cut in, x along the rail, or along the groove.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.cuts import Boss, Cut, Mortise, Recess, slot
from bedmodel.end_plan import EndPlan, board_name
from bedmodel.ends.record import Between, CapPlan, Fill, PanelPlan, UprightPlan
from bedmodel.frames import Frame, Vector, cross, scale
from bedmodel.outline import Outline
from bedmodel.shape import Shape
from bedmodel.skeleton import Layout

OVER = 2.0  # mm that a groove's cutter goes on past the end where it runs out
_NEAR = 1e-6


@dataclass(frozen=True)
class LetIn:
    """One end of an upright in a rail; ``upright`` and ``rail`` name the pieces."""

    name: str
    upright: str
    rail: str
    frame: Frame
    plan: UprightPlan

    def cut(self, rail: Frame) -> Mortise:
        """The mortise or hole in the rail, whose part frame is placed by ``rail``."""
        plan = self.plan
        return Mortise(
            name=self.name,
            frame=rail.inverse() @ self.frame,
            length=plan.tenon_width + 2 * plan.clearance,
            width=plan.tenon_thickness + 2 * plan.clearance,
            depth=plan.hole_depth,
            ends=plan.ends,
        )

    def boss(self, upright: Frame) -> Boss:
        """The tenon or pin on the upright."""
        plan = self.plan
        outline = slot(plan.tenon_width, plan.tenon_thickness, plan.ends)
        return Boss(upright.inverse() @ self.frame, outline, plan.let_in)


@dataclass(frozen=True)
class Groove:
    """A groove for a panel's tongue; ``part`` names the piece, a leg without its side.

    One that is ``open`` runs out at both its ends, where the part butts against another.
    """

    name: str
    part: str
    frame: Frame
    length: float
    plan: PanelPlan
    open: bool

    def cut(self, part: Frame) -> Cut:
        """The groove in its part, whose part frame is placed by ``part``."""
        plan, frame = self.plan, part.inverse() @ self.frame
        width, depth = plan.groove_width, plan.groove_depth
        if not self.open:
            return Mortise(
                self.name, frame, self.length, width, depth, ends="square", role="groove"
            )
        return Recess(
            self.name,
            frame,
            _strip(self.length, width),
            _strip(self.length + 2 * OVER, width),
            depth,
            role="groove",
        )


@dataclass(frozen=True)
class Stub:
    """The stub tenon of a muntin or stile in a rail's groove."""

    name: str
    upright: str
    rail: str
    frame: Frame
    plan: PanelPlan

    def boss(self, upright: Frame) -> Boss:
        """The tenon on the upright."""
        plan = self.plan
        outline = slot(plan.tenon_width, plan.tenon_thickness, "square")
        return Boss(upright.inverse() @ self.frame, outline, plan.tenon_length)


def _strip(length: float, width: float) -> Outline:
    x, y = length / 2, width / 2
    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
    return Outline(corners, (0.0,) * 4, ("side", "near", "side", "near"))


def upright_name(end: EndPlan, plan: UprightPlan, number: int) -> str:
    """The piece's name, numbered from the left: ``headboard_spindle_01``.

    With more than two rails each opening has its own number before that.
    """
    opening = f"_{end.fills.index(plan) + 1}" if len(end.fills) > 1 else ""
    return f"{end.end}board_{plan.word}{opening}_{number:02d}"


def panel_name(end: EndPlan, plan: PanelPlan, number: int) -> str:
    """The panel's name, numbered from the left: ``headboard_floating_panel_1``."""
    opening = f"_{end.fills.index(plan) + 1}" if len(end.fills) > 1 else ""
    return f"{end.end}board_floating_panel{opening}_{number}"


def frame_upright_name(end: EndPlan, plan: PanelPlan, number: int) -> str:
    """A muntin's or an own stile's name, numbered from the left."""
    opening = f"_{end.fills.index(plan) + 1}" if len(end.fills) > 1 else ""
    if plan.stiles == "legs":
        return f"{end.end}board_muntin{opening}_{number}"
    if number in (1, len(plan.uprights)):
        return f"{end.end}board_stile{opening}_{1 if number == 1 else 2}"
    return f"{end.end}board_muntin{opening}_{number - 1}"


def rail_names(end: EndPlan, fill: Fill) -> tuple[str, str]:
    """The pieces below and above a fill."""
    where = fill.where
    return board_name(end, end.boards[where.lower]), board_name(end, end.boards[where.upper])


def let_ins(layout: Layout) -> Iterator[LetIn]:
    """Both ends of every upright of the bed."""
    for end in layout.ends:
        for plan in end.fills:
            if isinstance(plan, UprightPlan):
                yield from _of_plan(end, plan)


def _of_plan(end: EndPlan, plan: UprightPlan) -> Iterator[LetIn]:
    y = middle_y(end, plan)
    for number, x in enumerate(plan.middles, start=1):
        upright = upright_name(end, plan, number)
        for side, board, z, into in _sides(plan.where):
            frame = _in_bed(end, (x, y, z), (0.0, 0.0, into), (1.0, 0.0, 0.0))
            rail = board_name(end, end.boards[board])
            yield LetIn(f"{upright}_{side}", upright, rail, frame, plan)


def _in_bed(end: EndPlan, origin: Vector, z: Vector, x: Vector) -> Frame:
    """A joint's frame, given in the end's own upright frame, in the bed."""
    return end.lean.placed(Frame.from_zx(origin, z, x))


def middle_y(end: EndPlan, fill: Fill) -> float:
    """The fill's middle plane along Y, in the end's own upright frame."""
    return end.inside_y - end.inward * fill.where.setback


def grooves(layout: Layout) -> Iterator[Groove]:
    """Every groove for a panel: in rails, muntins and stiles, and in the right-hand legs."""
    for end in layout.ends:
        for plan in end.fills:
            if isinstance(plan, PanelPlan):
                yield from _grooves(end, plan)


def _grooves(end: EndPlan, plan: PanelPlan) -> Iterator[Groove]:
    where, y = plan.where, middle_y(end, plan)
    for side, board, z, into in _sides(where):
        frame = _in_bed(end, (0.0, y, z), (0.0, 0.0, into), (1.0, 0.0, 0.0))
        name = board_name(end, end.boards[board])
        yield Groove(f"{name}_groove_{side}", name, frame, 2 * where.half, plan, open=True)
    middle, up = (where.bottom + where.top) / 2, (0.0, 0.0, 1.0)
    if plan.stiles == "legs":
        long = where.height + 2 * plan.groove_depth
        frame = _in_bed(end, (where.half, y, middle), (1.0, 0.0, 0.0), up)
        number = end.fills.index(plan) + 1
        yield Groove(f"{end.end}_panel_groove_{number}", f"{end.end}_leg", frame, long, plan, False)
    for number, x in enumerate(plan.uprights, start=1):
        name = frame_upright_name(end, plan, number)
        for side, sign in (("left", -1.0), ("right", 1.0)):
            edge = x + sign * plan.upright_width / 2
            if abs(edge) > where.half - _NEAR:
                continue  # an own stile's edge lies against the leg
            frame = _in_bed(end, (edge, y, middle), (-sign, 0.0, 0.0), up)
            yield Groove(f"{name}_groove_{side}", name, frame, where.height, plan, open=True)


def _sides(where: Between) -> tuple[tuple[str, int, float, float], ...]:
    """For lower and upper rail: which, the height of its edge, and the way into it."""
    return ("lower", where.lower, where.bottom, -1.0), ("upper", where.upper, where.top, 1.0)


def stubs(layout: Layout) -> Iterator[Stub]:
    """The stub tenons of all muntins and own stiles."""
    for end in layout.ends:
        for plan in end.fills:
            if not isinstance(plan, PanelPlan):
                continue
            for number, x in enumerate(plan.uprights, start=1):
                name = frame_upright_name(end, plan, number)
                for side, board, z, into in _sides(plan.where):
                    at = (x, middle_y(end, plan), z)
                    frame = _in_bed(end, at, (0.0, 0.0, into), (1.0, 0.0, 0.0))
                    rail = board_name(end, end.boards[board])
                    yield Stub(f"{name}_{side}", name, rail, frame, plan)


@dataclass(frozen=True)
class CapJoint:
    """One dowel under a cap: its hole in the cap and in what is below, a leg or a board.

    The frame lies in the bed, at the middle of the hole's mouth below the cap: z down.
    """

    name: str
    group: str
    cap: str
    below: str
    frame: Frame
    plan: CapPlan
    side: Literal["right", "centre"]

    def cut_below(self, part: Frame) -> Mortise:
        """The hole in the leg or the board."""
        return self._hole(f"{self.name}_below", part, self.frame, self.plan.in_below)

    def cuts_in_cap(self, cap: Frame) -> tuple[Mortise, ...]:
        """The hole in the cap; of a dowel in the right leg also its mirror image."""
        x, y, z = self.frame.origin
        up = scale(self.frame.z, -1.0)
        places = ((x, "right"), (-x, "left")) if self.side == "right" else ((x, "cap"),)
        return tuple(
            self._hole(
                f"{self.name}_{word}",
                cap,
                Frame.from_zx((at, y, z), up, (1.0, 0.0, 0.0)),
                self.plan.in_cap,
            )
            for at, word in places
        )

    def _hole(self, name: str, part: Frame, frame: Frame, deep: float) -> Mortise:
        size, depth = self.plan.hole, deep + self.plan.end_gap
        return Mortise(name, part.inverse() @ frame, size, size, depth, role="hole")

    def dowel(self) -> tuple[Shape, Frame]:
        """The dowel's shape and its placement in the bed; x up."""
        plan = self.plan
        r, f = plan.diameter / 2, self.frame
        circle = slot(2 * r, 2 * r, "round").mapped(lambda p: (p[0] + r, p[1] + r))
        # Where the board has room below the cap, a dowel goes across that too.
        length = plan.in_cap + plan.in_below
        shape = Shape(length, 2 * r, 2 * r, circle, face="yz")
        up = scale(f.z, -1.0)
        turned = Frame(f.origin, up, f.x, cross(up, f.x))
        return shape, Frame(turned.point((-plan.in_below, -r, -r)), turned.x, turned.y, turned.z)


def cap_name(end: EndPlan) -> str:
    return f"{end.end}board_cap"


def cap_joints(layout: Layout) -> Iterator[CapJoint]:
    """Every dowel under a cap, on the right-hand side of those in legs."""
    for end in layout.ends:
        plan = end.cap
        if plan is None:
            continue
        for number, dowel in enumerate(plan.dowels, start=1):
            y = end.inside_y - end.inward * dowel.setback
            frame = _in_bed(end, (dowel.x, y, plan.bottom), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0))
            in_leg = dowel.into == "leg"
            below = f"{end.end}_leg" if in_leg else board_name(end, end.boards[plan.board])
            name = f"{cap_name(end)}_dowel_{number}"
            side: Literal["right", "centre"] = "right" if in_leg else "centre"
            yield CapJoint(name, f"{end.end}_end", cap_name(end), below, frame, plan, side)


@dataclass(frozen=True)
class FillJoints:
    """All joints of the fills and caps of a bed, made once."""

    caps: tuple[CapJoint, ...]
    let_ins: tuple[LetIn, ...]
    grooves: tuple[Groove, ...]
    stubs: tuple[Stub, ...]

    @classmethod
    def of(cls, layout: Layout) -> FillJoints:
        return cls(
            tuple(cap_joints(layout)),
            tuple(let_ins(layout)),
            tuple(grooves(layout)),
            tuple(stubs(layout)),
        )

    def filled(self, name: str, shape: Shape, placement: Frame) -> Shape:
        """A part's shape with the holes, mortises and grooves in it, and with its tenons."""
        cuts: list[Cut] = [j.cut(placement) for j in self.let_ins if j.rail == name]
        cuts += [groove.cut(placement) for groove in self.grooves if groove.part == name]
        cuts += [joint.cut_below(placement) for joint in self.caps if joint.below == name]
        cuts += [
            c for joint in self.caps if joint.cap == name for c in joint.cuts_in_cap(placement)
        ]
        bosses = [
            j.boss(placement)
            for j in self.let_ins
            if j.upright == name and j.plan.tenon_width < j.plan.width
        ]
        bosses += [stub.boss(placement) for stub in self.stubs if stub.upright == name]
        if not cuts and not bosses:
            return shape
        return replace(shape.with_cuts(tuple(cuts)), bosses=(*shape.bosses, *bosses))
