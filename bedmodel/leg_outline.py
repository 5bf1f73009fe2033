"""The outline family that all four legs of a bed share.

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
edge; the flare is an arc from the ankle to the foot. A straight leg is a plain
rectangle whose joint face is its whole inner edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.outline import Outline, Point
from bedmodel.spec import Sheet

LEAST_TOP = 25.0
LEAST_STEP = 5.0  # the curve must turn in by at least this, or it is no curve
LEAST_ANKLE = 10.0  # straight stretch between inside curve and flare
WIDEST_FLARE_SWEEP = math.radians(60)  # beyond this the foot's tip would be too thin
CURVE_SHARE = 0.9


@dataclass(frozen=True)
class Foot:
    """Inside curve, ankle and flare of a splayed leg, all in (s, q).

    s runs down the outer edge from where it meets the floor (so it is negative
    above the floor), q from the outer edge towards the inside, square to it.
    """

    curve_radius: float
    knee: Point
    curve_end: float
    flare_start: float
    flare_radius: float
    ankle: float
    tip: Point

    @property
    def curve_sweep(self) -> float:
        return math.acos(1 - (self.knee[1] - self.ankle) / self.curve_radius)

    @property
    def flare_sweep(self) -> float:
        return math.acos(1 - (self.tip[1] - self.ankle) / self.flare_radius)


@dataclass(frozen=True)
class LegFamily:
    """Numbers that the four legs share (mm, radians)."""

    splay: float
    floor_width: float
    knee: float
    foot: Foot | None
    easing_size: float

    def width_at(self, height: float) -> float:
        """From joint face to outer edge at a height above the floor."""
        return self.floor_width - height * math.tan(self.splay)

    def outline(self, top: float) -> Outline:
        """The leg's outline in (u, v), its top at ``top`` above the floor."""
        upper = (self.width_at(top), top)
        if self.foot is None:
            corners = [(0.0, 0.0), (self.floor_width, 0.0), upper, (0.0, top)]
            names = ["floor", "outer", "top", "joint"]
            return Outline.of([(p, 0.0, n) for p, n in zip(corners, names, strict=True)])
        foot = self.foot
        # Run anticlockwise, both arcs turn clockwise: they are hollow.
        curve = -math.tan(foot.curve_sweep / 4)
        flare = -math.tan(foot.flare_sweep / 4)
        return Outline.of(
            [
                (self._place(foot.tip), 0.0, "floor"),
                ((self.floor_width, 0.0), 0.0, "outer"),
                (upper, 0.0, "top"),
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


def leg_family(sheet: Sheet, tops: tuple[float, float], knee: float) -> LegFamily:
    """Work out the family from the heights of head and foot legs and the knee's height.

    Raises InputError where curve, ankle or foot find no room.
    """
    leg = sheet.leg
    eased = leg.edge_size if leg.edge != "square" else 0.0
    _check_margins(sheet, eased)
    if leg.style == "straight":
        if 2 * eased > min(leg.thickness, leg.top_width) / 2:
            raise _edge_too_large(sheet, min(leg.thickness, leg.top_width) / 4)
        return LegFamily(0.0, leg.top_width, knee, None, eased)
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
    if 2 * eased > min(leg.thickness, leg.top_width, foot_top) / 2:
        raise _edge_too_large(sheet, min(leg.thickness, leg.top_width, foot_top) / 4)
    foot = _foot(sheet, splay, floor_width, knee, eased)
    return LegFamily(splay, floor_width, knee, foot, eased)


def _check_margins(sheet: Sheet, eased: float) -> None:
    for name, value in (
        ("above_boards", sheet.leg.above_boards),
        ("below_boards", sheet.leg.below_boards),
    ):
        if value < eased:
            raise InputError(
                f"leg.{name}",
                sheet.show(value),
                f"must be at least leg.edge_size, {sheet.at_least(eased)}, or the eased edge cuts "
                "into the joint face",
                "make it more or leg.edge_size less",
            )


def _edge_too_large(sheet: Sheet, greatest: float) -> InputError:
    return InputError(
        "leg.edge_size",
        sheet.show(sheet.leg.edge_size),
        f"must be at most {sheet.at_most(greatest)} on this leg",
        "make it less",
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
