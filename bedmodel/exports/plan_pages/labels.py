"""Labels to print, cut out and stick on the parts: three across and eight down a sheet.

+----------------------------+
| headboard board 2       L  |   name, the hand in a box
| 62 1/4 x 9 3/4 x 1 1/8 in  |   finished size
| from lower edge, ...       |   what its joints are measured from
| joints 2L 2R 3L 3R         |   each number is on both parts of a joint
| boards M3 B, M8 C   maple  |   where it comes from, by the pages of the boards
+----------------------------+
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from bedmodel.bed import Piece
from bedmodel.cuts import Mortise
from bedmodel.exports.paper.pdf import pdf_bytes
from bedmodel.exports.paper.sheet import Box, Mark, Paper, Pen, Sheet, Text, line, rectangle
from bedmodel.exports.paper.type import ELLIPSIS, drawable, fitted, text_width, wrapped
from bedmodel.exports.plan_pages.words import (
    Lengths,
    Setup,
    copies_of,
    parts_of,
    spoken,
    wood_words,
)
from bedmodel.shop.setting_out import PartMarks
from bedmodel.stock.cut_list import LEGS, CutItem, CutList
from bedmodel.stock.nest.plan import LegNest
from bedmodel.stock.plan import Placed, Plan

ACROSS, DOWN = 3, 8
MARGIN_X, MARGIN_Y = 8.0, 12.0
_INSET = 2.4
_CUT_LINE = Pen(0.1, "#777777", (2.0, 1.5))
_NAME, _SECOND, _SIZE, _BODY, _LEAST, _SMALL = 13.0, 10.5, 11.0, 10.0, 8.0, 7.0
_PITCH, _LEADING = 4.5, 3.4  # mm, of the lines at the foot and of small type
_HANDS = {"left": "L", "right": "R"}
_TENON = re.compile(
    r"(?P<stem>(?P<board>(?:head|foot)board_(?:board|panel|rail|stretcher)(?:_\d+)?)_(?P<kind>tenon|dowel)_\d+)_(?:left|right)"
)
_MOST_REFERENCES = 3
# What setting out measures to; a label has the rule's finest division in inches.
_FINEST = {"mm": 0.1, "inch": 25.4 / 64}


@dataclass(frozen=True)
class Label:
    """What one label says, in words; ``hand`` is "left", "right" or nothing.

    ``reference`` names the faces, edges and ends that are measured from; ``joints`` are
    numbers that its other half bears too; ``boards`` where it comes from, each board
    with the piece's letters on its page.
    """

    name: str
    size: str
    hand: str = ""
    reference: str = ""
    joints: tuple[str, ...] = ()
    boards: tuple[str, ...] = ()
    note: str = ""


# --- what the labels say -----------------------------------------------------------------


def part_labels(
    pieces: Sequence[Piece],
    cuts: CutList,
    plan: Plan | None,
    marks: Iterable[PartMarks],
    setup: Setup,
    legs: LegNest | None = None,
) -> tuple[Label, ...]:
    """A label for each part of lumber in the order of the cut list.

    The staves, strips and layers that parts are made from have labels of their own.
    """
    lengths = Lengths(setup.unit, _FINEST[setup.unit])
    numbers = joint_numbers(pieces)
    by_name = {piece.name: piece for piece in pieces}
    references = {part.kind: reference_words(part) for part in marks}
    placed = _placed(plan) if plan is not None else {}
    planks = _planks(legs)
    labels: list[Label] = []
    for item in cuts.lumber:
        size = " × ".join(
            lengths.number(side) for side in (item.length, item.width, item.thickness)
        )
        for index, name in enumerate(item.pieces):
            piece = by_name[name]
            stem, hand = _hand(name)
            sources = _sources(item, index, placed.get(item.name, ()))
            labels.append(
                Label(
                    name=spoken(stem),
                    size=f"{size} {lengths.short}",
                    hand=hand,
                    reference=references.get(piece.kind.name, ""),
                    joints=numbers.get(name, ()),
                    boards=(f"{planks[name]} nest",) if name in planks else _boards(sources),
                    note=wood_words(item.species),
                )
            )
            if item.staves is not None:
                labels += _stave_labels(stem, item, sources, lengths)
            elif item.layers > 1:
                labels += _layer_labels(name, item, sources, planks, lengths)
        if item.per_rough > 1:
            labels += _strip_labels(item, placed.get(item.name, ()), lengths)
    return tuple(labels)


def _strip_labels(item: CutItem, placed: Sequence[_Source], lengths: Lengths) -> Iterator[Label]:
    """Short parts are cut out of strips, which come first and need labels too."""
    for number in range(1, item.rough_count + 1):
        sources = [source for source in placed if source.placed.copy == number]
        yield Label(
            name=f"{spoken(item.name)}, strip {number} of {item.rough_count}",
            size=f"rough {lengths.size(item.rough_length, item.rough_width)} {lengths.short}",
            reference=f"plane, then cut {item.per_rough} parts from it",
            boards=_boards(sources),
            note=wood_words(item.species),
        )


def _layer_labels(
    name: str,
    item: CutItem,
    sources: Sequence[_Source],
    planks: Mapping[str, str],
    lengths: Lengths,
) -> Iterator[Label]:
    """The layers that a thick part is glued up from."""
    stem, hand = _hand(name)
    for layer in range(1, item.layers + 1):
        plank = planks.get(f"{name}_layer_{layer}")
        mine = sources[layer - 1 : layer]
        yield Label(
            name=f"{spoken(stem)}, layer {layer} of {item.layers}",
            size=f"rough {lengths.size(item.rough_length, item.rough_width)} {lengths.short}",
            hand=hand,
            reference="glue up, then shape",
            boards=(f"{plank} nest",) if plank else _boards(mine),
            note=wood_words(item.species),
        )


def _planks(legs: LegNest | None) -> dict[str, str]:
    """The plank of each nested leg or layer of one."""
    planks = legs.planks if legs is not None else ()
    return {p.name: plank.board.name for plank in planks for p in plank.placements}


def _stave_labels(
    stem: str, item: CutItem, sources: Sequence[_Source], lengths: Lengths
) -> Iterator[Label]:
    for number, source in enumerate(sources, start=1):
        size = lengths.size(source.placed.place.length, source.placed.place.width)
        yield Label(
            name=f"{spoken(stem)}, stave {number} of {len(sources)}",
            size=f"rough {size} {lengths.short}",
            reference="glue up, then cut to the panel's size",
            boards=_boards([source]),
            note=wood_words(item.species),
        )


def joint_numbers(pieces: Iterable[Piece]) -> Mapping[str, tuple[str, ...]]:
    """The numbers of each piece's joints, left and right of one number: 3L and 3R.

    Every tenon, loose or the board's own, is a joint; a row of dowels at a board's end is one;
    so is each end of a side rail on its leg. Pieces without a joint are left out.
    """
    pieces = list(pieces)
    stems: dict[str, None] = {}
    joints: dict[str, set[tuple[str, str]]] = {}

    def add(piece: str, stem: str, hand: str) -> None:
        stems.setdefault(stem)
        joints.setdefault(piece, set()).add((stem, hand))

    for piece in pieces:
        hand = _hand(piece.name)[1]
        if not piece.name.startswith(LEGS):
            continue
        for cut in piece.kind.shape.cuts:
            found = _TENON.fullmatch(cut.name) if isinstance(cut, Mortise) else None
            if found and isinstance(cut, Mortise) and cut.role == "mortise":
                # A left-hand leg is the right-hand one's mirror image, names and all.
                stem = _stem(found)
                add(piece.name, stem, hand)
                add(found["board"], stem, hand)
    for piece in pieces:
        found = _TENON.fullmatch(piece.name)
        if found and _stem(found) in stems:
            add(piece.name, _stem(found), _hand(piece.name)[1])
    rails = [piece.name for piece in pieces if _hand(piece.name)[0] == "side_rail"]
    for leg in LEGS if rails else ():
        for piece in pieces:
            stem, hand = _hand(piece.name)
            if stem == leg and f"side_rail_{hand}" in rails:
                add(piece.name, f"{leg} and rail", hand)
                add(f"side_rail_{hand}", f"{leg} and rail", hand)
    order = {stem: number for number, stem in enumerate(stems, start=1)}
    return {
        piece: tuple(f"{order[stem]}{_HANDS[hand]}" for stem, hand in sorted(found, key=_by(order)))
        for piece, found in joints.items()
    }


def _by(order: Mapping[str, int]) -> Callable[[tuple[str, str]], tuple[int, str]]:
    return lambda joint: (order[joint[0]], joint[1])


def _stem(found: re.Match[str]) -> str:
    """A joint's name without its hand; the dowels of one row are one joint."""
    return f"{found['board']} dowels" if found["kind"] == "dowel" else found["stem"]


