"""The same bed with a parameter changed: how every suggestion is tried before it is made."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bedmodel.sheets import as_table, check_sheet, parameters
from bedmodel.skeleton import Layout, lay_out
from bedmodel.spec import Sheet
from bedmodel.units import MM_PER_INCH


def laid_out_with(layout: Layout, changes: Mapping[str, float | int | str]) -> Layout:
    """Lay the bed out again with some parameters changed; lengths in mm.

    Raises InputError where the change does not go with the rest of the sheet.
    """
    table = as_table(layout.sheet)
    for name, value in changes.items():
        section, key = name.split(".")
        table[section][key] = f"{value!r} mm" if isinstance(value, float) else value
    return lay_out(check_sheet(table, layout.sheet.design.name, layout.sheet.drawings))


def setting(sheet: Sheet, name: str, value: float | int | str) -> str:
    """A change as it is given on the command line: ``slat.thickness=19.5 mm``."""
    shown = sheet.show(value) if isinstance(value, float) else str(value)
    return f"{name}={shown}"


def steps_of(sheet: Sheet, name: str) -> list[float]:
    """The values of a length worth trying: its whole range by half millimetres or 1/32 in."""
    low, high = bounds_of(name)
    step = MM_PER_INCH / 32 if sheet.design.unit == "inch" else 0.5
    first, last = -int(-low // step), int(high // step)
    return [i * step for i in range(first, last + 1)]


def bounds_of(name: str) -> tuple[float, float]:
    """The range that one parameter has by itself."""
    extra: Any = dict(parameters())[name].json_schema_extra
    return float(extra["low"]), float(extra["high"])
