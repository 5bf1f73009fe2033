"""Full-size routing templates of legs, as DXF that a laser or a router can cut as it stands.

One closed ring of lines and true arcs is cut; marks are engraved or left out;
notes are for reading. What lies on which layer:

    OUTSIDE_CUT          the leg's outline, anticlockwise, one polyline
    MARK_JOINT_FACE      a line just inside each edge that a board butts against
    MARK_MORTISE_CENTRE  for each mortise in such an edge

            joint edge -> ------+--------+--------+------
                                |        |        |     a tick at each end of the slot
                                         |
                                         |              centre line, as long as it is deep

    MARK_GRAIN           an arrow along the grain, from foot to top
    NOTES_NO_CUT         words

The drawing lies in the part frame, seen against z: x along the grain, y across.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import ezdxf
from ezdxf.filemanagement import new as new_document
from ezdxf.filemanagement import read as read_document

from bedmodel.bed import Kind
from bedmodel.errors import InputError
from bedmodel.exports.room import CLEAR, Box, Room, line_points
from bedmodel.frames import Vector
from bedmodel.outline import Edge, Outline, Point
from bedmodel.shape import Mortise

CUT = "OUTSIDE_CUT"
JOINT_FACE = "MARK_JOINT_FACE"
MORTISE_CENTRE = "MARK_MORTISE_CENTRE"
GRAIN = "MARK_GRAIN"
NOTES = "NOTES_NO_CUT"

# Layer: colour number in the file, what the layer is for.
LAYERS: dict[str, tuple[int, str]] = {
    CUT: (1, "cut on the outside of this closed line"),
    JOINT_FACE: (5, "engrave: lies just inside each joint face, to tell it from the outer edge"),
    MORTISE_CENTRE: (6, "engrave: centre of each mortise in a joint face, a tick at each slot end"),
    GRAIN: (3, "engrave: grain runs along this arrow, which points to the top"),
    NOTES: (8, "do not cut: words for the maker"),
}
VERSIONS = {"R2000": "AC1015", "R12": "AC1009"}

_APP = "BEDMODEL"  # owner of the edge names kept with the ring
_INSET = 3.0  # mm from a joint face to its mark, so that no line lies on the cut
_TICK = 10.0  # mm
_HEIGHTS = (8.0, 7.0, 6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0)  # mm, of text
_SMALL = (4.0, 3.0, 2.0)  # mm, of labels beside a mark
_LEADING = 1.6  # line pitch over text height
_ARROWS = (200.0, 150.0, 100.0, 60.0, 30.0)  # mm


@dataclass(frozen=True)
class Mark:
    """A straight line to engrave (mm, part frame)."""

    layer: str
    start: Point
    end: Point


@dataclass(frozen=True)
class Label:
    """One line of text: lower left corner and height (mm), turn (degrees, anticlockwise)."""

    text: str
    at: Point
    height: float
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Template:
    """A leg's outline with its marks and words, ready to be written.

    ``blank`` is length, width, thickness (mm); ``joint`` the name of the edges a
    board butts against; ``mortises`` those in such edges; ``notes`` every note,
    also those for which the part has no room (``labels`` are the ones drawn).
    """

    name: str
    outline: Outline
    blank: Vector
    joint: str
    mortises: tuple[Mortise, ...]
    marks: tuple[Mark, ...]
    labels: tuple[Label, ...]
    notes: tuple[str, ...]


def leg_template(
    kind: Kind, *, title_lines: Sequence[str], face_up: str, joint: str = "joint"
) -> Template:
    """Lay out the routing template of a leg.

    ``title_lines`` come first among the notes: name, hand, bed. ``face_up`` says
    which face of the leg looks at the reader. Raises InputError for a part whose
    outline is not drawn on its wide face.
    """
    shape = kind.shape
    if shape.face != "xy":
        raise InputError(
            "template", kind.name, "a part whose outline is seen on its wide face", "take a leg"
        )
    outline = shape.outline
    edges = [edge for edge in outline.named(joint) if not edge.is_arc]
    seats = [(m, edge) for m in shape.cuts for edge in edges if _opens_on(m, edge)]
    marks = [_joint_mark(edge) for edge in edges]
    for mortise, edge in seats:
        marks += _mortise_marks(mortise, edge)
    notes = (
        *(_plain(line) for line in title_lines or (kind.name,)),
        "size {:.1f} x {:.1f} x {:.1f} mm".format(*shape.blank),
        f"this face up: {_plain(face_up)}",
        "unit: millimetres, scale 1:1",
    )
    room = Room.inside(outline).without(line_points([(m.start, m.end) for m in marks]))
    beside: list[Label] = []
    for mortise, edge in seats:
        small, room = _small_label(mortise.name, edge, _mortise_spots(mortise, edge), room)
        beside += small
    for edge in edges:
        small, room = _small_label("JOINT FACE", edge, _edge_spots(edge), room)
        beside += small
    labels, arrow = _write_notes_and_arrow(notes, room)
    mortises = tuple(mortise for mortise, _ in seats)
    return Template(
        kind.name,
        outline,
        shape.blank,
        joint,
        mortises,
        (*marks, *arrow),
        (*labels, *beside),
        notes,
    )


def _plain(text: str) -> str:
    """The text on one line: a line break inside would end the DXF record."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


