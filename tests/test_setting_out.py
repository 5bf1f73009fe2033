"""Marks on the parts, measured again with numpy on the placed shapes.

The marks come from the layout. Here each mortise frame and each corner of a shape is
taken to the bed by its piece's placement, and measured along the named reference edge.
"""

from __future__ import annotations

import argparse
import csv
import functools
import io
import itertools
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray

from bedmodel.bed import Piece
from bedmodel.cuts import Mortise
from bedmodel.errors import InputError
from bedmodel.frames import Frame
from bedmodel.pieces import make_pieces
from bedmodel.sheets import check_sheet, load_sheet
from bedmodel.shop.marks import CENTRE, Mark, MarkRow, step_of
from bedmodel.shop.setting_out import PartMarks, marks_csv, marks_record, setting_out
from bedmodel.shop.story_stick import HOLES, story_sticks
from bedmodel.skeleton import Layout, lay_out
from bedmodel.units import parse_length
from bedmodel.verbs.marks import run
from tests.closed_forms import ODD

Vec = NDArray[np.float64]
NEAR = 1e-6  # mm
EVERY = (("every mortise",), ("every dowel hole",))
SLOT = {"lower end of slot": -1, CENTRE: 0, "upper end of slot": 1}

BEDS = [
    ("campion", None),
    ("campion", "us-king"),
    ("campion", "us-twin"),
    ("hawthorn", None),
    ("hawthorn", "eu-90x200"),
    ("hawthorn", "us-queen"),
    ("sorrel", None),
    ("sorrel", "us-king"),
    ("odd", None),
    ("odd", "us-full"),
    ("campion+dowels", None),
    ("campion+paired", "us-king"),
    ("hawthorn+mixed", None),
    ("sorrel+square", None),
    ("sorrel+paired", None),
    ("hawthorn+shallow", None),
]
JOINTS = {
    "": (),
    "dowels": ("headboard.joint=dowels", "footboard.joint=dowels"),
    "mixed": ("headboard.joint=dowels",),
    "paired": ("tenon.rows=2", "tenon.wall_least=4 mm"),
    "square": ("tenon.ends=square",),
    "shallow": ("leg.top_width=38",),  # less deep in the leg than in the board
}
beds = pytest.mark.parametrize(("name", "size"), BEDS)


@dataclass(frozen=True)
class Case:
    """One bed, its pieces by name and the marks of each piece's kind."""

    layout: Layout
    pieces: tuple[Piece, ...]
    parts: tuple[PartMarks, ...]

    def piece(self, name: str) -> Piece:
        return next(piece for piece in self.pieces if piece.name == name)

    def of(self, piece: Piece) -> PartMarks:
        return next(part for part in self.parts if part.kind == piece.kind.name)

    def row(self, piece: Piece, *words: str) -> MarkRow:
        rows = [r for r in self.of(piece).rows if all(word in r.reference for word in words)]
        assert len(rows) == 1, (piece.name, words)
        return rows[0]

    def some(self, stem: str) -> list[Piece]:
        return [p for p in self.pieces if p.name.startswith(stem) and not loose(p)]


@functools.cache
def bed(name: str, size: str | None = None, *changes: str) -> Case:
    if name == "odd":
        sheet = check_sheet({**ODD, "mattress": {**ODD["mattress"], "size": size or "us-queen"}})
    else:
        name, _, joints = name.partition("+")
        sheet = load_sheet(name, size=size, changes=[*changes, *JOINTS[joints]])
    layout = lay_out(sheet)
    pieces = make_pieces(layout)
    return Case(layout, pieces, setting_out(layout, pieces))


def loose(piece: Piece) -> bool:
    """A tenon or a dowel of a board, or metal."""
    return "_tenon_" in piece.name or "_dowel_" in piece.name or piece.kind.is_metal


def to_bed(frame: Frame, point: Any) -> Vec:
    """A point of a frame in the bed, by matrices of its own."""
    turn = np.column_stack([frame.x, frame.y, frame.z])
    return np.array(frame.origin) + turn @ np.array(point, dtype=float)


def turned(frame: Frame, direction: Any) -> Vec:
    return to_bed(frame, direction) - np.array(frame.origin)


