"""The plan's words: what is cut from which board, in which order, and what is missing.

Everything is in mm in the board's frame (see ``boards``). Cuts are in the order in which
they are made: crosscuts of the board, rips of each segment, crosscuts of each strip,
trims to width. Each cut divides one rectangle that is there by then.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from bedmodel.stock.boards import Board


@dataclass(frozen=True)
class Rectangle:
    """A rectangle on a board: ``x`` and ``length`` along the grain."""

    x: float
    y: float
    length: float
    width: float


@dataclass(frozen=True)
class Cut:
    """One cut right across, or right along, the rectangle ``piece``.

    The saw takes the kerf from ``at`` on: x of a crosscut, y of a rip. ``at`` may lie
    less than a kerf before the piece: then the cut only trims its end or edge.
    """

    number: int
    kind: Literal["crosscut", "rip"]
    piece: Rectangle
    at: float


@dataclass(frozen=True)
class Placed:
    """One rough part, or one stave of a panel, on a board; ``copy`` counts from 1.

    Of a stave ``panel_number`` says which of equal panels it is for; else 0.
    """

    name: str
    copy: int
    place: Rectangle
    panel_number: int = 0


@dataclass(frozen=True)
class CutBoard:
    """One board of the plan. ``blank`` is the board once its edges are straight."""

    board: Board
    blank: Rectangle
    cuts: tuple[Cut, ...]
    placed: tuple[Placed, ...]
    offcuts: tuple[Rectangle, ...]


@dataclass(frozen=True)
class Missing:
    """What no board is left for: which part, how many, rough board feet.

    ``fits_none`` is True when not even an empty rack's boards could take one.
    Of a panel ``count`` is 1 for each panel that lacks staves.
    """

    name: str
    count: int
    board_feet: float
    length: float
    fits_none: bool


@dataclass(frozen=True)
class ClassPlan:
    """The plan of one species and thickness class.

    ``used`` and ``bound`` are board feet, or money when cost was minimised: what the
    boards of the plan measure, and what no plan with these kinds of cuts can go below;
    0 when nothing is proven. ``impossible`` is True when it is proven that no such plan
    has all parts.
    """

    species: str
    quarters_count: int
    boards: tuple[CutBoard, ...]
    used: float
    bound: float
    missing: tuple[Missing, ...] = ()
    impossible: bool = False

    @property
    def gap(self) -> float:
        """How far the plan may at most be above the least, as a share of the bound.

        Infinite when nothing is proven; 0 of a class with parts missing.
        """
        return _gap([self])

    @property
    def longest_missing(self) -> Missing | None:
        """The longest part that has no board."""
        return max(self.missing, key=lambda each: each.length, default=None)


@dataclass(frozen=True)
class Plan:
    """The whole plan; ``kerf`` is the saw's in whole steps of the rule."""

    kerf: float
    rule: float
    objective: Literal["wood", "cost"]
    classes: tuple[ClassPlan, ...]

    @property
    def feasible(self) -> bool:
        """True when every part has its place."""
        return not any(each.missing for each in self.classes)

    @property
    def used(self) -> float:
        """What all boards measure or cost, those of classes with missing parts too."""
        return sum(each.used for each in self.classes)

    @property
    def bound(self) -> float:
        """The bounds of all classes together."""
        return sum(each.bound for each in self.classes)

    @property
    def gap(self) -> float:
        """The gap of all classes together, those with parts missing left out."""
        return _gap(self.classes)


def _gap(classes: Sequence[ClassPlan]) -> float:
    used = sum(each.used for each in classes if not each.missing)
    bound = sum(each.bound for each in classes if not each.missing)
    if used <= bound + 1e-9:
        return 0.0
    return used / bound - 1 if bound > 0 else math.inf
