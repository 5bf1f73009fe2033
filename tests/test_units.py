"""Lengths and angles as a shop writes them: what is read, what is refused, what is written."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bedmodel.units import (
    MPA_PER_PSI,
    LengthUnit,
    format_angle,
    format_both,
    format_length,
    format_number,
    parse_angle,
    parse_length,
    parse_mattress,
)

UNITS: tuple[LengthUnit, ...] = ("mm", "inch")
lengths = st.floats(min_value=-20_000, max_value=20_000, allow_nan=False)


# --- reading lengths ---------------------------------------------------------------------

# Oracle: exact fractions of an inch times 127/5 mm, worked out by hand.
READ = [
    ("7 1/2 in", 190.5),
    ("7-1/2 in", 190.5),
    ('7 1/2"', 190.5),
    ("7.5in", 190.5),
    ("7,5 in", 190.5),
    ("7 1 / 2 inches", 190.5),
    ("7½ in", 190.5),
    ("7 ½ in.", 190.5),
    ("7-½″", 190.5),
    ("7 1⁄2 in", 190.5),
    ("  7\u00a01/2\tIN ", 190.5),
    ("-7 1/2 in", -190.5),
    ("\u22127½ in", -190.5),
    ("+7½ in", 190.5),
    ("3/4 in", 19.05),
    ("5/4 in", 31.75),
    ("-1/2 in", -12.7),
    (".5 in", 12.7),
    ("5. in", 127.0),
    ("1 inch", 25.4),
    ("6 ft", 1828.8),
    ("6'", 1828.8),
    ("2 feet", 609.6),
    ("1 foot", 304.8),
    ("6 ft 6 in", 1981.2),
    ("6 ft. 6 in.", 1981.2),
    ("6'6\"", 1981.2),
    ("6' 6''", 1981.2),
    ("6'6", 1981.2),
    ("6' 6 1/2\"", 1993.9),
    ("6\u2032 6½\u2033", 1993.9),
    ("6'-6 1/2\"", 1993.9),
    ("6' - 6½\"", 1993.9),
    ("-6 ft 6 in", -1981.2),
    ("44 mm", 44.0),
    ("44mm", 44.0),
    ("44 Millimetres", 44.0),
    ("4.4 cm", 44.0),
    ("4,4 cm", 44.0),
    ("1.1 cm", 11.0),
    ("1.2 m", 1200.0),
    ("1,2 meters", 1200.0),
    ("0,125 m", 125.0),
    ("1234,567 mm", 1234.567),
    ("0 mm", 0.0),
]


@pytest.mark.parametrize(("text", "expected"), READ)
@pytest.mark.parametrize("default", UNITS)
def test_text_with_a_unit_is_read_exactly_whatever_the_default(
    text: str, expected: float, default: LengthUnit
) -> None:
    assert parse_length(text, default) == expected


@pytest.mark.parametrize(
    ("value", "mm", "inch"),
    [
        ("44", 44.0, 1117.6),
        (44, 44.0, 1117.6),
        (1.1, 1.1, 27.94),
        ("1.1", 1.1, 27.94),
        ("7 1/2", 7.5, 190.5),
        ("7½", 7.5, 190.5),
        (-0.5, -0.5, -12.7),
        ("-1/2", -0.5, -12.7),
        (1e-5, 1e-5, 0.000254),
    ],
)
def test_bare_number_takes_the_default_unit(value: float | str, mm: float, inch: float) -> None:
    assert parse_length(value, "mm") == pytest.approx(mm, rel=1e-15)
    assert parse_length(value, "inch") == pytest.approx(inch, rel=1e-15)


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("", "empty"),
        (" \t", "empty"),
        ("abc", "not a number with a unit: use mm, cm, m, in or ft"),
        ("mm", "not a number"),
        ("--5 mm", "not a number"),
        ("nan", "not a number"),
        ("inf", "not a number"),
        ("٣ mm", "not a number"),
        ("7 furlong", "unknown unit 'furlong': use mm, cm, m, in or ft"),
        ("1e3", "unknown unit 'e'"),
        ("7 µm", "unknown unit"),
        ("5 °", "unknown unit"),
        ("1/0 in", "fraction over 0"),
        ("7 1/0 in", "fraction over 0"),
        ("7 9/8 in", "fraction of 1 or more after a whole number: 9/8"),
        ("7.5 1/2 in", "left over"),
        ("7 - 1/2 in", "left over"),
        ("1/2/3 in", "left over"),
        ("1 400 mm", "left over"),
        ("1_400 mm", "left over"),
        ("1 m 20 cm", "left over"),
        ("5 mm mm", "left over"),
        ("1.2.3 mm", "left over"),
        ("1,400", "ambiguous comma: write 1400"),
        ("1,400 mm", "ambiguous comma: write 1400"),
        ("12,700.5 mm", "ambiguous comma: write 12700"),
        ("1,400,000 mm", "ambiguous comma: write 1400000"),
        ("6 ft 18 in", "less than 12 inches"),
        ("6 ft 12 in", "less than 12 inches"),
        ("6.5 ft 6 in", "whole feet"),
        ("6 ft 6 mm", "whole feet"),
        ("6 ft 6 in 2", "whole feet"),
        ("6 ft 7 furlong", "unknown unit"),
        ("1" * 61, "longer than 60"),
        (math.nan, "finite"),
        (math.inf, "finite"),
        (-math.inf, "finite"),
        (10**400, "finite"),
        (True, "must be a number or text"),
        (False, "must be a number or text"),
        (None, "must be a number or text"),
        ([44], "must be a number or text"),
        (1j, "must be a number or text"),
    ],
)
@pytest.mark.parametrize("default", UNITS)
def test_what_is_not_one_length_is_refused_in_a_short_phrase(
    value: str, says: str, default: LengthUnit
) -> None:
    with pytest.raises(ValueError, match=re.escape(says)) as caught:
        parse_length(value, default)
    text = str(caught.value)
    assert "\n" not in text
    assert len(text) < 140


def test_number_too_large_once_in_mm_is_refused() -> None:
    assert parse_length(1e306, "inch") == pytest.approx(2.54e307)
    with pytest.raises(ValueError, match="finite"):
        parse_length(1e308, "inch")


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused_never_worse(text: str) -> None:
    try:
        length = parse_length(text, "mm")
    except ValueError:
        return
    assert math.isfinite(length)


@given(lengths)
@example(2e-06)  # Python writes it with a power of ten
@example(-3e-05)
def test_a_number_and_its_text_are_the_same_length(number: float) -> None:
    assert parse_length(number, "mm") == number
    text = f"{number:.6f}"
    for unit in UNITS:
        assert parse_length(float(text), unit) == parse_length(text, unit)


@given(
    whole=st.integers(0, 400),
    top=st.integers(1, 63),
    power=st.integers(1, 6),
    joiner=st.sampled_from([" ", "-", "  "]),
    mark=st.sampled_from([" in", '"', "in", " inches", "″"]),
)
def test_mixed_inches_are_exact(whole: int, top: int, power: int, joiner: str, mark: str) -> None:
    top %= 2**power
    text = f"{whole}{joiner}{top}/{2**power}{mark}"
    # Oracle: rational arithmetic of the standard library.
    exact = (whole + Fraction(top, 2**power)) * Fraction(254, 10)
    assert parse_length(text, "mm") == float(exact)


# --- reading angles ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "degrees"),
    [
        (6, 6.0),
        (-0.83, -0.83),
        ("6", 6.0),
        ("6 deg", 6.0),
        ("6°", 6.0),
        ("6 º", 6.0),
        ("0,83 degrees", 0.83),
        ("\u22122.5°", -2.5),
        ("7 1/2°", 7.5),
    ],
)
def test_angle_is_read_in_degrees(value: float | str, degrees: float) -> None:
    assert parse_angle(value) == degrees


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("6 rad", "unknown unit 'rad': use deg"),
        ("6 mm", "unknown unit 'mm'"),
        ("5° 30'", "write decimal degrees"),
        ("", "empty"),
        ("steep", "not a number"),
        (True, "must be a number"),
        (math.nan, "finite"),
    ],
)
def test_what_is_not_an_angle_is_refused(value: float | str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        parse_angle(value)


# --- mattresses --------------------------------------------------------------------------


@pytest.mark.parametrize("default", UNITS)
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1400x1900x220", (1400.0, 1900.0, 220.0)),
        ("1400 x 1900", (1400.0, 1900.0, None)),
        ("1400X1900", (1400.0, 1900.0, None)),
        ("1400×1900", (1400.0, 1900.0, None)),
        ("500x500", (500.0, 500.0, None)),
        ("54x75x10in", (1371.6, 1905.0, 254.0)),
        ("54 x 75 x 10 in", (1371.6, 1905.0, 254.0)),
        ("54in x 75in x 10in", (1371.6, 1905.0, 254.0)),
        ("54in x 75 x 10in", (1371.6, 1905.0, 254.0)),
        ("54x75", (1371.6, 1905.0, None)),
        ("54x75x10", (1371.6, 1905.0, 254.0)),
        ("53 1/2 x 74½ x 9 3/4", (1358.9, 1892.3, 247.65)),
        ("149x149", (3784.6, 3784.6, None)),
        ("4 ft 6 in x 6 ft 3 in", (1371.6, 1905.0, None)),
        ('4\'6" x 6\'3" x 10"', (1371.6, 1905.0, 254.0)),
        ("140x200cm", (1400.0, 2000.0, None)),
        ("140 x 200 x 22 cm", (1400.0, 2000.0, 220.0)),
        ("1.4 x 2 m", (1400.0, 2000.0, None)),
        ("140 cm x 200 cm x 8 in", (1400.0, 2000.0, 203.2)),
        ("5 x 6 ft", (1524.0, 1828.8, None)),
    ],
)
def test_mattress_is_read_whatever_the_default_unit(
    text: str, expected: tuple[float, float, float | None], default: LengthUnit
) -> None:
    assert parse_mattress(text, default) == expected


@pytest.mark.parametrize("default", UNITS)
@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("140x200", "more than one unit: add mm, cm or in"),
        ("160x200", "more than one unit: add mm, cm or in"),
        ("150x150", "more than one unit: add mm, cm or in"),
        ("499x2000", "more than one unit: add mm, cm or in"),
        ("1400x75", "more than one unit: add mm, cm or in"),
        ("60 in x 80", "a unit after every number, or one unit after the last"),
        ("60 x 80 in x 10", "a unit after every number, or one unit after the last"),
        ("140 cm x 80 x 10 in", "a unit after every number, or one unit after the last"),
        ("4 x 6 ft 3 in", "a unit after every number, or one unit after the last"),
        ("", "must be width x length"),
        ("1400", "must be width x length"),
        ("1400x", "must be width x length"),
        ("x1400", "must be width x length"),
        ("1400xx1900", "must be width x length"),
        ("1x2x3x4", "must be width x length"),
        ("54 furlong x 75 in", "its width '54 furlong' has the unknown unit 'furlong'"),
        ("54 x 75 y", "its length '75 y' has the unknown unit 'y'"),
        ("54 x 75 x 1/0 in", "its thickness '1/0 in' has a fraction over 0"),
        ("1,400 x 1,900", "its width '1,400' has an ambiguous comma"),
        ("5" * 121, "longer than 120"),
        (1400, "must be text"),
        (None, "must be text"),
    ],
)
def test_mattress_that_could_be_misread_is_refused(
    text: str, says: str, default: LengthUnit
) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        parse_mattress(text, default)


# --- writing -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length", "in_inches", "in_mm"),
    [
        (190.5, "7 1/2 in", "190.5 mm"),
        (-190.5, "-7 1/2 in", "-190.5 mm"),
        (12.7, "1/2 in", "12.7 mm"),
        (-12.7, "-1/2 in", "-12.7 mm"),
        (1524.0, "60 in", "1524 mm"),
        (25.4 * 63 / 64, "63/64 in", "25 mm"),
        (25.4 * 2.999, "3 in", "76.2 mm"),
        (25.4 * (11 + 62 / 64), "11 31/32 in", "304 mm"),
        (0.0, "0 in", "0 mm"),
        (-0.0, "0 in", "0 mm"),
        (-0.04, "0 in", "0 mm"),
        (100.0, "3 15/16 in", "100 mm"),
    ],
)
def test_length_is_written_in_each_unit(length: float, in_inches: str, in_mm: str) -> None:
    assert format_length(length, "inch") == in_inches
    assert format_length(length, "mm") == in_mm
    assert format_both(length) == f"{in_inches} [{in_mm}]"
    assert format_both(length, "mm") == f"{in_mm} [{in_inches}]"
    assert format_number(length, "inch") == in_inches.removesuffix(" in")


def test_denominator_and_decimals_set_the_rounding() -> None:
    # 100 mm is 3.93701 in: 62.99 / 16, 31.496 / 8.
    assert format_length(100, "inch", denominator=16) == "3 15/16 in"
    assert format_length(100, "inch", denominator=8) == "3 7/8 in"
    assert format_length(100, "inch", denominator=1) == "4 in"
    assert format_length(12.3456, "mm", decimals=3) == "12.346 mm"
    assert format_length(1500, "mm", decimals=0) == "1500 mm"
    assert format_length(-0.4, "mm", decimals=0) == "0 mm"


@pytest.mark.parametrize("denominator", [0, -2, 3, 10, 48])
def test_denominator_that_no_rule_has_is_refused(denominator: int) -> None:
    with pytest.raises(ValueError, match="power of two"):
        format_length(100, "inch", denominator=denominator)


@pytest.mark.parametrize("length", [math.nan, math.inf])
def test_what_is_not_a_length_is_not_written(length: float) -> None:
    for unit in UNITS:
        with pytest.raises(ValueError, match="finite"):
            format_length(length, unit)
    with pytest.raises(ValueError, match="finite"):
        format_angle(length)


def test_angle_is_written_with_its_unit() -> None:
    assert format_angle(0.8312) == "0.83 deg"
    assert format_angle(6.0) == "6 deg"
    assert format_angle(-0.001) == "0 deg"
    assert parse_angle(format_angle(-12.25)) == -12.25


@given(lengths)
def test_what_is_written_reads_back_within_half_a_step(length: float) -> None:
    slack = 1e-9
    for default in UNITS:
        in_mm = parse_length(format_length(length, "mm"), default)
        assert abs(in_mm - length) <= 0.05 + slack
        in_inches = parse_length(format_length(length, "inch"), default)
        assert abs(in_inches - length) <= 25.4 / 128 + slack
        in_sixteenths = parse_length(format_length(length, "inch", denominator=16), default)
        assert abs(in_sixteenths - length) <= 25.4 / 32 + slack


@given(lengths)
def test_writing_again_changes_nothing(length: float) -> None:
    for unit in UNITS:
        once = format_length(length, unit)
        assert format_length(parse_length(once, "mm"), unit) == once
        assert not once.startswith("-0 ")


def test_psi_in_mpa() -> None:
    # Oracle: 145.0377 psi to the MPa, as printed in conversion tables.
    psi_per_mpa = 1 / MPA_PER_PSI
    assert psi_per_mpa == pytest.approx(145.0377, abs=1e-4)
