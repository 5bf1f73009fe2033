"""Support feet: square posts between the floor and the centre rail; x up."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import Layout


def make_support_feet(layout: Layout) -> Iterator[Draft]:
    """The feet under the centre rail, from head to foot."""
    plan = layout.centre_rail
    if plan is None:
        return
    given = layout.sheet.support_foot
    shape = strip(plan.bottom, given.size, given.size, given.edge, given.edge_size)
    half = given.size / 2
    for i, y in enumerate(plan.feet):
        placement = Frame((-half, y - half, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
        yield Draft(
            f"support_foot_{i + 1}",
            "support_foot",
            "centre_support",
            "centre",
            shape,
            placement,
            layout.sheet.wood.species,
        )
