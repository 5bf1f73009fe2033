"""The papers on which drawings are made; all lie on their side.

Source: ISO 216 (A4, A3); ANSI/ASME Y14.1 sizes A and B (Letter, and Tabloid, 11 x 17 in).
"""

from __future__ import annotations

from bedmodel.errors import InputError
from bedmodel.exports.paper.sheet import A4, LETTER, Paper

A3 = Paper("A3", 420.0, 297.0)
TABLOID = Paper("Tabloid", 431.8, 279.4)
PAPERS = {paper.name.lower(): paper for paper in (A4.turned, A3, LETTER.turned, TABLOID)}


def drawing_paper(name: str) -> Paper:
    """A paper for drawings by its name in any case. Raises InputError when there is none."""
    try:
        return PAPERS[name.strip().lower()]
    except KeyError:
        names = ", ".join(paper.name for paper in PAPERS.values())
        raise InputError("paper", name, f"must be one of {names}", "take one of these") from None
