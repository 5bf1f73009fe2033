"""Cap rails: flat on top of a head or foot end; x across the bed, y towards the foot, z up."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.end_joints import cap_name
from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import Layout


def make_caps(layout: Layout) -> Iterator[Draft]:
    """The cap of each end that has one."""
    for end in layout.ends:
        plan = end.cap
        if plan is None:
            continue
        shape = strip(plan.length, plan.width, plan.thickness, plan.edge, plan.edge_size)
        edge = end.inside_y + end.inward * plan.inner
        low = edge - plan.width if end.end == "head" else edge
        name = cap_name(end)
        species, group = layout.sheet.wood.species, f"{end.end}_end"
        placement = end.lean.placed(Frame((-plan.length / 2, low, plan.bottom)))
        yield Draft(name, name, group, "centre", shape, placement, species)
