"""A sheet for each kind of part: its views, sections, dimensions, and the table of its features."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.drawing.compose import Group, Item, Piece, arranged, stacked
from bedmodel.drawing.directions import Side
from bedmodel.drawing.features import Feature
from bedmodel.drawing.figure import Figure
from bedmodel.drawing.page import Page
from bedmodel.drawing.part_figures import (
    Cutting,
    Overall,
    captioned,
    cuttings,
    ends_alike,
    in_line,
    section_figure,
    view_figure,
)
from bedmodel.drawing.sheet_frame import Title, scale_text
from bedmodel.drawing.subject import Subject
from bedmodel.drawing.tables import Notes, Table
from bedmodel.exports.paper.sheet import Paper
from bedmodel.materials import material

SCALES = {
    "mm": (1.0, 2.0, 5.0, 10.0, 20.0, 50.0),
    "inch": (1.0, 2.0, 4.0, 8.0, 12.0, 16.0, 24.0, 48.0),
}
_GAPS = (12.0, 9.0, 6.5)


@dataclass(frozen=True)
class Parts:
    """What a part's sheet is made of, before its scales are chosen."""

    subject: Subject
    stack: tuple[Side, ...]
    ends: tuple[Side, ...]
    cuts: tuple[Cutting, ...]


def part_pages(subject: Subject, paper: Paper, title: Title) -> Iterator[Page]:
    """The sheet of a part, or its sheets where one has no room."""
    parts = _parts(subject)
    scales = SCALES[subject.unit]
    name = subject.kind.name
    for main in scales:
        for detail in (s for s in scales if s <= main):
            for gap in _GAPS:
                items = list(_items(parts, main, detail))
                page = arranged(name, items, paper, gap, _titled(title, main))
                if page is not None:
                    yield page
                    return
    raise ValueError(f"{name}: no scale fits on {paper.name}")


def _titled(title: Title, main: float) -> Title:
    from dataclasses import replace

    return replace(title, scale=scale_text(main))


def _parts(subject: Subject) -> Parts:
    stack: list[Side] = ["front"]
    if subject.on("top"):
        stack.insert(0, "top")
    if subject.on("bottom") or (subject.shape.face == "xz" and "top" not in stack):
        stack.append("bottom")
    if subject.on("back"):
        stack.append("back")
    ends: list[Side] = []
    if subject.on("left"):
        ends.append("left")
    if subject.on("right") and not ends_alike(subject):
        ends.append("right")
    if not ends and "top" not in stack and "bottom" not in stack:
        ends.append("right")
    return Parts(subject, tuple(stack), tuple(ends), tuple(cuttings(subject)))


def _items(parts: Parts, main: float, detail: float) -> Iterator[Item]:
    subject = parts.subject
    yield stacked(list(_stack(parts, main)))
    thick = not any(side in parts.stack for side in ("top", "bottom"))
    for side in parts.ends:
        figure = view_figure(subject, side, detail, Overall())
        if thick and side == parts.ends[0]:
            figure = view_figure(subject, side, detail, Overall(along="thickness"))
        if subject.on(side) and ends_alike(subject):
            figure = _renamed(figure, "Each end")
        yield Item((Piece(captioned(figure, main), (0.0, 0.0)),))
    reach = 2.2 * max((p.depth for f, p in _deep(parts)), default=40.0)
    for cut in parts.cuts:
        figure = section_figure(subject, cut, detail, max(reach, 60.0))
        yield Item((Piece(captioned(figure, main), (0.0, 0.0)),))
    if subject.features:
        yield Item((), _table(parts))
    yield Item((), _notes(parts))


def _renamed(figure: Figure, name: str) -> Figure:
    from dataclasses import replace

    return replace(figure, name=name)


def _deep(parts: Parts) -> list[tuple[Feature, object]]:
    return [meet for cut in parts.cuts if cut.lengthways for meet in cut.meets]


def _stack(parts: Parts, main: float) -> Group:
    subject, stack = parts.subject, parts.stack
    thick_on = next((s for s in ("top", "bottom") if s in stack), "")
    for side in stack:
        along = "length" if side == stack[-1] else ""
        across = {"front": "width", thick_on: "thickness"}.get(side, "")
        planes = parts.cuts if side == "front" else ()
        figure = view_figure(subject, side, main, Overall(along, across), planes)
        yield captioned(figure, main)


def _table(parts: Parts) -> Table:
    subject = parts.subject
    shown = {
        feature.code: f"{cut.letter}\u2013{cut.letter}"
        for cut in parts.cuts
        for feature, place in cut.meets
    }
    rows = []
    for feature in subject.features:
        rows.append(
            (
                feature.code,
                feature.what,
                str(len(feature.places)),
                _size(subject, feature),
                _depth(subject, feature, shown.get(feature.code, "")),
            )
        )
    return Table("Features", ("", "what", "no.", "size", "deep"), tuple(rows), "  r")


def _size(subject: Subject, feature: Feature) -> str:
    place = feature.first
    long, wide = place.spans
    if place.is_round:
        return f"\u00d8 {subject.text(wide)}"
    long, wide = max(long, wide), min(long, wide)
    text = f"{subject.text(long)} \u00d7 {subject.text(wide)}"
    ends = getattr(place.item, "ends", "")
    return f"{text}, round ends" if ends == "round" else text


def _depth(subject: Subject, feature: Feature, section: str) -> str:
    if getattr(feature.first.item, "through", False):
        return "through"
    return f"see {section}" if section else subject.text(feature.first.depth)


def _notes(parts: Parts) -> Notes:
    subject = parts.subject
    lines = []
    easing = subject.shape.easing
    if easing.active:
        what = "rounded over, radius" if easing.style == "roundover" else "chamfered"
        edges = ", ".join(sorted(easing.edges))
        lines.append(f"edges {what} {subject.text(easing.size)}: {edges}; others left sharp")
    else:
        lines.append("edges left sharp")
    for feature in subject.features:
        look = subject.front.seen_from(feature.side)
        levels = {round(look.flat(p.centre)[1], 2) for p in feature.places}
        if len(levels) > 3 and feature.side not in ("left", "right") and in_line(feature, look):
            lines.append(f"{feature.code}: all in one straight line from the first to the last")
    if ends_alike(subject):
        lines.append("both ends alike, mirrored")
    return Notes("Notes", tuple(lines), 76.0)


def title_of(subject: Subject, design: str, number: str, sheet: str) -> Title:
    """What a part's title block says; the scale comes when the sheet is laid out."""
    name = subject.title
    return Title(
        name[0].upper() + name[1:],
        design,
        "Part drawing",
        number,
        sheet,
        "",
        "inches" if subject.unit == "inch" else "millimetres",
        material(subject.kind.species).label,
        str(len(subject.pieces)),
    )


def _sequence(items: Sequence[Item]) -> int:
    return len(items)
