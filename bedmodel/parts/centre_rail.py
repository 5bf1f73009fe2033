"""The centre rail: on the centreline, its top level with the runners' tops.

x from head to foot, y up, z across the bed.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import Layout


def make_centre_rail(layout: Layout) -> Iterator[Draft]:
    """The centre rail, where the bed has one."""
    plan = layout.centre_rail
    if plan is None:
        return
    sheet = layout.sheet
    given = sheet.centre_rail
    shape = strip(plan.end - plan.start, plan.height, given.width, given.edge, given.edge_size)
    placement = Frame(
        (-given.width / 2, plan.start, plan.bottom),
        (0.0, 1.0, 0.0),
        (0.0, 0.0, 1.0),
        (1.0, 0.0, 0.0),
    )
    species = sheet.wood.slats or sheet.wood.species
    yield Draft("centre_rail", "centre_rail", "centre_support", "centre", shape, placement, species)
