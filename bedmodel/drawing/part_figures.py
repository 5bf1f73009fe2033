"""The views, end views and sections of a part, with the dimensions that place its features.

Every feature is placed once, in the view that it opens towards: mortises by their ends and
cheeks, as they are marked, holes and fasteners' recesses by their middles. How large they
are says the sheet's table; how deep, a section or the table.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.drawing.curves import Line, bounds_of
from bedmodel.drawing.dims import Station, linear, running
from bedmodel.drawing.directions import Look, Side
from bedmodel.drawing.features import Feature, Place
from bedmodel.drawing.figure import Figure, Fill, Measure, Stroke, box_of, stroke
from bedmodel.drawing.labels import Ink, set_label
from bedmodel.drawing.section_figures import CODE_SIZE, Cutting
from bedmodel.drawing.sheet_frame import scale_text
from bedmodel.drawing.subject import Subject
from bedmodel.exports.paper.sheet import Box, Text
from bedmodel.exports.paper.type import text_width

CAPTION_SIZE = 8.5
PLANE_SIZE = 9.0
LANE = 6.5  # mm from the part to the first dimension line
_MOST_ROWS = 3  # more places than this across a part are given by the first and the last
_IN_LINE = 0.06  # mm
_BESIDE = 8.0  # mm
_CLEAR = 0.9  # mm of paper
_ALIKE = 0.1  # mm; places so near to one another, that read alike, are given once


@dataclass(frozen=True)
class Overall:
    """Which of a part's overall sizes a view shows."""

    along: str = ""  # what the size along x is of, "" for none
    across: str = ""


def view_figure(
    subject: Subject,
    side: Side,
    size: float,
    overall: Overall,
    planes: Sequence[Cutting] = (),
) -> Figure:
    """The view from one side at 1:``size``, with what opens towards it placed.

    ``planes`` are the sections to show on it.
    """
    look = subject.front.seen_from(side)
    # Lines nearer than this to the outline would run into it.
    sharp = subject.shape.easing.size / size < _CLEAR
    curves = [c.placed((0.0, 0.0), 1 / size) for c in subject.view(side, sharp).visible]
    body = Box(*bounds_of(curves))
    strokes = [Stroke("visible", c) for c in curves]
    features = subject.on(side)
    strokes += centre_marks(features, look, size)
    name = f"{subject.side_name(side)}{subject.way(side)}"
    figure = Figure(name, size, body, tuple(strokes))
    figure = _with_rows(figure, subject, side, features, _BESIDE if overall.across else 0.0)
    figure = _with_planes(figure, planes)
    figure = _with_overall(figure, overall, subject)
    return _with_codes(figure, features, look)


def centre_marks(features: Iterable[Feature], look: Look, size: float) -> Iterator[Stroke]:
    """A small cross at the middle of what is placed by its middle."""
    for feature in features:
        for place in feature.places:
            if place.is_slot:
                continue
            x, y = (v / size for v in look.flat(place.centre))
            arm = max(min(place.spans) / size / 2 + 0.8, 1.1)
            yield Stroke("centre", Line((x - arm, y), (x + arm, y)))
            yield Stroke("centre", Line((x, y - arm), (x, y + arm)))


# --- running rows --------------------------------------------------------------------------

# A feature's code, the number of one of its places, and the place.
Row = tuple[str, int, Place]


