"""Plan the rack: which part comes out of which board, with the least wood or money.

Each species and thickness class is a problem of its own. Of every board all patterns
worth considering are worked out (``patterns``), then the cheapest ones that give all parts
are chosen (``choose``). The bound holds for all plans of the same kinds of cuts, on the
same division of the rule: crosscut to segments, rip to strips, crosscut the strips,
trim to width.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from bedmodel.errors import InputError
from bedmodel.stock.boards import Board, board_feet
from bedmodel.stock.choose import Choice, best_choice, first_choice, least_short
from bedmodel.stock.cuts import OffcutLimits, Spot, cut_board, spots
from bedmodel.stock.demand import Demand
from bedmodel.stock.grid import WoodClass, steps_up, wood_class
from bedmodel.stock.patterns import Pattern, patterns
from bedmodel.stock.plan import ClassPlan, CutBoard, Missing, Placed, Plan, Rectangle
from bedmodel.stock.segments import Fillings
from bedmodel.stock.staves import share_out
from bedmodel.stock.work import OutOfWork, Work

_PER_FOOT = 1000  # costs are whole: thousandths of a board foot, hundredths of money
_PER_MONEY = 100


@dataclass(frozen=True)
class Sawing:
    """How the shop cuts (mm): the saw's kerf, the division all cuts are measured in, what
    straightening takes off each edge of a board, the least off-cut worth keeping.
    """

    kerf: float = 3.2
    rule: float = 1.0
    edge_loss: float = 0.0
    offcut_length: float = 300.0
    offcut_width: float = 40.0

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


@dataclass(frozen=True)
class Effort:
    """A budget of work: steps of looking for patterns in a class, nodes of choosing among them.

    With no nodes the plan is the first one found.
    """

    steps_count: int = 3_000_000
    nodes_count: int = 2_000


QUICK = Effort(nodes_count=0)


def plan_boards(
    boards: Sequence[Board],
    demands: Sequence[Demand],
    sawing: Sawing = Sawing(),
    objective: Literal["wood", "cost"] = "wood",
    effort: Effort = Effort(),
) -> Plan:
    """Assign all rough parts to boards; the same input gives the same plan.

    What no board is left for stands in ``missing`` of its class.
    Raises InputError for demands of one name, boards without a price, and the like.
    """
    names = [d.name for d in demands]
    if len(set(names)) < len(names):
        twice = next(n for n in names if names.count(n) > 1)
        raise InputError(f"part {twice}", None, "is wanted twice", "give one count for both")
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
    found, complete = _all_patterns(wood, effort)
    weights = _weights(wood, quarters_count)
    costs = [blank.cost for blank in wood.blanks]
    stock = [len(blank.boards) for blank in wood.blanks]
    choice: Choice | None = first_choice(found, costs, stock, wood.wanted, weights)
    if effort.nodes_count:
        choice = best_choice(found, costs, stock, wood.wanted, choice, effort.nodes_count)
    if choice is None or any(choice.short):
        choice = least_short(found, stock, wood.wanted, weights, max(effort.nodes_count, 100))
    cut, short = _cut_all(wood, found, choice, sawing)
    per = _PER_FOOT if objective == "wood" else _PER_MONEY
    prices = {b.name: blank.cost / per for blank in wood.blanks for b in blank.boards}
    bound = choice.bound / per if complete else 0.0
    return ClassPlan(
        species,
        quarters_count,
        cut,
        sum(prices[each.board.name] for each in cut),
        bound,
        _missing(wood, found, short, quarters_count),
    )


def _all_patterns(wood: WoodClass, effort: Effort) -> tuple[list[list[Pattern]], bool]:
    fillings = Fillings(wood, Work(effort.steps_count))
    found = []
    try:
        for blank in wood.blanks:
            found.append(patterns(blank, fillings))
    except OutOfWork:
        found += [[] for _ in range(len(wood.blanks) - len(found))]
        return found, False
    return found, True


def _weights(wood: WoodClass, quarters_count: int) -> list[float]:
    """Board feet of one of each kind, of a step of width for staves."""
    step, k = wood.rule, wood.kerf
    return [
        *(
            board_feet(quarters_count, (p.width - k) * step, (p.length - k) * step)
            for p in wood.parts
        ),
        *(board_feet(quarters_count, step, (p.length - k) * step) for p in wood.pools),
    ]


def _cut_all(
    wood: WoodClass, found: Sequence[Sequence[Pattern]], choice: Choice, sawing: Sawing
) -> tuple[tuple[CutBoard, ...], list[int]]:
    """Cut the boards of a choice; and how many of each kind, or panels, are short."""
    taken: list[tuple[int, Board, Pattern]] = []
    free = [list(blank.boards) for blank in wood.blanks]
    for blank, number, count in choice.picks:
        for _ in range(count):
            taken.append((blank, free[blank].pop(0), found[blank][number]))
    room = [(at, s) for at, (b, _, p) in enumerate(taken) for s in spots(wood, wood.blanks[b], p)]
    named, short = _name(wood, room)
    limits = OffcutLimits(sawing.offcut_length, sawing.offcut_width)
    cut = []
    for at, (blank, board, pattern) in enumerate(taken):
        mine = [(spot, placed) for where, spot, placed in named if where == at]
        if mine:
            usable = (wood.blanks[blank].low * wood.rule, board.width - sawing.edge_loss)
            cut.append(cut_board(wood, wood.blanks[blank], board, pattern, mine, usable, limits))
    return tuple(cut), short


_NOWHERE = Rectangle(0.0, 0.0, 0.0, 0.0)


def _name(
    wood: WoodClass, room: Sequence[tuple[int, Spot]]
) -> tuple[list[tuple[int, Spot, Placed]], list[int]]:
    """Give the places their parts; what is over is left out."""
    named: list[tuple[int, Spot, Placed]] = []
    short = []
    for kind, part in enumerate(wood.parts):
        copies = [(d.name, n) for d in part.demands for n in range(1, d.count + 1)]
        places = [each for each in room if each[1].kind == kind]
        named += [
            (at, spot, Placed(name, copy, _NOWHERE))
            for (at, spot), (name, copy) in zip(places, copies, strict=False)
        ]
        short.append(max(part.count - len(places), 0))
    for kind, pool in enumerate(wood.pools, start=len(wood.parts)):
        places = [each for each in room if each[1].kind == kind]
        nets = [spot.width + wood.kerf - pool.taken for _, spot in places]
        panels = [(d, n) for d in pool.demands for n in range(1, d.count + 1)]
        shares, lacking = share_out(nets, [steps_up(d.width, wood.rule) for d, _ in panels])
        staves: dict[str, int] = {}
        for (at, spot), share in zip(places, shares, strict=True):
            if share is not None:
                demand, number = panels[share]
                staves[demand.name] = staves.get(demand.name, 0) + 1
                placed = Placed(demand.name, staves[demand.name], _NOWHERE, number)
                named.append((at, spot, placed))
        short.append(len(lacking))
    return named, short


def _missing(
    wood: WoodClass, found: Sequence[Sequence[Pattern]], short: Sequence[int], quarters_count: int
) -> tuple[Missing, ...]:
    missing = []
    for kind, count in enumerate(short):
        if not count:
            continue
        fits_none = not any(p.load[kind] for group in found for p in group)
        if kind < len(wood.parts):
            d = wood.parts[kind].demands[-1]
            feet = count * board_feet(quarters_count, d.width, d.length)
            missing.append(Missing(d.name, count, feet, d.length, fits_none))
        else:
            pool = wood.pools[kind - len(wood.parts)]
            e = max(pool.demands, key=lambda each: each.width)
            feet = count * board_feet(quarters_count, e.width, e.length)
            missing.append(Missing(e.name, count, feet, e.length, fits_none))
    return tuple(missing)
