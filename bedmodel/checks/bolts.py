"""Checks of bolts in their barrels and holes, and of the alignment dowels beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from bedmodel.bed import Piece
from bedmodel.checks.corners import Site, outer_face, sites, span
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import Cylinder
from bedmodel.frames import Vector, add, dot, scale
from bedmodel.hardware import Bolt

MARGIN = 0.01  # mm; sizes are told to 0.1 mm
SQUARE = 0.999


@dataclass(frozen=True)
class Measured:
    """One distance at a bolt or a dowel (mm), and the least it may be."""

    parts: tuple[str, ...]
    place: str
    value: float
    least: float

    @property
    def spare(self) -> float:
        return self.value - self.least


def check_bolts(probe: Probe) -> Iterator[Result]:
    """Reach of each bolt and dowel, and the room beyond them."""
    plan, code = probe.bed.layout.fastener, Code.BOLT_REACH_SHORT
    measured: list[Measured] = []
    if plan is not None and isinstance(plan.row, Bolt):
        for site in sites(probe):
            measured += _bolt(probe, site)
            measured += _dowels(probe, site, plan.row)
    findings = tuple(
        Finding(code, m.parts, m.value, f"at least {m.least:g} mm", m.place)
        for m in measured
        if m.spare < -MARGIN
    )
    worst = min((m.spare for m in measured), default=None)
    limit = "at least 0 mm over what is wanted"
    yield Result(code, len(measured), worst, "mm", limit, findings)


def _bolt(probe: Probe, site: Site) -> Iterator[Measured]:
    """Its tip past the barrel and short of its hole's bottom; its head below the show face."""
    bolt, barrel, washer = (site.loose[name] for name in ("bolt", "barrel_nut", "washer"))
    end_room = probe.bed.layout.sheet.fastener.end_room
    tip = _end_middle(probe, bolt, site.into_rail)
    past = _past_barrel(probe, barrel, tip, site.into_rail)
    yield Measured((bolt.name, barrel.name), "past the barrel", past, 0.0)
    room = _ray(probe, site.rail, tip, site.into_rail)
    yield Measured((bolt.name, site.rail.name), "beyond its tip", room, end_room)
    show = outer_face(probe, site.leg, site.into_leg)
    level = span(site.leg, [show], site.into_leg)[0] if show is not None else -math.inf
    for piece in (bolt, washer):
        sunk = level - probe.extent(piece, site.into_leg)[1]
        yield Measured((piece.name, site.leg.name), "below the show face", sunk, 0.0)


def _past_barrel(probe: Probe, barrel: Piece, tip: Vector, along: Vector) -> float:
    """How far a bolt's tip stands out of its barrel, along its own middle line.

    The barrel's bore is drawn where the bolt is, so its round side is taken as whole.
    """
    sides = [
        side.placed(barrel.placement)
        for side in _cylinders(probe, barrel)
        if abs(dot(barrel.placement.direction(side.axis), along)) < SQUARE / 2
    ]
    outer = max(sides, key=lambda side: side.radius, default=None)
    leaves = outer.far_side(tip, along) if outer is not None else None
    return -leaves if leaves is not None else -math.inf


def _cylinders(probe: Probe, piece: Piece) -> list[Cylinder]:
    found = (face.cylinder for face in probe.faces(piece.kind.name))
    return [cylinder for cylinder in found if cylinder is not None]


def _dowels(probe: Probe, site: Site, row: Bolt) -> Iterator[Measured]:
    """How deep each stands in leg and rail, and the room beyond both its ends."""
    end_room = probe.bed.layout.sheet.fastener.end_room
    joint = outer_face(probe, site.leg, site.into_rail)
    level = span(site.leg, [joint], site.into_leg)[0] if joint is not None else math.inf
    for name, dowel in site.loose.items():
        if not name.startswith("alignment_dowel"):
            continue
        start, end = probe.extent(dowel, site.into_leg)
        halves = (
            (site.leg, site.into_leg, end - level, row.dowel_in_leg),
            (site.rail, site.into_rail, level - start, row.dowel_length - row.dowel_in_leg),
        )
        for piece, along, depth, wanted in halves:
            parts = (dowel.name, piece.name)
            yield Measured(parts, "deep", depth, wanted)
            room = _ray(probe, piece, _end_middle(probe, dowel, along), along)
            yield Measured(parts, "beyond its end", room, end_room)


def _end_middle(probe: Probe, piece: Piece, along: Vector) -> Vector:
    """The middle of the end of a round piece that looks in a direction of the bed."""
    low, high = probe.box(piece.kind.name)
    middle = piece.placement.point(scale(add(low, high), 0.5))
    return add(middle, scale(along, probe.extent(piece, along)[1] - dot(middle, along)))


def _ray(probe: Probe, piece: Piece, start: Vector, along: Vector) -> float:
    """From a place of the bed to a piece's wood; infinite where there is none ahead."""
    back = piece.placement.inverse()
    room = probe.ray(piece.kind.name, back.point(start), back.direction(along))
    return math.inf if room is None else room
