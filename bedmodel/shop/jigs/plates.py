"""Plates that guide the router in mortises and dry dowels' slots, one for each size.

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

from collections.abc import Iterator

from bedmodel.cuts import Mortise, SlotEnds
from bedmodel.end_plan import board_name
from bedmodel.frames import Frame
from bedmodel.outline import Outline
from bedmodel.shop.cards import ROUTER_CAUTIONS, Card
from bedmodel.shop.jigs.choice import Chosen, mortise_cutter
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
from bedmodel.shop.router import mortise_template, recess_template
from bedmodel.shop.sheet import SLOT, CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.tenons import TenonPlan
from bedmodel.units import format_both

TICK = 14.0  # mm
ROUND = 1e-3  # mm; a slot no longer than this over its width is a hole

MortiseSize = tuple[float, float, SlotEnds]  # length and width (mm), and its ends


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


def slot_seats(layout: Layout) -> dict[MortiseSize, list[Seat]]:
    """The slots in the legs that let dry dowels slide, by size, both hands."""
    found: dict[MortiseSize, list[Seat]] = {}
    for end in layout.ends:
        for board in end.boards:
            plan = board.tenons
            where = f"{end.end} legs, dry dowels of {board_name(end, board).replace('_', ' ')}"
            for length, count in _leg_lengths(plan).items() if plan.is_dowel else ():
                if length > plan.mortise_width + ROUND:
                    deep = plan.embedment_leg + plan.end_gap
                    seat = Seat("leg", where, count, plan.setback, deep)
                    found.setdefault(_size(plan, length), []).append(seat)
    return found


def _leg_lengths(plan: TenonPlan) -> dict[float, int]:
    """Lengths of the mortises in both legs, and how many of each; dry ones are longer."""
    lengths = [round(plan.mortise_length + 2 * plan.slack_at(h), 4) for h in plan.heights]
    return {length: 2 * lengths.count(length) for length in lengths}


def _size(plan: TenonPlan, length: float) -> MortiseSize:
    return round(length, 4), round(plan.mortise_width, 4), plan.ends


def plate_jigs(layout: Layout, hand: OnHand = ALL) -> Iterator[Jig]:
    """A plate for each size of mortise or slot. Raises InputError for cutters that do not fit."""
    kinds = (("mortise", mortise_seats(layout)), ("dowel slot", slot_seats(layout)))
    for word, sizes in kinds:
        yield from seat_plates(layout, word, sizes, hand)


def seat_plates(
    layout: Layout, word: str, sizes: dict[MortiseSize, list[Seat]], hand: OnHand
) -> Iterator[Jig]:
    """A plate for each size. Raises InputError for cutters that do not fit."""
    for number, (size, seats) in enumerate(sizes.items(), start=1):
        name = f"{word.replace(' ', '_')}_plate"
        name += "" if len(sizes) == 1 else f"_{number}"
        yield _plate(layout, name, word, size, seats, hand)


def _plate(
    layout: Layout,
    name: str,
    word: str,
    mortise_size: MortiseSize,
    seats: list[Seat],
    hand: OnHand,
) -> Jig:
    length, width, ends = mortise_size
    deepest = max(seat.depth for seat in seats)
    chosen = mortise_cutter(layout.sheet, width, deepest, hand)
    mortise = Mortise(name, Frame(), length, width, deepest, ends)
    if ends == "square":  # the bit leaves its own radius in the corners, for the chisel
        slot = recess_template(length, width, chosen.cutter)
    else:
        slot = mortise_template(mortise, chosen.cutter)
    distances = apart(seat.distance for seat in seats)
    plate = board_for(slot.bounds(), distances, layout.sheet.router.router_base / 2)
    size = f"{length:.1f} x {width:.2f} mm"
    notes = (
        f"{word} {size}",
        f"bit {chosen.cutter.diameter:g} mm, {chosen.guide}",
        "this face up; fence underneath",
        "inside face to the fence",
        "unit: millimetres, scale 1:1",
    )
    fences = fence_marks(slot.bounds()[2], plate, distances, lambda d: fence_label(d, seats))
    marks = (*slot_ticks(slot, length), *fences)
    title = f"{word.capitalize()} plate {size}"
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
        _card(layout, (name, title, word), seats, chosen, ends),
        (GuidedCut(slot, mortise.opening, chosen.cutter, "inside"),),
    )


def slot_ticks(slot: Outline, length: float) -> Iterator[Mark]:
    """Beside the slot: its centre and both ends of the mortise; beyond its ends: its middle."""
    _, _, x, y = slot.bounds()
    for sign in (1.0, -1.0):
        near, far = sign * (y + CLEAR), sign * (y + CLEAR + TICK)
        words = ("CENTRE", "END") if sign > 0 else ("", "")
        yield Mark(SLOT, (0.0, near), (0.0, sign * (y + CLEAR + 2 * TICK)), words[0])
        for end in (-length / 2, length / 2):
            yield Mark(SLOT, (end, near), (end, far), words[1])
        yield Mark(SLOT, (sign * (x + CLEAR), 0.0), (sign * (x + CLEAR + 2 * TICK), 0.0))


def _card(
    layout: Layout, names: tuple[str, str, str], seats: list[Seat], chosen: Chosen, ends: SlotEnds
) -> Card:
    name, title, word = names
    unit = layout.sheet.design.unit
    deepest = max(seat.depth for seat in seats)
    depths = by_part([(seat, seat.depth) for seat in seats], unit)
    fences = by_part([(seat, seat.distance) for seat in seats], unit)
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
            f"{word} is deep: take a longer bit of this diameter"
        )
    if ends == "square":
        cautions.append("chisel the four corners square after routing")
    if chosen.unconfirmed:
        cautions.append(chosen.unconfirmed)
    rows = (
        ("for", where_words(seats)),
        ("bit", chosen.bit.label),
        ("bushing", f"{chosen.guide}, runs round the slot"),
        ("offset", f"{format_both(chosen.cutter.offset, unit)} all round"),
        ("depth", f"{depths}; each plus the plate's own thickness, measured"),
        ("fence", f"from the inside face to the slot's middle: {fences}"),
        (
            "reference",
            "the inside face (towards the mattress) of leg and board lies against the fence; "
            f"centre tick on the {word}'s centre mark",
        ),
        (
            "face up",
            "the rail's edge up under the plate; the plate's words up"
            if word == "slat mortise"
            else "joint face of the leg, or the board's end, up under the plate; the plate's "
            "words up",
        ),
        (
            "left, right",
            "one plate serves both: turn the part end for end, so that its inside face still meets "
            "the fence",
        ),
    )
    return Card(name, title, rows, tuple(cautions))
