"""Plans of boards: known optima, the independent checker, and the checker itself."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bedmodel.errors import InputError
from bedmodel.sheets import shared_folder
from bedmodel.stock.boards import Board, Defect
from bedmodel.stock.demand import Demand, PanelDemand, PartDemand
from bedmodel.stock.plan import Plan, Rectangle
from bedmodel.stock.planner import QUICK, Effort, Sawing, plan_boards
from bedmodel.stock.rack import read_rack
from tests.guillotine_sets import NO_KERF, SETS, problem
from tests.plan_checker import problems

INCH = 25.4
SAW = Sawing(kerf=INCH / 8, rule=INCH / 16, edge_loss=INCH / 8)
PLAIN = Sawing(kerf=3.0, rule=1.0)


def board(name: str, width: float, length: float, *defects: Defect, **more: float) -> Board:
    return Board(name, 25.4, 4, width, length, defects=defects, **more)  # type: ignore[arg-type]


def part(name: str, count: int, length: float, width: float) -> PartDemand:
    return PartDemand(name, count, length, width, 4)


def used(plan: Plan) -> list[str]:
    return sorted(cut.board.name for group in plan.classes for cut in group.boards)


def checked(
    boards: Sequence[Board], demands: Sequence[Demand], sawing: Sawing = PLAIN, **more: object
) -> Plan:
    plan = plan_boards(boards, demands, sawing, **more)  # type: ignore[arg-type]
    assert problems(plan, boards, demands, sawing) == []
    return plan


# --- known optima ------------------------------------------------------------------------


def test_parts_that_fill_a_board_with_their_kerfs_fit_it() -> None:
    # 2 x 500 + 3 = 1003 long; 3 x 40 + 2 x 3 = 126 wide: six parts and not a hair over.
    plan = checked([board("A", 126, 1003)], [part("p", 6, 500, 40)])
    assert plan.feasible
    for width, length in ((125.9, 1003), (126, 1002.9)):
        short = checked([board("A", width, length)], [part("p", 6, 500, 40)])
        assert not short.feasible


def test_the_kerf_decides() -> None:
    boards = [board("A", 100, 1000)]
    demands = [part("p", 10, 100, 100)]
    assert checked(boards, demands, Sawing(kerf=0.0)).feasible
    missing = checked(boards, demands, Sawing(kerf=1.0)).classes[0].missing
    assert [(m.name, m.count) for m in missing] == [("p", 1)]


@cache
def _one_dimension(lengths: tuple[int, ...], boards: tuple[int, ...], kerf: int) -> float:
    """The least length of boards that gives the lengths, by trying all sets of boards."""
    best = math.inf
    for size in range(1, len(boards) + 1):
        for chosen in itertools.combinations(boards, size):
            if sum(chosen) < best and _packs(
                lengths, tuple(sorted(b + kerf for b in chosen)), kerf
            ):
                best = sum(chosen)
    return best


@cache
def _packs(lengths: tuple[int, ...], room: tuple[int, ...], kerf: int) -> bool:
    if not lengths:
        return True
    first, rest = lengths[0] + kerf, lengths[1:]
    return any(
        _packs(rest, tuple(sorted((*room[:i], left - first, *room[i + 1 :]))), kerf)
        for i, left in enumerate(room)
        if left >= first and left not in room[:i]
    )


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(20, 90), min_size=1, max_size=7),
    st.lists(st.integers(60, 200), min_size=1, max_size=5),
    st.integers(0, 4),
)
def test_in_one_dimension_it_finds_what_trying_everything_finds(
    lengths: list[int], boards: list[int], kerf: int
) -> None:
    rack = [board(f"B{i}", 50, 5 * length) for i, length in enumerate(boards)]
    demands = [part(f"p{n}", lengths.count(n), 5 * n, 50) for n in sorted(set(lengths))]
    plan = checked(rack, demands, Sawing(kerf=5.0 * kerf, rule=5.0))
    best = _one_dimension(tuple(sorted(lengths, reverse=True)), tuple(sorted(boards)), kerf)
    assert plan.feasible == (best < math.inf)
    if plan.feasible:
        assert sum(c.board.length for c in plan.classes[0].boards) == 5 * best
        assert plan.gap == 0
    else:
        assert plan.classes[0].impossible


def test_a_defect_is_worked_around_in_every_way() -> None:
    long, short = part("long", 1, 900, 40), part("short", 1, 400, 40)
    middle = Defect(450, 500, 60, 100)
    # Ripped beside the defect; a strip chopped on both sides of it; both in one segment.
    assert checked([board("A", 100, 1000, middle)], [long]).feasible
    chopped = [long, part("short", 2, 440, 40)]
    assert checked([board("A", 100, 1000, middle)], chopped).feasible
    assert not checked([board("A", 82, 1000, replace(middle, low=0, high=82))], [long]).feasible
    across = replace(middle, low=0, high=100)
    assert checked([board("A", 100, 1000, across)], [replace(short, count=4)]).feasible
    assert not checked([board("A", 100, 1000, across)], [replace(short, count=5)]).feasible


def test_a_segment_behind_a_defect_can_follow_any_other() -> None:
    """Both segments have a defect in them; the second also begins after one."""
    defects = [Defect(0, 200, 31, 61), Defect(200, 320, 0, 60), Defect(320, 400, 30, 60)]
    parts = [part("p", 1, 200, 31), part("q", 1, 80, 30)]
    assert checked([board("A", 61, 400, *defects)], parts, Sawing(kerf=0.0)).feasible


def test_a_panel_takes_what_widths_the_boards_have() -> None:
    """Two boards of 90 give 180; four equal staves of 45 would need a kerf in each."""
    panel = PanelDemand("top", 1, 900, 180, 4, 40, 120)
    assert checked([board("A", 90, 1000), board("B", 90, 1000)], [panel]).feasible
    wide = [board("A", 121, 1000), board("B", 59, 1000)]
    # 120 at most from one board, so 59 more do not make 180.
    assert not checked(wide, [panel]).feasible
    assert checked(wide, [replace(panel, width=179)]).feasible
    assert not checked(wide, [replace(panel, width=178, joint_loss=1)]).feasible
    assert checked(wide, [replace(panel, width=177, joint_loss=1)]).feasible


def test_staves_are_not_divided_between_panels() -> None:
    rack = [board(name, 100, 1000) for name in "ABC"]
    panels = [PanelDemand("top", 2, 900, 150, 4, 60, 100)]
    plan = checked(rack, panels)
    # Three staves of 100 have the width of both panels, but 150 is not made of whole ones.
    assert not plan.feasible
    assert checked([*rack, board("D", 100, 1000)], panels).feasible


def test_wood_and_money_are_two_things() -> None:
    rack = [board("small", 50, 1000, price=9.0), board("large", 90, 1000, price=5.0)]
    demands = [part("p", 1, 900, 40)]
    assert used(checked(rack, demands)) == ["small"]
    cheap = checked(rack, demands, objective="cost")
    assert used(cheap) == ["large"]
    assert (cheap.used, cheap.bound) == (5.0, 5.0)
    with pytest.raises(InputError, match="board dear: has no price"):
        plan_boards([*rack, board("dear", 90, 1000)], demands, PLAIN, "cost")


def test_what_is_missing_is_said() -> None:
    demands = [part("rail", 2, 2100, 120), part("slat", 3, 500, 60)]
    plan = checked([board("A", 130, 2150), board("B", 65, 1100)], demands)
    (group,) = plan.classes
    assert [(m.name, m.count, m.fits_none) for m in group.missing] == [
        ("rail", 1, False),
        ("slat", 1, False),
    ]
    assert group.impossible
    # Source: a board foot is 144 cubic inches; 4/4 x 120 x 2100 mm.
    rail = group.missing[0]
    assert rail.board_feet == pytest.approx(120 * 2100 / 25.4**2 / 144)
    assert group.longest_missing == rail
    none = checked([], [part("rail", 1, 2100, 120)])
    assert none.classes[0].missing[0].fits_none


def test_species_keep_apart() -> None:
    ash = replace(board("A", 100, 1000), species="white-ash")
    fir = replace(board("F", 100, 1000), species="fir")
    wanted = replace(part("p", 1, 900, 90), species="fir")
    assert used(checked([ash, fir], [wanted])) == ["F"]
    assert not checked([ash], [wanted]).feasible
    assert used(checked([board("N", 100, 1000)], [wanted])) == ["N"]
    both = [wanted, replace(wanted, name="q", species="white-ash")]
    assert used(checked([ash, fir], both)) == ["A", "F"]
    with pytest.raises(InputError, match="board N: needs a species"):
        plan_boards([board("N", 100, 1000)], both, PLAIN)
    with pytest.raises(InputError, match="part r: needs a species"):
        plan_boards([ash], [wanted, part("r", 1, 900, 90)], PLAIN)


def test_a_published_problem_is_solved_to_its_least_number_of_boards() -> None:
    """See ``guillotine_sets`` for the sources; the larger set is in the benchmark."""
    rack, parts = problem("gcut1", 8)
    plan = checked(rack, parts, NO_KERF)
    assert len(used(plan)) == SETS["gcut1"][1] == 5
    assert plan.gap == 0
    assert not checked(rack[:4], parts, NO_KERF).feasible


def test_the_solver_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    assert checked([board("A", 126, 1003)], [part("p", 6, 500, 40)]).feasible
    assert capfd.readouterr() == ("", "")


@st.composite
def planted(draw: st.DrawFn) -> tuple[list[Board], list[Demand], Sawing]:
    """Boards cut up without waste, by crosscuts, rips, crosscuts and trims, into parts.

    So there is a plan that uses just these boards. Defects lie in kerfs or left-over pieces.
    """
    kerf = draw(st.integers(0, 3))
    cut: list[tuple[int, int]] = []
    boards = []
    for name in range(draw(st.sampled_from([1, 1, 2]))):
        defects = []
        x = 0
        tops = []
        for _ in range(draw(st.integers(1, 2))):
            length, y = draw(st.integers(200, 400)), 0
            for _ in range(draw(st.integers(1, 2))):
                width, at = draw(st.integers(30, 60)), x
                for piece in (length,) if draw(st.booleans()) else (120, length - 120 - kerf):
                    if draw(st.integers(0, 4)):
                        cut.append((piece, width))
                    else:
                        defects.append(Defect(at, at + piece, y, y + width))
                    at += piece + kerf
                y += width + kerf
            tops.append(y - kerf)
            x += length + kerf
        boards.append(board(f"B{name}", max(tops), x - kerf, *defects))
    demands: list[Demand] = [
        part(f"p{i}", cut.count(size), *size) for i, size in enumerate(dict.fromkeys(cut))
    ]
    return boards, demands or [part("p", 1, 100, 20)], Sawing(kerf=float(kerf))


@settings(max_examples=30, deadline=None)
@given(planted())
def test_a_plan_that_is_known_to_be_there_is_found(
    case: tuple[list[Board], list[Demand], Sawing],
) -> None:
    boards, demands, sawing = case
    # With more kinds than a bed has of one thickness the budget may be used up.
    assume(len(demands) <= 5 and not any(d.name == "p" for d in demands))
    plan = checked(boards, demands, sawing)
    assert plan.feasible
    assert plan.gap == 0
    # A board more can only help, and the bound stays under the plan that is known.
    more = checked([*boards, board("more", 70, 300)], demands, sawing)
    assert more.bound <= plan.used + 1e-9
    assert more.gap == 0


# --- the example -------------------------------------------------------------------------


def example_demands() -> list[Demand]:
    """The rough parts of the example's queen, 1 in longer and 1/4 in wider than finished."""
    sizes = (
        ("head_leg", 2, 37.06, 5.03, 10, "red-maple"),
        ("foot_leg", 2, 16.37, 5.03, 10, "red-maple"),
        ("support_foot", 4, 8.81, 1.88, 10, "red-maple"),
        ("side_rail", 2, 80.88, 5.88, 6, "red-maple"),
        ("footboard", 1, 60.87, 6.88, 6, "red-maple"),
        ("runner", 2, 80.62, 1.88, 8, "yellow-poplar"),
        ("centre_rail", 1, 80.63, 2.88, 8, "yellow-poplar"),
        ("slat", 17, 60.75, 2.25, 5, "yellow-poplar"),
    )
    parts = [
        PartDemand(name, count, (length + 1) * INCH, (width + 0.25) * INCH, quarters, species)
        for name, count, length, width, quarters, species in sizes
    ]
    panels = [
        PanelDemand(
            name, 1, 63.24 * INCH, width * INCH, 6, 2 * INCH, 6 * INCH, INCH / 8, "red-maple"
        )
        for name, width in (("lower_headboard", 7.5), ("upper_headboard", 10.0))
    ]
    return [*parts, *panels]


