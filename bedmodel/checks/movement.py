"""Wood movement in the bed's climate, and gaps that can catch: reckoned, no solid is measured."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from bedmodel.checks.finding import Caution, Code, Finding, Result
from bedmodel.comfort import comfort
from bedmodel.end_plan import BoardPlan
from bedmodel.movement.parts import BoardFixing, Movement, movement
from bedmodel.skeleton import Layout
from bedmodel.strength.answer import surety

if TYPE_CHECKING:
    from bedmodel.checks.probe import Probe

SPLITS = "low or some"


def check_movement(probe: Probe) -> Iterator[Result]:
    """Boards that may split, room of dry tenons in the climate, gaps by the mattress."""
    layout = probe.bed.layout
    yield from movement_results(layout, movement(layout))


def movement_results(layout: Layout, found: Movement) -> Iterator[Result]:
    """The same from what was reckoned; no solid is needed."""
    yield _splitting(layout, found)
    yield _room(layout, found)
    yield _panels(layout, found)
    yield _gaps(layout)


def _splitting(layout: Layout, found: Movement) -> Result:
    """A high risk fails, unless the sheet itself asked for all to be glued."""
    code, limit = Code.BOARD_MAY_SPLIT, f"{SPLITS} risk {_mark(layout)}"
    findings, cautions = [], []
    for fixing in found.fixings:
        if fixing.splitting.risk != "high":
            continue
        if _glued_as_asked(layout, fixing):
            cautions.append(Caution(code, (fixing.board,), fixing.glued_height, _told(fixing)))
        else:
            place = f"glued over {layout.sheet.show(fixing.glued_height)}"
            index = fixing.splitting.index
            findings.append(Finding(code, (fixing.board,), index, limit, place))
    worst = max(fixing.splitting.index for fixing in found.fixings)
    count = len(found.fixings)
    return Result(code, count, worst, "share", limit, tuple(findings), tuple(cautions))


def _glued_as_asked(layout: Layout, fixing: BoardFixing) -> bool:
    end = layout.sheet.headboard if fixing.board.startswith("head") else layout.sheet.footboard
    return end.glue == "all"


def _told(fixing: BoardFixing) -> str:
    return (
        f"glued over {fixing.glued_height:.0f} mm, it is at high risk of splitting when it dries; "
        'take glue = "zone"'
    )


def _room(layout: Layout, found: Movement) -> Result:
    """Every dry tenon slides as far as this climate moves its board."""
    code, limit = Code.BOARD_ROOM_SHORT, f"at least 0 mm {_mark(layout)}"
    findings, spare = [], []
    for fixing in found.fixings:
        for tenon in fixing.tenons:
            spare.append(tenon.has - tenon.needs)
            if not tenon.enough:
                parts = (fixing.board, f"{_plan(layout, fixing).tenons.kind}_{tenon.number}")
                findings.append(Finding(code, parts, spare[-1], limit))
    return Result(code, len(spare), min(spare, default=None), "mm", limit, tuple(findings))


def _panels(layout: Layout, found: Movement) -> Result:
    """Floating panels have room and keep in their grooves, as far as this climate moves them."""
    code, limit = Code.PANEL_ROOM_SHORT, f"at least 0 mm to spare {_mark(layout)}"
    spare = [panel.spare for panel in found.panels]
    findings = tuple(
        Finding(code, (panel.panel,), panel.spare, limit)
        for panel in found.panels
        if not panel.passed
    )
    return Result(code, len(spare), min(spare, default=None), "mm", limit, findings)


def _plan(layout: Layout, fixing: BoardFixing) -> BoardPlan:
    from bedmodel.end_plan import board_name

    return next(
        board
        for end in layout.ends
        for board in end.boards
        if board_name(end, board) == fixing.board
    )


def _mark(layout: Layout) -> str:
    """How sure the least sure figure is: of the climate, or of the wood's movement."""
    return f"[{surety(layout, (), 'coefficient_status', layout.sheet.climate.chosen.status)}]"


def _gaps(layout: Layout) -> Result:
    """Gaps beside the mattress: pointed out, never a failure."""
    code, limit = Code.GAP_CATCHES, "told"
    gaps = [each for each in comfort(layout) if each.topic.startswith("gap at")]
    cautions = tuple(
        Caution(code, (each.parameter.partition(".")[0],), each.measured, each.text)
        for each in gaps
        if each.verdict == "outside"
    )
    worst = min((each.measured for each in gaps), default=None)
    return Result(code, len(gaps), worst, "mm", limit, (), cautions)
