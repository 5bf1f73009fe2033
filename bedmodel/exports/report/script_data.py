"""The data that the page's script reads: forms, pieces, what can be lit up, what is told."""

from __future__ import annotations

import base64
from typing import Any

from bedmodel.bed import Kind
from bedmodel.exports.report.apart import apart
from bedmodel.exports.report.boards import boards_of
from bedmodel.exports.report.forms import packed
from bedmodel.exports.report.matter import Matter
from bedmodel.exports.report.spots import Show, Spot
from bedmodel.exports.report.words import size_of, stuff_of, titled
from bedmodel.frames import Frame
from bedmodel.materials import material

Record = dict[str, Any]


def script_data(matter: Matter) -> Record:
    """Everything as JSON holds it; pieces, kinds and joints are named by their numbers."""
    bed = matter.bed
    kinds = {name: i for i, name in enumerate(bed.kinds)}
    pieces = {piece.name: i for i, piece in enumerate(bed.pieces)}
    moves = apart(bed.pieces, matter.boxes)
    boards = boards_of(matter.plan, matter.cuts)
    return {
        "groups": [{"key": name, "title": titled(name)} for name, _ in bed.groups()],
        "kinds": [_kind(matter, kind, boards) for kind in bed.kinds.values()],
        "pieces": [
            {
                "name": piece.name,
                "title": titled(piece.name),
                "kind": kinds[piece.kind.name],
                "group": piece.group,
                "place": _matrix(piece.placement),
                "apart": [round(c, 1) + 0.0 for c in moves[piece.name]],
            }
            for piece in bed.pieces
        ],
        "joints": [
            {
                "title": meeting.title,
                "told": meeting.told,
                "pieces": [pieces[name] for name in meeting.pieces],
                "glass": [pieces[name] for name in meeting.around],
                "spots": [_spot(Spot(at, meeting.pieces[0]), pieces) for at in meeting.at],
            }
            for meeting in matter.meetings
        ],
        "shows": {key: _show(show, pieces) for key, show in matter.shows.items()},
        "mattress": _mattress(matter),
    }


def _kind(matter: Matter, kind: Kind, boards: dict[str, list[str]]) -> Record:
    bed, sheet = matter.bed, matter.bed.layout.sheet
    row = matter.rows.get(kind.name)
    marks = matter.marks[kind.name]
    red, green, blue = (round(255 * c) for c in material(kind.species, sheet.own_woods).rgb)
    return {
        "name": kind.name,
        "title": titled(kind.name),
        "size": size_of(kind, sheet),
        "stuff": stuff_of(kind, sheet),
        "colour": f"#{red:02x}{green:02x}{blue:02x}",
        "metal": kind.is_metal,
        "mass": f"{bed.mass_kg(kind.name):.2f} kg",
        "row": row[0] if row else None,
        "item": row[1].name if row else kind.name.rstrip("_0123456789"),
        "boards": boards.get(row[1].name, []) if row else [],
        "marks": [
            {"from": r.reference, "marks": [[m.label, m.shown] for m in r.marks]}
            for r in marks.rows
        ],
        "notes": list(marks.notes),
        "files": [list(file) for file in matter.files_of(kind)],
        "form": packed(matter.forms[kind.name]),
    }


def _matrix(frame: Frame) -> list[float]:
    """The placement, column after column."""
    columns = ((*frame.x, 0.0), (*frame.y, 0.0), (*frame.z, 0.0), (*frame.origin, 1.0))
    return [round(value, 6) + 0.0 for column in columns for value in column]


def _spot(spot: Spot, pieces: dict[str, int]) -> list[float]:
    return [*(round(c, 1) + 0.0 for c in spot.at), pieces[spot.piece]]


def _show(show: Show, pieces: dict[str, int]) -> Record:
    return {
        "title": show.title,
        "pieces": [pieces[name] for name in show.pieces],
        "spots": [_spot(spot, pieces) for spot in show.spots],
        "mattress": show.mattress,
        "glass": [pieces[name] for name in show.glass],
    }


def _mattress(matter: Matter) -> Record:
    """The space that the rails leave for the mattress: its four corners from above, its heights."""
    layout = matter.bed.layout
    head, foot, length = layout.half_head, layout.half_foot, layout.pocket_length
    corners = ((-head, 0.0), (head, 0.0), (foot, length), (-foot, length))
    return {
        "corners": [[round(c, 2) for c in corner] for corner in corners],
        "low": round(layout.platform, 2),
        "high": round(layout.platform + layout.mattress.thickness, 2),
    }


def picture_address(data: bytes) -> str:
    """The still picture (WebP, PNG or JPEG) as an address that needs no file."""
    kinds = {b"\xff\xd8": "jpeg", b"\x89P": "png", b"RI": "webp"}
    return f"data:image/{kinds[data[:2]]};base64," + base64.b64encode(data).decode("ascii")
