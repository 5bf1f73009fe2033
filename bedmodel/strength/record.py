"""Strength as a record for other programs: numbers at the precision that they bear."""

from __future__ import annotations

import math
from typing import Any

from bedmodel.strength import CAUTIONS
from bedmodel.strength.advice import Suggestion
from bedmodel.strength.answer import Strength, assumed, basis_figures, unsure_woods
from bedmodel.strength.bed_frame import FrameCase
from bedmodel.strength.joints import JointBand
from bedmodel.strength.judged import Case, MemberReport

Record = dict[str, Any]


def strength_record(found: Strength) -> Record:
    """Members, frame, joints, and all that they rest on (mm, N, N.m, MPa)."""
    layout = found.layout
    return {
        "units": {"length": "mm", "force": "N", "moment": "N.m", "stress": "MPa"},
        "passed": found.passed,
        "tips": found.tips,
        "members": [_member(report) for report in found.members],
        "frame": [_case_of_frame(case) for case in found.frame],
        "joints": [_joint(joint) for joint in found.joints],
        "basis": [
            {
                "parameter": name,
                "value": figure.value,
                "unit": figure.unit,
                "meaning": figure.meaning,
                "source": figure.source,
                "status": figure.status,
            }
            for name, figure in basis_figures(layout)
        ],
        "assumed": list(assumed(layout)),
        "woods_in_doubt": list(unsure_woods(layout)),
        "cautions": list(CAUTIONS),
    }


def suggestion_record(said: Suggestion) -> Record:
    return {
        "question": said.question,
        "parameter": said.parameter,
        "value": said.value,
        "set": list(said.changes),
        "text": said.text,
        "decided_by": said.governs,
        "enough_now": said.enough_now,
        "caution": said.caution,
    }


def _member(report: MemberReport) -> Record:
    return {
        "member": report.member,
        "species": report.species,
        "section": {"width": _mm(report.section.width), "depth": _mm(report.section.depth)},
        "spans": [_mm(span) for span in report.spans],
        "passed": report.passed,
        "notes": list(report.notes),
        "cases": [_case(case) for case in report.cases],
    }


def _case(case: Case) -> Record:
    return {
        "load": case.load,
        "duration": case.duration,
        "sag": _half(case.sag),
        "sag_likely": _half(case.sag_likely),
        "sag_years": _half(case.sag_years),
        "uses": [
            {
                "what": use.what,
                "value": round(use.value, 2),
                "limit": round(use.limit, 2),
                "use": round(use.use, 2),
                "at": round(use.x),
            }
            for use in case.uses
        ],
    }


def _case_of_frame(case: FrameCase) -> Record:
    return {
        "case": case.name,
        "place": case.place,
        "play": _half(case.play),
        "limit": case.limit,
        "by_fastener": {
            name: {
                "moved": _half(moved.moved),
                "lifted": list(moved.lifted),
                "topples": moved.topples,
            }
            for name, moved in case.by_class.items()
        },
    }


def _joint(joint: JointBand) -> Record:
    return {
        "joint": joint.joint,
        "action": joint.action,
        "unit": joint.unit,
        "asked": float(f"{joint.demand:.2g}"),
        "proposed": None if joint.capacity is None else float(f"{joint.capacity:.2g}"),
        "lower_bound": None if joint.bound is None else float(f"{joint.bound:.2g}"),
        "band": joint.band,
        "case": joint.case,
        "reason": joint.reason,
    }


def _mm(value: float) -> float:
    return round(value, 4) + 0.0


def _half(value: float) -> float | None:
    """To 0.5 mm; None for what has no end."""
    return math.floor(value * 2 + 0.5) / 2 if math.isfinite(value) else None
