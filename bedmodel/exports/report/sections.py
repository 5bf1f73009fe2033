"""The sections of the page as HTML: they tell everything without a script too."""

from __future__ import annotations

import base64
import math
import re
from collections.abc import Iterator, Sequence

from bedmodel import __version__
from bedmodel.checks.finding import Result
from bedmodel.exports.records import SAFETY
from bedmodel.exports.report.matter import Chapter, Figure, Matter, Remark
from bedmodel.exports.report.words import counted, safe, sides, stuff_of, titled
from bedmodel.materials import material
from bedmodel.sheets import as_table
from bedmodel.shop.cautions import DUST, HEAVY, ROUTER, SAW
from bedmodel.spec import Sheet
from bedmodel.stock.cut_list import CutItem
from bedmodel.units import parse_length

_LISTED = 6  # findings of one check that are listed at once
_SHOWN_WITHIN = 0.005  # mm; what rounding may hide of a length

# What lies beside the page when the whole bed was built: path, and what it is for.
FILES = (
    ("model/bed.step", "the bed for any CAD viewer, in millimetres"),
    ("model/bed.glb", "the bed for 3D viewers, in metres"),
    ("model/stl/bed.stl", "the bed as closed meshes, in millimetres"),
    ("plan.pdf", "the plan book: drawings, lists and steps, for the shop wall"),
    ("drawings/drawings.pdf", "the drawings, each sheet at its scale"),
    ("shop/labels.pdf", "a label to stick on each part"),
    ("shop/cut_list.csv", "the cut list for a spreadsheet"),
    ("shop/buying.csv", "what to ask the yard for"),
    ("shop/marks.csv", "every mark, from its reference edge"),
    ("shop/steps.json", "the order of work, with settings and cautions"),
    ("shop/boards.json", "the board plan, cut by cut"),
    ("parts.json", "every part, for other programs"),
    ("checks.json", "every check, for other programs"),
    ("manifest.json", "the sheet as used, and every file with its hash"),
)
FOLDERS = (
    ("templates/", "routing templates of the legs, full size, with their legends"),
    ("jigs/", "jigs and story sticks, full size, each with its setting card"),
)


def sections(matter: Matter) -> Iterator[str]:
    """All sections below the view, in order; those with nothing to tell are left out."""
    from bedmodel.exports.report.boards import boards_section

    yield _checks(matter)
    yield _cut_list(matter)
    yield _joints(matter)
    if matter.plan is not None:
        yield boards_section(matter.plan, matter.bed.layout.sheet)
    for chapter in matter.chapters:
        yield _chapter(chapter)
    if any(path in matter.files for path, _ in FILES):
        yield _files(matter)
    yield _about(matter)


def contents(matter: Matter) -> list[tuple[str, str]]:
    """Where the sections are: anchor and heading."""
    found = [("checks", "Checks"), ("cut-list", "Cut list"), ("joints", "Joints")]
    if matter.plan is not None:
        found.append(("boards", "Boards"))
    found += [(chapter.key, chapter.title) for chapter in matter.chapters]
    if any(path in matter.files for path, _ in FILES):
        found.append(("files", "Files"))
    return [*found, ("about", "Cautions")]


# --- the head of the page ------------------------------------------------------------------


def head(matter: Matter) -> str:
    """Name, size, woods, overall measures, and whether the checks passed."""
    sheet = matter.bed.layout.sheet
    note = f'<p class="note">{safe(sheet.design.note)}</p>' if sheet.design.note else ""
    facts = "".join(
        f"<div><dt>{safe(name)}</dt><dd>{told}</dd></div>" for name, told in _facts(matter)
    )
    return (
        f'<header class="top"><div class="name"><h1>{safe(sheet.design.title)}</h1>{note}</div>'
        f'{_verdict(matter)}<dl class="facts">{facts}</dl></header>'
    )


