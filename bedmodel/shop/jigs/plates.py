"""Plates that guide the router in the mortises, one for each size of mortise.

Seen from above; the plate lies on the joint face or on the board's end, the router on it:

        +-------------------------------------+
        |                  |                  |     half the router's base all round
        |          |  .----------.  |         |     the slot
        |         ----(    +     )----        |     slot: the mortise and the offset
        |          |  '----------'  |         |     ticks: centre and ends of the mortise
        |  ________________|_________________ |
        |   x      fence, under the plate  x  |     the part's inside face lies against it
        +-------------------------------------+

The fence stands at the distance from the part's inside face to the middle of the
mortise's width. The slot is alike to both sides of its centre, so one plate serves
left and right: turn the part, never the plate.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bedmodel.frames import Frame
from bedmodel.joints import board_name
from bedmodel.outline import Outline
from bedmodel.shape import Mortise, SlotEnds
from bedmodel.shop.cards import ROUTER_CAUTIONS, Card
from bedmodel.shop.jigs.choice import Chosen, mortise_cutter
from bedmodel.shop.jigs.jig import GuidedCut, Jig
from bedmodel.shop.router import mortise_template, recess_template
from bedmodel.shop.sheet import FENCE, SCREW, SLOT, CncSheet, Mark, cross
from bedmodel.skeleton import Layout
from bedmodel.tenons import TenonPlan
from bedmodel.units import LengthUnit, format_both

_CLEAR = 3.0  # mm from the slot to a mark
_TICK = 14.0  # mm
_FENCE_WIDE = 36.0  # mm
_EDGE = 6.0  # mm from the plate's edge to a mark
_ALIKE = 0.01  # mm; lengths this close are one
_STEP = 5.0  # mm; plates are whole steps


MortiseSize = tuple[float, float, SlotEnds]  # length and width (mm), and its ends


@dataclass(frozen=True)
class Seat:
    """Mortises cut with one plate in one setting: in which parts, how deep, how far in (mm).

    ``distance`` is from the part's inside face to the middle of the mortise's width.
    """

    part: str
    where: str
    count: int
    distance: float
    depth: float


def mortise_seats(layout: Layout) -> dict[MortiseSize, list[Seat]]:
    """The mortises of the bed by size, legs and board ends, both hands; not holes for dowels."""
    found: dict[MortiseSize, list[Seat]] = {}
    for end in layout.ends:
        for board in end.boards:
            plan = board.tenons
            if plan.is_dowel:
                continue
            name = board_name(end, board).replace("_", " ")
            gap = plan.end_gap
            leg_depth, board_depth = plan.embedment_leg + gap, plan.embedment_board + gap
            for setback in plan.setbacks:
                for length, count in _leg_lengths(plan).items():
                    seat = Seat("leg", f"{end.end} legs at {name}", count, setback, leg_depth)
                    found.setdefault(_size(plan, length), []).append(seat)
                for groove in plan.haunches:
                    length, depth = groove.groove_high - groove.groove_low, plan.haunch + gap
                    seat = Seat("leg", f"{end.end} legs, haunch at {name}", 2, setback, depth)
                    found.setdefault(_size(plan, length), []).append(seat)
                if plan.integral:
                    continue
                # A board's inside face stands back from the legs' by the reveal.
                distance, count = setback - end.reveal, 2 * len(plan.heights)
                seat = Seat("board", f"ends of {name}", count, distance, board_depth)
                found.setdefault(_size(plan, plan.mortise_length), []).append(seat)
    return found


def _leg_lengths(plan: TenonPlan) -> dict[float, int]:
    """Lengths of the mortises in both legs, and how many of each; dry ones are longer."""
    lengths = [round(plan.mortise_length + 2 * plan.slack_at(h), 4) for h in plan.heights]
    return {length: 2 * lengths.count(length) for length in lengths}


def _size(plan: TenonPlan, length: float) -> MortiseSize:
    return round(length, 4), round(plan.mortise_width, 4), plan.ends


def plate_jigs(layout: Layout) -> Iterator[Jig]:
    """A plate for each size of mortise. Raises InputError for cutters that do not fit."""
    sizes = mortise_seats(layout)
    for number, (size, seats) in enumerate(sizes.items(), start=1):
        name = "mortise_plate" if len(sizes) == 1 else f"mortise_plate_{number}"
        yield _plate(layout, name, size, seats)


def _plate(layout: Layout, name: str, mortise_size: MortiseSize, seats: list[Seat]) -> Jig:
    length, width, ends = mortise_size
    deepest = max(seat.depth for seat in seats)
    chosen = mortise_cutter(layout.sheet, width, deepest)
    mortise = Mortise(name, Frame(), length, width, deepest, ends)
    if ends == "square":  # the bit leaves its own radius in the corners, for the chisel
        slot = recess_template(length, width, chosen.cutter)
    else:
        slot = mortise_template(mortise, chosen.cutter)
    distances = _apart(seat.distance for seat in seats)
    plate = _outline(slot, distances, layout.sheet.router.router_base)
    size = f"{length:.1f} x {width:.2f} mm"
    notes = (
        f"mortise {size}",
        f"bit {chosen.cutter.diameter:g} mm, {chosen.guide}",
        "this face up; fence underneath",
        "inside face to the fence",
        "unit: millimetres, scale 1:1",
    )
    marks = (*_ticks(slot, length), *_fences(slot, plate, distances, seats))
    title = f"Mortise plate {size}"
    facts = (
        (
            "slot",
            f"{length + 2 * chosen.cutter.offset:.3f} x "
            f"{width + 2 * chosen.cutter.offset:.3f} mm, corners of radius "
            f"{max(e.radius for e in slot.edges() if e.is_arc):.3f} mm",
        ),
        ("fence to centre", ", ".join(f"{d:.2f} mm" for d in distances)),
    )
    sheet = CncSheet(name, title, plate, (slot,), marks, notes, facts)
    return Jig(
        sheet,
        _card(layout, name, title, seats, chosen, ends),
        GuidedCut(slot, mortise.opening, chosen.cutter, "inside"),
    )


def _outline(slot: Outline, distances: list[float], base: float) -> Outline:
    """The plate: half a router's base beyond the slot all round, and room for the fence."""
    _, _, x, y = slot.bounds()
    right, top = _up(x + base / 2), _up(y + base / 2)
    bottom = max(top, _up(distances[-1] + _FENCE_WIDE + _EDGE))
    corners = [(-right, -bottom), (right, -bottom), (right, top), (-right, top)]
    names = ["fence side", "end", "side", "end"]
    return Outline.of([(p, 0.0, n) for p, n in zip(corners, names, strict=True)])


