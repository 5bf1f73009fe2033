"""Write flat pieces as DXF that a laser or a router can cut as it stands, in mm at 1:1.

Each ring is one closed polyline of lines and true arcs, rings to keep anticlockwise and
openings clockwise, with the names of its edges beside it; marks are lines, words are text.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import ezdxf
from ezdxf.filemanagement import new as new_document
from ezdxf.filemanagement import read as read_document

from bedmodel.errors import InputError
from bedmodel.exports.room import CLEAR, Box, Room, line_points
from bedmodel.exports.words import (
    plain,
    set_notes,
    set_notes_and_arrow,
    small_label,
    text_width,
)
from bedmodel.outline import Edge, Outline, Point
from bedmodel.shop.sheet import CUT, LAYERS, NOTES, OPENING, CncSheet, Label, Mark

VERSIONS = {"R2000": "AC1015", "R12": "AC1009"}

_APP = "BEDMODEL"  # owner of the edge names kept with the ring
_MARK_LETTERS = (6.0, 5.0, 4.0, 3.0, 2.0)  # mm
_OUTSIDE = 4.0  # mm, of words that stand beside the piece
_LEADER = 12.0  # mm from the piece to them


def dxf_bytes(sheet: CncSheet, version: str = "R2000") -> bytes:
    """Write a sheet as DXF; the same bytes on every run. Refusals as in ``drawing_bytes``."""
    rings = [(CUT, sheet.outline), *((OPENING, opening) for opening in sheet.openings)]
    labels, arrow = words_on(sheet)
    return drawing_bytes(rings, (*sheet.marks, *arrow), labels, sheet.layers, version)


def drawing_bytes(
    rings: Sequence[tuple[str, Outline]],
    marks: Sequence[Mark],
    labels: Sequence[Label],
    layers: Sequence[str],
    version: str = "R2000",
) -> bytes:
    """Write rings (layer, outline), marks and words as DXF; the first ring is round the rest.

    R12 is for old machines only: it has no place for the unit. Raises InputError
    for another version.
    """
    if version not in VERSIONS:
        raise InputError("DXF version", version, "one of " + ", ".join(VERSIONS))
    with without_clock():
        document = new_document(version, setup=False)
        _set_header(document, rings[0][1], version)
        for name in layers:
            document.layers.add(name, color=LAYERS[name][0])
        document.appids.add(_APP)
        _draw(document.modelspace(), rings, marks, labels, version)
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _set_header(document: Any, outline: Outline, version: str) -> None:
    x0, y0, x1, y1 = outline.bounds()
    if version != "R12":
        document.header["$INSUNITS"] = 4
        document.header["$MEASUREMENT"] = 1
    # Some readers scale by the extents, and break on the library's "unknown".
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (x0, y0, 0.0), (x1, y1, 0.0)
    document.header["$LIMMIN"], document.header["$LIMMAX"] = (x0, y0), (x1, y1)
    document.modelspace().reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
    document.modelspace().reset_limits((x0, y0), (x1, y1))


def _draw(
    space: Any,
    rings: Sequence[tuple[str, Outline]],
    marks: Sequence[Mark],
    labels: Sequence[Label],
    version: str,
) -> None:
    add = space.add_polyline2d if version == "R12" else space.add_lwpolyline
    for layer, outline in rings:
        # Openings run clockwise: the cutter then lies on the waste side of every ring.
        run = outline.reversed() if layer == OPENING else outline
        points = [(*v, b) for v, b in zip(run.vertices, run.bulges, strict=True)]
        ring = add(points, format="xyb", close=True, dxfattribs={"layer": layer})
        ring.set_xdata(_APP, [(1000, name) for name in run.names])
    for mark in marks:
        space.add_line((*mark.start, 0.0), (*mark.end, 0.0), dxfattribs={"layer": mark.layer})
    for label in labels:
        text = space.add_text(
            label.text, height=label.height, rotation=label.turn_deg, dxfattribs={"layer": NOTES}
        )
        text.dxf.insert = (*label.at, 0.0)


@contextmanager
def without_clock() -> Iterator[None]:
    """Write fixed dates and ids for the time being, then put the library back as it was."""
    options = ezdxf.options  # type: ignore[attr-defined]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def read_rings(data: bytes, layer: str) -> list[Outline]:
    """Read the closed lines of a layer back from DXF, with their edges' names."""
    document = read_document(io.StringIO(data.decode("cp1252")))
    found = document.modelspace().query(f'LWPOLYLINE POLYLINE[layer=="{layer}"]')
    rings = [_ring(entity) for entity in found if entity.is_closed]  # type: ignore[attr-defined]
    return [ring.reversed() for ring in rings] if layer == OPENING else rings


def _ring(entity: Any) -> Outline:
    if entity.dxftype() == "LWPOLYLINE":
        rows = [(x, y, b) for x, y, b in entity.get_points("xyb")]
    else:
        rows = [(*v.dxf.location.vec2, v.dxf.bulge) for v in entity.vertices]
    kept = entity.get_xdata(_APP) if entity.has_xdata(_APP) else []
    names = [v for code, v in kept if code == 1000]
    names = names if len(names) == len(rows) else [""] * len(rows)
    return Outline(
        tuple((x, y) for x, y, _ in rows), tuple(b for _, _, b in rows), tuple(map(str, names))
    )