# Marks


def _axes(edge: Edge) -> tuple[Point, Point]:
    """Unit vectors along an edge and into the part; the outline runs anticlockwise."""
    tx = (edge.end[0] - edge.start[0]) / edge.chord
    ty = (edge.end[1] - edge.start[1]) / edge.chord
    return (tx, ty), (-ty, tx)


def _from(edge: Edge, along: float, into: float) -> Point:
    """The point so far along an edge from its start and so far into the part (mm)."""
    t, n = _axes(edge)
    return (
        edge.start[0] + along * t[0] + into * n[0],
        edge.start[1] + along * t[1] + into * n[1],
    )


def _along(edge: Edge, point: Sequence[float]) -> tuple[float, float]:
    """How far along an edge and how far into the part a point lies (mm)."""
    dx, dy = point[0] - edge.start[0], point[1] - edge.start[1]
    t, n = _axes(edge)
    return dx * t[0] + dy * t[1], dx * n[0] + dy * n[1]


def _opens_on(mortise: Mortise, edge: Edge) -> bool:
    along, into = _along(edge, mortise.frame.origin)
    _, n = _axes(edge)
    inward = mortise.frame.z[0] * n[0] + mortise.frame.z[1] * n[1]
    return abs(into) < 0.01 and 0 <= along <= edge.chord and inward > 0.5


def _joint_mark(edge: Edge) -> Mark:
    back = min(2 * _INSET, edge.chord / 4)  # keeps the ends clear of the corners
    return Mark(JOINT_FACE, _from(edge, back, _INSET), _from(edge, edge.chord - back, _INSET))


def _half_slot(mortise: Mortise, edge: Edge) -> float:
    """Half of what the slot takes up along the edge, round ends counted (mm)."""
    t, _ = _axes(edge)
    lean = abs(mortise.frame.x[0] * t[0] + mortise.frame.x[1] * t[1])
    return (mortise.length - mortise.width) / 2 * lean + mortise.width / 2


def _mortise_marks(mortise: Mortise, edge: Edge) -> list[Mark]:
    origin, z = mortise.frame.origin, mortise.frame.z
    bottom = (origin[0] + z[0] * mortise.depth, origin[1] + z[1] * mortise.depth)
    marks = [Mark(MORTISE_CENTRE, (origin[0], origin[1]), bottom)]
    along, _ = _along(edge, origin)
    for end in (-_half_slot(mortise, edge), _half_slot(mortise, edge)):
        tick = min(_TICK, mortise.depth)
        marks.append(
            Mark(MORTISE_CENTRE, _from(edge, along + end, 0.0), _from(edge, along + end, tick))
        )
    return marks


# Words


def _width(text: str, height: float) -> float:
    # Each reader has its own font; one height a letter is wider than the usual ones.
    return len(text) * height


