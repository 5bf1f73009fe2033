"""The JSON records of a build: parts, checks and the manifest."""

from __future__ import annotations

import hashlib
import importlib.metadata
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from bedmodel import __version__
from bedmodel.angles import rail_end_cut
from bedmodel.assembly import Bed
from bedmodel.bed import Kind, Piece
from bedmodel.checks.finding import Result
from bedmodel.legs.own import drawings_record
from bedmodel.sheets import as_table
from bedmodel.skeleton import Layout

Record = dict[str, Any]

SAFETY = (
    "Design aid from average clear-wood values, not a certificate. Adult low beds only: not for "
    "cots, children's, bunk, loft, adjustable or medical beds. Local codes and licensed practice "
    "decide."
)


def parts_record(bed: Bed) -> Record:
    """Every kind: count, finished size, species, volume, mass, and where its pieces lie."""
    width, length, height = bed.layout.overall
    return {
        "units": {"length": "mm", "volume": "mm3", "mass": "kg"},
        "frame": "X across (right +), Y from head to foot, Z up; origin on the floor, on the "
        "centreline, in the plane of the head legs' inside faces",
        "overall": {"width": _mm(width), "length": _mm(length), "height": _mm(height)},
        "mass_kg": round(bed.total_mass_kg, 3),
        "centre_of_mass": [_mm(c) for c in bed.centre_of_mass],
        "kinds": [_kind(bed, kind) for kind in bed.kinds.values()],
    }


def _kind(bed: Bed, kind: Kind) -> Record:
    pieces = [piece for piece in bed.pieces if piece.kind is kind]
    along, across, thick = kind.shape.blank
    return {
        "kind": kind.name,
        "count": len(pieces),
        "size": {"along": _mm(along), "across": _mm(across), "thick": _mm(thick)},
        "grain": "along",
        "species": kind.species,
        "volume": round(bed.volume(kind.name), 1),
        "mass_kg": round(bed.mass_kg(kind.name), 4),
        "pieces": [_piece(piece) for piece in pieces],
    }


def _piece(piece: Piece) -> Record:
    place = piece.placement
    return {
        "name": piece.name,
        "group": piece.group,
        "origin": [_mm(c) for c in place.origin],
        "along": [round(c, 9) + 0.0 for c in place.x],
        "across": [round(c, 9) + 0.0 for c in place.y],
        "thick": [round(c, 9) + 0.0 for c in place.z],
    }


def checks_record(results: Sequence[Result]) -> Record:
    """Every check: what was tested, the worst measured, the limit, findings and cautions."""
    return {
        "passed": all(result.passed for result in results),
        "checks": [
            {
                "code": int(result.code),
                "name": result.code.name,
                "title": result.title,
                "tested": result.tested,
                "worst": _number(result.worst),
                "measure": result.measure,
                "limit": result.limit,
                "passed": result.passed,
                "findings": [
                    {
                        "parts": list(finding.parts),
                        "measured": _number(finding.measured),
                        "limit": finding.limit,
                        "place": finding.place,
                        "remedy": finding.remedy,
                    }
                    for finding in result.findings
                ],
                "cautions": [
                    {
                        "parts": list(caution.parts),
                        "measured": _number(caution.measured),
                        "told": caution.told,
                    }
                    for caution in result.cautions
                ],
            }
            for result in results
        ],
    }


def _support_record(layout: Layout) -> Record:
    """Slats, panels, or the box spring and mattress together."""
    record: Record = {}
    if layout.has_slats:
        record["slat_count"] = layout.slats.count * layout.rows
        record["slat_gap"] = _mm(layout.slats.gap)
        record["slat_length"] = _mm(layout.slat_length)
    if layout.webbing is not None:
        record["webbing_tape_length"] = _mm(layout.webbing.length)
        record["webbing_tapes"] = len(layout.webbing.places)
    if layout.deck is not None:
        record["deck_panels"] = [
            {"size": [_mm(p.length), _mm(p.width)], "mass_kg": round(layout.deck.mass_kg(p), 2)}
            for p in layout.deck.panels
        ]
    if layout.sheet.support.kind == "box_spring":
        record["box_and_mattress"] = _mm(layout.mattress.thickness)
    return record


def layout_record(layout: Layout) -> Record:
    """What the sheet left to be worked out."""
    record: Record = {
        "mattress": [_mm(v) for v in vars(layout.mattress).values()],
        "pocket_length": _mm(layout.pocket_length),
        "pocket_width_head": _mm(2 * layout.half_head),
        "pocket_width_foot": _mm(2 * layout.half_foot),
        "side_rail_yaw_deg": round(math.degrees(layout.yaw), 6),
        # How far the end cut runs off square over the rail's thickness.
        "side_rail_end_offset": _mm(layout.sheet.side_rail.thickness * math.tan(layout.yaw)),
        "platform": _mm(layout.platform),
    }
    record |= _support_record(layout)
    if layout.rake:
        cut = rail_end_cut(math.degrees(layout.yaw), math.degrees(layout.rake))
        record["head_rake_deg"] = round(math.degrees(layout.rake), 6)
        record["side_rail_head_mitre_deg"] = round(cut.mitre_deg, 6)
        record["side_rail_head_tilt_deg"] = round(cut.tilt_deg, 6)
    if layout.legs.foot is not None:
        record["leg_curve_diameter"] = _mm(2 * layout.legs.foot.curve_radius)
    gauges = layout.legs.gauges()
    drawings = drawings_record(layout.sheet)
    if drawings:
        record["leg_drawings"] = drawings
    if gauges:
        record["leg_shaping"] = [[g.reference, g.what, _mm(g.value)] for g in gauges]
    if layout.centre_rail is not None:
        record["support_feet"] = [_mm(y) for y in layout.centre_rail.feet]
        if layout.sheet.centre_rail.kind == "beam":
            record["centre_beam_height"] = _mm(layout.centre_rail.height)
    return record


def manifest_record(bed: Bed, files: Mapping[str, bytes]) -> Record:
    """The sheet as resolved, the versions that made it, and every file with its hash."""
    return {
        "made_by": f"bedmodel {__version__}",
        "versions": {
            name: importlib.metadata.version(name) for name in ("cadquery", "cadquery-ocp", "ezdxf")
        },
        "safety": SAFETY,
        "sheet": as_table(bed.layout.sheet),
        "worked_out": layout_record(bed.layout),
        "files": [
            {"path": path, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            for path, data in sorted(files.items())
        ],
    }


def folder_files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by its path from there."""
    found = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def _mm(value: float) -> float:
    return round(value, 4) + 0.0


def _number(value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return round(value, 4) + 0.0
