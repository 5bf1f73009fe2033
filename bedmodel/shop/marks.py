"""Marks on a part: exact, as a rule shows them, and in rows from one reference edge each.

true        exact (mm)
shown       the true value rounded to what a rule can show: 0.1 mm, or 1/64 in

Each mark is rounded from its own running value, so that the error of the last is
no larger than that of the first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from bedmodel.units import MM_PER_INCH, LengthUnit, format_length

CENTRE = "centre"
LOWER, UPPER = "lower end", "upper end"
NEAR, FAR = "near side", "far side"
DEPTH = "depth"
# Equal to this many digits of a mm, two marks are one pencil line.
DIGITS = 6
_NOISE = 1e-7  # of one step of the rule


@dataclass(frozen=True)
class Mark:
    """One mark: what it is, of which joints or parts, and how far from the reference.

    ``true`` is exact; ``rounded`` is what the rule shows, ``shown`` its text.
    """

    of: tuple[str, ...]
    what: str
    true: float
    unit: LengthUnit

    @property
    def label(self) -> str:
        return f"{', '.join(self.of)}: {self.what}" if self.of else self.what

    @property
    def rounded(self) -> float:
        # Halves go up, float noise or not, so that like marks are shown alike.
        steps = math.floor(self.true / step_of(self.unit) + 0.5 + _NOISE)
        return steps / 10 if self.unit == "mm" else steps * MM_PER_INCH / 64

    @property
    def shown(self) -> str:
        return format_length(self.rounded, self.unit)

    @property
    def error(self) -> float:
        """What rounding adds (mm)."""
        return self.rounded - self.true


@dataclass(frozen=True)
class MarkRow:
    """Marks that all run from one reference edge."""

    reference: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Found:
    """Rows, notes and the reason for none, of one kind of part before it is named."""

    rows: tuple[MarkRow, ...]
    notes: tuple[str, ...] = ()
    reason: str = ""


def step_of(unit: LengthUnit) -> float:
    """Return the finest division of the rule (mm): 0.1 mm, or 1/64 in."""
    return 0.1 if unit == "mm" else MM_PER_INCH / 64


def row_of(reference: str, marks: Iterable[Mark]) -> MarkRow:
    """A row, its marks as they come along the edge."""
    return MarkRow(reference, tuple(in_order(marks)))


def shifted(marks: Iterable[Mark], by: float) -> list[Mark]:
    """The same marks from another datum, ``by`` nearer to them when negative."""
    return [replace(mark, true=mark.true + by) for mark in marks]


def in_order(marks: Iterable[Mark]) -> list[Mark]:
    """Marks as they come along the edge."""
    return sorted(marks, key=lambda mark: round(mark.true, DIGITS))


def merged(marks: Sequence[Mark], every: str = "") -> list[Mark]:
    """Make one mark of those that say the same at the same place.

    ``every`` names them when the mark is of all there are.
    """
    rows: dict[object, Mark] = {}
    for mark in marks:
        key = (round(mark.true, DIGITS), mark.what)
        known = rows.get(key)
        names = mark.of if known is None else tuple(dict.fromkeys(known.of + mark.of))
        rows[key] = replace(known or mark, of=names)
    names_of_all = {name for mark in marks for name in mark.of}
    return [
        replace(mark, of=(every,))
        if every and len(names_of_all) > 1 and set(mark.of) == names_of_all
        else mark
        for mark in in_order(rows.values())
    ]


def mark_record(mark: Mark) -> dict[str, Any]:
    """Return a mark as JSON holds it."""
    return {
        "of": list(mark.of),
        "what": mark.what,
        "true_mm": round(mark.true, 4) + 0.0,
        "rounded_mm": round(mark.rounded, 6) + 0.0,
        "shown": mark.shown,
        "rounding_error_mm": round(mark.error, 4) + 0.0,
    }
