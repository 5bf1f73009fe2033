"""Divide a drawing over sheets of paper that overlap: which sheets, and where each lies.

A2 | B2      columns are letters, rows numbers from the bottom; the windows of
---+---      neighbours share a band as wide as ``OVERLAP``
A1 | B1
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from bedmodel.exports.paper.sheet import Box, Paper
from bedmodel.exports.tiles.full_size import FullSize, pieces_of
from bedmodel.exports.tiles.papers import MARGIN

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

OVERLAP = 10.0  # mm; room to glue, and for a cross
STRIP = 9.0  # mm under the window: the sheet's name and a bar to measure
CLEAR = 2.0  # mm of white round the drawing
ARM = 4.0  # mm, of a cross
_SPOTS = 25  # places looked at for a cross, along a seam
_INK = 0.5  # mm round a line that counts as inked

Cell = tuple[int, int]  # column, row


@dataclass(frozen=True)
class Grid:
    """The sheets of one drawing: the paper as it lies, and the kept cells in reading order."""

    drawing: FullSize
    paper: Paper
    columns: int
    rows: int
    cells: tuple[Cell, ...]

    @property
    def live(self) -> Box:
        """What a sheet shows of the drawing, on the paper."""
        return live_area(self.paper)

    @cached_property
    def origin(self) -> tuple[float, float]:
        """Lower left corner of the first window, in the drawing, so that it lies in the middle."""
        box, live = self.drawing.box, self.live
        across = self.columns * live.width - (self.columns - 1) * OVERLAP
        up = self.rows * live.height - (self.rows - 1) * OVERLAP
        return box.x0 - (across - box.width) / 2, box.y0 - (up - box.height) / 2

    def window(self, cell: Cell) -> Box:
        """What of the drawing (mm) a sheet shows."""
        x = self.origin[0] + cell[0] * (self.live.width - OVERLAP)
        y = self.origin[1] + cell[1] * (self.live.height - OVERLAP)
        return Box(x, y, x + self.live.width, y + self.live.height)

    def neighbour(self, cell: Cell, across: int, up: int) -> Cell | None:
        """The kept sheet beside one, or none."""
        other = (cell[0] + across, cell[1] + up)
        return other if other in self.cells else None

    @cached_property
    def _ink(self) -> BaseGeometry:
        return ink_of(self.drawing)

    def crosses(self, one: Cell, other: Cell) -> list[tuple[float, float]]:
        """Two places of the drawing in the band that two sheets share, clear of ink if any is.

        The same whichever sheet asks.
        """
        from shapely import Point

        a, b = sorted((self.window(one), self.window(other)), key=lambda w: (w.x0, w.y0))
        band = Box(max(a.x0, b.x0), max(a.y0, b.y0), min(a.x1, b.x1), min(a.y1, b.y1))
        is_upright = band.height > band.width

        def at(share: float) -> tuple[float, float]:
            x, y = (0.5, share) if is_upright else (share, 0.5)
            return band.x0 + x * band.width, band.y0 + y * band.height

        spots = [at(k / (_SPOTS + 1)) for k in range(1, _SPOTS + 1)]
        room = [self._ink.distance(Point(spot)) for spot in spots]
        # Far apart is best, but not in the corners, where those of two bands would meet.
        order = [*range(_SPOTS // 6, _SPOTS // 2), *range(_SPOTS // 6)]
        halves = (order, [_SPOTS - 1 - k for k in order])
        return [
            spots[next((k for k in half if room[k] > 1.5 * ARM), max(half, key=room.__getitem__))]
            for half in halves
        ]


def cell_name(cell: Cell) -> str:
    """ "A1", "B3"; after Z come AA, AB."""
    column, letters = cell[0] + 1, ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{cell[1] + 1}"


def live_area(paper: Paper) -> Box:
    return Box(MARGIN, MARGIN + STRIP, paper.width - MARGIN, paper.height - MARGIN)


def divided(drawing: FullSize, paper: Paper) -> Grid:
    """Divide a drawing over the fewest sheets, the paper upright or on its side."""
    grids = [_grid(drawing, way) for way in (paper, paper.turned)]
    return min(grids, key=lambda grid: (len(grid.cells), grid.columns * grid.rows))


def _grid(drawing: FullSize, paper: Paper) -> Grid:
    live, box = live_area(paper), drawing.box
    columns = _count(box.width + 2 * CLEAR, live.width)
    rows = _count(box.height + 2 * CLEAR, live.height)
    every = [(c, r) for r in reversed(range(rows)) for c in range(columns)]
    grid = Grid(drawing, paper, columns, rows, tuple(every))
    return Grid(drawing, paper, columns, rows, tuple(_needed(grid, every, ink_of(drawing))))


def _count(length: float, live: float) -> int:
    return max(1, math.ceil((length - OVERLAP) / (live - OVERLAP) - 1e-9))


def ink_of(drawing: FullSize) -> BaseGeometry:
    """What is inked, as an area: lines with a little round them, and the words' boxes."""
    from shapely import LineString, box, union_all

    lines = [LineString(pieces_of(path)).buffer(_INK) for path in drawing.lines]
    words = [box(w.box.x0, w.box.y0, w.box.x1, w.box.y1) for w in drawing.words]
    return union_all([*lines, *words])


def _needed(grid: Grid, every: list[Cell], ink: BaseGeometry) -> list[Cell]:
    """Leave out sheets that show nothing their neighbours do not, if the rest hang together.

    Those with least ink go first.
    """
    from shapely import box, union_all

    windows = {c: box(w.x0, w.y0, w.x1, w.y1) for c in every for w in (grid.window(c),)}
    kept = list(every)
    for cell in sorted(every, key=lambda c: (ink.intersection(windows[c]).area, c)):
        rest = [c for c in kept if c != cell]
        if not rest:
            break
        mine = ink.intersection(windows[cell])
        covered = mine.difference(union_all([windows[c] for c in rest])).area < 1e-6
        if covered and _hang_together(rest):
            kept = rest
    return kept


def _hang_together(cells: list[Cell]) -> bool:
    """Whether each sheet is joined to the others along an edge, near or far."""
    found, ahead = {cells[0]}, [cells[0]]
    while ahead:
        column, row = ahead.pop()
        for step in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            other = (column + step[0], row + step[1])
            if other in cells and other not in found:
                found.add(other)
                ahead.append(other)
    return len(found) == len(cells)
