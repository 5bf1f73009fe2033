"""Which fastener goes into the rails' ends, and at what height: solved with the boards' joints.

Of the rows of the wanted kind the first is taken that fits rail and leg and leaves
the boards their tenons; its middle is the rail's, or as near to it as they allow.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

from bedmodel.errors import InputError
from bedmodel.fasteners.bolt import fit_bolt
from bedmodel.fasteners.bracket import fit_bracket
from bedmodel.fasteners.fitting import Fitting, Wood, of_fastener
from bedmodel.fasteners.hooked import fit_hook_plate
from bedmodel.fasteners.rules import Asked, Place, check, room
from bedmodel.frames import Frame, Vector
from bedmodel.hardware import (
    KINDS,
    TABLE,
    Bolt,
    Bracket,
    Fastener,
    HookPlate,
    RailJoint,
    own_fasteners,
)
from bedmodel.leg_outline import LegFamily
from bedmodel.pocket import Pocket
from bedmodel.shape import Cut
from bedmodel.sheets import shared_folder
from bedmodel.spec import Sheet
from bedmodel.spread import Zone

Ends = TypeVar("Ends")
STEP = 2.0  # a fastener is moved by steps of this until the boards' joints find room


@dataclass(frozen=True)
class Corner:
    """A fastener at one end of the right rail: the joint frame in the bed, and its fitting."""

    end: Literal["head", "foot"]
    joint: Frame
    face: Frame
    fitting: Fitting


@dataclass(frozen=True)
class FastenerPlan:
    """The chosen row, the height of its middle above the floor, and both ends of the rail."""

    kind: RailJoint
    row: HookPlate | Bracket | Bolt
    height: float
    corners: tuple[Corner, Corner]

    @property
    def shows(self) -> str:
        """What of it can be seen when the mattress is off; empty when nothing can."""
        if self.kind == "brackets":
            return "the flange on the rail's inside face"
        if self.kind == "bolts":
            return "the bolt's head and the barrel's hole"
        return ""


@dataclass(frozen=True)
class RailPlan:
    """What the choice needs to know of rails and legs, before the boards are planned."""

    pocket: Pocket
    rail_bottom: float
    legs: LegFamily


def choose(
    sheet: Sheet, rails: RailPlan, ends: Callable[[tuple[Zone, ...]], Ends]
) -> tuple[FastenerPlan | None, Ends]:
    """The fastener and the boards' ends that go with it.

    ``ends`` plans the boards' joints round what the fastener takes of the legs.
    Raises InputError when no row fits, naming one of another kind that would.
    """
    plain = ends(())  # what is wrong with the boards alone is told first
    kind = sheet.side_rail.joint
    if kind == "butt":
        return None, plain
    failures: list[InputError] = []
    for asked in _rows(sheet, kind):
        found = _try(asked, kind, rails, ends, failures)
        if found is not None:
            _check_visible(sheet, found[0])
            return found
    raise _refusal(sheet, kind, rails, ends, failures)


def _try(
    asked: Asked,
    kind: RailJoint,
    rails: RailPlan,
    ends: Callable[[tuple[Zone, ...]], Ends],
    failures: list[InputError],
) -> tuple[FastenerPlan, Ends] | None:
    place = _place(asked.sheet, rails)
    try:
        frames = _frames(asked.sheet, rails)
        for _, _, wood in frames:
            check(asked, wood, place)
        heights = _heights(asked, place)
    except InputError as failure:
        failures.append(failure)
        return None
    plan = _plan(asked, kind, rails)
    for height in heights:
        moved = at_height(plan, height)
        try:
            return moved, ends(zones(moved, place.middle))
        except InputError as failure:
            failures.append(failure)
    return None


def _refusal(
    sheet: Sheet,
    kind: RailJoint,
    rails: RailPlan,
    ends: Callable[[tuple[Zone, ...]], Ends],
    failures: list[InputError],
) -> InputError:
    """The first row's fault, and the nearest fastener that would do."""
    own = [(kind, row) for row in _all_rows(sheet, kind)]
    others = [(k, row) for k in KINDS if k != kind for row in _all_rows(sheet, k)]
    for other, asked in own + others:
        if other != kind and sheet.fastener.height is not None:
            continue
        if _try(asked, other, rails, ends, []) is not None:
            told = f'fastener.name = "{asked.row.name}"'
            told = told if other == kind else f'side_rail.joint = "{other}" with {told}'
            first = failures[0]
            return InputError(first.parameter, first.value, first.allowed, f"{told} would fit")
    return failures[-1] if len(failures) > 1 else failures[0]


def _check_visible(sheet: Sheet, plan: FastenerPlan) -> None:
    if sheet.fastener.visible == "never" and plan.shows:
        raise InputError(
            "side_rail.joint",
            plan.kind,
            f'fastener.visible is "never" but {plan.shows} shows when the mattress is off',
            'take "hook_plates", or set fastener.visible to "allowed"',
        )


# --- rows ----------------------------------------------------------------------------------


def _all_rows(sheet: Sheet, kind: RailJoint) -> Iterator[Asked]:
    """The maker's own rows first, then those of the table."""
    field = KINDS[kind]
    own: Sequence[Fastener] = getattr(sheet.fastener, field)
    for i, row in enumerate(own, start=1):
        yield Asked(row, f"fastener.{field}.{i}", sheet)
    table: Sequence[Fastener] = getattr(own_fasteners(shared_folder() / TABLE), field)
    for row in table:
        yield Asked(row, "", sheet)


