"""Screws of runners, slats and cleats: how many, where, and one record for each joint.

The joint frame lies in the bed, on the face that the head is sunk in: z along the
screw, into the wood.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.cuts import Cut, Mortise
from bedmodel.deck_screws import RunnerPlaces
from bedmodel.errors import InputError
from bedmodel.fasteners.choice import Corner, FastenerPlan
from bedmodel.frames import Frame, Vector
from bedmodel.pocket import Pocket
from bedmodel.screwing import Joint, ScrewPlan, screw_plan
from bedmodel.slats import SlatRow
from bedmodel.spec import Sheet
from bedmodel.supports import row_bearing

RUNNER_GAUGES = (10, 9, 8, 7, 6, 5, 4)
SLAT_GAUGES = (8, 7, 6, 5, 4)
SHALLOW = 0.2  # a head sunk less than this lies flush: no counterbore
END_LEAST = 30.0  # from a runner's end to its first screw, at least
BESIDE = 4.0  # more than the wall, between a fastener and the first screw


@dataclass(frozen=True)
class RunnerScrews:
    """Screws through the right runner: places along the rail from its head end (mm)."""

    plan: ScrewPlan
    places: tuple[float, ...]
    above_runner: float


@dataclass(frozen=True)
class SlatScrews:
    """One screw at each end of each slat, ``inset`` from the slat's end (mm)."""

    plan: ScrewPlan
    inset: float
    only_ends: bool = False  # webbed: the first and the last slat alone
    inner: float | None = None  # of two rows: the second screw from the slat's inner end

    def numbers(self, count: int) -> tuple[int, ...]:
        """The slats, from 1, that are screwed."""
        return (1, count) if self.only_ends else tuple(range(1, count + 1))


@dataclass(frozen=True)
class ScrewJoint:
    """One screw on the right-hand side or the centreline, between two pieces named.

    ``frame`` is in the bed; a piece on the centreline has its mirror image too.
    """

    name: str
    held: str
    holder: str
    frame: Frame
    plan: ScrewPlan

    def cuts_in_held(self, placement: Frame, hand: str = "right") -> tuple[Cut, ...]:
        """Counterbore and clearance hole in the part that is held."""
        plan, start = self.plan, placement.inverse() @ self._frame(hand)
        family = f"{self.name}_{hand}"
        if plan.sunk < SHALLOW:
            return (_hole(f"{family}_clearance", start, plan.clearance, plan.held, family),)
        floor = start.moved(start.direction((0.0, 0.0, plan.sunk)))
        clear = _hole(f"{family}_clearance", floor, plan.clearance, plan.held - plan.sunk, family)
        return (_hole(f"{family}_counterbore", start, plan.counterbore, plan.sunk, family), clear)

    def cut_in_holder(self, placement: Frame, hand: str = "right") -> Cut:
        """The pilot hole in the part that it holds to."""
        frame = self._frame(hand)
        joint = placement.inverse() @ frame.moved(frame.direction((0.0, 0.0, self.plan.held)))
        family = f"{self.name}_{hand}"
        d = self.plan.pilot
        return Mortise(f"{family}_pilot", joint, d, d, self.plan.bite, role="pilot", family=family)

    def _frame(self, hand: str) -> Frame:
        if hand == "right":
            return self.frame
        f = self.frame
        return Frame.from_zx(_mirrored(f.origin), _mirrored(f.z), _mirrored(f.x))


def _mirrored(v: Vector) -> Vector:
    return (-v[0], v[1], v[2])


def _hole(name: str, frame: Frame, diameter: float, depth: float, family: str) -> Mortise:
    through = name.endswith("clearance")
    return Mortise(
        name, frame, diameter, diameter, depth, role="hole", family=family, through=through
    )


