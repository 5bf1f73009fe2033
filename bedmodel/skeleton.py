"""Every number that two parts share, worked out once from the sheet.

Bed frame: X across (right is +X, the sleeper's right), Y from head to foot,
Z up; the origin is on the floor, on the centreline, in the plane of the head
legs' inside faces.

            head legs                     foot legs
          y = 0 |                             | y = length
    ------------+-----------------------------+-----------
       head     |   pocket: half_width(y)     |   foot
    ------------+-----------------------------+-----------  centreline

What parameters must satisfy together is refused here, with the parameter, its
value, the bound and the remedy, so that no part is built that would not fit.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Literal

from bedmodel.dowels import dowel_plan
from bedmodel.errors import InputError
from bedmodel.fasteners.choice import Boards, FastenerPlan, RailPlan, choose
from bedmodel.leg_outline import LegFamily, leg_family
from bedmodel.pocket import Pocket
from bedmodel.slats import SlatRow, slat_row
from bedmodel.spec import BoardEnd, Sheet
from bedmodel.spread import Zone
from bedmodel.tables import mattress_size
from bedmodel.tenons import TenonPlan, tenon_plan

End = Literal["head", "foot"]

LEAST_FLOOR_GAP = 20.0  # boards, rails and centre rail stay this far off the floor
EASED_SHARE = 0.45  # two eased edges may take this much each of the side between them
DEFAULT_PLATFORM = 300.0
DEFAULT_THICKNESS = 250.0
# Source: EN 747-1 (bunk and high beds) begins where the top of the base is 600 mm up.
PLATFORM_LIMIT = 600.0


@dataclass(frozen=True)
class MattressBox:
    """The nominal mattress (mm)."""

    width: float
    length: float
    thickness: float


@dataclass(frozen=True)
class BoardPlan:
    """One board of an end: where it lies and how it is joined."""

    number: int
    parameter: str
    bottom: float
    width: float
    thickness: float
    tenons: TenonPlan

    @property
    def top(self) -> float:
        return self.bottom + self.width


@dataclass(frozen=True)
class EndPlan:
    """The head end or the foot end: two legs and the boards between them.

    ``inside_y`` is the plane of the legs' inside faces, ``inward`` the sign of
    the direction from there to the mattress, ``joint_x`` the distance of the
    joint faces from the centreline.
    """

    end: End
    inside_y: float
    inward: float
    joint_x: float
    leg_top: float
    reveal: float
    boards: tuple[BoardPlan, ...]


@dataclass(frozen=True)
class CentreRailPlan:
    """The centre rail and the places of its feet along Y."""

    start: float
    end: float
    top: float
    bottom: float
    feet: tuple[float, ...]


@dataclass(frozen=True)
class Layout:
    """Stations, planes and sizes of one bed (mm, degrees), from its sheet."""

    sheet: Sheet
    mattress: MattressBox
    pocket: Pocket
    platform: float
    rail_top: float
    rail_bottom: float
    legs: LegFamily
    head: EndPlan
    foot: EndPlan
    slats: SlatRow
    centre_rail: CentreRailPlan | None
    fastener: FastenerPlan | None

    @property
    def stance(self) -> float:
        return 2 * (self.half_head - self.half_foot)

    @property
    def pocket_length(self) -> float:
        return self.pocket.length

    @property
    def half_head(self) -> float:
        return self.pocket.half_head

    @property
    def half_foot(self) -> float:
        return self.pocket.half_foot

    @property
    def yaw(self) -> float:
        """How far each side rail is turned from the bed's length (radians)."""
        return self.pocket.yaw

    @property
    def rail_length(self) -> float:
        """Length of a side rail along its inside face."""
        return self.pocket.rail_length

    @property
    def runner_top(self) -> float:
        return self.platform - self.sheet.slat.thickness

    def half_width(self, y: float) -> float:
        """Distance of the rails' inside faces from the centreline at ``y``."""
        return self.pocket.half_width(y)

    @property
    def overall(self) -> tuple[float, float, float]:
        """Overall width, length and height of the bed."""
        joint_x = max(self.head.joint_x, self.foot.joint_x)
        width = 2 * (joint_x + self.legs.floor_width)
        length = self.pocket_length + 2 * self.sheet.leg.thickness
        return width, length, max(self.head.leg_top, self.foot.leg_top)

    @property
    def ends(self) -> tuple[EndPlan, EndPlan]:
        return self.head, self.foot


