"""What a bed wants besides lumber, rod and metal: sheets of plywood, tape, staples.

A deck's panels are nested on the shop's sheets with their face grain along the sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bedmodel.outline import Outline
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.units import format_length

if TYPE_CHECKING:
    from bedmodel.stock.nest.sheets import SheetNest

_ALONG_GRAIN = (0.0, 180.0)


@dataclass(frozen=True)
class Supply:
    """One thing to buy: what, how many, and in which sizes."""

    what: str
    count: int
    sizes: str


def supplies(layout: Layout, shop: ShopProfile) -> tuple[Supply, ...]:
    """Sheets, tape and staples. Raises InputError for a panel that fits no sheet of the shop."""
    return tuple(_supplies(layout, shop))


def _supplies(layout: Layout, shop: ShopProfile) -> Iterator[Supply]:
    unit = layout.sheet.design.unit
    nest = deck_nest(layout, shop)
    if nest is not None and layout.deck is not None:
        size = " x ".join(format_length(side, unit) for side in (nest.size.length, nest.size.width))
        what = f"{layout.deck.plywood.label} {format_length(layout.deck.thickness, unit)}"
        yield Supply(what, len(nest.sheets), f"sheets of {size}, face grain along them")
    webbing = layout.webbing
    if webbing is not None:
        wide = format_length(layout.sheet.webbing.width, unit)
        each = format_length(webbing.length, unit)
        yield Supply(
            f"webbing tape {wide} wide",
            len(webbing.places),
            f"lengths of {each}, {webbing.metres:.2f} m in all",
        )
        yield Supply("staples for the tapes", webbing.staples, "two thirds of a slat's thickness")


def deck_nest(layout: Layout, shop: ShopProfile) -> SheetNest | None:
    """The deck's panels on the shop's sheets; None without a deck.

    Raises InputError for a panel that fits no sheet.
    """
    if layout.deck is None:
        return None
    # Loaded only here, since most beds have no deck.
    from bedmodel.stock.nest.sheets import SheetPart, SheetSize, nest_on_sheets

    goods = shop.sheet_goods
    size = SheetSize(goods.length, goods.width, goods.gap, goods.margin)
    parts = []
    for place in layout.deck.panels:
        outline = Outline.rectangle(place.length, place.width, ("long", "end", "long", "end"))
        sides = ("",) if layout.deck.rows == 1 else ("_left", "_right")
        parts += [SheetPart(f"deck_panel_{place.number}{side}", outline) for side in sides]
    return nest_on_sheets(parts, size, _ALONG_GRAIN)
