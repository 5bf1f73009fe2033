"""One place where pieces are joined, in words and in place."""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.frames import Vector


@dataclass(frozen=True)
class Meeting:
    """Pieces that one joint holds together, what it is, and where (mm, bed frame).

    ``family`` tells tenons from rail fasteners and screws; ``at`` has a place for each
    screw of a row, where it goes from one part into the other.
    """

    family: str
    title: str
    told: str
    pieces: tuple[str, ...]
    at: tuple[Vector, ...]

    @property
    def around(self) -> tuple[str, ...]:
        """The pieces that have to be seen through, or what joins them stays hidden in them."""
        return self.pieces[:2] if len(self.pieces) > 2 else self.pieces[1:]
