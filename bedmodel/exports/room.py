"""Free places inside an outline, for the words on a template."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bedmodel.outline import Edge, Outline, Point

CLEAR = 3.0  # mm between words and any line
_STEP = 1.5  # mm between the points that stand for a line when room is sought
_CELL = 0.5  # mm, of the grid in which taken points are counted

# Places to try, as shares of the spare room, from the middle outwards.
_SHARES = np.array(
    [
        (i / 48, j / 24)
        for _, _, i, j in sorted(
            (abs(i - 24), abs(j - 12), i, j) for i in range(49) for j in range(25)
        )
    ]
)


@dataclass(frozen=True)
class Box:
    """A turned rectangle that words will fill: lower left corner, size (mm), turn (degrees)."""

    at: Point
    width: float
    height: float
    turn_deg: float = 0.0

    def point(self, x: float, y: float) -> Point:
        c, s = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        return (self.at[0] + c * x - s * y, self.at[1] + s * x + c * y)


@dataclass(frozen=True, eq=False)
class Room:
    """Where words may go: inside ``ring``, on none of the points ``taken``."""

    ring: NDArray[np.float64]
    taken: NDArray[np.float64]

    @classmethod
    def inside(cls, outline: Outline) -> Room:
        points = [
            edge.point_at(k / count)
            for edge in outline.edges()
            for count in (math.ceil(edge.length / _STEP),)
            for k in range(count)
        ]
        return cls(np.array(points), np.array(points))

    def without(self, points: Sequence[Point]) -> Room:
        return replace(self, taken=np.vstack([self.taken, np.array(points).reshape(-1, 2)]))

    def without_box(self, box: Box) -> Room:
        return self.without_boxes([box])

    def without_boxes(self, boxes: Sequence[Box]) -> Room:
        rows = []
        for box in boxes:
            # Rows closer than the lowest words and their clearance, so that none fit between.
            count = math.ceil(box.height / (2 * CLEAR)) + 1
            levels = [box.height * k / (count - 1) for k in range(count)]
            rows += [(box.point(0.0, y), box.point(box.width, y)) for y in levels]
        return self.without(line_points(rows))

    def holds(self, box: Box) -> bool:
        turn = math.radians(box.turn_deg)
        offset = self.taken - np.array(box.at)
        x = offset[:, 0] * math.cos(turn) + offset[:, 1] * math.sin(turn)
        y = offset[:, 1] * math.cos(turn) - offset[:, 0] * math.sin(turn)
        hit = (np.abs(x - box.width / 2) < box.width / 2 + CLEAR) & (
            np.abs(y - box.height / 2) < box.height / 2 + CLEAR
        )
        return not hit.any() and self._encloses(box.point(box.width / 2, box.height / 2))

    def _encloses(self, point: Point) -> bool:
        """Whether a ray from the point leaves the ring an odd number of times."""
        x, y = self.ring[:, 0], self.ring[:, 1]
        x2, y2 = np.roll(x, -1), np.roll(y, -1)
        spans = (y > point[1]) != (y2 > point[1])
        rise = np.where(spans, y2 - y, 1.0)
        reach = x + (point[1] - y) * (x2 - x) / rise
        return bool(np.count_nonzero(spans & (reach > point[0])) % 2)

    def find(self, width: float, height: float) -> Box | None:
        """A free level rectangle of this size, as near the middle as there is one."""
        low, high = self.ring.min(axis=0), self.ring.max(axis=0)
        size = np.array([width, height])
        spare = high - low - size
        if spare.min() < 0:
            return None
        corners = low + spare * _SHARES
        for corner in corners[self._taken_within(corners - CLEAR, corners + size + CLEAR) == 0]:
            box = Box((float(corner[0]), float(corner[1])), width, height)
            if self._encloses(box.point(width / 2, height / 2)):
                return box
        return None

    def _taken_within(
        self, lows: NDArray[np.float64], highs: NDArray[np.float64]
    ) -> NDArray[np.int64]:
        """How many taken points lie in each rectangle, or in the cells it touches."""
        sums, origin = self._sums
        top = np.array(sums.shape) - 1
        i0, j0 = np.clip(np.floor((lows - origin) / _CELL).astype(int), 0, top).T
        i1, j1 = np.clip(np.ceil((highs - origin) / _CELL).astype(int), 0, top).T
        within: NDArray[np.int64] = sums[i1, j1] - sums[i0, j1] - sums[i1, j0] + sums[i0, j0]
        return within

    @cached_property
    def _sums(self) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """Counts of taken points below and left of each cell's corner, and the first corner."""
        origin = self.taken.min(axis=0)
        cells = ((self.taken - origin) / _CELL).astype(int)
        counts = np.zeros(cells.max(axis=0) + 2, dtype=np.int64)
        np.add.at(counts, (cells[:, 0] + 1, cells[:, 1] + 1), 1)
        return counts.cumsum(axis=0).cumsum(axis=1), origin


def line_points(lines: Sequence[tuple[Point, Point]]) -> list[Point]:
    """Points along straight lines, close enough that no words fit between."""
    points = []
    for start, end in lines:
        count = math.ceil(math.dist(start, end) / _STEP) + 1
        edge = Edge(start, end, 0.0, "")
        points += [edge.point_at(k / count) for k in range(count + 1)]
    return points
