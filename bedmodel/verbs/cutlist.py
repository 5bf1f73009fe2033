"""``bedmodel cutlist``: every part with its finished and its rough size."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.terminal import sizes, table, wrapped

if TYPE_CHECKING:
    from bedmodel.stock.cut_list import CutList


def run(arguments: argparse.Namespace) -> int:
    """Print the cut list. Raises InputError for a bad sheet or shop."""
    from bedmodel.pieces import make_pieces
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.cut_list import cut_list
    from bedmodel.stock.papers import cut_csv, cut_record

    layout = asked_layout(arguments)
    unit = layout.sheet.design.unit
    cuts = cut_list(make_pieces(layout), load_profile(arguments.shop), unit, layout)

    def text(cuts: CutList) -> str:
        show = layout.sheet.show
        rows = []
        for item in cuts.items:
            size = sizes(show, item.length, item.width, item.thickness)
            rough = sizes(show, item.rough_length, item.rough_width)
            rows.append(
                [
                    item.stock_name,
                    item.species,
                    str(item.count),
                    item.name.replace("_", " "),
                    size,
                    rough if item.lumber else "",
                    f"{item.rough_board_feet:.2f}" if item.lumber else "",
                ]
            )
        heads = ["class", "species", "no.", "part", "finished", "rough", "bd ft"]
        lines = [table(rows, heads, "  r   r"), "", *_notes(cuts), ""]
        for (species, quarters), (net, rough_feet) in cuts.totals().items():
            lines.append(
                f"{species} {quarters}/4: {net:.2f} bd ft finished, {rough_feet:.2f} bd ft rough"
            )
        lines.append(f"finished wood: {sum(i.cubic_metres for i in cuts.items):.4f} m3")
        lines += [f"hardware: {count} {name.replace('_', ' ')}" for name, count in cuts.hardware]
        lines += [f"{each.what}: {each.count}, {each.sizes}" for each in cuts.supplies]
        return "\n".join(lines)

    if arguments.json:
        print(json.dumps(cut_record(cuts), indent=1, ensure_ascii=False, allow_nan=False))
    elif arguments.csv:
        print(cut_csv(cuts, unit), end="")
    else:
        print(text(cuts))
    return 0


def _notes(cuts: CutList) -> list[str]:
    """The notes below the table, parts of the same notes together."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for item in cuts.items:
        if item.notes:
            groups.setdefault(item.notes, []).append(item.name.replace("_", " "))
    return [wrapped(f"{', '.join(names)}: {'; '.join(notes)}") for notes, names in groups.items()]
