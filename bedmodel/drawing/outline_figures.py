"""The outline of a part that is no plain rectangle: its points, radii and angles."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from bedmodel.drawing.curves import Arc, Point, bounds_of
from bedmodel.drawing.dims import SIZE, angle, linear, radius
from bedmodel.drawing.directions import Look
from bedmodel.drawing.figure import Figure, Measure, Stroke, stroke
from bedmodel.drawing.labels import Ink, set_label
from bedmodel.drawing.limited import view_of
from bedmodel.drawing.subject import Subject
from bedmodel.drawing.tables import Table
from bedmodel.drawing.tidy import tidied
from bedmodel.exports.paper.sheet import Box
from bedmodel.exports.paper.type import text_width
from bedmodel.frames import Vector
from bedmodel.outline import Edge
from bedmodel.units import format_angle

POINT_SIZE = 7.0
MOST_RADII = 12
_SQUARE = 0.02  # degrees off square that are none
_NEAR = 0.01  # mm


@dataclass(frozen=True)
class Drawn:
    """An outline as it is drawn: the look, and a map from its own plane to the view's."""

    look: Look
    subject: Subject

    def flat(self, p: Point) -> Point:
        return self.look.flat(self._in_space(p))

    def _in_space(self, p: Point) -> Vector:
        a, b = p
        return {"xy": (a, b, 0.0), "xz": (a, 0.0, b), "yz": (0.0, a, b)}[self.subject.shape.face]

    def edges(self) -> Iterator[Edge]:
        """The outline's edges as the view shows them."""
        flip = self.flat((1.0, 0.0))[0] * self.flat((0.0, 1.0))[1]
        flip -= self.flat((0.0, 1.0))[0] * self.flat((1.0, 0.0))[1]
        sign = 1.0 if flip > 0 else -1.0
        for e in self.subject.shape.outline.edges():
            yield Edge(self.flat(e.start), self.flat(e.end), sign * e.bulge, e.name)


def drawn_outline(subject: Subject) -> Drawn:
    """The outline with the blank's length level, seen on its own face."""
    right: Vector = (1.0, 0.0, 0.0)
    front = Look(right, (0.0, 1.0, 0.0) if subject.front.up[1] > 0 else (0.0, -1.0, 0.0))
    if subject.shape.face == "xz":
        return Drawn(front.seen_from("bottom"), subject)
    return Drawn(front, subject)


def is_plain(subject: Subject) -> bool:
    """True for a rectangle, and for a cross-section, which its end view shows."""
    outline, face = subject.shape.outline, subject.shape.face
    if face == "yz" or subject.kind.is_metal:
        return True
    edges = list(outline.edges())
    return len(edges) == 4 and all(
        not e.is_arc and min(abs(e.start[0] - e.end[0]), abs(e.start[1] - e.end[1])) < _NEAR
        for e in edges
    )


def outline_figure(subject: Subject, size: float) -> Figure:
    """The part seen on its outline at 1:``size``, its points numbered."""
    drawn = drawn_outline(subject)
    view = view_of([subject.solid], drawn.look.frame, hidden=False)
    curves = [c.placed((0.0, 0.0), 1 / size) for c in view.visible]
    body = Box(*bounds_of(curves))
    figure = Figure("Outline", size, body, tuple(Stroke("visible", c) for c in curves))
    sides = (
        ("x", body.y0 - 8.0, (body.x0, body.y0), (body.x1, body.y0), body.width, "length"),
        ("y", body.x1 + 9.0, (body.x1, body.y0), (body.x1, body.y1), body.height, "width"),
    )
    for axis, level, a, b, span, of in sides:
        value = span * size
        text = subject.text(value)
        figure = figure.adding(measures=[linear(a, b, level, axis, value, text, of)])  # type: ignore[arg-type]
    corners = ((body.x0, body.y0), (body.x1, body.y0), (body.x1, body.y1), (body.x0, body.y1))
    blank = stroke("phantom", *corners, corners[0])
    rest = tidied(curves, [s.curve for s in blank])[1]
    figure = figure.adding(strokes=[Stroke("phantom", c) for c in rest])
    ink = Ink.of(figure)
    room = Box(body.x0 - 16, body.y0 - 16, body.x1 + 24, body.y1 + 16)
    edges = list(drawn.edges())
    for i, edge in enumerate(edges):
        at = (edge.start[0] / size, edge.start[1] / size)
        away = math.degrees(_outward(edges[i - 1], edge))
        word, lead = set_label(
            ink, at, str(i + 1), POINT_SIZE, bold=True, least=1.2, prefer_deg=away, within=room
        )
        dot_ = Stroke("thin", Arc(at, 0.45, 0.0, math.tau))
        figure = figure.adding(words=[word], strokes=[dot_, *lead])
    arcs = sum(edge.is_arc for edge in edges)
    for edge in edges:
        if edge.is_arc and arcs <= MOST_RADII:  # of more the table tells the radii
            figure = figure.adding(measures=[_radius(ink, edge, subject, size)])
    seen: set[tuple[float, float]] = set()
    for edge in edges:
        off = _off_square(edge)
        if edge.is_arc or off is None or edge.length / size < 8.0:
            continue
        key = (round(abs(off[1]), 2), off[0])
        if key not in seen:
            seen.add(key)
            figure = figure.adding(measures=[_angle(ink, edge, off, size)])
    return figure


