"""Dimensions as a draughtsman draws them (mm of paper, sizes of type in points).

linear     between two ends, with arrows; where the span is too short for its text, the
           text stands beyond it, and where it is too short for arrows, they point inwards
running    from one datum: each place has its line and its value at the end of it; values
           that would touch are moved apart and their lines bent

    0    16   38 44 59        value, in the direction of its line
    |    |    \\  |  /
    o----|-----||-|-------    the part; the datum has a small circle

Source: the ways of ISO 129-1, arrows, extension lines and running dimensions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from bedmodel.drawing.curves import Arc, Line, Point
from bedmodel.drawing.figure import Fill, Measure, Stroke, stroke
from bedmodel.exports.paper.sheet import Text
from bedmodel.exports.paper.type import ASCENT, DESCENT, MM_PER_POINT, text_width

SIZE = 8.0  # points, of dimensions
GAP = 0.8  # mm between what is measured and an extension line
PAST = 1.2  # mm by which an extension line passes its dimension line
ARROW, HALF = 2.2, 0.38  # mm, length and half width of an arrowhead
TAIL = 3.2  # mm of line behind an arrow from outside
LIFT = 0.7  # mm between a line and the feet of the text on it
LINE = SIZE * MM_PER_POINT * (ASCENT + DESCENT)  # mm, what a line of text covers across
PITCH = LINE + 0.45  # mm between running values
JOG = 3.0  # mm in which a running line bends
FIRST = 2.0  # mm from the part to where running lines bend
LEAD = 1.0  # mm of straight line before a running value

Axis = Literal["x", "y"]


@dataclass(frozen=True)
class Station:
    """A place on a running row: where along the axis, where its line begins, and its text."""

    at: float
    base: float
    value: float
    text: str
    of: str


def arrow(tip: Point, toward: Point) -> Fill:
    """An arrowhead at ``tip``, pointing along the unit vector ``toward``."""
    (x, y), (dx, dy) = tip, toward
    bx, by = x - ARROW * dx, y - ARROW * dy
    return Fill(((x, y), (bx - HALF * dy, by + HALF * dx), (bx + HALF * dy, by - HALF * dx)))


def linear(
    a: Point,
    b: Point,
    level: float,
    axis: Axis,
    value: float,
    text: str,
    of: str,
    before: bool = False,
) -> Measure:
    """The distance of two points along an axis; its line lies at ``level`` on the other.

    A text that has no room between the ends stands beyond the second, or ``before`` the first.
    """
    if axis == "y":  # across an upright line, to the left counts
        return _along(a, b, (0.0, 1.0), -level, value, text, of, "linear", axis, before)
    return _along(a, b, (1.0, 0.0), level, value, text, of, "linear", axis, before)


def aligned(a: Point, b: Point, off: float, value: float, text: str, of: str) -> Measure:
    """The distance of two points along the line between them, drawn ``off`` to its left."""
    length = math.dist(a, b)
    d = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    if d[0] < -1e-9 or (abs(d[0]) <= 1e-9 and d[1] < 0):  # text is read from below or the right
        a, b, d, off = b, a, (-d[0], -d[1]), -off
    level = a[0] * -d[1] + a[1] * d[0] + off
    return _along(a, b, d, level, value, text, of, "aligned", "")


def _along(
    a: Point,
    b: Point,
    d: Point,
    level: float,
    value: float,
    text: str,
    of: str,
    kind: Literal["linear", "aligned"],
    axis: Literal["x", "y", ""],
    before: bool = False,
) -> Measure:
    n = (-d[1], d[0])

    def place(along: float, across: float) -> Point:
        return along * d[0] + across * n[0], along * d[1] + across * n[1]

    def coordinates(p: Point) -> Point:
        return p[0] * d[0] + p[1] * d[1], p[0] * n[0] + p[1] * n[1]

    (ta, na), (tb, nb) = sorted((coordinates(a), coordinates(b)))
    lines: list[Stroke] = []
    for t, across in ((ta, na), (tb, nb)):
        side = math.copysign(1.0, level - across)
        if abs(level - across) > GAP:
            lines += stroke("thin", place(t, across + side * GAP), place(t, level + side * PAST))
    span, wide = tb - ta, text_width(text, SIZE)
    inside = span >= 2 * ARROW + 0.8
    back = (-d[0], -d[1])
    if inside:
        fills = (arrow(place(ta, level), back), arrow(place(tb, level), d))
        ends = [ta, tb]
    else:
        fills = (arrow(place(ta, level), d), arrow(place(tb, level), back))
        ends = [ta - ARROW - TAIL, tb + ARROW + TAIL]
    if inside and span >= wide + 1.2:
        at, anchor_t = (ta + tb) / 2, "middle"
    elif before:
        start = (ta - PAST) if inside else (ta - ARROW - 0.6)
        ends[0] = min(ends[0], start - wide)
        at, anchor_t = start - wide, "start"
    else:
        start = (tb + PAST) if inside else (tb + ARROW + 0.6)
        ends[1] = max(ends[1], start + wide)
        at, anchor_t = start, "start"
    lines += stroke("thin", place(ends[0], level), place(ends[1], level))
    turn = math.degrees(math.atan2(d[1], d[0]))
    word = Text(
        text,
        place(at, level + LIFT + DESCENT * SIZE * MM_PER_POINT * 0.6),
        SIZE,
        anchor="middle" if anchor_t == "middle" else "start",
        turn_deg=turn,
    )
    points = (place(ta, na), place(tb, nb), place(tb, level))
    return Measure(kind, points, value, of, word, tuple(lines), fills, axis)


def spread(wanted: Sequence[float], pitch: float) -> list[float]:
    """Places at least ``pitch`` apart, in the same order, as near to the wanted as can be."""
    blocks: list[list[float]] = []  # sum of wanted less own shift, count
    for i, place in enumerate(wanted):
        blocks.append([place - i * pitch, 1.0])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] >= blocks[-1][0] / blocks[-1][1]:
            total, count = blocks.pop()
            blocks[-1][0] += total
            blocks[-1][1] += count
    out: list[float] = []
    for total, count in blocks:
        out += [total / count] * int(count)
    return [place + i * pitch for i, place in enumerate(out)]


def running(
    stations: Sequence[Station], datum: Point, level: float, axis: Axis, outward: float
) -> list[Measure]:
    """A row of running dimensions along an axis, from ``datum``.

    Values stand beyond ``level`` on the side ``outward`` (+1 or -1) of the other axis. The
    first station is the datum's own and reads 0.
    """
    order = sorted(stations, key=lambda s: s.at)
    places = spread([s.at for s in order], PITCH)
    bend, straight = level + outward * FIRST, level + outward * (FIRST + JOG)
    end = straight + outward * LEAD
    found = []
    for station, place in zip(order, places, strict=True):
        bent = abs(place - station.at) > 0.05

        def p(along: float, across: float) -> Point:
            return (along, across) if axis == "x" else (across, along)

        start = station.base + outward * GAP
        run = [p(station.at, start)]
        run += [p(station.at, bend), p(place, straight)] if bent else []
        run.append(p(place if bent else station.at, end))
        lines = list(stroke("thin", *run))
        if station.value == 0:
            lines.append(Stroke("thin", Arc(p(station.at, bend), 0.7, 0.0, math.tau)))
        where = place if bent else station.at
        middle = SIZE * MM_PER_POINT * 0.365  # half a capital's height
        edge = end + outward * 0.6
        if axis == "x":
            at, turn = (where + middle, edge), 90.0
            anchor = "start" if outward > 0 else "end"
        else:
            at, turn = (edge, where - middle), 0.0
            anchor = "start" if outward > 0 else "end"
        word = Text(
            station.text, at, SIZE, anchor="start" if anchor == "start" else "end", turn_deg=turn
        )
        points = (datum, p(station.at, station.base), p(where, end))
        found.append(
            Measure("running", points, station.value, station.of, word, tuple(lines), (), axis)
        )
    return found


def radius(centre: Point, at: Point, elbow: Point, value: float, text: str, of: str) -> Measure:
    """A radius by a leader: the arrow at ``at`` on the arc, the text beyond ``elbow``."""
    length = math.dist(elbow, at)
    toward = ((at[0] - elbow[0]) / length, (at[1] - elbow[1]) / length)
    right = elbow[0] >= at[0]
    wide = text_width(text, SIZE)
    end = (elbow[0] + (wide + 1.0 if right else -wide - 1.0), elbow[1])
    lines = stroke("thin", at, elbow, end)
    word = Text(
        text,
        (elbow[0] + (0.5 if right else -0.5), elbow[1] + LIFT + 0.4),
        SIZE,
        anchor="start" if right else "end",
    )
    return Measure("radius", (centre, at, elbow), value, of, word, lines, (arrow(at, toward),))


def angle(
    corner: Point, first_deg: float, last_deg: float, reach: float, text: str, of: str
) -> Measure:
    """The angle at a corner from one direction anticlockwise to another, on an arc."""
    a, b = math.radians(first_deg), math.radians(last_deg)

    def on(turn: float, far: float = reach) -> Point:
        return corner[0] + far * math.cos(turn), corner[1] + far * math.sin(turn)

    lead = ARROW * 1.6 / reach
    arc = Stroke("thin", Arc(corner, reach, a - lead, b + lead))
    fills = (
        arrow(on(a), (-math.sin(a), math.cos(a))),
        arrow(on(b), (math.sin(b), -math.cos(b))),
    )
    wide = text_width(text, SIZE)
    top = on(b + lead)
    right = math.sin(b) < 0
    at = (top[0] + (0.8 if right else -0.8), top[1] + 0.3)
    word = Text(text, at, SIZE, anchor="start" if right else "end")
    legs = (
        Stroke("thin", Line(on(a, 1.0), on(a, reach + PAST))),
        Stroke("thin", Line(on(b, 1.0), on(b, reach + PAST))),
    )
    del wide
    points = (corner, on(a), on(b), on((a + b) / 2))
    return Measure("angle", points, last_deg - first_deg, of, word, (arc, *legs), fills)
