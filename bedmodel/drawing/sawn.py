"""Slanting saw cuts through a part: their angles as dimensions, and in words.

A cut's plane is told on the part's wide face, as a saw is set: how far its line there is
off square (mitre), and how far the blade leans (tilt).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.cuts import Trim
from bedmodel.drawing.dims import angle
from bedmodel.drawing.directions import Side
from bedmodel.drawing.figure import Figure, Measure
from bedmodel.drawing.labels import Ink
from bedmodel.drawing.subject import Subject
from bedmodel.exports.paper.sheet import Box
from bedmodel.frames import Vector, dot, subtract
from bedmodel.units import format_angle

_LEAST_DEG = 0.9  # a smaller angle is told in words alone: its arc would be a blot
_EDGE_ON = 0.3  # sine by which a plane may look towards the eye and still be seen as a line
_ON = 1e-3  # mm
_WORDS = {
    "level_cut": "foot cut level with the floor",
    "head_cut": "head end cut to the leaning leg",
    "level_top": "upper edge cut level",
}


def sawn_notes(subject: Subject) -> Iterator[str]:
    """Each slanting cut in words: where, mitre and tilt."""
    for trim in _slanting(subject):
        mitre, tilt = mitre_and_tilt(subject, trim)
        parts = []
        if mitre > 0.005:
            parts.append(f"{format_angle(mitre)} off square on the wide face")
        parts.append(f"blade tilted {format_angle(tilt)}")
        yield f"{_WORDS[trim.name]}: {', '.join(parts)}"


def _slanting(subject: Subject) -> Iterator[Trim]:
    """The saw cuts told by their angles; a taper is told by its gauges."""
    for trim in subject.shape.trims:
        if isinstance(trim, Trim) and trim.name in _WORDS:
            yield trim


def mitre_and_tilt(subject: Subject, trim: Trim) -> tuple[float, float]:
    """Degrees off square of a cut's line on the wide face, and of its plane to that face.

    Square is to the part's own edge: the joint face of a leg, the length of a strip.
    """
    x, y, z = trim.frame.z
    along = subject.front.right
    level = dot((x, y, 0.0), along)
    side = math.hypot(x, y)
    off = math.degrees(math.acos(min(1.0, abs(level) / side))) if side else 0.0
    if off > 45:  # a cut along the part
        off = 90 - off
    return off, math.degrees(math.asin(min(1.0, abs(z))))


def with_sawn_angles(figure: Figure, subject: Subject, side: Side, size: float) -> Figure:
    """A view with the angle of each slanting cut that it shows as a line."""
    for trim in _slanting(subject):
        found = _angle(figure, subject, trim, side, size)
        if found is not None:
            figure = figure.adding(measures=[found])
    return figure


def _angle(figure: Figure, subject: Subject, trim: Trim, side: Side, size: float) -> Measure | None:
    look = subject.front.seen_from(side)
    normal = trim.frame.z
    if abs(dot(normal, look.toward)) > _EDGE_ON:
        return None
    u, v = dot(normal, look.right), dot(normal, look.up)
    # How the cut's line runs in the view, upwards, and the square line beside it.
    run = math.degrees(math.atan2(u, -v)) % 180
    square = 90.0 if 45 < run < 135 else 0.0 if run <= 45 else 180.0
    if not _LEAST_DEG < abs(run - square) < 45:
        return None
    ends = sorted(_line(subject, trim, look.right, look.up), key=lambda p: (p[1], p[0]))
    if len(ends) < 2:
        return None
    ink = Ink.of(figure)
    body = figure.body
    room = Box(body.x0 - 22, body.y0 - 14, body.x1 + 22, body.y1 + 14)
    text = format_angle(abs(run - square)).replace(" deg", "\u00b0")
    for corner, turn in ((ends[0], 0.0), (ends[-1], 180.0)):
        at = (corner[0] / size, corner[1] / size)
        low, high = sorted((square + turn, run + turn))
        for reach in (9.0, 12.0, 15.0, 18.0, 22.0, 27.0):
            found = angle(at, low, high, reach, text, f"angle of {trim.name}")
            box = found.text.box
            inside = room.x0 < box.x0 and box.x1 < room.x1
            if inside and ink.is_free(box) and ink.leaves_words(found.strokes):
                return found
    return None


def _line(subject: Subject, trim: Trim, right: Vector, up: Vector) -> Iterator[tuple[float, float]]:
    """The solid's corners in the cut's plane, as the view shows them."""
    for vertex in subject.sharp.Vertices():
        p = (vertex.X, vertex.Y, vertex.Z)
        if abs(dot(subtract(p, trim.frame.origin), trim.frame.z)) < _ON:
            yield dot(p, right), dot(p, up)
