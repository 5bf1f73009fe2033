"""What every sheet of drawings has: border, title block, symbol of projection, paper.

Source: fields of the title block by ISO 7200; margins by ISO 5457 (20 mm to file the sheet,
10 mm elsewhere); the symbol of third-angle projection by ISO 5456-2. Fields that a person
fills in, owner, names and date, are left blank.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bedmodel.drawing.pens import LAYERS
from bedmodel.exports.paper.sheet import (
    Box,
    Circle,
    Mark,
    Paper,
    Path,
    Text,
    line,
    rectangle,
)
from bedmodel.exports.paper.type import fitted

FILING, MARGIN = 20.0, 10.0
TITLE_WIDTH, TITLE_HEIGHT = 180.0, 27.0
_ROW = TITLE_HEIGHT / 3
_COLUMNS = (0.0, 34.0, 112.0, 146.0, TITLE_WIDTH)
_SMALL = 5.5
_PAD = 1.2


@dataclass(frozen=True)
class Title:
    """What the title block says."""

    title: str
    design: str
    kind: str
    number: str
    sheet: str
    scale: str
    unit: str
    material: str = ""
    count: str = ""


def inner(paper: Paper) -> Box:
    """The area inside the border."""
    return Box(FILING, MARGIN, paper.width - MARGIN, paper.height - MARGIN)


def title_box(paper: Paper) -> Box:
    box = inner(paper)
    return Box(box.x1 - TITLE_WIDTH, box.y0, box.x1, box.y0 + TITLE_HEIGHT)


def frame_marks(paper: Paper, title: Title) -> Iterator[Mark]:
    """The border with its centring marks, and the title block."""
    box = inner(paper)
    pen = LAYERS["FRAME"][0]
    yield rectangle(box, pen, role="FRAME")
    middle = ((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2)
    for start, end in (
        ((middle[0], box.y1), (middle[0], paper.height - 5)),
        ((middle[0], box.y0), (middle[0], 5.0)),
        ((box.x0, middle[1]), (box.x0 - 5, middle[1])),
        ((box.x1, middle[1]), (paper.width - 5, middle[1])),
    ):
        yield line(start, end, pen, "FRAME")
    yield from _title_block(title_box(paper), title, paper)


def _title_block(box: Box, title: Title, paper: Paper) -> Iterator[Mark]:
    thin = LAYERS["TABLE"][0]
    yield rectangle(box, LAYERS["FRAME"][0], role="FRAME")
    xs = [box.x0 + x for x in _COLUMNS]
    rows = [box.y1 - i * _ROW for i in range(4)]
    for x in xs[1:-1]:
        yield line((x, box.y0), (x, box.y1), thin, "TABLE")
    for y in rows[1:-1]:
        yield line((xs[0], y), (xs[-1], y), thin, "TABLE")
    half = (xs[1] + xs[2]) / 2 + 8
    yield line((half, rows[2]), (half, rows[3]), thin, "TABLE")
    symbol = xs[3] + 19
    yield line((symbol, rows[2]), (symbol, rows[3]), thin, "TABLE")
    cells = (
        (xs[0], xs[1], 0, "Owner", "", 8.0, False),
        (xs[0], xs[1], 1, "Drawn, approved", "", 8.0, False),
        (xs[0], xs[1], 2, "Date of issue", "", 8.0, False),
        (xs[1], xs[2], 0, "Title", title.title, 12.0, True),
        (xs[1], xs[2], 1, "Design", title.design, 9.0, False),
        (xs[1], half, 2, "Material", title.material, 8.0, False),
        (half, xs[2], 2, "Number to make", title.count, 8.0, False),
        (xs[2], xs[3], 0, "Document type", title.kind, 8.0, False),
        (xs[2], xs[3], 1, "Document number", title.number, 8.0, False),
        (xs[2], xs[3], 2, "Dimensions in", title.unit, 8.0, False),
        (xs[3], xs[4], 0, "Scale", title.scale, 9.0, True),
        (xs[3], xs[4], 1, "Sheet", title.sheet, 8.0, False),
        (xs[3], symbol, 2, "Projection", "", 8.0, False),
        (symbol, xs[4], 2, "Size", paper.name, 8.0, False),
    )
    for x0, x1, row, label, value, size, bold in cells:
        yield Text(label, (x0 + _PAD, rows[row] - 2.8), _SMALL)
        if value:
            text, fit = fitted(value, x1 - x0 - 2 * _PAD, size, least=5.0, bold=bold)
            yield Text(text, (x0 + _PAD, rows[row + 1] + 1.7), fit, bold)
    yield from _third_angle((xs[3] + 4.0, rows[3] + 3.0))


def _third_angle(at: tuple[float, float]) -> Iterator[Mark]:
    """The cut cone as seen in third angle: its two circles on the left, its side on the right."""
    pen, chain = LAYERS["DIMENSION"][0], LAYERS["CENTRE"][0]
    x, y = at
    for diameter in (4.4, 2.2):
        yield Circle((x, y), diameter, pen, role="DIMENSION")
    side = ((x + 4.2, y - 1.1), (x + 10.2, y - 2.2), (x + 10.2, y + 2.2), (x + 4.2, y + 1.1))
    yield Path(side, pen, closed=True, role="DIMENSION")
    for start, end in (
        ((x - 3.0, y), (x + 3.0, y)),
        ((x, y - 2.8), (x, y + 2.8)),
        ((x + 3.4, y), (x + 11.2, y)),
    ):
        yield line(start, end, chain, "CENTRE")


def scale_text(scale: float) -> str:
    """A scale as drawings state it."""
    if scale >= 1 - 1e-9:
        return f"1:{scale:g}"
    return f"{1 / scale:g}:1"