def _outward(before: Edge, after: Edge) -> float:
    """The direction that points away from the wood at a corner (radians)."""

    def turn(a: Point, b: Point) -> float:
        return math.atan2(b[1] - a[1], b[0] - a[0])

    back = turn(after.start, before.point_at(0.9))
    on = turn(after.start, after.point_at(0.1))
    x, y = math.cos(back) + math.cos(on), math.sin(back) + math.sin(on)
    return math.atan2(-y, -x) if math.hypot(x, y) > 0.3 else on - math.pi / 2


def _radius(ink: Ink, edge: Edge, subject: Subject, size: float) -> Measure:
    x, y = edge.point_at(0.5)
    at, centre = (x / size, y / size), (edge.centre[0] / size, edge.centre[1] / size)
    text = f"R {subject.text(edge.radius)}"
    wide, high = text_width(text, SIZE) + 1.5, 3.6
    inward = math.atan2(centre[1] - at[1], centre[0] - at[0])
    for reach in (7.0, 9.0, 12.0, 15.0, 19.0, 24.0, 30.0):
        for step in range(24):
            turn = inward + math.pi + (step + 1) // 2 * math.radians(15) * (-1) ** step
            elbow = (at[0] + reach * math.cos(turn), at[1] + reach * math.sin(turn))
            right = elbow[0] >= at[0]
            x0 = elbow[0] if right else elbow[0] - wide
            box = Box(x0, elbow[1] - 0.4, x0 + wide, elbow[1] + high)
            if abs(math.cos(turn - inward)) > 0.4 and ink.is_free(box):
                found = radius(centre, at, elbow, edge.radius, text, f"radius of {edge.name}")
                _take(ink, found)
                return found
    found = radius(centre, at, (at[0] + 8, at[1] + 8), edge.radius, text, edge.name)
    _take(ink, found)
    return found


def _off_square(edge: Edge) -> tuple[float, float] | None:
    """The axis (0 or 90 degrees) that an edge nearly follows, and how far it turns from it."""
    turn = math.degrees(math.atan2(edge.end[1] - edge.start[1], edge.end[0] - edge.start[0])) % 180
    axis = 90.0 if 45 < turn < 135 else 0.0
    off = turn - axis - (180.0 if turn >= 135 else 0.0)
    return (axis, off) if abs(off) > _SQUARE else None


def _angle(ink: Ink, edge: Edge, off: tuple[float, float], size: float) -> Measure:
    """The angle between an edge and the blank's length or width."""
    axis, turn = off
    text = format_angle(abs(turn)).replace(" deg", "\u00b0")
    ends = sorted((edge.start, edge.end), key=lambda p: p[1] if axis == 90.0 else p[0])
    length = edge.length / size
    best: Measure | None = None
    for corner, base in ((ends[0], axis), (ends[1], axis + 180.0)):
        at = (corner[0] / size, corner[1] / size)
        low, high = sorted((base, base + turn))
        for part in (0.5, 0.62, 0.75, 0.9, 1.05, 1.2):
            reach = length * part
            found = angle(at, low, high, reach, text, f"angle of {edge.name}")
            if best is None:
                best = found
            if ink.is_free(found.text.box):
                _take(ink, found)
                return found
    assert best is not None
    return best


def _take(ink: Ink, measure: Measure) -> None:
    ink.boxes.append(measure.text.box)
    for line in measure.strokes:
        ink.add_curve(line.curve)


def outline_table(subject: Subject) -> Table:
    """The outline's points, from the blank's first end and its straight or lower edge."""
    drawn = drawn_outline(subject)
    edges = list(drawn.edges())
    points = [p for e in edges for p in e.extremes()]
    left = min(p[0] for p in points)
    low, high = min(p[1] for p in points), max(p[1] for p in points)
    outer = [e for e in edges if e.name == "outer"]
    from_top = bool(outer) and abs(outer[0].start[1] - high) < 0.5
    rows = []
    for i, e in enumerate(edges):
        x, y = e.start
        to = "line" if not e.is_arc else f"arc R {subject.text(e.radius)}"
        if e.is_arc:
            to += " hollow" if _is_hollow(e, edges) else " round"
        across = high - y if from_top else y - low
        then = f"{to} to {(i + 1) % len(edges) + 1}"
        rows.append(
            (
                str(i + 1),
                subject.text(x - left),
                subject.text(across),
                then,
                e.name.replace("_", " "),
            )
        )
    across_from = "from the outer edge" if outer else "from the lower edge"
    joint = [e for e in edges if e.name == "joint"]
    if not from_top and joint and abs(joint[0].start[1] - low) < 0.5:
        across_from = "from the joint face"
    if subject.shape.face == "xz":
        below = next(e for e in edges if max(e.start[1], e.end[1]) < low + 0.5)
        across_from = f"from the {below.name.replace('_', ' ')} face"
    return Table(
        "Outline, from the left end of the blank",
        ("", "along", across_from, "then", "edge"),
        tuple(rows),
        " rr",
        42.0,
    )


def _is_hollow(edge: Edge, edges: list[Edge]) -> bool:
    area = sum(e.start[0] * e.end[1] - e.end[0] * e.start[1] for e in edges)
    return (edge.bulge > 0) != (area > 0)
