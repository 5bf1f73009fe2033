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
from dataclasses import dataclass, replace

from bedmodel.centre_rail_plan import CentreRailPlan, centre_rail_plan
from bedmodel.cleats import CleatPlan, cleat_plan
from bedmodel.deck_screws import DeckScrews, deck_screws
from bedmodel.dowels import dowel_plan
from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.ends.boards import ENDS, End, boards_of, check_low, given_of
from bedmodel.ends.cap import cap_of
from bedmodel.ends.kinds import fills_of, let_in
from bedmodel.ends.panels import check_in_leg
from bedmodel.errors import InputError
from bedmodel.fasteners.choice import Boards, FastenerPlan, RailPlan, choose
from bedmodel.heights import (
    MattressBox,
    board_heights,
    check_easing,
    heights,
    rail_heights,
)
from bedmodel.integral import integral_plan
from bedmodel.lean import UPRIGHT, Lean
from bedmodel.legs import LegFamily, leg_family
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
    strip_row,
    support_thickness,
    webbing_plan,
)
from bedmodel.tenons import tenon_plan

LEAST_SOLID = 30.0  # mm of a rail's width, for its joint with the legs
_PLANS = {"loose_tenon": tenon_plan, "tenon": integral_plan, "dowels": dowel_plan}


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
    def rake(self) -> float:
        """How far the head end leans back (radians)."""
        return self.head.lean.rake

    @property
    def overall(self) -> tuple[float, float, float]:
        """Overall width, length and height of the bed."""
        joint_x = max(self.head.joint_x, self.foot.joint_x)
        width = 2 * (joint_x + self.legs.floor_width)
        lean, thickness = self.head.lean, self.sheet.leg.thickness
        if lean.rake:
            # Out at the top of the show face; the feet never reach the foot legs.
            _, back, _ = lean.point((0.0, -thickness, self.head.leg_top))
            width += 2 * self.head.below_floor * math.tan(self.legs.splay)
        else:
            back = -thickness
        length = self.pocket_length + thickness - back
        for end in self.ends:
            if end.cap is not None:
                width = max(width, end.cap.length)
                length += max(0.0, end.cap.width - end.cap.inner - thickness)
        return width, length, max(self.head.top_height, self.foot.top)

    @property
    def ends(self) -> tuple[EndPlan, EndPlan]:
        return self.head, self.foot


def lay_out(sheet: Sheet) -> Layout:
    """Work out the layout of a bed.

    Raises InputError where parameters cannot hold together.
    """
    check_easing(sheet)
    platform, mattress = heights(sheet)
    for end in ENDS:
        check_low(sheet, end, mattress.thickness)
    half_foot = mattress.width / 2 + sheet.mattress.side_clearance
    pocket = Pocket(
        length=mattress.length + sheet.mattress.end_clearance,
        half_head=half_foot + sheet.frame.stance / 2,
        half_foot=half_foot,
        rake=math.radians(sheet.frame.rake),
    )
    lean = Lean(pocket.rake, platform)
    check_rows(sheet, mattress.width)
    thickness = support_thickness(sheet, mattress.width)
    rail_top, rail_bottom = rail_heights(sheet, platform, thickness)
    tops, lowest = board_heights(sheet, platform, lean)
    knee = min(lowest, lean.along(rail_bottom)) - sheet.leg.below_boards
    legs = leg_family(sheet, tops, knee)
    try:
        return _laid_out(
            sheet, (platform, mattress), pocket, (rail_top, rail_bottom), tops, legs, lean
        )
    except InputError as refused:
        raise legs.reworded(refused) from None


