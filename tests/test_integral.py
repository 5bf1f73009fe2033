"""Integral tenons: layout, closed forms and refusals; solids and checks in ``test_integral_beds``.

Proportions are common practice, without a source: a tenon a third of the board thick, a
haunch a third as long as the tenon, over the whole width between the edge shoulders.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedmodel.bed import Piece
from bedmodel.cuts import Mortise
from bedmodel.end_plan import BoardPlan, board_name
from bedmodel.errors import InputError
from bedmodel.joints import board_joints, haunch_joints
from bedmodel.pieces import make_pieces
from bedmodel.sheets import check_sheet, load_sheet
from bedmodel.shop.jigs.plates import mortise_seats
from bedmodel.shop.setting_out import setting_out
from bedmodel.skeleton import Layout, lay_out
from bedmodel.spec import Sheet
from bedmodel.tables import mattress_sizes
from tests.closed_forms import TANGENTIAL, stadium, strip
from tests.sheet_space import sheets
from tests.test_space import SPACE

Table = dict[str, Any]

SHEETS = ("campion", "hawthorn", "sorrel")
OWN = ["headboard.joint=tenon", "footboard.joint=tenon"]
KINDS: dict[str, list[str]] = {
    "round": [],
    "square": ["tenon.ends=square"],
    "paired": ["tenon.rows=2", "tenon.wall_least=4 mm"],
    "no haunch": ["tenon.haunch=0"],
}
RAILS = ("hook_plates", "brackets", "bolts", "butt")
BUTT = "side_rail.joint=butt"  # no fastener in the way


def layout_of(sheet: str, changes: Sequence[str] = (), size: str | None = None) -> Layout:
    return lay_out(load_sheet(sheet, size=size, changes=[*OWN, *changes]))


def boards_of(layout: Layout) -> list[BoardPlan]:
    return [board for end in layout.ends for board in end.boards]


def pieces_of(layout: Layout) -> dict[str, Piece]:
    return {piece.name: piece for piece in make_pieces(layout)}


# --- the whole matrix -----------------------------------------------------------------------


MATRIX = [("round", rail) for rail in RAILS] + [(k, "hook_plates") for k in KINDS if k != "round"]


@pytest.mark.parametrize(("kind", "rail"), MATRIX)
@pytest.mark.parametrize("sheet", SHEETS)
def test_each_kind_lays_out_at_every_tabled_size(sheet: str, kind: str, rail: str) -> None:
    for size in mattress_sizes():
        layout = layout_of(sheet, [*KINDS[kind], f"side_rail.joint={rail}"], size)
        check_pieces(layout)
        if kind == "no haunch":
            assert list(haunch_joints(layout)) == []


def check_pieces(layout: Layout) -> None:
    """No loose tenon; as many tenons on the boards' ends as mortises in the legs."""
    found = pieces_of(layout)
    assert not any("_tenon_" in name or "_haunch_" in name for name in found)
    for end in layout.ends:
        joints = [j for j in board_joints(layout) if j.leg == f"{end.end}_leg"]
        for side in ("left", "right"):
            cuts = found[f"{end.end}_leg_{side}"].kind.shape.cuts
            ours = [cut for cut in cuts if cut.role in ("mortise", "haunch")]
            assert len(ours) == len(joints)
            assert len({cut.name for cut in ours}) == len(ours)
        for board in end.boards:
            piece, plan = found[board_name(end, board)], board.tenons
            shape = piece.kind.shape
            if not end.fills and end.cap is None:
                assert shape.cuts == ()
            rows = len(plan.setbacks)
            assert len(shape.bosses) == 2 * rows * (len(plan.heights) + len(plan.haunches))
            # From shoulder to shoulder it fills the place between the legs.
            x0, _, x1, _ = shape.outline.bounds()
            (left, _, _), (right, _, _) = (piece.placement.point((x, 0, 0)) for x in (x0, x1))
            assert (left, right) == pytest.approx((-end.joint_x, end.joint_x))
            assert shape.length == pytest.approx(2 * (end.joint_x + plan.embedment_leg))


# --- shoulders, haunches, room to slide -------------------------------------------------------


