"""Work out everything a plan book holds from a bed and the maker's shop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bedmodel.assembly import Bed
from bedmodel.exports.book.contents import Contents
from bedmodel.exports.looks import looks_of
from bedmodel.exports.paper.sheet import Paper
from bedmodel.exports.picture import png_bytes
from bedmodel.exports.shop_files import Workshop
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.order_of_work import steps
from bedmodel.shop.setting_out import setting_out
from bedmodel.stock.buying import buying_list
from bedmodel.stock.cut_list import cut_list

if TYPE_CHECKING:
    from bedmodel.checks.finding import Result

PICTURE = (1280, 800)  # dots


def gathered(bed: Bed, results: Sequence[Result], workshop: Workshop, paper: Paper) -> Contents:
    """The contents of the book of a bed. Raises InputError for what the shop cannot make."""
    layout, shop = bed.layout, workshop.shop
    cuts = cut_list(bed.pieces, shop, layout.sheet.design.unit)
    width, height = PICTURE
    return Contents(
        layout=layout,
        pieces=bed.pieces,
        results=results,
        cuts=cuts,
        buying=buying_list(cuts, shop, layout.sheet.wood.species),
        steps=steps(layout, cuts, tuple(piece.name for piece in bed.pieces)),
        marks=setting_out(layout, bed.pieces),
        jigs=make_jigs(layout, bed.pieces),
        mass_kg=bed.total_mass_kg,
        cover=png_bytes(bed.pieces, bed.solids, looks_of(bed), width=width, height=height),
        paper=paper,
    )
