"""The tables of bushings and bits, against numbers typed again by hand, and the offset rule."""

from __future__ import annotations

import csv
import math
import re
from fractions import Fraction
from pathlib import Path

import pytest

import bedmodel
from bedmodel.cutters import (
    Bit,
    Bushing,
    Cutter,
    bit,
    bits,
    bushing,
    bushing_cutter,
    bushings,
    finished_inside_radius,
    finished_outside_radius,
    pattern_cutter,
    round_down,
)
from bedmodel.errors import InputError
from bedmodel.tables import STATUSES

DATA = Path(bedmodel.__file__).parent / "data"
FILES = ("bushings.csv", "bits.csv")
INCH = 25.4

# Outside diameter, its mm as printed, inside diameter, largest bit with 1/32 in all round.
PRINTED = (
    ("5/16", 7.94, "1/4", 6.35, "3/16"),
    ("3/8", 9.53, "9/32", 7.14, "7/32"),
    ("7/16", 11.11, "11/32", 8.73, "9/32"),
    ("1/2", 12.70, "13/32", 10.32, "11/32"),
    ("5/8", 15.88, "17/32", 13.49, "15/32"),
    ("3/4", 19.05, "21/32", 16.67, "19/32"),
    ("51/64", 20.24, "5/8", 15.88, "9/16"),
)


def inches(text: str) -> float:
    return float(sum(Fraction(part) for part in text.split())) * INCH


# --- the files ---------------------------------------------------------------------------


@pytest.mark.parametrize("file_name", FILES)
def test_every_line_has_every_cell_and_no_stray_space(file_name: str) -> None:
    lines = (DATA / file_name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("#")
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert all(cell == cell.strip() for row in rows for cell in row)
    assert len({row[0] for row in rows}) == len(rows)


@pytest.mark.parametrize("rows", [bushings(), bits()], ids=FILES)
def test_every_row_says_where_it_is_from_and_how_sure_it_is(
    rows: dict[str, Bushing | Bit],
) -> None:
    words = [
        re.sub(r"[\s_-]", "", word.lower())
        for row in rows.values()
        for word in (row.name, *row.aliases)
    ]
    # A name and its alias "5/16in" differ by the stroke alone, and mean the same row.
    assert len(set(words)) == len(words)
    for name, row in rows.items():
        assert row.name == name
        assert row.source
        assert row.status in STATUSES
        assert row.note or row.status == "confirmed"


@pytest.mark.parametrize("rows", [bushings(), bits()], ids=FILES)
def test_tables_cannot_be_written_to(rows: dict[str, Bushing | Bit]) -> None:
    first = next(iter(rows))
    with pytest.raises(TypeError):
        rows[first] = rows[first]


# --- bushings ----------------------------------------------------------------------------


@pytest.mark.parametrize(("outer", "outer_mm", "inner", "inner_mm", "largest"), PRINTED)
def test_inch_bushings_are_as_printed(
    outer: str, outer_mm: float, inner: str, inner_mm: float, largest: str
) -> None:
    row = bushing(f"{outer} in")
    assert row.outer == pytest.approx(inches(outer))
    assert row.outer == pytest.approx(outer_mm, abs=0.00501)
    assert row.inner == pytest.approx(inches(inner))
    assert row.inner == pytest.approx(inner_mm, abs=0.00501)
    assert row.largest_bit == pytest.approx(inches(largest))
    assert row.status == "confirmed"


def test_metric_bushings_are_those_sold_and_say_which_were_read() -> None:
    metric = {row.outer: row.status for row in bushings().values() if row.name.endswith("-mm")}
    assert list(metric) == [10, 12, 16, 17, 18, 20, 24, 27, 30, 40]
    assert [size for size, status in metric.items() if status == "confirmed"] == [30, 40]
    assert bushing("1 in").status == "unconfirmed"


def test_an_inside_that_was_not_read_is_not_made_up() -> None:
    unknown = {row.name for row in bushings().values() if row.inner is None}
    assert unknown == {"1-in", *(n for n in bushings() if n.endswith("-mm"))}
    assert all(bushings()[name].largest_bit is None for name in unknown)
    assert all("measure it" in bushings()[name].note for name in unknown)


def test_a_misspelt_name_lists_the_table() -> None:
    with pytest.raises(InputError, match=r"^jig\.bushing = 31 mm: is not in the table; .*40-mm$"):
        bushing("31 mm", "jig.bushing")
    with pytest.raises(InputError, match="did you mean straight-1-2-x-2-in"):
        bit("straight 1-2 x 2 inn")


# --- bits --------------------------------------------------------------------------------


def test_bits_are_defaults_to_change_and_are_named_by_their_size() -> None:
    assert {row.status for row in bits().values()} == {"unconfirmed"}
    for row in bits().values():
        style, size, unit = re.fullmatch(r"(\w+) bit (.*) (in|mm)", row.label).groups()  # type: ignore[union-attr]
        across, along = size.split(" x ")
        scale = INCH if unit == "in" else 1.0
        assert row.style == style
        assert row.diameter == pytest.approx(inches(across) / INCH * scale)
        assert row.length == pytest.approx(inches(along) / INCH * scale)
        assert row.name == re.sub(r"[ /]", "-", f"{style} {size} {unit}")


def test_only_pattern_bits_have_a_bearing_and_it_is_their_own_size() -> None:
    assert {row.style for row in bits().values()} == {"straight", "pattern"}
    for row in bits().values():
        assert row.bearing == (row.diameter if row.style == "pattern" else None)
        assert 6 <= row.shank <= 13
    assert pattern_cutter(bit("pattern 3-4 x 1 in")).offset == 0
    with pytest.raises(InputError, match="has no bearing"):
        pattern_cutter(bit("straight 1-4 x 1 in"))


# --- guided bits -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cutter", "offset"),
    [
        (Cutter(INCH / 2, INCH * 3 / 4, "bushing"), INCH / 8),
        (Cutter(10, 30, "bushing"), 10),
        (Cutter(9, 15, "bushing"), 3),
        (Cutter(19, 19, "bearing"), 0),
        (Cutter(19, 16, "bearing"), -1.5),
        (Cutter(16, 19, "bearing"), 1.5),
    ],
    ids=str,
)
def test_offset_is_half_of_guide_less_bit(cutter: Cutter, offset: float) -> None:
    assert cutter.offset == pytest.approx(offset, abs=1e-12)


