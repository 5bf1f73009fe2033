"""What fills an end, leant on: slats and spindles as beams, panels as two crossed strips.

A back that leans covers ``leaning_width`` of an end. Slats or spindles share the push by how
many stand in that; each is a beam between the rails, hinged in its holes, pushed at its
middle. The rails are judged as if they took the whole push alone, so nothing is counted on
twice the wrong way.

A panel is held all round. A strip along its grain and one across it cross under the push and
share it by their stiffness; grooves count as hinges. Source: the strips' deflections at the
crossing are equal (Grashof's approximation for plates), which leaves out the twisting
stiffness and is on the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.end_plan import EndPlan
from bedmodel.ends.record import PanelPlan, UprightPlan
from bedmodel.skeleton import Layout
from bedmodel.strength.beam import Beam, PointLoad, Support, bend
from bedmodel.strength.judged import MemberReport, Span, Use, judge
from bedmodel.strength.loads import Loads
from bedmodel.strength.timber import (
    Rules,
    Section,
    duration_factor,
    five_percent,
    modulus,
    shear_modulus,
)
from bedmodel.tables import Wood, woods

LEANT = "leant on in the middle"


def fills(layout: Layout, loads: Loads, rules: Rules) -> Iterator[MemberReport]:
    """Judge slats, spindles and panels of both ends."""
    for end in layout.ends:
        for plan in end.fills:
            if isinstance(plan, UprightPlan):
                yield _upright(layout, end, plan, loads, rules)
            else:
                yield _panel(layout, end, plan, loads, rules)


def round_section(diameter: float) -> Section:
    """A rectangle as deep as a circle, with its inertia and section modulus.

    b d^3 / 12 = pi d^4 / 64; its area is less, so its shear stress is on the safe side.
    """
    return Section(12 * math.pi / 64 * diameter, diameter)


def share_of_push(plan: UprightPlan, loads: Loads) -> float:
    """The share of a push that one upright takes."""
    pitch = plan.gap + plan.width if len(plan.middles) > 1 else math.inf
    return min(1.0, pitch / loads.leaning_width)


def _upright(
    layout: Layout, end: EndPlan, plan: UprightPlan, loads: Loads, rules: Rules
) -> MemberReport:
    timber = layout.sheet.bed_wood
    section = round_section(plan.width) if plan.is_round else Section(plan.width, plan.thickness)
    span = plan.where.height
    supports = (Support(0.0), Support(span))
    beam = Beam(span, section, modulus(timber, rules), shear_modulus(timber, rules), supports)
    force = loads.headboard_push_n * share_of_push(plan, loads)
    bent = bend(beam, [PointLoad(span / 2, force)])
    limits = [Span(0.0, span, rules.headboard_drift_most)]
    name = f"{end.end}board_{plan.word}"
    case = judge(name, LEANT, loads.push_duration, bent, limits, timber, rules)
    share = share_of_push(plan, loads)
    note = f"one {plan.word} takes {share:.0%} of a push {loads.leaning_width:g} mm wide"
    return MemberReport(name, timber.name, section, (span,), (case,), (note,))


def _panel(
    layout: Layout, end: EndPlan, plan: PanelPlan, loads: Loads, rules: Rules
) -> MemberReport:
    """The widest panel: its thinnest part counts, the tongue's thickness all over."""
    timber = layout.sheet.bed_wood
    wide = max(b - a for a, b in plan.openings)
    along, across = wide, plan.where.height
    if plan.grain == "upright":
        along, across = across, along
    strip = Section(min(across, loads.leaning_width), plan.tongue)
    cross = Section(min(along, loads.leaning_width), plan.tongue)
    stiff, ratio = modulus(timber, rules), _ratio_across(timber)
    one = stiff * strip.inertia / along**3
    other = stiff * ratio * cross.inertia / across**3
    share = one / (one + other)
    supports = (Support(0.0), Support(along))
    beam = Beam(along, strip, stiff, shear_modulus(timber, rules), supports)
    bent = bend(beam, [PointLoad(along / 2, loads.headboard_push_n * share)])
    limits = [Span(0.0, along, rules.headboard_drift_most)]
    name = f"{end.end}board_floating_panel"
    case = judge(name, LEANT, loads.push_duration, bent, limits, timber, rules)
    moment = loads.headboard_push_n * (1 - share) * across / 4
    allowed = _allowed_across(timber, loads, rules)
    torn = Use("bending across the grain", moment / cross.modulus, allowed, along / 2)
    case = type(case)(**{**vars(case), "uses": (*case.uses, torn)})
    note = f"{share:.0%} of a push goes along the grain, the rest across it"
    return MemberReport(name, timber.name, strip, (along,), (case,), (note,))


def _ratio_across(timber: Wood) -> float:
    """Stiffness across the grain over that along it; the least of all woods where unknown."""
    if timber.elastic_tangential is not None:
        return timber.elastic_tangential
    return min(w.elastic_tangential for w in woods().values() if w.elastic_tangential is not None)


def _allowed_across(timber: Wood, loads: Loads, rules: Rules) -> float:
    """Tension across the grain that is allowed (MPa); the weakest wood's by density if unknown."""
    strong = timber.tension_perpendicular
    if strong is None:
        known = [
            w.tension_perpendicular / w.specific_gravity
            for w in woods().values()
            if w.tension_perpendicular is not None
        ]
        strong = min(known) * timber.specific_gravity
    strong = five_percent(strong, rules.tension_variation)
    return strong * duration_factor(loads.push_duration) / rules.safety_divisor