def _verdict(matter: Matter) -> str:
    if not matter.results:
        return f'<a class="verdict" href="#checks">{safe(matter.unchecked)}</a>'
    cautions = sum(len(result.cautions) for result in matter.results)
    said = f"{matter.tested} of {matter.tested} checks passed"
    style = "good"
    if matter.failed:
        said, style = f"{matter.failed} of {matter.tested} checks failed", "bad"
    more = f"<small>{counted(cautions, 'caution')}</small>" if cautions else ""
    return f'<a class="verdict {style}" href="#checks">{said}{more}</a>'


def _facts(matter: Matter) -> Iterator[tuple[str, str]]:
    bed = matter.bed
    layout, show = bed.layout, bed.layout.sheet.show
    box, given = layout.mattress, layout.sheet.mattress
    own = given.width is not None or given.length is not None
    size = "own size" if own else given.size
    yield (
        "Mattress",
        f"{safe(sides(show, box.width, box.length, box.thickness))} <i>{safe(size)}</i>",
    )
    yield "Overall", f"{safe(sides(show, *layout.overall))} <i>width × length × height</i>"
    top = layout.platform + box.thickness
    yield "Platform", f"{safe(show(layout.platform))} <i>mattress top {safe(show(top))}</i>"
    woods = dict.fromkeys(kind.species for kind in bed.kinds.values() if not kind.is_metal)
    yield "Woods", ", ".join(safe(material(name, layout.sheet.own_woods).label) for name in woods)
    pieces = counted(len(bed.pieces), "piece")
    yield "Parts", f"{pieces} <i>{len(bed.kinds)} kinds, {bed.total_mass_kg:.0f} kg</i>"


# --- tables --------------------------------------------------------------------------------


def _button(key: str, told: str) -> str:
    """A button that only a script can make work; it is hidden where none runs."""
    return (
        f'<button type="button" class="see" data-show="{safe(key)}" '
        f'aria-label="Show in the view: {safe(told)}">Show</button>'
    )


