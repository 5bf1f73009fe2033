"""Cleats under the centre rail's ends; x across the bed, y up, z away from the board."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bedmodel.cuts import Trim
from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft, strip
from bedmodel.skeleton import Layout

BEVEL = "level_top"


def make_cleats(layout: Layout) -> Iterator[Draft]:
    """The cleats, where the sheet asks for them."""
    given = layout.sheet.cleat
    for plan in layout.cleats:
        shape = strip(given.width, given.height, given.thickness, given.edge, given.edge_size)
        half, bottom = given.width / 2, plan.top - given.height
        lean = (layout.head if plan.end == "head" else layout.foot).lean
        # x runs so that z, away from the board, points to the mattress.
        corner = (half * plan.inward, plan.face_y, bottom)
        placement = Frame(
            corner, (-plan.inward, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, plan.inward, 0.0)
        )
        placement = lean.placed(placement)
        if lean.rake and layout.centre_rail is not None:
            shape = replace(shape, trims=(_bevel(placement, layout.centre_rail.bottom),))
        yield Draft(
            f"{plan.end}_cleat",
            "cleat",
            "centre_support",
            "centre",
            shape,
            placement,
            layout.sheet.wood.species,
        )


def _bevel(placement: Frame, height: float) -> Trim:
    """The cleat's top, cut level on a board that leans."""
    off = Frame.from_zx((0.0, 0.0, height), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    return Trim(BEVEL, placement.inverse() @ off)
