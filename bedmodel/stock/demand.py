"""What is wanted from the rack: rough parts, and panels glued up from staves.

All lengths lie along the grain. Sizes are rough ones: allowances for planing and
trimming are already in them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError

LONGEST = 8000.0
WIDEST = 3000.0
MOST_COUNT = 500
LEAST = 3.0


@dataclass(frozen=True)
class PartDemand:
    """``count`` equal rough parts, ``length`` along the grain x ``width`` (mm).

    ``quarters_count`` is the rough thickness class they come out of, 8 for 8/4;
    ``species`` "" takes any board.
    """

    name: str
    count: int
    length: float
    width: float
    quarters_count: int
    species: str = ""

    def __post_init__(self) -> None:
        _check(self.name, self.count, self.length, self.width, self.quarters_count)


@dataclass(frozen=True)
class PanelDemand:
    """``count`` equal panels glued up from staves of any widths within limits (mm).

    ``width`` is the whole panel's; a stave's rough width is ``stave_least`` to
    ``stave_most``, and of it ``joint_loss`` goes in straightening its edges.
    """

    name: str
    count: int
    length: float
    width: float
    quarters_count: int
    stave_least: float
    stave_most: float
    joint_loss: float = 0.0
    species: str = ""

    def __post_init__(self) -> None:
        _check(self.name, self.count, self.length, self.width, self.quarters_count)
        if not LEAST <= self.stave_least <= self.stave_most <= WIDEST:
            raise InputError(
                f"panel {self.name}",
                f"{self.stave_least:g} to {self.stave_most:g}",
                "must have staves of a least width and a most width that is not less",
            )
        if not 0 <= self.joint_loss < self.stave_least:
            raise InputError(
                f"panel {self.name}",
                self.joint_loss,
                "must lose less than the least stave's width in its joints",
            )


Demand = PartDemand | PanelDemand


def _check(name: str, count: int, length: float, width: float, quarters_count: int) -> None:
    if not name or not name.isprintable():
        raise InputError("part", name, "must have a name")
    if not 1 <= count <= MOST_COUNT:
        raise InputError(f"part {name}", count, f"must be 1 to {MOST_COUNT} of a kind")
    for size, most in ((length, LONGEST), (width, WIDEST)):
        if not (math.isfinite(size) and LEAST <= size <= most):
            raise InputError(f"part {name}", size, f"must be {LEAST:g} to {most:g} mm")
    if not 1 <= quarters_count <= 24:
        raise InputError(f"part {name}", quarters_count, "must be of a class of 1/4 to 24/4")
