"""Parameters of the joints: tenons, dowels, screws, cleats and the rails' fasteners."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from bedmodel import fields
from bedmodel.fields import EDGE, EDGE_SIZE, EdgeStyle, Length, Section
from bedmodel.hardware import Bolt, Bracket, HookPlate


class Cleat(Section):
    """The blocks under the ends of the centre rail, screwed to head and foot boards."""

    width: Length = fields.length(110, 50, 400, "Width across the bed.")
    height: Length = fields.length(36, 20, 120, "Height.")
    thickness: Length = fields.length(32, 18, 80, "Thickness, out from the board.")
    edge: EdgeStyle = fields.choice("chamfer", EDGE)
    edge_size: Length = fields.length(2, 0.5, 8, EDGE_SIZE)


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
