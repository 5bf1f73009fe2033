"""``bedmodel check``: does it fit; a table for people, JSON for programs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bedmodel import kernel
from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.terminal import Progress, table, verdict

if TYPE_CHECKING:
    from bedmodel.checks.finding import Finding, Result

IDLE = "nothing to test"


def run(arguments: argparse.Namespace) -> int:
    """Check a bed; 0 when all is well, 1 when a check failed."""
    sheet = asked_layout(arguments).sheet
    say = Progress()
    say("loading the solid modeller")
    kernel.load()
    from bedmodel.assembly import make_bed
    from bedmodel.checks.run import run_checks
    from bedmodel.exports.json_text import json_bytes
    from bedmodel.exports.records import checks_record

    say("making the parts")
    bed = make_bed(sheet)
    say("checking that they fit")
    results = run_checks(bed)
    say.done()
    if arguments.json:
        sys.stdout.write(json_bytes(checks_record(results)).decode())
    else:
        print(check_table(results))
        print(summary(results))
    return 0 if all(result.passed for result in results) else 1


def check_table(results: Sequence[Result]) -> str:
    """One line a check, and under the table each finding with its remedy, and each caution."""
    rows = [
        [
            str(int(r.code)),
            r.title,
            str(r.tested),
            _number(r),
            r.limit,
            verdict(r.passed) if r.tested else IDLE,
        ]
        for r in results
    ]
    text = table(rows, ["code", "check", "tested", "worst", "limit", "verdict"], "r rr")
    lines = [
        f"{finding.code.name} ({int(finding.code)}): {', '.join(finding.parts)}: measured "
        f"{finding.measured:.4g}{_place(finding)}, must be {finding.limit}; {finding.remedy}"
        for result in results
        for finding in result.findings
    ]
    lines += caution_lines(results)
    return "\n".join([text, "", *lines]) if lines else text


def caution_lines(results: Sequence[Result]) -> list[str]:
    """What the sheet's own choices cost, a line each."""
    return [
        f"caution ({int(caution.code)}): {', '.join(caution.parts)}: {caution.told}"
        for result in results
        for caution in result.cautions
    ]


def _place(finding: Finding) -> str:
    return f" ({finding.place})" if finding.place else ""


def summary(results: Sequence[Result]) -> str:
    failed = sum(1 for result in results if not result.passed)
    cautions = sum(len(result.cautions) for result in results)
    told = f", {cautions} caution{'s' if cautions > 1 else ''}" if cautions else ""
    idle = sum(1 for result in results if not result.tested)
    rest = f"; {idle} more had nothing to test" if idle else ""
    if failed:
        return f"{failed} of {len(results) - idle} checks failed{told}{rest}"
    return f"all {len(results) - idle} checks passed{told}{rest}"


def _number(result: Result) -> str:
    if result.worst is None:
        return "-"
    if result.measure == "count":
        return f"{result.worst:.0f}"
    unit = {"mm": " mm", "mm2": " mm2", "mm3": " mm3"}.get(result.measure, "")
    return f"{round(result.worst, 3) + 0.0:.3f}{unit}"
