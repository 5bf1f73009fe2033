"""Check a plan of boards by replaying its cuts; shares no code with the planner.

Only the plan's own data is read: rectangles, cuts, names. All rules are stated here again,
from what a saw and a board do, so that a mistake of the planner cannot excuse itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bedmodel.stock.boards import Board
    from bedmodel.stock.demand import Demand, PanelDemand
    from bedmodel.stock.plan import CutBoard, Plan, Rectangle
    from bedmodel.stock.planner import Sawing

EPS = 1e-6
CUBIC_MM_OF_BOARD_FOOT = 144 * 25.4**3
STAGES = ("crosscut", "rip", "crosscut", "rip")

Box = tuple[float, float, float, float]


def problems(
    plan: Plan, boards: Sequence[Board], demands: Sequence[Demand], sawing: Sawing
) -> list[str]:
    """Everything that is wrong with a plan; empty when a shop can saw it."""
    return list(_problems(plan, boards, demands, sawing))


def box(r: Rectangle) -> Box:
    return r.x, r.y, r.x + r.length, r.y + r.width


def _problems(
    plan: Plan, boards: Sequence[Board], demands: Sequence[Demand], sawing: Sawing
) -> Iterator[str]:
    rack = {board.name: board for board in boards}
    sawn = [cut.board for group in plan.classes for cut in group.boards if cut.board.of]
    yield from _sawn_down(sawn, rack, sawing)
    wanted = {demand.name: demand for demand in demands}
    if not sawing.kerf - EPS <= plan.kerf < sawing.kerf + sawing.rule - EPS / 2:
        yield f"kerf {plan.kerf} for a saw of {sawing.kerf}"
    whole = [cut.board for group in plan.classes for cut in group.boards if not cut.board.of]
    for board in whole:
        if board.name in {piece.of for piece in sawn}:
            yield f"board {board.name} is cut as it is and in pieces"
        if board.width > sawing.crosscut_most + EPS:
            yield f"board {board.name} is too wide for the crosscut"
    used = Counter(cut.board.name for group in plan.classes for cut in group.boards)
    yield from (f"board {name} is cut {count} times" for name, count in used.items() if count > 1)
    for group in plan.classes:
        total = 0.0
        for cut in group.boards:
            board = cut.board
            if not board.of and rack.get(board.name) != board:
                yield f"board {board.name} is not on the rack"
            for placed in cut.placed:
                demand = wanted[placed.name]
                if board.quarters_count != demand.quarters_count:
                    yield f"{placed.name} is on a board of {board.quarters_count}/4"
                if board.species and demand.species and board.species != demand.species:
                    yield f"{placed.name} is on {board.species}"
            if plan.objective == "wood":
                volume = board.quarters_count * 6.35 * board.width * board.length
                total += volume / CUBIC_MM_OF_BOARD_FOOT
            else:
                assert board.price is not None
                total += board.price
            yield from (f"{board.name}: {each}" for each in _of_board(cut, plan, sawing))
        if abs(group.used - total) > 1e-3 * max(len(group.boards), 1):
            yield f"says {group.used} used, its boards are {total}"
        if group.bound > group.used + EPS:
            yield f"bound {group.bound} above {group.used}"
    yield from _all_there(plan, demands)


def _sawn_down(pieces: Sequence[Board], rack: dict[str, Board], sawing: Sawing) -> Iterator[str]:
    """Pieces that were ripped off wide boards first: each on its board, apart, its flaws on it."""
    for piece in pieces:
        board = rack.get(piece.of)
        if board is None:
            yield f"{piece.name} is of {piece.of}, which is not on the rack"
            continue
        x0, y0 = piece.along, piece.across
        x1, y1 = x0 + piece.length, y0 + piece.width
        if min(x0, y0) < -EPS or x1 > board.length + EPS or y1 > board.width + EPS:
            yield f"{piece.name} is not all on {board.name}"
        if piece.width > min(sawing.crosscut_most, sawing.rip_most) + EPS:
            yield f"{piece.name} is too wide for the saws"
        if (piece.quarters_count, piece.species) != (board.quarters_count, board.species):
            yield f"{piece.name} is of other lumber than {board.name}"
        checks = (board.check_left - x0, board.check_right - (board.length - x1))
        if piece.check_left < checks[0] - EPS or piece.check_right < checks[1] - EPS:
            yield f"{piece.name} has forgotten an end check"
        for d in board.defects:
            flaw = (max(d.start, x0), max(d.low, y0), min(d.stop, x1), min(d.high, y1))
            if flaw[2] - flaw[0] > EPS and flaw[3] - flaw[1] > EPS:
                there = (flaw[0] - x0, flaw[1] - y0, flaw[2] - x0, flaw[3] - y0)
                if not any(_inside(there, (f.start, f.low, f.stop, f.high)) for f in piece.defects):
                    yield f"{piece.name} has forgotten a defect"
        for other in pieces:
            if other is not piece and other.of == piece.of:
                mine = (x0, y0, x1, y1)
                x, y = other.along, other.across
                theirs = (x, y, x + other.length, y + other.width)
                if not _apart(mine, theirs, sawing.kerf):
                    yield f"{piece.name} and {other.name} are no kerf apart"


# --- one board ---------------------------------------------------------------------------


def _of_board(cut: CutBoard, plan: Plan, sawing: Sawing) -> Iterator[str]:
    board, kerf = cut.board, plan.kerf
    x0, y0, x1, y1 = blank = box(cut.blank)
    if abs(x0) > EPS or abs(x1 - board.length) > EPS:
        yield "the blank is not as long as the board"
    if y0 < sawing.edge_loss - EPS or y1 > board.width - sawing.edge_loss + EPS:
        yield "the blank takes in a rough edge"
    pieces: list[Box] | str = _replay(cut, blank, kerf)
    yield from _beyond_the_saws(cut, kerf, sawing)
    if isinstance(pieces, str):
        yield pieces
        return
    left = list(pieces)
    for placed in cut.placed:
        mine = box(placed.place)
        same = [piece for piece in left if _same(piece, mine)]
        if not same:
            yield f"{placed.name} {placed.copy} is not among the pieces"
            continue
        left.remove(same[0])
        if mine[0] < board.check_left - EPS or mine[2] > board.length - board.check_right + EPS:
            yield f"{placed.name} {placed.copy} is in an end check"
        yield from (
            f"{placed.name} {placed.copy} has a defect in it"
            for d in board.defects
            if _overlap(mine, (d.start, d.low, d.stop, d.high))
        )
    for i, one in enumerate(cut.placed):
        for other in cut.placed[:i]:
            if not _apart(box(one.place), box(other.place), kerf):
                yield f"{one.name} {one.copy} and {other.name} {other.copy} are no kerf apart"
    for offcut in cut.offcuts:
        mine = box(offcut)
        if not any(_inside(mine, piece) for piece in left):
            yield "an off-cut is not left over"
        if any(_overlap(mine, (d.start, d.low, d.stop, d.high)) for d in board.defects):
            yield "an off-cut has a defect in it"
        if offcut.length < sawing.offcut_length - EPS or offcut.width < sawing.offcut_width - EPS:
            yield "an off-cut is too small to keep"


def _beyond_the_saws(cut: CutBoard, kerf: float, sawing: Sawing) -> Iterator[str]:
    """Cuts that the shop's saws cannot make, or not safely."""
    for each in cut.cuts:
        _, y0, _, y1 = box(each.piece)
        if each.kind == "crosscut":
            if y1 - y0 > sawing.crosscut_most + EPS:
                yield f"cut {each.number} is across {y1 - y0} mm"
            continue
        # One of the two sides runs along the fence; the other falls off.
        sides = (each.at - y0, y1 - each.at - kerf)
        if not any(sawing.strip_least - EPS <= s <= sawing.rip_most + EPS for s in sides):
            yield f"cut {each.number} rips {sides[0]} mm off {sides[1]} mm"


