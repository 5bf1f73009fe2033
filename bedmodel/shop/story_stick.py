"""Story sticks: one strip of wood that carries every mark of a row of like joints.

Words used here:

datum end   the end of the stick that is held flush with the part's own end; all
            marks run from it
running     measured from the datum, never from the mark before

    datum
    |<----------- running ----------->|
    |<------ running ----->|          |
    +----------------------+----------+---------+
    |                      |          |         |   stick
    +----------------------+----------+---------+

Lengths are in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from bedmodel.end_joints import rail_names
from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.ends.record import UprightPlan
from bedmodel.joints import TenonJoint, board_joints
from bedmodel.shop.fastener_marks import fastener_heights, rail_end_heights, rail_face_heights
from bedmodel.shop.fill_marks import groove_heights, upright_places
from bedmodel.shop.marks import CENTRE, DIGITS, Mark, mark_record, merged, shifted
from bedmodel.shop.screw_marks import (
    holes_along,
    rail_screw_heights,
    runner_end,
    runner_start,
)
from bedmodel.shop.support_marks import panel_edges
from bedmodel.skeleton import Layout

HOLES = "runner_holes"
BOTH_RAILS = "both rails clamped together, ends flush, struck at once; alike from either end"
_ROUND = 1e-6  # mm; a slot no longer than this over its width is a hole


@dataclass(frozen=True)
class Stick:
    """One story stick: what it is for, where it is held, and its marks.

    ``datum`` says which end of the part the datum end is held to; ``sides`` what to mind of
    the other part, where that is not of another hand.
    """

    name: str
    parts: tuple[str, ...]
    datum: str
    length: float
    marks: tuple[Mark, ...]
    sides: str = ""


# --- rows of like joints -------------------------------------------------------------------


def leg_foot_end(layout: Layout, end: EndPlan) -> float:
    """Return the height along an end's legs at which their joint face begins.

    That is the knee of a splayed leg and the floor of a post, on its inside face.
    """
    start = layout.legs.joint_start
    return start if start else -end.below_floor + 0.0


def leg_heights(layout: Layout, end: EndPlan) -> list[Mark]:
    """Mortises, the rail fastener's cuts and the rail's edges, by height above the floor."""
    marks = fastener_heights(layout, "leg", end.end)
    for joint in board_joints(layout):
        if joint.leg == f"{end.end}_leg":
            height = end.lean.own(joint.frame.origin)[2] + joint.shift
            length = joint.leg_mortise_length
            marks += _slot(layout, mortise_name(joint), height, joint, length)
    marks += groove_heights(layout, end)
    low, high = (end.lean.along(edge) for edge in (layout.rail_bottom, layout.rail_top))
    marks.append(_mark(layout, ("side rail",), "lower edge, on the inside face", low))
    marks.append(_mark(layout, ("side rail",), "upper edge, on the inside face", high))
    return merged(marks)


def board_heights(layout: Layout, end: EndPlan, board: BoardPlan) -> list[Mark]:
    """Mortises in both ends of a board, or its own tenons on them, from its lower edge."""
    marks = []
    for joint in board_joints(layout):
        if joint.board == board_name(end, board):
            name = mortise_number(joint)
            height = end.lean.own(joint.frame.origin)[2] - board.bottom
            length = joint.plan.mortise_length
            if joint.plan.integral:
                marks += _edges(layout, joint, height)
            else:
                marks += _slot(layout, name, height, joint, length)
    return merged(marks)


def rail_heights(layout: Layout) -> list[Mark]:
    """The runner, and all that is cut into the end and the inside face, from the lower edge."""
    found = [
        *runner_edges(layout),
        *rail_end_heights(layout),
        *rail_face_heights(layout),
        *rail_screw_heights(layout),
    ]
    return merged(found)


def runner_edges(layout: Layout) -> list[Mark]:
    """Both edges of the runner, from the rail's lower edge."""
    lower = layout.runner_top - layout.sheet.runner.height
    return [
        _mark(layout, ("runner",), "lower edge", lower - layout.rail_bottom),
        _mark(layout, ("runner",), "upper edge", layout.runner_top - layout.rail_bottom),
    ]


def slat_edges(layout: Layout) -> list[Mark]:
    """Both edges of every slat, or panel, by Y, the distance from the head legs' inside faces."""
    if not layout.has_slats:
        return panel_edges(layout)
    marks = []
    for i, y in enumerate(layout.slats.starts()):
        name = (f"slat_{i + 1:02d}",)
        marks.append(_mark(layout, name, "near edge", y))
        marks.append(_mark(layout, name, "far edge", y + layout.slats.width))
    return marks


def along_rail(layout: Layout, marks: Iterable[Mark]) -> list[Mark]:
    """Marks by Y, as they come on the rail's inside face from its head end."""
    return [replace(mark, true=mark.true / math.cos(layout.yaw)) for mark in marks]


def mortise_name(joint: TenonJoint) -> str:
    """Say which mortise of a leg: "mortise for footboard_board" or "mortise 2 for ..."."""
    return f"{mortise_number(joint)} for {joint.board}"


def mortise_number(joint: TenonJoint) -> str:
    """Say which of a board's end: "mortise" or, of several, "mortise 2" or "dowel hole 2"."""
    word = "dowel hole" if joint.plan.is_dowel else "mortise"
    word = "haunch groove" if joint.is_haunch else word
    return f"{word} {_number(joint)}" if len(joint.plan.places) > 1 else word


def tenon_number(joint: TenonJoint) -> str:
    """Say which of a board's own tenons or haunches: "tenon", "tenon 2" or "haunch"."""
    word = "haunch" if joint.is_haunch else "tenon"
    return f"{word} {_number(joint)}" if len(joint.plan.places) > 1 else word


