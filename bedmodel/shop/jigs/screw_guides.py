"""Guides for the drill: the screws of runners, slats and cleats.

Seen from above, x along the part and y away from the fence. A row of screws is drilled
one by one, the mark that was struck from the story stick seen through a sight beside the
hole; slats and cleats need no marks, as a stop stands against their ends:

        +------------------------------+     +------------------------------+
        |   ( ) sight         ( )      |     |  |   |                       |
        |  --O--             --O--     |     |  | --O--                     |
        |    |                 |       |     |  |   |                       |
        |  clearance         pilot     |     |  |  inset from the stop      |
        |  __________________________  |     |  |_________________________  |
        |   x   fence, underneath   x  |     | stop     fence               |
        +------------------------------+     +------------------------------+

Pilot holes that lie under a clearance hole of a part that is set in its place first are
marked through it, with the clearance drill's point, and told on the same card.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.cuts import slot
from bedmodel.outline import Outline
from bedmodel.platform_screws import SHALLOW
from bedmodel.screwing import ScrewPlan
from bedmodel.shop.cards import Card
from bedmodel.shop.fastener_marks import drill_words
from bedmodel.shop.jigs.drill_guides import CAUTIONS, THICK, Hole, circle, ticks
from bedmodel.shop.jigs.fence import FENCE_WIDE, Seat, apart, board_for, fence_label, fence_marks
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.screw_marks import pilot_words, runner_start, screw_words, spacing
from bedmodel.shop.sheet import STOP, CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.units import format_both

RUNNER, SLAT, CLEAT = "runner_screw_guide", "slat_end_guide", "cleat_guide"
INNER = "slat_inner_guide"
_ASIDE = 30.0  # mm from the guide's middle to each of its two holes
_MARGIN = 45.0  # mm of guide round its outermost holes
_FENCE_LEAST = 60.0  # mm of fence along a part, to each side of the middle
_SIGHT = (20.0, 8.0)  # mm, length and width of the opening through which a mark is seen
_WEB = 3.0  # mm between a hole and its sight
_PAST = 6.0  # mm that a stop's line goes on beyond the holes

Rows = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class _Guide:
    """What sets one guide apart: ``stop`` is where a part's end stands, if it has one."""

    name: str
    title: str
    holes: tuple[Hole, ...]
    seats: tuple[Seat, ...]
    to_fence: str
    stop: float | None = None
    sighted: bool = False

    @property
    def sights(self) -> tuple[Outline, ...]:
        """The opening beside each hole that shows the mark on the part."""
        return tuple(sight(hole) for hole in self.holes) if self.sighted else ()


def sight(hole: Hole) -> Outline:
    """The opening beside a hole, away from the fence, that shows the mark on the part."""
    x, y, d = hole
    middle = y + d / 2 + _WEB + _SIGHT[0] / 2
    return slot(*_SIGHT, "round").mapped(lambda p: (x - p[1], middle + p[0]))


def screw_guide_jigs(layout: Layout) -> Iterator[Jig]:
    """The guides that the platform's screws want."""
    if layout.runner_screws is not None:
        yield _runner_guide(layout)
    if layout.slat_screws is not None:
        yield _slat_guide(layout)
        if layout.slat_screws.inner is not None:
            yield _inner_guide(layout, layout.slat_screws.inner)
    if layout.cleats:
        yield from _cleat_guides(layout)


def _runner_guide(layout: Layout) -> Jig:
    """Clearance holes in the runners and pilots in the rails, beside one another."""
    screws, start = layout.runner_screws, runner_start(layout)
    assert screws is not None
    plan, count = screws.plan, 2 * len(screws.places)
    up = layout.runner_top - layout.sheet.runner.height + screws.above_runner - layout.rail_bottom
    guide = _Guide(
        RUNNER,
        "Runner screw guide",
        ((-_ASIDE, 0.0, plan.clearance), (_ASIDE, 0.0, plan.pilot)),
        (
            Seat("runner", "inside face of both runners", count, screws.above_runner, plan.held),
            Seat("rail", "inside face of both side rails", count, up, plan.bite),
        ),
        "lower edge to the fence",
        sighted=True,
    )
    places = [place - start for place in screws.places]
    rows = (
        (
            "for",
            f"clearance holes in both runners ({count} off); pilot holes in the inside faces "
            f"of both side rails ({count} off)",
        ),
        ("screws", screw_words(layout, plan)),
        ("row", spacing(layout, places)),
        ("clearance", _clearance(layout, plan)),
        ("pilot", pilot_words(layout, plan, layout.sheet.wood.species)),
        ("stop", _stop(layout, plan.bite)),
        *_make(layout),
        (
            "fence",
            "from the lower edge to the line of holes: runners "
            f"{_both(layout, screws.above_runner)}; rails {_both(layout, up)}",
        ),
        (
            "reference",
            "the lower edge against the fence; the mark in the middle of the sight, in line with "
            "the ticks: it is struck from the story stick of the runner's holes and squared across "
            "the face, the stick's datum end at the runner's head end, or at the mark for that on "
            "the rail",
        ),
        (
            "face up",
            "runner: the face towards the mattress; rail: its inside face; the guide's words up",
        ),
        (
            "left, right",
            "one guide serves both; on one hand the row runs the other way, from the same head end",
        ),
    )
    return _jig(layout, guide, rows)


