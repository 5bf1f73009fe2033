"""No-fit polygons: where the middle of one form may not lie, another form being at the origin.

Of two convex polygons it is the Minkowski sum of the one and the other turned half round;
of others the union over their convex parts. Source: the standard construction, as in any
handbook of computational geometry.
"""

from __future__ import annotations

from itertools import product
from typing import Any

from bedmodel.outline import Point
from bedmodel.stock.nest.forms import Form
from bedmodel.stock.nest.polygons import Box, Polygon

# A corner may be mitred to this times the gap; square corners stay square, so that
# rectangles that fit to a hair do fit.
_MITRE = 1.5
_HAIR = 1e-7  # mm; what fits exactly leaves no room with an area


class NoFit:
    """The no-fit polygons of a nest, each made once; grown by the gap, never less."""

    def __init__(self, gap: float) -> None:
        self._gap = gap
        self._made: dict[tuple[int, ...], Any] = {}
        self._forms: dict[tuple[Point, ...], int] = {}

    def corners(self, fixed: Form, moving: Form) -> Any:
        """The corners of the polygon as an array; holes are left out."""
        key = (self._number(fixed), self._number(moving))
        if key not in self._made:
            self._made[key] = self._mirror_image(fixed, moving)
        if self._made[key] is None:
            self._made[key] = _corners(fixed.parts, moving.parts, self._gap)
        return self._made[key]

    def _mirror_image(self, fixed: Form, moving: Form) -> Any:
        """The polygon of two forms from that of the same two, both turned over or about."""
        for signs in ((-1, -1), (1, -1), (-1, 1)):
            pair = tuple(self._forms.get(form.mirror_key(*signs), -1) for form in (fixed, moving))
            if self._made.get(pair) is not None:
                return self._made[pair] * signs
        return None

    def around(self, box: Box, moving: Form) -> Any:
        """The same for an obstacle, which is no more than itself: its margin is in it."""
        x0, y0, x1, y1 = box
        parts = (((x0, y0), (x1, y0), (x1, y1), (x0, y1)),)
        return _corners(parts, moving.parts, 0.0)

    def _number(self, form: Form) -> int:
        return self._forms.setdefault(form.key, len(self._forms))


def _corners(fixed: tuple[Polygon, ...], moving: tuple[Polygon, ...], gap: float) -> Any:
    import numpy as np
    import shapely

    clouds = [
        [(ax - bx, ay - by) for ax, ay in one for bx, by in other]
        for one, other in product(fixed, moving)
    ]
    flat = np.array([p for cloud in clouds for p in cloud])
    of = np.repeat(np.arange(len(clouds)), [len(cloud) for cloud in clouds])
    hulls = shapely.convex_hull(shapely.multipoints(flat, indices=of))
    grown = gap - _HAIR
    whole = shapely.union_all(hulls).buffer(grown, join_style="mitre", mitre_limit=_MITRE)
    return shapely.get_coordinates(whole.exterior)
