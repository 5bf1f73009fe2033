"""Beds with integral tenons as solids: their checks, and a second opinion on the fit.

The volume in common is worked out by the kernel (``check_overlap``) and by booleans of
closed meshes with manifold3d (``test_interference``).
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedmodel.assembly import Bed, make_bed
from bedmodel.checks.finding import Code
from bedmodel.checks.run import findings, run_checks
from bedmodel.errors import InputError
from bedmodel.exports.mesh import mesh_of
from bedmodel.sheets import check_sheet
from tests.beds import codes_of, cut_of, good, idle_codes, moved, shape_of
from tests.broken_integral import BOARD, LEG, TENON, joint, tenoned, with_boss
from tests.sheet_space import sheets
from tests.test_integral import KINDS, OWN, RAILS, Table
from tests.test_interference import alike, bed, body
from tests.test_space import SPACE

manifold3d = pytest.importorskip("manifold3d")


def bed_of(sheet: str, *changes: str, size: str | None = None) -> Bed:
    return good(sheet, size, *OWN, *changes)


@pytest.mark.parametrize(
    ("sheet", "kind", "rail", "size"),
    [
        ("campion", "round", "hook_plates", None),
        ("campion", "square", "bolts", "us-king"),
        ("hawthorn", "round", "brackets", "uk-small-single"),
        ("hawthorn", "paired", "butt", None),
        ("sorrel", "round", "hook_plates", "us-king"),
        ("sorrel", "no haunch", "bolts", None),
    ],
)
def test_beds_build_and_pass_their_checks(
    sheet: str, kind: str, rail: str, size: str | None
) -> None:
    bed = bed_of(sheet, *KINDS[kind], f"side_rail.joint={rail}", size=size)
    results = run_checks(bed)
    assert findings(results) == ()
    assert {r.code for r in results if r.tested == 0} == idle_codes(bed.layout.sheet)


def test_the_two_ends_may_differ() -> None:
    bed = good("hawthorn", None, "headboard.joint=tenon", "footboard.joint=dowels")
    assert findings(run_checks(bed)) == ()


# --- the fit, by meshes -----------------------------------------------------------------------


@pytest.mark.parametrize("name", ["campion tenoned"])
def test_boards_go_into_their_legs_by_mesh_and_by_kernel(name: str) -> None:
    """With the metal of the rails in place."""
    assert alike(bed(name), name) == {}


def test_a_tenon_fills_its_mortise_but_for_the_gaps_by_mesh() -> None:
    """What is empty in the legs' cuts, by manifold3d, against slots less tenons by hand."""
    made = tenoned()
    plan = made.layout.head.boards[0].tenons
    leg, board = made.piece(LEG), made.piece(BOARD)
    fine = {"tolerance": 0.002, "angle": 0.02}
    bodies = [body(mesh_of(made.solids[p.kind.name], **fine), p.placement) for p in (leg, board)]
    whole = bodies[0] + bodies[1]
    filled = whole.volume() - bodies[0].volume() - bodies[1].volume()
    assert filled == pytest.approx(0, abs=1.0)  # they touch and no more
    # A block round the joint, less both: the gaps, and nothing of the leg's outside.
    x0, y0, z0, x1, y1, z1 = _round_the_joint(made)
    block = manifold3d.Manifold.cube((x1 - x0, y1 - y0, z1 - z0)).translate((x0, y0, z0))
    empty = (block - whole).volume()
    slots = sum(
        _stadium(plan.mortise_length + 2 * s, plan.mortise_width)
        * (plan.embedment_leg - plan.haunch)
        for s in plan.slack
    )
    (haunch,) = plan.haunches
    groove = _stadium(haunch.groove_high - haunch.groove_low, plan.mortise_width)
    tenons = 3 * _stadium(plan.width, plan.thickness) * (plan.embedment_leg - plan.haunch)
    stub = _stadium(haunch.high - haunch.low, plan.thickness) * plan.haunch
    wanted = slots + groove * (plan.haunch + plan.end_gap) - tenons - stub
    # Slots begin where the groove ends, so both hold the gap at their own bottom once.
    assert empty == pytest.approx(wanted, rel=2e-3)


