"""A post that sweeps outward below the joint, in two arcs.

    |       |
    |       | knee      both arcs are tangent to the post, so no line breaks; hollow outside,
    |       |           full inside
     |       \\
      \\       `.
       `.       `-.
    ------+---------+----  floor
          <--taper_width
            >|-------|<  sweep: how far the toe stands out past the post
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.legs.family import (
    LegFamily,
    LegSection,
    Tops,
    check_easing,
    check_margins,
    check_room_below,
    eased_by,
    tapered_to,
)
from bedmodel.outline import Outline
from bedmodel.spec import Sheet

STEEPEST_TOE = 0.4  # sweep over height: the grain runs plumb, a toe further out would break off


@dataclass(frozen=True)
class SabreLegs(LegFamily):
    """Posts ``post`` wide whose lower part curves out to ``floor_width``."""

    post: float
    foot_width: float

    def width_at(self, height: float) -> float:
        return self.post

    @property
    def toe(self) -> str:
        return "leg.sweep"

    @property
    def joint_start(self) -> float:
        return self.knee

    def _out(self, reach: float, height: float) -> float:
        """How far an arc that reaches out by ``reach`` at the floor has come at a height."""
        if height >= self.knee or reach < 1e-9:
            return 0.0
        radius = (reach**2 + self.knee**2) / (2 * reach)
        return radius - math.sqrt(radius**2 - (self.knee - height) ** 2)

    @property
    def _reaches(self) -> tuple[float, float]:
        """How far inner and outer edge come out at the floor."""
        return self.floor_width - self.foot_width, self.floor_width - self.post

    def section_at(self, height: float) -> LegSection:
        inner, outer = self._reaches
        a, b = self._out(inner, height), self.post + self._out(outer, height)
        step = 1.0
        low = self._out(inner, height + step) + self.post + self._out(outer, height + step)
        lean = math.atan2((a + b - low) / 2, step)
        return LegSection((a + b) / 2, (b - a) * math.cos(lean), self.thickness)

    def outline(self, top: float, end: str = "head") -> Outline:
        inner, outer = self._reaches

        def bulge(reach: float) -> float:
            # Chord against the plumb tangent: half the arc's sweep, of which bulge is half again.
            return math.tan(math.atan2(reach, self.knee) / 2)

        return Outline.of(
            [
                ((inner, 0.0), 0.0, "floor"),
                ((self.floor_width, 0.0), -bulge(outer), "outer_curve"),
                ((self.post, self.knee), 0.0, "outer"),
                ((self.post, top), 0.0, "top"),
                ((0.0, top), 0.0, "joint"),
                ((0.0, self.knee), bulge(inner), "curve"),
            ]
        )


def sabre(sheet: Sheet, tops: Tops, knee: float) -> SabreLegs:
    """Swept legs. Raises InputError for a toe too far out for its height."""
    del tops
    leg = sheet.leg
    check_margins(sheet)
    check_easing(sheet, leg.top_width)
    check_room_below(sheet, knee)
    foot = tapered_to(sheet, "taper_width", leg.top_width, knee)
    # The inner edge comes out further than the outer one, by what the leg gets narrower.
    most = STEEPEST_TOE * knee
    sweep = min(40.0, most) if leg.sweep is None else leg.sweep
    if sweep > most + 1e-9:
        raise InputError(
            "leg.sweep",
            sheet.show(sweep),
            f"must be at most {sheet.at_most(most)} at this height of the joint",
            "make it less, leave it out, or raise the lowest board and the side rail",
        )
    return SabreLegs(
        0.0,
        leg.top_width + sweep,
        knee,
        None,
        eased_by(sheet),
        leg.top_width,
        foot,
        thickness=leg.thickness,
        sharp=frozenset({"joint", "curve"}),
    )
