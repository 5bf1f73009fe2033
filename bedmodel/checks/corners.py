"""The rails' fasteners at the four corners of the bed: their pieces, and faces of these.

The layout only says which piece and which face belongs to what. Its joint frames are
those of the right-hand side; the left-hand side is their mirror image.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from bedmodel.bed import Piece
from bedmodel.checks.faces import SIDES
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.checks.walls import Walls
from bedmodel.cuts import Boss
from bedmodel.fasteners.choice import Corner
from bedmodel.frames import Vector, Z, dot, subtract

OWN_FACE = 0.05  # a face this close to where a boss has one is that face
SQUARE = 0.999
NEAR = 3.0  # mm; a cut is looked for this near the depth at which it is wanted


@dataclass(frozen=True)
class Site:
    """One fastener as built: its leg, its rail, its loose pieces by name, and its record."""

    side: str
    sign: float
    corner: Corner
    leg: Piece
    rail: Piece
    loose: Mapping[str, Piece]

    @property
    def into_leg(self) -> Vector:
        """From the joint into the leg, in the bed frame."""
        return self.corner.joint.z

    @property
    def is_raked(self) -> bool:
        """Whether the joint leans."""
        return abs(self.corner.joint.z[2]) > 1e-12

    @property
    def up(self) -> Vector:
        """Up along the leg, in the bed."""
        return self.corner.joint.x if self.is_raked else Z

    @property
    def into_rail(self) -> Vector:
        x, y, z = self.into_leg
        return (-x, -y, -z)

    @property
    def into_face(self) -> Vector:
        """From the rail's inside face into the rail."""
        x, y, z = self.corner.face.z
        return (self.sign * x, y, z)

    def place(self, point: Vector) -> Vector:
        """A point of the joint frame, in the bed."""
        x, y, z = self.corner.joint.point(point)
        return (self.sign * x, y, z)

    def direction(self, d: Vector) -> Vector:
        """A direction of the joint frame, in the bed."""
        x, y, z = self.corner.joint.direction(d)
        return (self.sign * x, y, z)


def sites(probe: Probe) -> list[Site]:
    """The four corners; none of a bed whose rails have no fastener."""
    return list(_sites(probe))


def _sites(probe: Probe) -> Iterator[Site]:
    bed, plan = probe.bed, probe.bed.layout.fastener
    if plan is None:
        return
    pieces = {piece.name: piece for piece in bed.pieces}
    for corner in plan.corners:
        for side, sign in SIDES:
            yield Site(
                side,
                sign,
                corner,
                pieces[f"{corner.end}_leg_{side}"],
                pieces[f"side_rail_{side}"],
                {
                    loose.name: pieces[f"{corner.end}_{loose.name}_{side}"]
                    for loose in corner.fitting.loose
                },
            )


# --- faces ---------------------------------------------------------------------------------


def outer_face(probe: Probe, piece: Piece, towards: Vector) -> FaceData | None:
    """Of the flat faces that look squarely in a direction of the bed, the outermost.

    A part's own end or face lies there, never the floor of a recess in it.
    """
    return max(
        probe.flat_faces(piece, towards, SQUARE),
        key=lambda face: span(piece, [face], towards)[1],
        default=None,
    )


def span(piece: Piece, faces: list[FaceData], along: Vector) -> tuple[float, float]:
    """Least and greatest distance of faces' corners along a direction of the bed."""
    here = piece.placement.inverse().direction(along)
    start = dot(piece.placement.origin, along)
    levels = [start + dot(point, here) for face in faces for point in face.points]
    return min(levels), max(levels)


def reach(piece: Piece, faces: Sequence[FaceData], along: Vector) -> tuple[float, float]:
    """How far faces, round ones too, reach along a direction of the bed."""
    here = piece.placement.inverse().direction(along)
    start = dot(piece.placement.origin, along)
    levels = [level for face in faces for level in _reach(face, here)]
    return start + min(levels), start + max(levels)


def _reach(face: FaceData, here: Vector) -> tuple[float, float]:
    """Along a direction of the part frame: by its arcs, or by its box where these do not tell."""
    if (told := face.reach(here)) is not None:
        return told
    ends = [sorted((w * a, w * b)) for w, a, b in zip(here, *face.box, strict=True)]
    return sum(end[0] for end in ends), sum(end[1] for end in ends)


def boss_faces(probe: Probe, kind: str, boss: Boss) -> dict[str, FaceData]:
    """The flat faces of a boss by its outline's names; its two ends are "near" and "far"."""
    found = {}
    inverse = boss.frame.inverse()
    x0, y0, x1, y1 = boss.outline.bounds()
    low = (x0 - OWN_FACE, y0 - OWN_FACE, -OWN_FACE)
    high = (x1 + OWN_FACE, y1 + OWN_FACE, boss.height + OWN_FACE)
    for face in probe.faces(kind):
        if face.normal is None:
            continue
        points = [inverse.point(p) for p in face.points]
        if not all(a <= c <= b for p in points for a, c, b in zip(low, p, high, strict=True)):
            continue
        name = _boss_side(boss, inverse.direction(face.normal), points)
        if name is not None:
            found[name] = face
    return found


def _boss_side(boss: Boss, normal: Vector, points: list[Vector]) -> str | None:
    """The side of a boss in whose plane a face lies."""
    for name, sign, level in (("near", -1.0, 0.0), ("far", 1.0, boss.height)):
        if sign * normal[2] > SQUARE and all(abs(p[2] - level) < OWN_FACE for p in points):
            return name
    for edge in boss.outline.edges():
        if edge.is_arc:
            continue
        (xa, ya), (xb, yb) = edge.start, edge.end
        outward = ((yb - ya) / edge.chord, (xa - xb) / edge.chord, 0.0)
        if dot(normal, outward) > SQUARE and all(
            abs(dot(subtract(p, (xa, ya, 0.0)), outward)) < OWN_FACE for p in points
        ):
            return edge.name
    return None


def cut_at(
    walls: list[Walls], piece: Piece, place: Vector, role: str, before: float = 0.0
) -> Walls | None:
    """The cut of a piece in whose opening a place of the bed lies, or ``before`` it.

    It goes by the place, not by the name: a piece may be turned end for end.
    """
    here = piece.placement.inverse().point(place)
    for own in walls:
        if own.cut.role != role:
            continue
        x, y, z = own.cut.frame.inverse().point(here)
        inside = abs(x) < own.cut.length / 2 and abs(y) < own.cut.width / 2
        if inside and -NEAR - before < z < own.cut.depth + NEAR:
            return own
    return None