def _write_notes_and_arrow(notes: Sequence[str], room: Room) -> tuple[list[Label], list[Mark]]:
    """Set the notes as large as leaves room for the grain arrow; failing that, what fits."""
    for height in _HEIGHTS:
        if block := _block(notes, height, room):
            arrow, word, _ = _grain_arrow(block[1])
            if arrow:
                return block[0] + word, arrow
    arrow, labels, room = _grain_arrow(room)
    for note in notes:
        blocks = (_block([note], height, room) for height in _HEIGHTS)
        if block := next(filter(None, blocks), None):
            labels, room = labels + block[0], block[1]
    return labels, arrow


def _block(notes: Sequence[str], height: float, room: Room) -> tuple[list[Label], Room] | None:
    """Set lines of text one under another in a free place, if there is one."""
    width = max(_width(note, height) for note in notes)
    pitch = _LEADING * height
    tall = height + pitch * (len(notes) - 1)
    box = room.find(width, tall)
    if box is None:
        return None
    rows = [tall - height - pitch * k for k in range(len(notes))]
    labels = [Label(note, box.point(0.0, y), height) for note, y in zip(notes, rows, strict=True)]
    return labels, room.without_box(box)


def _grain_arrow(room: Room) -> tuple[list[Mark], list[Label], Room]:
    """An arrow towards the top with its word above the shaft; nothing where it has no room."""
    for length in _ARROWS:
        head = 0.04 * length + 1.0
        letter = min(5.0, head)
        if box := room.find(length + 2 * CLEAR, 2 * head + letter):
            tip = box.point(CLEAR + length, head)
            barbs = [box.point(CLEAR + length - 2 * head, y) for y in (0.0, 2 * head)]
            lines = [Mark(GRAIN, box.point(CLEAR, head), tip)]
            lines += [Mark(GRAIN, tip, barb) for barb in barbs]
            label = Label("GRAIN", box.point(CLEAR, head + letter / 2), letter)
            return lines, [label], room.without_box(box)
    return [], [], room


def _edge_spots(edge: Edge) -> Iterator[tuple[float, float]]:
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
        yield share * edge.chord, _INSET + CLEAR + 0.1


def _mortise_spots(mortise: Mortise, edge: Edge) -> Iterator[tuple[float, float]]:
    along, _ = _along(edge, mortise.frame.origin)
    yield along, mortise.depth + CLEAR + 0.1
    for side in (-1, 1):
        yield along + side * mortise.length / 4, _TICK + CLEAR + 0.1


def _small_label(
    text: str, edge: Edge, spots: Iterator[tuple[float, float]], room: Room
) -> tuple[list[Label], Room]:
    """Set a label along an edge, centred on the first spot (along, into) that is free."""
    t, _ = _axes(edge)
    turn = math.degrees(math.atan2(t[1], t[0]))
    upright = -90 < turn <= 90
    turn = turn if upright else turn - math.copysign(180.0, turn)
    text = _plain(text)
    places = list(spots)
    for height in _SMALL:
        half = _width(text, height) / 2
        for along, into in places:
            corner = (along - half, into) if upright else (along + half, into + height)
            box = Box(_from(edge, *corner), 2 * half, height, turn)
            if room.holds(box):
                return [Label(text, box.at, height, turn)], room.without_box(box)
    return [], room


# Files


def dxf_bytes(template: Template, version: str = "R2000") -> bytes:
    """Write the template as DXF, in millimetres at 1:1; the same bytes on every run.

    R12 is for old machines only: it has no place for the unit. Raises InputError
    for another version.
    """
    if version not in VERSIONS:
        raise InputError("DXF version", version, "one of " + ", ".join(VERSIONS))
    with _without_clock():
        document = new_document(version, setup=False)
        _set_header(document, template.outline, version)
        for name, (colour, _) in LAYERS.items():
            document.layers.add(name, color=colour)
        document.appids.add(_APP)
        _draw(document.modelspace(), template, version)
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


