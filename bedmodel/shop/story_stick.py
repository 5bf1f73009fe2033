"""Story sticks: one strip of wood that carries every mark of a row of like joints.

Words used here:

datum end   the end of the stick that is held flush with the part's own end; all
            marks run from it
running     measured from the datum, never from the mark before
shown       the true value rounded to what a rule can show: 0.1 mm, or 1/64 in

    datum
    |<----------- running ----------->|
    |<------ running ----->|          |
    +----------------------+----------+---------+
    |                      |          |         |   stick
    +----------------------+----------+---------+

Each mark is rounded from its own running value, so that the error of the last is
no larger than that of the first. Lengths are in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from bedmodel.joints import TenonJoint, board_joints, board_name
from bedmodel.outline import Outline, Point
from bedmodel.skeleton import BoardPlan, EndPlan, Layout
from bedmodel.units import MM_PER_INCH, LengthUnit, format_length

STICK_WIDTH = 30.0
CENTRE = "centre"
# Equal to this many digits of a mm, two marks are one pencil line.
_DIGITS = 6
_NOISE = 1e-7  # of one step of the rule


@dataclass(frozen=True)
class Mark:
    """One mark: what it is, of which joints or parts, and how far from the datum.

    ``true`` is exact; ``rounded`` is what the rule shows, ``shown`` its text.
    """

    of: tuple[str, ...]
    what: str
    true: float
    unit: LengthUnit

    @property
    def label(self) -> str:
        return f"{', '.join(self.of)}: {self.what}" if self.of else self.what

    @property
    def rounded(self) -> float:
        # Halves go up, float noise or not, so that like marks are shown alike.
        steps = math.floor(self.true / step_of(self.unit) + 0.5 + _NOISE)
        return steps / 10 if self.unit == "mm" else steps * MM_PER_INCH / 64

    @property
    def shown(self) -> str:
        return format_length(self.rounded, self.unit)

    @property
    def error(self) -> float:
        """What rounding adds (mm)."""
        return self.rounded - self.true


@dataclass(frozen=True)
class Stick:
    """One story stick: what it is for, where it is held, and its marks.

    ``datum`` says which end of the part the datum end is held to.
    """

    name: str
    parts: tuple[str, ...]
    datum: str
    length: float
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class StickLine:
    """One line to draw across a stick, with its label; x runs from the datum end."""

    start: Point
    end: Point
    label: str


def step_of(unit: LengthUnit) -> float:
    """Return the finest division of the rule (mm): 0.1 mm, or 1/64 in."""
    return 0.1 if unit == "mm" else MM_PER_INCH / 64


# --- rows of like joints -------------------------------------------------------------------


def leg_foot_end(layout: Layout) -> float:
    """Return the height above the floor at which the legs' joint face begins.

    That is the knee of a splayed leg and the floor of a straight one.
    """
    return 0.0 if layout.legs.foot is None else layout.legs.knee


def leg_heights(layout: Layout, end: EndPlan) -> list[Mark]:
    """Mortises in a leg and the rail's edges on it, by height above the floor."""
    marks = []
    for joint in board_joints(layout):
        if joint.leg == f"{end.end}_leg":
            height, length = joint.frame.origin[2] + joint.shift, joint.leg_mortise_length
            marks += _slot(layout, mortise_name(joint), height, joint, length)
    marks.append(
        _mark(layout, ("side rail",), "lower edge, on the inside face", layout.rail_bottom)
    )
    marks.append(_mark(layout, ("side rail",), "upper edge, on the inside face", layout.rail_top))
    return merged(marks)


def board_heights(layout: Layout, end: EndPlan, board: BoardPlan) -> list[Mark]:
    """Mortises in both ends of a board, or its own tenons on them, from its lower edge."""
    marks = []
    for joint in board_joints(layout):
        if joint.board == board_name(end, board):
            name = mortise_number(joint)
            height, length = joint.frame.origin[2] - board.bottom, joint.plan.mortise_length
            if joint.plan.integral:
                marks += _edges(layout, joint, height)
            else:
                marks += _slot(layout, name, height, joint, length)
    return merged(marks)


def slat_edges(layout: Layout) -> list[Mark]:
    """Both edges of every slat by Y, the distance from the head legs' inside faces."""
    marks = []
    for i, y in enumerate(layout.slats.starts()):
        name = (f"slat_{i + 1:02d}",)
        marks.append(_mark(layout, name, "near edge", y))
        marks.append(_mark(layout, name, "far edge", y + layout.slats.width))
    return marks


def runner_start(layout: Layout) -> float:
    """Return how far a runner's head end lies from its rail's, along the rail's inside face."""
    given = layout.sheet.runner
    return given.end_gap / math.cos(layout.yaw) + given.width * math.tan(layout.yaw)


