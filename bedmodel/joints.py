"""Joints between boards and legs: one record gives both cuts, or cut and tenon, and what is loose.

The joint frame lies in the bed, at the middle of one tenon on the joint face:
z into the leg, x up along the slot, y through the thickness.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from bedmodel.cuts import Boss, Mortise, slot
from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.frames import Frame, Vector, scale
from bedmodel.shape import Shape
from bedmodel.skeleton import Layout
from bedmodel.tenons import Haunch, TenonPlan


@dataclass(frozen=True)
class TenonJoint:
    """One tenon between a board's right end and the right leg: loose, a dowel, or the board's own.

    ``board`` and ``leg`` name the pieces; ``frame`` is given in the bed. Where
    there is more room to slide on one side, the mortise's middle lies ``shift``
    above the tenon's. A haunch is a tenon of its own ``plan``, wide and short.
    """

    name: str
    group: str
    board: str
    leg: str
    frame: Frame
    plan: TenonPlan
    slack: float
    shift: float = 0.0
    family: str = ""
    is_haunch: bool = False

    @property
    def is_glued(self) -> bool:
        return self.slack == 0

    @property
    def leg_mortise_length(self) -> float:
        return self.plan.mortise_length + 2 * self.slack

    def cut_in_leg(self, leg: Frame) -> Mortise:
        """The mortise in the leg, whose part frame is placed by ``leg``."""
        middle = self.frame.moved(scale(self.frame.x, self.shift))
        cut = self._cut(leg, middle, self.leg_mortise_length, self.plan.embedment_leg)
        return replace(cut, role="haunch" if self.is_haunch else "mortise", family=self.family)

    def cut_in_board(self, board: Frame) -> Mortise:
        """The mortise in the board's right end."""
        facing = Frame.from_zx(self.frame.origin, _reverse(self.frame.z), self.frame.x)
        return self._cut(board, facing, self.plan.mortise_length, self.plan.embedment_board)

    def cut_in_board_left(self, board: Frame) -> Mortise:
        """The mortise in the board's left end, mirrored across the bed."""
        x, y, z = self.frame.origin
        facing = Frame.from_zx((-x, y, z), self.frame.z, self.frame.x)
        plan = self.plan
        return self._cut(board, facing, plan.mortise_length, plan.embedment_board, "left")

    def bosses(self, board: Frame) -> tuple[Boss, Boss]:
        """The tenon cut on the board itself: on its right end and, mirrored, on its left."""
        plan, (x, y, z) = self.plan, self.frame.origin
        outline = slot(plan.width, plan.thickness, plan.ends)
        left = Frame.from_zx((-x, y, z), _reverse(self.frame.z), self.frame.x)
        there = board.inverse()
        return (
            Boss(there @ self.frame, outline, plan.embedment_leg),
            Boss(there @ left, outline, plan.embedment_leg),
        )

    def _cut(
        self,
        placement: Frame,
        facing: Frame,
        length: float,
        embedment: float,
        side: str = "right",
    ) -> Mortise:
        return Mortise(
            name=f"{self.name}_{side}",
            frame=placement.inverse() @ facing,
            length=length,
            width=self.plan.mortise_width,
            depth=embedment + self.plan.end_gap,
            ends=self.plan.ends,
        )

    def tenon(self) -> tuple[Shape, Frame]:
        """The loose tenon: its shape and its placement in the bed.

        x along the grain, from the board into the leg; y up; its narrow
        edges are half round, as the mortise's ends are
        """
        plan = self.plan
        length = plan.embedment_board + plan.embedment_leg
        middle = (plan.width / 2, plan.thickness / 2)
        outline = slot(plan.width, plan.thickness, plan.ends).mapped(
            lambda p: (p[0] + middle[0], p[1] + middle[1])
        )
        shape = Shape(length, plan.width, plan.thickness, outline, face="yz")
        corner = (-plan.width / 2, -plan.thickness / 2, -plan.embedment_board)
        f = self.frame
        placement = Frame(f.point(corner), f.z, f.x, f.y)
        return shape, placement


def tenon_joints(layout: Layout) -> Iterator[TenonJoint]:
    """All tenon joints on the right-hand side; the left is their mirror image."""
    for end in layout.ends:
        for board in end.boards:
            yield from _board_joints(end, board)


def haunch_joints(layout: Layout) -> Iterator[TenonJoint]:
    """All haunches on the right-hand side, each as a wide and short tenon."""
    for end in layout.ends:
        for board in end.boards:
            yield from _board_haunches(end, board)


def board_joints(layout: Layout) -> Iterator[TenonJoint]:
    """All tenons and haunches on the right-hand side."""
    yield from tenon_joints(layout)
    yield from haunch_joints(layout)


def _board_joints(end: EndPlan, board: BoardPlan) -> Iterator[TenonJoint]:
    plan = board.tenons
    piece = board_name(end, board)
    for i, (height, setback) in enumerate(plan.places):
        yield TenonJoint(
            name=f"{piece}_{plan.kind}_{i + 1}",
            group=f"{end.end}_end",
            board=piece,
            leg=f"{end.end}_leg",
            frame=_frame(end, height, setback),
            plan=plan,
            slack=plan.slack_at(height),
            family=_family(piece, plan, setback),
        )


def _board_haunches(end: EndPlan, board: BoardPlan) -> Iterator[TenonJoint]:
    plan = board.tenons
    piece = board_name(end, board)
    middles = tuple((haunch.low + haunch.high) / 2 for haunch in plan.haunches)
    places = [(haunch, setback) for haunch in plan.haunches for setback in plan.setbacks]
    for i, (haunch, setback) in enumerate(places):
        middle = (haunch.low + haunch.high) / 2
        groove = (haunch.groove_low + haunch.groove_high) / 2
        own = replace(as_tenon(plan, haunch), heights=middles)
        yield TenonJoint(
            name=f"{piece}_haunch_{i + 1}",
            group=f"{end.end}_end",
            board=piece,
            leg=f"{end.end}_leg",
            frame=_frame(end, middle, setback),
            plan=own,
            slack=(haunch.groove_high - haunch.groove_low - own.mortise_length) / 2,
            shift=groove - middle,
            family=_family(piece, plan, setback),
            is_haunch=True,
        )


def as_tenon(plan: TenonPlan, haunch: Haunch) -> TenonPlan:
    """A haunch as a tenon of its own, wide and short."""
    return replace(
        plan,
        width=haunch.high - haunch.low,
        embedment_leg=plan.haunch,
        slack=(),
        haunches=(),
    )


def _frame(end: EndPlan, height: float, setback: float) -> Frame:
    y = end.inside_y - end.inward * setback
    own = Frame.from_zx((end.joint_x, y, height), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return end.lean.placed(own)


def _family(piece: str, plan: TenonPlan, setback: float) -> str:
    """Mortises and the groove of the haunch beside them, row by row."""
    return f"{piece}_row_{plan.setbacks.index(setback) + 1}" if plan.haunches else ""


def _reverse(v: Vector) -> Vector:
    return (-v[0], -v[1], -v[2])
