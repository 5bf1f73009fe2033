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
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from bedmodel.bed import Piece
from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.joints import TenonJoint, board_joints, tenon_joints
from bedmodel.shape import Shape
from bedmodel.shop.deck_marks import centre_rail, cleat, rail_on_leg, runner, side_rail, slat
from bedmodel.shop.fastener_marks import leg_notes, leg_rows, loose_names, loose_part
from bedmodel.shop.fill_marks import fill_parts, leg_fill_rows, rail_notes, rail_rows
from bedmodel.shop.marks import (
    CENTRE,
    DEPTH,
    Found,
    Mark,
    MarkRow,
    mark_record,
    merged,
    row_of,
    shifted,
    step_of,
)
from bedmodel.shop.raked import raked_leg_notes
from bedmodel.shop.screw_marks import board_notes, board_rows
from bedmodel.shop.stop_marks import stop_rows
from bedmodel.shop.story_stick import (
    board_heights,
    leg_foot_end,
    leg_heights,
    mortise_name,
    mortise_number,
    setback_of,
    stick_record,
    story_sticks,
)
from bedmodel.shop.support_marks import batten_marks, panel_marks
from bedmodel.shop.tenon_marks import own_tenon_marks, slot_notes
from bedmodel.skeleton import Layout

EVERY_MORTISE = "every mortise"
EVERY_HOLE = "every dowel hole"
RULE = (
    "All marks of a row run from its one reference edge; each is rounded from its own true value."
)
# An error this little over the gap is not worth a warning (mm).
_SLACK = 0.005
_FOOT = "cut to length with square ends; its place is marked on the centre rail"
_COLUMNS = ("kind", "reference", "mark", "true_mm", "shown", "rounding_error_mm")


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


def setting_out(layout: Layout, pieces: Sequence[Piece]) -> tuple[PartMarks, ...]:
    """Return the marks of every kind of part, in the order of the pieces."""
    kinds: dict[str, list[str]] = {}
    for piece in pieces:
        kinds.setdefault(piece.kind.name, []).append(piece.name)
    builders = dict(_builders(layout))
    shapes = {piece.kind.name: piece.kind.shape for piece in pieces}
    return tuple(
        with_stops(_part(kind, names, builders, layout), shapes[kind], layout)
        for kind, names in kinds.items()
    )


def with_stops(part: PartMarks, shape: Shape, layout: Layout) -> PartMarks:
    """The marks of a part, with those where its edge profiles stop."""
    rows = tuple(stop_rows(shape, layout))
    return replace(part, rows=(*part.rows, *rows), reason="") if rows else part


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

_Build = Callable[[], Found]


def _builders(layout: Layout) -> Iterator[tuple[str, _Build]]:
    """For each piece, by its name without the side, the function that gives its marks."""
    for end in layout.ends:
        yield f"{end.end}_leg", partial(_leg, layout, end)
        for board in end.boards:
            yield board_name(end, board), partial(_board, layout, end, board)
    for name, found in fill_parts(layout):
        yield name, partial(_as_found, found)
    for joint in tenon_joints(layout):
        yield joint.name, partial(_tenon, layout, joint)
    for name in loose_names(layout):
        yield name, partial(loose_part, layout, name)
    yield "side_rail", partial(side_rail, layout)
    yield "runner", partial(runner, layout)
    yield "centre_rail", partial(centre_rail, layout)
    for plan in layout.cleats:
        yield f"{plan.end}_cleat", partial(cleat, layout, plan.end)
    yield "support_foot_1", partial(Found, (), (), _FOOT)
    # Webbed slats differ: the first and the last are screwed.
    yield "slat_01", partial(slat, layout)
    yield "slat_02", partial(slat, layout)
    for place in layout.deck.panels if layout.deck else ():
        yield f"deck_panel_{place.number}", partial(panel_marks, layout, place)
    for batten in layout.deck.battens if layout.deck else ():
        yield f"deck_batten_{batten.number}", partial(batten_marks, layout, batten)


def _part(kind: str, names: list[str], builders: dict[str, _Build], layout: Layout) -> PartMarks:
    base = names[0].removesuffix("_left").removesuffix("_right")
    build = builders.get(base)
    if build is None:
        return PartMarks(kind, tuple(names), (), reason="no other part is set out on it")
    found = build()
    rows = tuple(row for row in found.rows if row.marks)
    return PartMarks(kind, tuple(names), rows, found.notes, found.reason)


def _as_found(found: Found) -> Found:
    return found


