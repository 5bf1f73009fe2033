"""Work out the template that a guided router follows to leave a wanted outline.

Words used here:

guide        what runs along the template: a bushing in the router's base, or a
             bearing on the bit
offset       how far the cut lies from the template's edge: (guide - bit) / 2

                 template | guide runs here
              -----------+|
                         || o |            o = (OD - d) / 2
              ===========++---+ cut edge

inside cut   the outline is an opening cut out of the wood: a mortise, a recess.
             The template is an opening too, larger by o all round.
outside cut  the outline is the part that stays. The template is a solid one,
             smaller by o all round.
inside corner    one the cutter must reach into; it never comes out sharper than
                 the bit
outside corner   one the cutter goes round; with o > 0 the bushing rolls round the
                 template's corner and leaves at least radius o

A template keeps lines as lines, arcs as arcs and every edge's name. Corners are
mitred, which changes nothing in the wood: the guide does not enter a sharp inside
corner of the template, and rolls round a sharp outside one.

Source: the geometry of a circle rolling along an outline; the offset itself is the
trade's common rule.
"""

from __future__ import annotations

import math
from typing import Literal

from bedmodel.cuts import Mortise
from bedmodel.cutters import Cutter, round_down
from bedmodel.errors import InputError
from bedmodel.outline import Edge, Outline, Point

Side = Literal["inside", "outside"]

_SAME = 1e-6  # mm; points closer than this are one
_NEAR = 1e-3  # mm; where two tangent edges meet, rounding may cross them this close by
_FLAT = 1e-5  # bulge; over a length of 1 m the arc stands 0.005 mm off its chord
_LONGEST_MITRE = 4.0  # times the offset; a thinner corner is rounded instead


# --- templates ----------------------------------------------------------------------------


def inside_template(opening: Outline, cutter: Cutter) -> Outline:
    """The opening of the template that guides the cutter round an opening in the wood.

    Raises InputError where the bit is too large for a curve, or the guide leaves no
    such template, with the largest that would do. Whether the cutter passes every
    neck is told by ``simulate``.
    """
    return _template(opening, cutter, "inside")


def outside_template(part: Outline, cutter: Cutter) -> Outline:
    """The template that guides the cutter round the outside of a part; see ``inside_template``."""
    return _template(part, cutter, "outside")


def hollow_sign(side: Side) -> int:
    """The sign of the turn, and of the bulge, that the cutter meets as hollow."""
    return 1 if side == "inside" else -1


def largest_follower(outline: Outline, side: Side) -> float:
    """The largest circle that follows every hollow arc of an outline (mm); infinite without one."""
    return min((2 * arc.radius for arc in _hollow_arcs(outline, side)), default=math.inf)


def check_follows(outline: Outline, diameter: float, side: Side, what: str = "bit") -> None:
    """Raise InputError, with the largest that would do, where a hollow arc is too tight.

    The bit is asked about the wanted outline, the guide about the template's.
    """
    largest = largest_follower(outline, side)
    if diameter > largest + _SAME:
        tight = min(_hollow_arcs(outline, side), key=lambda arc: arc.radius)
        raise InputError(
            what,
            f"{diameter:g} mm",
            f"does not follow the curve {tight.name}, the largest {what} that would do is "
            f"{round_down(largest)} mm",
        )


def _hollow_arcs(outline: Outline, side: Side) -> list[Edge]:
    return [e for e in outline.edges() if e.is_arc and e.bulge * hollow_sign(side) > 0]


def mortise_template(mortise: Mortise, cutter: Cutter) -> Outline:
    """The template's opening for a slot with round ends, centred on the slot, x along it.

    Raises InputError for a bit wider than the slot.
    """
    width = min(mortise.width, mortise.length)
    _check_room(width, cutter)
    return _slot(mortise.length, mortise.width, width / 2, cutter.offset)


def recess_template(length: float, width: float, cutter: Cutter) -> Outline:
    """The template's opening for a rectangular recess with corners of the bit's radius.

    Centred on the recess, ``length`` along x. Raises InputError for a bit wider
    than the recess.
    """
    _check_room(min(length, width), cutter)
    return _slot(length, width, cutter.diameter / 2, cutter.offset)


def _check_room(width: float, cutter: Cutter) -> None:
    if cutter.diameter > width + _SAME:
        raise InputError(
            "bit",
            f"{cutter.diameter:g} mm",
            f"does not fit, the largest bit that would do is {round_down(width)} mm",
        )


def _slot(length: float, width: float, radius: float, by: float) -> Outline:
    """A rectangle with round corners, moved outward, its centre at the origin."""
    x, y, r = length / 2 + by, width / 2 + by, radius + by
    quarter = math.tan(math.pi / 8)
    return Outline.of(
        [
            ((-x + r, -y), 0.0, "side"),
            ((x - r, -y), quarter, "corner"),
            ((x, -y + r), 0.0, "end"),
            ((x, y - r), quarter, "corner"),
            ((x - r, y), 0.0, "side"),
            ((-x + r, y), quarter, "corner"),
            ((-x, y - r), 0.0, "end"),
            ((-x, -y + r), quarter, "corner"),
        ]
    )


