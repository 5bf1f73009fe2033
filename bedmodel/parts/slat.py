"""Slats: all alike, across the bed on the runners; x across, y towards the foot."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import Layout


def make_slats(layout: Layout) -> Iterator[Draft]:
    """The slats from head to foot."""
    sheet, row = layout.sheet, layout.slats
    given = sheet.slat
    shape = strip(row.length, row.width, given.thickness, given.edge, given.edge_size)
    for i, y in enumerate(row.starts()):
        yield Draft(
            f"slat_{i + 1:02d}",
            "slat",
            "platform",
            "centre",
            shape,
            Frame((-row.length / 2, y, layout.runner_top)),
            sheet.wood.slats or sheet.wood.species,
        )
