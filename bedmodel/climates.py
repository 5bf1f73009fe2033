"""Where the bed stands: how dry and how damp its wood becomes over a year."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bedmodel.errors import InputError
from bedmodel.moisture import FIBRE_SATURATION, moisture_content
from bedmodel.tables import index_of, lookup_key, rows_of, suggestion


@dataclass(frozen=True)
class Climate:
    """Least, mean and greatest moisture content of wood indoors over a year (%)."""

    name: str
    label: str
    low: float
    mean: float
    high: float
    source: str
    status: str
    note: str = ""
    aliases: tuple[str, ...] = ()


@functools.cache
def climates() -> Mapping[str, Climate]:
    """Every climate by its name, in the order of ``data/climates.csv``."""
    return MappingProxyType({row["name"]: _climate(row) for row in rows_of("climates.csv")})


def climate(name: str, parameter: str = "climate.name") -> Climate:
    """Find a climate by name. Raises InputError about ``parameter``, with the names."""
    index = index_of(climates())
    found = index.get(lookup_key(name))
    if found is None:
        remedy = f"{suggestion(name, index)}the table has {', '.join(climates())}"
        raise InputError(parameter, name, "is not in the table", remedy)
    return found


def own_climate(low: float, high: float, parameter: str = "climate.driest") -> Climate:
    """A climate from a maker's own readings of wood moisture, % at the driest and dampest.

    Raises InputError about ``parameter`` where the driest is not the drier.
    """
    if not 0 <= low < high <= FIBRE_SATURATION:
        raise InputError(
            parameter,
            f"{low:g} to {high:g} %",
            f"must be two moisture contents from 0 to {FIBRE_SATURATION:g} %, the drier first",
            "change them",
        )
    return Climate(
        "own", f"{low:g} to {high:g} %", low, (low + high) / 2, high, "your own", "confirmed"
    )


def climate_of_air(dry: tuple[float, float], damp: tuple[float, float]) -> Climate:
    """A climate from the air: temperature (C) and relative humidity (%) in both seasons."""
    low, high = (moisture_content(*air) for air in (dry, damp))
    return own_climate(round(low, 1), round(high, 1), "climate.dry_humidity")


def _climate(row: dict[str, str]) -> Climate:
    return Climate(
        row["name"],
        row["label"],
        float(row["low"]),
        float(row["mean"]),
        float(row["high"]),
        row["source"],
        row["status"],
        row["note"],
    )