def _template(outline: Outline, cutter: Cutter, side: Side) -> Outline:
    check_follows(outline, cutter.diameter, side)
    by = hollow_sign(side) * cutter.offset
    try:
        return _moved(outline, by)
    except _Lost as why:
        raise InputError("cutter", cutter, str(why), _other_guide(outline, cutter, by)) from None


def _other_guide(outline: Outline, cutter: Cutter, by: float) -> str:
    most = 2 * _largest_offset(outline, by)
    if cutter.offset < 0:
        return f"the bearing may be smaller than the bit by at most {round_down(most)} mm"
    if most < _NEAR:
        return "take a bit with a bearing of its own size"
    guide = round_down(cutter.diameter + most)
    return f"the largest {cutter.style} that would do with this bit is {guide} mm"


# --- moving an outline --------------------------------------------------------------------


class _Lost(ValueError):
    """The moved outline has lost an edge, or crosses itself."""


def offset(outline: Outline, by: float) -> Outline:
    """Move every edge square to itself, outward by ``by`` (mm), inward when negative.

    Lines stay lines and arcs arcs of the same centre, with their names; corners are
    mitred, very thin ones rounded by an arc with the name of the edge before. Raises
    InputError, with the largest offset that would do, where an edge would vanish or
    the outline would cross itself.
    """
    try:
        return _moved(outline, by)
    except _Lost as why:
        most = round_down(_largest_offset(outline, by))
        remedy = f"the largest that would do is {most} mm"
        raise InputError("offset", f"{by:g} mm", str(why), remedy) from None


def _largest_offset(outline: Outline, by: float) -> float:
    """The largest offset below ``by``, of its sign, that loses nothing (mm); halves the way."""
    low, high = 0.0, abs(by)
    while high - low > 1e-5:
        middle = (low + high) / 2
        try:
            _moved(outline, math.copysign(middle, by))
        except _Lost:
            high = middle
        else:
            low = middle
    return low


def _moved(outline: Outline, by: float) -> Outline:
    if by == 0:
        return outline
    old = list(outline.edges())
    kept = [(edge, raw) for edge in old if (raw := _shifted(edge, by)) is not None]
    ends = [_join(*kept[i - 1], *pair, by) for i, pair in enumerate(kept)]
    steps: list[tuple[Point, float, str]] = []
    for i, (_, raw) in enumerate(kept):
        (finish, start), name = ends[i], kept[i - 1][0].name
        if finish != start:
            steps.append((finish, math.tan(turn_between(kept[i - 1][0], kept[i][0]) / 4), name))
        bulge = _new_bulge(raw, start, ends[(i + 1) % len(kept)][0])
        steps.append((start, bulge, raw.name))
    apart = [a for a, b in zip(steps, steps[1:] + steps[:1], strict=True) if not _same(a[0], b[0])]
    if len(apart) < 2:
        raise _Lost("nothing would be left of the outline")
    new = Outline(*(tuple(column) for column in zip(*apart, strict=True)))
    if new.area <= 0 or (new.area - outline.area) * by < 0 or crosses_itself(new):
        raise _Lost("the moved outline would cross itself")
    return new


def _shifted(edge: Edge, by: float) -> Edge | None:
    """The edge moved outward, not yet joined to its neighbours; None for an arc shrunk to a point.

    Outward is to the right of an outline that runs anticlockwise.
    """
    if not _bent(edge):
        x = by * (edge.end[1] - edge.start[1]) / edge.chord
        y = -by * (edge.end[0] - edge.start[0]) / edge.chord
        (x0, y0), (x1, y1) = edge.start, edge.end
        return Edge((x0 + x, y0 + y), (x1 + x, y1 + y), edge.bulge, edge.name)
    radius = edge.radius + (by if edge.bulge > 0 else -by)
    if radius < -_SAME:
        raise _Lost(f"the arc {edge.name} has a radius of only {edge.radius:.2f} mm")
    if radius < _SAME:
        return None
    (cx, cy), k = edge.centre, radius / edge.radius
    start, end = ((cx + k * (x - cx), cy + k * (y - cy)) for x, y in (edge.start, edge.end))
    return Edge(start, end, edge.bulge, edge.name)


def _join(before: Edge, raw_before: Edge, after: Edge, raw: Edge, by: float) -> tuple[Point, Point]:
    """Where one moved edge ends and the next begins: one point, or two with an arc between."""
    if _same(raw_before.end, raw.start):
        return raw.start, raw.start
    corner = after.start
    meet = min(_crossings(raw_before, raw), key=lambda p: math.dist(p, corner), default=None)
    if turn_between(before, after) * by < 0:
        if meet is None:
            raise _Lost(f"{before.name} and {after.name} would no longer meet")
        return meet, meet
    if meet is None or math.dist(meet, corner) > _LONGEST_MITRE * abs(by):
        return raw_before.end, raw.start
    return meet, meet


