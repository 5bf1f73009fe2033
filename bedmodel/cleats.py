"""Cleats: blocks under the centre rail's ends, screwed to the boards of head and foot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from bedmodel.errors import InputError
from bedmodel.screwing import Joint, ScrewPlan, screw_plan
from bedmodel.spec import Sheet

GAUGES = (10, 9, 8, 7, 6, 5, 4)
BEARING_LEAST = 15.0  # the centre rail's end rests on a cleat by this


class BoardLike(Protocol):
    """As much of a board's plan as a cleat needs to know."""

    @property
    def number(self) -> int: ...
    @property
    def parameter(self) -> str: ...
    @property
    def bottom(self) -> float: ...
    @property
    def top(self) -> float: ...
    @property
    def thickness(self) -> float: ...


@dataclass(frozen=True)
class CleatPlan:
    """One cleat: which board, the board's face, its top, and its two screws (mm).

    ``inward`` is the sign of the direction from the board to the mattress;
    ``screw_x`` is the screws' distance from the centreline.
    """

    end: str
    board: str
    face_y: float
    inward: float
    top: float
    plan: ScrewPlan
    screw_x: float


def cleat_plan(
    sheet: Sheet,
    end: str,
    boards: Sequence[tuple[str, BoardLike]],
    face_y: float,
    inward: float,
    top: float,
) -> CleatPlan:
    """The cleat on that board of an end which stands behind it.

    Raises InputError where none does, or where its screws find no room.
    """
    cleat = sheet.cleat
    bottom = top - cleat.height
    behind = [(n, b) for n, b in boards if b.bottom <= bottom + 1e-9 and b.top >= top - 1e-9]
    if not behind:
        spans = " and ".join(f"{sheet.show(b.bottom)} to {sheet.show(b.top)}" for _, b in boards)
        beam = sheet.centre_rail.kind == "beam"
        raise InputError(
            "centre_rail.kind" if beam else "centre_rail.ends",
            "beam" if beam else sheet.centre_rail.ends,
            f"no board of the {end} end stands behind a cleat from {sheet.show(bottom)} to "
            f"{sheet.show(top)} above the floor; they go from {spans}",
            f'move a board, make cleat.height less, or take "{"feet" if beam else "free"}"',
        )
    name, board = behind[0]
    bearing = (
        cleat.thickness
        - sheet.centre_rail.end_gap
        - (sheet.headboard.reveal if end == "head" else sheet.footboard.reveal)
    )
    if bearing < BEARING_LEAST:
        raise InputError(
            "cleat.thickness",
            sheet.show(cleat.thickness),
            f"must be at least {sheet.at_least(cleat.thickness + BEARING_LEAST - bearing)} for the "
            "centre rail to rest on it",
            "make it more, or centre_rail.end_gap less",
        )
    plan = screw_plan(
        sheet,
        Joint(
            gauge_name="screw.runner_gauge",
            length_name="screw.runner_length",
            gauge=sheet.screw.runner_gauge,
            length=None,
            gauges=GAUGES,
            held=cleat.thickness,
            held_name="cleat.thickness",
            holder=board.thickness,
            holder_name=f"{board.parameter}.thickness",
            across=cleat.height,
            across_name="cleat.height",
            specific_gravity=sheet.bed_wood.specific_gravity,
        ),
    )
    return CleatPlan(end, name, face_y, inward, top, plan, cleat.width / 4)