def _slat_guide(layout: Layout) -> Jig:
    """The hole in each end of each slat: fence at the edge, stop at the end."""
    screws, slats = layout.slat_screws, layout.slats
    assert screws is not None
    bored = len(screws.numbers(slats.count))
    plan, count, middle = screws.plan, 2 * bored, slats.width / 2
    two = layout.rows == 2
    ends = "the outer end of each slat" if two else "both ends of each slat"
    if screws.only_ends:
        ends += " that is screwed, the first and the last"
    deep = plan.held - plan.sunk
    guide = _Guide(
        SLAT,
        "Slat end guide",
        ((0.0, 0.0, plan.clearance),),
        (Seat("slat", ends, count, middle, plan.held),),
        "slat: edge to the fence, end to the stop",
        -screws.inset,
    )
    holder = layout.sheet.wood.slats or layout.sheet.wood.species
    rows = (
        (
            "for",
            f"clearance holes in {'the outer end' if two else 'both ends'} of "
            f"{bored * layout.rows} slats ({count} off); pilot holes in "
            f"the tops of both runners ({count} off)",
        ),
        ("screws", screw_words(layout, plan)),
        ("clearance", _clearance(layout, plan)),
        (
            "pilot",
            f"{pilot_words(layout, plan, holder)}; drilled through the slats, set with the "
            "spacers on the runners: mark each with the clearance drill's point, or take a drill "
            "that centres itself",
        ),
        (
            "stop",
            f"pilot, from the floor of the counterbore: {_both(layout, deep + plan.bite)} "
            f"({_both(layout, deep)} of slat and {_both(layout, plan.bite)} of runner)",
        ),
        *_make(layout),
        ("fence", f"from the slat's edge to the hole: {_both(layout, middle)}, half its width"),
        ("end stop", f"from the slat's end to the hole: {_both(layout, screws.inset)}"),
        (
            "reference",
            "either edge against the fence and the end against the stop; no mark is needed",
        ),
        ("face up", "top of the slat; the guide's words up"),
        ("left, right", "for the other end turn the slat end for end"),
    )
    return _jig(layout, guide, rows)


def _inner_guide(layout: Layout, inset: float) -> Jig:
    """The hole in the inner end of each slat of two rows, over the centre rail."""
    screws, slats = layout.slat_screws, layout.slats
    assert screws is not None
    plan, middle = screws.plan, slats.width / 2
    count = 2 * len(screws.numbers(slats.count))
    guide = _Guide(
        INNER,
        "Slat inner end guide",
        ((0.0, 0.0, plan.clearance),),
        (Seat("slat", "the inner end of each slat", count, middle, plan.held),),
        "slat: edge to the fence, end to the stop",
        -inset,
    )
    holder = layout.sheet.wood.slats or layout.sheet.wood.species
    rows = (
        (
            "for",
            f"clearance holes in the inner end of {count} slats ({count} off); pilot holes in the "
            f"top of the centre rail ({count} off)",
        ),
        ("screws", screw_words(layout, plan)),
        ("clearance", _clearance(layout, plan)),
        (
            "pilot",
            f"{pilot_words(layout, plan, holder)}; drilled through the slats, set with the "
            "spacers on runner and centre rail",
        ),
        *_make(layout),
        ("fence", f"from the slat's edge to the hole: {_both(layout, middle)}, half its width"),
        ("end stop", f"from the slat's inner end to the hole: {_both(layout, inset)}"),
        ("reference", "either edge against the fence and the inner end against the stop"),
        ("face up", "top of the slat; the guide's words up"),
        ("left, right", "one guide serves both rows"),
    )
    return _jig(layout, guide, rows)


def _cleat_guides(layout: Layout) -> Iterator[Jig]:
    """Both holes of a cleat; one guide serves cleats whose screws are alike."""
    given, kinds = layout.sheet.cleat, dict[ScrewPlan, list[str]]()
    for cleat in layout.cleats:
        kinds.setdefault(cleat.plan, []).append(cleat.end)
    for number, (plan, ends) in enumerate(kinds.items(), start=1):
        x = next(c.screw_x for c in layout.cleats if c.end == ends[0])
        count, middle = 2 * len(ends), given.height / 2
        where = " and ".join(f"{end} cleat" for end in ends)
        guide = _Guide(
            CLEAT if len(kinds) == 1 else f"{CLEAT}_{number}",
            "Cleat guide",
            ((-x, 0.0, plan.clearance), (x, 0.0, plan.clearance)),
            (Seat("cleat", where, count, middle, plan.held),),
            "cleat: upper edge to the fence, end to the stop",
            -given.width / 2,
        )
        rows = (
            (
                "for",
                f"clearance holes in the {where} ({count} off); pilot holes in the boards behind "
                f"({count} off)",
            ),
            ("screws", screw_words(layout, plan)),
            ("clearance", _clearance(layout, plan)),
            (
                "pilot",
                f"{pilot_words(layout, plan, layout.sheet.wood.species)}; drilled through the "
                "cleat, clamped to its marks on the board: mark each with the clearance drill's "
                "point, or take a drill that centres itself",
            ),
            (
                "stop",
                f"pilot, from the floor of the counterbore: "
                f"{_both(layout, plan.held - plan.sunk + plan.bite)}",
            ),
            *_make(layout),
            ("fence", f"from the upper edge to the holes: {_both(layout, middle)}"),
            (
                "end stop",
                f"from the cleat's end to the guide's middle: {_both(layout, given.width / 2)}; "
                f"the holes are {_both(layout, x)} to each side of it",
            ),
            (
                "reference",
                "the upper edge, which carries the centre rail, against the fence; the end "
                "against the stop",
            ),
            ("face up", "the face away from the board; the guide's words up"),
            (
                "left, right",
                "both holes at one setting; head and foot alike"
                if len(ends) > 1
                else "both holes at one setting",
            ),
        )
        yield _jig(layout, guide, rows)


