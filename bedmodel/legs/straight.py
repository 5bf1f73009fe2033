"""A post: square all the way down.

+-------+
|       |
|       |
|       |
+-------+
"""

from __future__ import annotations

from bedmodel.legs.family import LegFamily, Tops, check_easing, check_margins, eased_by
from bedmodel.spec import Sheet


def straight(sheet: Sheet, tops: Tops, knee: float) -> LegFamily:
    """Posts of ``leg.top_width`` by ``leg.thickness``."""
    del tops
    leg = sheet.leg
    check_margins(sheet)
    check_easing(sheet, leg.top_width)
    return LegFamily(0.0, leg.top_width, knee, None, eased_by(sheet), thickness=leg.thickness)
