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
    return plan_boards(rack, demands(cuts, shop), sawing_of(shop), by)


def sawing_of(shop: ShopProfile) -> Sawing:
    """How the shop's saws cut."""
    machines = shop.machines
    return Sawing(
        kerf=machines.kerf,
        rule=machines.rule,
        edge_loss=shop.allowance.edge,
        crosscut_most=machines.crosscut,
        rip_most=machines.rip,
        strip_least=shop.allowance.strip_least,
    )
