"""Checks of tenons in their mortises, and of the wood round each mortise.

The joint's record only says which faces belong to which mortise; every distance
is measured between faces of the finished solids.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from OCP.BRep import BRep_Builder
from OCP.TopoDS import TopoDS_Compound

from bedmodel.bed import Kind, Piece
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import FaceData, Probe, distance, union_of
from bedmodel.frames import Vector, dot, subtract
from bedmodel.joints import TenonJoint, tenon_joints
from bedmodel.shape import Mortise
from bedmodel.solids import location

CLEARANCE_TOLERANCE = 0.02  # mm, on a clearance of about 0.1
WALL_TOLERANCE = 0.01
BREAK_OUT = 1e-3
FIVE_WALLS = "a mortise with five walls"
SAME_PLANE = 2.0  # mm; the tenon's middle is looked for this near the mortise's opening
OWN_FACE = 0.05  # a face this close inside a mortise's box is one of its walls


@dataclass(frozen=True)
class Walls:
    """One mortise as found in a solid: its faces, in the part frame."""

    cut: Mortise
    faces: tuple[FaceData, ...]

    def facing(self, towards: Vector) -> list[FaceData]:
        """Flat walls whose normal, out of the wood, looks in a direction."""
        return [f for f in self.faces if f.normal is not None and dot(f.normal, towards) > 0.999]


def find_walls(probe: Probe, kind: Kind) -> list[Walls]:
    """The mortises of a kind, each with the faces that lie in its box."""
    return [Walls(cut, tuple(_own_faces(probe, kind, cut))) for cut in kind.shape.cuts]


def _own_faces(probe: Probe, kind: Kind, cut: Mortise) -> Iterator[FaceData]:
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


def check_mortises(probe: Probe) -> Iterator[Result]:
    """Tenons in their mortises, and the walls round these."""
    walls = {
        name: find_walls(probe, kind) for name, kind in probe.bed.kinds.items() if kind.shape.cuts
    }
    yield from _fits(probe, walls)
    yield from _wood_left(probe, walls)


def _halves(probe: Probe) -> Iterator[tuple[TenonJoint, Piece, Piece, Vector]]:
    """Each half of each joint: the joint, the tenon, the mortised piece, and where in the bed."""
    bed = probe.bed
    for joint in tenon_joints(bed.layout):
        x, y, z = joint.frame.origin
        for side, sign in (("left", -1.0), ("right", 1.0)):
            tenon = bed.piece(f"{joint.name}_{side}")
            for mate in (f"{joint.leg}_{side}", joint.board):
                yield joint, tenon, bed.piece(mate), (sign * x, y, z)


def _fits(probe: Probe, walls: dict[str, list[Walls]]) -> Iterator[Result]:
    cheeks: dict[tuple[str, str], tuple[list[float], float]] = {}
    ends: dict[tuple[str, str], tuple[float, float]] = {}
    missing = []
    for joint, tenon, mate, place in _halves(probe):
        parts = (tenon.name, mate.name)
        own = _walls_at(walls, mate, place)
        measure = _round_clearances if joint.plan.is_dowel else _clearances
        found = measure(probe, tenon, mate, own) if own is not None else None
        if found is None:
            walls_found = float(len(own.faces)) if own is not None else 0.0
            missing.append(Finding(Code.MORTISE_MISSING, parts, walls_found, FIVE_WALLS))
            continue
        cheeks[parts] = found[0], joint.plan.cheek_clearance
        if found[1] is not None:
            ends[parts] = found[1], joint.plan.end_gap
    yield _clearance_result(cheeks)
    yield _end_result(ends)
    yield Result(
        Code.MORTISE_MISSING,
        len(cheeks) + len(missing),
        float(len(missing)),
        "count",
        FIVE_WALLS,
        tuple(missing),
    )


def _walls_at(walls: dict[str, list[Walls]], mate: Piece, place: Vector) -> Walls | None:
    """The mortise of a piece in whose opening a place of the bed lies.

    It goes by the place, not by the name: where left and right are one kind, one
    of them is turned over, and its mortises may have changed places.
    """
    here = mate.placement.inverse().point(place)
    for own in walls.get(mate.kind.name, []):
        x, y, z = own.cut.frame.inverse().point(here)
        if abs(x) < own.cut.length / 2 and abs(y) < own.cut.width / 2 and abs(z) < SAME_PLANE:
            return own
    return None


def _clearances(
    probe: Probe, tenon: Piece, mate: Piece, own: Walls
) -> tuple[list[float], float | None] | None:
    """Gap at each cheek, and beyond the tenon's end, in one of its two mortises.

    None for a mortise without cheeks. One that has them but no bottom breaks
    through, which is another check's to tell: only the gap at its end is None.
    """
    into = mate.placement.direction(own.cut.frame.z)
    across = mate.placement.direction(own.cut.frame.y)
    gaps = []
    for towards in (across, _reverse(across)):
        gap = _gap(probe, tenon, mate, own, towards)
        if gap is None:
            return None
        gaps.append(gap)
    return gaps, _gap(probe, tenon, mate, own, into)


def _round_clearances(
    probe: Probe, dowel: Piece, mate: Piece, own: Walls
) -> tuple[list[float], float | None] | None:
    """Gap round a dowel, and beyond its end, in one of its two holes."""
    round_walls = tuple(f for f in own.faces if f.normal is None)
    if not round_walls:
        return None
    there = location(mate.placement.inverse() @ dowel.placement)
    curved = tuple(f for f in probe.faces(dowel.kind.name) if f.normal is None)
    side = _compound(curved).Moved(there.wrapped)
    into = mate.placement.direction(own.cut.frame.z)
    return [distance(_compound(round_walls), side)], _gap(probe, dowel, mate, own, into)


def _gap(probe: Probe, tenon: Piece, mate: Piece, own: Walls, towards: Vector) -> float | None:
    """From the tenon's face that looks ``towards`` to the wall that faces it."""
    tenon_face = probe.main_face(tenon, towards)
    local = mate.placement.inverse().direction(_reverse(towards))
    wall = max(own.facing(local), key=lambda f: f.area, default=None)
    if tenon_face is None or wall is None:
        return None
    start = tenon.placement.point(tenon_face.points[0])
    return min(dot(subtract(mate.placement.point(p), start), towards) for p in wall.points)


