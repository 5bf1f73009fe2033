"""Chapters on joints: setting-out of each part, story sticks, setting cards of the jigs."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import CondPageBreak, KeepTogether, Spacer

from bedmodel.book.contents import Contents
from bedmodel.book.document import Story, heading, section
from bedmodel.book.lists import spoken
from bedmodel.book.style import (
    POINTS,
    column_width,
    grouped_table,
    paragraph,
    shares,
    table,
)
from bedmodel.shop.marks import Mark
from bedmodel.shop.pairs import in_pairs
from bedmodel.shop.setting_out import RULE, PartMarks

_ROOM = 45.0  # mm a part's heading wants under it


def setting_out(book: Contents) -> Story:
    """Each part's marks from its reference edges, in two columns; the sticks are among the jigs."""
    width = column_width(book.paper)
    story: Story = [*heading("Setting out"), paragraph(RULE, "lead")]
    idle = []
    for group in in_pairs(book.marks):
        part = group[0]
        if not part.rows:
            idle.append(part)
            continue
        rows = [(row.reference, [_cells(mark) for mark in row.marks]) for row in part.rows]
        story += [
            CondPageBreak(_ROOM * POINTS),
            paragraph(_pieces(group), "over"),
            grouped_table(("mark", "at", "true, mm"), rows, _widths(width), " rr"),
            Spacer(1, 3),
            *(paragraph(note, "item", "\u2022") for note in part.notes),
        ]
    if idle:
        story += section("Nothing to mark")
        story += [
            paragraph(f"{_pieces((part,))}: {part.reason or part.notes[0]}", "item", "\u2022")
            for part in idle
            if part.reason or part.notes
        ]
    return story


def _widths(width: float) -> list[float]:
    return [0.56 * width, 0.26 * width, 0.18 * width]


def _cells(mark: Mark) -> tuple[str, str, str]:
    return spoken(mark.label), mark.shown, f"{mark.true + 0.0:.2f}"


def _pieces(group: Sequence[PartMarks]) -> str:
    names = [spoken(part.kind) for part in group]
    count = sum(part.count for part in group)
    name = names[0].removesuffix(" left") if len(names) > 1 else names[0]
    hands = dict.fromkeys(hand for part in group for hand in part.hands)
    side = f", {' and '.join(hands)}" if hands else ""
    return f"{name}: {count}{side}"


def jigs(book: Contents) -> Story:
    """Every jig's setting card."""
    story: Story = [
        *heading("Jigs and their settings"),
        paragraph(
            "Each jig is a drawing of its own, to be cut on a machine or printed at full size. "
            "Make a trial cut in scrap with each setting.",
            "lead",
        ),
    ]
    for jig in book.jigs:
        card = jig.card
        rows = [(name, value) for name, value in card.rows]
        body = [
            *section(card.title),
            table(("sheet", jig.name), rows, shares(book.paper, 0.14, 0.86)),
            Spacer(1, 3),
            *(paragraph(text, "caution", "!") for text in card.cautions),
        ]
        story.append(KeepTogether(body))
    return story