def _up(length: float) -> float:
    return math.ceil(length / _STEP - 1e-9) * _STEP


def _ticks(slot: Outline, length: float) -> Iterator[Mark]:
    """Beside the slot: its centre and both ends of the mortise; beyond its ends: its middle."""
    _, _, x, y = slot.bounds()
    for sign in (1.0, -1.0):
        near, far = sign * (y + _CLEAR), sign * (y + _CLEAR + _TICK)
        words = ("CENTRE", "END") if sign > 0 else ("", "")
        yield Mark(SLOT, (0.0, near), (0.0, sign * (y + _CLEAR + 2 * _TICK)), words[0])
        for end in (-length / 2, length / 2):
            yield Mark(SLOT, (end, near), (end, far), words[1])
        yield Mark(SLOT, (sign * (x + _CLEAR), 0.0), (sign * (x + _CLEAR + 2 * _TICK), 0.0))


def _fences(
    slot: Outline, plate: Outline, distances: list[float], seats: list[Seat]
) -> Iterator[Mark]:
    """The fence's edge for each distance, broken at the slot and its ticks, and its screws."""
    _, _, inner, _ = slot.bounds()
    _, _, right, _ = plate.bounds()
    start = inner + 2 * _CLEAR
    for i, distance in enumerate(distances):
        for sign in (1.0, -1.0):
            label = _fence_label(distance, seats) if (sign > 0) == (i % 2 == 0) else ""
            ends = (sign * start, -distance), (sign * (right - _EDGE), -distance)
            yield Mark(FENCE, *ends, label)
            # Each fence has its own holes, so that they do not run into one another.
            across = sign * (right - 2 * _EDGE - 18.0 * i)
            yield from cross(SCREW, (across, -distance - _FENCE_WIDE / 2))


