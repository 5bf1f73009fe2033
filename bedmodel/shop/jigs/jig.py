"""What a jig is, and the simulated cut that proves one for the router."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.cutters import Cutter
from bedmodel.outline import Outline
from bedmodel.shop.cards import Card
from bedmodel.shop.relief import Corner, rounded_outside_corners, sharp_inside_corners
from bedmodel.shop.router import Side
from bedmodel.shop.sheet import CncSheet
from bedmodel.shop.simulate import CutReport, simulate

LIMIT = 0.05  # mm; a cut may miss its line by this, beyond what round corners leave


@dataclass(frozen=True)
class GuidedCut:
    """What the router cuts with a jig: along ``template``, to leave ``wanted``, in one frame.

    Where it runs out over an edge of the part, ``wood`` is the face that is cut into. A
    bit that a machine steers is guided by its own size.
    """

    template: Outline
    wanted: Outline
    cutter: Cutter
    side: Side
    wood: Outline | None = None


@dataclass(frozen=True)
class Jig:
    """One jig: the sheet to cut it from, its card, and its cuts when a router follows it.

    ``count`` of it are needed. ``from_sheet`` is False for what is made of solid wood: a part
    of the bed itself, or scrap as thick as one.
    """

    sheet: CncSheet
    card: Card
    cuts: tuple[GuidedCut, ...] = ()
    from_sheet: bool = True
    count: int = 1

    @property
    def name(self) -> str:
        return self.sheet.name

    def copies(self) -> Iterator[Jig]:
        """As many of it as are needed, from the second on with a number behind the name."""
        for number in range(1, self.count + 1):
            name = self.name if number == 1 else f"{self.name}_{number}"
            yield replace(self, sheet=replace(self.sheet, name=name), count=1)


def check_jigs(jigs: Sequence[Jig]) -> list[tuple[str, CutReport, bool]]:
    """Simulate the cuts of each router jig: its name, what they leave, and whether that will do.

    A cut will do when it misses the wanted outline by no more than ``LIMIT`` beyond
    what a round bit must leave in a sharp inside corner and a guide that rolls round
    a sharp outside corner takes off it. Jigs of one cut are simulated once; of several
    cuts of one jig the areas add up and the worst depths are told.
    """
    done: dict[tuple[object, ...], CutReport] = {}
    found = []
    for jig in jigs:
        reports = []
        for cut in jig.cuts:
            key = _key(cut)
            if key not in done:
                done[key] = _simulated(cut)
            reports.append(done[key])
        if reports:
            passed = all(will_do(c, r) for c, r in zip(jig.cuts, reports, strict=True))
            found.append((jig.name, _worst(reports), passed))
    return found


def _worst(reports: Sequence[CutReport]) -> CutReport:
    return CutReport(
        sum(report.uncut_area for report in reports),
        sum(report.overcut_area for report in reports),
        max(report.uncut_depth for report in reports),
        max(report.overcut_depth for report in reports),
    )


def _key(cut: GuidedCut) -> tuple[object, ...]:
    """Equal for equal cuts, as those of a left and a right leg are."""
    wood = None if cut.wood is None else cut.wood.canonical()
    return (cut.cutter, cut.side, cut.template.canonical(), cut.wanted.canonical(), wood)


def _simulated(cut: GuidedCut) -> CutReport:
    return simulate(cut.template, cut.wanted, cut.cutter, cut.side, wood=cut.wood)


def will_do(cut: GuidedCut, report: CutReport) -> bool:
    """Say whether a simulated cut keeps within ``LIMIT``; see ``check_jigs``."""
    inside = sharp_inside_corners(cut.wanted, cut.cutter.diameter, cut.side)
    outside = rounded_outside_corners(cut.wanted, cut.cutter, cut.side)
    uncut = max((c.miss for c in inside if _in_wood(c, cut.wood)), default=0.0)
    overcut = max((c.miss for c in outside if _in_wood(c, cut.wood)), default=0.0)
    return report.uncut_depth <= LIMIT + uncut and report.overcut_depth <= LIMIT + overcut


def _in_wood(corner: Corner, wood: Outline | None) -> bool:
    """Whether a corner comes out in the part, and not beside it."""
    if wood is None:
        return True
    x0, y0, x1, y1 = wood.bounds()
    x, y = corner.at
    return x0 <= x <= x1 and y0 <= y <= y1
