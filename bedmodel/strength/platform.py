"""Slats and centre rail: what carries the mattress.

runner        centre rail        runner         seen from the foot
  |===============|===============|             slats: one span or two
  <---- span ----> <---- span ---->

  ====+=========+=========+====                 centre rail: overhangs and bays
      foot      foot      foot                  between its feet, seen from the side
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

from bedmodel.centre_beam import centre_share
from bedmodel.panels import Panel
from bedmodel.skeleton import Layout
from bedmodel.strength.beam import Beam, LineLoad, Load, PointLoad, Support, Unstable, bend
from bedmodel.strength.judged import Case, MemberReport, Span, Use, judge
from bedmodel.strength.loads import Loads, bed_line_load
from bedmodel.strength.timber import (
    Rules,
    Section,
    crushing_allowable,
    modulus,
    shear_modulus,
)
from bedmodel.supports import row_bearing
from bedmodel.tables import Wood

HELD_NOTE = "slats screwed to the runners; loose ones lift at an end and sag more"
DECK_NOTE = (
    "a strip of the deck by itself, face grain along it: what the plywood spreads along the bed "
    "is left out, on the safe side"
)


def slat_wood(layout: Layout) -> Wood:
    """The species of slats, runners and centre rail."""
    return layout.sheet.inside_wood


def strip_wood(layout: Layout) -> Wood:
    """What is bent between runners and centre rail: the slats' species, or the deck's plywood."""
    if layout.deck is None:
        return slat_wood(layout)
    return _as_wood(layout.deck.plywood, slat_wood(layout), layout.sheet.limits.true_modulus_ratio)


def _as_wood(plywood: Panel, like: Wood, ratio: float) -> Wood:
    """Plywood along its face grain, in the fields that a wood is judged by.

    Its bending strength is already a low one, and is lowered again as a mean would be, which
    is on the safe side. Its modulus has no shear in it; the tabled one of woods has.
    """
    shear = plywood.planar_modulus / plywood.modulus
    return replace(
        like,
        name=plywood.name,
        label=plywood.label,
        mor=plywood.bending,
        moe=plywood.modulus / ratio,
        shear=plywood.planar_shear,
        compression_perpendicular=plywood.bearing,
        elastic_shear_radial=shear,
        elastic_shear_tangential=shear,
        mechanical_status=plywood.status,
        source=plywood.source,
        note="",
    )


@dataclass(frozen=True)
class SlatPlan:
    """One slat as a beam: its section, and its spans between supports (mm).

    ``pitch`` from slat to slat, ``bearing`` the length on each runner, ``middle`` the
    width of the centre rail, 0 without one.
    """

    section: Section
    spans: tuple[float, ...]
    pitch: float
    bearing: float
    middle: float


def slat_plan(layout: Layout) -> SlatPlan:
    """The slat that spans most: the first, where the pocket is widest.

    A span is from the middle of its bearing on the runner.
    """
    row, sheet = layout.slats, layout.sheet
    net = layout.deck.net_share(sheet.deck.hole) if layout.deck else 1.0
    section = Section(row.width * net, layout.support_thickness)
    y = row.starts()[0] + row.width / 2
    inner = layout.half_width(y) - sheet.runner.width
    bearing = row.length / 2 - inner
    half = inner + bearing / 2
    pitch = row.width + row.gap
    if layout.rows == 2:
        # One row by itself, from the runner to the middle of its bearing on the centre rail.
        on_centre = row_bearing(sheet)
        span = half - sheet.support.row_gap / 2 - on_centre / 2
        return SlatPlan(section, (span,), pitch, min(bearing, on_centre), 0.0)
    centre = layout.centre_rail is not None
    spans = (half, half) if centre else (2 * half,)
    return SlatPlan(section, spans, pitch, bearing, sheet.centre_rail.width if centre else 0.0)


def slats(layout: Layout, loads: Loads, rules: Rules, *, held: bool | None = None) -> MemberReport:
    """The slats, or the strips of a deck, under sleepers and under one point.

    ``held`` down or lying loose; None: as the sheet has it.
    """
    if held is None:
        held = is_held(layout)
    line = bed_line_load(layout, loads)
    across = line / (2 * layout.half_foot)
    found = judge_slat(slat_plan(layout), strip_wood(layout), across, loads, rules, held=held)
    if layout.deck is not None:
        cases = tuple(replace(case, member="deck") for case in found.cases)
        return replace(found, member="deck", cases=cases, notes=(DECK_NOTE,))
    return found


def is_held(layout: Layout) -> bool:
    """Whether every slat is screwed down; panels of a deck are too wide and heavy to lift."""
    if layout.deck is not None:
        return True
    return layout.slat_screws is not None and not layout.slat_screws.only_ends


def judge_slat(
    plan: SlatPlan, timber: Wood, pressure: float, loads: Loads, rules: Rules, *, held: bool
) -> MemberReport:
    """Judge a slat apart from any bed; ``pressure`` of the sleepers in N/mm2."""
    xs = [0.0, *itertools.accumulate(plan.spans)]
    beam = Beam(
        xs[-1],
        plan.section,
        modulus(timber, rules),
        shear_modulus(timber, rules),
        tuple(Support(x, push_only=not held) for x in xs),
    )

    def spans(limit_of: float, most: float) -> list[Span]:
        return [Span(a, b, min((b - a) / limit_of, most)) for a, b in itertools.pairwise(xs)]

    years = spans(rules.slat_years_ratio, rules.slat_years_most)
    peak = spans(rules.slat_peak_ratio, float("inf"))
    even = LineLoad(0.0, xs[-1], pressure * plan.pitch)
    shared = loads.base_point_n / loads.base_point_slats_count
    point = LineLoad.spread(plan.spans[0] / 2, loads.base_point_spread, shared)
    cases = []
    for load, duration, what, limits in (
        ("sleepers", loads.sleepers_duration, even, years),
        ("point on the base, under a mattress", loads.point_duration, point, peak),
    ):
        bent = bend(beam, [what])
        case = judge("slat", load, duration, bent, limits, timber, rules)
        bearing = max(bent.reactions[0], bent.reactions[-1])
        areas = [(bearing, plan.bearing, 0.0)]
        if plan.middle:
            areas.append((bent.reactions[1], plan.middle, xs[1]))
        cases.append(_with_bearing(case, plan.section.width, areas, timber, rules))
    notes = (HELD_NOTE,) if held else ("slats lie loose: an end may lift",)
    return MemberReport("slat", timber.name, plan.section, plan.spans, tuple(cases), notes)


def _with_bearing(
    case: Case, width: float, areas: list[tuple[float, float, float]], timber: Wood, rules: Rules
) -> Case:
    limit = crushing_allowable(timber.compression_perpendicular, rules)
    if not areas:
        return case
    uses = [Use("bearing", force / (width * length), limit, x) for force, length, x in areas]
    worst = max(uses, key=lambda use: use.use)
    return replace(case, uses=(*case.uses, worst))


@dataclass(frozen=True)
class CentrePlan:
    """The centre rail as a beam: places along it from its head end (mm).

    ``end_slats`` are the middles of its first and last slat; ``ends_carried`` says that
    something beside the feet holds up both its ends.
    """

    section: Section
    length: float
    feet: tuple[float, ...]
    end_slats: tuple[float, float]
    foot_size: float
    ends_carried: bool = False

    @property
    def supports(self) -> tuple[float, ...]:
        return (0.0, *self.feet, self.length) if self.ends_carried else self.feet

    @property
    def bays(self) -> tuple[float, ...]:
        return tuple(b - a for a, b in itertools.pairwise(self.supports))


def centre_plan(layout: Layout, *, ends_carried: bool | None = None) -> CentrePlan | None:
    """The centre rail of a bed; None where it has none.

    Its feet carry it, and its ends too where they rest on cleats; ``ends_carried`` says
    so against the sheet.
    """
    if ends_carried is None:
        ends_carried = bool(layout.cleats)
    plan, given = layout.centre_rail, layout.sheet.centre_rail
    if plan is None:
        return None
    starts = layout.slats.starts()
    half = layout.slats.width / 2
    height = (given.beam_height or plan.height) if given.kind == "beam" else given.height
    return CentrePlan(
        Section(given.width, height),
        plan.end - plan.start,
        tuple(y - plan.start for y in plan.feet),
        (starts[0] + half - plan.start, starts[-1] + half - plan.start),
        layout.sheet.support_foot.size,
        ends_carried,
    )


def centre_line_load(layout: Layout, loads: Loads) -> float:
    """The centre rail's share of sleepers and mattress, N for each mm of it."""
    return centre_share(layout.rows) * bed_line_load(layout, loads)