def _clearance_result(cheeks: dict[tuple[str, str], tuple[list[float], float]]) -> Result:
    """Each pair's gaps against its stated one."""
    findings = []
    for parts, (gaps, stated) in cheeks.items():
        wrong = max(gaps, key=lambda g: abs(g - stated))
        if abs(wrong - stated) > CLEARANCE_TOLERANCE:
            limit = f"{stated:g} mm within {CLEARANCE_TOLERANCE:g} mm"
            findings.append(Finding(Code.TENON_CHEEK_CLEARANCE, parts, wrong, limit))
    values = [(g, stated) for gaps, stated in cheeks.values() for g in gaps]
    worst = max(values, key=lambda v: abs(v[0] - v[1]), default=(None, 0.0))[0]
    limit = _joined(sorted({f"{stated:g}" for _, stated in cheeks.values()}))
    limit = f"{limit} mm within {CLEARANCE_TOLERANCE:g} mm"
    return Result(Code.TENON_CHEEK_CLEARANCE, len(values), worst, "mm", limit, tuple(findings))


def _joined(words: list[str]) -> str:
    return " or ".join(words)


def _end_result(ends: dict[tuple[str, str], tuple[float, float]]) -> Result:
    findings = tuple(
        Finding(Code.TENON_END_GAP, parts, gap, f"at least {stated:g} mm")
        for parts, (gap, stated) in ends.items()
        if gap < stated - CLEARANCE_TOLERANCE
    )
    worst = min(ends.values(), key=lambda e: e[0] - e[1], default=(None, 0.0))[0]
    limit = f"at least {_joined(sorted({f'{stated:g}' for _, stated in ends.values()}))} mm"
    return Result(Code.TENON_END_GAP, len(ends), worst, "mm", limit, findings)


