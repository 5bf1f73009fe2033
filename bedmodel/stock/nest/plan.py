"""The nest's words: which part lies where on which plank, and what has no plank.

All lengths are mm in the plank's frame (see ``boards``): x along the grain from its left
end, y across it from its lower edge.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.outline import Outline, Point
from bedmodel.stock.boards import Board, board_feet


@dataclass(frozen=True)
class NestPart:
    """One part to be nested: its outline in its own frame, x along the grain.

    ``quarters_count`` is the class of its plank, 0 for any; ``species`` "" for any.
    """

    name: str
    outline: Outline
    quarters_count: int = 0
    species: str = ""


@dataclass(frozen=True)
class Nesting:
    """How parts are nested (mm, degrees). Defaults: common practice, no source.

    ``gap`` lies between parts, ``margin`` between parts and ends, edges and defects;
    ``grain_deg`` is how far a part may be tilted out of the grain. A rough blank is larger
    than its part by ``blank`` all round; between two blanks there is room for the band
    saw's ``kerf``. ``turn_over`` allows mirror images, ``end_for_end`` half turns.
    """

    gap: float = 8.0
    margin: float = 4.0
    grain_deg: float = 5.0
    blank: float = 3.0
    kerf: float = 1.5
    turn_over: bool = True
    end_for_end: bool = True

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("gap", self.gap, 0.0, 100.0),
            ("margin", self.margin, 0.0, 100.0),
            ("blank", self.blank, 0.0, 50.0),
            ("kerf", self.kerf, 0.0, 20.0),
        ):
            if not low <= value <= high:
                raise InputError(f"nest {name}", value, f"must be {low:g} to {high:g} mm")
        if not 0 <= self.grain_deg <= 30:
            raise InputError("nest grain", self.grain_deg, "must be 0 to 30 degrees")
        least = 2 * self.blank + self.kerf
        if self.gap < least - 1e-9:
            raise InputError(
                "nest gap",
                f"{self.gap:g} mm",
                f"must be at least {least:g} mm, two blanks' allowance and the saw between them",
                "make it more, or the blank's allowance less",
            )
        if self.margin < self.blank - 1e-9:
            raise InputError(
                "nest margin",
                f"{self.margin:g} mm",
                f"must be at least {self.blank:g} mm, the blank's allowance",
            )


@dataclass(frozen=True)
class Placement:
    """How a part lies on its plank: turned over or not, turned anticlockwise, then shifted.

    The part's origin comes to (x, y). ``turn_deg`` is within the grain's limit of 0 or 180.
    """

    name: str
    mirrored: bool
    turn_deg: float
    x: float
    y: float

    def place(self, p: Point) -> Point:
        """A point of the part where it lies on the plank."""
        px, py = p[0], -p[1] if self.mirrored else p[1]
        angle = math.radians(self.turn_deg)
        cosine, sine = math.cos(angle), math.sin(angle)
        return (self.x + px * cosine - py * sine, self.y + px * sine + py * cosine)

    def outline(self, outline: Outline) -> Outline:
        """The part's outline where it lies."""
        return outline.mapped(self.place, mirrored=self.mirrored)


@dataclass(frozen=True)
class Proof:
    """What no nest of these parts on a plank of this width can go below.

    ``length`` is of the plank used up, ends' margins and checks in it. ``tilt_deg`` says for
    which tilts it holds; ``closed`` is True when the search came to its end.
    """

    length: float
    tilt_deg: float
    closed: bool


@dataclass(frozen=True)
class NestedPlank:
    """One plank with its parts. ``start`` to ``stop`` is used up, from one of its ends.

    ``blanks`` are the rough outlines to trace or saw to, in the order of ``placements``.
    ``proofs`` are bounds of ``length_used``, the one for all allowed tilts first.
    """

    board: Board
    placements: tuple[Placement, ...]
    blanks: tuple[tuple[Point, ...], ...]
    start: float
    stop: float
    proofs: tuple[Proof, ...] = ()

    @property
    def length_used(self) -> float:
        return self.stop - self.start

    @property
    def board_feet_used(self) -> float:
        return board_feet(self.board.quarters_count, self.board.width, self.length_used)

    @property
    def offcut(self) -> tuple[float, float]:
        """From where to where the plank is left, its far check in it; the saw stands in it."""
        left = (0.0, self.start) if self.start > 0 else (self.stop, self.board.length)
        return left

    @property
    def bound(self) -> float:
        """The proven least length for all allowed tilts; 0 when nothing is proven."""
        return max((p.length for p in self.proofs[:1]), default=0.0)

    @property
    def gap(self) -> float:
        """How far the length may be above the least, as a share of the bound; else infinite."""
        return max(self.length_used / self.bound - 1, 0.0) if self.bound > 0 else math.inf


@dataclass(frozen=True)
class Unplaced:
    """A part that has no plank: what plank would do (mm), and whether none is large enough."""

    name: str
    quarters_count: int
    species: str
    width: float
    length: float
    fits_none: bool

    @property
    def told(self) -> str:
        """In one line, for the maker."""
        why = "fits none of the planks" if self.fits_none else "finds no room left"
        of = f"{self.quarters_count}/4 " if self.quarters_count else ""
        wood = f"{self.species} " if self.species else ""
        return (
            f"{self.name} {why}: it needs a {of}{wood}plank at least {self.width:.1f} mm wide "
            f"and {self.length:.1f} mm long, clear of checks and defects"
        )


@dataclass(frozen=True)
class LegNest:
    """The planks in their order on the rack, and what has none."""

    planks: tuple[NestedPlank, ...]
    unplaced: tuple[Unplaced, ...] = ()

    @property
    def feasible(self) -> bool:
        return not self.unplaced

    @property
    def length_used(self) -> float:
        return sum(plank.length_used for plank in self.planks)

    @property
    def board_feet_used(self) -> float:
        return sum(plank.board_feet_used for plank in self.planks)


def check_parts(parts: Iterable[NestPart]) -> tuple[NestPart, ...]:
    """The parts, each with a name of its own. Raises InputError for none or for two alike."""
    parts = tuple(parts)
    if not parts:
        raise InputError("nest", None, "has no parts to nest")
    if len(parts) > MOST_PARTS:
        raise InputError("nest", len(parts), f"must be of {MOST_PARTS} parts at most", "split it")
    names = [part.name for part in parts]
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"part {name}", None, "is there twice", "give each a name of its own")
    for part in parts:
        if not part.outline.area > 0:
            raise InputError(f"part {part.name}", None, "has an outline without an area")
    return parts


MOST_PARTS = 60
