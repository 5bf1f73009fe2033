"""Checks of wood screws: their threads bite, and their holes stand over one another.

The screws of the rails' fasteners, and those of runners, slats and cleats. Each is looked
for by its place: the hole it goes through, in metal or in the part that is held, and its
pilot hole in the part that it holds to.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.bed import Piece
from bedmodel.checks.corners import Site, cut_at, sites
from bedmodel.checks.faces import SIDES
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import Cylinder
from bedmodel.checks.walls import Walls, find_walls
from bedmodel.frames import Vector, cross, dot, scale, subtract
from bedmodel.screw_joints import screw_joints

MARGIN = 0.01  # mm; sizes are told to 0.1 mm
CLOSED = 0.05  # mm; a hole's wall is whole when it is this near as long as the hole is deep
# A head that is pulled aside by more stands proud or shoves its plate; our own choice. It is
# twice a plate's gap in its recess, as the sheet has it if not told otherwise.
OFF_LINE = 0.2  # mm


@dataclass(frozen=True)
class _Screw:
    """One screw as built: the hole it goes through, its pilot, and what it should bite (mm)."""

    through: Piece | None
    hole: Walls | None
    piece: Piece
    pilot: Walls | None
    name: str
    can: float
    wanted: float


def check_screws(probe: Probe) -> Iterator[Result]:
    """Bite of every screw, and whether its holes are in line."""
    found = list(_Finder(probe).all())
    yield _bites(found)
    yield _in_line(found)


# --- which screws --------------------------------------------------------------------------


class _Finder:
    """Looks for the holes of every screw; the cuts of a kind are found once."""

    def __init__(self, probe: Probe) -> None:
        self._probe = probe
        self._pieces = {piece.name: piece for piece in probe.bed.pieces}
        self._walls: dict[str, list[Walls]] = {}

    def all(self) -> Iterator[_Screw]:
        for site in sites(self._probe):
            yield from self._of_fastener(site)
        yield from self._of_platform()

    def _of_fastener(self, site: Site) -> Iterator[_Screw]:
        wanted = self._probe.bed.layout.sheet.fastener.bite_least
        for screw in site.corner.fitting.screws:
            head, way = site.place(screw.frame.origin), site.direction(screw.frame.z)
            into_leg = dot(way, site.into_leg) > 0.5
            piece = site.leg if into_leg else site.rail
            # The other part's plate lies on this one, its holes often at the same heights.
            names = ("slot_plate",) if into_leg else ("hook_plate", "rail_bracket")
            through = next((site.loose[name] for name in names if name in site.loose), None)
            hole = self._at(through, head, "hole", screw.before) if through is not None else None
            pilot = self._at(piece, head, "pilot", screw.before)
            name = pilot.cut.name if pilot is not None else screw.pilot
            can = screw.length - screw.before
            yield _Screw(through, hole, piece, pilot, name, can, wanted)

    def _of_platform(self) -> Iterator[_Screw]:
        wanted = self._probe.bed.layout.sheet.screw.bite_least
        for joint in screw_joints(self._probe.bed.layout):
            for side, sign in SIDES:
                held, holder = (self._piece(name, side) for name in (joint.held, joint.holder))
                x, y, z = joint.frame.point((0.0, 0.0, joint.plan.held))
                between = (sign * x, y, z)
                hole = self._at(held, between, "hole")
                pilot = self._at(holder, between, "pilot")
                # Holes of a turned part have the other hand's names.
                name = pilot.cut.name if pilot is not None else f"{joint.name}_{side}_pilot"
                yield _Screw(held, hole, holder, pilot, name, joint.plan.bite, wanted)

    def _piece(self, name: str, side: str) -> Piece:
        return self._pieces[name] if name in self._pieces else self._pieces[f"{name}_{side}"]

    def _at(self, piece: Piece, place: Vector, role: str, before: float = 0.0) -> Walls | None:
        kind = piece.kind
        if kind.name not in self._walls:
            self._walls[kind.name] = find_walls(self._probe, kind)
        return cut_at(self._walls[kind.name], piece, place, role, before)


# --- bite ----------------------------------------------------------------------------------


def _bites(screws: Sequence[_Screw]) -> Result:
    """Thread in wood of each screw, along its pilot hole's wall."""
    code, findings, bites = Code.SCREW_BITE_SHORT, [], []
    for screw in screws:
        bite, closed = _bite(screw.pilot, screw.can)
        bites.append(bite)
        if bite < screw.wanted - MARGIN or not closed:
            limit = f"at least {screw.wanted:g} mm of thread in a hole closed all round"
            findings.append(Finding(code, (screw.piece.name, screw.name), bite, limit))
    each = sorted({screw.wanted for screw in screws})
    limit = f"at least {' or '.join(f'{wanted:g}' for wanted in each)} mm of thread"
    return Result(code, len(bites), min(bites, default=None), "mm", limit, tuple(findings))


def _bite(pilot: Walls | None, can: float) -> tuple[float, bool]:
    """Length of thread in wood (mm), and whether there is wood all round and beyond it.

    The length is the round wall's area shared out over its circumference, so a wall
    that is partly cut away counts for what is left of it.
    """
    if pilot is None:
        return 0.0, False
    round_walls = [f for f in pilot.faces if f.cylinder is not None]
    if not round_walls:
        return 0.0, False
    into = pilot.cut.frame.z
    bite = sum(f.area / (2 * math.pi * f.cylinder.radius) for f in round_walls if f.cylinder)
    levels = [dot(point, into) for face in round_walls for point in face.points]
    closed = bool(pilot.facing(scale(into, -1.0)))
    return min(bite, can), closed and bite > max(levels) - min(levels) - CLOSED


# --- in line -------------------------------------------------------------------------------


def _in_line(screws: Sequence[_Screw]) -> Result:
    """How far each hole's axis stands off its pilot's, measured on the solids."""
    code, limit = Code.SCREW_OFF_PILOT, f"within {OFF_LINE:g} mm of the pilot hole's axis"
    findings, offsets = [], []
    for screw in screws:
        pilot = _axis(screw.piece, screw.pilot)
        if pilot is None:
            continue  # its bite tells that
        hole = None if screw.through is None else _axis(screw.through, screw.hole)
        off = math.inf if hole is None else _apart(hole, pilot)
        offsets.append(off)
        if off > OFF_LINE:
            through = "no hole" if screw.through is None else screw.through.name
            parts = (through, screw.piece.name, screw.name)
            findings.append(Finding(code, parts, off, limit))
    return Result(code, len(offsets), max(offsets, default=None), "mm", limit, tuple(findings))


def _axis(piece: Piece, walls: Walls | None) -> Cylinder | None:
    """A hole's round wall, in the bed."""
    for face in walls.faces if walls is not None else ():
        if face.cylinder is not None:
            return face.cylinder.placed(piece.placement)
    return None


def _apart(hole: Cylinder, pilot: Cylinder) -> float:
    """How far the hole's axis is from the pilot's, or a lean of more than that over 10 mm."""
    between = cross(subtract(hole.point, pilot.point), pilot.axis)
    lean = scale(cross(hole.axis, pilot.axis), 10.0)
    return max(math.hypot(*between), math.hypot(*lean))