def reference_words(part: PartMarks) -> str:
    """The faces, edges and ends that a part's rows of marks run from."""
    starts = [row.reference.split(",")[0].removeprefix("from ") for row in part.rows]
    kept = [start for start in dict.fromkeys(starts) if not start.startswith("either")]
    return "from " + ", ".join(kept[:_MOST_REFERENCES]) if kept else ""


def _hand(name: str) -> tuple[str, str]:
    for hand in _HANDS:
        if name.endswith(f"_{hand}"):
            return name.removesuffix(f"_{hand}"), hand
    return name, ""


@dataclass(frozen=True)
class _Source:
    """A rough piece: the board it comes from, and its letter on that board's page."""

    board: str
    letter: str
    placed: Placed


def _placed(plan: Plan) -> dict[str, list[_Source]]:
    copies = copies_of(plan)
    found: dict[str, list[_Source]] = {}
    for group in plan.classes:
        for cut in group.boards:
            letters = {part.place: part.letter for part in parts_of(cut, copies)}
            for each in cut.placed:
                source = _Source(cut.board.name, letters[each.place], each)
                found.setdefault(each.name, []).append(source)
    for sources in found.values():
        sources.sort(key=lambda source: source.placed.copy)
    return found


def _sources(item: CutItem, index: int, placed: Sequence[_Source]) -> list[_Source]:
    """The rough pieces that one part is made of: its layers, and of those their staves."""
    rough = index // item.per_rough
    copies = range(rough * item.layers + 1, (rough + 1) * item.layers + 1)
    staves = item.staves is not None
    return [s for s in placed if (s.placed.panel_number if staves else s.placed.copy) in copies]


