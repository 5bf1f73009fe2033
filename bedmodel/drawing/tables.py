"""Tables and notes as blocks that are measured before they have their place (mm, points)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from bedmodel.drawing.curves import Point
from bedmodel.drawing.pens import LAYERS
from bedmodel.exports.paper.sheet import Mark, Text, line
from bedmodel.exports.paper.type import text_width, wrapped

SIZE = 7.0
_ROW = 4.0
_LINE = 3.3
_PAD = 1.1
_TITLE = 5.2


@dataclass(frozen=True)
class Table:
    """Rows under headings; ``right`` has an r for each column set to the right.

    ``most`` is the greatest width of a column (mm); longer cells are wrapped.
    """

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: str = ""
    most: float = 60.0
    size: float = SIZE

    @cached_property
    def widths(self) -> list[float]:
        widths = []
        for i, head in enumerate(self.headings):
            cells = [text_width(head, self.size, True)]
            cells += [text_width(row[i], self.size) for row in self.rows]
            widths.append(min(max(cells) + 0.1, self.most) + 2 * _PAD)
        return widths

    @cached_property
    def width(self) -> float:
        return max(sum(self.widths), text_width(self.title, self.size + 1, True))

    def _lines(self) -> list[list[list[str]]]:
        widths = self.widths
        return [
            [
                wrapped(cell, w - 2 * _PAD, self.size) or [""]
                for cell, w in zip(row, widths, strict=True)
            ]
            for row in self.rows
        ]

    def _heights(self) -> list[float]:
        return [_ROW + _LINE * (max(map(len, cells)) - 1) for cells in self._lines()]

    @cached_property
    def height(self) -> float:
        return _TITLE + (_ROW + 0.6 if any(self.headings) else 0.0) + sum(self._heights())

    def marks(self, corner: Point) -> Iterator[Mark]:
        """Draw it below and to the right of its upper left corner."""
        pen, widths = LAYERS["TABLE"][0], self.widths
        x0, y = corner
        yield Text(self.title, (x0, y - 3.2), self.size + 1, True)
        y -= _TITLE
        x1 = x0 + sum(widths)
        yield line((x0, y), (x1, y), LAYERS["VISIBLE"][0], "VISIBLE")
        if any(self.headings):
            yield from self._row(x0, y, [[h] for h in self.headings], True)
            y -= _ROW + 0.6
            yield line((x0, y), (x1, y), pen, "TABLE")
        for cells, height in zip(self._lines(), self._heights(), strict=True):
            yield from self._row(x0, y, cells, False)
            y -= height
            yield line((x0, y), (x1, y), pen, "TABLE")

    def _row(
        self, x: float, y: float, cells: Sequence[Sequence[str]], bold: bool
    ) -> Iterator[Mark]:
        for i, (cell, width) in enumerate(zip(cells, self.widths, strict=True)):
            to_right = self.right[i : i + 1] == "r"
            at = x + width - _PAD if to_right else x + _PAD
            for k, text in enumerate(cell):
                if text:
                    where = (at, y - 2.9 - k * _LINE)
                    yield Text(text, where, self.size, bold, "end" if to_right else "start")
            x += width


@dataclass(frozen=True)
class Notes:
    """Lines of words under a heading, wrapped to a width."""

    title: str
    lines: tuple[str, ...]
    width: float = 82.0
    size: float = SIZE

    def _wrapped(self) -> list[tuple[str, bool]]:
        out = []
        for text in self.lines:
            for k, part in enumerate(wrapped(text, self.width - 3.0, self.size)):
                out.append((part, k == 0))
        return out

    @cached_property
    def height(self) -> float:
        return _TITLE + _LINE * len(self._wrapped()) + 0.6

    def marks(self, corner: Point) -> Iterator[Mark]:
        x, y = corner
        yield Text(self.title, (x, y - 3.2), self.size + 1, True)
        y -= _TITLE
        for text, first in self._wrapped():
            if first:
                yield Text("\u2013", (x, y - 2.4), self.size)
            yield Text(text, (x + 2.6, y - 2.4), self.size)
            y -= _LINE


Block = Table | Notes
