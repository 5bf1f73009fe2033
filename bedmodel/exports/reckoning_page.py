"""A picture of how each member bends, and of how much of its strength is used along it.

        ----------------      the member at rest, on its supports
        ^    `-.  .-'   ^     sag at once, the worst of all loads; dashed: after years;
              =====           the limit where it decides, red
        [ ..:::||||::.. ]     share of the allowed bending stress; the upper line is all of it

Sag is drawn much too deep, each member to its own scale, which is written beside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.exports.paper.sheet import (
    Box,
    Mark,
    Path,
    Pen,
    Point,
    Sheet,
    Text,
    line,
    rectangle,
    usual_paper,
)
from bedmodel.exports.paper.type import fitted, wrapped
from bedmodel.materials import material
from bedmodel.skeleton import Layout
from bedmodel.strength import CAUTIONS
from bedmodel.strength.answer import Strength, surety
from bedmodel.strength.judged import Case, MemberReport
from bedmodel.strength.words import plain, sag_text, use_text

MARGIN = 14.0
LABEL = 50.0  # width of the words beside a drawing
HEAD = 32.0
FOOT = 22.0
TALLEST = 34.0  # height of a member's row
SAG_BAND, USE_BAND = 0.42, 0.26  # shares of a row
SAMPLES = 120
INK, GREY, SAG, LIMIT, USED, OVER = (
    *("#222222", "#8a8a8a", "#1f5f99", "#c0392b"),
    *("#9fbfd8", "#e08a7d"),
)


def strength_page(found: Strength) -> Sheet:
    """One sheet with every member that bends, in the sheet's own size of paper."""
    layout = found.layout
    paper = usual_paper(layout.sheet.design.unit)
    reports = [r for r in found.members if any(case.bent for case in r.cases)]
    room = paper.height - 2 * MARGIN - HEAD - FOOT
    tall = min(TALLEST, room / max(1, len(reports)))
    width = paper.width - 2 * MARGIN
    marks: list[Mark] = list(_head(found, paper.height - MARGIN, width))
    top = paper.height - MARGIN - HEAD
    for i, report in enumerate(reports):
        row = Box(MARGIN, top - (i + 1) * tall, MARGIN + width, top - i * tall)
        marks += _Row(layout, report, row).marks()
    marks += _foot(width)
    return Sheet(paper, f"{layout.sheet.design.title}: sag and strength", tuple(marks))


def _head(found: Strength, top: float, width: float) -> Iterator[Mark]:
    title, size = fitted(
        f"{found.layout.sheet.design.title}: sag and strength", width, 15, bold=True
    )
    yield Text(title, (MARGIN, top - 5), size, bold=True)
    told = (
        "Blue: how far each member sags at once under its worst load, drawn much too deep; dashed: "
        "under the sleepers after years; red: the limit where it decides. Below: share used of the "
        "allowed bending stress; the upper line is all of it."
    )
    if found.tips:
        told = f"The bed does not stand: {found.tips}."
    sure = surety(found.layout, ("straight_grain_ratio", "slat_peak_ratio"), "mechanical_status")
    told += f" Limits and factors are partly practice or from memory [{sure}]."
    for i, text in enumerate(wrapped(told, width, 9)):
        yield Text(text, (MARGIN, top - 12 - 4.2 * i), 9, colour=INK)


def _foot(width: float) -> Iterator[Mark]:
    lines = [text for caution in CAUTIONS[:1] + CAUTIONS[2:4] for text in
             wrapped(caution, width, 7.5)]  # fmt: skip
    for i, text in enumerate(reversed(lines)):
        yield Text(text, (MARGIN, MARGIN + 3.4 * i), 7.5, colour=GREY)


