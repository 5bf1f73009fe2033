"""Slats, what carries them, the floor and the height of the platform."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.bed import Piece
from bedmodel.checks.faces import SIDES, across, y_of
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.checks.support import check_support, eased_strip
from bedmodel.frames import Y, Z, dot
from bedmodel.heights import PLATFORM_LIMIT

EQUAL = 0.1  # mm; gaps are set with a spacer
LEVEL = 0.05  # mm
BAND = 0.01
DOWN = (0.0, 0.0, -1.0)


def check_platform(probe: Probe) -> Iterator[Result]:
    """Slats, supports, floor and platform height."""
    gaps = _gaps(probe)
    yield _equal(gaps)
    yield _in_band(probe, gaps)
    yield _slat_bearing(probe)
    yield from check_support(probe)
    yield _level(probe)
    yield _floor(probe)
    yield _feet_level(probe)
    yield _height(probe)


def _slats(probe: Probe) -> list[Piece]:
    return sorted(
        probe.named(lambda name: name.startswith("slat_")),
        key=lambda slat: probe.extent(slat, Y)[0],
    )


def _gaps(probe: Probe) -> dict[tuple[str, str], float]:
    """Gap before each slat of a row and after the last, from the head legs to the foot legs."""
    gaps = {}
    for side, row in _rows(probe):
        head = probe.bed.piece(f"head_leg_{side}")
        foot = probe.bed.piece(f"foot_leg_{side}")
        start = probe.extent(head, Y)[1]
        if probe.bed.layout.rake:  # the first gap is measured where the leg meets the platform
            plane = probe.plane(head, probe.bed.layout.head.towards_mattress)
            start = -math.inf if plane is None else y_of(plane, probe.bed.layout.platform)
        edges = [(head.name, start)]
        for slat in row:
            start, end = probe.extent(slat, Y)
            gaps[(edges[-1][0], slat.name)] = start - edges[-1][1]
            edges.append((slat.name, end))
        gaps[(edges[-1][0], foot.name)] = probe.extent(foot, Y)[0] - edges[-1][1]
    return gaps


def _rows(probe: Probe) -> list[tuple[str, list[Piece]]]:
    """The row of slats, or each of two, with the side of the legs it is measured from."""
    slats = _slats(probe)
    if probe.bed.layout.rows == 1:
        return [("right", slats)] if slats else []
    sides = [(side, [s for s in slats if side in s.name.split("_")]) for side, _ in SIDES]
    return [(side, row) for side, row in sides if row]


def _equal(gaps: dict[tuple[str, str], float]) -> Result:
    if not gaps:
        return Result(Code.SLAT_GAPS_UNEQUAL, 0, None, "mm", "-", ())
    middle = sorted(gaps.values())[len(gaps) // 2]
    limit = f"{middle:.2f} mm within {EQUAL:g} mm"
    findings = tuple(
        Finding(Code.SLAT_GAPS_UNEQUAL, parts, gap, limit)
        for parts, gap in gaps.items()
        if abs(gap - middle) > EQUAL
    )
    worst = max(gaps.values(), key=lambda gap: abs(gap - middle))
    return Result(Code.SLAT_GAPS_UNEQUAL, len(gaps), worst, "mm", limit, findings)


def _in_band(probe: Probe, gaps: dict[tuple[str, str], float]) -> Result:
    slat = probe.bed.layout.sheet.slat
    low, high = slat.gap_least, slat.gap_greatest
    limit = f"{low:g} to {high:g} mm"
    if not gaps or probe.bed.layout.sheet.support.kind == "box_spring":
        return Result(Code.SLAT_GAP_OUT_OF_BAND, 0, None, "mm", limit, ())
    findings = tuple(
        Finding(Code.SLAT_GAP_OUT_OF_BAND, parts, gap, limit)
        for parts, gap in gaps.items()
        if not low - BAND <= gap <= high + BAND
    )
    worst = max(gaps.values(), key=lambda gap: max(low - gap, gap - high))
    return Result(Code.SLAT_GAP_OUT_OF_BAND, len(gaps), worst, "mm", limit, findings)


def _slat_bearing(probe: Probe) -> Result:
    """How far each slat end reaches over its runner, at its worse corner."""
    least = probe.bed.layout.sheet.slat.bearing_least
    limit = f"at least {least:g} mm"
    values: dict[tuple[str, ...], float] = {}
    rows = dict(_rows(probe))
    if not rows:
        return Result(Code.SLAT_BEARING_SHORT, 0, None, "mm", limit, ())
    for side, sign in SIDES:
        runner = probe.bed.piece(f"runner_{side}")
        inner = probe.plane(runner, (-sign, 0.0, 0.0))
        top = probe.main_face(runner, Z)
        if inner is None or top is None:
            values[(runner.name,)] = 0.0
            continue
        # The bearing surface ends at the top's eased edge, not at the inner face.
        eased = eased_strip(probe, runner)
        for slat in rows.get(side, rows["right"]):
            reach = probe.extent(slat, (sign, 0.0, 0.0))[1]
            edges = [sign * across(inner, y) for y in probe.extent(slat, Y)]
            values[(slat.name, runner.name)] = reach - max(edges) - eased
    findings = tuple(
        Finding(Code.SLAT_BEARING_SHORT, parts, value, limit)
        for parts, value in values.items()
        if value < least - BAND
    )
    return Result(Code.SLAT_BEARING_SHORT, len(values), min(values.values()), "mm", limit, findings)


def _level(probe: Probe) -> Result:
    """Tops of both runners and of the centre rail, against the highest of them."""
    names = [f"runner_{side}" for side, _ in SIDES]
    names += [p.name for p in probe.named(lambda name: name == "centre_rail")]
    tops = {name: probe.offsets(probe.bed.piece(name), Z) for name in names}
    highest = max((top[1] for top in tops.values() if top), default=0.0)
    # A support without a flat top is as far from level as can be.
    drops = {name: highest - top[0] if top else math.inf for name, top in tops.items()}
    limit = f"within {LEVEL:g} mm of each other"
    findings = tuple(
        Finding(Code.SUPPORTS_NOT_LEVEL, (name,), drop, limit)
        for name, drop in drops.items()
        if drop > LEVEL
    )
    worst = max(drops.values())
    return Result(Code.SUPPORTS_NOT_LEVEL, len(drops), worst, "mm", limit, findings)


def _floor(probe: Probe) -> Result:
    standing = probe.named(lambda n: "_leg_" in n or n.startswith("support_foot"))
    heights = {piece.name: probe.lowest(piece) for piece in standing}
    limit = f"within {LEVEL:g} mm of the floor"
    findings = tuple(
        Finding(Code.FOOT_OFF_FLOOR, (name,), height, limit)
        for name, height in heights.items()
        if abs(height) > LEVEL
    )
    worst = max(heights.values(), key=abs)
    return Result(Code.FOOT_OFF_FLOOR, len(heights), worst, "mm", limit, findings)


def _feet_level(probe: Probe) -> Result:
    """How far the highest corner of each foot's own face stands over its lowest point."""
    standing = probe.named(lambda n: "_leg_" in n or n.startswith("support_foot"))
    heights = {piece.name: _off_level(probe, piece) for piece in standing}
    limit = f"within {LEVEL:g} mm of level all over"
    findings = tuple(
        Finding(Code.FOOT_NOT_LEVEL, (name,), height, limit)
        for name, height in heights.items()
        if height > LEVEL
    )
    worst = max(heights.values())
    return Result(Code.FOOT_NOT_LEVEL, len(heights), worst, "mm", limit, findings)


