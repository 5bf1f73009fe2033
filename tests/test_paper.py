"""Sheets: text measured before it is drawn, scale and text read back by other programs."""

from __future__ import annotations

import itertools
import math
import xml.etree.ElementTree as ET

import pytest

from bedmodel.errors import InputError
from bedmodel.exports.paper.pdf import pdf_bytes
from bedmodel.exports.paper.sheet import (
    A4,
    LETTER,
    Box,
    Circle,
    Path,
    Pen,
    Sheet,
    Text,
    hatch,
    line,
    paper_named,
    rectangle,
)
from bedmodel.exports.paper.svg import svg_bytes
from bedmodel.exports.paper.table import Column, Style, set_table
from bedmodel.exports.paper.type import ELLIPSIS, drawable, fitted, text_width, wrapped

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "a\u202eb\x00\n<b>&\"'()\\ %PDF endstream \ud83d ]]> é½× 漢 \U0001f600"
POINT = 25.4 / 72
MARKS = (
    rectangle(Box(20, 30, 120, 80), None, "#336699", "part"),
    line((20, 100), (120, 100), Pen(0.5, "#000000", (3.0, 1.0))),
    Circle((150, 150), 10.0, Pen(0.2), "#ffffff"),
    Text("Hamburg 3 1/2 × 4", (20, 200), 12.0),
    Text("turned", (180, 100), 10.0, True, "middle", 90.0),
)
SHEET = Sheet(A4, "Trial", MARKS)


def test_papers_have_their_published_sizes() -> None:
    """ISO 216: A4 is 210 x 297 mm; Letter is 8 1/2 x 11 in."""
    assert (A4.width, A4.height) == (210, 297)
    assert (LETTER.width, LETTER.height) == pytest.approx((8.5 * 25.4, 11 * 25.4))
    assert (paper_named(" LETTER ").turned.width, paper_named("a4")) == (LETTER.height, A4)
    with pytest.raises(InputError, match="A4, Letter"):
        paper_named("A5")


# --- text --------------------------------------------------------------------------------


def test_what_cannot_be_drawn_is_replaced() -> None:
    text = drawable(HOSTILE)
    assert text.startswith("a b <b>&\"'()\\ %PDF endstream")
    assert text.endswith("]]> é½× ? ?")
    assert text.isprintable()
    assert len(drawable("x" * 10_000)) < 1000


def test_fitted_text_fits() -> None:
    name = "headboard board with a long name"
    for width in (8.0, 20.0, 40.0, 60.0, 100.0):
        text, size = fitted(name, width, 12.0, 9.0)
        assert text_width(text, size) <= width
        assert 9.0 <= size <= 12.0
        # Cut short only when the smallest size does not help.
        assert text == name or (text.endswith(ELLIPSIS) and text_width(name, 9.0) > width)
    assert fitted(name, 0.5, 9.0)[0] == ""


def test_wrapped_text_keeps_its_words() -> None:
    words = "what jointing, planing and trimming take off is in the rough sizes"
    lines = wrapped(words, 30.0, 10.0)
    assert " ".join(lines) == words
    assert len(lines) > 2
    assert max(text_width(each, 10.0) for each in lines) <= 30.0
    assert wrapped("   ", 30.0, 10.0) == []


def test_a_turned_text_covers_a_turned_box() -> None:
    flat = Text("turned", (100, 100), 10.0, anchor="end").box
    assert flat.x1 == pytest.approx(100)
    up = Text("turned", (100, 100), 10.0, anchor="end", turn_deg=90.0).box
    assert (up.width, up.height) == pytest.approx((flat.height, flat.width))
    assert up.y1 == pytest.approx(100)


def test_hatch_stays_inside_and_keeps_its_spacing() -> None:
    corners = [(0.0, 0.0), (30.0, 0.0), (20.0, 10.0), (5.0, 12.0)]
    lines = list(hatch(corners, 2.0, 45.0, Pen()))
    length = sum(math.dist(*each.points) for each in lines)
    # Lines a spacing apart are as long in all as the area over the spacing, about.
    area = (
        abs(
            sum(
                a[0] * b[1] - b[0] * a[1]
                for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
            )
        )
        / 2
    )
    assert length == pytest.approx(area / 2.0, rel=0.05)
    offsets = sorted((y - x) / math.sqrt(2) for (x, y), _ in (each.points for each in lines))
    assert {round(b - a, 6) for a, b in itertools.pairwise(offsets)} == {2.0}


