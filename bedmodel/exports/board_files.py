"""The board plan as files: a PDF with a page a board, an SVG a board, the labels, the record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from bedmodel.bed import Piece
from bedmodel.exports.json_text import json_bytes
from bedmodel.exports.nest_files import file_word
from bedmodel.exports.paper.sheet import usual_paper
from bedmodel.exports.plan_pages.labels import labels_pdf, part_labels
from bedmodel.exports.plan_pages.pages import board_pages_pdf, board_svg
from bedmodel.exports.plan_pages.words import Setup, spoken
from bedmodel.exports.publish import write_bytes
from bedmodel.shop.setting_out import setting_out
from bedmodel.skeleton import Layout
from bedmodel.spec import Sheet
from bedmodel.stock.cut_list import CutList
from bedmodel.stock.plan_record import rack_record
from bedmodel.stock.sawing import RackPlan


def setup_of(sheet: Sheet) -> Setup:
    """The bed's title, its unit, and the paper that goes with it."""
    unit = sheet.design.unit
    return Setup(sheet.design.title, unit, usual_paper(unit))


def write_labels(
    layout: Layout,
    pieces: Sequence[Piece],
    cuts: CutList,
    found: RackPlan | None,
    folder: Path,
) -> None:
    """``labels.pdf``: a label for every part, with its boards where a rack is planned."""
    setup = setup_of(layout.sheet)
    labels = part_labels(
        pieces,
        cuts,
        None if found is None else found.plan,
        setting_out(layout, pieces),
        setup,
        None if found is None else found.legs,
    )
    write_bytes(folder / "labels.pdf", labels_pdf(labels, setup))


def write_boards(layout: Layout, found: RackPlan, folder: Path) -> None:
    """``boards.json``, ``boards.pdf`` and an SVG for each board that is cut."""
    setup = replace(setup_of(layout.sheet), notes=tuple(plan_notes(found)))
    write_bytes(folder / "boards.json", json_bytes(rack_record(found)))
    write_bytes(folder / "boards.pdf", board_pages_pdf(found.plan, setup))
    for group in found.plan.classes:
        for cut in group.boards:
            name = cut.board.name
            data = board_svg(found.plan, name, setup)
            write_bytes(folder / "boards" / f"{file_word(name)}.svg", data)


def plan_notes(found: RackPlan) -> list[str]:
    """What the overview says of legs, and of boards that are sawn up first."""
    notes = []
    if found.legs is not None:
        planks = ", ".join(plank.board.name for plank in found.legs.planks)
        if planks:
            notes.append(
                f"The legs are nested on {planks}, {found.legs.board_feet_used:.1f} board feet: "
                "see the nest's own pages. What it leaves is planned here."
            )
        without = ", ".join(spoken(each.name) for each in found.legs.unplaced)
        if without:
            notes.append(f"LEGS ARE MISSING, no plank for: {without}.")
    ripped: dict[str, list[str]] = {}
    for group in found.plan.classes:
        for cut in group.boards:
            if cut.board.of and found.is_ripped(cut.board):
                ripped.setdefault(cut.board.of, []).append(cut.board.name)
    notes += [
        f"Board {board} is too wide for the saws: rip it into equal widths before anything else; "
        f"{' and '.join(parts)} {'is' if len(parts) == 1 else 'are'} used here."
        for board, parts in ripped.items()
    ]
    return notes
