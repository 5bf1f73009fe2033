"""Cut list and buying list as CSV and JSON hold them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any

from bedmodel.stock.buying import BuyingList, BuyRow
from bedmodel.stock.cut_list import CutItem, CutList
from bedmodel.stock.supplies import Supply
from bedmodel.units import LengthUnit, format_length

CUT_COLUMNS = (
    *("part", "count", "species", "class", "length", "width", "thickness", "rough_pieces"),
    *("rough_length", "rough_width", "staves", "grain", "notes", "length_mm", "width_mm"),
    *("thickness_mm", "board_feet_net", "board_feet_rough"),
)
BUY_COLUMNS = (
    *("species", "class", "board_feet_net", "board_feet_rough", "board_feet_to_buy"),
    *("least_width", "least_length", "cost"),
)
GRAIN = "along the length"


def cut_csv(cuts: CutList, unit: LengthUnit) -> str:
    """The cut list as CSV, one line a row, sizes in the sheet's unit and in mm."""
    rows = []
    for item in cuts.items:
        rough = (format_length(s, unit) for s in (item.rough_length, item.rough_width))
        rows.append(
            [
                item.name,
                item.count,
                item.species,
                item.stock_name,
                *(format_length(s, unit) for s in (item.length, item.width, item.thickness)),
                item.rough_count,
                *rough,
                item.staves.count if item.staves else 1,
                GRAIN,
                "; ".join(item.notes),
                *(f"{s:.2f}" for s in (item.length, item.width, item.thickness)),
                f"{item.net_board_feet:.3f}",
                f"{item.rough_board_feet:.3f}",
            ]
        )
    rows += [[name, count, "", "bought"] + [""] * 14 for name, count in cuts.hardware]
    rows += [
        [s.what, s.count, "", "bought"] + [""] * 7 + [s.sizes] + [""] * 6 for s in cuts.supplies
    ]
    return _csv(CUT_COLUMNS, rows)


def cut_record(cuts: CutList) -> dict[str, Any]:
    """The cut list as JSON holds it: mm, board feet and cubic metres."""
    return {
        "parts": [_item_record(item) for item in cuts.items],
        "hardware": [{"name": name, "count": count} for name, count in cuts.hardware],
        "supplies": _supply_records(cuts.supplies),
        "totals": [
            {"species": species, "class": f"{quarters}/4", "net_bf": _r(net), "rough_bf": _r(rough)}
            for (species, quarters), (net, rough) in cuts.totals().items()
        ],
        "net_m3": round(sum(item.cubic_metres for item in cuts.items), 6),
    }


def _item_record(item: CutItem) -> dict[str, Any]:
    return {
        "name": item.name,
        "kinds": list(item.kinds),
        "pieces": list(item.pieces),
        "count": item.count,
        "species": item.species,
        "finished_mm": [_r(item.length), _r(item.width), _r(item.thickness)],
        "rough_mm": [_r(item.rough_length), _r(item.rough_width)],
        "rough_pieces": item.rough_count,
        "class": item.lumber.name if item.lumber else None,
        "layers": item.layers,
        "staves": None
        if item.staves is None
        else {"count": item.staves.count, "rough_width_mm": _r(item.staves.width)},
        "grain": GRAIN,
        "notes": list(item.notes),
        "net_bf": _r(item.net_board_feet),
        "rough_bf": _r(item.rough_board_feet),
    }


def buy_csv(buying: BuyingList, unit: LengthUnit) -> str:
    """The buying list as CSV."""
    rows = [
        [
            row.species,
            row.class_name,
            *(f"{feet:.2f}" for feet in (row.net, row.rough, row.gross)),
            format_length(row.least_width, unit),
            format_length(row.least_length, unit),
            "" if row.cost is None else f"{row.cost:.2f}",
        ]
        for row in buying.rows
    ]
    return _csv(BUY_COLUMNS, rows)


def buy_record(buying: BuyingList) -> dict[str, Any]:
    """The buying list as JSON holds it."""
    return {
        "grade": buying.grade.name,
        "clear_share": round(float(buying.grade.share), 6),
        "rows": [_buy_row(row) for row in buying.rows],
        "board_feet": _r(buying.gross),
        "cost": None if buying.cost is None else round(buying.cost, 2),
        "rods": [
            {
                "name": i.name,
                "count": i.count,
                "diameter_mm": _r(i.width),
                "length_mm": _r(i.length),
            }
            for i in buying.rods
        ],
        "hardware": [{"name": name, "count": count} for name, count in buying.hardware],
        "supplies": _supply_records(buying.supplies),
        "alternatives": [
            {
                "species": a.species,
                "cost": None if a.cost is None else round(a.cost, 2),
                "finished_mass_kg": round(a.mass_kg, 2),
            }
            for a in buying.alternatives
        ],
    }


def _supply_records(found: Sequence[Supply]) -> list[dict[str, Any]]:
    return [{"what": each.what, "count": each.count, "sizes": each.sizes} for each in found]


def _buy_row(row: BuyRow) -> dict[str, Any]:
    return {
        "species": row.species,
        "class": row.class_name,
        "net_bf": _r(row.net),
        "rough_bf": _r(row.rough),
        "buy_bf": _r(row.gross),
        "least_width_mm": _r(row.least_width),
        "least_length_mm": _r(row.least_length),
        "longest_parts_a_board": [{"feet": feet, "parts": count} for feet, count in row.lengths],
        "cost": None if row.cost is None else round(row.cost, 2),
    }


def _r(value: float) -> float:
    return round(value, 4) + 0.0


def _csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()
