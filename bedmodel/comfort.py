"""Heights, gaps and edges of a bed against published figures: advice, not failure.

All lengths in mm. Gaps that can trap a head or limb are pointed out, not judged: the
figures are those of cribs, bunk and hospital beds.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bedmodel.end_plan import EndPlan
from bedmodel.ends.gaps import traps
from bedmodel.ends.record import UprightPlan
from bedmodel.figures import figures
from bedmodel.skeleton import Layout

COMFORT_FILE = "comfort.csv"
Verdict = Literal["inside", "outside", "told"]


@dataclass(frozen=True)
class Advice:
    """One thing measured: the band it is compared with, and what to make of it.

    ``verdict`` "told" means that there is nothing published to compare with, or only a
    figure from memory.
    """

    topic: str
    measured: float
    low: float | None
    high: float | None
    verdict: Verdict
    text: str
    source: str
    parameter: str = ""


def comfort(layout: Layout) -> tuple[Advice, ...]:
    """All advice on heights, gaps and edges, the most used first."""
    return (
        *_heights(layout),
        *_gaps(layout),
        *_openings(layout),
        _under_the_bed(layout),
        *_sides(layout),
        *_headboard(layout),
        *_airing(layout),
    )


def _airing(layout: Layout) -> Iterator[Advice]:
    """A deck keeps a mattress's damp in: what its openings are of its area."""
    plan, deck = layout.deck, layout.sheet.deck
    if plan is None:
        return
    area = sum(place.length * place.width for place in plan.panels)
    length = deck.hole if deck.airing == "holes" else max(deck.slot, deck.hole)
    round_ends = math.pi * deck.hole**2 / 4
    each = round_ends + (length - deck.hole) * deck.hole
    sides = 2 / plan.rows
    share = sides * sum(len(place.openings) for place in plan.panels) * each / area
    text = f"openings are {100 * share:.1f} % of the deck"
    if share == 0:
        text = (
            "the deck is closed and keeps damp in: stand the mattress up now and then, or take "
            'deck.airing "slots"'
        )
    yield Advice(
        "airing of the mattress", share, None, None, "told", text, "practice", "deck.airing"
    )


def _value(name: str) -> float:
    return figures(COMFORT_FILE)[name].value


def _source(*names: str) -> str:
    return "; ".join(dict.fromkeys(figures(COMFORT_FILE)[name].source for name in names))


def _banded(measured: float, low: float, high: float) -> Verdict:
    return "inside" if low <= measured <= high else "outside"


def _heights(layout: Layout) -> Iterator[Advice]:
    show = layout.sheet.show
    top = layout.platform + layout.mattress.thickness
    low, high = _value("lodging_top_low"), _value("lodging_top_high")
    yield Advice(
        "mattress top",
        top,
        low,
        high,
        _banded(top, low, high),
        f"the mattress top is at {show(top)}; {show(low)} to {show(high)} suits most people who "
        "move over from a wheelchair",
        _source("lodging_top_low"),
        "height.mattress_top",
    )
    seat = top - _value("edge_sinks")
    low, high = _value("seat_low"), _value("seat_high")
    yield Advice(
        "sitting on the edge",
        seat,
        low,
        high,
        _banded(seat, low, high),
        f"sat on, the edge is at about {show(seat)}; easy to rise from is {show(low)} to "
        f"{show(high)}",
        _source("seat_low", "seat_high", "edge_sinks"),
        "height.mattress_top",
    )


def end_gaps(layout: Layout, end: EndPlan) -> list[tuple[str, float]]:
    """Open gaps of an end above the mattress, and between boards, from low to high."""
    top = end.lean.along(layout.platform + layout.mattress.thickness)
    boards = sorted(end.boards, key=lambda board: board.bottom)
    gaps = []
    if boards[0].bottom > top:
        gaps.append(("between mattress and lowest board", boards[0].bottom - top))
    filled = {
        frozenset((end.boards[f.where.lower].number, end.boards[f.where.upper].number))
        for f in end.fills
    }
    for below, above in itertools.pairwise(boards):
        if {below.number, above.number} in filled:
            continue  # closed by panels, or by uprights, whose own gaps are told
        open_from = max(below.top, top)
        if above.bottom > open_from:
            gaps.append((f"between boards {below.number} and {above.number}",
                         above.bottom - open_from))  # fmt: skip
    return gaps


