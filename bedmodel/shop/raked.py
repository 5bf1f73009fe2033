"""What a head end that leans back asks of the shop: its compound cuts, marks and words.

Angles come from ``angles`` and are those of solid geometry; below one degree they are told
as offsets, since no saw is set finer. Nothing here says a word of a bed that stands plumb.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.angles import CutSetting, gauge_setting, leg_level_cut, rail_end_cut, told
from bedmodel.end_plan import EndPlan
from bedmodel.hardware import Hooked
from bedmodel.shop.marks import Mark
from bedmodel.shop.steps import Work
from bedmodel.skeleton import Layout
from bedmodel.units import format_angle, format_both

RAKED_END = "from a square line through the head end's long corner, along the inside face"
SQUARE_TO_END = "from the slanting head end, square to it, on the inside face"
RAKED_GLUE_UP = (
    "it is put together flat on the bench, square as if it stood upright: it leans only once the "
    "rails hold it, and does not stand by itself until then"
)


# --- settings ------------------------------------------------------------------------------


def rail_cut(layout: Layout) -> CutSetting:
    """The compound cut of a side rail's head end."""
    return rail_end_cut(math.degrees(layout.yaw), math.degrees(layout.rake))


def level_cut(layout: Layout) -> CutSetting:
    """The level cut at the head legs' feet, inside face on the table.

    The sheet's splay is that in the leg's own plane; seen from the foot it is a little more.
    """
    splay = math.degrees(math.atan(math.tan(layout.legs.splay) / math.cos(layout.rake)))
    return leg_level_cut(splay, math.degrees(layout.rake))


def _setting(cut: CutSetting, width: float, thickness: float, layout: Layout) -> str:
    """Mitre on the wide face and blade tilt, either as an offset where it is under a degree."""
    unit = layout.sheet.design.unit
    mitre, tilt = told(cut.mitre_deg, width, unit), told(cut.tilt_deg, thickness, unit)
    gauge = gauge_setting(cut.mitre_deg).reading_deg
    reads = f" (a gauge that is 90 when square reads {format_angle(gauge)})"
    return f"mitre {mitre}{reads if cut.mitre_deg >= 1 else ''}, blade tilt {tilt}"


def _rail_words(layout: Layout) -> str:
    rail = layout.sheet.side_rail
    return _setting(rail_cut(layout), rail.width, rail.thickness, layout)


def _foot_words(layout: Layout) -> str:
    leg = layout.sheet.leg
    return _setting(level_cut(layout), leg.foot_width, leg.thickness, layout)


# --- rails ---------------------------------------------------------------------------------


def raked_rail_marks(layout: Layout) -> tuple[Mark, ...]:
    """Where the slanting head end crosses the rail's lower edge and the platform's line."""
    if not layout.rake:
        return ()
    unit, slope = layout.sheet.design.unit, math.tan(math.radians(rail_cut(layout).mitre_deg))
    above, width = layout.rail_top - layout.platform, layout.sheet.side_rail.width
    return (
        Mark(("head end",), "on the platform's line", above * slope, unit),
        Mark(("head end",), "on the lower edge", width * slope, unit),
    )


def raked_rail_notes(layout: Layout) -> Iterator[str]:
    """How the head end is cut, and from where the marks along the rail run."""
    if not layout.rake:
        return
    show = layout.sheet.show
    yield (
        f"head end cut, compound: {_rail_words(layout)}; the upper edge is the longer"
        + ("" if layout.yaw < 1e-8 else ", and the show face")
        + "; left and right are mirrored"
    )
    yield (
        "marks from the head end run from where it crosses the platform's line, "
        f"{show(layout.platform - layout.rail_bottom)} above the lower edge: knife that point "
        "before anything else"
    )
    if layout.fastener is not None:
        yield (
            "what is cut into the head end is marked along the slanting end from its lower corner, "
            "and on the inside face square to that end"
        )


def raked_rail_steps(layout: Layout) -> Iterator[str]:
    if layout.rake:
        yield (
            f"side rails, head ends: compound cut, {_rail_words(layout)}; leave them a little "
            "long, try both on the head legs dry and shoot them to fit"
        )


# --- legs ----------------------------------------------------------------------------------


def raked_leg_notes(layout: Layout, end: EndPlan) -> Iterator[str]:
    """How heights are measured on a leaning leg, and what is cut off at its foot."""
    if not end.lean.rake:
        return
    wedge = layout.sheet.leg.thickness * math.tan(end.lean.rake)
    yield (
        f"this end leans back {format_angle(math.degrees(end.lean.rake))}: all heights are "
        "measured along the leg, never plumb"
    )
    yield (
        f"foot, cut level with the floor: {_foot_words(layout)}, inside face on the table; the cut "
        f"begins at the inside face's lower arris and takes {layout.sheet.show(wedge)} off the "
        "show face"
    )


def level_cut_steps(layout: Layout) -> Iterator[str]:
    if layout.rake:
        yield (
            "head legs: cut the feet level last, from the inside face's lower arris, left and "
            "right mirrored; the template's eased edge is gone there, so ease the new arris by "
            "hand against splintering"
        )


def level_cut_settings(layout: Layout) -> tuple[str, ...]:
    """The saw's setting for the feet of the head legs."""
    if not layout.rake:
        return ()
    return (f"head legs' feet, inside face on the table: {_foot_words(layout)}",)


def level_cut_rows(layout: Layout, words: str) -> tuple[tuple[str, str], ...]:
    """The row of a card that tells the level cut; none for legs that stand plumb."""
    if not layout.rake or not words.startswith("head leg"):
        return ()
    return (
        (
            "level cut",
            f"after this, the head legs' feet: {_foot_words(layout)}, inside face on the table, "
            "from its lower arris; the outline's floor edge is that arris",
        ),
    )


def bevel_words(layout: Layout) -> str:
    """How the cleat of a leaning board is bevelled."""
    thickness, unit = layout.sheet.cleat.thickness, layout.sheet.design.unit
    drop = format_both(thickness * math.tan(layout.rake), unit)
    return (
        f"bevel the upper edge {format_angle(math.degrees(layout.rake))}, {drop} down from the "
        "board's side, so that it is level when the head end leans; heights are to the board's side"
    )


# --- putting it together -------------------------------------------------------------------


def plumb_words(layout: Layout) -> str:
    return ", measured plumb" if layout.rake else ""


def raked_clamps(work: Work, end: EndPlan) -> str:
    """Where the clamps of a leaning end go, along its legs."""
    low = end.below_floor
    middles = [work.both((board.bottom + board.top) / 2 + low) for board in end.boards]
    return (
        f"a clamp across each board, {' and '.join(middles)} along the leg from the long corner of "
        "its foot"
    )


def raked_hanging(layout: Layout) -> Iterator[str]:
    """What to mind when the rails are hung on a leaning end."""
    if not layout.rake:
        return
    yield "the head end falls back by itself: prop it, or lean it on a wall, until both rails hold"
    plan = layout.fastener
    if plan is not None and isinstance(plan.row, Hooked):
        left = plan.row.wedge - math.degrees(layout.rake)
        yield (
            "lower each rail plumb, both ends together: its head end stands off the leg while it "
            f"is lifted and closes as it drops; the hooks' wedge leaves {format_angle(left)} to "
            "draw it tight there"
        )
