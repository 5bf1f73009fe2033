"""Legs whose outer edge leans, with a curve inside and a shaped foot.

Seen from the mattress at a right-hand leg; u is outward from the joint face,
v up from the floor:

        v
        |  top_width
        +-----------+ top            the foot leg is the head leg cut lower:
        |            \\               joint face, outer edge, curve and foot
        | joint       \\ outer        are the same, so one template and one
        | face         \\             setting of the sled serve all four
        |               \\
   knee +                \\
         `-.   curve      \\
            `\\             \\   splay: outer edge out of plumb
              \\ ankle       \\
               |              \\
       flare  /                \\
    ---------+------------------+----> u
               foot_width    floor_width

The inside curve is one arc, tangent to the ankle, which runs along the outer
edge; the flare is an arc from the ankle to the foot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.legs.family import (
    Foot,
    LegFamily,
    LegSection,
    Tops,
    check_easing,
    check_margins,
    eased_by,
)
from bedmodel.outline import Outline, Point
from bedmodel.spec import Sheet

LEAST_TOP = 25.0
LEAST_STEP = 5.0  # the curve must turn in by at least this, or it is no curve
LEAST_ANKLE = 10.0  # straight stretch between inside curve and flare
WIDEST_FLARE_SWEEP = math.radians(60)  # beyond this the foot's tip would be too thin
CURVE_SHARE = 0.9


@dataclass(frozen=True)
class SplayedLegs(LegFamily):
    """Legs whose outer edge leans, with a curve inside and a shaped foot."""

    ankle: float
    stands: float  # width on the floor

    @property
    def toe(self) -> str:
        return "leg.splay"

    @property
    def joint_start(self) -> float:
        return self.knee

    def section_at(self, height: float) -> LegSection:
        if height >= self.knee:
            return super().section_at(height)
        foot = self.floor_width - self.stands / 2
        middle = foot + (self.width_at(self.knee) / 2 - foot) * height / self.knee
        return LegSection(middle, self.ankle, self.thickness)

    def outline(self, top: float, end: str = "head") -> Outline:
        foot = self.foot
        assert foot is not None
        # Run anticlockwise, both arcs turn clockwise: they are hollow.
        curve = -math.tan(foot.curve_sweep / 4)
        flare = -math.tan(foot.flare_sweep / 4)
        return Outline.of(
            [
                (self._place(foot.tip), 0.0, "floor"),
                ((self.floor_width, 0.0), 0.0, "outer"),
                ((self.width_at(top), top), 0.0, "top"),
                ((0.0, top), 0.0, "joint"),
                ((0.0, self.knee), curve, "curve"),
                (self._place((foot.curve_end, foot.ankle)), 0.0, "ankle"),
                (self._place((foot.flare_start, foot.ankle)), flare, "flare"),
            ]
        )

    def _place(self, sq: Point) -> Point:
        s, q = sq
        sine, cosine = math.sin(self.splay), math.cos(self.splay)
        return (self.floor_width + s * sine - q * cosine, -s * cosine - q * sine)


def splayed(sheet: Sheet, tops: Tops, knee: float) -> SplayedLegs:
    """Splayed legs. Raises InputError where curve, ankle or foot find no room."""
    leg, eased = sheet.leg, eased_by(sheet)
    check_margins(sheet)
    splay = math.radians(leg.splay)
    floor_width = leg.top_width + tops[0] * math.tan(splay)
    foot_top = floor_width - tops[1] * math.tan(splay)
    if foot_top < LEAST_TOP:
        raise InputError(
            "leg.splay",
            f"{leg.splay:g} deg",
            f"makes the foot legs {sheet.show(foot_top)} wide at the top, must be at least "
            f"{sheet.at_least(LEAST_TOP)}",
            "make the splay less or leg.top_width more",
        )
    check_easing(sheet, leg.top_width, foot_top)
    foot = _foot(sheet, splay, floor_width, knee, eased)
    return SplayedLegs(
        splay,
        floor_width,
        knee,
        foot,
        eased,
        leg.ankle_width,
        leg.foot_width,
        thickness=leg.thickness,
    )


def _foot(sheet: Sheet, splay: float, floor_width: float, knee: float, eased: float) -> Foot:
    leg = sheet.leg
    sine, cosine = math.sin(splay), math.cos(splay)
    knee_point = (
        -floor_width * sine - knee * cosine,
        (floor_width - knee * math.tan(splay)) * cosine,
    )
    step = knee_point[1] - leg.ankle_width
    if step < LEAST_STEP:
        raise InputError(
            "leg.ankle_width",
            sheet.show(leg.ankle_width),
            f"must be at most {sheet.at_most(knee_point[1] - LEAST_STEP)} under this knee",
            "make the ankle narrower, or leg.top_width or leg.splay more",
        )
    flare_start, tip = _flare(sheet, sine, cosine)
    room = flare_start - LEAST_ANKLE - knee_point[0]
    # Tangent to the ankle and through the knee: run^2 = 2 R step - step^2.
    greatest = (room**2 + step**2) / (2 * step) if room > 0 else 0.0
    # The eased arris of the curve runs out on the joint face at this angle.
    radius = _curve_radius(sheet, step, greatest)
    sweep = math.acos(1 - step / radius)
    run_out = eased / math.sin(min(sweep + splay, math.pi / 2))
    if leg.below_boards < run_out:
        raise InputError(
            "leg.below_boards",
            sheet.show(leg.below_boards),
            f"must be at least {sheet.at_least(run_out)} for the eased inside curve to end below "
            "the joint",
            "make it more, leg.edge_size or leg.curve_diameter less",
        )
    run = math.sqrt(2 * radius * step - step**2)
    return Foot(
        curve_radius=radius,
        knee=knee_point,
        curve_end=knee_point[0] + run,
        flare_start=flare_start,
        flare_radius=leg.flare_diameter / 2,
        ankle=leg.ankle_width,
        tip=tip,
    )


def _flare(sheet: Sheet, sine: float, cosine: float) -> tuple[float, Point]:
    """Where the flare leaves the ankle, and the foot's inner tip on the floor."""
    leg = sheet.leg
    tip = (-leg.foot_width * sine, leg.foot_width * cosine)
    rise, radius = tip[1] - leg.ankle_width, leg.flare_diameter / 2
    least = leg.ankle_width / cosine
    greatest = (leg.ankle_width + radius * (1 - math.cos(WIDEST_FLARE_SWEEP))) / cosine
    if not least - 1e-9 <= leg.foot_width <= greatest + 1e-9:
        raise InputError(
            "leg.foot_width",
            sheet.show(leg.foot_width),
            f"must be {sheet.at_least(least)} to {sheet.at_most(greatest)} with this ankle "
            "and flare",
            "change it, leg.ankle_width or leg.flare_diameter",
        )
    _check_flare_easing(sheet, rise, math.asin(sine))
    return tip[0] - math.sqrt(max(0.0, 2 * radius * rise - rise**2)), tip


