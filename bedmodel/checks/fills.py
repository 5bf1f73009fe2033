"""Checks of what fills and caps an end, measured on the finished solids.

Gaps between uprights are those between their bodies as they are met on the way from leg to
leg; fits are distances between the walls of a hole or groove and what stands in it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator

from bedmodel.bed import Piece
from bedmodel.checks.faces import SIDES
from bedmodel.checks.finding import Caution, Code, Finding, Result
from bedmodel.checks.nearest import compound_of, distance
from bedmodel.checks.probe import Probe
from bedmodel.checks.walls import Walls
from bedmodel.end_joints import FillJoints, cap_name, panel_name, rail_names, upright_name
from bedmodel.end_plan import EndPlan
from bedmodel.ends.boards import given_of
from bedmodel.ends.gaps import trapping_band, traps
from bedmodel.ends.record import PanelPlan, UprightPlan
from bedmodel.frames import Frame, Vector, dot, subtract
from bedmodel.solids import location

EVEN = 0.1  # mm; equal gaps may differ by this
FIT = 0.02  # mm, on clearances of about 0.1
ROOM = 0.01
SEATED = 0.02
X: Vector = (1.0, 0.0, 0.0)
Z: Vector = (0.0, 0.0, 1.0)


def check_fills(probe: Probe, walls: dict[str, list[Walls]]) -> Iterator[Result]:
    """Gaps of uprights, fits of what is let in, room and depth of panels, seats of caps."""
    yield from _gaps(probe)
    yield from _seats(probe)
    yield _fits(probe, walls)
    yield from _panels(probe)


# --- gaps ----------------------------------------------------------------------------------


def _gaps(probe: Probe) -> Iterator[Result]:
    uneven: list[Finding] = []
    trapping: list[Finding] = []
    told: list[Caution] = []
    off: list[float] = []
    narrow: list[float] = []
    low, high = trapping_band()
    for end, plan in _uprights(probe):
        name, given = given_of(probe.bed.layout.sheet, end.end)
        table = given.spindles if plan.is_round else given.slats
        height = _opening(probe, end, plan)
        for parts, gap, stated in _measured(probe, end, plan):
            off.append(abs(gap - stated))
            narrow.append(gap)
            if abs(gap - stated) > EVEN:
                limit = f"{stated:.2f} mm within {EVEN:g} mm"
                uneven.append(Finding(Code.UPRIGHT_GAPS_UNEQUAL, parts, gap, limit))
            if not traps(gap, height):
                continue
            if table.trapping == "told":
                text = f"a gap of {gap:.0f} mm can catch a child's head; {name}'s sheet allows it"
                if not any(caution.told == text for caution in told):
                    told.append(Caution(Code.GAP_TRAPS_HEAD, parts, gap, text))
            else:
                limit = f"at most {low:g} mm, or from {high:g} mm"
                trapping.append(Finding(Code.GAP_TRAPS_HEAD, parts, gap, limit))
    even = f"within {EVEN:g} mm of the stated gap"
    yield Result(
        Code.UPRIGHT_GAPS_UNEQUAL, len(off), max(off, default=None), "mm", even, tuple(uneven)
    )
    limit = f"at most {low:g} mm, or from {high:g} mm"
    yield Result(
        Code.GAP_TRAPS_HEAD,
        len(narrow),
        max(narrow, default=None),
        "mm",
        limit,
        tuple(trapping),
        tuple(told),
    )


def _uprights(probe: Probe) -> Iterator[tuple[EndPlan, UprightPlan]]:
    for end in probe.bed.layout.ends:
        for plan in end.fills:
            if isinstance(plan, UprightPlan):
                yield end, plan


def _opening(probe: Probe, end: EndPlan, plan: UprightPlan) -> float:
    """Height between the rails, by their boxes."""
    lower, upper = (probe.bed.piece(name) for name in rail_names(end, plan))
    return probe.extent(upper, Z)[0] - probe.extent(lower, Z)[1]


def _measured(
    probe: Probe, end: EndPlan, plan: UprightPlan
) -> Iterator[tuple[tuple[str, str], float, float]]:
    """Each gap from the left leg to the right one, and the stated one."""
    names = [upright_name(end, plan, i) for i in range(1, len(plan.middles) + 1)]
    legs = [f"{end.end}_leg_{side}" for side, _ in SIDES]
    spans = [probe.extent(probe.bed.piece(name), X) for name in names]
    faces = [probe.plane(probe.bed.piece(leg), (-s, 0.0, 0.0)) for leg, (_, s) in
             zip(legs, SIDES, strict=True)]  # fmt: skip
    left, right = (face[0][0] if face is not None else 0.0 for face in faces)
    stops = [(left, left), *spans, (right, right)]
    parts = [legs[0], *names, legs[1]]
    for i, (a, b) in enumerate(itertools.pairwise(range(len(stops)))):
        stated = plan.end_gap if i in (0, len(stops) - 2) else plan.gap
        yield (parts[a], parts[b]), stops[b][0] - stops[a][1], stated


# --- caps ----------------------------------------------------------------------------------


def _seats(probe: Probe) -> Iterator[Result]:
    findings, off = [], []
    for end in probe.bed.layout.ends:
        plan = end.cap
        if plan is None:
            continue
        cap = probe.bed.piece(cap_name(end))
        up = end.lean.direction(Z)
        under = probe.extent(cap, up)[0]
        board = probe.bed.piece(_board_under(end))
        below = [(board, plan.room)]
        if plan.use == "over":
            below += [(probe.bed.piece(f"{end.end}_leg_{side}"), 0.0) for side, _ in SIDES]
        for piece, stated in below:
            gap = under - probe.extent(piece, up)[1]
            off.append(abs(gap - stated))
            if abs(gap - stated) > SEATED:
                limit = f"{stated:g} mm within {SEATED:g} mm"
                findings.append(Finding(Code.CAP_NOT_SEATED, (cap.name, piece.name), gap, limit))
    limit = f"within {SEATED:g} mm of the stated gap"
    worst = max(off, default=None)
    yield Result(Code.CAP_NOT_SEATED, len(off), worst, "mm", limit, tuple(findings))


def _board_under(end: EndPlan) -> str:
    from bedmodel.end_plan import board_name

    assert end.cap is not None
    return board_name(end, end.boards[end.cap.board])


# --- fits ----------------------------------------------------------------------------------


def _fits(probe: Probe, walls: dict[str, list[Walls]]) -> Result:
    """Least gap round each tenon, pin and dowel in its hole, and how far it stands in."""
    findings: list[Finding] = []
    off: list[float] = []
    limit = f"the stated gap within {FIT:g} mm"

    def saw(parts: tuple[str, str], gap: float | None, stated: float) -> None:
        if gap is None:
            findings.append(Finding(Code.END_JOINT_FIT, parts, 0.0, "a hole or groove there"))
            off.append(stated)
            return
        off.append(abs(gap - stated))
        if abs(gap - stated) > FIT:
            told = f"{stated:g} mm within {FIT:g} mm"
            findings.append(Finding(Code.END_JOINT_FIT, parts, gap, told))

    joints, bed = FillJoints.of(probe.bed.layout), probe.bed
    for let_in in joints.let_ins:
        upright, rail = bed.piece(let_in.upright), bed.piece(let_in.rail)
        own = _found(walls, rail, let_in.frame)
        saw((upright.name, rail.name), _play(probe, upright, rail, own), let_in.plan.clearance)
        saw((upright.name, rail.name), _beyond(probe, upright, rail, own), let_in.plan.end_room)
    for stub in joints.stubs:
        upright, rail = bed.piece(stub.upright), bed.piece(stub.rail)
        own = _found(walls, rail, stub.frame)
        saw((upright.name, rail.name), _play(probe, upright, rail, own), stub.plan.tenon_clearance)
        saw((upright.name, rail.name), _beyond(probe, upright, rail, own), stub.plan.end_room)
    for cap in joints.caps:
        for dowel in bed.pieces:
            if not dowel.name.startswith(cap.name) or dowel.name not in _hands(cap.name):
                continue
            hand = dowel.name.removeprefix(cap.name)
            x, y, z = cap.frame.origin
            at = Frame((-x if hand == "_left" else x, y, z))
            for name in (f"{cap.below}{hand}", cap.cap):
                mate = bed.piece(name)
                own = _found(walls, mate, at)
                saw((dowel.name, name), _play(probe, dowel, mate, own), cap.plan.clearance)
                saw((dowel.name, name), _beyond(probe, dowel, mate, own), cap.plan.end_gap)
    worst = max(off, default=None)
    return Result(Code.END_JOINT_FIT, len(off), worst, "mm", limit, tuple(findings))


def _hands(stem: str) -> tuple[str, str, str]:
    return stem, f"{stem}_left", f"{stem}_right"


def _found(walls: dict[str, list[Walls]], mate: Piece, frame: Frame) -> Walls | None:
    """The hole or groove in whose opening a place of the bed lies, by the place alone."""
    here = mate.placement.inverse().point(frame.origin)
    for own in walls.get(mate.kind.name, []):
        if own.cut.role not in ("mortise", "hole", "groove"):
            continue
        x, y, z = own.cut.frame.inverse().point(here)
        if abs(x) < own.cut.length / 2 and abs(y) < own.cut.width / 2 and abs(z) < SEATED:
            return own if own.faces else None
    return None


def _play(probe: Probe, piece: Piece, mate: Piece, own: Walls | None) -> float | None:
    """Least distance between the sides of a hole and what stands in it."""
    if own is None:
        return None
    into = own.cut.frame.z
    sides = [f for f in own.faces if f.normal is None or abs(dot(f.normal, into)) < 0.01]
    if not sides:
        return None
    there = mate.placement.inverse() @ piece.placement
    # A shoulder lies on the mouth; what reaches beyond it is the tenon.
    within = [
        f
        for f in probe.faces(piece.kind.name)
        if any(own.cut.frame.inverse().point(there.point(p))[2] > SEATED for p in f.points)
    ]
    if not within:
        return None
    tenon = compound_of(tuple(within)).Moved(location(there).wrapped)
    return distance(compound_of(tuple(sides)), tenon)


def _beyond(probe: Probe, piece: Piece, mate: Piece, own: Walls | None) -> float | None:
    """From the end of what stands in a hole to its bottom."""
    if own is None:
        return None
    into = own.cut.frame.z
    bottoms = [f for f in own.faces if f.normal is not None and dot(f.normal, into) < -0.999]
    if not bottoms:
        return None
    level = max(dot(subtract(p, own.cut.frame.origin), into) for f in bottoms for p in f.points)
    towards = mate.placement.direction(into)
    start = dot(mate.placement.point(own.cut.frame.origin), towards)
    return start + level - probe.extent(piece, towards)[1]


# --- panels --------------------------------------------------------------------------------


def _panels(probe: Probe) -> Iterator[Result]:
    """Room of each panel's four edges to the bottoms of their grooves, and how deep they stand."""
    tight: list[Finding] = []
    loose: list[Finding] = []
    spare: list[float] = []
    deep: list[float] = []
    for parts, room, depth, plan, across in _edges(probe):
        needed = plan.swing if across else 0.0
        spare.append(room - needed)
        if room < needed - ROOM:
            limit = f"at least {needed:.2f} mm to swell into"
            tight.append(Finding(Code.PANEL_CANNOT_MOVE, parts, room, limit))
        stays = depth - (plan.swing if across else 0.0)
        deep.append(stays - plan.engaged_least)
        if stays < plan.engaged_least - ROOM:
            limit = f"at least {plan.engaged_least:g} mm deep when it has shrunk"
            loose.append(Finding(Code.PANEL_LOOSE, parts, stays, limit))
    limit = "0 mm or more to spare"
    worst = min(spare, default=None)
    yield Result(Code.PANEL_CANNOT_MOVE, len(spare), worst, "mm", limit, tuple(tight))
    worst = min(deep, default=None)
    yield Result(Code.PANEL_LOOSE, len(deep), worst, "mm", limit, tuple(loose))


