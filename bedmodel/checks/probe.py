"""Measuring tools for the checks: faces and boxes of the finished solids.

Everything is measured on a kind's solid once, in its part frame, and carried to
the bed frame by the piece's placement.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import cadquery as cq
import numpy as np
from numpy.typing import NDArray
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Face

from bedmodel.assembly import Bed
from bedmodel.bed import Piece
from bedmodel.frames import ORIGIN, Frame, Vector, dot
from bedmodel.solids import area_of, location

Array = NDArray[np.float64]

SQUARE_DIGITS = 4  # a lean of 1 deg, the least splay, takes 1.5e-4 off the cosine


@dataclass(frozen=True)
class FaceData:
    """One face of a solid: its corner points, and its outward normal if it is flat."""

    face: TopoDS_Face
    normal: Vector | None
    points: tuple[Vector, ...]

    @cached_property
    def area(self) -> float:
        return area_of(self.face)

    @cached_property
    def box(self) -> tuple[Vector, Vector]:
        """A box that holds the face; not always the smallest one."""
        return box_of(self.face)

    def reach(self, along: Vector) -> float:
        """How far the face reaches along a direction of the part frame, exactly (mm)."""
        x = (0.0, 0.0, 1.0) if abs(along[2]) < 0.9 else (1.0, 0.0, 0.0)
        turned = location(Frame.from_zx(ORIGIN, along, x).inverse())
        return box_of(self.face.Moved(turned.wrapped), exact=True)[1][2]


class Probe:
    """The bed under measurement, with what has been measured already."""

    def __init__(self, bed: Bed) -> None:
        self.bed = bed
        self._faces: dict[str, list[FaceData]] = {}
        self._boxes: dict[str, tuple[Vector, Vector]] = {}

    def faces(self, kind: str) -> list[FaceData]:
        """The faces of a kind's solid, in its part frame."""
        if kind not in self._faces:
            self._faces[kind] = [_face_data(f) for f in _faces(self.bed.solids[kind])]
        return self._faces[kind]

    def box(self, kind: str) -> tuple[Vector, Vector]:
        """The exact box of a kind's solid along its part axes."""
        if kind not in self._boxes:
            self._boxes[kind] = box_of(self.bed.solids[kind].wrapped, exact=True)
        return self._boxes[kind]

    def flat_faces(self, piece: Piece, towards: Vector, within: float = 0.99) -> list[FaceData]:
        """Flat faces of a piece whose normal looks in a direction of the bed frame."""
        wanted = piece.placement.inverse().direction(towards)
        return [
            f
            for f in self.faces(piece.kind.name)
            if f.normal is not None and dot(f.normal, wanted) > within
        ]

    def main_face(self, piece: Piece, towards: Vector) -> FaceData | None:
        """The flat face that looks most squarely in a direction of the bed frame.

        Among faces alike in this, the largest: a leg's joint face, not the ankle that
        leans a degree or more from it, however long.
        """
        wanted = piece.placement.inverse().direction(towards)

        def squareness(face: FaceData) -> tuple[float, float]:
            assert face.normal is not None
            return round(dot(face.normal, wanted), SQUARE_DIGITS), face.area

        return max(self.flat_faces(piece, towards), key=squareness, default=None)

    def plane(self, piece: Piece, towards: Vector) -> tuple[Vector, Vector] | None:
        """Point and outward normal, in the bed frame, of the main face in a direction."""
        face = self.main_face(piece, towards)
        if face is None or face.normal is None:
            return None
        place = piece.placement
        return place.point(face.points[0]), place.direction(face.normal)

    def offsets(self, piece: Piece, towards: Vector) -> tuple[float, float] | None:
        """Least and greatest distance of the main face's corners along a direction."""
        face = self.main_face(piece, towards)
        if face is None:
            return None
        values = [dot(piece.placement.point(p), towards) for p in face.points]
        return min(values), max(values)

    def extent(self, piece: Piece, along: Vector) -> tuple[float, float]:
        """How far the piece's own box reaches along a direction of the bed frame."""
        low, high = self.box(piece.kind.name)
        wanted = piece.placement.inverse().direction(along)
        start = dot(piece.placement.origin, along)
        ends = [sorted((w * a, w * b)) for w, a, b in zip(wanted, low, high, strict=True)]
        return start + sum(e[0] for e in ends), start + sum(e[1] for e in ends)

    def lowest(self, piece: Piece) -> float:
        """The piece's lowest point above the floor: its lowest corner (mm).

        Legs and feet are lowest at a corner of a flat face, never on a curve.
        """
        place = piece.placement
        points = (p for f in self.faces(piece.kind.name) for p in f.points)
        return min(place.point(p)[2] for p in points)

    def of_kind(self, test: Callable[[str], bool]) -> list[Piece]:
        return [p for p in self.bed.pieces if test(p.name)]


def box_of(shape: object, exact: bool = False) -> tuple[Vector, Vector]:
    """The box round a shape along its own axes, without the kernel's margin (mm)."""
    box = Bnd_Box()
    if exact:
        BRepBndLib.AddOptimal_s(shape, box, False, False)
    else:
        BRepBndLib.Add_s(shape, box, False)
    box.SetGap(0.0)
    x0, y0, z0, x1, y1, z1 = box.Get()
    return (x0, y0, z0), (x1, y1, z1)


def distance(one: object, other: object) -> float:
    """The least distance between two shapes (mm)."""
    return float(BRepExtrema_DistShapeShape(one, other).Value())


def _faces(solid: cq.Shape) -> list[TopoDS_Face]:
    explorer = TopExp_Explorer(solid.wrapped, TopAbs_ShapeEnum.TopAbs_FACE)
    found = []
    while explorer.More():
        found.append(TopoDS.Face_s(explorer.Current()))
        explorer.Next()
    return found


def _face_data(face: TopoDS_Face) -> FaceData:
    surface = BRepAdaptor_Surface(face, False)
    normal: Vector | None = None
    if surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Plane:
        plane = surface.Plane()
        axis = plane.Axis().Direction()
        # A left-handed plane's surface normal is the reverse of its axis.
        outward = (face.Orientation() == TopAbs_Orientation.TopAbs_FORWARD) == plane.Direct()
        sign = 1.0 if outward else -1.0
        normal = (sign * axis.X(), sign * axis.Y(), sign * axis.Z())
    return FaceData(face, normal, tuple(_corners(face)))


def _corners(face: TopoDS_Face) -> list[Vector]:
    explorer = TopExp_Explorer(face, TopAbs_ShapeEnum.TopAbs_VERTEX)
    points = []
    while explorer.More():
        p = BRep_Tool.Pnt_s(TopoDS.Vertex_s(explorer.Current()))
        points.append((p.X(), p.Y(), p.Z()))
        explorer.Next()
    return points
