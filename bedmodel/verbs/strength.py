"""``bedmodel strength``: will it sag, wobble or break; tables, JSON, and a picture."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from bedmodel.skeleton import Layout
from bedmodel.strength.answer import Strength, basis_figures, strength, surety
from bedmodel.strength.bed_frame import FrameCase
from bedmodel.strength.judged import Case, MemberReport
from bedmodel.strength.record import strength_record
from bedmodel.strength.words import plain, sag_text, use_text
from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.reckoned import (
    basis_table,
    cautions,
    heading,
    rests_on,
)
from bedmodel.verbs.terminal import paragraph, table, verdict


def run(arguments: argparse.Namespace) -> int:
    """Reckon a bed; 0 when every part is within its limits, 1 when one is not."""
    layout = asked_layout(arguments)
    if arguments.basis:
        print(basis_table(layout, basis_figures(layout)))
        return 0
    found = strength(layout)
    folder = None
    if arguments.out is not None:
        from bedmodel.exports.reckoning_files import write_reckoning_alone

        folder = write_reckoning_alone(layout, found, Path(arguments.out))
    if arguments.json:
        print(json.dumps(strength_record(found), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(strength_text(found, every=arguments.all))
        if folder is not None:
            print(f"\nwritten to {folder}: strength.svg, strength.json, movement.json")
    return 0 if found.passed else 1


def strength_text(found: Strength, *, every: bool = False) -> str:
    """All that is printed of one bed."""
    layout = found.layout
    if found.tips:
        told = f"The bed does not stand: {found.tips}; take more feet or cleats under its ends."
        return "\n".join([heading(layout), "", paragraph(told), cautions()])
    lines = [heading(layout), "", member_table(found, every=every)]
    lines.append(_use_note(found, every=every))
    lines += ["", frame_table(found), _frame_note(), "", joint_table(found)]
    lines.append(
        paragraph(
            "ample: up to half of what is proposed for years of use; fair: up to all of it; "
            "doubtful: more. Closer than a band would be false precision.",
            "  ",
        )
    )
    failed = [report for report in found.members if not report.passed]
    told = "every part is within its limits"
    doubtful = [joint for joint in found.joints if joint.band == "doubtful"]
    if doubtful:
        told += f"; doubtful: {', '.join(dict.fromkeys(joint.joint for joint in doubtful))}"
    broken = [plain(joint.joint) for joint in found.joints if joint.breaks]
    if not found.passed:
        names = ", ".join([plain(report.member) for report in failed] + broken)
        told = f"too much is asked of: {names}; `bedmodel advise` says what would do"
    lines += [rests_on(layout), cautions(), "", f"{verdict(found.passed)}: {told}"]
    return "\n".join(lines)


def _use_note(found: Strength, *, every: bool) -> str:
    """What a share means, and how sure the least sure figure behind it is."""
    names = ("straight_grain_ratio", "safety_divisor", "slat_peak_ratio")
    sure = surety(found.layout, names, "mechanical_status")
    told = "use: share of what is allowed, above 1.0 is too much"
    if sure != "confirmed":
        told += f"; some figures behind it are [{sure}], see below"
    if not every:
        told += "; --all lists every load of every part"
    return paragraph(f"{told}.", "  ")


def member_table(found: Strength, *, every: bool) -> str:
    """A line for each part, or for each load of each part."""
    layout = found.layout
    if every:
        rows = [_case_row(layout, r, c) for r in found.members for c in r.cases]
        heads = ["part", "load", "sag", "in years", "use", "decided by"]
        return table(rows, heads, "  rrr")
    rows = [_member_row(layout, report) for report in found.members]
    return table(rows, ["part", "sag now", "in years", "use", "decided by"], " rrr")


def _case_row(layout: Layout, report: MemberReport, case: Case) -> list[str]:
    lasting = case.sag_years != case.sag
    return [
        plain(report.member),
        case.load,
        sag_text(layout.sheet, case.sag) if case.bent else "",
        sag_text(layout.sheet, case.sag_years) if lasting else "",
        use_text(case.worst.use),
        f"{case.worst.what}, {_where(layout, case)}",
    ]


def _member_row(layout: Layout, report: MemberReport) -> list[str]:
    case = report.governing
    sags = [each.sag for each in report.cases if each.bent]
    years = [each.sag_years for each in report.cases if each.sag_years != each.sag]
    return [
        plain(report.member),
        sag_text(layout.sheet, max(sags)) if sags else "",
        sag_text(layout.sheet, max(years)) if years else "",
        use_text(case.worst.use),
        f"{case.worst.what} under {case.load}, {_where(layout, case)}",
    ]


def _where(layout: Layout, case: Case) -> str:
    if layout.sheet.design.unit == "inch":
        inches = round(case.worst.x / 25.4 * 2) / 2
        return f"at {inches:g} in"
    return f"at {case.worst.x:.0f} mm"


def frame_table(found: Strength) -> str:
    """How far the whole bed gives, over all classes of rail fastener."""
    rows = [_frame_row(found.layout, case) for case in found.frame]
    return table(rows, ["whole bed", "where", "moves", "and play", "off the floor"], "")


def _frame_row(layout: Layout, case: FrameCase) -> list[str]:
    least, most = sag_text(layout.sheet, case.least), sag_text(layout.sheet, case.most)
    lifted = {name for moved in case.by_class.values() for name in moved.lifted}
    return [
        case.name,
        case.place,
        least if least == most else f"{least} to {most}",
        sag_text(layout.sheet, case.play) if case.play > 0 else "",
        _feet(lifted),
    ]


def _feet(names: set[str]) -> str:
    feet = sum(name.startswith("support_foot") for name in names)
    legs = sorted(plain(name) for name in names if not name.startswith("support_foot"))
    if legs == ["head leg left", "head leg right"]:
        legs = ["both head legs"]
    if feet:
        legs.append(f"{feet} centre {'foot' if feet == 1 else 'feet'}")
    return ", ".join(legs)


def _frame_note() -> str:
    return paragraph(
        "moves: from firm to loose rail fasteners, whose stiffness no drawing gives; play adds to "
        "it, and is the better measure of a wobble: feel for it.",
        "  ",
    )


def joint_table(found: Strength) -> str:
    rows = [
        [
            plain(joint.joint),
            joint.action,
            f"{joint.demand:.0f} {joint.unit}",
            joint.band,
            f"{joint.case}; {joint.reason}",
        ]
        for joint in found.joints
    ]
    return table(rows, ["joint", "against", "asked", "band", "asked most by; why"], "  r")
