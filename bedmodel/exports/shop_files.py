"""Shop papers as files: marks, cut list, buying list, order of work, and the board plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bedmodel.bed import Piece
from bedmodel.exports.publish import write_bytes, write_text
from bedmodel.exports.records import json_bytes
from bedmodel.shop.order_of_work import steps
from bedmodel.shop.setting_out import marks_csv, marks_record, setting_out
from bedmodel.shop.steps import steps_record
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.stock.boards import Board
from bedmodel.stock.buying import buying_list
from bedmodel.stock.cut_list import CutList, cut_list
from bedmodel.stock.papers import buy_csv, buy_record, cut_csv, cut_record
from bedmodel.stock.plan_record import plan_record
from bedmodel.stock.sawing import plan_for_shop


@dataclass(frozen=True)
class Workshop:
    """The maker's shop, and the boards on the rack where a plan of them is wanted."""

    shop: ShopProfile
    rack: tuple[Board, ...] | None = None


def write_shop(
    layout: Layout, pieces: Sequence[Piece], workshop: Workshop, folder: Path
) -> CutList:
    """Write all shop papers. Raises InputError for what the shop cannot make."""
    unit, shop = layout.sheet.design.unit, workshop.shop
    there = folder / "shop"
    write_bytes(there / "marks.json", json_bytes(marks_record(layout, pieces)))
    write_text(there / "marks.csv", marks_csv(setting_out(layout, pieces)))
    cuts = cut_list(pieces, shop, unit)
    write_text(there / "cut_list.csv", cut_csv(cuts, unit))
    write_bytes(there / "cut_list.json", json_bytes(cut_record(cuts)))
    buying = buying_list(cuts, shop, layout.sheet.wood.species, layout.sheet.own_woods)
    write_text(there / "buying.csv", buy_csv(buying, unit))
    write_bytes(there / "buying.json", json_bytes(buy_record(buying)))
    work = steps(layout, cuts, tuple(piece.name for piece in pieces))
    write_bytes(there / "steps.json", json_bytes(steps_record(work, cuts)))
    if workshop.rack is not None:
        plan = plan_for_shop(workshop.rack, cuts, shop, "wood")
        write_bytes(there / "boards.json", json_bytes(plan_record(plan)))
    return cuts
