"""The cuts of a part as found in its solid, and the wood between them and its outside."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from bedmodel.bed import Kind
from bedmodel.checks.nearest import least_distance
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.cuts import Cut, Recess
from bedmodel.frames import Vector, dot, subtract
from bedmodel.outline import Edge

OWN_FACE = 0.05  # a face this close inside a cut's box is one of its walls


@dataclass(frozen=True)
class Walls:
    """One cut as found in a solid: its faces, in the part frame."""

    cut: Cut
    faces: tuple[FaceData, ...]

    @functools.cached_property
    def box(self) -> tuple[Vector, Vector]:
        """Least and greatest corner of the box round the faces; there must be some."""
        lows, highs = zip(*(face.box for face in self.faces), strict=True)
        return _corner(min, lows), _corner(max, highs)

    def facing(self, towards: Vector) -> list[FaceData]:
        """Flat walls whose normal, out of the wood, looks in a direction."""
        return [f for f in self.faces if f.normal is not None and dot(f.normal, towards) > 0.999]


def _corner(pick: Callable[..., float], corners: Sequence[Vector]) -> Vector:
    x, y, z = (pick(values) for values in zip(*corners, strict=True))
    return x, y, z


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
    return least_distance(own.faces, outside, enough)


def _is_floor(recess: Cut, cut: Cut) -> bool:
    """Whether a cut was made from the floor of a recess or counterbore of its family."""
    if not cut.family or recess.family != cut.family or recess is cut:
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
    """Wood between two cuts of one part; what is ``enough`` apart is told by the boxes alone."""
    if not own.faces or not other.faces:
        return math.inf
    (low, high), (other_low, other_high) = own.box, other.box
    gaps = (
        max(a - d, b - c, 0.0) for a, b, c, d in zip(low, other_low, high, other_high, strict=True)
    )
    apart = math.hypot(*gaps)
    return apart if apart >= enough else least_distance(own.faces, other.faces, enough)
