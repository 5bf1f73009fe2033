"""Draw outlines nested on planks, one page a plank, for the maker to trace from."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.exports.paper.pdf import pdf_bytes
from bedmodel.exports.paper.sheet import Box, Mark, Path, Pen, Point, Sheet, Text, line, rectangle
from bedmodel.exports.paper.type import fitted
from bedmodel.exports.plan_pages.board import KEEP, PART
from bedmodel.exports.plan_pages.frame import body, heading, page_of, strip
from bedmodel.exports.plan_pages.room import Taken, Words, set_words
from bedmodel.exports.plan_pages.words import Lengths, Setup

_LEAST_SCALE = 1
_SIDE = 14.0


@dataclass(frozen=True)
class NestedPart:
    """A part's outline on its plank (mm): x along the plank's grain, y across it."""

    name: str
    outline: tuple[Point, ...]
    note: str = ""


@dataclass(frozen=True)
class Plank:
    """A plank with the parts nested on it; ``lines`` are said beside its title."""

    name: str
    length: float
    width: float
    parts: tuple[NestedPart, ...]
    lines: tuple[str, ...] = ()


def nest_pdf(planks: Sequence[Plank], setup: Setup, rule: float) -> bytes:
    """The planks as one PDF; lengths are shown to the rule's division (mm)."""
    return pdf_bytes(nest_sheets(planks, setup, rule), f"{setup.bed}: nests")


def nest_sheets(planks: Sequence[Plank], setup: Setup, rule: float) -> list[Sheet]:
    """One page a plank."""
    lengths = Lengths(setup.unit, rule)
    return [
        _sheet(plank, setup, lengths, (number, len(planks)))
        for number, plank in enumerate(planks, start=1)
    ]


def _sheet(plank: Plank, setup: Setup, lengths: Lengths, number: tuple[int, int]) -> Sheet:
    paper = page_of(setup)
    room = body(paper)
    scale = max(
        math.ceil(plank.length / (room.width - 2 * _SIDE) - 1e-9),
        math.ceil(plank.width / (room.height - 2 * _SIDE) - 1e-9),
        _LEAST_SCALE,
    )
    wide, tall = plank.length / scale, plank.width / scale
    x, y = (room.x0 + room.x1 - wide) / 2, (room.y0 + room.y1 - tall) / 2
    marks: list[Mark] = [rectangle(Box(x, y, x + wide, y + tall), Pen(0.4), KEEP, "board")]
    taken = Taken()
    for part in plank.parts:
        points = tuple((x + px / scale, y + py / scale) for px, py in part.outline)
        marks.append(Path(points, Pen(0.35), PART, True, "part"))
    for part in plank.parts:
        points = tuple((x + px / scale, y + py / scale) for px, py in part.outline)
        marks += _named(part, points, taken)
    marks += _dimensions(Box(x, y, x + wide, y + tall), plank, lengths)
    title = f"Nest on {plank.name}"
    frame = [
        *heading(paper, title, plank.lines),
        *strip(paper, setup, title, f"1:{scale}", lengths.long_unit, number),
    ]
    return Sheet(paper, title, (*frame, *marks))


def _named(part: NestedPart, points: Sequence[Point], taken: Taken) -> list[Mark]:
    name, note = (part.name, True), (part.note, False)
    words = [Words(((name,), (note,))), Words(((name, note),))] if part.note else []
    words.append(Words(((name,),)))
    boxes = list(_inside(points))
    for choice in words:
        for box in boxes:
            found = set_words([choice], box, taken, "name", "#000000")
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
        for tall in (8, 6, 4, 3):
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
    """The plank's length below it and its width at its left; an arrow along the grain."""
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
    yield Text("grain", (box.x0 + 42.0, y - 1.2), 10.0)
