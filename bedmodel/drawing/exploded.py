"""The bed taken apart: every kind of part with its number, and the table of parts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import fmean

import numpy as np

from bedmodel.bed import Piece as BedPiece
from bedmodel.drawing.arrangement import Drafter
from bedmodel.drawing.compose import Item, Piece, arranged
from bedmodel.drawing.curves import Arc, Point
from bedmodel.drawing.directions import Look, isometric
from bedmodel.drawing.figure import Figure, Fill, Stroke, stroke
from bedmodel.drawing.page import Page
from bedmodel.drawing.project import View
from bedmodel.drawing.sheet_frame import Title
from bedmodel.drawing.tables import Table
from bedmodel.drawing.whole import Whole, drawn, seen
from bedmodel.ends.boards import is_board
from bedmodel.exports.paper.sheet import Text
from bedmodel.frames import Vector, add, dot, scale, subtract
from bedmodel.outline import Outline

_RING = 3.6  # mm, radius of a balloon
_APART = 9.0  # mm between the middles of balloons
_AWAY = 9.0  # mm from the drawing to the balloons
_NUMBER = 8.5
_SIZES = tuple(8.0 * 1.06**k for k in range(50))
# How far a piece is pulled from its place: of its own distance from the middle, and by mm.
_SPREAD = {
    "head_end": (0.20, (0.0, -420.0, 60.0)),
    "foot_end": (0.20, (0.0, 420.0, 0.0)),
    "centre_support": (0.0, (0.0, 0.0, -160.0)),
    "platform": (0.0, (0.0, 0.0, 200.0)),
}
# The rails go out further than the slats go up: seen from the corner they then stay apart.
_OUT, _RUNNERS_OUT = 480.0, 330.0
_CROSSING = 120.0  # mm of a leader's way that a line crossed is worth
_MORE = 5  # balloons on one side more than on the other


def pulled(piece: BedPiece) -> Vector:
    """How far a piece is moved in the exploded view (mm, in the bed's frame)."""
    share, by = _SPREAD.get(piece.group, (0.0, (0.0, 0.0, 0.0)))
    x = piece.placement.point(scale(piece.kind.shape.blank, 0.5))[0]
    if piece.group == "rails":
        out = _RUNNERS_OUT if piece.name.startswith("runner") else _OUT
        return (math.copysign(0.9 * out if piece.kind.is_metal else out, x), 0.0, 0.0)
    if piece.kind.is_metal:
        share *= 0.8
    if "_tenon_" in piece.name or "_dowel_" in piece.name:
        share *= 0.55
    if is_board(piece.name):
        share = 0.0
    if piece.name.startswith("support_foot"):
        by = (0.0, 0.0, -380.0)
    return add(by, (share * x, 0.0, 0.0))


def exploded_page(drafter: Drafter, title: Title) -> Page:
    """The exploded view as large as it goes, a balloon for each kind, and the parts table."""
    whole = drafter.whole
    look = isometric(1.0, 1.0)
    apart = [replace(p, placement=p.placement.moved(pulled(p))) for p in whole.bed.pieces]
    view = seen([whole.jointed(p) for p in apart], look)
    found = marked(view, _anchors(whole, apart, look))
    table = parts_table(drafter)
    for n in _SIZES:
        figure = drawn("Exploded view", view, n, "edge")
        figure = with_balloons(
            figure, {k: ((x / n, y / n), side) for k, ((x, y), side) in found.items()}
        )
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
        what = bed.material(name).label
        rows.append((str(number), name.replace("_", " "), str(count), size, what))
    headings = ("", "part", "no.", "size", "material")
    return Table("Parts", headings, tuple(rows), "r r", 44.0, 6.5)


def _anchors(whole: Whole, apart: Sequence[BedPiece], look: Look) -> dict[int, list[Point]]:
    """For each kind's number points that are seen on its pieces (mm of the model)."""
    found: dict[int, list[Point]] = {}
    for number, name in enumerate(whole.bed.kinds, 1):
        own = [piece for piece in apart if piece.kind.name == name]
        spots = [
            spot
            for piece in (own[0], own[-1], own[len(own) // 2])
            for spot in _spots(piece, look)
            if not any(_covers(other, spot, look) for other in apart if other is not piece)
        ]
        if not spots:
            spots = [own[0].placement.point(scale(own[0].kind.shape.blank, 0.5))]
        found[number] = [look.flat(s) for s in spots]
    return found


def _spots(piece: BedPiece, look: Look) -> Iterator[Vector]:
    """Points on the faces of a piece that are turned to the eye."""
    shape, place = piece.kind.shape, piece.placement
    a, b, c = shape.blank
    is_bar = sum(1 for _ in shape.outline.edges()) == 4
    # Of a shaped part the blank's edges may be cut away.
    for along in (0.5, 0.35, 0.65, 0.2, 0.8, 0.07, 0.93):
        faces = [(place.z, (along * a, b / 2, c), (along * a, b / 2, 0.0))]
        if is_bar:
            faces.append((place.y, (along * a, b, c / 2), (along * a, 0.0, c / 2)))
        elif shape.face != "xy" or not _encloses(shape.outline, (along * a, b / 2)):
            continue
        for axis, high, low in faces:
            facing = dot(axis, look.toward)
            if abs(facing) > 0.1:
                yield place.point(high if facing > 0 else low)


def _encloses(outline: Outline, at: Point) -> bool:
    """True for a point inside an outline: a line from it leaves it an odd number of times."""
    ring = [edge.point_at(k / 8) for edge in outline.edges() for k in range(8)]
    crossed = 0
    for (x0, y0), (x1, y1) in pairwise([*ring, ring[0]]):
        if (y0 > at[1]) != (y1 > at[1]):
            crossed += x0 + (at[1] - y0) * (x1 - x0) / (y1 - y0) > at[0]
    return crossed % 2 == 1


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


# A number's point, and the side on which its balloon stands: -1 left, 1 right.
Marked = dict[int, tuple[Point, int]]


def marked(view: View, anchors: Mapping[int, Sequence[Point]]) -> Marked:
    """Of each kind the point from which the way out crosses the fewest lines, and is short."""
    lines = np.array(
        [(*a, *b) for curve in view.visible for a, b in pairwise(curve.points(2.0))]
    ).reshape(-1, 4)
    left, right = (float(f(lines[:, ::2])) for f in (np.min, np.max))

    def cost(at: Point, side: int) -> float:
        x0, y0, x1, y1 = lines[(lines[:, 1] <= at[1]) != (lines[:, 3] <= at[1])].T
        met = x0 + (at[1] - y0) * (x1 - x0) / (y1 - y0)
        crossed = np.count_nonzero((met - at[0]) * side > 1.0)
        return float(crossed) * _CROSSING + ((right - at[0]) if side > 0 else (at[0] - left))

    best = {
        number: {side: min((cost(at, side), at) for at in points) for side in (-1, 1)}
        for number, points in anchors.items()
    }
    sides = {number: min((-1, 1), key=lambda s: best[number][s]) for number in best}
    # Neither side is to hold many more than the other.
    while abs(sum(sides.values())) > _MORE:
        full = 1 if sum(sides.values()) > 0 else -1
        moved = min(
            (n for n, side in sides.items() if side == full),
            key=lambda n: best[n][-full][0] - best[n][full][0],
        )
        sides[moved] = -full
    return {number: (best[number][side][1], side) for number, side in sides.items()}


def with_balloons(figure: Figure, found: Marked) -> Figure:
    """Numbers in rings on both sides of a figure, each as near the height of its point as goes."""
    body = figure.body
    anchors = {number: at for number, (at, _) in found.items()}
    places: dict[int, Point] = {}
    for side, x in ((-1, body.x0 - _AWAY), (1, body.x1 + _AWAY)):
        numbers = sorted(
            (n for n, (_, own) in found.items() if own == side), key=lambda n: -anchors[n][1]
        )
        for number, y in zip(numbers, _spread([anchors[n][1] for n in numbers]), strict=True):
            places[number] = (x, y)
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


def _spread(wanted: Sequence[float]) -> list[float]:
    """Heights at least ``_APART`` from one another, downwards, as near the wanted as can be."""
    # Where each would begin a run of its own, runs that would overlap are made one.
    runs: list[list[float]] = []
    for i, height in enumerate(wanted):
        runs.append([height + i * _APART])
        while len(runs) > 1 and fmean(runs[-1]) > fmean(runs[-2]):
            runs[-2:] = [runs[-2] + runs[-1]]
    starts = [fmean(run) for run in runs for _ in run]
    return [start - i * _APART for i, start in enumerate(starts)]


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
