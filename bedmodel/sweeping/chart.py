"""One plot as a drawing of reportlab's: points by series, labels beside them, the front marked.

Colours are told apart by eyes that see red and green alike, and each series has a mark of its
own as well. Labels stand in a column at the right, spread so that none covers another.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bedmodel.exports.paper.type import (
    FAMILY,
    REGULAR,
    drawable,
    fitted,
    font_name,
    load_fonts,
    text_width,
    wrapped,
)
from bedmodel.sweeping.figures_of_rows import MOST_LABELS, Plot, Track
from bedmodel.sweeping.run import Row
from bedmodel.sweeping.ticks import Scale, scale_of
from bedmodel.units import LengthUnit

WIDTH, HEIGHT = 560.0, 372.0  # points
_LEFT, _BOTTOM, _TOP = 62.0, 52.0, 58.0
_SIZE, _SMALL = 9.0, 8.0
_NEAR = 0.8  # of the width
_POINT = 72 / 25.4
# Source: Okabe and Ito, colours for all kinds of colour vision (2008), without yellow and black.
_COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9")
# Four stops of viridis (S. van der Walt and N. Smith, CC0), but for its yellow, too light on white.
_RAMP = ((68, 1, 84), (59, 82, 139), (33, 145, 140), (94, 201, 98))
_INK, _SOFT, _GRID, _OVER = "#26231f", "#6a645b", "#e4ded3", "#a4311f"
_MARKS = (
    *("FilledCircle", "FilledSquare", "FilledTriangle"),
    *("FilledDiamond", "FilledCross", "FilledStarFive"),
)


MANY = 200  # points; more are drawn smaller

Looks = Sequence[tuple[str, str]]  # of each series: colour, and the marker's name


@dataclass(frozen=True)
class Spot:
    """One point on the paper (points): its series, whether it passes, of which front it is."""

    x: float
    y: float
    series: int
    passed: bool
    front: int | None


def drawing(
    plot: Plot, rows: Sequence[Row], fronts: Sequence[Sequence[int]], unit: LengthUnit, told: str
) -> Any:
    """The plot as a reportlab Drawing; ``told`` stands below its title."""
    from reportlab.graphics.shapes import Drawing

    load_fonts()
    known = [i for i, row in enumerate(rows) if _known(plot, row)]
    groups = _groups(plot, [rows[i] for i in known])
    words = [drawable(word)[:28] for word in groups]
    right = 18 + max((_wide(word, _SIZE) for word in words), default=0) + 14
    made = Drawing(WIDTH, HEIGHT)
    _rectangle(made, 0, 0, WIDTH, HEIGHT, "#ffffff")
    title, size = fitted(plot.title, (WIDTH - 28) / _POINT, 12, 9, bold=True)
    _text(made, 14, HEIGHT - 20, title, size, bold=True)
    lost = sum(not row.refused for row in rows) - len(known)
    if lost:
        told += f"; {lost} for which not both figures are known are not drawn"
    for i, line in enumerate(wrapped(told, (WIDTH - 28) / _POINT, _SMALL)[:2]):
        _text(made, 14, HEIGHT - 33 - 10 * i, line, _SMALL, _SOFT)
    if not known:
        _text(made, 14, HEIGHT / 2, "nothing to draw: no point has both figures", _SIZE)
        return made
    box = (_LEFT, _BOTTOM, WIDTH - right - _LEFT, HEIGHT - _TOP - _BOTTOM)
    shown = [rows[i] for i in known]
    across = _scale(plot.x, shown, 9, unit)
    up = _scale(plot.y, shown, 9, unit)
    _frame(made, box, across, up)
    _titles(made, box, plot, unit)
    ordered = plot.group is not None and not _is_word(plot.group, shown)
    looks = _looks(groups, ordered)
    front = {i: number for number, each in enumerate(fronts) for i in each}
    spots = [
        Spot(
            box[0] + box[2] * across.share(_number(plot.x, rows[i], shown)),
            box[1] + box[3] * up.share(_number(plot.y, rows[i], shown)),
            groups.index(plot.group.shown(rows[i])) if plot.group else 0,
            rows[i].passed,
            front.get(i),
        )
        for i in known
    ]
    if plot.y.quantity == "share" and up.low < 1 < up.high:
        _limit(made, box, up)
    if not _is_word(plot.x, shown):
        _lines(made, plot, spots, looks)
    size = 6.4 if len(spots) <= MANY else 4.2
    for spot in sorted(spots, key=lambda s: s.front is not None):
        _mark(made, spot, looks, size)
    _labels(made, box, spots, words, looks)
    return made


def _known(plot: Plot, row: Row) -> bool:
    return not row.refused and plot.x.of(row) is not None and plot.y.of(row) is not None


def _groups(plot: Plot, rows: Sequence[Row]) -> list[str]:
    """What the series are called, in the order of the values; none without a group."""
    if plot.group is None:
        return []
    seen = {plot.group.shown(row): plot.group.of(row) for row in rows}
    names = list(seen)
    if all(isinstance(value, (int, float)) for value in seen.values()):
        names.sort(key=lambda name: float(seen[name] or 0))
    return names


def _values(track: Track, rows: Sequence[Row]) -> list[str]:
    """The words along an axis, in the order they come."""
    return list(dict.fromkeys(str(track.of(row)) for row in rows))


def _is_word(track: Track, rows: Sequence[Row]) -> bool:
    return any(isinstance(track.of(row), str) for row in rows)


def _number(track: Track, row: Row, rows: Sequence[Row]) -> float:
    """The value as a number; a word by its place among the words."""
    if _is_word(track, rows):
        return float(_values(track, rows).index(str(track.of(row))))
    value = track.of(row)
    assert isinstance(value, (int, float))
    return float(value)


def _scale(track: Track, rows: Sequence[Row], most: int, unit: LengthUnit) -> Scale:
    if _is_word(track, rows):
        words = _values(track, rows)
        places = tuple(float(i) for i in range(len(words)))
        return Scale(-0.5, len(words) - 0.5, places, tuple(drawable(w) for w in words))
    values = [_number(track, row, rows) for row in rows]
    length = unit if track.quantity == "length" else None
    return scale_of(min(values), max(values), most, length, whole=track.quantity == "count")


def _wide(text: str, size: float, bold: bool = False) -> float:
    return text_width(text, size, bold) * _POINT


def _text(
    made: Any,
    x: float,
    y: float,
    text: str,
    size: float,
    colour: str = _INK,
    *,
    bold: bool = False,
    anchor: str = "start",
) -> None:
    from reportlab.graphics.shapes import String
    from reportlab.lib.colors import HexColor

    made.add(
        String(
            x,
            y,
            drawable(text),
            fontName=font_name(bold),
            fontSize=size,
            fillColor=HexColor(colour),
            textAnchor=anchor,
        )
    )


def _rectangle(made: Any, x: float, y: float, width: float, height: float, colour: str) -> None:
    from reportlab.graphics.shapes import Rect
    from reportlab.lib.colors import HexColor

    made.add(Rect(x, y, width, height, fillColor=HexColor(colour), strokeColor=None))


def _line(made: Any, points: Sequence[float], colour: str, width: float, dash: Any = None) -> None:
    from reportlab.graphics.shapes import PolyLine
    from reportlab.lib.colors import HexColor

    made.add(
        PolyLine(
            list(points), strokeColor=HexColor(colour), strokeWidth=width, strokeDashArray=dash
        )
    )


def _frame(made: Any, box: tuple[float, ...], across: Scale, up: Scale) -> None:
    """Fine lines at the marks, and what stands at each."""
    x0, y0, width, height = box
    for mark, word in zip(up.marks, up.words, strict=True):
        y = y0 + height * up.share(mark)
        _line(made, (x0, y, x0 + width, y), _GRID, 0.6)
        _text(made, x0 - 6, y - 3, word, _SMALL, _SOFT, anchor="end")
    room = width / max(1, len(across.marks))
    every = 1
    while max(_wide(w, _SMALL) for w in across.words) + 6 > room * every:
        every += 1  # words that would touch are left out, evenly
    for i, (mark, word) in enumerate(zip(across.marks, across.words, strict=True)):
        x = x0 + width * across.share(mark)
        _line(made, (x, y0, x, y0 + height), _GRID, 0.6)
        if i % every == 0:
            _text(made, x, y0 - 13, word, _SMALL, _SOFT, anchor="middle")
    _line(made, (x0, y0 + height, x0, y0, x0 + width, y0), _SOFT, 0.8)


def _titles(made: Any, box: tuple[float, ...], plot: Plot, unit: LengthUnit) -> None:
    x0, y0, width, height = box
    _text(made, x0 + width / 2, y0 - 30, _named(plot.x, unit), _SIZE, anchor="middle")
    _turned(made, 15, y0 + height / 2, _named(plot.y, unit))


def _turned(made: Any, x: float, y: float, text: str) -> None:
    from reportlab.graphics.shapes import Group

    group = Group(transform=(0, 1, -1, 0, x, y))
    _text(group, 0, 0, text, _SIZE, anchor="middle")
    made.add(group)


def _named(track: Track, unit: LengthUnit) -> str:
    word = {"inch": "in", "mm": "mm"}[unit] if track.quantity == "length" else track.unit
    return f"{track.label} ({word})" if word else track.label


def _looks(names: Sequence[str], ordered: bool) -> list[tuple[str, str]]:
    """Colour and mark of each series: along a ramp where they are numbers, else well apart."""
    count = max(1, len(names))
    if ordered and count > 2:
        colours = [_on_ramp(i / (count - 1)) for i in range(count)]
    else:
        colours = [_COLOURS[i % len(_COLOURS)] for i in range(count)]
    marks = [_MARKS[(i + i // len(_COLOURS)) % len(_MARKS)] for i in range(count)]
    return list(zip(colours, marks, strict=True))


def _on_ramp(share: float) -> str:
    """A colour between the ramp's stops, 0 the first and 1 the last."""
    place = share * (len(_RAMP) - 1)
    i = min(int(place), len(_RAMP) - 2)
    one, other = (_RAMP[k] for k in (i, i + 1))
    mixed = (round(a + (b - a) * (place - i)) for a, b in zip(one, other, strict=True))
    return "#" + "".join(f"{c:02x}" for c in mixed)


