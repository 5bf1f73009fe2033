"""All the jigs of a bed, in the order in which its maker needs them."""

from __future__ import annotations

from collections.abc import Sequence

from bedmodel.bed import Piece
from bedmodel.shop.jigs.cauls import caul_jig
from bedmodel.shop.jigs.dowel_guides import dowel_guide_jigs
from bedmodel.shop.jigs.drill_guides import guide_jigs
from bedmodel.shop.jigs.edge_gauges import edge_gauge_jigs
from bedmodel.shop.jigs.end_jigs import end_jigs
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.jigs.legs import leg_jigs
from bedmodel.shop.jigs.on_hand import on_hand
from bedmodel.shop.jigs.plates import plate_jigs
from bedmodel.shop.jigs.recess_plates import recess_jigs
from bedmodel.shop.jigs.screw_guides import screw_guide_jigs
from bedmodel.shop.jigs.sled import sled_jig
from bedmodel.shop.jigs.spacers import spacer_jig
from bedmodel.shop.jigs.sticks import stick_jigs
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout


def make_jigs(
    layout: Layout, pieces: Sequence[Piece], shop: ShopProfile | None = None
) -> tuple[Jig, ...]:
    """Every jig of a bed: sled, leg templates, story sticks, plates, guides, cauls, spacers.

    Cutters are chosen from what the ``shop`` has on hand, without one from the tables. Raises
    InputError where a cutter of the sheet cannot do its work, or none on hand can.
    """
    hand = on_hand(shop)
    found = [
        sled_jig(layout),
        *leg_jigs(layout, pieces, hand),
        *stick_jigs(layout),
        *plate_jigs(layout, hand),
        *dowel_guide_jigs(layout),
        *end_jigs(layout, hand),
        *recess_jigs(layout, hand),
        *guide_jigs(layout),
        *screw_guide_jigs(layout),
        *edge_gauge_jigs(layout, pieces, shop),
        caul_jig(layout),
        spacer_jig(layout),
    ]
    return tuple(jig for jig in found if jig is not None)
