"""Make and check every example sheet in every tabled mattress size, all checks, with solids.

    python3 scripts/environment.py --dev tests/bench/examples.py           all
    python3 scripts/environment.py --dev tests/bench/examples.py rowan     those named

It tells each bed that is refused or fails a check, and at the end how many were made.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import time
from collections.abc import Sequence
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(REPOSITORY))

from bedmodel.errors import BedmodelError  # noqa: E402
from bedmodel.sheets import example_sheets, load_sheet  # noqa: E402
from bedmodel.tables import mattress_sizes  # noqa: E402


def faults(name: str, size: str) -> tuple[list[str], float]:
    """What is wrong with one bed, and the processor's time it took (s)."""
    from bedmodel.assembly import make_bed
    from bedmodel.checks.run import findings, run_checks

    start = time.process_time()
    try:
        found = findings(run_checks(make_bed(load_sheet(name, size=size))))
        told = [f"{f.code.name} {', '.join(f.parts)}: {f.measured:g}" for f in found]
    except BedmodelError as refusal:
        told = [str(refusal)]
    return [f"{name} {size}: {fault}" for fault in told], time.process_time() - start


def main(words: Sequence[str]) -> int:
    names = [path.stem for path in example_sheets()]
    beds = [(n, size) for n in names if not words or n in words for size in mattress_sizes()]
    count, seconds = 0, 0.0
    # A fresh process for each few: the kernel gives memory back late.
    context = multiprocessing.get_context("spawn")
    with context.Pool(os.cpu_count(), maxtasksperchild=40) as pool:
        for told, spent in pool.starmap(faults, beds, chunksize=11):
            count, seconds = count + bool(told), seconds + spent
            for fault in told:
                print(fault, flush=True)
    print(f"{len(beds)} beds: {count} with faults, {seconds:.0f} s of processor")
    return 1 if count else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
