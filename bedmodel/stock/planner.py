"""Plan the rack: which part comes out of which board, with the least wood or money.

Each species and thickness class is a problem of its own. Of every board all patterns
worth considering are worked out (``patterns``), then the cheapest ones that give all parts
are chosen (``choose``). The bound holds for all plans of the same kinds of cuts, on the
same division of the rule: crosscut to segments, rip to strips, crosscut the strips,
trim to width.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from bedmodel.errors import InputError
from bedmodel.stock.boards import Board, board_feet
from bedmodel.stock.cuts import OffcutLimits, cut_board, spots
from bedmodel.stock.demand import Demand, PartDemand
from bedmodel.stock.first_rips import ripped_down
from bedmodel.stock.grid import WoodClass, widened, wood_class
from bedmodel.stock.naming import name_spots
from bedmodel.stock.patterns import Pattern
from bedmodel.stock.plan import ClassPlan, CutBoard, Missing, Plan
from bedmodel.stock.search import Effort, Found, search

_PER_FOOT = 1000  # costs are whole: thousandths of a board foot, hundredths of money
_PER_MONEY = 100
_TRIES = 8  # to find staves that divide among their panels


@dataclass(frozen=True)
class Sawing:
    """How the shop cuts (mm): the saw's kerf, the division all cuts are measured in, what
    straightening takes off each edge of a board, the least off-cut worth keeping.

    ``crosscut_most`` is the widest board that is cut to length, ``rip_most`` the widest strip
    between blade and fence, ``strip_least`` the narrowest that is ripped safely.
    """

    kerf: float = 3.2
    rule: float = 1.0
    edge_loss: float = 0.0
    offcut_length: float = 300.0
    offcut_width: float = 40.0
    crosscut_most: float = math.inf
    rip_most: float = math.inf
    strip_least: float = 0.0

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("kerf", self.kerf, 0.0, 20.0),
            ("rule", self.rule, 0.1, 10.0),
            ("edge loss", self.edge_loss, 0.0, 100.0),
            ("off-cut length", self.offcut_length, 0.0, 10000.0),
            ("off-cut width", self.offcut_width, 0.0, 1000.0),
        ):
            if not low <= value <= high:
                raise InputError(name, value, f"must be {low:g} to {high:g} mm")
        for name, value in (("crosscut", self.crosscut_most), ("rip", self.rip_most)):
            if not value >= 50:
                raise InputError(name, value, "must be at least 50 mm")
        if not 0 <= self.strip_least <= self.widest:
            raise InputError("least strip", self.strip_least, "must not be wider than rip limit")

    @property
    def widest(self) -> float:
        """The widest board that both saws take as it is."""
        return min(self.crosscut_most, self.rip_most)


FULL = Effort()
QUICK = Effort(steps_count=200_000, nodes_count=0)


def plan_boards(
    boards: Sequence[Board],
    demands: Sequence[Demand],
    sawing: Sawing = Sawing(),
    objective: Literal["wood", "cost"] = "wood",
    effort: Effort = FULL,
) -> Plan:
    """Assign all rough parts to boards; the same input gives the same plan.

    What no board is left for stands in ``missing`` of its class.
    Raises InputError for demands of one name, boards without a price, and the like.
    """
    names = [d.name for d in demands]
    if len(set(names)) < len(names):
        twice = next(n for n in names if names.count(n) > 1)
        raise InputError(f"part {twice}", None, "is wanted twice", "give one count for both")
    for demand in demands:
        least = demand.width if isinstance(demand, PartDemand) else demand.stave_least
        if least < sawing.strip_least - 1e-6:
            raise InputError(
                f"part {demand.name}",
                f"{least:g} mm",
                f"is narrower than what is ripped safely, {sawing.strip_least:g} mm",
                "ask for a wider rough strip",
            )
    boards = ripped_down(boards, sawing.widest, sawing.kerf)
    classes = []
    for (species, quarters_count), wanted in sorted(_classes(demands).items()):
        fit = _boards_for(boards, demands, species, quarters_count)
        wood = wood_class(
            fit, wanted, sawing.rule, sawing.kerf, sawing.edge_loss, _costs(fit, objective)
        )
        classes.append(_plan_class(wood, species, quarters_count, sawing, objective, effort))
    kerf = classes and wood.kerf * sawing.rule
    return Plan(kerf or sawing.kerf, sawing.rule, objective, tuple(classes))


def _classes(demands: Iterable[Demand]) -> Mapping[tuple[str, int], list[Demand]]:
    found: dict[tuple[str, int], list[Demand]] = {}
    for demand in demands:
        found.setdefault((demand.species, demand.quarters_count), []).append(demand)
    return found


def _boards_for(
    boards: Iterable[Board], demands: Iterable[Demand], species: str, quarters_count: int
) -> list[Board]:
    """The boards of a class. A name left out serves any, where only one species is wanted."""
    wanted = {d.species for d in demands if d.quarters_count == quarters_count}
    thick = [b for b in boards if b.quarters_count == quarters_count]
    if len(wanted) == 1:
        return [b for b in thick if not (species and b.species) or b.species == species]
    if "" in wanted:
        unnamed = next(d for d in demands if not d.species and d.quarters_count == quarters_count)
        raise InputError(
            f"part {unnamed.name}",
            None,
            f"needs a species, since others of {quarters_count}/4 have one",
        )
    nameless = [b for b in thick if not b.species]
    if nameless:
        raise InputError(
            f"board {nameless[0].name}",
            None,
            f"needs a species, since more than one is wanted in {quarters_count}/4",
        )
    return [b for b in thick if b.species == species]


def _costs(boards: Iterable[Board], objective: str) -> list[int]:
    costs = []
    for board in boards:
        if objective == "wood":
            costs.append(max(round(board.board_feet * _PER_FOOT), 1))
        elif board.price is None:
            raise InputError(
                f"board {board.name}", None, "has no price", "price all boards, or plan by wood"
            )
        else:
            costs.append(round(board.price * _PER_MONEY))
    return costs


def _plan_class(
    wood: WoodClass,
    species: str,
    quarters_count: int,
    sawing: Sawing,
    objective: str,
    effort: Effort,
) -> ClassPlan:
    result = search(wood, effort)
    cut, missing = _cut_all(wood, result, sawing, quarters_count)
    bound, tries = result.bound, 0
    while missing and not any(result.choice.short) and tries < _TRIES:
        # Its staves have the width of all panels together, but do not divide among them.
        tries += 1
        pool = next(i for i, p in enumerate(wood.pools) if missing[0].name in p.names)
        wood = widened(wood, pool, wood.pools[pool].least // 3)
        result = search(wood, effort)
        cut, missing = _cut_all(wood, result, sawing, quarters_count)
    result = replace(result, bound=bound, impossible=result.impossible and not tries)
    per = _PER_FOOT if objective == "wood" else _PER_MONEY
    prices = {b.name: blank.cost / per for blank in wood.blanks for b in blank.boards}
    return ClassPlan(
        species,
        quarters_count,
        cut,
        sum(prices[each.board.name] for each in cut),
        0.0 if missing else result.bound / per,
        missing,
        result.impossible,
    )


def _cut_all(
    wood: WoodClass, found: Found, sawing: Sawing, quarters_count: int
) -> tuple[tuple[CutBoard, ...], tuple[Missing, ...]]:
    """Cut the boards of a choice; and what they do not give."""
    taken: list[tuple[int, Board, Pattern]] = []
    free = [list(blank.boards) for blank in wood.blanks]
    for of, pattern, count in found.choice.picks:
        for _ in range(count):
            taken.append((of, free[of].pop(0), found.patterns[of][pattern]))
    room = [(at, s) for at, (b, _, p) in enumerate(taken) for s in spots(wood, wood.blanks[b], p)]
    named, short = name_spots(wood, room)
    limits = OffcutLimits(sawing.offcut_length, sawing.offcut_width)
    cut = []
    for at, (of, board, way) in enumerate(taken):
        mine = [(spot, placed) for where, spot, placed in named if where == at]
        if mine:
            blank = wood.blanks[of]
            usable = (blank.low * wood.rule, board.width - sawing.edge_loss)
            cut.append(cut_board(wood, blank, board, way, mine, usable, limits))
    missing = tuple(
        Missing(
            demand.name,
            count,
            count * board_feet(quarters_count, demand.width, demand.length),
            demand.length,
            not any(pattern.load[kind] for group in found.patterns for pattern in group),
        )
        for kind, demand, count in short
    )
    return tuple(cut), missing
