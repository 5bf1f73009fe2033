"""Benchmarks: each prints both sides, measured in the one run. Not part of the tests.

    python3 scripts/environment.py --dev tests/bench/bench.py       all
    python3 scripts/environment.py --dev tests/bench/bench.py a c   some

a  `build` of the queen against a script that only imports cadquery and writes the
   same finished compound as STEP
b  the overlap check over all pairs against a plain loop of kernel booleans
c  `bedmodel sizes` against `python3 -c "import pydantic"`
d  all tabled sizes in one run: cost of each against a single cold run
e  making and checking the queen, of the processor's time after import, for each way to
   hang the side rails
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(REPOSITORY))

FLOOR = """
import sys
import cadquery as cq
compound = cq.Shape.importBrep(sys.argv[1])
cq.exporters.export(cq.Workplane(compound), sys.argv[2])
"""


def seconds_of(command: Sequence[str], runs: int) -> float:
    """Median wall time of a command in a fresh process (s), after one to warm the disk."""
    times = []
    environment = {**os.environ, "PYTHONPATH": str(REPOSITORY)}
    for _ in range(runs + 1):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def build_against_floor(scratch: Path) -> None:
    import cadquery as cq

    from bedmodel.assembly import make_bed
    from bedmodel.sheets import load_sheet

    bed = make_bed(load_sheet("campion", size="us-queen"))
    brep = scratch / "bed.brep"
    cq.Compound.makeCompound([bed.solid(p) for p in bed.pieces]).exportBrep(str(brep))
    floor = seconds_of([sys.executable, "-c", FLOOR, str(brep), str(scratch / "floor.step")], 5)
    command = [sys.executable, "-m", "bedmodel", "build", "campion", "--size", "us-queen"]
    command += ["--only", "quick"]
    build = seconds_of([*command, "--out", str(scratch / "out")], 5)
    report("a", "build, queen", build, "import and STEP only", floor, "at most 2.5 x")


def overlap_against_plain_loop(scratch: Path) -> None:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    from bedmodel.assembly import make_bed
    from bedmodel.checks.overlap import TOUCH_VOLUME, check_overlap
    from bedmodel.checks.probe import Probe
    from bedmodel.sheets import load_sheet
    from bedmodel.solids import volume_of

    bed = make_bed(load_sheet("campion", size="us-queen"))
    # One part moved into its neighbours, so that there is a verdict to agree on.
    slat = bed.piece("slat_05")
    bed = bed.with_piece("slat_05", placement=slat.placement.moved((0.0, 0.0, -1.0)))
    start = time.perf_counter()
    (result,) = check_overlap(Probe(bed))
    ours = time.perf_counter() - start
    placed = [bed.solid(piece) for piece in bed.pieces]
    names = [piece.name for piece in bed.pieces]
    start, plain = time.perf_counter(), set()
    for i, one in enumerate(placed):
        for j in range(i + 1, len(placed)):
            common = BRepAlgoAPI_Common(one.wrapped, placed[j].wrapped)
            if volume_of(common.Shape()) > TOUCH_VOLUME:
                plain.add((names[i], names[j]))
    loop = time.perf_counter() - start
    same = {finding.parts for finding in result.findings} == plain
    print(
        f"b  verdicts {'the same' if same else 'DIFFER'}: {len(plain)} of {result.tested} overlap"
    )
    report("b", "plain loop of booleans", loop, "overlap check", ours, "at least 10 x")


def sizes_against_pydantic(scratch: Path) -> None:
    sizes = seconds_of([sys.executable, "-m", "bedmodel", "sizes"], 21)
    floor = seconds_of([sys.executable, "-c", "import pydantic"], 21)
    report("c", "bedmodel sizes", sizes, "import pydantic", floor, "at most 1.5 x")


def all_sizes_against_one(scratch: Path) -> None:
    from bedmodel.tables import mattress_sizes

    command = [sys.executable, "-m", "bedmodel", "build", "campion", "--only", "quick"]
    command += ["--out", str(scratch / "all")]
    one = seconds_of([*command, "--size", "us-queen"], 3)
    start = time.perf_counter()
    subprocess.run(
        [*command, "--size", "all"],
        check=True,
        stdout=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": str(REPOSITORY)},
    )
    every = time.perf_counter() - start
    count = len(mattress_sizes())
    marginal = (every - one) / (count - 1)
    print(f"d  {count} sizes in {every:.2f} s on {os.cpu_count()} cores")
    report("d", "each further size", marginal, "one cold run", one, "at most 0.5 x")


CHECKED = """
import sys, time
import bedmodel.checks.run, cadquery
from bedmodel.assembly import make_bed
from bedmodel.sheets import load_sheet
start = time.process_time()
bed = make_bed(load_sheet("campion", size="us-queen", changes=sys.argv[1:]))
bedmodel.checks.run.run_checks(bed)
print(time.process_time() - start)
"""


def making_and_checking(scratch: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(REPOSITORY)}
    for rails in ("hook_plates", "brackets", "bolts"):
        command = [sys.executable, "-c", CHECKED, f"side_rail.joint={rails}"]
        times = [
            float(subprocess.run(command, check=True, capture_output=True, env=environment).stdout)
            for _ in range(3)
        ]
        print(f"e  {rails}: made and checked in {statistics.median(times):.2f} s (wanted 1.5 s)")


def report(letter: str, one: str, a: float, other: str, b: float, wanted: str) -> None:
    print(f"{letter}  {one} {a:.3f} s, {other} {b:.3f} s: {a / b:.2f} x (wanted {wanted})")


BENCHES: dict[str, Callable[[Path], None]] = {
    "a": build_against_floor,
    "b": overlap_against_plain_loop,
    "c": sizes_against_pydantic,
    "d": all_sizes_against_one,
    "e": making_and_checking,
}


def main(letters: Sequence[str]) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        for letter in letters or BENCHES:
            BENCHES[letter](Path(scratch))


if __name__ == "__main__":
    main(sys.argv[1:])
