"""Beds broken on purpose in one way: two rows of slats, and the panels of a deck."""

from __future__ import annotations

from dataclasses import replace

from bedmodel.checks.finding import Code
from bedmodel.outline import Outline
from tests.beds import Broken, Case, good, register_in, shape_of, with_length

CASES: list[Case] = []
breaks = register_in(CASES)

ROWS = ("support.rows=2", "slat.joint=loose")
DECK = ("support.kind=deck",)


@breaks(Code.ROW_BEARING_SHORT)
def a_slat_of_two_rows_sawn_short() -> Broken:
    """The centre rail is 48 mm wide, 2 mm eased, the rows 6 mm apart: 19 mm each."""
    bed = good("hawthorn", None, *ROWS)
    name = "slat_05_right"
    shape, place = shape_of(bed, name), bed.piece(name).placement
    short = bed.with_piece(
        name, shape=with_length(shape, shape.length - 8), placement=place.moved((8.0, 0.0, 0.0))
    )
    return Broken(short, {(name, "centre_rail"): 19.0 - 8.0}, "at least 15 mm")


@breaks(Code.DECK_BEARING_SHORT)
def a_panel_sawn_short() -> Broken:
    """Runners are 38 mm wide, 1 mm eased, the deck stands 3 mm off the rails: 34 mm bear."""
    bed = good("hawthorn", None, *DECK)
    shape = shape_of(bed, "deck_panel_1")
    kept = tuple(cut for cut in shape.cuts if cut.frame.origin[0] < shape.length - 20)
    assert kept == shape.cuts
    short = bed.with_piece("deck_panel_1", shape=with_length(shape, shape.length - 20))
    return Broken(short, {("deck_panel_1", "runner_right"): 34.0 - 20.0}, "at least 18 mm")


@breaks(Code.DECK_JOINT_UNSUPPORTED)
def a_panel_that_hardly_reaches_its_batten() -> Broken:
    """The batten is 70 mm wide, 1 mm eased, the joint 2 mm: 33 mm bear."""
    bed = good("hawthorn", None, *DECK)
    shape, place = shape_of(bed, "deck_panel_2"), bed.piece("deck_panel_2").placement
    names = shape.outline.names
    outline = Outline.rectangle(
        shape.length, shape.width - 25, (names[0], names[1], names[2], names[3])
    )
    narrow = replace(shape, width=shape.width - 25, outline=outline)
    short = bed.with_piece("deck_panel_2", shape=narrow, placement=place.moved((0.0, 25.0, 0.0)))
    measured = {("deck_panel_2", f"deck_batten_1_{side}"): 8.0 for side in ("left", "right")}
    return Broken(short, measured, "at least 12 mm")
