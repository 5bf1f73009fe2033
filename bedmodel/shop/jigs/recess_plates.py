"""Plates that guide the router in the recesses and pockets of the rail fasteners.

Seen from above; the plate lies on the leg's inside face, on the rail's end or on its
inside face. x runs up the part from the fastener's middle, which is the centre tick,
y away from the fence. What runs out over an edge is drawn past it, so that the bit
leaves the wood before it turns; the fence behind that edge is cut into, and keeps the
edge from breaking out:

        +-------------------------------------+
        |        .------------------.         |     recess of a flange
        |        |                  |         |
        |  ______|                  |______   |     fence line: the edge it runs out over
        |        |                  |         |
        |        +------------------+         |
        |   x      fence, under the plate  x  |
        +-------------------------------------+

Recess and pockets of a slot plate have one fence and one centre, so that they fall into
each other. All is alike to both sides of the centre: one plate serves left and right.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from bedmodel.cuts import Mortise, Recess
from bedmodel.outline import Outline
from bedmodel.shop.cards import ROUTER_CAUTIONS, Card
from bedmodel.shop.fastener_places import Place, fastener_places
from bedmodel.shop.jigs.choice import Chosen, recess_cutter
from bedmodel.shop.jigs.fastener_seats import (
    against,
    askew_caution,
    centre_row,
    edges_to_fence,
    seats_of,
    up_words,
)
from bedmodel.shop.jigs.fence import (
    CLEAR,
    Seat,
    apart,
    board_for,
    by_part,
    fence_label,
    fence_marks,
    where_words,
)
from bedmodel.shop.jigs.jig import GuidedCut, Jig
from bedmodel.shop.jigs.on_hand import ALL, OnHand
from bedmodel.shop.jigs.plates import TICK, slot_ticks
from bedmodel.shop.router import (
    inside_template,
    largest_follower,
    mortise_template,
    recess_template,
)
from bedmodel.shop.sheet import SLOT, CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.units import format_both

LEAST_WEB = 4.0  # mm of plate left between two openings
_PAST = 2.0  # mm that the bit's centre runs past an edge and more
_AT_EDGE = 1e-6
_FLUSH = (
    "try the metal in it before you take the plate off: flush, or a hair below the wood, "
    "never proud"
)


def recess_jigs(layout: Layout, hand: OnHand = ALL) -> Iterator[Jig]:
    """A plate for each recess, and for the pockets, of the bed's rail fasteners.

    Raises InputError where no bit is narrow enough, naming what is so narrow.
    """
    places = fastener_places(layout)
    plates = [p for p in places if p.cut.role == "recess" and isinstance(p.cut, Mortise)]
    if plates:
        yield _recess(layout, plates, hand)
    pockets = [p for p in places if p.cut.role == "pocket"]
    if pockets:
        yield _pockets(layout, pockets, hand)
    for face in ("end", "inside face"):
        flange = [p for p in places if isinstance(p.cut, Recess) and p.face == face]
        if flange:
            yield _flange(layout, flange, hand)


# --- plates of slot and hook plates --------------------------------------------------------


def _recess(layout: Layout, places: Sequence[Place], hand: OnHand) -> Jig:
    """Slot plate in the leg and, for flat hook plates, hook plate in the rail's end."""
    cut, seats = places[0].cut, seats_of(places)
    assert isinstance(cut, Mortise)
    deepest = max(seat.depth for seat in seats)
    chosen = recess_cutter(layout.sheet, cut.width, deepest, "the plates' recess", hand)
    if cut.ends == "square":
        opening = recess_template(cut.length, cut.width, chosen.cutter)
    else:
        opening = mortise_template(cut, chosen.cutter)
    distances = apart(seat.distance for seat in seats)
    plate = board_for(opening.bounds(), distances, layout.sheet.router.router_base / 2)
    size = f"{cut.length:.1f} x {cut.width:.1f} mm"
    title = f"Fastener plate recess {size}"
    fences = fence_marks(opening.bounds()[2], plate, distances, lambda d: fence_label(d, seats))
    sheet = CncSheet(
        "fastener_recess",
        title,
        plate,
        (opening,),
        (*slot_ticks(opening, cut.length), *fences),
        _notes(f"recess {size}", chosen, edges_to_fence(seats)),
        _facts(opening, distances),
    )
    last = ["chisel the four corners square after routing"] if cut.ends == "square" else []
    order = "recess first; then the pockets in the legs, then the screw holes, by their own jigs"
    rows = _rows(layout, seats, chosen, order)
    guided = GuidedCut(opening, cut.opening, chosen.cutter, "inside")
    cautions = [*_cautions(chosen, seats), *last, _FLUSH, *askew_caution(layout, seats)]
    return Jig(sheet, Card("fastener_recess", title, rows, tuple(cautions)), (guided,))