def lay_out(sheet: Sheet) -> Layout:
    """Work out the layout of a bed.

    Raises InputError where parameters cannot hold together.
    """
    _check_easing(sheet)
    platform, mattress = _heights(sheet)
    half_foot = mattress.width / 2 + sheet.mattress.side_clearance
    pocket = Pocket(
        length=mattress.length + sheet.mattress.end_clearance,
        half_head=half_foot + sheet.frame.stance / 2,
        half_foot=half_foot,
    )
    rail_top, rail_bottom = _rail_heights(sheet, platform)
    tops, lowest = _board_heights(sheet, platform)
    knee = min(lowest, rail_bottom) - sheet.leg.below_boards
    legs = leg_family(sheet, tops, knee)
    _check_rail_bearing(sheet, legs, min(tops), rail_top, pocket.yaw)
    reveal = sheet.side_rail.reveal

    def ends(zones: tuple[Zone, ...]) -> tuple[EndPlan, EndPlan]:
        half_head, half_foot = pocket.half_head - reveal, pocket.half_foot - reveal
        return (
            _end(sheet, "head", 0.0, half_head, tops[0], platform, legs, zones),
            _end(sheet, "foot", pocket.length, half_foot, tops[1], platform, legs, zones),
        )

    boards = Boards(ends, lambda found: [b.tenons.slots for end in found for b in end.boards])
    fastener, (head, foot) = choose(sheet, RailPlan(pocket, rail_bottom, legs), boards)
    slats = slat_row(sheet, pocket)
    centre = _centre_rail(sheet, mattress, pocket.length, platform, slats.gap)
    return Layout(
        sheet=sheet,
        mattress=mattress,
        pocket=pocket,
        platform=platform,
        rail_top=rail_top,
        rail_bottom=rail_bottom,
        legs=legs,
        head=head,
        foot=foot,
        slats=slats,
        centre_rail=centre,
        fastener=fastener,
    )


def _check_easing(sheet: Sheet) -> None:
    """Eased edges must leave a flat between them on the narrowest side of each part."""
    sides = {
        "headboard": [s for b in sheet.headboard.board for s in (b.width, b.thickness)],
        "footboard": [s for b in sheet.footboard.board for s in (b.width, b.thickness)],
        "side_rail": [sheet.side_rail.width, sheet.side_rail.thickness],
        "runner": [sheet.runner.width, sheet.runner.height],
        "slat": [sheet.slat.width, sheet.slat.thickness],
        "centre_rail": [sheet.centre_rail.width, sheet.centre_rail.height],
        "support_foot": [sheet.support_foot.size],
    }
    for name, lengths in sides.items():
        section = getattr(sheet, name)
        greatest = EASED_SHARE * min(lengths)
        if section.edge != "square" and section.edge_size > greatest:
            raise InputError(
                f"{name}.edge_size",
                sheet.show(section.edge_size),
                f"must be at most {sheet.at_most(greatest)} on the narrowest side",
                f'make it less, the part thicker, or {name}.edge "square"',
            )


def _mattress_plan(sheet: Sheet) -> tuple[float, float]:
    given = sheet.mattress
    if given.width is not None and given.length is not None:
        return given.width, given.length
    row = mattress_size(given.size, "mattress.size")
    return given.width or row.width, given.length or row.length