def slat_screws(sheet: Sheet, pocket: Pocket, row: SlatRow) -> SlatScrews | None:
    """The screws of the slats. Raises InputError where they find no room on the runners."""
    if sheet.slat.joint != "screws":
        return None
    runner, slat, wall = sheet.runner, sheet.slat, sheet.fastener.wall_least
    plan = screw_plan(
        sheet,
        Joint(
            gauge_name="screw.slat_gauge",
            length_name="screw.slat_length",
            gauge=sheet.screw.slat_gauge,
            length=sheet.screw.slat_length,
            gauges=SLAT_GAUGES,
            held=slat.thickness,
            held_name="slat.thickness",
            holder=_least_holder(sheet)[0],
            holder_name=_least_holder(sheet)[1],
            across=slat.width,
            across_name="slat.width",
            specific_gravity=sheet.inside_wood.specific_gravity,
        ),
    )
    # All slats are one length, so the rail stands off the more the nearer to the head.
    gaps = [pocket.half_width(y + row.width / 2) - row.length / 2 for y in row.starts()]
    nearest, furthest = min(gaps), max(gaps)
    inset = runner.width / math.cos(pocket.yaw) / 2 - (nearest + furthest) / 2
    eased = runner.edge_size if runner.edge != "square" else 0.0
    spare = runner.width / 2 - (furthest - nearest) / 2 - eased - wall - plan.pilot / 2
    least = wall + plan.counterbore / 2
    if spare < -1e-9 or inset < least - 1e-9:
        short = max(-2 * spare, 2 * (least - inset), 0.0)
        raise InputError(
            "runner.width",
            sheet.show(runner.width),
            f"must be at least {sheet.at_least(runner.width + short)} for the slats' screws",
            'make the runner wider, or slat.joint "loose"',
        )
    return SlatScrews(plan, inset, sheet.support.kind == "webbed", _inner(sheet, plan))


def _least_holder(sheet: Sheet) -> tuple[float, str]:
    """The shallower of what slats are screwed to, and its parameter."""
    runner, rail = (sheet.runner.height, "runner.height"), sheet.centre_rail
    if sheet.support.rows == 1 or rail.kind == "beam":
        return runner
    return min(runner, (rail.height, "centre_rail.height"))


def _inner(sheet: Sheet, plan: ScrewPlan) -> float | None:
    """Of two rows, how far from its inner end a slat is screwed to the centre rail.

    Raises InputError with the width of rail on which there is room.
    """
    if sheet.support.rows == 1:
        return None
    wall, rail = sheet.fastener.wall_least, sheet.centre_rail
    eased = rail.edge_size if rail.edge != "square" else 0.0
    flat = row_bearing(sheet)
    # From the slat's end to the counterbore's wall; from the rail's eased edge to the pilot's.
    least, most = wall + plan.counterbore / 2, flat - wall - plan.pilot / 2
    if most < least - 1e-9:
        raise InputError(
            "centre_rail.width",
            sheet.show(rail.width),
            f"must be at least {sheet.at_least(rail.width + 2 * (least - most))} for the inner "
            "screws of two rows",
            'make it wider, or slat.joint "loose"',
        )
    return min(max((flat + eased) / 2, least), most)


def runner_screws(
    sheet: Sheet,
    pocket: Pocket,
    fastener: FastenerPlan | None,
    slats: tuple[SlatRow, SlatScrews | None],
    panels: RunnerPlaces | None = None,
) -> RunnerScrews | None:
    """The screws of a runner, clear of the rail's fasteners and of the slats' or panels' screws."""
    runner = sheet.runner
    if runner.joint != "screws":
        return None
    plan = screw_plan(
        sheet,
        Joint(
            gauge_name="screw.runner_gauge",
            length_name="screw.runner_length",
            gauge=sheet.screw.runner_gauge,
            length=sheet.screw.runner_length,
            gauges=RUNNER_GAUGES,
            held=runner.width,
            held_name="runner.width",
            holder=sheet.side_rail.thickness,
            holder_name="side_rail.thickness",
            across=runner.height,
            across_name="runner.height",
            specific_gravity=sheet.bed_wood.specific_gravity,
        ),
    )
    head, foot = _clear_ends(sheet, pocket, fastener, plan)
    span = foot - head
    count = 1 + max(1, math.ceil(span / sheet.screw.runner_pitch - 1e-9))
    wanted = [head + span * i / (count - 1) for i in range(count)]
    taken, pilot = _taken(pocket, slats, panels)
    places = _beside(sheet, wanted, plan, pocket, (taken, pilot))
    return RunnerScrews(plan, tuple(places), runner.height / 2)