def _pockets(layout: Layout, places: Sequence[Place], hand: OnHand) -> Jig:
    """All pockets behind one slot plate, or one of them where there is no web between."""
    cut, seats = places[0].cut, seats_of(places)
    assert isinstance(cut, Mortise)
    chosen = recess_cutter(layout.sheet, cut.width, seats[0].depth, "the pockets", hand)
    one = mortise_template(cut, chosen.cutter)
    middles = sorted({round(sum(p.opening.bounds()[::2]) / 2, 6) for p in places})
    reach = one.bounds()[2]
    webs = [b - a - 2 * reach for a, b in itertools.pairwise(middles)]
    together = all(web >= LEAST_WEB for web in webs)
    at = middles if together else [0.0]
    openings = tuple(_at(one, x) for x in at)
    bounds = (at[0] - reach, one.bounds()[1], at[-1] + reach, one.bounds()[3])
    distances = apart(seat.distance for seat in seats)
    plate = board_for(bounds, distances, layout.sheet.router.router_base / 2)
    size = f"{cut.length:.1f} x {cut.width:.1f} mm"
    count = f"{len(at)} of " if together and len(at) > 1 else ""
    title = f"Fastener pockets, {count}{size}"
    pitch = f"{middles[1] - middles[0]:.2f} mm" if len(middles) > 1 else "one alone"
    marks = (
        *_stations(bounds, at, cut.length),
        *fence_marks(bounds[2], plate, distances, lambda d: fence_label(d, seats)),
    )
    facts = (*_facts(one, distances), ("pockets apart", pitch))
    notes = _notes(f"pockets {size}", chosen, edges_to_fence(seats))
    order = "after the recess, with the same fence distance and on the same centre mark"
    if not together:
        order = (
            "after the recess, one pocket at a time: centre tick on the middle of each pocket, "
            f"{pitch} apart"
        )
    rows = _rows(layout, seats, chosen, order)
    cuts = tuple(
        GuidedCut(opening, _at(cut.opening, x), chosen.cutter, "inside")
        for opening, x in zip(openings, at, strict=True)
    )
    cautions = [
        *_cautions(chosen, seats),
        "the depth is from the leg's own face, not from the floor of the recess",
    ]
    sheet = CncSheet("fastener_pockets", title, plate, openings, marks, notes, facts)
    return Jig(sheet, Card("fastener_pockets", title, rows, tuple(cautions)), cuts)


def _at(outline: Outline, x: float) -> Outline:
    return outline.mapped(lambda p: (p[0] + x, p[1]))


# --- plates of bracket flanges -------------------------------------------------------------


def _flange(layout: Layout, places: Sequence[Place], hand: OnHand) -> Jig:
    """A flange's recess, open over the edge at which the fence stands."""
    place, seats = places[0], seats_of(places, across=False)
    assert isinstance(place.cut, Recess)
    on_end = place.face == "end"
    widest = largest_follower(place.opening, "inside")
    what = "the corners of the bracket's recess"
    chosen = recess_cutter(layout.sheet, widest, place.depth, what, hand)
    wanted = run_out(place.opening, chosen.cutter.diameter / 2 + _PAST)
    opening = inside_template(wanted, chosen.cutter)
    plate = board_for(opening.bounds(), [0.0], layout.sheet.router.router_base / 2)
    low, _, high, far = place.opening.bounds()
    size = f"{high - low:.1f} x {far:.1f} mm"
    name = "fastener_end_flange" if on_end else "fastener_face_flange"
    title = f"Bracket recess, {'end' if on_end else 'face'} flange {size}"
    edge = "inside face" if on_end else "end"
    marks = (
        *_stations(opening.bounds(), [0.0], high - low),
        *_depth_ticks(opening.bounds()[2], far),
        *fence_marks(opening.bounds()[2], plate, [0.0], lambda _: f"FENCE, RAIL {edge.upper()}"),
    )
    notes = _notes(f"recess {size}", chosen, f"{edge} of the rail to the fence")
    facts = (*_facts(opening, [0.0]), ("recess from fence", f"{far:.2f} mm"))
    rows = _rows(layout, seats, chosen, _flange_order(on_end), edge)
    cautions = [
        *_cautions(chosen, seats),
        f"the bit runs out over the {edge} and {format_both(-wanted.bounds()[1], 'mm')} into the "
        "fence: no screw in its way, and the fence tight against the wood, so that the edge does "
        "not break out",
        _FLUSH,
        *askew_caution(layout, seats),
    ]
    cut = GuidedCut(opening, wanted, chosen.cutter, "inside", _face(layout, place))
    sheet = CncSheet(name, title, plate, (opening,), marks, notes, facts)
    return Jig(sheet, Card(name, title, rows, tuple(cautions)), (cut,))


def _flange_order(on_end: bool) -> str:
    return "before the face flange's recess" if on_end else "after the end flange's recess"


