"""Sections of legs that are no rectangles, and the one below the rail that bears worst."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.legs import LegFamily, LegSection
from bedmodel.strength.timber import Section

STATIONS = 40


@dataclass(frozen=True)
class RoundSection(Section):
    """A circle, ``width`` and ``depth`` its diameter. Source: any handbook of sections."""

    @property
    def area(self) -> float:
        return math.pi / 4 * self.depth**2

    @property
    def inertia(self) -> float:
        return math.pi / 64 * self.depth**4

    @property
    def inertia_across(self) -> float:
        return self.inertia

    @property
    def modulus(self) -> float:
        return math.pi / 32 * self.depth**3

    @property
    def shear_area(self) -> float:
        return self.area * 0.9

    @property
    def torsion(self) -> float:
        return math.pi / 32 * self.depth**4


@dataclass(frozen=True)
class OctagonSection(Section):
    """A rectangle less a right triangle of side ``corner`` at each of its corners."""

    corner: float

    @property
    def area(self) -> float:
        return self.width * self.depth - 2 * self.corner**2

    @property
    def inertia(self) -> float:
        return self.width * self.depth**3 / 12 - _corners(self.corner, self.depth)

    @property
    def inertia_across(self) -> float:
        return self.depth * self.width**3 / 12 - _corners(self.corner, self.width)

    @property
    def modulus(self) -> float:
        return self.inertia / (self.depth / 2)

    @property
    def torsion(self) -> float:
        """That of the circle inside it, which is a little less."""
        return math.pi / 32 * min(self.width, self.depth) ** 4


def _corners(c: float, depth: float) -> float:
    """Four right triangles of side c, about the middle of the depth (Steiner)."""
    return 4 * (c**4 / 36 + c**2 / 2 * (depth / 2 - c / 3) ** 2)


def section_of(found: LegSection) -> Section:
    """The section, bent over its thickness: that is lengthwise in the bed."""
    if found.form == "octagon":
        return OctagonSection(found.width, found.thickness, found.corner)
    return (RoundSection if found.form == "round" else Section)(found.width, found.thickness)


def stations(legs: LegFamily, middle: float) -> list[tuple[float, Section, float]]:
    """Height, section and middle (u) from the floor to the rail's middle.

    Splayed legs count as thin as their ankle all the way up.
    """
    if legs.foot is not None:
        found = legs.section_at(0.0)
        return [(middle, section_of(found), found.middle)]
    heights = {middle * i / STATIONS for i in range(STATIONS + 1)}
    heights |= {h for h in (legs.knee, legs.knee * (1 - 1e-9)) if h < middle}
    sections = ((h, legs.section_at(h)) for h in sorted(heights))
    return [(h, section_of(found), found.middle) for h, found in sections]
