"""What the maker decides: every parameter of a sheet, with default, range and help.

    platform        top of the slats
    pocket          the clear space for the mattress
    stance          how much wider the pocket is at the head than at the foot
    reveal          how far one face stands back from another

Ranges here are those of one parameter alone. What parameters must satisfy
together is decided in ``skeleton``, where the numbers meet.
"""

from __future__ import annotations

import math
from typing import Literal

from pydantic import Field

from bedmodel import fields
from bedmodel.fields import Angle, Length, Section
from bedmodel.hardware import Bolt, Bracket, HookPlate, RailJoint
from bedmodel.units import MM_PER_INCH, LengthUnit, format_length

EdgeStyle = Literal["square", "roundover", "chamfer"]

SLAT_WIDTHS = (30.0, 160.0)

_EDGE = "How the long edges are eased."
_EDGE_SIZE = "Radius of the roundover, or width of the chamfer."


class Design(Section):
    """What the design is called, and the unit of the sheet."""

    name: str = fields.words(
        "bed",
        "Short name, used for the output folder: small letters, digits and hyphens.",
        pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$",
        limit=40,
    )
    title: str = fields.words("Solid-wood bed", "Name for people, printed on drawings.", limit=80)
    note: str = fields.words("", "A line about the design.", limit=400)
    unit: LengthUnit = fields.choice(
        "mm", "Unit of bare numbers in the sheet and of printed sizes."
    )


class Mattress(Section):
    """The mattress, and the room left round it."""

    size: str = fields.words("us-queen", "Name in the table of sizes (bedmodel sizes).", limit=40)
    width: Length | None = fields.length(
        None, 600, 2200, "Width, if not a size of the table.", worked_out="from mattress.size"
    )
    length: Length | None = fields.length(
        None, 1600, 2300, "Length, if not a size of the table.", worked_out="from mattress.size"
    )
    thickness: Length | None = fields.length(
        None,
        80,
        520,
        "Thickness, underside to top.",
        worked_out="height.mattress_top less height.platform, or 250 mm",
    )
    side_clearance: Length = fields.length(
        11,
        10,
        40,
        "Room on each side; 10 mm lets a mattress at the + 20 mm of EN 1334 drop in.",
    )
    end_clearance: Length = fields.length(
        22,
        20,
        80,
        "Room in the length, in all; 20 mm lets a mattress at the + 20 mm of EN 1334 drop in.",
    )


class Height(Section):
    """Heights above the floor; with the mattress thickness, two of three fix the third."""

    platform: Length | None = fields.length(
        None,
        120,
        599,
        "Top of the slats above the floor.",
        worked_out="height.mattress_top less mattress.thickness, or 300 mm",
    )
    mattress_top: Length | None = fields.length(
        None,
        220,
        1100,
        "Top of the mattress above the floor.",
        worked_out="height.platform plus mattress.thickness",
    )


class Timber(Section):
    """The species, from the table of woods."""

    species: str = fields.words(
        "white-oak", "Species of the bed, from the table of woods.", limit=40
    )
    slats: str | None = fields.words(
        None,
        "Species of slats, runners and centre rail.",
        limit=40,
        worked_out="as wood.species",
    )


class FrameSection(Section):
    """The plan of the frame."""

    stance: Length = fields.length(
        0, 0, 120, "How much wider the pocket is at the head than at the foot."
    )


