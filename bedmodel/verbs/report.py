"""``bedmodel report``: one page to look at, with a view to turn, beside the bed's files."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from bedmodel import kernel
from bedmodel.verbs.asked import asked_layout, asked_workshop
from bedmodel.verbs.terminal import Progress, verdict


def run(arguments: argparse.Namespace) -> int:
    """Write the report; 0 when all checks passed, 1 when one failed."""
    sheet = asked_layout(arguments).sheet
    workshop = asked_workshop(arguments.shop, arguments.rack)
    say = Progress()
    say("loading the solid modeller")
    kernel.load()
    from bedmodel.assembly import make_bed
    from bedmodel.checks.run import run_checks
    from bedmodel.exports.report.gather import gather
    from bedmodel.exports.report.page import report_html
    from bedmodel.exports.report.put import put_report
    from bedmodel.exports.working import Working

    say("making the parts")
    bed = make_bed(sheet)
    working = Working(bed, workshop, say)
    working.begin_picture()
    say("checking that they fit")
    results = run_checks(bed)
    path = put_report(
        bed,
        Path(arguments.out),
        lambda files: report_html(gather(working, results, files)),
    )
    say.done()
    passed = all(result.passed for result in results)
    size = path.stat().st_size
    if arguments.json:
        record = {"report": str(path), "bytes": size, "passed": passed, "pieces": len(bed.pieces)}
        print(json.dumps(record, indent=1))
    else:
        from bedmodel.verbs.check import caution_lines, summary

        for line in caution_lines(results):
            print(line)
        print(f"checks: {summary(results)} ({verdict(passed)})")
        print(f"written to {path} ({size / 1e6:.1f} MB); open it in a browser, no network needed")
    return 0 if passed else 1
