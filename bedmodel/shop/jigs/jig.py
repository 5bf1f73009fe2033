"""What a jig is, and the simulated cut that proves one for the router."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bedmodel.cutters import Cutter
from bedmodel.outline import Outline
from bedmodel.shop.cards import Card
from bedmodel.shop.relief import rounded_outside_corners, sharp_inside_corners
from bedmodel.shop.router import Side
from bedmodel.shop.sheet import CncSheet
from bedmodel.shop.simulate import CutReport, simulate

LIMIT = 0.05  # mm; a cut may miss its line by this, beyond what round corners leave


@dataclass(frozen=True)
class GuidedCut:
    """What the router cuts with a jig: along ``template``, to leave ``wanted``, in one frame."""

    template: Outline
    wanted: Outline
    cutter: Cutter
    side: Side


@dataclass(frozen=True)
class Jig:
    """One jig: the sheet to cut it from, its card, and its cut when a router follows it."""

    sheet: CncSheet
    card: Card
    cut: GuidedCut | None = None

    @property
    def name(self) -> str:
        return self.sheet.name


def check_jigs(jigs: Sequence[Jig]) -> list[tuple[str, CutReport, bool]]:
    """Simulate the cut of each router jig: its name, what it leaves, and whether that will do.

    A cut will do when it misses the wanted outline by no more than ``LIMIT`` beyond
    what a round bit must leave in a sharp inside corner and a guide that rolls round
    a sharp outside corner takes off it. Jigs of one cut are simulated once.
    """
    done: dict[tuple[object, ...], CutReport] = {}
    found = []
    for jig in jigs:
        if jig.cut is not None:
            key = _key(jig.cut)
            if key not in done:
                done[key] = _simulated(jig.cut)
            found.append((jig.name, done[key], will_do(jig.cut, done[key])))
    return found


def _key(cut: GuidedCut) -> tuple[object, ...]:
    """Equal for equal cuts, as those of a left and a right leg are."""
    return (cut.cutter, cut.side, cut.template.canonical(), cut.wanted.canonical())


def _simulated(cut: GuidedCut) -> CutReport:
    return simulate(cut.template, cut.wanted, cut.cutter, cut.side)


def will_do(cut: GuidedCut, report: CutReport) -> bool:
    """Say whether a simulated cut keeps within ``LIMIT``; see ``check_jigs``."""
    inside = sharp_inside_corners(cut.wanted, cut.cutter.diameter, cut.side)
    outside = rounded_outside_corners(cut.wanted, cut.cutter, cut.side)
    uncut = max((corner.miss for corner in inside), default=0.0)
    overcut = max((corner.miss for corner in outside), default=0.0)
    return report.uncut_depth <= LIMIT + uncut and report.overcut_depth <= LIMIT + overcut
