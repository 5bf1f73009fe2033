"""Headboard and footboard boards, between the joint faces of two legs.

z
^   y up
|  /     x across the bed, from left to right; z towards the head
+--> x

A board with tenons of its own is longer by them: x = 0 is the left tenon's end, and
the outline runs from shoulder to shoulder.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.end_plan import EndPlan, board_name
from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import Layout


def make_boards(layout: Layout) -> Iterator[Draft]:
    """Every board of the head end and of the foot end."""
    for end in layout.ends:
        yield from _boards(layout, end)


def _boards(layout: Layout, end: EndPlan) -> Iterator[Draft]:
    sheet = layout.sheet
    given = sheet.headboard if end.end == "head" else sheet.footboard
    for board in end.boards:
        beyond = board.tenons.embedment_leg if board.tenons.integral else 0.0
        shape = strip(
            2 * end.joint_x, board.width, board.thickness, given.edge, given.edge_size, beyond
        )
        near = end.inside_y - end.inward * end.reveal
        # The part's z runs towards the head, so its origin is on the foot-side face.
        face_y = near if end.end == "head" else near + board.thickness
        placement = Frame(
            (-end.joint_x - beyond, face_y, board.bottom),
            (1.0, 0.0, 0.0),
            (0.0, 0.0, 1.0),
            (0.0, -1.0, 0.0),
        )
        name = board_name(end, board)
        placement = end.lean.placed(placement)
        yield Draft(name, name, f"{end.end}_end", "centre", shape, placement, sheet.wood.species)
