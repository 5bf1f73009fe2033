"""What a plan book is made from. All of it is worked out before; the book only lays it out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from bedmodel.bed import Piece
from bedmodel.exports.paper.sheet import A4, Paper, Sheet
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.setting_out import PartMarks
from bedmodel.shop.steps import Step
from bedmodel.skeleton import Layout
from bedmodel.stock.buying import BuyingList
from bedmodel.stock.cut_list import CutList
from bedmodel.units import format_both

if TYPE_CHECKING:
    from bedmodel.checks.finding import Result


@dataclass(frozen=True)
class Contents:
    """The matter of one book.

    ``cover`` is a PNG of the bed; ``step_pictures`` are drawings by the number of their
    step, from 1; ``drawings``, ``board_pages`` and ``reckoning`` are whole sheets, each a page of
    its own size. ``more`` are sections on what was assumed: a heading, and lines.
    """

    layout: Layout
    pieces: Sequence[Piece]
    results: Sequence[Result]
    cuts: CutList
    buying: BuyingList
    steps: Sequence[Step]
    marks: Sequence[PartMarks]
    jigs: Sequence[Jig]
    mass_kg: float
    cover: bytes
    paper: Paper = A4
    step_pictures: Mapping[int, Sheet] = field(default_factory=dict)
    drawings: Sequence[Sheet] = ()
    board_pages: Sequence[Sheet] = ()
    reckoning: Sequence[Sheet] = ()
    more: Sequence[tuple[str, Sequence[str]]] = ()

    @property
    def title(self) -> str:
        return self.layout.sheet.design.title

    def show(self, length: float) -> str:
        """A length in the sheet's unit."""
        return self.layout.sheet.show(length)

    def sides(self, *lengths: float) -> str:
        """Sizes by one another, the unit once: "62 1/4 x 9 3/4 x 1 1/8 in"."""
        *first, last = (self.show(length) for length in lengths)
        return " x ".join((*(each.rpartition(" ")[0] for each in first), last))

    def both(self, length: float) -> str:
        """A length in the sheet's unit and the other."""
        return format_both(length, self.layout.sheet.design.unit)
