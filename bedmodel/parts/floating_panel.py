"""Panels that float in a frame: flat, or raised with a bevelled field on both faces.

      ____________________
     /   field            \\      raised: field, bevel, tongue all round
  __/                      \\__
 |__tongue______________tongue__|

Of horizontal grain x runs across the bed, to the right, and y up; of upright grain x up and
y to the right. The tongue's lower left corner is the blank's.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.cuts import Boss
from bedmodel.end_joints import middle_y, panel_name
from bedmodel.end_plan import EndPlan
from bedmodel.ends.record import PanelPlan
from bedmodel.frames import Frame
from bedmodel.outline import Outline
from bedmodel.parts.draft import Draft
from bedmodel.shape import Easing, Shape
from bedmodel.skeleton import Layout

STEPPED = 0.9
_SIDES = ("edge", "edge", "edge", "edge")


def make_floating_panels(layout: Layout) -> Iterator[Draft]:
    """Every panel of both ends, from left to right."""
    for end in layout.ends:
        for plan in end.fills:
            if isinstance(plan, PanelPlan):
                for number, opening in enumerate(plan.openings, start=1):
                    yield _panel(layout, end, plan, number, opening)


def _panel(
    layout: Layout, end: EndPlan, plan: PanelPlan, number: int, opening: tuple[float, float]
) -> Draft:
    wide, high = plan.size(opening)
    left = (opening[0] + opening[1] - wide) / 2
    low = (plan.where.bottom + plan.where.top - high) / 2
    y, half = middle_y(end, plan), plan.thickness / 2
    inset = (wide - (opening[1] - opening[0])) / 2 + plan.border
    inset_up = (high - plan.where.height) / 2 + plan.border
    if plan.grain == "horizontal":
        shape = panel_shape(plan, wide, high, inset, inset_up)
        axes = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)
        placement = end.lean.placed(Frame((left, y + half, low), *axes))
    else:
        shape = panel_shape(plan, high, wide, inset_up, inset)
        axes = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
        placement = end.lean.placed(Frame((left, y - half, low), *axes))
    return Draft(
        panel_name(end, plan, number),
        f"{end.end}board_floating_panel",
        f"{end.end}_end",
        "centre",
        shape,
        placement,
        layout.sheet.wood.species,
    )


def panel_shape(
    plan: PanelPlan, length: float, width: float, inset_x: float, inset_y: float
) -> Shape:
    """A panel's shape; a raised field stands in by the insets from the tongue's edges."""
    whole = Outline.rectangle(length, width, _SIDES)
    if not plan.is_raised:
        return Shape(length, width, plan.thickness, whole)
    field = Outline.rectangle(length - 2 * inset_x, width - 2 * inset_y, _SIDES)
    field = field.mapped(lambda p: (p[0] + inset_x, p[1] + inset_y))
    rise = (plan.thickness - plan.tongue) / 2
    tongue = Boss(Frame((0.0, 0.0, rise)), whole, plan.tongue)
    # A step of a tenth of the rise stays below the bevel, as a raised panel has.
    easing = Easing("chamfer", STEPPED * rise, frozenset({"edge"}))
    return Shape(length, width, plan.thickness, field, easing=easing, bosses=(tongue,))