def _off_level(probe: Probe, piece: Piece) -> float:
    """How far the face that a piece stands on is from level over its own breadth (mm).

    A leg may have other faces that look down, such as the shoulder over a turned foot.
    """
    place, low = piece.placement, probe.lowest(piece)
    best = math.inf
    for face in probe.flat_faces(piece, DOWN):
        assert face.normal is not None
        heights = [place.point(p)[2] for p in face.points]
        squareness = min(1.0, dot(place.direction(face.normal), DOWN))
        # A round face has one corner only, so its tilt counts as well.
        tilt = math.sqrt(face.area) * math.sqrt(1.0 - squareness**2)
        if min(heights) < low + LEVEL:
            best = min(best, max(max(heights) - low, tilt))
    return best


def _height(probe: Probe) -> Result:
    """The highest of slats or panels; of neither, what a box spring lies on."""
    stems = ("slat_", "deck_panel", "runner_", "centre_rail")
    top = max(probe.extent(p, Z)[1] for p in probe.named(lambda name: name.startswith(stems)))
    limit = f"under {PLATFORM_LIMIT:g} mm"
    findings = (
        (Finding(Code.PLATFORM_TOO_HIGH, ("slat",), top, limit),) if top >= PLATFORM_LIMIT else ()
    )
    return Result(Code.PLATFORM_TOO_HIGH, 1, top, "mm", limit, findings)
