"""Where pieces are joined: one record for each joint of both sides, in words and in place.

The layout holds the right-hand joints; the left are their mirror images.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.bed import Piece
from bedmodel.exports.report.fill_meetings import fill_meetings
from bedmodel.exports.report.meeting import Meeting as Meeting
from bedmodel.exports.report.words import titled
from bedmodel.frames import Vector
from bedmodel.joints import TenonJoint, board_joints
from bedmodel.platform_screws import ScrewJoint
from bedmodel.rail_joints import RAIL, leg_name
from bedmodel.screw_joints import screw_joints
from bedmodel.skeleton import Layout
from bedmodel.spec import Sheet

_HANDS = ("right", "left")


def meetings(layout: Layout, pieces: Sequence[Piece]) -> tuple[Meeting, ...]:
    """Every joint of the bed."""
    names = {piece.name for piece in pieces}
    return tuple(
        found
        for source in (_tenons, fill_meetings, _fasteners, _screws)
        for found in source(layout, names)
        if len(found.pieces) > 1
    )


def _named(names: set[str], name: str, hand: str) -> Iterator[str]:
    """The piece of that name on one side, or on the centreline; none when there is none."""
    for found in (f"{name}_{hand}", name):
        if found in names:
            yield found
            return


def _on(hand: str, at: Vector) -> Vector:
    return at if hand == "right" else (-at[0], at[1], at[2])


# --- boards and legs -----------------------------------------------------------------------


def _tenons(layout: Layout, names: set[str]) -> Iterator[Meeting]:
    for joint in board_joints(layout):
        title, told = _tenon_words(joint, layout.sheet)
        for hand in _HANDS:
            parts = [
                n
                for stem in (joint.board, joint.leg, joint.name)
                for n in _named(names, stem, hand)
            ]
            yield Meeting("tenon", title, told, tuple(parts), (_on(hand, joint.frame.origin),))


def _tenon_words(joint: TenonJoint, sheet: Sheet) -> tuple[str, str]:
    plan, show = joint.plan, sheet.show
    if plan.is_dowel:
        size = f"{show(plan.thickness)} diameter"
    else:
        size = f"{show(plan.width)} wide, {show(plan.thickness)} thick"
    depth = f"{show(plan.embedment_leg)} into the leg"
    if not plan.integral:
        depth += f", {show(plan.embedment_board)} into the board"
    if joint.is_haunch:
        return "Haunch", f"{size}, {depth}; dry"
    kind = "Dowel" if plan.is_dowel else "Tenon on the board" if plan.integral else "Loose tenon"
    glue = "glued" if joint.is_glued else f"dry in the leg, {show(joint.slack)} to slide each way"
    return kind, f"{size}, {depth}; {glue}"


# --- rails and legs ------------------------------------------------------------------------


def _fasteners(layout: Layout, names: set[str]) -> Iterator[Meeting]:
    plan = layout.fastener
    if plan is None:
        return
    title = titled(plan.kind.removesuffix("s"))
    seen = f"; {plan.shows} can be seen" if plan.shows else "; hidden when hung"
    told = f"{plan.row.name}, its middle {layout.sheet.show(plan.height)} above the floor{seen}"
    for corner in plan.corners:
        stems = [RAIL, leg_name(corner), *(f"{corner.end}_{p.name}" for p in corner.fitting.loose)]
        for hand in _HANDS:
            parts = [n for stem in stems for n in _named(names, stem, hand)]
            yield Meeting("rail", title, told, tuple(parts), (_on(hand, corner.joint.origin),))


# --- screws --------------------------------------------------------------------------------


def _screws(layout: Layout, names: set[str]) -> Iterator[Meeting]:
    rows: dict[tuple[str, str, str], list[ScrewJoint]] = {}
    for joint in screw_joints(layout):
        for hand in _HANDS:
            rows.setdefault((joint.held, joint.holder, hand), []).append(joint)
    for (held, holder, hand), row in rows.items():
        parts = [n for stem in (held, holder) for n in _named(names, stem, hand)]
        # Where both lie on the centreline, each hand has its own screws.
        at = tuple(_on(hand, joint.frame.point((0.0, 0.0, joint.plan.held))) for joint in row)
        yield Meeting("screw", *_screw_words(row, layout.sheet), tuple(parts), at)


def _screw_words(row: Sequence[ScrewJoint], sheet: Sheet) -> tuple[str, str]:
    plan, show = row[0].plan, sheet.show
    many = f"{len(row)} screws" if len(row) > 1 else "1 screw"
    told = (
        f"{many}, gauge {plan.gauge} × {show(plan.length)}; clearance hole "
        f"{plan.clearance:.1f} mm, pilot {plan.pilot:.1f} mm, bite {show(plan.bite)}"
    )
    return "Screws", told