def _heights(sheet: Sheet) -> tuple[float, MattressBox]:
    width, length = _mattress_plan(sheet)
    platform, top = sheet.height.platform, sheet.height.mattress_top
    thickness = sheet.mattress.thickness
    if platform is not None and top is not None:
        if thickness is not None and abs(top - platform - thickness) > 0.5:
            raise InputError(
                "height.mattress_top",
                sheet.show(top),
                f"platform and mattress make {sheet.show(platform + thickness)}",
                "leave out one of height.platform, height.mattress_top, mattress.thickness",
            )
        thickness = top - platform
        if not 80 <= thickness <= 520:
            raise InputError(
                "height.mattress_top",
                sheet.show(top),
                f"leaves {sheet.show(thickness)} for the mattress, must be "
                f"{sheet.show(80)} to {sheet.show(520)}",
                "move height.platform or height.mattress_top",
            )
    thickness = DEFAULT_THICKNESS if thickness is None else thickness
    if platform is None:
        platform = DEFAULT_PLATFORM if top is None else top - thickness
        if not 120 <= platform < PLATFORM_LIMIT:
            raise InputError(
                "height.mattress_top",
                sheet.show(top if top is not None else 0.0),
                f"puts the platform at {sheet.show(platform)}, must be "
                f"{sheet.show(120)} to under {sheet.show(PLATFORM_LIMIT)}",
                "change height.mattress_top or mattress.thickness",
            )
    return platform, MattressBox(width, length, thickness)


def _rail_heights(sheet: Sheet, platform: float) -> tuple[float, float]:
    rail, runner = sheet.side_rail, sheet.runner
    top = platform + rail.above_platform
    bottom = top - rail.width
    needed = rail.above_platform + sheet.slat.thickness + runner.height
    if rail.width < needed:
        raise InputError(
            "side_rail.width",
            sheet.show(rail.width),
            f"must be at least {sheet.at_least(needed)} to carry the runner under the slats",
            "make the rail wider, or lower side_rail.above_platform or runner.height",
        )
    greatest = top - LEAST_FLOOR_GAP
    if bottom < LEAST_FLOOR_GAP:
        raise InputError(
            "side_rail.width",
            sheet.show(rail.width),
            f"must be at most {sheet.at_most(greatest)} at this platform height",
            "make the rail narrower or raise height.platform",
        )
    return top, bottom


def _board_heights(sheet: Sheet, platform: float) -> tuple[tuple[float, float], float]:
    """Tops of head and foot legs, and the lowest board edge of both ends."""
    tops, lowest = [], math.inf
    for name, end in (("headboard", sheet.headboard), ("footboard", sheet.footboard)):
        bottoms = [platform + board.above_platform for board in end.board]
        order = sorted(range(len(bottoms)), key=lambda i: bottoms[i])
        _check_boards(sheet, name, end, bottoms, order)
        lowest = min(lowest, bottoms[order[0]])
        highest = bottoms[order[-1]] + end.board[order[-1]].width
        tops.append(highest + sheet.leg.above_boards)
    return (tops[0], tops[1]), lowest


def _check_boards(
    sheet: Sheet, name: str, end: BoardEnd, bottoms: list[float], order: list[int]
) -> None:
    for i in order:
        board = end.board[i]
        if bottoms[i] < LEAST_FLOOR_GAP:
            raise InputError(
                f"{name}.board.{i + 1}.above_platform",
                sheet.show(board.above_platform),
                f"puts its edge {sheet.show(bottoms[i])} above the floor, must be at least "
                f"{sheet.at_least(LEAST_FLOOR_GAP)}",
                "raise the board or height.platform",
            )
    for below, above in itertools.pairwise(order):
        edge = bottoms[below] + end.board[below].width
        if bottoms[above] < edge - 1e-9:
            least = edge - bottoms[above] + end.board[above].above_platform
            raise InputError(
                f"{name}.board.{above + 1}.above_platform",
                sheet.show(end.board[above].above_platform),
                f"overlaps {name}.board.{below + 1}, must be at least {sheet.at_least(least)}",
                "raise it or make the lower board narrower",
            )


