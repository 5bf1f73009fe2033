"""What wood may be asked to bear and how stiff it is, from the table of woods.

Stresses and moduli in MPa. An allowable stress is

    mean * (1 - 1.645 * variation) * straight grain * size * duration / divisor

Source: means and variations Wood Handbook (FPL-GTR-282) Tables 5-3 and 5-6; the rest
from ``data/strength_rules.csv``, each figure with its own source and status.
"""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.figures import figures, values_of
from bedmodel.spec import Sheet
from bedmodel.tables import Wood

# One in twenty pieces of a normal population is weaker than mean - 1.645 deviations.
EXCLUSION = 1.645


@dataclass(frozen=True)
class Rules:
    """The factors, limits and bands of ``data/strength_rules.csv``, which says what each is."""

    true_modulus_ratio: float
    shear_ratio_unknown: float
    bending_variation: float
    shear_variation: float
    crushing_variation: float
    tension_variation: float
    straight_grain_ratio: float
    safety_divisor: float
    size_depth: float
    size_exponent: float
    creep_likely: float
    creep_checked: float
    slat_years_ratio: float
    slat_years_most: float
    slat_peak_ratio: float
    centre_years_ratio: float
    centre_years_most: float
    centre_peak_ratio: float
    rail_years_ratio: float
    rail_peak_ratio: float
    headboard_drift_most: float
    glue_design_share: float
    cheek_glue_mpa: float
    dowel_glue_mpa: float
    ample_below: float
    fair_below: float
    hook_loose_knm: float
    hook_usual_knm: float
    hook_firm_knm: float
    hook_flat_share: float
    hook_spacing: float
    hook_play: float


RULES_FILE = "strength_rules.csv"


def default_rules() -> Rules:
    return values_of(Rules, RULES_FILE)


def rules_of(sheet: Sheet) -> Rules:
    """The limits and factors as the sheet has them."""
    return Rules(**sheet.limits.model_dump())


@dataclass(frozen=True)
class Section:
    """A rectangle of wood bent over its depth: ``width`` across, ``depth`` along the load (mm)."""

    width: float
    depth: float

    @property
    def area(self) -> float:
        return self.width * self.depth

    @property
    def inertia(self) -> float:
        return self.width * self.depth**3 / 12

    @property
    def inertia_across(self) -> float:
        """The same for bending over its width."""
        return self.depth * self.width**3 / 12

    @property
    def modulus(self) -> float:
        """Section modulus, mm3."""
        return self.width * self.depth**2 / 6

    @property
    def shear_area(self) -> float:
        """Source: Wood Handbook (FPL-GTR-282) Eq. 9-4."""
        return self.area * 5 / 6

    @property
    def torsion(self) -> float:
        """Constant of twist of a rectangle, mm4 (the usual series to its second term)."""
        long, short = max(self.width, self.depth), min(self.width, self.depth)
        share = short / long
        return long * short**3 * (1 / 3 - 0.21 * share * (1 - share**4 / 12))


def modulus(timber: Wood, rules: Rules) -> float:
    """Modulus along the grain without shear; the tabled one has shear in it."""
    return timber.moe * rules.true_modulus_ratio


def shear_modulus(timber: Wood, rules: Rules) -> float:
    """The lesser shear modulus along the grain, since ring direction is not known."""
    given = [timber.elastic_shear_radial, timber.elastic_shear_tangential]
    ratios = [ratio for ratio in given if ratio is not None]
    return modulus(timber, rules) * min(ratios, default=rules.shear_ratio_unknown)


def duration_factor(duration: str) -> float:
    return figures("durations.csv")[duration].value


def five_percent(mean: float, variation: float) -> float:
    """The value that 19 of 20 pieces exceed."""
    return mean * (1 - EXCLUSION * variation)


def bending_allowable(mor: float, depth: float, duration: str, rules: Rules) -> float:
    """Bending stress allowed in a member ``depth`` deep of mean strength ``mor``."""
    size = min(1.0, float((rules.size_depth / depth) ** rules.size_exponent))
    return (
        five_percent(mor, rules.bending_variation)
        * rules.straight_grain_ratio
        * size
        * duration_factor(duration)
        / rules.safety_divisor
    )


def shear_allowable(shear: float, duration: str, rules: Rules) -> float:
    """Shear stress along the grain allowed, of mean strength ``shear``."""
    strong = five_percent(shear, rules.shear_variation)
    return strong * duration_factor(duration) / rules.safety_divisor


def crushing_allowable(crushing: float, rules: Rules) -> float:
    """Pressure across the grain allowed; past it the wood dents, it does not break."""
    return five_percent(crushing, rules.crushing_variation)
