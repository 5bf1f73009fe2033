"""The cuts of a part as found in its solid, and the wood between them and its outside."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from OCP.BRep import BRep_Builder
from OCP.TopoDS import TopoDS_Compound

from bedmodel.bed import Kind
from bedmodel.checks.probe import FaceData, Probe, distance, union_of
from bedmodel.frames import Vector, dot, subtract
from bedmodel.outline import Edge
from bedmodel.shape import Cut, Recess

OWN_FACE = 0.05  # a face this close inside a cut's box is one of its walls
FAR = 25.0  # mm; over this the distance between boxes is near enough for a report


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
    inverse = cut.frame.inverse()
    half = (cut.length / 2 + OWN_FACE, cut.width / 2 + OWN_FACE)
    for face in probe.faces(kind.name):
        points = [inverse.point(p) for p in face.points]
        inside = all(
            abs(p[0]) <= half[0]
            and abs(p[1]) <= half[1]
            and -OWN_FACE <= p[2] <= cut.depth + OWN_FACE
            for p in points
        )
        flat_on_opening = all(abs(p[2]) <= OWN_FACE for p in points)
        if inside and points and not flat_on_opening:
            yield face


def wood_outside(
    probe: Probe, kind: str, own: Walls, owned: set[int], others: list[Walls]
) -> float:
    """Least distance from a cut's faces to the part's outside faces.

    ``owned`` are the faces of all cuts. Those that the cut is meant to come out of are
    left out, and so are those of a recess in whose floor it was made. Faces are tried
    from the nearest possible on, by the distance between boxes, until no other can be
    nearer.
    """
    ways_out = [own, *(other for other in others if _is_floor(other.cut, own.cut))]
    outside = [
        f
        for f in probe.faces(kind)
        if id(f) not in owned and not any(_comes_out_of(way, f) for way in ways_out)
    ]
    faces = compound_of(own.faces)
    low, high = union_of([f.box for f in own.faces])
    order = sorted((_box_distance(low, high, f), i) for i, f in enumerate(outside))
    best = math.inf
    for bound, i in order:
        if bound >= min(best, FAR):
            # What is far off is told by its box: no limit is so wide.
            best = min(best, bound)
            break
        best = min(best, distance(faces, outside[i].face))
    return best


def _is_floor(recess: Cut, cut: Cut) -> bool:
    """Whether a cut was made from the floor of a recess of its family."""
    if recess.role != "recess" or not cut.family or recess.family != cut.family:
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


def wood_between(own: Walls, other: Walls) -> float:
    """Wood between two cuts of one part."""
    if not other.faces or not own.faces:
        return math.inf
    low, high = union_of([f.box for f in own.faces])
    other_box = union_of([f.box for f in other.faces])
    if (apart := _apart((low, high), other_box)) > FAR:
        return apart
    return distance(compound_of(own.faces), compound_of(other.faces))


def _box_distance(low: Vector, high: Vector, face: FaceData) -> float:
    """A lower bound of the distance from a box to a face."""
    bound = _apart((low, high), face.box)
    if face.normal is not None:
        level = dot(face.points[0], face.normal)
        ends = sum(max(n * a, n * b) for n, a, b in zip(face.normal, low, high, strict=True))
        bound = max(bound, level - ends)
    return bound


def _apart(one: tuple[Vector, Vector], other: tuple[Vector, Vector]) -> float:
    gaps = (max(0.0, b0 - a1, a0 - b1) for a0, a1, b0, b1 in zip(*one, *other, strict=True))
    return math.sqrt(sum(g * g for g in gaps))


def compound_of(faces: tuple[FaceData, ...]) -> TopoDS_Compound:
    """Faces as one shape, for a distance to the nearest of them."""
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for face in faces:
        builder.Add(compound, face.face)
    return compound
