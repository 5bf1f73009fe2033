"""What every style of leg gives: one outline family that the four legs of a bed share.

Seen from the mattress at a right-hand leg; u is outward from the joint face, v up from
the floor. The foot leg is the head leg cut lower:

        v
        |
        +-----------+ top
        | joint     | outer       knee   where the joint zone ends: the lowest board or
        | face      |                    rail, less leg.below_boards; what a style does
   knee +           |                    to a leg, it does below
        |           |
    ----+-----------+----> u      z runs through the thickness, to the inside face
        0         floor_width
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from bedmodel.cuts import Trim, Turning
from bedmodel.errors import InputError
from bedmodel.outline import Outline, Point
from bedmodel.spec import Sheet
from bedmodel.units import LengthUnit

Tops = tuple[float, float]
Form = Literal["rectangle", "octagon", "round"]
LEAST_BELOW = 30.0  # less height below the joint is no room for a shaped foot
STEEPEST = 0.5  # a taper, over its length: more is short grain at its foot


@dataclass(frozen=True)
class Foot:
    """Inside curve, ankle and flare of a splayed leg, all in (s, q).

    s runs down the outer edge from where it meets the floor (so it is negative
    above the floor), q from the outer edge towards the inside, square to it.
    """

    curve_radius: float
    knee: Point
    curve_end: float
    flare_start: float
    flare_radius: float
    ankle: float
    tip: Point

    @property
    def curve_sweep(self) -> float:
        return math.acos(1 - (self.knee[1] - self.ankle) / self.curve_radius)

    @property
    def flare_sweep(self) -> float:
        return math.acos(1 - (self.tip[1] - self.ankle) / self.flare_radius)


@dataclass(frozen=True)
class LegSection:
    """The least section of a leg at a height: its middle in u, its sides (mm), its form.

    ``corner`` is what an octagon has off both sides of each of its corners.
    """

    middle: float
    width: float
    thickness: float
    form: Form = "rectangle"
    corner: float = 0.0


@dataclass(frozen=True)
class Gauge:
    """One size to mark or to work to: from where it is measured, what it is, how much (mm)."""

    reference: str
    what: str
    value: float


@dataclass(frozen=True)
class LegFamily:
    """Numbers that the four legs share (mm, radians); by itself, straight posts.

    ``floor_width`` is how far out a leg reaches from the joint face, on the floor;
    ``sharp`` names the outline's edges whose arrises are not eased.
    """

    splay: float
    floor_width: float
    knee: float
    foot: Foot | None
    easing_size: float
    thickness: float = field(default=0.0, kw_only=True)
    sharp: frozenset[str] = field(default=frozenset({"joint"}), kw_only=True)

    def width_at(self, height: float) -> float:
        """From joint face to outer edge at a height above the floor, in the joint zone."""
        return self.floor_width - height * math.tan(self.splay)

    def outline(self, top: float, end: str = "head") -> Outline:
        """The leg's outline in (u, v), its top at ``top`` above the floor; of which end's leg."""
        corners = [(0.0, 0.0), (self.floor_width, 0.0), (self.width_at(top), top), (0.0, top)]
        names = ["floor", "outer", "top", "joint"]
        return Outline.of([(p, 0.0, n) for p, n in zip(corners, names, strict=True)])

    @property
    def joint_start(self) -> float:
        """Height at which the joint face begins, from which its marks are measured."""
        return 0.0

    @property
    def datum(self) -> str:
        """That place in words."""
        return "foot end" if self.joint_start == 0 else "knee"

    def section_at(self, height: float) -> LegSection:
        """The wood at a height, as far as it bears."""
        width = self.width_at(height)
        return LegSection(width / 2, width, self.thickness)

    def reworded(self, refused: InputError) -> InputError:
        """A refusal by those who look at the legs, in words that hold for this style."""
        return refused

    @property
    def toe(self) -> str:
        """The parameter that says how far the foot stands out."""
        return "leg.top_width"

    @property
    def notes(self) -> tuple[str, ...]:
        """What is said where the legs are set out."""
        return ()

    def trims(self) -> tuple[Trim | Turning, ...]:
        """What is sawn or turned off the pushed outline of a head leg, in (v, u, z)."""
        return ()

    def gauges(self) -> tuple[Gauge, ...]:
        """The sizes of what is shaped after the joints, from the foot end and across it."""
        return ()

    def work(self, unit: LengthUnit) -> Work | None:
        """How the part below the joint is shaped once the joints are cut; None if it is not."""
        return None


@dataclass(frozen=True)
class Work:
    """A step of shaping: its title, the machine, what to do, how it is set, the cautions."""

    title: str
    place: str
    does: tuple[str, ...]
    settings: tuple[str, ...]
    cautions: tuple[str, ...]


def eased_by(sheet: Sheet) -> float:
    return sheet.leg.edge_size if sheet.leg.edge != "square" else 0.0


def check_margins(sheet: Sheet) -> None:
    """The eased edges of a leg must end beside its joint face, not in it."""
    eased = eased_by(sheet)
    for name, value in (
        ("above_boards", sheet.leg.above_boards),
        ("below_boards", sheet.leg.below_boards),
    ):
        if value < eased:
            raise InputError(
                f"leg.{name}",
                sheet.show(value),
                f"must be at least leg.edge_size, {sheet.at_least(eased)}, or the eased edge cuts "
                "into the joint face",
                "make it more or leg.edge_size less",
            )


def check_easing(sheet: Sheet, *sides: float) -> None:
    """The eased arrises leave half of each side flat."""
    least = min(sheet.leg.thickness, *sides)
    if 2 * eased_by(sheet) > least / 2:
        raise InputError(
            "leg.edge_size",
            sheet.show(sheet.leg.edge_size),
            f"must be at most {sheet.at_most(least / 4)} on this leg",
            "make it less",
        )


def check_room_below(sheet: Sheet, knee: float) -> None:
    """A shaped foot needs some height below the joint."""
    if knee < LEAST_BELOW:
        raise InputError(
            "leg.style",
            sheet.leg.style,
            f"the legs have {sheet.show(max(knee, 0.0))} below the joint, must be at least "
            f"{sheet.at_least(LEAST_BELOW)}",
            'take leg.style "straight", or raise the lowest board and the side rail',
        )


def tapered_to(
    sheet: Sheet, name: str, start: float, knee: float, *, least: float = 15.0, share: float = 0.6
) -> float:
    """The size on the floor of a taper from ``start`` at the knee; if not given, a share of it.

    Raises InputError for one that is none, or too steep.
    """
    given: float | None = getattr(sheet.leg, name)
    low, high = max(least, start - STEEPEST * knee), start - 1.0
    if given is None:
        return min(max(share * start, low), high)
    if not low <= given <= high:
        raise InputError(
            f"leg.{name}",
            sheet.show(given),
            f"must be {sheet.at_least(low)} to {sheet.at_most(high)} on this leg",
            "set it within the range, or leave it out to have it worked out",
        )
    return given
