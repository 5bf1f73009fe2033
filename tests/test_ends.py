"""Kinds of head and foot ends: gaps, panels, caps, low and full ends, laid out and refused.

Sources: trapping figures as in the reference, 60 mm (US crib slats, 2 3/8 in) and 230 mm (US
bunk bed openings, 9 in); movement by Wood Handbook (FPL-GTR-282) Table 13-5, typed again here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from bedmodel.checks.finding import Code
from bedmodel.comfort import comfort
from bedmodel.end_plan import board_name
from bedmodel.ends.gaps import trapping_band, traps
from bedmodel.ends.record import PanelPlan, UprightPlan
from bedmodel.errors import InputError
from bedmodel.sheets import as_table, check_sheet, load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.spec import Sheet
from bedmodel.strength.answer import strength
from bedmodel.strength.members import members
from bedmodel.tables import mattress_sizes
from tests.beds import EXAMPLES

ENDS_OF = ("bracken", "yarrow")
SIZES = tuple(mattress_sizes())
KINDS = ("panel", "slats", "spindles", "frame_and_panel", "none")
JOINTS = ("loose_tenon", "tenon", "dowels")
CAPS = ("none", "between", "over")


def of_kind(name: str, kind: str, *changes: str, size: str | None = None) -> Sheet:
    """An example with its head end made another kind, on boards that suit that.

    ``changes`` are for the head end alone, without its name: "spindles.diameter=30 mm".
    """
    table = as_table(load_sheet(name, size=size))
    head = table["headboard"]
    head["kind"] = kind
    rails = [("118 mm", "-24 mm"), ("92 mm", "390 mm")]
    if kind == "panel":
        rails = [("430 mm", "30 mm")]
    if kind == "none":
        rails = [("128 mm", "-64 mm")]
    thick = "34 mm" if name != "sorrel" else "30 mm"
    head["board"] = [
        {"width": wide, "thickness": thick, "above_platform": at} for wide, at in rails
    ]
    if name == "campion":
        table["leg"]["below_boards"] = "18 mm"
    if name == "sorrel":
        table["leg"]["ankle_width"] = "84 mm"
        table["leg"]["foot_width"] = "90 mm"
    for change in changes:
        key, _, value = change.partition("=")
        *sections, last = key.split(".")
        place = head
        for section in sections:
            place = place[section]
        place[last] = int(value) if value.isdigit() else value
    return check_sheet(table)


def head_fill(sheet: Sheet) -> Any:
    (plan,) = lay_out(sheet).head.fills
    return plan


def refused(sheet: Sheet) -> InputError:
    with pytest.raises(InputError) as caught:
        lay_out(sheet)
    return caught.value


# --- the further examples ------------------------------------------------------------------


@pytest.mark.parametrize("name", ENDS_OF)
def test_no_gap_of_a_sheet_can_catch_in_any_size(name: str) -> None:
    for size in SIZES:
        told = comfort(lay_out(load_sheet(name, size=size)))
        gaps = [a for a in told if a.topic.startswith(("gap", "opening"))]
        assert [a for a in gaps if a.verdict == "outside"] == [], size


def test_the_sheets_are_what_they_say() -> None:
    bracken, yarrow = (lay_out(load_sheet(name)) for name in ENDS_OF)
    assert [end.kind for end in bracken.ends] == ["frame_and_panel"] * 2
    assert [fill.is_raised for end in bracken.ends for fill in end.fills
            if isinstance(fill, PanelPlan)] == [True, False]  # fmt: skip
    assert [end.kind for end in yarrow.ends] == ["spindles"] * 2
    assert all(end.cap is not None and end.cap.use == "over" for end in yarrow.ends)


# --- gaps ----------------------------------------------------------------------------------


def test_the_band_is_that_of_cribs_and_bunks() -> None:
    assert trapping_band() == (60.0, 230.0)
    assert round(2.375 * 25.4) == 60
    assert round(9 * 25.4) == pytest.approx(230, abs=2)


@pytest.mark.parametrize(
    ("gap", "height", "caught"),
    [
        (60.0, 500.0, False),
        (60.1, 500.0, True),
        (120.0, 500.0, True),
        (229.9, 500.0, True),
        (230.0, 500.0, False),
        (150.0, 59.0, False),  # too low an opening for a head
        (400.0, 150.0, True),  # wide, but low: it is the lesser side that counts
    ],
)
def test_what_traps(gap: float, height: float, *, caught: bool) -> None:
    assert traps(gap, height) is caught


def every_count(clear: float, width: float) -> list[float]:
    """Gaps of every count of uprights, told again by a walk from leg to leg."""
    found = []
    for count in range(1, 200):
        left = clear - sum(width for _ in range(count))
        if left <= 0:
            break
        found.append(left / (count + 1))
    return found


@pytest.mark.parametrize("size", SIZES)
def test_spindles_take_the_nearest_gap_that_traps_nothing(size: str) -> None:
    layout = lay_out(load_sheet("yarrow", size=size))
    for end in layout.ends:
        (plan,) = end.fills
        assert isinstance(plan, UprightPlan)
        gaps = [g for g in every_count(2 * end.joint_x, 21.0) if 30 <= g <= 60]
        assert plan.gap == pytest.approx(min(gaps, key=lambda g: abs(g - 48)))
        xs = np.array([-end.joint_x, *plan.middles, end.joint_x])
        edges = np.diff(xs) - np.array([10.5, *[21.0] * (len(xs) - 3), 10.5])
        assert edges == pytest.approx(plan.gap)
        assert not traps(plan.gap, plan.where.height)


def test_the_solver_keeps_out_of_the_band_and_says_so() -> None:
    wide = ("spindles.gap_least=70 mm", "spindles.gap_greatest=200 mm", "spindles.gap_wanted=90 mm")
    told = refused(of_kind("hawthorn", "spindles", *wide))
    assert told.parameter == "headboard.spindles.gap_greatest"
    assert "can catch a head" in str(told)
    assert '"told"' in str(told)
    # A range over both sides of the band takes the side where a gap is allowed.
    both = (
        *("spindles.gap_least=50 mm", "spindles.gap_greatest=300 mm"),
        "spindles.gap_wanted=140 mm",
    )
    plan = head_fill(of_kind("hawthorn", "spindles", *both))
    assert plan.gap <= 60 or plan.gap >= 230
    asked = head_fill(of_kind("hawthorn", "spindles", *both, "spindles.trapping=told"))
    assert asked.gap == pytest.approx(140, abs=12)


def test_end_gaps_may_be_told_and_are_watched_too() -> None:
    plan = head_fill(of_kind("hawthorn", "slats", "slats.end_gap=35 mm"))
    assert plan.end_gap == 35
    half = lay_out(of_kind("hawthorn", "slats")).head.joint_x
    assert half + plan.middles[0] - plan.width / 2 == pytest.approx(35)
    told = refused(of_kind("hawthorn", "slats", "slats.end_gap=100 mm"))
    assert told.parameter == "headboard.slats.end_gap"


# --- panels ----------------------------------------------------------------------------------

# Change of width a point, flat-sawn; where boards are sold as a group, the group's larger one.
PER_POINT = {"black-cherry": 0.00248, "white-ash": 0.00274, "black-walnut": 0.00274}


@pytest.mark.parametrize("grain", ["horizontal", "upright"])
@pytest.mark.parametrize("species", sorted(PER_POINT))
def test_a_panel_has_room_for_five_points_either_way(species: str, grain: str) -> None:
    table = as_table(of_kind("hawthorn", "frame_and_panel", f"panels.grain={grain}"))
    table["wood"]["species"] = species
    plan = head_fill(check_sheet(table))
    wide, high = plan.size(plan.openings[0])
    across = high if grain == "horizontal" else wide
    moves = 5 * PER_POINT[species] * across / 2  # each edge, from the middle
    assert plan.room >= moves + 0.5 - 1e-9
    assert plan.room == pytest.approx(moves + 0.5, abs=0.35)
    assert plan.groove_depth - plan.room - moves >= 5.0 - 1e-9  # still in when it is driest
    # And no deeper than that needs, but for the step of the rule, twice what the room adds.
    assert plan.groove_depth <= 5.0 + 0.5 + 2 * moves + 0.5 + 0.35


def test_panels_fill_the_opening_between_legs_and_muntins() -> None:
    for stiles in ("legs", "own"):
        layout = lay_out(of_kind("hawthorn", "frame_and_panel", f"panels.stiles={stiles}"))
        (plan,) = layout.head.fills
        assert isinstance(plan, PanelPlan)
        clear = sum(b - a for a, b in plan.openings)
        assert clear + 70.0 * len(plan.uprights) == pytest.approx(2 * layout.head.joint_x)
        assert max(b - a for a, b in plan.openings) <= 600 + 1e-9
        assert len(plan.uprights) == len(plan.openings) + (1 if stiles == "own" else -1)


def test_too_shallow_a_groove_is_refused_with_one_that_does() -> None:
    told = refused(of_kind("hawthorn", "frame_and_panel", "panels.groove_depth=8 mm"))
    assert told.parameter == "headboard.panels.groove_depth"
    least = float(str(told.allowed).split("at least ")[1].split(" mm")[0])
    plan = head_fill(of_kind("hawthorn", "frame_and_panel", f"panels.groove_depth={least} mm"))
    assert plan.groove_depth == least


def test_a_groove_in_the_legs_keeps_clear_of_the_rails_fastener() -> None:
    """A low foot end: its panel stands beside the side rail, where a bolt goes through the leg."""
    table = as_table(load_sheet("hawthorn", changes=["side_rail.joint=bolts"]))
    foot = table["footboard"]
    foot["kind"] = "frame_and_panel"
    foot["board"] = [
        {"width": "70 mm", "thickness": "34 mm", "above_platform": at}
        for at in ("-190 mm", "120 mm")
    ]
    told = refused(check_sheet(table))
    assert told.parameter == "side_rail.joint"
    assert "footboard.panels" in str(told)
    foot["panels"]["stiles"] = "own"
    assert lay_out(check_sheet(table)).foot.fills


# --- kinds, joints, sizes -----------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_kind_lays_out_in_every_size(name: str, kind: str) -> None:
    """Joints and caps in turn, so that each meets each kind and sheet in eleven sizes."""
    for number, size in enumerate(SIZES):
        joint = JOINTS[number % 3]
        cap = CAPS[(number // 3) % 3]
        if name == "sorrel" and cap == "over" and (joint == "dowels" or kind == "panel"):
            cap = "between"  # its thin legs have no room for the dowels of both
        layout = lay_out(of_kind(name, kind, f"joint={joint}", f"cap.use={cap}", size=size))
        head = layout.head
        words = {"panel": "panel", "none": "stretcher"}
        word = words.get(kind, "rail")
        assert board_name(head, head.boards[0]).startswith(f"headboard_{word}")
        assert bool(head.fills) == (kind in ("slats", "spindles", "frame_and_panel"))
        assert (head.cap is not None) == (cap != "none")
        _joints_clear_of_the_fill(layout)


def _joints_clear_of_the_fill(layout: Layout) -> None:
    """No tenon of a rail reaches into the wood that is cut for what it holds."""
    for end in layout.ends:
        for fill in end.fills:
            for index, low, high in (
                (fill.where.lower, 0.0, fill.where.bottom - fill.hole_depth),
                (fill.where.upper, fill.where.top + fill.hole_depth, math.inf),
            ):
                plan = end.boards[index].tenons
                for height in plan.heights:
                    assert low < height - plan.width / 2
                    assert height + plan.width / 2 < high


def test_one_wide_panel_is_glued_in_its_middle_alone() -> None:
    layout = lay_out(of_kind("hawthorn", "panel"))
    (panel,) = layout.head.boards
    assert panel.width == 430
    assert sum(slack == 0 for slack in panel.tenons.slack) == 1
    table = as_table(of_kind("hawthorn", "panel"))
    table["headboard"]["board"][0]["width"] = "640 mm"
    assert lay_out(check_sheet(table)).head.boards[0].width == 640
    table["headboard"]["kind"] = "boards"
    told = refused(check_sheet(table))
    assert told.parameter == "headboard.board.1.width"
    assert '"panel"' in str(told)


@pytest.mark.parametrize(
    ("kind", "boards", "parameter"),
    [
        ("panel", 2, "headboard.kind"),
        ("none", 2, "headboard.kind"),
        ("slats", 1, "headboard.kind"),
        ("frame_and_panel", 1, "headboard.kind"),
    ],
)
def test_each_kind_wants_its_boards(kind: str, boards: int, parameter: str) -> None:
    table = as_table(of_kind("hawthorn", "spindles"))
    table["headboard"]["kind"] = kind
    table["headboard"]["board"] = table["headboard"]["board"][:boards]
    assert refused(check_sheet(table)).parameter == parameter


def test_no_headboard_stays_below_the_mattress() -> None:
    table = as_table(of_kind("hawthorn", "none"))
    table["headboard"]["board"][0]["above_platform"] = "150 mm"
    told = refused(check_sheet(table))  # 150 + 128 mm, on a mattress of 220
    assert told.parameter == "headboard.board.1.above_platform"
    assert "92 mm" in str(told)


def test_low_and_full_ends() -> None:
    full = lay_out(load_sheet("yarrow", changes=["footboard.height=full"]))
    assert full.foot.boards[1].top == pytest.approx(full.head.boards[1].top)
    assert full.foot.boards[0].bottom == lay_out(load_sheet("yarrow")).foot.boards[0].bottom
    hawthorn = lay_out(load_sheet("hawthorn", changes=["footboard.height=low"]))
    assert hawthorn.foot.boards[0].top == pytest.approx(hawthorn.rail_top)
    both = ["footboard.height=full", "headboard.height=full"]
    told = refused(load_sheet("hawthorn", changes=both))
    assert told.parameter in ("headboard.height", "footboard.height")


# --- caps --------------------------------------------------------------------------------------


def test_a_cap_over_the_legs_leaves_the_board_its_room() -> None:
    """Three quarters of 96 mm of red oak by five points lie above the glued tenon at most."""
    layout = lay_out(load_sheet("yarrow"))
    cap = layout.head.cap
    assert cap is not None
    moves = 0.75 * 96 * 5 * 0.00369  # Table 13-5: red oak, the group
    assert moves <= cap.room <= moves + 0.5
    assert cap.bottom == pytest.approx(layout.head.leg_top)
    assert layout.overall[2] == pytest.approx(cap.top)
    assert cap.length == pytest.approx(2 * (layout.head.joint_x + 64 + 12))


def test_a_cap_beside_the_mattress_does_not_stand_into_it() -> None:
    low = lay_out(of_kind("hawthorn", "none", "cap.use=between", "cap.overhang=20 mm")).head
    high = lay_out(of_kind("hawthorn", "spindles", "cap.use=between", "cap.overhang=20 mm")).head
    assert low.cap is not None
    assert high.cap is not None
    assert low.cap.inner <= 0
    assert high.cap.inner == pytest.approx(20 - high.reveal)


# --- strength ----------------------------------------------------------------------------------


def uses(layout: Layout, member: str) -> dict[str, float]:
    (report,) = [m for m in members(layout) if m.member == member]
    return {use.what: use.value for use in report.cases[0].uses}


def test_a_spindle_is_a_round_beam_with_its_share_of_the_push() -> None:
    layout = lay_out(load_sheet("yarrow"))
    (plan,) = layout.head.fills
    assert isinstance(plan, UprightPlan)
    force = 300.0 * (plan.gap + 21.0) / 400.0
    stress = force * plan.where.height / 4 / (math.pi * 21**3 / 32)
    assert uses(layout, "headboard_spindle")["bending"] == pytest.approx(stress, rel=1e-9)


def test_a_panel_shares_the_push_by_its_grain() -> None:
    """Two crossed strips: what goes across the grain tears, so one wide panel alone fails."""
    layout = lay_out(of_kind("hawthorn", "frame_and_panel"))
    (plan,) = layout.head.fills
    assert isinstance(plan, PanelPlan)
    wide, high = plan.openings[0][1] - plan.openings[0][0], plan.where.height
    ratio = 0.080  # white ash, tangential over along: Wood Handbook Table 5-1
    along = min(high, 400) / wide**3
    across = ratio * min(wide, 400) / high**3
    share = along / (along + across)
    stress = 300 * (1 - share) * high / 4 / (min(wide, 400) * 8**2 / 6)
    found = uses(layout, "headboard_floating_panel")
    assert found["bending across the grain"] == pytest.approx(stress, rel=1e-6)
    single = lay_out(of_kind("hawthorn", "frame_and_panel", "panels.muntins=0"))
    (report,) = [m for m in members(single) if m.member == "headboard_floating_panel"]
    assert not report.passed


def test_a_slat_over_a_rails_middle_is_one_place_of_the_frame() -> None:
    """An odd count of slats: the middle one stands where the rail is pushed, but for rounding."""
    layout = lay_out(load_sheet("yarrow"))
    ys = [start + layout.slats.width / 2 for start in layout.slats.starts()]
    apart = min(abs(y - layout.pocket_length / 2) for y in ys)
    assert 0 < apart < 1e-6
    lifted = [j for j in strength(layout).joints if j.case == "lift at the head"]
    assert max((j.demand for j in lifted), default=0.0) < 1500  # the bed weighs some 1000 N


def test_codes_of_ends_are_told_in_words() -> None:
    from bedmodel.checks.finding import MEANING

    for code in (Code.GAP_TRAPS_HEAD, Code.PANEL_LOOSE, Code.CAP_NOT_SEATED):
        title, remedy = MEANING[code]
        assert title
        assert remedy


def numbers(values: Sequence[float]) -> list[float]:
    return [round(value, 9) for value in values]


def test_the_same_end_in_inches_and_in_millimetres() -> None:
    """Lengths in another unit are the same plan; only the rule's own steps differ."""
    for kind in ("slats", "spindles", "frame_and_panel"):
        sheet = of_kind("hawthorn", kind, "panels.groove_depth=14 mm", "spindles.pin=14 mm")
        table = as_table(sheet)
        table["design"]["unit"] = "inch"
        one, other = lay_out(sheet).head.fills[0], lay_out(check_sheet(table)).head.fills[0]
        assert one == other
