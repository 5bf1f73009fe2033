"""Every cut of every part is told by the marks, and made with a jig or by a jig's card.

All cuts of all pieces are walked, for each kind of joint, of rail fastener and example
sheet, in its own size, a small and a large one. A cut that the table below does not know
fails, and so does a jig that counts other cuts than there are.
"""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter

import pytest

from bedmodel.bed import Piece
from bedmodel.cuts import Cut, Mortise
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.setting_out import PartMarks, setting_out
from bedmodel.skeleton import lay_out
from tests.test_screwing import CLEATS

SHEETS = ("campion", "hawthorn", "sorrel")
JOINTS = ("loose_tenon", "tenon", "dowels")
RAILS = ("hook_plates", "brackets", "bolts", "butt")
SIZES = (None, "us-king", "eu-90x200")
MORE = [
    ("campion", None, CLEATS),
    ("hawthorn", None, (*CLEATS, "headboard.joint=dowels", "side_rail.joint=bolts")),
    ("hawthorn", "us-queen", (*CLEATS, "footboard.joint=tenon", "side_rail.joint=brackets")),
    ("campion", None, ("tenon.rows=2", "tenon.wall_least=4 mm")),
    ("sorrel", None, ("tenon.ends=square", "screw.sunk=0")),
    ("hawthorn", None, ("runner.joint=glue", "slat.joint=loose")),
]

Known = tuple[str, str, str]  # the cut's name; its mark; the jig that makes it
# Names of cuts, what the marks call them, and the jig. A jig in brackets tells the cut in
# the row of its card that follows, as a bit without a guide makes it.
TABLE: tuple[Known, ...] = (
    (r"rail_fastener_plate", "slot plate recess", "fastener_recess"),
    (r"(head|foot)_fastener_plate", "hook plate recess", "fastener_recess"),
    (r"rail_fastener_pocket_\d+", "pocket", "fastener_pockets"),
    (r"(rail|head|foot)_fastener_screw_\d+", "screw hole", "fastener_screw_guide"),
    (r"(head|foot)_fastener_end_flange", "end flange recess", "fastener_end_flange"),
    (r"(head|foot)_fastener_face_flange", "face flange recess", "fastener_face_flange"),
    (r"(head|foot)_fastener_face_screw_\d+", "bracket screw holes", "fastener_face_screw_guide"),
    (r"(rail|head|foot)_fastener_bolt(_\d+)?", "bolt hole", "fastener_bolt_guide"),
    (r"rail_fastener_counterbore", "counterbore", "fastener_bolt_guide[order]"),
    (r"(rail|head|foot)_fastener_dowel_\d+", "alignment dowel hole", "fastener_bolt_guide"),
    (r"(head|foot)_fastener_barrel", "barrel hole", "fastener_barrel_guide"),
    (r"runner_screw_\d+_\w+_clearance", "runner screw", "runner_screw_guide"),
    (r"runner_screw_\d+_\w+_pilot", "runner screw", "runner_screw_guide"),
    (r"runner_screw_\d+_\w+_counterbore", "counterbore", "runner_screw_guide[clearance]"),
    (r"slat_\d+_screw_\w+_clearance", "screw hole", "slat_end_guide"),
    (r"slat_\d+_screw_\w+_counterbore", "counterbore", "slat_end_guide[clearance]"),
    (r"slat_\d+_screw_\w+_pilot", "screw hole", "slat_end_guide"),
    (r"\w+_cleat_screw_\w+_clearance", "screw hole", "cleat_guide"),
    (r"\w+_cleat_screw_\w+_counterbore", "counterbore", "cleat_guide[clearance]"),
    (r"\w+_cleat_screw_\w+_pilot", "cleat screw hole", "cleat_guide"),
)
# Not cut in the shop: metal comes with its holes.
EXCEPTED = "metal is bought with its holes"


def known(piece: Piece, cut: Cut) -> tuple[str, str]:
    """What the marks must call a cut, and which jig must make it."""
    if cut.role in ("mortise", "haunch"):
        named = re.fullmatch(
            r"(.+_board(?:_\d+)?)_(tenon|dowel|haunch)_\d+_(?:left|right)", cut.name
        )
        assert named is not None, cut.name
        word = {"tenon": "mortise", "dowel": "dowel hole", "haunch": "haunch groove"}[named[2]]
        on_leg = f" for {named[1]}" if "leg" in piece.name else ""
        if named[2] != "dowel":
            jig = "mortise_plate"
        else:
            jig = "dowel_guide" if cut.is_round else "dowel_slot_plate"
        return f"{word}.*{on_leg}", jig
    found = [(mark, jig) for name, mark, jig in TABLE if re.fullmatch(name, cut.name)]
    assert len(found) == 1, (piece.name, cut.name)
    return found[0]