def _check_rail_bearing(
    sheet: Sheet, legs: LegFamily, lowest_top: float, rail_top: float, yaw: float
) -> None:
    rail, eased = sheet.side_rail, legs.easing_size
    if rail_top > lowest_top - eased + 1e-9:
        raise InputError(
            "side_rail.above_platform",
            sheet.show(rail.above_platform),
            "the rail's top stands above the lowest leg's bearing, must be at most "
            f"{sheet.at_most(rail.above_platform - rail_top + lowest_top - eased)}",
            "lower the rail, or raise the footboard or leg.above_boards",
        )
    room = legs.width_at(rail_top) - eased / math.cos(legs.splay) - rail.reveal
    needed = rail.thickness / math.cos(yaw)
    if needed > room + 1e-9:
        raise InputError(
            "side_rail.thickness",
            sheet.show(rail.thickness),
            f"wider than the leg's bearing, must be at most {sheet.at_most(room * math.cos(yaw))}",
            "make the rail thinner, side_rail.reveal less or leg.top_width more",
        )


def _end(
    sheet: Sheet,
    end: End,
    inside_y: float,
    joint_x: float,
    leg_top: float,
    platform: float,
    legs: LegFamily,
    zones: tuple[Zone, ...],
) -> EndPlan:
    name, given = (
        ("headboard", sheet.headboard) if end == "head" else ("footboard", sheet.footboard)
    )
    boards = []
    for i, board in enumerate(given.board):
        parameter = f"{name}.board.{i + 1}"
        bottom = platform + board.above_platform
        if given.reveal + board.thickness > sheet.leg.thickness + 1e-9:
            raise InputError(
                f"{parameter}.thickness",
                sheet.show(board.thickness),
                f"must be at most {sheet.at_most(sheet.leg.thickness - given.reveal)}, the leg's "
                "thickness less the reveal",
                f"make the board thinner, {name}.reveal less or leg.thickness more",
            )
        plan = dowel_plan if given.joint == "dowels" else tenon_plan
        tenons = plan(sheet, given, parameter, board, bottom, legs, zones)
        boards.append(BoardPlan(i + 1, parameter, bottom, board.width, board.thickness, tenons))
    inward = 1.0 if end == "head" else -1.0
    return EndPlan(end, inside_y, inward, joint_x, leg_top, given.reveal, tuple(boards))


def _centre_rail(
    sheet: Sheet, mattress: MattressBox, pocket_length: float, platform: float, gap: float
) -> CentreRailPlan | None:
    rail = sheet.centre_rail
    wide = mattress.width > rail.over
    if rail.use == "never" and wide:
        raise InputError(
            "centre_rail.use",
            "never",
            f"a mattress wider than {sheet.show(rail.over)} needs a centre rail",
            'set it to "auto"',
        )
    if rail.use == "never" or (rail.use == "auto" and not wide):
        return None
    top = platform - sheet.slat.thickness
    greatest = top - LEAST_FLOOR_GAP
    if rail.height > greatest:
        raise InputError(
            "centre_rail.height",
            sheet.show(rail.height),
            f"must be at most {sheet.at_most(greatest)} to leave room for its feet",
            "make it lower or raise height.platform",
        )
    if rail.end_gap > gap:
        raise InputError(
            "centre_rail.end_gap",
            sheet.show(rail.end_gap),
            f"must be at most the slat gap, {sheet.at_most(gap)}, or the end slats overhang",
            "make it less",
        )
    start, end = rail.end_gap, pocket_length - rail.end_gap
    return CentreRailPlan(start, end, top, top - rail.height, _feet(sheet, start, end))


def _feet(sheet: Sheet, start: float, end: float) -> tuple[float, ...]:
    foot = sheet.support_foot
    if foot.end_inset < foot.size / 2:
        raise InputError(
            "support_foot.end_inset",
            sheet.show(foot.end_inset),
            f"must be at least half the foot, {sheet.at_least(foot.size / 2)}",
            "move the feet in",
        )
    first, last = start + foot.end_inset, end - foot.end_inset
    count = foot.count or 1 + max(1, math.ceil((last - first) / foot.bay - 1e-9))
    if count == 1:
        return ((start + end) / 2,)
    pitch = (last - first) / (count - 1)
    if pitch < foot.size + 10:
        raise InputError(
            "support_foot.count",
            count,
            f"must be at most {1 + int((last - first) / (foot.size + 10))} of this size",
            "use fewer or smaller feet, or a smaller support_foot.end_inset",
        )
    return tuple(first + i * pitch for i in range(count))
