"""Groups of files that a build can make, each by one word."""

from __future__ import annotations

from bedmodel.errors import InputError

# Word: what it stands for.
GROUPS = {
    "model": "STEP, STL and GLB",
    "templates": "leg templates",
    "jigs": "jigs and their setting cards",
    "shop": "marks, cut list, buying list, labels, steps, boards",
    "strength": "strength and movement",
    "drawings": "the drawings, as DXF, PDF and SVG",
    "plan": "the plan book",
    "report": "the page with the 3D view",
}
ALL = frozenset(GROUPS)
# All but the drawings and what holds pictures: to see what a change of the sheet does.
QUICK = frozenset(("model", "templates", "jigs", "shop", "strength"))
_SEVERAL = {"all": ALL, "quick": QUICK}


def groups_of(words: str | None) -> frozenset[str]:
    """The groups asked for, as ``"plan,report"`` or ``"quick"``; without words all of them.

    Raises InputError for a word that is none.
    """
    if words is None:
        return ALL
    asked = frozenset[str]()
    for word in (each.strip().lower() for each in words.split(",")):
        if word not in GROUPS and word not in _SEVERAL:
            allowed = f"must be {', '.join(_SEVERAL)}, or some of {', '.join(GROUPS)}"
            raise InputError("--only", words, allowed, "separate them by commas")
        asked |= _SEVERAL.get(word, {word})
    return asked
