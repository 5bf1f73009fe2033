"""The row of slats: how many, the equal gap between them, and their common length."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.pocket import Pocket
from bedmodel.spec import SLAT_WIDTHS, Sheet


@dataclass(frozen=True)
class SlatRow:
    """``count`` slats with ``gap`` between them and at both ends (mm)."""

    count: int
    width: float
    gap: float
    length: float

    def starts(self) -> list[float]:
        """Y of each slat's head-side edge."""
        return [self.gap + i * (self.width + self.gap) for i in range(self.count)]


def slat_row(sheet: Sheet, pocket: Pocket) -> SlatRow:
    """Solve count and gap for the clear length, and one length that fits everywhere.

        clear = count * width + (count + 1) * gap

    All slats are cut alike: to the pocket's width at the last slat, where the
    stance makes it least. Raises InputError where no equal gap is allowed, or
    where the first slat would bear too little on its runners.
    """
    slat = sheet.slat
    if slat.gap_least > slat.gap_greatest:
        raise InputError(
            "slat.gap_least",
            sheet.show(slat.gap_least),
            f"must be at most slat.gap_greatest, {sheet.show(slat.gap_greatest)}",
            "make it less, or slat.gap_greatest more",
        )
    if not slat.gap_least <= slat.gap_wanted <= slat.gap_greatest:
        raise InputError(
            "slat.gap_wanted",
            sheet.show(slat.gap_wanted),
            f"must be {sheet.at_least(slat.gap_least)} to {sheet.at_most(slat.gap_greatest)}",
            "set it between slat.gap_least and slat.gap_greatest",
        )
    clear = pocket.length
    count = _count(sheet, clear)
    gap = (clear - count * slat.width) / (count + 1)
    narrowest = pocket.half_width(clear - gap)
    row = SlatRow(count, slat.width, gap, 2 * (narrowest - slat.end_clearance))
    _check_bearing(sheet, row, pocket)
    return row


def _count(sheet: Sheet, clear: float) -> int:
    """The count whose gap is allowed and nearest to the one wanted."""
    slat = sheet.slat
    # More slats make smaller gaps: these are the counts at the two ends of the band.
    fewest = math.ceil((clear - slat.gap_greatest) / (slat.width + slat.gap_greatest) - 1e-9)
    most = math.floor((clear - slat.gap_least) / (slat.width + slat.gap_least) + 1e-9)
    fewest = max(fewest, 2)
    if most < fewest:
        raise InputError("slat.width", sheet.show(slat.width), *_no_gap(sheet, clear, most))
    gaps = {n: (clear - n * slat.width) / (n + 1) for n in range(fewest, most + 1)}
    return min(gaps, key=lambda n: abs(gaps[n] - slat.gap_wanted))


def _no_gap(sheet: Sheet, clear: float, count: int) -> tuple[str, str]:
    """What is wrong when no count fits, and what would: a width, a gap or a length."""
    slat = sheet.slat
    few = max(count, 1)
    gap_few = (clear - few * slat.width) / (few + 1)
    gap_more = (clear - (few + 1) * slat.width) / (few + 2)
    return (
        f"no count of slats gives equal gaps of {sheet.show(slat.gap_least)} to "
        f"{sheet.show(slat.gap_greatest)} in {sheet.show(clear)}",
        f"{few} slats leave {sheet.show(gap_few)}, {few + 1} leave {sheet.show(gap_more)}: "
        "widen the band to one of these" + _other_width(sheet, clear, few),
    )


def _other_width(sheet: Sheet, clear: float, few: int) -> str:
    """The width nearest to the sheet's that gives the wanted gap, if slats may be so wide."""
    slat = sheet.slat
    counts = range(max(2, few - 1), few + 4)
    widths = [(clear - (n + 1) * slat.gap_wanted) / n for n in counts]
    fit = [w for w in widths if SLAT_WIDTHS[0] <= w <= SLAT_WIDTHS[1]]
    if not fit:
        return ""
    return f", or set slat.width to {sheet.show(min(fit, key=lambda w: abs(w - slat.width)))}"


def _check_bearing(sheet: Sheet, row: SlatRow, pocket: Pocket) -> None:
    runner, slat = sheet.runner, sheet.slat
    yaw = pocket.yaw
    # Turned by the stance, one corner of a square end is further from the leg.
    greatest = row.gap - runner.width * math.sin(yaw)
    # Below its platform a raked head end stands into the pocket.
    greatest -= pocket.lost_below(slat.thickness + runner.height)
    if runner.end_gap > greatest:
        raise InputError(
            "runner.end_gap",
            sheet.show(runner.end_gap),
            f"must be at most {sheet.at_most(greatest)}, or the end slats overhang the runners",
            "make it less",
        )
    # The runner's top is narrower by its eased edges; the slat's end by its own.
    eased = runner.edge_size if runner.edge != "square" else 0.0
    widest = pocket.half_width(row.gap)
    bearing = row.length / 2 - (widest - (runner.width - eased) / math.cos(yaw))
    if bearing < slat.bearing_least:
        needed = runner.width + (slat.bearing_least - bearing) * math.cos(yaw)
        raise InputError(
            "runner.width",
            sheet.show(runner.width),
            f"must be at least {sheet.at_least(needed)} for slats to bear "
            f"{sheet.show(slat.bearing_least)} at the head end",
            "make the runner wider, or frame.stance or slat.bearing_least less",
        )
