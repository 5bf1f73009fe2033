"""Faces of a finished solid, as measured: planes, cylinders, corners and arcs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_CurveType, GeomAbs_SurfaceType
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape

from bedmodel.checks.boxes import EDGE, VERTEX, Span, quick_box, wave, within
from bedmodel.frames import Frame, Vector, dot, scale, subtract
from bedmodel.solids import area_of


@dataclass(frozen=True)
class Cylinder:
    """An endless cylinder: a point of its axis, the axis's direction, and its radius."""

    point: Vector
    axis: Vector
    radius: float

    def placed(self, frame: Frame) -> Cylinder:
        """The cylinder in the outer frame."""
        return Cylinder(frame.point(self.point), frame.direction(self.axis), self.radius)

    def far_side(self, start: Vector, along: Vector) -> float | None:
        """Where a line leaves it: the distance from the line's start; None if it misses."""
        offset = self._square(subtract(start, self.point))
        step = self._square(along)
        a, b, c = dot(step, step), dot(offset, step), dot(offset, offset) - self.radius**2
        if a == 0 or b * b < a * c:
            return None
        return (math.sqrt(b * b - a * c) - b) / a

    def _square(self, v: Vector) -> Vector:
        """The part of a vector that is square to the axis."""
        return subtract(v, scale(self.axis, dot(v, self.axis)))


@dataclass(frozen=True)
class Arc:
    """An arc of a circle: its centre, two of its radii square to each other, and its span."""

    centre: Vector
    x: Vector
    y: Vector
    span: Span

    @classmethod
    def of(cls, edge: TopoDS_Shape) -> Arc | None:
        """The arc that an edge is, if it is one."""
        curve = BRepAdaptor_Curve(TopoDS.Edge_s(edge))
        if curve.GetType() != GeomAbs_CurveType.GeomAbs_Circle:
            return None
        circle, axes = curve.Circle(), curve.Circle().Position()
        centre, x, y = (
            (p.X(), p.Y(), p.Z()) for p in (axes.Location(), axes.XDirection(), axes.YDirection())
        )
        r, span = circle.Radius(), (curve.FirstParameter(), curve.LastParameter())
        return cls(centre, scale(x, r), scale(y, r), span)

    def reach(self, along: Vector) -> tuple[float, float]:
        """Least and greatest distance along a direction."""
        level = dot(self.centre, along)
        low, high = wave(dot(self.x, along), dot(self.y, along), self.span)
        return level + low, level + high


@dataclass(frozen=True)
class FaceData:
    """One face of a solid: its corner points, and its outward normal if it is flat.

    ``has_exact_box``: its quick box is the smallest one; ``is_simple``: flat or
    a cylinder, so that the smallest one is found fast.
    """

    face: TopoDS_Face
    normal: Vector | None
    points: tuple[Vector, ...]
    has_exact_box: bool
    is_simple: bool

    @cached_property
    def area(self) -> float:
        return area_of(self.face)

    @cached_property
    def cylinder(self) -> Cylinder | None:
        """The cylinder that the face is part of, if it is of one."""
        surface = BRepAdaptor_Surface(self.face, False)
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Cylinder:
            return None
        found = surface.Cylinder()
        p, d = found.Location(), found.Axis().Direction()
        return Cylinder((p.X(), p.Y(), p.Z()), (d.X(), d.Y(), d.Z()), found.Radius())

    @cached_property
    def arcs(self) -> tuple[Arc, ...] | None:
        """The arcs among the face's edges; None where corners and arcs do not bound it."""
        if self.normal is None and self.cylinder is None:
            return None
        edges = list(within(self.face, EDGE))
        if not all(_is_plain(edge) for edge in edges):
            return None
        return tuple(arc for arc in map(Arc.of, edges) if arc is not None)

    def reach(self, along: Vector) -> tuple[float, float] | None:
        """Least and greatest distance along a direction of the part frame, if arcs tell it.

        On a plane or on a cylinder cut to a rectangle both are on an edge.
        """
        if self.arcs is None:
            return None
        levels = [dot(p, along) for p in self.points]
        levels += [level for arc in self.arcs for level in arc.reach(along)]
        return min(levels), max(levels)

    @cached_property
    def box(self) -> tuple[Vector, Vector]:
        """A box that holds the face; not always the smallest one."""
        return quick_box(self.face)


def _is_plain(edge: TopoDS_Shape) -> bool:
    """True for a straight edge or a circle's arc."""
    curve = BRepAdaptor_Curve(TopoDS.Edge_s(edge)).GetType()
    return curve in (GeomAbs_CurveType.GeomAbs_Line, GeomAbs_CurveType.GeomAbs_Circle)


def face_data(face: TopoDS_Face) -> FaceData:
    """What is known of a face at once."""
    surface = BRepAdaptor_Surface(face, False)
    normal: Vector | None = None
    if surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Plane:
        plane = surface.Plane()
        axis = plane.Axis().Direction()
        # A left-handed plane's surface normal is the reverse of its axis.
        outward = (face.Orientation() == TopAbs_Orientation.TopAbs_FORWARD) == plane.Direct()
        sign = 1.0 if outward else -1.0
        normal = (sign * axis.X(), sign * axis.Y(), sign * axis.Z())
    # The kernel's quick box is exact for these; for others it may be too large.
    quick = normal is not None and all(_is_plain(e) for e in within(face, EDGE))
    simple = normal is not None or surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Cylinder
    return FaceData(face, normal, tuple(_corners(face)), quick, simple)


def _corners(face: TopoDS_Face) -> Iterator[Vector]:
    for vertex in within(face, VERTEX):
        p = BRep_Tool.Pnt_s(TopoDS.Vertex_s(vertex))
        yield (p.X(), p.Y(), p.Z())