def run_out(opening: Outline, by: float) -> Outline:
    """An opening, its edge at y = 0 moved so far out (mm)."""
    return opening.mapped(lambda p: (p[0], -by) if abs(p[1]) < _AT_EDGE else p)


def _face(layout: Layout, place: Place) -> Outline:
    """The face that a flange is let into, as the plate sees it; its end, or its first stretch."""
    rail, plan = layout.sheet.side_rail, layout.fastener
    assert plan is not None
    wide = rail.thickness / math.cos(layout.yaw)
    if place.face != "end":
        wide = min(layout.rail_length, place.opening.bounds()[3] + 100.0)
    low = layout.rail_bottom - plan.height
    names = ("edge", "side", "edge", "side")
    return Outline.rectangle(rail.width, wide, names).mapped(lambda p: (p[0] + low, p[1]))


# --- marks and words -----------------------------------------------------------------------


def _stations(
    bounds: tuple[float, float, float, float], at: Sequence[float], length: float
) -> Iterator[Mark]:
    """The fastener's centre, and both ends of each opening, above and below them."""
    _, y0, _, y1 = bounds
    for side, from_ in ((1.0, y1 + CLEAR), (-1.0, y0 - CLEAR)):
        yield Mark(SLOT, (0.0, from_), (0.0, from_ + side * 2 * TICK), "CENTRE" if side > 0 else "")
        for x in at:
            for end in (x - length / 2, x + length / 2):
                yield Mark(
                    SLOT, (end, from_), (end, from_ + side * TICK), "END" if side > 0 else ""
                )


def _depth_ticks(inner: float, far: float) -> Iterator[Mark]:
    """Beside the opening: how far the recess reaches from the fence."""
    for sign in (1.0, -1.0):
        ends = (sign * (inner + CLEAR), far), (sign * (inner + CLEAR + 2 * TICK), far)
        yield Mark(SLOT, *ends, "EDGE" if sign > 0 else "")


def _notes(what: str, chosen: Chosen, fence: str) -> tuple[str, ...]:
    return (
        what,
        f"bit {chosen.cutter.diameter:g} mm, {chosen.guide}",
        "this face up; fence underneath",
        fence,
        "unit: millimetres, scale 1:1",
    )


def _facts(opening: Outline, distances: Sequence[float]) -> tuple[tuple[str, str], ...]:
    x0, y0, x1, y1 = opening.bounds()
    radius = min(e.radius for e in opening.edges() if e.is_arc)
    return (
        ("opening", f"{x1 - x0:.3f} x {y1 - y0:.3f} mm, corners of radius {radius:.3f} mm"),
        ("fence to centre", ", ".join(f"{d:.2f} mm" for d in distances)),
    )


def _rows(
    layout: Layout, seats: Sequence[Seat], chosen: Chosen, order: str, edge: str = ""
) -> tuple[tuple[str, str], ...]:
    """The rows of a card; ``edge`` is that over which the recess runs out, if it does."""
    unit = layout.sheet.design.unit
    depths = by_part([(seat, seat.depth) for seat in seats], unit)
    fences = by_part([(seat, seat.distance) for seat in seats], unit)
    fence = f"from its edge to the opening's middle: {fences}"
    if edge:
        fence = f"its edge on the marked line, where the recess runs out over the rail's {edge}"
    return (
        ("for", where_words(seats)),
        ("order", order),
        ("bit", chosen.bit.label),
        ("bushing", f"{chosen.guide}, runs round the opening"),
        ("offset", f"{format_both(chosen.cutter.offset, unit)} all round"),
        ("depth", f"{depths}; each plus the plate's own thickness, measured"),
        ("fence", fence),
        centre_row(layout, seats),
        (
            "reference",
            f"{against(seats, edge)} against the fence; centre tick on the centre mark, struck "
            "from the story stick",
        ),
        ("face up", f"{up_words(seats)} up, under the plate; the plate's words up"),
        (
            "left, right",
            "one plate serves all corners: turn it end for end, so that the fence still meets "
            "its face",
        ),
    )


def _cautions(chosen: Chosen, seats: Sequence[Seat]) -> Iterator[str]:
    yield from ROUTER_CAUTIONS
    yield (
        "inside an opening, seen from above, go round clockwise; plunge in the middle, let it "
        "stop before you lift it out"
    )
    yield (
        "clamp the plate and the part so that neither can turn, with scrap beside a narrow part "
        "to carry the router; the bushing's collar must be shorter than the plate is thick"
    )
    deepest = max(seat.depth for seat in seats)
    if chosen.bit.length < deepest - 1e-6:
        yield (
            f"the bit's edges are {format_both(chosen.bit.length, 'mm')} long, less than the cut "
            "is deep: take a longer bit of this diameter"
        )
    if chosen.unconfirmed:
        yield chosen.unconfirmed