def _with_rows(
    figure: Figure,
    subject: Subject,
    side: Side,
    features: Sequence[Feature],
    beside: float,
) -> Figure:
    """Place the features; a row on the right leaves ``beside`` mm for a dimension before it."""
    if not features:
        return figure
    look, n, body = subject.front.seen_from(side), figure.scale, figure.body
    datum = subject.datum(look.right, side), subject.datum(look.up, side)
    zero = (datum[0] / n, datum[1] / n)
    above = _stations(subject, _rows(features), look, 0, datum[0], n)
    if side == "front" and subject.joint is not None and subject.curved:
        end = look.flat(subject.joint[1])
        _keep(above, subject, end[0], datum[0], body.y1, n, "top end", 1.0)
    measures: list[Measure] = []
    if above:
        first = Station(zero[0], body.y1, 0.0, "0", "datum")
        measures += running([first, *above.values()], zero, body.y1, "x", 1.0)
    left, right = _across(features, look, side in ("left", "right"))
    for rows, outward, edge in ((left, -1.0, body.x0), (right, 1.0, body.x1)):
        found = _stations(subject, rows, look, 1, datum[1], n, outward)
        if found:
            first = Station(zero[1], edge, 0.0, "0", "datum")
            level = edge + beside if outward > 0 else edge
            measures += running([first, *found.values()], zero, level, "y", outward)
    return figure.adding(measures=measures)


def _rows(features: Iterable[Feature]) -> list[Row]:
    return [(f.code, k, place) for f in features for k, place in enumerate(f.places, 1)]


def _stations(
    subject: Subject,
    rows: Iterable[Row],
    look: Look,
    axis: int,
    datum: float,
    n: float,
    outward: float = 1.0,
) -> dict[float, Station]:
    """The places of features along an axis of the view, each once."""
    found: dict[float, Station] = {}
    for code, number, place in rows:
        flat = [look.flat(p) for p in place.corners()]
        along = [p[axis] for p in flat]
        across = [p[1 - axis] for p in flat]
        base = (max(across) if outward > 0 else min(across)) / n
        places = {"middle": (min(along) + max(along)) / 2}
        if place.is_slot:
            places = {"near": min(along), "far": max(along)}
        for what, at in places.items():
            name = f"{code}.{number} {what}"
            _keep(found, subject, at, datum, base, n, name, outward)
    return found


def _keep(
    found: dict[float, Station],
    subject: Subject,
    at: float,
    datum: float,
    base: float,
    n: float,
    name: str,
    outward: float,
) -> None:
    key, value = round(at, 2), abs(at - datum)
    known = next((k for k in found if _one_mark(k, key, datum, subject)), None)
    if known is not None:
        old = found[known]
        far = max(old.base, base) if outward > 0 else min(old.base, base)
        found[known] = replace(old, base=far, of=f"{old.of}, {name}")
        return
    if value < 5e-3:
        return
    found[key] = Station(at / n, base, value, subject.text(value), name)


def _one_mark(one: float, two: float, datum: float, subject: Subject) -> bool:
    """True for places that a rule does not tell apart."""
    if abs(one - two) < 0.015:
        return True
    same = subject.text(abs(one - datum)) == subject.text(abs(two - datum))
    return same and abs(one - two) < _ALIKE


def _across(features: Sequence[Feature], look: Look, ends: bool) -> tuple[list[Row], list[Row]]:
    """Places across the view, on its left; of a slanting row the last place on its right."""
    left: list[Row] = []
    right: list[Row] = []
    for feature in features:
        rows = _rows([feature])
        if is_slanting(feature, look) and not ends:
            left.append(rows[0])
            right.append(rows[-1])
        else:
            left += rows
    return left, right


def is_slanting(feature: Feature, look: Look) -> bool:
    """True for a straight row of many places of which no two are equally far across."""
    levels = {round(look.flat(p.centre)[1], 2) for p in feature.places}
    return len(levels) > _MOST_ROWS and in_line(feature, look)


def in_line(feature: Feature, look: Look) -> bool:
    """True when all the places of a feature lie on one straight line."""
    points = [look.flat(p.centre) for p in feature.places]
    (x0, y0), (x1, y1) = points[0], points[-1]
    if abs(x1 - x0) < 1e-6:
        return all(abs(x - x0) < _IN_LINE for x, _ in points)
    return all(abs(y - y0 - (x - x0) * (y1 - y0) / (x1 - x0)) < _IN_LINE for x, y in points)


# --- overall sizes -------------------------------------------------------------------------