# --- drawing -------------------------------------------------------------------------------


def _jig(layout: Layout, guide: _Guide, rows: Rows) -> Jig:
    # A file holds six decimals, also of a radius.
    guide = replace(guide, holes=tuple((x, y, round(d, 5)) for x, y, d in guide.holes))
    openings = (*(circle(hole) for hole in guide.holes), *guide.sights)
    boxes = [opening.bounds() for opening in openings]
    reach = max(_FENCE_LEAST - _MARGIN, -(guide.stop or 0.0))
    bounds = (
        min(-reach, *(box[0] for box in boxes)),
        min(box[1] for box in boxes),
        max(reach, *(box[2] for box in boxes)),
        max(box[3] for box in boxes),
    )
    distances = apart(seat.distance for seat in guide.seats)
    plate = board_for(bounds, distances, _MARGIN)
    marks = (
        *(
            tick
            for hole in guide.holes
            for tick in (sighted_ticks(hole) if guide.sighted else ticks(hole))
        ),
        *_stop_marks(guide, bounds, distances),
        *fence_marks(0.0, plate, distances, lambda d: fence_label(d, guide.seats)),
    )
    thick = layout.sheet.show(THICK[layout.sheet.design.unit])
    notes = (
        guide.title,
        "this face up; fence underneath",
        guide.to_fence,
        f"{thick} thick",
        "unit: millimetres, scale 1:1",
    )
    facts = tuple(
        (f"hole {i}", f"{d:.2f} mm at ({x:.3f}, {y:.3f})")
        for i, (x, y, d) in enumerate(guide.holes, start=1)
    )
    sheet = CncSheet(guide.name, guide.title, plate, openings, marks, notes, facts)
    return Jig(sheet, Card(guide.name, guide.title, rows, CAUTIONS))


def sighted_ticks(hole: Hole) -> Iterator[Mark]:
    """Ticks round a hole that has a sight: the upper one stands beyond that."""
    up, *others = ticks(hole)
    past = sight(hole).bounds()[3] - hole[1] - hole[2] / 2
    (x0, y0), (x1, y1) = up.start, up.end
    yield from (replace(up, start=(x0, y0 + past), end=(x1, y1 + past)), *others)


def _stop_marks(
    guide: _Guide, bounds: tuple[float, float, float, float], distances: Sequence[float]
) -> Iterator[Mark]:
    """The face of the end stop, from the fence to beyond the holes."""
    if guide.stop is not None:
        yield Mark(STOP, (guide.stop, -max(distances)), (guide.stop, bounds[3] + _PAST), "STOP")


# --- words ---------------------------------------------------------------------------------


def _both(layout: Layout, length: float) -> str:
    return format_both(length, layout.sheet.design.unit)


def _clearance(layout: Layout, plan: ScrewPlan) -> str:
    """In which order counterbore and clearance hole are made."""
    unit = layout.sheet.design.unit
    drill = drill_words(plan.clearance, unit)
    if plan.sunk < SHALLOW:
        return f"{drill}, right through; countersink it flush for the head"
    return (
        f"touch with the drill's point through the guide; take it off, counterbore "
        f"{drill_words(plan.counterbore, unit)}, {_both(layout, plan.sunk)} deep; then {drill}, "
        "right through, through the guide or in the counterbore's centre"
    )


def _stop(layout: Layout, deep: float) -> str:
    thick = THICK[layout.sheet.design.unit]
    return (
        f"pilot {_both(layout, deep)} deep and the guide's {_both(layout, thick)}: "
        f"{_both(layout, deep + thick)} of drill below its stop"
    )


def _make(layout: Layout) -> Rows:
    thick = _both(layout, THICK[layout.sheet.design.unit])
    return (
        (
            "make",
            f"{thick} hardwood or ply, its holes bored on a drill press or by the machine, each "
            f"with the drill it is to lead; fences and stops {_both(layout, FENCE_WIDE)} wide, no "
            "thicker than the part",
        ),
    )