def _draw(space: Any, template: Template, version: str) -> None:
    outline = template.outline
    points = [(*v, b) for v, b in zip(outline.vertices, outline.bulges, strict=True)]
    add = space.add_polyline2d if version == "R12" else space.add_lwpolyline
    ring = add(points, format="xyb", close=True, dxfattribs={"layer": CUT})
    ring.set_xdata(_APP, [(1000, name) for name in outline.names])
    for mark in template.marks:
        space.add_line((*mark.start, 0.0), (*mark.end, 0.0), dxfattribs={"layer": mark.layer})
    for label in template.labels:
        text = space.add_text(
            label.text, height=label.height, rotation=label.turn_deg, dxfattribs={"layer": NOTES}
        )
        text.dxf.insert = (*label.at, 0.0)


@contextmanager
def _without_clock() -> Iterator[None]:
    """Write fixed dates and ids for the time being, then put the library back as it was."""
    options = ezdxf.options  # type: ignore[attr-defined]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def read_outline(data: bytes) -> Outline:
    """Read the ring to cut back from a template's DXF, with its edges' names.

    Raises InputError when there is not exactly one closed ring.
    """
    document = read_document(io.StringIO(data.decode("cp1252")))
    rings = list(document.modelspace().query(f'LWPOLYLINE POLYLINE[layer=="{CUT}"]'))
    if len(rings) != 1 or not rings[0].is_closed:
        raise InputError("template", f"{len(rings)} lines on {CUT}", "one closed line")
    ring = rings[0]
    if ring.dxftype() == "LWPOLYLINE":
        rows = [(x, y, b) for x, y, b in ring.get_points("xyb")]
    else:
        rows = [(*v.dxf.location.vec2, v.dxf.bulge) for v in ring.vertices]
    names = [v for code, v in ring.get_xdata(_APP) if code == 1000] if ring.has_xdata(_APP) else []
    names = names if len(names) == len(rows) else [""] * len(rows)
    return Outline(
        tuple((x, y) for x, y, _ in rows), tuple(b for _, _, b in rows), tuple(map(str, names))
    )


def legend_text(template: Template) -> str:
    """Say in words what the DXF holds and how to check it after import."""
    outline = template.outline
    x0, y0, x1, y1 = outline.bounds()
    arcs = sum(edge.is_arc for edge in outline.edges())
    lines = [f"Routing template: {template.name}", ""]
    lines += [f"  {note}" for note in template.notes]
    lines += ["", "Layers"]
    lines += [f"  {layer:<20} {use}" for layer, (_, use) in LAYERS.items()]
    lines += [
        "",
        "Unit and size: check these after import, before any cut",
        "  unit                 millimetre, scale 1:1; some programs ignore the unit in the file",
        f"  length along grain   {x1 - x0:.3f} mm ({(x1 - x0) / 25.4:.4f} in)",
        f"  width across grain   {y1 - y0:.3f} mm ({(y1 - y0) / 25.4:.4f} in)",
        f"  area inside the cut  {outline.area:.2f} mm2",
        f"  length of the cut    {outline.perimeter:.3f} mm",
        f"  edges                {len(outline.vertices)}, of them {arcs} true arcs;"
        " deviation from the model 0",
        f"  joint face mark      {_INSET:g} mm inside the edge it names",
    ]
    edges = [edge for edge in outline.named(template.joint) if not edge.is_arc]
    if template.mortises:
        lines += ["", "Mortises in the joint face (mm); place is along it from its foot end"]
        lines += [f"  {_mortise_line(m, edges)}" for m in template.mortises]
    return "\n".join(lines) + "\n"


def _mortise_line(mortise: Mortise, edges: Sequence[Edge]) -> str:
    edge = next(edge for edge in edges if _opens_on(mortise, edge))
    along, _ = _along(edge, mortise.frame.origin)
    place = along if edge.end[0] >= edge.start[0] else edge.chord - along
    half = _half_slot(mortise, edge)
    return (
        f"{mortise.name}: centre {place:.2f}, slot from {place - half:.2f} to {place + half:.2f},"
        f" {mortise.width:.2f} wide, {mortise.depth:.2f} deep"
    )
