"""``bedmodel sweep``: vary parameters, and see what comes of it in a table and in plots."""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.errors import InputError
from bedmodel.verbs.terminal import Progress, paragraph, table

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from bedmodel.sweeping.files import Sweep
    from bedmodel.sweeping.ranges import Axis
    from bedmodel.sweeping.run import Base

MOST_PRINTED = 60  # points; of more only the front is printed
MOST_REFUSALS = 8
MOST_JOBS = 256


def run(arguments: argparse.Namespace) -> int:
    """Sweep; 0 when it is done, whatever the beds are like.

    Raises InputError for bad input, WriteError for what cannot be written.
    """
    from bedmodel.bed_figures import size_word
    from bedmodel.sheets import as_table, load_sheet
    from bedmodel.shop_profile import load_profile
    from bedmodel.sweeping.figures_of_rows import read_plot, usual_plots
    from bedmodel.sweeping.files import Sweep, sweep_record, write_sweep
    from bedmodel.sweeping.ranges import points, read_axis
    from bedmodel.sweeping.run import Base, Journal, fronts, rows_of, sweep_key

    if arguments.jobs is not None and not 1 <= arguments.jobs <= MOST_JOBS:
        raise InputError("--jobs", arguments.jobs, f"must be a whole number of 1 to {MOST_JOBS}")
    several = arguments.size is not None and ("," in arguments.size or arguments.size == "all")
    size = None if several else arguments.size
    changes = tuple(arguments.changes)
    sheet = load_sheet(arguments.sheet, size=size, mattress=arguments.mattress, changes=changes)
    axes: list[Axis] = [read_axis(text, sheet.design.unit) for text in arguments.vary]
    if several:
        axes.append(_sizes(arguments.size))
    if not axes:
        raise InputError("--vary", None, "must be given", "as --vary slat.thickness=15:25:2.5")
    names = [axis.name for axis in axes]
    if len(set(names)) < len(names):
        raise InputError("--vary", names[-1], "is varied twice", "give its values in one --vary")
    shop = load_profile(arguments.shop)
    base = Base(arguments.sheet, size, arguments.mattress, changes, shop)
    asked = [read_plot(text, axes) for text in arguments.plot]
    found = points(axes)
    _check_values(base, axes)
    out = None if arguments.out is None else Path(arguments.out)
    name = f"sweep-{sheet.design.name}"
    held = None if out is None else out / f"{name}.partial.jsonl"
    journal = Journal(held, sweep_key(base, axes, as_table(sheet)))
    jobs = arguments.jobs or os.cpu_count() or 1
    say = Progress()
    try:
        rows = rows_of(base, axes, found, journal, jobs, _account(say, len(found)))
    except KeyboardInterrupt:
        say.done()
        kept = "nothing was kept, for want of --out"
        if held is not None:
            kept = f"the rows done so far are kept in {held}; run the same command to go on"
        print(f"bedmodel: stopped; {kept}", file=sys.stderr, flush=True)
        return 130
    priced = any(row.figures.get("cost") is not None for row in rows)
    by = ("cost" if priced else "mass", "sag")
    told = "in several sizes" if "mattress.size" in names else size_word(sheet)
    best = tuple(tuple(each) for each in fronts(axes, rows, by))
    sweep = Sweep(sheet, told, tuple(axes), tuple(rows), by, best)
    folder = None
    if out is not None:
        say("drawing the plots")
        folder = write_sweep(sweep, asked or usual_plots(axes, rows), out)
        journal.remove()
    say.done()
    if arguments.json:
        print(json.dumps(sweep_record(sweep), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(sweep_text(sweep))
        if folder is not None:
            print(f"\nwritten to {folder}: sweep.html, sweep.csv, sweep.json, plots.pdf, *.svg")
        elif asked:
            print("\nplots are drawn with --out DIR")
    return 0


def _sizes(words: str) -> Axis:
    """Several mattress sizes, as a parameter that is varied. Raises InputError."""
    from bedmodel.sweeping.ranges import Axis, Value
    from bedmodel.tables import mattress_size, mattress_sizes

    names = list(mattress_sizes())
    if words != "all":
        names = [mattress_size(word.strip(), "--size").name for word in words.split(",")]
    return Axis("mattress.size", "text", "", tuple(Value(n, n, None) for n in names))


def _check_values(base: Base, axes: Sequence[Axis]) -> None:
    """Refuse a parameter none of whose values a sheet may have, before any work."""
    from bedmodel.sheets import load_sheet

    for axis in axes:
        first: InputError | None = None
        for value in axis.values:
            try:
                changes = (*base.changes, f"{axis.name}={value.text}")
                load_sheet(base.sheet, size=base.size, mattress=base.mattress, changes=changes)
                break
            except InputError as refusal:
                first = first or refusal
        else:
            assert first is not None
            raise first


def _account(say: Progress, total: int) -> Callable[[int, int], None]:
    start = time.perf_counter()

    def told(done: int, kept: int) -> None:
        made = done - kept
        if not made:
            say(f"{total} points" + (f", {kept} of them done before" if kept else ""))
            return
        left = (time.perf_counter() - start) / made * (total - done)
        say(f"{done} of {total} points, about {left:.0f} s left")

    return told


def _fitted_table(rows: list[list[str]], heads: list[str], sweep: Sweep) -> str:
    """The table, without some figures where the terminal is too narrow for all."""
    kept = list(range(len(heads)))
    room = shutil.get_terminal_size().columns if sys.stdout.isatty() else 10_000
    for name in ("stress", "part", "mass"):
        widths = [max(len(row[i]) for row in (heads, *rows)) for i in kept]
        if sum(widths) + 2 * (len(widths) - 1) > room:
            kept.remove(heads.index(name))
    words = {i for i, axis in enumerate(sweep.axes) if not axis.is_number}
    words |= {heads.index("part"), heads.index("checks")}
    right = "".join(" " if i in words else "r" for i in kept)
    return table([[row[i] for i in kept] for row in rows], [heads[i] for i in kept], right)


def sweep_text(sweep: Sweep) -> str:
    """All that is printed: every point of a small sweep, else those that none beats."""
    from bedmodel.sweeping.files import set_text, table_cells, table_heads

    laid = [i for i, row in enumerate(sweep.rows) if not row.refused]
    chosen = laid if len(laid) <= MOST_PRINTED else list(sweep.front)[:MOST_PRINTED]
    lines = [paragraph(f"{sweep.told.replace(' (hollow)', '').replace(' (ringed)', '')}.")]
    if chosen:
        rows = [table_cells(sweep, i) for i in chosen]
        lines += ["", _fitted_table(rows, table_heads(sweep), sweep)]
    if sweep.front:
        told = f"* none beats it in both {sweep.by[0]} and sag"
        if len(sweep.fronts) > 1:
            told += ", of its size"
        if len(chosen) < len(laid):
            told += f"; the other {len(laid) - len(chosen)} points are in the files of --out"
        lines += ["", paragraph(f"{told}. Reckoned without solids: build the one you choose.")]
    elif laid:
        lines += ["", "no point passes every check with its cost known"]
    if sweep.refused:
        lines += ["", "refused"]
        for i in sweep.refused[:MOST_REFUSALS]:
            lines.append(paragraph(f"{set_text(sweep, i)}: {sweep.rows[i].refused}", "  ", "    "))
        if len(sweep.refused) > MOST_REFUSALS:
            lines.append(f"  and {len(sweep.refused) - MOST_REFUSALS} more, in the files of --out")
    return "\n".join(lines)
