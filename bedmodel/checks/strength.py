"""Sag, stress, bearing, wobble and joints, reckoned from the layout: no solid is measured.

What is measured is the share used of what is allowed. A limit says in brackets how sure
the least sure of the figures is that it rests on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.checks.finding import Caution, Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.strength.answer import Strength, strength, surety
from bedmodel.strength.bed_frame import FrameCase
from bedmodel.strength.judged import Case, Use
from bedmodel.strength.platform import centre_plan

_SAG = ("slat_years_ratio", "slat_peak_ratio", "centre_years_ratio", "rail_peak_ratio")
_STRESS = ("straight_grain_ratio", "safety_divisor", "size_depth")
_JOINT = ("glue_design_share", "cheek_glue_mpa")
STRENGTH = "mechanical_status"


def check_strength(probe: Probe) -> Iterator[Result]:
    """All that members, frame and joints are asked to bear."""
    found = strength(probe.bed.layout)
    yield _uses(found, Code.PART_SAGS, _is_sag, _SAG)
    yield _uses(found, Code.PART_OVERSTRESSED, _is_stress, _STRESS)
    yield _uses(found, Code.BEARING_DENTS, _is_bearing, ())
    yield _tips(found)
    yield _wobble(found)
    yield _joints(found)


def share_limit(found: Strength, names: tuple[str, ...]) -> str:
    """The limit of a share used, with the mark of the least sure figure behind it."""
    sure = surety(found.layout, names, STRENGTH)
    return "at most 1.0" if sure == "confirmed" else f"at most 1.0 [{sure}]"


def _is_sag(use: Use) -> bool:
    return use.what.startswith("sag")


def _is_bearing(use: Use) -> bool:
    return use.what == "bearing"


def _is_stress(use: Use) -> bool:
    return not _is_sag(use) and not _is_bearing(use)


def _uses(found: Strength, code: Code, wanted: object, names: tuple[str, ...]) -> Result:
    assert callable(wanted)
    limit, findings, shares = share_limit(found, names), [], []
    for report in found.members:
        uses = [(use, case) for case in report.cases for use in case.uses if wanted(use)]
        if not uses:
            continue
        use, case = max(uses, key=lambda pair: pair[0].use)
        shares += [each.use for each, _ in uses]
        if use.use > 1:
            place = _place(found, use, case)
            findings.append(Finding(code, (report.member,), use.use, limit, place))
    worst = max(shares, default=None)
    return Result(code, len(shares), worst, "share", limit, tuple(findings))


def _place(found: Strength, use: Use, case: Case) -> str:
    """How much of how much, under what: sag to 0.5 mm, stress to 1 MPa."""
    show = found.layout.sheet.show
    if _is_sag(use):
        return f"{show(use.value)} of {show(use.limit)}, {use.what} under {case.load}"
    return f"{use.value:.1f} of {use.limit:.1f} MPa, {use.what} under {case.load}"


def _tips(found: Strength) -> Result:
    code, limit = Code.CENTRE_RAIL_TIPS, "at least 2"
    plan = centre_plan(found.layout)
    if plan is None:
        return Result(code, 0, None, "count", limit, ())
    count = len(plan.supports)
    findings = () if count > 1 else (Finding(code, ("centre_rail",), float(count), limit),)
    return Result(code, 1, float(count), "count", limit, findings)


def _wobble(found: Strength) -> Result:
    """The headboard's top: a failure when even firm fasteners let it go too far."""
    code = Code.HEADBOARD_WOBBLES
    cases = [case for case in found.frame if case.limit is not None]
    if not cases:
        return Result(code, 0, None, "mm", "-", ())
    most = cases[0].limit
    assert most is not None
    limit = f"at most {most:g} mm [practice]"
    findings, cautions = [], []
    for case in cases:
        if case.by_class["firm"].moved > most:
            moved = case.by_class["firm"].moved
            findings.append(Finding(code, (case.name,), moved, limit, "with firm fasteners"))
        elif case.by_class["usual"].moved > most:
            cautions.append(_loose(case, most))
    worst = max(case.by_class["firm"].moved for case in cases)
    return Result(code, len(cases), worst, "mm", limit, tuple(findings), tuple(cautions))


def _loose(case: FrameCase, most: float) -> Caution:
    usual, firm = (case.by_class[name].moved for name in ("usual", "firm"))
    told = (
        f"{case.name}: the top moves about {_half(firm)} mm with firm rail fasteners, "
        f"{_half(usual)} mm with usual ones, over the {most:g} mm wanted: choose firm ones"
    )
    return Caution(Code.HEADBOARD_WOBBLES, ("headboard",), usual, told)


def _half(mm: float) -> str:
    return f"{math.floor(mm * 2 + 0.5) / 2:g}" if math.isfinite(mm) else "any"


def _joints(found: Strength) -> Result:
    """Joints by their lower bound; those that only exceed their share of it are told."""
    code = Code.JOINT_OVERLOADED
    limit, findings, cautions, shares = share_limit(found, _JOINT), [], [], []
    for joint in found.joints:
        if joint.bound is None:
            continue
        # A single dowel does not hold a board from turning at all.
        share = joint.demand / joint.bound if joint.bound > 0 else math.inf
        shares.append(share)
        parts = (joint.joint, joint.action)
        if joint.breaks:
            place = f"{joint.demand:.0f} of {joint.bound:.0f} {joint.unit} under {joint.case}"
            findings.append(Finding(code, parts, share, limit, place))
        elif joint.band == "doubtful" and joint.capacity is not None:
            told = (
                f"doubtful under {joint.case}: {joint.demand:.0f} {joint.unit} asked, "
                f"{joint.capacity:.0f} proposed for years of use; {joint.reason}"
            )
            cautions.append(Caution(code, parts, share, told))
    worst = max(shares, default=None)
    return Result(code, len(shares), worst, "share", limit, tuple(findings), tuple(cautions))
