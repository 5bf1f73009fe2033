"""Runners: strips on the rails' inside faces, under the slat ends; ends square.

A runner lies along its rail, so it is turned with it; x from head to foot, y up,
z outward, its far face on the rail.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.parts.side_rail import rail_axes
from bedmodel.platform_screws import head_gap
from bedmodel.skeleton import Layout


def make_runner(layout: Layout) -> Iterator[Draft]:
    """The right runner."""
    sheet = layout.sheet
    given = sheet.runner
    # Square ends: the gap is kept at the corner that comes nearest to a leg.
    lost = head_gap(sheet, layout.pocket)
    length = layout.rail_length - lost - given.end_gap / math.cos(layout.yaw)
    shape = strip(length, given.height, given.width, given.edge, given.edge_size)
    on_rail = Frame((layout.half_head, 0.0, layout.runner_top - given.height), *rail_axes(layout))
    placement = on_rail.moved(on_rail.direction((lost, 0.0, -given.width)))
    species = sheet.wood.slats or sheet.wood.species
    yield Draft("runner", "runner", "rails", "right", shape, placement, species)
