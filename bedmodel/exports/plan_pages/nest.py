"""Draw outlines nested on planks, one page a plank, for the maker to trace from."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from bedmodel.exports.paper.pdf import pdf_bytes
from bedmodel.exports.paper.sheet import (
    Box,
    Mark,
    Path,
    Pen,
    Point,
    Sheet,
    Text,
    hatch,
    line,
    rectangle,
)
from bedmodel.exports.paper.table import Column, Style, set_table
from bedmodel.exports.paper.type import fitted
from bedmodel.exports.plan_pages.board import KEEP, PART
from bedmodel.exports.plan_pages.frame import body, heading, page_of, strip
from bedmodel.exports.plan_pages.room import Taken, Words, set_words
from bedmodel.exports.plan_pages.words import Lengths, Setup

Numbered = Callable[[tuple[int, int]], Sheet]

_LEAST_SCALE = 1
_SIDE = 14.0
_STYLE = Style(size=11.0, least=9.0, pitch=6.0)
_LEAST_DRAWING = 70.0  # mm of paper; a list that leaves less goes to the next page
_CLEAR = 4.0
_BLANK = Pen(0.2, "#000000", (2.0, 1.2))
_HATCH = Pen(0.15, "#555555")


@dataclass(frozen=True)
class NestedPart:
    """A part's outline on its plank (mm): x along the plank's grain, y across it.

    ``blank`` is the line to saw to, outside the outline. ``number`` stands before the
    name, or alone where the name finds no room.
    """

    name: str
    outline: tuple[Point, ...]
    note: str = ""
    blank: tuple[Point, ...] = ()
    number: str = ""


@dataclass(frozen=True)
class Plank:
    """A plank or a sheet with the parts nested on it; ``lines`` are said beside its title.

    ``keep_off`` are end checks and defects: x from and to, y from and to (mm). ``heads`` are
    the columns of its list, each with its share of the width, and ``rows`` their cells.
    """

    name: str
    length: float
    width: float
    parts: tuple[NestedPart, ...]
    lines: tuple[str, ...] = ()
    keep_off: tuple[tuple[float, float, float, float], ...] = ()
    heads: tuple[tuple[str, float], ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    grain: str = "grain"


def nest_pdf(planks: Sequence[Plank], setup: Setup, rule: float) -> bytes:
    """The planks as one PDF; lengths are shown to the rule's division (mm)."""
    return pdf_bytes(nest_sheets(planks, setup, rule), f"{setup.bed}: nests")


def nest_sheets(planks: Sequence[Plank], setup: Setup, rule: float) -> list[Sheet]:
    """A page a plank, and where its list has no room below the drawing one more for it."""
    lengths = Lengths(setup.unit, rule)
    pages = [page for plank in planks for page in _pages(plank, setup, lengths)]
    return [page((number, len(pages))) for number, page in enumerate(pages, start=1)]


def _pages(plank: Plank, setup: Setup, lengths: Lengths) -> Iterator[Numbered]:
    room = body(page_of(setup))
    rows = list(plank.rows)
    tall = _STYLE.height_of(len(rows)) + _CLEAR if rows else 0.0
    beside = room.height - tall < _LEAST_DRAWING
    foot = room.y0 if beside else room.y0 + tall
    marks, scale = _drawing(plank, lengths, Box(room.x0, foot, room.x1, room.y1))
    if rows and not beside:
        marks += _list(plank, rows, (room.x0, foot - _CLEAR), room.width)
        rows = []
    yield _numbered(plank, setup, lengths, tuple(marks), f"1:{scale}", "")
    while rows:
        many = _STYLE.rows_in(room.height)
        listed = tuple(_list(plank, rows[:many], (room.x0, room.y1), room.width))
        yield _numbered(plank, setup, lengths, listed, "–", ", continued")
        rows = rows[many:]


def _list(
    plank: Plank, rows: Sequence[Sequence[str]], top_left: Point, width: float
) -> Iterator[Mark]:
    columns = [
        Column(head, share * width, bold=number == 0)
        for number, (head, share) in enumerate(plank.heads)
    ]
    yield from set_table(columns, rows, top_left, _STYLE)


def _numbered(
    plank: Plank, setup: Setup, lengths: Lengths, marks: tuple[Mark, ...], scale: str, more: str
) -> Numbered:
    paper, title = page_of(setup), f"Nest on {plank.name}{more}"

    def numbered(number: tuple[int, int]) -> Sheet:
        frame = [
            *heading(paper, title, plank.lines),
            *strip(paper, setup, title, scale, lengths.long_unit, number),
        ]
        return Sheet(paper, title, (*frame, *marks))

    return numbered