def corners(piece: Piece) -> Vec:
    """All corners of a piece in the bed: its outline's, on both faces."""
    shape, points = piece.kind.shape, []
    for a, b in shape.outline.vertices:
        for deep in (0.0, shape.depth):
            at = {"xy": (a, b, deep), "xz": (a, deep, b), "yz": (deep, a, b)}[shape.face]
            points.append(to_bed(piece.placement, at))
    return np.array(points)


def one(row: MarkRow, of: str, what: str) -> float:
    """The true value of the one mark of that name."""
    found = [m for m in row.marks if what == m.what and (of in m.of or m.of in EVERY)]
    assert len(found) == 1, (row.reference, of, what)
    return found[0].true


def mortise_label(piece: Piece, cut_name: str, case: Case) -> str:
    """What the mortise must be called, from the names of the cuts alone."""
    joint, _, _ = cut_name.rpartition("_")
    board, word, number = joint.rsplit("_", 2)
    several = sum(p.name.startswith(f"{board}_{word}_") for p in case.pieces) > 2
    word = {"tenon": "mortise", "dowel": "dowel hole"}[word]
    first = f"{word} {number}" if several else word
    return first if "board" in piece.name else f"{first} for {board}"


def joint_edge(piece: Piece) -> tuple[Vec, Vec]:
    """Foot end and top end of a leg's joint face, in the bed."""
    (edge,) = piece.kind.shape.outline.named("joint")
    ends = [to_bed(piece.placement, (*p, 0.0)) for p in (edge.start, edge.end)]
    low, high = sorted(ends, key=lambda p: p[2])
    return low, high


def inside_face(piece: Piece, case: Case) -> tuple[Vec, Vec]:
    """A point of the broad face towards the middle of the bed, and the way into the wood."""
    rail = corners(case.piece("side_rail_right"))
    middle = rail[:, 1].mean()
    faces = (
        (to_bed(piece.placement, (0, 0, 0)), turned(piece.placement, (0, 0, 1))),
        (
            to_bed(piece.placement, (0, 0, piece.kind.shape.thickness)),
            turned(piece.placement, (0, 0, -1)),
        ),
    )
    return min(faces, key=lambda face: abs(face[0][1] - middle))


# --- legs and boards -----------------------------------------------------------------------


def slot_marks(cut: Mortise) -> list[tuple[str, int]]:
    """What is marked along a slot, and on which side of its middle; a hole has its centre."""
    is_hole = cut.length == cut.width
    return [(what, along) for what, along in SLOT.items() if not (is_hole and along)]


def check_across(row: MarkRow, label: str, cut: Mortise, middle: float) -> None:
    if cut.length == cut.width or label.startswith("dowel hole"):
        assert one(row, label, CENTRE) == pytest.approx(middle, abs=NEAR)
        return
    for what, side in (("near cheek", -1), ("far cheek", 1)):
        cheek = middle + side * cut.width / 2
        assert one(row, label, what) == pytest.approx(cheek, abs=NEAR)


def legs(case: Case) -> Iterator[Piece]:
    found = [p for p in case.pieces if p.name.split("_", 1)[1] in ("leg_left", "leg_right")]
    assert len(found) == 4
    yield from found


@beds
def test_mortises_of_legs_are_where_the_marks_say(name: str, size: str | None) -> None:
    case = bed(name, size)
    for leg in legs(case):
        low, high = joint_edge(leg)
        up = (high - low) / np.linalg.norm(high - low)
        face, into = inside_face(leg, case)
        assert leg.kind.shape.mortises
        for cut in leg.kind.shape.mortises:
            label = mortise_label(leg, cut.name, case)
            frame = leg.placement @ cut.frame
            slot = np.array(frame.x) * np.sign(np.dot(frame.x, up))
            for what, along in slot_marks(cut):
                place = np.array(frame.origin) + slot * along * cut.length / 2
                upward = one(case.row(leg, "up the joint face"), label, what)
                downward = one(case.row(leg, "from the top end"), label, what)
                assert (place - low) @ up == pytest.approx(upward, abs=NEAR)
                assert (high - place) @ up == pytest.approx(downward, abs=NEAR)
                # The slot opens on the joint face itself.
                assert (place - low) @ np.array(frame.z) == pytest.approx(0, abs=NEAR)
            middle = (np.array(frame.origin) - face) @ into
            across = case.row(leg, "from the inside face, across the joint face")
            check_across(across, label, cut, float(middle))
            depth = one(case.row(leg, "from the joint face, into the leg"), label, "depth")
            assert depth == pytest.approx(cut.depth, abs=NEAR)


