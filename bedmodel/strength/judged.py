"""What is said of one member under one load: sag and stress against what is allowed.

``use`` is the share of what is allowed: above 1 it is too much. Print uses to one
decimal, sags to 0.5 mm: more would be false precision.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bedmodel.strength.beam import Bent
from bedmodel.strength.timber import Rules, Section, bending_allowable, shear_allowable
from bedmodel.tables import Wood

LASTING = ("permanent", "ten_years", "two_months")  # wood creeps under these


@dataclass(frozen=True)
class Use:
    """One thing judged: what, how much, the limit (mm or MPa), and where along the member."""

    what: str
    value: float
    limit: float
    x: float

    @property
    def use(self) -> float:
        return self.value / self.limit


@dataclass(frozen=True)
class Case:
    """One member under one load.

    ``sag`` is the most at once, ``sag_likely`` and ``sag_years`` after years under a
    lasting load, else the same (mm). ``bent`` holds sag and moment all along, for a
    picture; None where there is no beam to draw.
    """

    member: str
    load: str
    duration: str
    sag: float
    sag_likely: float
    sag_years: float
    uses: tuple[Use, ...]
    bent: Bent | None = None

    @property
    def worst(self) -> Use:
        return max(self.uses, key=lambda use: use.use)

    @property
    def passed(self) -> bool:
        return self.worst.use <= 1.0


@dataclass(frozen=True)
class MemberReport:
    """One member: its wood, section and spans (mm), and its cases."""

    member: str
    species: str
    section: Section
    spans: tuple[float, ...]
    cases: tuple[Case, ...]
    notes: tuple[str, ...] = ()

    @property
    def governing(self) -> Case:
        return max(self.cases, key=lambda case: case.worst.use)

    @property
    def passed(self) -> bool:
        return self.governing.passed


@dataclass(frozen=True)
class Span:
    """A stretch of a beam whose sag has its own limit, at once or after years (mm)."""

    start: float
    end: float
    sag_limit: float


def judge(
    member: str,
    load: str,
    duration: str,
    bent: Bent,
    spans: Sequence[Span],
    timber: Wood,
    rules: Rules,
) -> Case:
    """Judge a bent beam: sag in each span, bending and shear stress over its whole length.

    Under a lasting load the sag is that after years of creep.
    """
    section = bent.beam.section
    lasting = duration in LASTING
    creep = rules.creep_checked if lasting else 1.0
    sags = [(span, *bent.worst_sag(span.start, span.end)) for span in spans]
    years = "sag after years" if lasting else "sag"
    uses = [Use(years, sag * creep, span.sag_limit, x) for span, x, sag in sags]
    uses = [max(uses, key=lambda use: use.use)]
    x, moment = bent.worst_moment()
    allowed = bending_allowable(timber.mor, section.depth, duration, rules)
    uses.append(Use("bending", moment / section.modulus, allowed, x))
    # Source: Wood Handbook (FPL-GTR-282) Eq. 9-14, rectangle.
    shear = 1.5 * bent.worst_shear() / section.area
    uses.append(Use("shear", shear, shear_allowable(timber.shear, duration, rules), x))
    most = max(sag for _, _, sag in sags)
    likely = rules.creep_likely if lasting else 1.0
    return Case(member, load, duration, most, most * likely, most * creep, tuple(uses), bent)
