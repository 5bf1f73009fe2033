"""Checks of the wood left round each mortise, and round each cut of a rail's fastener."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.checks.walls import Walls, wood_between, wood_outside
from bedmodel.cuts import is_for_tenon, made_to_meet
from bedmodel.end_joints import let_ins
from bedmodel.joints import board_joints

WALL_TOLERANCE = 0.01
BREAK_OUT = 1e-3
CLEAR = 1.5  # walls of so many times the least are not measured to the last micron


class _Tally:
    """What one code has seen: how many walls, the thinnest, and the findings."""

    def __init__(self, code: Code, limits: set[float]) -> None:
        self.code = code
        self.limits = limits
        self.walls: list[float] = []
        self.findings: list[Finding] = []

    def saw(
        self, wall: float, parts: tuple[str, ...], least: float, *, fault: bool, place: str = ""
    ) -> None:
        self.walls.append(wall)
        if fault:
            limit = f"at least {least:g} mm of wood"
            self.findings.append(Finding(self.code, parts, wall, limit, place))

    def result(self, tested: int) -> Result:
        limit = " or ".join(sorted(f"{w:g}" for w in self.limits)) or "0"
        worst = min(self.walls, default=None)
        findings = tuple(self.findings)
        return Result(self.code, tested, worst, "mm", f"at least {limit} mm of wood", findings)

    def count(self, tested: int, limit: str) -> Result:
        findings = tuple(self.findings)
        return Result(self.code, tested, float(len(findings)), "count", limit, findings)


def check_wood_left(probe: Probe, walls: dict[str, list[Walls]]) -> Iterator[Result]:
    """Wood between each cut and the outside of its part, and between cuts."""
    layout = probe.bed.layout
    wanted = {joint.name: joint.plan.wall_least for joint in board_joints(layout)}
    wanted |= {joint.upright: joint.plan.wall_least for joint in let_ins(layout)}
    recess = layout.sheet.fastener.wall_least
    thin, out, meet = (
        _Tally(code, set(wanted.values()))
        for code in (Code.MORTISE_WALL_THIN, Code.MORTISE_BREAKS_OUT, Code.MORTISES_MEET)
    )
    thin_recess = _Tally(Code.RECESS_WALL_THIN, {recess})
    near = _Tally(Code.FASTENER_NEAR_MORTISE, {recess})
    enough = CLEAR * max(recess, *wanted.values())
    for kind, cuts in walls.items():
        owned = {id(f) for cut in cuts for f in cut.faces}
        for i, own in enumerate(cuts):
            parts = (kind, own.cut.name)
            if not own.faces:
                # Nobody knows what is left round it. The check of its tenon tells of a
                # mortise, that of its screw of a pilot hole.
                if not is_for_tenon(own.cut) and own.cut.role != "pilot":
                    thin_recess.saw(0.0, parts, recess, fault=True, place="round a cut not found")
                continue
            outside = wood_outside(probe, kind, own, owned, cuts, enough)
            if not is_for_tenon(own.cut):
                fault = outside < recess - WALL_TOLERANCE
                thin_recess.saw(outside, parts, recess, fault=fault)
            mortises, fittings = _between(own, cuts[i + 1 :], enough)
            for name, wall in fittings:
                near.saw(wall, (*parts, name), recess, fault=wall < recess - WALL_TOLERANCE)
            if not is_for_tenon(own.cut):
                continue
            # A cut stray in a part, of no joint, must leave as much wood as any.
            least = wanted.get(own.cut.name.rpartition("_")[0], max(wanted.values()))
            wall = min(outside, mortises)
            broken, met = outside < BREAK_OUT, mortises < BREAK_OUT
            out.saw(outside, parts, least, fault=broken)
            meet.saw(mortises, parts, least, fault=met and not broken)
            slim = wall < least - WALL_TOLERANCE and not broken and not met
            thin.saw(wall, parts, least, fault=slim)
    tested = len(thin.walls)
    yield thin.result(tested)
    yield out.count(tested, "none breaks through")
    yield meet.count(tested, "none meets")
    yield thin_recess.result(len(thin_recess.walls))
    yield near.result(len(near.walls))


def _between(
    own: Walls, others: list[Walls], enough: float
) -> tuple[float, list[tuple[str, float]]]:
    """Wood to the nearest of the other mortises, and to each cut of another fastener."""
    mortises, fittings = math.inf, []
    for other in others:
        if made_to_meet(own.cut, other.cut):
            continue
        wall = wood_between(own, other, enough)
        if is_for_tenon(own.cut) and is_for_tenon(other.cut):
            mortises = min(mortises, wall)
        else:
            fittings.append((other.cut.name, wall))
    return mortises, fittings
