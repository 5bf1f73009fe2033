"""Moisture and movement against the handbook's tables and worked values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bedmodel.climates import climate, climate_of_air, climates, own_climate
from bedmodel.errors import InputError
from bedmodel.moisture import Swelling, moisture_content, swelling
from bedmodel.movement.parts import movement, slot_length
from bedmodel.movement.rules import default_movement_rules
from bedmodel.movement.splitting import height_share, splitting
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import lay_out
from bedmodel.tables import STATUSES, wood, woods

RULES = default_movement_rules()
EXAMPLES = ("campion", "hawthorn", "sorrel")


# --- moisture ---------------------------------------------------------------------------------

# Wood Handbook (FPL-GTR-282) Table 4-2: temperature C, humidity %, moisture %.
TABLE_4_2 = [
    (21.1, 5, 1.3),
    (21.1, 30, 6.2),
    (21.1, 50, 9.2),
    (21.1, 75, 14.4),
    (21.1, 85, 17.9),
    (21.1, 95, 23.9),
    (-1.1, 75, 14.9),
]
# The same equation in its Fahrenheit form, worked apart: F, then moisture from 20 % humidity
# up by 5 (to 0.1).
GRID = {
    30: "4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.4 11.3 12.4 13.6 14.9 16.5 18.5 21.0 24.3",
    50: "4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.3 11.2 12.3 13.4 14.8 16.4 18.4 20.9 24.3",
    70: "4.5 5.4 6.2 6.9 7.7 8.5 9.2 10.1 11.0 12.0 13.1 14.4 16.0 18.0 20.5 23.9",
    90: "4.3 5.1 5.9 6.7 7.4 8.1 8.9 9.7 10.6 11.5 12.6 13.9 15.4 17.4 19.9 23.3",
    110: "4.0 4.9 5.6 6.3 7.0 7.7 8.5 9.2 10.0 11.0 12.0 13.2 14.7 16.6 19.1 22.5",
}


@pytest.mark.parametrize(("temperature", "humidity", "moisture"), TABLE_4_2)
def test_moisture_of_the_table(temperature: float, humidity: float, moisture: float) -> None:
    # The table is rounded to 0.1, and its temperatures from whole degrees F.
    assert moisture_content(temperature, humidity) == pytest.approx(moisture, abs=0.1)


@pytest.mark.parametrize("fahrenheit", GRID)
def test_moisture_over_the_grid(fahrenheit: int) -> None:
    celsius = (fahrenheit - 32) / 1.8
    for i, cell in enumerate(GRID[fahrenheit].split()):
        assert moisture_content(celsius, 20 + 5 * i) == pytest.approx(float(cell), abs=0.1)


@pytest.mark.parametrize(
    ("temperature", "humidity", "moisture"),
    [(20, 30, 6.19), (20, 50, 9.27), (20, 65, 12.00), (20, 75, 14.45), (5, 85, 18.47)],
)
def test_moisture_at_other_points(temperature: float, humidity: float, moisture: float) -> None:
    assert moisture_content(temperature, humidity) == pytest.approx(moisture, abs=0.006)


@given(st.floats(0, 40), st.floats(0, 94), st.floats(0.1, 1))
def test_damper_air_makes_damper_wood(temperature: float, humidity: float, more: float) -> None:
    assert moisture_content(temperature, humidity + more) > moisture_content(temperature, humidity)


@pytest.mark.parametrize(("temperature", "humidity"), [(20, 101), (20, -1), (-20, 50), (200, 50)])
def test_air_outside_the_table_is_refused(temperature: float, humidity: float) -> None:
    with pytest.raises(InputError):
        moisture_content(temperature, humidity)


# --- swelling ----------------------------------------------------------------------------------


def test_worked_changes_of_width() -> None:
    """White oak 300 mm 6 to 9 %: 3.285; red oak 11.25 in by 4 points: 0.1661 in."""
    assert Swelling(0.00365, 10.2).change(300, 6, 9) == pytest.approx(3.285)
    assert swelling(wood("red oak")).change(11.25, 6, 10) == pytest.approx(0.1661, abs=5e-5)


def test_from_green() -> None:
    """Sugar maple 300 mm, 30 to 8 %, Eq. 13-3: -21.78 mm."""
    assert swelling(wood("sugar maple")).change(300, 30, 8) == pytest.approx(-21.78, abs=0.005)
    # Wetter than fibre saturation nothing moves.
    assert swelling(wood("sugar maple")).change(300, 45, 8) == pytest.approx(-21.78, abs=0.005)


@pytest.mark.parametrize("name", list(woods()))
def test_the_equation_beyond_the_range_gives_the_coefficient_at_ten_percent(name: str) -> None:
    """Every coefficient of Table 13-5 is Eq. 13-3 from 10 % on."""
    timber = wood(name)
    of = swelling(timber)
    if timber.trade_tangential is None:
        assert of.shrinkage == timber.shrink_tangential
    beyond = of.change(1, 10, 15)
    assert beyond / 5 == pytest.approx(of.coefficient, rel=5e-3)


# 330 mm, 20 C, 30 to 60 % humidity: flat-sawn, quarter-sawn, then made at 8 %: dry, damp.
HEADBOARD = [
    ("white ash", 4.35, 2.68, -1.64, 2.71),
    ("black walnut", 4.35, 3.02, -1.64, 2.71),
    ("cherry", 3.94, 2.00, -1.48, 2.46),
    ("sugar maple", 5.61, 2.62, -2.11, 3.49),
    ("red oak", 5.86, 2.51, -2.21, 3.65),
    ("American beech", 6.84, 3.02, -2.58, 4.27),
]


@pytest.mark.parametrize(("name", "flat", "quarter", "dry", "damp"), HEADBOARD)
def test_a_headboard_through_the_year(
    name: str, flat: float, quarter: float, dry: float, damp: float
) -> None:
    low, high = moisture_content(20, 30), moisture_content(20, 60)
    timber = wood(name)
    assert swelling(timber).change(330, low, high) == pytest.approx(flat, abs=0.01)
    assert swelling(timber, 0).change(330, low, high) == pytest.approx(quarter, abs=0.01)
    assert swelling(timber).change(330, 8, low) == pytest.approx(dry, abs=0.01)
    assert swelling(timber).change(330, 8, high) == pytest.approx(damp, abs=0.01)


def test_the_larger_of_species_and_trade_is_taken() -> None:
    red, white = wood("northern red oak"), wood("white oak")
    assert swelling(red).coefficient == 0.00369  # as red oak is sold
    assert swelling(white).coefficient == 0.00376  # the species moves more than the group


def test_rings_between_flat_and_quarter() -> None:
    ash = wood("white ash")
    half = swelling(ash, 45).coefficient
    assert half == pytest.approx((swelling(ash).coefficient + swelling(ash, 0).coefficient) / 2)


def test_a_slot() -> None:
    """Red oak fixed in the middle of 330, screw 5 at the edge, made at 8 %: 10.7 mm."""
    from dataclasses import replace

    air = climate_of_air((20, 30), (20, 60))
    rules = replace(RULES, made_moisture=8.0)
    assert slot_length(5, 165, wood("red oak"), air, rules) == pytest.approx(10.7, abs=0.05)


# --- climates ------------------------------------------------------------------------------------


def test_climates_say_how_sure_they_are() -> None:
    for each in climates().values():
        assert each.low < each.mean < each.high
        assert each.source
        assert each.status in STATUSES
        assert each.status == "confirmed" or each.note


def test_means_of_the_three_areas() -> None:
    """Wood Handbook ch. 13: 8 % in most of the US, 6 in the dry south-west, 11 on the coast."""
    found = [climate(name).mean for name in ("us-most", "US south west", "us_warm_coast")]
    assert found == [8, 6, 11]


def test_own_ranges_and_refusals() -> None:
    own = own_climate(5, 12)
    assert (own.low, own.high) == (5, 12)
    for low, high in ((12, 5), (-1, 8), (5, 40)):
        with pytest.raises(InputError):
            own_climate(low, high)
    with pytest.raises(InputError) as caught:
        climate("us-mst")
    assert "us-most" in caught.value.remedy


# --- splitting -----------------------------------------------------------------------------------


def test_more_glue_is_more_risk() -> None:
    shares = [height_share(h) for h in (0, 40, 70, 100, 150, 250, 330, 500)]
    assert shares == sorted(shares)
    # 330 and 100 mm of glue: 3.69 and 2.09 MPa of a full 4.8.
    assert height_share(330) == pytest.approx(3.69 / 4.8, abs=1e-3)
    assert height_share(100) == pytest.approx(2.09 / 4.8, abs=1e-3)


def test_red_oak_splits_before_ash() -> None:
    """330 mm glued, 8 % dried to 6.2: red oak at about its strength, ash at two thirds."""
    ash, oak = (splitting(wood(n), 330, 8, 6.2, RULES) for n in ("white ash", "red oak"))
    assert oak.index > 1.5 * ash.index
    assert oak.risk == "high"
    assert splitting(wood("white ash"), 80, 8, 6.2, RULES).risk == "low"


def test_no_drying_no_risk() -> None:
    assert splitting(wood("red oak"), 330, 7, 8, RULES).index == 0


def test_what_is_not_published_is_borrowed_and_said() -> None:
    assert splitting(wood("white ash"), 100, 8, 5, RULES).borrowed == ()
    assert splitting(wood("red maple"), 100, 8, 5, RULES).borrowed == ("strength across the grain",)
    assert (
        "modulus across the grain" in splitting(wood("American beech"), 100, 8, 5, RULES).borrowed
    )


# --- a bed -----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_bed_in_a_climate(name: str) -> None:
    found = movement(lay_out(load_sheet(name)), climate("heated-north"))
    assert all(p.dry < 0 < p.damp for p in found.parts)
    assert all(p.swing == pytest.approx(p.damp - p.dry) for p in found.parts)
    by_part = {p.part: p for p in found.parts}
    assert {"side_rail", "leg", "slat"} <= set(by_part)
    effects = {e.what: e for e in found.effects}
    # Along the grain: 2 m through 6 points at 0.2 % in 30: under a millimetre.
    assert abs(effects["length of the pocket"].dry) < 0.8
    assert effects["slat gaps"].dry > 0 > effects["slat gaps"].damp
    assert any("heated" in line for line in found.assumptions)


def test_a_wide_board_moves_between_its_glued_tenon_and_its_dry_ones() -> None:
    layout = lay_out(load_sheet("hawthorn"))
    found = movement(layout, climate("us-most"))
    (headboard,) = [f for f in found.fixings if f.board == "headboard_board"]
    assert headboard.glued_height < 100
    assert len(headboard.tenons) == 2
    assert all(t.enough for t in headboard.tenons)
    everything = lay_out(load_sheet("hawthorn", changes=["headboard.glue=all"]))
    glued = next(
        f for f in movement(everything, climate("us-most")).fixings if f.board == "headboard_board"
    )
    assert glued.glued_height > 300
    assert glued.splitting.index > headboard.splitting.index
    assert glued.tenons == ()


def test_slack_for_too_few_points_is_found() -> None:
    layout = lay_out(load_sheet("hawthorn", changes=["tenon.moisture_change=1"]))
    found = movement(layout, climate("heated-north"))
    assert not all(f.passed for f in found.fixings)


@given(st.floats(2, 6), st.floats(8, 16))
def test_a_wider_swing_moves_more(low: float, high: float) -> None:
    layout = lay_out(load_sheet("sorrel"))
    narrow = movement(layout, own_climate(6.5, 7.5)).parts
    wide = movement(layout, own_climate(low, high)).parts
    assert all(w.swing > n.swing for w, n in zip(wide, narrow, strict=True))
