"""The board plan in the report: each board drawn in its own line, with what comes out of it."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.exports.plan_pages.words import (
    Copies,
    Setup,
    board_words,
    board_yield,
    copies_of,
    counted,
    lengths_of,
    parts_of,
    per_cent,
)
from bedmodel.exports.report.words import safe
from bedmodel.spec import Sheet
from bedmodel.stock.cut_list import CutList
from bedmodel.stock.plan import ClassPlan, CutBoard, Plan
from bedmodel.stock.plan_record import missing_rows
from bedmodel.stock.sawing import RackPlan

_LETTER = 62.0  # height of a letter, mm of the board
_LEAST = 70.0  # a part narrower than this has no letter


def boards_of(rack: RackPlan | None, cuts: CutList) -> dict[str, list[str]]:
    """For each row of the cut list, the boards that its parts come out of, planks of legs too."""
    found: dict[str, list[str]] = {}
    rows = {piece: item.name for item in cuts.items for piece in item.pieces}
    for plank in rack.legs.planks if rack and rack.legs else ():
        for leg in plank.placements:
            names = found.setdefault(rows.get(leg.name, leg.name), [])
            if plank.board.name not in names:
                names.append(plank.board.name)
    for group in rack.plan.classes if rack else ():
        for cut in group.boards:
            for placed in cut.placed:
                names = found.setdefault(placed.name, [])
                if cut.board.name not in names:
                    names.append(cut.board.name)
    return found


def boards_section(rack: RackPlan, sheet: Sheet) -> str:
    """The section as HTML."""
    plan = rack.plan
    setup = Setup(sheet.design.title, sheet.design.unit)
    copies = copies_of(plan)
    longest = max((c.board.length for g in plan.classes for c in g.boards), default=0.0)
    figures = [
        _board(plan, group, cut, setup, copies, longest)
        for group in plan.classes
        for cut in group.boards
    ]
    lacking = "".join(
        f'<p class="bad">missing {safe(feet)} board feet of {safe(wood)} for {safe(parts)}; '
        f"the longest is {safe(longest_part)} ({safe(proof)})</p>"
        for wood, feet, longest_part, parts, proof in missing_rows(rack, sheet.show)
    )
    what = "board feet" if plan.objective == "wood" else "cost"
    proof = f" No plan of such cuts takes less than {plan.bound:.2f}." if plan.bound > 0 else ""
    return (
        '<section id="boards"><h2>Boards</h2>'
        f"<p>Which part comes out of which board; {what} of the boards used: {plan.used:.2f}."
        f"{proof} Saw kerf {safe(sheet.show(plan.kerf))}; grain runs left to right; grey is worth "
        f"keeping, blank is waste.</p>{lacking}"
        f'<div class="boards">{"".join((*figures, *_nested(rack)))}</div></section>'
    )


def _nested(rack: RackPlan) -> Iterator[str]:
    """In words, which legs come out of which plank; their outlines are in the nest's drawing."""
    for plank in rack.legs.planks if rack.legs else ():
        name = safe(plank.board.name)
        legs = safe(", ".join(leg.name.replace("_", " ") for leg in plank.placements))
        yield (
            f'<figure class="board" id="board-{name}"><figcaption><b>Plank {name}</b> {legs}'
            "<span>traced by the nest's drawing before it is sawn</span></figcaption></figure>"
        )


def _board(
    plan: Plan, group: ClassPlan, cut: CutBoard, setup: Setup, copies: Copies, longest: float
) -> str:
    lengths = lengths_of(plan, setup)
    named = parts_of(cut, copies)
    listed = "".join(
        f"<li><b>{safe(part.letter)}</b> {safe(part.title)}, "
        f"{safe(lengths.size(part.place.length, part.place.width))}</li>"
        for part in named
    )
    words = board_words(cut.board, group, lengths)
    told = f"{counted(len(cut.placed), 'part')}, {counted(len(cut.cuts), 'cut')}"
    return (
        f'<figure class="board" id="board-{safe(cut.board.name)}"><figcaption>'
        f"<b>Board {safe(cut.board.name)}</b> {safe(words)}"
        f"<span>{told}, yield {per_cent(board_yield(cut))}</span></figcaption>"
        f"{_drawing(cut, copies, longest)}<ul>{listed}</ul></figure>"
    )


def _drawing(cut: CutBoard, copies: Copies, longest: float) -> str:
    """The board as it lies, all boards to one scale."""
    board = cut.board
    box = f"-4 -4 {longest + 8:.0f} {board.width + 8:.0f}"
    return (
        f'<svg viewBox="{box}" role="img" aria-label="board {safe(board.name)}">'
        f'<rect class="wood" width="{board.length:.1f}" height="{board.width:.1f}"/>'
        f"{''.join(_parts(cut, copies))}</svg>"
    )


def _parts(cut: CutBoard, copies: Copies) -> Iterator[str]:
    names = {(placed.place.x, placed.place.y): placed.name for placed in cut.placed}
    for kept in cut.offcuts:
        y = cut.board.width - kept.y - kept.width
        yield f'<rect class="keep" x="{kept.x:.1f}" y="{y:.1f}" width="{kept.length:.1f}" '
        yield f'height="{kept.width:.1f}"/>'
    for part in parts_of(cut, copies):
        place = part.place
        y = cut.board.width - place.y - place.width
        item = safe(names[(place.x, place.y)])
        yield f'<g class="cut" data-item="{item}"><title>{safe(part.letter)}: {safe(part.title)}'
        yield f'</title><rect x="{place.x:.1f}" y="{y:.1f}" width="{place.length:.1f}" '
        yield f'height="{place.width:.1f}"/>'
        if min(place.width, place.length) >= _LEAST * 0.5:
            size = min(_LETTER, 0.8 * place.width, 0.8 * place.length)
            x, middle = place.x + place.length / 2, y + place.width / 2
            yield f'<text x="{x:.1f}" y="{middle + 0.35 * size:.1f}" font-size="{size:.0f}">'
            yield f"{safe(part.letter)}</text>"
        yield "</g>"