def head_gap(sheet: Sheet, pocket: Pocket) -> float:
    """From the pocket's head end along a rail's inside face to its runner, whose end is square.

    The gap is kept at the corner that comes nearest to the leg: that towards the middle of
    the bed, and the lower one where the head end leans.
    """
    runner = sheet.runner
    turned = runner.end_gap / math.cos(pocket.yaw) + runner.width * math.tan(pocket.yaw)
    return turned + pocket.lost_below(sheet.slat.thickness + runner.height) / math.cos(pocket.yaw)


def _clear_ends(
    sheet: Sheet, pocket: Pocket, fastener: FastenerPlan | None, plan: ScrewPlan
) -> tuple[float, float]:
    """The first and the last place along the rail that a screw may have."""
    start = sheet.runner.end_gap / math.cos(pocket.yaw)
    first = head_gap(sheet, pocket) + END_LEAST
    last = pocket.rail_length - start - END_LEAST
    if fastener is not None:
        clear = sheet.fastener.wall_least + plan.pilot / 2 + BESIDE
        head, foot = (
            _reach(corner.fitting.rail_cuts, corner.joint, _rail_face(corner, pocket))
            for corner in fastener.corners
        )
        first = max(first, head + clear)
        last = min(last, pocket.rail_length - foot - clear)
    return first, last


def _rail_face(corner: Corner, pocket: Pocket) -> Frame:
    """The rail's inside face, x along it from its end; at a raked one, from the platform's line."""
    if corner.end == "foot" or not pocket.rake:
        return corner.face
    sine, cosine = math.sin(pocket.yaw), math.cos(pocket.yaw)
    return Frame.from_zx((pocket.half_head, 0.0, 0.0), corner.face.z, (-sine, cosine, 0.0))


def _reach(cuts: Sequence[Cut], joint: Frame, face: Frame) -> float:
    """How far a fastener's cuts go along the rail, from its end."""
    there = face.inverse() @ joint
    furthest = 0.0
    for cut in cuts:
        f = there @ cut.frame
        half = abs(f.x[0]) * cut.length / 2 + abs(f.y[0]) * cut.width / 2
        furthest = max(furthest, f.origin[0] + half, f.origin[0] + f.z[0] * cut.depth + half)
    return furthest


def _taken(
    pocket: Pocket, slats: tuple[SlatRow, SlatScrews | None], panels: RunnerPlaces | None
) -> tuple[list[float], float]:
    """Where along the rail screws go down into the runner, and their pilots' diameter."""
    row, screws = slats
    if panels is not None:
        places = [_along(pocket, screw.x, screw.y) for screw in panels.screws]
        return places, panels.plan.pilot
    if screws is None:
        return [], 0.0
    x, starts = row.length / 2 - screws.inset, row.starts()
    numbers = screws.numbers(row.count)
    return [_along(pocket, x, starts[i - 1] + row.width / 2) for i in numbers], screws.plan.pilot


def _beside(
    sheet: Sheet,
    wanted: Sequence[float],
    plan: ScrewPlan,
    pocket: Pocket,
    others: tuple[list[float], float],
) -> Iterator[float]:
    """The wanted places, each moved as little as keeps it clear of the others' pilots."""
    taken, pilot = others
    if not taken:
        yield from wanted
        return
    clear = (plan.counterbore + pilot) / 2 + sheet.fastener.wall_least
    for place in wanted:
        near = min(taken, key=lambda t: abs(t - place))
        if abs(place - near) >= clear:
            yield place
            continue
        # Towards the middle of the rail, so that the end screws stay clear of the fasteners.
        middle = pocket.rail_length / 2
        yield near + clear if near < middle else near - clear


def _along(pocket: Pocket, x: float, y: float) -> float:
    """How far along the rail from its head end a place of the bed lies."""
    return (pocket.half_head - x) * math.sin(pocket.yaw) + y * math.cos(pocket.yaw)
