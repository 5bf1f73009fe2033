"""Joints between boards and legs: one record gives both cuts and the loose pieces.

The joint frame lies in the bed, at the middle of one tenon on the joint face:
z into the leg, x up along the slot, y through the thickness.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bedmodel.frames import Frame, Vector
from bedmodel.shape import Mortise, Shape, slot
from bedmodel.skeleton import BoardPlan, EndPlan, Layout
from bedmodel.skeleton import board_name as board_name
from bedmodel.tenons import TenonPlan


@dataclass(frozen=True)
class TenonJoint:
    """One loose tenon between a board's right end and the right leg.

    ``board`` and ``leg`` name the pieces; ``frame`` is given in the bed.
    """

    name: str
    group: str
    board: str
    leg: str
    frame: Frame
    plan: TenonPlan
    slack: float

    @property
    def is_glued(self) -> bool:
        return self.slack == 0

    @property
    def leg_mortise_length(self) -> float:
        return self.plan.mortise_length + 2 * self.slack

    def cut_in_leg(self, leg: Frame) -> Mortise:
        """The mortise in the leg, whose part frame is placed by ``leg``."""
        depth = self.plan.embedment_leg
        return self._cut(leg, self.frame, self.leg_mortise_length, depth)

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


def _board_joints(end: EndPlan, board: BoardPlan) -> Iterator[TenonJoint]:
    plan = board.tenons
    piece = board_name(end, board)
    for i, (height, setback) in enumerate(plan.places):
        y = end.inside_y - end.inward * setback
        yield TenonJoint(
            name=f"{piece}_{plan.kind}_{i + 1}",
            group=f"{end.end}_end",
            board=piece,
            leg=f"{end.end}_leg",
            frame=Frame.from_zx((end.joint_x, y, height), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
            plan=plan,
            slack=plan.slack_at(height),
        )


def _reverse(v: Vector) -> Vector:
    return (-v[0], -v[1], -v[2])
