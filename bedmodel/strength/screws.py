"""What screws hold: withdrawal and sideways, ultimate and for design.

Forces in N, lengths and diameters in mm. Ultimate values are means of short tests;
design values have the code's margin in them. Two bases of specific gravity are in use:
the handbook's on volume at 12 %, the code's on ovendry volume, a few per cent higher.
Taking the first in both is on the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.units import MM_PER_INCH

N_PER_LBF = 4.4482216
END_GRAIN_SHARE = 0.75  # of side grain, and erratic. Source: Wood Handbook ch. 8
ROOT_SHARE = 2 / 3  # of the shank's diameter, on the average. Source: Wood Handbook ch. 8
FULL_DEPTH = 10  # diameters in the wood for the full sideways load; from memory of the NDS


def withdrawal_n(diameter: float, thread: float, specific_gravity: float) -> float:
    """Ultimate pull on a wood screw in side grain.

    Source: Wood Handbook (FPL-GTR-282) Eq. 8-10.
    """
    return 108.25 * specific_gravity**2 * diameter * thread


def withdrawal_end_grain_n(diameter: float, thread: float, specific_gravity: float) -> float:
    """The same in end grain: about 75 % and erratic; building codes allow none."""
    return END_GRAIN_SHARE * withdrawal_n(diameter, thread, specific_gravity)


def lag_withdrawal_n(diameter: float, thread: float, specific_gravity: float) -> float:
    """Ultimate pull on a lag screw in side grain. Source: Wood Handbook Eq. 8-14."""
    return float(125.4 * specific_gravity**1.5 * diameter**0.75 * thread)


def withdrawal_design_n(diameter: float, thread: float, specific_gravity: float) -> float:
    """Pull a wood screw may be asked to bear for years. Source: NDS Eq. 12.2-2."""
    per_inch = 2850 * specific_gravity**2 * diameter / MM_PER_INCH
    return per_inch * thread / MM_PER_INCH * N_PER_LBF


def lateral_slip_n(diameter: float, specific_gravity: float) -> float:
    """Sideways load at which a wood screw begins to slip, standing 7 diameters deep.

    Source: Wood Handbook (FPL-GTR-282) Eq. 8-13 and Table 8-4, hardwoods; the table's
    classes are taken on downwards where a wood falls between two.
    """
    factor = 23.17 if specific_gravity < 0.48 else 31.99 if specific_gravity < 0.57 else 44.13
    return factor * diameter**2


@dataclass(frozen=True)
class Lateral:
    """Sideways design load of a screw (N) and the way it would yield (NDS mode)."""

    force_n: float
    mode: str


def lateral_design_n(
    diameter: float,
    side: float,
    penetration: float,
    specific_gravity: float,
    root_diameter: float | None = None,
) -> Lateral:
    """Sideways load a wood screw may be asked to bear, wood on wood, in single shear.

    ``side`` is the thickness of the part under the head. The least of six yield modes,
    with the root diameter, two thirds of the shank unless given; taken down in proportion
    for screws that stand less than ten diameters deep.

    Source: NDS Table 12.3.1A; steel of 90, 80 or 70 ksi by diameter, from memory,
    confirmed by one worked value (No. 10, 1/2 in side: 90 lbf).
    """
    root = (root_diameter or diameter * ROOT_SHARE) / MM_PER_INCH
    # Above 1/4 in the wood's bearing strength goes with the grain's direction; no wood
    # screw of a bed is so thick.
    bearing = 16600 * specific_gravity**1.84
    steel = 90000 if root <= 0.142 else 80000 if root <= 0.177 else 70000
    divisor = 2.2 if root <= 0.17 else 10 * root + 0.5
    ls, lm = side / MM_PER_INCH, penetration / MM_PER_INCH
    modes = _yield_modes(root, ls, lm, bearing, steel)
    mode = min(modes, key=lambda name: modes[name])
    depth = min(1.0, penetration / (FULL_DEPTH * diameter))
    return Lateral(modes[mode] / divisor * depth * N_PER_LBF, mode)


def _yield_modes(d: float, ls: float, lm: float, fe: float, fy: float) -> dict[str, float]:
    """Yield loads of both parts of one wood (inch, lbf)."""
    r = lm / ls
    k1 = (math.sqrt(1 + 2 * (1 + r + r**2) + r**2) - (1 + r)) / 2
    bend = 2 * fy * 3 * d**2 / (3 * fe)
    k2 = -1 + math.sqrt(4 + bend / lm**2)
    k3 = -1 + math.sqrt(4 + bend / ls**2)
    return {
        "Im": d * lm * fe,
        "Is": d * ls * fe,
        "II": k1 * d * ls * fe,
        "IIIm": k2 * d * lm * fe / 3,
        "IIIs": k3 * d * ls * fe / 3,
        "IV": d**2 * math.sqrt(2 * fe * fy / 6),
    }
