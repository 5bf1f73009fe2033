"""Parameters of the legs; which style uses which is in ``legs.STYLES``."""

from __future__ import annotations

from typing import Literal

from bedmodel import fields
from bedmodel.fields import EDGE, EDGE_SIZE, Angle, EdgeStyle, Length, Section

LegStyle = Literal["straight", "splayed", "tapered", "sabre", "turned", "octagon", "bracket", "own"]


class Leg(Section):
    """The four legs, of one outline family."""

    style: LegStyle = fields.choice(
        "straight",
        "straight: a post; splayed: outer edge leaning, curve inside, shaped foot; tapered: a post "
        "sawn thinner below the joint; sabre: swept outward in two arcs; turned: a round taper "
        "below a square shoulder; octagon: an eight-sided taper; bracket: a post on a cyma "
        "bracket foot; own: the outline of leg.outline.",
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
    taper: Literal["inner", "outer", "two"] = fields.choice(
        "inner",
        "Which faces lean (tapered legs): inner, the joint side; outer; two, the joint side and "
        "the face towards the mattress.",
    )
    taper_width: Length | None = fields.length(
        None,
        15,
        250,
        "Width, of turned legs diameter, on the floor (tapered, octagon, turned, sabre legs).",
        worked_out="six tenths of the width above, or as little as no steep taper allows",
    )
    taper_depth: Length | None = fields.length(
        None,
        15,
        119,
        "Thickness on the floor (octagon legs, tapered ones with taper two).",
        worked_out="in the proportion of leg.taper_width, or as little as no steep taper allows",
    )
    turned_width: Length | None = fields.length(
        None,
        18,
        119,
        "Diameter below the square shoulder (turned legs).",
        worked_out="94 hundredths of the lesser of leg.top_width and leg.thickness",
    )
    sweep: Length | None = fields.length(
        None,
        3,
        200,
        "How far the toe stands out past the post (sabre legs).",
        worked_out="40 mm, or four tenths of the height below the joint",
    )
    bracket: Literal["outer", "inner", "both"] = fields.choice(
        "outer", "To which side the foot spreads (bracket legs)."
    )
    bracket_height: Length | None = fields.length(
        None,
        20,
        400,
        "Height of the foot (bracket legs).",
        worked_out="seven tenths of the height below the joint",
    )
    bracket_spread: Length | None = fields.length(
        None,
        5,
        300,
        "How far the foot spreads, on each side that does (bracket legs).",
        worked_out="25 mm, or a quarter of the foot's height if that is more",
    )
    outline: str | None = fields.words(
        None,
        "Drawing (DXF) of the leg's outline, beside the sheet (own legs).",
        worked_out="there is none; own legs must name theirs",
    )
    outline_foot: str | None = fields.words(
        None,
        "Drawing of the foot legs' outline (own legs).",
        worked_out="leg.outline, cut at the foot legs' height",
    )
    above_boards: Length = fields.length(
        20, 0, 200, "Top of a leg above its highest board, or above a cap between the legs."
    )
    below_boards: Length = fields.length(
        12, 3, 150, "The joint face goes on below the lowest board or rail by this."
    )
    edge: EdgeStyle = fields.choice("roundover", EDGE)
    edge_size: Length = fields.length(3, 0.5, 12, EDGE_SIZE)
