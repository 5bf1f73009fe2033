"""Guides for the drill: the dowels that join boards to legs, one for each row of holes.

Seen from above, x up the part from the row's middle, y away from the fence. Each end hole
has a sight, through which its mark on the part is seen:

        +---------------------------------------+
        |  ( )                             ( )  |     sights
        | --O--     O      O      O       --O-- |     a hole for each dowel
        |   |                               |   |
        |  ___________________________________  |     fence line
        |   x        fence, underneath       x  |
        +---------------------------------------+

The same guide leads the drill in leg and board, so that their holes meet however the marks
were rounded. Dry dowels of a wide board stand in slots in the leg: ``plates`` has theirs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.shop.cards import Card
from bedmodel.shop.fastener_marks import drill_words
from bedmodel.shop.jigs.drill_guides import CAUTIONS, THICK, Hole, circle, ticks
from bedmodel.shop.jigs.fence import (
    ALIKE,
    Seat,
    apart,
    board_for,
    by_part,
    fence_label,
    fence_marks,
    where_words,
)
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.jigs.screw_guides import sight, sighted_ticks
from bedmodel.shop.sheet import SLOT, CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.units import format_both

_MARGIN = 45.0  # mm of guide round its outermost holes
_LOWEST = 12.0  # mm, of the line that tells the lowest hole

Row = tuple[tuple[float, ...], float]  # heights from the row's middle and diameter (mm)


@dataclass(frozen=True)
class _Use:
    """One board whose dowels stand in a row."""

    end: EndPlan
    board: BoardPlan


def dowel_guide_jigs(layout: Layout) -> Iterator[Jig]:
    """A guide for each row of dowels; rows that are alike share one."""
    rows: dict[Row, list[_Use]] = {}
    for end in layout.ends:
        for board in end.boards:
            if board.tenons.is_dowel:
                rows.setdefault(_row(board), []).append(_Use(end, board))
    for number, (row, uses) in enumerate(rows.items(), start=1):
        name = "dowel_guide" if len(rows) == 1 else f"dowel_guide_{number}"
        yield _guide(layout, name, row, uses)


def _row(board: BoardPlan) -> Row:
    plan = board.tenons
    middle = (plan.heights[0] + plan.heights[-1]) / 2
    return tuple(round(h - middle, 6) for h in plan.heights), round(plan.mortise_width, 5)


def is_even(row: Row) -> bool:
    """Whether a row of holes is its own mirror image, lowest to highest."""
    heights, _ = row
    return all(abs(a + b) < ALIKE for a, b in zip(heights, reversed(heights), strict=True))


def dowel_seats(uses: Sequence[_Use]) -> list[Seat]:
    """Round holes in legs and boards, both hands."""
    found = []
    for use in uses:
        end, plan = use.end, use.board.tenons
        name = board_name(end, use.board).replace("_", " ")
        deep, glued = plan.embedment_leg + plan.end_gap, 2 * plan.glued_count
        found.append(Seat("leg", f"{end.end} legs at {name}", glued, plan.setback, deep))
        deep, count = plan.embedment_board + plan.end_gap, 2 * len(plan.heights)
        distance = plan.setback - end.reveal
        found.append(Seat("board", f"ends of {name}", count, distance, deep))
    return found


def _guide(layout: Layout, name: str, row: Row, uses: Sequence[_Use]) -> Jig:
    heights, diameter = row
    holes: list[Hole] = [(x, 0.0, diameter) for x in heights]
    ends = [holes[0], holes[-1]] if len(holes) > 1 else holes
    sights = [sight(hole) for hole in ends]
    openings = (*(circle(hole) for hole in holes), *sights)
    boxes = [opening.bounds() for opening in openings]
    bounds = (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )
    seats = dowel_seats(uses)
    distances = apart(seat.distance for seat in seats)
    plate = board_for(bounds, distances, _MARGIN)
    title = f"Dowel guide, {len(heights)} of {diameter:.1f} mm"
    even = is_even(row)
    marks = (
        *(t for hole in holes for t in (sighted_ticks(hole) if hole in ends else _upper(hole))),
        *(() if even else _lowest(holes[0])),
        *fence_marks(0.0, plate, distances, lambda d: fence_label(d, seats)),
    )
    thick = layout.sheet.show(THICK[layout.sheet.design.unit])
    notes = (
        title,
        "this face up; fence underneath" if even else "either face up; fence underneath",
        "inside face to the fence",
        f"{thick} thick",
        "unit: millimetres, scale 1:1",
    )
    facts = tuple(
        (f"hole {i}", f"{d:.2f} mm at ({x:.3f}, {y:.3f})")
        for i, (x, y, d) in enumerate(holes, start=1)
    )
    sheet = CncSheet(name, title, plate, openings, marks, notes, facts)
    return Jig(sheet, Card(name, title, _rows(layout, row, uses, seats), CAUTIONS))


def _upper(hole: Hole) -> Iterator[Mark]:
    """Of a hole between others, the ticks across the row alone."""
    up, _, down, _ = ticks(hole)
    yield from (up, down)


def _lowest(hole: Hole) -> Iterator[Mark]:
    """A line beyond the lowest hole's tick, along the row."""
    x, y, d = hole
    start = x - d / 2 - _LOWEST
    yield Mark(SLOT, (start, y), (start - _LOWEST, y), "LOWEST")


