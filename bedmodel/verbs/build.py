"""``bedmodel build``: make one size, or all of them, and say what was made."""

from __future__ import annotations

import argparse
import json
import os
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path

from bedmodel import kernel
from bedmodel.build_groups import groups_of
from bedmodel.errors import BedmodelError, InputError
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.spec import Sheet
from bedmodel.tables import mattress_sizes
from bedmodel.verbs.asked import asked_layout, asked_workshop
from bedmodel.verbs.terminal import Progress, table, verdict

CAUTION = (
    "A design aid, not a certificate; adult low beds only; local codes decide. "
    "Check a template's size before any cut."
)


@dataclass(frozen=True)
class Outcome:
    """What came of one size, small enough to pass between processes."""

    size: str
    folder: str
    overall: str
    pieces: int
    kinds: int
    files: int
    mass_kg: float
    passed: bool
    seconds: float
    problem: str = ""
    exit_code: int = 0


def run(arguments: argparse.Namespace) -> int:
    """Build; 0 when all checks passed, 1 when one failed."""
    if arguments.size == "all":
        return _run_all(arguments)
    start = time.perf_counter()
    only = groups_of(arguments.only)
    sheet = asked_layout(arguments).sheet
    workshop = asked_workshop(arguments.shop, arguments.rack)
    say = Progress()
    say("loading the solid modeller")
    kernel.load()
    from bedmodel.build import build

    built = build(sheet, Path(arguments.out), say, workshop, only)
    say.done()
    results = built.results
    outcome = _outcome(sheet, built, time.perf_counter() - start)
    if arguments.json:
        print(json.dumps(asdict(outcome), indent=1))
    else:
        from bedmodel.verbs.check import caution_lines, check_table, summary

        print(_account(sheet, outcome))
        if not built.passed:
            print(check_table([result for result in results if not result.passed]))
        for line in caution_lines([result for result in results if result.passed]):
            print(line)
        print(f"checks: {summary(results)} ({verdict(built.passed)})")
        print(f"took {outcome.seconds:.1f} s")
        print(CAUTION)
    return 0 if built.passed else 1


def _outcome(sheet: Sheet, built: object, seconds: float) -> Outcome:
    from bedmodel.build import Built

    assert isinstance(built, Built)
    overall = " x ".join(sheet.show(side) for side in built.bed.layout.overall)
    return Outcome(
        size=_size_word(sheet),
        folder=str(built.folder),
        overall=overall,
        pieces=len(built.bed.pieces),
        kinds=len(built.bed.kinds),
        files=built.files,
        mass_kg=round(built.bed.total_mass_kg, 2),
        passed=built.passed,
        seconds=round(seconds, 3),
    )


def _size_word(sheet: Sheet) -> str:
    own = sheet.mattress.width is not None or sheet.mattress.length is not None
    return "own" if own else sheet.mattress.size


def support_words(layout: Layout) -> str:
    """What the mattress lies on, with a word before it in the column of the account."""
    show, row = layout.sheet.show, layout.slats
    if layout.deck is not None:
        heaviest = max(layout.deck.mass_kg(place) for place in layout.deck.panels)
        many, of = len(layout.deck.panels) * layout.rows, layout.deck.plywood.label
        return (
            f"deck      {many} panels of {of} {show(layout.deck.thickness)}, "
            f"the heaviest {heaviest:.1f} kg"
        )
    if layout.sheet.support.kind == "box_spring":
        both = f"box and mattress together {show(layout.mattress.thickness)}"
        under = f"on {row.count} bearers" if layout.has_slats else "on the runners"
        return f"box       spring {under}; {both}"
    rows = "" if layout.rows == 1 else "in two rows, "
    tapes = "" if layout.webbing is None else ", on webbing tapes"
    return (
        f"slats     {row.count * layout.rows}, {rows}{show(row.gap)} apart, "
        f"{show(layout.slat_length)} long{tapes}"
    )


