"""Plywood for decks: the rows of ``data/panels.csv``, by name and thickness."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bedmodel.errors import InputError
from bedmodel.tables import lookup_key, rows_of


@dataclass(frozen=True)
class Panel:
    """Plywood of one thickness (mm; MPa): values along the face grain, and across it."""

    name: str
    label: str
    thickness: float
    bending: float
    bending_across: float
    modulus: float
    modulus_across: float
    planar_shear: float
    planar_modulus: float
    bearing: float
    density_kg_m3: float
    colour: str
    status: str
    source: str

    @property
    def rgb(self) -> tuple[float, float, float]:
        """The colour as red, green and blue (sRGB, 0 to 1)."""
        red, green, blue = (int(self.colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
        return red, green, blue


@functools.cache
def panels() -> Mapping[str, tuple[Panel, ...]]:
    """Every plywood by its name, thin to thick."""
    found: dict[str, list[Panel]] = {}
    for row in rows_of("panels.csv"):
        found.setdefault(row["name"], []).append(_panel(row))
    return MappingProxyType({name: tuple(rows) for name, rows in found.items()})


def is_panel(name: str) -> bool:
    return lookup_key(name) in _index()


def panel(name: str, thickness: float | None = None, parameter: str = "deck.panel") -> Panel:
    """The plywood of that name whose thickness is nearest; without one, the first.

    Raises InputError about ``parameter``, with the names.
    """
    rows = _index().get(lookup_key(name))
    if rows is None:
        raise InputError(
            parameter, name, "is not in the table", f"the table has {', '.join(panels())}"
        )
    if thickness is None:
        return rows[0]
    wanted = thickness
    return min(rows, key=lambda row: (abs(row.thickness - wanted), row.thickness))


@functools.cache
def _index() -> Mapping[str, tuple[Panel, ...]]:
    return {lookup_key(name): rows for name, rows in panels().items()}


def _panel(row: Mapping[str, str]) -> Panel:
    return Panel(
        name=row["name"],
        label=row["label"],
        thickness=float(row["thickness"]),
        bending=float(row["bending"]),
        bending_across=float(row["bending_across"]),
        modulus=float(row["modulus"]),
        modulus_across=float(row["modulus_across"]),
        planar_shear=float(row["planar_shear"]),
        planar_modulus=float(row["planar_modulus"]),
        bearing=float(row["bearing"]),
        density_kg_m3=float(row["density"]),
        colour=row["colour"],
        status=row["status"],
        source=row["source"],
    )
