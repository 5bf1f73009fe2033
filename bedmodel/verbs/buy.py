"""``bedmodel buy``: what to ask the yard for, what it costs, and the same bed in other woods."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.terminal import table

if TYPE_CHECKING:
    from bedmodel.spec import Sheet
    from bedmodel.stock.buying import BuyingList


def run(arguments: argparse.Namespace) -> int:
    """Print the buying list. Raises InputError for a bad sheet or shop."""
    from bedmodel.pieces import make_pieces
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.buying import buying_list
    from bedmodel.stock.cut_list import cut_list
    from bedmodel.stock.papers import buy_csv, buy_record

    layout = asked_layout(arguments)
    sheet, shop = layout.sheet, load_profile(arguments.shop)
    buying = buying_list(
        cut_list(make_pieces(layout), shop, sheet.design.unit, layout),
        shop,
        sheet.wood.species,
        sheet.own_woods,
    )
    if arguments.json:
        print(json.dumps(buy_record(buying), indent=1, ensure_ascii=False, allow_nan=False))
    elif arguments.csv:
        print(buy_csv(buying, sheet.design.unit), end="")
    else:
        print(_text(buying, sheet, shop.buying.spare))
    return 0


def _text(buying: BuyingList, sheet: Sheet, spare: int) -> str:
    rows = [
        [
            row.species,
            row.class_name,
            f"{row.rough:.1f}",
            f"{row.gross:.1f}",
            sheet.show(row.least_width),
            sheet.show(row.least_length),
            ", ".join(f"{count} from {feet} ft" for feet, count in row.lengths[:4]),
            _money(row.cost),
        ]
        for row in buying.rows
    ]
    heads = [
        *("species", "class", "rough bd ft", "to buy", "least width", "least length"),
        *("longest part", "cost"),
    ]
    lines = [
        f"{buying.grade.label}: at least {float(buying.grade.share):.0%} clear cuttings; "
        f"{spare} % to spare. Ask for rough lumber of full thickness.",
        "",
        table(rows, heads, "  rrrr r"),
        "",
        f"in all {buying.gross:.1f} bd ft, cost {_money(buying.cost)}",
    ]
    for item in buying.rods:
        lines.append(
            f"dowel rod {sheet.show(item.width)}: {item.count} of {sheet.show(item.length)}"
        )
    lines += [f"hardware: {count} {name.replace('_', ' ')}" for name, count in buying.hardware]
    lines += [f"{each.what}: {each.count}, {each.sizes}" for each in buying.supplies]
    others = [[a.label, _money(a.cost), f"{a.mass_kg:.1f} kg"] for a in buying.alternatives]
    lines += ["", table(others, ["main species", "lumber", "bed without mattress"], " rr")]
    return "\n".join(lines)


def _money(cost: float | None) -> str:
    return "no price" if cost is None else f"{cost:.2f}"
