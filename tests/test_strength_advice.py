"""Every answer is tried from outside: with it the bed passes, a step less and it does not."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from bedmodel.climates import climate
from bedmodel.comfort import comfort
from bedmodel.errors import InputError
from bedmodel.movement.parts import movement
from bedmodel.sheets import check_sheet, load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.strength.advice import (
    Suggestion,
    advise,
    feet_needed,
    greatest_mattress_mass,
    least_centre_height,
    least_centre_heights,
    least_rail_width,
    least_slat_thickness,
)
from bedmodel.strength.bed_frame import frame_cases
from bedmodel.strength.joints import joint_bands
from bedmodel.strength.judged import MemberReport
from bedmodel.strength.members import Basis, basis_of, members
from bedmodel.strength.what_if import laid_out_with
from tests.sheet_space import sheets

EXAMPLES = ("campion", "hawthorn", "sorrel")
BASIS = Basis()
# Boards low enough that cleats under the centre rail's ends have them to hold to.
LOW_BOARDS = {
    "campion": (
        "centre_rail.ends=cleats",
        "headboard.board.1.above_platform=-5 5/16 in",
        "footboard.board.1.above_platform=-5 5/16 in",
    ),
    "hawthorn": (
        "centre_rail.ends=cleats",
        "headboard.board.1.above_platform=-150 mm",
        "footboard.board.1.above_platform=-135 mm",
        "footboard.board.1.width=207 mm",
    ),
}


def bed(name: str, *changes: str) -> Layout:
    return lay_out(load_sheet(name, changes=changes))


def report(layout: Layout, member: str, basis: Basis = BASIS) -> MemberReport:
    return next(r for r in members(layout, basis) if r.member == member)


def with_it(name: str, said: Suggestion) -> Layout:
    """The bed with the suggestion as it is printed, given as a maker would give it."""
    return bed(name, *said.changes)


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize(
    ("ask", "member"), [(least_slat_thickness, "slat"), (least_rail_width, "side_rail")]
)
def test_the_least_passes_and_a_step_less_does_not(name: str, ask: object, member: str) -> None:
    layout = bed(name)
    said = ask(layout, BASIS)  # type: ignore[operator]
    assert said.value is not None
    assert said.changes[0] in said.text
    assert report(with_it(name, said), member).passed
    step = 25.4 / 32 if layout.sheet.design.unit == "inch" else 0.5
    try:
        less = laid_out_with(layout, {said.parameter: said.value - step})
    except InputError:
        return  # the sheet itself allows no less
    assert not report(less, member).passed


@pytest.mark.parametrize("carried", [False, True])
@pytest.mark.parametrize("name", ["campion", "hawthorn"])
def test_the_centre_rail_on_one_to_five_feet(name: str, carried: bool) -> None:
    basis = BASIS
    cleats = LOW_BOARDS[name] if carried else ()
    layout = bed(name, *cleats)
    assert bool(layout.cleats) == carried
    said = least_centre_heights(layout, basis)
    assert len(said) == 5
    heights = [s.value for s in said]
    if not carried:
        assert heights[0] is None
        assert "one foot alone" in said[0].text
    known = [h for h in heights if h is not None]
    assert known == sorted(known, reverse=True), "more feet, lower rail"
    for each in said:
        if each.value is None:
            continue
        changed = bed(name, *cleats, *each.changes)
        assert report(changed, "centre_rail", basis).passed
        step = 25.4 / 32 if layout.sheet.design.unit == "inch" else 0.5
        if each.value - step >= 12:
            less = laid_out_with(changed, {"centre_rail.height": each.value - step})
            assert not report(less, "centre_rail", basis).passed


def test_thin_rails_are_warned_of() -> None:
    said = least_centre_height(bed("hawthorn", *LOW_BOARDS["hawthorn"]), BASIS, 5)
    assert said.value is not None
    assert said.value < 22
    assert "screwed into it" in said.caution
    assert "adjustable" in said.caution


@pytest.mark.parametrize("name", ["campion", "hawthorn"])
def test_feet_needed(name: str) -> None:
    said = feet_needed(bed(name), BASIS)
    assert said.value is not None
    assert report(with_it(name, said), "centre_rail").passed
    thin = feet_needed(bed(name), BASIS, 30.0)
    assert thin.value is not None
    assert thin.value > said.value
    assert report(with_it(name, thin), "centre_rail").passed


def test_feet_for_a_height_that_the_sheet_refuses() -> None:
    with pytest.raises(InputError) as caught:
        feet_needed(bed("hawthorn"), BASIS, 5.0)
    assert caught.value.parameter == "centre_rail.height"


def test_greatest_mattress_mass() -> None:
    # So stiff and with sleepers so heavy that the mattress decides.
    layout = bed("hawthorn", "slat.thickness=30 mm", "side_rail.width=200 mm")
    heavy = Basis(loads=replace(BASIS.loads, sleeper_mass_kg=250.0))
    said = greatest_mattress_mass(layout, heavy)
    assert said.value is not None
    for mass, passes in ((said.value, True), (said.value + 1, said.value >= 300)):
        loads = replace(heavy.loads, mattress_mass_kg=float(mass))
        all_passed = all(r.passed for r in members(layout, replace(heavy, loads=loads)))
        assert all_passed == passes


def test_a_bed_that_nothing_helps_is_told_so() -> None:
    """Thin spruce slats are too weak under a point load with any mattress."""
    said = greatest_mattress_mass(bed("sorrel", "slat.thickness=18 mm"), BASIS)
    assert said.value is None
    assert "slat" in said.text


@pytest.mark.parametrize("name", EXAMPLES)
def test_all_answers_are_one_line(name: str) -> None:
    said = advise(bed(name))
    assert len(said) == (9 if name != "sorrel" else 3)
    for each in said:
        assert "\n" not in each.text
        assert each.question.endswith("?")
        assert each.enough_now in (True, False)


def test_an_answer_says_whether_the_bed_is_well_as_it_is() -> None:
    assert least_slat_thickness(bed("hawthorn"), BASIS).enough_now
    assert least_slat_thickness(bed("sorrel"), BASIS).enough_now
    assert not least_slat_thickness(bed("sorrel", "slat.thickness=18 mm"), BASIS).enough_now


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(sheets())
def test_any_sheet_that_is_a_bed_gets_its_answers(table: dict[str, Any]) -> None:
    """Over the whole space of sheets: figures that are numbers, a bed that stands, answers."""
    try:
        layout = lay_out(check_sheet(table))
    except InputError:
        return
    basis, plan = basis_of(layout.sheet), layout.centre_rail
    alone = plan is not None and len(plan.feet) == 1 and not layout.cleats
    for each in () if alone else members(layout, basis):
        assert all(math.isfinite(use.use) for case in each.cases for use in case.uses)
    cases = frame_cases(layout, basis.loads, basis.rules, classes={"usual": 8.0})
    assert not any(moved.topples for case in cases for moved in case.by_class.values())
    assert alone or joint_bands(layout, cases, basis)
    for said in advise(layout, basis):
        assert said.text
    assert movement(layout, climate("us-most")).parts
    assert comfort(layout)
