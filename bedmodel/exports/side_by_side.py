"""Beds side by side as rows of words: one column a bed, all lengths in one unit.

A bed that is refused is a column that says why.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from bedmodel.bed_figures import OUTCOMES, BedFigures, Worst, figures_record, outcomes
from bedmodel.comfort import comfort
from bedmodel.exports.json_text import json_bytes
from bedmodel.exports.plain_page import page_html, safe
from bedmodel.exports.publish import MANIFEST, fresh_folder, write_bytes, write_text
from bedmodel.units import MM_PER_INCH, LengthUnit, format_length

HELD = "\u00a0"  # a space at which no line is broken
UNKNOWN = "no price"
NAME = "compare"


@dataclass(frozen=True)
class Column:
    """One bed asked for: what it is called, and its figures or why there are none."""

    sheet: str
    size: str
    found: BedFigures | None
    refused: str = ""

    @property
    def heading(self) -> str:
        return f"{self.sheet} {self.size}"


@dataclass(frozen=True)
class Row:
    """One line of the table: what it tells, a cell a bed; ``section`` begins a group."""

    label: str
    cells: tuple[str, ...]
    section: str = ""


Cell = Callable[[BedFigures], str]


def rows_of(columns: Sequence[Column], unit: LengthUnit) -> list[Row]:
    """The whole table, lengths in ``unit``; a cell of a refused bed is empty."""
    found: list[Row] = []
    for section, lines in _sections(columns, unit):
        for label, cell in lines:
            cells = tuple(cell(c.found) if c.found else "" for c in columns)
            if any(cells):
                found.append(Row(label, cells, section))
                section = ""
    return found


def _sections(
    columns: Sequence[Column], unit: LengthUnit
) -> list[tuple[str, list[tuple[str, Cell]]]]:
    def show(mm: float) -> str:
        return format_length(mm, unit)

    def sides(*lengths: float) -> str:
        told = [show(length) for length in lengths]
        word = told[-1].rpartition(" ")[2]
        told = [text.removesuffix(f" {word}") for text in told[:-1]] + told[-1:]
        return " x ".join(text.replace(" ", HELD) for text in told)

    def at(mm: float) -> str:
        if unit == "inch":
            return f"{round(mm / MM_PER_INCH * 2) / 2:g} in"
        return f"{mm:.0f} mm"

    def worst(found: Worst | None) -> str:
        if found is None:
            return "does not stand"
        part = found.member.replace("_", " ")
        return f"{share(found.share)}: {part} at {at(found.x)}, {found.load}"

    def sags_most(f: BedFigures) -> str:
        if f.sag is None:
            return "does not stand"
        part, load = f.sag.member.replace("_", " "), f.sag.load
        much = f"{_half(f.sag.value, unit)} of {_half(f.sag.limit, unit)}"
        return f"{share(f.sag.share)}: {part} at {at(f.sag.x)}, {much}, {load}"

    def heights(topic: str) -> Cell:
        def told(f: BedFigures) -> str:
            advice = next(a for a in comfort(f.layout) if a.topic == topic)
            return f"{show(advice.measured)}, {_VERDICTS[advice.verdict]}"

        return told

    box = [f.found for f in columns if f.found]
    lumber: dict[tuple[str, str], None] = {
        (row.species, row.class_name): None for f in box for row in f.buying.rows
    }
    return [
        (
            "sizes",
            [
                ("overall", lambda f: sides(*f.layout.overall)),
                ("mattress", lambda f: sides(*vars(f.layout.mattress).values())),
                ("platform", lambda f: show(f.layout.platform)),
                ("mattress top", lambda f: show(f.layout.platform + f.layout.mattress.thickness)),
                ("lies on", partial(_lies_on, show)),
                ("centre rail", _feet),
            ],
        ),
        (
            "wood",
            [
                *((f"{species} {name}", _feet_of(species, name)) for species, name in lumber),
                ("to buy, bd ft", lambda f: f"{f.buying.gross:.1f}"),
                ("parts", lambda f: f"{f.pieces} of {f.kinds} kinds"),
                ("metal", lambda f: str(f.hardware)),
                ("mass", lambda f: f"{f.mass_kg:.1f} kg"),
                ("lumber costs", _cost),
                ("besides", _besides),
            ],
        ),
        (
            "strength",
            [
                ("sags most", sags_most),
                ("stressed most", lambda f: worst(f.stress)),
                ("headboard's top", lambda f: _wobble(f, unit)),
                ("joints", _joints),
                ("not known", lambda f: ", ".join(f.joints_unknown)),
            ],
        ),
        (
            "seasons",
            [
                ("may split", lambda f: f.split_risk),
                ("widest part", lambda f: f"moves {f.swing:.1f} mm"),
            ],
        ),
        (
            "comfort",
            [
                ("mattress top", heights("mattress top")),
                ("sitting on edge", heights("sitting on the edge")),
                ("under the bed", heights("under the bed")),
                ("gaps that catch", _gaps),
            ],
        ),
        ("checks", [("without solids", _checks), ("cautions", lambda f: str(len(f.cautions)))]),
    ]


_VERDICTS = {"inside": "good", "outside": "outside the usual", "told": "see advise"}


def share(value: float) -> str:
    """A share of what is allowed, upwards to one decimal: a failure never reads 1.0."""
    return f"{math.ceil(value * 10 - 1e-9) / 10:.1f}"


def _half(mm: float, unit: LengthUnit) -> str:
    """A sag to half a millimetre or 1/32 in: more would be false precision."""
    if unit == "inch":
        return format_length(round(mm / MM_PER_INCH * 32) / 32 * MM_PER_INCH, unit)
    return f"{math.floor(mm * 2 + 0.5) / 2:g} mm"


def _feet(found: BedFigures) -> str:
    rail = found.layout.centre_rail
    return "none" if rail is None else f"on {len(rail.feet)} feet"


def _feet_of(species: str, name: str) -> Cell:
    def cell(found: BedFigures) -> str:
        rows = [r for r in found.buying.rows if (r.species, r.class_name) == (species, name)]
        return f"{sum(row.gross for row in rows):.1f}" if rows else "-"

    return cell


def _lies_on(show: Callable[[float], str], found: BedFigures) -> str:
    """What carries the mattress."""
    layout = found.layout
    if layout.has_slats:
        return f"{layout.slats.count} slats, {show(layout.slats.gap)} apart"
    return layout.sheet.support.kind.replace("_", " ")


def _besides(found: BedFigures) -> str:
    """What is bought besides lumber and metal; it has no price here."""
    return ", ".join(f"{supply.count} {supply.what}" for supply in found.buying.supplies)


def _cost(found: BedFigures) -> str:
    if found.buying.cost is None:
        return f"{UNKNOWN} for {', '.join(found.unpriced)}"
    return f"{found.buying.cost:.2f}"


def _wobble(found: BedFigures, unit: LengthUnit) -> str:
    return "" if found.wobble is None else f"gives {_half(found.wobble, unit)}"


def _joints(found: BedFigures) -> str:
    joint = found.joint
    if joint is None:
        return "not known"
    if joint.band == "ample":
        return "ample"
    return f"{joint.band}: {joint.joint.replace('_', ' ')}"


def _gaps(found: BedFigures) -> str:
    count = sum(a.topic.startswith("gap at") and a.verdict == "outside" for a in
                comfort(found.layout))  # fmt: skip
    return str(count) if count else "none"


def _checks(found: BedFigures) -> str:
    if found.passed:
        return "passed"
    return f"FAILED: {', '.join(f'{code.name} ({int(code)})' for code in found.failed)}"


# --- files -------------------------------------------------------------------------------


def records(columns: Sequence[Column]) -> list[dict[str, object]]:
    """A record a bed; of a refused one, just why."""
    return [
        figures_record(c.found)
        if c.found
        else {"sheet": c.sheet, "size": c.size, "refused": c.refused}
        for c in columns
    ]


def csv_text(columns: Sequence[Column]) -> str:
    """A line a bed: sheet, size, every named figure (mm, kg, board feet), the refusal."""
    import csv
    import io

    held = io.StringIO()
    writer = csv.writer(held, lineterminator="\n")
    writer.writerow(["sheet", "size", *(_head(name) for name in OUTCOMES), "no_price", "refused"])
    for c in columns:
        figures = outcomes(c.found) if c.found else {}
        cells = ["" if figures.get(name) is None else figures[name] for name in OUTCOMES]
        unpriced = "; ".join(c.found.unpriced) if c.found else ""
        writer.writerow([c.sheet, c.size, *cells, unpriced, c.refused])
    return held.getvalue()


def _head(name: str) -> str:
    unit = {"length": "_mm", "kg": "_kg"}.get(OUTCOMES[name].quantity, "")
    return f"{name}{unit}"


def compare_html(columns: Sequence[Column], unit: LengthUnit) -> bytes:
    """The table as one page."""
    heads = "".join(f'<th scope="col">{safe(c.heading)}</th>' for c in columns)
    lines = [f'<thead><tr><th scope="col">bed</th>{heads}</tr></thead><tbody>']
    if any(c.refused for c in columns):
        cells = "".join(f'<td class="bad">{safe(c.refused)}</td>' if c.refused else "<td></td>"
                        for c in columns)  # fmt: skip
        lines.append(f'<tr><th scope="row">refused</th>{cells}</tr>')
    for row in rows_of(columns, unit):
        if row.section:
            lines.append(
                f'<tr class="section"><th scope="colgroup" colspan="{len(columns) + 1}">'
                f"{safe(row.section)}</th></tr>"
            )
        cells = "".join(f"<td{_tone(text)}>{safe(text)}</td>" for text in row.cells)
        lines.append(f'<tr><th scope="row">{safe(row.label)}</th>{cells}</tr>')
    body = "\n".join(lines)
    return page_html(
        "Beds side by side",
        f'<header class="top"><h1>Beds side by side</h1><p class="note">{safe(NOTE)}</p></header>'
        f'<main><div class="wide"><table class="beds">{body}</tbody></table></div></main>',
    )


NOTE = (
    "Reckoned without solids; cost is of lumber alone, by the shop's prices. Shares of what is "
    "allowed: above 1.0 is too much. A design aid, not a certificate; adult low beds only; local "
    "codes and licensed practice decide."
)


def _tone(text: str) -> str:
    if text.startswith("FAILED"):
        return ' class="bad"'
    return ' class="care"' if text.startswith((UNKNOWN, "doubtful")) else ""


def write_compare(columns: Sequence[Column], unit: LengthUnit, out: Path) -> Path:
    """Write compare.csv, compare.json and compare.html into ``out``/compare; return that.

    Raises WriteError; then nothing in ``out`` has changed.
    """
    with fresh_folder(out, NAME) as folder:
        write_text(folder / "compare.csv", csv_text(columns))
        write_bytes(folder / "compare.json", json_bytes(records(columns)))
        write_bytes(folder / "compare.html", compare_html(columns, unit))
        write_bytes(folder / MANIFEST, json_bytes({"name": NAME}))
    return out / NAME
