"""Wood screws by gauge, and the holes they want in a wood of a given density.

    pilot       hole for the thread, in the part the screw holds to
    clearance   hole for the shank, in the part it holds

Sources: Wood Handbook, FPL-GTR-282, ch. 8: shank diameters Table 8-9, lengths
Table 8-8, root about two thirds of the shank, pilot about 70 % of the root in
softwoods and 90 % in hardwoods. Here the share goes by specific gravity, evenly
from 70 % at 0.42 to 90 % at 0.57, the bounds of its light and dense classes.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bedmodel.errors import InputError
from bedmodel.tables import rows_of
from bedmodel.units import MM_PER_INCH, LengthUnit, parse_length

ROOT_SHARE = 2 / 3
LIGHT, DENSE = 0.42, 0.57
LIGHT_SHARE, DENSE_SHARE = 0.70, 0.90
CLEARANCE = 0.2  # a clearance hole is this much wider than the shank, common practice
HEAD_SHARE = 2.0  # a countersunk head is about twice the shank wide, common practice
# As sold, common practice.
LENGTHS = {
    "mm": (12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0),
    "inch": tuple(MM_PER_INCH * n / 4 for n in (2, 3, 4, 5, 6, 7, 8, 9, 10, 12)),
}
_DRILL = {"mm": 0.1, "inch": MM_PER_INCH / 64}


@dataclass(frozen=True)
class Screw:
    """One gauge of wood screw (mm)."""

    gauge: int
    shank: float
    shortest: float
    longest: float

    @property
    def root(self) -> float:
        """Diameter at the bottom of the thread."""
        return ROOT_SHARE * self.shank

    @property
    def head(self) -> float:
        """Diameter of the head."""
        return HEAD_SHARE * self.shank


@functools.cache
def screws() -> Mapping[int, Screw]:
    """Every gauge of the table, the thinnest first."""
    rows = (
        Screw(
            int(row["gauge"]),
            float(row["shank"]),
            parse_length(row["shortest_in"], "inch"),
            parse_length(row["longest_in"], "inch"),
        )
        for row in rows_of("screws.csv")
    )
    return MappingProxyType({screw.gauge: screw for screw in rows})


def screw(gauge: int, parameter: str = "gauge") -> Screw:
    """The screw of a gauge. Raises InputError about ``parameter`` when there is none."""
    found = screws().get(gauge)
    if found is None:
        known = ", ".join(str(g) for g in screws())
        raise InputError(parameter, gauge, "is not a gauge of the table", f"it has {known}")
    return found


def lengths_of(of: Screw, unit: LengthUnit) -> list[float]:
    """The lengths that a gauge is sold in, the shortest first (mm)."""
    # Table 8-8 is in inches: a metric length a little over its bound is the same screw.
    return [n for n in LENGTHS[unit] if of.shortest - 1.0 <= n <= of.longest + 1.5]


def pilot_share(specific_gravity: float) -> float:
    """The pilot hole's part of the root diameter."""
    t = (specific_gravity - LIGHT) / (DENSE - LIGHT)
    return LIGHT_SHARE + (DENSE_SHARE - LIGHT_SHARE) * min(max(t, 0.0), 1.0)


def pilot_diameter(of: Screw, specific_gravity: float, unit: LengthUnit) -> float:
    """The nearest drill that is no larger than the pilot hole wanted (mm)."""
    wanted, step = of.root * pilot_share(specific_gravity), _DRILL[unit]
    return max(1.0, math.floor(wanted / step + 1e-9) * step)


def clearance_diameter(of: Screw, unit: LengthUnit) -> float:
    """The nearest drill that the shank drops through (mm)."""
    step = _DRILL[unit]
    return math.ceil((of.shank + CLEARANCE) / step - 1e-9) * step


def withdrawal_n(of: Screw, specific_gravity: float, thread: float) -> float:
    """Ultimate withdrawal load from side grain (N), ``thread`` mm in the wood.

    Source: Wood Handbook, FPL-GTR-282, Eq. 8-10; specific gravity at 12 % moisture content.
    """
    return 108.25 * specific_gravity**2 * of.shank * thread
