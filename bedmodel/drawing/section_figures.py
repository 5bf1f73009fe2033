"""Sections of a part: where it is cut, what that shows, and how deep each feature is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from bedmodel.cuts import Boss
from bedmodel.drawing.curves import Curve, Line, bounds_of
from bedmodel.drawing.dims import linear
from bedmodel.drawing.directions import Look, Side
from bedmodel.drawing.features import Feature, Place, from_face, surface
from bedmodel.drawing.figure import Figure, Hatch, Measure, Stroke
from bedmodel.drawing.labels import Ink, set_label
from bedmodel.drawing.subject import Subject
from bedmodel.exports.paper.sheet import Box, Text
from bedmodel.frames import Frame, Vector, dot, scale

CODE_SIZE = 7.5
STEP = 6.0  # mm from one dimension line to the next
_STRAIGHT = 0.9992  # cosine; at less a depth of 60 mm would be measured 0.05 mm off
_APART = 0.05  # share of the length between two sections


@dataclass(frozen=True)
class Cutting:
    """A plane in which a part is shown cut: its letter, where, and which features it meets.

    Across the part at ``at`` along it, or lengthways through its first end at ``at``
    through its thickness.
    """

    letter: str
    lengthways: bool
    at: float
    meets: tuple[tuple[Feature, Place], ...]


def cuttings(subject: Subject, most: int = 4) -> list[Cutting]:
    """The sections that show how deep each feature is: as few as meet one of every kind.

    Features that differ in length only are alike in their section, so one is enough.
    """
    found: list[Cutting] = []
    left = list(_wanted(subject))
    while left and len(found) < most:
        best: tuple[bool, float, list[tuple[Feature, Place]]] | None = None
        best_apart = False
        for feature in left:
            lengthways = feature.side in ("left", "right")
            axis = subject.front.toward if lengthways else subject.front.right
            for place in feature.places[:4]:
                at = dot(place.centre, axis)
                meets = [
                    (other, hit)
                    for other in left
                    if (other.side in ("left", "right")) == lengthways
                    and (hit := next((p for p in other.places if _meets(p, axis, at)), None))
                ]
                apart = _far_from(found, lengthways, at, subject)
                if best is None or (len(meets), apart) > (len(best[2]), best_apart):
                    best, best_apart = (lengthways, at, meets), apart
        assert best is not None
        found.append(Cutting("ABCDEFGH"[len(found)], *best[:2], tuple(best[2])))
        left = [f for f in left if all(f is not met for met, _ in best[2])]
    return found


def _far_from(found: Sequence[Cutting], lengthways: bool, at: float, subject: Subject) -> bool:
    """True when a plane is so far from the others that their letters have room."""
    low, high = subject.span(subject.front.right)
    least = _APART * (high - low)
    return all(abs(c.at - at) > least for c in found if c.lengthways == lengthways)


def _wanted(subject: Subject) -> Iterator[Feature]:
    seen = set()
    for feature in subject.features:
        if subject.kind.is_metal or feature.what.startswith("tenon"):
            continue
        if feature.side == "right" and ends_alike(subject):
            continue
        if section_key(feature) not in seen:
            seen.add(section_key(feature))
            yield feature


def section_key(feature: Feature) -> tuple[object, ...]:
    """Equal for features that look alike in their sections."""
    place = feature.first
    side = "end" if feature.side in ("left", "right") else feature.side
    item = place.item
    role = "tenon" if isinstance(item, Boss) else item.role
    return side, role, round(min(place.spans), 2), round(place.depth, 2)


def is_straight(place: Place, look: Look) -> bool:
    """Whether a cut runs along one of a view's axes, so that its depth can be dimensioned there.

    Of one that slants, as in a raked rail's end, the table tells the depth.
    """
    return max(abs(dot(place.outward, look.right)), abs(dot(place.outward, look.up))) > _STRAIGHT


def section_look(subject: Subject, cutting: Cutting) -> Look:
    """How a section is looked at."""
    return subject.front if cutting.lengthways else subject.front.seen_from("left")


def _meets(place: Place, axis: Vector, at: float) -> bool:
    along = [dot(p, axis) for p in place.corners()]
    low, high = min(along), max(along)
    room = 0.12 * (high - low)
    return low + room < at < high - room


def ends_alike(subject: Subject) -> bool:
    """True when both ends carry the same features at the same places across the part."""
    look = subject.front

    def row(side: Side) -> list[tuple[object, ...]]:
        rows: list[tuple[object, ...]] = []
        for feature in subject.on(side):
            for p in feature.places:
                across = round(dot(p.centre, look.up), 1), round(dot(p.centre, look.toward), 1)
                rows.append((feature.what, *across, round(p.depth, 2), *map(_r2, p.spans)))
        return sorted(rows, key=repr)

    return bool(row("left")) and row("left") == row("right")


def _r2(value: float) -> float:
    return round(value, 2)


def section_figure(subject: Subject, cutting: Cutting, size: float, reach: float) -> Figure:
    """The cut face of a section at 1:``size``, with the depths of what it meets.

    A lengthways section shows ``reach`` mm of the part from its first end.
    """
    front = subject.front
    look = front if cutting.lengthways else front.seen_from("left")
    origin = scale(look.toward, cutting.at if cutting.lengthways else -cutting.at)
    frame = Frame(origin, look.right, look.up, look.toward)
    x_low, x_high = subject.span(look.right)
    y_low, y_high = subject.span(look.up)
    broken = cutting.lengthways and x_low + reach < x_high - 1.0
    end = x_low + reach if broken else x_high + 1.0
    faces = subject.cut_faces(frame, (x_low - 1.0, y_low - 1.0, end, y_high + 1.0))
    strokes: list[Stroke] = []
    hatches: list[Hatch] = []
    for face in faces:
        for curve in face.curves:
            ink = "thin" if broken and _on_break(curve, end) else "visible"
            strokes.append(Stroke(ink, curve.placed((0.0, 0.0), 1 / size)))  # type: ignore[arg-type]
        rings = tuple(tuple((x / size, y / size) for x, y in ring) for ring in face.rings)
        hatches.append(Hatch(rings, 45.0))
    if not strokes:
        raise ValueError(f"{subject.kind.name}: section {cutting.letter} meets no wood")
    body = Box(*bounds_of([s.curve for s in strokes]))
    letter = cutting.letter
    figure = Figure(f"{letter}\u2013{letter}", size, body, tuple(strokes), hatches=tuple(hatches))
    figure = _with_depths(figure, subject, cutting, look)
    return _with_codes_inside(figure, cutting, look)


def _on_break(curve: Curve, end: float) -> bool:
    return isinstance(curve, Line) and all(abs(x - end) < 1e-3 for x, _ in curve.points())


def _with_depths(figure: Figure, subject: Subject, cutting: Cutting, look: Look) -> Figure:
    """The depth of each feature, on a line of its own beside the cut face.

    The least deep stands nearest, unless the lines of the others would cross its text.
    """
    order = sorted(cutting.meets, key=lambda meet: meet[1].depth)
    ink = Ink.of(figure)
    tries = (
        _in_lanes(figure, ink.copy(), subject, meets, look, sides)
        for sides in ((False, True), (True, False))
        for meets in (order, order[::-1])
    )
    best, least = figure, math.inf
    for tried in tries:
        crossed = _crossed(tried)
        if crossed < least:
            best, least = tried, crossed
        if not crossed:
            break
    return best


def _crossed(figure: Figure) -> int:
    """How many texts of a figure have lines through them."""
    ink = Ink()
    for line in figure.lines:
        ink.add_curve(line.curve)
    return sum(next(ink.crossing(text.box), None) is not None for text in figure.texts)


def _in_lanes(
    figure: Figure,
    ink: Ink,
    subject: Subject,
    meets: Sequence[tuple[Feature, Place]],
    look: Look,
    sides: tuple[bool, bool],
) -> Figure:
    body, n = figure.body, figure.scale
    lanes = {"left": body.x0, "right": body.x1, "top": body.y1, "bottom": body.y0}
    for feature, place in meets:
        out = place.outward
        across = (dot(out, look.right), dot(out, look.up))
        level = surface(place, subject.places)
        depth = from_face(place, subject.places)
        if not isinstance(place.item, Boss) and place.item.through:
            continue
        if not is_straight(place, look):
            continue
        text, name = subject.text(depth), f"{feature.code} depth"
        flat = [look.flat(p) for p in place.corners()]
        if abs(across[1]) > 0.9:  # it opens upwards or downwards
            top = level * across[1] / n
            bottom = top - depth * across[1] / n
            middle = sum(x for x, _ in flat) / len(flat) / n
            side = "right" if middle > (body.x0 + body.x1) / 2 else "left"
            edge = max(x for x, _ in flat) if side == "right" else min(x for x, _ in flat)
            step = STEP if side == "right" else -STEP
            make = partial(linear, (edge / n, top), (edge / n, bottom))
            measure, lanes[side] = _clear(
                ink, make, lanes[side], step, "y", (depth, text, name), sides
            )
        else:
            start = level * across[0] / n
            stop = start - depth * across[0] / n
            middle = sum(y for _, y in flat) / len(flat) / n
            side = "top" if middle > (body.y0 + body.y1) / 2 - 0.01 else "bottom"
            edge = max(y for _, y in flat) if side == "top" else min(y for _, y in flat)
            step = STEP if side == "top" else -STEP
            make = partial(linear, (start, edge / n), (stop, edge / n))
            measure, lanes[side] = _clear(
                ink, make, lanes[side], step, "x", (depth, text, name), sides
            )
        figure = figure.adding(measures=[measure])
        ink.add_measure(measure)
    return figure


def _clear(
    ink: Ink,
    make: Callable[..., Measure],
    lane: float,
    step: float,
    axis: str,
    said: tuple[float, str, str],
    sides: tuple[bool, bool],
) -> tuple[Measure, float]:
    """A dimension on the next lane where no text is crossed, and that lane.

    ``sides`` says whether a text without room is tried before or behind its dimension first.
    """
    for k in (1, 2, 3):
        for before in sides:
            measure = make(lane + k * step, axis, *said, before=before)
            if ink.is_free(measure.text.box) and ink.leaves_words(measure.strokes):
                return measure, lane + k * step
    return make(lane + step, axis, *said), lane + step


def _with_codes_inside(figure: Figure, cutting: Cutting, look: Look) -> Figure:
    ink = Ink.of(figure)
    words: list[Text] = []
    lines: list[Stroke] = []
    middles = []
    for _, place in cutting.meets:
        flat = [look.flat(p) for p in place.corners()]
        deep = look.flat(scale(place.item.frame.z, place.depth / 2))
        x = (sum(p[0] for p in flat) / 4 + deep[0]) / figure.scale
        y = (sum(p[1] for p in flat) / 4 + deep[1]) / figure.scale
        middles.append((x, y))
    for (feature, _), at in zip(cutting.meets, middles, strict=True):
        word, lead = set_label(
            ink,
            at,
            feature.code,
            CODE_SIZE,
            bold=True,
            least=0.0,
            prefer_deg=-45,
            avoid=middles,
        )
        words.append(word)
        lines += lead
    return figure.adding(words=words, strokes=lines)
