"""The lumber trade's tables: thickness classes and grades, and the board foot."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from bedmodel.errors import InputError
from bedmodel.tables import index_of, lookup_key, rows_of, suggestion
from bedmodel.units import parse_length


@dataclass(frozen=True)
class ThicknessClass:
    """Lumber as sold by quarters of an inch: rough thickness and surfaced thickness (mm)."""

    quarters_count: int
    rough: float
    surfaced: float
    status: str

    @property
    def name(self) -> str:
        return f"{self.quarters_count}/4"


@dataclass(frozen=True)
class Grade:
    """A grade: the least share of clear cuttings, and its least board (mm)."""

    name: str
    label: str
    share: Fraction
    least_width: float
    least_length: float
    status: str
    aliases: tuple[str, ...] = ()


@functools.cache
def thickness_classes() -> tuple[ThicknessClass, ...]:
    """Every class of the table, the thinnest first."""
    return tuple(
        ThicknessClass(
            int(row["quarters"]),
            parse_length(row["rough_in"], "inch"),
            parse_length(row["s2s_in"], "inch"),
            row["status"],
        )
        for row in rows_of("stock_thickness.csv")
    )


def class_for(thickness: float, classes: Sequence[ThicknessClass]) -> ThicknessClass | None:
    """The thinnest of the classes that still is so thick when surfaced."""
    return next((c for c in classes if c.surfaced >= thickness - 1e-6), None)


@functools.cache
def grades() -> Mapping[str, Grade]:
    """Every grade by its name, the best first."""
    return MappingProxyType({row["name"]: _grade(row) for row in rows_of("grades.csv")})


def grade(name: str, parameter: str) -> Grade:
    """Find a grade by its name. Raises InputError about ``parameter``."""
    index = index_of(grades())
    found = index.get(lookup_key(name))
    if found is None:
        remedy = f"{suggestion(name, index)}the table has {', '.join(grades())}"
        raise InputError(parameter, name, "is not a grade of the table", remedy)
    return found


def _grade(row: dict[str, str]) -> Grade:
    return Grade(
        name=row["name"],
        label=row["label"],
        share=Fraction(int(row["yield_numerator"]), int(row["yield_denominator"])),
        least_width=parse_length(row["least_width_in"], "inch"),
        least_length=parse_length(row["least_length_in"], "inch"),
        status=row["status"],
    )