# Words


def words_on(sheet: CncSheet) -> tuple[tuple[Label, ...], tuple[Mark, ...]]:
    """Set the words beside the marks, then the notes and the grain arrow's lines.

    What finds no room stands beside the piece, a mark's word at the end of a leader.
    """
    room = Room.inside(sheet.outline)
    lines = [(mark.start, mark.end) for mark in sheet.marks]
    for opening in sheet.openings:
        lines += _rows_across(opening)
    if lines:
        room = room.without(line_points(lines))
    beside: list[Label] = list(sheet.words)
    if sheet.words:
        boxes = [Box(w.at, text_width(w.text, w.height), w.height) for w in sheet.words]
        room = room.without_boxes(boxes)
    homeless: list[tuple[str, Mark | None]] = []
    for mark in sheet.marks:
        if mark.label:
            found, room = _beside(mark, room)
            beside += found
            homeless += [] if found else [(plain(mark.label), mark)]
    notes, drawn = [plain(note) for note in sheet.notes], list[Mark]()
    if sheet.grain:
        labels, drawn = set_notes_and_arrow(notes, room)
    else:
        labels = set_notes(notes, room)
    set_down = {label.text for label in labels}
    homeless += [(note, None) for note in notes if note not in set_down]
    outside, leaders = _outside(homeless, sheet.outline)
    return (*labels, *beside, *outside), (*drawn, *leaders)


def _outside(
    words: Sequence[tuple[str, Mark | None]], outline: Outline
) -> tuple[list[Label], list[Mark]]:
    """Words to the right of the piece, from its top down, each joined to its mark if it has one."""
    _, _, right, top = outline.bounds()
    labels, leaders = [], []
    for i, (text, mark) in enumerate(words):
        at = (right + _LEADER, top - _OUTSIDE - i * 2 * _OUTSIDE)
        labels.append(Label(text, at, _OUTSIDE))
        if mark is not None:
            (x0, y0), (x1, y1) = mark.start, mark.end
            end = (at[0] - CLEAR / 2, at[1] + _OUTSIDE / 2)
            leaders.append(Mark(NOTES, ((x0 + x1) / 2, (y0 + y1) / 2), end))
    return labels, leaders


def _beside(mark: Mark, room: Room) -> tuple[list[Label], Room]:
    """The mark's word, on whichever side of the line has room."""
    for height in _MARK_LETTERS:
        for start, end in ((mark.start, mark.end), (mark.end, mark.start)):
            edge = Edge(start, end, 0.0, "")
            found, left = small_label(mark.label, edge, _spots(edge), room, (height,))
            if found:
                return found, left
    return [], room


def _spots(edge: Edge) -> Iterator[tuple[float, float]]:
    """Places beside a mark to try for its word, from the middle outwards."""
    for step in range(41):
        share = 0.5 + (step + 1) // 2 * (1 if step % 2 else -1) / 41
        yield share * edge.chord, CLEAR + 0.1


def _rows_across(opening: Outline) -> list[tuple[Point, Point]]:
    """Level lines that fill the box round an opening, so that no words fit inside."""
    x0, y0, x1, y1 = opening.bounds()
    count = max(2, int((y1 - y0) / CLEAR) + 1)
    levels = [y0 + (y1 - y0) * k / (count - 1) for k in range(count)]
    return [((x0, y), (x1, y)) for y in levels]


def legend_text(sheet: CncSheet) -> str:
    """Say in words what the DXF holds and how to check it after import."""
    x0, y0, x1, y1 = sheet.outline.bounds()
    rings = [sheet.outline, *sheet.openings]
    arcs = sum(edge.is_arc for ring in rings for edge in ring.edges())
    edges = sum(len(ring.vertices) for ring in rings)
    lines = [f"{sheet.title}: {sheet.name}", ""]
    lines += [f"  {plain(note)}" for note in sheet.notes]
    lines += ["", *layer_lines(sheet.layers), "", *CHECK_LINES]
    lines += [
        f"  width                {size_text(x1 - x0)}",
        f"  height               {size_text(y1 - y0)}",
        f"  area inside the cut  {sheet.outline.area:.2f} mm2",
        f"  area of openings     {sum(o.area for o in sheet.openings):.2f} mm2",
        f"  length of the cut    {sum(ring.perimeter for ring in rings):.3f} mm",
        f"  edges                {edges}, of them {arcs} true arcs",
    ]
    lines += [f"  {name:<20} {value}" for name, value in sheet.facts]
    return "\n".join(lines) + "\n"


CHECK_LINES = (
    "Unit and size: check these after import, before any cut",
    "  unit                 millimetre, scale 1:1; some programs ignore the unit in the file",
)


def layer_lines(layers: Sequence[str]) -> list[str]:
    """The legend's lines on layers."""
    return ["Layers", *(f"  {layer:<20} {LAYERS[layer][1]}" for layer in layers)]


def size_text(length: float) -> str:
    """A length for checking an import: "340.000 mm (13.3858 in)"."""
    return f"{length:.3f} mm ({length / 25.4:.4f} in)"
