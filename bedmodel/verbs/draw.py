"""``bedmodel draw``: the drawings of a bed, as DXF, PDF and SVG."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel import kernel
from bedmodel.sheets import folder_name
from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.terminal import Progress, table

if TYPE_CHECKING:
    from bedmodel.drawing.book import Drawings

CAUTION = "Print at actual size, and measure a stated length on the paper before relying on it."


def run(arguments: argparse.Namespace) -> int:
    """Write the drawings, whole or not at all, and list their sheets."""
    layout = asked_layout(arguments)
    from bedmodel.exports.paper.drawing_papers import drawing_paper

    unit = layout.sheet.design.unit
    paper = drawing_paper(arguments.paper or ("Letter" if unit == "inch" else "A4"))
    say = Progress()
    say("loading the solid modeller")
    kernel.load()
    from bedmodel.assembly import make_bed
    from bedmodel.drawing.book import make_drawings
    from bedmodel.exports.publish import fresh_folder

    name = f"{folder_name(layout.sheet)}-drawings"
    with fresh_folder(Path(arguments.out), name) as folder:
        say("making the parts")
        drawings = make_drawings(make_bed(layout.sheet), paper.name, say)
        record = _write(drawings, name, paper.name, folder, say)
    say.done()
    if arguments.json:
        print(json.dumps({"folder": str(Path(arguments.out) / name), **record}, indent=1))
    else:
        print(_text(drawings))
        print(f"written to {Path(arguments.out) / name}")
        print(CAUTION)
    return 0


def _write(
    drawings: Drawings, name: str, paper: str, folder: Path, say: Progress
) -> dict[str, object]:
    from bedmodel.drawing.files import write_drawings
    from bedmodel.exports.publish import write_bytes

    write_drawings(drawings, folder, say)
    record: dict[str, object] = {
        "name": name,
        "paper": paper,
        "sheets": [
            {"name": page.name, "title": page.title, "scale": page.scale} for page in drawings.pages
        ],
    }
    # By its manifest a later run knows the folder as its own.
    write_bytes(folder / "manifest.json", (json.dumps(record, indent=1) + "\n").encode())
    return record


def _text(drawings: Drawings) -> str:
    rows = [[page.name, page.title, page.scale] for page in drawings.pages]
    return table(rows, ["sheet", "title", "scale"])