def _rows(
    layout: Layout, row: Row, uses: Sequence[_Use], seats: Sequence[Seat]
) -> tuple[tuple[str, str], ...]:
    unit = layout.sheet.design.unit
    thick = format_both(THICK[unit], unit)
    depths = by_part([(seat, seat.depth) for seat in seats], unit)
    fences = by_part([(seat, seat.distance) for seat in seats], unit)
    longest = format_both(max(seat.depth for seat in seats) + THICK[unit], unit)
    heights, diameter = row
    start = "the lower end hole" if len(heights) > 1 else "the hole"
    return (
        ("for", where_words(seats)),
        ("drills", f"{drill_words(diameter, unit)}, a brad-point drill"),
        (
            "depth",
            f"{depths}; set the stop to that and the guide's {thick}; a drill must stand {longest} "
            "out of its chuck",
        ),
        ("dry dowels", _dry_words(uses)),
        (
            "make",
            f"{thick} hardwood or ply, its holes bored on a drill press or by the machine, with "
            "the drill they are to lead",
        ),
        ("fence", f"from the inside face to the line of holes: {fences}"),
        (
            "reference",
            f"the inside face (towards the mattress) of leg and board against the fence; {start} "
            "on the centre mark of dowel hole 1, seen through its sight, and the other end hole on "
            "the mark of the last",
        ),
        (
            "face up",
            "joint face of the leg, or the board's end, up under the guide",
        ),
        ("left, right", _hands(is_even(row))),
    )


def _hands(even: bool) -> str:
    if even:
        return (
            "one guide serves both, leg and board: turn the part end for end, so that its inside "
            "face still meets the fence"
        )
    return (
        "the row is not alike from both ends: of left and right leg, and of a board's two ends, "
        "one is drilled with the guide as drawn and the other with it turned over, its fence moved "
        "to the other face; the hole marked LOWEST stays lowest, the fence at the inside face"
    )


def _dry_words(uses: Sequence[_Use]) -> str:
    """Which holes of the legs are slots, and are left to their plates."""
    told = []
    for use in uses:
        plan = use.board.tenons
        dry = [str(i) for i, h in enumerate(plan.heights, start=1) if plan.slack_at(h) > 0]
        if dry:
            name = board_name(use.end, use.board).replace("_", " ")
            told.append(
                f"{', '.join(dry)} of {name}: holes in the board alone; in the legs they stand in "
                "slots, routed with the dowel slot plates"
            )
    return "; ".join(told) or "none"
