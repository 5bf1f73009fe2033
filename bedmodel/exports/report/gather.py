"""Gather a report's matter for a bed: cut list, board plan where there is a rack, the picture."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bedmodel.assembly import Bed
from bedmodel.checks.finding import Result
from bedmodel.exports.report.matter import Chapter, Matter
from bedmodel.exports.report.page import still_picture
from bedmodel.exports.report.reckoning import movement_chapter, strength_chapter
from bedmodel.exports.shop_files import Workshop
from bedmodel.stock.cut_list import cut_list
from bedmodel.stock.sawing import plan_for_shop
from bedmodel.strength.answer import strength

Say = Callable[[str], None]


def gather(
    bed: Bed,
    results: Sequence[Result],
    workshop: Workshop,
    files: frozenset[str],
    say: Say = lambda text: None,
    chapters: tuple[Chapter, ...] = (),
) -> Matter:
    """All that a report tells. ``files`` lie beside the page, by their paths from there.

    Raises InputError for what the shop cannot make.
    """
    cuts = cut_list(bed.pieces, workshop.shop, bed.layout.sheet.design.unit, bed.layout)
    plan = None
    if workshop.rack is not None:
        say("planning the boards")
        plan = plan_for_shop(workshop.rack, cuts, bed.pieces, workshop.shop, "wood")
    say("drawing the still picture")
    picture = still_picture(bed)
    found = strength(bed.layout)
    reckoned = (strength_chapter(bed, found), movement_chapter(bed))
    return Matter(bed, results, cuts, picture, plan, (*reckoned, *chapters), files)