class Leg(Section):
    """The four legs, of one outline family."""

    style: Literal["straight", "splayed"] = fields.choice(
        "straight",
        "straight: a post; splayed: outer edge leaning, curve inside, shaped foot.",
    )
    thickness: Length = fields.length(
        60, 24, 120, "Thickness, in the direction of the bed's length."
    )
    top_width: Length = fields.length(60, 30, 260, "Width at the top of the head legs.")
    splay: Angle = fields.angle(5, 1, 12, "Lean of the outer edge from plumb (splayed legs).")
    ankle_width: Length = fields.length(
        70, 25, 250, "Width above the foot, square to the outer edge (splayed legs)."
    )
    foot_width: Length = fields.length(80, 25, 250, "Width on the floor (splayed legs).")
    curve_diameter: Length | None = fields.length(
        None,
        40,
        4000,
        "Diameter of the inside curve (splayed legs).",
        worked_out="the largest the place allows, less a tenth",
    )
    flare_diameter: Length = fields.length(
        120, 20, 1000, "Diameter of the curve into the foot (splayed legs)."
    )
    above_boards: Length = fields.length(20, 0, 200, "Top of a leg above its highest board.")
    below_boards: Length = fields.length(
        12, 3, 150, "The joint face goes on below the lowest board or rail by this."
    )
    edge: EdgeStyle = fields.choice("roundover", _EDGE)
    edge_size: Length = fields.length(3, 0.5, 12, _EDGE_SIZE)


class Board(Section):
    """One board of the head end or the foot end."""

    width: Length = fields.length(140, 40, 500, "Width, that is its height in the bed.")
    thickness: Length = fields.length(25, 15, 80, "Thickness.")
    above_platform: Length = fields.length(
        0, -450, 900, "Lower edge above the platform; negative when below it."
    )


class BoardEnd(Section):
    """The boards between two legs, from low to high or in any order."""

    reveal: Length = fields.length(
        0, 0, 40, "How far the boards stand back from the legs' inside faces; 0 is flush."
    )
    joint: Literal["loose_tenon", "tenon", "dowels"] = fields.choice(
        "loose_tenon",
        "How the boards join the legs. loose_tenon: a separate strip, let into board and leg; "
        "tenon: cut on the board itself, which gets longer by it, with shoulders all round; "
        "dowels: round pins. Sizes in [tenon] or [dowel].",
    )
    glue: Literal["zone", "all"] = fields.choice(
        "zone",
        "zone: of a board wider than tenon.glued_most one tenon, or the dowels near the middle, "
        "are glued and the others are dry, in longer mortises, so that it can move; all: every "
        "tenon or dowel is glued.",
    )
    edge: EdgeStyle = fields.choice("roundover", _EDGE)
    edge_size: Length = fields.length(3, 0.5, 12, _EDGE_SIZE)
    board: tuple[Board, ...] = Field(
        (Board(),),
        min_length=1,
        max_length=8,
        description="The boards, each a table of its own.",
    )


class SideRail(Section):
    """The two side rails."""

    joint: RailJoint = fields.choice(
        "hook_plates",
        "How the rails join the legs: knock-down by a fastener of [fastener], or butt, to be "
        "joined as the maker likes.",
    )
    width: Length = fields.length(150, 50, 400, "Width, that is its height in the bed.")
    thickness: Length = fields.length(27, 15, 80, "Thickness.")
    above_platform: Length = fields.length(40, 5, 250, "Top edge above the platform.")
    reveal: Length = fields.length(
        0, 0, 40, "How far its inside face stands out from the legs' joint faces; 0 is flush."
    )
    edge: EdgeStyle = fields.choice("roundover", _EDGE)
    edge_size: Length = fields.length(3, 0.5, 12, _EDGE_SIZE)


class Runner(Section):
    """The strip under the slat ends, on the rail's inside face."""

    joint: Literal["screws", "glue"] = fields.choice(
        "screws", "screws: to the rail, through the runner, sizes in [screw]; glue: no screws."
    )
    width: Length = fields.length(45, 15, 120, "Width, out from the rail.")
    height: Length = fields.length(32, 12, 120, "Height.")
    end_gap: Length = fields.length(3, 1, 100, "Gap between its ends and the legs.")
    edge: EdgeStyle = fields.choice("chamfer", _EDGE)
    edge_size: Length = fields.length(1, 0.5, 6, _EDGE_SIZE)