def meeting(before: Edge, after: Edge, by: float) -> Point | None:
    """Where two edges that follow one another meet once moved outward; None if they do not."""
    try:
        raw_before, raw = _shifted(before, by), _shifted(after, by)
    except _Lost:
        return None
    if raw_before is None or raw is None:
        return None
    return min(_crossings(raw_before, raw), key=lambda p: math.dist(p, after.start), default=None)


def _new_bulge(raw: Edge, start: Point, end: Point) -> float:
    """The bulge of a moved edge once it is lengthened or cut back to new ends."""
    if not _bent(raw):
        way = (raw.end[0] - raw.start[0]) * (end[0] - start[0])
        way += (raw.end[1] - raw.start[1]) * (end[1] - start[1])
        if way < 0 and not _same(start, end):
            raise _Lost(f"the edge {raw.name} is only {raw.chord:.2f} mm long")
        return raw.bulge
    gain = _angle(raw, end) - _angle(raw, raw.end) - _angle(raw, start) + _angle(raw, raw.start)
    sweep = raw.sweep + math.remainder(gain, math.tau)
    if sweep * raw.sweep < 0 and not _same(start, end):
        raise _Lost(f"the edge {raw.name} is only {raw.length:.2f} mm long")
    return math.tan(sweep / 4)


def crosses_itself(outline: Outline) -> bool:
    """Say whether two edges of an outline touch anywhere but where they follow one another."""
    edges = list(outline.edges())
    for i, a in enumerate(edges):
        for b in edges[i + 1 :]:
            joints = [p for p in (a.start, a.end) for q in (b.start, b.end) if _same(p, q)]
            for p in _crossings(a, b):
                beside = any(math.dist(p, joint) < _NEAR for joint in joints)
                if not beside and _on(a, p) and _on(b, p):
                    return True
    return False


def _crossings(a: Edge, b: Edge) -> list[Point]:
    """Where the whole lines or circles that two edges lie on meet."""
    if _bent(a) and _bent(b):
        return _line_and_circle(*_chord_of(a, b), a) if math.dist(a.centre, b.centre) > 1e-9 else []
    if _bent(a) or _bent(b):
        line, arc = (b, a) if _bent(a) else (a, b)
        return _line_and_circle(line.start, direction(line), arc)
    (ux, uy), (vx, vy) = direction(a), direction(b)
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-12:
        return []
    t = ((b.start[0] - a.start[0]) * vy - (b.start[1] - a.start[1]) * vx) / cross
    return [(a.start[0] + t * ux, a.start[1] + t * uy)]


def _chord_of(a: Edge, b: Edge) -> tuple[Point, Point]:
    """A point and the direction of the line through the crossings of two circles."""
    (ax, ay), (bx, by) = a.centre, b.centre
    apart = math.dist(a.centre, b.centre)
    ux, uy = (bx - ax) / apart, (by - ay) / apart
    t = (apart**2 + a.radius**2 - b.radius**2) / (2 * apart)
    return (ax + t * ux, ay + t * uy), (-uy, ux)


def _line_and_circle(point: Point, direction: Point, arc: Edge) -> list[Point]:
    (ux, uy), (cx, cy) = direction, arc.centre
    along = (cx - point[0]) * ux + (cy - point[1]) * uy
    foot = (point[0] + along * ux, point[1] + along * uy)
    half = arc.radius**2 - math.dist(foot, arc.centre) ** 2
    if half < -1e-9 * arc.radius:
        return []
    t = math.sqrt(max(0.0, half))
    return [(foot[0] - t * ux, foot[1] - t * uy), (foot[0] + t * ux, foot[1] + t * uy)]


def _on(edge: Edge, p: Point) -> bool:
    """Whether a point of an edge's whole line or circle lies on the edge itself."""
    if _same(p, edge.start) or _same(p, edge.end):
        return True
    if _bent(edge):
        turn = (_angle(edge, p) - _angle(edge, edge.start)) * math.copysign(1.0, edge.bulge)
        return turn % math.tau < abs(edge.sweep)
    u = direction(edge)
    along = (p[0] - edge.start[0]) * u[0] + (p[1] - edge.start[1]) * u[1]
    return 0 < along < edge.chord


def _bent(edge: Edge) -> bool:
    """Whether an edge is handled as an arc; a flatter one loses too many digits in its radius."""
    return abs(edge.bulge) > _FLAT


def _angle(arc: Edge, p: Point) -> float:
    return math.atan2(p[1] - arc.centre[1], p[0] - arc.centre[0])


def direction(edge: Edge) -> Point:
    return (
        (edge.end[0] - edge.start[0]) / edge.chord,
        (edge.end[1] - edge.start[1]) / edge.chord,
    )


def turn_between(before: Edge, after: Edge) -> float:
    """How far the outline turns where two edges meet (radians), positive to the left."""
    (ux, uy), (vx, vy) = direction(before), direction(after)
    chords = math.atan2(uy, ux) + before.sweep / 2, math.atan2(vy, vx) - after.sweep / 2
    return math.remainder(chords[1] - chords[0], math.tau)


def _same(p: Point, q: Point) -> bool:
    return math.dist(p, q) < _SAME
