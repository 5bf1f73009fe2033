"""What a part is made of: a wood, or the metal of a fastener, with its density and colour."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from bedmodel.panels import Panel, is_panel, panel
from bedmodel.tables import Wood, lookup_key, rows_of, wood


@dataclass(frozen=True)
class Metal:
    """The metal of a fastener; ``density_kg_m3`` and ``colour`` as a hex code."""

    name: str
    label: str
    density_kg_m3: float
    colour: str
    status: str
    source: str
    note: str

    @property
    def rgb(self) -> tuple[float, float, float]:
        """The colour as red, green and blue (sRGB, 0 to 1)."""
        red, green, blue = (int(self.colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
        return red, green, blue


@functools.cache
def metals() -> Mapping[str, Metal]:
    """Every metal by its name, in the order of the table."""
    return MappingProxyType({row["name"]: _metal(row) for row in rows_of("metals.csv")})


def is_metal(name: str) -> bool:
    return lookup_key(name) in metals()


def material(name: str, own: Sequence[Wood] = ()) -> Wood | Metal | Panel:
    """The wood, of the table or the maker's ``own``, or the metal or plywood of that name.

    Raises InputError when there is none.
    """
    if is_panel(name):
        return panel(name)
    metal = metals().get(lookup_key(name))
    return metal if metal is not None else wood(name, "wood.species", own)


def _metal(row: dict[str, str]) -> Metal:
    return Metal(
        name=row["name"],
        label=row["label"],
        density_kg_m3=float(row["density"]),
        colour=row["colour"],
        status=row["status"],
        source=row["source"],
        note=row["note"],
    )