def _wood_left(probe: Probe, walls: dict[str, list[Walls]]) -> Iterator[Result]:
    wanted = {joint.name: joint.plan.wall_least for joint in tenon_joints(probe.bed.layout)}
    thin, out, meet = [], [], []
    values = []
    for kind, mortises in walls.items():
        owned = {id(f) for m in mortises for f in m.faces}
        for i, own in enumerate(mortises):
            if not own.faces:
                continue
            outside = _wall(probe, kind, own, owned)
            between = min((_between(own, other) for other in mortises[i + 1 :]), default=math.inf)
            values += [outside, between]
            parts = (kind, own.cut.name)
            # A cut stray in a part, of no joint, must leave as much wood as any.
            least = wanted.get(own.cut.name.rpartition("_")[0], max(wanted.values()))
            limit = f"at least {least:g} mm of wood"
            if outside < BREAK_OUT:
                out.append(Finding(Code.MORTISE_BREAKS_OUT, parts, outside, limit))
            elif between < BREAK_OUT:
                meet.append(Finding(Code.MORTISES_MEET, parts, between, limit))
            elif min(outside, between) < least - WALL_TOLERANCE:
                thin.append(Finding(Code.MORTISE_WALL_THIN, parts, min(outside, between), limit))
    worst = min(values, default=None)
    tested = sum(len(m) for m in walls.values())
    limit = f"at least {_joined(sorted({f'{w:g}' for w in wanted.values()}))} mm of wood"
    yield Result(Code.MORTISE_WALL_THIN, tested, worst, "mm", limit, tuple(thin))
    yield Result(
        Code.MORTISE_BREAKS_OUT, tested, float(len(out)), "count", "none breaks through", tuple(out)
    )
    yield Result(Code.MORTISES_MEET, tested, float(len(meet)), "count", "none meets", tuple(meet))


def _wall(probe: Probe, kind: str, own: Walls, owned: set[int]) -> float:
    """Least distance from a mortise's faces to the part's outside faces.

    The face it opens in is left out. Faces are tried from the nearest possible
    on, by the distance between boxes, until no other can be nearer.
    """
    outside = [f for f in probe.faces(kind) if id(f) not in owned and not _opens_in(own, f)]
    faces = _compound(own.faces)
    low, high = union_of([f.box for f in own.faces])
    order = sorted((_box_distance(low, high, f), i) for i, f in enumerate(outside))
    best = math.inf
    for bound, i in order:
        if bound >= best:
            break
        best = min(best, distance(faces, outside[i].face))
    return best


def _opens_in(own: Walls, face: FaceData) -> bool:
    """True for the flat face that the mortise was cut into."""
    frame = own.cut.frame
    if face.normal is None or dot(face.normal, frame.z) > -0.999:
        return False
    return all(abs(dot(subtract(p, frame.origin), frame.z)) < OWN_FACE for p in face.points)


def _between(own: Walls, other: Walls) -> float:
    """Wood between two mortises of one part."""
    if not other.faces:
        return math.inf
    low, high = union_of([f.box for f in own.faces])
    other_box = union_of([f.box for f in other.faces])
    # Far apart, the distance between boxes is near enough for a report.
    if (apart := _apart((low, high), other_box)) > 50:
        return apart
    return distance(_compound(own.faces), _compound(other.faces))


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


def _compound(faces: tuple[FaceData, ...]) -> TopoDS_Compound:
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for face in faces:
        builder.Add(compound, face.face)
    return compound


def _reverse(v: Vector) -> Vector:
    return (-v[0], -v[1], -v[2])
