"""Setting out: what a maker marks on each part before cutting its joints.

Every row of marks runs from one named reference edge, so nothing adds up:

      joint face
    +------------------------------+ top end
    |     ====        ====         |
    +------------------------------+
    knee |--->|--->|    |    |
         |------------->|    |          running, from the knee
         |------------------>|

reference   the edge or end that a row is measured from
near, far   of two cheeks or edges, the one nearer to the reference
inside face the face towards the mattress; of a rail, the one the runner is on

All values come from the layout, none from a solid; mm, and the sheet's unit as shown.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from bedmodel.angles import told
from bedmodel.bed import Piece
from bedmodel.joints import TenonJoint, board_joints, board_name, tenon_joints
from bedmodel.shop.story_stick import (
    CENTRE,
    Mark,
    along_rail,
    board_heights,
    in_order,
    leg_foot_end,
    leg_heights,
    mark_record,
    merged,
    mortise_name,
    mortise_number,
    runner_end,
    runner_start,
    setback_of,
    shifted,
    slat_edges,
    step_of,
    stick_record,
    story_sticks,
)
from bedmodel.shop.tenon_marks import own_tenon_marks, slot_notes
from bedmodel.skeleton import BoardPlan, EndPlan, Layout

EVERY_MORTISE = "every mortise"
EVERY_HOLE = "every dowel hole"
RULE = (
    "All marks of a row run from its one reference edge; each is rounded from its own true value."
)
# A yaw below this (radians) moves nothing by a micron over a part's width.
_SQUARE = 1e-8
# An error this little over the gap is not worth a warning (mm).
_SLACK = 0.005
_FOOT = "cut to length with square ends; its place is marked on the centre rail"
_COLUMNS = ("kind", "reference", "mark", "true_mm", "shown", "rounding_error_mm")


@dataclass(frozen=True)
class MarkRow:
    """Marks that all run from one reference edge."""

    reference: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class PartMarks:
    """What is marked on one kind of part; ``reason`` says why when nothing is."""

    kind: str
    pieces: tuple[str, ...]
    rows: tuple[MarkRow, ...]
    notes: tuple[str, ...] = ()
    reason: str = ""

    @property
    def count(self) -> int:
        return len(self.pieces)

    @property
    def hands(self) -> tuple[str, ...]:
        """Which hands the pieces are of: left, right, both, or none on the centreline."""
        return tuple(h for h in ("left", "right") if any(p.endswith(f"_{h}") for p in self.pieces))


@dataclass(frozen=True)
class _Found:
    """Rows, notes and the reason for none, before the kind is named."""

    rows: tuple[MarkRow, ...]
    notes: tuple[str, ...] = ()
    reason: str = ""


def setting_out(layout: Layout, pieces: Sequence[Piece]) -> tuple[PartMarks, ...]:
    """Return the marks of every kind of part, in the order of the pieces."""
    kinds: dict[str, list[str]] = {}
    for piece in pieces:
        kinds.setdefault(piece.kind.name, []).append(piece.name)
    builders = dict(_builders(layout))
    return tuple(_part(kind, names, builders, layout) for kind, names in kinds.items())


def marks_record(layout: Layout, pieces: Sequence[Piece]) -> dict[str, Any]:
    """Return the marks of all kinds and the story sticks as JSON holds them."""
    unit = layout.sheet.design.unit
    return {
        "unit": unit,
        "step_mm": step_of(unit),
        "rule": RULE,
        "parts": [_part_record(part) for part in setting_out(layout, pieces)],
        "sticks": [stick_record(stick) for stick in story_sticks(layout)],
    }


def marks_csv(parts: Iterable[PartMarks]) -> str:
    """Return the marks as CSV, one line a mark, lines ended as on every system."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for part in parts:
        for row in part.rows:
            for mark in row.marks:
                exact, error = (f"{v + 0.0:.4f}" for v in (mark.true, mark.error))
                writer.writerow(
                    [part.kind, row.reference, mark.label, exact, mark.shown, _no_minus(error)]
                )
    return text.getvalue()


def _no_minus(text: str) -> str:
    return text.removeprefix("-") if float(text) == 0 else text


