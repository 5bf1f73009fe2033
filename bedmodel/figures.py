"""Single figures that a reckoning rests on: loads, limits, bands; each with its source.

A file of figures has one figure a row. ``status`` is as in ``tables``, or "practice":
this project's own choice where the trade or a standard gives nothing to point at.
What is "unconfirmed" or "practice" is shown with every answer that used it, and can
be changed there.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeVar

from bedmodel.errors import InputError
from bedmodel.tables import STATUSES, rows_of, suggestion

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

FIGURE_STATUSES = (*STATUSES, "practice")


@dataclass(frozen=True)
class Figure:
    """One figure: its value in ``unit``, what it is, where it is from and how sure it is."""

    name: str
    value: float
    unit: str
    meaning: str
    source: str
    status: str

    @property
    def aliases(self) -> tuple[str, ...]:
        return ()

    @property
    def line(self) -> str:
        """The figure in one line, for a list of assumptions."""
        mark = "" if self.status == "confirmed" else f" [{self.status}]"
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.meaning}: {self.value:g}{unit} ({self.source}){mark}"


@functools.cache
def figures(file_name: str) -> Mapping[str, Figure]:
    """Every figure of a file in ``data/`` by its name, in the order of the file."""
    return MappingProxyType({row["name"]: _figure(row) for row in rows_of(file_name)})


def _figure(row: dict[str, str]) -> Figure:
    return Figure(
        row["name"],
        float(row["value"]),
        row["unit"],
        row["meaning"],
        row["source"],
        row["status"],
    )


_Values = TypeVar("_Values", bound="DataclassInstance")


def values_of(cls: type[_Values], file_name: str) -> _Values:
    """The figures of a file as the fields of ``cls``, which it must fill one for one."""
    return cls(**{name: figure.value for name, figure in figures(file_name).items()})


def changed(values: _Values, changes: Mapping[str, float]) -> _Values:
    """The same figures with some of the maker's own.

    Raises InputError about a name that is not there, or a value that is not a number
    above zero.
    """
    import dataclasses
    import math

    names = [field.name for field in fields(values)]
    for name, value in changes.items():
        if name not in names:
            known = {each: _Name(each) for each in names}
            raise InputError(
                name, value, "is not a figure here", f"{suggestion(name, known)}see the list"
            )
        if not (math.isfinite(value) and value > 0):
            raise InputError(name, value, "must be a number above 0", "change it")
    return dataclasses.replace(values, **changes)


def assumptions(values: Any, file_name: str) -> tuple[str, ...]:
    """One line for each figure; those changed from the table are said to be the maker's own."""
    lines = []
    for name, figure in figures(file_name).items():
        value = getattr(values, name)
        if value != figure.value:
            figure = Figure(name, value, figure.unit, figure.meaning, "your own", "confirmed")
        lines.append(figure.line)
    return tuple(lines)


@dataclass(frozen=True)
class _Name:
    name: str
    aliases: tuple[str, ...] = ()
