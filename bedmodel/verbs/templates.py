"""``bedmodel templates``: legs and jigs at full size on paper, tiled or on one large sheet."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.pieces import make_pieces
from bedmodel.sheets import folder_name
from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.terminal import table

if TYPE_CHECKING:
    from bedmodel.exports.paper.sheet import Paper, Sheet
    from bedmodel.exports.tiles.full_size import FullSize

CAUTION = "Print at 100 %; measure both squares before anything is cut."


def run(arguments: argparse.Namespace) -> int:
    """Write a PDF of each template; nothing is written when one does not fit its paper."""
    layout = asked_layout(arguments)
    from bedmodel.exports.paper.pdf import pdf_bytes
    from bedmodel.exports.paper.sheet import usual_paper
    from bedmodel.exports.publish import fresh_folder, write_bytes
    from bedmodel.exports.tiles.of_bed import drawings_of
    from bedmodel.exports.tiles.pages import full_size_sheets
    from bedmodel.exports.tiles.papers import paper_for_tiles

    asked = arguments.paper
    paper = paper_for_tiles(asked) if asked else usual_paper(layout.sheet.design.unit)
    drawings = drawings_of(layout, make_pieces(layout), arguments.part or "")
    printed = [(each, full_size_sheets(each, paper)) for each in drawings]
    name = f"{folder_name(layout.sheet)}-{paper.name.lower()}"
    with fresh_folder(Path(arguments.out), name) as folder:
        for drawing, sheets in printed:
            write_bytes(folder / f"{drawing.name}.pdf", pdf_bytes(sheets, drawing.title))
        # By its manifest a later run knows the folder as its own.
        record = _record(name, paper, printed)
        write_bytes(folder / "manifest.json", (json.dumps(record, indent=1) + "\n").encode())
    if arguments.json:
        print(json.dumps({"folder": str(Path(arguments.out) / name), **record}, indent=1))
    else:
        print(templates_table(printed, paper))
        print(f"written to {Path(arguments.out) / name}")
        print(CAUTION)
    return 0


def templates_table(printed: Sequence[tuple[FullSize, Sequence[Sheet]]], paper: Paper) -> str:
    """One line a template: its sheets, and the smallest paper that takes it whole."""
    rows = [
        [drawing.name, _count(sheets), fits[0] if (fits := _fits(drawing)) else "none here"]
        for drawing, sheets in printed
    ]
    return table(rows, ["template", f"sheets of {paper.name}", "whole on"], " r")


def _fits(drawing: FullSize) -> list[str]:
    from bedmodel.exports.tiles.pages import papers_that_fit

    return papers_that_fit(drawing)


def _count(sheets: Sequence[Sheet]) -> str:
    return "1" if len(sheets) == 1 else f"{len(sheets) - 1} and a key"


def _record(
    name: str, paper: Paper, printed: Sequence[tuple[FullSize, Sequence[Sheet]]]
) -> dict[str, object]:
    return {
        "name": name,
        "paper": paper.name,
        "templates": [
            {
                "name": drawing.name,
                "file": f"{drawing.name}.pdf",
                "pages": len(sheets),
                "whole_on": _fits(drawing),
            }
            for drawing, sheets in printed
        ],
    }