def _part_record(part: PartMarks) -> dict[str, Any]:
    return {
        "kind": part.kind,
        "count": part.count,
        "pieces": list(part.pieces),
        "hands": list(part.hands),
        "rows": [
            {"reference": row.reference, "marks": [mark_record(mark) for mark in row.marks]}
            for row in part.rows
        ],
        "notes": list(part.notes),
        "none_because": part.reason,
    }


# --- which kind is marked by whom ----------------------------------------------------------

_Build = Callable[[], _Found]


def _builders(layout: Layout) -> Iterator[tuple[str, _Build]]:
    """For each piece, by its name without the side, the function that gives its marks."""
    for end in layout.ends:
        yield f"{end.end}_leg", partial(_leg, layout, end)
        for board in end.boards:
            yield board_name(end, board), partial(_board, layout, end, board)
    for joint in tenon_joints(layout):
        yield joint.name, partial(_tenon, layout, joint)
    yield "side_rail", partial(_side_rail, layout)
    yield "runner", partial(_runner, layout)
    yield "centre_rail", partial(_centre_rail, layout)
    yield "support_foot_1", partial(_Found, (), (), _FOOT)
    yield "slat_01", partial(_slat, layout)


def _part(kind: str, names: list[str], builders: dict[str, _Build], layout: Layout) -> PartMarks:
    base = names[0].removesuffix("_left").removesuffix("_right")
    build = builders.get(base)
    if build is None:
        return PartMarks(kind, tuple(names), (), reason="no other part is set out on it")
    found = build()
    rows = tuple(row for row in found.rows if row.marks)
    return PartMarks(kind, tuple(names), rows, found.notes, found.reason)


def _mark(layout: Layout, of: str, what: str, true: float) -> Mark:
    return Mark((of,) if of else (), what, true, layout.sheet.design.unit)


def _row(reference: str, marks: Iterable[Mark]) -> MarkRow:
    return MarkRow(reference, tuple(in_order(marks)))


# --- legs and boards -----------------------------------------------------------------------


def _leg(layout: Layout, end: EndPlan) -> _Found:
    start, top = leg_foot_end(layout), end.leg_top
    straight = layout.legs.foot is None
    heights = leg_heights(layout, end)
    upward = [*shifted(heights, -start), _mark(layout, "", "top end", top - start)]
    downward = [_from_top(mark, top) for mark in heights]
    last = "foot end" if straight else "knee, where the joint face ends"
    downward.append(_mark(layout, "", last, top - start))
    joints = [joint for joint in board_joints(layout) if joint.leg == f"{end.end}_leg"]
    first = "foot end" if straight else "knee"
    rows = (
        _row(f"from the {first}, up the joint face", upward),
        _row("from the top end, down the joint face", downward),
        MarkRow("from the inside face, across the joint face", _cheeks(layout, joints)),
        MarkRow("from the joint face, into the leg (depth)", _depths(layout, joints)),
        _row("from the joint face, across the inside face", _rail_on_leg(layout)),
    )
    notes = [
        "marks are mirrored: lay the two legs side by side, inside faces up, joint faces touching, "
        "and mark both at once",
        *_coarse(layout, joints),
        *slot_notes(joints),
    ]
    if not straight:
        floor = layout.sheet.show(start)
        notes.append(
            f"the knee is the foot end of the joint face, {floor} above the floor measured plumb"
        )
    return _Found(rows, tuple(notes))


def _from_top(mark: Mark, top: float) -> Mark:
    return Mark(mark.of, mark.what, top - mark.true, mark.unit)


def _cheeks(layout: Layout, joints: Sequence[TenonJoint]) -> tuple[Mark, ...]:
    """Both cheeks of each mortise of a leg, or a hole's centre, from the leg's inside face."""
    named = [
        mark
        for joint in joints
        for mark in _across(layout, joint, mortise_name(joint), setback_of(joint))
    ]
    return tuple(merged(named, _every(joints)))


def _across(layout: Layout, joint: TenonJoint, name: str, middle: float) -> list[Mark]:
    if joint.plan.is_dowel:
        return [_mark(layout, name, CENTRE, middle)]
    half = joint.plan.mortise_width / 2
    return [
        _mark(layout, name, "near cheek", middle - half),
        _mark(layout, name, "far cheek", middle + half),
    ]


