"""Sheets of the whole: general arrangement, head end, foot end, slat layout."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

from bedmodel.bed import Piece as BedPiece
from bedmodel.drawing.compose import Item, Piece, arranged
from bedmodel.drawing.curves import bounds_of
from bedmodel.drawing.dims import Station, linear, running
from bedmodel.drawing.directions import Look, Side
from bedmodel.drawing.figure import Figure, Measure, Stroke, stroke
from bedmodel.drawing.page import Page
from bedmodel.drawing.part_figures import captioned
from bedmodel.drawing.platform_words import (
    platform_across,
    platform_notes,
    platform_places,
    platform_table,
)
from bedmodel.drawing.project import View
from bedmodel.drawing.sheet_frame import Title, scale_text
from bedmodel.drawing.tables import Notes, Table
from bedmodel.drawing.whole import (
    FROM_CORNER,
    FROM_FOOT,
    FROM_HEAD,
    FROM_RIGHT,
    HEAD_LEFT,
    Whole,
    drawn,
    seen,
)
from bedmodel.end_plan import EndPlan, board_name
from bedmodel.ends.record import UprightPlan
from bedmodel.exports.paper.sheet import Box, Paper, Text
from bedmodel.frames import Vector, dot, scale
from bedmodel.shop.marks import Mark
from bedmodel.spec import Sheet
from bedmodel.units import format_angle, format_number

SCALES = {
    "mm": (5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0),
    "inch": (4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 32.0, 48.0),
}
_GAPS = (14.0, 10.0, 7.0, 5.0)
_X, _Y, _Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
_LANE, _STEP = 7.0, 6.5


@dataclass(frozen=True)
class Drafter:
    """What the sheets of the whole share: the bed, the paper, how lengths are written."""

    whole: Whole
    paper: Paper

    @property
    def unit(self) -> str:
        return self.whole.bed.layout.sheet.design.unit

    def text(self, length: float) -> str:
        unit = self.whole.bed.layout.sheet.design.unit
        return format_number(Mark((), "", length, unit).rounded, unit)

    def fitted(
        self,
        name: str,
        title: Title,
        make: Callable[[float, float], list[Item]],
        variants: Sequence[float] = (1.0,),
    ) -> Page:
        """The page at the largest scale at which its items fit, the best of its variants first."""
        for size in SCALES[self.unit]:
            for variant in variants:
                items = make(size, variant)
                for gap in _GAPS:
                    stated = replace(title, scale=scale_text(size))
                    page = arranged(name, items, self.paper, gap, stated)
                    if page is not None:
                        return page
        raise ValueError(f"{name}: no scale fits on {self.paper.name}")


def general_arrangement(drafter: Drafter, title: Title) -> Page:
    """Side, plan and foot end in third-angle projection, and an isometric view."""
    whole = drafter.whole
    solids = [whole.plain(piece) for piece in whole.wood]
    sides: tuple[Side, ...] = ("front", "right", "top")
    views = {side: seen(solids, FROM_RIGHT.seen_from(side)) for side in sides}
    picture = whole.isometric

    @cache
    def three(size: float) -> Item:
        return _third_angle(
            {
                "front": captioned(_side(drafter, views["front"], size), size),
                "right": captioned(_end(drafter, views["right"], size), size),
                "top": captioned(_plan(drafter, views["top"], size), size),
            }
        )

    def make(size: float, smaller: float) -> list[Item]:
        view = captioned(drawn("Isometric view", picture, size * smaller), size * smaller)
        return [
            three(size),
            Item((Piece(view, (0.0, 0.0)),)),
            Item((), _sizes(drafter)),
        ]

    return drafter.fitted("general_arrangement", title, make, (0.9, 1.0, 1.2, 1.4, 1.7, 2.0))


def _third_angle(figures: dict[str, Figure]) -> Item:
    """Front, the view from the right beside it, the plan above it, all in line."""
    front, right, top = figures["front"], figures["right"], figures["top"]
    x = front.box.x1 + 6.0 - right.box.x0
    y = front.box.y1 + 5.0 - top.box.y0
    return Item((Piece(front, (0.0, 0.0)), Piece(right, (x, 0.0)), Piece(top, (0.0, y))))


def _end(drafter: Drafter, view: View, size: float) -> Figure:
    whole, figure = drafter.whole, drawn("Foot end", view, size)
    body = figure.body
    low, high = whole.span(whole.wood, _X)
    value, text = high - low, drafter.text(high - low)
    ends = (body.x0, body.y0), (body.x1, body.y0)
    level = body.y0 - _LANE
    return figure.adding(measures=[linear(*ends, level, "x", value, text, "overall width")])


def _side(drafter: Drafter, view: View, size: float) -> Figure:
    whole, figure = drafter.whole, drawn("Right side", view, size)
    body, n, layout = figure.body, size, drafter.whole.bed.layout
    low, high = whole.span(whole.wood, _Y)
    rows = (
        (layout.pocket_length, 0.0, layout.pocket_length / n, "between the legs"),
        (high - low, low / n, high / n, "overall length"),
    )
    measures = [
        linear(
            (a, body.y0),
            (b, body.y0),
            body.y0 - _LANE - lane * _STEP,
            "x",
            value,
            drafter.text(value),
            of,
        )
        for lane, (value, a, b, of) in enumerate(rows)
    ]
    stations = [Station(0.0, body.x0, 0.0, "0 floor", "datum")]
    stations += [
        Station(h / n, body.x0, h, f"{drafter.text(h)} {words}", words)
        for words, h in _heights(drafter)
    ]
    measures += running(stations, (body.x0, 0.0), body.x0, "y", -1.0)
    top, thick = layout.platform / n, layout.mattress.thickness / n
    start = (layout.pocket_length - layout.mattress.length) / 2 / n
    end = start + layout.mattress.length / n
    corners = ((start, top), (end, top), (end, top + thick), (start, top + thick))
    box = stroke("phantom", *corners, corners[0])
    word = Text("mattress", ((start + end) / 2, top + thick / 2 + 0.4), 7.0, anchor="middle")
    return figure.adding(measures=measures, strokes=box, words=[word])


def _heights(drafter: Drafter) -> list[tuple[str, float]]:
    """What stands how high, each height once, measured on the parts."""
    whole = drafter.whole
    found: list[tuple[str, float]] = []
    rows = (
        ("under the rails", whole.span(whole.named("side_rail"), _Z)[0]),
        ("platform", drafter.whole.bed.layout.platform)
        if not drafter.whole.bed.layout.has_slats
        else ("slats", whole.span(whole.named("slat_"), _Z)[1]),
        ("rails", whole.span(whole.named("side_rail"), _Z)[1]),
        ("foot legs", whole.span(whole.named("foot_leg"), _Z)[1]),
        ("head legs", whole.span(whole.named("head_leg"), _Z)[1]),
    )
    for words, height in rows:
        if all(abs(height - other) > 0.05 for _, other in found):
            found.append((words, height))
    return found


def _plan(drafter: Drafter, view: View, size: float) -> Figure:
    figure, layout, n = drawn("Plan", view, size), drafter.whole.bed.layout, size
    body = figure.body
    measures: list[Measure] = []
    length = layout.pocket_length
    rows = [("between the rails, head", layout.half_width(0.0), 0.0, body.x0 - _LANE + 1.0)]
    if abs(layout.stance) > 0.05:
        foot = layout.half_width(length)
        rows.append(("between the rails, foot", foot, length / n, body.x1 + _LANE))
    for of, half, x, level in rows:
        value = 2 * half
        text = drafter.text(value)
        measures.append(linear((x, -half / n), (x, half / n), level, "y", value, text, of))
    return figure.adding(measures=measures)


def _sizes(drafter: Drafter) -> Table:
    layout = drafter.whole.bed.layout
    width, length, height = layout.overall
    sheet = layout.sheet
    mattress = layout.mattress
    both = sheet.show

    rows = [
        ("overall width", both(width)),
        ("overall length", both(length)),
        ("overall height", both(height)),
        ("mattress", f"{both(mattress.width)} × {both(mattress.length)}"),
        (
            "slats above the floor" if layout.has_slats else "platform above the floor",
            both(layout.platform),
        ),
        ("mattress top above the floor", both(layout.platform + mattress.thickness)),
    ]
    if abs(layout.stance) > 0.05:
        rows.append(("wider at the head by", both(layout.stance)))
    if layout.legs.foot is not None:
        rows.append(("splay of the legs", format_angle(abs(_splay_deg(drafter)))))
    if layout.rake:
        rows.append(("head end leans back", format_angle(sheet.frame.rake)))
    rows.append(("mass without mattress", f"{drafter.whole.bed.total_mass_kg:.0f} kg"))
    return Table("Main sizes", ("", ""), tuple(rows))


def _splay_deg(drafter: Drafter) -> float:
    return math.degrees(drafter.whole.bed.layout.legs.splay)


# --- one end -------------------------------------------------------------------------------


def end_page(drafter: Drafter, end: EndPlan, title: Title) -> Page:
    """One end of the bed, seen from the mattress and from above, with its hidden joints."""
    whole = drafter.whole
    pieces = [p for p in whole.bed.pieces if p.group == f"{end.end}_end" and not p.kind.is_metal]
    look = FROM_FOOT if end.end == "head" else FROM_HEAD
    if end.lean.rake:  # square to the leaning face
        look = Look(look.right, _up(end))
    wood = [p for p in pieces if "_tenon_" not in p.name]
    front = replace(
        seen([whole.jointed(p) for p in wood], look),
        hidden=seen([whole.tenoned(p) for p in pieces], look, hidden=True).hidden,
    )
    plan = seen([whole.plain(p) for p in wood], look.seen_from("top"))

    apart = _end_apart(whole, pieces)

    @cache
    def two(size: float) -> Item:
        figure = captioned(_end_front(drafter, end, front, size), size)
        above = captioned(_end_plan(drafter, end, plan, size), size)
        gap = figure.box.y1 + 5.0 - above.box.y0
        return Item((Piece(figure, (0.0, 0.0)), Piece(above, (0.0, gap))))

    def make(size: float, wide: float) -> list[Item]:
        items = [two(size)]
        if wide:
            shown = apart.shrunk(apart.body.width / wide)
            items.append(Item((Piece(captioned(shown, shown.scale), (0.0, 0.0)),)))
        items.append(Item((), _end_parts(drafter, pieces)))
        items.append(Item((), _end_notes(drafter, end)))
        return items

    return drafter.fitted(f"{end.end}_end", title, make, (130.0, 105.0, 85.0, 65.0, 50.0, 0.0))


def _end_apart(whole: Whole, pieces: Sequence[BedPiece]) -> Figure:
    """The parts of one end as they go together, the legs drawn off their tenons."""
    shown = [whole.jointed(replace(p, placement=p.placement.moved(drawn_off(p)))) for p in pieces]
    strokes = tuple(Stroke("whole", c) for c in seen(shown, FROM_CORNER).visible)
    body = Box(*bounds_of(s.curve for s in strokes))
    return Figure("How it goes together", 1.0, body, strokes)


def drawn_off(piece: BedPiece) -> Vector:
    """How far out a leg is drawn, and half as far what is between it and the boards (mm)."""
    x = piece.placement.point(scale(piece.kind.shape.blank, 0.5))[0]
    share = 0.0 if "board_board" in piece.name else 0.11 if "_tenon_" in piece.name else 0.22
    return (share * x, 0.0, 0.0)


def _up(end: EndPlan) -> Vector:
    """Up along the legs of an end."""
    return end.lean.direction(_Z)


def _end_front(drafter: Drafter, end: EndPlan, view: View, size: float) -> Figure:
    figure, n = drawn("Seen from the mattress", view, size), size
    body, whole, up = figure.body, drafter.whole, _up(end)
    # The long corner of a raked leg's foot, else the floor.
    base = dot(end.lean.point((0.0, 0.0, -end.below_floor)), up) if end.lean.rake else 0.0
    datum = "0 foot" if end.lean.rake else "0 floor"
    stations = [Station(base / n, body.x0, 0.0, datum, "datum")]
    for board in end.boards:
        name = board_name(end, board)
        low, high = whole.span(whole.named(name), up)
        label = f" {name.partition('_')[2].replace('_', ' ')}"
        half = whole.span([whole.bed.piece(name)], _X)[1] / n
        for level, of in ((low, "lower edge"), (high, "upper edge")):
            value = level - base
            stations.append(Station(level / n, -half, value, f"{drafter.text(value)}{label}", of))
    top = whole.span(whole.named(f"{end.end}_leg"), up)[1]
    reach = max(
        abs(p[0])
        for piece in whole.named(f"{end.end}_leg")
        for p in map(piece.placement.point, whole.subjects[piece.kind.name].corners)
        if dot(p, up) > top - 1.0
    )
    value = top - base
    stations.append(Station(top / n, -reach / n, value, f"{drafter.text(value)} legs", "leg top"))
    measures = running(stations, (body.x0, base / n), body.x0, "y", -1.0)
    low, high = whole.span(whole.named(f"{end.end}_leg"), _X)
    rows = [(2 * end.joint_x, "between the joint faces"), (high - low, "over the feet")]
    for lane, (value, of) in enumerate(rows):
        half = value / 2 / n
        level = body.y0 - _LANE - lane * _STEP
        y = body.y0 if lane else (end.boards[0].bottom + end.below_floor + base) / n
        text = drafter.text(value)
        measures.append(linear((-half, y), (half, y), level, "x", value, text, of))
    return figure.adding(measures=measures)


def _end_plan(drafter: Drafter, end: EndPlan, view: View, size: float) -> Figure:
    figure = drawn("Seen from above", view, size)
    whole, body = drafter.whole, figure.body
    legs = whole.span(whole.named(f"{end.end}_leg"), end.lean.direction(_Y))
    measures = []
    thick = legs[1] - legs[0]
    measures.append(
        linear(
            (body.x1, body.y0),
            (body.x1, body.y1),
            body.x1 + _LANE,
            "y",
            thick,
            drafter.text(thick),
            "leg thickness",
        )
    )
    return figure.adding(measures=measures)


def _end_parts(drafter: Drafter, pieces: Sequence[BedPiece]) -> Table:
    counts: dict[str, int] = {}
    for piece in pieces:
        counts[piece.kind.name] = counts.get(piece.kind.name, 0) + 1
    rows = []
    for name, count in counts.items():
        blank = drafter.whole.bed.kinds[name].shape.blank
        size = " × ".join(drafter.text(v) for v in blank)
        rows.append((name.replace("_", " "), str(count), size))
    return Table("Parts", ("part", "no.", "size"), tuple(rows), " r", 46.0)


def _end_notes(drafter: Drafter, end: EndPlan) -> Notes:
    sheet = drafter.whole.bed.layout.sheet
    lines = ["the joints are shown in hidden lines; the joint schedule gives their sizes"]
    if end.reveal > 0.05:
        lines.append(f"the boards stand {sheet.show(end.reveal)} back from the legs' inside faces")
    else:
        lines.append("the boards are flush with the legs' inside faces")
    if end.lean.rake:
        lines.append(
            "the view is square to the leaning face; heights run along the legs, from the long "
            "corner of their feet, on the inside face"
        )
    else:
        lines.append("heights are from the floor, plumb")
    lines += _fill_notes(sheet, end)
    return Notes("Notes", tuple(lines), 82.0)


def _fill_notes(sheet: Sheet, end: EndPlan) -> list[str]:
    """What stands between the rails, and what lies on top, in figures."""
    show, lines = sheet.show, []
    for fill in end.fills:
        if isinstance(fill, UprightPlan):
            lines.append(
                f"{len(fill.middles)} {fill.word}s, equal gaps of {show(fill.gap)}, "
                f"{show(fill.end_gap)} beside the legs"
            )
        else:
            lines.append(
                f"{len(fill.openings)} panels in grooves {show(fill.groove_depth)} deep, never "
                f"glued: {show(fill.room)} of room at each edge"
            )
    if end.cap is not None:
        lines.append(f"the cap is {show(end.cap.width)} wide and {show(end.cap.thickness)} thick")
    return lines


# --- slats ---------------------------------------------------------------------------------


def slat_page(drafter: Drafter, title: Title) -> Page:
    """The platform from above, head on the left, with the place of every slat."""
    whole = drafter.whole
    layout = whole.bed.layout
    solids = [whole.plain(piece) for piece in whole.wood]
    view = seen(solids, HEAD_LEFT)

    def make(size: float, variant: float) -> list[Item]:
        del variant
        figure = drawn("Platform from above, head on the left", view, size)
        body, n = figure.body, size
        stations = [Station(0.0, body.y1, 0.0, "0", "datum")]
        for start, what in platform_places(layout):
            edge = layout.slats.length / 2 / n
            stations.append(Station(start / n, edge, start, drafter.text(start), what))
        length = layout.pocket_length
        stations.append(
            Station(length / n, layout.half_foot / n, length, drafter.text(length), "foot legs")
        )
        measures = running(stations, (0.0, body.y1), body.y1, "x", 1.0)
        across = platform_across(layout)
        if across is not None:
            left, right, of = across
            value, level = right - left, body.x1 + _LANE
            ends = (body.x1, left / n), (body.x1, right / n)
            measures.append(linear(*ends, level, "y", value, drafter.text(value), of))
        figure = captioned(figure.adding(measures=measures), size)
        return [
            Item((Piece(figure, (0.0, 0.0)),)),
            Item((), _slat_table(drafter)),
            Item((), _slat_notes(drafter)),
        ]

    return drafter.fitted("slat_layout", title, make)


def _slat_table(drafter: Drafter) -> Table:
    heading, rows = platform_table(drafter.whole.bed.layout)
    return Table(heading, ("", ""), rows)


def _slat_notes(drafter: Drafter) -> Notes:
    return Notes("Notes", tuple(platform_notes(drafter.whole.bed.layout)), 80.0)
