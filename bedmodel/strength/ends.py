"""The boards of both ends, and the legs, under pushes on the headboard and the rails."""

from __future__ import annotations

import math

from bedmodel.skeleton import BoardPlan, EndPlan, Layout
from bedmodel.strength.beam import Beam, PointLoad, Support, bend
from bedmodel.strength.judged import Case, MemberReport, Span, Use, judge
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
    leg_sheet = layout.sheet.leg
    splayed = layout.legs.foot is not None
    width = leg_sheet.ankle_width if splayed else leg_sheet.top_width
    section = Section(width, leg_sheet.thickness)
    # The feet under the centre rail are not counted on: the whole weight on four legs.
    weight = bed_line_load(layout, loads) * layout.pocket_length
    crushing = weight / 4 / section.area
    shorter = Section(max(section.width, section.depth), min(section.width, section.depth))
    free = FREE_LENGTH_RATIO * middle
    euler = math.pi**2 * modulus(timber, rules) * shorter.inertia / (free**2 * section.area)
    strong = five_percent(timber.compression_parallel, COMPRESSION_VARIATION)
    strong *= duration_factor(loads.sleepers_duration) / rules.safety_divisor
    # Source: the interaction of crushing and Euler's load in its simplest safe form.
    limit = 1 / (1 / strong + rules.safety_divisor / (0.5 * euler))
    moment = loads.rail_push_n / 2 * middle
    allowed = bending_allowable(timber.mor, section.depth, loads.push_duration, rules)
    uses = [
        Use("crushing", crushing, limit, 0.0),
        Use("bending", moment / section.modulus, allowed, middle),
    ]
    if end.lean.rake:
        # The foot stands forward of where the rail hangs, and the weight with it bends the leg.
        by_rake = weight / 4 * middle * math.tan(end.lean.rake)
        lasting = bending_allowable(timber.mor, section.depth, loads.sleepers_duration, rules)
        uses.append(Use("bending by the rake", by_rake / section.modulus, lasting, middle))
    return Case(
        name, "weight, and a push on the rail", loads.sleepers_duration, 0.0, 0.0, 0.0, tuple(uses)
    )