def _limit(made: Any, box: tuple[float, ...], up: Scale) -> None:
    """The line above which too much is asked."""
    x0, y0, width, height = box
    y = y0 + height * up.share(1.0)
    _line(made, (x0, y, x0 + width, y), _OVER, 0.8, (4, 2))
    _text(made, x0 + width - 3, y + 3, "allowed", _SMALL, _OVER, anchor="end")


def _lines(made: Any, plot: Plot, spots: list[Spot], looks: Looks) -> None:
    """Join the points of a series that has one for each x; the front where it is the plot's."""
    for series in sorted({spot.series for spot in spots}):
        own = sorted((s for s in spots if s.series == series), key=lambda s: s.x)
        single = len({round(s.x, 3) for s in own}) == len(own)
        if plot.x.index is not None and single and len(own) > 1:
            points = [c for s in own for c in (s.x, s.y)]
            _line(made, points, looks[series][0], 1.0)
    if not {plot.x.name, plot.y.name} <= {"cost", "mass", "sag"}:
        return
    for number in sorted({spot.front for spot in spots if spot.front is not None}):
        own = sorted((s for s in spots if s.front == number), key=lambda s: (s.x, -s.y))
        if len(own) > 1:
            _line(made, [c for s in own for c in (s.x, s.y)], _INK, 0.8, (3, 2))


