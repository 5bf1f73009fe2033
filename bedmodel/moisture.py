"""Moisture of wood from the air, and how its width follows.

Moisture content in % of ovendry mass, temperature in degrees C, relative humidity in %.
Sources: Wood Handbook (FPL-GTR-282) Eq. 4-5 for moisture; Eq. 13-2 with Table 13-5 and,
outside 6 to 14 %, Eq. 13-3 for width.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.tables import Wood

FIBRE_SATURATION = 30.0  # %; wetter wood does not swell. Source: Wood Handbook ch. 4
COEFFICIENT_RANGE = (6.0, 14.0)  # %, of Table 13-5
COLDEST, HOTTEST = -1.2, 132.3  # degrees C, the range of Table 4-2 (30 to 270 F)


def moisture_content(temperature_c: float, humidity: float) -> float:
    """Moisture content that wood comes to in still air (equilibrium), %.

    Raises InputError outside 0 to 95 % and the table's temperatures.
    """
    if not 0 <= humidity <= 95:
        raise InputError("humidity", f"{humidity:g} %", "must be 0 to 95 %", "change it")
    if not COLDEST <= temperature_c <= HOTTEST:
        raise InputError(
            "temperature",
            f"{temperature_c:g} C",
            f"must be {COLDEST:g} to {HOTTEST:g} C",
            "give the room's temperature in degrees C",
        )
    t, h = temperature_c, humidity / 100
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + bound)


@dataclass(frozen=True)
class Swelling:
    """How a width follows its moisture: share per 1 %, and shrinkage green to ovendry in %."""

    coefficient: float
    shrinkage: float

    def change(self, width: float, before: float, after: float) -> float:
        """How much a width (mm) grows from one moisture content to another, %.

        From 6 to 14 % by the coefficient; beyond by Eq. 13-3. Wetter than fibre
        saturation nothing moves.
        """
        before, after = min(before, FIBRE_SATURATION), min(after, FIBRE_SATURATION)
        low, high = COEFFICIENT_RANGE
        if low <= min(before, after) and max(before, after) <= high:
            return width * self.coefficient * (after - before)
        return width * (after - before) / (3000 / self.shrinkage - 30 + before)


def swelling(timber: Wood, ring_angle_deg: float = 90.0) -> Swelling:
    """Of a species, for rings at an angle to the width: 0 quarter-sawn, 90 flat-sawn.

    The values of the group that the species is sold in are taken where they are larger.
    Between the two the mix is an approximation from memory.
    """
    radial = _larger(timber.coefficient_radial, timber.shrink_radial, timber.trade_radial)
    tangential = _larger(
        timber.coefficient_tangential, timber.shrink_tangential, timber.trade_tangential
    )
    angle = math.radians(ring_angle_deg)
    across, along = math.cos(angle) ** 2, math.sin(angle) ** 2
    return Swelling(
        radial.coefficient * across + tangential.coefficient * along,
        radial.shrinkage * across + tangential.shrinkage * along,
    )


def _larger(coefficient: float, shrinkage: float, trade: float | None) -> Swelling:
    if trade is None or trade <= coefficient:
        return Swelling(coefficient, shrinkage)
    # Every single-species coefficient of Table 13-5 is 1 / (3000 / S - 20); so for groups.
    return Swelling(trade, 3000 / (1 / trade + 20))