@dataclass(frozen=True)
class _Row:
    """One member's drawing in its box on the paper (mm)."""

    layout: Layout
    report: MemberReport
    box: Box

    @property
    def cases(self) -> list[Case]:
        return [case for case in self.report.cases if case.bent]

    @property
    def length(self) -> float:
        return max(case.bent.beam.length for case in self.cases if case.bent)

    @property
    def left(self) -> float:
        return self.box.x0 + LABEL

    @property
    def base(self) -> float:
        """Height of the member at rest."""
        return self.box.y1 - 0.14 * self.box.height

    @property
    def deep(self) -> float:
        """How far down the greatest sag, or its limit, is drawn."""
        return SAG_BAND * self.box.height

    def at(self, x: float) -> float:
        return self.left + (self.box.x1 - self.left) * x / self.length

    def marks(self) -> Iterator[Mark]:
        yield line((self.box.x0, self.box.y1), (self.box.x1, self.box.y1), Pen(0.15, GREY))
        yield from self._words()
        yield from self._sag()
        yield from self._use()

    def _xs(self) -> list[float]:
        return [self.length * i / SAMPLES for i in range(SAMPLES + 1)]

    # --- sag -----------------------------------------------------------------------------

    def _sag(self) -> Iterator[Mark]:
        now = [self._now(x) for x in self._xs()]
        years = [self._years(x) for x in self._xs()]
        worst, limit_case = self._limit()
        scale = self.deep / max(worst[1], *now, *years, 1e-6)
        yield line((self.left, self.base), (self.box.x1, self.base), Pen(0.9, GREY), "member")
        if any(years):
            pen = Pen(0.3, SAG, (1.2, 0.9))
            yield Path(self._curve(years, scale), pen, role="sag_years")
        yield Path(self._curve(now, scale), Pen(0.5, SAG), role="sag")
        if limit_case:
            x, half = worst[0], self.length * 0.07
            y = self.base - worst[1] * scale
            ends = max(0.0, x - half), min(self.length, x + half)
            yield line((self.at(ends[0]), y), (self.at(ends[1]), y), Pen(0.5, LIMIT), "limit")
        bent = self.cases[0].bent
        for support in bent.beam.supports if bent else ():
            yield self._support(self.at(support.x), held=support.turning > 0)

    def _support(self, x: float, *, held: bool) -> Path:
        """A knife edge, or a wall where the end cannot turn."""
        if held:
            wall = Box(x - 0.9, self.base - 3, x, self.base + 3)
            return rectangle(wall, None, INK, role="support")
        points: tuple[Point, ...] = (
            (x, self.base - 0.45), (x - 1.3, self.base - 2.9), (x + 1.3, self.base - 2.9),
        )  # fmt: skip
        return Path(points, Pen(0.2, INK), "#ffffff", True, "support")

    def _curve(self, sags: Sequence[float], scale: float) -> tuple[Point, ...]:
        # Where a member rises it is shown rising, but no further than its row allows.
        most = 0.1 * self.box.height
        return tuple(
            (self.at(x), self.base - max(-most, sag * scale))
            for x, sag in zip(self._xs(), sags, strict=True)
        )

    def _now(self, x: float) -> float:
        return max((case.bent.sag(x) for case in self.cases if case.bent), key=abs)

    def _years(self, x: float) -> float:
        sags = [
            case.bent.sag(x) * case.sag_years / case.sag
            for case in self.cases
            if case.bent and case.sag_years > case.sag > 0
        ]
        return max(sags, key=abs, default=0.0)

    def _limit(self) -> tuple[tuple[float, float], bool]:
        """Where sag decides most, and its limit (mm along, mm)."""
        uses = [use for case in self.cases for use in case.uses if use.what.startswith("sag")]
        if not uses:
            return (0.0, 0.0), False
        worst = max(uses, key=lambda use: use.use)
        return (worst.x, worst.limit), True

    # --- use -----------------------------------------------------------------------------

    def _use(self) -> Iterator[Mark]:
        low = self.box.y0 + 0.07 * self.box.height
        tall = USE_BAND * self.box.height
        shares = [self._share(x) for x in self._xs()]
        points = [
            (self.at(x), low + tall * min(share, 1.15))
            for x, share in zip(self._xs(), shares, strict=True)
        ]
        area = ((self.left, low), *points, (self.box.x1, low))
        fill = OVER if max(shares) > 1 else USED
        yield Path(area, None, fill, True, "use")
        frame = Box(self.left, low, self.box.x1, low + tall)
        yield rectangle(frame, Pen(0.15, GREY), role="use_limit")

    def _share(self, x: float) -> float:
        section = self.report.section
        shares = []
        for case in self.cases:
            limits = [use.limit for use in case.uses if use.what == "bending"]
            if case.bent and limits:
                shares.append(abs(case.bent.moment(x)) / section.modulus / limits[0])
        return max(shares, default=0.0)

    # --- words ---------------------------------------------------------------------------

    def _words(self) -> Iterator[Mark]:
        sheet, report = self.layout.sheet, self.report
        show = sheet.show
        section = report.section
        governing = report.governing
        sag = max((case.sag for case in self.cases), default=0.0)
        told = sag_text(sheet, sag)
        bending = max(self._share(x) for x in self._xs())
        yield self._text(plain(report.member), 0, bold=True)
        stuff = material(report.species, sheet.own_woods).label
        yield self._text(f"{show(section.width)} × {show(section.depth)}, {stuff}", 1)
        limit = self._limit()[0][1]
        yield self._text(f"sag {told}, limit {sag_text(sheet, limit)} where it decides", 2)
        yield self._text(f"bending {use_text(bending)} of what is allowed", 3)
        worst = governing.worst
        words = f"most used: {worst.what}, {governing.load}"
        for i, text in enumerate(wrapped(words, LABEL - 3, 7.5)[:2]):
            yield self._text(text, 4 + i)

    @property
    def _pitch(self) -> float:
        """From one line of words to the next: six of them have room in the row."""
        return min(4.3, (self.box.height - 6.2) / 5)

    def _text(self, words: str, row: int, bold: bool = False) -> Text:
        size = 10.0 if bold else 7.5
        text, size = fitted(words, LABEL - 3, size, 6, bold)
        return Text(text, (self.box.x0, self.box.y1 - 4.6 - row * self._pitch), size, bold=bold)