def _account(sheet: Sheet, outcome: Outcome) -> str:
    layout = lay_out(sheet)
    m = layout.mattress
    centre = layout.centre_rail
    feet = f"a centre rail on {len(centre.feet)} feet" if centre else "no centre rail"
    if centre and not centre.feet:
        feet = f"a centre beam {sheet.show(centre.height)} high, without feet"
    lines = [
        f"{sheet.design.title} ({outcome.size})",
        f"  mattress  {sheet.show(m.width)} x {sheet.show(m.length)} x {sheet.show(m.thickness)}",
        f"  bed       {outcome.overall} (width x length x height)",
        f"  platform  {sheet.show(layout.platform)} above the floor, mattress top "
        f"{sheet.show(layout.platform + m.thickness)}",
        f"  {support_words(layout)}; {feet}",
        f"  rails     {_rails(layout)}",
        f"  parts     {outcome.pieces} pieces of {outcome.kinds} kinds, {outcome.mass_kg:.1f} kg",
        f"  written   {outcome.files} files in {outcome.folder}",
    ]
    told = {
        "model/bed.step": "for any CAD viewer",
        "templates": "for the router round the legs",
        "plan.pdf": "the plan book",
        "drawings/drawings.pdf": "the drawings",
        "report.html": "for a browser: 3D view, checks, lists",
    }
    for name, what in told.items():
        path = Path(outcome.folder) / name
        if path.exists():
            lines.append(f"            {path}  {what}")
    return "\n".join(lines)


def _rails(layout: Layout) -> str:
    plan = layout.fastener
    if plan is None:
        return "butt on the legs; their fastener is yours to choose"
    show = layout.sheet.show
    kind = plan.kind.replace("_", " ")
    return f"hang by {kind}, {plan.row.name}, their middle {show(plan.height)} above the floor"


def _run_all(arguments: argparse.Namespace) -> int:
    """Every tabled size, over all cores; one size that fails does not stop the others."""
    if arguments.mattress is not None:
        raise InputError("--mattress", arguments.mattress, "does not go with --size all")
    only = groups_of(arguments.only)
    load_sheet(arguments.sheet, changes=arguments.changes)  # refuse a bad sheet once, not per size
    asked_workshop(arguments.shop, arguments.rack)
    kernel.load()
    start = time.perf_counter()
    say = Progress()
    jobs = [
        Job(
            arguments.sheet,
            size,
            tuple(arguments.changes),
            arguments.out,
            arguments.shop,
            arguments.rack,
            only,
        )
        for size in mattress_sizes()
    ]
    outcomes = []
    with ProcessPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        for outcome in pool.map(_build_one, jobs):
            outcomes.append(outcome)
            say(f"{len(outcomes)} of {len(jobs)} sizes: {outcome.size}")
    say.done()
    seconds = time.perf_counter() - start
    if arguments.json:
        print(json.dumps([asdict(outcome) for outcome in outcomes], indent=1))
    else:
        print(_all_table(outcomes))
        made = sum(1 for outcome in outcomes if not outcome.problem)
        print(f"\n{made} of {len(outcomes)} sizes made in {arguments.out}, took {seconds:.1f} s")
    return max(_code(outcome) for outcome in outcomes)


def _code(outcome: Outcome) -> int:
    return outcome.exit_code or (0 if outcome.passed else 1)


@dataclass(frozen=True)
class Job:
    """One size to build in a process of its own."""

    sheet: str | None
    size: str
    changes: tuple[str, ...]
    out: str
    shop: str | None
    rack: str | None
    only: frozenset[str]


def _build_one(job: Job) -> Outcome:
    from bedmodel.build import build

    start = time.perf_counter()
    try:
        sheet = load_sheet(job.sheet, size=job.size, changes=job.changes)
        workshop = asked_workshop(job.shop, job.rack)
        built = build(sheet, Path(job.out), workshop=workshop, only=job.only)
        return _outcome(sheet, built, time.perf_counter() - start)
    except BedmodelError as error:
        return Outcome(job.size, "", "", 0, 0, 0, 0.0, False, 0.0, str(error), error.exit_code)


def _all_table(outcomes: list[Outcome]) -> str:
    rows = [
        [o.size, o.problem, "", "", "not made"]
        if o.problem
        else [o.size, o.overall, str(o.pieces), f"{o.mass_kg:.1f} kg", verdict(o.passed)]
        for o in outcomes
    ]
    headings = ["size", "bed, width x length x height", "pieces", "mass", "checks"]
    return table(rows, headings, "  rr")
