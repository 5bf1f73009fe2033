"""Codes of the checks, banded by hundreds, and what a check has to say.

100  the solid of each part       500  the mattress's pocket
200  parts against each other     600  slats and what carries them
300  faces and joints             700  floor and height
400  tenons and mortises          800  knock-down fasteners of the rails
                                  900  strength, sag, wood movement: reckoned
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Literal


class Code(IntEnum):
    """Every code a check can report."""

    SOLID_NOT_VALID = 101
    SOLID_NOT_SINGLE = 102
    SOLID_OUTSIDE_BLANK = 103
    SIZE_DIFFERS = 104
    OUTLINE_DIFFERS = 105
    PARTS_OVERLAP = 201
    BOARD_NOT_FLUSH = 301
    RAIL_NOT_FLUSH = 302
    JOINT_BEARING_SHORT = 303
    UPRIGHT_GAPS_UNEQUAL = 304
    GAP_TRAPS_HEAD = 305
    CAP_NOT_SEATED = 306
    JOINT_ARRIS_SHAPED = 307
    TENON_CHEEK_CLEARANCE = 401
    TENON_END_GAP = 402
    MORTISE_MISSING = 403
    MORTISE_WALL_THIN = 404
    MORTISE_BREAKS_OUT = 405
    MORTISES_MEET = 406
    BOARD_CANNOT_MOVE = 407
    END_JOINT_FIT = 408
    PANEL_CANNOT_MOVE = 409
    PANEL_LOOSE = 410
    POCKET_TOO_SMALL = 501
    POCKET_TIGHT_AT_TOLERANCE = 502
    POCKET_OBSTRUCTED = 503
    SLAT_GAPS_UNEQUAL = 601
    SLAT_GAP_OUT_OF_BAND = 602
    SLAT_BEARING_SHORT = 603
    SUPPORTS_NOT_LEVEL = 604
    ROW_BEARING_SHORT = 605
    DECK_BEARING_SHORT = 606
    DECK_JOINT_UNSUPPORTED = 607
    FOOT_OFF_FLOOR = 701
    PLATFORM_TOO_HIGH = 702
    FOOT_NOT_LEVEL = 703
    HOOK_ENGAGEMENT_SHORT = 801
    HOOK_TRAVEL_SHORT = 802
    HOOK_BINDS = 803
    SCREW_BITE_SHORT = 804
    RECESS_WALL_THIN = 805
    FASTENER_NEAR_MORTISE = 806
    PLATE_NOT_FLUSH = 807
    BOLT_REACH_SHORT = 808
    FASTENER_SHOWS = 809
    RAILS_NOT_LEVEL = 810
    SCREW_OFF_PILOT = 811
    PART_SAGS = 901
    PART_OVERSTRESSED = 902
    BEARING_DENTS = 903
    CENTRE_RAIL_TIPS = 904
    HEADBOARD_WOBBLES = 905
    JOINT_OVERLOADED = 906
    BOARD_MAY_SPLIT = 907
    BOARD_ROOM_SHORT = 908
    GAP_CATCHES = 909
    PANEL_ROOM_SHORT = 910


# What is only pointed out: advice, never a failure.
TOLD_ONLY = frozenset({Code.GAP_CATCHES})


# What each code means to a maker, and what to change when it is reported.
MEANING: dict[Code, tuple[str, str]] = {
    Code.SOLID_NOT_VALID: ("each part is a valid closed solid", "change the edge_size of the part"),
    Code.SOLID_NOT_SINGLE: ("each part is one body", "make its mortises smaller"),
    Code.SOLID_OUTSIDE_BLANK: ("each part lies inside its blank", "report this as a fault"),
    Code.SIZE_DIFFERS: ("each part fills its finished size", "report this as a fault"),
    Code.OUTLINE_DIFFERS: ("each leg follows its template's outline", "report this as a fault"),
    Code.PARTS_OVERLAP: ("no two parts share more than a touch", "move or shorten one of them"),
    Code.BOARD_NOT_FLUSH: (
        "boards are flush with the legs' inside faces, or back by the reveal",
        "change the board's thickness or reveal",
    ),
    Code.RAIL_NOT_FLUSH: (
        "rails are flush with the legs' joint faces, or out by the reveal",
        "change side_rail.reveal or frame.stance",
    ),
    Code.JOINT_BEARING_SHORT: (
        "each butt joint bears on its whole area",
        "change the length of the board or rail, or the leg's width",
    ),
    Code.UPRIGHT_GAPS_UNEQUAL: (
        "slats and spindles of an end stand at equal gaps",
        "report this as a fault",
    ),
    Code.GAP_TRAPS_HEAD: (
        "no gap between slats or spindles of an end can catch a child's head",
        "change gap_least, gap_wanted or gap_greatest of the end's slats or spindles",
    ),
    Code.CAP_NOT_SEATED: (
        "each cap lies on what carries it, and leaves a wide board room",
        "report this as a fault",
    ),
    Code.JOINT_ARRIS_SHAPED: (
        "edges with a profile are left as they were where joints need them",
        "raise the stop of that part's edges",
    ),
    Code.TENON_CHEEK_CLEARANCE: ("tenon cheeks have their clearance", "change tenon.thickness"),
    Code.TENON_END_GAP: ("tenon ends have their gap for glue", "change tenon.embedment"),
    Code.MORTISE_MISSING: ("each tenon has its mortise", "report this as a fault"),
    Code.MORTISE_WALL_THIN: (
        "wood is left round each mortise",
        "make tenon.embedment less or the part larger",
    ),
    Code.MORTISE_BREAKS_OUT: (
        "no mortise breaks through a face",
        "make tenon.embedment less or the part larger",
    ),
    Code.MORTISES_MEET: ("no mortise meets another", "make tenon.width less"),
    Code.BOARD_CANNOT_MOVE: (
        "wide boards can move: what is left dry has room to slide",
        "report this as a fault",
    ),
    Code.END_JOINT_FIT: (
        "ends of slats, spindles, muntins and cap dowels fit their holes and grooves",
        "report this as a fault",
    ),
    Code.PANEL_CANNOT_MOVE: (
        "panels have room to swell in their grooves",
        "make the end's panels.groove_depth or side_room more",
    ),
    Code.PANEL_LOOSE: (
        "panels stand deep enough in their grooves",
        "make the end's panels.groove_depth more",
    ),
    Code.POCKET_TOO_SMALL: (
        "the nominal mattress fits the pocket",
        "raise mattress.side_clearance or mattress.end_clearance",
    ),
    Code.POCKET_TIGHT_AT_TOLERANCE: (
        "a mattress 20 mm over size (EN 1334) fits the pocket",
        "raise mattress.side_clearance or mattress.end_clearance",
    ),
    Code.POCKET_OBSTRUCTED: ("nothing juts into the pocket", "move the part out of the pocket"),
    Code.SLAT_GAPS_UNEQUAL: ("slat gaps are equal", "change slat.width or slat.gap_wanted"),
    Code.SLAT_GAP_OUT_OF_BAND: (
        "slat gaps are within the allowed band",
        "change slat.gap_least, slat.gap_greatest or slat.width",
    ),
    Code.SLAT_BEARING_SHORT: ("slats bear on their runners", "make runner.width more"),
    Code.SUPPORTS_NOT_LEVEL: (
        "tops of runners and centre rail lie in one plane",
        "change the height of the part named",
    ),
    Code.ROW_BEARING_SHORT: (
        "two rows of slats or panels each bear on the centre rail",
        "make centre_rail.width more, or support.row_gap less",
    ),
    Code.DECK_BEARING_SHORT: (
        "panels of a deck bear on their runners",
        "make runner.width more, or deck.side_gap less",
    ),
    Code.DECK_JOINT_UNSUPPORTED: (
        "both panels at each joint of a deck lie on its batten",
        "make deck.batten_width more",
    ),
    Code.FOOT_OFF_FLOOR: ("all feet stand on the floor", "change the length of the part named"),
    Code.FOOT_NOT_LEVEL: (
        "each foot lies level on the floor with its whole face",
        "report this as a fault",
    ),
    Code.PLATFORM_TOO_HIGH: (
        "the platform is under 600 mm, or it is a high bed",
        "lower height.platform",
    ),
    Code.HOOK_ENGAGEMENT_SHORT: (
        "each hook holds its slot plate over its drop",
        "take a fastener with deeper hooks",
    ),
    Code.HOOK_TRAVEL_SHORT: (
        "each hook can be lifted out of its slot and pocket",
        "make fastener.end_room more",
    ),
    Code.HOOK_BINDS: (
        "hooks are clear of slots and pockets at their sides",
        "take a fastener with more slot_play, or less frame.stance",
    ),
    Code.SCREW_BITE_SHORT: (
        "each screw's thread is in wood (in end grain it holds about 75 %)",
        "take longer screws, or set them clear of the pockets",
    ),
    Code.RECESS_WALL_THIN: (
        "wood is left round each recess and hole of a fastener",
        "take a smaller fastener or make the part larger",
    ),
    Code.FASTENER_NEAR_MORTISE: (
        "wood is left between fasteners and mortises",
        "move fastener.height or the board",
    ),
    Code.PLATE_NOT_FLUSH: (
        "plates lie flush with the wood, so that the joint closes",
        "report this as a fault",
    ),
    Code.BOLT_REACH_SHORT: (
        "each bolt goes right through its barrel, and is not stopped by its hole",
        "take a bolt of another length",
    ),
    Code.FASTENER_SHOWS: (
        "no fastener shows when the mattress is off, where the sheet asks for it",
        'take "hook_plates", or set fastener.visible to "allowed"',
    ),
    Code.RAILS_NOT_LEVEL: (
        "both rails, and their fasteners at all four corners, are at one height",
        "report this as a fault",
    ),
    Code.SCREW_OFF_PILOT: (
        "the holes that screws go through stand over their pilot holes",
        "report this as a fault",
    ),
    Code.PART_SAGS: (
        "no part sags more than its limit, at once or after years",
        "make the part deeper; `bedmodel advise` says how much",
    ),
    Code.PART_OVERSTRESSED: (
        "no part is stressed more than its wood is allowed",
        "make the part deeper; `bedmodel advise` says how much",
    ),
    Code.BEARING_DENTS: (
        "no part dents what it rests on",
        "make the bearing longer: runner.width, centre_rail.width or support_foot.size",
    ),
    Code.CENTRE_RAIL_TIPS: (
        "the centre rail rests on two places at least",
        'take more feet, support_foot.count, or centre_rail.ends "cleats"',
    ),
    Code.HEADBOARD_WOBBLES: (
        "the headboard's top hardly moves when it is leant on",
        "make the legs thicker, the headboard lower or the rails deeper",
    ),
    Code.JOINT_OVERLOADED: (
        "no joint bears more than it holds at its best",
        "make tenons or dowels larger or more, or screws more or thicker",
    ),
    Code.BOARD_MAY_SPLIT: (
        "no board is glued so widely that drying may split it",
        "make tenon.glued_most less",
    ),
    Code.BOARD_ROOM_SHORT: (
        "what is left dry in a wide board has room to slide in its climate",
        "raise tenon.moisture_change",
    ),
    Code.GAP_CATCHES: (
        "gaps by the mattress that can catch a head or limb are pointed out",
        "move the board: see `bedmodel advise`",
    ),
}

MEANING[Code.PANEL_ROOM_SHORT] = (
    "panels keep in their grooves and have room there, in the bed's climate",
    "raise tenon.moisture_change",
)

Measure = Literal["mm", "mm2", "mm3", "count", "share"]


@dataclass(frozen=True)
class Finding:
    """One failure: the parts, what was measured and the limit it broke."""

    code: Code
    parts: tuple[str, ...]
    measured: float
    limit: str
    place: str = ""

    @property
    def remedy(self) -> str:
        return MEANING[self.code][1]


@dataclass(frozen=True)
class Caution:
    """What a choice of the sheet costs: told with the check's result, and no failure."""

    code: Code
    parts: tuple[str, ...]
    measured: float
    told: str


@dataclass(frozen=True)
class Result:
    """What one code's check saw: how many cases, the worst of them, and the failures."""

    code: Code
    tested: int
    worst: float | None
    measure: Measure
    limit: str
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...] = ()

    @property
    def passed(self) -> bool:
        return not self.findings

    @property
    def title(self) -> str:
        return MEANING[self.code][0]
