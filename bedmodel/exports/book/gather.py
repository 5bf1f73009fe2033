"""Work out everything a plan book holds from a bed and the maker's shop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from bedmodel.assembly import Bed
from bedmodel.exports.board_files import plan_notes, setup_of
from bedmodel.exports.book.contents import Contents
from bedmodel.exports.looks import looks_of
from bedmodel.exports.paper.sheet import Paper, Sheet
from bedmodel.exports.picture import png_bytes
from bedmodel.exports.plan_pages.nest import nest_sheets
from bedmodel.exports.plan_pages.nested import TRACED, leg_planks
from bedmodel.exports.plan_pages.pages import plan_sheets
from bedmodel.exports.reckoning_page import strength_page
from bedmodel.exports.shop_files import Workshop
from bedmodel.movement.parts import movement
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.order_of_work import steps
from bedmodel.shop.setting_out import setting_out
from bedmodel.stock.buying import buying_list
from bedmodel.stock.cut_list import CutList, cut_list
from bedmodel.stock.sawing import plan_for_shop
from bedmodel.strength import CAUTIONS as STRENGTH_CAUTIONS
from bedmodel.strength.answer import strength

if TYPE_CHECKING:
    from bedmodel.checks.finding import Result

PICTURE = (1280, 800)  # dots


def gathered(bed: Bed, results: Sequence[Result], workshop: Workshop, paper: Paper) -> Contents:
    """The contents of the book of a bed. Raises InputError for what the shop cannot make."""
    layout, shop = bed.layout, workshop.shop
    cuts = cut_list(bed.pieces, shop, layout.sheet.design.unit)
    found = strength(layout)
    width, height = PICTURE
    return Contents(
        layout=layout,
        pieces=bed.pieces,
        results=results,
        cuts=cuts,
        buying=buying_list(cuts, shop, layout.sheet.wood.species, layout.sheet.own_woods),
        steps=steps(layout, cuts, tuple(piece.name for piece in bed.pieces), shop),
        marks=setting_out(layout, bed.pieces),
        jigs=make_jigs(layout, bed.pieces, workshop.cutters_of),
        mass_kg=bed.total_mass_kg,
        cover=png_bytes(bed.pieces, bed.solids, looks_of(bed), width=width, height=height),
        paper=paper,
        board_pages=_board_pages(bed, cuts, workshop),
        reckoning=(strength_page(found),),
        more=(
            ("Of the strength", STRENGTH_CAUTIONS),
            ("Of the wood's movement", movement(layout).assumptions),
        ),
    )


def _board_pages(bed: Bed, cuts: CutList, workshop: Workshop) -> tuple[Sheet, ...]:
    """A page a board, and the legs on their planks; none without a rack."""
    if workshop.rack is None:
        return ()
    setup = setup_of(bed.layout.sheet)
    found = plan_for_shop(workshop.rack, cuts, bed.pieces, workshop.shop, "wood")
    pages = plan_sheets(found.plan, replace(setup, notes=tuple(plan_notes(found))))
    if found.legs is not None and found.legs.planks:
        planks = list(leg_planks(found.legs, found.parts, bed.pieces, setup))
        pages += nest_sheets(planks, setup, TRACED[setup.unit])
    return tuple(pages)
