"""The sled that carries a splayed leg past the saw blade, to cut its joint face.

From above, you stand at the left and push to the right; the blade runs along the saw
line. The outer edge of the leg's blank lies against the fence, which stands at the
splay to the saw line, and the blank's square top end against a stop:

      +-------------------------------------------------+
      |                 x          fence       _____....+|
      |        x    ______....----'''''''''''''         ||
      | ...-----''''   outer edge                       ||
      |  |stop          leg, foot to the right          ||
      +--+-------- joint face -------------------------- + saw line
      +-------------------------------------------------+ strip sawn off by the first pass

Head and foot legs are of one outline, so the fence serves both; the foot leg's stop
stands further along it. The top trails, so that the cut runs from the wide end of the
leg to the narrow one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.angles import slope_text
from bedmodel.legs import LegFamily
from bedmodel.outline import Outline, Point
from bedmodel.shop.cards import SAW_CAUTIONS, Card
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.jigs.legs import foot_clears_joint_face
from bedmodel.shop.raked import level_cut_rows
from bedmodel.shop.sheet import FENCE, HOLD_DOWN, SAW, STOP, CncSheet, Mark, cross
from bedmodel.skeleton import Layout
from bedmodel.units import format_angle, format_both

_BEHIND = 110.0  # mm behind the head leg's stop: a handle, and room for the hands
_AHEAD = 40.0
_STRIP = 20.0  # mm beyond the saw line
_BESIDE = 95.0  # mm beyond the fence: its strip and the hold-downs
_EDGE = 12.0  # mm from marks to the sled's edge
_KERF = 14.0  # mm that stops stay off the saw line
_REACH = 24.0  # mm that a hold-down reaches over the leg
_STEP = 5.0
_SQUARE_SPOT = 60.0  # mm; a hold-down wants a leg as wide as this
# A 250 mm (10 in) blade cuts about this deep. Common practice.
_BLADE_DEPTH = 75.0
_BASE = 12.0  # mm, thickness of the sled's base


@dataclass(frozen=True)
class SledPlan:
    """Where things lie on the sled (mm): x along the saw line, y from it to the fence.

    ``stops`` are where the line of each stop, square to the fence, meets the saw
    line; a stop's other end lies on the fence.
    """

    splay: float
    length: float
    width: float
    fence: tuple[Point, Point]
    head_stop: Point
    foot_stop: Point
    hold_downs: tuple[Point, ...]

    def on_fence(self, stop: Point) -> Point:
        """Where a stop's line meets the fence."""
        (x0, y0), _ = self.fence
        sine, cosine = math.sin(self.splay), math.cos(self.splay)
        # How far the fence lies from the saw line's point, square to the fence.
        far = (y0 - stop[1]) * cosine - (x0 - stop[0]) * sine
        return (stop[0] - far * sine, stop[1] + far * cosine)

    @property
    def slid(self) -> float:
        """How far along the fence the foot leg's stop stands from the head leg's (mm)."""
        return math.dist(self.on_fence(self.head_stop), self.on_fence(self.foot_stop))


def sled_plan(layout: Layout) -> SledPlan:
    """Place fence, stops and hold-downs for the legs of a layout."""
    legs, top, foot_top = layout.legs, layout.head.leg_top, layout.foot.leg_top
    highest = max(top, foot_top)
    floor = _BEHIND + highest  # x of the floor line's outer corner
    length = math.ceil((floor + _AHEAD) / _STEP) * _STEP

    def outer(x: float) -> Point:
        return (x, legs.width_at(floor - x))

    fence = (outer(_EDGE), outer(length - _EDGE))
    width = math.ceil((fence[1][1] + _BESIDE) / _STEP) * _STEP
    places = [(floor - h, legs.width_at(h)) for h in _held_at(legs, min(top, foot_top), highest)]
    return SledPlan(
        splay=legs.splay,
        length=length,
        width=width,
        fence=fence,
        head_stop=(floor - top, 0.0),
        foot_stop=(floor - foot_top, 0.0),
        hold_downs=tuple(places),
    )


def _held_at(legs: LegFamily, top: float, highest: float) -> list[float]:
    """Heights on the leg at which it is held down: where it is wide enough, well apart."""
    widest = (legs.floor_width - _SQUARE_SPOT) / math.tan(legs.splay)
    upper = min(0.82 * top, widest)
    lower = min(0.35 * top, upper)
    held = [lower, upper] if upper - lower > 60 else [lower]
    # The longer leg wants one near its own top as well.
    last = min(0.85 * highest, widest)
    return [*held, last] if last - held[-1] > 150 else held


