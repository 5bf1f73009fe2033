"""Headboard and footboard boards, between the joint faces of two legs.

z
^   y up
|  /     x across the bed, from left to right; z towards the head
+--> x
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.frames import Frame
from bedmodel.joints import board_name
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import EndPlan, Layout


def make_boards(layout: Layout) -> Iterator[Draft]:
    """Every board of the head end and of the foot end."""
    for end in layout.ends:
        yield from _boards(layout, end)


def _boards(layout: Layout, end: EndPlan) -> Iterator[Draft]:
    sheet = layout.sheet
    given = sheet.headboard if end.end == "head" else sheet.footboard
    for board in end.boards:
        shape = strip(2 * end.joint_x, board.width, board.thickness, given.edge, given.edge_size)
        near = end.inside_y - end.inward * end.reveal
        # The part's z runs towards the head, so its origin is on the foot-side face.
        face_y = near if end.end == "head" else near + board.thickness
        placement = Frame(
            (-end.joint_x, face_y, board.bottom), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)
        )
        name = board_name(end, board)
        yield Draft(name, name, f"{end.end}_end", "centre", shape, placement, sheet.wood.species)
