"""Measuring tools for the checks: faces and boxes of the finished solids.

Everything is measured on a kind's solid once, in its part frame, and carried to
the bed frame by the piece's placement.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector
from OCP.TopoDS import TopoDS

from bedmodel.assembly import Bed
from bedmodel.bed import Piece
from bedmodel.checks.boxes import FACE, exact_box, union_of, within
from bedmodel.checks.solid_faces import FaceData, face_data
from bedmodel.cuts import Axis
from bedmodel.frames import Frame, Vector, add, dot
from bedmodel.shape import mirrored_placement

Array = NDArray[np.float64]

RAY_TOLERANCE = 1e-6
MARK_DIGITS = 5
AXES: tuple[Axis, ...] = ("x", "y", "z")
SQUARE_DIGITS = 4  # a lean of 1 deg, the least splay, takes 1.5e-4 off the cosine


@dataclass(frozen=True)
class Twin:
    """The kind whose solid is a kind's mirror image, maybe itself, and how it is mirrored.

    The image's coordinate along ``axis`` is what is left of ``sums``.
    """

    kind: str
    axis: Axis
    sums: Vector

    def image(self, piece: Piece) -> Frame:
        """Where the twin lies in the mirror image of the bed."""
        return mirrored_placement(piece.placement, self.axis, self.sums)


class Probe:
    """The bed under measurement, with what has been measured already."""

    def __init__(self, bed: Bed) -> None:
        self.bed = bed
        self._faces: dict[str, list[FaceData]] = {}
        self._boxes: dict[str, tuple[Vector, Vector]] = {}
        self._loose_boxes: dict[str, tuple[Vector, Vector]] = {}
        self._corners: dict[str, tuple[Array, NDArray[np.intp]]] = {}
        self._rays: dict[str, IntCurvesFace_ShapeIntersector] = {}
        self._twins: dict[str, tuple[Twin, ...]] = {}
        self._marks: dict[tuple[str, Axis | None], tuple[bytes, ...]] = {}

    def faces(self, kind: str) -> list[FaceData]:
        """The faces of a kind's solid, in its part frame."""
        if kind not in self._faces:
            self._faces[kind] = [
                face_data(TopoDS.Face_s(face))
                for face in within(self.bed.solids[kind].wrapped, FACE)
            ]
        return self._faces[kind]

    def corners(self, kind: str) -> tuple[Array, NDArray[np.intp]]:
        """The corner points of all faces of a kind that have any, and where each face's begin."""
        if kind not in self._corners:
            faces = [f.points for f in self.faces(kind) if f.points]
            starts = np.cumsum([0, *(len(points) for points in faces[:-1])])
            self._corners[kind] = np.array([p for points in faces for p in points]), starts
        return self._corners[kind]

    def twins(self, kind: str) -> tuple[Twin, ...]:
        """The kinds that are this one's mirror images, by their faces, along every axis.

        What was measured of the one holds for the other.
        """
        if kind not in self._twins:
            self._twins[kind] = tuple(self._mirror_images(kind))
        return self._twins[kind]

    def _mirror_images(self, kind: str) -> Iterator[Twin]:
        low, high = self.loose_box(kind)
        volume, faces = self.bed.volume(kind), self.faces(kind)
        alike = [
            other
            for other in self.bed.kinds
            if len(self.faces(other)) == len(faces)
            and math.isclose(self.bed.volume(other), volume, rel_tol=1e-9)
        ]
        for axis in AXES:
            for other in alike:
                if self._marks_of(kind, axis) == self._marks_of(other, None):
                    yield Twin(other, axis, add(low, high))

    def _marks_of(self, kind: str, axis: Axis | None) -> tuple[bytes, ...]:
        """Corners, planes and cylinders of a solid, or of its mirror image, as rounded bytes."""
        key = (kind, axis)
        if key not in self._marks:
            low, high = self.loose_box(kind)
            self._marks[key] = marks(self.faces(kind), add(low, high), axis)
        return self._marks[key]

    def box(self, kind: str) -> tuple[Vector, Vector]:
        """The exact box of a kind's solid along its part axes."""
        if kind not in self._boxes:
            self._boxes[kind] = _exact_box(self.faces(kind))
        return self._boxes[kind]

    def loose_box(self, kind: str) -> tuple[Vector, Vector]:
        """A box that holds a kind's solid, made at once; not always the smallest one."""
        if kind not in self._loose_boxes:
            self._loose_boxes[kind] = union_of([f.box for f in self.faces(kind)])
        return self._loose_boxes[kind]

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
        return _extent(piece, self.box(piece.kind.name), along)

    def loose_extent(self, piece: Piece, along: Vector) -> tuple[float, float]:
        """The same of the piece's loose box: never less than its true reach."""
        return _extent(piece, self.loose_box(piece.kind.name), along)

    def lowest(self, piece: Piece) -> float:
        """The piece's lowest point above the floor: its lowest corner (mm).

        Legs and feet are lowest at a corner of a flat face, never on a curve.
        """
        place = piece.placement
        points = (p for f in self.faces(piece.kind.name) for p in f.points)
        return min(place.point(p)[2] for p in points)

    def ray(self, kind: str, start: Vector, direction: Vector) -> float | None:
        """How far a kind's solid is from a point, in a direction of its part frame (mm)."""
        if kind not in self._rays:
            self._rays[kind] = IntCurvesFace_ShapeIntersector()
            self._rays[kind].Load(self.bed.solids[kind].wrapped, RAY_TOLERANCE)
        rays = self._rays[kind]
        rays.PerformNearest(gp_Lin(gp_Pnt(*start), gp_Dir(*direction)), 0.0, math.inf)
        return float(rays.WParameter(1)) if rays.NbPnt() else None

    def named(self, test: Callable[[str], bool]) -> list[Piece]:
        return [p for p in self.bed.pieces if test(p.name)]


