"""The sheets of a drawing at full size: a key, and a sheet each for its tiles; or one large sheet.

On every tile, seen from the front:

    solid line     along the left and the bottom window edge that has a neighbour: cut here
    dashed line    where that neighbour's cut edge comes to lie: the strip beyond it is for glue
    crosses        in the shared band, at the same place of the drawing on both sheets
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.errors import InputError
from bedmodel.exports.paper.sheet import (
    Box,
    Clipped,
    Mark,
    Paper,
    Path,
    Pen,
    Point,
    Sheet,
    Text,
    line,
    rectangle,
)
from bedmodel.exports.paper.type import fitted, wrapped
from bedmodel.exports.tiles.check_squares import (
    BAR,
    SQUARES_HEIGHT,
    SQUARES_WIDTH,
    bar,
    squares,
)
from bedmodel.exports.tiles.full_size import FullSize
from bedmodel.exports.tiles.grid import ARM, CLEAR, OVERLAP, Cell, Grid, cell_name, divided
from bedmodel.exports.tiles.papers import DESK, LARGE, MARGIN, is_roll

_THIN, _CUT = Pen(0.13, "#606060"), Pen(0.18)
_GLUE = Pen(0.18, "#606060", (3.0, 1.5))
_PALE = Pen(0.13, "#a0a0a0")
_FOOT = SQUARES_HEIGHT + 8.0  # mm under the drawing on one large sheet

HOW = (
    "Print at 100 %, without fitting to the page. Measure both squares on this sheet before "
    "anything is cut: 50 mm and 2 in, to a quarter of a millimetre (1/64 in).",
    "Cut each sheet along its solid lines, lay its cut edge on its neighbour's dashed line until "
    "the crosses meet, and glue or tape it there. Row by row, then the rows.",
    "Measure the joined drawing from end to end before use. The middle of a printed line is the "
    "edge; paper swells when it is damp.",
)


def full_size_sheets(drawing: FullSize, paper: Paper) -> list[Sheet]:
    """The drawing on one sheet where the paper is large enough, else tiled, with a key first.

    Raises InputError for a large paper that is too small: only desk papers are tiled.
    """
    if (page := fitting(drawing, paper)) is not None:
        return [_single(drawing, page)]
    if paper not in DESK:
        raise InputError(
            "--paper",
            paper.name,
            f"too small for {drawing.name}, which fits {_list(papers_that_fit(drawing))}",
            f"take one of those, or {_list([p.name for p in DESK])} to tile it",
        )
    grid = divided(drawing, paper)
    return [_key(grid), *(_tile(grid, cell) for cell in grid.cells)]


def papers_that_fit(drawing: FullSize) -> list[str]:
    """The papers that take the drawing on one sheet, with its squares."""
    return [paper.name for paper in (*DESK, *LARGE) if fitting(drawing, paper) is not None]


def fitting(drawing: FullSize, paper: Paper) -> Paper | None:
    """The paper as it must lie to take the drawing on one sheet; a roll cut to length."""
    box = drawing.box
    width, height = _page_size(drawing)
    for way in (paper, paper.turned):
        if width <= way.width + 1e-9 and height <= way.height + 1e-9:
            if not is_roll(paper):
                return way
            return (
                Paper(paper.name, way.width, height)
                if way is paper
                else Paper(paper.name, max(width, box.width), way.height)
            )
    return None


def _page_size(drawing: FullSize) -> Point:
    box = drawing.box
    width = max(box.width + 2 * CLEAR, SQUARES_WIDTH + 70.0)
    return width + 2 * MARGIN, box.height + 2 * CLEAR + _FOOT + 2 * MARGIN


def _list(names: Sequence[str]) -> str:
    return ", ".join(names) if names else "no paper here"


# One sheet


def _single(drawing: FullSize, paper: Paper) -> Sheet:
    box = drawing.box
    shift = (
        (paper.width - box.width) / 2 - box.x0,
        MARGIN + _FOOT + CLEAR - box.y0,
    )
    marks: list[Mark] = [*_moved(drawing, shift)]
    marks += squares(MARGIN, MARGIN)
    left = MARGIN + SQUARES_WIDTH + 8.0
    width = paper.width - MARGIN - left
    marks += _words(drawing, left, MARGIN + SQUARES_HEIGHT, width, (HOW[0], HOW[2]))
    return Sheet(paper, f"{drawing.title}, full size", tuple(marks))


def _words(
    drawing: FullSize, left: float, top: float, width: float, paragraphs: Sequence[str]
) -> Iterator[Text]:
    title, size = fitted(drawing.title, width, 16.0, 8.0, bold=True)
    yield Text(title, (left, top - 5.0), size, True)
    name, size = fitted(f"{drawing.name}, full size, 1:1", width, 9.0, 6.0)
    yield Text(name, (left, top - 10.0), size)
    y = top - 16.0
    for paragraph in paragraphs:
        for words in wrapped(paragraph, min(width, 180.0), 8.0):
            yield Text(words, (left, y), 8.0)
            y -= 3.8
        y -= 1.6


def _moved(drawing: FullSize, shift: Point) -> Iterator[Path | Text]:
    dx, dy = shift
    for path in drawing.lines:
        points = tuple((x + dx, y + dy) for x, y in path.points)
        yield Path(points, path.pen, path.fill, path.closed, path.role)
    for text in drawing.words:
        yield Text(
            text.text,
            (text.at[0] + dx, text.at[1] + dy),
            text.size,
            turn_deg=text.turn_deg,
            role=text.role,
        )


# Tiles


def _tile(grid: Grid, cell: Cell) -> Sheet:
    live, window = grid.live, grid.window(cell)
    shift = (live.x0 - window.x0, live.y0 - window.y0)
    shown = [m for m in _moved(grid.drawing, shift) if _box(m).meets(live)]
    marks: list[Mark] = [Clipped(live, tuple(shown), role="drawing")]
    marks += _seams(grid, cell)
    marks += _names_beside(grid, cell)
    marks += _strip(grid, cell)
    name = cell_name(cell)
    return Sheet(grid.paper, f"{grid.drawing.title}, sheet {name}", tuple(marks))


def _box(mark: Path | Text) -> Box:
    if isinstance(mark, Text):
        return mark.box
    xs, ys = zip(*mark.points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def _seams(grid: Grid, cell: Cell) -> Iterator[Mark]:
    live, window = grid.live, grid.window(cell)
    for across, up in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        other = grid.neighbour(cell, across, up)
        if other is None:
            continue
        is_cut = across + up < 0
        pen = _CUT if is_cut else _GLUE
        if across:
            x = live.x0 if is_cut else live.x1 - OVERLAP
            yield line((x, live.y0), (x, live.y1), pen, role="seam")
        else:
            y = live.y0 if is_cut else live.y1 - OVERLAP
            yield line((live.x0, y), (live.x1, y), pen, role="seam")
        for x, y in grid.crosses(cell, other):
            yield from _cross((x - window.x0 + live.x0, y - window.y0 + live.y0))


def _cross(at: Point) -> Iterator[Path]:
    x, y = at
    yield line((x - ARM, y), (x + ARM, y), _THIN, role="cross")
    yield line((x, y - ARM), (x, y + ARM), _THIN, role="cross")


def _names_beside(grid: Grid, cell: Cell) -> Iterator[Text]:
    """The names of the neighbours, in the margins that they come to lie against."""
    live, paper = grid.live, grid.paper
    middle = (live.x0 + live.width / 2, live.y0 + live.height / 2)
    if other := grid.neighbour(cell, -1, 0):
        yield Text(f"to {cell_name(other)}", (live.x0 - 3.0, middle[1]), 8.0, False, "middle", 90.0)
    if other := grid.neighbour(cell, 1, 0):
        yield Text(f"to {cell_name(other)}", (live.x1 + 5.0, middle[1]), 8.0, False, "middle", 90.0)
    if other := grid.neighbour(cell, 0, 1):
        yield Text(f"to {cell_name(other)}", (middle[0], paper.height - 7.0), 8.0, anchor="middle")


def _strip(grid: Grid, cell: Cell) -> Iterator[Mark]:
    left, right = grid.live.x0, grid.live.x1
    y = MARGIN + 1.0
    yield Text(cell_name(cell), (left, y), 16.0, True)
    below = grid.neighbour(cell, 0, -1)
    where = f", {cell_name(below)} below" if below else ""
    words, size = fitted(f"{grid.drawing.title}{where}", right - left - 20.0 - BAR - 22.0, 8.0, 5.0)
    yield Text(words, (left + 18.0, y), size)
    yield from bar(right - BAR - 14.0, y)


def _key(grid: Grid) -> Sheet:
    """The first sheet: what it is, the squares, how to join, and which sheet lies where."""
    paper = grid.paper.turned if grid.paper.width > grid.paper.height else grid.paper
    left, top, right = MARGIN + 4.0, paper.height - MARGIN, paper.width - MARGIN - 4.0
    one = papers_that_fit(grid.drawing)
    count = f"{len(grid.cells)} sheets of {paper.name} besides this one."
    whole = (
        f"On one sheet it fits {_list(one)}."
        if one
        else "It fits no paper here on one sheet, nor a 36 in roll."
    )
    marks: list[Mark] = [
        *_words(grid.drawing, left, top, right - left, (f"{count} {whole}", *HOW)),
        *squares(left, MARGIN + 4.0),
    ]
    low = MARGIN + 4.0 + SQUARES_HEIGHT + 8.0
    marks += _map(grid, Box(left, low, right, top - 66.0))
    return Sheet(paper, f"{grid.drawing.title}, key", tuple(marks))


def _map(grid: Grid, place: Box) -> Iterator[Mark]:
    """The drawing small, with the sheets round it; the shared bands show as double lines."""
    first, last = grid.window((0, 0)), grid.window((grid.columns - 1, grid.rows - 1))
    whole = Box(first.x0, first.y0, last.x1, last.y1)
    scale = min(place.width / whole.width, place.height / whole.height)
    x0 = place.x0 + (place.width - scale * whole.width) / 2
    y0 = place.y1 - scale * whole.height

    def point(at: Point) -> Point:
        return x0 + (at[0] - whole.x0) * scale, y0 + (at[1] - whole.y0) * scale

    for path in grid.drawing.lines:
        if path.role == "cut":
            yield Path(tuple(map(point, path.points)), Pen(0.35), closed=True, role="key")
    for cell in grid.cells:
        window = grid.window(cell)
        yield rectangle(Box(*point((window.x0, window.y0)), *point((window.x1, window.y1))), _PALE)
        name = cell_name(cell)
        size = max(6.0, min(16.0, scale * window.height))
        at = point((window.x0 + window.width / 2, window.y0 + window.height / 2))
        yield Text(name, at, size, True, "middle", colour="#606060")
