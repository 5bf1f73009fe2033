"""What a notebook shows of a bed or of any CadQuery model: a view in a frame, offline.

The whole page stands in the frame's ``srcdoc``, sandboxed: its scripts run, but reach neither
the notebook nor its server, and its own policy forbids everything from outside.
"""

from __future__ import annotations

import html
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bedmodel.assembly import Bed

HEIGHT = 640  # pixels
UNCHECKED = "not checked here, bedmodel check does"


class View:
    """A page for a cell to end with: ``View(assembly)`` shows any CadQuery model, offline."""

    def __init__(self, model: Any, title: str = "", height: int = HEIGHT) -> None:
        self.model, self.title, self.height = model, title, height

    def __repr__(self) -> str:
        return f"<View of {self.title or type(self.model).__name__}>"

    def _repr_html_(self) -> str:
        """The frame. Raises InputError for what is no model, or holds nothing to show."""
        from bedmodel.exports.report.any_model import any_model_html

        return _frame(any_model_html(self.model, self.title), self.title or "model", self.height)


def framed(bed: Bed, height: int = HEIGHT) -> str:
    """An iframe with the bed's page: the view, parts, cut list and joints.

    Checks, strength and the still picture are left out, since a cell is run again and again.
    """
    return _frame(page_of(bed), bed.layout.sheet.design.title, height)


def _frame(page: bytes, title: str, height: int) -> str:
    text = html.escape(page.decode("utf-8"), quote=True)
    return (
        f'<iframe title="{html.escape(title, quote=True)}" sandbox="allow-scripts" width="100%" '
        f'height="{height}" style="border:0;display:block" srcdoc="{text}"></iframe>'
    )


def page_of(bed: Bed) -> bytes:
    """The page by itself, quickly made."""
    from bedmodel.exports.report.matter import Matter
    from bedmodel.exports.report.page import report_html
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.cut_list import cut_list

    cuts = cut_list(bed.pieces, load_profile(None), bed.layout.sheet.design.unit)
    return report_html(Matter(bed, (), cuts, b"", unchecked=UNCHECKED))
