"""Lay a sheet out: stack views that belong together, pack all blocks, keep them apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from bedmodel.drawing.curves import Point
from bedmodel.drawing.figure import Figure
from bedmodel.drawing.labels import Ink
from bedmodel.drawing.packing import pack
from bedmodel.drawing.page import Page, Placed, moved
from bedmodel.drawing.sheet_frame import Title, inner, title_box
from bedmodel.drawing.tables import Block
from bedmodel.exports.paper.sheet import Box, Mark, Paper

_PAD = 4.0  # mm inside the border
_BETWEEN = 6.0  # mm between stacked views


@dataclass(frozen=True)
class Piece:
    """A figure of an item, and where its origin lies from the item's own."""

    figure: Figure
    at: Point


@dataclass(frozen=True)
class Item:
    """What is placed as one: figures that keep their places to one another, or a block."""

    pieces: tuple[Piece, ...]
    block: Block | None = None

    @cached_property
    def boxes(self) -> list[Box]:
        if self.block is not None:
            return [Box(0.0, -self.block.height, self.block.width, 0.0)]
        return [moved(p.figure.box, p.at) for p in self.pieces]


def stacked(figures: Sequence[Figure]) -> Item:
    """Figures under one another, their origins in one vertical line."""
    pieces: list[Piece] = []
    level = 0.0
    for figure in figures:
        box = figure.box
        pieces.append(Piece(figure, (0.0, level - box.y1)))
        level -= box.height + _BETWEEN
    return Item(tuple(pieces))


def arranged(
    name: str, items: Iterable[Item], paper: Paper, gap: float, title: Title
) -> Page | None:
    """The page with its items packed, still without its frame, or None when they do not fit.

    The items are taken one by one: those behind the first without room are never made.
    """
    room = inner(paper)
    room = Box(room.x0 + _PAD, room.y0 + _PAD, room.x1 - _PAD, room.y1 - _PAD)
    kept: list[Item] = []

    def boxes() -> Iterator[list[Box]]:
        for item in items:
            kept.append(item)
            yield item.boxes

    places = pack(boxes(), room, [title_box(paper)], gap)
    if places is None:
        return None
    items = kept
    places = _loosened(items, places, room, title_box(paper), gap)
    places = _lowered(items, places, room, title_box(paper), gap)
    placed: list[Placed] = []
    marks: list[Mark] = []
    for item, at in zip(items, places, strict=True):
        for piece in item.pieces:
            placed.append(Placed(piece.figure, (at[0] + piece.at[0], at[1] + piece.at[1])))
        if item.block is not None:
            marks += item.block.marks(at)
    return Page(name, title.title, paper, tuple(placed), tuple(marks), title.scale)


_STRETCHES = tuple(1.0 + k / 25 for k in range(20, 0, -1))


def _loosened(
    items: Sequence[Item], places: Sequence[Point], room: Box, title: Box, gap: float
) -> list[Point]:
    """The places drawn apart over the room that is left, down first and then across."""
    found = list(places)
    for axis in (1, 0):
        for k in _STRETCHES:
            tried = [
                _stretched(p, item, room, axis, k) for p, item in zip(found, items, strict=True)
            ]
            boxes = [
                moved(b, at) for item, at in zip(items, tried, strict=True) for b in item.boxes
            ]
            if all(room.holds(b) and not b.meets(title, gap) for b in boxes):
                found = tried
                break
    return found


def _lowered(
    items: Sequence[Item], places: Sequence[Point], room: Box, title: Box, gap: float
) -> list[Point]:
    """All of them moved down by half of what is left under them, so that no third stays white."""
    boxes = [moved(b, at) for item, at in zip(items, places, strict=True) for b in item.boxes]

    def is_free(by: float) -> bool:
        there = [moved(b, (0.0, -by)) for b in boxes]
        return all(room.holds(b) and not b.meets(title, gap) for b in there)

    most = 0.0
    while is_free(most + 1.0):
        most += 1.0
    return [(x, y - most / 2) for x, y in places]


def _stretched(place: Point, item: Item, room: Box, axis: int, k: float) -> Point:
    """A place whose item's upper left corner is moved away from the room's."""
    x, y = place
    left = min(b.x0 for b in item.boxes) + x
    top = max(b.y1 for b in item.boxes) + y
    if axis == 1:
        return x, y - (room.y1 - top) * (k - 1.0)
    return x + (left - room.x0) * (k - 1.0), y


def struck(page: Page) -> Iterator[tuple[str, Box]]:
    """Words of figures that a line of the same figure runs through."""
    for placed in page.placed:
        ink = Ink()
        for stroke in placed.figure.lines:
            ink.add_curve(stroke.curve)
        for text in placed.figure.texts:
            box = text.box
            inside = Box(box.x0 + 0.1, box.y0 + 0.3, box.x1 - 0.1, box.y1 - 0.1)
            if next(ink.crossing(inside), None) is not None:
                yield f"{placed.figure.name}: {text.text}", moved(box, placed.at)


def clashes(page: Page) -> Iterator[tuple[str, Box, Box]]:
    """Words that lie on other words, and figures that lie on one another."""
    words = [(word.text, word.box) for word in page.words]
    for placed in page.placed:
        words += [(t.text, moved(t.box, placed.at)) for t in placed.figure.texts]
    for i, (text, box) in enumerate(words):
        for other, there in words[i + 1 :]:
            if box.meets(there, -0.05):
                yield f"{text!r} on {other!r}", box, there
    for i, one in enumerate(page.placed):
        for two in page.placed[i + 1 :]:
            if one.box.meets(two.box, -0.05):
                yield f"view {one.figure.name!r} on {two.figure.name!r}", one.box, two.box