@beds
def test_rail_marks_on_a_leg_are_where_the_rail_is(name: str, size: str | None) -> None:
    case = bed(name, size)
    for leg in legs(case):
        low, high = joint_edge(leg)
        side = leg.name.rsplit("_", 1)[1]
        face, into = inside_face(leg, case)
        rail = corners(case.piece(f"side_rail_{side}"))
        touching = rail[np.abs((rail - face) @ into) < NEAR]
        assert len(touching) == 4  # full bearing: the whole end lies on the inside face
        heights = touching[:, 2] - low[2]
        outward = np.sign(low[0]) * (touching[:, 0] - low[0])
        upward = case.row(leg, "up the joint face")
        across = case.row(leg, "across the inside face")
        for what, value in (("lower edge", heights.min()), ("upper edge", heights.max())):
            what += ", on the inside face"
            assert one(upward, "side rail", what) == pytest.approx(value, abs=NEAR)
            down = one(case.row(leg, "from the top end"), "side rail", what)
            assert down == pytest.approx(high[2] - low[2] - value, abs=NEAR)
        assert one(across, "side rail", "inside face") == pytest.approx(outward.min(), abs=NEAR)
        assert one(across, "side rail", "show face") == pytest.approx(outward.max(), abs=NEAR)


@beds
def test_ends_of_the_joint_face_are_marked(name: str, size: str | None) -> None:
    case = bed(name, size)
    for leg in legs(case):
        low, high = joint_edge(leg)
        names = {"splayed": "knee", "straight": "foot end"}
        end = names[case.layout.sheet.leg.style]
        up, down = case.row(leg, "up the joint face"), case.row(leg, "from the top end")
        assert up.reference.startswith(f"from the {end},")
        assert up.marks[-1].what == "top end"
        assert down.marks[-1].what.startswith(end)
        for row in (up, down):
            assert row.marks[-1].true == pytest.approx(high[2] - low[2], abs=NEAR)


@beds
def test_left_and_right_leg_laid_joint_to_joint_show_the_same(name: str, size: str | None) -> None:
    """In each part's own frame: the stations agree and the bodies lie on opposite sides."""
    case = bed(name, size)
    for end in ("head", "foot"):
        stations, sides = [], []
        for side in ("left", "right"):
            leg = case.piece(f"{end}_leg_{side}")
            shape = leg.kind.shape
            (edge,) = shape.outline.named("joint")
            upward = turned(leg.placement, (*np.subtract(edge.end, edge.start), 0.0))[2] > 0
            low, high = (edge.start, edge.end) if upward else (edge.end, edge.start)
            up = np.append(np.subtract(high, low), 0.0)
            up /= np.linalg.norm(up)
            _, into = inside_face(leg, case)
            # The inside face lies up: its normal in the part frame.
            normal = np.array([0.0, 0.0, -np.sign(turned(leg.placement, (0, 0, 1)) @ into)])
            body = np.array([shape.length / 2, shape.width / 2, 0.0]) - np.array([*low, 0.0])
            sides.append(np.sign(np.cross(normal, up) @ body))
            rows = [(np.array(cut.frame.origin) - [*low, 0.0]) @ up for cut in shape.mortises]
            stations.append(sorted(rows))
        assert stations[0] == pytest.approx(stations[1], abs=NEAR)
        assert sides[0] == -sides[1]
        left, right = (case.of(case.piece(f"{end}_leg_{side}")) for side in ("left", "right"))
        assert left.rows == right.rows
        assert any("mirrored" in note for note in left.notes)