def setback_of(joint: TenonJoint) -> float:
    """Return how far the middle of a mortise lies from the leg's inside face."""
    return joint.plan.places[_number(joint) - 1][1]


def _number(joint: TenonJoint) -> int:
    return int(joint.name.rsplit("_", 1)[1])


def _slot(layout: Layout, name: str, centre: float, joint: TenonJoint, length: float) -> list[Mark]:
    half = length / 2
    # A dry dowel has a slot in the leg.
    if joint.plan.is_dowel and length <= joint.plan.mortise_width + _ROUND:
        return [_mark(layout, (name,), CENTRE, centre)]
    return [
        _mark(layout, (name,), "lower end of slot", centre - half),
        _mark(layout, (name,), CENTRE, centre),
        _mark(layout, (name,), "upper end of slot", centre + half),
    ]


def _edges(layout: Layout, joint: TenonJoint, centre: float) -> list[Mark]:
    """A board's own tenon or haunch, across the board."""
    half, name = joint.plan.width / 2, (tenon_number(joint),)
    return [
        _mark(layout, name, "lower edge", centre - half),
        _mark(layout, name, "upper edge", centre + half),
    ]


def _mark(layout: Layout, of: tuple[str, ...], what: str, true: float) -> Mark:
    return Mark(of, what, true, layout.sheet.design.unit)


# --- sticks --------------------------------------------------------------------------------


def story_sticks(layout: Layout) -> tuple[Stick, ...]:
    """Make one stick for each row of like joints; rows that are alike share one.

    Two rows are alike when they have the same marks at the same places, and, along
    slats and boards, the same length; legs may differ in length above their marks.
    """
    slats = _shared(_slat_sticks(layout), by_length=True)
    legs = _shared(_leg_sticks(layout), by_length=False)
    boards = _shared(_board_sticks(layout), by_length=True)
    rail = Stick(
        "side_rail_heights",
        ("side_rail",),
        "lower edge",
        layout.sheet.side_rail.width,
        tuple(rail_heights(layout)),
    )
    return (*slats, *_hole_sticks(layout), *legs, *boards, rail)


def stick_record(stick: Stick) -> dict[str, Any]:
    """Return a stick as JSON holds it."""
    return {
        "name": stick.name,
        "for": list(stick.parts),
        "datum": stick.datum,
        "length_mm": round(stick.length, 4),
        "marks": [mark_record(mark) for mark in stick.marks],
    }


def _slat_sticks(layout: Layout) -> Iterator[Stick]:
    start = runner_start(layout)
    marks = shifted(along_rail(layout, slat_edges(layout)), -start)
    if not marks:  # a box spring lies anywhere
        return
    length = runner_end(layout) - start
    yield Stick("slats_runner", ("runner",), "head end", length, tuple(marks))
    plan = layout.centre_rail
    if plan is not None:
        marks = shifted(slat_edges(layout), -plan.start)
        length = plan.end - plan.start
        yield Stick("slats_centre_rail", ("centre_rail",), "head end", length, tuple(marks))


def _hole_sticks(layout: Layout) -> Iterator[Stick]:
    """The screws of runner and rail, and those of the slats in the runner."""
    marks = tuple(holes_along(layout))
    if not marks:
        return
    length = runner_end(layout) - runner_start(layout)
    if layout.runner_screws is None:
        yield Stick(HOLES, ("runner",), "head end", length, marks)
    else:
        datum = "head end of the runner, also where that is marked on the rail"
        yield Stick(HOLES, ("runner", "side_rail"), datum, length, marks)


def _leg_sticks(layout: Layout) -> Iterator[Stick]:
    legs = layout.legs
    datum = "foot end" if legs.joint_start == 0 else f"{legs.datum}, on the joint face"
    for end in layout.ends:
        start = leg_foot_end(layout, end)
        marks = shifted(leg_heights(layout, end), -start)
        name = f"{end.end}_leg"
        raked = bool(end.lean.rake) and layout.legs.foot is None
        told = f"{datum}, at the inside face" if raked else datum
        yield Stick(f"{name}_mortises", (name,), told, end.leg_top - start, tuple(marks))


def _board_sticks(layout: Layout) -> Iterator[Stick]:
    for end in layout.ends:
        for board in end.boards:
            name = board_name(end, board)
            marks = tuple(board_heights(layout, end, board))
            of = "tenons" if board.tenons.integral else "mortises"
            yield Stick(f"{name}_{of}", (name,), "lower edge", board.width, marks)
        for number, fill in enumerate(end.fills, start=1):
            places = tuple(upright_places(layout, end, fill))
            if not places:
                continue
            word = fill.word if isinstance(fill, UprightPlan) else "muntin"
            name = f"{end.end}board_{word}s" + (f"_{number}" if len(end.fills) > 1 else "")
            shoulders = end.boards[0].tenons.integral
            datum = "left shoulder line" if shoulders else "left end"
            parts = rail_names(end, fill)
            yield Stick(name, parts, datum, 2 * end.joint_x, places, BOTH_RAILS)


def _shared(sticks: Iterable[Stick], by_length: bool) -> list[Stick]:
    found: dict[object, Stick] = {}
    for stick in sticks:
        places = tuple((round(mark.true, DIGITS), mark.what) for mark in stick.marks)
        key = (places, round(stick.length, DIGITS) if by_length else None)
        found[key] = _joined(found[key], stick) if key in found else stick
    return list(found.values())


def _joined(one: Stick, other: Stick) -> Stick:
    marks = [
        replace(a, of=tuple(dict.fromkeys(a.of + b.of)))
        for a, b in zip(one.marks, other.marks, strict=True)
    ]
    return Stick(
        f"{one.name}_and_{other.name}",
        one.parts + other.parts,
        one.datum,
        max(one.length, other.length),
        tuple(marks),
    )
