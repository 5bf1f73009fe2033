"""Each code is reported, alone, for a bed broken on purpose in one way."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from bedmodel.checks.finding import MEANING, TOLD_ONLY, Code
from bedmodel.checks.run import findings, run_checks
from tests import (
    broken_edges,
    broken_ends,
    broken_fasteners,
    broken_integral,
    broken_joints,
    broken_parts,
    broken_screws,
    broken_strength,
    broken_supports,
)
from tests.beds import Broken, codes_of, good, hawthorn, joint_of, shape_of
from tests.broken_joints import HALF, TENON, with_tenon

CASES = (
    *(broken_parts.CASES + broken_joints.CASES),
    *(broken_integral.CASES + broken_fasteners.CASES + broken_screws.CASES),
    *(broken_strength.CASES + broken_ends.CASES),
    *(broken_supports.CASES + broken_edges.CASES),
)


@pytest.mark.parametrize(
    ("code", "make"), CASES, ids=[f"{code.name}-{make.__name__}" for code, make in CASES]
)
def test_is_reported_alone(code: Code, make: Callable[[], Broken]) -> None:
    broken = make()
    results = run_checks(broken.bed)
    found = findings(results)
    assert {f.code for f in found} == {code}
    assert {f.parts: f.measured for f in found} == pytest.approx(
        dict(broken.measured), abs=broken.within
    )
    assert len(found) == len(broken.measured)
    assert {f.limit for f in found} == {broken.limit}
    assert {f.place for f in found} == {broken.place}
    assert {f.remedy for f in found} == {MEANING[code][1]}
    assert [r.code for r in results if not r.passed] == [code]


def test_every_code_has_a_bed_broken_for_it() -> None:
    assert {code for code, _ in CASES} == set(Code) - TOLD_ONLY


def test_every_code_says_what_it_means_and_what_to_change() -> None:
    assert set(MEANING) == set(Code)
    assert all(title and remedy for title, remedy in MEANING.values())


def test_a_mortise_that_is_not_there_is_told_with_the_overlap_it_makes() -> None:
    bed = hawthorn()
    name = "head_leg_right"
    shape = shape_of(bed, name)
    without = replace(shape, cuts=tuple(cut for cut in shape.cuts if cut.name != HALF))
    found = findings(run_checks(bed.with_piece(name, shape=without)))
    plan = joint_of(bed, TENON).plan
    # A stadium: the straight part, and two half circles.
    straight = (plan.width - plan.thickness) * plan.thickness
    volume = (straight + math.pi * plan.thickness**2 / 4) * plan.embedment_leg
    told = {(f.code, frozenset(f.parts)): f.measured for f in found}
    both = frozenset((HALF, name))
    assert told == pytest.approx(
        {
            (Code.PARTS_OVERLAP, both): volume,
            (Code.MORTISE_MISSING, both): 0.0,
        },
        abs=0.01,
    )


def test_a_tenon_too_thick_is_told_with_its_negative_clearance() -> None:
    bed = with_tenon(hawthorn(), thickness=0.4)
    assert codes_of(bed) == {Code.PARTS_OVERLAP, Code.TENON_CHEEK_CLEARANCE}
    gaps = [f.measured for f in findings(run_checks(bed)) if f.code is Code.TENON_CHEEK_CLEARANCE]
    assert gaps == pytest.approx([-0.1, -0.1], abs=1e-6)


def test_a_gap_that_can_catch_is_told_and_fails_nothing() -> None:
    """The upper board of campion raised until 4 in are open below it: 60 mm or more."""
    bed = good("campion", None, "headboard.board.2.above_platform=15 3/4 in")
    (told,) = [c for r in run_checks(bed) for c in r.cautions if r.code is Code.GAP_CATCHES]
    assert told.parts == ("headboard",)
    # From the lower board's top, 4 1/2 and 7 1/4 in over the platform.
    assert told.measured == pytest.approx((15.75 - 4.5 - 7.25) * 25.4)
    assert "can be caught" in told.told
