"""Clearances of the tenons and haunches that a board has of its own, in the leg's mortises.

A board is one solid: the cheeks of its tenons and haunches may be one face. So the
faces that belong to one of them are known by where they reach in its mortise's frame:

    z = 0     the shoulder
    haunch    the haunch's end
    length    the tenon's end
"""

from __future__ import annotations

from bedmodel.checks.halves import Half
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.checks.walls import Walls
from bedmodel.frames import Vector, dot

_SQUARE = 0.999


def own_clearances(probe: Probe, half: Half) -> tuple[list[float], float | None] | None:
    """Gap at each cheek, and beyond the end; None where tenon or mortise lacks its cheeks.

    A mortise without a bottom breaks through, which another check tells: only the
    gap at its end is None.
    """
    own = half.own
    assert own is not None
    faces, turn = half.in_cut(probe), half.to_cut
    low, high = _levels(half)
    gaps = []
    for side in (1.0, -1.0):
        wall = _wall(own, (0.0, -side, 0.0))
        cheeks = [
            side * points[0][1]
            for face, points in faces
            if _looks(turn.direction(face.normal) if face.normal else None, (0.0, side, 0.0))
            and _spans(points, 2, (low + high) / 2)
            and _meets(points, half)
        ]
        if wall is None or not cheeks:
            return None
        # Cheeks not in one plane: the one that is most wrong.
        stated = half.joint.plan.cheek_clearance
        gaps.append(max((side * wall - c for c in cheeks), key=lambda gap: abs(gap - stated)))
    bottom = _wall(own, (0.0, 0.0, -1.0))
    ends = [
        points[0][2]
        for face, points in faces
        if _looks(turn.direction(face.normal) if face.normal else None, (0.0, 0.0, 1.0))
        and low < points[0][2]
        and (not half.joint.is_haunch or points[0][2] < high)
        and _meets(points, half)
    ]
    return gaps, bottom - max(ends) if bottom is not None and ends else None


def _levels(half: Half) -> tuple[float, float]:
    """Between which depths a cheek is surely this tenon's, or this haunch's."""
    plan = half.joint.plan
    if half.joint.is_haunch:
        length = plan.embedment_leg
        return length / 4, length * 1.5
    return max(plan.haunch, plan.embedment_leg / 4) * 1.25, plan.embedment_leg


def _wall(own: Walls, towards: Vector) -> float | None:
    """Place along its normal, in the mortise's frame, of its largest wall that looks there."""
    frame = own.cut.frame
    face = max(own.facing(frame.direction(towards)), key=lambda f: f.area, default=None)
    if face is None:
        return None
    x, y, z = towards
    return dot(frame.inverse().point(face.points[0]), (abs(x), abs(y), abs(z)))


def _looks(normal: Vector | None, towards: Vector) -> bool:
    return normal is not None and dot(normal, towards) > _SQUARE


def _spans(points: list[Vector], axis: int, level: float) -> bool:
    """Whether a face's corners lie on both sides of a level."""
    return min(p[axis] for p in points) < level < max(p[axis] for p in points)


def _meets(points: list[Vector], half: Half) -> bool:
    """Whether a face comes into the mortise's opening, seen along z.

    A tenon's does in the opening's middle; a haunch's between or beside tenons.
    """
    own = half.own
    assert own is not None
    across = own.cut.width / 2 + own.cut.width / 4
    if min(abs(p[1]) for p in points) > across:
        return False
    reach = own.cut.length / 2 if half.joint.is_haunch else 0.0
    return min(p[0] for p in points) <= reach and max(p[0] for p in points) >= -reach


def faces_inside(probe: Probe, half: Half) -> list[FaceData]:
    """The edges and the end of a board's own tenon: faces that lie wholly in its mortise.

    Its cheeks may go on into a haunch's, so they are left out.
    """
    own = half.own
    assert own is not None
    x, y, z = own.cut.length / 2, own.cut.width / 2, own.cut.depth
    low, high = _levels(half)
    most = high if half.joint.is_haunch else z
    return [
        face
        for face, points in half.in_cut(probe)
        if not (face.normal and abs(half.to_cut.direction(face.normal)[1]) > _SQUARE)
        and all(abs(p[0]) <= x and abs(p[1]) <= y for p in points)
        and low < max(p[2] for p in points) <= most
    ]
