"""What the pages say: lengths in the shop's unit, names of parts, cuts in plain words.

letter   A, B, C: the parts of one board, from its left end and from its lower edge
keep     K1, K2: off-cuts worth keeping
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.exports.paper.sheet import A4, Paper
from bedmodel.materials import material
from bedmodel.stock.boards import Board
from bedmodel.stock.plan import ClassPlan, Cut, CutBoard, Missing, Placed, Plan, Rectangle
from bedmodel.units import MM_PER_INCH, LengthUnit, format_number

_TINY = 1e-6
_SHORT = {"mm": "mm", "inch": "in"}
_LONG = {"mm": "millimetres", "inch": "inches"}
_MOST_LETTERS = 7


@dataclass(frozen=True)
class Setup:
    """Whose plan it is, the unit of its lengths, and the paper, upright.

    ``notes`` are told on the overview of the plan.
    """

    bed: str
    unit: LengthUnit = "mm"
    paper: Paper = A4
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Lengths:
    """Lengths as a rule shows them that is divided at least as fine as ``rule`` (mm)."""

    unit: LengthUnit
    rule: float

    def number(self, length: float) -> str:
        steps = MM_PER_INCH / self.rule
        denominator = 2 ** min(max(math.ceil(math.log2(steps) - 1e-9), 4), 6)
        decimals = 0 if abs(self.rule - round(self.rule)) < _TINY else 1
        return format_number(length, self.unit, denominator=denominator, decimals=decimals)

    def told(self, length: float) -> str:
        return f"{self.number(length)} {_SHORT[self.unit]}"

    def size(self, length: float, width: float) -> str:
        return f"{self.number(length)} × {self.number(width)}"

    @property
    def short(self) -> str:
        return _SHORT[self.unit]

    @property
    def long_unit(self) -> str:
        return _LONG[self.unit]


def lengths_of(plan: Plan, setup: Setup) -> Lengths:
    return Lengths(setup.unit, plan.rule)


def spoken(name: str) -> str:
    return name.replace("_", " ")


def wood_words(species: str) -> str:
    if not species:
        return "any species"
    try:
        return material(species).label
    except InputError:  # a wood of the maker's own, which only its sheet knows
        return species.replace("-", " ")


def class_words(group: ClassPlan) -> str:
    return f"{wood_words(group.species)} {group.quarters_count}/4"


def board_words(board: Board, group: ClassPlan, lengths: Lengths) -> str:
    size = f"{lengths.number(board.width)} × {lengths.told(board.length)}"
    return f"{wood_words(board.species or group.species)} · {board.quarters_count}/4 · {size}"


def origin_words(board: Board, lengths: Lengths) -> str:
    """Where a board lies on the one that it was sawn out of; nothing for one of the rack."""
    if not board.of:
        return ""
    starts = [
        f"{lengths.told(distance)} from its {what}"
        for distance, what in ((board.along, "left end"), (board.across, "lower edge"))
        if distance > _TINY
    ]
    return f"sawn out of {board.of}, {' and '.join(starts) or 'from its lower left corner'}"


def board_yield(cut: CutBoard) -> float:
    """The rough parts' share of the board as it lies on the rack."""
    area = sum(each.place.length * each.place.width for each in cut.placed)
    return area / (cut.board.length * cut.board.width)


def per_cent(share: float) -> str:
    return f"{100 * share:.0f} %"


def counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


# --- parts of one board ------------------------------------------------------------------


@dataclass(frozen=True)
class Named:
    """A piece of a board with the letter it goes by on the page."""

    letter: str
    title: str
    short: str
    place: Rectangle


@dataclass(frozen=True)
class Copies:
    """How many rough pieces of each name there are to be, and how many panels of staves.

    Of a panel that lacks staves only those that have a place are counted.
    """

    pieces: Counter[str]
    panels: Counter[str]


def copies_of(plan: Plan) -> Copies:
    found = Copies(Counter(), Counter())
    for group in plan.classes:
        placed = [each for cut in group.boards for each in cut.placed]
        found.pieces.update(each.name for each in placed)
        for each in placed:
            found.panels[each.name] = max(found.panels[each.name], each.panel_number)
        for missing in group.missing:
            panel = found.panels[missing.name] > 0
            (found.panels if panel else found.pieces)[missing.name] += missing.count
    return found


def parts_of(cut: CutBoard, copies: Copies) -> tuple[Named, ...]:
    """The parts of a board in the order of their letters."""
    placed = sorted(cut.placed, key=lambda p: _order(cut, p.place))
    return tuple(
        Named(_letter(i), part_words(p, copies), _short(p, copies), p.place)
        for i, p in enumerate(placed)
    )


def keeps_of(cut: CutBoard) -> tuple[Named, ...]:
    places = sorted(cut.offcuts, key=lambda r: _order(cut, r))
    return tuple(
        Named(f"K{i}", "off-cut, keep", "keep", place) for i, place in enumerate(places, start=1)
    )


def _order(cut: CutBoard, place: Rectangle) -> tuple[int, float, float]:
    """As they come free: by segment of the board, then upwards, then along."""
    segment = sum(each.at < place.x for each in board_cuts(cut))
    return segment, round(place.y, 3), round(place.x, 3)