def _gaps(layout: Layout) -> Iterator[Advice]:
    low, high, head = _value("gap_low"), _value("gap_high"), _value("head_gap")
    show = layout.sheet.show
    for end in layout.ends:
        for where, gap in end_gaps(layout, end):
            inside = low < gap < high
            text = f"{end.end} end, {where}: {show(gap)}"
            if inside:
                adult = ", and an adult's too" if gap >= head else ""
                text += f"; from {show(low)} to {show(high)} a child's head can be caught{adult}"
            yield Advice(
                f"gap at the {end.end}",
                gap,
                low,
                high,
                "outside" if inside else "inside",
                text,
                _source("gap_low", "gap_high", "head_gap"),
                f"{end.end}board.board",
            )


def _openings(layout: Layout) -> Iterator[Advice]:
    """Gaps between slats or spindles of an end, and beside the legs."""
    low, high = _value("gap_low"), _value("gap_high")
    show = layout.sheet.show
    for end in layout.ends:
        for fill in end.fills:
            if not isinstance(fill, UprightPlan):
                continue
            for where, gap in fill.gaps:
                inside = traps(gap, fill.where.height)
                text = f"{end.end} end, {where}: {show(gap)}"
                if inside:
                    text += f"; from {show(low)} to {show(high)} a child's head can be caught"
                yield Advice(
                    f"opening at the {end.end}",
                    gap,
                    low,
                    high,
                    "outside" if inside else "inside",
                    text,
                    _source("gap_low", "gap_high"),
                    f"{end.end}board.{fill.word}s",
                )


def lowest_edge(layout: Layout) -> float:
    """Lowest edge over the floor of rails, boards and centre rail."""
    edges = [layout.rail_bottom]
    for end in layout.ends:
        # A leaning board is lowest at its show face.
        edges += [
            end.lean.plumb(board.bottom, -end.reveal - board.thickness) for board in end.boards
        ]
    if layout.centre_rail is not None:
        edges.append(layout.centre_rail.bottom)
    return min(edges)


def _under_the_bed(layout: Layout) -> Advice:
    clear, wanted = lowest_edge(layout), _value("lift_clearance")
    show = layout.sheet.show
    return Advice(
        "under the bed",
        clear,
        wanted,
        None,
        _banded(clear, wanted, math.inf),
        f"{show(clear)} clear under rails and boards; a patient lift wants {show(wanted)}",
        _source("lift_clearance"),
        "height.platform",
    )


def _sides(layout: Layout) -> Iterator[Advice]:
    """What stands out beside the mattress: rails for shins, legs for toes."""
    show = layout.sheet.show
    half = layout.mattress.width / 2
    rail = layout.half_head + layout.sheet.side_rail.thickness - half
    most = _value("rail_proud")
    yield Advice(
        "rail beside the mattress",
        rail,
        None,
        most,
        "told",
        f"the rails' outer faces stand {show(rail)} outside the mattress at the head; more than "
        f"about {show(most)} finds shins [unconfirmed]: ease their upper edges",
        _source("rail_proud"),
        "side_rail.edge_size",
    )
    floor = max(end.joint_x for end in layout.ends) + layout.legs.floor_width
    toes = floor - (layout.half_head + layout.sheet.side_rail.thickness)
    yield Advice(
        "leg beside the rail",
        toes,
        None,
        0.0,
        "told",
        f"on the floor the legs reach {show(floor - half)} outside the mattress, "
        f"{show(abs(toes))} {'beyond' if toes > 0 else 'inside'} the rail's face: toes find what "
        "stands beyond it",
        "practice",
        layout.legs.toe,
    )


def _headboard(layout: Layout) -> Iterator[Advice]:
    if layout.head.kind == "none":
        return
    show = layout.sheet.show
    top = layout.platform + layout.mattress.thickness
    lean = layout.head.lean
    highest = max(board.top for board in layout.head.boards)
    over = lean.plumb(highest) - top - _value("pillow")
    where = f"{show(over)} above" if over >= 0 else f"{show(-over)} below"
    yield Advice(
        "headboard over the pillow",
        over,
        0.0,
        None,
        "told",
        f"the headboard's top is {where} the top of a pillow {show(_value('pillow'))} high",
        _source("pillow"),
        "headboard.board",
    )
    if lean.rake:
        behind = -lean.inside_y(top)
        yield Advice(
            "headboard behind the mattress",
            behind,
            None,
            _value("head_gap"),
            "inside" if behind < _value("head_gap") else "outside",
            f"the headboard leans back {layout.sheet.frame.rake:g} deg, easy to sit against, and "
            f"stands {show(behind)} behind the mattress at its top; a gap under "
            f"{show(_value('gap_low'))} keeps a pillow where it lies",
            _source("head_gap", "gap_low"),
            "frame.rake",
        )
