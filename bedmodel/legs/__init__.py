"""Styles of legs, each a module with one function that gives the family of a bed's legs."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from bedmodel.legs.bracket import bracket
from bedmodel.legs.family import Foot, Gauge, LegFamily, LegSection, Tops
from bedmodel.legs.octagon import octagon
from bedmodel.legs.own import own
from bedmodel.legs.sabre import sabre
from bedmodel.legs.splayed import splayed
from bedmodel.legs.straight import straight
from bedmodel.legs.tapered import tapered
from bedmodel.legs.turned import turned
from bedmodel.spec import Sheet

__all__ = ["STYLES", "Foot", "Gauge", "LegFamily", "LegSection", "leg_family", "unused"]

Make = Callable[[Sheet, Tops, float], LegFamily]

# Each style: who makes it, and the parameters of [leg] that only some styles use.
STYLES: Mapping[str, tuple[Make, frozenset[str]]] = {
    "straight": (straight, frozenset({"top_width"})),
    "splayed": (
        splayed,
        frozenset({"top_width", "splay", "ankle_width", "foot_width"})
        | {"curve_diameter", "flare_diameter"},
    ),
    "tapered": (tapered, frozenset({"top_width", "taper", "taper_width", "taper_depth"})),
    "sabre": (sabre, frozenset({"top_width", "taper_width", "sweep"})),
    "turned": (turned, frozenset({"top_width", "turned_width", "taper_width"})),
    "octagon": (octagon, frozenset({"top_width", "taper_width", "taper_depth"})),
    "bracket": (bracket, frozenset({"top_width", "bracket", "bracket_height", "bracket_spread"})),
    "own": (own, frozenset({"outline", "outline_foot"})),
}


def leg_family(sheet: Sheet, tops: Tops, knee: float) -> LegFamily:
    """Work out the family from the heights of head and foot legs and the knee's height.

    Raises InputError where the style finds no room.
    """
    make, _ = STYLES[sheet.leg.style]
    return make(sheet, tops, knee)


def unused(sheet: Sheet) -> tuple[str, ...]:
    """The parameters of [leg] that the sheet sets and its style does not use."""
    _, used = STYLES[sheet.leg.style]
    of_some = frozenset().union(*(names for _, names in STYLES.values()))
    leg = sheet.leg
    fields = type(leg).model_fields
    return tuple(
        f"leg.{name}"
        for name in fields
        if name in of_some - used
        and name in leg.model_fields_set
        and getattr(leg, name) != fields[name].default
    )
