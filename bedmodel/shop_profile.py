"""The shop: what its machines can take, what it allows for waste, what wood costs there.

One TOML file, ``shared/shop.toml`` or the maker's own, in a unit of its own.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field

from bedmodel import fields
from bedmodel.cutters import bit, bushing
from bedmodel.fields import Angle, Length, Section
from bedmodel.lumber import grade
from bedmodel.profile_bits import profile_bits
from bedmodel.sheets import read_table, shared_folder, unit_of, validated
from bedmodel.tables import wood
from bedmodel.units import LengthUnit

SHOP = "shop.toml"


class Machines(Section):
    """What the machines can take. Common sizes of a small shop, no source."""

    jointer: Length = fields.length(203.2, 80, 600, "Widest board that the jointer flattens.")
    planer: Length = fields.length(330.2, 150, 1300, "Widest board that the planer takes.")
    kerf: Length = fields.length(3.175, 0.5, 10, "Width of the saw cut.")
    rip: Length = fields.length(750, 150, 1600, "Widest strip between saw and fence.")
    crosscut: Length = fields.length(300, 100, 1600, "Widest board cut square to its length.")
    rule: Length = fields.length(1.5875, 0.1, 10, "Rough cuts are measured to this.")


class Allowance(Section):
    """What rough parts have over finished ones. Common practice, no source."""

    length: Length = fields.length(25, 0, 200, "On a part's length, for both ends.")
    width: Length = fields.length(6, 0, 50, "On its width, for both edges.")
    thickness: Length = fields.length(
        0, 0, 20, "On its thickness, beyond what surfacing takes of its class."
    )
    board_ends: Length = fields.length(
        50, 0, 300, "Cut off a bought board's ends, in all, for checks and snipe."
    )
    edge: Length = fields.length(6, 0, 50, "Taken off each edge of a board to straighten it.")
    strip_least: Length = fields.length(20, 5, 100, "Narrowest strip that is ripped safely.")
    planed_least: Length = fields.length(
        300, 150, 800, "Shortest piece that is jointed and planed safely."
    )


class GlueUp(Section):
    """How wide and thick parts are made up."""

    stave_least: Length = fields.length(50, 20, 200, "Narrowest stave of a panel.")
    stave_most: Length | None = fields.length(
        None, 60, 600, "Widest stave of a panel.", worked_out="what every machine takes"
    )
    joint: Length = fields.length(3, 0, 12, "Lost of each stave's width in straightening it.")
    laminate: Literal["allowed", "never"] = fields.choice(
        "allowed", "allowed: parts thicker than the thickest class are glued up of layers."
    )
    thickest: int = fields.count(12, 4, 16, "Thickest class bought, in quarters of an inch.")


class Nest(Section):
    """How shaped legs are nested on a plank. Common practice, no source."""

    gap: Length = fields.length(8, 0, 100, "Between two legs: two blanks' allowances and the saw.")
    margin: Length = fields.length(4, 0, 100, "Between a leg and an end, an edge or a defect.")
    blank: Length = fields.length(3, 0, 50, "Sawn outside the line all round.")
    kerf: Length = fields.length(1.5, 0, 20, "Of the band saw.")
    grain: Angle = fields.angle(5, 0, 30, "Most that a leg is tilted out of the grain.")
    turn_over: Literal["allowed", "never"] = fields.choice(
        "allowed", "allowed: a leg may lie with either face up, as its mirror image."
    )
    end_for_end: Literal["allowed", "never"] = fields.choice(
        "allowed", "allowed: a leg may lie with its foot towards either end."
    )


class SheetGoods(Section):
    """The sheet that templates and jig plates are cut from. Common practice, no source."""

    length: Length = fields.length(2440, 300, 5000, "Length of the sheet.")
    width: Length = fields.length(1220, 200, 5000, "Width of the sheet.")
    gap: Length = fields.length(10, 0, 100, "Between two plates: the cutter, and a web that holds.")
    margin: Length = fields.length(10, 0, 45, "Between a plate and the sheet's edge.")


class Buying(Section):
    """What is asked for at the yard."""

    grade: str = fields.words("no1-common", "Grade of the lumber, by the table of grades.")
    classes: tuple[int, ...] = Field(
        (4, 5, 6, 8, 10, 12, 16),
        min_length=1,
        max_length=20,
        description="Thickness classes that the yard has, in quarters of an inch.",
    )
    spare: int = fields.count(10, 0, 100, "Bought over the reckoned need, in per cent.")


class Price(Section):
    """Price of one species, by the board foot; of one class, or of all others."""

    species: str = fields.words("white-oak", "Species, from the table of woods.", limit=40)
    quarters: int | None = fields.count(
        None, 3, 16, "Class in quarters of an inch.", worked_out="all classes without a row"
    )
    board_foot: float = Field(
        ...,
        description="Price of a board foot, in any currency.",
        ge=0,
        le=1e6,
        allow_inf_nan=False,
    )


class Racks(Section):
    """Which cutters the shop has."""

    bits: tuple[str, ...] = Field((), max_length=60, description="Bits on hand, by the table.")
    bushings: tuple[str, ...] = Field(
        (), max_length=60, description="Guide bushings on hand, by the table."
    )


class ShopProfile(Section):
    """The whole shop."""

    unit: LengthUnit = fields.choice("mm", "Unit of bare numbers in this file.")
    machines: Machines = Field(Machines(), description="Machines.")
    allowance: Allowance = Field(Allowance(), description="Allowances.")
    glue_up: GlueUp = Field(GlueUp(), description="Panels and laminations.")
    buying: Buying = Field(Buying(), description="Buying.")
    nest: Nest = Field(Nest(), description="The leg nest.")
    sheet_goods: SheetGoods = Field(SheetGoods(), description="Sheet goods.")
    router: Racks = Field(Racks(), description="Bits and bushings on hand.")
    price: tuple[Price, ...] = Field((), max_length=200, description="Prices.")

    @property
    def widest_piece(self) -> float:
        """The widest piece of wood that every machine takes."""
        m = self.machines
        return min(m.jointer, m.planer, m.crosscut, m.rip)

    @property
    def stave_most(self) -> float:
        """Widest stave: what is given, but never more than every machine takes."""
        given = self.glue_up.stave_most
        return self.widest_piece if given is None else min(given, self.widest_piece)

    @property
    def stave_least(self) -> float:
        """Narrowest stave: what is given, but never less than is ripped safely."""
        return max(self.glue_up.stave_least, self.allowance.strip_least)

    def price_of(self, species: str, quarters_count: int) -> float | None:
        """The price of a board foot; None where the table has none."""
        rows = [p for p in self.price if p.species == species]
        exact = [p.board_foot for p in rows if p.quarters == quarters_count]
        general = [p.board_foot for p in rows if p.quarters is None]
        return next(iter(exact + general), None)


def load_profile(where: str | None) -> ShopProfile:
    """Read a shop profile; without a name, the one that comes with the program.

    Raises InputError for a file that cannot be read or does not hold one.
    """
    path = shared_folder() / SHOP if where is None else Path(where)
    table = read_table(path, "--shop", "give a .toml file as shared/shop.toml")
    unit = unit_of(table.get("unit", "mm"), "unit", path)
    shop = validated(ShopProfile, table, unit)
    for i, price in enumerate(shop.price, start=1):
        wood(price.species, f"price.{i}.species")
    grade(shop.buying.grade, "buying.grade")
    for name in shop.router.bits:
        if name not in profile_bits():
            bit(name, "router.bits")
    for name in shop.router.bushings:
        bushing(name, "router.bushings")
    return shop
