"""The boards of both ends, and the legs, under pushes on the headboard and the rails."""

from __future__ import annotations

import math

from bedmodel.end_plan import BoardPlan, EndPlan
from bedmodel.skeleton import Layout
from bedmodel.strength.beam import Beam, PointLoad, Support, bend
from bedmodel.strength.judged import Case, MemberReport, Span, Use, judge
from bedmodel.strength.leg_sections import stations
from bedmodel.strength.loads import Loads, bed_line_load
from bedmodel.strength.timber import (
    Rules,
    Section,
    bending_allowable,
    duration_factor,
    five_percent,
    modulus,
    shear_modulus,
)

FREE_LENGTH_RATIO = 2.0  # a leg fixed at the rail and free at the floor, as Euler counts it
COMPRESSION_VARIATION = 0.18  # Source: Wood Handbook (FPL-GTR-282) Table 5-6


def highest_board(end: EndPlan) -> BoardPlan:
    return max(end.boards, key=lambda board: board.top)


def board(layout: Layout, end: EndPlan, loads: Loads, rules: Rules) -> MemberReport:
    """The end's highest board, pushed lengthwise in its middle; its ends taken as hinged."""
    plan = highest_board(end)
    timber = layout.sheet.bed_wood
    section = Section(plan.width, plan.thickness)
    span = 2 * end.joint_x
    beam = Beam(
        span,
        section,
        modulus(timber, rules),
        shear_modulus(timber, rules),
        (Support(0.0), Support(span)),
    )
    name = f"{end.end}board"
    push = bend(beam, [PointLoad(span / 2, loads.headboard_push_n)])
    limits = [Span(0.0, span, rules.headboard_drift_most)]
    case = judge(name, "push lengthwise", loads.push_duration, push, limits, timber, rules)
    return MemberReport(name, timber.name, section, (span,), (case,))


def leg(layout: Layout, end: EndPlan, loads: Loads, rules: Rules) -> MemberReport:
    """A leg: above the rail under the push on the boards, below it under the weight.

    Each of two legs takes half the push, as a stalk held at the rail's middle. Below the
    rail it takes a quarter of the weight and half a push on the rail, as a stalk that the
    floor does not hold.
    """
    timber = layout.sheet.bed_wood
    middle = (layout.rail_top + layout.rail_bottom) / 2
    thickness = layout.sheet.leg.thickness
    # Lengthwise the leg is as deep as it is thick; it is narrowest at the top.
    section = Section(layout.legs.width_at(end.leg_top), thickness)
    name = f"{end.end}_leg"
    cases = []
    reach = highest_board(end).top - end.lean.along(middle)
    if reach > 0:
        beam = Beam(
            reach,
            section,
            modulus(timber, rules),
            shear_modulus(timber, rules),
            (Support(0.0, turning=math.inf),),
        )
        push = bend(beam, [PointLoad(reach, loads.headboard_push_n / 2)])
        limits = [Span(0.0, reach, rules.headboard_drift_most)]
        cases.append(
            judge(name, "push lengthwise", loads.push_duration, push, limits, timber, rules)
        )
    cases.append(_under_weight(layout, end, loads, rules, middle))
    return MemberReport(name, timber.name, section, (reach, middle), tuple(cases))


def _under_weight(layout: Layout, end: EndPlan, loads: Loads, rules: Rules, middle: float) -> Case:
    name = f"{end.end}_leg"
    timber = layout.sheet.bed_wood
    found = stations(layout.legs, middle)
    area = min(section.area for _, section, _ in found)
    inertia = min(min(s.inertia, s.inertia_across) for _, s, _ in found)
    # The feet under the centre rail are not counted on: the whole weight on four legs.
    weight = bed_line_load(layout, loads) * layout.pocket_length / 4
    free = FREE_LENGTH_RATIO * middle
    euler = math.pi**2 * modulus(timber, rules) * inertia / (free**2 * area)
    strong = five_percent(timber.compression_parallel, COMPRESSION_VARIATION)
    strong *= duration_factor(loads.sleepers_duration) / rules.safety_divisor
    # Source: the interaction of crushing and Euler's load in its simplest safe form.
    limit = 1 / (1 / strong + rules.safety_divisor / (0.5 * euler))
    push = loads.rail_push_n / 2

    def bending(height: float, section: Section) -> Use:
        allowed = bending_allowable(timber.mor, section.depth, loads.push_duration, rules)
        return Use("bending", push * height / section.modulus, allowed, height)

    def outward(height: float, section: Section, arm: float) -> Use:
        allowed = bending_allowable(timber.mor, section.width, loads.sleepers_duration, rules)
        stress = weight * arm * section.width / 2 / section.inertia_across
        return Use("bending, the foot beside the post", stress, allowed, height)

    def by_rake(height: float, section: Section) -> Use:
        # The foot stands forward of where the rail hangs, and the weight with it bends the leg.
        allowed = bending_allowable(timber.mor, section.depth, loads.sleepers_duration, rules)
        moment = weight * height * math.tan(end.lean.rake)
        return Use("bending by the rake", moment / section.modulus, allowed, height)

    foot = found[0][2]
    arms = [outward(height, section, abs(at - foot)) for height, section, at in found]
    beside = max(arms, key=lambda use: use.use)
    leaning = [by_rake(height, section) for height, section, _ in found]
    uses = (
        Use("crushing", weight / area, limit, 0.0),
        max((bending(height, s) for height, s, _ in found), key=lambda use: use.use),
        *([beside] if beside.value > 0 else []),
        *([max(leaning, key=lambda use: use.use)] if end.lean.rake else []),
    )
    return Case(
        name, "weight, and a push on the rail", loads.sleepers_duration, 0.0, 0.0, 0.0, tuple(uses)
    )
