"""Pages of a board plan: what is drawn against the plan, what is written against the drawing."""

from __future__ import annotations

import hashlib
import itertools
import os
import re
import subprocess
import sys
import tomllib
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedmodel.bed import Piece
from bedmodel.errors import InputError
from bedmodel.exports.paper.sheet import A4, LETTER, Box, Circle, Path, Sheet, Text
from bedmodel.exports.plan_pages.labels import (
    ACROSS,
    DOWN,
    Label,
    joint_numbers,
    label_sheets,
    labels_pdf,
    part_labels,
)
from bedmodel.exports.plan_pages.nest import NestedPart, Plank, nest_pdf, nest_sheets
from bedmodel.exports.plan_pages.pages import board_pages_pdf, board_svg, plan_sheets
from bedmodel.exports.plan_pages.words import Setup, copies_of, cut_words, lengths_of, parts_of
from bedmodel.joints import tenon_joints
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet, shared_folder
from bedmodel.shop.setting_out import setting_out
from bedmodel.shop_profile import GlueUp, ShopProfile
from bedmodel.skeleton import Layout, lay_out
from bedmodel.stock.boards import Board, Defect
from bedmodel.stock.cut_list import CutList, cut_list
from bedmodel.stock.demand import PanelDemand
from bedmodel.stock.nest.parts import leg_parts
from bedmodel.stock.nest.plan import LegNest
from bedmodel.stock.nest.planks import Effort, nest_on_width
from bedmodel.stock.plan import ClassPlan, Cut, CutBoard, Placed, Plan, Rectangle
from bedmodel.stock.planner import Sawing, plan_boards
from bedmodel.stock.rack import read_rack
from bedmodel.stock.wanted import demands

SVG = "{http://www.w3.org/2000/svg}"
POINT = 25.4 / 72
INCH = Setup("Campion", "inch")
METRIC = Setup("Campion", "mm", LETTER)
HOSTILE = "a <b>&\"\u202e' ]]> (\\) %PDF " + "long name " * 30
SMALL = {"small", "title"}


@cache
def shop() -> ShopProfile:
    table = tomllib.loads((shared_folder() / "shop.toml").read_text("utf-8"))
    return ShopProfile.model_validate(table, context={"unit": "inch"})


@cache
def campion() -> tuple[Layout, tuple[Piece, ...], CutList]:
    layout = lay_out(load_sheet("campion"))
    pieces = make_pieces(layout)
    return layout, pieces, cut_list(pieces, shop(), layout.sheet.design.unit)


@cache
def plan(without: tuple[str, ...] = ()) -> Plan:
    rack = [b for b in read_rack(shared_folder() / "boards.csv") if b.name not in without]
    machines = shop().machines
    sawing = Sawing(machines.kerf, machines.rule, shop().allowance.edge)
    return plan_boards(rack, demands(campion()[2], shop()), sawing)


def short_plan() -> Plan:
    found = plan(("M3", "M5", "M6", "M8", "L1", "L2"))
    assert not found.feasible
    return found


# A segment's length; of each strip its width, and the lengths of its parts.
Segment = tuple[float, tuple[tuple[float, tuple[float, ...]], ...]]


def sawn(board: Board, segments: Iterable[Segment], kerf: float = 3.0) -> CutBoard:
    """A board cut into segments, from its left end, those into strips, those into parts."""
    cuts: list[Cut] = []
    placed: list[Placed] = []

    def saw(kind: Literal["crosscut", "rip"], piece: Rectangle, at: float) -> None:
        cuts.append(Cut(len(cuts) + 1, kind, piece, at))

    blank = Rectangle(0, 3.0, board.length, board.width - 6.0)
    saw("crosscut", blank, board.check_left - kerf)
    rest = replace(blank, x=board.check_left, length=board.length - board.check_left)
    pieces, strips = [], []
    for length, _ in segments:
        saw("crosscut", rest, rest.x + length)
        pieces.append(replace(rest, length=length))
        rest = replace(rest, x=rest.x + length + kerf, length=rest.length - length - kerf)
    for piece, (_, rows) in zip(pieces, segments, strict=True):
        for width, lengths in rows:
            saw("rip", piece, piece.y + width)
            strips.append((replace(piece, width=width), lengths))
            piece = replace(piece, y=piece.y + width + kerf, width=piece.width - width - kerf)
    for strip, lengths in strips:
        for length in lengths:
            name = f"part_with_a_rather_long_name_{len(placed) % 3}"
            placed.append(Placed(name, len(placed) + 1, replace(strip, length=length)))
            if length < strip.length:
                saw("crosscut", strip, strip.x + length)
            strip = replace(strip, x=strip.x + length + kerf, length=strip.length - length - kerf)
    return CutBoard(board, blank, tuple(cuts), tuple(placed), (rest,))


