"""Look up mattress sizes and woods, each row with its source and how sure it is.

The rows stand in ``data/*.csv`` and are read at the first question. A name is
found however it is cased or spaced: "US Queen", "us_queen" and "us-queen" are
one. ``status`` of a row or of a group of its values is one of

    confirmed    read in a published table, or worked out from values that were
    disputed     published tables disagree; ``note`` gives the other value
    unconfirmed  not read in a published table: check it before relying on it
"""

from __future__ import annotations

import csv
import functools
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Protocol, TypeVar

from bedmodel.errors import InputError
from bedmodel.units import MPA_PER_PSI, parse_length

STATUSES = ("confirmed", "disputed", "unconfirmed")

# Density of wood at moisture content x is 1000 G (1 + x/100) kg/m3, G being ovendry
# mass over volume at x; here x is 12.
# Source: Wood Handbook, FPL-GTR-282, ch. 4, density equation.
_KG_M3_PER_SPECIFIC_GRAVITY = 1120.0


@dataclass(frozen=True)
class MattressSize:
    """One nominal adult mattress size; ``width`` and ``length`` in mm.

    ``origin`` is the size as it is sold, such as "60 x 80 in".
    """

    name: str
    region: str
    label: str
    width: float
    length: float
    origin: str
    aliases: tuple[str, ...]
    status: str
    source: str
    note: str


