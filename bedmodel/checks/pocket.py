"""The mattress drops in: at its nominal size, 20 mm over it, and with nothing in the way."""

from __future__ import annotations

import math
from collections.abc import Iterator

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

from bedmodel.bed import Piece
from bedmodel.checks.faces import SIDES, across, y_of
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.overlap import TOUCH_VOLUME
from bedmodel.checks.probe import Probe
from bedmodel.end_plan import EndPlan, board_name
from bedmodel.frames import Vector
from bedmodel.solids import volume_of

# Source: EN 1334 gives length and width of a mattress to +- 20 mm of the nominal.
TOLERANCE = 20.0
MARGIN = 1e-6  # a mattress exactly as wide as its pocket fits


def check_pocket(probe: Probe) -> Iterator[Result]:
    """Measure the pocket against the mattress, and look for parts in it."""
    mattress = probe.bed.layout.mattress
    width, length = pocket_width(probe), pocket_length(probe)
    spare = {"width": width - mattress.width, "length": length - mattress.length}
    nominal = _room(Code.POCKET_TOO_SMALL, spare, 0.0)
    yield nominal
    over = _room(Code.POCKET_TIGHT_AT_TOLERANCE, spare, TOLERANCE)
    if not nominal.passed:  # one cause, one finding
        over = Result(over.code, over.tested, over.worst, over.measure, over.limit, ())
    yield over
    yield _obstructed(probe)


def _room(code: Code, spare: dict[str, float], needed: float) -> Result:
    limit = f"at least {needed:g} mm more than the mattress"
    findings = tuple(
        Finding(code, ("mattress",), room, limit, place=f"in {direction}")
        for direction, room in spare.items()
        if room < needed - MARGIN
    )
    return Result(code, len(spare), min(spare.values()), "mm", limit, findings)


def pocket_width(probe: Probe) -> float:
    """Least width between the side rails, at the two ends of the pocket (mm)."""
    widths = []
    for end in probe.bed.layout.ends:
        sides = []
        for side, sign in SIDES:
            plane = probe.plane(probe.bed.piece(f"side_rail_{side}"), (-sign, 0.0, 0.0))
            if plane is None:
                return -math.inf  # no flat face, no width to rely on
            sides.append(sign * across(plane, end.inside_y))
        widths.append(sum(sides))
    return min(widths)


def pocket_length(probe: Probe) -> float:
    """Length between the innermost faces of head end and foot end (mm)."""
    head, foot = probe.bed.layout.ends
    return _innermost(probe, foot) - _innermost(probe, head)


def _innermost(probe: Probe, end: EndPlan) -> float:
    inward = (0.0, end.inward, 0.0)
    names = [f"{end.end}_leg_{side}" for side, _ in SIDES]
    names += [board_name(end, board) for board in end.boards]
    if end.lean.rake:
        # It leans away from the mattress, which it meets at the platform.
        planes = [probe.plane(probe.bed.piece(name), end.towards_mattress) for name in names]
        platform = probe.bed.layout.platform
        return max(math.inf if plane is None else y_of(plane, platform) for plane in planes)
    reach = max(probe.extent(probe.bed.piece(name), inward)[1] for name in names)
    return end.inward * reach


def _obstructed(probe: Probe) -> Result:
    """Volume of each part inside the pocket's clear space, up to the mattress's top."""
    limit = f"at most {TOUCH_VOLUME:g} mm3 inside"
    space, walls = _space(probe)
    worst, findings = 0.0, []
    for piece in probe.bed.pieces:
        if _outside(probe, piece, walls):
            continue
        volume = _common(space, probe.bed.solid(piece))
        worst = max(worst, volume)
        if volume > TOUCH_VOLUME:
            findings.append(Finding(Code.POCKET_OBSTRUCTED, (piece.name,), volume, limit))
    return Result(
        Code.POCKET_OBSTRUCTED, len(probe.bed.pieces), worst, "mm3", limit, tuple(findings)
    )


def _space(probe: Probe) -> tuple[cq.Solid, list[tuple[Vector, float]]]:
    """The pocket's clear space, and its walls as outward directions with their levels."""
    layout = probe.bed.layout
    length, height = layout.pocket_length, layout.mattress.thickness
    h, f = layout.half_head, layout.half_foot
    corners = [(-h, 0.0), (h, 0.0), (f, length), (-f, length)]
    points = [cq.Vector(x, y, layout.platform) for x, y in corners]
    wire = cq.Wire.makePolygon(points, close=True)
    space = cq.Solid.extrudeLinear(wire, [], cq.Vector(0, 0, height))
    sine, cosine = math.sin(layout.yaw), math.cos(layout.yaw)
    walls: list[tuple[Vector, float]] = [
        ((0.0, 0.0, -1.0), -layout.platform),
        ((0.0, 0.0, 1.0), layout.platform + height),
        ((0.0, -1.0, 0.0), 0.0),
        ((0.0, 1.0, 0.0), length),
        ((cosine, sine, 0.0), h * cosine),
        ((-cosine, sine, 0.0), h * cosine),
    ]
    return space, walls


def _outside(probe: Probe, piece: Piece, walls: list[tuple[Vector, float]]) -> bool:
    """True when the part's own box is wholly beyond one of the walls."""
    return any(probe.extent(piece, direction)[0] >= level - MARGIN for direction, level in walls)


def _common(space: cq.Solid, solid: cq.Shape) -> float:
    common = BRepAlgoAPI_Common(space.wrapped, solid.wrapped)
    return volume_of(common.Shape())
