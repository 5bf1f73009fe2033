"""The cuts of a part as found in its solid, and the wood between them and its outside."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from OCP.BRep import BRep_Builder
from OCP.BRepClass import BRepClass_FaceClassifier
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_State
from OCP.TopoDS import TopoDS_Compound

from bedmodel.bed import Kind
from bedmodel.checks.probe import Array, FaceData, Probe, distance
from bedmodel.frames import Vector, add, dot, scale, subtract
from bedmodel.outline import Edge
from bedmodel.shape import Cut, Recess

OWN_FACE = 0.05  # a face this close inside a cut's box is one of its walls
ON_FACE = 1e-7  # mm
TIE = 1e-9  # mm; a pair that may be nearer by less than this need not be measured


@dataclass(frozen=True)
class Walls:
    """One cut as found in a solid: its faces, in the part frame."""

    cut: Cut
    faces: tuple[FaceData, ...]

    def facing(self, towards: Vector) -> list[FaceData]:
        """Flat walls whose normal, out of the wood, looks in a direction."""
        return [f for f in self.faces if f.normal is not None and dot(f.normal, towards) > 0.999]


def all_walls(probe: Probe) -> dict[str, list[Walls]]:
    """The cuts of every kind of wooden part, each with the faces that lie in its box."""
    return {
        name: find_walls(probe, kind)
        for name, kind in probe.bed.kinds.items()
        if kind.shape.cuts and not kind.is_metal
    }


def find_walls(probe: Probe, kind: Kind) -> list[Walls]:
    """The cuts of a kind, each with the faces that lie in its box."""
    return [Walls(cut, tuple(_own_faces(probe, kind, cut))) for cut in kind.shape.cuts]


def _own_faces(probe: Probe, kind: Kind, cut: Cut) -> Iterator[FaceData]:
    points, starts = probe.corners(kind.name)
    if not len(points):
        return iter(())
    inverse = cut.frame.inverse()
    axes = np.array((inverse.x, inverse.y, inverse.z))
    here = points @ axes + np.array(inverse.origin)
    low = (-cut.length / 2 - OWN_FACE, -cut.width / 2 - OWN_FACE, -OWN_FACE)
    high = (cut.length / 2 + OWN_FACE, cut.width / 2 + OWN_FACE, cut.depth + OWN_FACE)
    inside = np.all((here >= low) & (here <= high), axis=1)
    off_opening = np.abs(here[:, 2]) > OWN_FACE
    own = np.logical_and.reduceat(inside, starts) & np.logical_or.reduceat(off_opening, starts)
    faces = [f for f in probe.faces(kind.name) if f.points]
    return (faces[i] for i in np.nonzero(own)[0])


def wood_outside(
    probe: Probe, kind: str, own: Walls, owned: set[int], others: list[Walls], enough: float
) -> float:
    """Least distance from a cut's faces to the part's outside faces.

    ``owned`` are the faces of all cuts. Those that the cut is meant to come out of are
    left out, and so are those of a recess in whose floor it was made.
    """
    ways_out = [own, *(other for other in others if _is_floor(other.cut, own.cut))]
    outside = [
        f
        for f in probe.faces(kind)
        if id(f) not in owned and not any(_comes_out_of(way, f) for way in ways_out)
    ]
    return _least_distance(own.faces, outside, enough)


def _is_floor(recess: Cut, cut: Cut) -> bool:
    """Whether a cut was made from the floor of a recess or counterbore of the same fastener."""
    if not cut.fastener or recess.fastener != cut.fastener:
        return False
    depth = dot(subtract(cut.frame.origin, recess.frame.origin), recess.frame.z)
    return dot(recess.frame.z, cut.frame.z) > 0.999 and abs(depth - recess.depth) < OWN_FACE


def _comes_out_of(own: Walls, face: FaceData) -> bool:
    """True for a flat face that the cut was made from, goes through, or runs out over."""
    frame, cut = own.cut.frame, own.cut
    if face.normal is None:
        return False
    if isinstance(cut, Recess) and any(
        _lies_in(face, frame.point((*end, 0.0)), face.normal)
        for edge in cut.opening.named("near")
        for end in (_middle(edge),)
    ):
        return True
    facing = dot(face.normal, frame.z)
    if facing < -0.999:
        return _lies_in(face, frame.origin, frame.z)
    far = frame.point((0.0, 0.0, cut.depth))
    return cut.through and facing > 0.999 and _lies_in(face, far, frame.z)


def _middle(edge: Edge) -> tuple[float, float]:
    return edge.point_at(0.5)


def _lies_in(face: FaceData, point: Vector, normal: Vector) -> bool:
    """Whether a face lies in the plane through a point."""
    return all(abs(dot(subtract(p, point), normal)) < OWN_FACE for p in face.points)


def wood_between(own: Walls, other: Walls, enough: float) -> float:
    """Wood between two cuts of one part."""
    return _least_distance(own.faces, other.faces, enough)


def _least_distance(ones: Sequence[FaceData], others: Sequence[FaceData], enough: float) -> float:
    """Least distance between faces of two groups (mm); infinite when there are none.

    Pairs are measured from the nearest possible on, until no other can be nearer. What
    is ``enough`` apart is told by its bound alone: it is at least so far.
    """
    if not ones or not others:
        return math.inf
    bounds = _bounds(ones, others)
    pairs = [(float(bound), False, *divmod(k, len(others))) for k, bound in enumerate(bounds.flat)]
    heapq.heapify(pairs)
    best = math.inf
    while pairs:
        bound, is_close, i, j = heapq.heappop(pairs)
        if bound >= min(best, enough) - TIE:
            return min(best, bound)
        one, other = ones[i], others[j]
        if not is_close:
            closer = max(bound, _off_plane(one, other), _off_plane(other, one))
            heapq.heappush(pairs, (closer, True, i, j))
        elif _is_reached(one, other, bound) or _is_reached(other, one, bound):
            best = bound
        else:
            best = min(best, distance(one.face, other.face))
    return best


def _off_plane(one: FaceData, plane: FaceData) -> float:
    """How far a face is at least from another, flat one, by the other's plane."""
    if plane.normal is None or (reach := one.reach(plane.normal)) is None:
        return 0.0
    level = dot(plane.points[0], plane.normal)
    return max(0.0, reach[0] - level, level - reach[1])


