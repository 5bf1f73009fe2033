"""Woods of the maker's own, row by row in the sheet, with the names of the table of woods.

What a row leaves out is as in the wood it says it is like; such values are borrowed, and
marked wherever a verdict rests on them. Shrinkage without coefficients gives these by the
rule that gives back the handbook's own table: 1 / (3000 / shrinkage - 20).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any, Literal

from bedmodel import fields
from bedmodel.errors import InputError
from bedmodel.fields import Section
from bedmodel.materials import metals
from bedmodel.tables import Wood, coefficient_of_shrinkage, lookup_key, wood, woods

NAME = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
COLOUR = r"^#[0-9a-fA-F]{6}$"
BORROWED = "as wood.own.like"

_MECHANICAL = (
    *("specific_gravity", "mor", "moe_gpa", "compression_parallel"),
    *("compression_perpendicular", "shear"),
)
_SHRINKAGE = ("shrink_radial", "shrink_tangential")
# Left out, these are not borrowed but unknown: the reckoning then takes the least favourable.
_OPTIONAL = (
    *("tension_perpendicular", "trade_radial", "trade_tangential", "elastic_radial"),
    *("elastic_tangential", "elastic_shear_radial", "elastic_shear_tangential"),
)


def _value(low: float, high: float, unit: str, text: str, worked_out: str = BORROWED) -> Any:
    return fields.number(None, low, high, unit, text, worked_out=worked_out)


class OwnWood(Section):
    """One wood: means of clear, straight-grained pieces at 12 % moisture content."""

    name: str = fields.words(
        "own", "Name of the row: small letters, digits and hyphens.", pattern=NAME, limit=40
    )
    label: str | None = fields.words(
        None, "Name for people.", limit=60, worked_out="the row's name, with spaces"
    )
    like: str = fields.words(
        "white-ash",
        "Wood of the table whose values stand in for what the row leaves out.",
        limit=40,
    )
    source: str = fields.words("your own row", "Where the values are from.", limit=200)
    status: Literal["confirmed", "unconfirmed"] = fields.choice(
        "unconfirmed", "confirmed: read in a published table or measured; unconfirmed: else."
    )
    specific_gravity: float | None = _value(0.1, 1.3, "", "Ovendry mass over volume at 12 %.")
    mor: float | None = _value(10, 300, "MPa", "Bending strength (modulus of rupture).")
    moe_gpa: float | None = _value(1, 35, "GPa", "Bending modulus, shear included.")
    compression_parallel: float | None = _value(5, 150, "MPa", "Crushing along the grain.")
    compression_perpendicular: float | None = _value(
        0.5, 40, "MPa", "Crushing across the grain, at the proportional limit."
    )
    shear: float | None = _value(1, 40, "MPa", "Shear along the grain.")
    tension_perpendicular: float | None = _value(
        0.3, 15, "MPa", "Tension across the grain.", "the least favourable by density"
    )
    side_hardness: float | None = _value(100, 30000, "N", "Side hardness.")
    shrink_radial: float | None = _value(0.5, 15, "%", "Radial shrinkage, green to ovendry.")
    shrink_tangential: float | None = _value(
        0.5, 20, "%", "Tangential shrinkage, green to ovendry."
    )
    shrink_volumetric: float | None = _value(
        1, 30, "%", "Shrinkage in volume, green to ovendry.", "radial and tangential together"
    )
    coefficient_radial: float | None = _value(
        0.0003, 0.008, "", "Radial change per 1 % moisture.", "from wood.own.shrink_radial"
    )
    coefficient_tangential: float | None = _value(
        0.0003, 0.01, "", "Tangential change per 1 % moisture.", "from wood.own.shrink_tangential"
    )
    trade_radial: float | None = _value(
        0.0003, 0.008, "", "The same of the group it is sold in.", "no group"
    )
    trade_tangential: float | None = _value(
        0.0003, 0.01, "", "The same of the group it is sold in.", "no group"
    )
    elastic_radial: float | None = _value(
        0.01, 0.4, "", "Radial modulus over that along the grain.", "unknown"
    )
    elastic_tangential: float | None = _value(
        0.01, 0.4, "", "Tangential modulus over that along the grain.", "the least favourable"
    )
    elastic_shear_radial: float | None = _value(
        0.02, 0.3, "", "Shear modulus, radial, over the modulus along the grain.",
        "limits.shear_ratio_unknown",
    )  # fmt: skip
    elastic_shear_tangential: float | None = _value(
        0.02, 0.3, "", "Shear modulus, tangential, over the modulus along the grain.",
        "limits.shear_ratio_unknown",
    )  # fmt: skip
    colour: str | None = fields.words(
        None,
        "Colour in pictures, as #c8a878.",
        pattern=COLOUR,
        limit=7,
        worked_out=BORROWED,
    )


def as_wood(row: OwnWood, parameter: str) -> Wood:
    """The row as a wood. Raises InputError about ``parameter`` where ``like`` is no wood."""
    base = wood(row.like, f"{parameter}.like")
    given = {key: getattr(row, key) for key in (*_MECHANICAL, *_SHRINKAGE, "side_hardness")}
    borrowed = [key for key, value in given.items() if value is None and key != "side_hardness"]
    radial = row.shrink_radial or base.shrink_radial
    tangential = row.shrink_tangential or base.shrink_tangential
    optional = {key: getattr(row, key) for key in _OPTIONAL}
    return dataclasses.replace(
        base,
        name=row.name,
        label=row.label or row.name.replace("-", " "),
        aliases=(),
        specific_gravity=row.specific_gravity or base.specific_gravity,
        mor=row.mor or base.mor,
        moe=base.moe if row.moe_gpa is None else round(row.moe_gpa * 1000.0, 6),
        compression_parallel=row.compression_parallel or base.compression_parallel,
        compression_perpendicular=row.compression_perpendicular or base.compression_perpendicular,
        shear=row.shear or base.shear,
        side_hardness_n=row.side_hardness or base.side_hardness_n,
        shrink_radial=radial,
        shrink_tangential=tangential,
        shrink_volumetric=row.shrink_volumetric or radial + tangential,
        coefficient_radial=row.coefficient_radial or coefficient_of_shrinkage(radial),
        coefficient_tangential=row.coefficient_tangential or coefficient_of_shrinkage(tangential),
        **optional,
        elastic_row="" if optional["elastic_tangential"] is None else "your own row",
        colour=row.colour or base.colour,
        mechanical_status=_status(row, borrowed, _MECHANICAL),
        shrinkage_status=_status(row, borrowed, _SHRINKAGE),
        coefficient_status=_status(row, borrowed, _SHRINKAGE),
        source=row.source,
        note=f"borrowed from {base.label}: {', '.join(borrowed)}" if borrowed else "",
    )


def check_own_names(rows: Sequence[OwnWood]) -> None:
    """Each row has a name of its own, or nobody would know which wood was meant.

    Raises InputError for a name that is taken.
    """
    taken = {lookup_key(name): "the table" for name in (*woods(), *metals())}
    for i, row in enumerate(rows, start=1):
        where = taken.setdefault(lookup_key(row.name), f"wood.own.{i}")
        if where != f"wood.own.{i}":
            raise InputError(
                f"wood.own.{i}.name", row.name, f"is taken by {where}", "call it otherwise"
            )


def _status(row: OwnWood, borrowed: list[str], group: tuple[str, ...]) -> str:
    """A group of values is no surer than the row, and unconfirmed where one is borrowed."""
    return "unconfirmed" if any(key in borrowed for key in group) else row.status
