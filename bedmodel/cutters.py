"""Look up guide bushings and router bits, each row with its source and how sure it is.

A cutter is a bit with what guides it: a bushing in the router's base, or a bearing
on the bit. The rows stand in ``data/bushings.csv`` and ``data/bits.csv``; names are found and
``status`` is meant as in ``tables``. All diameters and lengths are in mm here.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from bedmodel.errors import InputError
from bedmodel.tables import index_of, lookup_key, rows_of, suggestion
from bedmodel.units import MM_PER_INCH, parse_length

# Room all round a bit inside its bushing, for run-out and chips (mm).
# Source: 1/32 in, common practice; it gives the trade's table of largest bits.
BIT_CLEARANCE = MM_PER_INCH / 32


@dataclass(frozen=True)
class Bushing:
    """A guide bushing: outside diameter, and inside diameter or None where not known (mm)."""

    name: str
    label: str
    outer: float
    inner: float | None
    aliases: tuple[str, ...]
    status: str
    source: str
    note: str

    @property
    def largest_bit(self) -> float | None:
        """The largest bit that clears the bushing all round; None while ``inner`` is not known."""
        return None if self.inner is None else self.inner - 2 * BIT_CLEARANCE


@dataclass(frozen=True)
class Bit:
    """A router bit: cutting diameter and length, shank, and bearing or None (mm)."""

    name: str
    label: str
    style: str
    diameter: float
    length: float
    shank: float
    bearing: float | None
    aliases: tuple[str, ...]
    status: str
    source: str
    note: str


@functools.cache
def bushings() -> Mapping[str, Bushing]:
    """Every guide bushing by its name, in the order of the table."""
    return MappingProxyType({row["name"]: _bushing(row) for row in rows_of("bushings.csv")})


@functools.cache
def bits() -> Mapping[str, Bit]:
    """Every router bit by its name, in the order of the table."""
    return MappingProxyType({row["name"]: _bit(row) for row in rows_of("bits.csv")})


def bushing(name: str, parameter: str = "bushing") -> Bushing:
    """Find a guide bushing by name or alias, such as "3/4 in" or "30 mm".

    Raises InputError about ``parameter``, with the nearest names and all the names.
    """
    index = _bushing_index()
    found = index.get(lookup_key(name))
    if found is None:
        remedy = f"{suggestion(name, index)}the table has {', '.join(bushings())}"
        raise InputError(parameter, name, "is not in the table", remedy)
    return found


def bit(name: str, parameter: str = "bit") -> Bit:
    """Find a router bit by name or alias.

    Raises InputError about ``parameter``, with the nearest names and all the names.
    """
    index = _bit_index()
    found = index.get(lookup_key(name))
    if found is None:
        remedy = f"{suggestion(name, index)}the table has {', '.join(bits())}"
        raise InputError(parameter, name, "is not in the table", remedy)
    return found


# --- guided bits -------------------------------------------------------------------------


@dataclass(frozen=True)
class Cutter:
    """A bit of ``diameter`` whose guide, a bushing or a bearing, has the diameter ``guide`` (mm).

    Raises InputError where a bushing is not larger than its bit.
    """

    diameter: float
    guide: float
    style: Literal["bushing", "bearing"] = "bearing"

    def __post_init__(self) -> None:
        for name, value in (("bit", self.diameter), (self.style, self.guide)):
            if not (math.isfinite(value) and value > 0):
                raise InputError(name, f"{value:g} mm", "must be more than 0")
        if self.style == "bushing" and self.guide <= self.diameter:
            raise InputError(
                "bushing", f"{self.guide:g} mm", f"must be more than its bit, {self.diameter:g} mm"
            )

    @property
    def offset(self) -> float:
        """From the template's edge to the cut (mm); negative for a bearing under the bit's size."""
        return (self.guide - self.diameter) / 2

    def __str__(self) -> str:
        return f"{self.diameter:g} mm bit with a {self.guide:g} mm {self.style}"


def bushing_cutter(bushing: Bushing, diameter: float) -> Cutter:
    """Put a bit through a bushing of the table.

    Raises InputError when the bit does not clear the bushing by 1/32 in all round.
    A bushing whose inside is not known is judged by its outside.
    """
    inner = bushing.outer if bushing.inner is None else bushing.inner
    largest = inner - 2 * BIT_CLEARANCE
    if diameter > largest + 1e-6:
        raise InputError(
            "bit",
            f"{diameter:g} mm",
            f"does not clear the {bushing.label} by 1/32 in all round, the largest bit that would "
            f"do is {round_down(largest)} mm",
        )
    return Cutter(diameter, bushing.outer, "bushing")


def pattern_cutter(bit: Bit) -> Cutter:
    """Take a pattern bit of the table. Raises InputError for a bit without a bearing."""
    if bit.bearing is None:
        raise InputError("bit", bit.name, "has no bearing to guide it", "take a pattern bit")
    return Cutter(bit.diameter, bit.bearing, "bearing")


def finished_inside_radius(template_radius: float, cutter: Cutter) -> float:
    """Radius in the wood from an inside corner of the template; 0 is a sharp template corner."""
    return max(cutter.diameter / 2, template_radius - cutter.offset)


def finished_outside_radius(template_radius: float, cutter: Cutter) -> float:
    """Radius in the wood from an outside corner of the template; 0 is a sharp template corner."""
    return max(0.0, template_radius + cutter.offset)


def round_down(size: float) -> str:
    """A largest size in words, rounded down so that it still does."""
    return f"{math.floor(size * 1000 + 1e-4) / 1000:g}"


# --- reading -----------------------------------------------------------------------------


@functools.cache
def _bushing_index() -> dict[str, Bushing]:
    return index_of(bushings())


@functools.cache
def _bit_index() -> dict[str, Bit]:
    return index_of(bits())


def _bushing(row: dict[str, str]) -> Bushing:
    return Bushing(
        name=row["name"],
        label=row["label"],
        outer=parse_length(f"{row['outer']} {row['unit']}", "mm"),
        inner=_optional_length(row["inner"], row["unit"]),
        aliases=tuple(row["aliases"].split()),
        status=row["status"],
        source=row["source"],
        note=row["note"],
    )


def _bit(row: dict[str, str]) -> Bit:
    return Bit(
        name=row["name"],
        label=row["label"],
        style=row["style"],
        diameter=parse_length(f"{row['diameter']} {row['unit']}", "mm"),
        length=parse_length(f"{row['length']} {row['unit']}", "mm"),
        shank=parse_length(f"{row['shank']} {row['unit']}", "mm"),
        bearing=_optional_length(row["bearing"], row["unit"]),
        aliases=tuple(row["aliases"].split()),
        status=row["status"],
        source=row["source"],
        note=row["note"],
    )


def _optional_length(cell: str, unit: str) -> float | None:
    return parse_length(f"{cell} {unit}", "mm") if cell else None