def runner_end(layout: Layout) -> float:
    """Return how far a runner's foot end lies from its rail's head end."""
    return layout.rail_length - layout.sheet.runner.end_gap / math.cos(layout.yaw)


def along_rail(layout: Layout, marks: Iterable[Mark]) -> list[Mark]:
    """Marks by Y, as they come on the rail's inside face from its head end."""
    return [replace(mark, true=mark.true / math.cos(layout.yaw)) for mark in marks]


def shifted(marks: Iterable[Mark], by: float) -> list[Mark]:
    """The same marks from another datum, ``by`` nearer to them when negative."""
    return [replace(mark, true=mark.true + by) for mark in marks]


def in_order(marks: Iterable[Mark]) -> list[Mark]:
    """Marks as they come along the edge."""
    return sorted(marks, key=lambda mark: round(mark.true, _DIGITS))


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
    if joint.plan.is_dowel and length <= joint.plan.mortise_width + _NOISE:
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
    return (*slats, *legs, *boards)


def stick_lines(stick: Stick) -> tuple[Outline, tuple[StickLine, ...]]:
    """Return a stick's outline and the lines across it, at their true places.

    Edges go across the whole stick, centres half way; x from the datum end, mm. A
    mark that lies off the part has no line.
    """
    outline = Outline.rectangle(stick.length, STICK_WIDTH, ("long", "end", "long", "datum"))
    lines = [
        StickLine(
            (mark.true, 0.0),
            (mark.true, STICK_WIDTH / (2 if mark.what == CENTRE else 1)),
            f"{mark.label}  {mark.shown}",
        )
        for mark in stick.marks
        if 0 <= mark.true <= stick.length
    ]
    return outline, tuple(lines)


def stick_record(stick: Stick) -> dict[str, Any]:
    """Return a stick as JSON holds it."""
    return {
        "name": stick.name,
        "for": list(stick.parts),
        "datum": stick.datum,
        "length_mm": round(stick.length, 4),
        "marks": [mark_record(mark) for mark in stick.marks],
    }


def mark_record(mark: Mark) -> dict[str, Any]:
    """Return a mark as JSON holds it."""
    return {
        "of": list(mark.of),
        "what": mark.what,
        "true_mm": round(mark.true, 4) + 0.0,
        "rounded_mm": round(mark.rounded, 6) + 0.0,
        "shown": mark.shown,
        "rounding_error_mm": round(mark.error, 4) + 0.0,
    }


def _slat_sticks(layout: Layout) -> Iterator[Stick]:
    start = runner_start(layout)
    marks = shifted(along_rail(layout, slat_edges(layout)), -start)
    length = runner_end(layout) - start
    yield Stick("slats_runner", ("runner",), "head end", length, tuple(marks))
    plan = layout.centre_rail
    if plan is not None:
        marks = shifted(slat_edges(layout), -plan.start)
        length = plan.end - plan.start
        yield Stick("slats_centre_rail", ("centre_rail",), "head end", length, tuple(marks))


def _leg_sticks(layout: Layout) -> Iterator[Stick]:
    start = leg_foot_end(layout)
    datum = "foot end" if layout.legs.foot is None else "knee, on the joint face"
    for end in layout.ends:
        marks = shifted(leg_heights(layout, end), -start)
        name = f"{end.end}_leg"
        yield Stick(f"{name}_mortises", (name,), datum, end.leg_top - start, tuple(marks))


def _board_sticks(layout: Layout) -> Iterator[Stick]:
    for end in layout.ends:
        for board in end.boards:
            name = board_name(end, board)
            marks = tuple(board_heights(layout, end, board))
            of = "tenons" if board.tenons.integral else "mortises"
            yield Stick(f"{name}_{of}", (name,), "lower edge", board.width, marks)


def _shared(sticks: Iterable[Stick], by_length: bool) -> list[Stick]:
    found: dict[object, Stick] = {}
    for stick in sticks:
        places = tuple((round(mark.true, _DIGITS), mark.what) for mark in stick.marks)
        key = (places, round(stick.length, _DIGITS) if by_length else None)
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


def merged(marks: Sequence[Mark], every: str = "") -> list[Mark]:
    """Make one mark of those that say the same at the same place.

    ``every`` names them when the mark is of all there are.
    """
    rows: dict[object, Mark] = {}
    for mark in marks:
        key = (round(mark.true, _DIGITS), mark.what)
        known = rows.get(key)
        rows[key] = mark if known is None else replace(known, of=known.of + mark.of)
    names = {name for mark in marks for name in mark.of}
    return [
        replace(mark, of=(every,)) if every and len(names) > 1 and set(mark.of) == names else mark
        for mark in in_order(rows.values())
    ]
