"""Nothing of a fastener shows when the mattress is off, where the sheet asks for it.

Rail and leg hide what lies between them: so a cut may open on the rail's end and on
the leg's inside face alone, and nothing may reach beyond the rail's end.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from OCP.TopTools import TopTools_IndexedMapOfShape

from bedmodel.bed import Piece
from bedmodel.checks.boxes import EDGE, within
from bedmodel.checks.corners import SQUARE, Site, outer_face, reach, sites, span
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.checks.walls import Walls, find_walls
from bedmodel.frames import Vector, X, Z, dot

HIDDEN = 0.05  # mm; a step this small is hidden


def check_shows(probe: Probe) -> Result:
    """Cuts that open elsewhere than in a joint, and what reaches beyond the rail's end."""
    code, limit = Code.FASTENER_SHOWS, 'none, where fastener.visible is "never"'
    found = sites(probe)
    if probe.bed.layout.sheet.fastener.visible == "allowed" or not found:
        return Result(code, 0, None, "count", limit, ())
    shown = dict(_cuts(probe, found)) | dict(_loose(probe, found))
    findings = tuple(
        Finding(code, parts, 1.0, "0 in sight") for parts, shows in shown.items() if shows
    )
    return Result(code, len(shown), float(len(findings)), "count", limit, findings)


def _cuts(probe: Probe, found: list[Site]) -> Iterator[tuple[tuple[str, ...], bool]]:
    """Each cut of a fastener, by piece and name, and whether it shows."""
    joints: dict[str, list[tuple[Site, Vector]]] = {}
    for site in found:
        joints.setdefault(site.leg.name, []).append((site, site.into_rail))
        joints.setdefault(site.rail.name, []).append((site, site.into_leg))
    for name, ends in joints.items():
        piece = probe.bed.piece(name)
        walls = find_walls(probe, piece.kind)
        owned = {id(face) for own in walls for face in own.faces}
        beside = _neighbours(probe.faces(piece.kind.name))
        for own in walls:
            if own.cut.family.endswith("fastener"):
                openings = {
                    id(face): face
                    for wall in own.faces
                    for face in beside[id(wall)]
                    if id(face) not in owned
                }
                hidden = all(_in_joint(probe, piece, face, ends) for face in openings.values())
                yield (name, own.cut.name), not (hidden and _covered(probe, piece, own, ends))


def _neighbours(faces: list[FaceData]) -> Mapping[int, list[FaceData]]:
    """For each face of a solid, by its identity, the faces that share an edge with it."""
    edges, at_edge = TopTools_IndexedMapOfShape(), dict[int, list[FaceData]]()
    for face in faces:
        for edge in within(face.face, EDGE):
            at_edge.setdefault(edges.Add(edge), []).append(face)
    beside: dict[int, list[FaceData]] = {id(face): [] for face in faces}
    for group in at_edge.values():
        for face in group:
            beside[id(face)] += [other for other in group if other is not face]
    return beside


def _in_joint(probe: Probe, piece: Piece, face: FaceData, ends: list[tuple[Site, Vector]]) -> bool:
    """Whether a face lies in the plane of one of the piece's joints."""
    if face.normal is None:
        return False
    normal = piece.placement.direction(face.normal)
    for _, towards in ends:
        joint = outer_face(probe, piece, towards)
        if joint is not None and dot(normal, towards) > SQUARE:
            low, high = span(piece, [face, joint], towards)
            if high - low < HIDDEN:
                return True
    return False


def _covered(probe: Probe, piece: Piece, own: Walls, ends: list[tuple[Site, Vector]]) -> bool:
    """Whether a cut in a leg lies behind the rail's end."""
    (site, _), *others = ends
    if others or not own.faces:
        return True
    return _behind(probe, site, *(reach(piece, own.faces, axis) for axis in (X, Z)))


def _loose(probe: Probe, found: list[Site]) -> Iterator[tuple[tuple[str, ...], bool]]:
    """Each loose piece, and whether it reaches beyond the rail's end or out of the leg."""
    for site in found:
        show = outer_face(probe, site.leg, site.into_leg)
        for piece in site.loose.values():
            hidden = _behind(probe, site, *(probe.extent(piece, axis) for axis in (X, Z)))
            if show is not None:
                level = span(site.leg, [show], site.into_leg)[0]
                hidden &= probe.extent(piece, site.into_leg)[1] < level + HIDDEN
            yield (piece.name,), not hidden


def _behind(probe: Probe, site: Site, across: tuple[float, float], up: tuple[float, float]) -> bool:
    """Whether what reaches so far across and up lies within the rail's end."""
    end = outer_face(probe, site.rail, site.into_leg)
    if end is None:
        return False
    return all(
        low - HIDDEN < a and b < high + HIDDEN
        for (a, b), (low, high) in zip(
            (across, up), (span(site.rail, [end], axis) for axis in (X, Z)), strict=True
        )
    )