def _table(heads: Sequence[str], rows: Iterator[str], style: str = "") -> str:
    cells = "".join(f'<th scope="col">{safe(text)}</th>' for text in heads)
    return (
        f'<div class="wide"><table class="{style}"><thead><tr>{cells}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _checks(matter: Matter) -> str:
    if not matter.results:
        said = safe(matter.unchecked)
        return f'<section id="checks"><h2>Checks</h2><p>This bed: {said}.</p></section>'
    failed = [result for result in matter.results if not result.passed]
    idle = len(matter.results) - matter.tested
    lead = "Measured on the finished solids, not taken from the sheet."
    if idle:
        lead += f" {counted(idle, 'check')} had nothing to test on this bed."
    trouble = "".join(_findings(result) for result in failed)
    trouble += "".join(_cautions(result) for result in matter.results)
    rows = (_check_row(result) for result in matter.results)
    heads = ("", "check", "tested", "worst", "limit", "")
    return (
        f'<section id="checks"><h2>Checks</h2><p>{lead}</p>{trouble}'
        f"{_table(heads, rows, 'checks')}</section>"
    )


def _findings(result: Result) -> str:
    """What failed, each with its place; the remedy once, since it goes by the code."""
    code = int(result.code)
    said = []
    for i, finding in enumerate(result.findings):
        parts = " and ".join(titled(part) for part in finding.parts)
        place = f" ({finding.place})" if finding.place else ""
        measured = _measured(finding.measured, result)
        said.append(
            f"<li><b>{safe(parts)}</b>{safe(place)}: {measured}, must be {safe(finding.limit)} "
            f"{_button(f'finding-{code}-{i}', parts)}</li>"
        )
    first, rest = said[:_LISTED], said[_LISTED:]
    more = (
        f"<details><summary>and {len(rest)} more</summary><ul>{''.join(rest)}</ul></details>"
        if rest
        else ""
    )
    remedy = safe(result.findings[0].remedy)
    return (
        f'<div class="trouble bad"><h3>{code} {safe(result.title)}</h3>'
        f"<p>What to do: {remedy}.</p><ul>{''.join(first)}</ul>{more}</div>"
    )


def _cautions(result: Result) -> str:
    code = int(result.code)
    said = [
        f"<li><b>{safe(', '.join(titled(part) for part in caution.parts))}</b>: "
        f"{safe(caution.told)} {_button(f'caution-{code}-{i}', caution.told)}</li>"
        for i, caution in enumerate(result.cautions)
    ]
    if not said:
        return ""
    return f'<div class="trouble care"><h3>Caution {code}</h3><ul>{"".join(said)}</ul></div>'


def _check_row(result: Result) -> str:
    style, mark, word = ("good", "✓", "passed") if result.passed else ("bad", "✗", "failed")
    if not result.tested and result.passed:
        style, mark, word = "idle", "–", "nothing to test"
    code = int(result.code)
    see = _button(f"check-{code}", result.title) if result.tested else ""
    return (
        f'<tr class="{style}"><td class="mark"><span aria-hidden="true">{mark}</span>'
        f'<span class="said">{word}</span></td><td><small>{code}</small> {safe(result.title)}</td>'
        f'<td data-head="tested">{result.tested}</td><td data-head="worst">{_worst(result)}</td>'
        f'<td data-head="limit">{safe(result.limit)}</td><td>{see}</td></tr>'
    )


def _worst(result: Result) -> str:
    return "–" if result.worst is None else _measured(result.worst, result)


def _measured(value: float, result: Result) -> str:
    if not math.isfinite(value):
        return "nothing measured"
    if result.measure == "count":
        return f"{value:.0f}"
    unit = {"mm": " mm", "mm2": " mm²", "mm3": " mm³"}.get(result.measure, "")
    digits = 3 if abs(value) < 1000 else 0
    return f"{round(value, digits) + 0.0:.{digits}f}{unit}"


def _cut_list(matter: Matter) -> str:
    sheet = matter.bed.layout.sheet
    rows = (_cut_row(number, item, sheet) for number, item in enumerate(matter.cuts.items, 1))
    heads = ("", "part", "count", "finished", "wood", "rough, as first cut", "notes")
    bought = ", ".join(f"{count} × {titled(name)}" for name, count in matter.cuts.hardware)
    metal = f"<p>To buy besides the wood: {safe(bought)}; screws as the joints tell.</p>"
    return (
        '<section id="cut-list"><h2>Cut list</h2><p>Length along the grain × width × thickness.'
        f"</p>{_table(heads, rows, 'cuts')}{metal if bought else ''}</section>"
    )


def _cut_row(number: int, item: CutItem, sheet: Sheet) -> str:
    show, own = sheet.show, sheet.own_woods
    size = sides(show, item.length, item.width, item.thickness)
    rough = f"{item.rough_count} pieces " if item.rough_count > 1 else "1 piece "
    if item.lumber is not None:
        rough += f"{sides(show, item.rough_length, item.rough_width)} of {item.lumber.name}"
    else:
        rough += f"{show(item.rough_length)} of rod"
    return (
        f'<tr id="cut-{number}"><td class="mark">{number}</td><td>{safe(titled(item.name))}</td>'
        f'<td data-head="count">{item.count}</td><td data-head="finished">{safe(size)}</td>'
        f'<td data-head="wood">{safe(material(item.species, own).label)}</td>'
        f'<td data-head="rough">{safe(rough)}</td><td>{safe("; ".join(item.notes))}</td></tr>'
    )


def _joints(matter: Matter) -> str:
    def row(i: int, title: str, told: str) -> str:
        found = matter.sorts[title, told]
        between = dict.fromkeys(_between(meeting.pieces[:2], matter) for meeting in found)
        said = "; ".join(between)
        return (
            f"<tr><td>{safe(title)}</td><td>{safe(said)}</td>"
            f'<td data-head="places">{len(found)}</td><td>{safe(told)}</td>'
            f"<td>{_button(f'joint-{i}', f'{title}, {said}')}</td></tr>"
        )

    rows = (row(i, title, told) for i, (title, told) in enumerate(matter.sorts))
    heads = ("joint", "between", "places", "how", "")
    return f'<section id="joints"><h2>Joints</h2>{_table(heads, rows, "joints")}</section>'


def _between(names: Sequence[str], matter: Matter) -> str:
    """The kinds that meet, hands left out: both sides of the bed are alike."""
    kinds = {piece.name: piece.kind.name for piece in matter.bed.pieces}
    words = (kinds[name].removesuffix("_left").removesuffix("_right") for name in names)
    return " and ".join(titled(word).lower() for word in words)


# --- what is given from outside, files, cautions ---------------------------------------------


def _chapter(chapter: Chapter) -> str:
    lead = f"<p>{safe(chapter.lead)}</p>" if chapter.lead else ""
    figures = "".join(map(_figure, chapter.figures))
    remarks = "".join(_remark(chapter, i, remark) for i, remark in enumerate(chapter.remarks))
    listed = f'<ul class="remarks">{remarks}</ul>' if remarks else ""
    return (
        f'<section id="{safe(chapter.key)}"><h2>{safe(chapter.title)}</h2>{lead}'
        f'<div class="figures">{figures}</div>{listed}</section>'
    )


def _figure(figure: Figure) -> str:
    # As a picture of its own, so that nothing in it reaches the page.
    address = base64.b64encode(figure.svg.encode("utf-8")).decode("ascii")
    return (
        f'<figure><img alt="{safe(figure.caption)}" src="data:image/svg+xml;base64,{address}">'
        f"<figcaption>{safe(figure.caption)}</figcaption></figure>"
    )


def _remark(chapter: Chapter, number: int, remark: Remark) -> str:
    style = {True: "good", False: "bad", None: "plain"}[remark.passed]
    see = _button(f"{chapter.key}-{number}", remark.text) if remark.parts else ""
    return f'<li class="{style}">{safe(remark.text)} {see}</li>'


def _files(matter: Matter) -> str:
    there = [(path, told) for path, told in FILES if path in matter.files]
    there += [
        (path, told) for path, told in FOLDERS if any(f.startswith(path) for f in matter.files)
    ]
    rows = "".join(
        f'<li><a href="{safe(path)}">{safe(path)}</a> <span>{safe(told)}</span></li>'
        for path, told in there
    )
    return (
        '<section id="files"><h2>Files beside this page</h2>'
        f'<ul class="files">{rows}</ul></section>'
    )


def _about(matter: Matter) -> str:
    sheet = matter.bed.layout.sheet
    said = "".join(
        f"<li>{safe(text[:1].upper() + text[1:])}.</li>" for text in (SAW, ROUTER, DUST, HEAVY)
    )
    rows = "".join(
        f"<tr><td>{safe(name)}</td><td>{safe(_in_unit(value, sheet))}</td></tr>"
        for name, value in _flat(as_table(sheet))
    )
    return (
        f'<section id="about"><h2>Cautions</h2><p><b>{safe(SAFETY)}</b></p><ul>{said}</ul>'
        '<details class="sheet"><summary>The sheet as used</summary>'
        f"<table>{rows}</table></details>"
        f'<p class="made">Made by bedmodel {safe(__version__)}.</p></section>'
    )


def _in_unit(value: object, sheet: Sheet) -> object:
    """A length as the sheet prints it where that says all of it; everything else as it is."""
    if value in ([], ()):
        return "none"
    if not isinstance(value, str) or not re.fullmatch(r"-?[0-9.]+ mm", value):
        return value
    shown = sheet.show(float(value.removesuffix(" mm")))
    exact = abs(parse_length(shown, "mm") - parse_length(value, "mm")) < _SHOWN_WITHIN
    return shown if exact else value


def _flat(table: object, name: str = "") -> Iterator[tuple[str, object]]:
    if isinstance(table, dict):
        for key, value in table.items():
            yield from _flat(value, f"{name}.{key}" if name else str(key))
    elif isinstance(table, list | tuple) and any(isinstance(each, dict) for each in table):
        for i, value in enumerate(table, start=1):
            yield from _flat(value, f"{name}.{i}")
    else:
        yield name, table


def stuffs(matter: Matter) -> str:
    """The woods and metals of the bed, for the page's description."""
    sheet = matter.bed.layout.sheet
    return ", ".join(dict.fromkeys(stuff_of(kind, sheet) for kind in matter.bed.kinds.values()))
