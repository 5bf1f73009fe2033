"""Joints of what fills an end: one record gives the tenon of an upright and its hole in a rail.

The joint frame lies in the bed, at the middle of the hole's mouth in the rail's edge: z into
the rail, x along the rail.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.ends.record import UprightPlan
from bedmodel.frames import Frame
from bedmodel.shape import Boss, Mortise, Shape, slot
from bedmodel.skeleton import EndPlan, Layout, board_name


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


def upright_name(end: EndPlan, plan: UprightPlan, number: int) -> str:
    """The piece's name, numbered from the left: ``headboard_spindle_01``.

    With more than two rails each opening has its own number before that.
    """
    opening = f"_{end.fills.index(plan) + 1}" if len(end.fills) > 1 else ""
    return f"{end.end}board_{plan.word}{opening}_{number:02d}"


def let_ins(layout: Layout) -> Iterator[LetIn]:
    """Both ends of every upright of the bed."""
    for end in layout.ends:
        for plan in end.fills:
            if isinstance(plan, UprightPlan):
                yield from _of_plan(end, plan)


def _of_plan(end: EndPlan, plan: UprightPlan) -> Iterator[LetIn]:
    where = plan.where
    y = end.inside_y - end.inward * where.setback
    for number, x in enumerate(plan.middles, start=1):
        upright = upright_name(end, plan, number)
        for side, board, z, up in (
            ("lower", where.lower, where.bottom, -1.0),
            ("upper", where.upper, where.top, 1.0),
        ):
            frame = Frame.from_zx((x, y, z), (0.0, 0.0, up), (1.0, 0.0, 0.0))
            rail = board_name(end, end.boards[board])
            yield LetIn(f"{upright}_{side}", upright, rail, frame, plan)


def filled(name: str, shape: Shape, placement: Frame, joints: Sequence[LetIn]) -> Shape:
    """A rail's shape with its holes and mortises, an upright's with its tenons."""
    mine = [j for j in joints if name in (j.rail, j.upright)]
    if not mine:
        return shape
    cuts = tuple(j.cut(placement) for j in mine if j.rail == name)
    bosses = tuple(
        j.boss(placement)
        for j in mine
        if j.upright == name and j.plan.tenon_width < j.plan.width
    )
    return replace(shape.with_cuts(cuts), bosses=shape.bosses + bosses)