def _mark(layout: Layout, of: str, what: str, true: float) -> Mark:
    return Mark((of,) if of else (), what, true, layout.sheet.design.unit)


# --- legs and boards -----------------------------------------------------------------------


def _leg(layout: Layout, end: EndPlan) -> Found:
    start, top = leg_foot_end(layout, end), end.leg_top
    straight = layout.legs.joint_start == 0
    heights = leg_heights(layout, end)
    upward = [*shifted(heights, -start), _mark(layout, "", "top end", top - start)]
    downward = [_from_top(mark, top) for mark in heights]
    last = "foot end" if straight else "knee, where the joint face ends"
    downward.append(_mark(layout, "", last, top - start))
    joints = [joint for joint in board_joints(layout) if joint.leg == f"{end.end}_leg"]
    first = "foot end" if straight else "knee"
    rows = (
        row_of(f"from the {first}, up the joint face", upward),
        row_of("from the top end, down the joint face", downward),
        MarkRow("from the inside face, across the joint face", _cheeks(layout, joints)),
        MarkRow("from the joint face, into the leg (depth)", _depths(layout, joints)),
        *leg_fill_rows(layout, end),
        *leg_rows(layout, end, rail_on_leg(layout)),
        *_gauged(layout),
    )
    notes = [
        "marks are mirrored: lay the two legs side by side, inside faces up, joint faces touching, "
        "and mark both at once",
        *_coarse(layout, joints),
        *leg_notes(layout),
        *layout.legs.notes,
        *slot_notes(joints),
    ]
    if not straight:
        floor = layout.sheet.show(end.lean.plumb(start))
        notes.append(
            f"the knee is the foot end of the joint face, {floor} above the floor measured plumb"
        )
    notes += raked_leg_notes(layout, end)
    return Found(rows, tuple(notes))


def _gauged(layout: Layout) -> Iterator[MarkRow]:
    """What is shaped below the joint, once the joints are cut: a row for each reference."""
    rows: dict[str, list[Mark]] = {}
    for gauge in layout.legs.gauges():
        rows.setdefault(gauge.reference, []).append(_mark(layout, "", gauge.what, gauge.value))
    for reference, marks in rows.items():
        start = "from " if reference.startswith(("the ", "each ")) else ""
        yield MarkRow(start + reference, tuple(marks))


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
    depths = [_mark(layout, name, DEPTH, p.embedment_leg + p.end_gap) for name, p in plans]
    return tuple(merged(depths, _every(joints)))


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


def _board(layout: Layout, end: EndPlan, board: BoardPlan) -> Found:
    name = board_name(end, board)
    if board.tenons.integral:
        found, said = own_tenon_marks(layout, end, board)
        own = (MarkRow(*row) for row in found)
        cleats = board_rows(layout, end, name, integral=True)
        rows = (*own, *rail_rows(layout, end, board), *cleats)
        told = (*rail_notes(layout, end, board), *board_notes(layout, end, name))
        return Found(rows, (*said, *told))
    joints = [joint for joint in tenon_joints(layout) if joint.board == name]
    across, depths = [], []
    for joint in joints:
        plan, of = joint.plan, mortise_number(joint)
        across += _across(layout, joint, of, setback_of(joint) - end.reveal)
        depths.append(_mark(layout, of, DEPTH, plan.embedment_board + plan.end_gap))
    rows = (
        row_of("from the lower edge, on both ends", board_heights(layout, end, board)),
        row_of("from the inside face, on both ends", merged(across, _every(joints))),
        row_of("from each end, into the board (depth)", merged(depths, _every(joints))),
        *rail_rows(layout, end, board),
        *board_rows(layout, end, name, integral=False),
    )
    notes = (
        "mark both ends from the same lower edge and the same inside face; the two ends are then "
        "mirrored, not turned",
        *_coarse(layout, joints),
        *rail_notes(layout, end, board),
        *board_notes(layout, end, name),
    )
    return Found(rows, notes)


def _tenon(layout: Layout, joint: TenonJoint) -> Found:
    line = _mark(layout, "", "joint line, between board and leg", joint.plan.embedment_board)
    return Found(
        (MarkRow("from the end that goes into the board", (line,)),),
        ("the joint line shows that it stands as far in as it should", _glue_note(layout, joint)),
    )


def _glue_note(layout: Layout, joint: TenonJoint) -> str:
    """Where the tenon is glued: a wide board is held in one zone only, so that it can move."""
    if joint.is_glued:
        return "glue it in the board and in the leg"
    room = layout.sheet.show(joint.slack)
    return f"glue it in the board only: dry in the leg, with {room} to slide up and down"
