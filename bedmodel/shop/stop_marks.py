"""Where edge profiles stop: marks along each moulded arris, for the stop blocks.

A mark is the bit's axis at the end of its full depth; beyond it the cut runs out. Lengths run
from the end of the part where the blank's own length begins (mm).
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.edge_profiles import group_words
from bedmodel.shape import Shape
from bedmodel.shop.marks import Mark, MarkRow, row_of
from bedmodel.skeleton import Layout


def stop_rows(shape: Shape, layout: Layout) -> Iterator[MarkRow]:
    """One row for each arris that has a stopped profile."""
    rows: dict[str, list[Mark]] = {}
    x0, _, _, _ = shape.outline.bounds()
    for each in shape.mouldings:
        ends = (each.frame.origin, each.at(each.length).origin)
        for point, stopped in zip(ends, each.stopped, strict=True):
            if stopped:
                ahead = layout.sheet.show(each.run_out)
                what = f"profile stops, axis of the bit; runs out {ahead} further"
                mark = Mark(
                    (group_words(each.name),), what, point[0] - x0, layout.sheet.design.unit
                )
                rows.setdefault(each.name, []).append(mark)
    for group, marks in rows.items():
        yield row_of(f"from the end, along the {group_words(group)}", marks)
