"""The nests as files: 1:1 DXF of every plank and sheet, one PDF, the record.

A plank's drawing is for tracing or for a machine with a pencil; a sheet's has each plate
with its openings and marks, to be cut as it stands.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from bedmodel.bed import Piece
from bedmodel.exports.cnc import drawing_bytes, words_on
from bedmodel.exports.plan_pages.nest import Plank, nest_pdf
from bedmodel.exports.plan_pages.nested import TRACED, leg_planks, plate_sheets
from bedmodel.exports.plan_pages.words import Setup, spoken
from bedmodel.exports.publish import write_bytes
from bedmodel.outline import Outline
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.leg_marks import joint_mark
from bedmodel.shop.sheet import BLANK, CUT, JOINT_FACE, NOTES, OPENING, PLANK, Label, Mark
from bedmodel.stock.nest.plan import LegNest, NestedPlank, NestPart, Placement
from bedmodel.stock.nest.sheets import NestedSheet, SheetNest

LETTERS = 12.0  # mm, of a leg's name on the plank
_LEG_LAYERS = (CUT, BLANK, JOINT_FACE, PLANK, NOTES)
Ring = tuple[str, Outline]


@dataclass(frozen=True)
class Nests:
    """The legs on planks and the plates on sheets, each where there are any."""

    legs: LegNest | None = None
    parts: tuple[NestPart, ...] = ()
    plates: SheetNest | None = None
    jigs: tuple[Jig, ...] = ()


def write_nests(nests: Nests, pieces: Sequence[Piece], setup: Setup, folder: Path) -> None:
    """Write ``nest.pdf`` and a DXF for each plank and sheet; nothing when nothing is nested."""
    pages: list[Plank] = []
    if nests.legs is not None and nests.legs.planks:
        pages += leg_planks(nests.legs, nests.parts, pieces, setup)
        for plank in nests.legs.planks:
            name = f"plank_{file_word(plank.board.name)}_mm.dxf"
            write_bytes(folder / name, plank_dxf(plank, nests.parts))
    if nests.plates is not None:
        pages += plate_sheets(nests.plates, nests.jigs, setup)
        for number, sheet in enumerate(nests.plates.sheets, start=1):
            data = sheet_dxf(sheet, nests.plates, nests.jigs)
            write_bytes(folder / f"sheet_{number}_mm.dxf", data)
    if pages:
        write_bytes(folder / "nest.pdf", nest_pdf(pages, setup, TRACED[setup.unit]))


def file_word(name: str) -> str:
    """A board's name as part of a file's: letters, digits, - and _ only."""
    return re.sub(r"[^A-Za-z0-9-]+", "_", name).strip("_") or "board"


# --- planks ------------------------------------------------------------------------------


def plank_dxf(plank: NestedPlank, parts: Sequence[NestPart]) -> bytes:
    """One plank at 1:1 (mm), its lower left corner at the origin."""
    outlines = {part.name: part.outline for part in parts}
    board = plank.board
    rings: list[Ring] = [(PLANK, _box(0.0, board.length, 0.0, board.width))]
    marks: list[Mark] = []
    words: list[Label] = []
    for x in (board.check_left, board.length - board.check_right):
        if 0 < x < board.length:
            marks.append(Mark(PLANK, (x, 0.0), (x, board.width)))
    rings += [(PLANK, _box(d.start, d.stop, d.low, d.high)) for d in board.defects]
    for placement, blank in zip(plank.placements, plank.blanks, strict=True):
        outline = outlines[placement.name]
        rings.append((CUT, placement.outline(outline)))
        rings.append((BLANK, _ring(blank)))
        edges = [edge for edge in outline.named("joint") if not edge.is_arc]
        marks += [_moved(joint_mark(edge), placement) for edge in edges]
        words.append(_leg_label(placement, outline))
    words.append(Label(f"{board.name}, grain along x, unit mm, 1:1", (0.0, -2 * LETTERS), LETTERS))
    return drawing_bytes(rings, marks, words, _LEG_LAYERS)


def _leg_label(placement: Placement, outline: Outline) -> Label:
    """The leg's name, upright, from the middle of its joint face inwards."""
    edge = max((e for e in outline.named("joint") if not e.is_arc), key=lambda e: e.chord)
    mark = joint_mark(edge)
    _, y0, _, y1 = placement.outline(outline).bounds()
    (ax, ay), (bx, by) = placement.place(mark.start), placement.place(mark.end)
    inward = 1.0 if (ay + by) / 2 < (y0 + y1) / 2 else -1.0
    middle = (ay + by) / 2 + inward * 2 * LETTERS
    left = min(ax, bx) + 2 * LETTERS
    return Label(spoken(placement.name), (left, middle - LETTERS / 2), LETTERS)


def _box(x0: float, x1: float, y0: float, y1: float) -> Outline:
    return _ring(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def _ring(points: Sequence[tuple[float, float]]) -> Outline:
    return Outline(tuple(points), (0.0,) * len(points), ("",) * len(points))


def _moved(mark: Mark, placement: Placement) -> Mark:
    return Mark(mark.layer, placement.place(mark.start), placement.place(mark.end), mark.label)


# --- sheets ------------------------------------------------------------------------------


def sheet_dxf(sheet: NestedSheet, nest: SheetNest, jigs: Sequence[Jig]) -> bytes:
    """One sheet at 1:1 (mm), every plate with its openings, marks and words."""
    by_name = {jig.name: jig for jig in jigs}
    rings: list[Ring] = [(PLANK, _box(0.0, nest.size.length, 0.0, nest.size.width))]
    marks: list[Mark] = []
    words: list[Label] = []
    layers = {PLANK, CUT, NOTES}
    for placement in sheet.placements:
        piece = by_name[placement.name].sheet
        rings.append((CUT, placement.outline(piece.outline)))
        rings += [(OPENING, placement.outline(opening)) for opening in piece.openings]
        labels, arrow = words_on(piece)
        marks += [_moved(mark, placement) for mark in (*piece.marks, *arrow)]
        words += _words(labels, placement)
        layers |= set(piece.layers)
    return drawing_bytes(rings, marks, words, sorted(layers))


def _words(labels: Sequence[Label], placement: Placement) -> Iterator[Label]:
    for label in labels:
        turn = label.turn_deg + placement.turn_deg
        yield Label(label.text, placement.place(label.at), label.height, turn)