def is_marked(part: PartMarks, cut: Cut, label: str) -> bool:
    """Whether its place is marked, and its depth, or that it goes right through."""
    every = r"every (mortise|dowel hole|tenon).*"
    marks = [m for row in part.rows for m in row.marks if re.search(label, m.label)]
    deep = [
        m
        for row in part.rows
        for m in row.marks
        if "(depth)" in row.reference and (re.search(label, m.label) or re.match(every, m.label))
    ]
    through = cut.through and any("right through" in note for note in part.notes)
    return bool(marks) and (bool(deep) or through)


def count(jig: Jig) -> int:
    return sum(int(n) for n in re.findall(r"\((\d+) off\)", dict(jig.card.rows)["for"]))


def walk(sheet: str, size: str | None, changes: tuple[str, ...]) -> Counter[str]:
    """Fail for the first cut that is not told; else how many cuts each sort of jig makes."""
    layout = lay_out(load_sheet(sheet, size=size, changes=changes))
    pieces = make_pieces(layout)
    parts = {part.kind: part for part in setting_out(layout, pieces)}
    jigs = {jig.name: jig for jig in make_jigs(layout, pieces)}
    made: Counter[str] = Counter()
    for piece in pieces:
        if piece.kind.is_metal:
            assert parts[piece.kind.name].reason, EXCEPTED
            continue
        for cut in piece.kind.shape.cuts:
            label, jig = known(piece, cut)
            part = parts[piece.kind.name]
            assert is_marked(part, cut, label), (piece.name, cut.name, label)
            name, _, row = jig.rstrip("]").partition("[")
            some = [j for key, j in jigs.items() if key == name or re.match(rf"{name}_\d", key)]
            assert some, (piece.name, cut.name, name)
            if row:
                word = cut.name.rsplit("_", 1)[1]
                assert any(word in dict(j.card.rows)[row] for j in some), (cut.name, name)
            else:
                made[name] += 1
                assert any(fits(j, cut) for j in some), (piece.name, cut.name)
    for name, wanted in made.items():
        some = [j for key, j in jigs.items() if key == name or re.match(rf"{name}_\d", key)]
        assert sum(count(j) for j in some) == wanted, name
    cutting = [name for name, jig in jigs.items() if "off)" in dict(jig.card.rows)["for"]]
    cutting = [name for name in cutting if not name.startswith("leg_")]
    assert {re.sub(r"_\d+$", "", name) for name in cutting} == set(made)
    return made


def fits(jig: Jig, cut: Cut) -> bool:
    """Whether an opening of the jig, or what is routed with it, is as wide as the cut.

    Pilots that are drilled through the part above them have their drill on the card.
    """
    x0, y0, x1, y1 = cut.opening.bounds()
    size = sorted((x1 - x0, y1 - y0))
    outlines = [c.wanted for c in jig.cuts] or list(jig.sheet.openings)
    for outline in outlines:
        u0, v0, u1, v1 = outline.bounds()
        over = [b - a for a, b in zip(size, sorted((u1 - u0, v1 - v0)), strict=True)]
        # A recess that runs out over an edge is drawn past it.
        most = 2e-3 if isinstance(cut, Mortise) else math.inf
        if all(-2e-3 < by < most for by in over):
            return True
    return cut.role == "pilot" and "drilled through" in dict(jig.card.rows).get("pilot", "")


@pytest.mark.parametrize("joint", JOINTS)
@pytest.mark.parametrize("sheet", SHEETS)
def test_every_cut_is_marked_and_has_its_jig(sheet: str, joint: str) -> None:
    for rail, size in itertools.product(RAILS, SIZES):
        changes = (f"headboard.joint={joint}", f"footboard.joint={joint}")
        made = walk(sheet, size, (*changes, f"side_rail.joint={rail}"))
        assert made["runner_screw_guide"] > 8
        assert made["slat_end_guide"] > 40
        assert bool(made["dowel_guide"]) == (joint == "dowels")
        assert bool(made["mortise_plate"]) == (joint != "dowels")
        assert any(name.startswith("fastener") for name in made) == (rail != "butt")


@pytest.mark.parametrize(("sheet", "size", "changes"), MORE)
def test_cuts_of_cleats_paired_and_square_tenons_too(
    sheet: str, size: str | None, changes: tuple[str, ...]
) -> None:
    made = walk(sheet, size, changes)
    if "centre_rail.ends=cleats" in changes:
        assert made["cleat_guide"] == 8  # two holes and two pilots at each end
    if "runner.joint=glue" in changes:
        assert "runner_screw_guide" not in made


def test_a_cut_without_a_mark_or_a_jig_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The walk itself: without the dowels' guides, or the slats' marks, it fails."""
    changes = ("headboard.joint=dowels",)
    walk("hawthorn", None, changes)
    with monkeypatch.context() as patch:
        patch.setattr("bedmodel.shop.jigs.bed_jigs.dowel_guide_jigs", lambda _: iter(()))
        with pytest.raises(AssertionError, match="dowel_guide"):
            walk("hawthorn", None, changes)
    with monkeypatch.context() as patch:
        patch.setattr("bedmodel.shop.deck_marks.slat_rows", lambda _: iter(()))
        with pytest.raises(AssertionError, match="slat_01"):
            walk("hawthorn", None, changes)
