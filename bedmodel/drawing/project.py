"""Project solids onto a plane, with what is hidden told apart (mm).

exact   the kernel's own edges and silhouettes; circles stay circles
mesh    the same by a mesh, always in good time, in straight bits

Edges where two faces run smoothly into each other are left out: a rounded arris is
drawn by its outline alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import cadquery as cq
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.GCPnts import GCPnts_QuasiUniformDeflection
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import (
    HLRBRep_Algo,
    HLRBRep_HLRToShape,
    HLRBRep_PolyAlgo,
    HLRBRep_PolyHLRToShape,
)
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape

from bedmodel.drawing.curves import Arc, Curve, EllipseArc, Line, Point, Poly
from bedmodel.drawing.tidy import tidied
from bedmodel.frames import Frame

_DEFLECTION = 0.02  # mm, of curves that have no simple form
_MESH = (0.3, 0.2)  # mm, radians: of the mesh that is projected


@dataclass(frozen=True)
class View:
    """What is seen along -z of a frame, in the frame's x and y (mm)."""

    visible: tuple[Curve, ...]
    hidden: tuple[Curve, ...]


def exact_view(solids: Sequence[cq.Shape], frame: Frame, hidden: bool = True) -> View:
    """The exact projection; ``frame``'s z points at the eye."""
    algorithm = HLRBRep_Algo()
    for solid in solids:
        algorithm.Add(solid.wrapped)
    algorithm.Projector(_projector(frame))
    algorithm.Update()
    algorithm.Hide()
    shapes = HLRBRep_HLRToShape(algorithm)
    seen = [shapes.VCompound(), shapes.OutLineVCompound()]
    behind = [shapes.HCompound(), shapes.OutLineHCompound()] if hidden else []
    return _view(seen, behind)


def exact_views(solids: Sequence[cq.Shape], frame: Frame) -> list[list[Curve]]:
    """What is seen of each solid among the others, in the order of the solids; not tidied."""
    algorithm = HLRBRep_Algo()
    for solid in solids:
        algorithm.Add(solid.wrapped)
    algorithm.Projector(_projector(frame))
    algorithm.Update()
    algorithm.Hide()
    shapes = HLRBRep_HLRToShape(algorithm)
    found = []
    for solid in solids:
        compounds = [shapes.VCompound(solid.wrapped), shapes.OutLineVCompound(solid.wrapped)]
        found.append(list(_curves(compounds)))
    return found


def mesh_view(solids: Sequence[cq.Shape], frame: Frame, hidden: bool = True) -> View:
    """The projection of a mesh of the solids."""
    algorithm = HLRBRep_PolyAlgo()
    for solid in solids:
        copy = solid.copy(mesh=False)  # what was meshed before would keep its old triangles
        BRepMesh_IncrementalMesh(copy.wrapped, _MESH[0], False, _MESH[1], False)
        algorithm.Load(copy.wrapped)
    algorithm.Projector(_projector(frame))
    algorithm.Update()
    shapes = HLRBRep_PolyHLRToShape()
    shapes.Update(algorithm)
    seen = [shapes.VCompound(), shapes.OutLineVCompound()]
    behind = [shapes.HCompound(), shapes.OutLineHCompound()] if hidden else []
    return _view(seen, behind)


def _projector(frame: Frame) -> HLRAlgo_Projector:
    axes = gp_Ax2(gp_Pnt(*frame.origin), gp_Dir(*frame.z), gp_Dir(*frame.x))
    return HLRAlgo_Projector(axes)


def _view(seen: Iterable[TopoDS_Shape], behind: Iterable[TopoDS_Shape]) -> View:
    visible, hidden = tidied(_curves(seen), _curves(behind))
    return View(tuple(visible), tuple(hidden))


def _curves(compounds: Iterable[TopoDS_Shape | None]) -> Iterator[Curve]:
    for compound in compounds:
        if compound is None or compound.IsNull():
            continue
        BRepLib.BuildCurves3d_s(compound)
        found = TopExp_Explorer(compound, TopAbs_ShapeEnum.TopAbs_EDGE)
        while found.More():
            curve = curve_of(TopoDS.Edge_s(found.Current()))
            if curve is not None:
                yield curve
            found.Next()


def curve_of(edge: TopoDS_Shape) -> Curve | None:
    """The curve of an edge that lies in the plane of x and y; None for a point."""
    adaptor = BRepAdaptor_Curve(edge)
    first, last = adaptor.FirstParameter(), adaptor.LastParameter()
    kind = adaptor.GetType()
    if kind == GeomAbs_CurveType.GeomAbs_Line:
        a, b = _flat(adaptor.Value(first)), _flat(adaptor.Value(last))
        return Line(a, b) if math.dist(a, b) > 1e-6 else None
    if kind == GeomAbs_CurveType.GeomAbs_Circle:
        circle = adaptor.Circle()
        x = circle.XAxis().Direction()
        start = math.atan2(x.Y(), x.X())
        turn = 1 if circle.Axis().Direction().Z() > 0 else -1
        ends = sorted((start + turn * first, start + turn * last))
        return Arc(_flat(circle.Location()), circle.Radius(), ends[0], ends[1])
    if kind == GeomAbs_CurveType.GeomAbs_Ellipse:
        ellipse = adaptor.Ellipse()
        x, r = ellipse.XAxis().Direction(), ellipse.MajorRadius()
        turn = 1 if ellipse.Axis().Direction().Z() > 0 else -1
        ends = sorted((turn * first, turn * last))
        major = (x.X() * r, x.Y() * r)
        ratio = ellipse.MinorRadius() / r
        return EllipseArc(_flat(ellipse.Location()), major, ratio, ends[0], ends[1])
    points = GCPnts_QuasiUniformDeflection(adaptor, _DEFLECTION)
    run = [_flat(points.Value(i + 1)) for i in range(points.NbPoints())]
    return Poly(tuple(run)) if len(run) > 1 and len(set(run)) > 1 else None


def _flat(p: gp_Pnt) -> Point:
    return p.X(), p.Y()
