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
# Without the last three a build is quick; they take some 20 s more.
USUAL = frozenset(("model", "templates", "jigs", "shop", "strength"))


def groups_of(words: str | None) -> frozenset[str]:
    """The groups asked for, as ``"plan,report"`` or ``"all"``; without words the usual ones.

    Raises InputError for a word that is none.
    """
    if words is None:
        return USUAL
    asked = [word.strip().lower() for word in words.split(",")]
    if asked == ["all"]:
        return frozenset(GROUPS)
    for word in asked:
        if word not in GROUPS:
            allowed = f"must be all, or some of {', '.join(GROUPS)}"
            raise InputError("--only", words, allowed, "separate them by commas")
    return frozenset(asked)
