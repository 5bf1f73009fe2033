"""What of a bed is worth printing at full size: its legs, its boards and its jigs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.bed import Piece
from bedmodel.cuts import Mortise
from bedmodel.ends.boards import is_board
from bedmodel.errors import InputError
from bedmodel.exports.tiles.full_size import FullSize
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.legs import face_up
from bedmodel.shop.sheet import MORTISE_CENTRE, CncSheet, Mark
from bedmodel.skeleton import Layout

IN_PLANE = 1e-6


def drawings_of(layout: Layout, pieces: Sequence[Piece], part: str = "") -> tuple[FullSize, ...]:
    """Each kind of leg and of board in its outline, then every jig; by the start of the name.

    Raises InputError where none does, and where a cutter of the sheet cannot do its work.
    """
    every = [*_legs(layout, pieces), *_boards(layout, pieces)]
    every += map(of_sheet, (j.sheet for j in make_jigs(layout, pieces)))
    found = tuple(drawing for drawing in every if drawing.name.startswith(part))
    if not found:
        names = ", ".join(drawing.name for drawing in every)
        raise InputError("--part", part, f"must begin one of {names}")
    return found


def of_sheet(sheet: CncSheet) -> FullSize:
    """A flat piece as it is drawn for a machine, with the same words."""
    from bedmodel.exports.cnc import words_on

    labels, arrow = words_on(sheet)
    rings = (sheet.outline, *sheet.openings)
    return FullSize(sheet.name, sheet.title, rings, (*sheet.marks, *arrow), labels)


def _legs(layout: Layout, pieces: Sequence[Piece]) -> Iterator[FullSize]:
    from bedmodel.exports.template import leg_template

    seen = set()
    for piece in pieces:
        kind = piece.kind
        if kind.name in seen or not kind.name.startswith(("head_leg", "foot_leg")):
            continue
        seen.add(kind.name)
        count = sum(1 for other in pieces if other.kind is kind)
        words = kind.name.replace("_", " ")
        title = (layout.sheet.design.title, f"{words}, {count} off")
        template = leg_template(kind, title_lines=title, face_up=face_up(piece))
        yield FullSize(
            kind.name,
            f"{words[0].upper()}{words[1:]}, outline",
            (template.outline,),
            template.marks,
            template.labels,
        )


def _boards(layout: Layout, pieces: Sequence[Piece]) -> Iterator[FullSize]:
    """Each kind of board as its wide face is seen, its end mortises marked as deep as they are."""
    from bedmodel.exports.room import Room, line_points
    from bedmodel.exports.words import set_notes_and_arrow

    seen = set()
    for piece in pieces:
        kind, shape = piece.kind, piece.kind.shape
        if kind.name in seen or not is_board(kind.name) or shape.face != "xy":
            continue
        seen.add(kind.name)
        words = kind.name.replace("_", " ")
        count = sum(1 for other in pieces if other.kind is kind)
        size = " x ".join(layout.sheet.show(side) for side in shape.blank)
        notes = (layout.sheet.design.title, f"{words}, {count} off", size)
        marks = tuple(mark for cut in shape.tenon_cuts for mark in _mortise_marks(cut))
        room = Room.inside(shape.outline)
        if marks:
            room = room.without(line_points([(mark.start, mark.end) for mark in marks]))
        labels, arrow = set_notes_and_arrow(notes, room)
        title = f"{words[0].upper()}{words[1:]}, outline"
        yield FullSize(kind.name, title, (shape.outline,), (*marks, *arrow), tuple(labels))


def _mortise_marks(cut: Mortise) -> Iterator[Mark]:
    """The middle and both ends of a slot in an edge, into the wood; none for one in a face."""
    frame = cut.frame
    if abs(frame.z[2]) > IN_PLANE or abs(frame.x[2]) > IN_PLANE:
        return
    for along in (-cut.length / 2, 0.0, cut.length / 2):
        start, end = (frame.point((along, 0.0, deep)) for deep in (0.0, cut.depth))
        yield Mark(MORTISE_CENTRE, start[:2], end[:2])