@pytest.mark.parametrize("rule", [INCH / 16, INCH / 8, 1.0], ids=["16th", "8th", "mm"])
def test_the_example_rack_makes_the_example_bed(rule: float) -> None:
    rack = read_rack(shared_folder() / "boards.csv")
    sawing = replace(SAW, rule=rule)
    first = checked(rack, example_demands(), sawing, effort=QUICK)
    best = checked(rack, example_demands(), sawing)
    assert first.feasible
    assert best.feasible
    assert best.used <= first.used
    assert best.gap <= 0.02
    assert plan_boards(rack, example_demands(), sawing) == best


def test_a_small_budget_still_gives_a_plan_that_can_be_sawn() -> None:
    rack = read_rack(shared_folder() / "boards.csv")
    full = checked(rack, example_demands(), SAW)
    for steps in (20_000, 60_000):
        plan = checked(rack, example_demands(), SAW, effort=Effort(steps, 50))
        assert plan.used >= full.bound - 1e-9
        assert plan.bound <= full.used + 1e-9


# --- any rack ----------------------------------------------------------------------------


@st.composite
def racks(draw: st.DrawFn) -> tuple[list[Board], list[Demand], Sawing]:
    rule = draw(st.sampled_from([1.0, INCH / 16, 5.0]))
    sawing = Sawing(
        draw(st.sampled_from([0.0, 3.175, 4.0])), rule, draw(st.sampled_from([0.0, 3.0])), 150, 30
    )
    boards = []
    for i in range(draw(st.integers(1, 4))):
        width, length = draw(st.integers(60, 260)), draw(st.integers(500, 2600))
        defects = []
        for _ in range(draw(st.integers(0, 3))):
            x, y = draw(st.integers(0, length - 5)), draw(st.integers(0, width - 5))
            long, wide = draw(st.integers(1, 80)), draw(st.integers(1, 60))
            defects.append(Defect(x, min(x + long, length), y, min(y + wide, width)))
        check = draw(st.sampled_from([0.0, 1.0, 40.0]))
        boards.append(board(f"B{i}", width, length, *defects, check_left=check, check_right=check))
    demands: list[Demand] = [
        part(
            f"p{i}",
            draw(st.integers(1, 4)),
            draw(st.floats(150, 1500)),
            draw(st.floats(25, 140)),
        )
        for i in range(draw(st.integers(1, 3)))
    ]
    for i in range(draw(st.integers(0, 2))):
        length = draw(st.sampled_from([300.0, 600.0]))
        demands.append(
            PanelDemand(
                f"w{i}", draw(st.integers(1, 2)), length, draw(st.floats(80, 300)), 4, 40, 110, 2
            )
        )
    return boards, demands, sawing


