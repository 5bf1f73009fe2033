"""The drawings as files: one DXF, one PDF, and an SVG a sheet."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from bedmodel.drawing.book import Drawings
from bedmodel.exports.publish import write_bytes


def write_drawings(drawings: Drawings, folder: Path, say: Callable[[str], None]) -> None:
    """Write drawings.dxf, drawings.pdf and svg/ into a folder."""
    say("writing DXF and PDF")
    write_bytes(folder / "drawings.dxf", drawings.dxf)
    write_bytes(folder / "drawings.pdf", drawings.pdf)
    for sheet, data in drawings.svgs():
        say(f"writing {sheet}.svg")
        write_bytes(folder / "svg" / f"{sheet}.svg", data)
