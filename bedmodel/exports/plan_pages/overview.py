"""The first page of the plan: what is used, how good that is proven to be, what is missing."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence

from bedmodel.exports.paper.sheet import Mark, Point, Sheet, Text
from bedmodel.exports.paper.table import Column, Style, set_table
from bedmodel.exports.paper.type import wrapped
from bedmodel.exports.plan_pages.frame import body, heading, page_of, strip
from bedmodel.exports.plan_pages.words import (
    Lengths,
    Setup,
    amount,
    board_yield,
    bound_words,
    class_words,
    counted,
    lengths_of,
    missing_words,
    per_cent,
    spoken,
)
from bedmodel.stock.plan import ClassPlan, CutBoard, Plan

_STYLE = Style(size=10.5, least=9.0, pitch=5.6)
_TEXT, _LINE = 11.0, 5.6
_AFTER = 5.0
_CLASS_COLUMNS = (
    ("lumber", 0.24),
    ("boards", 0.10),
    ("used", 0.16),
    ("proven least", 0.16),
    ("yield", 0.12),
    ("how good", 0.22),
)
_BOARD_COLUMNS = (
    ("board", 0.09),
    ("lumber", 0.19),
    ("size", 0.12),
    ("bd ft", 0.06),
    ("yield", 0.06),
    ("cut into", 0.48),
)


def overview_sheets(plan: Plan, setup: Setup) -> Iterator[Callable[[tuple[int, int]], Sheet]]:
    """The overview, on as many pages as the list of boards needs."""
    paper = page_of(setup)
    room = body(paper)
    marks: list[Mark] = []
    top = room.y1
    for block in _blocks(plan, setup, room.width):
        done, count = 0, len(block.rows)
        while done < count:
            many = min(block.fits(top - room.y0), count - done)
            # A head with one row under it at the foot of a page is better on the next.
            if top < room.y1 and many < min(2, count - done):
                yield _page(plan, setup, tuple(marks))
                marks, top = [], room.y1
                continue
            marks += block.set(done, many, (room.x0, top), room.width)
            top -= block.height(many) + _AFTER
            done += many
    yield _page(plan, setup, tuple(marks))


def _page(plan: Plan, setup: Setup, marks: tuple[Mark, ...]) -> Callable[[tuple[int, int]], Sheet]:
    paper = page_of(setup)
    many = sum(len(group.boards) for group in plan.classes)
    feet = sum(cut.board.board_feet for group in plan.classes for cut in group.boards)
    first = f"{counted(many, 'board')} · {feet:.1f} board feet"
    second = "every part has its place" if plan.feasible else "PARTS ARE MISSING, see below"
    unit = lengths_of(plan, setup).long_unit

    def numbered(number: tuple[int, int]) -> Sheet:
        frame = [
            *heading(paper, "Board plan", (first, second)),
            *strip(paper, setup, "overview", "–", unit, number),
        ]
        return Sheet(paper, "Overview", (*frame, *marks))

    return numbered


# --- blocks ------------------------------------------------------------------------------


class _Lines:
    """Plain lines of text."""

    def __init__(self, rows: Sequence[tuple[str, bool]]) -> None:
        self.rows = rows

    def fits(self, height: float) -> int:
        return int(height / _LINE)

    def height(self, rows_count: int) -> float:
        return rows_count * _LINE

    def set(self, first: int, many: int, top_left: Point, width: float) -> Iterator[Mark]:
        x, y = top_left
        for number, (text, bold) in enumerate(self.rows[first : first + many], start=1):
            yield Text(text, (x, y - number * _LINE + 1.6), _TEXT, bold)


class _Table:
    """Rows under a head, which is set again on each page."""

    def __init__(self, columns: Sequence[tuple[str, float]], rows: Sequence[Sequence[str]]) -> None:
        self.columns, self.rows = columns, rows

    def fits(self, height: float) -> int:
        return _STYLE.rows_in(height)

    def height(self, rows_count: int) -> float:
        return _STYLE.height_of(rows_count)

    def set(self, first: int, many: int, top_left: Point, width: float) -> Iterator[Mark]:
        columns = [
            Column(head, share * width, bold=number == 0)
            for number, (head, share) in enumerate(self.columns)
        ]
        yield from set_table(columns, self.rows[first : first + many], top_left, _STYLE)


def _blocks(plan: Plan, setup: Setup, width: float) -> Iterator[_Lines | _Table]:
    lengths = lengths_of(plan, setup)
    yield _Lines([(line, False) for text in _sentences(plan) for line in _lines(text, width)])
    if setup.notes:
        yield _Lines([(line, True) for text in setup.notes for line in _lines(text, width)])
    if not plan.feasible:
        yield _Lines(list(_missing(plan, lengths, width)))
    yield _Table(_CLASS_COLUMNS, [_class_row(plan, group) for group in plan.classes])
    yield _Table(
        _BOARD_COLUMNS,
        [_board_row(cut, group, lengths) for group in plan.classes for cut in group.boards],
    )


def _missing(plan: Plan, lengths: Lengths, width: float) -> Iterator[tuple[str, bool]]:
    """What has no board, class by class, the longest part first."""
    for group in plan.classes:
        if not group.missing:
            continue
        feet = sum(each.board_feet for each in group.missing)
        proven = "; these boards are proven not to give all" if group.impossible else ""
        text = f"Missing in {class_words(group)}: {feet:.1f} board feet of rough parts{proven}"
        yield from ((line, True) for line in wrapped(text, width, _TEXT, bold=True))
        for each in sorted(group.missing, key=lambda m: -m.length):
            yield from ((line, False) for line in _lines(missing_words(each, lengths), width))


def _lines(text: str, width: float) -> list[str]:
    return wrapped(text, width, _TEXT)


def _sentences(plan: Plan) -> Iterator[str]:
    whole = [group for group in plan.classes if not group.missing]
    if whole:
        used, bound = sum(g.used for g in whole), sum(g.bound for g in whole)
        what = "The boards cost" if plan.objective == "cost" else "The boards measure"
        text = f"{what} {amount(plan, used)}."
        if math.isinf(plan.gap):
            text += " How far that is from the least possible is not proven."
        elif plan.gap < 5e-5:
            text += " That is proven to be the least with cuts of this kind."
        else:
            text += (
                f" No plan with cuts of this kind can do with less than {amount(plan, bound)}: "
                f"this one is at most {100 * plan.gap:.1f} % above."
            )
        if len(whole) < len(plan.classes):
            text = f"Of the lumber with all its parts: {text[0].lower()}{text[1:]}"
        yield text
    if not plan.classes:
        yield "Nothing is cut from lumber."
    yield (
        "Crosscut, straighten the edges, then rip, in the order of the numbers. Sizes are rough "
        "ones, with what jointing, planing and trimming take off. Yield is the rough parts' share "
        "of the boards."
    )


def _class_row(plan: Plan, group: ClassPlan) -> tuple[str, ...]:
    area = sum(cut.board.length * cut.board.width for cut in group.boards)
    parts = sum(board_yield(cut) * cut.board.length * cut.board.width for cut in group.boards)
    proven = amount(plan, group.bound) if group.bound > 0 else "–"
    return (
        class_words(group),
        str(len(group.boards)),
        amount(plan, group.used),
        proven,
        per_cent(parts / area) if area else "–",
        bound_words(plan, group),
    )


def _board_row(cut: CutBoard, group: ClassPlan, lengths: Lengths) -> tuple[str, ...]:
    board = cut.board
    names = Counter(
        spoken(each.name) + (", stave" if each.panel_number else "") for each in cut.placed
    )
    parts = "; ".join(f"{many} × {name}" if many > 1 else name for name, many in names.items())
    if cut.offcuts:
        parts += f"; {counted(len(cut.offcuts), 'off-cut')} to keep"
    return (
        board.name,
        class_words(group),
        lengths.size(board.width, board.length),
        f"{board.board_feet:.1f}",
        per_cent(board_yield(cut)),
        parts,
    )
