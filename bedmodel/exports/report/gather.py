"""Gather a report's matter for a bed: cut list, board plan where there is a rack, the picture."""

from __future__ import annotations

from collections.abc import Sequence

from bedmodel.checks.finding import Result
from bedmodel.exports.report.matter import Chapter, Matter
from bedmodel.exports.report.page import still_picture
from bedmodel.exports.report.reckoning import movement_chapter, strength_chapter
from bedmodel.exports.working import Working


def gather(
    working: Working,
    results: Sequence[Result],
    files: frozenset[str],
    chapters: tuple[Chapter, ...] = (),
) -> Matter:
    """All that a report tells. ``files`` lie beside the page, by their paths from there.

    Raises InputError for what the shop cannot make.
    """
    bed = working.bed
    working.begin_picture()
    reckoned = (strength_chapter(bed, working.strength), movement_chapter(bed))
    cuts, plan = working.cuts, working.plan
    working.say("drawing the still picture")
    picture = still_picture(working.picture)
    return Matter(bed, results, cuts, picture, plan, (*reckoned, *chapters), files)