def _laid_out(
    sheet: Sheet,
    box: tuple[float, MattressBox],
    pocket: Pocket,
    rail: tuple[float, float],
    tops: tuple[float, float],
    legs: LegFamily,
    lean: Lean,
) -> Layout:
    (platform, mattress), (rail_top, rail_bottom) = box, rail
    for top, tilt in ((tops[1], UPRIGHT), (tops[0], lean)):
        _check_rail_bearing(sheet, legs, top, rail_top, pocket.yaw, tilt)
    reveal, over = sheet.side_rail.reveal, platform + mattress.thickness

    def ends(zones: tuple[Zone, ...], at_head: tuple[Zone, ...]) -> tuple[EndPlan, EndPlan]:
        half_head, half_foot = pocket.half_head - reveal, pocket.half_foot - reveal
        return (
            replace(
                _end(sheet, "head", 0.0, half_head, tops[0], platform, legs, at_head, over),
                lean=lean,
            ),
            _end(sheet, "foot", pocket.length, half_foot, tops[1], platform, legs, zones, over),
        )

    boards = Boards(ends, lambda found: [b.tenons.slots for end in found for b in end.boards])
    fastener, (head, foot) = choose(sheet, RailPlan(pocket, rail_bottom, legs, lean), boards)
    slats, has_slats = _slats(sheet, mattress, pocket)
    screws = slat_screws(sheet, pocket, slats) if has_slats else None
    top = platform - support_thickness(sheet, mattress.width)
    gap = slats.gap if has_slats else None
    centre = centre_rail_plan(sheet, mattress, pocket.length, platform, top, gap)
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
        boards = [(board_name(end, board), _solid(end, i)) for i, board in enumerate(end.boards)]
        face_y = end.inside_y - end.inward * end.reveal
        # A leaning cleat's top is bevelled level: it is highest at the board's face.
        top = end.lean.along(centre.bottom, face_y) if end.lean.rake else centre.bottom
        plans.append(cleat_plan(sheet, end.end, boards, face_y, end.inward, top))
    return tuple(plans)


def _solid(end: EndPlan, number: int) -> BoardPlan:
    """A board without what is let into its edges, where screws would find holes."""
    board = end.boards[number]
    low, high = let_in(end.fills, number, 0.0)
    return replace(board, bottom=board.bottom + low, width=board.width - low - high)


def _check_rail_bearing(
    sheet: Sheet, legs: LegFamily, lowest_top: float, rail_top: float, yaw: float, lean: Lean
) -> None:
    rail, eased = sheet.side_rail, legs.easing_size
    most = lean.plumb(lowest_top - eased)
    if rail_top > most + 1e-9:
        raise InputError(
            "side_rail.above_platform",
            sheet.show(rail.above_platform),
            "the rail's top stands above the lowest leg's bearing, must be at most "
            f"{sheet.at_most(rail.above_platform - rail_top + most)}",
            "lower the rail, or raise the footboard or leg.above_boards",
        )
    room = legs.width_at(lean.along(rail_top)) - eased / math.cos(legs.splay) - rail.reveal
    needed = rail.thickness / math.cos(yaw)
    if lean.rake:  # above the platform the rail's end stands further out
        needed -= math.tan(yaw) * lean.inside_y(rail_top)
    if needed > room + 1e-9:
        most = rail.thickness - (needed - room) * math.cos(yaw)
        raise InputError(
            "side_rail.thickness",
            sheet.show(rail.thickness),
            f"wider than the leg's bearing, must be at most {sheet.at_most(most)}",
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
    mattress_top: float,
) -> EndPlan:
    name, given = given_of(sheet, end)
    found = boards_of(sheet, end)
    fills = fills_of(sheet, end, platform, joint_x)
    boards = []
    for i, board in enumerate(found):
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
        low, high = let_in(fills, i, _joint_wall(sheet))
        solid = board.model_copy(update={"width": board.width - low - high})
        if solid.width < LEAST_SOLID:
            raise InputError(
                f"{parameter}.width",
                sheet.show(board.width),
                "what is let into its edges leaves no room for its joint with the legs, must be "
                f"at least {sheet.at_least(low + high + LEAST_SOLID)}",
                "make it wider, or what is let in less deep",
            )
        tenons = _PLANS[given.joint](sheet, given, parameter, solid, bottom + low, legs, zones)
        boards.append(BoardPlan(i + 1, parameter, bottom, board.width, board.thickness, tenons))
    for fill in fills:
        check_in_leg(sheet, name, fill, legs, zones)
    plans = tuple(board.tenons for board in boards)
    cap = cap_of(sheet, end, platform, joint_x, legs, leg_top, mattress_top, plans)
    inward = 1.0 if end == "head" else -1.0
    return EndPlan(
        end,
        inside_y,
        inward,
        joint_x,
        leg_top,
        given.reveal,
        tuple(boards),
        kind=given.kind,
        fills=fills,
        cap=cap,
    )


def _joint_wall(sheet: Sheet) -> float:
    return min(sheet.tenon.wall_least, sheet.dowel.wall_least)