class Slat(Section):
    """The slats; their count and gap are solved for the pocket's length."""

    joint: Literal["screws", "loose"] = fields.choice(
        "screws", "screws: one at each end, into the runner; loose: laid in."
    )
    width: Length = fields.length(57, *SLAT_WIDTHS, "Width.")
    thickness: Length = fields.length(20, 10, 45, "Thickness.")
    gap_least: Length = fields.length(50.8, 10, 120, "Least gap allowed between slats.")
    gap_wanted: Length = fields.length(58, 10, 120, "Gap wanted; the nearest equal gap is taken.")
    gap_greatest: Length = fields.length(
        69.85, 10, 120, "Greatest gap allowed; foam mattresses want at most 76 mm."
    )
    end_clearance: Length = fields.length(2, 0.5, 25, "Gap between each end and the rail.")
    bearing_least: Length = fields.length(18, 8, 80, "Least length of each end on its runner.")
    edge: EdgeStyle = fields.choice("roundover", _EDGE)
    edge_size: Length = fields.length(2, 0.5, 8, _EDGE_SIZE)


class CentreRail(Section):
    """The rail down the middle, its top level with the runners' tops."""

    ends: Literal["free", "cleats"] = fields.choice(
        "free",
        "free: carried by its feet alone; cleats: its ends also rest on blocks, [cleat], "
        "screwed to the boards.",
    )
    use: Literal["auto", "always", "never"] = fields.choice(
        "auto", "auto: when the mattress is wider than centre_rail.over."
    )
    over: Length = fields.length(
        1100, 800, 1250, "Mattress width above which a centre rail is needed."
    )
    width: Length = fields.length(45, 18, 150, "Width across the bed.")
    height: Length = fields.length(70, 20, 200, "Height.")
    end_gap: Length = fields.length(3, 1, 150, "Gap between its ends and the head and foot boards.")
    edge: EdgeStyle = fields.choice("chamfer", _EDGE)
    edge_size: Length = fields.length(2, 0.5, 8, _EDGE_SIZE)


class SupportFoot(Section):
    """The feet under the centre rail."""

    size: Length = fields.length(45, 25, 150, "Side of its square section.")
    count: int | None = fields.count(
        None, 1, 7, "How many.", worked_out="so that no bay is longer than support_foot.bay"
    )
    bay: Length = fields.length(800, 300, 1500, "Longest stretch of centre rail between feet.")
    end_inset: Length = fields.length(
        150, 30, 600, "From the centre rail's ends to the middle of the first and last foot."
    )
    edge: EdgeStyle = fields.choice("chamfer", _EDGE)
    edge_size: Length = fields.length(2, 0.5, 8, _EDGE_SIZE)


class Cleat(Section):
    """The blocks under the ends of the centre rail, screwed to head and foot boards."""

    width: Length = fields.length(110, 50, 400, "Width across the bed.")
    height: Length = fields.length(36, 20, 120, "Height.")
    thickness: Length = fields.length(32, 18, 80, "Thickness, out from the board.")
    edge: EdgeStyle = fields.choice("chamfer", _EDGE)
    edge_size: Length = fields.length(2, 0.5, 8, _EDGE_SIZE)


class Screws(Section):
    """Wood screws of runners, slats and cleats; pilot holes go by the wood's density."""

    runner_gauge: int | None = fields.count(
        None, 4, 20, "Gauge through runners and cleats.", worked_out="10, or the thickest that fits"
    )
    runner_length: Length | None = fields.length(
        None,
        10,
        120,
        "Length through runners and cleats.",
        worked_out="seven diameters in the part held to, or what fits",
    )
    runner_pitch: Length = fields.length(
        180, 60, 400, "Longest stretch of runner between screws; 150 to 200 is common practice."
    )
    slat_gauge: int | None = fields.count(
        None, 4, 20, "Gauge through slats.", worked_out="8, or the thickest that fits"
    )
    slat_length: Length | None = fields.length(
        None,
        10,
        120,
        "Length through slats.",
        worked_out="as for runners",
    )
    sunk: Length = fields.length(1.5, 0, 10, "How far heads lie below the surface, at least.")
    bite_least: Length = fields.length(12, 5, 60, "Least length of thread in the part held to.")


