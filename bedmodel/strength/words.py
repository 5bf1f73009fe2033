"""How the numbers of a reckoning are written: no closer than they bear."""

from __future__ import annotations

import math

from bedmodel.spec import Sheet
from bedmodel.units import MM_PER_INCH

_INCH_STEP = MM_PER_INCH / 32
_HALF = 0.5


def sag_text(sheet: Sheet, mm: float) -> str:
    """A sag: to half a millimetre, or 1/32 in; more would be false precision."""
    if not math.isfinite(mm):
        return "no end"
    if mm < _HALF / 2:
        return "0"
    if sheet.design.unit == "inch":
        return sheet.show(max(1, round(mm / _INCH_STEP)) * _INCH_STEP)
    return f"{math.floor(mm / _HALF + 0.5) * _HALF:g} mm"


def use_text(use: float) -> str:
    """A share used of what is allowed, to one decimal, upwards: a failure never reads 1.0."""
    return f"{math.ceil(use * 10 - 1e-9) / 10:.1f}"


def plain(name: str) -> str:
    """A member's or a piece's name in words."""
    return name.replace("_", " ")