@beds
def test_mortises_of_boards_are_where_the_marks_say(name: str, size: str | None) -> None:
    case = bed(name, size)
    boards = [p for p in case.pieces if "board" in p.name and not loose(p)]
    assert len(boards) >= 2
    for board in boards:
        lower = corners(board)[:, 2].min()
        face, into = inside_face(board, case)
        ends = corners(board)[:, 0]
        assert len(board.kind.shape.cuts) % 2 == 0
        for cut in board.kind.shape.cuts:
            label = mortise_label(board, cut.name, case)
            frame = board.placement @ cut.frame
            x, _, z = frame.origin
            assert min(abs(ends - x)) < NEAR
            assert abs(frame.x[2]) == pytest.approx(1)  # the slot stands upright
            row = case.row(board, "from the lower edge")
            for what, along in slot_marks(cut):
                height = z + along * cut.length / 2 - lower
                assert one(row, label, what) == pytest.approx(height, abs=NEAR)
            middle = (np.array(frame.origin) - face) @ into
            row = case.row(board, "from the inside face")
            check_across(row, label, cut, float(middle))
            depth = one(case.row(board, "into the board"), label, "depth")
            assert depth == pytest.approx(cut.depth, abs=NEAR)


@beds
def test_joint_line_of_a_tenon_lies_on_the_joint_face(name: str, size: str | None) -> None:
    case = bed(name, size)
    wood = [p for p in case.pieces if loose(p) and not p.kind.is_metal]
    tenons = [p for p in wood if p.name.endswith("_right")]
    assert tenons
    for tenon in tenons:
        (mark,) = case.row(tenon, "into the board").marks
        end = tenon.name.split("board")[0]
        low, _ = joint_edge(case.piece(f"{end}_leg_right"))
        xs = corners(tenon)[:, 0]
        assert xs.min() + mark.true == pytest.approx(low[0], abs=NEAR)


# --- rails, runners, slats -----------------------------------------------------------------


def rail_line(case: Case, side: str) -> tuple[Vec, Vec, Vec]:
    """Head and foot end of the rail's inside lower arris, and its direction."""
    points = corners(case.piece(f"side_rail_{side}"))
    low = points[np.abs(points[:, 2] - points[:, 2].min()) < NEAR]
    head, foot = (low[np.abs(low[:, 1] - y) < NEAR] for y in (low[:, 1].min(), low[:, 1].max()))
    a, b = (end[np.argmin(np.abs(end[:, 0]))] for end in (head, foot))
    return a, b, (b - a) / np.linalg.norm(b - a)


def across(point: Vec, direction: Vec, y: float) -> float:
    """How far along a line it crosses a plane y = const."""
    return float((y - point[1]) / direction[1])


@beds
@pytest.mark.parametrize("side", ["left", "right"])
def test_marks_on_a_side_rail(name: str, size: str | None, side: str) -> None:
    case = bed(name, size)
    rail, runner = case.piece(f"side_rail_{side}"), corners(case.piece(f"runner_{side}"))
    head, foot, along = rail_line(case, side)
    heights = case.row(rail, "from the lower edge, on the inside face")
    assert one(heights, "runner", "lower edge") == pytest.approx(
        runner[:, 2].min() - head[2], abs=NEAR
    )
    assert one(heights, "runner", "upper edge") == pytest.approx(
        runner[:, 2].max() - head[2], abs=NEAR
    )
    stations = (runner - head) @ along
    row = case.row(rail, "from the head end")
    assert one(row, "runner", "head end") == pytest.approx(stations.min(), abs=NEAR)
    assert one(row, "runner", "foot end") == pytest.approx(stations.max(), abs=NEAR)
    back = (foot - runner) @ along
    from_foot = case.row(rail, "from the foot end")
    assert one(from_foot, "runner", "foot end") == pytest.approx(back.min(), abs=NEAR)
    for slat in case.some("slat_"):
        ys = corners(slat)[:, 1]
        assert one(row, slat.name, "near edge") == pytest.approx(
            across(head, along, ys.min()), abs=NEAR
        )
        assert one(row, slat.name, "far edge") == pytest.approx(
            across(head, along, ys.max()), abs=NEAR
        )


@beds
def test_end_cut_is_the_rails_own(name: str, size: str | None) -> None:
    case = bed(name, size)
    rail = case.piece("side_rail_right")
    head, _, along = rail_line(case, "right")
    points = corners(rail)
    show = points[np.abs(points[:, 1] - points[:, 1].min()) < NEAR]
    past = (head - show[np.argmax(show[:, 0])]) @ along  # beyond the square line at the head
    (mark,) = case.row(rail, "square line").marks
    assert mark.true == pytest.approx(past, abs=NEAR)
    notes = " ".join(case.of(rail).notes)
    assert ("runs on past" in notes) == (past > NEAR)
    assert ("parallel: square" in notes) == (past < NEAR)