def _every(joints: Sequence[TenonJoint]) -> str:
    return EVERY_HOLE if any(joint.plan.is_dowel for joint in joints) else EVERY_MORTISE


def _depths(layout: Layout, joints: Sequence[TenonJoint]) -> tuple[Mark, ...]:
    plans = ((mortise_name(joint), joint.plan) for joint in joints)
    depths = [_mark(layout, name, "depth", p.embedment_leg + p.end_gap) for name, p in plans]
    return tuple(merged(depths, _every(joints)))


def _rail_on_leg(layout: Layout) -> list[Mark]:
    rail = layout.sheet.side_rail
    across = rail.thickness / math.cos(layout.yaw)
    return [
        _mark(layout, "side rail", "inside face", rail.reveal),
        _mark(layout, "side rail", "show face", rail.reveal + across),
    ]


def _coarse(layout: Layout, joints: Sequence[TenonJoint]) -> tuple[str, ...]:
    """Warn where the rule is coarser than the gap that a tenon or a dowel is given."""
    gap = min((joint.plan.cheek_clearance for joint in joints), default=math.inf)
    holes = {joint.plan.mortise_width for joint in joints if joint.plan.is_dowel}
    if holes:
        sizes = ", ".join(f"{size:g} mm" for size in sorted(holes))
        return (
            f"dowel holes of {sizes} must meet within {gap:g} mm, finer than a rule shows: drill "
            "board and leg through one jig, set from these marks",
        )
    worst = max((abs(mark.error) for mark in _cheeks(layout, joints)), default=0.0)
    if worst <= gap + _SLACK:
        return ()
    return (
        f"cheeks as shown are up to {worst:.2f} mm off, more than the tenon's gap of {gap:g} mm: "
        "set the cutter to the true value, or by a tenon",
    )


def _board(layout: Layout, end: EndPlan, board: BoardPlan) -> _Found:
    name = board_name(end, board)
    if board.tenons.integral:
        found, said = own_tenon_marks(layout, end, board)
        return _Found(tuple(MarkRow(*row) for row in found), said)
    joints = [joint for joint in tenon_joints(layout) if joint.board == name]
    across, depths = [], []
    for joint in joints:
        plan, of = joint.plan, mortise_number(joint)
        across += _across(layout, joint, of, setback_of(joint) - end.reveal)
        depths.append(_mark(layout, of, "depth", plan.embedment_board + plan.end_gap))
    rows = (
        _row("from the lower edge, on both ends", board_heights(layout, end, board)),
        _row("from the inside face, on both ends", merged(across, _every(joints))),
        _row("from each end, into the board (depth)", merged(depths, _every(joints))),
    )
    notes = (
        "mark both ends from the same lower edge and the same inside face; the two ends are then "
        "mirrored, not turned",
        *_coarse(layout, joints),
    )
    return _Found(rows, notes)


def _tenon(layout: Layout, joint: TenonJoint) -> _Found:
    line = _mark(layout, "", "joint line, between board and leg", joint.plan.embedment_board)
    return _Found(
        (MarkRow("from the end that goes into the board", (line,)),),
        ("the joint line shows that it stands as far in as it should", _glue_note(layout, joint)),
    )


def _glue_note(layout: Layout, joint: TenonJoint) -> str:
    """Where the tenon is glued: a wide board is held in one zone only, so that it can move."""
    if joint.is_glued:
        return "glue it in the board and in the leg"
    room = layout.sheet.show(joint.slack)
    return f"glue it in the board only: dry in the leg, with {room} to slide up and down"


# --- rails, runners and slats --------------------------------------------------------------


