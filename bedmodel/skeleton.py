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

from bedmodel.centre_beam import beam_height
from bedmodel.cleats import CleatPlan, cleat_plan
from bedmodel.deck_screws import DeckScrews, deck_screws
from bedmodel.dowels import dowel_plan
from bedmodel.end_spec import EndKind
from bedmodel.ends.boards import ENDS, WORDS, End, boards_of, check_low, given_of
from bedmodel.ends.cap import cap_of
from bedmodel.ends.kinds import fills_of, let_in
from bedmodel.ends.panels import check_in_leg
from bedmodel.ends.record import CapPlan, Fill
from bedmodel.errors import InputError
from bedmodel.fasteners.choice import Boards, FastenerPlan, RailPlan, choose
from bedmodel.frames import Vector
from bedmodel.heights import (
    LEAST_FLOOR_GAP,
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
    has_centre_rail,
    strip_row,
    support_thickness,
    webbing_plan,
)
from bedmodel.tenons import TenonPlan, tenon_plan

LEAST_SOLID = 30.0  # mm of a rail's width, for its joint with the legs
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
    joint faces from the centreline. All of it is in the end's upright frame, heights
    along its legs; ``lean`` takes that to the bed.
    """

    end: End
    inside_y: float
    inward: float
    joint_x: float
    leg_top: float
    reveal: float
    boards: tuple[BoardPlan, ...]
    lean: Lean = UPRIGHT
    kind: EndKind = "boards"
    fills: tuple[Fill, ...] = ()
    cap: CapPlan | None = None

    @property
    def towards_mattress(self) -> Vector:
        """Square to the legs' inside faces, in the bed."""
        return self.lean.direction((0.0, self.inward, 0.0))

    @property
    def below_floor(self) -> float:
        """How far the legs go on along themselves below the outline's own floor (mm)."""
        return -self.lean.along(0.0)

    @property
    def top(self) -> float:
        """The highest of legs and cap, along the legs."""
        return self.leg_top if self.cap is None else max(self.leg_top, self.cap.top)

    @property
    def top_height(self) -> float:
        """Plumb height of the highest corner of legs and cap."""
        inside = self.lean.plumb(self.leg_top)
        if self.cap is None:
            return inside
        # What of the cap stands inside the legs' inside faces is highest there.
        inner = self.cap.inner * self.inward
        return max(inside, self.lean.plumb(self.cap.top, max(0.0, inner)))


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
    centre = _centre_rail(sheet, mattress, pocket.length, platform, top, gap)
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


def board_name(end: EndPlan, board: BoardPlan) -> str:
    """The piece's name: ``headboard_board_1`` or, of one board only, ``footboard_board``.

    What the board is called goes by the end's kind: a board, a panel, a rail, a stretcher.
    """
    number = f"_{board.number}" if len(end.boards) > 1 else ""
    return f"{end.end}board_{WORDS[end.kind]}{number}"


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


def _centre_rail(
    sheet: Sheet,
    mattress: MattressBox,
    pocket_length: float,
    platform: float,
    top: float,
    gap: float | None,
) -> CentreRailPlan | None:
    """The centre rail, its top at ``top``; ``gap`` before the first slat, None without slats."""
    rail = sheet.centre_rail
    if not has_centre_rail(sheet, mattress.width):
        return None
    beam = rail.kind == "beam"
    height, name = rail.height, "centre_rail.height"
    if beam:
        long = pocket_length - 2 * rail.end_gap
        height = beam_height(sheet, mattress.width, mattress.length, long)
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
    # A raked head end stands into the pocket below the platform.
    shift = (platform - top + height) * math.tan(math.radians(sheet.frame.rake))
    if gap is not None and rail.end_gap + shift > gap:
        most = "the slat gap" if not shift else "the slat gap less what the raked head end takes"
        raise InputError(
            "centre_rail.end_gap",
            sheet.show(rail.end_gap),
            f"must be at most {most}, {sheet.at_most(gap - shift)}, or the end slats overhang",
            "make it less" if not shift else "make it, frame.rake or centre_rail.height less",
        )
    start, end = rail.end_gap + shift, pocket_length - rail.end_gap
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