@pytest.mark.parametrize("kind", ["round", "paired"])
@pytest.mark.parametrize("sheet", SHEETS)
def test_shoulders_go_all_round(sheet: str, kind: str) -> None:
    """Seen on the board's end, nothing in the leg comes nearer to its outline than the wall."""
    layout = layout_of(sheet, KINDS[kind])
    found = pieces_of(layout)
    for end in layout.ends:
        leg = found[f"{end.end}_leg_right"]
        for board in end.boards:
            piece = found[board_name(end, board)]
            wall = layout.sheet.tenon.wall_least
            for cut in leg.kind.shape.cuts:
                if not cut.name.startswith(piece.name):
                    continue
                assert isinstance(cut, Mortise)
                there = piece.placement.inverse() @ leg.placement @ cut.frame
                _, y, z = there.origin
                assert wall - 1e-9 <= y - cut.length / 2
                assert y + cut.length / 2 <= board.width - wall + 1e-9
                assert wall - 1e-9 <= z - cut.width / 2
                assert z + cut.width / 2 <= board.thickness - wall + 1e-9


def test_a_haunch_runs_beside_and_between_the_tenons_of_a_wide_board() -> None:
    layout = layout_of("hawthorn", [BUTT])
    wide, narrow = boards_of(layout)
    assert (wide.width, len(wide.tenons.heights)) == (385, 3)
    assert wide.tenons.haunch == pytest.approx(wide.tenons.embedment_leg / 3)
    (haunch,) = wide.tenons.haunches
    # The groove goes from edge shoulder to edge shoulder, 6 mm each; the stub in it leaves
    # the gap and its room to slide: Wood Handbook (FPL-GTR-282), Table 13-5, white ash
    # 0.00274 a point, 5 points, from the glued tenon in the middle.
    assert haunch.groove_low - wide.bottom == pytest.approx(6)
    assert wide.top - haunch.groove_high == pytest.approx(6)
    middle = wide.bottom + 385 / 2
    for edge, groove in ((haunch.low, haunch.groove_low), (haunch.high, haunch.groove_high)):
        assert abs(groove - edge) == pytest.approx(0.5 + abs(edge - middle) * 0.00274 * 5)
    assert (narrow.width, len(narrow.tenons.heights)) == (168, 1)
    assert narrow.tenons.haunches == ()


def test_one_tenon_in_a_wide_board_has_haunches_too() -> None:
    layout = layout_of("hawthorn", [BUTT, "tenon.count=1"])
    wide, narrow = boards_of(layout)
    assert len(wide.tenons.haunches) == 1
    assert narrow.tenons.haunches == ()


def test_a_board_glued_throughout_has_no_slack_in_its_groove() -> None:
    layout = layout_of("hawthorn", [BUTT, "headboard.glue=all"])
    (haunch,) = boards_of(layout)[0].tenons.haunches
    assert haunch.low - haunch.groove_low == pytest.approx(0.5)
    assert haunch.groove_high - haunch.high == pytest.approx(0.5)


def test_a_fastener_in_the_way_breaks_the_haunch_off() -> None:
    """Deep in the leg beside the rail's plates there is no groove."""
    free, beside = (layout_of("sorrel", [j]) for j in (BUTT, "side_rail.joint=hook_plates"))
    assert beside.fastener is not None
    head = boards_of(free)[0].tenons.haunches, boards_of(beside)[0].tenons.haunches
    wide = [sum(h.groove_high - h.groove_low for h in haunches) for haunches in head]
    assert wide[1] < wide[0]


def test_loose_and_integral_tenons_are_of_one_size() -> None:
    """The same rules give both; only what is in the board differs."""
    for sheet, kind in itertools.product(SHEETS, ("round", "paired")):
        loose = lay_out(load_sheet(sheet, changes=KINDS[kind]))
        for one, own in zip(
            boards_of(loose), boards_of(layout_of(sheet, KINDS[kind])), strict=True
        ):
            a, b = one.tenons, own.tenons
            assert (a.heights, a.setbacks, a.width, a.thickness, a.slack) == (
                (b.heights, b.setbacks, b.width, b.thickness, b.slack)
            )
            assert a.embedment_leg == b.embedment_leg
            assert (a.integral, b.integral, b.embedment_board) == (False, True, 0)