class Tenon(Section):
    """The tenons that join each board to its legs, loose ones or the board's own."""

    count: int | None = fields.count(
        None, 1, 6, "How many at each board's end.", worked_out="one for each 125 mm of width"
    )
    thickness: Length | None = fields.length(
        None, 4, 30, "Thickness.", worked_out="a third of the board, whole mm or 1/16 in"
    )
    width: Length | None = fields.length(
        None, 12, 160, "Width, up and down.", worked_out="0.55 of each tenon's share of the board"
    )
    embedment: Length | None = fields.length(
        None,
        8,
        120,
        "Depth in each part; the length of a board's own tenons.",
        worked_out="three times the thickness, less where the leg is too narrow",
    )
    haunch: Length | None = fields.length(
        None,
        0,
        60,
        "Length of the haunch of a board's own tenons, a short stub beside and between them where "
        "the board is wide enough for more than one; 0 for none.",
        worked_out="a third of the tenon's length, less where the leg is too narrow",
    )
    rows: int = fields.count(1, 1, 2, "Single, or two side by side in a thick board.")
    ends: Literal["round", "square"] = fields.choice(
        "round", "Narrow edges: round as a router leaves the mortise, or square by chisel."
    )
    glued_most: Length = fields.length(
        100,
        50,
        500,
        "Widest board that is glued throughout, and widest zone of dowels that is (common "
        "practice).",
    )
    moisture_change: int = fields.count(
        5,
        0,
        14,
        "Change of moisture content that dry tenons and dowels allow for, in points of per cent.",
    )
    cheek_clearance: Length = fields.length(0.1, 0.03, 0.5, "Gap at each cheek; about a glue line.")
    edge_clearance: Length = fields.length(0.5, 0.1, 5, "Gap at each narrow edge.")
    end_gap: Length = fields.length(1.5, 0.5, 10, "Gap for glue beyond each end.")
    wall_least: Length = fields.length(6, 3, 40, "Least wood left round a mortise.")


class Dowel(Section):
    """The dowels that join each board to its legs, where its joint is dowels."""

    count: int | None = fields.count(
        None, 2, 16, "How many at each board's end.", worked_out="about one for each 45 mm of width"
    )
    diameter: Length | None = fields.length(
        None, 5, 20, "Diameter.", worked_out="two fifths of the board, of 6, 8, 10, 12, 16 mm"
    )
    depth: Length | None = fields.length(
        None,
        10,
        100,
        "Depth in each part.",
        worked_out="three times the diameter, less where the leg is too narrow",
    )
    clearance: Length = fields.length(0.05, 0.02, 0.5, "Gap all round; about a glue line.")
    end_gap: Length = fields.length(1.5, 0.5, 10, "Gap for glue beyond each end.")
    wall_least: Length = fields.length(6, 3, 40, "Least wood left round a hole.")


class RailFastener(Section):
    """The knock-down fasteners of the side rails, and the maker's own rows for their table."""

    name: str | None = fields.words(
        None,
        "Which row of the table, shared/fasteners.toml, or of the lists below.",
        limit=40,
        worked_out="the first row of side_rail.joint that fits",
    )
    height: Length | None = fields.length(
        None,
        15,
        390,
        "From the rail's lower edge to the fastener's middle.",
        worked_out="the rail's middle, or as near to it as the boards' joints allow",
    )
    visible: Literal["allowed", "never"] = fields.choice(
        "allowed", "never: nothing of it may show when the mattress is off."
    )
    fit: Length = fields.length(0.1, 0, 1, "Gap all round a plate in its recess.")
    end_room: Length = fields.length(
        1.5, 0.5, 10, "Room beyond hooks, bolts and dowels at the bottom of their holes."
    )
    wall_least: Length = fields.length(4, 2, 30, "Least wood left round its recesses and holes.")
    bite_least: Length = fields.length(15, 5, 60, "Least length of a screw's thread in wood.")
    engagement_least: Length = fields.length(
        4, 1, 25, "Least height over which a hook holds its slot plate."
    )
    hook_plate: tuple[HookPlate, ...] = Field(
        (), max_length=12, description="Hook plates of the maker's own."
    )
    bracket: tuple[Bracket, ...] = Field(
        (), max_length=12, description="Brackets of the maker's own."
    )
    bolt: tuple[Bolt, ...] = Field((), max_length=12, description="Bolts of the maker's own.")


