"""Heights, gaps and edges against published bands."""

from __future__ import annotations

import pytest

from bedmodel.comfort import Advice, comfort, end_gaps, lowest_edge
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import lay_out


def advice(name: str, *changes: str) -> dict[str, Advice]:
    return {a.topic: a for a in comfort(lay_out(load_sheet(name, changes=changes)))}


@pytest.mark.parametrize(
    ("top", "verdict"), [(420, "outside"), (440, "inside"), (580, "inside"), (600, "outside")]
)
def test_mattress_top_against_the_lodging_band(top: int, verdict: str) -> None:
    """17 to 23 in, 432 to 584 mm: recommended, not law."""
    said = advice(
        "hawthorn", f"height.platform={top - 220} mm", "headboard.board.1.above_platform=80 mm"
    )
    assert said["mattress top"].measured == top
    assert said["mattress top"].verdict == verdict
    assert "not law" in said["mattress top"].source


@pytest.mark.parametrize(("above", "verdict"), [(290, "outside"), (240, "inside"), (452, "inside")])
def test_gaps_that_catch_a_head_are_pointed_out(above: int, verdict: str) -> None:
    """60 to 230 mm, from crib and bunk limits. The mattress top is 220 above the platform."""
    said = advice("hawthorn", f"headboard.board.1.above_platform={above} mm")
    assert said["gap at the head"].measured == pytest.approx(above - 220)
    assert said["gap at the head"].verdict == verdict


def test_a_gap_hidden_by_the_mattress_is_none() -> None:
    layout = lay_out(load_sheet("hawthorn"))
    assert end_gaps(layout, layout.head) == []
    assert end_gaps(layout, layout.foot) == []


def test_gap_between_boards() -> None:
    """Campion: boards 4 1/2 + 7 1/4 and 13 5/8 in above the platform, mattress 10 in thick."""
    layout = lay_out(load_sheet("campion"))
    ((_, gap),) = end_gaps(layout, layout.head)
    assert gap == pytest.approx((13.625 - 11.75) * 25.4)


def test_room_for_a_lift_under_the_bed() -> None:
    """7 in clear."""
    layout = lay_out(load_sheet("hawthorn"))
    assert lowest_edge(layout) == pytest.approx(209)
    assert advice("hawthorn")["under the bed"].verdict == "inside"
    assert advice("sorrel")["under the bed"].verdict == "outside"


def test_what_rests_on_memory_is_told_not_judged() -> None:
    said = advice("hawthorn")
    assert said["rail beside the mattress"].verdict == "told"
    assert "[unconfirmed]" in said["rail beside the mattress"].text
    assert said["rail beside the mattress"].measured == pytest.approx(11 + 29)


def test_legs_outside_the_rail_are_measured_on_the_floor() -> None:
    layout = lay_out(load_sheet("hawthorn"))
    said = advice("hawthorn")["leg beside the rail"]
    assert said.measured == pytest.approx(68 - 29)
    splayed = advice("sorrel")["leg beside the rail"].measured
    assert splayed > said.measured
    assert layout.legs.floor_width == 68
