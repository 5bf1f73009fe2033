"""Slats: all alike, across the bed on the runners; x across, y towards the foot.

Of two rows each slat goes from its runner to the centre rail.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import Layout


def make_slats(layout: Layout) -> Iterator[Draft]:
    """The slats from head to foot, where the bed has any."""
    if not layout.has_slats:
        return
    sheet, row = layout.sheet, layout.slats
    given = sheet.slat
    shape = strip(layout.slat_length, row.width, given.thickness, given.edge, given.edge_size)
    two = layout.rows == 2
    left = sheet.support.row_gap / 2 if two else -row.length / 2
    for i, y in enumerate(row.starts()):
        yield Draft(
            f"slat_{i + 1:02d}",
            "slat",
            "platform",
            "right" if two else "centre",
            shape,
            Frame((left, y, layout.runner_top)),
            sheet.wood.slats or sheet.wood.species,
        )