def _mark(made: Any, spot: Spot, looks: Looks, size: float) -> None:
    """A mark of the series: filled where the checks pass, hollow where not, ringed at the front."""
    from reportlab.graphics.shapes import Circle
    from reportlab.graphics.widgets.markers import makeMarker
    from reportlab.lib.colors import HexColor, white

    colour = HexColor(looks[spot.series][0])
    if spot.front is not None:
        made.add(
            Circle(
                spot.x,
                spot.y,
                size - 0.8,
                fillColor=None,
                strokeColor=HexColor(_INK),
                strokeWidth=1,
            )
        )
    mark = makeMarker(looks[spot.series][1])
    mark.x, mark.y, mark.size = spot.x, spot.y, size
    mark.fillColor = colour if spot.passed else white
    mark.strokeColor, mark.strokeWidth = colour, 1.0
    made.add(mark)


def _labels(
    made: Any, box: tuple[float, ...], spots: list[Spot], words: list[str], looks: Looks
) -> None:
    """The series' names in a column at the right, each led to its last point if all are near.

    A longer leader would look like a curve; then the names stand in the order of the series.
    """
    x0, y0, width, height = box
    ends = [
        (i, max((s for s in spots if s.series == i), key=lambda s: (s.x, s.y)))
        for i in range(min(len(words), MOST_LABELS))
    ]
    near = all(end.x > x0 + _NEAR * width for _, end in ends)
    ends.sort(key=(lambda end: end[1].y) if near else (lambda end: end[0]))
    lowest = y0 + (height - (_SIZE + 3) * (len(ends) - 1)) / 2
    places = spread([end.y if near else lowest for _, end in ends], _SIZE + 3, y0, y0 + height)
    left = x0 + width + 16
    for (i, end), y in zip(ends, places, strict=True):
        colour = looks[i][0]
        if near:
            _line(made, (end.x + 5, end.y, x0 + width + 4, y, left - 3, y), colour, 0.5)
        _mark(made, Spot(left + 2, y, i, True, None), looks, 6.4)
        _text(made, left + 9, y - 3, words[i], _SIZE)


def spread(wanted: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places near the wanted ones, which rise, at least so far apart, inside where they can be."""
    places = list(wanted)
    for i in range(1, len(places)):
        places[i] = max(places[i], places[i - 1] + apart)
    if places and places[-1] > high:
        places[-1] = high
        for i in range(len(places) - 2, -1, -1):
            places[i] = min(places[i], places[i + 1] - apart)
    if places and places[0] < low:
        places[0] = low
        for i in range(1, len(places)):
            places[i] = max(places[i], places[i - 1] + apart)
    return places


def svg_bytes(made: Any) -> bytes:
    """The drawing as SVG, its words as words."""
    from reportlab.graphics import renderSVG

    text: str = renderSVG.drawToString(made)
    bold = f"{font_name(True)};"
    text = text.replace(f"font-family: {bold}", f"font-family: {FAMILY}; font-weight: bold;")
    text = text.replace(f"font-family: {REGULAR};", f"font-family: {FAMILY};")
    return re.sub(r"\r\n?", "\n", text).encode("utf-8")


def pdf_bytes(drawings: Sequence[Any], title: str) -> bytes:
    """The drawings, a page each; no clock in the file."""
    import io

    from reportlab.graphics import renderPDF
    from reportlab.pdfgen.canvas import Canvas

    held = io.BytesIO()
    canvas = Canvas(held, pagesize=(WIDTH, HEIGHT), invariant=1)
    canvas.setTitle(title)
    for made in drawings:
        renderPDF.draw(made, canvas, 0, 0)
        canvas.showPage()
    canvas.save()
    return held.getvalue()
