"""``bedmodel boards``: which part comes out of which board on the rack."""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.terminal import Progress, table

if TYPE_CHECKING:
    from bedmodel.spec import Sheet
    from bedmodel.stock.plan import ClassPlan, CutBoard, Plan


def run(arguments: argparse.Namespace) -> int:
    """Plan the rack and print the plan; 1 when parts have no board.

    Raises InputError for a bad sheet, shop or rack.
    """
    from bedmodel.pieces import make_pieces
    from bedmodel.sheets import shared_folder
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.cut_list import cut_list
    from bedmodel.stock.plan_record import plan_record
    from bedmodel.stock.rack import read_rack
    from bedmodel.stock.sawing import plan_for_shop

    layout = asked_layout(arguments)
    shop = load_profile(arguments.shop)
    rack = Path(arguments.rack) if arguments.rack else shared_folder() / "boards.csv"
    boards = read_rack(rack)
    say = Progress()
    say("planning the boards")
    cuts = cut_list(make_pieces(layout), shop, layout.sheet.design.unit)
    plan = plan_for_shop(boards, cuts, shop, arguments.by)
    say.done()
    if arguments.json:
        print(json.dumps(plan_record(plan), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(_text(plan, layout.sheet, rack.name))
    return 0 if plan.feasible else 1


def _text(plan: Plan, sheet: Sheet, rack: str) -> str:
    from bedmodel.stock.plan_record import missing_lines

    rows = [_row(each, cut, sheet) for each in plan.classes for cut in each.boards]
    heads = ["board", "lumber", "size", "bd ft", "cuts", "parts, from the left end", "off-cuts"]
    what = "bd ft" if plan.objective == "wood" else "cost"
    used = f"{what} of the boards used: {plan.used:.2f}"
    proof = f"; proven that no plan of such cuts takes less than {plan.bound:.2f}"
    gap = "" if math.isinf(plan.gap) else f" (gap {plan.gap:.2%})"
    return "\n".join(
        [
            f"{sheet.design.title}: boards of {rack}, kerf {sheet.show(plan.kerf)}",
            "",
            table(rows, heads, "   rr"),
            "",
            used + (proof + gap if plan.bound > 0 else ""),
            *missing_lines(plan),
        ]
    )


def _row(each: ClassPlan, cut: CutBoard, sheet: Sheet) -> list[str]:
    order = sorted(cut.placed, key=lambda p: (p.place.x, p.place.y))
    names: dict[str, int] = {}
    for placed in order:
        names[placed.name] = names.get(placed.name, 0) + 1
    off = ", ".join(f"{sheet.show(r.length)} x {sheet.show(r.width)}" for r in cut.offcuts[:3])
    return [
        cut.board.name,
        f"{each.species} {each.quarters_count}/4",
        f"{sheet.show(cut.board.length)} x {sheet.show(cut.board.width)}",
        f"{cut.board.board_feet:.2f}",
        str(len(cut.cuts)),
        ", ".join(f"{count} {name}" for name, count in names.items()),
        off,
    ]