def test_a_table_s_cells_stay_in_their_columns() -> None:
    columns = [Column("cut", 12.0, bold=True), Column("set to", 30.0), Column("n", 10.0, "end")]
    rows = [("1", "61 7/8 off the left end of it", "7"), ("22", HOSTILE, "100000000")]
    style = Style(12.0, 9.0, 6.0)
    marks = list(set_table(columns, rows, (10.0, 100.0), style))
    texts = [m for m in marks if isinstance(m, Text)]
    assert len(texts) == 9
    for text in texts:
        edges = [(10, 22), (22, 52), (52, 62)]
        high = next(e for e in edges if e[0] <= text.box.x0 < e[1])[1]
        assert text.box.x1 <= high
        assert 100 - style.height_of(2) - 0.5 <= text.box.y0 < text.box.y1 <= 100.5
    assert {t.size for t in texts if t.at[0] < 22} == {11.0, 12.0}  # one size for a column


# --- SVG ---------------------------------------------------------------------------------


def test_svg_is_xml_in_millimetres() -> None:
    root = ET.fromstring(svg_bytes(SHEET))
    assert (root.get("width"), root.get("viewBox")) == ("210mm", "0 0 210 297")
    (part,) = (e for e in root if e.get("class") == "part")
    assert part.get("d") == "M20 267L120 267L120 217L20 217Z"
    texts = {e.text: e for e in root if e.tag == f"{SVG}text"}
    assert texts["turned"].get("transform") == "rotate(-90 180 197)"
    assert float(texts["turned"].get("font-size", "")) == pytest.approx(10 * POINT, abs=1e-4)
    assert float(texts["Hamburg 3 1/2 × 4"].get("textLength", "")) == pytest.approx(
        text_width("Hamburg 3 1/2 × 4", 12.0), abs=1e-4
    )


def test_svg_escapes_what_is_hostile() -> None:
    text = drawable(HOSTILE)
    sheet = Sheet(A4, HOSTILE, (Text(text, (10, 10), role='"><script>'),))
    root = ET.fromstring(svg_bytes(sheet))
    assert [e.text for e in root if e.tag == f"{SVG}text"] == [text]
    assert not list(root.iter(f"{SVG}script"))


def test_the_same_bytes() -> None:
    assert pdf_bytes([SHEET], "Trial") == pdf_bytes([SHEET], "Trial")
    assert svg_bytes(SHEET) == svg_bytes(SHEET)


# --- PDF ---------------------------------------------------------------------------------


def _page(sheet: Sheet):  # type: ignore[no-untyped-def]
    pdfium = pytest.importorskip("pypdfium2")
    return pdfium.PdfDocument(pdf_bytes([sheet, sheet], "Trial"))[1]


def test_pdf_pages_are_exactly_the_paper() -> None:
    for paper in (A4, LETTER, A4.turned):
        width, height = _page(Sheet(paper, "Trial", MARKS)).get_size()
        assert (width * POINT, height * POINT) == pytest.approx(
            (paper.width, paper.height), abs=1e-3
        )


def test_pdf_draws_to_scale() -> None:
    """A rectangle of 100 x 50 mm, measured in pixels at 600 to the inch."""
    box = _ink(_page(Sheet(A4, "Trial", MARKS[:1])))
    assert box == pytest.approx((20, 30, 120, 80), abs=0.05)


def test_pdf_text_is_where_it_was_measured() -> None:
    for text in (MARKS[3], MARKS[4]):
        assert isinstance(text, Text)
        x0, y0, x1, y1 = _ink(_page(Sheet(A4, "Trial", (text,))))
        measured = text.box
        assert measured.holds(Box(x0, y0, x1, y1), slack=0.1)
        along = (x1 - x0, measured.width) if not text.turn_deg else (y1 - y0, measured.height)
        assert along[0] == pytest.approx(along[1], abs=0.9)  # but for the letters' own margins


def test_pdf_text_can_be_searched() -> None:
    page = _page(Sheet(A4, "Trial", (*MARKS, Text(drawable(HOSTILE), (10, 20), 8.0))))
    found = page.get_textpage().get_text_range()
    for text in ("Hamburg 3 1/2 × 4", "turned", drawable(HOSTILE)):
        assert text in found


def _ink(page) -> tuple[float, float, float, float]:  # type: ignore[no-untyped-def]
    """What is not white on a page (mm from its lower left corner)."""
    import numpy as np

    dpi = 600
    pixels = page.render(scale=dpi / 72, grayscale=True).to_numpy()
    dark = pixels.reshape(pixels.shape[:2]) < 128
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    height = page.get_size()[1] * POINT
    mm = 25.4 / dpi
    return (
        columns[0] * mm,
        height - (rows[-1] + 1) * mm,
        (columns[-1] + 1) * mm,
        height - rows[0] * mm,
    )


def test_paths_need_no_pen() -> None:
    bare = Path(((0.0, 0.0), (10.0, 0.0), (0.0, 10.0)), None, "#000000", True)
    element = next(
        e for e in ET.fromstring(svg_bytes(Sheet(A4, "", (bare,)))) if e.tag == f"{SVG}path"
    )
    assert element.get("stroke") is None
