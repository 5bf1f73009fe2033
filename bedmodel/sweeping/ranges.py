"""What is varied: a parameter over a range or a list, and every point of all of them together.

slat.thickness=15:25:2.5            from, to, step; bare lengths are in the sheet's unit
slat.thickness=5/8 in:1 in:1/16 in  or with units of their own
wood.species=red-oak,white-ash      words, or single values
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bedmodel.errors import InputError
from bedmodel.sheets import parameters
from bedmodel.units import LengthUnit, format_length, parse_angle, parse_length

MOST_POINTS = 100_000
MOST_VALUES = 10_000
_LIST = re.compile(r"\.[0-9]{1,4}(?=\.)")
_HOW = "as slat.thickness=15:25:2.5 or wood.species=red-oak,white-ash"
NUMBERS = ("length", "angle", "count", "number")


@dataclass(frozen=True)
class Value:
    """One value of a parameter: as a person reads it, as ``--set`` takes it, and as a number.

    A length is in mm; a word has no number.
    """

    shown: str
    text: str
    number: float | None


@dataclass(frozen=True)
class Axis:
    """A parameter and the values it takes; ``quantity`` as ``fields`` has it, with its unit."""

    name: str
    quantity: str
    unit: str
    values: tuple[Value, ...]

    @property
    def is_number(self) -> bool:
        return self.quantity in NUMBERS


def read_axis(text: str, unit: LengthUnit) -> Axis:
    """Read one ``--vary``. Raises InputError for a parameter or values that are none."""
    name, equals, values = text.partition("=")
    name = name.strip()
    if not equals or not name or not values.strip():
        raise InputError("--vary", text, "must be PARAMETER=VALUES", _HOW)
    quantity, own = _quantity(name, text)
    if quantity in NUMBERS and ":" in values:
        found = _steps(text, values, quantity, unit)
    else:
        words = [word.strip() for word in values.split(",")]
        if not all(words):
            raise InputError("--vary", text, "has an empty value", _HOW)
        found = [_value(text, word, quantity, unit) for word in words]
    kept = tuple(dict.fromkeys(found))
    return Axis(name, quantity, own if quantity == "number" else "", kept)


def _quantity(name: str, text: str) -> tuple[str, str]:
    """What a parameter is, and its unit. Raises InputError for a name that is none."""
    import difflib

    known = dict(parameters())
    listed = _LIST.sub(".N", name)
    if listed not in known:
        near = difflib.get_close_matches(listed[:80], known, n=1, cutoff=0.5)
        remedy = f"did you mean {near[0]}?" if near else "bedmodel parameters lists all"
        raise InputError("--vary", text, f"{name}: no such parameter", remedy)
    extra: Any = known[listed].json_schema_extra
    told = extra if isinstance(extra, dict) else {}
    return str(told.get("quantity", "text")), str(told.get("unit", ""))


def _number(text: str, word: str, quantity: str, unit: LengthUnit) -> float:
    try:
        if quantity == "length":
            return parse_length(_bare(word), unit)
        if quantity == "angle":
            return parse_angle(_bare(word))
        return float(word)
    except ValueError as reason:
        raise InputError("--vary", text, f"'{word}' {_said(quantity, reason)}", _HOW) from None


def _said(quantity: str, reason: ValueError) -> str:
    return str(reason) if quantity in ("length", "angle") else "is not a number"


def _bare(word: str) -> float | str:
    try:
        return float(word)
    except ValueError:
        return word


def _steps(text: str, values: str, quantity: str, unit: LengthUnit) -> list[Value]:
    words = [word.strip() for word in values.split(":")]
    if len(words) != 3 or not all(words):
        raise InputError("--vary", text, "must be from:to:step", _HOW)
    start, end, step = (_number(text, word, quantity, unit) for word in words)
    if not step > 0 or end < start:
        allowed = "its step must be more than 0, and its end not before its start"
        raise InputError("--vary", text, allowed, _HOW)
    steps = (end - start) / step
    if not steps < MOST_VALUES:
        raise InputError("--vary", text, f"at most {MOST_VALUES} values", "take a larger step")
    return [
        _of_number(round(start + i * step, 9), quantity, unit) for i in range(int(steps + 1e-6) + 1)
    ]


def _value(text: str, word: str, quantity: str, unit: LengthUnit) -> Value:
    if quantity not in NUMBERS or word == "auto":
        return Value(word, word, None)
    return _of_number(_number(text, word, quantity, unit), quantity, unit)


def _of_number(number: float, quantity: str, unit: LengthUnit) -> Value:
    if quantity == "length":
        return Value(format_length(number, unit), f"{number!r} mm", number)
    if quantity == "count" and number == int(number):
        return Value(f"{number:.0f}", f"{number:.0f}", number)
    return Value(f"{number:g}", repr(number), number)


def points(axes: Sequence[Axis]) -> list[tuple[Value, ...]]:
    """Every combination, the last parameter changing first. Raises InputError for too many."""
    count = 1
    for axis in axes:
        count *= len(axis.values)
    if count > MOST_POINTS:
        raise InputError("--vary", count, f"at most {MOST_POINTS} points", "take larger steps")
    return list(itertools.product(*(axis.values for axis in axes)))