def centre_rail(
    layout: Layout, loads: Loads, rules: Rules, *, ends_carried: bool | None = None
) -> MemberReport | None:
    """The centre rail over its feet, or None. Raises Unstable where it would tip."""
    plan = centre_plan(layout, ends_carried=ends_carried)
    if plan is None:
        return None
    line = centre_line_load(layout, loads)
    return judge_centre_rail(plan, slat_wood(layout), line, loads, rules, layout.rows)


def judge_centre_rail(
    plan: CentrePlan, timber: Wood, line: float, loads: Loads, rules: Rules, rows: int = 1
) -> MemberReport:
    """Judge a centre rail apart from any bed; ``line`` of the sleepers in N/mm.

    Raises Unstable on a single support.
    """
    if len(plan.supports) < 2:
        raise Unstable("one foot alone does not hold up the centre rail")
    beam = Beam(
        plan.length,
        plan.section,
        modulus(timber, rules),
        shear_modulus(timber, rules),
        tuple(Support(x) for x in plan.supports),
    )
    years = _centre_spans(plan, rules.centre_years_ratio, rules.centre_years_most)
    peak = _centre_spans(plan, rules.centre_peak_ratio, float("inf"))
    even: Load = LineLoad(0.0, plan.length, line)
    asked = [("sleepers", loads.sleepers_duration, even, years)]
    for place, x in _centre_places(plan):
        point = PointLoad(x, loads.base_point_n)
        asked.append((f"point on {place}", loads.point_duration, point, peak))
    cases = []
    for load, duration, what, limits in asked:
        bent = bend(beam, [what])
        case = judge("centre_rail", load, duration, bent, limits, timber, rules)
        areas = [
            (force, plan.foot_size, x)
            for force, x in zip(bent.reactions, plan.supports, strict=True)
            if x in plan.feet
        ]
        cases.append(_with_bearing(case, plan.section.width, areas, timber, rules))
    notes = (
        f"it takes {centre_share(rows):g} of the sleepers' load; the slats over it keep it down "
        "where it would lift",
    )
    return MemberReport("centre_rail", timber.name, plan.section, plan.bays, tuple(cases), notes)


def _centre_spans(plan: CentrePlan, ratio: float, most: float) -> list[Span]:
    """Each bay by its length; an overhang, which tips with the bay beside it, by that bay's."""
    xs = plan.supports
    spans = [Span(a, b, min((b - a) / ratio, most)) for a, b in itertools.pairwise(xs)]
    if xs[0] > plan.end_slats[0]:
        spans.append(Span(0.0, xs[0], spans[0].sag_limit))
    if xs[-1] < plan.end_slats[1]:
        spans.append(Span(xs[-1], plan.length, spans[len(xs) - 2].sag_limit))
    return spans


def _centre_places(plan: CentrePlan) -> list[tuple[str, float]]:
    """Where a point load may be worst: the middle of each bay, and slats on overhangs."""
    xs = plan.supports
    places = [(f"bay {i + 1}", (a + b) / 2) for i, (a, b) in enumerate(itertools.pairwise(xs))]
    if plan.end_slats[0] < xs[0]:
        places.append(("the head overhang", plan.end_slats[0]))
    if plan.end_slats[1] > xs[-1]:
        places.append(("the foot overhang", plan.end_slats[1]))
    return places
