"""Wide boards: where they are glued, room to slide for the rest, and what glue costs.

Movement: Wood Handbook (FPL-GTR-282), eq. 13-2, change of width = width x coefficient x
change of moisture content; Table 13-5, tangential: white ash 0.00274, red maple 0.00289,
yellow birch 0.00338 for each point, 6 to 14 %.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedmodel.checks.finding import Caution, Code
from bedmodel.checks.run import findings, run_checks
from bedmodel.cli import main
from bedmodel.end_plan import BoardPlan
from bedmodel.errors import InputError
from bedmodel.sheets import check_sheet, load_sheet
from bedmodel.skeleton import Layout, lay_out
from tests.beds import good
from tests.sheet_space import Table, sheets
from tests.test_space import SPACE

DOWELS = ("headboard.joint=dowels", "footboard.joint=dowels")
OWN = ("headboard.joint=tenon", "footboard.joint=tenon")
KINDS = {"loose_tenon": (), "tenon": OWN, "dowels": DOWELS}
BUTT = "side_rail.joint=butt"  # no fastener in the way
ASH = 0.00274


def layout_of(sheet: str, *changes: str) -> Layout:
    return lay_out(load_sheet(sheet, changes=list(changes)))


def cautions(sheet: str, *changes: str) -> list[Caution]:
    results = run_checks(good(sheet, None, *changes))
    assert findings(results) == ()
    # What is doubtful in strength is told too, of any bed.
    told = [caution for result in results for caution in result.cautions]
    return [caution for caution in told if caution.code < Code.PART_SAGS]


# --- dowels -----------------------------------------------------------------------------------


def test_dowels_of_a_zone_are_glued_and_the_others_stand_in_slots() -> None:
    """Nine 12 mm dowels, 42.1 mm apart: three of them within 100 mm, edge to edge."""
    plan = layout_of("hawthorn", *DOWELS, BUTT).head.boards[0].tenons
    assert len(plan.heights) == 9
    pitch = (385 - 2 * 24) / 8
    wanted = [abs(i) * pitch * ASH * 5 if abs(i) > 1 else 0.0 for i in range(-4, 5)]
    assert plan.slack == pytest.approx(wanted)
    assert plan.glued_width == pytest.approx(2 * pitch + 12)
    assert plan.glued_width <= 100


def test_with_none_in_the_zone_one_dowel_is_glued() -> None:
    layout = layout_of("hawthorn", *DOWELS, BUTT, "dowel.count=2")
    plan = layout.head.boards[0].tenons
    apart = plan.heights[1] - plan.heights[0]
    assert plan.slack == pytest.approx((0.0, apart * ASH * 5))


def test_a_narrow_board_has_round_holes_only() -> None:
    layout = layout_of("hawthorn", *DOWELS, "tenon.glued_most=170 mm")
    assert set(layout.foot.boards[0].tenons.slack) == {0.0}  # 168 mm
    assert any(layout.head.boards[0].tenons.slack)  # 385 mm


def test_slots_keep_their_walls_when_the_wood_moves_much() -> None:
    bed = good("hawthorn", None, *DOWELS, "tenon.moisture_change=14")
    assert findings(run_checks(bed)) == ()


@settings(SPACE, max_examples=120)
@given(sheets(), st.none() | st.integers(2, 16))
def test_slots_of_dowels_keep_clear_of_each_other_and_of_the_edges(
    table: Table, count: int | None
) -> None:
    table["headboard"]["joint"] = table["footboard"]["joint"] = "dowels"
    if count is not None:
        table["dowel"]["count"] = count
    try:
        layout = lay_out(check_sheet(table))
    except InputError:  # what makes a refusal a good one: test_space
        return
    for end in layout.ends:
        given_end = layout.sheet.headboard if end.end == "head" else layout.sheet.footboard
        for board in end.boards:
            check_slots(layout, board, glued=given_end.glue == "all")


def check_slots(layout: Layout, board: BoardPlan, *, glued: bool) -> None:
    plan, wall = board.tenons, layout.sheet.dowel.wall_least
    reach = plan.mortise_length / 2
    slots = [(h - reach - s, h + reach + s) for h, s in zip(plan.heights, plan.slack, strict=True)]
    assert board.bottom + wall <= slots[0][0] + 1e-6
    assert slots[-1][1] <= board.top - wall + 1e-6
    for below, above in itertools.pairwise(slots):
        assert above[0] - below[1] >= wall - 1e-6
    if glued or board.width <= layout.sheet.tenon.glued_most:
        assert set(plan.slack) == {0.0}
    else:
        assert plan.glued_width <= layout.sheet.tenon.glued_most or plan.glued_count == 1


@pytest.mark.parametrize("changes", [(), ("tenon.moisture_change=14",)])
def test_the_told_number_of_dowels_fits(changes: Sequence[str]) -> None:
    """Each board tells its own bound: first the wide one, then the narrow one."""
    count, boards = 16, ("headboard.board.1", "footboard.board.1")
    thick = [f"{board}.thickness=50" for board in boards]
    made = (*DOWELS, BUTT, *thick, "dowel.diameter=16", "dowel.wall_least=14", *changes)
    for board in boards:
        with pytest.raises(InputError) as refused:
            layout_of("hawthorn", *made, f"dowel.count={count}")
        assert refused.value.parameter == "dowel.count"
        assert board in refused.value.allowed
        told = int(refused.value.allowed.split("must be at most ")[1].split()[0])
        assert 2 <= told < count
        count = told
    layout_of("hawthorn", *made, f"dowel.count={count}")


@pytest.mark.parametrize("width", [40, 50.5, 56])
def test_the_told_width_for_two_dowels_is_enough(width: float) -> None:
    changes = (*DOWELS, BUTT, "dowel.wall_least=10", "tenon.glued_most=50")
    name = "headboard.board.1.width"
    with pytest.raises(InputError) as refused:
        layout_of("hawthorn", *changes, "tenon.moisture_change=14", f"{name}={width}")
    assert refused.value.parameter == name
    told = refused.value.allowed.split("must be at least ")[1].removesuffix(" mm")
    layout_of("hawthorn", *changes, "tenon.moisture_change=14", f"{name}={told}")


# --- what it costs to glue a wide board throughout ----------------------------------------------


@pytest.mark.parametrize(
    ("sheet", "kind"),
    [("campion", "loose_tenon"), ("campion", "tenon"), ("hawthorn", "dowels"), ("sorrel", "tenon")],
)
def test_the_examples_need_no_caution(sheet: str, kind: str) -> None:
    assert cautions(sheet, *KINDS[kind]) == []


@pytest.mark.parametrize("kind", KINDS)
def test_glue_throughout_costs_what_the_held_width_wants_to_move(kind: str) -> None:
    (caution,) = cautions("hawthorn", *KINDS[kind], BUTT, "headboard.glue=all")
    # Three tenons of 0.55 of a third of the board, or nine dowels, from edge to edge.
    held = 385 - 2 * 24 + 12 if kind == "dowels" else 385 * (2 / 3 + 0.55 / 3)
    assert caution.parts == ("headboard_board",)
    assert caution.measured == pytest.approx(held * ASH * 5)
    assert f"{held * ASH * 5:.1f} mm" in caution.told
    assert 'headboard.glue to "zone"' in caution.told


def test_one_tenon_wider_than_the_zone_is_told_too() -> None:
    (caution,) = cautions("hawthorn", "tenon.width=110", "tenon.count=1", BUTT)[:1]
    assert caution.measured == pytest.approx(110 * ASH * 5)
    assert "tenon.width" in caution.told


def test_a_board_that_may_be_glued_throughout_costs_nothing() -> None:
    changes = ("headboard.glue=all", "footboard.glue=all", "tenon.glued_most=400 mm")
    assert cautions("hawthorn", *changes) == []


def test_the_check_says_so_and_does_not_fail(capsys: pytest.CaptureFixture[str]) -> None:
    changes = ["--set", "headboard.glue=all"]
    assert main(["check", "hawthorn", *changes]) == 0
    shown = capsys.readouterr().out
    (line,) = [line for line in shown.splitlines() if line.startswith("caution (407)")]
    assert "headboard_board: glued over " in line
    assert "checks passed, 1 caution" in shown.splitlines()[-1]
    assert main(["check", "hawthorn", *changes, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["passed"] is True
    (entry,) = [check for check in record["checks"] if check["code"] == 407]
    assert entry["passed"] is True
    (told,) = entry["cautions"]
    assert told["parts"] == ["headboard_board"]
    assert told["measured"] == pytest.approx(385 * (2 / 3 + 0.55 / 3) * ASH * 5, abs=1e-3)
    assert all(check["cautions"] == [] for check in record["checks"] if check["code"] != 407)
