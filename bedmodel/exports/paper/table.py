"""Set a table on a sheet: a head, a rule, and rows whose cells are made to fit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.exports.paper.sheet import Anchor, Mark, Pen, Point, Text, line
from bedmodel.exports.paper.type import MM_PER_POINT, fitted

_GAP = 1.6  # mm between the text of two columns
_RULE = Pen(0.35)
_HAIR = Pen(0.1, "#999999")


@dataclass(frozen=True)
class Column:
    """A column's head, width (mm) and side; ``bold`` for its cells."""

    head: str
    width: float
    anchor: Anchor = "start"
    bold: bool = False


@dataclass(frozen=True)
class Style:
    """Sizes of the cells and the smallest they may shrink to (points); pitch of rows (mm)."""

    size: float = 10.0
    least: float = 9.0
    pitch: float = 5.4

    @property
    def head_height(self) -> float:
        return self.pitch + 0.8

    def rows_in(self, height: float) -> int:
        """How many rows stand in a height, below the head."""
        return max(int((height - self.head_height) / self.pitch + 1e-9), 0)

    def height_of(self, rows_count: int) -> float:
        return self.head_height + rows_count * self.pitch


STYLE = Style()


def set_table(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    top_left: Point,
    style: Style = STYLE,
) -> Iterator[Mark]:
    """Draw the table down from its upper left corner."""
    x, y = top_left
    width = sum(column.width for column in columns)
    small = max(style.size - 1, style.least)
    heads = [replace(column, bold=True) for column in columns]
    sizes = [_size(column, [row[i] for row in rows], style) for i, column in enumerate(columns)]
    head_sizes = [_size(h, [h.head], replace(style, size=small)) for h in heads]
    yield from _row(heads, [h.head for h in heads], (x, y - style.pitch + _sink(style)), head_sizes)
    y -= style.head_height
    yield line((x, y + 0.4), (x + width, y + 0.4), _RULE)
    for number, row in enumerate(rows):
        if number:
            yield line((x, y), (x + width, y), _HAIR)
        y -= style.pitch
        yield from _row(columns, row, (x, y + _sink(style)), sizes)


def _size(column: Column, cells: Sequence[str], style: Style) -> float:
    """One size for a whole column: that of its longest cell."""
    room = column.width - _GAP
    fits = (fitted(cell, room, style.size, style.least, column.bold)[1] for cell in cells)
    return min(fits, default=style.size)


def _sink(style: Style) -> float:
    """How far a row's base line lies above its lower edge."""
    return (style.pitch - 0.55 * style.size * MM_PER_POINT) / 2 - 0.1


def _row(
    columns: Sequence[Column], cells: Sequence[str], at: Point, sizes: Sequence[float]
) -> Iterator[Mark]:
    x = at[0]
    for column, cell, size in zip(columns, cells, sizes, strict=True):
        text = fitted(cell, column.width - _GAP, size, bold=column.bold)[0]
        left = {"start": 0.0, "middle": column.width / 2, "end": column.width - _GAP}
        if text:
            at_x = x + left[column.anchor]
            yield Text(text, (at_x, at[1]), size, column.bold, column.anchor)
        x += column.width