def _side_rail(layout: Layout) -> _Found:
    sheet, yaw = layout.sheet, layout.yaw
    thickness, lower = sheet.side_rail.thickness, layout.runner_top - sheet.runner.height
    heights = [
        _mark(layout, "runner", "lower edge", lower - layout.rail_bottom),
        _mark(layout, "runner", "upper edge", layout.runner_top - layout.rail_bottom),
    ]
    along = [
        _mark(layout, "runner", "head end", runner_start(layout)),
        _mark(layout, "runner", "foot end", runner_end(layout)),
        *along_rail(layout, slat_edges(layout)),
    ]
    back = _mark(layout, "runner", "foot end", layout.rail_length - runner_end(layout))
    cut = _mark(layout, "end cuts", "out of square at the show face", thickness * math.tan(yaw))
    rows = (
        MarkRow("from a square line at the inside face, on both edges", (cut,)),
        _row("from the lower edge, on the inside face", heights),
        _row("from the head end, along the inside face", along),
        _row("from the foot end, along the inside face", [back]),
    )
    angle = told(math.degrees(yaw), thickness, sheet.design.unit)
    notes = [
        f"end cuts, both alike and parallel: {angle}",
        "left and right are one part until marked, then mirrored: lay them side by side, inside "
        "faces up, lower edges touching, and mark both at once",
    ]
    if yaw > _SQUARE:
        notes.append(
            "the show face runs on past the square line at the head end and stops short of it at "
            "the foot end"
        )
    return _Found(rows, tuple(notes))


def _runner(layout: Layout) -> _Found:
    sheet, yaw = layout.sheet, layout.yaw
    marks = shifted(along_rail(layout, slat_edges(layout)), -runner_start(layout))
    notes = [
        "left and right: lay them side by side, tops up, edges touching, and mark both at once"
    ]
    if yaw > _SQUARE:
        over = told(math.degrees(yaw), sheet.runner.width, sheet.design.unit)
        notes = [
            "left and right are mirrored: lay them side by side, tops up, rail edges touching, and "
            "mark both at once",
            "the slats lie square to the bed, not to the runner: on the edge away from the rail "
            f"each line comes nearer to the foot, {over}",
        ]
    reference = "from the head end, along the rail edge of the top"
    return _Found((MarkRow(reference, tuple(marks)),), tuple(notes))


def _centre_rail(layout: Layout) -> _Found:
    plan, size = layout.centre_rail, layout.sheet.support_foot.size
    if plan is None:
        return _Found((), reason="this bed has no centre rail")
    feet = []
    for i, y in enumerate(plan.feet):
        foot, place = f"support_foot_{i + 1}", y - plan.start
        feet.append(_mark(layout, foot, "near edge", place - size / 2))
        feet.append(_mark(layout, foot, CENTRE, place))
        feet.append(_mark(layout, foot, "far edge", place + size / 2))
    rows = (
        MarkRow(
            "from the head end, along the top", tuple(shifted(slat_edges(layout), -plan.start))
        ),
        MarkRow("from the head end, along the underside", tuple(feet)),
    )
    return _Found(rows, ("mark which end is the head end before anything else",))


def _slat(layout: Layout) -> _Found:
    """Where runners and centre rail come under a slat, on the middle of its width."""
    half, bearings = layout.slats.length / 2, _bearings(layout)
    under = []
    if layout.centre_rail is not None:
        rail = layout.sheet.centre_rail.width / 2
        under.append(_mark(layout, "centre rail", "near edge", half - rail))
        under.append(_mark(layout, "centre rail", "far edge", half + rail))
    if layout.yaw <= _SQUARE:
        bearing = bearings[0]
        under.append(_mark(layout, "left runner", "inner edge", bearing))
        under.append(_mark(layout, "right runner", "inner edge", 2 * half - bearing))
        return _Found((_row("from the left end, along the underside", under),))
    marks = [
        _mark(layout, f"slat_{i + 1:02d}", "inner edge of the runner", bearing)
        for i, bearing in enumerate(bearings)
    ]
    over = told(math.degrees(layout.yaw), layout.slats.width, layout.sheet.design.unit)
    rows = (
        _row("from the left end, along the underside", under),
        MarkRow("from either end, along the middle of the underside", tuple(marks)),
    )
    notes = (
        "all slats are one length and the runners draw together towards the foot, so each slat "
        "bears a little more than the one before: number the slats from the head",
        f"the runner's edge crosses the slat out of square: {over}",
    )
    return _Found(rows, notes)


def _bearings(layout: Layout) -> list[float]:
    """How far each slat reaches over its runner, on the middle of the slat's width."""
    across = layout.sheet.runner.width / math.cos(layout.yaw)
    half = layout.slats.length / 2
    middles = (y + layout.slats.width / 2 for y in layout.slats.starts())
    return [half - (layout.half_width(y) - across) for y in middles]
