"""Shop papers as files: marks, cut list, buying list, order of work, labels, the board plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bedmodel.bed import Piece
from bedmodel.exports.board_files import setup_of, write_boards, write_labels
from bedmodel.exports.json_text import json_bytes
from bedmodel.exports.nest_files import Nests, write_nests
from bedmodel.exports.publish import write_bytes, write_text
from bedmodel.shop.order_of_work import steps
from bedmodel.shop.setting_out import marks_csv, marks_record, setting_out
from bedmodel.shop.steps import steps_record
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.stock.boards import Board
from bedmodel.stock.buying import buying_list
from bedmodel.stock.cut_list import CutList, cut_list
from bedmodel.stock.papers import buy_csv, buy_record, cut_csv, cut_record
from bedmodel.stock.sawing import plan_for_shop


@dataclass(frozen=True)
class Workshop:
    """The maker's shop, and the boards on the rack where a plan of them is wanted.

    ``given`` tells the maker's own shop from the example: only of that are the router bits
    taken to be all there are.
    """

    shop: ShopProfile
    rack: tuple[Board, ...] | None = None
    given: bool = False

    @property
    def cutters_of(self) -> ShopProfile | None:
        """The shop whose bits and bushings are on hand; None for those of the tables."""
        return self.shop if self.given else None


def write_shop(
    layout: Layout, pieces: Sequence[Piece], workshop: Workshop, folder: Path
) -> CutList:
    """Write all shop papers. Raises InputError for what the shop cannot make."""
    unit, shop = layout.sheet.design.unit, workshop.shop
    there = folder / "shop"
    write_bytes(there / "marks.json", json_bytes(marks_record(layout, pieces)))
    write_text(there / "marks.csv", marks_csv(setting_out(layout, pieces)))
    cuts = cut_list(pieces, shop, unit, layout)
    write_text(there / "cut_list.csv", cut_csv(cuts, unit))
    write_bytes(there / "cut_list.json", json_bytes(cut_record(cuts)))
    buying = buying_list(cuts, shop, layout.sheet.wood.species, layout.sheet.own_woods)
    write_text(there / "buying.csv", buy_csv(buying, unit))
    write_bytes(there / "buying.json", json_bytes(buy_record(buying)))
    work = steps(layout, cuts, tuple(piece.name for piece in pieces), shop)
    write_bytes(there / "steps.json", json_bytes(steps_record(work, cuts)))
    found = None
    if workshop.rack is not None:
        found = plan_for_shop(workshop.rack, cuts, pieces, shop, "wood")
        write_boards(layout, found, there)
        if found.legs is not None:
            nests = Nests(found.legs, found.parts)
            write_nests(nests, pieces, setup_of(layout.sheet), there / "nest")
    write_labels(layout, pieces, cuts, found, there)
    return cuts