def part_words(placed: Placed, copies: Copies) -> str:
    name, count = spoken(placed.name), copies.pieces[placed.name]
    if placed.panel_number:
        panel = f", panel {placed.panel_number}" if copies.panels[placed.name] > 1 else ""
        return f"{name}{panel}, stave {placed.copy} of {count}"
    return f"{name} {placed.copy} of {count}" if count > 1 else name


def _short(placed: Placed, copies: Copies) -> str:
    if copies.pieces[placed.name] == 1:
        return spoken(placed.name)
    word = "stave " if placed.panel_number else ""
    return f"{spoken(placed.name)} {word}{placed.copy}"


def _letter(index: int) -> str:
    ring, at = divmod(index, 26)
    return (chr(ord("A") + ring - 1) if ring else "") + chr(ord("A") + at)


# --- cuts --------------------------------------------------------------------------------


@dataclass(frozen=True)
class CutWords:
    """A cut in words: its number, what it is, what to set, out of which parts' wood, what
    comes free. ``mark`` is where the line is drawn, from the board's left end or lower edge.
    """

    number: str
    kind: str
    setting: str
    out_of: str
    frees: str
    mark: float = 0.0


def board_cuts(cut: CutBoard) -> tuple[Cut, ...]:
    """The crosscuts of the whole board, before any rip."""
    rip = next((i for i, each in enumerate(cut.cuts) if each.kind == "rip"), len(cut.cuts))
    return cut.cuts[:rip]


def cut_words(
    cut: CutBoard, parts: Sequence[Named], kerf: float, lengths: Lengths
) -> list[CutWords]:
    """All cuts in their order, and the straightening of the edges before the first rip."""
    first = board_cuts(cut)
    keeps = keeps_of(cut)
    words = [_cut_words(each, parts, keeps, kerf, lengths) for each in cut.cuts]
    edges = _edge_words(cut, lengths)
    return [*words[: len(first)], *edges, *words[len(first) :]]


def _edge_words(cut: CutBoard, lengths: Lengths) -> Iterator[CutWords]:
    low = cut.blank.y
    high = cut.board.width - cut.blank.y - cut.blank.width
    if low > _TINY or high > _TINY:
        low_off, high_off = lengths.number(low), lengths.number(high)
        each = f"{low_off} off each edge"
        both = f"{low_off} off lower edge, {high_off} upper"
        yield CutWords("–", "straighten", each if low_off == high_off else both, "", "")


def _cut_words(
    cut: Cut, parts: Sequence[Named], keeps: Sequence[Named], kerf: float, lengths: Lengths
) -> CutWords:
    cross = cut.kind == "crosscut"
    start = cut.piece.x if cross else cut.piece.y
    taken = cut.at - start
    freed = [p for p in parts if _within(p.place, _freed(cut))]
    kept = [k for k in keeps if _within(k.place, _freed(cut))]
    end = "left end" if cross else "lower edge"
    if taken <= _TINY:
        setting, mark = f"trim the {end}", cut.at + kerf
    elif not freed:
        off = taken + kerf if cross else taken
        setting = f"{lengths.number(off)} off the {end}"
        mark = cut.at + kerf
    else:
        setting, mark = f"{lengths.number(taken)} {'long' if cross else 'wide'}", cut.at
    out_of = [p for p in parts if _within(p.place, cut.piece)]
    return CutWords(
        str(cut.number),
        cut.kind,
        setting,
        letters_of(out_of),
        letters_of(freed or kept) or "waste",
        mark,
    )


def _freed(cut: Cut) -> Rectangle:
    p = cut.piece
    if cut.kind == "crosscut":
        return Rectangle(p.x, p.y, max(cut.at - p.x, 0.0), p.width)
    return Rectangle(p.x, p.y, p.length, max(cut.at - p.y, 0.0))


def _within(inner: Rectangle, outer: Rectangle) -> bool:
    slack = 0.01
    return (
        inner.x >= outer.x - slack
        and inner.y >= outer.y - slack
        and inner.x + inner.length <= outer.x + outer.length + slack
        and inner.y + inner.width <= outer.y + outer.width + slack
    )


def letters_of(parts: Iterable[Named]) -> str:
    letters = [part.letter for part in parts]
    if len(letters) > _MOST_LETTERS:
        return f"{letters[0]} … {letters[-1]}"
    return " ".join(letters)


# --- totals ------------------------------------------------------------------------------


def amount(plan: Plan, value: float) -> str:
    return f"{value:.2f}" if plan.objective == "cost" else f"{value:.1f} board feet"


def bound_words(plan: Plan, group: ClassPlan) -> str:
    """How good the plan of a class is, in a few words."""
    if group.missing:
        return "cannot be done" if group.impossible else "parts missing"
    if math.isinf(group.gap):
        return "nothing proven"
    if group.gap < 5e-5:
        return "the least possible"
    return f"at most {100 * group.gap:.1f} % over the least"


def missing_words(each: Missing, lengths: Lengths) -> str:
    many = f"{each.count} × " if each.count > 1 else ""
    why = (
        "no board of the rack has room for even one"
        if each.fits_none
        else "the boards that would take it are used up"
    )
    return (
        f"{many}{spoken(each.name)}, {lengths.told(each.length)} long, "
        f"{each.board_feet:.1f} board feet: {why}"
    )
