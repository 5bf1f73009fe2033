"""Stub."""

from __future__ import annotations

from bedmodel.legs.family import LegFamily, Tops
from bedmodel.spec import Sheet


def own(sheet: Sheet, tops: Tops, knee: float) -> LegFamily:
    raise NotImplementedError
