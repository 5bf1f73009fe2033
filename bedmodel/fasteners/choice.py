"""Which fastener goes into the rails' ends, and at what height: solved with the boards' joints.

Of the rows of the wanted kind the first is taken that fits rail and leg and leaves the
boards most of the joint they would have without it; its middle is the rail's, or as
near to it as they allow. Where no row leaves them so much, the row and the height are
taken that leave them most.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Generic, Literal, TypeVar

from bedmodel.cuts import Cut
from bedmodel.errors import InputError
from bedmodel.fasteners.bolt import fit_bolt
from bedmodel.fasteners.bracket import fit_bracket
from bedmodel.fasteners.fitting import Fitting, Wood, of_fastener
from bedmodel.fasteners.hooked import fit_hook_plate
from bedmodel.fasteners.rules import Asked, Place, check, rail_wall, room
from bedmodel.frames import Frame, Vector, add, scale
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
from bedmodel.lean import UPRIGHT, Lean
from bedmodel.legs import LegFamily
from bedmodel.pocket import Pocket
from bedmodel.sheets import shared_folder
from bedmodel.spec import Sheet
from bedmodel.spread import Slots, Zone, share_kept

Ends = TypeVar("Ends")
STEP = 2.0  # a fastener is moved by steps of this until the boards' joints find room
ENOUGH = 0.75  # boards that keep this share of their joints have them as good as whole

# What can be seen of each kind when the mattress is off; hook plates are hidden.
SHOWS: Mapping[RailJoint, str] = MappingProxyType(
    {
        "brackets": "the flange on the rail's inside face",
        "bolts": "the bolt's head and the barrel's hole",
    }
)


@dataclass(frozen=True)
class Corner:
    """A fastener at one end of the right rail: the joint frame in the bed, and its fitting."""

    end: Literal["head", "foot"]
    joint: Frame
    face: Frame
    fitting: Fitting
    rise: Vector = (0.0, 0.0, 1.0)  # how it moves for each mm it is set higher


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
        return SHOWS.get(self.kind, "")


@dataclass(frozen=True)
class RailPlan:
    """What the choice needs to know of rails and legs, before the boards are planned."""

    pocket: Pocket
    rail_bottom: float
    legs: LegFamily
    lean: Lean = UPRIGHT


@dataclass(frozen=True)
class Boards(Generic[Ends]):
    """How the boards' ends are planned round what a fastener takes, and their slots.

    What it takes of the foot legs comes first, of the head legs second.
    """

    plan: Callable[[tuple[Zone, ...], tuple[Zone, ...]], Ends]
    slots: Callable[[Ends], list[Slots]]


def choose(sheet: Sheet, rails: RailPlan, boards: Boards[Ends]) -> tuple[FastenerPlan | None, Ends]:
    """The fastener and the boards' ends that go with it.

    Raises InputError when no row fits, naming one of another kind that would.
    """
    plain = boards.plan((), ())  # what is wrong with the boards alone is told first
    kind = sheet.side_rail.joint
    if kind == "butt":
        return None, plain
    _check_visible(sheet, kind)
    wanted, failures = boards.slots(plain), list[InputError]()
    best: tuple[float, FastenerPlan, Ends] | None = None
    for asked in _rows(sheet, kind):
        for plan, ends in _trials(asked, kind, rails, boards, failures):
            kept = share_kept(wanted, boards.slots(ends))
            if kept >= ENOUGH:
                return plan, ends
            if best is None or kept > best[0] + 1e-9:
                best = kept, plan, ends
    if best is None:
        raise _refusal(sheet, kind, rails, boards, failures)
    return best[1], best[2]


def _trials(
    asked: Asked,
    kind: RailJoint,
    rails: RailPlan,
    boards: Boards[Ends],
    failures: list[InputError],
) -> Iterator[tuple[FastenerPlan, Ends]]:
    """One row at each height where it and the boards' joints fit, the best height first.

    Of a row's failures the first is kept, that at the best height.
    """
    place = _place(asked.sheet, rails)
    try:
        for _, _, wood in _frames(asked.sheet, rails):
            check(asked, wood, place)
        plan = _plan(asked, kind, rails)
        heights = _heights(asked, place, _spread(plan, rails))
    except InputError as failure:
        failures.append(failure)
        return
    so_far = len(failures)
    for height in heights:
        moved = at_height(plan, height)
        try:
            ends = boards.plan(zones(moved, place.middle), _at_head(moved, place.middle, rails))
        except InputError as failure:
            if len(failures) == so_far:
                failures.append(failure)
        else:
            yield moved, ends


def _refusal(
    sheet: Sheet,
    kind: RailJoint,
    rails: RailPlan,
    boards: Boards[Ends],
    failures: list[InputError],
) -> InputError:
    """What is wrong with the last row, which is the smallest, and a fastener that would do."""
    told = failures[-1]
    for other in (kind, *(k for k in KINDS if k != kind)):
        # A height is chosen for one kind; and what shows is no way out where nothing may.
        if other != kind and (sheet.fastener.height is not None or not _may_show(sheet, other)):
            continue
        for asked in _all_rows(sheet, other):
            if next(_trials(asked, other, rails, boards, []), None) is not None:
                way = f'fastener.name = "{asked.row.name}"'
                way = way if other == kind else f'side_rail.joint = "{other}" with {way}'
                return InputError(told.parameter, told.value, told.allowed, f"{way} would fit")
    return told


def _may_show(sheet: Sheet, kind: RailJoint) -> bool:
    return sheet.fastener.visible == "allowed" or kind not in SHOWS


def _check_visible(sheet: Sheet, kind: RailJoint) -> None:
    if not _may_show(sheet, kind):
        raise InputError(
            "side_rail.joint",
            kind,
            f'fastener.visible is "never" but {SHOWS[kind]} shows when the mattress is off',
            'take "hook_plates", or set fastener.visible to "allowed"',
        )


# --- rows ----------------------------------------------------------------------------------


def _all_rows(sheet: Sheet, kind: RailJoint) -> Iterator[Asked]:
    """The maker's own rows first, then those of the table."""
    yield from _own_rows(sheet, kind)
    table: Sequence[Fastener] = getattr(own_fasteners(shared_folder() / TABLE), KINDS[kind])
    for row in table:
        yield Asked(row, "", sheet)


