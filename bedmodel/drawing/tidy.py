"""Make a view's lines those that a draughtsman would draw.

The projection gives an edge again for every part that has it, and in pieces. Here collinear
lines that touch become one, arcs of one circle likewise, a curve seen from its side becomes
a line, and what is hidden under a visible line is left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeVar

from bedmodel.drawing.curves import Arc, Curve, EllipseArc, Line, Point, Poly

SAME = 0.02  # mm; lines nearer than this are one line
_TURN = 2e-4  # radians
_LEAST = 0.05  # mm; shorter lines are left out

Interval = tuple[float, float]
C = TypeVar("C", Arc, EllipseArc)
R = TypeVar("R")


def tidied(visible: Iterable[Curve], hidden: Iterable[Curve]) -> tuple[list[Curve], list[Curve]]:
    """The visible and the hidden curves of a view (mm), each drawn once."""
    seen, unseen = [_flat(c) for c in visible], [_flat(c) for c in hidden]
    shown: list[Curve] = []
    behind: list[Curve] = []
    for bundle in (_lines, _arcs, _ellipses):
        a, b = bundle(seen, unseen)
        shown += a
        behind += b
    shown += _once([c for c in seen if isinstance(c, Poly)], ())
    behind += _once([c for c in unseen if isinstance(c, Poly)], shown)
    keep = [c for c in shown if c.length > _LEAST]
    return keep, [c for c in behind if c.length > _LEAST]


def _flat(curve: Curve) -> Curve:
    """A line in place of a curve that is straight as seen."""
    if isinstance(curve, Line):
        return curve
    if isinstance(curve, EllipseArc):
        if math.hypot(*curve.major) * curve.ratio > SAME / 2:
            return curve
        run = [curve.point_at(t) for t in _turning(curve)]
    elif isinstance(curve, Arc):
        return curve
    else:
        run = list(curve.run)
    a, b = _farthest(run)
    if all(_off(p, a, b) < SAME for p in run):
        return Line(a, b)
    return curve


def _turning(curve: EllipseArc) -> Iterator[float]:
    yield curve.first
    for k in range(-4, 9):
        if curve.first < k * math.pi < curve.last:
            yield k * math.pi
    yield curve.last


def _farthest(run: Sequence[Point]) -> tuple[Point, Point]:
    a = max(run, key=lambda p: math.dist(p, run[0]))
    b = max(run, key=lambda p: math.dist(p, a))
    return (a, b) if a <= b else (b, a)


def _off(p: Point, a: Point, b: Point) -> float:
    length = math.dist(a, b)
    if length < 1e-9:
        return math.dist(p, a)
    return abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / length


# --- lines ---------------------------------------------------------------------------------


def _lines(seen: Iterable[Curve], unseen: Iterable[Curve]) -> tuple[list[Line], list[Line]]:
    rows = []
    for kind, curves in enumerate((seen, unseen)):
        for c in curves:
            if isinstance(c, Line) and c.length > 1e-6:
                turn = math.atan2(c.end[1] - c.start[1], c.end[0] - c.start[0]) % math.pi
                rows.append((turn - math.pi if turn > math.pi - _TURN else turn, kind, c))
    rows.sort(key=lambda row: (row[0], row[1], row[2].start, row[2].end))
    shown: list[Line] = []
    behind: list[Line] = []
    for alike in _runs(rows, lambda row: row[0], _TURN):
        longest = max(alike, key=lambda row: row[2].length)
        d = (math.cos(longest[0]), math.sin(longest[0]))
        level = [
            (
                (c.start[1] + c.end[1]) / 2 * d[0] - (c.start[0] + c.end[0]) / 2 * d[1],
                kind,
                c,
            )
            for _, kind, c in alike
        ]
        level.sort(key=lambda row: (row[0], row[1], row[2].start, row[2].end))
        for one in _runs(level, lambda row: row[0], SAME):
            at = max(one, key=lambda row: row[2].length)[0]
            spans: tuple[list[Interval], list[Interval]] = ([], [])
            for _, kind, c in one:
                ends = sorted(p[0] * d[0] + p[1] * d[1] for p in (c.start, c.end))
                spans[kind].append((ends[0], ends[1]))
            top = _joined(spans[0])
            under = _without(_joined(spans[1]), top)

            def line(span: Interval, d: tuple[float, float] = d, at: float = at) -> Line:
                a, b = ((t * d[0] - at * d[1], t * d[1] + at * d[0]) for t in span)
                return Line(a, b)

            shown += map(line, top)
            behind += map(line, under)
    return shown, behind


# --- arcs ----------------------------------------------------------------------------------


def _arcs(seen: Iterable[Curve], unseen: Iterable[Curve]) -> tuple[list[Arc], list[Arc]]:
    def key(c: Arc) -> tuple[float, ...]:
        return (*c.centre, c.radius)

    def make(c: Arc, span: Interval) -> Arc:
        return Arc(c.centre, c.radius, *span)

    return _round(seen, unseen, Arc, key, make)


def _ellipses(
    seen: Iterable[Curve], unseen: Iterable[Curve]
) -> tuple[list[EllipseArc], list[EllipseArc]]:
    def key(c: EllipseArc) -> tuple[float, ...]:
        return (*c.centre, *c.major, c.ratio)

    def make(c: EllipseArc, span: Interval) -> EllipseArc:
        return EllipseArc(c.centre, c.major, c.ratio, *span)

    half = [_half(c) for c in seen], [_half(c) for c in unseen]
    return _round(half[0], half[1], EllipseArc, key, make)


def _half(c: Curve) -> Curve:
    """An ellipse's arc with its long axis to the right, or straight up."""
    if isinstance(c, EllipseArc) and (c.major[0] < -1e-9 or (abs(c.major[0]) <= 1e-9 > c.major[1])):
        back = (-c.major[0], -c.major[1])
        return EllipseArc(c.centre, back, c.ratio, c.first + math.pi, c.last + math.pi)
    return c