def plan_of(*cut: CutBoard) -> Plan:
    used = sum(each.board.board_feet for each in cut)
    return Plan(3.0, 1.0, "wood", (ClassPlan("", 4, cut, used, used),))


@cache
def crowded_plan() -> Plan:
    """Fifty small parts on one board, in more cuts than a page can list."""
    board = Board("Q1", 25.4, 4, 240, 1500, 30, 40, (Defect(700, 750, 100, 140),))
    rows = ((28.0, (129.0,)),) * 6
    split = ((24.0, (90.0, 90.0)),) * 6 + ((27.0, (142.0,)),)
    return plan_of(sawn(board, [(129.0, rows), (200.0, split), (142.0, rows), (160.0, split[:5])]))


def cut_boards(of: Plan) -> list[CutBoard]:
    return [cut for group in of.classes for cut in group.boards]


def texts(sheet: Sheet) -> list[Text]:
    return [mark for mark in sheet.marks if isinstance(mark, Text)]


# --- words apart -------------------------------------------------------------------------


def overlaps(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Pairs of words on one another, by more than two tenths of a millimetre."""
    boxes = [(text.box, text.text) for text in texts(sheet)]
    for (one, text), (other, second) in itertools.combinations(boxes, 2):
        if one.meets(other, clear=-0.2):
            yield text, second


def check_sheet(sheet: Sheet) -> None:
    assert list(overlaps(sheet)) == [], sheet.title
    page = Box(5, 5, sheet.paper.width - 5, sheet.paper.height - 5)
    assert [t.text for t in texts(sheet) if not page.holds(t.box)] == []
    assert [t.text for t in texts(sheet) if t.size < 7] == []


@pytest.mark.parametrize("setup", [INCH, METRIC], ids=["A4 inch", "Letter mm"])
@pytest.mark.parametrize("make", [plan, short_plan, crowded_plan])
def test_no_two_words_lie_on_one_another(make, setup: Setup) -> None:  # type: ignore[no-untyped-def]
    sheets = plan_sheets(make(), setup)
    for sheet in sheets:
        check_sheet(sheet)
        # What is read at the bench is at least 9 points high.
        assert [t.text for t in texts(sheet) if t.size < 8 and t.role != "small"] == []
        drawn = [t for t in texts(sheet) if t.role in ("name", "keep", "cut", "mark", "end")]
        assert [t.text for t in drawn if t.size < 9] == []


@st.composite
def sawn_boards(draw: st.DrawFn) -> CutBoard:
    """A board of up to three segments, with strips wide enough to be written on somewhere."""
    width = draw(st.integers(90, 500))
    segments: list[Segment] = []
    for _ in range(draw(st.integers(1, 3))):
        rows, left, length = [], width - 6.0, draw(st.integers(200, 1500))
        while left >= 40 and len(rows) < 4 and (not rows or draw(st.booleans())):
            row = draw(st.integers(40, min(160, int(left))))
            lengths, along = [], float(length)
            while along >= 150 and len(lengths) < 3 and (not lengths or draw(st.booleans())):
                lengths.append(float(draw(st.integers(150, int(along)))))
                along -= lengths[-1] + 3
            rows.append((float(row), tuple(lengths)))
            left -= row + 3
        segments.append((float(length), tuple(rows)))
    long = sum(length + 3 for length, _ in segments) + draw(st.integers(60, 1200))
    board = Board(draw(st.sampled_from(["A1", HOSTILE])), 25.4, 4, width, 25 + long, 25, 50)
    return sawn(board, segments)


@settings(max_examples=60, deadline=None)
@given(sawn_boards(), st.sampled_from([INCH, METRIC]))
def test_no_two_words_lie_on_one_another_in_any_plan(cut: CutBoard, setup: Setup) -> None:
    for sheet in plan_sheets(plan_of(cut), setup):
        check_sheet(sheet)


def test_every_part_is_written_inside_its_own_outline() -> None:
    for sheet in plan_sheets(plan(), INCH)[1:]:
        outlines = [_bounds(m) for m in sheet.marks if isinstance(m, Path) and m.role == "part"]
        names = [t for t in texts(sheet) if t.role == "name"]
        assert names or not outlines
        for name in names:
            assert any(outline.holds(name.box, 0.05) for outline in outlines), name.text


def _bounds(path: Path) -> Box:
    xs, ys = [x for x, _ in path.points], [y for _, y in path.points]
    return Box(min(xs), min(ys), max(xs), max(ys))


# --- the drawing against the plan ----------------------------------------------------------


@cache
def _drawn(board: str, unit: str) -> ET.Element:
    setup = INCH if unit == "inch" else METRIC
    return ET.fromstring(board_svg(plan(), board, setup))


def _boxes(root: ET.Element, role: str) -> list[Box]:
    """The boxes of a role (mm, y down), from the corners in the file."""
    found = []
    for element in root.iter(f"{SVG}path"):
        if element.get("class") == role:
            numbers = [float(n) for n in re.findall(r"-?[\d.]+", element.get("d", ""))]
            xs, ys = numbers[::2], numbers[1::2]
            found.append(Box(min(xs), min(ys), max(xs), max(ys)))
    return found


def _on_board(root: ET.Element, role: str, board: Board) -> list[Rectangle]:
    """Rectangles of a role in the board's frame; those in two rows made one again."""
    scale = next(
        int(e.text[2:]) for e in root.iter(f"{SVG}text") if (e.text or "").startswith("1:")
    )
    rows, start = [], 0.0
    for row in _boxes(root, "board"):
        assert row.height * scale == pytest.approx(board.width, abs=0.01)
        rows.append((row, start))
        start += row.width * scale
    assert start == pytest.approx(board.length, abs=0.01)
    found: list[Rectangle] = []
    for box in _boxes(root, role):
        row, start = next((r, s) for r, s in rows if r.holds(box, 0.01))
        place = Rectangle(
            start + (box.x0 - row.x0) * scale,
            (row.y1 - box.y1) * scale,
            box.width * scale,
            box.height * scale,
        )
        before = next((f for f in found if _goes_on(f, place, [s for _, s in rows])), None)
        if before is not None:
            found.remove(before)
            place = replace(place, x=before.x, length=before.length + place.length)
        found.append(place)
    return found


def _goes_on(one: Rectangle, other: Rectangle, starts: Iterable[float]) -> bool:
    meets = abs(one.x + one.length - other.x) < 0.02
    same = abs(one.y - other.y) < 0.02 and abs(one.width - other.width) < 0.02
    return meets and same and any(abs(other.x - start) < 0.02 for start in starts)


def _same(drawn: Iterable[Rectangle], meant: Iterable[Rectangle]) -> None:
    one, other = list(drawn), list(meant)
    assert len(one) == len(other)
    for place in one:
        near = [
            m
            for m in other
            if all(
                abs(a - b) < 0.05
                for a, b in zip(vars(place).values(), vars(m).values(), strict=True)
            )
        ]
        assert near, place
        other.remove(near[0])


@pytest.mark.parametrize("unit", ["inch", "mm"])
def test_what_is_drawn_is_what_is_planned(unit: str) -> None:
    for cut in cut_boards(plan()):
        root, board = _drawn(cut.board.name, unit), cut.board
        _same(_on_board(root, "part", board), [p.place for p in cut.placed])
        _same(_on_board(root, "offcut", board), cut.offcuts)
        _same(
            _on_board(root, "defect", board),
            [Rectangle(d.start, d.low, d.stop - d.start, d.high - d.low) for d in board.defects],
        )
        kerf = plan().kerf
        _same(
            _on_board(root, "kerf", board),
            [
                Rectangle(c.at, c.piece.y, kerf, c.piece.width)
                if c.kind == "crosscut"
                else Rectangle(c.piece.x, c.at, c.piece.length, kerf)
                for c in cut.cuts
            ],
        )
        checks = [Rectangle(0, 0, board.check_left, board.width)]
        right = board.length - board.check_right
        checks.append(Rectangle(right, 0, board.check_right, board.width))
        _same(_on_board(root, "check", board), [c for c in checks if c.length > 0])


def test_every_cut_has_its_number_on_the_drawing_and_in_the_list() -> None:
    for cut, sheet in zip(cut_boards(plan()), plan_sheets(plan(), INCH)[1:], strict=True):
        numbers = {str(each.number) for each in cut.cuts}
        assert {t.text for t in texts(sheet) if t.role == "cut"} == numbers
        discs = [m for m in sheet.marks if isinstance(m, Circle)]
        assert len(discs) == len([t for t in texts(sheet) if t.role == "cut"])
        listed = {t.text for t in texts(sheet) if t.bold and not t.role}
        assert numbers <= listed


def test_cuts_in_words() -> None:
    """The settings of one board, worked out by hand: the left end trimmed to 25.4 mm."""
    cut = next(c for c in cut_boards(plan()) if c.board.name == "T1")
    lengths = lengths_of(plan(), INCH)
    words = cut_words(cut, parts_of(cut, copies_of(plan())), plan().kerf, lengths)
    assert [(w.number, w.kind, w.setting, w.frees) for w in words] == [
        ("1", "crosscut", "1 off the left end", "waste"),
        ("2", "crosscut", "35 11/16 long", "A B C"),
        ("–", "straighten", "1/4 off each edge", ""),
        ("3", "rip", "4 1/4 wide", "A B C"),
        ("4", "crosscut", "11 13/16 long", "A"),
        ("5", "crosscut", "11 13/16 long", "B"),
        ("6", "rip", "2 15/16 wide", "B"),
        ("7", "rip", "3 15/16 wide", "C"),
    ]


def test_a_stave_s_panel_is_named_when_there_are_several() -> None:
    wanted = [PanelDemand("top", 2, 900, 150, 4, 60, 100)]
    rack = [Board(name, 25.4, 4, 100, 1000) for name in "ABCD"]
    made = plan_boards(rack, wanted, Sawing(kerf=3.0))
    titles = {p.title for cut in cut_boards(made) for p in parts_of(cut, copies_of(made))}
    assert len(titles) == 4
    for panel in (1, 2):
        staves = [t for t in titles if t.startswith(f"top, panel {panel}, stave ")]
        assert len(staves) == 2
    assert {t[-6:] for t in titles} == {f"{n} of 4" for n in (1, 2, 3, 4)}


def test_a_board_that_is_not_cut_has_no_page() -> None:
    with pytest.raises(InputError, match="must be one that is cut: T1, M1"):
        board_svg(plan(), "M2", INCH)


def test_long_lists_go_on_to_another_page() -> None:
    made = crowded_plan()
    sheets = plan_sheets(made, METRIC)
    assert [s.title for s in sheets[1:3]] == ["Board Q1", "Board Q1, continued"]
    listed = Counter(t.text for s in sheets for t in texts(s) if t.bold and not t.role)
    for cut in cut_boards(made)[0].cuts:
        assert listed[str(cut.number)] == 1
    # The SVG has them all on one sheet, made taller.
    root = ET.fromstring(board_svg(made, "Q1", METRIC))
    assert float(root.get("height", "").removesuffix("mm")) > LETTER.turned.height
    words = {e.text for e in root.iter(f"{SVG}text")}
    assert {str(cut.number) for cut in cut_boards(made)[0].cuts} <= words


# --- overview ----------------------------------------------------------------------------


def test_the_overview_says_what_is_proven() -> None:
    words = " ".join(t.text for t in texts(plan_sheets(plan(), INCH)[0]))
    assert plan().used == pytest.approx(plan().bound)
    told = f"The boards measure {plan().used:.1f} board feet. That is proven to be the least"
    assert told in words
    loose = replace(plan().classes[0], bound=plan().classes[0].used / 1.25)
    words = _overview(replace(plan(), classes=(loose,)))
    assert "at most 25.0 % above" in words
    assert "at most 25.0 % over the least" in words
    words = _overview(replace(plan(), classes=(replace(loose, bound=0.0),)))
    assert "not proven" in words
    assert "nothing proven" in words


def test_the_overview_says_what_is_missing() -> None:
    made = short_plan()
    words = _overview(made)
    for group in made.classes:
        for each in group.missing:
            assert f"{each.name.replace('_', ' ')}, " in words
            assert f"{each.board_feet:.1f} board feet: " in words
    assert "PARTS ARE MISSING" in words
    assert "PARTS ARE MISSING" not in _overview(plan())


def _overview(made: Plan) -> str:
    return " ".join(t.text for t in texts(plan_sheets(made, INCH)[0]))


def test_an_empty_plan_still_has_an_overview() -> None:
    sheets = plan_sheets(Plan(3.0, 1.0, "wood", ()), METRIC)
    assert [s.title for s in sheets] == ["Overview"]


# --- labels ------------------------------------------------------------------------------


@cache
def labels() -> tuple[Label, ...]:
    layout, pieces, cuts = campion()
    return part_labels(pieces, cuts, plan(), setting_out(layout, pieces), INCH)


def test_each_wooden_part_has_one_label_and_each_stave_and_strip() -> None:
    cuts = campion()[2]
    staves = [each for each in labels() if ", stave " in each.name]
    strips = [each for each in labels() if ", strip " in each.name]
    assert len(labels()) - len(staves) - len(strips) == sum(item.count for item in cuts.lumber)
    planned = [p for c in cut_boards(plan()) for p in c.placed if p.panel_number]
    assert len(staves) == len(planned) > 1
    assert len(strips) == sum(i.rough_count for i in cuts.lumber if i.per_rough > 1) > 1
    # A strip comes from where its parts come from.
    (one,) = {e.boards for e in strips if e.name.startswith("loose tenon 2")}
    assert {e.boards for e in labels() if e.name == "headboard board 2 tenon 1"} == {one}


def test_a_joint_s_number_is_on_both_of_its_parts() -> None:
    layout, pieces, _ = campion()
    numbers = joint_numbers(pieces)
    found = {(each.name, each.hand): each for each in labels()}
    for joint in tenon_joints(layout):
        for hand in ("left", "right"):
            (number,) = numbers[f"{joint.name}_{hand}"]
            assert number.endswith(hand[0].upper())
            bearers = [each for each in labels() if number in each.joints]
            assert found[joint.leg.replace("_", " "), hand] in bearers
            assert found[joint.board.replace("_", " "), ""] in bearers
            assert found[joint.name.replace("_", " "), hand] in bearers
            assert len(bearers) == 3


@pytest.mark.parametrize("joint", ["loose_tenon", "tenon", "dowels"])
@pytest.mark.parametrize("rail", ["hook_plates", "brackets", "bolts", "butt"])
def test_every_joint_of_every_kind_has_a_number_on_both_parts(joint: str, rail: str) -> None:
    kinds = (f"headboard.joint={joint}", f"footboard.joint={joint}", f"side_rail.joint={rail}")
    layout = lay_out(load_sheet("campion", changes=kinds))
    numbers = joint_numbers(make_pieces(layout))
    bearers: dict[str, set[str]] = {}
    for piece, own in numbers.items():
        for number in own:
            bearers.setdefault(number, set()).add(piece)
    wood = [
        {name for name in names if "_tenon_" not in name and "_dowel_" not in name}
        for names in bearers.values()
    ]
    assert all(len(names) == 2 for names in wood)
    for hand in ("left", "right"):
        rails = {f"{end}_leg_{hand}" for end in ("head", "foot")}
        assert {n for names in wood if f"side_rail_{hand}" in names for n in names} == {
            *rails,
            f"side_rail_{hand}",
        }
        for leg, board in (("head", "headboard_board_1"), ("foot", "footboard_board")):
            assert {f"{leg}_leg_{hand}", board} in wood
    # A row of dowels is one joint: board to leg twice for three boards, and four rail ends.
    if joint == "dowels":
        assert len(bearers) == 2 * 3 + 4
        rows = [n for n in bearers.values() if "headboard_board_1" in n]
        assert all(len(names) == 2 + 4 for names in rows)


def test_a_nested_leg_s_label_names_its_plank_and_each_layer_has_one() -> None:
    layout = lay_out(load_sheet("campion", changes=["leg.thickness=100 mm"]))
    pieces = make_pieces(layout)
    thin = shop().model_copy(update={"glue_up": GlueUp(thickest=8)})
    cuts = cut_list(pieces, thin, "inch")
    assert {item.layers for item in cuts.items if item.nested} == {3}
    legs = nest_on_width(leg_parts(pieces, cuts), 200, effort=Effort(1, 1, 1))
    legs = LegNest((replace(legs, board=replace(legs.board, name="L9")),))
    made = part_labels(pieces, cuts, None, setting_out(layout, pieces), INCH, legs)
    layers = [each for each in made if "leg, layer " in each.name]
    assert len(layers) == 4 * 3
    assert {each.boards for each in layers} == {("L9 nest",)}
    assert {each.hand for each in layers} == {"left", "right"}


def test_a_label_names_the_board_and_the_letter_on_its_page() -> None:
    rail = next(each for each in labels() if (each.name, each.hand) == ("side rail", "left"))
    (source,) = rail.boards
    board, letter = source.rsplit(" ", 1)
    cut = next(c for c in cut_boards(plan()) if c.board.name == board)
    part = next(p for p in parts_of(cut, copies_of(plan())) if p.letter == letter)
    assert part.title == "side rail 1 of 2"
    assert rail.size == "80 7/8 × 5 7/8 × 1 1/8 in"
    assert rail.reference.startswith("from a square line at the inside face, the lower edge")


def test_labels_without_a_plan_name_no_board() -> None:
    layout, pieces, cuts = campion()
    bare = part_labels(pieces, cuts, None, setting_out(layout, pieces), INCH)
    assert {each.boards for each in bare} == {()}


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_labels_stay_inside_their_cut_lines(paper) -> None:  # type: ignore[no-untyped-def]
    full = Label(HOSTILE, HOSTILE, "left", HOSTILE, tuple("123456789"), (HOSTILE,) * 3, HOSTILE)
    sheets = label_sheets((*labels(), full), replace(INCH, paper=paper))
    assert len(sheets) == -(-(len(labels()) + 1) // (ACROSS * DOWN))
    for sheet in sheets:
        check_sheet(sheet)
        lines = [_bounds(m) for m in sheet.marks if isinstance(m, Path) and m.role == "grid"]
        inked = [t.box for t in texts(sheet) if not t.text.startswith("Campion")]
        assert not any(text.meets(each, 0.5) for text in inked for each in lines)


# --- nests -------------------------------------------------------------------------------


def test_a_nest_is_drawn_to_scale_with_its_names_inside() -> None:
    outline = ((10.0, 10.0), (910.0, 10.0), (910.0, 60.0), (300.0, 130.0), (10.0, 130.0))
    plank = Plank("L1", 1800.0, 220.0, (NestedPart("head leg, left", outline, "38 1/8 long"),))
    (sheet,) = nest_sheets([plank], INCH, 25.4 / 16)
    check_sheet(sheet)
    (drawn,) = [m for m in sheet.marks if isinstance(m, Path) and m.role == "part"]
    scale = next(int(t.text[2:]) for t in texts(sheet) if t.text.startswith("1:"))
    box = _bounds(drawn)
    assert (box.width * scale, box.height * scale) == pytest.approx((900, 120))
    names = [t for t in texts(sheet) if t.role == "name"]
    assert {"head leg, left", "38 1/8 long"} == {t.text for t in names}
    assert all(box.holds(t.box) for t in names)


# --- files -------------------------------------------------------------------------------


def _document(data: bytes):  # type: ignore[no-untyped-def]
    return pytest.importorskip("pypdfium2").PdfDocument(data)


def test_the_pdf_has_a_page_a_board_and_its_words_are_found() -> None:
    document = _document(board_pages_pdf(plan(), INCH))
    assert len(document) == 1 + len(cut_boards(plan()))
    copies = copies_of(plan())
    for page, cut in zip(list(document)[1:], cut_boards(plan()), strict=True):
        found = page.get_textpage().get_text_range()
        assert f"Board {cut.board.name}" in found
        assert f"{cut.board.board_feet:.1f} board feet" in found
        for part in parts_of(cut, copies):
            assert part.title in found
    bookmarks = [each.get_title() for each in document.get_toc()]
    assert bookmarks[:2] == ["Overview", "Board T1"]


@pytest.mark.parametrize("setup", [INCH, METRIC], ids=["A4", "Letter"])
def test_the_bar_is_100_mm_long(setup: Setup) -> None:
    """In pixels at 600 to the inch, along the middle of the bar, on every page."""
    import numpy as np

    for page in list(_document(board_pages_pdf(plan(), setup)))[::4]:
        width, height = page.get_size()
        strip = (0, 30, width - 112 / POINT, height - 50)  # left, bottom, right, top cut off
        pixels = page.render(scale=600 / 72, grayscale=True, crop=strip).to_numpy()
        dark = pixels.reshape(pixels.shape[:2]) < 128
        runs = [np.flatnonzero(row) for row in dark if row.any()]
        solid = [run for run in runs if len(run) > 1200]  # three pieces of 20 mm
        assert solid
        for run in solid:
            assert (run[-1] + 1 - run[0]) * 25.4 / 600 == pytest.approx(100, abs=0.05)


def test_hostile_names_do_no_harm() -> None:
    group = plan().classes[0]
    cut = group.boards[0]
    placed = tuple(replace(p, name=HOSTILE) for p in cut.placed)
    spoilt = replace(cut, placed=placed, board=replace(cut.board, name=HOSTILE[:24]))
    made = replace(plan(), classes=(replace(group, boards=(spoilt,)),))
    setup = Setup(HOSTILE, "inch")
    for sheet in plan_sheets(made, setup):
        check_sheet(sheet)
    root = ET.fromstring(board_svg(made, spoilt.board.name, setup))
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= {
        *("svg", "title", "rect", "path", "circle", "text")
    }
    found = _document(board_pages_pdf(made, setup))[1].get_textpage().get_text_range()
    assert "\u202e" not in found
    assert 'a <b>&"' in found


def test_the_same_bytes_in_another_process() -> None:
    code = (
        "import sys; sys.path.insert(0, '.'); from tests import test_plan_pages as t; "
        "print(t.digest())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=shared_folder().parent,
        env={**os.environ, "PYTHONHASHSEED": "7"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split()[-1] == digest()


def digest() -> str:
    """One hash of all files of one plan."""
    found = hashlib.sha256()
    found.update(board_pages_pdf(plan(), INCH))
    found.update(labels_pdf(labels(), INCH))
    found.update(board_svg(plan(), "M8", METRIC))
    square = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    found.update(nest_pdf([Plank("P", 500, 200, (NestedPart("x", square),))], INCH, 1.0))
    return found.hexdigest()
