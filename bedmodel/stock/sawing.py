"""Plan the boards of a rack for a cut list, as the shop's machines cut."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from bedmodel.shop_profile import ShopProfile
from bedmodel.stock.boards import Board
from bedmodel.stock.cut_list import CutList
from bedmodel.stock.plan import Plan
from bedmodel.stock.planner import Sawing, plan_boards
from bedmodel.stock.wanted import demands


def plan_for_shop(
    rack: Sequence[Board], cuts: CutList, shop: ShopProfile, by: Literal["wood", "cost"]
) -> Plan:
    """The plan of all rough parts. Raises InputError for boards without a price, by cost."""
    machines = shop.machines
    sawing = Sawing(kerf=machines.kerf, rule=machines.rule, edge_loss=shop.allowance.edge)
    return plan_boards(rack, demands(cuts, shop), sawing, by)