def _check_flare_easing(sheet: Sheet, rise: float, splay: float) -> None:
    """The flare must be longer than its eased arris takes at the mitre with the floor's."""
    leg, radius = sheet.leg, sheet.leg.flare_diameter / 2
    eased = leg.edge_size if leg.edge != "square" else 0.0

    def spare(rise: float) -> float:
        sweep = math.acos(1 - rise / radius)
        tip_angle = math.pi / 2 + splay - sweep
        return radius * sweep - eased / math.tan(tip_angle / 2)

    if rise < 1e-9 or spare(rise) >= 0:
        return
    steps = range(1, 201)
    most = radius * (1 - math.cos(WIDEST_FLARE_SWEEP))
    fit = [most * i / 200 for i in steps if spare(most * i / 200) >= 0]
    plain = leg.ankle_width / math.cos(splay)
    least = f" or at least {sheet.at_least(plain + fit[0] / math.cos(splay))}" if fit else ""
    raise InputError(
        "leg.foot_width",
        sheet.show(leg.foot_width),
        f"must be {sheet.at_least(plain)}, without a flare,{least}, for the flare's eased edge",
        "change it, or make leg.edge_size less",
    )


def _curve_radius(sheet: Sheet, step: float, greatest: float) -> float:
    given = sheet.leg.curve_diameter
    if greatest < step or greatest < 20:
        raise InputError(
            "leg.ankle_width",
            sheet.show(sheet.leg.ankle_width),
            "leaves no room for the inside curve between knee and foot, must be at least "
            f"{sheet.at_least(sheet.leg.ankle_width + step - min(greatest, step) + 1)}",
            "make the ankle wider, leg.flare_diameter less, or raise height.platform",
        )
    if given is None:
        return max(step, CURVE_SHARE * greatest)
    if not step <= given / 2 <= greatest:
        raise InputError(
            "leg.curve_diameter",
            sheet.show(given),
            f"must be {sheet.at_least(2 * step)} to {sheet.at_most(2 * greatest)} in this place",
            "leave it out to have it worked out",
        )
    return given / 2
