"""Templates that the router follows round the legs, for the sheet's own cutter.

A bearing of the bit's own size leaves the template the leg's outline itself; any
other guide moves it in by the offset, see ``router``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.bed import Piece
from bedmodel.cutters import Cutter
from bedmodel.frames import dot
from bedmodel.outline import Outline
from bedmodel.shop.cards import ROUTER_CAUTIONS, Card
from bedmodel.shop.jigs.choice import Chosen, blamed_on, leg_cutter
from bedmodel.shop.jigs.jig import GuidedCut, Jig
from bedmodel.shop.jigs.on_hand import ALL, OnHand
from bedmodel.shop.leg_marks import joint_mark, mortise_marks, seats
from bedmodel.shop.raked import level_cut_rows
from bedmodel.shop.relief import RELIEF, cautions, relieved, rounded_outside_corners
from bedmodel.shop.router import check_follows, outside_template
from bedmodel.shop.sheet import CncSheet, Mark
from bedmodel.skeleton import Layout
from bedmodel.units import LengthUnit, format_both


def leg_jigs(layout: Layout, pieces: Sequence[Piece], hand: OnHand = ALL) -> Iterator[Jig]:
    """A template for each kind of leg, and with a relief asked for the leg itself to be cut.

    Raises InputError for a bit that cannot follow the legs' curves.
    """
    chosen = leg_cutter(layout.sheet, layout.sheet.leg.thickness, hand)
    seen = set()
    for piece in pieces:
        name = piece.kind.name
        if name.startswith(("head_leg", "foot_leg")) and name not in seen:
            seen.add(name)
            count = sum(1 for other in pieces if other.kind.name == name)
            yield _template(layout, piece, chosen, count)
            if layout.sheet.router.relief != "none":
                yield _part(layout, piece, chosen, count)


def face_up(piece: Piece) -> str:
    """Which face of a leg its outline shows: the one towards the mattress, or the show face."""
    inward = 1.0 if piece.group == "head_end" else -1.0
    towards_mattress = dot(piece.placement.z, (0.0, inward, 0.0)) > 0
    return "inside face" if towards_mattress else "show face"


def _template(layout: Layout, piece: Piece, chosen: Chosen, count: int) -> Jig:
    shape, sheet = piece.kind.shape, layout.sheet
    cutter, unit = chosen.cutter, sheet.design.unit
    words, face = _words(piece), face_up(piece)
    with blamed_on(
        bit="router.template_bit",
        cutter="router.template_bit" if chosen.bushing is None else "router.bushing",
    ):
        template = outside_template(shape.outline, cutter)
    name, title = f"leg_{piece.kind.name}_template", f"Leg template, {words}"
    notes = (
        sheet.design.title,
        f"{words}, {count} off",
        f"this face up: {face}",
        f"bit {cutter.diameter:g} mm, {chosen.guide}",
        f"cut lies {abs(cutter.offset):.3f} mm {'out' if cutter.offset > 0 else 'in'}side this edge"
        if cutter.offset
        else "cut lies on this edge",
        "unit: millimetres, scale 1:1",
    )
    card = Card(
        name,
        title,
        (
            (
                "for",
                f"routing {words} ({count} off) to its outline, after sawing to "
                "2 mm (1/16 in) outside the line",
            ),
            ("bit", chosen.bit.label),
            ("guide", f"{chosen.guide}, runs along the template's edge"),
            ("offset", _offset_words(chosen, unit)),
            ("depth", _depth_words(chosen, shape.thickness, unit)),
            (
                "reference",
                "outer edge and joint face (marked); mortises are ticked from the floor "
                "end of the joint face",
            ),
            (
                "face up",
                f"{face} of the {words}; the same outline serves the other hand with its "
                f"{_other(face)} up",
            ),
            *level_cut_rows(layout, words),
            (
                "fixing",
                "template 12 mm (1/2 in) MDF or ply on the leg, held by double-sided tape; router "
                "on top",
            ),
        ),
        (
            *ROUTER_CAUTIONS,
            "outside a part, seen from above, go round anticlockwise; start on the flat of the "
            "outer edge, not at a corner, and go easy where the curve runs into end grain",
            *_extra_cautions(layout, shape.outline, chosen),
        ),
    )
    sheet_ = CncSheet(
        name, title, template, (), _marks(piece, template, cutter.offset), notes, grain=True
    )
    return Jig(sheet_, card, (GuidedCut(template, shape.outline, cutter, "outside"),))


def _extra_cautions(layout: Layout, outline: Outline, chosen: Chosen) -> Iterator[str]:
    if chosen.unconfirmed:
        yield chosen.unconfirmed
    if chosen.bushing is not None:
        yield "the bushing's collar must be shorter than the template is thick"
    diameter = chosen.cutter.diameter
    yield from cautions(outline, Cutter(diameter, diameter), "outside")  # inside corners
    rounded = rounded_outside_corners(outline, chosen.cutter, "outside")
    if rounded:
        names = ", ".join("/".join(corner.names) for corner in rounded)
        yield (
            f"outside corners come out round, radius {chosen.cutter.offset:.2f} mm ({names}): "
            "take a bearing of the bit's own size, or guide each side straight past its corners"
        )
    if layout.legs.foot is not None and not foot_clears_joint_face(layout):
        yield (
            "the foot stands out past the joint face, so no saw sled is drawn: bandsaw down to the "
            "knee and rout"
        )


def foot_clears_joint_face(layout: Layout) -> bool:
    """Whether a saw cut along the joint face may run on past the foot."""
    return layout.legs.outline(layout.head.leg_top).bounds()[0] > -0.01


def _other(face: str) -> str:
    return "show face" if face == "inside face" else "inside face"


def _offset_words(chosen: Chosen, unit: LengthUnit) -> str:
    offset = chosen.cutter.offset
    if offset == 0:
        return "none: the template is the leg's own outline"
    inward = "inside" if offset > 0 else "outside"
    return f"{format_both(abs(offset), unit)}, template {inward} the leg's outline"


def _depth_words(chosen: Chosen, thickness: float, unit: LengthUnit) -> str:
    told, reach = format_both(thickness, unit), format_both(chosen.bit.length, unit)
    if chosen.bit.length >= thickness:
        return f"through the leg, {told}, in passes"
    how = (
        "rout in passes to that depth, take the template off and let the bearing run on the edge "
        "just cut"
        if chosen.bushing is None
        else "finish from the other face with a pattern bit that follows the edge just cut"
    )
    return f"leg {told}, edges of the bit only {reach}: {how}"


def _marks(piece: Piece, outline: Outline, offset: float) -> tuple[Mark, ...]:
    edges = [edge for edge in outline.named("joint") if not edge.is_arc]
    marks = [joint_mark(edge) for edge in edges]
    marks = [Mark(m.layer, m.start, m.end, "JOINT FACE") for m in marks]
    for mortise, edge in seats(piece.kind.shape.tenon_cuts, edges, offset):
        marks += mortise_marks(mortise, edge, offset)
    return tuple(marks)


def _part(layout: Layout, piece: Piece, chosen: Chosen, count: int) -> Jig:
    """The leg's own outline for a machine that cuts it without a template."""
    bit, style = chosen.bit, layout.sheet.router.relief
    outline = relieved_part(piece.kind.shape.outline, bit.diameter, style)
    bays = sum(name == RELIEF for name in outline.names)
    name, title = f"leg_{piece.kind.name}_part", f"Leg cut by the machine, {_words(piece)}"
    told = f"{style} relief in {bays} edges" if bays else "no sharp inside corner to relieve"
    notes = (
        layout.sheet.design.title,
        f"{_words(piece)}, {count} off",
        f"this face up: {face_up(piece)}",
        f"bit {bit.diameter:g} mm or less",
        told,
        "unit: millimetres, scale 1:1",
    )
    rows = (
        ("for", f"cutting {_words(piece)} ({count} off) on a machine, without a template"),
        ("bit", f"{bit.label} or narrower; the machine offsets by half the bit, outside"),
        ("depth", f"{format_both(piece.kind.shape.thickness, layout.sheet.design.unit)}, through"),
        ("offset", "none is drawn: the line is the leg's own outline"),
        ("relief", told),
        ("reference", "outer edge and joint face (marked)"),
        ("face up", face_up(piece)),
    )
    caution = "leave tabs, hold the blank outside the line, stay clear while the machine runs"
    sheet = CncSheet(name, title, outline, (), _marks(piece, outline, 0.0), notes, grain=True)
    steered = GuidedCut(outline, outline, Cutter(bit.diameter, bit.diameter), "outside")
    return Jig(sheet, Card(name, title, rows, (caution,)), (steered,), from_sheet=False)


def relieved_part(outline: Outline, diameter: float, style: str) -> Outline:
    """A part's outline with its sharp inside corners relieved for a bit (mm).

    Raises InputError, naming the largest bit that would do, for a curve too tight.
    """
    with blamed_on(bit="router.template_bit", relief="router.relief"):
        if style == "none":
            check_follows(outline, diameter, "outside")
            return outline
        return relieved(outline, diameter, "dog-bone" if style == "dog-bone" else "t-bone")


def _words(piece: Piece) -> str:
    return piece.kind.name.replace("_", " ")
