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

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedmodel.bed import Kind
from bedmodel.cuts import Mortise
from bedmodel.errors import InputError
from bedmodel.exports import cnc
from bedmodel.exports.cnc import CHECK_LINES, layer_lines, size_text
from bedmodel.exports.room import CLEAR, Room, line_points
from bedmodel.exports.words import (
    edge_spots,
    plain,
    set_notes_and_arrow,
    small_label,
)
from bedmodel.frames import Vector
from bedmodel.outline import Edge, Outline
from bedmodel.shop import sheet
from bedmodel.shop.leg_marks import (
    INSET,
    TICK,
    along_edge,
    half_slot,
    joint_mark,
    mortise_marks,
    opens_on,
    seats,
)
from bedmodel.shop.sheet import Label, Mark

CUT = sheet.CUT
JOINT_FACE = sheet.JOINT_FACE
MORTISE_CENTRE = sheet.MORTISE_CENTRE
GRAIN = sheet.GRAIN
NOTES = sheet.NOTES

# Layer: colour number in the file, what the layer is for.
LAYERS = {layer: sheet.LAYERS[layer] for layer in (CUT, JOINT_FACE, MORTISE_CENTRE, GRAIN, NOTES)}
VERSIONS = cnc.VERSIONS


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
    seated = seats(shape.tenon_cuts, edges)
    marks = [joint_mark(edge) for edge in edges]
    for mortise, edge in seated:
        marks += mortise_marks(mortise, edge)
    notes = (
        *(plain(line) for line in title_lines or (kind.name,)),
        "size {:.1f} x {:.1f} x {:.1f} mm".format(*shape.blank),
        f"this face up: {plain(face_up)}",
        "unit: millimetres, scale 1:1",
    )
    room = Room.inside(outline).without(line_points([(m.start, m.end) for m in marks]))
    beside: list[Label] = []
    for mortise, edge in seated:
        small, room = small_label(mortise.name, edge, _mortise_spots(mortise, edge), room)
        beside += small
    for edge in edges:
        small, room = small_label("JOINT FACE", edge, edge_spots(edge, INSET + CLEAR + 0.1), room)
        beside += small
    labels, arrow = set_notes_and_arrow(notes, room)
    mortises = tuple(mortise for mortise, _ in seated)
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


def _mortise_spots(mortise: Mortise, edge: Edge) -> Iterator[tuple[float, float]]:
    along, _ = along_edge(edge, mortise.frame.origin)
    yield along, mortise.depth + CLEAR + 0.1
    for side in (-1, 1):
        yield along + side * mortise.length / 4, TICK + CLEAR + 0.1


def dxf_bytes(template: Template, version: str = "R2000") -> bytes:
    """Write the template as DXF, in millimetres at 1:1; the same bytes on every run.

    R12 is for old machines only: it has no place for the unit. Raises InputError
    for another version.
    """
    rings = [(CUT, template.outline)]
    return cnc.drawing_bytes(rings, template.marks, template.labels, tuple(LAYERS), version)


def read_outline(data: bytes) -> Outline:
    """Read the ring to cut back from a template's DXF, with its edges' names.

    Raises InputError when there is not exactly one closed ring.
    """
    rings = cnc.read_rings(data, CUT)
    if len(rings) != 1:
        raise InputError("template", f"{len(rings)} lines on {CUT}", "one closed line")
    return rings[0]


def legend_text(template: Template) -> str:
    """Say in words what the DXF holds and how to check it after import."""
    outline = template.outline
    x0, y0, x1, y1 = outline.bounds()
    arcs = sum(edge.is_arc for edge in outline.edges())
    lines = [f"Routing template: {template.name}", ""]
    lines += [f"  {note}" for note in template.notes]
    lines += ["", *layer_lines(tuple(LAYERS)), "", *CHECK_LINES]
    lines += [
        f"  length along grain   {size_text(x1 - x0)}",
        f"  width across grain   {size_text(y1 - y0)}",
        f"  area inside the cut  {outline.area:.2f} mm2",
        f"  length of the cut    {outline.perimeter:.3f} mm",
        f"  edges                {len(outline.vertices)}, of them {arcs} true arcs;"
        " deviation from the model 0",
        f"  joint face mark      {INSET:g} mm inside the edge it names",
    ]
    edges = [edge for edge in outline.named(template.joint) if not edge.is_arc]
    if template.mortises:
        lines += ["", "Mortises in the joint face (mm); place is along it from its foot end"]
        lines += [f"  {_mortise_line(m, edges)}" for m in template.mortises]
    return "\n".join(lines) + "\n"


def _mortise_line(mortise: Mortise, edges: Sequence[Edge]) -> str:
    edge = next(edge for edge in edges if opens_on(mortise, edge))
    along, _ = along_edge(edge, mortise.frame.origin)
    place = along if edge.end[0] >= edge.start[0] else edge.chord - along
    half = half_slot(mortise, edge)
    return (
        f"{mortise.name}: centre {place:.2f}, slot from {place - half:.2f} to {place + half:.2f},"
        f" {mortise.width:.2f} wide, {mortise.depth:.2f} deep"
    )
