"""How the pages of the book look: type, tables, colours. Sizes in points, lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any
from xml.sax.saxutils import escape

from bedmodel.exports.paper.sheet import Paper
from bedmodel.exports.paper.type import BOLD, MM_PER_POINT, REGULAR, drawable, load_fonts

POINTS = 1 / MM_PER_POINT  # in one mm
MARGIN = 16.0
GUTTER = 7.0
FOOT = 10.0  # mm under the text, for the page's number
INK, PALE, RULE = "#1a1a1a", "#5c5c5c", "#b8b8b8"
WARN = "#8c2f14"
TINT = "#f3f1ec"
_BODY, _SMALL = 9.5, 8.0


def column_width(paper: Paper) -> float:
    """Of two columns."""
    return (text_width_of(paper) - GUTTER) / 2


def text_width_of(paper: Paper) -> float:
    return paper.width - 2 * MARGIN


@cache
def fonts() -> None:
    """Tell the library which letters are bold."""
    from reportlab.pdfbase.pdfmetrics import registerFontFamily

    load_fonts()
    registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)


@cache
def styles() -> dict[str, Any]:
    """Styles of paragraphs by name."""
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle

    fonts()

    def style(name: str, size: float, **more: Any) -> Any:
        bold = more.pop("bold", False)
        return ParagraphStyle(
            name,
            fontName=BOLD if bold else REGULAR,
            fontSize=size,
            leading=more.pop("leading", 1.32 * size),
            textColor=HexColor(more.pop("colour", INK)),
            **more,
        )

    found = [
        style("title", 30, bold=True, leading=35, spaceAfter=6),
        style("subtitle", 13, colour=PALE, leading=17, spaceAfter=4),
        style("chapter", 18, bold=True, spaceAfter=8),
        style("section", 12, bold=True, spaceBefore=12, spaceAfter=4, keepWithNext=1),
        style("over", 11, bold=True, spaceBefore=10, spaceAfter=3),
        style("body", _BODY, spaceAfter=4),
        style("lead", _BODY, colour=PALE, spaceAfter=8),
        style("item", _BODY, leftIndent=11, bulletIndent=2, spaceAfter=2),
        style("caution", _BODY, colour=WARN, leftIndent=11, bulletIndent=0, spaceAfter=2),
        style("cell", _SMALL, leading=10.2),
        style("number", _SMALL, leading=10.2, alignment=2),
        style("head", _SMALL, bold=True, leading=10.2),
        style("head_number", _SMALL, bold=True, leading=10.2, alignment=2),
        style("contents", 10.5, leading=17),
        style("step", 14, bold=True, spaceBefore=2, spaceAfter=3, keepWithNext=1),
        style("big", 11, leading=16),
    ]
    return {each.name: each for each in found}


def paragraph(text: str, style: str = "body", bullet: str = "") -> Any:
    """Plain text as a paragraph: whatever the sheet holds stays text."""
    from bedmodel.book.flowables import Words

    marks = {"bulletText": bullet} if bullet else {}
    return Words(escape(long_drawable(text)), styles()[style], **marks)


def long_drawable(text: str) -> str:
    """As ``drawable``, for text longer than a line."""
    return " ".join(drawable(word) for word in text.split())


def grouped_table(
    heads: Sequence[str],
    groups: Sequence[tuple[str, Sequence[Sequence[str]]]],
    widths: Sequence[float],
    numbers: str = "",
) -> Any:
    """A table whose rows stand under headings that go across it."""
    rows: list[Sequence[str]] = []
    across = []
    for title, matter in groups:
        across.append(len(rows) + 1)
        rows += [(title, *[""] * (len(heads) - 1)), *matter]
    return _table(heads, rows, widths, numbers, across)


def table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    widths: Sequence[float],
    numbers: str = "",
) -> Any:
    """A table that breaks over pages with its head repeated; ``widths`` in mm.

    ``numbers`` has an r for each column that is set to the right.
    """
    return _table(heads, rows, widths, numbers, ())


def _table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    widths: Sequence[float],
    numbers: str,
    across: Sequence[int],
) -> Any:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import TableStyle

    from bedmodel.book.flowables import Rows

    right = [numbers[k : k + 1] == "r" for k in range(len(heads))]
    cells = [
        [paragraph(h, "head_number" if r else "head") for h, r in zip(heads, right, strict=True)],
        *(
            [_cell(c, r, k in across) for c, r in zip(row, right, strict=True)]
            for k, row in enumerate(rows, start=1)
        ),
    ]
    made = Rows(cells, [w * POINTS for w in widths], repeatRows=1, hAlign="LEFT")
    made.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEABOVE", (0, 0), (-1, 0), 0.9, HexColor(INK)),
                ("LINEBELOW", (0, 0), (-1, 0), 0.6, HexColor(INK)),
                ("LINEBELOW", (0, 1), (-1, -1), 0.3, HexColor(RULE)),
                ("LEFTPADDING", (0, 0), (-1, -1), 2.5),
                ("RIGHTPADDING", (0, 0), (-1, -1), 2.5),
                ("TOPPADDING", (0, 0), (-1, -1), 2.2),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 2.6),
                *(("SPAN", (0, k), (-1, k)) for k in across),
                *(("BACKGROUND", (0, k), (-1, k), HexColor(TINT)) for k in across),
                # A heading never stands alone at the foot of a page.
                *(("NOSPLIT", (0, k), (-1, min(k + 1, len(rows)))) for k in across),
            ]
        )
    )
    return made


def _cell(text: str, is_right: bool, is_heading: bool) -> Any:
    style = "head" if is_heading else "number" if is_right else "cell"
    return paragraph(text, style) if text else ""


def shares(paper: Paper, *parts: float) -> list[float]:
    """Widths (mm) of columns that fill the page, in proportion."""
    whole = text_width_of(paper)
    return [whole * part / sum(parts) for part in parts]
