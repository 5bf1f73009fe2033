"""Benchmark of the leg nest: both sides measured in the one run. Not part of the tests.

    python3 scripts/environment.py --dev tests/bench/nest.py [seconds]

The four legs of two example beds, queen size, on planks of a few widths: our nest and its
process time against spyrrow (pip install spyrrow; a strip packer, in single steps of half
a degree, given each choice of turned-over legs for the seconds said, 60 when none are), and
the proven least length of a nest without tilts.
"""

from __future__ import annotations

import sys
import time
from itertools import product
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(REPOSITORY))

from bedmodel.pieces import make_pieces  # noqa: E402
from bedmodel.sheets import load_sheet  # noqa: E402
from bedmodel.skeleton import lay_out  # noqa: E402
from bedmodel.stock.nest.parts import leg_parts  # noqa: E402
from bedmodel.stock.nest.plan import Nesting, NestPart  # noqa: E402
from bedmodel.stock.nest.planks import PROVEN, nest_on_width  # noqa: E402
from bedmodel.stock.nest.polygons import outer_polygon, turned_over  # noqa: E402
from tests.nest_checker import plank_problems  # noqa: E402

WIDTHS = (6.0, 7.25, 9.25, 11.0)
NESTING = Nesting(gap=6.35, margin=3.175, grain_deg=5.0, blank=2.4, kerf=1.5)


def by_spyrrow(parts: tuple[NestPart, ...], width: float, seconds: int) -> float:
    """The shortest length over all choices of legs turned over."""
    import spyrrow

    angles = [whole + step / 2 for whole in (0, 180) for step in range(-10, 11)]
    kinds: dict[object, list[NestPart]] = {}
    for part in parts:
        kinds.setdefault(part.outline.canonical(), []).append(part)
    groups = list(kinds.values())
    choices = [c for c in product(*(range(len(g) + 1) for g in groups)) if 2 * sum(c) <= len(parts)]
    best = float("inf")
    apart = NESTING.gap - NESTING.margin
    for choice in choices:
        items = []
        for number, (group, over) in enumerate(zip(groups, choice, strict=True)):
            plain = outer_polygon(group[0].outline, 0.25)
            for name, polygon, count in (
                ("plain", plain, len(group) - over),
                ("over", turned_over(plain), over),
            ):
                if count:
                    items.append(spyrrow.Item(f"{number}{name}", list(polygon), count, angles))
        strip = spyrrow.StripPackingInstance("legs", width + 2 * apart, items)
        config = spyrrow.StripPackingConfig(
            total_computation_time=max(seconds // len(choices), 1),
            seed=1,
            num_workers=1,
            min_items_separation=NESTING.gap,
        )
        best = min(best, strip.solve(config).width - 2 * apart)
    return best


def main(seconds: int) -> None:
    print("bed, width in: ours mm (process s), spyrrow mm (wall s), ours over it, proven straight")
    for name in ("campion", "sorrel"):
        parts = leg_parts(make_pieces(lay_out(load_sheet(name, size="us-queen"))))
        for inches in WIDTHS:
            width = inches * 25.4
            start = time.process_time()
            nest = nest_on_width(parts, width, NESTING)
            ours = time.process_time() - start
            assert plank_problems(nest, parts, NESTING) == []
            start = time.process_time()
            proof = nest_on_width(parts, width, NESTING, PROVEN).proofs[-1]
            proving = time.process_time() - start
            try:
                other = by_spyrrow(parts, width, seconds)
            except ImportError:
                other = float("nan")
            print(
                f"{name} {inches:g}: {nest.length_used:.1f} ({ours:.2f}), {other:.1f} ({seconds}), "
                f"{100 * (nest.length_used / other - 1):+.2f} %, {proof.length:.1f} "
                f"{'closed' if proof.closed else 'open'} ({proving:.1f})",
                flush=True,
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