def _round_the_joint(bed: Bed) -> tuple[float, float, float, float, float, float]:
    """A box in the leg's wood, from the joint face on, that holds all its cuts for the board."""
    end, board = bed.layout.head, bed.layout.head.boards[0]
    plan = board.tenons
    depth = plan.embedment_leg + plan.end_gap + 2
    y = -plan.setbacks[0]
    across = plan.mortise_width / 2 + 2
    return (
        *(end.joint_x, y - across, board.bottom + 2),
        *(end.joint_x + depth, y + across, board.top - 2),
    )


def _stadium(length: float, width: float) -> float:
    return (length - width) * width + math.pi * width**2 / 4


def test_a_mortise_that_is_not_there_is_told_with_the_overlap_it_makes() -> None:
    """The groove is there; so the tenon is in wood from the groove's bottom on."""
    bed = tenoned()
    shape = shape_of(bed, LEG)
    without = tuple(cut for cut in shape.cuts if cut.name != TENON)
    broken = bed.with_piece(LEG, shape=replace(shape, cuts=without))
    plan = joint(bed, TENON).plan
    depth = plan.embedment_leg - plan.haunch - plan.end_gap
    told = {(f.code, frozenset(f.parts)): f.measured for f in findings(run_checks(broken))}
    assert told == pytest.approx(
        {
            (Code.PARTS_OVERLAP, frozenset((BOARD, LEG))): (
                _stadium(plan.width, plan.thickness) * depth
            ),
            (Code.MORTISE_MISSING, frozenset((TENON, LEG))): 0.0,
        },
        abs=0.01,
    )


def test_a_tenon_too_thick_is_told_with_its_negative_clearance() -> None:
    bed = with_boss(tenoned(), TENON, thickness=0.4)
    assert codes_of(bed) == {Code.PARTS_OVERLAP, Code.TENON_CHEEK_CLEARANCE}


def test_a_board_pushed_along_the_bed_is_found_in_both_legs() -> None:
    bed = moved(tenoned(), BOARD, (0.0, 0.3, 0.0))
    found = findings(run_checks(bed))
    overlaps = {f.parts for f in found if f.code is Code.PARTS_OVERLAP}
    assert {name for pair in overlaps for name in pair} == {BOARD, "head_leg_left", LEG}


def test_mass_and_size_follow_the_tenons() -> None:
    loose, own = good("hawthorn"), tenoned()
    plan = own.layout.head.boards[0].tenons
    longer = shape_of(own, BOARD).length - shape_of(loose, BOARD).length
    assert longer == pytest.approx(2 * plan.embedment_leg)
    assert cut_of(shape_of(own, LEG), TENON).depth == pytest.approx(plan.embedment_leg + 1.5)
    # No mortises in the board, and tenons on it.
    assert own.mass_kg(BOARD) > loose.mass_kg(BOARD)
    assert own.layout.overall == loose.layout.overall


# --- anywhere in the space of sheets ----------------------------------------------------------


@settings(SPACE, max_examples=8)
@given(
    sheets(),
    st.none() | st.sampled_from([0.0, 3.0, 8.0]),
    st.sampled_from(["tenon", "dowels"]),
    st.sampled_from(RAILS),
)
def test_a_bed_passes_or_is_refused(
    table: Table, haunch: float | None, foot: str, rail: str
) -> None:
    table["headboard"]["joint"], table["footboard"]["joint"] = "tenon", foot
    table["side_rail"]["joint"] = rail
    if haunch is not None:
        table["tenon"]["haunch"] = f"{haunch} mm"
    try:
        bed = make_bed(check_sheet(table))
    except InputError:  # what makes a refusal a good one: test_space
        return
    assert findings(run_checks(bed)) == ()


def test_a_haunch_that_ends_within_a_slot_is_not_taken_for_the_tenon() -> None:
    """Narrow tenons, long slots: the haunch's round end, too, lies in a dry tenon's slot."""
    bed = good(
        "campion",
        None,
        "footboard.joint=tenon",
        "side_rail.joint=bolts",
        "wood.species=shagbark-hickory",
        "tenon.count=3",
        "tenon.haunch=5 mm",
    )
    # Three such narrow tenons fit, and are too weak, which is told.
    assert {f.code for f in findings(run_checks(bed))} <= {Code.JOINT_OVERLOADED}
