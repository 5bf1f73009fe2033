"""Checks of tenons in their mortises, and of the wood round each mortise.

The joint's record only says which faces belong to which mortise; every distance
is measured between faces of the finished solids.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.bed import Piece
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.nearest import compound_of, distance
from bedmodel.checks.probe import Probe
from bedmodel.checks.walls import Walls, all_walls
from bedmodel.checks.wood_left import check_wood_left
from bedmodel.frames import Vector, dot, subtract
from bedmodel.joints import TenonJoint, tenon_joints
from bedmodel.solids import location

CLEARANCE_TOLERANCE = 0.02  # mm, on a clearance of about 0.1
FIVE_WALLS = "a mortise with five walls"
SAME_PLANE = 2.0  # mm; the tenon's middle is looked for this near the mortise's opening


def check_mortises(probe: Probe) -> Iterator[Result]:
    """Tenons in their mortises, and the walls round these."""
    walls = all_walls(probe)
    yield from _fits(probe, walls)
    yield from check_wood_left(probe, walls)


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
    side = compound_of(curved).Moved(there.wrapped)
    into = mate.placement.direction(own.cut.frame.z)
    return [distance(compound_of(round_walls), side)], _gap(probe, dowel, mate, own, into)


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


def _reverse(v: Vector) -> Vector:
    return (-v[0], -v[1], -v[2])
