"""All checks, in the order of their codes."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from bedmodel.assembly import Bed
from bedmodel.checks.arrises import check_arrises
from bedmodel.checks.faces import check_faces
from bedmodel.checks.fasteners import check_fasteners
from bedmodel.checks.finding import Finding, Result
from bedmodel.checks.mortises import check_mortises
from bedmodel.checks.movement import check_movement
from bedmodel.checks.overlap import check_overlap
from bedmodel.checks.platform import check_platform
from bedmodel.checks.pocket import check_pocket
from bedmodel.checks.probe import Probe
from bedmodel.checks.solids import check_solids
from bedmodel.checks.strength import check_strength

CHECKS: tuple[Callable[[Probe], Iterator[Result]], ...] = (
    check_solids,
    check_overlap,
    check_faces,
    check_arrises,
    check_mortises,
    check_pocket,
    check_platform,
    check_fasteners,
    check_strength,
    check_movement,
)


def run_checks(bed: Bed) -> tuple[Result, ...]:
    """Check a finished bed; every code gives one result, passed or not."""
    probe = Probe(bed)
    results = (result for check in CHECKS for result in check(probe))
    return tuple(sorted(results, key=lambda result: result.code))


def findings(results: tuple[Result, ...]) -> tuple[Finding, ...]:
    return tuple(finding for result in results for finding in result.findings)
