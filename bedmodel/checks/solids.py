"""Checks of each part by itself: valid, one body, inside its blank, true to its outline."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import cadquery as cq
from OCP.BRepCheck import BRepCheck_Analyzer, BRepCheck_Shell, BRepCheck_Status
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_State
from OCP.TopoDS import TopoDS

from bedmodel.assembly import Bed
from bedmodel.bed import Kind
from bedmodel.checks.boxes import SHELL, SOLID, within
from bedmodel.checks.finding import Caution, Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.cuts import Cut, Trim, Turning
from bedmodel.frames import Vector
from bedmodel.legs import unused
from bedmodel.outline import Outline

BLANK_TOLERANCE = 0.01  # finished sizes are told to 0.1 mm
OUTLINE_TOLERANCE = 0.02  # a routed edge follows its template to about 0.1 mm
OUTLINE_STEPS = 4


def check_solids(probe: Probe) -> Iterator[Result]:
    """Check every kind's solid."""
    yield _checked(probe, Code.SOLID_NOT_VALID, "valid and closed", _invalid)
    yield _checked(probe, Code.SOLID_NOT_SINGLE, "1 body", _not_single)
    yield _blanks(probe)
    yield _sizes(probe)
    yield _outlines(probe)


def _checked(
    probe: Probe, code: Code, limit: str, fault: Callable[[Bed, str], int | None]
) -> Result:
    """Result of a fault that a kind has or has not; ``fault`` gives its number or None."""
    bad = {kind: fault(probe.bed, kind) for kind in probe.bed.kinds}
    findings = tuple(
        Finding(code, (kind,), float(count), limit)
        for kind, count in bad.items()
        if count is not None
    )
    return Result(code, len(bad), float(len(findings)), "count", limit, findings)


def _invalid(bed: Bed, kind: str) -> int | None:
    """1 when the kernel finds a fault, a shell is open, or the solid is inside out."""
    solid = bed.solids[kind].wrapped
    if not BRepCheck_Analyzer(solid).IsValid() or bed.volume(kind) <= 0:
        return 1
    for shell in within(solid, SHELL):
        closed = BRepCheck_Shell(TopoDS.Shell_s(shell)).Closed()
        if closed != BRepCheck_Status.BRepCheck_NoError:
            return 1
    return None


def _not_single(bed: Bed, kind: str) -> int | None:
    """How many bodies there are, if not one; of one with voids, its shells."""
    solid = bed.solids[kind].wrapped
    bodies, shells = (len(list(within(solid, form))) for form in (SOLID, SHELL))
    if bodies != 1:
        return bodies
    return shells if shells != 1 else None


def _blanks(probe: Probe) -> Result:
    outside: dict[str, float] = {}
    for name, kind in probe.bed.kinds.items():
        low, high = probe.box(name)
        over = [-a for a in low] + [b - c for b, c in zip(high, kind.shape.blank, strict=True)]
        outside[name] = max(over)
    return _result(Code.SOLID_OUTSIDE_BLANK, outside, "outside the blank")


def _sizes(probe: Probe) -> Result:
    """How much of the finished size the solid does not fill."""
    short: dict[str, float] = {}
    for name, kind in probe.bed.kinds.items():
        low, high = probe.box(name)
        short[name] = max(c - (b - a) for a, b, c in zip(low, high, kind.shape.blank, strict=True))
        if kind.shape.trims and kind.shape.easing.active:
            # The corner that a slanting cut leaves longest may lie where the arris is eased.
            short[name] -= kind.shape.easing.size
    return _result(Code.SIZE_DIFFERS, short, "short of the size")


def _result(code: Code, values: dict[str, float], what: str) -> Result:
    limit = f"at most {BLANK_TOLERANCE:g} mm {what}"
    findings = tuple(
        Finding(code, (kind,), value, limit)
        for kind, value in values.items()
        if value > BLANK_TOLERANCE
    )
    return Result(code, len(values), max(values.values()), "mm", limit, findings)