def _extent(piece: Piece, box: tuple[Vector, Vector], along: Vector) -> tuple[float, float]:
    wanted = piece.placement.inverse().direction(along)
    start = dot(piece.placement.origin, along)
    ends = [sorted((w * a, w * b)) for w, a, b in zip(wanted, *box, strict=True)]
    return start + sum(e[0] for e in ends), start + sum(e[1] for e in ends)


def _exact_box(faces: list[FaceData]) -> tuple[Vector, Vector]:
    """The box of all faces; slow exact boxes are made only of faces that might matter."""
    box = union_of([f.box for f in faces if f.has_exact_box])
    for face in faces:
        if not face.has_exact_box and union_of([box, face.box]) != box:
            box = union_of([box, exact_box(face.face)])
    return box


def marks(faces: list[FaceData], sums: Vector, axis: Axis | None) -> tuple[bytes, ...]:
    """What tells a solid from others: its corners, planes and cylinders, in one order.

    With an axis, those of its mirror image along it.
    """
    turn, shift = np.ones(3), np.zeros(3)
    if axis is not None:
        i = AXES.index(axis)
        turn[i], shift[i] = -1.0, sums[i]
    # Where a round wall closes on itself the kernel sets a corner, which no mirror turns.
    seams = {
        point
        for face in faces
        if face.cylinder is not None and len(set(face.points)) <= 2
        for point in face.points
    }
    points = [p for face in faces for p in face.points if p not in seams]
    corners = np.array(points).reshape(-1, 3) * turn + shift
    normals = np.array([face.normal for face in faces if face.normal]).reshape(-1, 3) * turn
    starts = np.array([face.points[0] for face in faces if face.normal]).reshape(-1, 3)
    levels = np.einsum("ni,ni->n", normals, starts * turn + shift)
    rounds = [face.cylinder for face in faces if face.cylinder is not None]
    middles = np.array([c.point for c in rounds]).reshape(-1, 3) * turn + shift
    ways = np.array([c.axis for c in rounds]).reshape(-1, 3) * turn
    # A point of the axis, but always the one nearest to the origin; and no direction of it.
    feet = middles - np.einsum("ni,ni->n", middles, ways)[:, None] * ways
    radii = np.array([c.radius for c in rounds])
    return (
        _in_order(corners),
        _in_order(np.column_stack([normals, levels])),
        _in_order(np.column_stack([feet, np.abs(ways), radii])),
    )


def _in_order(rows: Array) -> bytes:
    """The rows, rounded to what a shop could never measure, as bytes."""
    rows = np.round(rows, MARK_DIGITS) + 0.0
    return bytes(rows[np.lexsort(rows.T)].tobytes())
