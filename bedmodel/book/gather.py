"""Work out everything a plan book holds from a bed and the maker's shop."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from bedmodel.assembly import Bed
from bedmodel.book.contents import Contents
from bedmodel.drawing.book import Drawings, make_drawings
from bedmodel.drawing.pictures import marks_in, step_picture
from bedmodel.drawing.whole import Whole
from bedmodel.exports.beside import begun
from bedmodel.exports.board_files import plan_notes, setup_of
from bedmodel.exports.looks import looks_of
from bedmodel.exports.paper.sheet import Box, Paper, Sheet
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
from bedmodel.shop.steps import Step
from bedmodel.stock.buying import buying_list
from bedmodel.stock.cut_list import CutList, cut_list
from bedmodel.stock.sawing import plan_for_shop
from bedmodel.strength import CAUTIONS as STRENGTH_CAUTIONS
from bedmodel.strength.answer import strength

if TYPE_CHECKING:
    from bedmodel.checks.finding import Result

PICTURE = (1280, 800)  # dots
PICTURE_SIZE = (120.0, 66.0)  # mm, of a step's
FEW = 0.6  # share of all pieces; a step on more than these is of the whole bed
Say = Callable[[str], None]


def gathered(
    bed: Bed,
    results: Sequence[Result],
    workshop: Workshop,
    paper: Paper,
    say: Say = lambda text: None,
) -> tuple[Contents, Drawings]:
    """The contents of the book of a bed, and its drawings, for those who want them as well.

    Raises InputError for what the shop cannot make.
    """
    layout, shop = bed.layout, workshop.shop
    cover = begun(_cover, bed)
    cuts = cut_list(bed.pieces, shop, layout.sheet.design.unit, layout)
    found = strength(layout)
    work = steps(layout, cuts, tuple(piece.name for piece in bed.pieces), shop)
    pictures = begun(_pictures, (bed, cuts, work))
    drawings = make_drawings(bed, paper.name, say)
    contents = Contents(
        layout=layout,
        pieces=bed.pieces,
        results=results,
        cuts=cuts,
        buying=buying_list(cuts, shop, layout.sheet.wood.species, layout.sheet.own_woods),
        steps=work,
        marks=setting_out(layout, bed.pieces),
        jigs=make_jigs(layout, bed.pieces, workshop.cutters_of),
        mass_kg=bed.total_mass_kg,
        cover=b"",
        paper=paper,
        drawings=drawings.sheets,
        board_pages=_board_pages(bed, cuts, workshop),
        reckoning=(strength_page(found),),
        more=(
            ("Of the strength", STRENGTH_CAUTIONS),
            ("Of the wood's movement", movement(layout).assumptions),
        ),
    )
    say("drawing the cover")
    shown = pickle.loads(pictures())
    return replace(contents, cover=cover(), step_pictures=shown), drawings


def _cover(bed: Bed) -> bytes:
    width, height = PICTURE
    return png_bytes(bed.pieces, bed.solids, looks_of(bed), width=width, height=height)


def _pictures(given: tuple[Bed, CutList, Sequence[Step]]) -> bytes:
    """A picture of each step that puts pieces in, or works on a few: these dark, the rest pale.

    Steps on nearly all parts, such as planing, have none: it would tell nothing. Pickled, by
    the number of the step, to come from another process of our own.
    """
    bed, cuts, work = given
    whole, done = Whole(bed), list[str]()
    rows = {item.name: item.pieces for item in cuts.items}
    names = [piece.name for piece in bed.pieces]
    found: dict[int, Sheet] = {}
    for number, step in enumerate(work, start=1):
        if step.pieces:
            new, old = step.pieces, tuple(done)
            done += step.pieces
        else:
            new = tuple(name for part in step.parts for name in rows.get(part, ()))
            old = tuple(name for name in names if name not in new)
            if not new or len(new) > FEW * len(names):
                continue
        box = Box(0.0, 0.0, *PICTURE_SIZE)
        marks = tuple(marks_in(step_picture(whole, new, old), box))
        found[number] = Sheet(Paper("", *PICTURE_SIZE), step.title, marks)
    return pickle.dumps(found)


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
