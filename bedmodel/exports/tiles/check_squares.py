"""The squares that prove a print's scale, and the bar on every sheet."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.exports.paper.sheet import Box, Mark, Pen, Text, line, rectangle

SIDES = ((50.0, "50 mm"), (50.8, "2 in"))
GAP = 8.0
SQUARES_WIDTH = sum(side for side, _ in SIDES) + GAP
SQUARES_HEIGHT = max(side for side, _ in SIDES)
BAR = 100.0
_PEN, _BAR = Pen(0.2), Pen(0.18)


def squares(x: float, y: float) -> Iterator[Mark]:
    """A square of 50 mm and one of 2 in, side by side, from a lower left corner."""
    for side, words in SIDES:
        yield rectangle(Box(x, y, x + side, y + side), _PEN, role="check")
        yield Text(words, (x + side / 2, y + side / 2 + 1.0), 12.0, True, "middle")
        yield Text("measure me", (x + side / 2, y + side / 2 - 4.5), 7.0, anchor="middle")
        x += side + GAP


def bar(x: float, y: float) -> Iterator[Mark]:
    """A line of 100 mm with a tick each 10."""
    yield line((x, y), (x + BAR, y), _BAR, role="bar")
    for k in range(11):
        tall = 2.4 if k % 5 == 0 else 1.4
        yield line((x + 10.0 * k, y), (x + 10.0 * k, y + tall), _BAR)
    yield Text("100 mm", (x + BAR + 2.0, y), 7.0)