def test_small_end_cut_is_told_as_an_offset() -> None:
    """Campion: stance 1 3/8 in over 2054 mm: 0.24 mm over 28.575 mm."""
    case = bed("campion")
    (note,) = (n for n in case.of(case.piece("side_rail_left")).notes if "end cuts" in n)
    assert "0.2 mm" in note
    assert "0.49 deg" in note


@beds
@pytest.mark.parametrize("side", ["left", "right"])
def test_slats_on_a_runner(name: str, size: str | None, side: str) -> None:
    case = bed(name, size)
    runner = case.piece(f"runner_{side}")
    points = corners(runner)
    top = points[np.abs(points[:, 2] - points[:, 2].max()) < NEAR]
    _, _, along = rail_line(case, side)
    # Of the four corners of the top, those on the rail's side, from head to foot.
    outward = np.cross(along, [0.0, 0.0, 1.0]) * (1 if side == "right" else -1)
    at_rail = sorted(top, key=lambda p: -(p @ outward))[:2]
    head = min(at_rail, key=lambda p: p[1])
    row = case.row(runner, "along the rail edge")
    for slat in case.some("slat_"):
        ys = corners(slat)[:, 1]
        near, far = (across(head, along, y) for y in (ys.min(), ys.max()))
        assert one(row, slat.name, "near edge") == pytest.approx(near, abs=NEAR)
        assert one(row, slat.name, "far edge") == pytest.approx(far, abs=NEAR)
    assert len(row.marks) == 2 * len(case.some("slat_"))


@beds
def test_slat_marks_give_back_equal_gaps(name: str, size: str | None) -> None:
    """From the sheet alone: clear length less the slats, shared by the gaps and both ends."""
    case = bed(name, size)
    sheet, layout = case.layout.sheet, case.layout
    clear = layout.mattress.length + sheet.mattress.end_clearance
    stance = sheet.frame.stance / 2
    slope = math.hypot(clear, stance) / clear
    row = case.row(case.piece("side_rail_right"), "from the head end")
    marks = [m.true / slope for m in row.marks if m.label.startswith("slat_")]
    count = len(case.some("slat_"))
    gap = (clear - count * sheet.slat.width) / (count + 1)
    gaps = np.diff([0.0, *marks, clear])[::2]
    widths = np.diff(marks)[::2]
    assert gaps == pytest.approx([gap] * (count + 1), abs=NEAR)
    assert widths == pytest.approx([sheet.slat.width] * count, abs=NEAR)


@beds
def test_marks_on_a_centre_rail(name: str, size: str | None) -> None:
    case = bed(name, size)
    if not case.some("centre_rail"):
        assert case.layout.mattress.width <= 1100
        assert "centre_rail" not in [part.kind for part in case.parts]
        return
    rail = case.piece("centre_rail")
    head = corners(rail)[:, 1].min()
    for stem, words in (("slat_", "along the top"), ("support_foot_", "along the underside")):
        row = case.row(rail, words)
        for piece in case.some(stem):
            ys = corners(piece)[:, 1]
            assert one(row, piece.name, "near edge") == pytest.approx(ys.min() - head, abs=NEAR)
            assert one(row, piece.name, "far edge") == pytest.approx(ys.max() - head, abs=NEAR)
            if stem != "slat_":
                assert one(row, piece.name, CENTRE) == pytest.approx(ys.mean() - head, abs=NEAR)