def _fence_label(distance: float, seats: list[Seat]) -> str:
    parts = {s.part for s in seats if abs(s.distance - distance) < _ALIKE}
    return f"FENCE {'BOTH' if len(parts) > 1 else parts.pop().upper()} {distance:.1f}"


def _card(
    layout: Layout, name: str, title: str, seats: list[Seat], chosen: Chosen, ends: SlotEnds
) -> Card:
    unit = layout.sheet.design.unit
    deepest = max(seat.depth for seat in seats)
    depths = _by_part([(seat, seat.depth) for seat in seats], unit)
    fences = _by_part([(seat, seat.distance) for seat in seats], unit)
    cautions = [
        *ROUTER_CAUTIONS,
        "inside a slot, seen from above, go round clockwise; plunge in the middle, let it stop "
        "before you lift it out",
        "clamp the plate and the part so that neither can turn; the bushing's collar must be "
        "shorter than the plate is thick",
    ]
    if chosen.bit.length < deepest - 1e-6:
        cautions.append(
            f"the bit's edges are {format_both(chosen.bit.length, unit)} long, less than the "
            "mortise is deep: take a longer bit of this diameter"
        )
    if ends == "square":
        cautions.append("chisel the four corners square after routing")
    if chosen.unconfirmed:
        cautions.append(chosen.unconfirmed)
    rows = (
        ("for", "; ".join(f"{where} ({count} off)" for where, count in _counts(seats).items())),
        ("bit", chosen.bit.label),
        ("bushing", f"{chosen.guide}, runs round the slot"),
        ("offset", f"{format_both(chosen.cutter.offset, unit)} all round"),
        ("depth", f"{depths}; each plus the plate's own thickness, measured"),
        ("fence", f"from the inside face to the slot's middle: {fences}"),
        (
            "reference",
            "the inside face (towards the mattress) of leg and board lies against the fence; "
            "centre tick on the mortise's centre mark",
        ),
        (
            "face up",
            "joint face of the leg, or the board's end, up under the plate; the plate's words up",
        ),
        (
            "left, right",
            "one plate serves both: turn the part end for end, so that its inside face still meets "
            "the fence",
        ),
    )
    return Card(name, title, rows, tuple(cautions))


def _apart(lengths: Iterable[float]) -> list[float]:
    """The different lengths, from the least up; those that no rule tells apart are one."""
    found: list[float] = []
    for length in sorted(lengths):
        if not found or length - found[-1] > _ALIKE:
            found.append(length)
    return found


def _counts(seats: list[Seat]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for seat in seats:
        counts[seat.where] = counts.get(seat.where, 0) + seat.count
    return counts


def _by_part(values: list[tuple[Seat, float]], unit: LengthUnit) -> str:
    """Say lengths as shortly as they are alike: one for all, one a part, or one a place."""
    for key in (
        lambda seat: "legs and boards",
        lambda seat: "legs" if seat.part == "leg" else "boards",
        lambda seat: seat.where,  # where two rows differ, both are told
    ):
        given: dict[str, list[float]] = {}
        for seat, value in values:
            given.setdefault(key(seat), []).append(value)
        told = {name: _apart(each) for name, each in given.items()}
        if all(len(each) == 1 for each in told.values()):
            break
    return "; ".join(
        f"{name} {' and '.join(format_both(v, unit) for v in each)}" for name, each in told.items()
    )
