"""Papers for full-size printing, and what a printer leaves of them."""

from __future__ import annotations

from bedmodel.errors import InputError
from bedmodel.exports.paper.sheet import A4, LETTER, Paper

MARGIN = 10.0  # mm; common practice: desk printers and plotters leave 3 to 10 mm white

# Sources: ISO 216 (A sizes); ANSI/ASME Y14.1 (Letter, Tabloid, C, D, E).
A3, A2 = Paper("A3", 297.0, 420.0), Paper("A2", 420.0, 594.0)
A1, A0 = Paper("A1", 594.0, 841.0), Paper("A0", 841.0, 1189.0)
TABLOID = Paper("Tabloid", 279.4, 431.8)
ANSI_C, ANSI_D = Paper("ANSI-C", 431.8, 558.8), Paper("ANSI-D", 558.8, 863.6)
ANSI_E = Paper("ANSI-E", 863.6, 1117.6)
# Rolls as plotters take them; a length over this curls and drifts.
ROLL_LONGEST = 3000.0
ROLL_24, ROLL_36 = (Paper(f"roll-{n}in", n * 25.4, ROLL_LONGEST) for n in (24, 36))

DESK = (A4, LETTER, A3, TABLOID)  # those that are tiled
LARGE = (A2, ANSI_C, A1, ANSI_D, A0, ANSI_E, ROLL_24, ROLL_36)
PAPERS = {paper.name.lower(): paper for paper in (*DESK, *LARGE)}


def is_roll(paper: Paper) -> bool:
    return paper.name.startswith("roll-")


def paper_for_tiles(name: str) -> Paper:
    """A paper by its name in any case, upright. Raises InputError when there is none."""
    try:
        return PAPERS[name.strip().lower()]
    except KeyError:
        names = ", ".join(paper.name for paper in PAPERS.values())
        raise InputError("--paper", name, f"must be one of {names}") from None
