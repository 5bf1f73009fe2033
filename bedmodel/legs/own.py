"""Legs of the maker's own outline, read from a drawing (DXF) that lies beside the sheet.

JOINT |           \\ OUTER      any curves between; head and foot legs are cut from one
      |            \\           outline at their heights, or the foot legs have one of
 other `.           |          their own; a top of its own is kept where the drawing is
        `-.         |          just as high as the leg
          +---------+
            FLOOR
"""

from __future__ import annotations

import functools
import hashlib
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.legs.drawn import BadDrawing
from bedmodel.legs.family import (
    LegFamily,
    LegSection,
    Tops,
    check_easing,
    check_margins,
    eased_by,
)
from bedmodel.legs.placed import PlacedOutline, cut_at, placed_outline
from bedmodel.outline import Outline
from bedmodel.spec import Sheet
from bedmodel.units import parse_length

_TANGENT = math.radians(10.0)  # edges that go on in the joint face's line are not eased
_SAME = 0.1  # mm; a drawing as high as the leg keeps its top
_STEPS = 24


@dataclass(frozen=True)
class OwnLegs(LegFamily):
    """Legs as drawn: the outline of the head legs and that of the foot legs."""

    head: PlacedOutline
    foot_legs: PlacedOutline
    tops: Tops
    start: float
    drawn_in: str
    asks_for: float  # leg.top_width, by which those who look at the legs tell what they lack

    @property
    def toe(self) -> str:
        return "leg.outline"

    @property
    def joint_start(self) -> float:
        return self.start

    def outline(self, top: float, end: str = "head") -> Outline:
        placed = self.head if end == "head" else self.foot_legs
        if abs(placed.top - top) < _SAME:
            return placed.outline
        return cut_at(placed, top)

    def width_at(self, height: float) -> float:
        """The least width, square to the outer edge, from where the joint begins to a height."""
        if self.splay:
            return self.floor_width - height * math.tan(self.splay)
        return min(_least(each, self.knee, height) for each in (self.head, self.foot_legs))

    def section_at(self, height: float) -> LegSection:
        return min(
            (self._section(each, height) for each in (self.head, self.foot_legs)),
            key=lambda section: section.width,
        )

    def _section(self, placed: PlacedOutline, height: float) -> LegSection:
        height = min(max(height, 1e-3), placed.top - 1e-3)
        # At the very height of a corner rounding may miss a crossing.
        near = (placed.spans_at(height + by) for by in (0.0, 1e-4, -1e-4, 1e-2, -1e-2))
        inner, outer = next((s[:2] for s in near if len(s) > 1), (0.0, self.width_at(height)))
        step = min(1.0, placed.top - height - 1e-4)
        spans = placed.spans_at(height + step)
        beyond = (spans[0] + spans[1]) / 2 if len(spans) > 1 else (inner + outer) / 2
        lean = math.atan2(abs(beyond - (inner + outer) / 2), step)
        width = (outer - inner) * math.cos(min(lean, math.pi / 3))
        return LegSection((inner + outer) / 2, width, self.thickness)

    def reworded(self, refused: InputError) -> InputError:
        """What would ask for a wider post asks for a wider drawing, by as much."""
        remedy = refused.remedy.replace("leg.top_width", "the width drawn in leg.outline")
        asked = re.search(r"at least (\d[\d ./]* (?:mm|in))", refused.allowed)
        if refused.parameter != "leg.top_width" or asked is None:
            return InputError(refused.parameter, refused.value, refused.allowed, remedy)
        more = parse_length(asked[1], "mm") - self.asks_for
        wide = min(self.width_at(top) for top in self.tops)
        return InputError(
            "leg.outline",
            self.drawn_in,
            f"is {wide:.1f} mm wide beside the joints, must be at least {wide + more:.1f} mm"
            f"{refused.allowed[asked.end() :]}",
            "draw it wider, or make the tenons less deep",
        )

    @property
    def notes(self) -> tuple[str, ...]:
        strays = max(self.head.strays, self.foot_legs.strays)
        curves = f", its free curves as arcs within {strays:.3f} mm" if strays else ""
        return (f"the outline is that of {self.drawn_in}{curves}",)


@functools.lru_cache(maxsize=512)
def _least(placed: PlacedOutline, low: float, high: float) -> float:
    """Least distance from the joint face to the outer edge between two heights."""
    high = min(high, placed.top - 1e-3)
    low = min(max(low, 1e-3), high)
    heights = [low + (high - low) * i / _STEPS for i in range(_STEPS + 1)]
    # Where an edge ends or turns back, the width may be least.
    points = [p for e in placed.edges_but_joint() for p in e.extremes()]
    heights += [v + d for _, v in points for d in (-1e-6, 1e-6) if low < v + d < high]
    found, lean = math.inf, 0.0
    last: tuple[float, float] | None = None
    for height in sorted(heights):
        outer = [u for u in placed.spans_at(height) if u > 1e-6]
        if not outer:
            return 0.0
        found = min(found, outer[0])
        if last is not None and height - last[0] > 1e-3:
            lean = max(lean, math.atan2(abs(outer[0] - last[1]), height - last[0]))
        last = (height, outer[0])
    return found * math.cos(lean)


