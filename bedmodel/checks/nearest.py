"""The least distance between faces: by planes and axes where these tell it, else by the kernel."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Builder
from OCP.BRepClass import BRepClass_FaceClassifier
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_State
from OCP.TopoDS import TopoDS_Compound

from bedmodel.checks.solid_faces import FaceData
from bedmodel.frames import Vector, add, dot, scale, subtract, unit

Array = NDArray[np.float64]

FAR = 45.0  # mm; no limit is so wide, so over this a bound is near enough for a report
ON_FACE = 1e-7  # mm
TIE = 1e-9  # mm; a pair that may be nearer by less than this need not be measured


def least_distance(
    ones: Sequence[FaceData], others: Sequence[FaceData], enough: float = FAR
) -> float:
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
            closer = max(_off_plane(one, other), _off_plane(other, one), _off_round(one, other))
            heapq.heappush(pairs, (max(bound, closer), True, i, j))
        elif _is_reached(one, other, bound) or _is_reached(other, one, bound):
            best = bound
        else:
            # Of two cylinders the kernel may say 0, though they are far from each other.
            best = min(best, max(bound, distance(one.face, other.face)))
    return best


def _off_plane(one: FaceData, plane: FaceData) -> float:
    """How far a face is at least from another, flat one, by the other's plane."""
    if plane.normal is None or (reach := one.reach(plane.normal)) is None:
        return 0.0
    level = dot(plane.points[0], plane.normal)
    return max(0.0, reach[0] - level, level - reach[1])


def _off_round(one: FaceData, other: FaceData) -> float:
    """How far two parts of cylinders are at least from each other, by their axes."""
    ends = _axis_points(one, other)
    if ends is None or one.cylinder is None or other.cylinder is None:
        return 0.0
    return max(0.0, math.dist(*ends) - one.cylinder.radius - other.cylinder.radius)


def _axis_points(one: FaceData, other: FaceData) -> tuple[Vector, Vector] | None:
    """Where the axes of two parts of cylinders are nearest to each other."""
    if one.cylinder is None or other.cylinder is None:
        return None
    (p, d), (q, e) = (_axis(face) for face in (one, other))
    # The nearest points of two lines that end, p + s d and q + t e with s and t in 0 to 1.
    w, dd, ee, de = subtract(p, q), dot(d, d), dot(e, e), dot(d, e)
    dw, ew, turn = dot(d, w), dot(e, w), dd * ee - de * de
    s = _within_ends((de * ew - ee * dw) / turn) if turn > 1e-9 * dd * ee else 0.0
    t = _within_ends((de * s + ew) / ee)
    s = _within_ends((de * t - dw) / dd)
    return add(p, scale(d, s)), add(q, scale(e, t))


def _axis(face: FaceData) -> tuple[Vector, Vector]:
    """The part of a cylinder's axis beside the face: its start, and on to its end."""
    assert face.cylinder is not None
    start, along = face.cylinder.point, face.cylinder.axis
    levels = [dot(subtract(p, start), along) for p in face.points]
    low, high = min(levels), max(levels)
    return add(start, scale(along, low)), scale(along, high - low)


def _within_ends(share: float) -> float:
    return min(max(share, 0.0), 1.0)


def _is_reached(one: FaceData, other: FaceData, bound: float) -> bool:
    """Whether a face comes as near to another as a bound, told by two points that do.

    So the kernel need not look for them, which takes ten times as long.
    """
    for point, facing in _nearest_points(one, other):
        if abs(math.dist(point, facing) - bound) > TIE or not _is_on(other, facing):
            continue
        if point in one.points or _is_on(one, point):
            return True
    return False


def _nearest_points(one: FaceData, other: FaceData) -> Iterator[tuple[Vector, Vector]]:
    """Pairs of points of which one may be the nearest, some of them beside their faces."""
    if other.normal is not None:
        start, normal = other.points[0], other.normal
        points = [*one.points, *_lines_towards(one, normal)]
        for p in points:
            yield p, subtract(p, scale(normal, dot(subtract(p, start), normal)))
    ends = _axis_points(one, other)
    if ends is not None and one.cylinder is not None and other.cylinder is not None:
        p, q = ends
        if math.dist(p, q) > TIE:
            way = unit(subtract(q, p))
            r1, r2 = one.cylinder.radius, other.cylinder.radius
            yield add(p, scale(way, r1)), subtract(q, scale(way, r2))


def _lines_towards(face: FaceData, normal: Vector) -> Iterator[Vector]:
    """Middles of the two lines of a cylinder that are nearest to a plane along it, and farthest."""
    if face.cylinder is not None and abs(dot(face.cylinder.axis, normal)) < 1e-9:
        start, along = _axis(face)
        middle = add(start, scale(along, 0.5))
        yield add(middle, scale(normal, face.cylinder.radius))
        yield subtract(middle, scale(normal, face.cylinder.radius))


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


def distance(one: object, other: object) -> float:
    """The least distance between two shapes (mm)."""
    return float(BRepExtrema_DistShapeShape(one, other).Value())
