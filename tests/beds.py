"""Beds for the tests of the checks: good ones, made once, and ways to spoil them."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import cadquery as cq
from OCP.BRep import BRep_Builder
from OCP.TopoDS import TopoDS_Shell, TopoDS_Solid

from bedmodel.assembly import Bed, make_bed
from bedmodel.bed import Kind, Piece
from bedmodel.checks.finding import Code
from bedmodel.checks.run import findings, run_checks
from bedmodel.comfort import end_gaps
from bedmodel.cuts import Mortise
from bedmodel.ends.record import PanelPlan, UprightPlan
from bedmodel.frames import Frame, Vector
from bedmodel.joints import TenonJoint, tenon_joints
from bedmodel.outline import Outline
from bedmodel.pieces import make_pieces
from bedmodel.screw_joints import screw_joints
from bedmodel.shape import Shape
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.spec import Sheet


@dataclass(frozen=True)
class Broken:
    """A broken bed, and what must be said of it."""

    bed: Bed
    measured: Mapping[Any, float]  # by the parts named
    limit: str
    within: float = 1e-6
    place: str = ""


Make = Callable[[], Broken]
Case = tuple[Code, Make]


def register_in(cases: list[Case]) -> Callable[[Code], Callable[[Make], Make]]:
    """A decorator that adds a broken bed under the one code it must be reported with."""

    def breaks(code: Code) -> Callable[[Make], Make]:
        def register(make: Make) -> Make:
            cases.append((code, make))
            return make

        return register

    return breaks


@functools.cache
def good(name: str, size: str | None = None, *changes: str) -> Bed:
    """The bed of an example sheet."""
    return make_bed(load_sheet(name, size=size, changes=changes))


# Without the platform's screws, whose holes make a left rail the right one turned end for end.
UNSCREWED = ("runner.joint=glue", "slat.joint=loose")
EXAMPLES = ("campion", "hawthorn", "sorrel")
# Example sheets beyond those, one a line; each is laid out in every size, and made in a few.
FURTHER = (
    "bracken",
    "heather",
    "medlar",
    "rowan",
    "teasel",
    "yarrow",
)


def hawthorn() -> Bed:
    """The bed that stands square and is quickest to make and to check; its slats laid in.

    A slat spoilt as a whole would lose its screws' holes too, which is told by itself.
    """
    return good("hawthorn", None, "slat.joint=loose")


def unscrewed() -> Bed:
    """The same with its runners glued: one that is moved as a whole tears at no screws."""
    return good("hawthorn", None, *UNSCREWED)


_HOOKS = {Code.HOOK_ENGAGEMENT_SHORT, Code.HOOK_TRAVEL_SHORT, Code.HOOK_BINDS}
_PLATES = {Code.PLATE_NOT_FLUSH}
_SCREWS = {Code.SCREW_BITE_SHORT, Code.SCREW_OFF_PILOT}
_BOLTS = {Code.BOLT_REACH_SHORT}
_CUTS = {Code.RECESS_WALL_THIN, Code.FASTENER_NEAR_MORTISE}


def idle_codes(sheet: Sheet) -> set[Code]:
    """The codes that have nothing to test on the bed of a sheet."""
    idle = {
        "hook_plates": _BOLTS,
        "brackets": _BOLTS,
        "bolts": _HOOKS | _PLATES | _SCREWS,
        "butt": _HOOKS | _PLATES | _SCREWS | _BOLTS | _CUTS,
    }[sheet.side_rail.joint]
    layout = lay_out(sheet)
    if layout.runner_screws or layout.slat_screws or list(screw_joints(layout)):
        idle -= _CUTS | _SCREWS  # the platform's screws have holes too
    unseen = sheet.side_rail.joint == "butt" or sheet.fastener.visible == "allowed"
    shown = {Code.FASTENER_SHOWS} if unseen else set()
    return idle | shown | _idle_reckoning(layout)


def _idle_reckoning(layout: Layout) -> set[Code]:
    """Of the reckoned codes: no centre rail, one that tips, no dry tenon, no gap."""
    idle = _idle_support(layout)
    if layout.centre_rail is None:
        idle.add(Code.CENTRE_RAIL_TIPS)
    elif len(layout.centre_rail.feet) == 1 and not layout.cleats:
        idle |= {Code.PART_SAGS, Code.PART_OVERSTRESSED, Code.BEARING_DENTS}
        idle |= {Code.HEADBOARD_WOBBLES, Code.JOINT_OVERLOADED}
    boards = [board for end in layout.ends for board in end.boards]
    if not any(any(board.tenons.slack) for board in boards):
        idle.add(Code.BOARD_ROOM_SHORT)
    if not any(end_gaps(layout, end) for end in layout.ends):
        idle.add(Code.GAP_CATCHES)
    return idle | _idle_ends(layout)


def _idle_ends(layout: Layout) -> set[Code]:
    """Of the codes of what fills and caps an end: nothing upright, no panel, no cap."""
    fills = [fill for end in layout.ends for fill in end.fills]
    uprights = [fill for fill in fills if isinstance(fill, UprightPlan)]
    panels = [fill for fill in fills if isinstance(fill, PanelPlan)]
    caps = any(end.cap for end in layout.ends)
    idle = set() if uprights else {Code.UPRIGHT_GAPS_UNEQUAL, Code.GAP_TRAPS_HEAD}
    idle |= set() if panels else {Code.PANEL_CANNOT_MOVE, Code.PANEL_LOOSE, Code.PANEL_ROOM_SHORT}
    idle |= set() if caps else {Code.CAP_NOT_SEATED}
    if not uprights and not caps and not any(plan.uprights for plan in panels):
        idle.add(Code.END_JOINT_FIT)
    return idle


def _idle_support(layout: Layout) -> set[Code]:
    """Of what the mattress lies on: no slats, one row, no deck, one panel."""
    idle = set()
    if not layout.has_slats:
        idle |= {Code.SLAT_GAPS_UNEQUAL, Code.SLAT_GAP_OUT_OF_BAND, Code.SLAT_BEARING_SHORT}
    elif layout.sheet.support.kind == "box_spring":
        idle.add(Code.SLAT_GAP_OUT_OF_BAND)
    if not any(piece.kind.shape.mouldings for piece in make_pieces(layout)):
        idle.add(Code.JOINT_ARRIS_SHAPED)
    if layout.rows == 1:
        idle.add(Code.ROW_BEARING_SHORT)
    if layout.deck is None:
        idle |= {Code.DECK_BEARING_SHORT, Code.DECK_JOINT_UNSUPPORTED}
    elif not layout.deck.battens:
        idle.add(Code.DECK_JOINT_UNSUPPORTED)
    return idle


def shape_of(bed: Bed, name: str) -> Shape:
    return bed.piece(name).kind.shape


def codes_of(bed: Bed) -> set[Code]:
    return {finding.code for finding in findings(run_checks(bed))}


def moved(bed: Bed, name: str, by: Vector) -> Bed:
    """The bed with one piece shifted, in the bed frame."""
    return bed.with_piece(name, placement=bed.piece(name).placement.moved(by))


def thrice_broken(name: str = "sorrel") -> Bed:
    """A slat sunk in its runners, a rail pushed into its runner, a tenon pulled up."""
    bed = moved(good(name), "slat_09", (0, 0, -4))
    bed = moved(bed, "side_rail_left", (3, 0, 0))
    return moved(bed, "footboard_board_tenon_1_right", (0, 0, 2))


def with_sheet(bed: Bed, section: str, **values: float | str) -> Bed:
    """The same bed, measured against another sheet; no range is checked."""
    sheet = altered(bed.layout.sheet, section, **values)
    return Bed(replace(bed.layout, sheet=sheet), bed.pieces, bed.solids)


def altered(sheet: Sheet, section: str, **values: float | str) -> Sheet:
    """A sheet with some values changed past all validation."""
    part = getattr(sheet, section).model_copy(update=values)
    return sheet.model_copy(update={section: part})


def with_mattress(bed: Bed, **larger: float) -> Bed:
    """The same bed for a mattress larger in some of its sizes."""
    mattress = bed.layout.mattress
    grown = replace(mattress, **{side: getattr(mattress, side) + by for side, by in larger.items()})
    return Bed(replace(bed.layout, mattress=grown), bed.pieces, bed.solids)


def with_length(shape: Shape, length: float) -> Shape:
    """A strip, or a rail with square ends, cut to another length."""
    _, _, _, depth = shape.outline.bounds()
    names = shape.outline.names
    outline = Outline.rectangle(length, depth, (names[0], names[1], names[2], names[3]))
    return replace(shape, length=length, outline=outline)


def with_cut(shape: Shape, name: str, **values: float | Frame) -> Shape:
    """A shape with one of its mortises changed."""
    assert sum(cut.name == name for cut in shape.cuts) == 1
    cuts = tuple(
        replace(cut, **values) if cut.name == name else cut  # type: ignore[arg-type]
        for cut in shape.cuts
    )
    return replace(shape, cuts=cuts)


def cut_of(shape: Shape, name: str) -> Mortise:
    return next(cut for cut in shape.cuts if cut.name == name)


def joint_of(bed: Bed, name: str) -> TenonJoint:
    return next(joint for joint in tenon_joints(bed.layout) if joint.name == name)


def block(size: Vector, corner: Vector = (0.0, 0.0, 0.0)) -> cq.Solid:
    return cq.Solid.makeBox(*size, pnt=cq.Vector(*corner))


def compound(solids: Sequence[cq.Shape]) -> cq.Compound:
    return cq.Compound.makeCompound(solids)


def open_box(solid: cq.Shape) -> cq.Shape:
    """A solid whose shell lacks its first face."""
    builder, shell, body = BRep_Builder(), TopoDS_Shell(), TopoDS_Solid()
    builder.MakeShell(shell)
    for face in list(solid.Faces())[1:]:
        builder.Add(shell, face.wrapped)
    builder.MakeSolid(body)
    builder.Add(body, shell)
    return cq.Solid(body)


def bed_of(*parts: tuple[cq.Shape, Frame]) -> Bed:
    """A bed of nothing but the given solids, named one, two and so on."""
    names = ("one", "two", "three")
    layout = hawthorn().layout
    outline = Outline.rectangle(1.0, 1.0, ("long", "end", "long", "end"))
    kinds = [Kind(name, Shape(1.0, 1.0, 1.0, outline), "white-oak") for name in names]
    pieces = tuple(
        Piece(kind.name, kind, "rails", frame)
        for kind, (_, frame) in zip(kinds, parts, strict=False)
    )
    return Bed(layout, pieces, {k.name: solid for k, (solid, _) in zip(kinds, parts, strict=False)})
