"""``bedmodel sizes``: the table of mattress sizes; with a sheet, the bed for each."""

from __future__ import annotations

import argparse
import json
from typing import Any

from bedmodel.tables import MattressSize, mattress_sizes
from bedmodel.verbs.terminal import table


def run(arguments: argparse.Namespace) -> int:
    """Print the sizes. Raises InputError for a sheet that cannot be read."""
    rows = [_row(size, arguments.sheet) for size in mattress_sizes().values()]
    if arguments.json:
        print(json.dumps(rows, indent=1))
        return 0
    print(_table(rows))
    print("\nAsk for one with --size NAME, or for your own with --mattress 1400x1900x220.")
    if any(row["status"] != "confirmed" for row in rows):
        print("A size marked ? is unconfirmed or disputed: measure the mattress before cutting.")
    return 0


def _row(size: MattressSize, sheet: str | None) -> dict[str, Any]:
    row: dict[str, Any] = {
        "name": size.name,
        "label": size.label,
        "also": list(size.aliases),
        "sold_as": size.origin,
        "width": size.width,
        "length": size.length,
        "status": size.status,
        "source": size.source,
        "note": size.note,
    }
    if sheet is not None:
        row["bed"] = _bed(sheet, size)
    return row


def _bed(sheet: str, size: MattressSize) -> dict[str, Any]:
    from bedmodel.errors import InputError
    from bedmodel.sheets import load_sheet
    from bedmodel.skeleton import lay_out

    loaded = load_sheet(sheet, size=size.name)
    try:
        layout = lay_out(loaded)
    except InputError as refusal:
        return {"refused": str(refusal)}
    width, length, height = layout.overall
    overall = (loaded.show(width), loaded.show(length), loaded.show(height))
    return {
        "width": round(width, 2),
        "length": round(length, 2),
        "height": round(height, 2),
        "shown": " x ".join(overall),
        "slats": layout.slats.count * layout.rows if layout.has_slats else 0,
    }


def _table(rows: list[dict[str, Any]]) -> str:
    with_bed = "bed" in rows[0]
    headings = ["name", "mattress", "sold as", "mm", ""]
    headings += ["bed, width x length x height", "slats"] if with_bed else ["also called"]
    lines = []
    for row in rows:
        line = [
            row["name"],
            row["label"],
            row["sold_as"],
            f"{row['width']:.0f} x {row['length']:.0f}",
            "" if row["status"] == "confirmed" else "?",
        ]
        if not with_bed:
            lines.append([*line, ", ".join(row["also"])])
        elif "refused" in row["bed"]:
            lines.append([*line, row["bed"]["refused"], ""])
        else:
            lines.append([*line, row["bed"]["shown"], str(row["bed"]["slats"])])
    return table(lines, headings)
