"""Benchmark of the reckoning: processor seconds, since other work may share the machine.

    python3 scripts/environment.py --dev tests/bench/reckoning.py

one bed, one load on its frame, and a sweep of sheets on one core
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

# Small matrices are quickest on one thread.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
REPOSITORY = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(REPOSITORY))
SHEETS = 60  # of a sweep; the thousand is worked out from it

from bedmodel.movement.parts import movement  # noqa: E402
from bedmodel.sheets import load_sheet  # noqa: E402
from bedmodel.skeleton import lay_out  # noqa: E402
from bedmodel.strength.advice import advise  # noqa: E402
from bedmodel.strength.answer import strength  # noqa: E402
from bedmodel.strength.bed_frame import frame_cases  # noqa: E402
from bedmodel.strength.loads import default_loads  # noqa: E402
from bedmodel.strength.timber import default_rules  # noqa: E402
from bedmodel.tables import mattress_sizes  # noqa: E402


def seconds(work: Callable[[], object], runs: int = 7) -> float:
    """Median processor time of some work (s), after one run to warm up."""
    times = []
    for _ in range(runs + 1):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times[1:])


def sweep() -> None:
    """Every size in turn, each with a rail of another depth, from sheet to answer."""
    sizes = list(mattress_sizes())
    for i in range(SHEETS):
        change = f"side_rail.width={6 + i % 5 / 8} in"
        layout = lay_out(load_sheet("campion", size=sizes[i % len(sizes)], changes=[change]))
        strength(layout)
        movement(layout)


def main() -> None:
    layout = lay_out(load_sheet("campion"))
    loads, rules = default_loads(), default_rules()

    def one_load() -> object:
        names = ("headboard push back",)
        return frame_cases(layout, loads, rules, names=names, classes={"usual": 8.0})

    def both() -> None:
        strength(layout)
        movement(layout)

    print(f"strength and movement of the queen  {seconds(both):.3f} s    wanted under 0.3 s")
    print(f"one load on its frame               {seconds(one_load):.4f} s   wanted under 0.05 s")
    print(f"all answers to a maker's questions  {seconds(lambda: advise(layout), 3):.3f} s")
    each = seconds(sweep, 1) / SHEETS
    told = f"{1000 * each / 2:.0f} s on two cores"
    print(f"each sheet of a sweep               {each:.3f} s    a thousand {told}, wanted 120 s")
    command = [sys.executable, "-m", "bedmodel", "advise", "campion"]
    command += ["--set", "centre_rail.height=3/4 in"]
    before = os.times()
    subprocess.run(command, cwd=REPOSITORY, stdout=subprocess.DEVNULL, check=True)
    after = os.times()
    spent = after.children_user - before.children_user
    spent += after.children_system - before.children_system
    print(f"`bedmodel advise`, from the shell    {spent:.2f} s     wanted about a second")


if __name__ == "__main__":
    main()