@dataclass(frozen=True)
class Wood:
    """Mean values of one species, clear and straight-grained, at 12 % moisture content.

    Strengths and ``moe`` in MPa, ``side_hardness_n`` in N, ``shrink_*`` in % from
    green to ovendry, ``coefficient_*`` as change per 1 % moisture content. ``moe``
    comes from short centre-loaded beams and includes shear. ``trade_*`` are the
    coefficients of the mixed group the lumber is sold in. ``elastic_*`` are moduli across
    the grain and in shear as shares of the modulus along it, from the row ``elastic_row``
    of Table 5-1, which may be a near species. None: not published.
    These are means, not design values. ``colour`` is this project's own choice.
    """

    name: str
    label: str
    botanical: str
    aliases: tuple[str, ...]
    specific_gravity: float
    mor: float
    moe: float
    compression_parallel: float
    compression_perpendicular: float
    shear: float
    tension_perpendicular: float | None
    side_hardness_n: float
    shrink_radial: float
    shrink_tangential: float
    shrink_volumetric: float
    coefficient_radial: float
    coefficient_tangential: float
    trade_radial: float | None
    trade_tangential: float | None
    elastic_radial: float | None
    elastic_tangential: float | None
    elastic_shear_radial: float | None
    elastic_shear_tangential: float | None
    elastic_row: str
    colour: str
    mechanical_status: str
    shrinkage_status: str
    coefficient_status: str
    source: str
    note: str

    @property
    def rgb(self) -> tuple[float, float, float]:
        """The colour as red, green and blue (sRGB, 0 to 1)."""
        red, green, blue = (int(self.colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
        return red, green, blue

    @property
    def density_kg_m3(self) -> float:
        """Density at 12 % moisture content."""
        return self.specific_gravity * _KG_M3_PER_SPECIFIC_GRAVITY

    @property
    def status(self) -> str:
        """The least sure of the three groups of values."""
        groups = (self.mechanical_status, self.shrinkage_status, self.coefficient_status)
        return max(groups, key=STATUSES.index)


# --- mattresses --------------------------------------------------------------------------


@functools.cache
def mattress_sizes() -> Mapping[str, MattressSize]:
    """Every mattress size by its name, in the order of the table."""
    return MappingProxyType({row["name"]: _mattress(row) for row in rows_of("mattress_sizes.csv")})


def mattress_size(name: str, parameter: str = "mattress.size") -> MattressSize:
    """Find a mattress size by name or alias.

    Raises InputError about ``parameter``, with the nearest names.
    """
    index = _mattress_index()
    found = index.get(lookup_key(name))
    if found is None:
        remedy = f"{suggestion(name, index)}`bedmodel sizes` lists them all"
        raise InputError(parameter, name, "is not in the table", remedy)
    return found


def _mattress(row: dict[str, str]) -> MattressSize:
    return MattressSize(
        name=row["name"],
        region=row["region"],
        label=row["label"],
        width=parse_length(f"{row['width']} {row['unit']}", "mm"),
        length=parse_length(f"{row['length']} {row['unit']}", "mm"),
        origin=f"{row['width']} x {row['length']} {row['unit']}",
        aliases=tuple(row["aliases"].split()),
        status=row["status"],
        source=row["source"],
        note=row["note"],
    )


@functools.cache
def _mattress_index() -> dict[str, MattressSize]:
    return index_of(mattress_sizes())


# --- woods -------------------------------------------------------------------------------


@functools.cache
def woods() -> Mapping[str, Wood]:
    """Every wood by its name, in the order of the table."""
    return MappingProxyType({row["name"]: _wood(row) for row in rows_of("woods.csv")})


def wood(name: str, parameter: str = "wood", own: Sequence[Wood] = ()) -> Wood:
    """Find a wood by name or alias, among the maker's ``own`` and in the table.

    Raises InputError about ``parameter``, with the nearest names and all the names.
    """
    index: Mapping[str, Wood] = _wood_index()
    if own:
        index = {**index, **{lookup_key(row.name): row for row in own}}
    found = index.get(lookup_key(name))
    if found is None:
        remedy = f"{suggestion(name, index)}the table has {', '.join(woods())}"
        if own:
            remedy += f"; the sheet has {', '.join(row.name for row in own)}"
        raise InputError(parameter, name, "is not in the table", remedy)
    return found


def coefficient_of_shrinkage(shrinkage: float) -> float:
    """Change per 1 % moisture of a wood of that shrinkage, % from green to ovendry.

    Source: Wood Handbook, FPL-GTR-282, Eq. 13-3 at 10 % moisture, which gives back the rows
    of Table 13-5.
    """
    return 1 / (3000 / shrinkage - 20)


def _wood(row: dict[str, str]) -> Wood:
    tension_psi = _optional(row["tension_perpendicular_psi"])
    return Wood(
        name=row["name"],
        label=row["label"],
        botanical=row["botanical"],
        aliases=tuple(row["aliases"].split()),
        specific_gravity=float(row["specific_gravity"]),
        mor=float(row["mor"]),
        moe=round(float(row["moe_gpa"]) * 1000.0, 6),
        compression_parallel=float(row["compression_parallel"]),
        compression_perpendicular=float(row["compression_perpendicular"]),
        shear=float(row["shear"]),
        tension_perpendicular=None if tension_psi is None else tension_psi * MPA_PER_PSI,
        side_hardness_n=float(row["side_hardness"]),
        shrink_radial=float(row["shrink_radial"]),
        shrink_tangential=float(row["shrink_tangential"]),
        shrink_volumetric=float(row["shrink_volumetric"]),
        coefficient_radial=float(row["coefficient_radial"]),
        coefficient_tangential=float(row["coefficient_tangential"]),
        trade_radial=_optional(row["trade_radial"]),
        trade_tangential=_optional(row["trade_tangential"]),
        elastic_radial=_optional(row["elastic_radial"]),
        elastic_tangential=_optional(row["elastic_tangential"]),
        elastic_shear_radial=_optional(row["elastic_shear_radial"]),
        elastic_shear_tangential=_optional(row["elastic_shear_tangential"]),
        elastic_row=row["elastic_row"],
        colour=row["colour"],
        mechanical_status=row["mechanical_status"],
        shrinkage_status=row["shrinkage_status"],
        coefficient_status=row["coefficient_status"],
        source=row["source"],
        note=row["note"],
    )


@functools.cache
def _wood_index() -> dict[str, Wood]:
    return index_of(woods())


def _optional(cell: str) -> float | None:
    return float(cell) if cell else None


# --- reading and finding -----------------------------------------------------------------


class _Named(Protocol):
    @property
    def name(self) -> str: ...

    @property
    def aliases(self) -> tuple[str, ...]: ...


_Row = TypeVar("_Row", bound=_Named)


def rows_of(file_name: str) -> list[dict[str, str]]:
    path = os.path.join(os.path.dirname(__file__), "data", file_name)
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def index_of(rows: Mapping[str, _Row]) -> dict[str, _Row]:
    return {lookup_key(word): row for row in rows.values() for word in (row.name, *row.aliases)}


def lookup_key(name: object) -> str:
    return _lookup_key(str(name))


@functools.lru_cache(maxsize=1024)
def _lookup_key(name: str) -> str:
    text = name.casefold().replace("×", "x")
    return "".join(c for c in text if not c.isspace() and c not in "-_")


def suggestion(name: object, index: Mapping[str, _Row], most: int = 3) -> str:
    """Say which rows may be meant: first those whose name holds the word, then by spelling."""
    # Imported here since only a misspelt name needs it; cut short since it is slow on long text.
    from difflib import get_close_matches

    key = lookup_key(name)[:40]
    holds = sorted((word for word in index if len(key) > 2 and key in word), key=len)
    close = get_close_matches(key, index, n=most)
    names = list(dict.fromkeys(index[word].name for word in (*holds, *close)))[:most]
    return f"did you mean {' or '.join(names)}? " if names else ""
