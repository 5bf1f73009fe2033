"""A post turned to a round taper on the lathe, below a square shoulder.

+-------+
|       |
+-+---+-+ knee    square shoulder
  (   )   turned_width
   ( )
   +-+
   taper_width
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from bedmodel.cuts import Turning
from bedmodel.errors import InputError
from bedmodel.frames import Frame
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
from bedmodel.units import MM_PER_INCH, LengthUnit, format_both, format_length

STATIONS = {"mm": 50.0, "inch": 2 * MM_PER_INCH}
LEAST_SHOULDER = 0.5  # on each side
LATHE = (
    "lathe: face shield, no gloves, loose sleeves or long hair; tool rest close and never moved "
    "while it turns; spin the work by hand before the switch; the square part strikes fingers"
)
_CENTRES = "mark the middle of both ends; mortises and recesses are balanced by slow speed"


@dataclass(frozen=True)
class TurnedLegs(LegFamily):
    """Posts with a cone below the knee, about their middle line."""

    shoulder: float
    foot_diameter: float
    unit: LengthUnit

    def section_at(self, height: float) -> LegSection:
        if height >= self.knee:
            return super().section_at(height)
        across = self._diameter(height)
        return LegSection(self.floor_width / 2, across, across, "round")

    def _diameter(self, height: float) -> float:
        return self.foot_diameter + (self.shoulder - self.foot_diameter) * height / self.knee

    def trims(self) -> tuple[Turning, ...]:
        middle = (self.knee, self.floor_width / 2, self.thickness / 2)
        frame = Frame.from_zx(middle, (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
        return (Turning("turned", frame, self.knee, self.shoulder / 2, self.foot_diameter / 2),)

    def gauges(self) -> tuple[Gauge, ...]:
        up = "the foot end, up the leg"
        step = STATIONS[self.unit]
        stations = [i * step for i in range(1, math.ceil(self.knee / step - 0.2))]
        across = "across, with calipers"
        return (
            Gauge(up, "square shoulder", self.knee),
            Gauge(across, "diameter at the foot end", self.foot_diameter),
            *(
                Gauge(across, f"diameter {format_length(h, self.unit)} up", self._diameter(h))
                for h in stations
            ),
            Gauge(across, "diameter below the shoulder", self.shoulder),
        )

    def work(self, unit: LengthUnit) -> Work:
        both = partial(format_both, unit=unit)
        sizes = (f"{g.what}: {both(g.value)}" for g in self.gauges()[1:])
        return Work(
            "Turn the legs",
            "lathe",
            (
                _CENTRES,
                "cut the shoulder's line all round with a knife and the long point of the skew, "
                "square above it",
                "size each station with the parting tool and calipers, then turn straight from "
                "one to the next; try a straightedge",
            ),
            (f"shoulder {both(self.knee)} above the foot end", *sizes),
            (LATHE,),
        )


def turned(sheet: Sheet, tops: Tops, knee: float) -> TurnedLegs:
    """Round tapers. Raises InputError for a diameter that the post does not hold."""
    del tops
    leg = sheet.leg
    check_margins(sheet)
    check_easing(sheet, leg.top_width)
    check_room_below(sheet, knee)
    most = min(leg.top_width, leg.thickness) - 2 * LEAST_SHOULDER
    shoulder = 0.94 * min(leg.top_width, leg.thickness)
    if leg.turned_width is not None:
        shoulder = leg.turned_width
        if shoulder > most + 1e-9:
            raise InputError(
                "leg.turned_width",
                sheet.show(shoulder),
                f"must be at most {sheet.at_most(most)} on this post",
                "make it less, or leg.top_width and leg.thickness more",
            )
    return TurnedLegs(
        0.0,
        leg.top_width,
        knee,
        None,
        eased_by(sheet),
        shoulder,
        tapered_to(sheet, "taper_width", shoulder, knee),
        sheet.design.unit,
        thickness=leg.thickness,
        sharp=frozenset({"joint", "floor"}),
    )
