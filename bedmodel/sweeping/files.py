"""The result of a sweep as files: table, records, plots, and one page with all of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bedmodel.bed_figures import OUTCOMES
from bedmodel.exports.json_text import json_bytes
from bedmodel.exports.plain_page import page_html, picture_address, safe
from bedmodel.exports.publish import MANIFEST, fresh_folder, write_bytes, write_text
from bedmodel.spec import Sheet
from bedmodel.sweeping.chart import drawing, pdf_bytes, svg_bytes
from bedmodel.sweeping.figures_of_rows import Plot
from bedmodel.sweeping.ranges import Axis
from bedmodel.sweeping.run import Row

MOST_SHOWN = 400  # rows of a page's table; the CSV has all


@dataclass(frozen=True)
class Sweep:
    """A whole sweep: what was varied, every row, and the front of each mattress by two figures."""

    sheet: Sheet
    size: str
    axes: tuple[Axis, ...]
    rows: tuple[Row, ...]
    by: tuple[str, str]
    fronts: tuple[tuple[int, ...], ...]

    @property
    def front(self) -> tuple[int, ...]:
        """All that none beats, of its mattress."""
        return tuple(i for front in self.fronts for i in front)

    @property
    def name(self) -> str:
        return f"sweep-{self.sheet.design.name}"

    @property
    def refused(self) -> list[int]:
        return [i for i, row in enumerate(self.rows) if row.refused]

    @property
    def failing(self) -> list[int]:
        return [i for i, row in enumerate(self.rows) if not row.refused and not row.passed]

    @property
    def told(self) -> str:
        """How many points, in one line."""
        parts = [f"{self.sheet.design.name} {self.size}: {len(self.rows)} points"]
        if self.refused:
            parts.append(f"{len(self.refused)} refused")
        if self.failing:
            parts.append(f"{len(self.failing)} fail a check (hollow)")
        if self.front:
            told = f"{len(self.front)} that none beats in {self.by[0]} and sag"
            several = f" in {len(self.fronts)} sizes" if len(self.fronts) > 1 else ""
            parts.append(f"{told}{several} (ringed)")
        return ", ".join(parts)


def csv_text(sweep: Sweep) -> str:
    """A line a point: the varied values, every named figure (mm, kg), front, the refusal."""
    held = io.StringIO()
    writer = csv.writer(held, lineterminator="\n")
    heads = [f"{a.name}_mm" if a.quantity == "length" else a.name for a in sweep.axes]
    units = {"length": "_mm", "kg": "_kg"}
    heads += [f"{name}{units.get(o.quantity, '')}" for name, o in OUTCOMES.items()]
    writer.writerow([*heads, "front", "refused"])
    best = set(sweep.front)
    for i, row in enumerate(sweep.rows):
        values = [v.shown if v.number is None else f"{v.number:g}" for v in row.values]
        cells = ["" if row.figures.get(n) is None else row.figures[n] for n in OUTCOMES]
        writer.writerow([*values, *cells, "yes" if i in best else "", row.refused])
    return held.getvalue()


def sweep_record(sweep: Sweep) -> dict[str, Any]:
    """The same for other programs."""
    best = set(sweep.front)
    return {
        "sheet": sweep.sheet.design.name,
        "size": sweep.size,
        "varied": [
            {"parameter": a.name, "quantity": a.quantity, "values": [v.shown for v in a.values]}
            for a in sweep.axes
        ],
        "front_by": list(sweep.by),
        "points": [
            {
                "set": {a.name: v.text for a, v in zip(sweep.axes, row.values, strict=True)},
                **({"refused": row.refused} if row.refused else row.figures),
                "front": i in best,
            }
            for i, row in enumerate(sweep.rows)
        ],
    }


def write_sweep(sweep: Sweep, plots: Sequence[Plot], out: Path) -> Path:
    """Write sweep.csv, .json, .html, plots.pdf and an SVG a plot into ``out``/NAME.

    Raises WriteError; then nothing in ``out`` has changed.
    """
    unit = sweep.sheet.design.unit
    drawings = [drawing(plot, sweep.rows, sweep.fronts, unit, sweep.told) for plot in plots]
    pictures = [svg_bytes(made) for made in drawings]
    with fresh_folder(out, sweep.name) as folder:
        write_text(folder / "sweep.csv", csv_text(sweep))
        write_bytes(folder / "sweep.json", json_bytes(sweep_record(sweep)))
        write_bytes(folder / "plots.pdf", pdf_bytes(drawings, sweep.name))
        for plot, picture in zip(plots, pictures, strict=True):
            write_bytes(folder / f"{plot.file}.svg", picture)
        write_bytes(folder / "sweep.html", sweep_html(sweep, plots, pictures))
        write_bytes(folder / MANIFEST, json_bytes({"name": sweep.name}))
    return out / sweep.name


def sweep_html(sweep: Sweep, plots: Sequence[Plot], pictures: Sequence[bytes]) -> bytes:
    """Plots, the front, every point and what was refused, on one page."""
    title = f"{sweep.sheet.design.title}: {', '.join(axis.name for axis in sweep.axes)}"
    body = [
        f'<header class="top"><h1>{safe(title)}</h1><p class="note">{safe(sweep.told)}. {NOTE}</p>'
        "</header><main>"
    ]
    for plot, picture in zip(plots, pictures, strict=True):
        address = picture_address(picture, "image/svg+xml")
        body.append(f'<p class="plot"><img src="{address}" alt="{safe(plot.title)}"></p>')
    if sweep.front:
        body += ["<h2>None beats these</h2>", table_html(sweep, sweep.front)]
    else:
        body.append("<p>No point passes every check with its cost known: there is no front.</p>")
    laid = [i for i, row in enumerate(sweep.rows) if not row.refused]
    if laid:
        body += ["<h2>Every point</h2>", table_html(sweep, laid[:MOST_SHOWN])]
    if sweep.refused:
        body += ["<h2>Refused</h2>", refused_html(sweep)]
    if max(len(laid), len(sweep.refused)) > MOST_SHOWN:
        body.append(f"<p>The first {MOST_SHOWN} are shown; sweep.csv has all.</p>")
    return page_html(title, "\n".join([*body, "</main>"]))


NOTE = (
    "Reckoned without solids: build and check the one you choose. Shares of what is allowed, above "
    "1.0 is too much. A design aid, not a certificate."
)


def table_html(sweep: Sweep, chosen: Sequence[int]) -> str:
    heads = "".join(f'<th scope="col" class="n">{safe(head)}</th>' for head in table_heads(sweep))
    rows = "\n".join(
        "<tr>" + "".join(f'<td class="n">{safe(c)}</td>' for c in table_cells(sweep, i)) + "</tr>"
        for i in chosen
    )
    return (
        f'<div class="wide"><table><thead><tr>{heads}</tr></thead><tbody>\n{rows}\n</tbody></table>'
        "</div>"
    )


def refused_html(sweep: Sweep) -> str:
    rows = "\n".join(
        f"<tr><td>{safe(set_text(sweep, i))}</td><td>{safe(sweep.rows[i].refused)}</td></tr>"
        for i in sweep.refused[:MOST_SHOWN]
    )
    return (
        '<div class="wide"><table><thead><tr><th scope="col">with</th><th scope="col">why</th>'
        f"</tr></thead><tbody>\n{rows}\n</tbody></table></div>"
    )


def set_text(sweep: Sweep, i: int) -> str:
    """The values of a point in words."""
    row = sweep.rows[i]
    return ", ".join(f"{a.name}={v.shown}" for a, v in zip(sweep.axes, row.values, strict=True))


def table_heads(sweep: Sweep) -> list[str]:
    return [*(axis.name for axis in sweep.axes), "cost", "mass", "sag", "stress", "part", "checks"]


def table_cells(sweep: Sweep, i: int) -> list[str]:
    """A row as people read it; the front is marked with an asterisk."""
    row = sweep.rows[i]
    f = row.figures
    failed = f["failed"]
    return [
        *(value.shown for value in row.values),
        "no price" if f["cost"] is None else f"{f['cost']:.2f}",
        f"{f['mass']:.1f} kg",
        _share(f["sag"]),
        _share(f["stress"]),
        str(f["sag_part"]).replace("_", " "),
        ("passed" if not failed else f"{failed} FAILED") + (" *" if i in sweep.front else ""),
    ]


def _share(value: float | None) -> str:
    return "-" if value is None else f"{value:.2f}"