def _replay(cut: CutBoard, blank: Box, kerf: float) -> list[Box] | str:
    """The pieces after all cuts, each right through one piece that is there; or what is wrong."""
    pieces: list[tuple[Box, int]] = [(blank, 0)]
    for number, each in enumerate(cut.cuts, start=1):
        if each.number != number:
            return f"cut {each.number} is in the place of {number}"
        there = [p for p in pieces if _same(p[0], box(each.piece))]
        if not there:
            return f"cut {number} is of a piece that is not there"
        pieces.remove(there[0])
        (x0, y0, x1, y1), stage = there[0]
        while stage < 4 and (stage == 0 or STAGES[stage - 1] != each.kind):
            stage += 1
        if stage == 4 and STAGES[3] != each.kind:
            return f"cut {number} comes after a trim to width"
        low, high = (x0, x1) if each.kind == "crosscut" else (y0, y1)
        if not low - kerf - EPS <= each.at <= high - EPS:
            return f"cut {number} misses its piece"
        if each.kind == "crosscut":
            halves = [(x0, y0, each.at, y1), (each.at + kerf, y0, x1, y1)]
        else:
            halves = [(x0, y0, x1, each.at), (x0, each.at + kerf, x1, y1)]
        pieces += [(h, stage) for h in halves if h[2] - h[0] > EPS and h[3] - h[1] > EPS]
    return [piece for piece, _ in pieces]


