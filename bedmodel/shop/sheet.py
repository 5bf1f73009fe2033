"""One flat piece for a laser or a router, as plain data: what to cut, engrave and read.

    OUTSIDE_CUT   the closed line round what stays
    INSIDE_CUT    closed lines round openings
    SAW_BLANK     closed lines round rough blanks, on a plank
    PLANK_NO_CUT  the plank's edges, checks and defects
    MARK_...      straight lines to engrave, or to leave out
    NOTES_NO_CUT  words

All lengths are mm, x to the right and y up, the face that lies up towards the reader.
"""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.outline import Outline, Point

CUT = "OUTSIDE_CUT"
OPENING = "INSIDE_CUT"
JOINT_FACE = "MARK_JOINT_FACE"
MORTISE_CENTRE = "MARK_MORTISE_CENTRE"
GRAIN = "MARK_GRAIN"
SLOT = "MARK_SLOT"
STATION = "MARK_STATION"
FENCE = "MARK_FENCE"
SCREW = "MARK_SCREW"
STOP = "MARK_STOP"
SAW = "MARK_SAW_LINE"
HOLD_DOWN = "MARK_HOLD_DOWN"
FACE = "MARK_FACE"
BLANK = "SAW_BLANK"
PLANK = "PLANK_NO_CUT"
NOTES = "NOTES_NO_CUT"

# Layer: colour number in the file, what the layer is for.
LAYERS: dict[str, tuple[int, str]] = {
    CUT: (1, "cut on the outside of this closed line"),
    OPENING: (2, "cut on the inside of these closed lines"),
    JOINT_FACE: (5, "engrave: lies just inside each joint face, to tell it from the outer edge"),
    MORTISE_CENTRE: (6, "engrave: centre of each mortise in a joint face, a tick at each slot end"),
    GRAIN: (3, "engrave: grain runs along this arrow, which points to the top"),
    SLOT: (6, "engrave: centre and ends of what is cut, as it comes out, beside the opening"),
    STATION: (6, "engrave: one mark of the row each; half as long where it is a centre"),
    FENCE: (5, "engrave: the edge of a fence"),
    SCREW: (4, "engrave: drill and countersink at the middle of each cross"),
    STOP: (6, "engrave: the face of an end stop"),
    SAW: (30, "engrave: the blade cuts along this line"),
    HOLD_DOWN: (4, "engrave: a hold-down stands on each cross and reaches to the end of its line"),
    FACE: (5, "engrave: says which face is which"),
    BLANK: (30, "saw on these closed lines: rough blanks, outside the legs"),
    PLANK: (7, "do not cut: edges of the plank or sheet, its end checks and defects"),
    NOTES: (8, "do not cut: words for the maker"),
}


@dataclass(frozen=True)
class Mark:
    """A straight line to engrave (mm), with a word to be set beside it or none."""

    layer: str
    start: Point
    end: Point
    label: str = ""


@dataclass(frozen=True)
class Label:
    """One line of text: lower left corner and height (mm), turn (degrees, anticlockwise)."""

    text: str
    at: Point
    height: float
    turn_deg: float = 0.0


@dataclass(frozen=True)
class CncSheet:
    """One piece to cut from sheet or scrap; ``notes`` are set on it where there is room.

    ``facts`` are further lines of its legend, each a name and a value; with ``grain`` an
    arrow along x is drawn where there is room. ``words`` have their places already.
    """

    name: str
    title: str
    outline: Outline
    openings: tuple[Outline, ...]
    marks: tuple[Mark, ...]
    notes: tuple[str, ...]
    facts: tuple[tuple[str, str], ...] = ()
    grain: bool = False
    words: tuple[Label, ...] = ()

    @property
    def layers(self) -> tuple[str, ...]:
        """The layers it uses, in their order."""
        used = {CUT, NOTES, *(mark.layer for mark in self.marks)}
        used |= {OPENING} if self.openings else set()
        used |= {GRAIN} if self.grain else set()
        return tuple(layer for layer in LAYERS if layer in used)


def cross(layer: str, at: Point, arm: float = 4.0) -> tuple[Mark, Mark]:
    """Two short lines that cross at a point."""
    x, y = at
    return (
        Mark(layer, (x - arm, y), (x + arm, y)),
        Mark(layer, (x, y - arm), (x, y + arm)),
    )
