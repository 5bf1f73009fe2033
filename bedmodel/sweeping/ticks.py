"""Round marks for an axis: in tens, or in halves and quarters of an inch."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.units import MM_PER_INCH, LengthUnit, format_number

_TENS = (1.0, 2.0, 2.5, 5.0)
_HALVES = tuple(2.0**power for power in range(-6, 1))


@dataclass(frozen=True)
class Scale:
    """One axis: where it begins and ends, its marks and what stands at each."""

    low: float
    high: float
    marks: tuple[float, ...]
    words: tuple[str, ...]

    def share(self, value: float) -> float:
        """Where a value stands, 0 at the low end and 1 at the high."""
        return (value - self.low) / (self.high - self.low)


def scale_of(
    low: float, high: float, most: int, unit: LengthUnit | None = None, *, whole: bool = False
) -> Scale:
    """A scale that holds both, with at most ``most`` marks; values in mm where a unit is given.

    ``whole`` keeps marks to whole numbers.
    """
    inches = unit == "inch"
    per = MM_PER_INCH if inches else 1.0
    low, high = low / per, high / per
    if high - low < 1e-9 * max(1.0, abs(high)):
        half = max(abs(high) * 0.05, 1.0 if whole else 0.01)
        low, high = low - half, high + half
    step = _step(low, high, most, inches, whole)
    first, last = _ends(low, high, step)
    marks = [k * step for k in range(first, last + 1)]
    words = [_word(mark, step, inches) for mark in marks]
    return Scale(marks[0] * per, marks[-1] * per, tuple(m * per for m in marks), tuple(words))


def _ends(low: float, high: float, step: float) -> tuple[int, int]:
    """The first and the last mark, in steps."""
    return math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)


def _step(low: float, high: float, most: int, inches: bool, whole: bool) -> float:
    """The least round step that gives no more marks than there is room for."""
    steps = [s * 10.0**power for power in range(-4, 7) for s in _TENS]
    if inches and high - low < 12:
        steps = [*_HALVES, 2.0, 3.0, 6.0, 12.0]
    for step in sorted(steps):
        first, last = _ends(low, high, step)
        if last - first < most and (not whole or step == int(step)):
            return step
    return high - low


def _word(mark: float, step: float, inches: bool) -> str:
    if inches and step in _HALVES:
        return format_number(mark * MM_PER_INCH, "inch")
    digits = max(0, math.ceil(-math.log10(step) - 1e-9))
    if digits and abs(step * 10**digits - round(step * 10**digits)) > 1e-9:
        digits += 1  # a step of 0.25
    text = f"{mark:.{digits}f}"
    return text[1:] if text.startswith("-") and float(text) == 0 else text