def sled_jig(layout: Layout) -> Jig | None:
    """The sled of splayed legs; None for straight ones, and where the foot is in the saw's way."""
    if layout.legs.foot is None or not foot_clears_joint_face(layout):
        return None
    plan = sled_plan(layout)
    corners = [
        (0.0, -_STRIP),
        (plan.length, -_STRIP),
        (plan.length, plan.width),
        (0.0, plan.width),
    ]
    names = ["strip", "front", "far side", "near you"]
    outline = Outline.of([(p, 0.0, n) for p, n in zip(corners, names, strict=True)])
    splay = math.degrees(plan.splay)
    title = "Saw sled for the legs' joint faces"
    notes = (
        layout.sheet.design.title,
        f"{format_angle(splay)} between fence and saw line",
        "push this way: ---->",
        "outer edge to the fence, top end to its stop",
        "unit: millimetres, scale 1:1",
    )
    facts = (("stops apart", f"{plan.slid:.2f} mm along the fence"),)
    sheet = CncSheet("leg_sled", title, outline, (), tuple(_marks(plan)), notes, facts)
    return Jig(sheet, _card(layout, plan, title))


def _marks(plan: SledPlan) -> list[Mark]:
    marks = [
        Mark(SAW, (_EDGE, 0.0), (plan.length - _EDGE, 0.0), "SAW LINE"),
        Mark(FENCE, *plan.fence, "FENCE, ITS FACE ON THIS LINE"),
        _stop(plan, plan.head_stop, "STOP HEAD LEG"),
    ]
    if plan.slid > 0.01:
        marks.append(_stop(plan, plan.foot_stop, "STOP FOOT LEG"))
    else:
        marks[-1] = _stop(plan, plan.head_stop, "STOP ALL LEGS")
    sine, cosine = math.sin(plan.splay), math.cos(plan.splay)
    for x, y in plan.hold_downs:
        stand = (x - 50 * sine, y + 50 * cosine)
        tip = (x + _REACH * sine, y - _REACH * cosine)
        marks += cross(HOLD_DOWN, stand, 8.0)
        # In two pieces, so that it does not run over the fence line.
        marks.append(
            Mark(
                HOLD_DOWN, (x - 42 * sine, y + 42 * cosine), (x - 3 * sine, y + 3 * cosine), "HOLD"
            )
        )
        marks.append(Mark(HOLD_DOWN, (x + 3 * sine, y - 3 * cosine), tip))
    return marks


def _stop(plan: SledPlan, stop: Point, label: str) -> Mark:
    """The face of a stop, from the fence to short of the saw line."""
    sine, cosine = math.sin(plan.splay), math.cos(plan.splay)
    short = _KERF / cosine
    return Mark(
        STOP, plan.on_fence(stop), (stop[0] - short * sine, stop[1] + short * cosine), label
    )


def _card(layout: Layout, plan: SledPlan, title: str) -> Card:
    unit, leg = layout.sheet.design.unit, layout.sheet.leg
    splay = math.degrees(plan.splay)
    foot = layout.legs.foot
    assert foot is not None
    blank = max(foot.knee[1], foot.tip[1])  # from the outer edge, square to it
    rows = (
        ("for", "sawing the plumb joint face of all four legs, before the curve and the mortises"),
        (
            "base",
            f"{format_both(plan.length, unit)} x {format_both(plan.width + _STRIP, unit)}, "
            f"{format_both(_BASE, unit)} ply or MDF",
        ),
        ("angle", f"{format_angle(splay)} between fence and saw line: {slope_text(splay, unit)}"),
        (
            "saw line",
            f"{format_both(_STRIP, unit)} from the base's edge; the first pass, empty, "
            "saws the strip off and leaves the edge that shows where the blade runs",
        ),
        ("runner", "under the base, parallel to the saw line, fitted to your saw's mitre slot"),
        (
            "blank",
            f"{format_both(blank, unit)} wide or more; outer edge straight, top end square to it",
        ),
        (
            "stops",
            f"top end against its stop; the foot leg's stands {format_both(plan.slid, unit)} "
            "further along the same fence"
            if plan.slid > 0.01
            else "one stop serves all legs",
        ),
        *level_cut_rows(layout, "head leg"),
        (
            "face up",
            "right head leg and left foot leg show face up; left head leg and right foot "
            "leg inside face up",
        ),
        ("blade", f"square to the table, just above {format_both(leg.thickness + _BASE, unit)}"),
        (
            "hold-downs",
            f"{len(plan.hold_downs)} on the far side of the fence, reaching "
            f"{format_both(_REACH, unit)} over the leg; fence and stops screwed from below",
        ),
    )
    cautions = list(SAW_CAUTIONS)
    if leg.thickness + _BASE > _BLADE_DEPTH:
        cautions.append(
            f"a cut {format_both(leg.thickness + _BASE, unit)} deep is more than most blades "
            "reach: bandsaw it, then plane or rout to the line"
        )
    if min(y for _, y in plan.hold_downs) < _SQUARE_SPOT - 1:
        cautions.append("the leg is narrow: hold it down with a cleat across, not by its edge")
    return Card("leg_sled", title, rows, tuple(cautions))