def _is_reached(one: FaceData, plane: FaceData, bound: float) -> bool:
    """Whether a face comes as near to a flat one as a bound, straight in front of it.

    Told by one point that does, a corner or on a cylinder's line nearest to the plane:
    so the kernel need not look for it, which takes ten times as long.
    """
    if plane.normal is None:
        return False
    for point in _nearest_points(one, plane.normal):
        height = dot(subtract(point, plane.points[0]), plane.normal)
        if abs(abs(height) - bound) < TIE:
            foot = subtract(point, scale(plane.normal, height))
            if _is_on(plane, foot) and (point in one.points or _is_on(one, point)):
                return True
    return False


def _nearest_points(face: FaceData, normal: Vector) -> Iterator[Vector]:
    """Points of a face of which one may be the nearest to a plane, and some beside it."""
    yield from face.points
    if face.cylinder is None or abs(dot(face.cylinder.axis, normal)) > 1e-9:
        return
    start, axis = face.cylinder.point, face.cylinder.axis
    levels = [dot(subtract(p, start), axis) for p in face.points]
    middle = add(start, scale(axis, (min(levels) + max(levels)) / 2))
    yield add(middle, scale(normal, face.cylinder.radius))
    yield add(middle, scale(normal, -face.cylinder.radius))


def _is_on(data: FaceData, point: Vector) -> bool:
    """Whether a point of a face's surface lies in the face, and not on its edge."""
    state = BRepClass_FaceClassifier(data.face, gp_Pnt(*point), ON_FACE).State()
    return bool(state == TopAbs_State.TopAbs_IN)


def _bounds(ones: Sequence[FaceData], others: Sequence[FaceData]) -> Array:
    """For each pair of faces what their distance is at least: of their boxes, or from a plane."""
    a, b = (np.array([face.box for face in faces]) for faces in (ones, others))
    low = np.maximum(a[:, None, 0] - b[None, :, 1], b[None, :, 0] - a[:, None, 1])
    apart: Array = np.linalg.norm(np.maximum(low, 0.0), axis=2)
    bounds = np.maximum(apart, np.maximum(_from_planes(ones, b), _from_planes(others, a).T))
    return bounds


def _from_planes(faces: Sequence[FaceData], boxes: Array) -> Array:
    """Distance from the planes of the flat ones among the faces to each box; else 0."""
    normals = np.array([face.normal or (0.0, 0.0, 0.0) for face in faces])
    points = np.array([face.points[0] if face.normal else (0.0, 0.0, 0.0) for face in faces])
    levels = np.einsum("ni,ni->n", normals, points)[:, None]
    middle = normals @ boxes.mean(axis=1).T
    reach = np.abs(normals) @ ((boxes[:, 1] - boxes[:, 0]) / 2).T
    away: Array = np.maximum(np.abs(middle - levels) - reach, 0.0)
    return away


def compound_of(faces: tuple[FaceData, ...]) -> TopoDS_Compound:
    """Faces as one shape, for a distance to the nearest of them."""
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for face in faces:
        builder.Add(compound, face.face)
    return compound