def test_finished_radii() -> None:
    """OD 30, bit 10, offset 10: hand sums of max(d/2, r - o) and r + o."""
    cutter = Cutter(10, 30, "bushing")
    assert [finished_inside_radius(r, cutter) for r in (0, 14, 15, 22)] == [5, 5, 5, 12]
    assert [finished_outside_radius(r, cutter) for r in (0, 4)] == [10, 14]
    assert finished_outside_radius(1, Cutter(19, 15)) == 0


@pytest.mark.parametrize("row", bushings().values(), ids=lambda row: row.name)
def test_the_largest_bit_a_refusal_names_does(row: Bushing) -> None:
    with pytest.raises(InputError, match="does not clear") as refusal:
        bushing_cutter(row, row.outer)
    named = float(re.search(r"would do is ([\d.]+) mm", str(refusal.value))[1])  # type: ignore[index]
    assert bushing_cutter(row, named).guide == row.outer
    with pytest.raises(InputError):
        bushing_cutter(row, named + 0.002)
    if row.largest_bit is not None:
        assert bushing_cutter(row, row.largest_bit).diameter == row.largest_bit
        assert named == pytest.approx(row.largest_bit, abs=0.001)


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: Cutter(0, 10), "bit = 0 mm"),
        (lambda: Cutter(6, -1), "bearing = -1 mm"),
        (lambda: Cutter(6, math.nan), "bearing = nan mm"),
        (lambda: Cutter(12, 12, "bushing"), "bushing = 12 mm: must be more than its bit"),
    ],
)
def test_impossible_cutters_are_refused(make: object, told: str) -> None:
    with pytest.raises(InputError) as refusal:
        make()  # type: ignore[operator]
    assert str(refusal.value).startswith(told)


def test_largest_sizes_are_never_rounded_up() -> None:
    assert [round_down(x) for x in (12.0, 11.9999999999, 9.99949, 7.14375)] == [
        "12",
        "12",
        "9.999",
        "7.143",
    ]
