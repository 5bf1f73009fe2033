"""What of a bed is worth printing at full size: its legs and its jigs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.bed import Piece
from bedmodel.errors import InputError
from bedmodel.exports.tiles.full_size import FullSize
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.legs import face_up
from bedmodel.shop.sheet import CncSheet
from bedmodel.skeleton import Layout


def drawings_of(layout: Layout, pieces: Sequence[Piece], part: str = "") -> tuple[FullSize, ...]:
    """Each kind of leg in its own outline, then every jig; those whose name starts with ``part``.

    Raises InputError where none does, and where a cutter of the sheet cannot do its work.
    """
    every = [*_legs(layout, pieces), *map(of_sheet, (j.sheet for j in make_jigs(layout, pieces)))]
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
