"""Setting out the screws of runners, slats and cleats: where each hole is, and with which drills.

The runner as it lies on its rail, seen from the mattress:

    head end                                    x along the rail or runner
    +------------------------------------+
    |  v    v    v    v    v    v    v   |   pilot holes in the top, one under each slat
    |    o      o       o      o      o  |   counterbore and clearance hole, through to the rail
    +------------------------------------+
    |--->|  first  |<--->|  pitch

Everything is read from the records that the holes themselves are made of, on the
right-hand side; the left is its mirror image. Lengths are in mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.end_plan import EndPlan, board_name
from bedmodel.frames import Frame
from bedmodel.parts.side_rail import rail_axes
from bedmodel.platform_screws import SHALLOW, ScrewJoint, head_gap
from bedmodel.screw_joints import screw_joints
from bedmodel.screwing import ScrewPlan
from bedmodel.screws import DENSE, LIGHT, pilot_diameter, pilot_share, screw
from bedmodel.shop.fastener_marks import drill_words
from bedmodel.shop.marks import CENTRE, DEPTH, Mark, MarkRow, merged, row_of, shifted
from bedmodel.shop.raked import bevel_words
from bedmodel.skeleton import Layout
from bedmodel.tables import wood
from bedmodel.units import format_both

EVERY_SCREW = "every runner screw"
EVERY_PILOT = "every slat screw hole"
EVERY_DECK_PILOT = "every deck screw hole"
HOLE = "screw hole"
_EQUAL = 1e-6  # mm; spaces this alike are one pitch
_CLEAR, _SUNK = "clearance hole", "counterbore"


@dataclass(frozen=True)
class Bore:
    """Where one screw's axis lies on runner and rail: along from the rail's head end (mm).

    ``up`` is from the rail's lower edge, ``inward`` from its inside face.
    """

    name: str
    joint: ScrewJoint
    along: float
    up: float
    inward: float


# --- places --------------------------------------------------------------------------------


def runner_start(layout: Layout) -> float:
    """Return how far a runner's head end lies from its rail's, along the rail's inside face."""
    return head_gap(layout.sheet, layout.pocket)


def runner_end(layout: Layout) -> float:
    """Return how far a runner's foot end lies from its rail's head end."""
    return layout.rail_length - layout.sheet.runner.end_gap / math.cos(layout.yaw)


def runner_bores(layout: Layout) -> list[Bore]:
    """The screws through the right runner into its rail, from the head end."""
    return [
        _bore(layout, f"runner screw {i}", joint)
        for i, joint in enumerate(_of(layout, "runner", "side_rail"), start=1)
    ]


def slat_bores(layout: Layout) -> list[Bore]:
    """The screws through the right ends of the slats into their runner, from the head end."""
    found = (j for j in screw_joints(layout) if j.holder == "runner")
    return [_bore(layout, f"{joint.held} {HOLE}", joint) for joint in found]


def cleat_joint(layout: Layout, end: str) -> ScrewJoint | None:
    """The screw on the right of an end's cleat; that on its left is its mirror image."""
    return next((j for j in screw_joints(layout) if j.held == f"{end}_cleat"), None)


def _of(layout: Layout, held: str, holder: str) -> list[ScrewJoint]:
    return [j for j in screw_joints(layout) if (j.held, j.holder) == (held, holder)]


def _bore(layout: Layout, name: str, joint: ScrewJoint) -> Bore:
    rail = Frame((layout.half_head, 0.0, layout.rail_bottom), *rail_axes(layout))
    x, y, z = rail.inverse().point(joint.frame.origin)
    return Bore(name, joint, x, y, -z)


# --- runner and rail -----------------------------------------------------------------------


def runner_rows(layout: Layout) -> Iterator[MarkRow]:
    """The holes of a runner: those of its own screws, and the pilots of the slats."""
    screws, start = runner_bores(layout), runner_start(layout)
    if layout.runner_screws is not None:
        up = layout.runner_screws.above_runner
        yield row_of(
            "from the head end, along the inside face",
            shifted(runner_along(layout), -start),
        )
        yield row_of(
            "from the lower edge, up the inside face",
            merged([_mark(layout, bore.name, CENTRE, up) for bore in screws], EVERY_SCREW),
        )
        depths = _held_depths(layout, EVERY_SCREW, screws[0].joint.plan)
        yield row_of("from the inside face, into the runner (depth)", depths)
    pilots = slat_bores(layout)
    if pilots:
        plan = pilots[0].joint.plan
        yield row_of(
            "from the head end, squared across the top",
            shifted(_along(layout, pilots), -start),
        )
        every = EVERY_PILOT if layout.has_slats else EVERY_DECK_PILOT
        across = [_mark(layout, bore.name, CENTRE, bore.inward) for bore in pilots]
        yield row_of("from the rail's side, across the top", merged(across, every))
        deep = [_mark(layout, every, DEPTH, plan.bite)]
        yield row_of("from the top, into the runner (depth)", deep)