@beds
def test_marks_under_a_slat(name: str, size: str | None) -> None:
    case = bed(name, size)
    slats = case.some("slat_")
    rows = {row.reference.split(",")[0]: row for row in case.of(slats[0]).rows}
    inner = {}
    for side in ("left", "right"):
        points = corners(case.piece(f"runner_{side}"))
        _, _, along = rail_line(case, side)
        inner[side] = points[np.argmin(np.abs(points[:, 0]))], along
    for slat in slats:
        box = corners(slat)
        left, right, y = box[:, 0].min(), box[:, 0].max(), box[:, 1].mean()
        xs = {}
        for side, (point, along) in inner.items():
            xs[side] = (point + along * across(point, along, y))[0]
        if "from either end" in rows:
            mark = one(rows["from either end"], slat.name, "inner edge of the runner")
            assert xs["left"] - left == pytest.approx(mark, abs=NEAR)
            assert right - xs["right"] == pytest.approx(mark, abs=NEAR)
        else:
            row = rows["from the left end"]
            for side in ("left", "right"):
                mark = one(row, f"{side} runner", "inner edge")
                assert xs[side] - left == pytest.approx(mark, abs=NEAR)
        if case.some("centre_rail"):
            rail = corners(case.piece("centre_rail"))[:, 0]
            row = rows["from the left end"]
            assert one(row, "centre rail", "near edge") == pytest.approx(rail.min() - left)
            assert one(row, "centre rail", "far edge") == pytest.approx(rail.max() - left)
    stance = case.layout.sheet.frame.stance
    assert ("from either end" in rows) == (stance > 0)


# --- nothing left out ----------------------------------------------------------------------


@beds
def test_every_kind_is_there_and_has_marks_or_a_reason(name: str, size: str | None) -> None:
    case = bed(name, size)
    assert [p.kind for p in case.parts] == list(dict.fromkeys(p.kind.name for p in case.pieces))
    assert sum(part.count for part in case.parts) == len(case.pieces)
    for part in case.parts:
        assert bool(part.rows) != bool(part.reason)
        assert all(row.marks for row in part.rows)
        for row in part.rows:
            assert [m.true for m in row.marks] == sorted(m.true for m in row.marks)
    bare = {part.kind for part in case.parts if not part.rows}
    metal = {piece.kind.name for piece in case.pieces if piece.kind.is_metal}
    assert metal <= bare <= {"support_foot", *metal}


def test_hands_and_pieces_are_named() -> None:
    parts = {part.kind: part for part in bed("hawthorn").parts}
    assert parts["head_leg_left"].hands == ("left",)
    assert parts["side_rail"].hands == ("left", "right")
    assert parts["side_rail"].pieces == ("side_rail_left", "side_rail_right")
    assert parts["slat"].hands == ()
    assert parts["slat"].count == 17


def test_one_kind_of_leg_for_both_sides_has_marks_for_both() -> None:
    """With the boards in the middle of the legs' thickness, one leg serves left and right."""
    reveals = ("headboard.reveal=17", "footboard.reveal=17")
    case = bed("hawthorn", None, "side_rail.joint=butt", *reveals)
    part = next(part for part in case.parts if part.kind == "head_leg")
    assert part.hands == ("left", "right")
    near, far = case.row(case.piece("head_leg_left"), "from the inside face, across").marks
    assert near.true + far.true == pytest.approx(68)


def test_no_slat_stands_over_the_end_of_its_runner() -> None:
    """A runner turned by the stance begins later at its outer edge; that is refused."""
    with pytest.raises(InputError, match=r"runner\.end_gap"):
        bed("campion", None, "runner.end_gap=2.36", "frame.stance=2", "runner.width=2.5")
    close = bed("campion", None, "runner.end_gap=2.2", "frame.stance=2", "runner.width=2.5")
    row = close.row(close.piece("runner_left"), "along the rail edge")
    assert row.marks[0].true >= 0


# --- rounding ------------------------------------------------------------------------------


def marks_of(case: Case) -> list[Mark]:
    rows = [row for part in case.parts for row in part.rows]
    return [mark for row in rows for mark in row.marks]


@beds
def test_each_mark_is_within_half_a_step_of_its_own_true_value(name: str, size: str | None) -> None:
    case = bed(name, size)
    unit = case.layout.sheet.design.unit
    step = {"mm": 0.1, "inch": 25.4 / 64}[unit]
    assert step_of(unit) == pytest.approx(step)
    sticks = [mark for stick in story_sticks(case.layout) for mark in stick.marks]
    for mark in marks_of(case) + sticks:
        shown = parse_length(mark.shown, "mm")
        assert mark.shown.endswith({"mm": " mm", "inch": " in"}[unit])
        assert abs(shown - mark.true) <= step / 2 + 1e-6
        assert shown == pytest.approx(mark.rounded, abs=1e-9)
        assert mark.error == pytest.approx(shown - mark.true, abs=1e-9)
        assert shown / step == pytest.approx(round(shown / step), abs=1e-6)


