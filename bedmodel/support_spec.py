"""Parameters of what the mattress lies on: slats, webbed slats, a plywood deck, or a box spring."""

from __future__ import annotations

from typing import Literal

from bedmodel import fields
from bedmodel.fields import EDGE, EDGE_SIZE, EdgeStyle, Length, Section

SupportKind = Literal["slats", "webbed", "deck", "box_spring"]


class Support(Section):
    """What the mattress lies on, and what carries it between the rails."""

    kind: SupportKind = fields.choice(
        "slats",
        "slats: screwed or laid in one by one; webbed: slats held at their pitch by tapes, laid "
        "in as a roll; deck: plywood panels, [deck]; box_spring: none, a box spring lies on the "
        "runners and the centre rail.",
    )
    rows: int = fields.count(
        1, 1, 2, "Slats, or panels of a deck, across the bed: one row, or two over the centre rail."
    )
    row_gap: Length = fields.length(
        6, 2, 40, "Gap between two rows, on the middle of the centre rail."
    )
    row_bearing: Length = fields.length(
        15, 8, 60, "Least length of each row's end on the centre rail."
    )
    bearers: int | None = fields.count(
        None,
        0,
        9,
        "Slats laid across the runners under a box spring; the box then lies on them.",
        worked_out="none with a centre rail, else three",
    )


class Webbing(Section):
    """The tapes that hold webbed slats at their pitch."""

    tapes: int = fields.count(2, 2, 4, "Tapes to each row of slats.")
    width: Length = fields.length(38, 15, 80, "Width of the tape.")
    inset: Length = fields.length(
        120, 20, 400, "From a slat's end to the middle of the nearest tape."
    )
    staples: int = fields.count(2, 1, 6, "Staples at each crossing of tape and slat.")
    turned: Length = fields.length(
        40, 0, 200, "Tape turned under at each end, beyond the edges of the end slats."
    )


class Deck(Section):
    """A deck of plywood panels: face grain across the bed, joints over bearers."""

    panel: str = fields.words("birch-plywood", "Plywood, from the table of panels.", limit=40)
    thickness: Length = fields.length(18, 9, 30, "Thickness of the panels.")
    sheet_length: Length = fields.length(
        2440, 600, 3700, "Length of the sheets as bought; the face grain runs along it."
    )
    sheet_width: Length = fields.length(1220, 300, 2100, "Width of the sheets as bought.")
    sheet_margin: Length = fields.length(10, 0, 60, "Trimmed off each edge of a sheet, at least.")
    mass_most: float = fields.number(
        20, 5, 60, "kg", "Heaviest panel; one person should lift it out. Practice, no source."
    )
    side_gap: Length = fields.length(3, 1, 25, "Gap between the deck and rails, head and foot.")
    joint_gap: Length = fields.length(2, 0.5, 10, "Gap between two panels.")
    fixing: Literal["loose", "screws"] = fields.choice(
        "loose", "loose: panels lie in the frame; screws: two at each side, into the runners."
    )
    batten_width: Length = fields.length(
        70, 40, 150, "Width of the batten under a joint across the bed."
    )
    batten_thickness: Length = fields.length(21, 15, 60, "Thickness of that batten.")
    airing: Literal["none", "holes", "slots"] = fields.choice(
        "none", "Openings that let the mattress dry, in a grid over the open part of each panel."
    )
    hole: Length = fields.length(30, 10, 60, "Diameter of the holes, or width of the slots.")
    slot: Length = fields.length(120, 40, 400, "Length of the slots, across the bed.")
    pitch: Length = fields.length(
        160, 60, 500, "Least distance between the middles of openings; slots add their length."
    )
    edge: EdgeStyle = fields.choice("roundover", EDGE)
    edge_size: Length = fields.length(3, 0.5, 8, EDGE_SIZE)