@settings(max_examples=25, deadline=None)
@given(racks())
def test_any_plan_can_be_sawn(case: tuple[list[Board], list[Demand], Sawing]) -> None:
    boards, demands, sawing = case
    effort = Effort(12_000, 100)
    plan = checked(boards, demands, sawing, effort=effort)
    first = checked(boards, demands, sawing, effort=replace(effort, nodes_count=0))
    if first.feasible and plan.bound > 0:
        assert plan.feasible
        assert first.used >= plan.bound - 1e-9
    # More wood never makes the best plan dearer.
    more = checked([*boards, board("more", 150, 2000)], demands, sawing, effort=effort)
    if plan.feasible and more.feasible:
        assert more.bound <= plan.used + 1e-9


# --- the checker finds what is wrong -------------------------------------------------------


@pytest.fixture(scope="module")
def sound() -> tuple[list[Board], list[Demand], Plan]:
    boards = [board("A", 150, 2000, Defect(900, 950, 50, 80), check_left=20.0, check_right=20.0)]
    demands: list[Demand] = [part("p", 4, 800, 45), PanelDemand("w", 1, 300, 60, 4, 20, 100)]
    plan = checked(boards, demands)
    assert plan.feasible
    return boards, demands, plan


def broken(plan: Plan, **changes: object) -> Plan:
    (group,) = plan.classes
    (cut,) = group.boards
    return replace(plan, classes=(replace(group, boards=(replace(cut, **changes),)),))


