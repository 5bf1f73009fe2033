"""Muntins and own stiles of a frame with panels: upright between two rails.

x up, the grain; y across the bed, to the right; z towards the foot. x = 0 is the lower stub
tenon's end.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.end_joints import frame_upright_name, middle_y
from bedmodel.end_plan import EndPlan
from bedmodel.ends.record import PanelPlan
from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import Layout


def make_frame_uprights(layout: Layout) -> Iterator[Draft]:
    """Every muntin and own stile of both ends, from left to right."""
    for end in layout.ends:
        for plan in end.fills:
            if isinstance(plan, PanelPlan):
                yield from _uprights(layout, end, plan)


def _uprights(layout: Layout, end: EndPlan, plan: PanelPlan) -> Iterator[Draft]:
    where, wide, thick = plan.where, plan.upright_width, plan.upright_thickness
    shape = strip(where.height, wide, thick, plan.edge, plan.edge_size, plan.tenon_length)
    for number, x in enumerate(plan.uprights, start=1):
        name = frame_upright_name(end, plan, number)
        corner = (x - wide / 2, middle_y(end, plan) - thick / 2, where.bottom - plan.tenon_length)
        placement = end.lean.placed(
            Frame(corner, (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
        )
        kind = f"{end.end}board_{'stile' if '_stile' in name else 'muntin'}"
        species = layout.sheet.wood.species
        yield Draft(name, kind, f"{end.end}_end", "centre", shape, placement, species)
