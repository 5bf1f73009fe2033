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
from bedmodel.end_spec import Cap, EndKind, EndSlats, FramePanels, Spindles
from bedmodel.fields import EDGE, EDGE_SIZE, Angle, EdgeStyle, Length, Section
from bedmodel.hardware import RailJoint
from bedmodel.joint_spec import Cleat, Dowel, RailFastener, Screws, Tenon
from bedmodel.own_woods import OwnWood, as_wood
from bedmodel.reckoning_spec import ClimateSection, Limits, Loads
from bedmodel.tables import Wood, wood
from bedmodel.units import MM_PER_INCH, LengthUnit, format_length

SLAT_WIDTHS = (30.0, 160.0)


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
    own: tuple[OwnWood, ...] = Field(
        (), max_length=12, description="Woods of the maker's own, each a table of its own."
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
    above_boards: Length = fields.length(
        20, 0, 200, "Top of a leg above its highest board, or above a cap between the legs."
    )
    below_boards: Length = fields.length(
        12, 3, 150, "The joint face goes on below the lowest board or rail by this."
    )
    edge: EdgeStyle = fields.choice("roundover", EDGE)
    edge_size: Length = fields.length(3, 0.5, 12, EDGE_SIZE)


class Board(Section):
    """One board of the head end or the foot end."""

    width: Length = fields.length(
        140,
        40,
        1200,
        "Width, that is its height in the bed; over 500 mm only of a glued-up panel.",
    )
    thickness: Length = fields.length(25, 15, 80, "Thickness.")
    above_platform: Length = fields.length(
        0, -450, 900, "Lower edge above the platform; negative when below it."
    )


class BoardEnd(Section):
    """What stands between two legs: boards, in any order, what fills them and caps them."""

    kind: EndKind = fields.choice(
        "boards",
        "What the end is. boards: as listed; panel: the one board, glued up of staves; slats, "
        "spindles: upright between the boards, which are then its rails; frame_and_panel: panels "
        "in grooves between them; none: one low board that ties the legs.",
    )
    height: Literal["given", "low", "full"] = fields.choice(
        "given",
        "Where the highest board is. given: as above_platform says; low: its top level with the "
        "side rails'; full: level with the top of the other end.",
    )
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
    edge: EdgeStyle = fields.choice("roundover", EDGE)
    edge_size: Length = fields.length(3, 0.5, 12, EDGE_SIZE)
    board: tuple[Board, ...] = Field(
        (Board(),),
        min_length=1,
        max_length=8,
        description="The boards, each a table of its own.",
    )
    slats: EndSlats = Field(EndSlats(), description="Upright slats, where the kind is slats.")
    spindles: Spindles = Field(Spindles(), description="Spindles, where the kind is spindles.")
    panels: FramePanels = Field(
        FramePanels(), description="Panels in their frame, where the kind is frame_and_panel."
    )
    cap: Cap = Field(Cap(), description="A cap rail on top, of any kind of end.")


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
    edge: EdgeStyle = fields.choice("roundover", EDGE)
    edge_size: Length = fields.length(3, 0.5, 12, EDGE_SIZE)


class Runner(Section):
    """The strip under the slat ends, on the rail's inside face."""

    joint: Literal["screws", "glue"] = fields.choice(
        "screws", "screws: to the rail, through the runner, sizes in [screw]; glue: no screws."
    )
    width: Length = fields.length(45, 15, 120, "Width, out from the rail.")
    height: Length = fields.length(32, 12, 120, "Height.")
    end_gap: Length = fields.length(3, 1, 100, "Gap between its ends and the legs.")
    edge: EdgeStyle = fields.choice("chamfer", EDGE)
    edge_size: Length = fields.length(1, 0.5, 6, EDGE_SIZE)


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
    edge: EdgeStyle = fields.choice("roundover", EDGE)
    edge_size: Length = fields.length(2, 0.5, 8, EDGE_SIZE)


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
    height: Length = fields.length(70, 12, 200, "Height, that is how thick it is under load.")
    end_gap: Length = fields.length(3, 1, 150, "Gap between its ends and the head and foot boards.")
    edge: EdgeStyle = fields.choice("chamfer", EDGE)
    edge_size: Length = fields.length(2, 0.5, 8, EDGE_SIZE)


class SupportFoot(Section):
    """The feet under the centre rail."""

    size: Length = fields.length(45, 25, 150, "Side of its square section.")
    count: int | None = fields.count(
        None, 1, 9, "How many.", worked_out="so that no bay is longer than support_foot.bay"
    )
    bay: Length = fields.length(800, 300, 1500, "Longest stretch of centre rail between feet.")
    end_inset: Length = fields.length(
        150, 30, 600, "From the centre rail's ends to the middle of the first and last foot."
    )
    edge: EdgeStyle = fields.choice("chamfer", EDGE)
    edge_size: Length = fields.length(2, 0.5, 8, EDGE_SIZE)


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

    loads: Loads = Field(Loads(), description="What the bed is asked to bear.")
    limits: Limits = Field(Limits(), description="How far parts may bend, and factors.")
    climate: ClimateSection = Field(ClimateSection(), description="Where the bed stands.")

    @property
    def own_woods(self) -> tuple[Wood, ...]:
        """The maker's own woods. Raises InputError for one that is like no wood."""
        return tuple(as_wood(row, f"wood.own.{i}") for i, row in enumerate(self.wood.own, 1))

    @property
    def bed_wood(self) -> Wood:
        """What legs, boards and rails are made of."""
        return wood(self.wood.species, "wood.species", self.own_woods)

    @property
    def inside_wood(self) -> Wood:
        """What slats, runners and centre rail are made of."""
        return wood(self.wood.slats or self.wood.species, "wood.slats", self.own_woods)

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
