"""What a notebook shows of a bed: the report's view, in a frame that asks for nothing.

The whole page stands in the frame's ``srcdoc``, sandboxed: its scripts run, but reach neither
the notebook nor its server, and its own policy forbids everything from outside.
"""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bedmodel.assembly import Bed

HEIGHT = 640  # pixels
UNCHECKED = "not checked here, bedmodel check does"


def framed(bed: Bed, height: int = HEIGHT) -> str:
    """An iframe with the bed's page: the view, parts, cut list and joints.

    Checks, strength and the still picture are left out, since a cell is run again and again.
    """
    page = html.escape(page_of(bed).decode("utf-8"), quote=True)
    title = html.escape(bed.layout.sheet.design.title, quote=True)
    return (
        f'<iframe title="{title}" sandbox="allow-scripts" width="100%" height="{height}" '
        f'style="border:0;display:block" srcdoc="{page}"></iframe>'
    )


def page_of(bed: Bed) -> bytes:
    """The page by itself, quickly made."""
    from bedmodel.exports.report.matter import Matter
    from bedmodel.exports.report.page import report_html
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.cut_list import cut_list

    cuts = cut_list(bed.pieces, load_profile(None), bed.layout.sheet.design.unit)
    return report_html(Matter(bed, (), cuts, b"", unchecked=UNCHECKED))
