"""A post that is sawn thinner below the joint, on one face or on two.

seen from the mattress            from the side
+-------+                         +-------+
|       |                         |       |
|       | knee                    |       |    leg.taper  inner   the joint side (drawn)
 \\      |                          \\      |               outer   the outer side
  \\     |  taper_width              \\     |               two     inner, and the face
   +----+                            +----+                       towards the mattress
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from bedmodel.angles import slope_text
from bedmodel.cuts import Trim
from bedmodel.frames import Frame, Vector
from bedmodel.legs.family import (
    Gauge,
    LegFamily,
    LegSection,
    Tops,
    Work,
    check_easing,
    check_margins,
    check_room_below,
    eased_by,
    tapered_to,
)
from bedmodel.spec import Sheet
from bedmodel.units import LengthUnit, format_both

SAW = (
    "taper sled: riving knife and guard on, toggle clamps on the leg, hands on the sled's handles; "
    "wide end first, so that the cut leaves the leg at its foot"
)


@dataclass(frozen=True)
class TaperedLegs(LegFamily):
    """Posts whose width or thickness, or both, go down evenly from the knee to the floor."""

    side: str  # inner or outer: which edge of the outline leans
    foot_width: float
    foot_thickness: float

    def section_at(self, height: float) -> LegSection:
        share = max(0.0, 1 - height / self.knee)
        width = self.floor_width - share * (self.floor_width - self.foot_width)
        thick = self.thickness - share * (self.thickness - self.foot_thickness)
        middle = width / 2 if self.side == "outer" else self.floor_width - width / 2
        return LegSection(middle, width, thick)

    def trims(self) -> tuple[Trim, ...]:
        found = [self._edge()]
        if self.foot_thickness < self.thickness:
            start = (self.knee, 0.0, self.thickness)
            found.append(_taper("inside_taper", start, (0.0, 0.0, self.foot_thickness), 1))
        return tuple(found)

    def _edge(self) -> Trim:
        if self.side == "outer":
            start = (self.knee, self.floor_width, 0.0)
            return _taper("outer_taper", start, (0.0, self.foot_width, 0.0), 2)
        foot = self.floor_width - self.foot_width
        return _taper("inner_taper", (self.knee, 0.0, 0.0), (0.0, foot, 0.0), 2)

    @property
    def _other(self) -> str:
        return "joint face" if self.side == "outer" else "outer edge"

    def gauges(self) -> tuple[Gauge, ...]:
        found = [
            Gauge("the foot end, up the leg", "taper begins", self.knee),
            Gauge(f"the {self._other}, on the foot end", "width left", self.foot_width),
        ]
        if self.foot_thickness < self.thickness:
            what = "thickness left"
            found.append(Gauge("the show face, on the foot end", what, self.foot_thickness))
        return tuple(found)

    def work(self, unit: LengthUnit) -> Work:
        both = partial(format_both, unit=unit)

        def angle(off: float) -> str:
            turned = math.degrees(math.atan2(off, self.knee))
            return f"{turned:.2f} deg, {slope_text(turned, unit)}"

        off = self.floor_width - self.foot_width
        edge = "joint side" if self.side == "inner" else "outer edge"
        does = [f"saw the {edge}'s taper on the taper sled, from the line down to the foot"]
        settings = [f"{edge}: {both(off)} off at the foot, {angle(off)}"]
        if self.foot_thickness < self.thickness:
            thin = self.thickness - self.foot_thickness
            does.append(
                "tape the offcut back on and saw the taper of the inside face: left and right "
                "legs are each other's mirror image"
            )
            settings.append(f"inside face: {both(thin)} off at the foot, {angle(thin)}")
        does.append("plane to the line; break the sawn arrises by hand, to run out at the joint")
        begins = f"tapers begin {both(self.knee)} above the foot end"
        return Work("Taper the legs", "saw", tuple(does), (begins, *settings), (SAW,))


def _taper(name: str, start: Vector, foot: Vector, level: int) -> Trim:
    """The plane through two points (v, u, z) and along the axis ``level``; waste to its side."""
    along = (1.0, 0.0, 0.0)
    run, fall = start[0] - foot[0], [s - f for s, f in zip(start, foot, strict=True)]
    axis = 3 - level  # what changes between the two: u (1) or z (2)
    out = [0.0, 0.0, 0.0]
    # Square to the plane, towards where the wood was: outward along u or z, and a little down.
    out[axis] = math.copysign(run, fall[axis])
    out[0] = -abs(fall[axis])
    return Trim(name, Frame.from_zx(start, (out[0], out[1], out[2]), along))


def tapered(sheet: Sheet, tops: Tops, knee: float) -> TaperedLegs:
    """Tapered posts. Raises InputError for a taper that is none, or too steep."""
    del tops
    leg = sheet.leg
    check_margins(sheet)
    check_easing(sheet, leg.top_width)
    check_room_below(sheet, knee)
    width = tapered_to(sheet, "taper_width", leg.top_width, knee)
    thin, share = leg.thickness, width / leg.top_width
    if leg.taper == "two":
        thin = tapered_to(sheet, "taper_depth", leg.thickness, knee, share=share)
    return TaperedLegs(
        0.0,
        leg.top_width,
        knee,
        None,
        eased_by(sheet),
        "outer" if leg.taper == "outer" else "inner",
        width,
        thin,
        thickness=leg.thickness,
        sharp=frozenset({"joint", "floor"}),
    )
