"""Run a guided bit along a template and compare what it cuts with what was wanted.

The guide's centre may be wherever the guide does not touch the template; the bit
takes away all wood within its radius of such a centre. Nothing here shares a formula
with ``router``: a wrong template shows as wood left standing or cut too far.

Good to about 0.005 mm, except at steps and arcs smaller than a hundredth of the guide's
radius, which the geometry library smooths over. Not asked is whether the router has a
way in to every part of an opening.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from bedmodel.cutters import Cutter
from bedmodel.outline import Edge, Outline, Point
from bedmodel.shop.router import Side

SAGITTA = 0.001  # mm; how far a chord may stand off the arc it stands for
_SLIVER = 10.0  # times the sagitta; thinner remains are noise of the chords


@dataclass(frozen=True)
class CutReport:
    """Wood left standing and wood cut by mistake: areas (mm2) and greatest depths (mm).

    A depth is measured square to the edge it breaks: ``uncut_depth`` how far wood
    that should be gone reaches from the cut, ``overcut_depth`` how far the cut
    reaches into wood that should stay. ``uncut_depth`` is infinite where nothing
    at all is cut.
    """

    uncut_area: float
    overcut_area: float
    uncut_depth: float
    overcut_depth: float


def simulate(
    template: Outline,
    wanted: Outline,
    cutter: Cutter,
    side: Side,
    sagitta: float = SAGITTA,
    wood: Outline | None = None,
) -> CutReport:
    """Cut along a template and compare with the wanted outline.

    Both outlines lie in one frame. ``side`` says whether they are openings (cut
    inside) or a part and its template (cut outside). ``sagitta`` (mm) is how finely
    arcs are followed; remains thinner than ten times that are not counted. Where the
    cut runs out over an edge, ``wood`` is the part's face: outside it nothing counts.
    """
    # With a hair of play a bit enters a slot of its own width; straight edges do not move.
    guide, bit = cutter.guide / 2 - 2 * sagitta, cutter.diameter / 2 - 2 * sagitta
    guiding, shape = polygon(template, sagitta), polygon(wanted, sagitta)
    if side == "inside":
        cut = _grown(_grown(guiding, -guide, sagitta), bit, sagitta)
        uncut, overcut = shape.difference(cut), cut.difference(shape)
    else:
        # All wood is cut but for what no allowed centre comes near.
        cut = _grown(_grown(guiding, guide, sagitta), -bit, sagitta)
        uncut, overcut = cut.difference(shape), shape.difference(cut)
    if wood is not None:
        face = polygon(wood, sagitta)
        uncut, overcut = uncut.intersection(face), overcut.intersection(face)
    left = _measured(uncut, cut.boundary, _SLIVER * sagitta)
    gone = _measured(overcut, shape.boundary, _SLIVER * sagitta)
    return CutReport(left[0], gone[0], left[1], gone[1])


def polygon(outline: Outline, sagitta: float = SAGITTA) -> Any:
    """The outline as a shapely polygon, its arcs as chords with their ends on the arc."""
    from shapely import Polygon

    return Polygon([p for edge in outline.edges() for p in _stroked(edge, sagitta)])


def _stroked(edge: Edge, sagitta: float) -> list[Point]:
    """Points along an edge, without its end."""
    if not edge.is_arc:
        return [edge.start]
    step = 2 * math.acos(max(0.0, 1 - sagitta / edge.radius))
    count = max(1, math.ceil(abs(edge.sweep) / step))
    return [edge.point_at(i / count) for i in range(count)]


def _grown(area: Any, by: float, sagitta: float) -> Any:
    """All points within ``by`` of an area, or for a negative one farther than that inside it."""
    quarter = math.pi / 2 / (2 * math.acos(max(0.0, 1 - sagitta / abs(by))))
    return area.buffer(by, quad_segs=max(2, math.ceil(quarter)))


def _measured(remains: Any, edge: Any, sliver: float) -> tuple[float, float]:
    """Area of the remains, and how far they reach from an edge; slivers do not count."""
    area = depth = 0.0
    for piece in getattr(remains, "geoms", [remains]):
        if piece.area > 0:
            reach = _reach(piece, edge, sliver)
            if reach > sliver:
                area, depth = area + piece.area, max(depth, reach)
    return area, depth


def _reach(piece: Any, edge: Any, sliver: float) -> float:
    """How far a piece reaches from an edge: at its corners, or in the middle of a ring of edge."""
    import shapely

    if edge.is_empty:
        return math.inf
    points = shapely.points(shapely.get_coordinates(piece))
    reach = float(shapely.distance(points, edge).max())
    if reach > sliver or piece.area < sliver**2 or piece.buffer(-sliver).is_empty:
        return reach
    return float(shapely.maximum_inscribed_circle(piece, tolerance=sliver / 10).length)