def test_the_last_slat_of_a_row_is_no_worse_than_the_first() -> None:
    """Measured from mark to mark with the same rule, this row would drift past a step."""
    case = bed("campion")
    row = case.row(case.piece("runner_left"), "along the rail edge")
    step = 25.4 / 64
    chained = 0.0
    for a, b in itertools.pairwise([0.0, *(mark.true for mark in row.marks)]):
        chained += round((b - a) / step) * step
    last = row.marks[-1]
    assert abs(chained - last.true) > 2 * step
    assert abs(parse_length(last.shown, "mm") - last.true) <= step / 2


def test_halves_are_shown_alike_on_leg_and_board() -> None:
    """Sorrel's slots end at ...55 and ...45 hundredths, where float noise would decide."""
    case = bed("sorrel", None, "side_rail.joint=butt", "tenon.count=auto")
    row = case.row(case.piece("headboard_board"), "from the lower edge")
    assert [m.shown for m in row.marks if m.what != CENTRE] == [
        "21.6 mm",
        "76.5 mm",
        "119.6 mm",
        "174.5 mm",
    ]


def test_a_rule_too_coarse_for_the_cheeks_is_told() -> None:
    coarse = bed("campion", None, "tenon.thickness=9.7 mm")
    fine = bed("hawthorn")
    for case, told in ((coarse, True), (fine, False)):
        notes = case.of(case.piece("head_leg_left")).notes
        assert any("set the cutter to the true value" in note for note in notes) == told


# --- story sticks --------------------------------------------------------------------------


@beds
def test_sticks_carry_the_marks_of_their_parts(name: str, size: str | None) -> None:
    case = bed(name, size)
    sticks = story_sticks(case.layout)
    words = {
        "runner": "along the rail edge",
        "centre_rail": "along the top",
        "leg": "up the joint face",
    }
    held = [part for stick in sticks for part in stick.parts if stick.name != HOLES]
    assert len(held) == len(set(held))
    for stick in sticks:
        if stick.name == HOLES:  # it carries two rows of a runner, one of them on the rail too
            continue
        for part in stick.parts:
            piece = case.some(part)[0]
            word = words.get(part, words["leg"] if "leg" in part else "from the lower edge")
            rows = [row for row in case.of(piece).rows if word in row.reference]
            marks = sorted(m.true for row in rows for m in row.marks if m.what != "top end")
            assert [m.true for m in stick.marks] == pytest.approx(marks, abs=NEAR)
        assert all(0 <= mark.true <= stick.length for mark in stick.marks)
    ends = [f"{end}_leg" for end in ("head", "foot")]
    boards = {p.name for p in case.pieces if "board" in p.name and not loose(p)}
    centre = {"centre_rail"} if case.some("centre_rail") else set()
    assert set(held) == {"runner", "side_rail", *centre, *ends, *boards}


def test_like_rows_share_one_stick_and_others_do_not() -> None:
    apart = {stick.parts for stick in story_sticks(bed("sorrel").layout)}
    assert apart == {
        ("runner",), ("head_leg",), ("foot_leg",), ("headboard_board",), ("footboard_board",),
        ("side_rail",), ("runner", "side_rail"),
    }  # fmt: skip
    alike = story_sticks(bed("sorrel", None, "footboard.board.1.width=196").layout)
    assert {stick.parts for stick in alike} == {
        ("runner",), ("head_leg", "foot_leg"), ("headboard_board", "footboard_board"),
        ("side_rail",), ("runner", "side_rail"),
    }  # fmt: skip
    legs_stick = next(stick for stick in alike if "head_leg" in stick.parts)
    assert any(
        name.startswith("mortise") and name.endswith("for footboard_board")
        for m in legs_stick.marks
        for name in m.of
    )
    square = {stick.parts for stick in story_sticks(bed("hawthorn").layout)}
    turned_ = {stick.parts for stick in story_sticks(bed("campion").layout)}
    assert ("runner", "centre_rail") in square  # both begin 3 mm from the leg
    assert ("runner",) in turned_  # the stance draws the marks apart


