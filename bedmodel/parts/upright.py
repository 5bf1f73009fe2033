"""Slats and spindles of a head or foot end: upright between two rails.

x up, the grain; y across the bed, to the right; z towards the foot. x = 0 is the lower
tenon's end.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.cuts import slot
from bedmodel.end_joints import middle_y, upright_name
from bedmodel.end_plan import EndPlan
from bedmodel.ends.record import UprightPlan
from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.shape import Shape
from bedmodel.skeleton import Layout


def make_uprights(layout: Layout) -> Iterator[Draft]:
    """Every slat and spindle of both ends, from left to right."""
    for end in layout.ends:
        for plan in end.fills:
            if isinstance(plan, UprightPlan):
                yield from _uprights(layout, end, plan)


def _uprights(layout: Layout, end: EndPlan, plan: UprightPlan) -> Iterator[Draft]:
    shape = _rod(plan) if plan.is_round else _slat(plan)
    where = plan.where
    y = middle_y(end, plan)
    for number, x in enumerate(plan.middles, start=1):
        # x up, y to the right, so z towards the foot.
        corner = (x - plan.width / 2, y - plan.thickness / 2, where.bottom - plan.let_in)
        placement = end.lean.placed(
            Frame(corner, (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
        )
        yield Draft(
            upright_name(end, plan, number),
            f"{end.end}board_{plan.word}",
            f"{end.end}_end",
            "centre",
            shape,
            placement,
            layout.sheet.wood.species,
        )


def _slat(plan: UprightPlan) -> Shape:
    height = plan.where.height
    return strip(height, plan.width, plan.thickness, plan.edge, plan.edge_size, plan.let_in)


def _rod(plan: UprightPlan) -> Shape:
    across = plan.width
    circle = slot(across, across, "round").mapped(lambda p: (p[0] + across / 2, p[1] + across / 2))
    base = (plan.let_in, plan.let_in + plan.where.height)
    whole = plan.tenon_width >= across
    return Shape(plan.length, across, across, circle, face="yz", base=None if whole else base)
