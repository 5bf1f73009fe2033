"""What to ask the yard for: class, board feet with the grade's yield, sizes, cost.

net     the finished parts
rough   the parts as cut, allowances in, at the class's nominal thickness
gross   rough by the grade's least clear share, and the shop's spare
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bedmodel.lumber import Grade, ThicknessClass, grade
from bedmodel.materials import material
from bedmodel.shop_profile import ShopProfile
from bedmodel.stock.cut_list import CutItem, CutList
from bedmodel.stock.supplies import Supply
from bedmodel.tables import Wood, wood, woods

FOOT = 304.8
LENGTHS_FT = (6, 8, 10, 12, 14, 16)  # boards are sold by even feet, common practice


@dataclass(frozen=True)
class BuyRow:
    """One species and class: board feet, the least board that serves, its cost if known.

    ``lengths`` says, for each length sold, how many of the longest parts one board
    gives end to end.
    """

    species: str
    lumber: ThicknessClass
    net: float
    rough: float
    gross: float
    least_width: float
    least_length: float
    lengths: tuple[tuple[int, int], ...]
    cost: float | None

    @property
    def class_name(self) -> str:
        return self.lumber.name


@dataclass(frozen=True)
class Alternative:
    """The bed in another species: lumber's cost, and the finished wood's mass."""

    species: str
    label: str
    cost: float | None
    mass_kg: float


@dataclass(frozen=True)
class BuyingList:
    """The rows to buy, at which grade; and what the main species could be instead."""

    grade: Grade
    rows: tuple[BuyRow, ...]
    rods: tuple[CutItem, ...]
    hardware: tuple[tuple[str, int], ...]
    supplies: tuple[Supply, ...]
    alternatives: tuple[Alternative, ...]

    @property
    def gross(self) -> float:
        return sum(row.gross for row in self.rows)

    @property
    def cost(self) -> float | None:
        """Of all rows; None where one has no price."""
        return _sum(row.cost for row in self.rows)


def buying_list(
    cuts: CutList, shop: ShopProfile, main_species: str, own: Sequence[Wood] = ()
) -> BuyingList:
    """The buying list of a cut list. Raises InputError for an unknown grade."""
    found = grade(shop.buying.grade, "buying.grade")
    groups: dict[tuple[str, int], list[CutItem]] = {}
    for item in cuts.lumber:
        assert item.lumber is not None
        groups.setdefault((item.species, item.lumber.quarters_count), []).append(item)
    rows = tuple(_row(items, found, shop) for items in groups.values())
    return BuyingList(
        grade=found,
        rows=rows,
        rods=tuple(item for item in cuts.items if item.is_bought and not item.is_panel),
        hardware=cuts.hardware,
        supplies=cuts.supplies,
        alternatives=tuple(_alternatives(cuts, rows, shop, main_species, own)),
    )


def _row(items: list[CutItem], found: Grade, shop: ShopProfile) -> BuyRow:
    first = items[0]
    assert first.lumber is not None
    rough = sum(item.rough_board_feet for item in items)
    gross = float(rough / found.share) * (1 + shop.buying.spare / 100)
    longest = max(item.rough_length for item in items)
    widest = max(item.staves.width if item.staves else item.rough_width for item in items)
    price = shop.price_of(first.species, first.lumber.quarters_count)
    return BuyRow(
        species=first.species,
        lumber=first.lumber,
        net=sum(item.net_board_feet for item in items),
        rough=rough,
        gross=gross,
        least_width=widest + 2 * shop.allowance.edge,
        least_length=longest + shop.allowance.board_ends,
        lengths=tuple(_lengths(longest, shop)),
        cost=None if price is None else price * gross,
    )


def _lengths(longest: float, shop: ShopProfile) -> Iterable[tuple[int, int]]:
    """For each length sold, how many of the longest part it gives; none it does not."""
    for feet in LENGTHS_FT:
        usable = feet * FOOT - shop.allowance.board_ends + shop.machines.kerf
        count = math.floor(usable / (longest + shop.machines.kerf) + 1e-9)
        if count:
            yield feet, count


def _alternatives(
    cuts: CutList,
    rows: Iterable[BuyRow],
    shop: ShopProfile,
    main_species: str,
    own: Sequence[Wood],
) -> Iterable[Alternative]:
    """The main species first, then every other wood that has a price."""
    volume: dict[str, float] = {}
    for item in cuts.items:
        volume[item.species] = volume.get(item.species, 0.0) + item.cubic_metres
    priced = {price.species for price in shop.price}
    names = [main_species, *(name for name in woods() if name in priced and name != main_species)]
    rows = list(rows)
    for name in names:
        costs = []
        for row in rows:
            species = name if row.species == main_species else row.species
            price = shop.price_of(species, row.lumber.quarters_count)
            costs.append(None if price is None else price * row.gross)
        mass = sum(
            v * material(name if species == main_species else species, own=own).density_kg_m3
            for species, v in volume.items()
        )
        yield Alternative(name, wood(name, own=own).label, _sum(costs), mass)


def _sum(costs: Iterable[float | None]) -> float | None:
    total = 0.0
    for cost in costs:
        if cost is None:
            return None
        total += cost
    return total