def _same(one: Box, other: Box) -> bool:
    return all(abs(a - b) <= EPS for a, b in zip(one, other, strict=True))


def _overlap(one: Box, other: Box) -> bool:
    return (
        one[0] < other[2] - EPS
        and other[0] < one[2] - EPS
        and one[1] < other[3] - EPS
        and other[1] < one[3] - EPS
    )


def _apart(one: Box, other: Box, kerf: float) -> bool:
    return any(max(one[i] - other[i + 2], other[i] - one[i + 2]) >= kerf - EPS for i in (0, 1))


def _inside(one: Box, other: Box) -> bool:
    return (
        one[0] >= other[0] - EPS
        and one[1] >= other[1] - EPS
        and one[2] <= other[2] + EPS
        and one[3] <= other[3] + EPS
    )


# --- what was asked for --------------------------------------------------------------------


def _all_there(plan: Plan, demands: Sequence[Demand]) -> Iterator[str]:
    placed = [p for group in plan.classes for cut in group.boards for p in cut.placed]
    missing = Counter[str]()
    for group in plan.classes:
        for each in group.missing:
            missing[each.name] += each.count
    names = {demand.name for demand in demands}
    yield from (f"{p.name} was not asked for" for p in placed if p.name not in names)
    for demand in demands:
        mine = [p for p in placed if p.name == demand.name]
        if sorted(p.copy for p in mine) != list(range(1, len(mine) + 1)):
            yield f"{demand.name}: copies {sorted(p.copy for p in mine)}"
        # The grain runs along x, and so does every part's length.
        for p in mine:
            if not -EPS <= p.place.length - demand.length < plan.rule - EPS / 2:
                yield f"{demand.name} is {p.place.length} long, not {demand.length}"
        if hasattr(demand, "stave_least"):
            yield from _panels_there(demand, mine, missing)
            continue
        for p in mine:
            if not -EPS <= p.place.width - demand.width < plan.rule - EPS / 2:
                yield f"{demand.name} is {p.place.width} wide, not {demand.width}"
        if len(mine) + missing[demand.name] != demand.count:
            yield f"{demand.name}: {len(mine)} placed, {missing[demand.name]} missing"


def _panels_there(demand: PanelDemand, staves: Sequence, missing: Counter[str]) -> Iterator[str]:
    whole = 0
    for number in range(1, demand.count + 1):
        mine = [p.place.width for p in staves if p.panel_number == number]
        for width in mine:
            if not demand.stave_least - EPS <= width <= demand.stave_most + EPS:
                yield f"{demand.name}: a stave {width} wide"
        whole += sum(width - demand.joint_loss for width in mine) >= demand.width - EPS
    if not all(1 <= p.panel_number <= demand.count for p in staves):
        yield f"{demand.name}: a stave for no panel"
    if whole + missing[demand.name] < demand.count:
        yield f"{demand.name}: {whole} whole, {missing[demand.name]} missing"
