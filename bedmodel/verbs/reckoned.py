"""What the verbs of the reckoning say alike: numbers, what they rest on, and cautions."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bedmodel.figures import Figure
from bedmodel.skeleton import Layout
from bedmodel.strength import CAUTIONS
from bedmodel.strength.answer import assumed, basis_figures, unsure_woods
from bedmodel.strength.loads import loads_of, sleepers_count
from bedmodel.verbs.terminal import paragraph, table


def percent(moisture: float) -> str:
    """Moisture content to half a per cent."""
    return f"{math.floor(moisture * 2 + 0.5) / 2:g} %"


def heading(layout: Layout) -> str:
    """The bed, and what lies in it."""
    sheet, loads = layout.sheet, loads_of(layout.sheet)
    m, count = layout.mattress, sleepers_count(layout, loads)
    bed, inside = sheet.bed_wood.label, sheet.inside_wood.label
    woods = bed if bed == inside else f"{bed}; slats, runners and centre rail {inside}"
    if layout.centre_rail is None:
        woods = woods.replace(" and centre rail", "").replace("slats, runners", "slats and runners")
    return paragraph(
        f"{sheet.design.title}, for a mattress {sheet.show(m.width)} x {sheet.show(m.length)} of "
        f"{loads.mattress_mass_kg:g} kg and {count} {'sleeper' if count == 1 else 'sleepers'} of "
        f"{loads.sleeper_mass_kg:g} kg. {woods[0].upper()}{woods[1:]}."
    )


def rests_on(layout: Layout) -> str:
    """What a strength answer takes for granted, and which figures are not of a published table."""
    lines = ["", "rests on"]
    lines += [paragraph(line, "  ") for line in assumed(layout)]
    marked: dict[str, list[str]] = {}
    for name, figure in basis_figures(layout):
        if figure.status != "confirmed":
            marked.setdefault(figure.status, []).append(f"{name} {_figure(layout, figure)}")
    said = {
        "your own": "your own figures",
        "unconfirmed": "from memory [unconfirmed], not to be relied on before they are checked",
        "disputed": "sources disagree [disputed]",
        "practice": "practice of this program [practice]",
    }
    for status, words in said.items():
        if status in marked:
            lines.append(paragraph(f"{words}: {', '.join(marked[status])}", "  "))
    lines += [paragraph(line, "  ") for line in unsure_woods(layout)]
    told = "`bedmodel strength --basis` lists every figure with its source; each is a parameter"
    lines.append(paragraph(told, "  "))
    return "\n".join(lines)


def _figure(layout: Layout, figure: Figure) -> str:
    if figure.unit == "mm":
        return layout.sheet.show(figure.value)
    return f"{figure.value:.3g} {figure.unit}".rstrip()


def basis_table(layout: Layout, figures: Sequence[tuple[str, Figure]]) -> str:
    """Every figure: value, how sure, what it is and where it is from."""
    rows = [
        [
            name,
            _figure(layout, figure),
            "" if figure.status == "confirmed" else figure.status,
            f"{figure.meaning}; {figure.source}",
        ]
        for name, figure in figures
    ]
    return table(rows, ["parameter", "value", "how sure", "what it is; source"], " r")


def cautions() -> str:
    lines = ["", "cautions"]
    lines += [paragraph(text, f"  {i} ") for i, text in enumerate(CAUTIONS, 1)]
    return "\n".join(lines)
