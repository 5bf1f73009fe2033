"""What tenons, dowels and wedges hold, by formulas that stay below the tests we know.

Moments in N.mm, forces in N, lengths in mm, stresses in MPa.

A tenon's bound is the lesser of its glue and of itself:

    glue    two cheeks twisted as stiff plates: 2 tau J / r, at the shear strength that
            19 of 20 pieces exceed; the form is a textbook's
    tenon   bent over its width at the bending strength that 19 of 20 exceed

Against tests of 215 red oak and 140 white oak T-joints with tenons 32 x 38 x 9.5 mm
(means 353 and 358 N.m, lower limits 266 and 240; Eckelman, Uysal, Haviarova,
BioResources 11(3), 2016) the bound is below both lower limits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.strength.timber import Rules, five_percent
from bedmodel.tables import Wood
from bedmodel.tenons import TenonPlan


def glue_moment(length: float, width: float, shear: float, *, plastic: bool = False) -> float:
    """Moment that two glued cheeks of ``length`` x ``width`` bear at shear stress ``shear``."""
    if plastic:
        return 2 * shear * _mean_radius(length, width) * length * width
    polar = length * width * (length**2 + width**2) / 12
    return 2 * shear * polar / (math.hypot(length, width) / 2)


def _mean_radius(a: float, b: float) -> float:
    """Mean distance of a rectangle's points from its middle."""
    d = math.hypot(a, b)
    return d / 6 + a**2 / (12 * b) * math.log((d + b) / a) + b**2 / (12 * a) * math.log((d + a) / b)


def tenon_bending(width: float, thickness: float, stress: float) -> float:
    """Moment that a tenon bears as a short stalk bent over its width."""
    return stress * thickness * width**2 / 6


@dataclass(frozen=True)
class JointStrength:
    """Lower bounds of one board end: moment upright, and pull; which part gives first.

    ``design_*`` are the share of them to be used for years.
    """

    moment: float
    pull: float
    across: float
    first: str
    share: float

    @property
    def design_moment(self) -> float:
        return self.moment * self.share

    @property
    def design_pull(self) -> float:
        return self.pull * self.share

    @property
    def design_across(self) -> float:
        return self.across * self.share


def tenons(plan: TenonPlan, timber: Wood, rules: Rules) -> JointStrength:
    """A board end's tenons. Only the glued ones are counted: dry ones slide.

    Of a loose tenon the shorter half counts, of the board's own its length; of round edges the
    flat of the cheeks. A haunch is not counted.
    """
    depth = _depth(plan)
    flat = plan.width - plan.thickness if plan.ends == "round" else plan.width
    shear = five_percent(timber.shear, rules.shear_variation)
    strong = five_percent(timber.mor, rules.bending_variation)
    glue = glue_moment(depth, flat, shear)
    own = tenon_bending(plan.width, plan.thickness, strong)
    heights = [height for height in plan.heights if plan.slack_at(height) == 0]
    count = len(heights) * len(plan.setbacks)
    return JointStrength(
        moment=min(glue, own) * count,
        pull=2 * depth * flat * rules.cheek_glue_mpa * count,
        across=plan.width * plan.thickness * shear * 2 / 3 * count,
        first="glue" if glue < own else "tenon",
        share=rules.glue_design_share,
    )


def _depth(plan: TenonPlan) -> float:
    if plan.integral:
        return plan.embedment_leg
    return min(plan.embedment_leg, plan.embedment_board)


def dowels(plan: TenonPlan, timber: Wood, rules: Rules) -> JointStrength:
    """A board end's dowels, turning about the lowest, each pulling by its distance.

    Only the glued ones are counted: dry ones slide.
    """
    each = math.pi * plan.thickness * _depth(plan) * rules.dowel_glue_mpa
    glued = [height for height in plan.heights if plan.slack_at(height) == 0]
    lowest, highest = min(glued), max(glued)
    reach = highest - lowest
    pulls = sum((height - lowest) ** 2 for height in glued) / reach if reach else 0.0
    shear = five_percent(timber.shear, rules.shear_variation)
    round_area = math.pi * plan.thickness**2 / 4
    return JointStrength(
        moment=each * pulls,
        pull=each * len(glued),
        across=round_area * shear * 3 / 4 * len(glued),
        first="glue",
        share=rules.glue_design_share,
    )


def board_end(plan: TenonPlan, timber: Wood, rules: Rules) -> JointStrength:
    """The strength of a board's end, tenons or dowels."""
    return (dowels if plan.is_dowel else tenons)(plan, timber, rules)


def dowel_pull_published_n(
    diameter: float, depth: float, member_shear: float, dowel_shear: float
) -> float:
    """Ultimate pull on one dowel in side grain by a formula known from memory only.

    For comparison; it decides nothing here. Source: F = 0.834 D L^0.89 (0.95 S1 + S2)
    in lbf, inch, psi, all factors 1; from memory, unconfirmed.
    """
    inch, psi, lbf = 25.4, 0.006894757, 4.4482216
    stresses = (0.95 * member_shear + dowel_shear) / psi
    return float(0.834 * (diameter / inch) * (depth / inch) ** 0.89 * stresses * lbf)


def wedge_pull_n(weight: float, taper_deg: float, friction: float) -> float:
    """How hard a hook's taper draws the joint together under ``weight``.

    Friction is known only to a factor of two, so print whether it holds, not newtons.
    """
    angle = math.radians(taper_deg) + math.atan(friction)
    return weight / (math.tan(angle) + friction)


def wedge_holds(taper_deg: float, friction: float) -> bool:
    """Whether a taper stays in when the weight is taken off."""
    return math.radians(taper_deg) < 2 * math.atan(friction)
