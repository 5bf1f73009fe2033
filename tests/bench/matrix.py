"""Make and check the solids of the whole matrix of joints, in every tabled mattress size.

    python3 scripts/environment.py --dev tests/bench/matrix.py          all
    python3 scripts/environment.py --dev tests/bench/matrix.py bolts    those named so

It tells each bed that is refused or does not fit, and at the end how many were made.
Strength is not asked: some of these joints are too weak for the widest beds.
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

from bedmodel.errors import InputError  # noqa: E402
from bedmodel.sheets import load_sheet  # noqa: E402
from bedmodel.tables import mattress_sizes  # noqa: E402
from tests.matrix import STRENGTH, Joining, joinings  # noqa: E402


def faults(joining: Joining) -> tuple[int, list[str], float]:
    """How many sizes were made, what is wrong with any, and the processor's time (s)."""
    from bedmodel.assembly import make_bed
    from bedmodel.checks.run import findings, run_checks

    start, told = time.process_time(), []
    for size in mattress_sizes():
        try:
            bed = make_bed(load_sheet(joining.sheet, size=size, changes=joining.changes))
            wrong = [
                f"{f.code.name} {', '.join(f.parts)}"
                for f in findings(run_checks(bed))
                if f.code < STRENGTH
            ]
        except InputError as refusal:
            wrong = [str(refusal)]
        told += [f"{joining} {size}: {fault}" for fault in wrong]
    return len(mattress_sizes()), told, time.process_time() - start


def main(words: Sequence[str]) -> int:
    asked = [j for j in joinings() if all(word in str(j) for word in words)]
    made, told, seconds = 0, [], 0.0
    # A fresh process for each few: the kernel gives memory back late.
    context = multiprocessing.get_context("spawn")
    with context.Pool(os.cpu_count(), maxtasksperchild=4) as pool:
        for count, wrong, spent in pool.imap_unordered(faults, asked):
            made, told, seconds = made + count, told + wrong, seconds + spent
            for fault in wrong:
                print(fault, flush=True)
    print(f"{made} beds of {len(asked)} joinings: {len(told)} faults, {seconds:.0f} s of processor")
    return 1 if told else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
