"""Where each piece goes when the bed is drawn taken apart.

Everything moves straight away from the middle of the bed, so that a tenon stays between
its board and its leg and a plate between its rail and its leg; the platform and what
carries it are lifted besides, since it lies between the rails.

        slats            ^
        centre rail      ^         seen from the foot end
    rail  runner    runner  rail
      <-                      ->
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bedmodel.bed import Piece
from bedmodel.frames import Vector

_AWAY = (0.34, 0.30, 0.10)  # share of a piece's distance from the middle that it moves
# Of the bed's length: the slats no higher than leaves the headboard in sight behind them.
_LIFT = {"platform": 0.16, "centre_support": 0.04}
_INWARD = {"runner": -0.07, "cleat": -0.10}  # of the bed's length, towards the middle


@dataclass(frozen=True)
class Box:
    """The box round a piece in the bed frame, its sides along the axes (mm)."""

    low: Vector
    high: Vector

    @property
    def middle(self) -> Vector:
        a, b = self.low, self.high
        return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2)

    def common(self, other: Box) -> Box:
        """What two boxes share; turned inside out along an axis where they are apart."""
        low = tuple(max(a, b) for a, b in zip(self.low, other.low, strict=True))
        high = tuple(min(a, b) for a, b in zip(self.high, other.high, strict=True))
        return Box((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def around(boxes: Sequence[Box]) -> Box:
    """The box round several."""
    low = tuple(min(box.low[i] for box in boxes) for i in range(3))
    high = tuple(max(box.high[i] for box in boxes) for i in range(3))
    return Box((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def apart(pieces: Sequence[Piece], boxes: Mapping[str, Box]) -> dict[str, Vector]:
    """How far each piece is moved, by its name (mm, bed frame)."""
    whole = around(list(boxes.values()))
    middle = whole.middle
    length = whole.high[1] - whole.low[1]
    moves = {}
    for piece in pieces:
        at = boxes[piece.name].middle
        x, y, z = (share * (at[i] - middle[i]) for i, share in enumerate(_AWAY))
        z += _LIFT.get(piece.group, 0.0) * length
        for stem, share in _INWARD.items():
            if not piece.kind.name.startswith(stem):
                continue
            # A runner lies along its rail, a cleat along its board: away from what holds it.
            axis = 0 if stem == "runner" else 1
            step = share * length * (1.0 if at[axis] > middle[axis] else -1.0)
            x, y = (x + step, y) if axis == 0 else (x, y + step)
        moves[piece.name] = (x, y, z)
    return moves
