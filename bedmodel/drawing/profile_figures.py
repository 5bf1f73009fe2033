"""The profiles of a part's edges in section, twice their size, with their dimensions.

The face lies level and the edge goes down from it; the sharp arris is drawn in chain lines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.drawing.curves import Arc, Line
from bedmodel.drawing.dims import linear
from bedmodel.drawing.figure import Figure, Hatch, Stroke, around, stroke
from bedmodel.drawing.subject import Subject
from bedmodel.edge_profiles import group_words
from bedmodel.exports.paper.sheet import Box
from bedmodel.outline import Edge, Point
from bedmodel.profiles import Moulding, Profile

SCALE = 0.5  # mm of part to a mm of paper: twice its size
_WOOD = 9.0  # mm of paper beyond the profile
_LEVEL = 6.0  # mm of paper from the arris to a dimension line


def profile_figures(subject: Subject) -> Iterator[Figure]:
    """One figure for each profile of a part, with the arrises that have it."""
    found: dict[Profile, list[Moulding]] = {}
    for each in subject.shape.mouldings:
        found.setdefault(each.profile, []).append(each)
    for profile, mouldings in found.items():
        names = dict.fromkeys(group_words(each.name) for each in mouldings)
        yield _figure(subject, profile, ", ".join(names))


def profile_notes(subject: Subject) -> Iterator[str]:
    """Where each profile runs, along its arris."""
    for each in subject.shape.mouldings:
        whole = f"{group_words(each.name)}: {profile_words(subject, each.profile)}"
        ends = sum(each.stopped)
        if ends:
            where = "both ends" if ends == 2 else "one end"
            whole += (
                f", {subject.text(each.length)} at full depth, stopped at {where} with a run-out "
                f"of {subject.text(each.run_out)}"
            )
        yield whole


def profile_words(subject: Subject, profile: Profile) -> str:
    """Style and sizes."""
    size = subject.text(profile.size)
    if profile.style == "chamfer":
        return f"chamfer {size} x 45\N{DEGREE SIGN}"
    if profile.style == "roundover":
        return f"roundover, radius {size}"
    if profile.style == "ovolo":
        return f"ovolo, radius {size}, steps {subject.text(profile.quirk)}"
    return (
        f"thumbnail {size} wide, radius {subject.text(profile.radius)}, step "
        f"{subject.text(profile.quirk)}"
    )


def _figure(subject: Subject, profile: Profile, where: str) -> Figure:
    w, d = profile.width / SCALE, profile.drop / SCALE
    edges = [e for e in profile.outline().edges() if e.start != (0.0, 0.0) and e.end != (0.0, 0.0)]
    cut = [Stroke("visible", _curve(edge)) for edge in edges]
    wood = [
        *stroke("visible", (w, 0.0), (w + _WOOD, 0.0)),
        *cut,
        *stroke("visible", (0.0, -d), (0.0, -d - _WOOD)),
    ]
    sharp = stroke("phantom", (0.0, -d), (0.0, 0.0), (w, 0.0))
    ring = [p for edge in edges for p in _curve_points(edge)]
    ring = [(w + _WOOD, 0.0), *ring, (0.0, -d - _WOOD), (w + _WOOD, -d - _WOOD)]
    wide, deep = (subject.text(side) for side in (profile.width, profile.drop))
    measures = [
        linear((0.0, 0.0), (w, 0.0), _LEVEL, "x", profile.width, wide, "profile width"),
        linear((0.0, -d), (0.0, 0.0), -_LEVEL, "y", profile.drop, deep, "profile drop"),
    ]
    body: Box = around(s.box for s in (*wood, *sharp))
    name = f"{where}: {profile.style}"
    hatch = Hatch((tuple(ring),))
    return Figure(name, SCALE, body, (*wood, *sharp), tuple(measures), (hatch,))


def _flat(p: Point) -> Point:
    return p[0] / SCALE, -p[1] / SCALE


def _curve(edge: Edge) -> Line | Arc:
    if not edge.is_arc:
        return Line(_flat(edge.start), _flat(edge.end))
    # Turned over, the arc's bulge changes its sign.
    centre = _flat(edge.centre)
    a, b = (
        math.atan2(p[1] - centre[1], p[0] - centre[0]) for p in map(_flat, (edge.start, edge.end))
    )
    sweep = -edge.sweep
    first, last = (a, a + sweep) if sweep > 0 else (b, b - sweep)
    return Arc(centre, edge.radius / SCALE, first, last)


def _curve_points(edge: Edge) -> list[Point]:
    count = 12 if edge.is_arc else 1
    return [_flat(edge.point_at(i / count)) for i in range(count + 1)]
