"""Guides for the drill: bolts and their dowels, barrels, and the screws of the rail fasteners.

Seen from above, as the plates of ``recess_plates`` are: x up the part from the
fastener's middle, y away from the fence. The holes are as wide as the drill, so that
the guide leads it; four ticks round each hole show its centre:

        +------------------------------+
        |     |         |         |    |
        |   --O--     --O--     --O--  |
        |     |         |         |    |
        |  __________________________  |     fence line
        |   x   fence, underneath   x  |
        +------------------------------+
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.angles import BARELY
from bedmodel.cuts import slot
from bedmodel.hardware import Bolt
from bedmodel.outline import Outline
from bedmodel.shop.cards import Card
from bedmodel.shop.fastener_marks import drill_words
from bedmodel.shop.fastener_places import Place, fastener_places, stem
from bedmodel.shop.jigs.fastener_seats import (
    against,
    askew_caution,
    centre_row,
    edges_to_fence,
    seats_of,
    up_words,
)
from bedmodel.shop.jigs.fence import (
    ALIKE,
    CLEAR,
    Seat,
    apart,
    board_for,
    by_part,
    fence_label,
    fence_marks,
    where_words,
)
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.sheet import SLOT, CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.units import MM_PER_INCH, LengthUnit, format_both

# A thinner guide lets the drill lean (mm). Common practice (no source).
THICK: dict[LengthUnit, float] = {"mm": 18.0, "inch": 0.75 * MM_PER_INCH}
_MARGIN = 45.0  # mm of guide round its outermost holes
_PAST_HALF = 5.0  # mm that a hole drilled from both faces is drilled past the middle
_RING = 1.5  # mm from a hole to its ticks
_TICK = 7.0
_CENTRE = 24.0

Hole = tuple[float, float, float]  # x, y, diameter (mm)

CAUTIONS = (
    "clamp guide and part to the bench; hands clear of the drill's way, also below a through hole",
    "eyes and hair guarded; stop or unplug before you change drills",
    "the guide must be as thick as its depth stops reckon with; a worn hole leads nothing: make "
    "the guide anew, or press a steel bush in",
)


def guide_jigs(layout: Layout) -> Iterator[Jig]:
    """The drilling guides that the bed's rail fasteners want."""
    places = fastener_places(layout)
    screws = [p for p in places if stem(p.cut) == "screw"]
    bolts = [p for p in places if stem(p.cut) in ("bolt", "dowel")]
    on_face = [p for p in places if stem(p.cut) in ("barrel", "face_screw")]
    if screws:
        yield _middle_guide(layout, screws, "fastener_screw_guide", "Screw hole guide")
    if bolts:
        yield _middle_guide(layout, bolts, "fastener_bolt_guide", "Bolt and dowel guide")
    if on_face:
        is_barrel = stem(on_face[0].cut) == "barrel"
        name = "fastener_barrel_guide" if is_barrel else "fastener_face_screw_guide"
        title = "Barrel hole guide" if is_barrel else "Bracket screw guide"
        yield _face_guide(layout, on_face, name, title)


@dataclass(frozen=True)
class _Guide:
    """What sets one guide apart: ``edge`` is the rail's edge at its fence, if not the inside face.

    ``fence`` says its distance in words; ``to_fence`` which face meets it, on the sheet.
    """

    name: str
    title: str
    holes: tuple[Hole, ...]
    distances: tuple[float, ...]
    seats: tuple[Seat, ...]
    fence: str
    to_fence: str
    edge: str = ""

    def label(self, distance: float) -> str:
        if self.edge:
            return f"FENCE RAIL {self.edge.upper()} {distance:.1f}"
        return fence_label(distance, self.seats)


def _middle_guide(layout: Layout, places: Sequence[Place], name: str, title: str) -> Jig:
    """Holes in one line, for leg and rail, the fence at its distance for each."""
    seats = seats_of(places)
    fences = by_part([(seat, seat.distance) for seat in seats], layout.sheet.design.unit)
    guide = _Guide(
        name,
        title,
        _unique((_x(p), 0.0, p.cut.width) for p in places),
        tuple(apart(seat.distance for seat in seats)),
        tuple(seats),
        f"from its edge to the line of holes: {fences}",
        edges_to_fence(seats),
    )
    return _jig(layout, places, guide)


