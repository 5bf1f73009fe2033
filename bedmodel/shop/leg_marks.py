"""Lines to engrave on a leg's template: its joint face and the mortises in it.

    joint edge -> ------+--------+--------+------
                        |        |        |     a tick at each end of the slot
                                 |
                                 |              centre line, as long as it is deep

On a template moved in from the part by an offset, the lines start at its own edge.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bedmodel.cuts import Mortise
from bedmodel.outline import Edge, Point
from bedmodel.shop.sheet import JOINT_FACE, MORTISE_CENTRE, Mark

INSET = 3.0  # mm from a joint face to its mark, so that no line lies on the cut
TICK = 10.0  # mm


def edge_axes(edge: Edge) -> tuple[Point, Point]:
    """Unit vectors along an edge and into the part; the outline runs anticlockwise."""
    tx = (edge.end[0] - edge.start[0]) / edge.chord
    ty = (edge.end[1] - edge.start[1]) / edge.chord
    return (tx, ty), (-ty, tx)


def from_edge(edge: Edge, along: float, into: float) -> Point:
    """The point so far along an edge from its start and so far into the part (mm)."""
    t, n = edge_axes(edge)
    return (
        edge.start[0] + along * t[0] + into * n[0],
        edge.start[1] + along * t[1] + into * n[1],
    )


def along_edge(edge: Edge, point: Sequence[float]) -> tuple[float, float]:
    """How far along an edge and how far into the part a point lies (mm)."""
    dx, dy = point[0] - edge.start[0], point[1] - edge.start[1]
    t, n = edge_axes(edge)
    return dx * t[0] + dy * t[1], dx * n[0] + dy * n[1]


def opens_on(mortise: Mortise, edge: Edge, offset: float = 0.0) -> bool:
    """Say whether a mortise opens on an edge, moved into the part by ``offset`` (mm)."""
    along, into = along_edge(edge, mortise.frame.origin)
    _, n = edge_axes(edge)
    inward = mortise.frame.z[0] * n[0] + mortise.frame.z[1] * n[1]
    return abs(into + offset) < 0.01 and 0 <= along <= edge.chord and inward > 0.5


def seats(
    mortises: Iterable[Mortise], edges: Sequence[Edge], offset: float = 0.0
) -> list[tuple[Mortise, Edge]]:
    """Each mortise that opens on one of the edges, with that edge."""
    return [(m, edge) for m in mortises for edge in edges if opens_on(m, edge, offset)]


def joint_mark(edge: Edge) -> Mark:
    back = min(2 * INSET, edge.chord / 4)  # keeps the ends clear of the corners
    return Mark(JOINT_FACE, from_edge(edge, back, INSET), from_edge(edge, edge.chord - back, INSET))


def half_slot(mortise: Mortise, edge: Edge) -> float:
    """Half of what the slot takes up along the edge, round ends counted (mm)."""
    t, _ = edge_axes(edge)
    lean = abs(mortise.frame.x[0] * t[0] + mortise.frame.x[1] * t[1])
    return (mortise.length - mortise.width) / 2 * lean + mortise.width / 2


def mortise_marks(mortise: Mortise, edge: Edge, offset: float = 0.0) -> list[Mark]:
    """Centre line and end ticks of a mortise, from an edge moved in by ``offset`` (mm).

    A haunch's groove has its ticks alone: its centre may be that of a mortise in it.
    """
    (x, y, _), z = mortise.frame.origin, mortise.frame.z
    bottom = (x + z[0] * mortise.depth, y + z[1] * mortise.depth)
    centre = Mark(MORTISE_CENTRE, (x + z[0] * offset, y + z[1] * offset), bottom)
    marks = [centre] if mortise.role == "mortise" else []
    along, _ = along_edge(edge, mortise.frame.origin)
    tick = min(TICK, mortise.depth)
    for end in (-half_slot(mortise, edge), half_slot(mortise, edge)):
        start = from_edge(edge, along + end, 0.0)
        marks.append(Mark(MORTISE_CENTRE, start, from_edge(edge, along + end, tick)))
    return marks
