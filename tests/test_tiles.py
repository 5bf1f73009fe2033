"""Full-size printing: tiles that join to the outline, squares, crosses, papers, refusals.

Pages are rasterised by pypdfium2, which shares no code with the writer.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path as FilePath

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import LineString, Point, box, union_all

from bedmodel.cli import main
from bedmodel.errors import InputError
from bedmodel.exports.paper.pdf import pdf_bytes
from bedmodel.exports.paper.sheet import A4, LETTER, Clipped, Paper, Path, Sheet, Text
from bedmodel.exports.tiles import papers
from bedmodel.exports.tiles.full_size import FLAT, FullSize, flattened, pieces_of
from bedmodel.exports.tiles.grid import ARM, OVERLAP, Grid, cell_name, divided
from bedmodel.exports.tiles.of_bed import drawings_of
from bedmodel.exports.tiles.pages import full_size_sheets, papers_that_fit
from bedmodel.outline import Outline
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.shop.sheet import MORTISE_CENTRE
from bedmodel.skeleton import lay_out

MM_PER_INCH = 25.4
NAMES = ("a", "b", "c", "d")


def drawing(*rings: Outline) -> FullSize:
    return FullSize("thing", "A thing", rings, (), ())


def plank(width: float, height: float) -> FullSize:
    return drawing(Outline.rectangle(width, height, NAMES))


@pytest.fixture(scope="module")
def head_leg() -> FullSize:
    layout = lay_out(load_sheet("campion", size="us-queen"))
    (leg,) = drawings_of(layout, make_pieces(layout), "head_leg_left")
    return leg


def raster(data: bytes, page: int, dpi: float) -> NDArray[np.uint8]:
    """Grey values of a page, the first row at its foot."""
    document = pypdfium2.PdfDocument(data)
    image = document[page].render(scale=dpi / 72, grayscale=True).to_numpy()
    return np.asarray(image).reshape(image.shape[:2])[::-1]


@pytest.mark.parametrize("paper", [A4, LETTER, papers.A3, papers.TABLOID], ids=lambda p: p.name)
def test_every_point_of_the_outline_is_inked_on_every_tile_that_shows_it(
    head_leg: FullSize, paper: Paper
) -> None:
    dpi = 200.0
    pixel = MM_PER_INCH / dpi
    grid = divided(head_leg, paper)
    data = pdf_bytes(full_size_sheets(head_leg, paper), "tiles")
    points = list(along(head_leg.rings[0], 3.0))
    seen = set()
    for page, cell in enumerate(grid.cells, 1):
        dark = raster(data, page, dpi) < 140
        window = grid.window(cell)
        for k, (x, y) in enumerate(points):
            if not (window.x0 + 1 < x < window.x1 - 1 and window.y0 + 1 < y < window.y1 - 1):
                continue
            seen.add(k)
            column = (x - window.x0 + grid.live.x0) / pixel
            row = (y - window.y0 + grid.live.y0) / pixel
            rows, columns = np.nonzero(
                dark[int(row) - 4 : int(row) + 5, int(column) - 4 : int(column) + 5]
            )
            off = np.hypot(rows + int(row) - 3.5 - row, columns + int(column) - 3.5 - column)
            assert off.size, (cell, x, y)
            assert off.min() * pixel < 0.15, (cell, x, y)
    assert len(seen) > 0.95 * len(points)


def along(ring: Outline, step: float) -> Iterator[tuple[float, float]]:
    for edge in ring.edges():
        count = max(1, math.ceil(edge.length / step))
        for k in range(count):
            yield edge.point_at(k / count)


@pytest.mark.parametrize("paper", [A4, LETTER, papers.A0], ids=lambda p: p.name)
def test_the_squares_measure_fifty_millimetres_and_two_inches(
    head_leg: FullSize, paper: Paper
) -> None:
    dpi = 600.0
    sheet = full_size_sheets(head_leg, paper)[0]
    squares = [m for m in sheet.marks if isinstance(m, Path) and m.role == "check"]
    image = raster(pdf_bytes([sheet], "one"), 0, dpi)
    for square, wanted in zip(squares, (50.0, 2 * MM_PER_INCH), strict=True):
        (x0, y0), (x1, y1) = square.points[0], square.points[2]
        row = int((y0 + 0.2 * (y1 - y0)) / MM_PER_INCH * dpi)
        left, right = (int(x / MM_PER_INCH * dpi) for x in (x0 - 2, x1 + 2))
        dark = np.nonzero(image[row, left:right] < 128)[0]
        lines = np.split(dark, np.nonzero(np.diff(dark) > 1)[0] + 1)
        first, last = lines[0].mean(), lines[-1].mean()
        assert (last - first) / dpi * MM_PER_INCH == pytest.approx(wanted, abs=0.05)


def test_a_line_of_a_hundred_is_a_hundred_after_joining() -> None:
    """From one tile over a seam to the next, with the sheets laid where their crosses say."""
    grid = divided(plank(360, 100), A4)
    one, other = sorted(grid.cells)[:2]
    sheets = full_size_sheets(plank(360, 100), A4)
    by_name = {sheet.title.rpartition(" ")[2]: sheet for sheet in sheets[1:]}
    a, b = (crosses(by_name[cell_name(cell)]) for cell in (one, other))
    # The crosses in the right band of one and in the left band of the other.
    right = sorted(at for at in a if at[0] > grid.paper.width / 2)
    left = sorted(at for at in b if at[0] < grid.paper.width / 2)
    shifts = {
        (round(r[0] - m[0], 6), round(r[1] - m[1], 6)) for r, m in zip(right, left, strict=True)
    }
    assert shifts == {(grid.live.width - OVERLAP, 0.0)}
    assert grid.window(other).x0 - grid.window(one).x0 == pytest.approx(grid.live.width - OVERLAP)


def crosses(sheet: Sheet) -> set[tuple[float, float]]:
    level = [
        m
        for m in sheet.marks
        if isinstance(m, Path) and m.role == "cross" and m.points[0][1] == m.points[1][1]
    ]
    return {((m.points[0][0] + m.points[1][0]) / 2, m.points[0][1]) for m in level}


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.floats(5, 1500), st.floats(5, 900)), min_size=3, max_size=7, unique=True),
    st.sampled_from([A4, LETTER, papers.A3]),
)
def test_all_ink_is_on_a_sheet_and_the_sheets_hang_together(
    corners: list[tuple[float, float]], paper: Paper
) -> None:
    hull = LineString(corners).convex_hull
    if hull.geom_type != "Polygon" or hull.area < 1:
        return
    ring = list(hull.exterior.coords)[:-1]
    one = drawing(Outline(tuple(ring), (0.0,) * len(ring), ("edge",) * len(ring)))
    grid = divided(one, paper)
    windows = [box(w.x0, w.y0, w.x1, w.y1) for w in map(grid.window, grid.cells)]
    lines = union_all([LineString(pieces_of(path)) for path in one.lines])
    assert lines.difference(union_all(windows).buffer(1e-6)).length < 1e-6
    assert union_all([w.buffer(-0.1) for w in windows]).geom_type == "Polygon"
    for cell in grid.cells:
        window = grid.window(cell)
        assert window.width == pytest.approx(grid.live.width)
        inked = lines.intersection(box(window.x0, window.y0, window.x1, window.y1)).length
        assert inked > 0 or len(grid.cells) > 2  # an empty one only where it joins others


def test_sheets_that_would_be_blank_are_left_out() -> None:
    """A ring so large that the middle sheets hold nothing; those of its border are kept."""
    grid = divided(plank(900, 900), A4)
    assert len(grid.cells) < grid.columns * grid.rows
    corners = {(0, 0), (grid.columns - 1, 0), (0, grid.rows - 1)}
    assert corners <= set(grid.cells)
    assert (2, 2) not in grid.cells


def test_the_paper_lies_as_takes_fewest_sheets() -> None:
    long, tall = divided(plank(500, 100), A4), divided(plank(100, 500), A4)
    assert (long.columns, long.rows) == (2, 1)  # two of 277 mm across, on their side
    assert (tall.columns, tall.rows) == (1, 2)
    assert long.paper.width > long.paper.height
    assert tall.paper.width < tall.paper.height


def test_a_seams_crosses_keep_off_the_ink_where_there_is_room(head_leg: FullSize) -> None:
    grid = divided(head_leg, LETTER)
    ink = union_all([LineString(pieces_of(path)) for path in head_leg.lines])
    for one, other in pairwise(sorted(grid.cells)):
        places = grid.crosses(one, other)
        assert places == grid.crosses(other, one)
        assert all(ink.distance(Point(at)) > ARM for at in places)


def test_arcs_are_flattened_below_what_can_be_seen() -> None:
    ring = Outline(((0.0, 0.0), (300.0, 0.0)), (1.0, 1.0), ("a", "b"))  # a disc of 150
    points = list(flattened(ring))
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise([*points, points[0]])]
    assert all(150 - math.dist(m, (150, 0)) <= FLAT * 1.001 for m in middles)


@pytest.mark.parametrize("name", ["a1", "roll-24in", "roll-36in", "ansi-e"])
def test_one_sheet_holds_all_with_the_squares_clear_of_it(name: str) -> None:
    thing = plank(500, 300)
    (sheet,) = full_size_sheets(thing, papers.paper_for_tiles(name))
    cut, squares = (
        [m for m in sheet.marks if isinstance(m, Path) and m.role == role]
        for role in ("cut", "check")
    )
    area = box(0, 0, sheet.paper.width, sheet.paper.height)
    for path in (*cut, *squares):
        assert LineString(pieces_of(path)).within(area.buffer(-papers.MARGIN + 1e-6))
    low = min(y for path in cut for _, y in path.points)
    assert all(y < low for square in squares for _, y in square.points)
    (outline,) = cut
    xs, ys = zip(*outline.points, strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((500, 300))
    texts = [m for m in sheet.marks if isinstance(m, Text)]
    assert all(text.box.x1 <= sheet.paper.width - papers.MARGIN + 1e-6 for text in texts)


def test_a_paper_too_small_is_refused_with_those_that_fit() -> None:
    with pytest.raises(InputError) as refused:
        full_size_sheets(plank(1100, 300), papers.A2)
    assert "A0" in str(refused.value)
    assert papers_that_fit(plank(1100, 300))[0] == "A0"
    assert papers_that_fit(plank(1900, 700)) == ["roll-36in"]
    assert papers_that_fit(plank(3200, 1200)) == []


def test_what_fits_a_desk_paper_is_one_page_without_a_key() -> None:
    (sheet,) = full_size_sheets(plank(150, 100), A4)
    assert not any(isinstance(mark, Clipped) for mark in sheet.marks)


def test_names_of_many_columns() -> None:
    assert [cell_name(cell) for cell in ((0, 0), (25, 1), (26, 0), (27, 9))] == [
        "A1",
        "Z2",
        "AA1",
        "AB10",
    ]


def test_a_boards_outline_carries_its_end_mortises() -> None:
    layout = lay_out(load_sheet("campion", size="us-queen"))
    pieces = make_pieces(layout)
    (board,) = drawings_of(layout, pieces, "headboard_board_2")
    kind = next(piece.kind for piece in pieces if piece.name == "headboard_board_2")
    shape = kind.shape
    x0, y0, x1, y1 = board.rings[0].bounds()
    assert (x1 - x0, y1 - y0) == pytest.approx((shape.length, shape.width))
    marks = [mark for mark in board.marks if mark.layer == MORTISE_CENTRE]
    assert len(marks) == 3 * len(shape.tenon_cuts) == 12  # two tenons at each end
    plan = layout.head.boards[1].tenons
    low = layout.head.boards[1].bottom
    heights = sorted({round(mark.start[1], 6) for mark in marks})
    assert len(heights) == 6  # middle and both ends of two slots
    for height in plan.heights:
        assert any(abs(at - (height - low)) < 1e-6 for at in heights)
    for mark in marks:
        assert mark.start[0] in (pytest.approx(0.0), pytest.approx(shape.length))
        assert abs(mark.end[0] - mark.start[0]) == pytest.approx(
            plan.embedment_board + plan.end_gap
        )


def test_no_words_of_a_tile_lie_on_one_another_or_in_the_drawing(head_leg: FullSize) -> None:
    grid: Grid = divided(head_leg, A4)
    for sheet in full_size_sheets(head_leg, A4):
        texts = [m for m in sheet.marks if isinstance(m, Text)]
        for i, text in enumerate(texts):
            assert not any(text.box.meets(other.box) for other in texts[i + 1 :]), text.text
            if any(isinstance(mark, Clipped) for mark in sheet.marks):
                assert not text.box.meets(grid.live), text.text


def test_the_verb_writes_every_template_and_tells_them(
    tmp_path: FilePath, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["templates", "sorrel", "--part", "foot_leg", "--out", str(tmp_path), "--json"]
    assert main(asked) == 0
    record = json.loads(capsys.readouterr().out)
    folder = FilePath(record["folder"])
    for each in record["templates"]:
        document = pypdfium2.PdfDocument(folder / each["file"])
        assert len(document) == each["pages"]
    first = {path.name: path.read_bytes() for path in folder.glob("*.pdf")}
    assert main(asked) == 0
    assert {path.name: path.read_bytes() for path in folder.glob("*.pdf")} == first


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--paper", "a7"], "--paper"),
        (["--paper", "a2", "--part", "leg_sled"], "A0"),
        (["--part", "nothing"], "head_leg_left"),
    ],
)
def test_the_verb_refuses_in_one_line_and_writes_nothing(
    words: list[str], told: str, tmp_path: FilePath, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["templates", "campion", *words, "--out", str(tmp_path / "out")]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
    assert not (tmp_path / "out").exists()