def _face_guide(layout: Layout, places: Sequence[Place], name: str, title: str) -> Jig:
    """Holes in the rail's inside face, from its end.

    Where the two ends differ by less than a line's width the fence stands at the
    larger distance, and a shim at the other.
    """
    ends: tuple[str, str] = ("head", "foot")
    nearest = {end: min(p.middle for p in places if p.end == end) for end in ends}
    distance, short = max(nearest.values()), min(ends, key=lambda end: nearest[end])
    shim = distance - nearest[short]
    fence = f"from its edge to the holes next to it: {format_both(distance, _unit(layout))}"
    if shim >= BARELY:
        fence += f"; at the {short} end with a shim of {shim:.1f} mm between it and the rail's end"
    guide = _Guide(
        name,
        title,
        _unique(
            (_x(p), p.middle - nearest["head"], p.cut.width) for p in places if p.end == "head"
        ),
        (distance,),
        tuple(replace(seat, distance=distance) for seat in seats_of(places)),
        fence,
        "rail: end to the fence",
        "end",
    )
    return _jig(layout, places, guide)


def _jig(layout: Layout, places: Sequence[Place], guide: _Guide) -> Jig:
    openings = tuple(circle(hole) for hole in guide.holes)
    boxes = list(zip(*(opening.bounds() for opening in openings), strict=True))
    bounds = (min(boxes[0]), min(boxes[1]), max(boxes[2]), max(boxes[3]))
    plate = board_for(bounds, guide.distances, _MARGIN)
    marks = (
        *(tick for hole in guide.holes for tick in ticks(hole)),
        *_centre(bounds),
        *fence_marks(0.0, plate, guide.distances, guide.label),
    )
    notes = (
        guide.title,
        "this face up; fence underneath",
        guide.to_fence,
        f"{layout.sheet.show(THICK[_unit(layout)])} thick",
        "unit: millimetres, scale 1:1",
    )
    facts = tuple(
        (f"hole {i}", f"{d:.2f} mm at ({x:.3f}, {y:.3f})")
        for i, (x, y, d) in enumerate(guide.holes, start=1)
    )
    sheet = CncSheet(guide.name, guide.title, plate, openings, marks, notes, facts)
    rows = _rows(layout, places, guide)
    cautions = (*CAUTIONS, *askew_caution(layout, guide.seats))
    return Jig(sheet, Card(guide.name, guide.title, rows, cautions))


def _rows(layout: Layout, places: Sequence[Place], guide: _Guide) -> tuple[tuple[str, str], ...]:
    thick = format_both(THICK[_unit(layout)], _unit(layout))
    return (
        ("for", where_words(guide.seats)),
        ("order", _in_order(_steps(layout, places))),
        ("drills", _drills(layout, places)),
        (
            "depth",
            f"{_depths(layout, places)}; set the stop to that and the guide's {thick}; a drill "
            f"must stand {format_both(_longest(layout, places), _unit(layout))} out of its chuck",
        ),
        (
            "make",
            f"{thick} hardwood or ply, its holes bored on a drill press or by the machine, each "
            "with the drill it is to lead",
        ),
        ("fence", guide.fence),
        centre_row(layout, guide.seats),
        (
            "reference",
            f"{against(guide.seats, guide.edge)} against the fence; centre tick on the centre "
            "mark, struck from the story stick",
        ),
        ("face up", f"{up_words(guide.seats)} up, under the guide; the guide's words up"),
        (
            "left, right",
            "one guide serves all corners: turn it end for end, so that the fence still meets its "
            "face",
        ),
    )


def _unit(layout: Layout) -> LengthUnit:
    return layout.sheet.design.unit


def _x(place: Place) -> float:
    """How far up the part from the fastener's middle."""
    low, _, high, _ = place.opening.bounds()
    return (low + high) / 2


def _unique(holes: Iterable[Hole]) -> tuple[Hole, ...]:
    """Each hole once, those of both ends and both parts being alike."""
    return tuple(sorted({(round(x, 6), round(y, 6), round(d, 6)) for x, y, d in holes}))