class Router(Section):
    """The router, for its jigs: which bits, what guides them, how wide it stands."""

    template_bit: str | None = fields.words(
        None,
        "Bit that follows the leg templates, from the table of bits.",
        limit=40,
        worked_out="a common long one in the sheet's unit that router.guide can guide",
    )
    guide: Literal["bearing", "bushing"] = fields.choice(
        "bearing",
        "What runs along the leg templates; in mortise plates a bushing always does.",
    )
    bushing: str | None = fields.words(
        None,
        "Guide bushing, from the table of bushings.",
        limit=40,
        worked_out="the smallest confirmed one that the bit clears",
    )
    mortise_bit: str | None = fields.words(
        None,
        "Bit that cuts the mortises, from the table of bits.",
        limit=40,
        worked_out="the widest straight bit that fits each mortise and reaches its bottom",
    )
    recess_bit: str | None = fields.words(
        None,
        "Bit that cuts the recesses and pockets of the rail fasteners, from the table of bits.",
        limit=40,
        worked_out="the widest straight bit that fits each and a bushing of the sheet's unit",
    )
    # Common practice (no source): bases of trim routers are about 90 mm, of large ones 180 mm.
    router_base: Length = fields.length(150, 80, 300, "Diameter of the router's base.")
    relief: Literal["none", "dog-bone", "t-bone"] = fields.choice(
        "none",
        "Relief of sharp inside corners where the machine cuts the legs themselves.",
    )


class Sheet(Section):
    """A whole design: one table for each kind of part, and what they share."""

    design: Design = Field(Design(), description="Name and unit.")
    mattress: Mattress = Field(Mattress(), description="The mattress and its room.")
    height: Height = Field(Height(), description="Heights above the floor.")
    wood: Timber = Field(Timber(), description="Species.")
    frame: FrameSection = Field(FrameSection(), description="Plan of the frame.")
    leg: Leg = Field(Leg(), description="Legs.")
    headboard: BoardEnd = Field(BoardEnd(), description="Boards of the head end.")
    footboard: BoardEnd = Field(BoardEnd(), description="Boards of the foot end.")
    side_rail: SideRail = Field(SideRail(), description="Side rails.")
    runner: Runner = Field(Runner(), description="Runners.")
    slat: Slat = Field(Slat(), description="Slats.")
    centre_rail: CentreRail = Field(CentreRail(), description="Centre rail.")
    support_foot: SupportFoot = Field(SupportFoot(), description="Feet of the centre rail.")
    tenon: Tenon = Field(Tenon(), description="Tenons.")
    router: Router = Field(Router(), description="Router and cutters, for the jigs.")
    dowel: Dowel = Field(Dowel(), description="Dowels.")
    screw: Screws = Field(Screws(), description="Wood screws.")
    cleat: Cleat = Field(Cleat(), description="Cleats under the centre rail's ends.")
    fastener: RailFastener = Field(
        RailFastener(), description="Knock-down fasteners of the side rails."
    )

    def show(self, mm: float) -> str:
        """A length as this sheet prints it: "7 1/2 in" or "190.5 mm"."""
        return format_length(mm, self.design.unit)

    def at_least(self, mm: float) -> str:
        """A least length, rounded up as printed, so that taking it at its word is enough."""
        return self.show(math.ceil(mm / self._step - 1e-10) * self._step)

    def at_most(self, mm: float) -> str:
        """A greatest length, rounded down as printed; says so when it leaves nothing."""
        shown = self.show(math.floor(mm / self._step + 1e-10) * self._step)
        return shown if mm > 0 else f"{shown} (no room at all)"

    @property
    def _step(self) -> float:
        return MM_PER_INCH / 64 if self.design.unit == "inch" else 0.1