def _moved(place: Rectangle, dx: float) -> Rectangle:
    return replace(place, x=place.x + dx)


def test_the_checker_refuses_a_plan_with_one_fault(
    sound: tuple[list[Board], list[Demand], Plan],
) -> None:
    boards, demands, plan = sound
    ((cut,),) = (group.boards for group in plan.classes)
    first = cut.placed[0]
    last, moved = cut.cuts[-1], replace(first, place=_moved(first.place, 1))
    faults = {
        "left out": broken(plan, placed=cut.placed[1:]),
        "twice": broken(plan, placed=(*cut.placed, first)),
        "moved": broken(plan, placed=(moved, *cut.placed[1:])),
        "cut left out": broken(plan, cuts=cut.cuts[:-1]),
        "cuts in another order": broken(plan, cuts=cut.cuts[::-1]),
        "cut beside": broken(plan, cuts=(*cut.cuts[:-1], replace(last, at=last.at + 1))),
        "another board": broken(plan, board=replace(cut.board, name="B")),
        "off-cut": broken(plan, offcuts=(cut.blank,)),
        "kerf": replace(plan, kerf=2.0),
        "used": replace(plan, classes=(replace(plan.classes[0], used=1.0),)),
    }
    for name, wrong in faults.items():
        assert problems(wrong, boards, demands, PLAIN), name
    knot = replace(boards[0], defects=(Defect(100, 1900, 0, 150),))
    assert any("defect" in p for p in problems(broken(plan, board=knot), [knot], demands, PLAIN))
    check = replace(boards[0], check_left=600.0)
    assert any("check" in p for p in problems(broken(plan, board=check), [check], demands, PLAIN))
    narrow = [demands[0], replace(demands[1], stave_least=25.0)]
    assert any("wide" in p for p in problems(plan, boards, narrow, PLAIN))