Edge = tuple[tuple[str, str], float, float, PanelPlan, bool]


def _edges(probe: Probe) -> Iterator[Edge]:
    """For each edge: room to the groove's bottom, depth in the groove, and if across the grain.

    Edges along X lie in the rails' grooves, those along Z in the one at either side.
    """
    grooves = FillJoints.of(probe.bed.layout).grooves
    bed = probe.bed
    for end in bed.layout.ends:
        for plan in end.fills:
            if not isinstance(plan, PanelPlan):
                continue
            mouths = [(g, p) for g in grooves if g.plan is plan for p in _parts(bed.pieces, g.part)]
            for number, opening in enumerate(plan.openings, start=1):
                panel = bed.piece(panel_name(end, plan, number))
                for groove, part in mouths:
                    mirrored = part.name.endswith("_left") and groove.part.endswith("_leg")
                    x, y, z = groove.frame.origin
                    into = groove.frame.z
                    if mirrored:
                        x, into = -x, (-into[0], into[1], into[2])
                    upright = abs(into[2]) > 0.5
                    if not upright and min(abs(x - edge) for edge in opening) > SEATED:
                        continue
                    if not upright and (into[0] > 0) != (abs(x - opening[1]) < SEATED):
                        continue
                    mouth = dot(into, (x, y, z))
                    floor = _floor(probe, part, into, mouth)
                    reach = probe.extent(panel, into)[1]
                    across = upright == (plan.grain == "horizontal")
                    yield (panel.name, part.name), floor - reach, reach - mouth, plan, across


def _parts(pieces: Iterable[Piece], stem: str) -> Iterator[Piece]:
    return (piece for piece in pieces if piece.name in _hands(stem))


def _floor(probe: Probe, part: Piece, into: Vector, mouth: float) -> float:
    """How far the bottom of the groove behind a mouth lies along a direction, on the solid."""
    back = (-into[0], -into[1], -into[2])
    # A leg's taper looks nearly the same way.
    faces = probe.flat_faces(part, back, within=0.9999)
    levels = [dot(part.placement.point(face.points[0]), into) for face in faces]
    behind = [level for level in levels if level > mouth + SEATED]
    return min(behind, default=mouth)