def rail_screw_heights(layout: Layout) -> list[Mark]:
    """The runner's screws in the rail's inside face, from its lower edge."""
    marks = [_mark(layout, bore.name, CENTRE, bore.up) for bore in runner_bores(layout)]
    return merged(marks, EVERY_SCREW)


def runner_along(layout: Layout) -> list[Mark]:
    """The runner's screws along the rail's inside face, from its head end."""
    return _along(layout, runner_bores(layout))


def rail_screw_depths(layout: Layout) -> list[Mark]:
    """How deep the runner's screws are piloted in the rail, from its inside face."""
    screws = layout.runner_screws
    return [] if screws is None else [_mark(layout, EVERY_SCREW, DEPTH, screws.plan.bite)]


def holes_along(layout: Layout) -> list[Mark]:
    """Every hole along a runner from its head end: its own screws, and those of the slats."""
    found = [*runner_along(layout), *_along(layout, slat_bores(layout))]
    return merged(shifted(found, -runner_start(layout)))


def runner_notes(layout: Layout) -> Iterator[str]:
    """Drills and spacing of a runner's holes."""
    screws, pilots = layout.runner_screws, slat_bores(layout)
    start, species = runner_start(layout), layout.sheet.wood.species
    if screws is not None:
        places = [place - start for place in screws.places]
        yield f"runner screws: {held_words(layout, screws.plan)}"
        yield f"runner screws: {spacing(layout, places)}"
    if pilots:
        plan = pilots[0].joint.plan
        holder = layout.sheet.wood.slats or species
        whose = "slats'" if layout.has_slats else "the deck's"
        yield f"{whose} pilot holes in the top: {pilot_words(layout, plan, holder)}"
        yield f"{whose} pilot holes: {spacing(layout, [bore.along - start for bore in pilots])}"


def rail_screw_notes(layout: Layout) -> Iterator[str]:
    """The pilot holes in a rail's inside face."""
    screws = layout.runner_screws
    if screws is not None:
        yield f"runner screws: {pilot_words(layout, screws.plan, layout.sheet.wood.species)}"
        yield f"runner screws: {spacing(layout, screws.places)}"


# --- slats ---------------------------------------------------------------------------------


def slat_rows(layout: Layout) -> Iterator[MarkRow]:
    """The hole in each end of a slat, alike from both ends and both edges."""
    screws = layout.slat_screws
    if screws is None:
        return
    of = f"each {HOLE}"
    yield row_of("from each end, along the top", [_mark(layout, of, CENTRE, screws.inset)])
    middle = [_mark(layout, of, CENTRE, layout.slats.width / 2)]
    yield row_of("from each edge, across the top", middle)
    depths = _held_depths(layout, of, screws.plan)
    yield row_of("from the top, into the slat (depth)", depths)


def slat_notes(layout: Layout) -> Iterator[str]:
    screws = layout.slat_screws
    if screws is not None:
        yield f"screws: {held_words(layout, screws.plan)}"


# --- cleats and the boards behind them -----------------------------------------------------


def cleat_rows(layout: Layout, end: str) -> Iterator[MarkRow]:
    """Both holes of a cleat, and where the centre rail comes on it."""
    given = layout.sheet.cleat
    plan = next(plan for plan in layout.cleats if plan.end == end)
    joint, half = cleat_joint(layout, end), layout.sheet.centre_rail.width / 2
    assert joint is not None
    of = f"each {HOLE}"
    yield row_of(
        "from each end, along the face away from the board",
        [
            _mark(layout, of, CENTRE, given.width / 2 - plan.screw_x),
            _mark(layout, "centre rail", "near edge", given.width / 2 - half),
        ],
    )
    lean = (layout.head if end == "head" else layout.foot).lean
    # The far face of a cleat that is bevelled level is the lower by this.
    bevel = given.thickness * math.tan(lean.rake)
    level = plan.top - bevel - lean.own(joint.frame.origin)[2]
    yield row_of("from the upper edge, down that face", [_mark(layout, of, CENTRE, level)])
    yield row_of("from that face, into the cleat (depth)", _held_depths(layout, of, plan.plan))


def cleat_notes(layout: Layout, end: str) -> Iterator[str]:
    joint = cleat_joint(layout, end)
    assert joint is not None
    yield f"screws: {held_words(layout, joint.plan)}"
    yield "the upper edge carries the centre rail: mark it before anything else"
    if end == "head" and layout.rake:
        yield bevel_words(layout)


