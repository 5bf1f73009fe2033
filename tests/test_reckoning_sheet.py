"""What a sheet says of loads, limits, climate and woods, and how it reaches the reckoning."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import pytest

from bedmodel.cli import main
from bedmodel.errors import InputError
from bedmodel.figures import figures
from bedmodel.movement.parts import movement
from bedmodel.movement.rules import MOVEMENT_FILE, default_movement_rules, movement_rules_of
from bedmodel.pieces import make_pieces
from bedmodel.sheets import as_table, check_sheet, load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.spec import Sheet
from bedmodel.strength.answer import basis_figures, strength, surety, unsure_woods
from bedmodel.strength.loads import LOADS_FILE, default_loads, loads_of
from bedmodel.strength.members import members
from bedmodel.strength.timber import RULES_FILE, default_rules, rules_of
from bedmodel.tables import wood

Table = dict[str, Any]


def sheet_with(name: str = "hawthorn", **sections: Table) -> Sheet:
    """An example with some parameters of its own, as a maker would write them."""
    table = as_table(load_sheet(name))
    for section, values in sections.items():
        table[section] = table[section] | values
    return check_sheet(table)


def worst_uses(layout: Layout) -> dict[str, float]:
    return {report.member: report.governing.worst.use for report in members(layout)}


# --- figures of the tables as parameters --------------------------------------------------


def test_a_sheet_that_says_nothing_has_the_tables_figures() -> None:
    sheet = Sheet()
    assert loads_of(sheet) == default_loads()
    assert rules_of(sheet) == default_rules()
    assert movement_rules_of(sheet) == default_movement_rules()


@pytest.mark.parametrize(
    ("section", "file"),
    [("loads", LOADS_FILE), ("limits", RULES_FILE), ("climate", MOVEMENT_FILE)],
)
def test_every_figure_is_a_parameter_and_says_its_source_and_mark(section: str, file: str) -> None:
    model = type(getattr(Sheet(), section))
    for name, figure in figures(file).items():
        told = model.model_fields[name].description
        assert told is not None
        assert figure.source in told
        assert (f"[{figure.status}]" in told) == (figure.status != "confirmed")


def test_a_figure_of_the_makers_own_is_marked_as_such() -> None:
    layout = lay_out(load_sheet("hawthorn", changes=["limits.safety_divisor=2"]))
    found = dict(basis_figures(layout))["limits.safety_divisor"]
    assert (found.value, found.status) == (2, "your own")
    every = basis_figures(lay_out(load_sheet("hawthorn")))
    assert "your own" not in {figure.status for _, figure in every}
    assert len(every) == len(figures(LOADS_FILE)) + len(figures(RULES_FILE))


def test_a_verdict_is_as_sure_as_its_least_sure_figure() -> None:
    plain = lay_out(load_sheet("campion"))
    names = ("straight_grain_ratio", "safety_divisor")
    assert surety(plain, names, "mechanical_status") == "unconfirmed"
    changes = ["limits.straight_grain_ratio=0.9", "limits.safety_divisor=1.5"]
    own = lay_out(load_sheet("campion", changes=changes))
    assert surety(own, names, "mechanical_status") == "confirmed"
    # White ash: two printings of the handbook disagree on its bending strength.
    ash = lay_out(load_sheet("hawthorn", changes=changes))
    assert surety(ash, names, "mechanical_status") == "disputed"
    assert any("white ash" in line and "[disputed]" in line for line in unsure_woods(ash))


def test_a_longer_load_leaves_less_strength() -> None:
    """Ten minutes 1.6, permanent 0.9 (NDS Table 2.3.2): uses in bending by their ratio."""
    short, long = (
        lay_out(load_sheet("sorrel", changes=[f"loads.point_duration={d}"]))
        for d in ("ten_minutes", "permanent")
    )
    asked = [
        next(
            use.use
            for report in members(layout)
            if report.member == "slat"
            for case in report.cases
            if case.load.startswith("point")
            for use in case.uses
            if use.what == "bending"
        )
        for layout in (short, long)
    ]
    assert asked[1] / asked[0] == pytest.approx(1.6 / 0.9)


def test_more_sleepers_ask_more() -> None:
    one, two, three = (
        worst_uses(lay_out(load_sheet("hawthorn", changes=[f"loads.sleepers={n}"])))
        for n in (1, 2, 3)
    )
    plain = worst_uses(lay_out(load_sheet("hawthorn")))
    assert two == plain
    assert one["foot_leg"] <= two["foot_leg"] <= three["foot_leg"]
    sags = [
        next(
            case.sag
            for report in members(lay_out(load_sheet("hawthorn", changes=[f"loads.sleepers={n}"])))
            if report.member == "side_rail"
            for case in report.cases
            if case.load == "sleepers"
        )
        for n in (1, 2, 3)
    ]
    assert sags[1] - sags[0] == pytest.approx(sags[2] - sags[1])


@pytest.mark.parametrize(
    "change",
    ["loads.sleeper_mass_kg=0", "limits.slat_peak_ratio=1e9", "loads.sleepers=9"],
)
def test_a_figure_out_of_its_range_is_refused(
    change: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["strength", "hawthorn", "--set", change]) == 2
    told = capsys.readouterr().err
    assert change.partition("=")[0] in told
    assert told.count("\n") == 1


def test_text_and_truth_are_no_numbers() -> None:
    for value in ("110", True):
        with pytest.raises(InputError) as caught:
            sheet_with(loads={"sleeper_mass_kg": value})
        assert caught.value.parameter == "loads.sleeper_mass_kg"


# --- climate ------------------------------------------------------------------------------


def test_own_air_gives_the_handbooks_moisture() -> None:
    """20 C: 30 % 6.2, 60 % 11.0 (Wood Handbook Eq. 4-5, grid worked out from it)."""
    sheet = sheet_with(climate={"dry_humidity": 30, "damp_humidity": 60})
    assert sheet.climate.chosen.low == pytest.approx(6.2, abs=0.051)
    assert sheet.climate.chosen.high == pytest.approx(11.0, abs=0.051)
    found = movement(lay_out(sheet))
    board = next(p for p in found.parts if p.part == "headboard_board")
    # White ash 0.00274 a point (Table 13-5), made at 7 %.
    assert board.damp == pytest.approx(385 * 0.00274 * (11.0 - 7), abs=0.06)
    assert board.dry == pytest.approx(385 * 0.00274 * (6.2 - 7), abs=0.06)


def test_own_readings_come_before_a_name() -> None:
    sheet = sheet_with(climate={"name": "sweden", "driest": 5.5, "dampest": 9})
    assert (sheet.climate.chosen.low, sheet.climate.chosen.high) == (5.5, 9)


@pytest.mark.parametrize(
    ("given", "parameter"),
    [
        ({"name": "moon"}, "climate.name"),
        ({"driest": 9, "dampest": 6}, "climate.driest"),
        ({"driest": 6}, "climate.driest"),
        ({"damp_humidity": 60}, "climate.damp_humidity"),
        ({"dry_humidity": 60, "damp_humidity": 30}, "climate.dry_humidity"),
    ],
)
def test_a_climate_that_is_none_is_refused(given: Table, parameter: str) -> None:
    with pytest.raises(InputError) as caught:
        sheet_with(climate=given)
    assert caught.value.parameter == parameter
    assert "\n" not in str(caught.value)


# --- woods of the maker's own ---------------------------------------------------------------

# White ash again, under another name (Wood Handbook FPL-GTR-190 Table 5-3a, FPL-GTR-282
# Tables 4-3 and 5-1); its tension across 940 psi.
TWIN: Table = {
    "name": "my-ash",
    "status": "confirmed",
    "source": "typed again",
    "specific_gravity": 0.60,
    "mor": 103,
    "moe_gpa": 12.0,
    "compression_parallel": 51.1,
    "compression_perpendicular": 8,
    "shear": 13.2,
    "tension_perpendicular": 940 * 0.006894757,
    "shrink_radial": 4.9,
    "shrink_tangential": 7.8,
    "elastic_radial": 0.125,
    "elastic_tangential": 0.080,
    "elastic_shear_radial": 0.109,
    "elastic_shear_tangential": 0.077,
}


def own(row: Table, **changes: Any) -> Sheet:
    name = row["name"]
    return sheet_with(wood={"species": name, "slats": name, "own": [row]} | changes)


def test_an_own_wood_answers_as_the_same_wood_of_the_table() -> None:
    twin = lay_out(own(TWIN))
    table = lay_out(load_sheet("hawthorn", changes=["wood.slats=white-ash"]))
    assert worst_uses(twin) == pytest.approx(worst_uses(table))
    for mine, theirs in zip(movement(twin).parts, movement(table).parts, strict=True):
        # Its coefficient is worked out from its shrinkage, the table's is rounded.
        assert mine.swing == pytest.approx(theirs.swing, rel=2e-3)
    assert surety(twin, (), "mechanical_status") == "confirmed"
    first, second = (strength(layout).joints for layout in (twin, table))
    assert [j.band for j in first] == [j.band for j in second]


def test_coefficients_come_from_shrinkage_as_in_the_handbook() -> None:
    """White ash 4.9 and 7.8 % give 0.00169 and 0.00274 (Tables 4-3 and 13-5)."""
    mine = own(TWIN).bed_wood
    assert round(mine.coefficient_radial, 5) == 0.00169
    assert round(mine.coefficient_tangential, 5) == 0.00274


def test_what_a_row_leaves_out_is_borrowed_and_marked() -> None:
    layout = lay_out(
        own({"name": "my-elm", "like": "red-oak", "moe_gpa": 9.0, "status": "confirmed"})
    )
    mine = layout.sheet.bed_wood
    assert mine.mor == wood("red-oak").mor
    assert mine.moe == 9000
    assert mine.mechanical_status == "unconfirmed"
    assert "borrowed from northern red oak" in mine.note
    assert "mor" in mine.note
    assert "moe" not in mine.note
    assert surety(layout, (), "mechanical_status") == "unconfirmed"


def test_a_bed_of_an_own_wood_is_listed_and_weighed(capsys: pytest.CaptureFixture[str]) -> None:
    layout = lay_out(own(TWIN))
    assert {p.kind.species for p in make_pieces(layout) if p.name == "headboard_board"} == {
        "my-ash"
    }
    rows = ["wood.own.1.name=my-ash", "wood.own.1.specific_gravity=0.7", "wood.species=my-ash"]
    for verb in ("cutlist", "buy"):
        sets = [text for row in rows for text in ("--set", row)]
        assert main([verb, "hawthorn", *sets]) == 0
        assert "my" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("rows", "parameter"),
    [
        ([{"name": "white-oak"}], "wood.own.1.name"),
        ([{"name": "steel"}], "wood.own.1.name"),
        ([{"name": "a"}, {"name": "a"}], "wood.own.2.name"),
        ([{"name": "a", "like": "plastic"}], "wood.own.1.like"),
        ([{"name": "a", "mor": -1}], "wood.own.1.mor"),
        ([{"name": "a", "colour": "brown"}], "wood.own.1.colour"),
    ],
)
def test_a_row_that_will_not_do_is_refused(rows: list[Table], parameter: str) -> None:
    with pytest.raises(InputError) as caught:
        sheet_with(wood={"own": rows})
    assert caught.value.parameter == parameter


def test_a_name_in_no_table_is_told_with_the_own_ones() -> None:
    with pytest.raises(InputError) as caught:
        sheet_with(wood={"species": "my-ahs", "own": [TWIN]})
    assert "my-ash" in caught.value.remedy


def test_every_field_of_the_reckoning_comes_from_the_sheet() -> None:
    """No figure is left at its default behind the sheet's back."""
    changed = sheet_with(
        loads={"edge_pad_n": 1300.0, "sleepers": 3}, limits={"creep_checked": 2.5},
        climate={"made_moisture": 8.0},
    )  # fmt: skip
    assert loads_of(changed).edge_pad_n == 1300
    assert rules_of(changed).creep_checked == 2.5
    assert movement_rules_of(changed).made_moisture == 8
    for made in (loads_of(changed), rules_of(changed)):
        section = changed.loads if made == loads_of(changed) else changed.limits
        assert {f.name for f in fields(made)} == set(type(section).model_fields)
