"""A post with a bracket foot: it spreads at the floor in a cyma of two equal arcs.

|       |
|       |  bracket_height
|       |- - - - -            the upper arc is hollow, the lower one full; they meet on
|       (                     one tangent, and both ends stand plumb
|        `-.
|           )
+-----------+ - - floor       leg.bracket  outer (drawn), inner, or both
        >|--|<  bracket_spread
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
)
from bedmodel.outline import Outline, Point
from bedmodel.spec import Sheet

HIGH_SHARE = 0.9  # of the height below the joint: the bracket ends clear of it
USUAL_SHARE = 0.7
FLATTEST = 0.25  # spread over height, at least; less is no curve a saw could follow fairly
FULLEST = 1.0  # at most: each arc is then a quarter circle


@dataclass(frozen=True)
class BracketLegs(LegFamily):
    """Posts ``post`` wide that spread by ``outward`` and ``inward`` below ``height``."""

    post: float
    height: float
    outward: float
    inward: float

    def width_at(self, height: float) -> float:
        return self.post

    @property
    def toe(self) -> str:
        return "leg.bracket_spread"

    @property
    def joint_start(self) -> float:
        return self.height if self.inward else 0.0

    def section_at(self, height: float) -> LegSection:
        # What spreads at the floor bears little: short grain.
        return LegSection(self.post / 2, self.post, self.thickness)

    def outline(self, top: float, end: str = "head") -> Outline:
        steps: list[tuple[Point, float, str]] = [((-self.inward, 0.0), 0.0, "floor")]
        steps += self._cyma(self.post, self.outward, "bracket") if self.outward else []
        foot = [] if self.outward else [(self.post, 0.0)]
        steps += [(p, 0.0, "outer") for p in (foot or [(self.post, self.height)])]
        steps += [((self.post, top), 0.0, "top"), ((0.0, top), 0.0, "joint")]
        if self.inward:
            # The same cyma, from the top down and mirrored: run the other way, turned the other.
            b = math.tan(math.atan2(self.inward, self.height) / 2)
            steps += [
                ((0.0, self.height), -b, "inner_bracket"),
                ((-self.inward / 2, self.height / 2), b, "inner_bracket_foot"),
            ]
        return Outline.of(steps)

    def _cyma(self, start: float, spread: float, name: str) -> list[tuple[Point, float, str]]:
        """From the floor up: the full arc, then the hollow one."""
        b = math.tan(math.atan2(spread, self.height) / 2)
        return [
            ((start + spread, 0.0), b, f"{name}_foot"),
            ((start + spread / 2, self.height / 2), -b, name),
        ]


def bracket(sheet: Sheet, tops: Tops, knee: float) -> BracketLegs:
    """Bracket feet. Raises InputError for a bracket that reaches the joint or is no curve."""
    del tops
    leg = sheet.leg
    check_margins(sheet)
    check_easing(sheet, leg.top_width)
    check_room_below(sheet, knee)
    high = HIGH_SHARE * knee
    height = USUAL_SHARE * knee if leg.bracket_height is None else leg.bracket_height
    if height > high + 1e-9:
        raise InputError(
            "leg.bracket_height",
            sheet.show(height),
            f"must be at most {sheet.at_most(high)} below this joint",
            "make it less, or leave it out to have it worked out",
        )
    low, most = FLATTEST * height, FULLEST * height
    spread = min(25.0, most) if leg.bracket_spread is None else leg.bracket_spread
    spread = max(spread, low) if leg.bracket_spread is None else spread
    if not low - 1e-9 <= spread <= most + 1e-9:
        raise InputError(
            "leg.bracket_spread",
            sheet.show(spread),
            f"must be {sheet.at_least(low)} to {sheet.at_most(most)} at this height of the bracket",
            "set it within the range, or leave it out to have it worked out",
        )
    outward = spread if leg.bracket != "inner" else 0.0
    inward = spread if leg.bracket != "outer" else 0.0
    return BracketLegs(
        0.0,
        leg.top_width + outward,
        knee,
        None,
        eased_by(sheet),
        leg.top_width,
        height,
        outward,
        inward,
        thickness=leg.thickness,
        sharp=frozenset({"joint", "inner_bracket", "inner_bracket_foot"}),
    )
