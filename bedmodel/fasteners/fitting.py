"""What one fastener asks for at one end of a rail: cuts, metal, dowels and screws."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bedmodel.cuts import Cut, Mortise, Role, slot
from bedmodel.frames import Frame, Vector
from bedmodel.outline import Outline
from bedmodel.screws import pilot_diameter, screw
from bedmodel.shape import Shape
from bedmodel.spec import Sheet

INTO_LEG = Frame()
INTO_RAIL = Frame.from_zx((0.0, 0.0, 0.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0))


@dataclass(frozen=True)
class Loose:
    """One loose piece of a fastener: metal, or a dowel of wood; ``frame`` in the joint frame."""

    name: str
    shape: Shape
    frame: Frame
    metal: str | None


@dataclass(frozen=True)
class ScrewPlace:
    """One wood screw: where its head lies and which way it goes, in the joint frame.

    ``before`` is how much of its length is in metal, ``pilot`` names its hole.
    """

    pilot: str
    gauge: int
    length: float
    frame: Frame
    before: float


@dataclass(frozen=True)
class Hook:
    """One hook: the height of its slot's lower edge, and what it needs (mm, joint frame)."""

    seat: float
    neck: float
    drop: float
    width: float
    projection: float


@dataclass(frozen=True)
class Fitting:
    """All that belongs to one fastener at one corner of the bed, in the joint frame."""

    leg_cuts: tuple[Cut, ...]
    rail_cuts: tuple[Cut, ...]
    loose: tuple[Loose, ...]
    screws: tuple[ScrewPlace, ...]
    hooks: tuple[Hook, ...] = ()


@dataclass(frozen=True)
class Wood:
    """The wood that a fastener is let into, as its geometry needs to know it (mm).

    ``face`` is the face frame in the joint frame; ``pilot_*`` are diameters of
    pilot holes by gauge.
    """

    sheet: Sheet
    face: Frame
    leg_thickness: float
    rail_thickness: float
    fit: float
    end_room: float

    def pilot(self, gauge: int, parameter: str) -> float:
        gravity = self.sheet.bed_wood.specific_gravity
        return pilot_diameter(screw(gauge, parameter), gravity, self.sheet.design.unit)


def hole(
    name: str,
    frame: Frame,
    diameter: float,
    depth: float,
    *,
    pilot: bool = False,
    through: bool = False,
) -> Mortise:
    """A round hole."""
    role: Role = "pilot" if pilot else "hole"
    return Mortise(name, frame, diameter, diameter, depth, "round", role, through=through)


def at(frame: Frame, point: Vector) -> Frame:
    """The frame, with its origin moved to a point given in it."""
    return frame.moved(frame.direction(point))


def evenly(count: int, span: float) -> list[float]:
    """Places of ``count`` things over a span round the middle; of one, the middle."""
    if count == 1:
        return [0.0]
    return [span * (i / (count - 1) - 0.5) for i in range(count)]


def cylinder(diameter: float, length: float) -> Shape:
    """A round bar along the part's x."""
    return Shape(length, diameter, diameter, _disc(diameter), face="yz")


def _disc(diameter: float) -> Outline:
    half = diameter / 2
    return disc(diameter).mapped(lambda p: (p[0] + half, p[1] + half))


def disc(diameter: float) -> Outline:
    """A circle round the origin."""
    return slot(diameter, diameter, "round")


def of_fastener(cuts: list[Cut], fastener: str) -> tuple[Cut, ...]:
    """The cuts, told to belong to one fastener."""
    return tuple(replace(cut, name=f"{fastener}_{cut.name}", family=fastener) for cut in cuts)