def _drawing(plank: Plank, lengths: Lengths, room: Box) -> tuple[list[Mark], int]:
    """The plank with its parts, and the scale that it is drawn at."""
    scale = max(
        math.ceil(plank.length / (room.width - 2 * _SIDE) - 1e-9),
        math.ceil(plank.width / (room.height - 2 * _SIDE) - 1e-9),
        _LEAST_SCALE,
    )
    wide, tall = plank.length / scale, plank.width / scale
    x, y = (room.x0 + room.x1 - wide) / 2, (room.y0 + room.y1 - tall) / 2

    def put(points: Sequence[Point]) -> tuple[Point, ...]:
        return tuple((x + px / scale, y + py / scale) for px, py in points)

    marks: list[Mark] = [rectangle(Box(x, y, x + wide, y + tall), Pen(0.4), KEEP, "board")]
    for x0, x1, y0, y1 in plank.keep_off:
        corners = put(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
        marks.append(Path(corners, Pen(0.2), "", True, "keep off"))
        marks += hatch(corners, 1.2, 45.0, _HATCH)
    taken = Taken()
    marks += [Path(put(p.blank), _BLANK, "", True, "blank") for p in plank.parts if p.blank]
    marks += [Path(put(p.outline), Pen(0.35), PART, True, "part") for p in plank.parts]
    drawn = [_box_of(put(part.outline)) for part in plank.parts]
    for part, box in zip(plank.parts, drawn, strict=True):
        named = _named(part, put(part.outline), taken)
        marks += named or _beside(part, box, drawn, taken)
    marks += _dimensions(Box(x, y, x + wide, y + tall), plank, lengths)
    return marks, scale


def _named(part: NestedPart, points: Sequence[Point], taken: Taken) -> list[Mark]:
    title = f"{part.number} {part.name}".strip()
    name, note = (title, True), (part.note, False)
    words = [Words(((name,), (note,))), Words(((name, note),))] if part.note else []
    words.append(Words(((name,),)))
    if part.number:
        words.append(Words((((part.number, True),),)))
    boxes = list(_inside(points))
    for choice in words:
        for box in boxes:
            found = set_words([choice], box, taken, "name", "#000000")
            if found:
                return found
    return []


def _box_of(points: Sequence[Point]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def _beside(part: NestedPart, box: Box, others: Sequence[Box], taken: Taken) -> list[Mark]:
    """The part's number next to it, where it is too slender to hold one."""
    number, x, y = part.number, (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
    if not number:
        return []
    for place in (
        Box(box.x1 + 0.3, y - 1.95, box.x1 + 6.0, y + 1.95),
        Box(box.x0 - 6.0, y - 1.95, box.x0 - 0.3, y + 1.95),
        Box(x - 3.0, box.y1 + 0.3, x + 3.0, box.y1 + 4.7),
        Box(x - 3.0, box.y0 - 4.7, x + 3.0, box.y0 - 0.3),
    ):
        if not any(place.meets(other) for other in others if other is not box):
            found = set_words([Words((((number, True),),))], place, taken, "name", "#000000")
            if found:
                return found
    return []


def _inside(points: Sequence[Point]) -> Iterator[Box]:
    """Boxes that lie in a polygon, the widest first: each between two of its heights."""
    ys = [y for _, y in points]
    low, high = min(ys), max(ys)
    step = (high - low) / 24
    boxes: list[Box] = []
    for i in range(25):
        for tall in (24, 18, 12, 8, 6, 4, 3):
            y0, y1 = low + i * step, low + (i + tall) * step
            if y1 <= high:
                boxes += _spans(points, y0, y1)
    yield from sorted(boxes, key=lambda box: (-box.width * min(box.height, 12.0), box.x0, box.y0))


def _spans(points: Sequence[Point], y0: float, y1: float) -> Iterator[Box]:
    """The stretches that lie in the polygon over all of a band."""
    ends = zip(points, (*points[1:], points[0]), strict=True)
    busy: list[tuple[float, float]] = []
    for (ax, ay), (bx, by) in ends:
        low, high = max(min(ay, by), y0), min(max(ay, by), y1)
        if low > high:
            continue
        xs = [ax, bx] if ay == by else [ax + (bx - ax) * (y - ay) / (by - ay) for y in (low, high)]
        busy.append((min(xs), max(xs)))
    busy.sort()
    middle = (y0 + y1) / 2
    lefts = itertools.accumulate((end for _, end in busy), max)
    for left, (right, _) in zip(lefts, busy[1:], strict=False):
        if right > left and _holds(points, ((left + right) / 2, middle)):
            yield Box(left, y0, right, y1)


def _holds(points: Sequence[Point], at: Point) -> bool:
    inside = False
    for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True):
        if (ay <= at[1]) != (by <= at[1]):
            inside ^= at[0] < ax + (bx - ax) * (at[1] - ay) / (by - ay)
    return inside


def _dimensions(box: Box, plank: Plank, lengths: Lengths) -> Iterator[Mark]:
    """The plank's length below it and its width at its left; an arrow along it."""
    text, size = fitted(lengths.told(plank.length), box.width, 10.0, 9.0)
    yield Text(text, ((box.x0 + box.x1) / 2, box.y0 - 5.0), size, anchor="middle")
    yield Text(
        lengths.told(plank.width),
        (box.x0 - 2.0, (box.y0 + box.y1) / 2),
        10.0,
        anchor="middle",
        turn_deg=90.0,
    )
    y = box.y1 + 4.0
    yield line((box.x0, y), (box.x0 + 40.0, y), Pen(0.3))
    for dy in (1.2, -1.2):
        yield line((box.x0 + 40.0, y), (box.x0 + 37.0, y + dy), Pen(0.3))
    yield Text(plank.grain, (box.x0 + 42.0, y - 1.2), 10.0)