def _outlines(probe: Probe) -> Result:
    """Points beside the outline of each leg: wood just inside it, none just outside."""
    limit = f"within {OUTLINE_TOLERANCE:g} mm of the outline"
    legs = {n: k for n, k in probe.bed.kinds.items() if n.startswith(("head_leg", "foot_leg"))}
    findings, tested = [], 0
    for name, kind in legs.items():
        # Clear of the eased arrises.
        z = 0.3 + (kind.shape.easing.size if kind.shape.easing.active else 0.0)
        z = max([z, *(0.3 + each.profile.drop for each in kind.shape.mouldings)])
        places = list(_beside(kind, z))
        tested += len(places)
        wrong = _wrongly_placed(probe.bed.solids[name], z, places)
        if wrong:
            findings.append(Finding(Code.OUTLINE_DIFFERS, (name,), float(wrong), limit))
    worst = sum(f.measured for f in findings)
    said = tuple(_unused(probe, tuple(legs)))
    return Result(Code.OUTLINE_DIFFERS, tested, worst, "count", limit, tuple(findings), said)


def _unused(probe: Probe, legs: tuple[str, ...]) -> Iterator[Caution]:
    """What the sheet says of the legs and their style does not use."""
    sheet = probe.bed.layout.sheet
    names = unused(sheet)
    if names:
        told = f"{', '.join(names)}: not used by {sheet.leg.style} legs; take it out, or leave it"
        yield Caution(Code.OUTLINE_DIFFERS, legs, float(len(names)), told)


def _beside(kind: Kind, z: float) -> Iterator[tuple[float, float, bool]]:
    """Pairs of points on either side of each edge, along its length; True is inside.

    Where a mortise opens at the height ``z`` there is no edge to follow.
    """
    outline: Outline = kind.shape.outline
    for edge in outline.edges():
        for i in range(OUTLINE_STEPS):
            t = (i + 0.5) / OUTLINE_STEPS
            (xa, ya), (xb, yb) = edge.point_at(t - 0.01), edge.point_at(t + 0.01)
            x, y = edge.point_at(t)
            if any(_in_opening(cut, (x, y, z)) for cut in kind.shape.cuts):
                continue
            length = ((xb - xa) ** 2 + (yb - ya) ** 2) ** 0.5
            nx, ny = (yb - ya) / length, -(xb - xa) / length
            off = [trim.beyond((x, y, z)) for trim in kind.shape.trims]
            if any(abs(depth) < 2 * OUTLINE_TOLERANCE for depth in off):
                continue  # just where a saw cut meets the edge
            stands = not any(depth > 0 for depth in off)
            yield x - nx * OUTLINE_TOLERANCE, y - ny * OUTLINE_TOLERANCE, stands
            yield x + nx * OUTLINE_TOLERANCE, y + ny * OUTLINE_TOLERANCE, False
    if len(kind.shape.outline.vertices) == 4:  # a post, whose wood fills its blank
        for trim in kind.shape.trims:
            yield from _beside_trim(kind, trim, z)


def _beside_trim(kind: Kind, trim: Trim | Turning, z: float) -> Iterator[tuple[float, float, bool]]:
    """Along the line in which a sawn or turned face cuts the height ``z``: wood on one side."""
    length, width, _ = kind.shape.blank
    for i in range(1, 4 * OUTLINE_STEPS):
        x = length * i / (4 * OUTLINE_STEPS)
        low, high = 0.0, width
        a, b = trim.beyond((x, low, z)), trim.beyond((x, high, z))
        if a * b >= 0:
            continue
        for _ in range(40):
            middle = (low + high) / 2
            if trim.beyond((x, middle, z)) * a > 0:
                low = middle
            else:
                high = middle
        for y in (low - OUTLINE_TOLERANCE, low + OUTLINE_TOLERANCE):
            others = [t.beyond((x, y, z)) for t in kind.shape.trims if t is not trim]
            clear = all(depth < -2 * OUTLINE_TOLERANCE for depth in others)
            cut = any(_in_opening(cut, (x, y, z)) for cut in kind.shape.cuts)
            if 0.0 < y < width and clear and not cut:
                yield x, y, trim.beyond((x, y, z)) < 0


def _in_opening(cut: Cut, point: Vector) -> bool:
    x, y, z = cut.frame.inverse().point(point)
    near = (abs(x) - cut.length / 2, abs(y) - cut.width / 2, abs(z))
    return max(near) < 1.0


def _wrongly_placed(solid: cq.Shape, z: float, places: list[tuple[float, float, bool]]) -> int:
    classifier = BRepClass3d_SolidClassifier(solid.wrapped)
    wrong = 0
    for x, y, inside in places:
        classifier.Perform(gp_Pnt(x, y, z), 1e-6)
        wrong += (classifier.State() == TopAbs_State.TopAbs_IN) != inside
    return wrong
