"""Plan the rack for a bed, as the shop's machines cut: shaped legs nested, all else sawn straight.

The legs come first: they are the hardest to place, and what is left of their planks is cut
off square and planned with the other boards, under a name of its own. Where that leaves
too little of the class for the straight parts, those are planned first instead and the
legs take what they leave; the better of the two is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.bed import Piece
from bedmodel.errors import InputError
from bedmodel.shop_profile import ShopProfile
from bedmodel.stock.boards import Board, board_feet, name_beside, part_of
from bedmodel.stock.cut_list import CutList
from bedmodel.stock.demand import Demand
from bedmodel.stock.nest.parts import leg_parts
from bedmodel.stock.nest.plan import LegNest, Nesting, NestPart
from bedmodel.stock.nest.planks import effort_for, least_width, nest_on_boards, nest_on_width
from bedmodel.stock.plan import Plan
from bedmodel.stock.planner import Sawing, plan_boards
from bedmodel.stock.wanted import demands

LEAST_REST = 100.0  # mm, of a plank's length


@dataclass(frozen=True)
class RackPlan:
    """The whole rack: the plan of the straight parts, and the nest of the legs if one is made."""

    plan: Plan
    legs: LegNest | None = None
    parts: tuple[NestPart, ...] = ()

    @property
    def feasible(self) -> bool:
        """True when every part has its place."""
        return self.plan.feasible and (self.legs is None or self.legs.feasible)

    def is_ripped(self, board: Board) -> bool:
        """Whether a board of the plan is ripped off a wider one, not left by the nest."""
        nested = {plank.board.name: plank.board for plank in self.legs.planks} if self.legs else {}
        plank = nested.get(board.of)
        return bool(board.of) and (plank is None or board.width < plank.width)


def plan_for_shop(
    rack: Sequence[Board],
    cuts: CutList,
    pieces: Sequence[Piece],
    shop: ShopProfile,
    by: Literal["wood", "cost"],
) -> RackPlan:
    """The plan of all rough parts. Raises InputError for boards without a price, by cost."""
    wanted, sawing, parts = demands(cuts, shop), sawing_of(shop), leg_parts(pieces, cuts)
    if not parts:
        return RackPlan(plan_boards(rack, wanted, sawing, by))
    nesting = nesting_of(shop)
    legs = nest_on_boards(parts, rack, nesting, effort_for(len(parts)))
    first = RackPlan(plan_boards(left_of(rack, legs, sawing), wanted, sawing, by), legs, parts)
    if not _legs_class_is_short(first):
        return first
    other = _legs_last(rack, wanted, parts, sawing, nesting, by)
    return min((first, other), key=lambda each: round(_lacking(each), 6))


def _legs_last(
    rack: Sequence[Board],
    wanted: Sequence[Demand],
    parts: tuple[NestPart, ...],
    sawing: Sawing,
    nesting: Nesting,
    by: Literal["wood", "cost"],
) -> RackPlan:
    plan = plan_boards(rack, wanted, sawing, by)
    cut = [each.board for group in plan.classes for each in group.boards]
    taken = {board.of or board.name for board in cut}
    rest = [board for board in rack if board.name not in taken]
    return RackPlan(plan, nest_on_boards(parts, rest, nesting, effort_for(len(parts))), parts)


def _legs_class_is_short(found: RackPlan) -> bool:
    classes = {(part.species, part.quarters_count) for part in found.parts}
    return any(
        group.missing and (group.species, group.quarters_count) in classes
        for group in found.plan.classes
    )


def _lacking(found: RackPlan) -> float:
    """Board feet that have no place."""
    straight = sum(m.board_feet for group in found.plan.classes for m in group.missing)
    legs = found.legs.unplaced if found.legs else ()
    return straight + sum(board_feet(u.quarters_count, u.width, u.length) for u in legs)


def left_of(rack: Sequence[Board], legs: LegNest, sawing: Sawing) -> list[Board]:
    """The boards that the nest has not used, and what is left of its planks."""
    nested = {plank.board.name: plank for plank in legs.planks}
    names = {board.name for board in rack}
    found = []
    for board in rack:
        if board.name not in nested:
            found.append(board)
            continue
        low, high = nested[board.name].offcut
        low, high = (low + sawing.kerf, high) if low > 0 else (low, high - sawing.kerf)
        if high - low >= LEAST_REST:
            name = name_beside(f"{board.name} rest", names)
            found.append(part_of(board, name, (low, high), (0.0, board.width)))
    return found


def nest_on_a_plank(parts: Sequence[NestPart], shop: ShopProfile, width: float | None) -> LegNest:
    """The legs on one sound plank of a width for each class of lumber.

    Without a width: the widest that every machine takes, or what the legs need if that is
    more. Raises InputError, with the least width that would do, for one too narrow.
    """
    nesting = nesting_of(shop)
    groups: dict[tuple[str, int], list[NestPart]] = {}
    for part in parts:
        groups.setdefault((part.species, part.quarters_count), []).append(part)
    planks = []
    for number, group in enumerate(groups.values(), start=1):
        wide = max(shop.widest_piece, needed_width(group, shop)) if width is None else width
        plank = nest_on_width(group, wide, nesting, effort_for(len(group)))
        name = "plank" if len(groups) == 1 else f"plank {number}"
        board = replace(plank.board, name=name, species=group[0].species)
        planks.append(replace(plank, board=board))
    return LegNest(tuple(planks))


def needed_width(parts: Sequence[NestPart], shop: ShopProfile) -> float:
    """The narrowest plank that takes each of the legs (mm)."""
    nesting = nesting_of(shop)
    return max((least_width(part, nesting) for part in parts), default=0.0)


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


def nesting_of(shop: ShopProfile) -> Nesting:
    """How the shop nests legs. Raises InputError for a gap with no room for the saw."""
    nest = shop.nest
    try:
        return Nesting(
            gap=nest.gap,
            margin=nest.margin,
            grain_deg=nest.grain,
            blank=nest.blank,
            kerf=nest.kerf,
            turn_over=nest.turn_over == "allowed",
            end_for_end=nest.end_for_end == "allowed",
        )
    except InputError as e:
        raise InputError(e.parameter.replace(" ", "."), e.value, e.allowed, e.remedy) from None