def own(sheet: Sheet, tops: Tops, knee: float) -> OwnLegs:
    """Legs of ``leg.outline``. Raises InputError for a drawing that no such leg can be cut to."""
    leg = sheet.leg
    check_margins(sheet)
    head = _read(sheet, "outline", leg.outline)
    foot = head if leg.outline_foot is None else _read(sheet, "outline_foot", leg.outline_foot)
    pairs = [("outline", head, tops[0]), ("outline_foot", foot, tops[1])]
    if foot is head:
        pairs[1] = ("outline", head, tops[1])
    for parameter, placed, top in pairs:
        _check(sheet, parameter, placed, top, knee)
    start = max(head.joint[0], foot.joint[0])
    splay = head.splay if head.splay == foot.splay else 0.0
    check_easing(sheet, *(_least(placed, knee, top) for _, placed, top in pairs))
    floor = max(placed.outline.bounds()[2] for placed in (head, foot))
    return OwnLegs(
        splay,
        floor,
        knee,
        None,
        eased_by(sheet),
        head,
        foot,
        tops,
        0.0 if start < 1e-6 else start,
        str(leg.outline),
        leg.top_width,
        thickness=leg.thickness,
        sharp=frozenset({"joint", *_along_joint(head), *_along_joint(foot)}),
    )


def drawings_record(sheet: Sheet) -> list[dict[str, object]]:
    """The drawings that own legs are read from, as the manifest has them."""
    rows: list[dict[str, object]] = []
    for parameter in ("outline", "outline_foot"):
        name = getattr(sheet.leg, parameter)
        if sheet.leg.style != "own" or name is None:
            continue
        placed, data = _read(sheet, parameter, name), sheet.drawings[name]
        rows.append(
            {
                "parameter": f"leg.{parameter}",
                "file": name,
                "sha256": hashlib.sha256(data).hexdigest(),
                "unit": placed.unit,
                "curves_within_mm": round(placed.strays, 5),
            }
        )
    return rows


def _read(sheet: Sheet, parameter: str, name: str | None) -> PlacedOutline:
    if name is None:
        raise InputError(
            f"leg.{parameter}",
            "none",
            "own legs need a drawing",
            "name a DXF file beside the sheet",
        )
    data = sheet.drawings.get(name)
    if data is None:
        raise InputError(
            f"leg.{parameter}", name, "was not read with the sheet", "read the sheet from its file"
        )
    try:
        return placed_outline(data, sheet.design.unit)
    except BadDrawing as bad:
        raise InputError(f"leg.{parameter}", name, bad.wrong, bad.remedy) from None


def _check(sheet: Sheet, parameter: str, placed: PlacedOutline, top: float, knee: float) -> None:
    name = getattr(sheet.leg, parameter)
    show, (low, high) = sheet.show, placed.joint

    def refused(wrong: str, remedy: str) -> InputError:
        return InputError(f"leg.{parameter}", name, wrong, remedy)

    if low > knee + 1e-6:
        raise refused(
            f"layer JOINT begins {show(low)} above the floor, must be at most "
            f"{sheet.at_most(max(knee, 0.0))}, below the lowest board or rail",
            "draw the joint face further down, or raise height.platform",
        )
    keeps_top = abs(placed.top - top) < _SAME
    needed = top - (sheet.leg.above_boards if keeps_top else 0.0)
    if high < needed - 1e-6:
        raise refused(
            f"layer JOINT ends {show(high)} above the floor, must be at least "
            f"{sheet.at_least(needed)}, as high as the leg is cut",
            "draw the joint face further up",
        )
    eased = eased_by(sheet)
    for angle in _leaving(placed):
        run_out = eased / math.sin(min(angle, math.pi / 2))
        spare = sheet.leg.below_boards + knee - low
        if run_out > spare + 1e-9:
            raise refused(
                f"its eased edge runs {show(run_out)} into the joint face, which has "
                f"{show(spare)} below the lowest board or rail",
                "draw the joint face further down, or make leg.edge_size less",
            )
    if not keeps_top:
        crossed = [u for u in placed.spans_at(top) if u > 1e-6]
        if len(crossed) != 1:
            raise refused(
                f"is crossed {len(crossed) + 1} times where the leg is cut, {show(top)} above the "
                "floor, not twice",
                "draw joint face and outer edge alone at that height",
            )


def _along_joint(placed: PlacedOutline) -> set[str]:
    """Names of edges that go on from the joint face almost in its line."""
    return {name for name, angle in _beside_joint(placed) if angle < _TANGENT}


def _leaving(placed: PlacedOutline) -> Iterator[float]:
    return (angle for _, angle in _beside_joint(placed) if angle >= _TANGENT)


def _beside_joint(placed: PlacedOutline) -> Iterator[tuple[str, float]]:
    """The edge below the joint face, and the angle by which it turns off it."""
    edges = list(placed.outline.edges())
    for i, e in enumerate(edges):
        if e.name == "joint":  # it runs down
            after = edges[(i + 1) % len(edges)]
            if after.start[1] > 1e-6:
                (u0, v0), (u1, v1) = after.start, after.point_at(1e-4)
                yield after.name, abs(math.atan2(u1 - u0, v0 - v1))
