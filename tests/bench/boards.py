"""Benchmark of the board plan: time to the first plan, plan, proven bound, gap, verdict.

Times are of the processor, so that a busy machine tells the same; the planner uses one core.

    python3 scripts/environment.py --dev tests/bench/boards.py          all
    python3 scripts/environment.py --dev tests/bench/boards.py 0 1      some made-up racks

First the example rack, then made-up racks of 28 boards, each with 1.3 defects in 10 ft and
a bed of 44 parts and a glued-up panel: the same for the same seed. Racks that lack a wide
board or two cannot give all parts; that is told, and its classes are not in the gap. Two
published sets of equal boards, without defects or kerf, tell how far from the best known it is.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Sequence
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(REPOSITORY))

from bedmodel.stock.boards import Board, Defect  # noqa: E402
from bedmodel.stock.demand import Demand, PanelDemand, PartDemand  # noqa: E402
from bedmodel.stock.plan import Plan  # noqa: E402
from bedmodel.stock.planner import FULL, QUICK, Effort, Sawing, plan_boards  # noqa: E402
from bedmodel.stock.rack import read_rack  # noqa: E402
from tests.guillotine_sets import NO_KERF, SETS, problem  # noqa: E402
from tests.plan_checker import problems  # noqa: E402
from tests.test_board_plan import example_demands  # noqa: E402

INCH = 25.4
SAW = Sawing(kerf=INCH / 8, rule=INCH / 8, edge_loss=INCH / 8)
BOARDS = {4: 14, 5: 8, 8: 6}  # of each thickness class
DEFECTS_PER_FOOT = 0.13


def made_up_rack(seed: int) -> list[Board]:
    """Boards 5 to 11 in wide and 8, 10 or 12 ft long, 2 in of check at each end."""
    draw = random.Random(seed)
    rack = []
    for quarters, count in BOARDS.items():
        for number in range(1, count + 1):
            length, width = draw.choice((96, 120, 144)), draw.randrange(5 * 8, 11 * 8 + 1) / 8
            defects = []
            for _ in range(length // 12):
                if draw.random() < DEFECTS_PER_FOOT:
                    x, y = draw.uniform(2, length - 5), draw.uniform(0, width - 1.5)
                    long, wide = draw.uniform(1, 3), draw.uniform(0.5, 1.5)
                    defects.append(Defect(x * INCH, (x + long) * INCH, y * INCH, (y + wide) * INCH))
            rack.append(
                Board(
                    f"{quarters}-{number}",
                    quarters * INCH / 4,
                    quarters,
                    width * INCH,
                    length * INCH,
                    2 * INCH,
                    2 * INCH,
                    tuple(defects),
                )
            )
    return rack


def made_up_bed() -> list[Demand]:
    """Parts of a bed, finished sizes in inches; rough 1 in longer and 1/4 in wider."""
    sizes = (
        ("slat", 18, 60.5, 2.5, 4),
        ("runner", 2, 80, 1.5, 4),
        ("cap", 1, 62, 3, 4),
        ("spacer", 5, 4, 2.5, 4),
        ("side_rail", 2, 81, 7.5, 5),
        ("cross_rail", 4, 61, 5.5, 5),
        ("centre_rail", 1, 80, 3, 8),
        ("centre_leg", 3, 11, 2, 8),
        ("block", 4, 6, 2, 8),
        ("head_leg", 2, 37, 3.5, 8),
        ("foot_leg", 2, 16, 3.5, 8),
    )
    parts = [
        PartDemand(name, count, (length + 1) * INCH, (width + 0.25) * INCH, quarters)
        for name, count, length, width, quarters in sizes
    ]
    panel = PanelDemand("panel", 1, 61.5 * INCH, 18 * INCH, 4, 2.5 * INCH, 8 * INCH, INCH / 8)
    return [*parts, panel]


def report(name: str, rack: Sequence[Board], demands: Sequence[Demand], sawing: Sawing) -> None:
    start = time.process_time()
    first = plan_boards(rack, demands, sawing, effort=QUICK)
    quick = time.process_time() - start
    start = time.process_time()
    best = plan_boards(rack, demands, sawing)
    full = time.process_time() - start
    faults = [*problems(first, rack, demands, sawing), *problems(best, rack, demands, sawing)]
    print(
        f"{name}: first {first.used:.2f} bf in {quick:.2f} s; plan {_used(best):.2f} bf, "
        f"bound {best.bound:.2f} bf, gap {best.gap:.2%} in {full:.2f} s; "
        f"checker: {len(faults)} faults{_missing(best)}",
        flush=True,
    )


def _used(plan: Plan) -> float:
    return sum(each.used for each in plan.classes if not each.missing)


def _missing(plan: Plan) -> str:
    said = [
        f"{each.quarters_count}/4 lacks {m.count} {m.name}"
        f"{', proven' if each.impossible else ', not proven'}"
        for each in plan.classes
        for m in each.missing
    ]
    return f"; {'; '.join(said)}" if said else ""


def published() -> None:
    """Sets with known least numbers of boards, with the usual budget and a larger one."""
    for name, (_, least) in SETS.items():
        rack, parts = problem(name, least + 4)
        for effort in (FULL, Effort(30_000_000, 2_000)):
            start = time.process_time()
            plan = plan_boards(rack, parts, NO_KERF, effort=effort)
            seconds = time.process_time() - start
            faults = problems(plan, rack, parts, NO_KERF)
            boards = sum(len(group.boards) for group in plan.classes)
            print(
                f"{name}, {effort.steps_count} steps: {boards} boards, published {least}, bound "
                f"{plan.bound / rack[0].board_feet:.2f} in {seconds:.2f} s; checker: "
                f"{len(faults)} faults",
                flush=True,
            )


def main(seeds: Sequence[str]) -> None:
    if not seeds:
        rack = read_rack(REPOSITORY / "shared" / "boards.csv")
        for unit, rule in (("1/16 in", INCH / 16), ("1 mm", 1.0)):
            sawing = Sawing(kerf=INCH / 8, rule=rule, edge_loss=INCH / 8)
            report(f"example rack, rule of {unit}", rack, example_demands(), sawing)
        published()
    for seed in map(int, seeds or range(10)):
        report(f"made-up rack {seed}", made_up_rack(seed), made_up_bed(), SAW)


if __name__ == "__main__":
    main(sys.argv[1:])
