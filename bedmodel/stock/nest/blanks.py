"""Rough blanks: the line to which a part is band-sawn, outside its outline all round."""

from __future__ import annotations

from bedmodel.outline import Outline, Point
from bedmodel.stock.nest.polygons import outer_polygon

_TOLERANCE = 0.05  # mm
_DIGITS = 3


def rough_blank(outline: Outline, allowance: float) -> tuple[Point, ...]:
    """The outline moved outward, its corners rounded, as a polygon of many short chords.

    Anticlockwise; no point of it is farther from the outline than the allowance, plus a
    tenth of a millimetre where arcs are rendered.
    """
    import shapely

    polygon = shapely.Polygon(outer_polygon(outline, _TOLERANCE))
    if allowance > 0:
        polygon = polygon.buffer(allowance, quad_segs=8)
    polygon = shapely.geometry.polygon.orient(polygon)
    return tuple(
        (round(x, _DIGITS) + 0.0, round(y, _DIGITS) + 0.0) for x, y in polygon.exterior.coords[:-1]
    )
