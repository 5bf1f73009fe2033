"""What the saws take binds the board plan: crosscut, rip and least strip, checked from outside."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedmodel.errors import InputError
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.shop_profile import Allowance, GlueUp, Machines, ShopProfile
from bedmodel.skeleton import lay_out
from bedmodel.stock.boards import Board, Defect
from bedmodel.stock.cut_list import cut_list
from bedmodel.stock.demand import PanelDemand, PartDemand
from bedmodel.stock.planner import Effort, Sawing, plan_boards
from bedmodel.stock.sawing import sawing_of
from bedmodel.stock.wanted import demands
from tests.plan_checker import problems

SAW = Sawing(kerf=3.0, rule=1.0, crosscut_most=300, rip_most=280, strip_least=20)


def board(name: str, width: float, length: float, *defects: Defect, **more: float) -> Board:
    return Board(name, 25.4, 4, width, length, defects=defects, **more)  # type: ignore[arg-type]


def part(name: str, count: int, length: float, width: float) -> PartDemand:
    return PartDemand(name, count, length, width, 4)


def test_a_board_too_wide_for_the_saws_is_ripped_down_first() -> None:
    rack = [board("A", 403, 1000, Defect(100, 150, 190, 230), check_left=20, price=40.0)]
    plan = plan_boards(rack, [part("p", 2, 800, 190)], SAW)
    assert problems(plan, rack, [part("p", 2, 800, 190)], SAW) == []
    cut = plan.classes[0].boards
    assert [(c.board.name, c.board.of, c.board.width, c.board.across) for c in cut] == [
        ("A.1", "A", 200, 0),
        ("A.2", "A", 200, 203),
    ]
    # A defect across the cut lies on both, each part of the price on its own.
    assert [c.board.defects[0] for c in cut] == [
        Defect(100, 150, 190, 200),
        Defect(100, 150, 0, 27),
    ]
    assert sum(c.board.price or 0 for c in cut) == pytest.approx(40 * 400 / 403)
    assert plan.used == pytest.approx(25.4 * 400 * 1000 / (144 * 25.4**3), rel=1e-3)


@pytest.mark.parametrize("limit", ["crosscut_most", "rip_most"])
def test_a_part_that_only_the_whole_board_has_is_missing(limit: str) -> None:
    rack, wanted = [board("A", 310, 1000)], [part("p", 1, 800, 250)]
    saw = replace(Sawing(kerf=3.0, rule=1.0), **{limit: 300.0})
    for sawing, fits in ((Sawing(kerf=3.0, rule=1.0), True), (saw, False)):
        plan = plan_boards(rack, wanted, sawing)
        assert plan.feasible == fits
        assert problems(plan, rack, wanted, sawing) == []
    # One that both saws take stays whole.
    narrow = [board("A", 300, 1000)]
    assert plan_boards(narrow, wanted, saw).feasible


def test_the_checker_sees_cuts_that_the_saws_cannot_make() -> None:
    rack, wanted = [board("A", 310, 1000)], [part("p", 3, 800, 80)]
    free = Sawing(kerf=3.0, rule=1.0)
    plan = plan_boards(rack, wanted, free)
    assert problems(plan, rack, wanted, free) == []
    for change, told in (
        ({"crosscut_most": 300.0}, "too wide for the crosscut"),
        ({"rip_most": 70.0}, "rips 80"),
        ({"strip_least": 250.0}, "rips 80"),
    ):
        found = problems(plan, rack, wanted, replace(free, **change))  # type: ignore[arg-type]
        assert any(told in each for each in found), (change, found)


def test_the_checker_sees_a_flaw_that_a_ripped_piece_has_forgotten() -> None:
    rack = [board("A", 403, 1000, Defect(900, 950, 20, 60), check_left=30)]
    wanted = [part("p", 1, 800, 190)]
    plan = plan_boards(rack, wanted, SAW)
    (cut,) = plan.classes[0].boards
    for change, told in (
        ({"defects": ()}, "forgotten a defect"),
        ({"check_left": 0.0}, "forgotten an end check"),
        ({"across": 300.0}, "not all on A"),
        ({"of": "B"}, "not on the rack"),
    ):
        # The lower piece has the knot, whichever of the two the plan took.
        lower = replace(cut.board, across=0.0, defects=(Defect(900, 950, 20, 60),))
        piece = replace(lower, **change)  # type: ignore[arg-type]
        broken = replace(plan.classes[0], boards=(replace(cut, board=piece),))
        found = problems(replace(plan, classes=(broken,)), rack, wanted, SAW)
        assert any(told in each for each in found), (change, found)


def test_a_part_narrower_than_is_safe_is_refused() -> None:
    with pytest.raises(InputError, match=r"part sliver.*narrower than what is ripped safely"):
        plan_boards([board("A", 100, 1000)], [part("sliver", 1, 800, 15)], SAW)
    panel = PanelDemand("top", 1, 800, 180, 4, 15, 100)
    with pytest.raises(InputError, match="part top"):
        plan_boards([board("A", 200, 1000)], [panel], SAW)


def test_the_shop_profile_binds() -> None:
    """Small saws: no rough piece is wider than they take, none narrower than is safe."""
    pieces = make_pieces(lay_out(load_sheet("hawthorn", size="us-queen")))
    shop = ShopProfile(
        machines=Machines(crosscut=165, rip=180),
        allowance=Allowance(strip_least=60, edge=2),
        glue_up=GlueUp(stave_least=40),
    )
    cuts = cut_list(pieces, shop, "mm")
    wanted = demands(cuts, shop)
    assert shop.widest_piece == 165
    panels = {d.name: d for d in wanted if isinstance(d, PanelDemand)}
    assert set(panels) == {"headboard_board", "footboard_board"}
    assert all((p.stave_least, p.stave_most) == (60, 165) for p in panels.values())
    runner = next(d for d in wanted if d.name == "runner")
    assert runner.width >= 60
    note = next(item.notes for item in cuts.items if item.name == "runner")
    assert any("wider than it will be" in each for each in note)
    rack = [
        Board(f"{q}-{i}", q * 6.35, q, 332, 3600, species=species)
        for q in (4, 5, 6, 8, 10, 12)
        for i in range(4)
        for species in ("white-ash", "yellow-birch")
    ]
    rack = [replace(b, name=f"{b.name}{b.species[0]}") for b in rack]
    sawing = sawing_of(shop)
    plan = plan_boards(rack, wanted, sawing, effort=Effort(200_000, 50))
    assert plan.feasible
    assert problems(plan, rack, wanted, sawing) == []
    widths = [c.board.width for g in plan.classes for c in g.boards]
    assert widths == pytest.approx([(332 - 3.175) / 2] * len(widths))


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(60, 500), st.integers(300, 1500), st.integers(0, 3)),
        min_size=1,
        max_size=4,
    ),
    st.lists(
        st.tuples(st.integers(100, 900), st.integers(30, 140), st.integers(1, 3)),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from([90.0, 150.0, 300.0]),
    st.sampled_from([90.0, 200.0]),
)
def test_plans_within_limits_pass_the_checker(
    boards: list[tuple[int, int, int]],
    parts: list[tuple[int, int, int]],
    crosscut: float,
    rip: float,
) -> None:
    knots = (Defect(100, 140, 20, 50), Defect(200, 230, 0, 30), Defect(20, 60, 40, 55))
    rack = [
        board(f"B{i}", width, length, *knots[:count])
        for i, (width, length, count) in enumerate(boards)
    ]
    wanted = [part(f"p{i}", n, length, width) for i, (length, width, n) in enumerate(parts)]
    sawing = Sawing(kerf=3.0, rule=5.0, crosscut_most=crosscut, rip_most=rip, strip_least=20)
    plan = plan_boards(rack, wanted, sawing, effort=Effort(60_000, 50))
    assert problems(plan, rack, wanted, sawing) == []
