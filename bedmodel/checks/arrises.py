"""Arrises with a profile are left as they were where a joint needs them.

Measured by rays into the finished solid, from outside towards the arris: how much is gone there,
against what the part's own easing takes.

    ray ->  \\ | gone |
             +-------------- face
             | arris
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.bed import Piece
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.edge_profiles import joint_zones, profile_section
from bedmodel.frames import add, dot, scale, subtract
from bedmodel.profiles import Moulding
from bedmodel.shape import Easing

AWAY = 30.0  # mm from which a ray is cast
WITHIN = 0.1  # mm; a bit set by eye is no nearer
INSIDE = 0.5  # mm that a station lies inside its zone


def check_arrises(probe: Probe) -> Iterator[Result]:
    """What is gone at the ends of each zone that a joint needs square."""
    code = Code.JOINT_ARRIS_SHAPED
    limit = f"at most the easing and {WITHIN:g} mm"
    values: dict[tuple[str, str], tuple[float, float]] = {}
    for piece in probe.bed.pieces:
        section = profile_section(piece.kind.name) if piece.kind.shape.mouldings else None
        if section is None:
            continue
        stop: float = getattr(probe.bed.layout.sheet, section).stop
        for each in piece.kind.shape.mouldings:
            values.setdefault((piece.name, each.name), (0.0, 0.0))  # away from every joint
            for at in _stations(probe, piece, each, stop):
                gone, eased = _gone(probe, piece, each, at), _eased(piece.kind.shape.easing)
                key = (piece.name, each.name)
                if gone - eased > values[key][0]:
                    values[key] = (gone - eased, at)
    findings = tuple(
        Finding(code, parts, value, limit, f"{at:.0f} mm from the part's end")
        for parts, (value, at) in values.items()
        if value > WITHIN
    )
    worst = max((value for value, _ in values.values()), default=None)
    return iter([Result(code, len(values), worst, "mm", limit, findings)])


def _stations(probe: Probe, piece: Piece, each: Moulding, stop: float) -> Iterator[float]:
    """Places along the arris, from the end of the part where the moulding's x begins."""
    if each.bend is not None:  # away from every joint; its ends are told by the marks
        return
    first, last = _extent(piece, each)
    for end, sign in ((first, 1.0), (last, -1.0)):
        if each.stopped[0 if sign > 0 else 1]:
            yield end + sign * (stop - INSIDE) - first
    for start, stopping in joint_zones(each, piece.kind.shape, probe.bed.layout):
        for at in (start - stop + INSIDE, (start + stopping) / 2, stopping + stop - INSIDE):
            if first + INSIDE < at < last - INSIDE:
                yield at - first


def _extent(piece: Piece, each: Moulding) -> tuple[float, float]:
    """Where the outline, without a board's own tenons, begins and ends along the arris."""
    shape = piece.kind.shape
    flat = shape.outline.vertices
    corners = [(u, v, 0.0) if shape.face == "xy" else (u, 0.0, v) for u, v in flat]
    along = [dot(subtract(p, each.frame.origin), each.frame.x) for p in corners]
    return min(along), max(along)


def _gone(probe: Probe, piece: Piece, each: Moulding, at: float) -> float:
    """How far along the diagonal the wood begins behind the sharp arris (mm)."""
    frame = each.frame
    first, _ = _extent(piece, each)
    inwards = scale(add(frame.y, frame.z), 1 / math.sqrt(2))
    on = frame.point((first + at, 0.0, 0.0))
    distance = probe.ray(piece.kind.name, add(on, scale(inwards, -AWAY)), inwards)
    return math.inf if distance is None else distance - AWAY


def _eased(easing: Easing) -> float:
    """What the part's own easing takes off along that diagonal."""
    if not easing.active:
        return 0.0
    share = math.sqrt(2) - 1 if easing.style == "roundover" else 1 / math.sqrt(2)
    return easing.size * share
