"""Set words inside an outline, clear of every line, as large as the room allows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bedmodel.exports.room import CLEAR, Box, Room
from bedmodel.outline import Edge
from bedmodel.shop.leg_marks import edge_axes, from_edge
from bedmodel.shop.sheet import GRAIN, Label, Mark

HEIGHTS = (8.0, 7.0, 6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0)  # mm, of text
SMALL = (4.0, 3.0, 2.0)  # mm, of labels beside a mark
_LEADING = 1.6  # line pitch over text height
_ARROWS = (200.0, 150.0, 100.0, 60.0, 30.0)  # mm


def plain(text: str) -> str:
    """The text on one line: a line break inside would end the DXF record."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def text_width(text: str, height: float) -> float:
    """Room for a line of text (mm)."""
    # Each reader has its own font; one height a letter is wider than the usual ones.
    return len(text) * height


def set_notes(notes: Sequence[str], room: Room) -> list[Label]:
    """Set the notes under one another in one place; failing that, those that fit."""
    for height in HEIGHTS:
        if block := _block(notes, height, room):
            return block[0]
    return _one_by_one(notes, room)


def set_notes_and_arrow(notes: Sequence[str], room: Room) -> tuple[list[Label], list[Mark]]:
    """Set the notes as large as leaves room for the grain arrow; failing that, what fits."""
    for height in HEIGHTS:
        if block := _block(notes, height, room):
            arrow, word, _ = _grain_arrow(block[1])
            if arrow:
                return block[0] + word, arrow
    arrow, labels, room = _grain_arrow(room)
    return labels + _one_by_one(notes, room), arrow


def _one_by_one(notes: Sequence[str], room: Room) -> list[Label]:
    labels: list[Label] = []
    for note in notes:
        blocks = (_block([note], height, room) for height in HEIGHTS)
        if block := next(filter(None, blocks), None):
            labels, room = labels + block[0], block[1]
    return labels


def _block(notes: Sequence[str], height: float, room: Room) -> tuple[list[Label], Room] | None:
    """Set lines of text one under another in a free place, if there is one."""
    width = max(text_width(note, height) for note in notes)
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


def edge_spots(edge: Edge, into: float) -> Iterator[tuple[float, float]]:
    """Places along an edge to try for a label, from its middle outwards."""
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
        yield share * edge.chord, into


def small_label(
    text: str,
    edge: Edge,
    spots: Iterator[tuple[float, float]],
    room: Room,
    heights: Sequence[float] = SMALL,
) -> tuple[list[Label], Room]:
    """Set a label along an edge, centred on the first spot (along, into) that is free."""
    t, _ = edge_axes(edge)
    turn = math.degrees(math.atan2(t[1], t[0]))
    upright = -90 < turn <= 90
    turn = turn if upright else turn - math.copysign(180.0, turn)
    text = plain(text)
    places = list(spots)
    for height in heights:
        half = text_width(text, height) / 2
        for along, into in places:
            corner = (along - half, into) if upright else (along + half, into + height)
            box = Box(from_edge(edge, *corner), 2 * half, height, turn)
            if room.holds(box):
                return [Label(text, box.at, height, turn)], room.without_box(box)
    return [], room
