"""Lay chapters out on pages: numbers, running feet, a list of contents, bookmarks.

The pages are laid out twice: the first pass only finds on which page each chapter begins, and
draws nothing. The list of contents has a page to itself, so that its lines move nothing.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
)

from bedmodel.book.flowables import Counting
from bedmodel.book.style import (
    FOOT,
    GUTTER,
    INK,
    MARGIN,
    PALE,
    POINTS,
    column_width,
    fonts,
    paragraph,
    text_width_of,
)
from bedmodel.exports.paper.pdf import draw_marks
from bedmodel.exports.paper.sheet import Paper, Sheet
from bedmodel.exports.paper.type import REGULAR, drawable, fitted

Story = list[Any]
TEXT, COLUMNS = "text", "columns"
BARE = "bare"


@dataclass(frozen=True)
class Chapter:
    """A chapter: what it is called, and a function that gives its flowables anew each time."""

    title: str
    matter: Callable[[], Story]


class Opening(Flowable):  # type: ignore[misc]
    """Where a chapter begins: its bookmark and its line in the list of contents."""

    def __init__(self, title: str, level: int = 0) -> None:
        super().__init__()
        self.title, self.level = title, level
        self.width = self.height = 0.0

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return 0.0, 0.0

    def draw(self) -> None:
        key = f"{self.level}-{drawable(self.title)}"
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(drawable(self.title), key, level=self.level)


class Drawn(Flowable):  # type: ignore[misc]
    """A sheet's marks, as large as they are or smaller to fit the width; in text or as a page."""

    def __init__(self, sheet: Sheet, most: float | None = None) -> None:
        super().__init__()
        self.sheet = sheet
        self.scale = 1.0 if most is None else min(1.0, most / sheet.paper.width)
        self.width = sheet.paper.width * self.scale * POINTS
        self.height = sheet.paper.height * self.scale * POINTS

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        if isinstance(self.canv, Counting):
            return
        self.canv.saveState()
        self.canv.scale(self.scale, self.scale)
        draw_marks(self.canv, self.sheet.marks)
        self.canv.restoreState()


class _Book(BaseDocTemplate):  # type: ignore[misc]
    """Remembers on which page each chapter opens."""

    def __init__(self, out: io.BytesIO, **more: Any) -> None:
        super().__init__(out, **more)
        self.openings: list[tuple[str, int, int]] = []
        self.running = ""

    def afterFlowable(self, flowable: Any) -> None:
        if isinstance(flowable, Opening):
            self.openings.append((flowable.title, flowable.level, self.page))
            if flowable.level == 0:
                self.running = flowable.title


def whole_page(sheet: Sheet) -> Story:
    """A sheet as a page of its own size."""
    return [NextPageTemplate(_name(sheet.paper)), PageBreak(), Drawn(sheet)]


def new_page(kind: str = TEXT) -> Story:
    """From here on pages of text again, or of text in two columns."""
    return [NextPageTemplate(kind), PageBreak()]


def _name(paper: Paper) -> str:
    return f"{paper.width:g}x{paper.height:g}"


def book_bytes(
    title: str,
    paper: Paper,
    others: Sequence[Paper],
    story: Callable[[Sequence[tuple[str, int, int]]], Story],
) -> bytes:
    """The book as PDF. ``story`` gives its flowables anew from the openings found.

    ``others`` are the papers of the whole pages. The same bytes each time.
    """
    fonts()
    first = _laid_out(io.BytesIO(), title, paper, others, story([]), 0)
    out = io.BytesIO()
    _laid_out(out, title, paper, others, story(first.openings), first.page)
    return out.getvalue()


def _laid_out(
    out: io.BytesIO, title: str, paper: Paper, others: Sequence[Paper], story: Story, pages: int
) -> _Book:
    book = _Book(
        out,
        pagesize=(paper.width * POINTS, paper.height * POINTS),
        title=drawable(title),
        author="",
        creator="bedmodel",
        invariant=1,
        pageCompression=1,
    )
    width, column = text_width_of(paper), column_width(paper)
    frame = _frame(paper, MARGIN, width)
    columns = [_frame(paper, left, column) for left in (MARGIN, MARGIN + column + GUTTER)]

    def foot(canvas: Any, book: _Book) -> None:
        _foot(canvas, paper, title, book.running, book.page, pages)

    templates = [
        PageTemplate(BARE, [frame], pagesize=_points(paper)),
        PageTemplate(TEXT, [frame], onPageEnd=foot, pagesize=_points(paper)),
        PageTemplate(COLUMNS, columns, onPageEnd=foot, pagesize=_points(paper)),
    ]
    for other in dict.fromkeys((each.width, each.height) for each in others):
        size = Paper("", *other)
        whole = _bare_frame(0, 0, *_points(size))
        templates.append(PageTemplate(_name(size), [whole], pagesize=_points(size)))
    book.addPageTemplates(templates)
    book.build(story, canvasmaker=Canvas if pages else Counting)
    return book


def _frame(paper: Paper, left: float, width: float) -> Frame:
    """Where text stands between a page's margins (mm)."""
    low, high = MARGIN + FOOT, paper.height - MARGIN
    return _bare_frame(left * POINTS, low * POINTS, width * POINTS, (high - low) * POINTS)


def _bare_frame(x: float, y: float, width: float, height: float) -> Frame:
    return Frame(x, y, width, height, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)


def _points(paper: Paper) -> tuple[float, float]:
    # A whole page's drawing is exactly as large as its frame, which must not be a hair less.
    return paper.width * POINTS + 1e-4, paper.height * POINTS + 1e-4


def _foot(canvas: Any, paper: Paper, title: str, running: str, page: int, pages: int) -> None:
    y = (MARGIN + 1.5) * POINTS
    left, right = MARGIN * POINTS, (paper.width - MARGIN) * POINTS
    canvas.saveState()
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.4)
    canvas.line(left, y + 11, right, y + 11)
    canvas.setFillColor(PALE)
    words, size = fitted(title, 90.0, 8.0, 6.0)
    canvas.setFont(REGULAR, size)
    canvas.drawString(left, y, words)
    canvas.setFont(REGULAR, 8.0)
    canvas.drawCentredString((left + right) / 2, y, drawable(running))
    canvas.drawRightString(right, y, f"page {page} of {pages}" if pages else f"page {page}")
    canvas.restoreState()


def heading(title: str) -> Story:
    """A chapter's heading with its bookmark."""
    return [Opening(title), paragraph(title, "chapter")]


def section(title: str) -> Story:
    return [paragraph(title, "section")]