def circle(hole: Hole) -> Outline:
    x, y, d = hole
    return slot(d, d, "round").mapped(lambda p: (p[0] + x, p[1] + y))


def ticks(hole: Hole) -> Iterator[Mark]:
    """Four short lines round a hole, on its centre lines; its drill beside the upper."""
    x, y, d = hole
    near = d / 2 + _RING
    for i, (u, v) in enumerate(((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0))):
        start, end = (
            (x + u * near, y + v * near),
            (x + u * (near + _TICK), y + v * (near + _TICK)),
        )
        yield Mark(SLOT, start, end, f"{d:.1f}" if i == 0 else "")


def _centre(bounds: tuple[float, float, float, float]) -> Iterator[Mark]:
    """The fastener's centre, above and below all holes and their ticks."""
    _, y0, _, y1 = bounds
    past = _RING + _TICK + CLEAR
    for side, y in ((1.0, y1 + past), (-1.0, y0 - past)):
        end = (0.0, y + side * (_CENTRE - past))
        yield Mark(SLOT, (0.0, y), end, "CENTRE" if side > 0 else "")


def _drills(layout: Layout, places: Sequence[Place]) -> str:
    sizes: dict[str, float] = {}
    for p in places:
        sizes.setdefault(p.name.rstrip(" 0123456789"), p.cut.width)
    told = (f"{name} {drill_words(size, _unit(layout))}" for name, size in sizes.items())
    return "; ".join(told)


def _depths(layout: Layout, places: Sequence[Place]) -> str:
    """The depth of each sort of hole in each face, by ends where they differ."""
    found: dict[str, dict[str, float]] = {}
    for p in places:
        where = f"{p.name.rstrip(' 0123456789')}, {p.part}"
        found.setdefault(where, {})[p.end] = p.depth
    told = []
    for where, by_end in found.items():
        head, foot = by_end["head"], by_end["foot"]
        if where.endswith("leg") and head > layout.sheet.leg.thickness - 1e-6:
            told.append(f"{where}: right through")
        elif abs(head - foot) < ALIKE:
            told.append(f"{where}: {format_both(head, _unit(layout))}")
        else:
            both = (f"{format_both(v, _unit(layout))} at the {end}" for end, v in by_end.items())
            told.append(f"{where}: {' and '.join(both)}")
    return "; ".join(told)


def _longest(layout: Layout, places: Sequence[Place]) -> float:
    """What a drill must stand out of its chuck to reach the deepest hole through the guide.

    A hole that goes right through is drilled half from each face.
    """
    half = (layout.sheet.leg.thickness / 2) + _PAST_HALF
    deepest = max(min(p.depth, half) if p.face == "show face" else p.depth for p in places)
    return deepest + THICK[_unit(layout)]


def _in_order(steps: Sequence[str]) -> str:
    """Steps with their numbers, where there are several."""
    if len(steps) == 1:
        return steps[0]
    return "; ".join(f"({i}) {step}" for i, step in enumerate(steps, start=1))


def _steps(layout: Layout, places: Sequence[Place]) -> tuple[str, ...]:
    """In which order the holes are drilled."""
    assert layout.fastener is not None
    row, kinds = layout.fastener.row, {stem(p.cut) for p in places}
    if "barrel" in kinds:
        return ("after the bolt hole in the rail's end, which it must meet",)
    if not isinstance(row, Bolt):
        return ("after the recess, whose floor it reaches first",)
    sunk = next(p for p in fastener_places(layout) if stem(p.cut) == "counterbore")
    wide, deep = drill_words(sunk.cut.width, _unit(layout)), format_both(sunk.depth, _unit(layout))
    return (
        "leg, show face up: mark the bolt's centre with the drill's point through the middle hole, "
        f"take the guide off, counterbore {wide}, {deep} deep, with a flat-bottomed bit",
        "put the guide on again and drill the bolt hole a little over half way",
        "leg, inside face up: the bolt hole to meet it, then the dowel holes",
        "rail ends: bolt hole and dowel holes",
    )
