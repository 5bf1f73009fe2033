"""Checks of the rails' fasteners: plates lie flush, the corners are level; and of all screws."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.bed import Piece
from bedmodel.checks.bolts import check_bolts
from bedmodel.checks.corners import Site, outer_face, sites, span
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.hooks import check_hooks
from bedmodel.checks.probe import Probe
from bedmodel.checks.screws import check_screws
from bedmodel.checks.shows import check_shows
from bedmodel.checks.solid_faces import FaceData
from bedmodel.checks.walls import find_walls
from bedmodel.frames import Vector, Z, add, dot, scale, subtract

FLUSH = 0.05  # mm; a step this small cannot be felt
LEVEL = 0.05  # mm
AT_END = 1.0  # mm; corners of a rail's top this near its end are at its end


def check_fasteners(probe: Probe) -> Iterator[Result]:
    """All checks of the rails' fasteners."""
    yield from check_hooks(probe)
    yield _flush(probe)
    yield from check_bolts(probe)
    yield check_shows(probe)
    yield _level(probe)
    yield from check_screws(probe)


# --- plates --------------------------------------------------------------------------------


def _flush(probe: Probe) -> Result:
    """How far each plate's outer face stands out of the wood it is let into, or back from it."""
    code, limit = Code.PLATE_NOT_FLUSH, f"within {FLUSH:g} mm of the wood's face"
    findings, steps = [], []
    for site in sites(probe):
        for plate, wood, towards, place in _plates(site):
            step = _step(probe, plate, wood, towards)
            steps.append(abs(step))
            if abs(step) > FLUSH:
                findings.append(Finding(code, (plate.name, wood.name), step, limit, place))
    return Result(code, len(steps), max(steps, default=None), "mm", limit, tuple(findings))


def _plates(site: Site) -> Iterator[tuple[Piece, Piece, Vector, str]]:
    """Each plate or flange, the wood it is let into, and where its outer face looks."""
    for name, plate in site.loose.items():
        if name == "slot_plate":
            yield plate, site.leg, site.into_rail, "on the leg's inside face"
        elif name == "hook_plate":
            yield plate, site.rail, site.into_leg, "on the rail's end"
        elif name == "rail_bracket":
            yield plate, site.rail, site.into_leg, "on the rail's end"
            yield plate, site.rail, scale(site.into_face, -1.0), "on the rail's inside face"


def _step(probe: Probe, plate: Piece, wood: Piece, towards: Vector) -> float:
    """How far a plate's outer face stands out of the wood's, at its worst corner.

    The plate's is its largest one, as hooks stand out further; the wood's is its
    outermost, as a recess's floor may be larger. Infinite when there is none.
    """
    metal, outside = probe.main_face(plate, towards), outer_face(probe, wood, towards)
    if metal is None or outside is None or outside.normal is None:
        return math.inf
    normal = wood.placement.direction(outside.normal)
    start = wood.placement.point(outside.points[0])
    steps = [dot(subtract(plate.placement.point(p), start), normal) for p in metal.points]
    return max(steps, key=abs)


# --- heights -------------------------------------------------------------------------------


def _level(probe: Probe) -> Result:
    """Tops of both rails at both ends, and the fasteners at all corners, against the highest."""
    code, limit = Code.RAILS_NOT_LEVEL, f"within {LEVEL:g} mm of each other"
    findings, drops = [], []
    for heights in (_rail_tops(probe), _fastener_heights(probe)):
        highest = max((high for _, high in heights.values()), default=0.0)
        for parts, (low, _) in heights.items():
            drops.append(highest - low)
            if highest - low > LEVEL:
                findings.append(Finding(code, parts, highest - low, limit))
    return Result(code, len(drops), max(drops), "mm", limit, tuple(findings))


Heights = dict[tuple[str, ...], tuple[float, float]]


def _rail_tops(probe: Probe) -> Heights:
    """The least and greatest height of each rail's top, at each of its ends."""
    heights: Heights = {}
    for end in probe.bed.layout.ends:
        outwards = scale(end.towards_mattress, -1.0)
        for side in ("left", "right"):
            rail = probe.bed.piece(f"side_rail_{side}")
            top = probe.main_face(rail, Z)
            parts = (rail.name, f"{end.end}_leg_{side}")
            heights[parts] = _at_end(rail, top, outwards) if top else (-math.inf, -math.inf)
    return heights


def _at_end(rail: Piece, top: FaceData, outwards: Vector) -> tuple[float, float]:
    points = [rail.placement.point(p) for p in top.points]
    reach = max(dot(p, outwards) for p in points)
    levels = [p[2] for p in points if dot(p, outwards) > reach - AT_END]
    return min(levels), max(levels)


def _fastener_heights(probe: Probe) -> Heights:
    """The height of what carries the rail at each corner: the lowest slot's edge, or the bolt."""
    heights: Heights = {}
    for site in sites(probe):
        plate, bolt = site.loose.get("slot_plate"), site.loose.get("bolt")
        if plate is not None:
            edge = _lowest_edge(probe, plate, site)
            heights[(plate.name,)] = (edge, edge)
        elif bolt is not None:
            middle = sum(probe.extent(bolt, Z)) / 2
            if site.is_raked:
                middle = _crossing(probe, bolt, site)
            heights[(bolt.name,)] = (middle, middle)
    return heights


def _lowest_edge(probe: Probe, plate: Piece, site: Site) -> float:
    """Height of a slot plate's lowest slot edge, on which the rail hangs."""
    up = plate.placement.inverse().direction(site.up)
    edges = [face for own in find_walls(probe, plate.kind) for face in own.facing(up)]
    if not site.is_raked:
        return min((span(plate, [edge], Z)[0] for edge in edges), default=-math.inf)
    # As far from the middle of the joint along the leg as it would be plumb.
    middle = site.corner.joint.origin
    along = min((span(plate, [edge], site.up)[0] for edge in edges), default=-math.inf)
    return middle[2] + along - dot(middle, site.up)


def _crossing(probe: Probe, bolt: Piece, site: Site) -> float:
    """Height at which a leaning bolt's axis crosses the joint."""
    low, high = probe.box(bolt.kind.name)
    middle = bolt.placement.point(scale(add(low, high), 0.5))
    off = dot(subtract(middle, site.corner.joint.origin), site.into_leg)
    return middle[2] - off * site.into_leg[2]
