"""``bedmodel plan``: the plan book, one PDF that a maker can build the bed from."""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

from bedmodel import kernel
from bedmodel.sheets import folder_name
from bedmodel.verbs.asked import asked_layout, asked_workshop
from bedmodel.verbs.terminal import Progress


def run(arguments: argparse.Namespace) -> int:
    """Write the book; 0 when all checks passed, 1 when one failed (the book says so)."""
    start = time.perf_counter()
    sheet = asked_layout(arguments).sheet
    workshop = asked_workshop(arguments.shop, arguments.rack)
    from bedmodel.exports.paper.sheet import paper_named, usual_paper

    asked = arguments.paper
    paper = paper_named(asked) if asked else usual_paper(sheet.design.unit)
    say = Progress()
    say("loading the solid modeller")
    kernel.load()
    from bedmodel.assembly import make_bed
    from bedmodel.book.book import plan_pdf
    from bedmodel.book.gather import gathered
    from bedmodel.checks.run import run_checks
    from bedmodel.exports.publish import write_file
    from bedmodel.exports.working import Working

    say("making the parts")
    bed = make_bed(sheet)
    working = Working(bed, workshop, say)
    working.begin_picture()
    say("checking that they fit")
    results = run_checks(bed)
    passed = all(result.passed for result in results)
    contents, _ = gathered(working, results, paper)
    say("laying out the book")
    chosen = Path(arguments.out) / f"{folder_name(sheet)}-plan.pdf"
    data = plan_pdf(contents)
    write_file(chosen, data)
    say.done()
    seconds = time.perf_counter() - start
    if arguments.json:
        record = {"plan": str(chosen), "bytes": len(data), "passed": passed}
        print(json.dumps(record, indent=1))
    else:
        print(f"plan book: {chosen} ({len(data) / 1e6:.2f} MB)")
        print("checks: all passed" if passed else "checks: FAILED, do not build from this book")
        print(f"took {seconds:.1f} s")
    return 0 if passed else 1
