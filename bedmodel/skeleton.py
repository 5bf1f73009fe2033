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

import math
from dataclasses import dataclass
from typing import Literal

from bedmodel.centre_beam import beam_height
from bedmodel.cleats import CleatPlan, cleat_plan
from bedmodel.deck_screws import DeckScrews, deck_screws
from bedmodel.dowels import dowel_plan
from bedmodel.errors import InputError
from bedmodel.fasteners.choice import Boards, FastenerPlan, RailPlan, choose
from bedmodel.heights import (
    LEAST_FLOOR_GAP,
    MattressBox,
    board_heights,
    check_easing,
    heights,
    rail_heights,
)
from bedmodel.integral import integral_plan
from bedmodel.leg_outline import LegFamily, leg_family
from bedmodel.platform_screws import RunnerScrews, SlatScrews, runner_screws, slat_screws
from bedmodel.pocket import Pocket
from bedmodel.slats import SlatRow, slat_row
from bedmodel.spec import Sheet
from bedmodel.spread import Zone
from bedmodel.supports import (
    DeckPlan,
    WebbingPlan,
    bearer_row,
    bearers_count,
    check_rows,
    deck_plan,
    has_centre_rail,
    strip_row,
    support_thickness,
    webbing_plan,
)
from bedmodel.tenons import TenonPlan, tenon_plan

End = Literal["head", "foot"]

_PLANS = {"loose_tenon": tenon_plan, "tenon": integral_plan, "dowels": dowel_plan}


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

    @property
    def height(self) -> float:
        """How thick it is under load."""
        return self.top - self.bottom


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
    slat_screws: SlatScrews | None
    runner_screws: RunnerScrews | None
    cleats: tuple[CleatPlan, ...]
    has_slats: bool
    webbing: WebbingPlan | None
    deck: DeckPlan | None
    deck_screws: DeckScrews | None

    @property
    def support_thickness(self) -> float:
        """From the runners' tops to the platform: a slat's, a panel's, or nothing."""
        return support_thickness(self.sheet, self.mattress.width)

    @property
    def rows(self) -> int:
        """Rows of slats, or of panels, across the bed."""
        return self.sheet.support.rows

    @property
    def slat_length(self) -> float:
        """Length of one slat: of two rows, of one of them."""
        gap = self.sheet.support.row_gap
        return self.slats.length if self.rows == 1 else (self.slats.length - gap) / 2

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
        return self.platform - self.support_thickness

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
    check_easing(sheet)
    platform, mattress = heights(sheet)
    half_foot = mattress.width / 2 + sheet.mattress.side_clearance
    pocket = Pocket(
        length=mattress.length + sheet.mattress.end_clearance,
        half_head=half_foot + sheet.frame.stance / 2,
        half_foot=half_foot,
    )
    check_rows(sheet, mattress.width)
    thickness = support_thickness(sheet, mattress.width)
    rail_top, rail_bottom = rail_heights(sheet, platform, thickness)
    tops, lowest = board_heights(sheet, platform)
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
    slats, has_slats = _slats(sheet, mattress, pocket)
    screws = slat_screws(sheet, pocket, slats) if has_slats else None
    centre = _centre_rail(
        sheet, mattress, pocket.length, platform - thickness, slats.gap if has_slats else None
    )
    deck = deck_plan(sheet, pocket, centre is not None)
    panel_screws = deck_screws(sheet, pocket, deck)
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
        slat_screws=screws,
        runner_screws=runner_screws(
            sheet, pocket, fastener, (slats, screws), panel_screws.runner if panel_screws else None
        ),
        cleats=_cleats(sheet, (head, foot), centre),
        has_slats=has_slats,
        webbing=webbing_plan(sheet, slats),
        deck=deck,
        deck_screws=panel_screws,
    )


def _slats(sheet: Sheet, mattress: MattressBox, pocket: Pocket) -> tuple[SlatRow, bool]:
    """The row of slats; else the strips that stand for it in the reckoning, and False."""
    kind = sheet.support.kind
    if kind in ("slats", "webbed"):
        return slat_row(sheet, pocket), True
    if kind == "deck":
        return strip_row(pocket, sheet.deck.side_gap), False
    count = bearers_count(sheet, mattress.width)
    if count:
        return bearer_row(sheet, pocket, count), True
    return strip_row(pocket, sheet.mattress.side_clearance), False


def _cleats(
    sheet: Sheet, ends: tuple[EndPlan, EndPlan], centre: CentreRailPlan | None
) -> tuple[CleatPlan, ...]:
    rail = sheet.centre_rail
    if centre is None or (rail.ends == "free" and rail.kind != "beam"):
        return ()
    plans = []
    for end in ends:
        boards = [(board_name(end, board), board) for board in end.boards]
        face_y = end.inside_y - end.inward * end.reveal
        plans.append(cleat_plan(sheet, end.end, boards, face_y, end.inward, centre.bottom))
    return tuple(plans)


def board_name(end: EndPlan, board: BoardPlan) -> str:
    """The piece's name: ``headboard_board_1`` or, of one board only, ``footboard_board``."""
    number = f"_{board.number}" if len(end.boards) > 1 else ""
    return f"{end.end}board_board{number}"


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
        tenons = _PLANS[given.joint](sheet, given, parameter, board, bottom, legs, zones)
        boards.append(BoardPlan(i + 1, parameter, bottom, board.width, board.thickness, tenons))
    inward = 1.0 if end == "head" else -1.0
    return EndPlan(end, inside_y, inward, joint_x, leg_top, given.reveal, tuple(boards))


def _centre_rail(
    sheet: Sheet, mattress: MattressBox, pocket_length: float, top: float, gap: float | None
) -> CentreRailPlan | None:
    """The centre rail, its top at ``top``; ``gap`` before the first slat, None without slats."""
    rail = sheet.centre_rail
    if not has_centre_rail(sheet, mattress.width):
        return None
    if gap is not None and rail.end_gap > gap:
        raise InputError(
            "centre_rail.end_gap",
            sheet.show(rail.end_gap),
            f"must be at most the slat gap, {sheet.at_most(gap)}, or the end slats overhang",
            "make it less",
        )
    start, end = rail.end_gap, pocket_length - rail.end_gap
    beam = rail.kind == "beam"
    height, name = rail.height, "centre_rail.height"
    if beam:
        height = beam_height(sheet, mattress.width, mattress.length, end - start)
        name = "centre_rail.beam_height"
    greatest = top - LEAST_FLOOR_GAP
    if height > greatest:
        raise InputError(
            name,
            sheet.show(height),
            f"must be at most {sheet.at_most(greatest)} to leave room "
            + ("over the floor" if beam else "for its feet"),
            "raise height.platform"
            + (" or make centre_rail.width more" if beam else " or make it lower"),
        )
    feet = () if beam else _feet(sheet, start, end)
    return CentreRailPlan(start, end, top, top - height, feet)


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
