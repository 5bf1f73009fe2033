"""Checks of tenons in their mortises, and of the wood round each mortise.

The joint's record only says which faces belong to which mortise; every distance
is measured between faces of the finished solids.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.bed import Piece
from bedmodel.checks.fills import check_fills
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.halves import Half
from bedmodel.checks.nearest import compound_of, distance
from bedmodel.checks.own_tenons import own_clearances
from bedmodel.checks.probe import Probe
from bedmodel.checks.sliding import check_sliding
from bedmodel.checks.walls import Walls, all_walls
from bedmodel.checks.wood_left import check_wood_left
from bedmodel.cuts import Role
from bedmodel.frames import Vector, dot, subtract
from bedmodel.joints import board_joints
from bedmodel.solids import location

CLEARANCE_TOLERANCE = 0.02  # mm, on a clearance of about 0.1
FIVE_WALLS = "a mortise with five walls"
SAME_PLANE = 2.0  # mm; the tenon's middle is looked for this near the mortise's opening


def check_mortises(probe: Probe) -> Iterator[Result]:
    """Tenons in their mortises, and the walls round these."""
    walls = all_walls(probe)
    halves = list(_halves(probe, walls))
    yield from _fits(probe, halves)
    yield from check_wood_left(probe, walls)
    yield check_sliding(probe, halves)
    yield from check_fills(probe, walls)


def _halves(probe: Probe, walls: dict[str, list[Walls]]) -> Iterator[Half]:
    """Each tenon in each of its mortises: loose ones have two, a board's own are in the leg."""
    bed = probe.bed
    for joint in board_joints(bed.layout):
        x, y, z = joint.frame.origin
        for side, sign in (("left", -1.0), ("right", 1.0)):
            name = f"{joint.name}_{side}"
            tenon = bed.piece(joint.board if joint.plan.integral else name)
            leg, board = bed.piece(f"{joint.leg}_{side}"), bed.piece(joint.board)
            for mate in (leg,) if joint.plan.integral else (leg, board):
                role: Role = "haunch" if joint.is_haunch else "mortise"
                own = _walls_at(walls, mate, (sign * x, y, z), role)
                yield Half(joint, (name, mate.name), tenon, mate, own)


def _fits(probe: Probe, halves: list[Half]) -> Iterator[Result]:
    cheeks: dict[tuple[str, str], tuple[list[float], float]] = {}
    ends: dict[tuple[str, str], tuple[float, float]] = {}
    missing = []
    for half in halves:
        found = _measured(probe, half)
        if found is None:
            walls_found = float(len(half.own.faces)) if half.own is not None else 0.0
            missing.append(Finding(Code.MORTISE_MISSING, half.parts, walls_found, FIVE_WALLS))
            continue
        cheeks[half.parts] = found[0], half.joint.plan.cheek_clearance
        if found[1] is not None:
            ends[half.parts] = found[1], half.joint.plan.end_gap
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


def _measured(probe: Probe, half: Half) -> tuple[list[float], float | None] | None:
    if half.own is None:
        return None
    if half.joint.plan.integral:
        return own_clearances(probe, half)
    measure = _round_clearances if half.joint.plan.is_dowel else _clearances
    return measure(probe, half.tenon, half.mate, half.own)


def _walls_at(
    walls: dict[str, list[Walls]], mate: Piece, place: Vector, role: Role
) -> Walls | None:
    """The mortise, or the haunch's groove, in whose opening a place of the bed lies.

    It goes by the place, not by the name: where left and right are one kind, one
    of them is turned over, and its mortises may have changed places.
    """
    here = mate.placement.inverse().point(place)
    for own in walls.get(mate.kind.name, []):
        x, y, z = own.cut.frame.inverse().point(here)
        if own.cut.role != role:
            continue
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
    # A slot, which lets a dry dowel slide, has flat cheeks too.
    frame = own.cut.frame
    cheeks = (*own.facing(frame.y), *own.facing(_reverse(frame.y)))
    there = location(mate.placement.inverse() @ dowel.placement)
    curved = tuple(f for f in probe.faces(dowel.kind.name) if f.normal is None)
    side = compound_of(curved).Moved(there.wrapped)
    into = mate.placement.direction(own.cut.frame.z)
    gap = distance(compound_of((*round_walls, *cheeks)), side)
    return [gap], _gap(probe, dowel, mate, own, into)


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
