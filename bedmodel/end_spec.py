"""Parameters of what fills a head or foot end between its rails.

    rail     a board of the end: the lower one, the upper one
    upright  a slat or a spindle that stands between two rails
    let in   how deep an upright's tenon stands in a rail
    pin      the thinner round end of a spindle
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
