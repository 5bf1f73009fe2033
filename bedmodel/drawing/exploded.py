"""The bed taken apart: every kind of part with its number, and the table of parts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from bedmodel.bed import Piece as BedPiece
from bedmodel.drawing.arrangement import Drafter
from bedmodel.drawing.compose import Item, Piece, arranged
from bedmodel.drawing.curves import Arc, Point
from bedmodel.drawing.directions import Look, isometric
from bedmodel.drawing.figure import Figure, Fill, Stroke, stroke
from bedmodel.drawing.page import Page
from bedmodel.drawing.sheet_frame import Title
from bedmodel.drawing.tables import Table
from bedmodel.drawing.whole import Whole, drawn, seen
from bedmodel.ends.boards import is_board
from bedmodel.exports.paper.sheet import Text
from bedmodel.frames import Vector, add, dot, scale, subtract
from bedmodel.materials import material

_RING = 3.6  # mm, radius of a balloon
_APART = 9.0  # mm between the middles of balloons
_AWAY = 9.0  # mm from the drawing to the balloons
_NUMBER = 8.5
_SIZES = tuple(8.0 * 1.06**k for k in range(50))
# How far a piece is pulled from its place: of its own distance from the middle, and by mm.
_SPREAD = {
    "head_end": (0.20, (0.0, -420.0, 60.0)),
    "foot_end": (0.20, (0.0, 420.0, 0.0)),
    "rails": (0.42, (0.0, 0.0, 0.0)),
    "centre_support": (0.0, (0.0, 0.0, 40.0)),
    "platform": (0.0, (0.0, 0.0, 420.0)),
}


def pulled(piece: BedPiece) -> Vector:
    """How far a piece is moved in the exploded view (mm, in the bed's frame)."""
    share, by = _SPREAD.get(piece.group, (0.0, (0.0, 0.0, 0.0)))
    x = piece.placement.point(scale(piece.kind.shape.blank, 0.5))[0]
    if piece.kind.is_metal:
        share *= 0.8
    if "_tenon_" in piece.name or "_dowel_" in piece.name:
        share *= 0.55
    if piece.name.startswith("runner"):
        share *= 0.55
    if is_board(piece.name):
        share = 0.0
    if piece.name.startswith("support_foot"):
        by = (0.0, 0.0, -160.0)
    return add(by, (share * x, 0.0, 0.0))


def exploded_page(drafter: Drafter, title: Title) -> Page:
    """The exploded view as large as it goes, a balloon for each kind, and the parts table."""
    whole = drafter.whole
    look = isometric(1.0, 1.0)
    apart = [replace(p, placement=p.placement.moved(pulled(p))) for p in whole.bed.pieces]
    view = seen([whole.jointed(p) for p in apart], look)
    anchors = _anchors(whole, apart, look)
    table = parts_table(drafter)
    for n in _SIZES:
        figure = drawn("Exploded view", view, n, "edge")
        figure = with_balloons(figure, {k: (x / n, y / n) for k, (x, y) in anchors.items()})
        items = [Item((Piece(figure, (0.0, 0.0)),)), Item((), table)]
        for gap in (8.0, 5.0):
            stated = replace(title, scale="none")
            page = arranged("exploded_view", items, drafter.paper, gap, stated)
            if page is not None:
                return page
    raise ValueError("the exploded view finds no room")


def parts_table(drafter: Drafter) -> Table:
    """Every kind with its number, how many, and its size."""
    bed = drafter.whole.bed
    rows = []
    for number, (name, kind) in enumerate(bed.kinds.items(), 1):
        count = sum(1 for piece in bed.pieces if piece.kind is kind)
        size = " × ".join(drafter.text(v) for v in kind.shape.blank)
        what = material(kind.species).label
        rows.append((str(number), name.replace("_", " "), str(count), size, what))
    headings = ("", "part", "no.", "size", "material")
    return Table("Parts", headings, tuple(rows), "r r", 44.0, 6.5)


def _anchors(whole: Whole, apart: Sequence[BedPiece], look: Look) -> dict[int, Point]:
    """For each kind's number a point that is seen on one of its pieces (mm of the model)."""
    found: dict[int, Point] = {}
    for number, name in enumerate(whole.bed.kinds, 1):
        spots = [
            spot
            for piece in apart
            if piece.kind.name == name
            for spot in _spots(piece, look)
            if not any(_covers(other, spot, look) for other in apart if other is not piece)
        ]
        if not spots:
            first = next(p for p in apart if p.kind.name == name)
            spots = [first.placement.point(scale(first.kind.shape.blank, 0.5))]
        flat = [look.flat(s) for s in spots]
        found[number] = max(flat, key=lambda p: (round(abs(p[0]), 1), p))
    return found


def _spots(piece: BedPiece, look: Look) -> Iterator[Vector]:
    """Points on the faces of a piece that are turned to the eye."""
    a, b, c = piece.kind.shape.blank
    place = piece.placement
    for along in (0.5, 0.35, 0.65, 0.2, 0.8):
        for axis, high, low in (
            (place.z, (along * a, b / 2, c), (along * a, b / 2, 0.0)),
            (place.y, (along * a, b, c / 2), (along * a, 0.0, c / 2)),
        ):
            facing = dot(axis, look.toward)
            if abs(facing) > 0.1:
                yield place.point(high if facing > 0 else low)


def _covers(piece: BedPiece, spot: Vector, look: Look) -> bool:
    """True when the blank of a piece lies between a point and the eye."""
    place, blank = piece.placement, piece.kind.shape.blank
    start = subtract(spot, place.origin)
    low, high = 1.0, math.inf
    for axis, size in zip((place.x, place.y, place.z), blank, strict=True):
        at, way = dot(start, axis), dot(look.toward, axis)
        if abs(way) < 1e-9:
            if not 0.0 < at < size:
                return False
            continue
        ends = sorted((-at / way, (size - at) / way))
        low, high = max(low, ends[0]), min(high, ends[1])
        if low >= high:
            return False
    return True


def with_balloons(figure: Figure, anchors: dict[int, Point]) -> Figure:
    """Numbers in rings on both sides of a figure, their leaders not crossing."""
    body = figure.body
    order = sorted(anchors, key=lambda k: anchors[k][0])
    half = (len(order) + 1) // 2
    places: dict[int, Point] = {}
    for numbers, x in ((order[:half], body.x0 - _AWAY), (order[half:], body.x1 + _AWAY)):
        if not numbers:
            continue
        numbers = sorted(numbers, key=lambda k: -anchors[k][1])
        step = max(_APART, body.height / max(len(numbers), 1))
        middle = (body.y0 + body.y1) / 2
        top = middle + step * (len(numbers) - 1) / 2
        for i, number in enumerate(numbers):
            places[number] = (x, top - i * step)
        _uncross(places, anchors, numbers)
    strokes: list[Stroke] = []
    fills: list[Fill] = []
    words: list[Text] = []
    for number, at in places.items():
        to = anchors[number]
        length = math.dist(at, to)
        rim = (at[0] + (to[0] - at[0]) * _RING / length, at[1] + (to[1] - at[1]) * _RING / length)
        strokes += stroke("thin", rim, to)
        strokes.append(Stroke("edge", Arc(at, _RING, 0.0, math.tau)))
        fills.append(_dot(to))
        words.append(Text(str(number), (at[0], at[1] - 1.1), _NUMBER, True, "middle"))
    return figure.adding(strokes=strokes, fills=fills, words=words)


def _dot(at: Point) -> Fill:
    ring = Arc(at, 0.55, 0.0, math.tau * 15 / 16)
    return Fill(tuple(ring.point_at(math.tau * k / 16) for k in range(16)))


def _uncross(places: dict[int, Point], anchors: dict[int, Point], numbers: Sequence[int]) -> None:
    """Exchange places while that makes leaders shorter: then no two cross."""
    better = True
    while better:
        better = False
        for i, a in enumerate(numbers):
            for b in numbers[i + 1 :]:
                now = math.dist(places[a], anchors[a]) + math.dist(places[b], anchors[b])
                then = math.dist(places[b], anchors[a]) + math.dist(places[a], anchors[b])
                if then < now - 1e-6:
                    places[a], places[b] = places[b], places[a]
                    better = True
