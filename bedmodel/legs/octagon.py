"""A post that goes over to an eight-sided taper below a square joint zone.

+-------+
|       |
|       | knee       plain stops at 45 degrees, where each corner's facet begins
|\\     /|
 \\|   |/             all eight sides taper; a regular octagon where the post is square
  |   |
  +---+
  taper_width

across the foot:   c = across / (2 + sqrt 2) is cut off each corner
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from bedmodel.angles import slope_text
from bedmodel.cuts import Trim
from bedmodel.frames import Frame, Vector, cross, dot, scale, subtract
from bedmodel.legs.family import (
    Gauge,
    LegFamily,
    LegSection,
    Tops,
    Work,
    check_easing,
    check_margins,
    check_room_below,
    eased_by,
    tapered_to,
)
from bedmodel.legs.tapered import SAW
from bedmodel.spec import Sheet
from bedmodel.units import LengthUnit, format_both

CORNER = 1 / (2 + math.sqrt(2))  # of the side: what a regular octagon leaves off each corner
PLANE = "bench plane: the leg in a V-block or a cradle, hands behind the edge, arrises last"


@dataclass(frozen=True)
class OctagonLegs(LegFamily):
    """Posts with four tapered faces and four facets between them."""

    foot_width: float
    foot_thickness: float

    def section_at(self, height: float) -> LegSection:
        share = max(0.0, 1 - height / self.knee)
        width = self.floor_width - share * (self.floor_width - self.foot_width)
        thick = self.thickness - share * (self.thickness - self.foot_thickness)
        if height >= self.knee:
            return LegSection(self.floor_width / 2, width, thick)
        corner = self.corner_at(height)
        return LegSection(self.floor_width / 2, width, thick, "octagon", corner)

    def corner_at(self, height: float) -> float:
        """What a facet takes off each side of its corner, at a height below the knee."""
        first = CORNER * min(self.floor_width, self.thickness)
        last = CORNER * min(self.foot_width, self.foot_thickness)
        return last + (first - last) * height / self.knee

    def trims(self) -> tuple[Trim, ...]:
        return (*self._faces(), *self._facets())

    def _at(self, height: float, across: float, through: float) -> Vector:
        """A point (v, u, z) at a height, from the leg's middle line."""
        return (height, self.floor_width / 2 + across, self.thickness / 2 + through)

    def _faces(self) -> Iterator[Trim]:
        top, foot = (self.floor_width, self.thickness), (self.foot_width, self.foot_thickness)
        for name, side in (("outer", 1), ("joint", -1)):
            a = self._at(self.knee, side * top[0] / 2, 0.0)
            b = self._at(0.0, side * foot[0] / 2, 0.0)
            yield Trim(f"{name}_taper", self._plane(a, b, (0.0, 0.0, 1.0)))
        for name, side in (("inside", 1), ("show", -1)):
            a = self._at(self.knee, 0.0, side * top[1] / 2)
            b = self._at(0.0, 0.0, side * foot[1] / 2)
            yield Trim(f"{name}_taper", self._plane(a, b, (0.0, 1.0, 0.0)))

    def _facets(self) -> Iterator[Trim]:
        for i, (s, t) in enumerate(((1, 1), (1, -1), (-1, 1), (-1, -1)), 1):

            def arris(height: float, s: int = s, t: int = t) -> Vector:
                section, cut = self.section_at(height), self.corner_at(height)
                across = section.width / 2 - cut
                return self._at(height, s * across, t * section.thickness / 2)

            along: Vector = (0.0, float(s), float(-t))
            facet = self._plane(arris(self.knee), arris(0.0), along)
            corner = self._at(self.knee, s * self.floor_width / 2, t * self.thickness / 2)
            # At 45 degrees, down and in from the corner.
            stop = Frame.from_zx(corner, (-math.sqrt(2), float(s), float(t)), along)
            yield Trim(f"facet_{i}", facet, stop)

    def _plane(self, a: Vector, b: Vector, along: Vector) -> Frame:
        """The plane through two points and along a direction, its z away from the leg."""
        z = cross(subtract(a, b), along)
        out = dot(z, subtract(a, self._at(a[0], 0.0, 0.0)))
        return Frame.from_zx(a, z if out > 0 else scale(z, -1.0), along)

    def gauges(self) -> tuple[Gauge, ...]:
        knee, foot = self.corner_at(self.knee), self.corner_at(0.0)
        ends = "each corner, both ways"
        return (
            Gauge("the foot end, up the leg", "tapers and facets begin", self.knee),
            Gauge("across the foot end, in its middle", "width left", self.foot_width),
            Gauge("across the foot end, in its middle", "thickness left", self.foot_thickness),
            Gauge(f"{ends}, where the facets begin", "arris lines", knee),
            Gauge(f"{ends}, on the tapered foot end", "arris lines", foot),
        )

    def work(self, unit: LengthUnit) -> Work:
        both = partial(format_both, unit=unit)
        rows = []
        for name, full, foot in (
            ("width", self.floor_width, self.foot_width),
            ("thickness", self.thickness, self.foot_thickness),
        ):
            off = (full - foot) / 2
            turned = math.degrees(math.atan2(off, self.knee))
            rows.append(
                f"{name}: {both(off)} off each side, {turned:.2f} deg, {slope_text(turned, unit)}"
            )
        first, last = self.corner_at(self.knee), self.corner_at(0.0)
        return Work(
            "Taper the legs to eight sides",
            "saw and bench plane",
            (
                "saw the four tapers on the taper sled, opposite sides at one setting; tape the "
                "offcuts back on between",
                "draw the arris lines with a gauge, saw the stops at 45 degrees by hand, just to "
                "the lines, and plane the facets down to them",
            ),
            (
                f"tapers begin {both(self.knee)} above the foot end",
                *rows,
                f"arris lines {both(first)} from each corner at the stop, {both(last)} at the foot",
                "facets lie at 45 deg between faces",
            ),
            (SAW, PLANE),
        )


def octagon(sheet: Sheet, tops: Tops, knee: float) -> OctagonLegs:
    """Eight-sided tapers. Raises InputError for a taper that is none, or too steep."""
    del tops
    leg = sheet.leg
    check_margins(sheet)
    check_easing(sheet, leg.top_width)
    check_room_below(sheet, knee)
    width = tapered_to(sheet, "taper_width", leg.top_width, knee)
    share = width / leg.top_width
    return OctagonLegs(
        0.0,
        leg.top_width,
        knee,
        None,
        eased_by(sheet),
        width,
        tapered_to(sheet, "taper_depth", leg.thickness, knee, share=share),
        thickness=leg.thickness,
        sharp=frozenset({"joint", "floor"}),
    )
