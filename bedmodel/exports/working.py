"""What several papers of one bed rest on: worked out once, when it is first asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from bedmodel.assembly import Bed
from bedmodel.exports.beside import begun
from bedmodel.exports.looks import looks_of
from bedmodel.exports.picture import png_bytes
from bedmodel.exports.shop_files import Workshop
from bedmodel.stock.cut_list import CutList, cut_list
from bedmodel.stock.sawing import RackPlan, plan_for_shop
from bedmodel.strength.answer import Strength, strength

PICTURE = (1120, 700)  # pixels, of the book's cover and the report


def _nothing(text: str) -> None:
    """Say nothing."""


@dataclass(frozen=True)
class Working:
    """A bed, the shop that makes it, and what is worked out from both.

    Whatever asks for the cut list, the board plan, the strength or the still picture takes it
    from here, so that no two papers can differ. Raises InputError for what the shop cannot make.
    """

    bed: Bed
    workshop: Workshop
    say: Callable[[str], None] = _nothing

    @cached_property
    def cuts(self) -> CutList:
        unit = self.bed.layout.sheet.design.unit
        return cut_list(self.bed.pieces, self.workshop.shop, unit, self.bed.layout)

    @cached_property
    def plan(self) -> RackPlan | None:
        """Which part comes out of which board; None without a rack."""
        rack, shop = self.workshop.rack, self.workshop.shop
        if rack is None:
            return None
        self.say("planning the boards")
        return plan_for_shop(rack, self.cuts, self.bed.pieces, shop, "wood")

    @cached_property
    def strength(self) -> Strength:
        return strength(self.bed.layout)

    def begin_picture(self) -> None:
        """Have the picture drawn beside the rest."""
        _ = self._picture

    @cached_property
    def picture(self) -> bytes:
        """The bed as a PNG of ``PICTURE`` pixels, transparent where it is not."""
        return self._picture()

    @cached_property
    def _picture(self) -> Callable[[], bytes]:
        return begun(_still, self.bed)


def _still(bed: Bed) -> bytes:
    width, height = PICTURE
    looks = looks_of(bed)
    return png_bytes(bed.pieces, bed.solids, looks, width=width, height=height, background=None)
