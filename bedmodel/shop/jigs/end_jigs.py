"""Guides for what fills an end: holes of spindles and cap dowels, mortises of slats, grooves.

A hole's guide, seen from above; the next hole is found by its mark, through the sight:

        +-------------------+
        |        ( )        |     sight
        |      --O--        |     the hole
        |  _______________  |     fence line
        |   x  fence,    x  |
        +-------------------+

The block that sets saw or router table for the grooves has their depth as its one step and
the distance from the inside face to the groove as the other:

        +-----------------+  |
        |                 |  | groove depth, for the height of the cutter
        |      +----------+  |
        |      |
        +------+
        |<---->| from the fence to the near side of the cutter
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.end_joints import FillJoints
from bedmodel.outline import Outline
from bedmodel.shop.cards import ROUTER_CAUTIONS, Card
from bedmodel.shop.fastener_marks import drill_words
from bedmodel.shop.jigs.drill_guides import CAUTIONS, THICK, circle
from bedmodel.shop.jigs.fence import (
    Seat,
    apart,
    board_for,
    by_part,
    fence_label,
    fence_marks,
    where_words,
)
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.jigs.on_hand import ALL, OnHand
from bedmodel.shop.jigs.plates import MortiseSize, seat_plates
from bedmodel.shop.jigs.screw_guides import sight, sighted_ticks
from bedmodel.shop.sheet import FACE, CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.units import format_both

_MARGIN = 45.0  # mm of guide round its hole
_ARM = 60.0  # mm, of the setting block beyond its steps


def end_jigs(layout: Layout, hand: OnHand = ALL) -> Iterator[Jig]:
    """The guides, plates and blocks for what fills and caps the ends."""
    yield from seat_plates(layout, "slat mortise", slat_seats(layout), hand)
    holes = hole_seats(layout)
    for number, (diameter, seats) in enumerate(holes.items(), start=1):
        name = "end_hole_guide" if len(holes) == 1 else f"end_hole_guide_{number}"
        yield _hole_guide(layout, name, diameter, seats)
    blocks = groove_seats(layout)
    for number, (size, seats) in enumerate(blocks.items(), start=1):
        name = "groove_block" if len(blocks) == 1 else f"groove_block_{number}"
        yield _groove_block(layout, name, size, seats)


def _place(name: str) -> str:
    return name.replace("_", " ")


def slat_seats(layout: Layout) -> dict[MortiseSize, list[Seat]]:
    """The mortises of slats in rails, by size."""
    found: dict[MortiseSize, list[Seat]] = {}
    counts: dict[tuple[str, MortiseSize, float, float], int] = {}
    for end in layout.ends:
        for joint in FillJoints.of(layout).let_ins:
            plan = joint.plan
            if plan.is_round or not joint.upright.startswith(f"{end.end}board"):
                continue
            cut = joint.cut(joint.frame)
            size = (round(cut.length, 4), round(cut.width, 4), plan.ends)
            key = (joint.rail, size, plan.where.setback - end.reveal, plan.hole_depth)
            counts[key] = counts.get(key, 0) + 1
    for (rail, size, distance, depth), count in counts.items():
        seat = Seat("board", f"edge of {_place(rail)}", count, distance, depth)
        found.setdefault(size, []).append(seat)
    return found


def hole_seats(layout: Layout) -> dict[float, list[Seat]]:
    """Round holes of spindles and cap dowels, by diameter."""
    counts: dict[float, dict[tuple[str, str, float, float], int]] = {}

    def add(size: float, part: str, where: str, distance: float, depth: float, many: int) -> None:
        at = counts.setdefault(round(size, 5), {})
        key = (part, where, round(distance, 6), depth)
        at[key] = at.get(key, 0) + many

    joints = FillJoints.of(layout)
    reveals = {end.end: end.reveal for end in layout.ends}
    for joint in joints.let_ins:
        plan = joint.plan
        if plan.is_round:
            size = plan.tenon_width + 2 * plan.clearance
            distance = plan.where.setback - reveals["head" if "head" in joint.rail else "foot"]
            add(size, "board", f"edge of {_place(joint.rail)}", distance, plan.hole_depth, 1)
    for end in layout.ends:
        cap = end.cap
        if cap is None:
            continue
        for dowel in cap.dowels:
            in_leg = dowel.into == "leg"
            many = 2 if in_leg else 1
            below = f"tops of {end.end} legs" if in_leg else f"upper edge under {end.end} cap"
            from_face = dowel.setback - (0.0 if in_leg else end.reveal)
            deep = cap.in_below + cap.end_gap
            add(cap.hole, "leg" if in_leg else "board", below, from_face, deep, many)
            deep, inset = cap.in_cap + cap.end_gap, dowel.setback + cap.inner
            add(cap.hole, "cap", f"lower face of {end.end} cap", inset, deep, many)
    return {
        size: [Seat(part, where, n, far, deep) for (part, where, far, deep), n in at.items()]
        for size, at in counts.items()
    }


GrooveSize = tuple[float, float]  # width and depth (mm)


def groove_seats(layout: Layout) -> dict[GrooveSize, list[Seat]]:
    """Panel grooves in legs, rails, muntins and stiles, by size."""
    found: dict[GrooveSize, dict[tuple[str, str, float], int]] = {}
    for end in layout.ends:
        for groove in FillJoints.of(layout).grooves:
            plan = groove.plan
            if plan not in end.fills or not groove.part.startswith((f"{end.end}_", f"{end.end}b")):
                continue
            in_leg = groove.part.endswith("_leg")
            upright = "_muntin" in groove.part or "_stile" in groove.part
            distance = plan.where.setback - (0.0 if in_leg else end.reveal)
            if upright:
                distance = plan.upright_thickness / 2
            part = "leg" if in_leg else "board"
            where = f"{end.end} legs" if in_leg else _place(groove.part)
            size = (round(plan.groove_width, 4), round(plan.groove_depth, 4))
            at = found.setdefault(size, {})
            key = (part, where, round(distance, 6))
            at[key] = at.get(key, 0) + (2 if in_leg else 1)
    return {
        size: [Seat(part, where, n, far, size[1]) for (part, where, far), n in at.items()]
        for size, at in found.items()
    }


# --- the jigs ------------------------------------------------------------------------------


def _hole_guide(layout: Layout, name: str, diameter: float, seats: list[Seat]) -> Jig:
    unit = layout.sheet.design.unit
    hole = (0.0, 0.0, diameter)
    openings = (circle(hole), sight(hole))
    boxes = [opening.bounds() for opening in openings]
    bounds = (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )
    distances = apart(seat.distance for seat in seats)
    plate = board_for(bounds, distances, _MARGIN)
    title = f"Hole guide of {diameter:.1f} mm for the ends"
    marks = (
        *sighted_ticks(hole),
        *fence_marks(bounds[2], plate, distances, lambda d: fence_label(d, seats)),
    )
    notes = (
        title,
        "this face up; fence underneath",
        "inside face to the fence",
        f"{layout.sheet.show(THICK[unit])} thick",
        "unit: millimetres, scale 1:1",
    )
    facts = (("hole", f"{diameter:.2f} mm"),)
    sheet = CncSheet(name, title, plate, openings, marks, notes, facts)
    deepest = format_both(max(seat.depth for seat in seats) + THICK[unit], unit)
    depths = by_part([(seat, seat.depth) for seat in seats], unit)
    fences = by_part([(seat, seat.distance) for seat in seats], unit)
    rows = (
        ("for", where_words(seats)),
        (
            "drills",
            f"{drill_words(diameter, unit)}, a brad-point drill, best in a press",
        ),
        (
            "depth",
            f"{depths}; set the stop to that and the guide's {format_both(THICK[unit], unit)}; a "
            f"drill must stand {deepest} out of its chuck",
        ),
        ("fence", f"from the inside face to the hole: {fences}"),
        (
            "reference",
            "the face towards the mattress against the fence; the hole on its centre mark, which "
            "is struck by the stick and seen through the sight",
        ),
        ("face up", "the edge, top end or lower face that is bored, up under the guide"),
        ("left, right", "one guide serves all: each hole has a mark of its own"),
    )
    return Jig(sheet, Card(name, title, rows, CAUTIONS))


def _groove_block(layout: Layout, name: str, size: GrooveSize, seats: list[Seat]) -> Jig:
    """A block with two steps: the cutter's height, and its distance from the fence."""
    unit = layout.sheet.design.unit
    width, depth = size
    near = min(seat.distance for seat in seats) - width / 2
    across, high = near + _ARM, depth + _ARM
    corners = [(0.0, 0.0), (near, 0.0), (near, _ARM), (across, _ARM), (across, high), (0.0, high)]
    names = ("side", "cutter", "table", "end", "top", "fence")
    outline = Outline.of([(p, 0.0, n) for p, n in zip(corners, names, strict=True)])
    title = f"Groove block {width:.1f} x {depth:.1f} mm"
    marks = (
        Mark(FACE, (near / 2, 8.0), (near / 2, _ARM - 8.0), "FENCE TO CUTTER"),
        Mark(FACE, (near + 8.0, _ARM + depth / 2), (across - 8.0, _ARM + depth / 2), "HEIGHT"),
    )
    notes = (title, "unit: millimetres, scale 1:1")
    facts = (("groove", f"{width:.3f} mm wide, {depth:.3f} mm deep"),)
    sheet = CncSheet(name, title, outline, (), marks, notes, facts)
    fences = by_part([(seat, seat.distance - width / 2) for seat in seats], unit)
    in_legs = any(seat.part == "leg" for seat in seats)
    rows = (
        ("for", where_words(seats)),
        ("cutter", f"{width:.2f} mm wide: a grooving cutter or dado set, shimmed on scrap"),
        ("depth", f"{format_both(depth, unit)}: the block's short step beside the cutter"),
        ("fence", f"from the inside face to the near side of the groove: {fences}"),
        (
            "reference",
            "the face towards the mattress against the fence on every part, so that the panels' "
            "grooves meet; try the fit on scrap with a panel's edge",
        ),
        (
            "stopped",
            "in the legs from mark to mark with a router and its edge guide, the ends chiselled "
            "square; rails, muntins and stiles are grooved from end to end"
            if in_legs
            else "none: all are grooved from end to end",
        ),
        ("left, right", "the inside face to the fence for both hands"),
    )
    on_saw = "grooves on the saw: guard for grooving, push blocks, featherboard"
    cautions = (*ROUTER_CAUTIONS, on_saw)
    return Jig(sheet, Card(name, title, rows, cautions))