def _rows(sheet: Sheet, kind: RailJoint) -> list[Asked]:
    rows, name = list(_all_rows(sheet, kind)), sheet.fastener.name
    if name is None:
        return rows
    named = [asked for asked in rows if asked.row.name == name]
    if not named:
        known = ", ".join(asked.row.name for asked in rows)
        raise InputError(
            "fastener.name", name, f'is no row for side_rail.joint "{kind}"', f"there are {known}"
        )
    return named[:1]


# --- places --------------------------------------------------------------------------------


def _place(sheet: Sheet, rails: RailPlan) -> Place:
    rail = sheet.side_rail
    return Place(
        rail_bottom=rails.rail_bottom,
        rail_width=rail.width,
        rail_thickness=rail.thickness,
        leg_thickness=sheet.leg.thickness,
        middle=rail.reveal + rail.thickness / 2 / math.cos(rails.pocket.yaw),
        legs=rails.legs,
    )


def _heights(asked: Asked, place: Place) -> list[float]:
    """Heights to try for the middle: the wanted one alone, or from the rail's middle outwards."""
    low, high = room(asked, place)
    given = asked.sheet.fastener.height
    if given is not None:
        height = place.rail_bottom + given
        if not low - 1e-9 <= height <= high + 1e-9:
            show = asked.sheet
            raise InputError(
                "fastener.height",
                show.show(given),
                f"must be {show.at_least(low - place.rail_bottom)} to "
                f"{show.at_most(high - place.rail_bottom)} for {asked.row.name}",
                "move it, or make the rail wider",
            )
        return [height]
    middle, steps = (low + high) / 2, int((high - low) / 2 / STEP)
    return [middle] + [middle + s * STEP * i for i in range(1, steps + 1) for s in (1, -1)]


def _frames(sheet: Sheet, rails: RailPlan) -> Iterator[tuple[Literal["head", "foot"], Frame, Wood]]:
    """For each end of the right rail: its joint frame at floor height, and the wood there."""
    pocket, rail = rails.pocket, sheet.side_rail
    sine, cosine = math.sin(pocket.yaw), math.cos(pocket.yaw)
    half = rail.thickness / 2 / cosine
    along, outward = (-sine, cosine, 0.0), (cosine, sine, 0.0)
    places: list[tuple[Literal["head", "foot"], float, float, float]] = [
        ("head", pocket.half_head, 0.0, 1.0),
        ("foot", pocket.half_foot, pocket.length, -1.0),
    ]
    for end, x, y, sign in places:
        joint = Frame.from_zx((x + half, y, 0.0), (0.0, -sign, 0.0), (0.0, 0.0, 1.0))
        inwards: Vector = (sign * along[0], sign * along[1], 0.0)
        face = Frame.from_zx((x, y, 0.0), outward, inwards)
        wood = Wood(
            sheet=sheet,
            face=joint.inverse() @ face,
            leg_thickness=sheet.leg.thickness,
            rail_thickness=rail.thickness,
            fit=sheet.fastener.fit,
            end_room=sheet.fastener.end_room,
        )
        yield end, joint, wood


def _plan(asked: Asked, kind: RailJoint, rails: RailPlan) -> FastenerPlan:
    """The fastener at floor height."""
    row, corners = asked.row, []
    assert isinstance(row, HookPlate | Bracket | Bolt)
    for end, joint, wood in _frames(asked.sheet, rails):
        fitting = _fit(row, wood, asked.gauge_name)
        named = replace(
            fitting,
            leg_cuts=of_fastener(list(fitting.leg_cuts), "rail_fastener"),
            rail_cuts=of_fastener(list(fitting.rail_cuts), f"{end}_fastener"),
        )
        corners.append(Corner(end, joint, joint @ wood.face, named))
    return FastenerPlan(kind, row, 0.0, (corners[0], corners[1]))


def _fit(row: HookPlate | Bracket | Bolt, wood: Wood, parameter: str) -> Fitting:
    if isinstance(row, HookPlate):
        return fit_hook_plate(row, wood, parameter)
    if isinstance(row, Bracket):
        return fit_bracket(row, wood, parameter)
    return fit_bolt(row, wood, parameter)


def at_height(plan: FastenerPlan, height: float) -> FastenerPlan:
    """The fastener with its middle at a height above the floor."""
    by = (0.0, 0.0, height - plan.height)
    head, foot = (
        replace(corner, joint=corner.joint.moved(by), face=corner.face.moved(by))
        for corner in plan.corners
    )
    return replace(plan, height=height, corners=(head, foot))


def zones(plan: FastenerPlan, middle: float) -> tuple[Zone, ...]:
    """What the fastener takes of the legs; ``middle`` is as in ``Place``.

    Both ends are alike but for the hand, so the head's stand for both.
    """
    fitting, turn = plan.corners[0].fitting, -1.0  # at the head the joint's y points inwards
    return tuple(_zone(cut, plan.height, middle, turn) for cut in fitting.leg_cuts)


def _zone(cut: Cut, height: float, middle: float, turn: float) -> Zone:
    x, y, z = cut.frame.origin
    depths = sorted((z, z + cut.frame.z[2] * cut.depth))
    return Zone(
        low=height + x - cut.length / 2,
        high=height + x + cut.length / 2,
        near=depths[0],
        far=depths[1],
        across=middle + turn * y - cut.width / 2,
    )
