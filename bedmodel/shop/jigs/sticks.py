"""Story sticks to cut by the machine: every mark of a row as a line, numbered for the card.

+-----------------------------------------------+
|          |3                                   |   numbers, each beside the end of its
|     |2   |         |4                         |   line; close ones in steps
| |1  |    |         |                          |
| |   |    |    .    |                          |   lines: whole at an edge, half as
| |   .    |    .    |                          |   long at a centre
+-----------------------------------------------+
datum end, held flush with the part's own
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.outline import Outline
from bedmodel.shop.cards import Card
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.marks import CENTRE, Mark
from bedmodel.shop.sheet import NOTES, STATION, CncSheet, Label
from bedmodel.shop.sheet import Mark as Line
from bedmodel.shop.story_stick import Stick, story_sticks
from bedmodel.skeleton import Layout

LINE = 30.0  # mm, of a mark that is not a centre
LETTER = 3.0
_STEP = 5.0  # from one row of numbers to the next
_BESIDE = 1.0  # mm from a line to its number
_APART = 1.5
_FLAG = 3.0  # mm from the longest line's end to the first row of numbers
_EDGE = 4.0
_WORDS = 28.0  # mm above the numbers, for the notes
CAUTION = (
    "hold the stick flush with the datum end that is named, and never turn it end for end; strike "
    "the marks with a knife, and number them from the card"
)


def stick_jigs(layout: Layout) -> Iterator[Jig]:
    """A stick for each row of like joints."""
    for stick in story_sticks(layout):
        yield stick_jig(layout, stick)


def stick_jig(layout: Layout, stick: Stick) -> Jig:
    """One stick, its marks at their true places; one that lies off the part has no line."""
    marks = [mark for mark in stick.marks if 0 <= mark.true <= stick.length]
    rows = _rows_of_numbers([mark.true for mark in marks])
    wide = LINE + _FLAG + (max(rows, default=0) + 1) * _STEP + _WORDS
    # A number at the far end must not fall off the stick.
    reach = max((_number_end(i, mark.true) for i, mark in enumerate(marks)), default=0.0)
    length = max(stick.length, reach + _EDGE)
    outline = Outline.rectangle(length, wide, ("edge", "far end", "edge", "datum"))
    parts = " and ".join(part.replace("_", " ") for part in stick.parts)
    title = f"Story stick for {parts}"
    notes = (
        f"story stick, {parts}",
        f"<- datum: {stick.datum}",
        "marks by number: see the card",
        "unit: millimetres, scale 1:1",
    )
    lines: list[Line] = []
    labels: list[Label] = []
    for number, (mark, row) in enumerate(zip(marks, rows, strict=True), start=1):
        lines += _lines(mark, row)
        at = (mark.true + _BESIDE, LINE + _FLAG + row * _STEP)
        labels.append(Label(str(number), at, LETTER))
    facts = tuple((f"mark {i}", f"{m.true:.3f} mm, {m.label}") for i, m in enumerate(marks, 1))
    name = f"stick_{stick.name}"
    sheet = CncSheet(name, title, outline, (), tuple(lines), notes, facts, words=tuple(labels))
    return Jig(sheet, _card(layout, stick, marks, name, title))


def _rows_of_numbers(stations: Sequence[float]) -> list[int]:
    """A row for each number, so that none lies on another or on a line that goes past it.

    Numbers stand to the right of their lines: each takes the lowest row above those of
    the lines it would reach.
    """
    rows = [0] * len(stations)
    for i in range(len(stations) - 1, -1, -1):
        reach = _number_end(i, stations[i]) + _APART
        met = [rows[j] for j in range(i + 1, len(stations)) if stations[j] < reach]
        rows[i] = 1 + max(met, default=-1)
    return rows


def _number_end(i: int, station: float) -> float:
    """Where the number of the mark with index ``i`` ends, along the stick."""
    return station + _BESIDE + len(str(i + 1)) * LETTER


def _lines(mark: Mark, row: int) -> Iterator[Line]:
    """The mark's own line, and a thin one on to its number that is not cut."""
    long = LINE / 2 if mark.what == CENTRE else LINE
    yield Line(STATION, (mark.true, 0.0), (mark.true, long))
    top = LINE + _FLAG + row * _STEP + LETTER
    yield Line(NOTES, (mark.true, long), (mark.true, top))


def _card(layout: Layout, stick: Stick, marks: Sequence[Mark], name: str, title: str) -> Card:
    show = layout.sheet.show
    rows = (
        ("for", ", ".join(part.replace("_", " ") for part in stick.parts)),
        ("make", f"a straight strip {show(stick.length)} long or more, by the machine or by hand"),
        ("datum", f"{stick.datum}: hold the stick's datum end flush with it"),
        _sides(stick),
        *(
            (str(i), f"{mark.shown} (true {mark.true + 0.0:.3f} mm)  {mark.label}")
            for i, mark in enumerate(marks, start=1)
        ),
    )
    return Card(name, title, rows, (CAUTION,))


def _sides(stick: Stick) -> tuple[str, str]:
    """What to mind of left and right, or of the two ends of a board."""
    if stick.sides:
        return "both rails", stick.sides
    if any("board" in part for part in stick.parts):
        return "both ends", "strike both ends of the board from the same lower edge"
    if stick.parts == ("centre_rail",):
        return "direction", "mark which end is the head end before anything else"
    return (
        "left, right",
        "one stick serves both hands: lay the two parts side by side as the notes of the marks "
        "say, and strike both at once",
    )
