"""Legs of a raked end: the outline goes on below its floor line, and the foot is cut level.

inside face         side view
  |      |
  |      |          The outline is pushed square through the leg, so the leg is as long
  |      |          on its show face as on its inside face. The level cut begins at the
  |     /           inside face's lower arris, the longest line of the leg, and takes
  |   /             a wedge off the rest.
  | /  <- level cut, tilted by the rake; its line on the faces is level
"""

from __future__ import annotations

import math

from bedmodel.cuts import Trim
from bedmodel.frames import Frame
from bedmodel.outline import Edge, Outline, Point

FLOOR, TOE = "floor", "toe"
LEVEL_CUT = "level_cut"


def lengthened(outline: Outline, below: float) -> Outline:
    """A leg's outline in (u, v) that goes on ``below`` (mm) under its floor edge.

    Straight neighbours of the floor edge run on; where an arc meets it, the leg goes on
    along its outer edge, by an edge called ``toe``.
    """
    if not below:
        return outline
    edges = list(outline.edges())
    i = next(i for i, edge in enumerate(edges) if edge.name == FLOOR)
    before, floor, after = edges[i - 1], edges[i], edges[(i + 1) % len(edges)]
    outer = next(edge for edge in edges if edge.name == "outer")
    steps: list[tuple[Point, float, str]] = []
    for edge in edges:
        if edge is floor:
            if before.is_arc:
                steps.append((floor.start, 0.0, TOE))
            steps.append(
                (_lowered(floor.start, outer if before.is_arc else before, below), 0.0, FLOOR)
            )
        elif edge is after:
            end = _lowered(floor.end, outer if edge.is_arc else edge, below)
            if edge.is_arc:
                steps += [(end, 0.0, TOE), (edge.start, edge.bulge, edge.name)]
            else:
                steps.append((end, 0.0, edge.name))
        else:
            steps.append((edge.start, edge.bulge, edge.name))
    return Outline.of(steps)


def _lowered(point: Point, along: Edge, below: float) -> Point:
    """The point moved down by ``below``, in the direction of a straight edge."""
    (u0, v0), (u1, v1) = along.start, along.end
    return point[0] - below * (u1 - u0) / (v1 - v0), point[1] - below


def level_cut(placement: Frame) -> Trim:
    """The cut along the floor, of a leg that stands in the bed by ``placement``."""
    floor = Frame.from_zx((0.0, 0.0, 0.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0))
    return Trim(LEVEL_CUT, placement.inverse() @ floor)


def floor_above(rake: float, out: float) -> float:
    """How much shorter (mm) a leg is ``out`` of its inside face than there, along itself."""
    return out * math.tan(rake)