def _own_rows(sheet: Sheet, kind: RailJoint) -> Iterator[Asked]:
    own: Sequence[Fastener] = getattr(sheet.fastener, KINDS[kind])
    for i, row in enumerate(own, start=1):
        yield Asked(row, f"fastener.{KINDS[kind]}.{i}", sheet)


def _rows(sheet: Sheet, kind: RailJoint) -> list[Asked]:
    """The row the sheet names; else its own, which the maker has at hand, or the table's."""
    name = sheet.fastener.name
    if name is None:
        return list(_own_rows(sheet, kind)) or list(_all_rows(sheet, kind))
    rows = list(_all_rows(sheet, kind))
    named = [asked for asked in rows if asked.row.name == name]
    if not named:
        known = ", ".join(asked.row.name for asked in rows)
        raise InputError(
            "fastener.name", name, f'is no row for side_rail.joint "{kind}"', f"there are {known}"
        )
    return named[:1]


# --- places --------------------------------------------------------------------------------


def _place(sheet: Sheet, rails: RailPlan) -> Place:
    rail, lean, sway = sheet.side_rail, rails.lean, 0.0
    if lean.rake:
        top = rails.rail_bottom + rail.width
        sway = math.tan(rails.pocket.yaw) * lean.inside_y(rails.rail_bottom)
        sway += (lean.along(top) - top) * math.tan(rails.legs.splay)
    return Place(
        rail_bottom=rails.rail_bottom,
        rail_width=rail.width,
        rail_thickness=rail.thickness,
        leg_thickness=sheet.leg.thickness,
        middle=rail.reveal + rail.thickness / 2 / math.cos(rails.pocket.yaw),
        legs=rails.legs,
        rake=lean.rake,
        sway=sway,
    )


def _heights(asked: Asked, place: Place, spread: tuple[float, float] | None) -> list[float]:
    """Heights to try for the middle: the wanted one alone, or from the rail's middle outwards.

    ``spread`` is how far down and up its cuts reach at a raked head end.
    """
    low, high = room(asked, place)
    if spread is not None:
        wall = rail_wall(asked.sheet)
        low = max(low, place.rail_bottom + wall - spread[0])
        high = min(high, place.rail_bottom + place.rail_width - wall - spread[1])
        if low > high + 1e-9:
            show = asked.sheet
            raise InputError(
                "side_rail.width",
                show.show(place.rail_width),
                f"must be at least {show.at_least(place.rail_width + low - high)} for "
                f"{asked.row.name}, whose holes rise with the rake at the head end",
                "make the rail wider or frame.rake less",
            )
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
    high = max(low, high)
    middle, steps = (low + high) / 2, int((high - low) / 2 / STEP)
    return [middle] + [middle + s * STEP * i for i in range(1, steps + 1) for s in (1, -1)]


