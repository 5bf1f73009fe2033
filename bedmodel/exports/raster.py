"""Triangles to pixels in numpy alone: cameras, a z-buffer, no graphics library.

Words used here:

screen    columns to the right and rows down, in pixels; the centre of the first
          pixel is at (0.5, 0.5)
depth     grows away from the eye; chosen so that a plane in space is a linear
          function of column and row, in parallel and in perspective alike
target    the point of space that the view is taken about

      row             back (towards the eye)
       |   up  ^    /
       v       |  /
               |/____> right
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bedmodel.frames import Vector, cross, unit

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]

NOTHING = -1  # the index of a pixel that no triangle covers

_SNAP = 4096.0  # corners are put on this fraction of a pixel, so that shared edges agree
_BATCH = 1_500_000  # pixels of triangles held at once
_INDEX_BITS = 24
_DEPTH_STEPS = float(2**38)
_EMPTY = np.iinfo(np.int64).max


@dataclass(frozen=True)
class View:
    """How space falls on the screen. ``right`` is level, so that +Z is never askew.

    ``scale`` is pixels per millimetre at the target; ``column`` and ``row`` are
    where the target falls; ``nearness`` is 1 over the distance from eye to
    target (per mm), 0 for a parallel view.
    """

    right: Vector
    up: Vector
    back: Vector
    target: Vector
    nearness: float = 0.0
    scale: float = 1.0
    column: float = 0.0
    row: float = 0.0

    @classmethod
    def towards(cls, back: Vector, target: Vector) -> View:
        """Look along -``back`` (not upright) at ``target`` in parallel, with +Z up."""
        right = unit(cross((0.0, 0.0, 1.0), back))
        return cls(right, cross(back, right), back, target)

    @classmethod
    def orbit(
        cls, azimuth_deg: float, elevation_deg: float, target: Vector, nearness: float = 0.0
    ) -> View:
        """Look at ``target`` from an azimuth and elevation, up to straight down, with +Z up."""
        back = direction(azimuth_deg, elevation_deg)
        right = direction(azimuth_deg + 90.0, 0.0)
        return cls(right, cross(back, right), back, target, nearness)

    def fitted(self, points: Floats, width: int, height: int, margin: float) -> View:
        """Scale and shift so that the points fill the screen but for a margin in pixels."""
        seen = self.project(points)
        low, high = seen.min(axis=0), seen.max(axis=0)
        span = np.maximum(high - low, 1e-9)
        grow = min((width - 2 * margin) / span[0], (height - 2 * margin) / span[1])
        middle = (low + high) / 2
        return View(
            self.right,
            self.up,
            self.back,
            self.target,
            self.nearness,
            self.scale * grow,
            width / 2 - float(middle[0] - self.column) * grow,
            height / 2 - float(middle[1] - self.row) * grow,
        )

    def project(self, points: Floats) -> Floats:
        """Take points (n x 3, space) to column, row and depth (n x 3)."""
        x, y, z = (points[:, i] - self.target[i] for i in range(3))
        along = [a[0] * x + a[1] * y + a[2] * z for a in (self.right, self.up, self.back)]
        grow = 1.0 / (1.0 - self.nearness * along[2])
        return np.stack(
            (
                self.column + self.scale * along[0] * grow,
                self.row - self.scale * along[1] * grow,
                -along[2] * grow,
            ),
            axis=1,
        )

    def space(self, column: Singles, row: Singles, depth: Singles) -> list[Singles]:
        """Take columns, rows and depths back to x, y and z in space."""
        one = np.float32(1.0)
        shrink: Singles = one / (one - np.float32(self.nearness) * depth)
        across: Singles = (column - np.float32(self.column)) * (shrink / np.float32(self.scale))
        along: Singles = (np.float32(self.row) - row) * (shrink / np.float32(self.scale))
        nearer: Singles = -depth * shrink
        found: list[Singles] = [
            np.float32(self.target[i])
            + np.float32(self.right[i]) * across
            + np.float32(self.up[i]) * along
            + np.float32(self.back[i]) * nearer
            for i in range(3)
        ]
        return found

    def floor_depth(self, row: Singles, level: float) -> Singles:
        """Depth, by row, of the plane z = ``level``; infinite where it is past the horizon.

        The eye must be above the plane.
        """
        rise = self.target[2] - level
        drop = self.back[2] + self.nearness * rise
        along = (np.float32(self.row) - row) * np.float32(self.up[2] / self.scale)
        depth = (np.float32(rise) + along) / np.float32(drop)
        hidden = 1.0 - np.float32(self.nearness) * depth <= 1e-3
        return np.where(hidden, np.float32(np.inf), depth)


def direction(azimuth_deg: float, elevation_deg: float) -> Vector:
    """The unit vector at an azimuth (anticlockwise from +X, seen from above) and elevation."""
    azimuth, elevation = math.radians(azimuth_deg), math.radians(elevation_deg)
    level = math.cos(elevation)
    return (level * math.cos(azimuth), level * math.sin(azimuth), math.sin(elevation))


def plane_slopes(corners: Floats, values: Floats) -> Floats:
    """Slopes of values given at the corners of triangles on the screen.

    ``corners`` is n x 3 x 2 or more (column, row, ...), ``values`` n x 3 x k.
    Returns n x k x 3: the value at a pixel is [0] * column + [1] * row + [2].
    """
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    det = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    det = np.where(det == 0.0, 1.0, det)[:, None]
    rise, lift = values[:, 1] - values[:, 0], values[:, 2] - values[:, 0]
    by_column = (rise * second[:, 1:2] - lift * first[:, 1:2]) / det
    by_row = (lift * first[:, 0:1] - rise * second[:, 0:1]) / det
    start = values[:, 0] - by_column * corners[:, 0, 0:1] - by_row * corners[:, 0, 1:2]
    return np.stack((by_column, by_row, start), axis=2)


def snapped(corners: Floats) -> Floats:
    """Put the columns and rows of corners (n x 3 x 3) on a fine grid, as ``rasterise`` needs."""
    put = corners.copy()
    put[:, :, :2] = np.round(put[:, :, :2] * _SNAP) / _SNAP
    return put


def outward(corners: Floats) -> NDArray[np.bool_]:
    """Say which triangles (n x 3 x 3, screen) show their front: anticlockwise to the eye."""
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    # Rows run down, so anticlockwise to the eye is clockwise in column and row.
    turned: NDArray[np.bool_] = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0] < 0.0
    return turned


def rasterise(
    corners: Floats, width: int, height: int
) -> tuple[NDArray[np.int32], NDArray[np.float32]]:
    """Find for each pixel the nearest of the triangles (n x 3 x 3: column, row, depth).

    A pixel belongs to a triangle that holds its centre. Returns the triangle's
    index (``NOTHING`` where there is none) and the depth there (infinite where
    none), each height x width. The order of the triangles counts only where two
    are equally near; then the first is kept.
    """
    buffer = np.full(width * height, _EMPTY, dtype=np.int64)
    if len(corners) == 0:
        shape = (height, width)
        return np.full(shape, NOTHING, np.int32), np.full(shape, np.inf, np.float32)
    low = float(corners[:, :, 2].min())
    step = (float(corners[:, :, 2].max()) - low or 1.0) / _DEPTH_STEPS
    for pixel, index, depth in _covered(corners, width, height):
        key = ((depth - low) / step).astype(np.int64)
        np.minimum.at(buffer, pixel, (key << _INDEX_BITS) | index)
    empty = buffer == _EMPTY
    nearest = (buffer & ((1 << _INDEX_BITS) - 1)).astype(np.int32)
    nearest[empty] = NOTHING
    buffer >>= _INDEX_BITS
    far = (buffer * step + low).astype(np.float32)
    far[empty] = np.inf
    return nearest.reshape(height, width), far.reshape(height, width)


def _covered(corners: Floats, width: int, height: int) -> Iterator[tuple[Ints, Ints, Floats]]:
    """Yield pixel number, triangle and depth for all pixels of all triangles, in batches."""
    order = np.argsort(corners[:, :, 1], axis=1, kind="stable")
    tri = np.take_along_axis(corners, order[:, :, None], axis=1)
    slopes = plane_slopes(tri, tri[:, :, 2:3])[:, 0]
    first = np.clip(np.ceil(tri[:, 0, 1] - 0.5), 0, height).astype(np.int64)
    last = np.clip(np.ceil(tri[:, 2, 1] - 0.5), 0, height).astype(np.int64)
    owner, row = _runs(first, last)
    start, stop = _row_ends(tri, owner, row, width)
    ends = np.cumsum(stop - start)
    reach = np.stack((tri[:, :, 2].min(axis=1), tri[:, :, 2].max(axis=1)))
    at = 0
    while at < len(owner):
        done = int(ends[at - 1]) if at else 0
        to = max(at + 1, int(np.searchsorted(ends, done + _BATCH, side="right")))
        run, column = _runs(start[at:to], stop[at:to])
        index, line = owner[at:to], row[at:to]
        base = slopes[index, 1] * (line + 0.5) + slopes[index, 2] + 0.5 * slopes[index, 0]
        depth = base[run] + slopes[index, 0][run] * column
        near, far = reach[0][index][run], reach[1][index][run]
        # A triangle seen edge-on has a steep plane: rounding must not leave its own reach.
        yield (line * width)[run] + column, index[run], np.clip(depth, near, far)
        at = to


def _runs(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """List (which run, number) for each number of the runs first <= number < last."""
    lengths = np.maximum(last - first, 0)
    which = np.repeat(np.arange(len(first)), lengths)
    before = np.cumsum(lengths) - lengths
    return which, np.arange(len(which)) + (first - before)[which]


def _row_ends(tri: Floats, owner: Ints, row: Ints, width: int) -> tuple[Ints, Ints]:
    """The columns, first and past the last, that each triangle covers in each of its rows."""
    y: Floats = row.astype(np.float64) + 0.5
    upper = y < tri[:, 1, 1][owner]
    long_side = _crossing(tri, 0, 2, owner, y)
    short_side = np.where(upper, _crossing(tri, 0, 1, owner, y), _crossing(tri, 1, 2, owner, y))
    left, right = np.minimum(long_side, short_side), np.maximum(long_side, short_side)
    start = np.clip(np.ceil(left - 0.5), 0, width).astype(np.int64)
    stop = np.clip(np.ceil(right - 0.5), 0, width).astype(np.int64)
    return start, np.maximum(start, stop)


def _crossing(tri: Floats, top: int, bottom: int, owner: Ints, y: Floats) -> Floats:
    """Where the side from corner top to corner bottom of the owning triangle crosses y.

    Two triangles with that side in common get the same column, so no gap is left.
    """
    start, stop = tri[:, top], tri[:, bottom]
    drop = stop[:, 1] - start[:, 1]
    slope = (stop[:, 0] - start[:, 0]) / np.where(drop == 0.0, 1.0, drop)
    crossing: Floats = start[:, 0][owner] + (y - start[:, 1][owner]) * slope[owner]
    return crossing
