"""The layers of a drawing: how wide, how dashed and how dark each kind of line is.

Widths and dashes are in mm of paper at every scale. Source: the types of line of ISO 128-2
(dashed 12 d and 3 d; long dash and dot 24 d, 3 d, 0.5 d, 3 d; with two dots alike), with
d the line's own width, wide lines twice as wide as narrow ones.
"""

from __future__ import annotations

from bedmodel.exports.paper.sheet import Pen

WIDE, NARROW = 0.35, 0.18
FRAME_WIDTH = 0.5
GREY, PALE = "#8a8a8a", "#d8d8d8"

_DASHED = (12 * NARROW, 3 * NARROW)
_CHAIN = (24 * NARROW, 3 * NARROW, 0.5 * NARROW, 3 * NARROW)
_TWO_DOTS = (*_CHAIN, 0.5 * NARROW, 3 * NARROW)

# Layer: its pen, and what lies on it.
LAYERS: dict[str, tuple[Pen, str]] = {
    "VISIBLE": (Pen(WIDE), "visible edges and outlines"),
    "ASSEMBLY": (Pen(0.25), "visible edges of the whole bed"),
    "EDGE": (Pen(NARROW), "visible edges in pictures"),
    "HIDDEN": (Pen(NARROW, dash=_DASHED), "hidden edges"),
    "CENTRE": (Pen(NARROW, dash=_CHAIN), "centre lines"),
    "PHANTOM": (Pen(NARROW, dash=_TWO_DOTS), "what lies beside, and the blank"),
    "PLANE": (Pen(WIDE, dash=_CHAIN), "where a section is cut"),
    "DIMENSION": (Pen(NARROW), "dimensions"),
    "THIN": (Pen(NARROW), "leaders and breaks"),
    "HATCH": (Pen(0.13), "cut wood"),
    "DONE": (Pen(NARROW, GREY), "parts of earlier steps"),
    "FRAME": (Pen(FRAME_WIDTH), "frame and title block"),
    "TABLE": (Pen(NARROW), "lines of tables"),
    "TEXT": (Pen(NARROW), "words"),
    "SHADE": (Pen(NARROW, PALE), "shaded areas"),
    "VIEWPORTS": (Pen(NARROW), "borders of the views; not printed"),
}
OF_INK = {
    "visible": "VISIBLE",
    "whole": "ASSEMBLY",
    "edge": "EDGE",
    "hidden": "HIDDEN",
    "centre": "CENTRE",
    "phantom": "PHANTOM",
    "plane": "PLANE",
    "thin": "THIN",
    "done": "DONE",
}
