"""Where the boards of a head or foot end lie, and what is between and on them."""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.end_spec import EndKind
from bedmodel.ends.boards import WORDS, End
from bedmodel.ends.record import CapPlan, Fill
from bedmodel.frames import Vector
from bedmodel.lean import UPRIGHT, Lean
from bedmodel.tenons import TenonPlan


@dataclass(frozen=True)
class BoardPlan:
    """One board of an end: where it lies and how it is joined."""

    number: int
    parameter: str
    bottom: float
    width: float
    thickness: float
    tenons: TenonPlan

    @property
    def top(self) -> float:
        return self.bottom + self.width


@dataclass(frozen=True)
class EndPlan:
    """The head end or the foot end: two legs and the boards between them.

    ``inside_y`` is the plane of the legs' inside faces, ``inward`` the sign of
    the direction from there to the mattress, ``joint_x`` the distance of the
    joint faces from the centreline. All of it is in the end's upright frame, heights
    along its legs; ``lean`` takes that to the bed.
    """

    end: End
    inside_y: float
    inward: float
    joint_x: float
    leg_top: float
    reveal: float
    boards: tuple[BoardPlan, ...]
    lean: Lean = UPRIGHT
    kind: EndKind = "boards"
    fills: tuple[Fill, ...] = ()
    cap: CapPlan | None = None

    @property
    def towards_mattress(self) -> Vector:
        """Square to the legs' inside faces, in the bed."""
        return self.lean.direction((0.0, self.inward, 0.0))

    @property
    def below_floor(self) -> float:
        """How far the legs go on along themselves below the outline's own floor (mm)."""
        return -self.lean.along(0.0)

    @property
    def top(self) -> float:
        """The highest of legs and cap, along the legs."""
        return self.leg_top if self.cap is None else max(self.leg_top, self.cap.top)

    @property
    def top_height(self) -> float:
        """Plumb height of the highest corner of legs and cap."""
        inside = self.lean.plumb(self.leg_top)
        if self.cap is None:
            return inside
        # What of the cap stands inside the legs' inside faces is highest there.
        inner = self.cap.inner * self.inward
        return max(inside, self.lean.plumb(self.cap.top, max(0.0, inner)))


def board_name(end: EndPlan, board: BoardPlan) -> str:
    """The piece's name: ``headboard_board_1`` or, of one board only, ``footboard_board``.

    What the board is called goes by the end's kind: a board, a panel, a rail, a stretcher.
    """
    number = f"_{board.number}" if len(end.boards) > 1 else ""
    return f"{end.end}board_{WORDS[end.kind]}{number}"
