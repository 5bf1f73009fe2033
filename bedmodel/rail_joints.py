"""Joints between side rails and legs: the fastener's cuts in both, and its loose pieces.

Everything comes from the layout's ``FastenerPlan``; here it is put into the parts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bedmodel.cuts import Cut
from bedmodel.fasteners.choice import Corner
from bedmodel.frames import Frame
from bedmodel.parts.draft import Draft
from bedmodel.skeleton import Layout

RAIL = "side_rail"
IN_LEG = {"slot_plate"}  # what is screwed to the leg, and stays there


def with_fasteners(draft: Draft, layout: Layout) -> Draft:
    """The draft of a leg or a rail with the cuts of its fasteners."""
    if layout.fastener is None:
        return draft
    cuts: list[Cut] = []
    for corner in layout.fastener.corners:
        if draft.name == leg_name(corner):
            cuts += _placed(corner.fitting.leg_cuts, corner, draft.placement)
        if draft.name == RAIL:
            cuts += _placed(corner.fitting.rail_cuts, corner, draft.placement)
    return replace(draft, shape=draft.shape.with_cuts(tuple(cuts))) if cuts else draft


def leg_name(corner: Corner) -> str:
    return f"{corner.end}_leg"


def _placed(cuts: tuple[Cut, ...], corner: Corner, placement: Frame) -> Iterator[Cut]:
    there = placement.inverse() @ corner.joint
    for cut in cuts:
        yield replace(cut, frame=there @ cut.frame)


def loose_pieces(layout: Layout) -> Iterator[Draft]:
    """Plates, brackets, bolts and alignment dowels of the right-hand side."""
    if layout.fastener is None:
        return
    for corner in layout.fastener.corners:
        for loose in corner.fitting.loose:
            yield Draft(
                name=f"{corner.end}_{loose.name}",
                kind=loose.name.rstrip("_0123456789"),
                group=f"{corner.end}_end" if loose.name in IN_LEG else "rails",
                side="right",
                shape=loose.shape,
                placement=corner.joint @ loose.frame,
                species=loose.metal or layout.sheet.wood.species,
            )
