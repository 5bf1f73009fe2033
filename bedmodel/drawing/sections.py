"""The cut face of a solid in a plane, as rings to hatch and curves to draw (mm)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_Transform
from OCP.BRepTools import BRepTools_WireExplorer
from OCP.gp import gp_Ax3, gp_Dir, gp_Pln, gp_Pnt, gp_Trsf
from OCP.TopoDS import TopoDS

from bedmodel.drawing.curves import Curve, Point
from bedmodel.drawing.project import curve_of
from bedmodel.frames import Frame

_RING = 0.05  # mm between a ring and its bits


@dataclass(frozen=True)
class CutFace:
    """One piece of a cut face: its rings, the outer one first, and their curves."""

    rings: tuple[tuple[Point, ...], ...]
    curves: tuple[Curve, ...]


def cut_faces(
    solid: cq.Shape, frame: Frame, window: tuple[float, float, float, float]
) -> list[CutFace]:
    """The faces in which the plane z = 0 of a frame cuts a solid, within a window of x and y."""
    x0, y0, x1, y1 = window
    axes = gp_Ax3(gp_Pnt(*frame.origin), gp_Dir(*frame.z), gp_Dir(*frame.x))
    plane = BRepBuilderAPI_MakeFace(gp_Pln(axes), x0, x1, y0, y1).Face()
    common = BRepAlgoAPI_Common(solid.wrapped, plane)
    to_flat = gp_Trsf()
    to_flat.SetTransformation(axes)
    flat = cq.Shape.cast(BRepBuilderAPI_Transform(common.Shape(), to_flat, True).Shape())
    return [_cut_face(face) for face in flat.Faces()]


def _cut_face(face: cq.Face) -> CutFace:
    rings, curves = [], []
    for wire in (face.outerWire(), *face.innerWires()):
        runs = []
        for edge in _in_order(wire, face):
            curve = curve_of(edge)
            if curve is not None:
                curves.append(curve)
                runs.append(curve.points(_RING))
        rings.append(tuple(_joined(runs)))
    return CutFace(tuple(rings), tuple(curves))


def _joined(runs: Sequence[list[Point]]) -> list[Point]:
    """The points of edges that follow one another, each turned to go on from the last."""
    ring = list(runs[0])
    if len(runs) > 1:
        after = (runs[1][0], runs[1][-1])
        if min(_far(ring[0], p) for p in after) < min(_far(ring[-1], p) for p in after):
            ring.reverse()
    for run in runs[1:]:
        ring += run[1:] if _far(ring[-1], run[0]) <= _far(ring[-1], run[-1]) else run[-2::-1]
    return ring[:-1] if _far(ring[0], ring[-1]) < 1e-3 else ring


def _in_order(wire: cq.Wire, face: cq.Face) -> Sequence[object]:
    explorer = BRepTools_WireExplorer(TopoDS.Wire_s(wire.wrapped), TopoDS.Face_s(face.wrapped))
    edges = []
    while explorer.More():
        edges.append(explorer.Current())
        explorer.Next()
    return edges


def _far(a: Point, b: Point) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])
