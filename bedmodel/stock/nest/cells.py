"""Where one part may lie beside another, cut into convex cells.

The no-fit polygon is shrunk a little and simplified within that, so that the cells hold
all places that are allowed, and a hair more: what is impossible in them is impossible.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from bedmodel.stock.nest.polygons import Polygon, area, without_flat_corners

_SHRUNK = 0.5  # mm
_LEAST_AREA = 1e-6  # mm2; cells smaller than this are rounding
_FLAT = 1e-3  # mm; parts with less play than this across the plank lie in a row
_WIDER = 1e-4  # mm; every cell is larger by this, so that rounding loses no place

HalfPlane = tuple[float, float, float]  # nx, ny, d: the points with nx x + ny y >= d


def free_cells(taken: Any, reach_x: float, reach_y: float) -> list[list[HalfPlane]]:
    """The convex cells of what ``taken`` (a shapely polygon) leaves of a box round the origin."""
    import shapely

    small = taken.buffer(-_SHRUNK, join_style="mitre", mitre_limit=2.0).simplify(_SHRUNK)
    if reach_y < _FLAT:
        return [_half_planes(cell) for cell in _flat_cells(small, reach_x)]
    free = shapely.box(-reach_x, -reach_y, reach_x, reach_y).difference(small)
    levels = {-reach_y, reach_y}
    levels |= {y for _, y in shapely.get_coordinates(small).tolist() if abs(y) < reach_y}
    cells: list[Polygon] = []
    ordered = sorted(levels)
    for low, high in pairwise(ordered):
        if high - low < 1e-9:
            continue
        slab = shapely.box(-reach_x - 1, low, reach_x + 1, high).intersection(free)
        for piece in shapely.get_parts(slab):
            if piece.geom_type == "Polygon" and piece.area > _LEAST_AREA:
                cells = _joined(cells, piece)
    return [_half_planes(cell) for cell in cells]


def _joined(cells: list[Polygon], piece: Any) -> list[Polygon]:
    """The cells with one more, made one with a cell below it where the two are convex."""
    import shapely

    for at, cell in enumerate(cells):
        whole = shapely.Polygon(cell).union(piece)
        if whole.geom_type == "Polygon" and whole.convex_hull.area - whole.area < _LEAST_AREA:
            return [*cells[:at], _polygon(whole), *cells[at + 1 :]]
    # A slab between two levels is a trapezium, but for rounding.
    return [*cells, _polygon(piece)]


def _polygon(shape: Any) -> Polygon:
    import shapely

    corners = tuple(map(tuple, shapely.get_coordinates(shape.convex_hull)[:-1].tolist()))
    polygon: Polygon = without_flat_corners(corners)
    return polygon if area(polygon) > 0 else polygon[::-1]


def _flat_cells(small: Any, reach_x: float) -> list[Polygon]:
    """The cells of parts that can only lie in a row."""
    import shapely

    line = shapely.LineString([(-reach_x, 0.0), (reach_x, 0.0)]).difference(small)
    cells: list[Polygon] = []
    for x0, _, x1, _ in shapely.bounds(shapely.get_parts(line)).tolist():
        cells.append(((x0, -1.0), (x1 + _WIDER, -1.0), (x1 + _WIDER, 1.0), (x0, 1.0)))
    return cells


def _half_planes(cell: Polygon) -> list[HalfPlane]:
    planes = []
    for (ax, ay), (bx, by) in zip(cell, cell[1:] + cell[:1], strict=True):
        length = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
        if length > 1e-9:
            nx, ny = -(by - ay) / length, (bx - ax) / length
            planes.append((nx, ny, nx * ax + ny * ay - _WIDER))
    return planes
