"""Slat spacers: blocks as wide as the gap, set between slats while they are fixed."""

from __future__ import annotations

from bedmodel.outline import Outline
from bedmodel.shop.cards import Card
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.sheet import FACE, CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.units import MM_PER_INCH, LengthUnit, format_both, format_number

LENGTH = 150.0  # mm
COUNT = 2  # one at each side rail
_STEPS: dict[LengthUnit, float] = {"mm": 0.5, "inch": MM_PER_INCH / 32}


def rounded_gap(gap: float, unit: LengthUnit) -> float:
    """The gap as it is set by a rule: whole 0.5 mm or 1/32 in (mm)."""
    return round(gap / _STEPS[unit]) * _STEPS[unit]


def spacer_jig(layout: Layout) -> Jig | None:
    """The pair of slat spacers; None where no row of slats is set by them."""
    if layout.sheet.support.kind not in ("slats", "webbed"):
        return None
    unit, slats = layout.sheet.design.unit, layout.slats
    rounded = rounded_gap(slats.gap, unit)
    gaps = slats.count + 1
    drift = gaps * (rounded - slats.gap)
    title = f"Slat spacer, {COUNT} off"
    notes = (f"{COUNT} off", f"gap {slats.gap:.2f} mm", "unit: millimetres")
    outline = Outline.rectangle(slats.gap, LENGTH, ("end", "slat", "end", "slat"))
    inset = min(3.0, slats.gap / 4)
    marks = (Mark(FACE, (inset, 8.0), (inset, LENGTH - 8.0), "SLAT"),)
    sheet = CncSheet("slat_spacer", title, outline, (), marks, notes)
    kept = _drift_words(drift, gaps, unit)
    rows = (
        ("for", f"setting {slats.count} slats at {gaps} equal gaps, both ends counted"),
        ("make", f"{COUNT} from scrap no thicker than a slat, one for each side rail"),
        (
            "gap",
            f"true {slats.gap:.3f} mm ({slats.gap / MM_PER_INCH:.4f} in); on a rule "
            f"{format_both(rounded, unit, denominator=32)}",
        ),
        ("rounding", kept),
        (
            "reference",
            "first gap from the head legs' inside faces; slats square across, the "
            "spacers on the runners, tight between slats",
        ),
        ("face up", "either"),
        ("left, right", "both alike; move them on together, one slat at a time"),
    )
    cautions = (
        "saw the block from a long strip held against the fence, with a push block; guard "
        "and riving knife on",
    )
    return Jig(sheet, Card("slat_spacer", title, rows, cautions), count=COUNT)


def _drift_words(drift: float, gaps: int, unit: LengthUnit) -> str:
    if abs(drift) < 0.05:
        return f"adds up to nothing over {gaps} gaps"
    way = "too much" if drift > 0 else "too little"
    off = format_both(abs(drift), unit)
    if format_number(abs(drift), unit) == "0":
        off = f"{abs(drift):.1f} mm"
    return (
        f"by the rule {gaps} gaps add up to {off} {way}: true the blocks to a calliper, or take "
        "it out of the last gap"
    )
