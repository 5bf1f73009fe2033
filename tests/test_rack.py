"""Reading the rack, and the lumber trade's measures."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bedmodel.errors import InputError
from bedmodel.sheets import shared_folder
from bedmodel.stock.boards import Board, Defect, board_feet, quarters_of
from bedmodel.stock.demand import PanelDemand, PartDemand
from bedmodel.stock.rack import MOST_BOARDS, RACK_BYTES, boards_of, read_rack

HEADER = "board,species,thickness (in),width (in),length (in),check left (in),defects,price\n"
INCH = 25.4


# Source: by definition, a board foot is 144 cubic inches: 6 in x 8 ft of 4/4 is 4 of them.
@pytest.mark.parametrize(
    ("quarters", "width_in", "length_ft", "feet"),
    [(4, 6, 8, 4.0), (8, 7.5, 10, 12.5), (5, 9, 12, 11.25)],
)
def test_board_feet(quarters: int, width_in: float, length_ft: float, feet: float) -> None:
    assert board_feet(quarters, width_in * INCH, length_ft * 12 * INCH) == pytest.approx(feet)
    board = Board("A", quarters * INCH / 4, quarters, width_in * INCH, length_ft * 12 * INCH)
    assert board.board_feet == pytest.approx(feet)


def test_a_cubic_metre_is_424_board_feet() -> None:
    # Source: by definition; 1 m3 = 423.776 board feet.
    assert board_feet(4, 1000, 1000) * 1000 / 25.4 == pytest.approx(423.776, abs=5e-4)


# Source: rough thicknesses of the trade's classes, distributors' charts: quarters of an inch.
@pytest.mark.parametrize(
    ("thickness", "quarters"),
    [(19.05, 3), (25.4, 4), (31.75, 5), (50.8, 8), (101.6, 16), (27.0, 4), (24.0, 4), (23.0, 3)],
)
def test_thickness_class(thickness: float, quarters: int) -> None:
    assert quarters_of(thickness) == quarters


def test_a_row_is_read_in_the_units_of_its_header() -> None:
    text = HEADER + 'A1,red-maple,8/4,7 1/2,10 ft,2,"40 to 43 x 2 to 4; 90 to 92 x 0 to 1",62.5\n'
    assert boards_of(text) == (
        Board(
            "A1",
            50.8,
            8,
            7.5 * INCH,
            3048.0,
            2 * INCH,
            0.0,
            (
                Defect(40 * INCH, 43 * INCH, 2 * INCH, 4 * INCH),
                Defect(90 * INCH, 2336.8, 0, INCH),
            ),
            62.5,
            "red-maple",
        ),
    )
    metric = "# a remark\n\nboard,thickness (mm),width (mm),length (mm)\nB,26,190,8 ft\n"
    assert boards_of(metric) == (Board("B", 26.0, 4, 190.0, 2438.4),)


def test_the_example_is_read() -> None:
    rack = read_rack(shared_folder() / "boards.csv")
    assert len(rack) == 28
    assert {board.species for board in rack} == {"red-maple", "yellow-poplar"}
    assert all(board.price for board in rack)
    (wide,) = (board for board in rack if board.name == "M6")
    assert wide.board_feet == pytest.approx(11 * 120 * 1.5 / 144)


GOOD = "A,,4/4,8,96,0,,\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        (HEADER, "has no boards"),
        ("board,thickness (in),width (in)\nA,4/4,8\n", "line 1: lacks the column length"),
        (HEADER.replace("width (in)", "width"), "column width: does not say its unit"),
        (HEADER.replace("width (in)", "width (mm)"), "line 1: has both in and mm"),
        (HEADER.replace("width (in)", "width (furlong)"), "has no such unit"),
        (HEADER.replace("price", "colour"), "column colour: is no column of a rack"),
        (HEADER.replace("price", "species"), "column species: is there twice"),
        (HEADER + "A,,4/4,-8,96,0,,\n", "line 2, column width = -8: must be"),
        (HEADER + GOOD + "B,,4/4,8,0,0,,\n", "line 3, column length = 0: must be"),
        (HEADER + "A,,4/4,8,9600,0,,\n", "line 2, column length = 9600: must be"),
        (HEADER + "A,,4/4,8 kg,96,0,,\n", "column width = 8 kg: has the unknown unit 'kg'"),
        (HEADER + 'A,,4/4,"1,400",96,0,,\n', "has an ambiguous comma"),
        (HEADER + "A,,4/4,,96,0,,\n", 'column width = "": is empty'),
        (HEADER + "A,,99/4,8,96,0,,\n", "column thickness = 99/4: must be a class"),
        (HEADER + "A,,nan,8,96,0,,\n", "column thickness = nan"),
        (HEADER + "A,Red Maple!,4/4,8,96,0,,\n", "column species = Red Maple!"),
        (HEADER + ",,4/4,8,96,0,,\n", "line 2, column board"),
        (HEADER + GOOD + GOOD, "line 3, column board = A: is also on line 2"),
        (HEADER + "A,,4/4,8,20,20,,\n", "column check left = 20: leaves nothing"),
        (HEADER + "A,,4/4,8,96,0,90 to 97 x 0 to 1,\n", "which is not along the board"),
        (HEADER + "A,,4/4,8,96,0,90 to 92 x 7 to 9,\n", "which is not across the board"),
        (HEADER + "A,,4/4,8,96,0,92 to 90 x 0 to 1,\n", "which is not along the board"),
        (HEADER + "A,,4/4,8,96,0,a knot,\n", "write it as 40 to 43 x 2 to 4"),
        (HEADER + "A,,4/4,8,96,0," + ";".join(["1 to 2 x 1 to 2"] * 13) + ",\n", "more than 12"),
        (HEADER + "A,,4/4,8,96,0,,-1\n", "column price = -1"),
        (HEADER + "A,,4/4,8,96,0,,inf\n", "column price = inf"),
        (HEADER + "A,,4/4,8,96\n", "line 2: has 5 cells, the header has 8"),
        (HEADER + 'A,,4/4,"8"x,96,0,,\n', "is not CSV"),
        (HEADER + "A\0,,4/4,8,96,0,,\n", "has a NUL character"),
        (
            HEADER + "".join(f"A{i},,4/4,8,96,0,,\n" for i in range(MOST_BOARDS + 1)),
            f"has more than {MOST_BOARDS} boards",
        ),
    ],
)
def test_a_bad_file_is_refused_with_its_place(text: str, said: str) -> None:
    with pytest.raises(InputError) as refusal:
        boards_of(text)
    assert said in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "boards.csv"
    path.write_bytes(HEADER.encode() + GOOD.encode() + b"\xff\xfe\n")
    with pytest.raises(InputError, match=r"boards\.csv line 3: must be text in UTF-8"):
        read_rack(path)
    path.write_bytes(b"#" * (RACK_BYTES + 1))
    with pytest.raises(InputError, match="at most 1 MiB"):
        read_rack(path)
    with pytest.raises(InputError, match="cannot be read"):
        read_rack(tmp_path / "none.csv")
    path.write_bytes(b"\xef\xbb\xbf" + HEADER.encode() + GOOD.replace("\n", "\r\n").encode())
    assert [board.name for board in read_rack(path)] == ["A"]


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    for whole in (text, HEADER + text):
        with contextlib.suppress(InputError):
            assert boards_of(whole)


def test_what_nobody_can_want_is_refused() -> None:
    with pytest.raises(InputError, match="part p = 0"):
        PartDemand("p", 0, 500, 50, 4)
    with pytest.raises(InputError, match="part p = -1"):
        PartDemand("p", 1, -1, 50, 4)
    with pytest.raises(InputError, match="part p = nan"):
        PartDemand("p", 1, 500, float("nan"), 4)
    with pytest.raises(InputError, match="panel w = 90 to 60"):
        PanelDemand("w", 1, 500, 300, 4, 90, 60)
    with pytest.raises(InputError, match="panel w = 60"):
        PanelDemand("w", 1, 500, 300, 4, 60, 90, 60)
