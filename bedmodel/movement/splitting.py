"""Will a board glued across its legs split: a band of risk, not a stress.

Legs do not change in length; a board glued to them over its whole height cannot shrink.
How much of the stress reaches a little away from the joint falls with the glued height,
by a trial with a plane sheet of white ash between rigid legs; right at the joint it stays,
so short glue keeps a split shallow but does not do away with the stress.
"""

from __future__ import annotations

import bisect
from dataclasses import dataclass
from typing import Literal

from bedmodel.moisture import swelling
from bedmodel.movement.rules import MovementRules
from bedmodel.tables import Wood, woods

Risk = Literal["low", "some", "high"]

# Glued height (mm) and the share of the full stress 40 mm in from the leg, of a panel
# 330 mm wide: the project's own trial, taken level beyond its ends.
_SHARES = ((0.0, 0.0), (40, 0.121), (80, 0.344), (100, 0.435), (150, 0.592), (250, 0.731),
           (330, 0.769))  # fmt: skip
EXCLUSION = 1.645
TENSION_VARIATION = 0.25  # Source: Wood Handbook (FPL-GTR-282) Table 5-6; its label is disputed
SOFTWOOD_GENERA = {"Abies", "Picea", "Pinus", "Pseudotsuga", "Tsuga", "Larix"}
TRUE_MODULUS = 1.1  # over the tabled one. Source: Wood Handbook, notes to Table 5-3


@dataclass(frozen=True)
class Splitting:
    """Risk of one board: ``index`` orders boards, and is not a stress to be printed.

    ``borrowed`` names values that are not published for the species and were taken from
    the least favourable one that has them.
    """

    risk: Risk
    index: float
    glued_height: float
    borrowed: tuple[str, ...]


def height_share(glued_height: float) -> float:
    heights = [height for height, _ in _SHARES]
    i = bisect.bisect_right(heights, glued_height)
    if i == len(_SHARES):
        return _SHARES[-1][1]
    (low, at_low), (high, at_high) = _SHARES[i - 1], _SHARES[i]
    return at_low + (at_high - at_low) * (glued_height - low) / (high - low)


def splitting(
    timber: Wood, glued_height: float, made: float, driest: float, rules: MovementRules
) -> Splitting:
    """The risk when a board made at ``made`` % dries to ``driest`` %, glued over a height (mm)."""
    held = -swelling(timber).change(1.0, made, driest) if driest < made else 0.0
    ratio, strength, borrowed = _across(timber)
    full = held * ratio * timber.moe * TRUE_MODULUS
    index = full * rules.relaxed_share * height_share(glued_height) / strength
    risk: Risk = "low"
    if index > rules.risk_low_below:
        risk = "some" if index <= rules.risk_some_below else "high"
    return Splitting(risk, index, glued_height, borrowed)


def _across(timber: Wood) -> tuple[float, float, tuple[str, ...]]:
    """Modulus ratio and 5 % strength across the grain; the least favourable where unknown."""
    borrowed = []
    ratio, tension = timber.elastic_tangential, timber.tension_perpendicular
    every = list(woods().values())
    if ratio is None:
        ratio = max(w.elastic_tangential for w in every if w.elastic_tangential is not None)
        borrowed.append("modulus across the grain")
    if tension is None:
        # Strength goes with density within hardwoods, and within softwoods.
        soft = _is_softwood(timber)
        known = [
            w.tension_perpendicular / w.specific_gravity
            for w in every
            if w.tension_perpendicular is not None and _is_softwood(w) == soft
        ]
        tension = min(known) * timber.specific_gravity
        borrowed.append("strength across the grain")
    return ratio, tension * (1 - EXCLUSION * TENSION_VARIATION), tuple(borrowed)


def _is_softwood(timber: Wood) -> bool:
    return timber.botanical.split()[0] in SOFTWOOD_GENERA
