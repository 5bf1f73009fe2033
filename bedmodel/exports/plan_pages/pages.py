"""The board plan as pages: an overview, then each board with its cuts and its parts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.errors import InputError
from bedmodel.exports.paper.pdf import pdf_bytes
from bedmodel.exports.paper.sheet import Box, Mark, Paper, Pen, Sheet, Text, hatch, rectangle
from bedmodel.exports.paper.svg import svg_bytes
from bedmodel.exports.paper.table import Column, Style, set_table
from bedmodel.exports.paper.type import text_width
from bedmodel.exports.plan_pages.board import (
    CROSS_HATCH,
    HATCH,
    KEEP,
    KEPT,
    PART,
    WASTE,
    draw_board,
)
from bedmodel.exports.plan_pages.frame import body, heading, page_of, strip
from bedmodel.exports.plan_pages.overview import overview_sheets
from bedmodel.exports.plan_pages.words import (
    Copies,
    Lengths,
    Setup,
    board_words,
    board_yield,
    copies_of,
    counted,
    cut_words,
    keeps_of,
    lengths_of,
    origin_words,
    parts_of,
    per_cent,
)
from bedmodel.stock.plan import ClassPlan, CutBoard, Plan

# A sheet is finished once it is known how many there are.
Numbered = Callable[[tuple[int, int]], Sheet]

# From the largest type down to the smallest; pages with few rows get the large one.
_STYLES = tuple(Style(size, 9.0, 0.53 * size) for size in (14.0, 13.0, 12.0, 11.0))
_STYLE = _STYLES[-1]
_LEGEND = 6.5
_LEAST_DRAWING, _WANTED_DRAWING, _MOST_DRAWING = 56.0, 80.0, 104.0
_GAP = 8.0
_FEW_ROWS = 3
_CUT_SHARE = 0.53
_CUT_COLUMNS = (
    ("cut", 0.07, True),
    ("", 0.20, False),
    ("set to", 0.36, True),
    ("out of", 0.19, False),
    ("frees", 0.18, True),
)
_PART_COLUMNS = (
    ("", 0.09, True),
    ("piece", 0.53, False),
    ("rough size", 0.38, False),
)


def board_pages_pdf(plan: Plan, setup: Setup) -> bytes:
    """The whole plan as one PDF, see ``plan_sheets``."""
    return pdf_bytes(plan_sheets(plan, setup), f"{setup.bed}: board plan")


def plan_sheets(plan: Plan, setup: Setup) -> list[Sheet]:
    """The overview, then a page a board in the plan's order.

    A board with more cuts than its page has room for takes a second one.
    """
    pages: list[Numbered] = list(overview_sheets(plan, setup))
    for group in plan.classes:
        for cut in group.boards:
            pages += board_sheets(plan, group, cut, setup)
    return [page((number, len(pages))) for number, page in enumerate(pages, start=1)]


def board_svg(plan: Plan, board: str, setup: Setup) -> bytes:
    """The page of one board as SVG, as tall as its lists need.

    Raises InputError when the plan does not cut a board of that name.
    """
    for group in plan.classes:
        for cut in group.boards:
            if cut.board.name == board:
                return svg_bytes(_one_sheet(plan, group, cut, setup))
    names = ", ".join(cut.board.name for group in plan.classes for cut in group.boards)
    raise InputError("board", board, f"must be one that is cut: {names or 'there is none'}")


def _one_sheet(plan: Plan, group: ClassPlan, cut: CutBoard, setup: Setup) -> Sheet:
    matter = _matter(plan, group, cut, setup)
    paper = page_of(setup)
    lacking = _STYLE.height_of(matter.rows_count) + _LEAST_DRAWING + _LEGEND
    lacking -= body(paper).height
    if lacking > 0:
        paper = replace(paper, height=paper.height + lacking)
    return next(_sheets(matter, paper))((1, 1))


def board_sheets(plan: Plan, group: ClassPlan, cut: CutBoard, setup: Setup) -> Iterator[Numbered]:
    """The pages of one board: one, or more when its lists are long."""
    yield from _sheets(_matter(plan, group, cut, setup), page_of(setup))


# --- one board ---------------------------------------------------------------------------


@dataclass(frozen=True)
class _Matter:
    """What is said of one board."""

    plan: Plan
    group: ClassPlan
    cut: CutBoard
    setup: Setup
    lengths: Lengths
    copies: Copies
    cuts: Sequence[Sequence[str]]
    parts: Sequence[Sequence[str]]

    @property
    def rows_count(self) -> int:
        return max(len(self.cuts), len(self.parts))


def _matter(plan: Plan, group: ClassPlan, cut: CutBoard, setup: Setup) -> _Matter:
    lengths, copies = lengths_of(plan, setup), copies_of(plan)
    named = parts_of(cut, copies)
    cuts = [
        (w.number, w.kind, w.setting, w.out_of, w.frees)
        for w in cut_words(cut, named, plan.kerf, lengths)
    ]
    parts = [
        (p.letter, p.title, lengths.size(p.place.length, p.place.width))
        for p in (*named, *keeps_of(cut))
    ]
    return _Matter(plan, group, cut, setup, lengths, copies, cuts, parts)


def _sheets(matter: _Matter, paper: Paper) -> Iterator[Numbered]:
    room = body(paper)
    style = _style_for(matter.rows_count, room.height - _LEGEND - _WANTED_DRAWING)
    spare = room.height - _LEGEND - style.height_of(matter.rows_count)
    # Lists that run on to another page anyway leave this one to the drawing.
    tall = room.height - _LEGEND if spare < _LEAST_DRAWING else min(spare, _MOST_DRAWING)
    drawing = draw_board(
        matter.cut,
        matter.plan.kerf,
        matter.copies,
        matter.lengths,
        Box(room.x0, room.y1 - tall, room.x1, room.y1),
    )
    top = room.y1 - drawing.height
    marks = [*drawing.marks, *_legend(room.x0, top - 3.6, matter)]
    top -= _LEGEND
    done, goes_on = 0, False
    while True:
        many = style.rows_in(top - room.y0)
        if many >= min(_FEW_ROWS, matter.rows_count - done):
            marks += _tables(matter, done, many, room, top, style)
        else:
            many = 0
        yield _page(matter, paper, tuple(marks), f"1:{drawing.scale}", goes_on)
        done, goes_on = done + many, True
        if done >= matter.rows_count:
            return
        marks, top = [], room.y1


def _style_for(rows_count: int, height: float) -> Style:
    """The largest type in which so many rows have room; the smallest, where none has."""
    return next((s for s in _STYLES if s.rows_in(height) >= rows_count), _STYLE)


def _page(
    matter: _Matter, paper: Paper, marks: tuple[Mark, ...], scale: str, goes_on: bool
) -> Numbered:
    board = matter.cut.board
    title = f"Board {board.name}" + (", continued" if goes_on else "")
    lines = (
        board_words(board, matter.group, matter.lengths),
        " · ".join(
            (
                f"{board.board_feet:.1f} board feet",
                f"yield {per_cent(board_yield(matter.cut))}",
                counted(len(matter.cut.placed), "part"),
                counted(len(matter.cut.cuts), "cut"),
                *filter(None, [origin_words(board, matter.lengths)]),
            )
        ),
    )

    def numbered(number: tuple[int, int]) -> Sheet:
        frame = [
            *heading(paper, title, lines),
            *strip(
                paper,
                matter.setup,
                f"board {board.name}",
                "–" if goes_on else scale,
                matter.lengths.long_unit,
                number,
            ),
        ]
        return Sheet(paper, title, (*frame, *marks))

    return numbered


def _tables(
    matter: _Matter, done: int, many: int, room: Box, top: float, style: Style
) -> Iterator[Mark]:
    split = room.x0 + _CUT_SHARE * room.width
    for columns, rows, x0, x1 in (
        (_CUT_COLUMNS, matter.cuts, room.x0, split),
        (_PART_COLUMNS, matter.parts, split + _GAP, room.x1),
    ):
        shown = rows[done : done + many]
        if shown:
            sized = [Column(head, share * (x1 - x0), bold=bold) for head, share, bold in columns]
            yield from set_table(sized, shown, (x0, top), style)


# --- legend ------------------------------------------------------------------------------


def _legend(x: float, y: float, matter: _Matter) -> Iterator[Mark]:
    """Small samples of what is drawn, on one line, and the kerf."""
    size = 8.0
    samples = (
        ("part", PART, Pen(0.15), 0),
        ("off-cut to keep", KEEP, KEPT, 0),
        ("waste", WASTE, None, 0),
        ("end check", WASTE, None, 1),
        ("defect", KEEP, Pen(0.3), 2),
    )
    for name, fill, pen, hatches in samples:
        box = Box(x, y, x + 6.0, y + 2.6)
        yield rectangle(box, pen, fill)
        for angle_deg in (45.0, 135.0)[:hatches]:
            yield from hatch(box.corners, 0.9, angle_deg, CROSS_HATCH if hatches > 1 else HATCH)
        yield Text(name, (x + 7.2, y + 0.2), size, role="small")
        x += 7.2 + text_width(name, size) + 5.0
    kerf = matter.lengths.told(matter.plan.kerf)
    text = f"white number: crosscut · black: rip · saw kerf {kerf} · grain runs left to right"
    yield Text(text, (x, y + 0.2), size, role="small")
