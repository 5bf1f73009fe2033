"""A sheet of paper as data: lines, circles and words in millimetres.

The origin is the paper's lower left corner, x to the right, y up. Text sizes are in
points, as printers count them; everything else is in mm.

role    what a mark stands for ("part", "kerf"); the SVG carries it as a class, so that a
        drawing can be read back
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from bedmodel.errors import InputError
from bedmodel.exports.paper.type import ASCENT, DESCENT, MM_PER_POINT, text_width
from bedmodel.units import LengthUnit

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
BLACK = "#000000"
_SHARES = {"start": 0.0, "middle": 0.5, "end": 1.0}


@dataclass(frozen=True)
class Paper:
    """A size of paper (mm)."""

    name: str
    width: float
    height: float

    @property
    def turned(self) -> Paper:
        return Paper(self.name, self.height, self.width)


# Source: ISO 216 (A4); ANSI/ASME Y14.1 size A (Letter, 8 1/2 x 11 in).
A4 = Paper("A4", 210.0, 297.0)
LETTER = Paper("Letter", 215.9, 279.4)
PAPERS = {paper.name.lower(): paper for paper in (A4, LETTER)}


def usual_paper(unit: LengthUnit) -> Paper:
    """The paper that a sheet in this unit is printed on, upright."""
    return LETTER if unit == "inch" else A4


def paper_named(name: str) -> Paper:
    """An upright paper by its name in any case. Raises InputError when there is none."""
    try:
        return PAPERS[name.strip().lower()]
    except KeyError:
        names = ", ".join(paper.name for paper in PAPERS.values())
        raise InputError("paper", name, f"must be one of {names}") from None


@dataclass(frozen=True)
class Box:
    """A rectangle square to the paper: lower left and upper right corner."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        return self.y1 - self.y0

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        return (self.x0, self.y0), (self.x1, self.y0), (self.x1, self.y1), (self.x0, self.y1)

    def meets(self, other: Box, clear: float = 0.0) -> bool:
        """True when the two are less than ``clear`` apart."""
        return (
            self.x0 < other.x1 + clear
            and other.x0 < self.x1 + clear
            and self.y0 < other.y1 + clear
            and other.y0 < self.y1 + clear
        )

    def holds(self, other: Box, slack: float = 1e-6) -> bool:
        return (
            other.x0 >= self.x0 - slack
            and other.y0 >= self.y0 - slack
            and other.x1 <= self.x1 + slack
            and other.y1 <= self.y1 + slack
        )


@dataclass(frozen=True)
class Pen:
    """A line's width, its colour as a hex code, its dashes and gaps in turn (mm)."""

    width: float = 0.25
    colour: str = BLACK
    dash: tuple[float, ...] = ()


@dataclass(frozen=True)
class Path:
    """A line through points, or the area within them when it is closed."""

    points: tuple[Point, ...]
    pen: Pen | None = Pen()
    fill: str = ""
    closed: bool = False
    role: str = ""


@dataclass(frozen=True)
class Circle:
    """A circle round its centre."""

    centre: Point
    diameter: float
    pen: Pen | None = Pen()
    fill: str = ""
    role: str = ""


@dataclass(frozen=True)
class Text:
    """One line of text; ``at`` lies on its base line, ``turn_deg`` turns it anticlockwise."""

    text: str
    at: Point
    size: float = 10.0
    bold: bool = False
    anchor: Anchor = "start"
    turn_deg: float = 0.0
    colour: str = BLACK
    role: str = ""

    @property
    def width(self) -> float:
        return text_width(self.text, self.size, self.bold)

    @property
    def box(self) -> Box:
        """What the text covers, from the feet of its letters to their heads."""
        left = -_SHARES[self.anchor] * self.width
        size = self.size * MM_PER_POINT
        c, s = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        ends = [
            (self.at[0] + x * c - y * s, self.at[1] + x * s + y * c)
            for x in (left, left + self.width)
            for y in (-DESCENT * size, ASCENT * size)
        ]
        return Box(
            min(x for x, _ in ends),
            min(y for _, y in ends),
            max(x for x, _ in ends),
            max(y for _, y in ends),
        )


@dataclass(frozen=True)
class Clipped:
    """Marks of which only what lies in a box is drawn; ``box`` square to the paper."""

    box: Box
    marks: tuple[Path | Circle | Text, ...]
    role: str = ""


Mark = Path | Circle | Text | Clipped


@dataclass(frozen=True)
class Sheet:
    """One sheet, its marks in the order in which they are drawn."""

    paper: Paper
    title: str
    marks: tuple[Mark, ...]


def line(start: Point, end: Point, pen: Pen = Pen(), role: str = "") -> Path:
    return Path((start, end), pen, role=role)


def rectangle(box: Box, pen: Pen | None = Pen(), fill: str = "", role: str = "") -> Path:
    return Path(box.corners, pen, fill, True, role)


def hatch(
    corners: Sequence[Point], spacing: float, angle_deg: float, pen: Pen, role: str = ""
) -> Iterator[Path]:
    """Parallel lines across a polygon, on one grid for the whole sheet.

    Two polygons that touch are hatched without a step.
    """
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turned = [(x * c + y * s, y * c - x * s) for x, y in corners]
    low, high = min(y for _, y in turned), max(y for _, y in turned)
    for k in range(math.ceil(low / spacing), math.floor(high / spacing) + 1):
        y = k * spacing
        cuts = sorted(
            x0 + (x1 - x0) * (y - y0) / (y1 - y0)
            for (x0, y0), (x1, y1) in zip(turned, turned[1:] + turned[:1], strict=True)
            if (y0 <= y) != (y1 <= y)
        )
        for x0, x1 in zip(cuts[::2], cuts[1::2], strict=True):
            ends = [(x * c - y * s, x * s + y * c) for x in (x0, x1)]
            yield line(ends[0], ends[1], pen, role)
