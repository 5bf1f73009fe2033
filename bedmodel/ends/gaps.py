"""Equal gaps between uprights: how many stand in an opening, kept out of what traps a head.

    |<-end->|##|<-gap->|##|<-gap->|##|<-end->|
    leg                                    leg

Source of the band: ``data/comfort.csv`` (crib slats, bunk bed openings).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.end_spec import Uprights
from bedmodel.errors import InputError
from bedmodel.figures import figures
from bedmodel.spec import Sheet

_NEAR = 1e-9


@dataclass(frozen=True)
class Row:
    """How many uprights, the gap between them and the one beside each leg (mm)."""

    count: int
    gap: float
    end_gap: float


def trapping_band() -> tuple[float, float]:
    """Gaps wider than the first and narrower than the second can trap a child's head (mm)."""
    found = figures("comfort.csv")
    return found["gap_low"].value, found["gap_high"].value


def traps(gap: float, height: float) -> bool:
    """Whether an opening of that gap and height (mm) is in the band; its lesser side counts."""
    low, high = trapping_band()
    return low + _NEAR < min(gap, height) < high - _NEAR


def solve(
    sheet: Sheet, parameter: str, given: Uprights, clear: float, width: float, height: float
) -> Row:
    """The count whose equal gaps are nearest to the wanted one.

    ``clear`` is the width of the opening, ``width`` that of an upright, ``height`` the
    opening's. Raises InputError where no count gives a gap that is allowed.
    """
    if given.gap_least > given.gap_greatest:
        raise InputError(
            f"{parameter}.gap_least",
            sheet.show(given.gap_least),
            f"must be at most gap_greatest, {sheet.at_most(given.gap_greatest)}",
            "make it less",
        )
    _check_end_gap(sheet, parameter, given, height)
    rows = list(_rows(given, clear, width))
    least = max(given.gap_least, given.wall_least)  # wood is left between two holes, too
    fit = [r for r in rows if least - _NEAR <= r.gap <= given.gap_greatest + _NEAR]
    safe = [r for r in fit if given.trapping == "told" or not traps(r.gap, height)]
    if safe:
        return min(safe, key=lambda row: abs(row.gap - given.gap_wanted))
    raise _refusal(sheet, parameter, given, rows, caught=bool(fit), height=height)


def _check_end_gap(sheet: Sheet, parameter: str, given: Uprights, height: float) -> None:
    end_gap = given.end_gap
    if end_gap is not None and end_gap < given.wall_least:
        raise InputError(
            f"{parameter}.end_gap",
            sheet.show(end_gap),
            f"must be at least wall_least, {sheet.at_least(given.wall_least)}",
            "make it more",
        )
    if end_gap is None or given.trapping == "told" or not traps(end_gap, height):
        return
    low, high = trapping_band()
    raise InputError(
        f"{parameter}.end_gap",
        sheet.show(end_gap),
        f"can catch a head, must be at most {sheet.at_most(low)}, or from {sheet.at_least(high)}",
        'change it, or set trapping to "told"',
    )


def _rows(given: Uprights, clear: float, width: float) -> list[Row]:
    """Every count that goes in, the widest gap first."""
    found = []
    for count in range(1, max(1, math.floor(clear / width)) + 1):
        if given.end_gap is None:
            gap = (clear - count * width) / (count + 1)
            row = Row(count, gap, gap)
        elif count == 1:
            continue  # two told gaps and one upright leave nothing to solve
        else:
            gap = (clear - 2 * given.end_gap - count * width) / (count - 1)
            row = Row(count, gap, given.end_gap)
        if gap <= 0:
            break
        found.append(row)
    return found


def _refusal(
    sheet: Sheet, parameter: str, given: Uprights, rows: list[Row], *, caught: bool, height: float
) -> InputError:
    low, high = trapping_band()
    usable = [r for r in rows if given.trapping == "told" or not traps(r.gap, height)]
    nearest = min(usable, key=lambda row: abs(row.gap - given.gap_wanted), default=None)
    allowed = f"no count gives equal gaps of {sheet.show(given.gap_least)} to it"
    if caught:
        allowed += f" outside {sheet.show(low)} to {sheet.show(high)}, which can catch a head"
    if nearest is not None:
        allowed += f"; {nearest.count} give {sheet.show(nearest.gap)}"
    remedy = "widen the range of gaps, or change the width"
    if caught:
        remedy += ', or set trapping to "told"'
    return InputError(f"{parameter}.gap_greatest", sheet.show(given.gap_greatest), allowed, remedy)