# --- files and terminal --------------------------------------------------------------------

_SCHEMA = {
    "type": "object",
    "required": ["unit", "step_mm", "rule", "parts", "sticks"],
    "properties": {
        "parts": {"type": "array", "minItems": 5, "items": {"$ref": "#/$defs/part"}},
        "sticks": {"type": "array", "minItems": 3, "items": {"$ref": "#/$defs/stick"}},
    },
    "$defs": {
        "mark": {
            "type": "object",
            "required": ["of", "what", "true_mm", "rounded_mm", "shown", "rounding_error_mm"],
            "properties": {"true_mm": {"type": "number"}, "shown": {"type": "string"}},
            "additionalProperties": {"type": ["number", "string", "array"]},
        },
        "marks": {"type": "array", "minItems": 1, "items": {"$ref": "#/$defs/mark"}},
        "part": {
            "type": "object",
            "required": ["kind", "count", "pieces", "hands", "rows", "notes", "none_because"],
            "properties": {
                "count": {"type": "integer", "minimum": 1},
                "rows": {"items": {"properties": {"marks": {"$ref": "#/$defs/marks"}}}},
            },
        },
        "stick": {
            "type": "object",
            "required": ["name", "for", "datum", "length_mm", "marks"],
            "properties": {"marks": {"$ref": "#/$defs/marks"}},
        },
    },
}


@beds
def test_record_is_json_and_csv_has_a_line_a_mark(name: str, size: str | None) -> None:
    case = bed(name, size)
    text = json.dumps(marks_record(case.layout, case.pieces), allow_nan=False)
    record = json.loads(text)
    jsonschema.validate(record, _SCHEMA)
    rows = list(csv.DictReader(io.StringIO(marks_csv(case.parts))))
    assert list(rows[0]) == [
        "kind", "reference", "mark", "true_mm", "shown", "rounding_error_mm"
    ]  # fmt: skip
    marks = marks_of(case)
    assert len(rows) == len(marks)
    recorded = [m for p in record["parts"] for r in p["rows"] for m in r["marks"]]
    for row, mark, held in zip(rows, marks, recorded, strict=True):
        assert row["shown"] == held["shown"] == mark.shown
        assert float(row["true_mm"]) == pytest.approx(mark.true, abs=1e-4)
        assert held["true_mm"] == pytest.approx(mark.true, abs=1e-4)
        error = parse_length(row["shown"], "mm") - float(row["true_mm"])
        assert float(row["rounding_error_mm"]) == pytest.approx(error, abs=2e-4)
        assert not row["rounding_error_mm"].startswith("-0.0000")
    assert record["unit"] == case.layout.sheet.design.unit


def asked(sheet: str, **options: Any) -> argparse.Namespace:
    given = {"size": None, "mattress": None, "changes": [], "json": False, **options}
    return argparse.Namespace(sheet=sheet, **given)


@pytest.mark.parametrize("sheet", ["campion", "hawthorn", "sorrel"])
def test_verb_prints_every_mark_once_for_a_pair(
    sheet: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(asked(sheet)) == 0
    text = capsys.readouterr().out
    case = bed(sheet)
    for part in case.parts:
        assert part.kind in text
    assert text.count("head_leg_left and head_leg_right: 2 (left and right)") == 1
    for mark in marks_of(case):
        assert any(
            mark.label in line and mark.shown in line and f"{mark.true + 0.0:.3f}" in line
            for line in text.splitlines()
        ), mark


def test_verb_picks_a_part(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(asked("campion", json=True, part="head_leg")) == 0
    record = json.loads(capsys.readouterr().out)
    assert [part["kind"] for part in record["parts"]] == ["head_leg_left", "head_leg_right"]
    assert [stick["name"] for stick in record["sticks"]] == ["head_leg_mortises"]
    assert run(asked("campion", part="slat", size="us-king")) == 0
    text = capsys.readouterr().out
    assert "slat: 17" in text
    assert "side_rail" not in text


def test_verb_refuses_a_part_that_is_not_there() -> None:
    with pytest.raises(InputError, match=r"^part = wheel: must be one of head_leg_left, "):
        run(asked("campion", part="wheel"))
