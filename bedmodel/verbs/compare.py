"""``bedmodel compare``: sizes or sheets side by side, from figures that need no solid."""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.errors import InputError
from bedmodel.verbs.asked import asked_beds
from bedmodel.verbs.terminal import GAP, Progress, coloured

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bedmodel.exports.side_by_side import Column, Row
    from bedmodel.units import LengthUnit

WIDEST = 26  # letters of a column of words
NARROWEST = 18
IN_A_PIPE = 110  # columns, where there is no terminal
MOST = 60  # beds in one table


def run(arguments: argparse.Namespace) -> int:
    """Print the table; 0 when every bed passes what needs no solid, 1 when one does not.

    Raises InputError for a bad sheet, size or shop.
    """
    from bedmodel.bed_figures import bed_figures
    from bedmodel.exports.side_by_side import Column, records, write_compare
    from bedmodel.shop_profile import load_profile
    from bedmodel.skeleton import lay_out

    shop = load_profile(arguments.shop)
    beds = asked_beds(arguments.sheets, arguments.size, arguments.mattress, arguments.changes)
    if len(beds) > MOST:
        raise InputError("--size", len(beds), f"at most {MOST} beds side by side", "ask for fewer")
    say = Progress()
    columns: list[Column] = []
    for bed in beds:
        say(f"{len(columns) + 1} of {len(beds)}: {bed.sheet.design.name} {bed.size}")
        try:
            column = Column(bed.sheet.design.name, bed.size, bed_figures(lay_out(bed.sheet), shop))
        except InputError as refusal:
            column = Column(bed.sheet.design.name, bed.size, None, str(refusal))
        columns.append(column)
    say.done()
    unit = beds[0].sheet.design.unit
    folder = None if arguments.out is None else write_compare(columns, unit, Path(arguments.out))
    if arguments.json:
        print(json.dumps(records(columns), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(compare_text(columns, unit))
        if folder is not None:
            print(f"\nwritten to {folder}: compare.html, compare.csv, compare.json")
    return 0 if all(c.found is not None and c.found.passed for c in columns) else 1


def compare_text(columns: Sequence[Column], unit: LengthUnit) -> str:
    """The table for a terminal: as many beds beside each other as fit, then the next ones."""
    from bedmodel.exports.side_by_side import HELD, Row, rows_of

    rows = rows_of(columns, unit)
    if any(c.refused for c in columns):  # first, where a refused bed's column is looked at
        rows.insert(0, Row("refused", tuple(c.refused for c in columns)))
    room = shutil.get_terminal_size().columns if sys.stdout.isatty() else IN_A_PIPE
    label = max(len(row.label) for row in rows)
    widths = [_width(columns[i], rows, i) for i in range(len(columns))]
    blocks, block = [], [0]
    for i in range(1, len(columns)):
        if label + sum(widths[k] + len(GAP) for k in [*block, i]) > room:
            blocks.append(block)
            block = []
        block.append(i)
    blocks.append(block)
    text = "\n\n".join(_block(columns, rows, widths, label, each) for each in blocks)
    return text.replace(HELD, " ")


def _width(column: Column, rows: Sequence[Row], i: int) -> int:
    """As wide as its cells are, within bounds that let words wrap."""
    widest = max(len(text) for text in (column.heading, *(row.cells[i] for row in rows)))
    return max(NARROWEST, min(WIDEST, widest))


def _block(
    columns: Sequence[Column], rows: Sequence[Row], widths: list[int], label: int, chosen: list[int]
) -> str:
    picked = [widths[i] for i in chosen]
    lines = _lines("", [columns[i].heading for i in chosen], label, picked)
    lines.append(GAP.join("-" * width for width in (label, *picked)))
    section, first = "", len(lines)
    for row in rows:
        section = row.section or section
        cells = [row.cells[i] for i in chosen]
        if not any(cells):
            continue
        if section:
            lines += [section.upper()] if len(lines) == first else ["", section.upper()]
            section = ""
        lines += _lines(row.label, cells, label, picked)
    return "\n".join(lines)


def _lines(label: str, cells: list[str], width: int, widths: list[int]) -> list[str]:
    parts = [[label], *(textwrap.wrap(c, w) or [""] for c, w in zip(cells, widths, strict=True))]
    tall = max(len(part) for part in parts)
    return [
        GAP.join(
            _toned(part[k] if k < len(part) else "", w, part[0])
            for part, w in zip(parts, (width, *widths), strict=True)
        ).rstrip()
        for k in range(tall)
    ]


def _toned(text: str, width: int, first: str) -> str:
    held = f"{text:<{width}}"
    if first.startswith("FAILED") and text and coloured(sys.stdout):
        return f"\033[31m{held}\033[0m"
    return held