def _round(
    seen: Iterable[Curve],
    unseen: Iterable[Curve],
    of: type[C],
    key: Callable[[C], tuple[float, ...]],
    make: Callable[[C, Interval], C],
) -> tuple[list[C], list[C]]:
    groups: list[tuple[C, Spans]] = []
    for kind, curves in enumerate((seen, unseen)):
        for c in curves:
            if not isinstance(c, of):
                continue
            spans = _group(groups, c, key)
            spans[kind].extend(_within_turn(c.first, c.last))
    shown: list[C] = []
    behind: list[C] = []
    for first, spans in groups:
        top = _joined(spans[0], 1e-4)
        under = _without(_joined(spans[1], 1e-4), top, 1e-3)
        shown += [make(first, span) for span in _wrapped(top)]
        behind += [make(first, span) for span in _wrapped(under)]
    return shown, behind


Spans = tuple[list[Interval], list[Interval]]


def _group(groups: list[tuple[C, Spans]], c: C, key: Callable[[C], tuple[float, ...]]) -> Spans:
    """The spans of the curve that an arc lies on, a new one if there is none yet."""
    mine = key(c)
    for first, spans in groups:
        if all(abs(a - b) < SAME for a, b in zip(mine, key(first), strict=True)):
            return spans
    groups.append((c, ([], [])))
    return groups[-1][1]


def _within_turn(first: float, last: float) -> list[Interval]:
    """The span of an arc in pieces that lie within one turn from zero."""
    if last - first >= math.tau - 1e-6:
        return [(0.0, math.tau)]
    a = first % math.tau
    b = a + last - first
    return [(a, b)] if b <= math.tau else [(a, math.tau), (0.0, b - math.tau)]


def _wrapped(spans: list[Interval]) -> list[Interval]:
    """The pieces before and after zero as one."""
    if len(spans) > 1 and spans[0][0] < 1e-4 and spans[-1][1] > math.tau - 1e-4:
        return [*spans[1:-1], (spans[-1][0], spans[0][1] + math.tau)]
    return spans


# --- spans ---------------------------------------------------------------------------------


def _runs(rows: Sequence[R], value: Callable[[R], float], gap: float) -> Iterator[list[R]]:
    """Sorted rows in groups whose neighbours are no more than ``gap`` apart."""
    run: list[R] = []
    for row in rows:
        if run and value(row) - value(run[-1]) > gap:
            yield run
            run = []
        run.append(row)
    if run:
        yield run


def _joined(spans: Iterable[Interval], gap: float = SAME) -> list[Interval]:
    out: list[Interval] = []
    for a, b in sorted(spans):
        if out and a <= out[-1][1] + gap:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return out


def _without(
    spans: Iterable[Interval], taken: Sequence[Interval], least: float = _LEAST
) -> list[Interval]:
    out: list[Interval] = []
    for a, b in spans:
        for c, d in taken:
            if d <= a or c >= b:
                continue
            if c - a > least:
                out.append((a, c))
            a = max(a, d)
        if b - a > least:
            out.append((a, b))
    return out


def _once(curves: Iterable[Poly], under: Sequence[Curve]) -> list[Poly]:
    """Each curve once, and none that is there already."""
    seen = {_ends(c) for c in under if isinstance(c, Poly)}
    out = []
    for c in curves:
        if _ends(c) not in seen:
            seen.add(_ends(c))
            out.append(c)
    return out


def _ends(c: Poly) -> tuple[object, ...]:
    middle = c.run[len(c.run) // 2]
    ends = sorted((c.run[0], c.run[-1]))
    return tuple(round(v, 1) + 0.0 for p in (*ends, middle) for v in p)
