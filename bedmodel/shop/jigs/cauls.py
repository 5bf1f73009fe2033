"""Clamping cauls: wedges that make the clamp faces of splayed legs plumb and parallel.

               clamp face, plumb
thin end  +--------------------------+  thick end, up
          +--...____                 |
                    ''''---...____   |
          leg's outer edge         ''+
"""

from __future__ import annotations

import math

from bedmodel.angles import caul_deg, offset_over, slope_text
from bedmodel.outline import Outline
from bedmodel.shop.cards import Card
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.sheet import FACE, CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.units import format_angle, format_both

THIN = 12.0  # mm, at the thin end
LONGEST = 200.0  # mm; on a wider board a caul sits at its middle
_INSET = 3.0  # mm from an edge to the mark that names it


def caul_jig(layout: Layout) -> Jig | None:
    """The caul of splayed legs, two a board; None for straight legs."""
    if layout.legs.splay == 0:
        return None
    unit = layout.sheet.design.unit
    angle = caul_deg(math.degrees(layout.legs.splay))
    widest = max(board.width for end in layout.ends for board in end.boards)
    length = min(widest, LONGEST)
    thick = THIN + offset_over(length, angle)
    count = 2 * max(len(end.boards) for end in layout.ends)
    title = f"Clamping caul, {count} off"
    notes = (f"{count} off", format_angle(angle), "unit: millimetres")
    marks = (
        Mark(FACE, (6.0, _INSET), (length - 6.0, _INSET), "CLAMP FACE"),
        Mark(FACE, (length - _INSET, 6.0), (length - _INSET, thick - 6.0), "UP"),
    )
    facts = (("thin, thick end", f"{THIN:.2f} mm, {thick:.2f} mm"),)
    sheet = CncSheet("caul", title, _wedge(length, thick), (), marks, notes, facts)
    boards = ", ".join(f"{end.end} end {2 * len(end.boards)}" for end in layout.ends)
    rows = (
        (
            "for",
            "clamping boards between splayed legs: one caul on each leg's outer edge makes the "
            "clamp faces plumb and parallel, so that the clamp does not slip",
        ),
        (
            "make",
            f"{count} from scrap of the leg's thickness or more ({boards}); glue one end of "
            "the bed at a time",
        ),
        (
            "size",
            f"{format_both(length, unit)} long, {format_both(THIN, unit)} at the thin end, "
            f"{format_both(thick, unit)} at the thick one",
        ),
        ("angle", f"{format_angle(angle)}: {slope_text(angle, unit)}"),
        ("face up", "thick end up, sloping face on the leg, at the height of the board's middle"),
        ("left, right", "one caul serves both sides, turned over"),
        ("check", "dry: a straightedge on each clamp face stands plumb, the shoulder closes"),
    )
    cautions = (
        "saw wedges from a long piece held in a sled, never a short one by hand",
        "tape the cauls on: they drop when the clamp lets go",
    )
    return Jig(sheet, Card("caul", title, rows, cautions), from_sheet=False, count=count)


def _wedge(length: float, thick: float) -> Outline:
    """The clamp face along x, the sloping one towards the leg."""
    corners = [(0.0, 0.0), (length, 0.0), (length, thick), (0.0, THIN)]
    names = ["clamp", "thick end", "leg", "thin end"]
    return Outline.of([(p, 0.0, n) for p, n in zip(corners, names, strict=True)])
