"""What every landscape page has: a heading, and a strip with a bar to prove the scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.exports.paper.sheet import BLACK, Box, Mark, Paper, Pen, Text, line, rectangle
from bedmodel.exports.paper.type import fitted, text_width
from bedmodel.exports.plan_pages.words import Setup

MARGIN = 10.0
BAR = 100.0
HEADING, STRIP = 17.0, 12.0  # mm of paper
_RULE = Pen(0.5)
_CELL = Pen(0.25)
_SMALL, _BODY = 7.0, 10.0


def page_of(setup: Setup) -> Paper:
    return setup.paper.turned


def body(paper: Paper) -> Box:
    """What a page leaves for its matter."""
    return Box(MARGIN, MARGIN + STRIP + 2.0, paper.width - MARGIN, paper.height - MARGIN - HEADING)


def heading(paper: Paper, title: str, lines: Sequence[str]) -> Iterator[Mark]:
    """The title in large letters, and up to two lines beside it."""
    right, top = paper.width - MARGIN, paper.height - MARGIN
    title, size = fitted(title, 0.55 * (right - MARGIN), 24.0, 14.0, bold=True)
    yield Text(title, (MARGIN, top - 9.5), size, True, role="title")
    left = MARGIN + text_width(title, size, True) + 8.0
    for text, y in zip(lines, (top - 4.6, top - 10.6), strict=False):
        text, fit = fitted(text, right - left, 13.0, 9.0)
        yield Text(text, (left, y), fit)
    yield line((MARGIN, top - 13.5), (right, top - 13.5), _RULE)


def strip(
    paper: Paper, setup: Setup, what: str, scale: str, unit: str, number: tuple[int, int]
) -> Iterator[Mark]:
    """The strip along the foot: the bed, the page, scale and unit, and the bar of 100 mm."""
    low, high = MARGIN, MARGIN + STRIP
    right = paper.width - MARGIN
    left = MARGIN + BAR + 6.0
    cells = (
        ("bed", setup.bed, 0.36),
        ("page", what, 0.22),
        ("scale", scale, 0.14),
        ("lengths in", unit, 0.16),
        ("sheet", f"{number[0]} of {number[1]}", 0.12),
    )
    yield rectangle(Box(left, low, right, high), _CELL)
    x = left
    for name, text, share in cells:
        width = share * (right - left)
        if x > left:
            yield line((x, low), (x, high), _CELL)
        yield Text(name, (x + 1.2, high - 3.4), _SMALL, role="small")
        text, size = fitted(text, width - 2.4, _BODY, 8.0)
        yield Text(text, (x + 1.2, low + 2.6), size)
        x += width
    yield from scale_bar(MARGIN, low + 5.5)


def scale_bar(x: float, y: float) -> Iterator[Mark]:
    """A bar of 100 mm, to be measured on the print from end to end."""
    for k in (0, 40, 80):
        yield rectangle(Box(x + k, y, x + k + 20, y + 1.5), None, BLACK, "bar")
    for edge in (y + 0.05, y + 1.45):
        yield line((x, edge), (x + BAR, edge), Pen(0.1))
    text = "this bar is 100 mm long on a print at full size"
    yield Text(text, (x, y - 3.6), _SMALL, role="small")