def _with_overall(figure: Figure, overall: Overall, subject: Subject) -> Figure:
    n, body = figure.scale, figure.body
    measures = []
    if overall.along:
        value = body.width * n
        level = min(body.y0 - LANE, figure.box.y0 - 4.2)
        measures.append(
            linear(
                (body.x0, body.y0),
                (body.x1, body.y0),
                level,
                "x",
                value,
                subject.text(value),
                overall.along,
            )
        )
    if overall.across:
        value = body.height * n
        level = body.x1 + LANE - 1.0
        measures.append(
            linear(
                (body.x1, body.y0),
                (body.x1, body.y1),
                level,
                "y",
                value,
                subject.text(value),
                overall.across,
            )
        )
    return figure.adding(measures=measures)


def _with_codes(figure: Figure, features: Sequence[Feature], look: Look) -> Figure:
    """Write each feature's code beside its first place, of a few beside all."""
    ink = Ink.of(figure)
    words: list[Text] = []
    lines: list[Stroke] = []
    room = Box(figure.body.x0 - 14, figure.body.y0 - 9, figure.body.x1 + 14, figure.body.y1 + 30)
    for feature in features:
        few = len(feature.places) <= 4
        for place in feature.places if few else feature.places[:1]:
            flat = [look.flat(p) for p in place.corners()]
            box = box_of([(x / figure.scale, y / figure.scale) for x, y in flat])
            at = ((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2)
            inside = place.is_slot and min(box.width, box.height) > 4.5
            least = 0.0 if inside else min(box.width, box.height) / 2 + 0.8
            word, lead = set_label(
                ink,
                at,
                feature.code,
                CODE_SIZE,
                bold=True,
                least=least,
                prefer_deg=-45,
                within=room,
            )
            words.append(word)
            lines += lead
    return figure.adding(words=words, strokes=lines)


def _with_planes(figure: Figure, cuts: Iterable[Cutting]) -> Figure:
    """Show on the front view where it is cut: ends of the plane, arrows and letters."""
    body, n = figure.body, figure.scale
    across = sorted((c for c in cuts if not c.lengthways), key=lambda c: c.at)
    low = body.y0 - 1.0
    for cut in across:
        x = cut.at / n
        strokes = [
            *stroke("plane", (x, low), (x, low - 3.6)),
            *stroke("thin", (x, low - 3.0), (x + 3.2, low - 3.0)),
        ]
        tip = Fill(((x + 3.2, low - 3.0), (x + 1.2, low - 2.4), (x + 1.2, low - 3.6)))
        figure = figure.adding(strokes=strokes, fills=[tip])
    ink = Ink.of(figure)
    # The overall length's extension lines will run down here.
    for x in (body.x0, body.x1):
        ink.add_segment((x, body.y0), (x, body.y0 - 9.0))
    for cut in across:
        x = cut.at / n
        for at, anchor in (((x - 0.9, low - 3.7), "end"), ((x + 3.8, low - 4.2), "start")):
            word = Text(cut.letter, at, PLANE_SIZE, True, anchor)  # type: ignore[arg-type]
            if ink.is_free(word.box):
                break
        else:
            word = Text(cut.letter, (x, low - 7.0), PLANE_SIZE, True, "middle")
        ink.boxes.append(word.box)
        figure = figure.adding(words=[word])
    return figure


def captioned(figure: Figure, main_scale: float) -> Figure:
    """The figure with its name below it, and its scale where it is not the sheet's own."""
    box = figure.box
    name = figure.name
    if figure.scale != main_scale:
        name = f"{name} ({scale_text(figure.scale)})"
    wide = text_width(name, CAPTION_SIZE, True)
    middle = (figure.body.x0 + figure.body.x1) / 2
    start = max(box.x0, middle - wide / 2)
    at = (start, box.y0 - 4.6)
    return figure.adding(words=[Text(name, at, CAPTION_SIZE, True)])