# --- volumes by hand --------------------------------------------------------------------------


class ByHand:
    """One board's joint of a bed on square posts, from the sheet's numbers alone."""

    def __init__(self, sheet: Sheet, end: str, between: float) -> None:
        self.sheet, self.between = sheet, between
        self.given = sheet.headboard if end == "head" else sheet.footboard
        (self.board,) = self.given.board
        tenon = sheet.tenon
        self.count = max(1, round(self.board.width / 125))
        self.thickness = math.floor(self.board.thickness / 3)
        self.width = 0.55 * self.board.width / self.count
        self.length = min(3 * self.thickness, sheet.leg.top_width - tenon.wall_least - 1.5)
        self.haunch = self.length / 3 if self.count > 1 else 0.0
        self.moves = TANGENTIAL[sheet.wood.species] * 5
        pitch = self.board.width / self.count
        self.slacks = [
            abs(i - (self.count - 1) // 2) * pitch * self.moves for i in range(self.count)
        ]
        self.glued = ((self.count - 1) // 2 + 0.5) * pitch

    def area(self, length: float, width: float) -> float:
        return stadium(length, width) if self.sheet.tenon.ends == "round" else length * width

    @property
    def stub(self) -> float:
        """How wide the haunch is: at each end the gap, the room to slide and the shoulder."""
        limit = self.sheet.tenon.wall_least + self.sheet.tenon.edge_clearance
        low = (limit + self.moves * self.glued) / (1 + self.moves)
        top = self.board.width - limit
        return (top + self.moves * self.glued) / (1 + self.moves) - low

    @property
    def board_volume(self) -> float:
        b = self.board
        body = strip(self.between, b.width, b.thickness, self.given.edge, self.given.edge_size)
        tenons = self.count * self.area(self.width, self.thickness) * (self.length - self.haunch)
        root = self.area(self.stub if self.haunch else self.width, self.thickness)
        return body + 2 * (tenons + root * (self.haunch or 0.0))

    @property
    def out_of_leg(self) -> float:
        tenon = self.sheet.tenon
        wide = self.thickness + 2 * tenon.cheek_clearance
        slots = sum(
            self.area(self.width + 2 * (tenon.edge_clearance + s), wide) for s in self.slacks
        )
        depth = self.length + tenon.end_gap
        if not self.haunch:
            return slots * depth
        shallow = self.haunch + tenon.end_gap
        groove = self.area(self.board.width - 2 * tenon.wall_least, wide)
        return groove * shallow + slots * (depth - shallow)


@pytest.mark.parametrize("size", ["eu-160x200", "us-king"])
@pytest.mark.parametrize("kind", ["round", "square"])
def test_boards_and_legs_have_their_closed_form_volumes(kind: str, size: str) -> None:
    """Of a bed on square posts: planes and cylinders, exact in the kernel."""
    from bedmodel.solids import make_solid, volume_of

    layout = layout_of("hawthorn", [*KINDS[kind], BUTT, "leg.edge=square"], size)
    sheet, found = layout.sheet, pieces_of(layout)
    between = mattress_sizes()[size].width + 2 * sheet.mattress.side_clearance
    for end in layout.ends:
        hand = ByHand(sheet, end.end, between)
        assert hand.haunch == (11 if end.end == "head" else 0)
        board = found[f"{end.end}board_board"].kind.shape
        assert volume_of(make_solid(board).wrapped) == pytest.approx(hand.board_volume, rel=1e-9)
        post = end.leg_top * sheet.leg.top_width * sheet.leg.thickness
        for side in ("left", "right"):
            leg = make_solid(found[f"{end.end}_leg_{side}"].kind.shape)
            assert volume_of(leg.wrapped) == pytest.approx(post - hand.out_of_leg, rel=1e-9)


# --- refusals ---------------------------------------------------------------------------------

REFUSED: dict[str, tuple[str, list[str], str]] = {
    "haunch too long": ("hawthorn", ["tenon.haunch=40 mm"], "tenon.haunch"),
    "haunch too short": ("hawthorn", ["tenon.haunch=1 mm"], "tenon.haunch"),
    "haunch too long in inches": ("campion", ["tenon.haunch=1.5"], "tenon.haunch"),
    "haunch up a leaning leg": (
        "campion",
        [
            *("leg.splay=10", "leg.top_width=1.2", "leg.above_boards=1/8"),
            *("tenon.count=1", "headboard.board.2.width=19", "tenon.width=3", "tenon.embedment=2"),
            "tenon.haunch=31/32 in",  # less than half the tenon, but the leg is narrow up there
        ],
        "tenon.haunch",
    ),
    "tenon too long": ("hawthorn", ["tenon.embedment=100 mm"], "tenon.embedment"),
    "tenon too thick": ("hawthorn", ["tenon.thickness=30 mm"], "tenon.thickness"),
    "tenon too wide": ("hawthorn", ["tenon.width=150 mm"], "tenon.width"),
    "too many": (
        "hawthorn",
        ["tenon.count=6", "tenon.thickness=8", "tenon.wall_least=12"],
        "tenon.count",
    ),
    "board too thin": (
        "hawthorn",
        ["tenon.wall_least=15", "footboard.board.1.thickness=40"],
        "headboard.board.1.thickness",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_does_not_fit_is_refused_and_the_told_bound_is_true(case: str) -> None:
    sheet, changes, parameter = REFUSED[case]
    changes = [BUTT, *changes]
    with pytest.raises(InputError) as refused:
        layout_of(sheet, changes)
    assert refused.value.parameter == parameter
    assert refused.value.remedy
    words = refused.value.allowed.split("must be ")[1]
    told = words.removeprefix("at most ").removeprefix("at least ")
    bounds = told.split(" in ")[0].split(",")[0] if "inch" not in case else told
    for bound in _bounds(bounds):
        rest = [c for c in changes if not c.startswith(f"{parameter}=")]
        layout_of(sheet, [*rest, f"{parameter}={bound}"])


def _bounds(words: str) -> list[str]:
    """Each bound of "2 mm to 16.5 mm", as a sheet may hold it."""
    found = re.findall(r"(?:\d+ )?\d+(?:[./]\d+)?(?: mm| in\b)?", words)
    assert found, words
    return found[:2] if " to " in words else found[:1]


def test_a_short_tenon_has_a_haunch_of_a_third_all_the_same() -> None:
    layout = layout_of("hawthorn", [BUTT, "tenon.embedment=8 mm", "tenon.thickness=8 mm"])
    assert boards_of(layout)[0].tenons.haunch == pytest.approx(8 / 3)


# --- setting out and plates -------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["round", "paired"])
@pytest.mark.parametrize("sheet", SHEETS)
def test_marks_on_a_board_are_where_its_tenons_are(sheet: str, kind: str) -> None:
    """Measured again on the shape: every boss has its edges, cheeks and end marked."""
    layout = layout_of(sheet, KINDS[kind])
    pieces = make_pieces(layout)
    marks = {part.kind: part for part in setting_out(layout, pieces)}
    for end in layout.ends:
        for board in end.boards:
            (piece,) = [p for p in pieces if p.name == board_name(end, board)]
            rows = {row.reference: row.marks for row in marks[piece.kind.name].rows}
            values = {key: sorted(m.true for m in found) for key, found in rows.items()}
            shape = piece.kind.shape
            right = [b for b in shape.bosses if b.frame.z[0] > 0]
            assert len(right) == len(shape.bosses) / 2
            edges, cheeks, ends = set(), set(), set()
            for boss in right:
                x, y, z = boss.frame.origin
                x0, y0, x1, y1 = boss.outline.bounds()
                edges |= {round(y + x0, 6), round(y + x1, 6)}
                # The part's z runs towards the head; the inside face is that to the mattress.
                inside = 0.0 if end.end == "head" else shape.thickness
                cheeks |= {round(abs(z + c - inside), 6) for c in (y0, y1)}
                ends.add(round(boss.height, 6))
                shoulder = shape.length - x
                assert values["from each end, along the board"] == pytest.approx(
                    [shoulder, x, shape.length]
                )
            assert values["from the lower edge, on both ends"] == pytest.approx(sorted(edges))
            assert values["from the inside face, on both ends"] == pytest.approx(sorted(cheeks))
            assert values["from the shoulder line, out to the end"] == pytest.approx(sorted(ends))


@pytest.mark.parametrize("sheet", SHEETS)
def test_marks_on_a_leg_hold_the_grooves(sheet: str) -> None:
    layout = layout_of(sheet)
    pieces = make_pieces(layout)
    marks = {part.kind: part for part in setting_out(layout, pieces)}
    for piece in pieces:
        grooves = [cut for cut in piece.kind.shape.cuts if cut.role == "haunch"]
        if not grooves:
            continue
        rows = marks[piece.kind.name].rows
        up = next(row for row in rows if "up the joint face" in row.reference)
        deep = next(row for row in rows if "into the leg" in row.reference)
        told = [m for m in up.marks if any("haunch groove" in name for name in m.of)]
        lengths = sorted(m.true for m in told)
        assert len(told) == 3 * len(grooves)
        for cut in grooves:
            assert any(b - a == pytest.approx(cut.length) for a in lengths for b in lengths)
            depths = [m.true for m in deep.marks if any("haunch" in name for name in m.of)]
            assert any(d == pytest.approx(cut.depth) for d in depths)


@pytest.mark.parametrize("kind", ["round", "paired"])
@pytest.mark.parametrize("sheet", SHEETS)
def test_each_mortise_and_groove_has_its_plate_and_boards_have_none(sheet: str, kind: str) -> None:
    layout = layout_of(sheet, KINDS[kind])
    cuts = [
        cut
        for piece in make_pieces(layout)
        for cut in piece.kind.shape.cuts
        if cut.role in ("mortise", "haunch") and "fastener" not in cut.family
    ]
    wanted = sorted((c.length, c.width, c.depth) for c in cuts if isinstance(c, Mortise))
    found = sorted(
        (size[0], size[1], seat.depth)
        for size, seats in mortise_seats(layout).items()
        for seat in seats
        for _ in range(seat.count)
    )
    assert np.array(found) == pytest.approx(np.array(wanted), abs=1e-4)
    seats = [seat for each in mortise_seats(layout).values() for seat in each]
    assert {seat.part for seat in seats} == {"leg"}


# --- anywhere in the space of sheets ----------------------------------------------------------


@settings(SPACE, max_examples=80)
@given(sheets(), st.none() | st.just(0.0) | st.floats(0, 60), st.sampled_from(RAILS))
def test_a_layout_whose_joints_hold_together_or_a_refusal(
    table: Table, haunch: float | None, rail: str
) -> None:
    for end in ("headboard", "footboard"):
        table[end]["joint"] = "tenon"
    table["side_rail"]["joint"] = rail
    if haunch is not None:
        table["tenon"]["haunch"] = f"{haunch:.9f} mm"
    try:
        layout = lay_out(check_sheet(table))
    except InputError:  # what makes a refusal a good one: test_space
        return
    check_pieces(layout)
    for board in boards_of(layout):
        check_plan(layout, board)


def check_plan(layout: Layout, board: BoardPlan) -> None:
    plan, tenon = board.tenons, layout.sheet.tenon
    slots = [
        (h - plan.mortise_length / 2 - s, h + plan.mortise_length / 2 + s)
        for h, s in zip(plan.heights, plan.slack, strict=True)
    ]
    for below, above in itertools.pairwise(slots):
        assert above[0] - below[1] >= tenon.wall_least - 1e-6
    for haunch in plan.haunches:
        groove = (haunch.groove_low, haunch.groove_high)
        assert groove[0] < haunch.low < haunch.high < groove[1]
        assert board.bottom + tenon.wall_least <= groove[0] + 1e-6
        assert groove[1] <= board.top - tenon.wall_least + 1e-6
        inside = [s for s in slots if s[0] >= groove[0] - 1e-6 and s[1] <= groove[1] + 1e-6]
        outside = [s for s in slots if s[1] < groove[0] or s[0] > groove[1]]
        assert inside
        assert len(inside) + len(outside) == len(slots)
    for one, other in itertools.pairwise(plan.haunches):
        assert other.groove_low > one.groove_high
    if plan.haunches:
        assert 2 <= plan.haunch <= plan.embedment_leg / 2 + 1e-9
