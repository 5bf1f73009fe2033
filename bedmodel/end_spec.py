"""Parameters of what fills a head or foot end between its rails.

rail     a board of the end: the lower one, the upper one
upright  a slat or a spindle that stands between two rails
let in   how deep an upright's tenon stands in a rail
pin      the thinner round end of a spindle
muntin   an upright of the frame between two panels
tongue   the edge of a panel that stands in the grooves
"""

from __future__ import annotations

from typing import Literal

from bedmodel import fields
from bedmodel.fields import EDGE, EDGE_SIZE, EdgeStyle, Length, Section

EndKind = Literal["boards", "panel", "slats", "spindles", "frame_and_panel", "none"]


class Uprights(Section):
    """How slats or spindles are spread between the legs; their count and gap are solved."""

    gap_least: Length = fields.length(30, 10, 400, "Least gap allowed.")
    gap_wanted: Length = fields.length(48, 10, 400, "Gap wanted; the nearest equal gap is taken.")
    gap_greatest: Length = fields.length(60, 10, 400, "Greatest gap allowed.")
    end_gap: Length | None = fields.length(
        None, 5, 400, "Gap between the first or last and its leg.", worked_out="as the others"
    )
    trapping: Literal["avoid", "told"] = fields.choice(
        "avoid",
        "Gaps of 60 to 230 mm can catch a child's head. avoid: none of them is taken; told: they "
        "are, with a caution.",
    )
    let_in: Length = fields.length(20, 8, 60, "How deep their ends stand in the rails.")
    end_room: Length = fields.length(2, 0.5, 10, "Room beyond each end.")
    wall_least: Length = fields.length(4, 2, 20, "Least wood left round them in the rails.")


class EndSlats(Uprights):
    """Upright slats, let into stopped mortises with tenons of their own."""

    width: Length = fields.length(45, 15, 200, "Width, across the bed.")
    thickness: Length = fields.length(16, 9, 60, "Thickness.")
    shoulder: Length = fields.length(
        3, 0.5, 20, "How far the tenon stands back from each face and edge."
    )
    clearance: Length = fields.length(0.1, 0.03, 0.5, "Gap all round each tenon.")
    edge: EdgeStyle = fields.choice("roundover", EDGE)
    edge_size: Length = fields.length(2, 0.5, 12, EDGE_SIZE)


class Spindles(Uprights):
    """Round spindles, in round holes."""

    diameter: Length = fields.length(19, 8, 60, "Diameter.")
    pin: Length | None = fields.length(
        None,
        6,
        60,
        "Diameter of its ends.",
        worked_out="the spindle's own, or the thickest that the rails leave wood round",
    )
    clearance: Length = fields.length(0.05, 0.02, 0.5, "Gap all round each pin.")


class FramePanels(Section):
    """Panels that float in grooves of the rails, and of what stands beside them."""

    muntins: int | None = fields.count(
        None, 0, 10, "How many.", worked_out="so that no panel is wider than width_most"
    )
    width_most: Length = fields.length(600, 150, 1500, "Widest opening between muntins.")
    muntin_width: Length = fields.length(70, 30, 200, "Width of muntins, and of own stiles.")
    stiles: Literal["legs", "own"] = fields.choice(
        "legs",
        "What stands at both sides. legs: they have grooves, too; own: a stile beside each leg, "
        "in the rails' grooves.",
    )
    style: Literal["flat", "raised"] = fields.choice(
        "flat",
        "flat: of one thickness; raised: a thicker field with bevelled edges, on both faces.",
    )
    tongue: Length = fields.length(8, 5, 25, "Thickness in the grooves, of a flat panel all over.")
    raised: Length = fields.length(16, 7, 50, "Thickness of a raised panel's field.")
    border: Length = fields.length(30, 5, 120, "From the frame to a raised panel's field.")
    grain: Literal["horizontal", "upright"] = fields.choice(
        "horizontal", "Which way the panels' grain runs; across it they move."
    )
    groove_depth: Length | None = fields.length(
        None, 6, 40, "Depth of the grooves.", worked_out="so that the tongue stays in when it dries"
    )
    engaged_least: Length = fields.length(
        5, 2, 20, "How deep the tongue stands in its groove at the driest, at least."
    )
    end_room: Length = fields.length(1.5, 0.5, 10, "Room at each end of the panel's grain.")
    side_room: Length = fields.length(0.5, 0, 5, "Room at each edge beyond what the panel swells.")
    clearance: Length = fields.length(0.15, 0.05, 1, "Gap at each face of the tongue.")


class Cap(Section):
    """A rail laid flat on top of an end, held by dowels."""

    use: Literal["none", "between", "over"] = fields.choice(
        "none",
        "between: on the highest board, from leg to leg, glued to it; over: over both legs, "
        "dowelled to them, the highest board free to move below it.",
    )
    thickness: Length = fields.length(25, 12, 80, "Thickness, up and down.")
    overhang: Length = fields.length(
        8, 0, 80, "How far it stands out before and behind; beside the mattress it does not."
    )
    beyond: Length = fields.length(8, 0, 80, "How far one over the legs goes on beyond them.")
    end_gap: Length = fields.length(0.5, 0.2, 5, "Gap between one between the legs and each leg.")
    dowel_diameter: Length | None = fields.length(
        None,
        5,
        20,
        "Diameter of its dowels.",
        worked_out="the thickest of 10, 8 and 6 mm that fits",
    )
    dowel_pitch: Length = fields.length(
        300, 80, 800, "Longest stretch between dowels in the highest board."
    )
    edge: EdgeStyle = fields.choice("roundover", EDGE)
    edge_size: Length = fields.length(5, 0.5, 30, EDGE_SIZE)
