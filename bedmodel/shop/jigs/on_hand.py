"""Which router bits and bushings may be chosen: all of the tables, or what the shop has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bedmodel.cutters import Bit, Bushing, bit, bits, bushing, bushings
from bedmodel.errors import InputError
from bedmodel.profile_bits import profile_bits
from bedmodel.shop_profile import ShopProfile


@dataclass(frozen=True)
class OnHand:
    """Bits and bushings by their names. ``own``: they are the shop's, and no others are there."""

    bits: Mapping[str, Bit]
    bushings: Mapping[str, Bushing]
    own_bits: bool = False
    own_bushings: bool = False

    @property
    def bits_words(self) -> str:
        """Where its bits come from, in a refusal."""
        return "on hand in the shop" if self.own_bits else "of the table"

    @property
    def bushings_words(self) -> str:
        """Where its bushings come from, in a refusal."""
        return "on hand in the shop" if self.own_bushings else "of the table"

    def bit(self, name: str, parameter: str) -> Bit:
        """A bit by name. Raises InputError when it is in no table, or not on hand."""
        found = bit(name, parameter)
        if found.name not in self.bits:
            raise InputError(
                parameter,
                found.name,
                "is not on hand in the shop",
                f"its router.bits are {', '.join(self.bits)}",
            )
        return found

    def bushing(self, name: str, parameter: str) -> Bushing:
        """A bushing by name. Raises InputError when it is in no table, or not on hand."""
        found = bushing(name, parameter)
        if found.name not in self.bushings:
            raise InputError(
                parameter,
                found.name,
                "is not on hand in the shop",
                f"its router.bushings are {', '.join(self.bushings)}",
            )
        return found


def on_hand(shop: ShopProfile | None) -> OnHand:
    """What a shop has; everything for none, and of a kind that its file does not list.

    Raises InputError for names that are in no table.
    """
    own_bits, own_bushings = (shop.router.bits, shop.router.bushings) if shop else ((), ())
    # Bits for edge profiles stand in a table of their own.
    mine = [bit(name, "router.bits") for name in own_bits if name not in profile_bits()]
    guides = [bushing(name, "router.bushings") for name in own_bushings]
    return OnHand(
        {each.name: each for each in mine} or bits(),
        {each.name: each for each in guides} or bushings(),
        bool(mine),
        bool(guides),
    )


ALL = on_hand(None)