def _spread(plan: FastenerPlan, rails: RailPlan) -> tuple[float, float] | None:
    """How far below and above its middle a fastener's cuts reach in a rail whose end is raked."""
    if not rails.lean.rake:
        return None
    corner, levels = plan.corners[0], list[float]()
    for cut in corner.fitting.rail_cuts:
        f = corner.joint @ cut.frame
        half = abs(f.x[2]) * cut.length / 2 + abs(f.y[2]) * cut.width / 2
        for depth in (0.0, cut.depth):
            level = f.origin[2] + f.z[2] * depth
            levels += [level - half, level + half]
    return min(levels), max(levels)


def _frames(sheet: Sheet, rails: RailPlan) -> Iterator[tuple[Literal["head", "foot"], Frame, Wood]]:
    """For each end of the right rail: its joint frame at floor height, and the wood there."""
    pocket, rail = rails.pocket, sheet.side_rail
    sine, cosine = math.sin(pocket.yaw), math.cos(pocket.yaw)
    half = rail.thickness / 2 / cosine
    lean = rails.lean
    along, outward = (-sine, cosine, 0.0), (cosine, sine, 0.0)
    places: list[tuple[Literal["head", "foot"], float, float, float]] = [
        ("head", pocket.half_head, 0.0, 1.0),
        ("foot", pocket.half_foot, pocket.length, -1.0),
    ]
    for end, x, y, sign in places:
        joint = Frame.from_zx((x + half, y, 0.0), (0.0, -sign, 0.0), (0.0, 0.0, 1.0))
        inwards: Vector = (sign * along[0], sign * along[1], 0.0)
        face = Frame.from_zx((x, y, 0.0), outward, inwards)
        if end == "head" and lean.rake:
            joint, face = _leaning(lean, joint, face)
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
        fitting = _fit(row, wood, asked.name_of("screw_gauge"))
        named = replace(
            fitting,
            leg_cuts=of_fastener(list(fitting.leg_cuts), "rail_fastener"),
            rail_cuts=of_fastener(list(fitting.rail_cuts), f"{end}_fastener"),
        )
        rise = _rise(rails) if end == "head" and rails.lean.rake else (0.0, 0.0, 1.0)
        corners.append(Corner(end, joint, joint @ wood.face, named, rise))
    return FastenerPlan(kind, row, 0.0, (corners[0], corners[1]))


def _fit(row: HookPlate | Bracket | Bolt, wood: Wood, parameter: str) -> Fitting:
    if isinstance(row, HookPlate):
        return fit_hook_plate(row, wood, parameter)
    if isinstance(row, Bracket):
        return fit_bracket(row, wood, parameter)
    return fit_bolt(row, wood, parameter)


def at_height(plan: FastenerPlan, height: float) -> FastenerPlan:
    """The fastener with its middle at a height above the floor."""
    head, foot = (_moved(corner, height - plan.height) for corner in plan.corners)
    return replace(plan, height=height, corners=(head, foot))


def _moved(corner: Corner, up: float) -> Corner:
    by = scale(corner.rise, up)
    return replace(corner, joint=corner.joint.moved(by), face=corner.face.moved(by))


def _leaning(lean: Lean, joint: Frame, face: Frame) -> tuple[Frame, Frame]:
    """Joint and face frame of the head end, at floor height, where it leans.

    The rail's inside face stays plumb; x of its frame runs square to the leaning corner,
    as a bolt or a bracket's flange does.
    """
    out = lean.inside_y(0.0)
    turn = lean.direction
    slope = -face.z[1] / face.z[0]
    by = (slope * out, out, 0.0)
    leaning = Frame.from_zx(add(joint.origin, by), turn((0.0, -1.0, 0.0)), turn((0.0, 0.0, 1.0)))
    return leaning, Frame.from_zx(add(face.origin, by), face.z, turn((0.0, 1.0, 0.0)))


def _rise(rails: RailPlan) -> Vector:
    """Up along the corner of the rail's inside face and its raked head end, for a plumb mm."""
    back = -math.tan(rails.lean.rake)
    return (-math.tan(rails.pocket.yaw) * back, back, 1.0)


def _at_head(plan: FastenerPlan, middle: float, rails: RailPlan) -> tuple[Zone, ...]:
    """What the fastener takes of the head legs, in heights along them."""
    if not rails.lean.rake:
        return zones(plan, middle)
    out = rails.lean.inside_y(plan.height)
    along = replace(plan, height=rails.lean.along(plan.height))
    return zones(along, middle - math.tan(rails.pocket.yaw) * out)


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