def board_rows(layout: Layout, end: EndPlan, name: str, integral: bool) -> Iterator[MarkRow]:
    """Where a cleat and its screws come on a board's inside face; none on the other boards."""
    joint = cleat_joint(layout, end.end)
    if joint is None or joint.holder != name:
        return
    given = layout.sheet.cleat
    bottom = next(board.bottom for board in end.boards if board_name(end, board) == name)
    plan = next(plan for plan in layout.cleats if plan.end == end.end)
    of = f"each cleat {HOLE}"
    yield row_of(
        "from the lower edge, up the inside face",
        [
            _mark(layout, "cleat", "lower edge", plan.top - given.height - bottom),
            _mark(layout, of, CENTRE, end.lean.own(joint.frame.origin)[2] - bottom),
            _mark(layout, "cleat", "upper edge", plan.top - bottom),
        ],
    )
    start = "shoulder line" if integral else "end"
    yield row_of(
        f"from each {start}, along the inside face",
        [
            _mark(layout, "cleat", "near end", end.joint_x - given.width / 2),
            _mark(layout, of, CENTRE, end.joint_x - plan.screw_x),
        ],
    )
    deep = [_mark(layout, of, DEPTH, joint.plan.bite)]
    yield row_of("from the inside face, into the board (depth)", deep)


def board_notes(layout: Layout, end: EndPlan, name: str) -> Iterator[str]:
    joint = cleat_joint(layout, end.end)
    if joint is not None and joint.holder == name:
        yield f"cleat screws: {pilot_words(layout, joint.plan, layout.sheet.wood.species)}"


# --- words ---------------------------------------------------------------------------------


def screw_words(layout: Layout, plan: ScrewPlan) -> str:
    """The screw as it is bought."""
    length = format_both(plan.length, layout.sheet.design.unit, denominator=4)
    return f"No. {plan.gauge} wood screws {length} long"


def held_words(layout: Layout, plan: ScrewPlan) -> str:
    """Screw and drills of the part that is held: counterbore first, then the clearance hole."""
    unit, said = layout.sheet.design.unit, [screw_words(layout, plan)]
    if plan.sunk >= SHALLOW:
        wide = drill_words(plan.counterbore, unit)
        said.append(f"counterbore {wide}, {format_both(plan.sunk, unit)} deep")
    said.append(f"clearance hole {drill_words(plan.clearance, unit)}, right through")
    return "; ".join(said)


def pilot_words(layout: Layout, plan: ScrewPlan, species: str) -> str:
    """The pilot drill, its depth, and how it goes by the density of the wood it is bored in."""
    unit, timber, of = (
        layout.sheet.design.unit,
        wood(species, own=layout.sheet.own_woods),
        screw(plan.gauge),
    )
    share = pilot_share(timber.specific_gravity)
    light, dense = (drill_words(pilot_diameter(of, g, unit), unit) for g in (LIGHT, DENSE))
    return (
        f"pilot {drill_words(plan.pilot, unit)}, {format_both(plan.bite, unit)} deep, at most "
        f"{100 * share:.0f} % of the thread's root for {timber.label} of specific gravity "
        f"{timber.specific_gravity:.2f}; in another wood {light} at {LIGHT:.2f} or lighter, "
        f"{dense} at {DENSE:.2f} or denser"
    )


def spacing(layout: Layout, places: Sequence[float]) -> str:
    """A row as first, pitch and count where it is evenly spaced; else how it is not."""
    unit, count = layout.sheet.design.unit, len(places)
    first = f"first {format_both(places[0], unit)} from the head end"
    if count == 1:
        return f"one, {first}"
    pitches = [b - a for a, b in itertools.pairwise(places)]
    if max(pitches) - min(pitches) < _EQUAL:
        # The pitch alone may be rounded, so the last is told too: an error must show.
        return (
            f"{first}, then {count - 1} more at a pitch of {format_both(pitches[0], unit)}, the "
            f"last {format_both(places[-1], unit)} from it; step them off from both ends"
        )
    least, most = (format_both(pitch, unit) for pitch in (min(pitches), max(pitches)))
    return (
        f"{count}, {first}, {least} to {most} apart, as some stand aside of the slats' screws: "
        "strike them from the story stick"
    )


def _held_depths(layout: Layout, of: str, plan: ScrewPlan) -> list[Mark]:
    """Counterbore and clearance hole, each from the face that the head is sunk in."""
    marks = [_mark(layout, of, f"{_CLEAR}, right through", plan.held)]
    if plan.sunk >= SHALLOW:
        marks.append(_mark(layout, of, _SUNK, plan.sunk))
    return marks


def _along(layout: Layout, bores: Sequence[Bore]) -> list[Mark]:
    return [_mark(layout, bore.name, CENTRE, bore.along) for bore in bores]


def _mark(layout: Layout, of: str, what: str, true: float) -> Mark:
    return Mark((of,), what, true, layout.sheet.design.unit)