def _boards(sources: Sequence[_Source]) -> tuple[str, ...]:
    """Each board with the letters of the pieces: "M8 B C D"."""
    letters: dict[str, list[str]] = {}
    for source in sources:
        letters.setdefault(source.board, []).append(source.letter)
    return tuple(f"{board} {' '.join(each)}" for board, each in letters.items())


# --- sheets ------------------------------------------------------------------------------


def labels_pdf(labels: Sequence[Label], setup: Setup) -> bytes:
    """The labels as one PDF, with dashed lines to cut along."""
    return pdf_bytes(label_sheets(labels, setup), f"{setup.bed}: labels")


def label_sheets(labels: Sequence[Label], setup: Setup) -> list[Sheet]:
    """The labels on as many sheets as they need; one empty sheet for none."""
    per = ACROSS * DOWN
    parts = [labels[i : i + per] for i in range(0, len(labels), per)] or [()]
    return [_sheet(part, setup, i, len(parts)) for i, part in enumerate(parts, start=1)]


def _sheet(labels: Sequence[Label], setup: Setup, number: int, many: int) -> Sheet:
    paper = setup.paper
    wide, tall = label_size(paper)
    marks = list(_grid(paper, -(-len(labels) // ACROSS)))
    for index, label in enumerate(labels):
        row, column = divmod(index, ACROSS)
        x, y = MARGIN_X + column * wide, paper.height - MARGIN_Y - (row + 1) * tall
        marks += _label(label, Box(x, y, x + wide, y + tall), setup)
    foot, size = fitted(
        f"{setup.bed} · labels, sheet {number} of {many} · cut along the dashed lines",
        paper.width - 2 * MARGIN_X,
        _SMALL,
    )
    marks.append(Text(foot, (MARGIN_X, paper.height - 9.0), size, role="small"))
    return Sheet(paper, f"Labels {number}", tuple(marks))


def label_size(paper: Paper) -> tuple[float, float]:
    return (paper.width - 2 * MARGIN_X) / ACROSS, (paper.height - 2 * MARGIN_Y) / DOWN


def _grid(paper: Paper, rows_count: int) -> Iterator[Mark]:
    wide, tall = label_size(paper)
    top = paper.height - MARGIN_Y
    foot = top - rows_count * tall
    for k in range(ACROSS + 1):
        x = MARGIN_X + k * wide
        yield line((x, top), (x, foot), _CUT_LINE, "grid")
    for k in range(rows_count + 1):
        y = top - k * tall
        yield line((MARGIN_X, y), (paper.width - MARGIN_X, y), _CUT_LINE, "grid")


def _label(label: Label, box: Box, setup: Setup) -> Iterator[Mark]:
    x0, x1, top = box.x0 + _INSET, box.x1 - _INSET, box.y1 - _INSET
    name_end = x1
    if label.hand in _HANDS:
        square = Box(x1 - 8.0, top - 8.0, x1, top)
        yield rectangle(square, Pen(0.4))
        middle = (square.x0 + square.x1) / 2, square.y0 + 1.9
        yield Text(_HANDS[label.hand], middle, 16.0, True, "middle", role="hand")
        name_end = square.x0 - 1.5
    y = top - 3.6
    lines, size = _name(label, name_end - x0)
    for text in lines:
        yield Text(text, (x0, y), size, True, role="name")
        y -= 4.6
    y = min(y, top - 8.6) - 0.4
    text, size = fitted(label.size, name_end - x0, _SIZE, _LEAST)
    yield Text(text, (x0, y), size)
    low = box.y0 + _INSET
    floor = low + (2 if label.joints else 1) * _PITCH
    for text in _filled(label.reference, x1 - x0, y - 4.7 - floor):
        y -= 4.7 if size else _LEADING
        yield Text(text, (x0, y), _LEAST)
        size = 0.0
    if label.joints:
        text, size = fitted(f"joints {' '.join(label.joints)}", x1 - x0, _BODY, _LEAST, bold=True)
        yield Text(text, (x0, low + _PITCH), size, True)
    yield from _origin(label, Box(x0, low, x1, low + _PITCH))


def _filled(text: str, width: float, height: float) -> list[str]:
    """The lines of small type that have room, their base lines within the height."""
    lines = wrapped(text, width, _LEAST)
    many = int(height / _LEADING) + 1 if height >= 0 else 0
    if len(lines) > many > 0:
        rest = " ".join(lines[many - 1 :])
        return [*lines[: many - 1], fitted(rest, width, _LEAST)[0]]
    return lines[:many]


def _origin(label: Label, box: Box) -> Iterator[Mark]:
    """The boards, and the note beside them when there is room for it."""
    boards = ", ".join(label.boards)
    text = f"board{'s' if len(label.boards) > 1 else ''} {boards}" if boards else ""
    text, size = fitted(text, box.width, _BODY, _LEAST, bold=True)
    left = box.x0
    if text:
        yield Text(text, (box.x0, box.y0), size, True)
        left += text_width(text, size, True) + 3.0
    note, size = fitted(label.note, box.width, _SMALL)
    if note and left + text_width(note, size) <= box.x1:
        yield Text(note, (box.x1, box.y0), size, False, "end", role="small")


def _name(label: Label, width: float) -> tuple[list[str], float]:
    """The name on one line in large type, or on two in smaller, broken at its comma."""
    full = label.name + (f", {label.hand}" if label.hand else "")
    text, size = fitted(full, width, _NAME, 11.0, bold=True)
    if not text.endswith(ELLIPSIS):
        return [text], size
    head, comma, tail = drawable(label.name).partition(", ")
    lines = [head + ",", tail] if comma else wrapped(label.name, width, _SECOND, bold=True)
    two = [lines[0], " ".join(lines[1:])]
    return [fitted(line, width, _SECOND, bold=True)[0] for line in two if line], _SECOND
