"""Where what fills an end is joined: uprights in rails, stub tenons, grooves, caps' dowels."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.end_joints import FillJoints
from bedmodel.exports.report.meeting import Meeting
from bedmodel.exports.report.words import titled
from bedmodel.frames import Vector
from bedmodel.skeleton import Layout

_HANDS = ("right", "left")


def fill_meetings(layout: Layout, names: set[str]) -> Iterator[Meeting]:
    """Every joint of what fills and caps the ends; ``names`` are those of the pieces."""
    show, joints = layout.sheet.show, FillJoints.of(layout)
    for let_in in joints.let_ins:
        plan = let_in.plan
        size = f"{show(plan.tenon_width)} diameter"
        if not plan.is_round:
            size = f"{show(plan.tenon_width)} wide, {show(plan.tenon_thickness)} thick"
        told = f"{size}, {show(plan.let_in)} into the rail"
        pair = (let_in.upright, let_in.rail)
        yield Meeting(
            "tenon", f"{titled(plan.word)} in its rail", told, pair, (let_in.frame.origin,)
        )
    for stub in joints.stubs:
        told = f"{show(stub.plan.tenon_width)} wide, {show(stub.plan.tenon_length)} in the groove"
        yield Meeting("tenon", "Stub tenon", told, (stub.upright, stub.rail), (stub.frame.origin,))
    for groove in joints.grooves:
        told = f"{show(groove.plan.groove_width)} wide, {show(groove.plan.groove_depth)} deep"
        for part, place in _both(groove.part, groove.frame.origin, names):
            yield Meeting("tenon", "Panel groove", f"{told}; the panel dry", (part,), (place,))
    for cap in joints.caps:
        told = f"{show(cap.plan.diameter)} diameter, {show(cap.plan.in_below)} below the cap"
        for dowel, place in _both(cap.name, cap.frame.origin, names):
            below = f"{cap.below}{dowel.removeprefix(cap.name)}"
            parts = (cap.cap, below, dowel)
            yield Meeting("tenon", "Dowel under the cap", told, parts, (place,))


def _both(stem: str, at: Vector, names: set[str]) -> Iterator[tuple[str, Vector]]:
    """The piece on the centreline, or those of both hands, each with its place."""
    if stem in names:
        yield stem, at
        return
    for hand in _HANDS:
        place = at if hand == "right" else (-at[0], at[1], at[2])
        yield f"{stem}_{hand}", place
