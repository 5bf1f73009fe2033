"""Volumes of rail fasteners, and of the holes for them, by hand arithmetic from a row's numbers.

Nothing here uses the package's geometry: only the row as the maker measured it, the
sheet, and the yaw of the rails. Lengths in mm, angles in radians.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from bedmodel.hardware import Bolt, Bracket, Hooked, HookPlate
from bedmodel.spec import Sheet

Row = HookPlate | Bracket | Bolt

# Shank diameter of wood screws by gauge: Wood Handbook (FPL-GTR-282), Table 8-9, and
# specific gravity at 12 % moisture content, Table 5-3; both typed again from there.
SHANK = {8: 4.17, 10: 4.83}
GRAVITY = {"red-maple": 0.54, "white-ash": 0.60, "yellow-birch": 0.62, "black-walnut": 0.55}

# What the program adds of its own, as its parameters' help and docstrings tell a maker.
LIFT = 1.0  # a rail comes up this much higher than its hooks' drop
SUNK = 0.5  # a bolt's head lies this deep under the leg's face
ROUND_THE_WASHER = 1.0  # wider the counterbore is than the washer
ROUND_A_DOWEL = 0.1  # wider its hole is


def disc(diameter: float) -> float:
    return math.pi / 4 * diameter**2


def stadium(length: float, width: float, ends: str = "round") -> float:
    lost = {"round": (1 - math.pi / 4) * width**2, "square": 0.0}[ends]
    return length * width - lost


def crossing(thick: float, thin: float, skew: float = 0.0) -> float:
    """What two cylinders have in common, whose axes meet, ``skew`` off square.

    At the height y the two are strips that cross: 2 sqrt(R2 - y2) by 2 sqrt(r2 - y2) over
    the sine of their angle. Summed over y = r sin(u), where the sum is smooth.
    """
    big, small = thick / 2, thin / 2
    nodes, weights = np.polynomial.legendre.leggauss(48)
    u = nodes * math.pi / 2
    strip = 4 * np.sqrt(big**2 - (small * np.sin(u)) ** 2) * (small * np.cos(u)) ** 2
    return float(weights @ strip) * math.pi / 2 / math.cos(skew)


def pilot(row: Hooked, sheet: Sheet) -> float:
    """Diameter of a pilot hole: 70 to 90 % of the root by gravity, the next drill below."""
    share = 0.7 + 0.2 * (GRAVITY[sheet.wood.species] - 0.42) / (0.57 - 0.42)
    wanted = min(max(share, 0.7), 0.9) * 2 / 3 * SHANK[row.screw_gauge]
    step = 0.1 if sheet.design.unit == "mm" else 25.4 / 64
    return math.floor(wanted / step) * step


def screw_hole(row: Hooked) -> float:
    """Diameter of the hole through metal: the shank and 0.2 mm, the next tenth above."""
    return math.ceil((SHANK[row.screw_gauge] + 0.2) * 10) / 10


@dataclass(frozen=True)
class Fastener:
    """A row in its wood: ``yaw`` is that of the right rail, against the foot's end."""

    row: Row
    sheet: Sheet
    yaw: float

    # --- wood that is cut away

    def out_of_leg(self) -> float:
        row, end_room = self.row, self.sheet.fastener.end_room
        if isinstance(row, Bolt):
            sunk = row.washer_thickness + row.head_height + SUNK
            bored = disc(row.washer + ROUND_THE_WASHER) * sunk
            bored += disc(row.diameter + row.play) * (self.sheet.leg.thickness - sunk)
            return bored + 2 * disc(row.dowel + ROUND_A_DOWEL) * (row.dowel_in_leg + end_room)
        # A pocket gives the hook its drop and the lift both ways, and in its round ends the
        # hook's corners theirs.
        r = row.pocket_width / 2
        corner = r - math.sqrt(r**2 - (row.hook_width / 2) ** 2)
        high = row.neck + 2 * (row.drop + LIFT + max(end_room, corner))
        deep = row.projection + end_room - row.thickness
        pockets = row.hooks * stadium(high, row.pocket_width) * deep
        return self._seat() + pockets + self._pilots(row.leg_screw)

    def out_of_rail(self) -> float:
        """At both ends together."""
        row = self.row
        if isinstance(row, Bolt):
            return 2 * self._bolt_in_rail(row)
        if isinstance(row, HookPlate):
            return 2 * (self._seat() + self._pilots(row.rail_screw))
        return self._bracket_in_rail(row, self.yaw) + self._bracket_in_rail(row, -self.yaw)

    def _seat(self) -> float:
        row, fit = self.row, self.sheet.fastener.fit
        assert isinstance(row, Hooked)
        return stadium(row.length + 2 * fit, row.width + 2 * fit, row.ends) * row.thickness

    def _pilots(self, length: float) -> float:
        row = self.row
        assert isinstance(row, Hooked)
        return row.screws * disc(pilot(row, self.sheet)) * (length - row.thickness)

    def _bolt_in_rail(self, row: Bolt) -> float:
        """One end of two. The bolt runs square to the end, so by the yaw it comes nearer to the
        inside face at one end of the rail as it goes from it at the other; here it does neither.
        """
        given, rail = self.sheet.fastener, self.sheet.side_rail
        sunk = row.washer_thickness + row.head_height + SUNK
        # Under its head: washer, leg, and the rest in the rail.
        in_rail = row.length - row.washer_thickness - (self.sheet.leg.thickness - sunk)
        bolt, barrel = row.diameter + row.play, row.barrel + 2 * given.fit
        holes = disc(bolt) * (in_rail + given.end_room)
        holes += disc(barrel) * (rail.thickness / 2 + row.barrel_length / 2)
        holes -= crossing(barrel, bolt, self.yaw)
        deep = row.dowel_length - row.dowel_in_leg + given.end_room
        return holes + 2 * disc(row.dowel + ROUND_A_DOWEL) * deep

    def _bracket_in_rail(self, row: Bracket, lean: float) -> float:
        """The flanges' recess round a corner ``lean`` more than square, and the face's pilots.

        In plan the two strips are ``t`` deep; each gains half the corner's wedge, and what
        both have is a rhombus.
        """
        t, fit = row.thickness, self.sheet.fastener.fit
        plan = t * (row.end_flange + fit) + t * (row.face_flange + fit)
        plan += t**2 * math.tan(lean) - t**2 / math.cos(lean)
        rounds = 4 * (1 - math.pi / 4) * row.corner**2 * t
        bored = 2 * row.face_screws * disc(pilot(row, self.sheet)) * (row.face_screw - t)
        return plan * (row.length + 2 * fit) - rounds + bored

    # --- metal, and dowels

    def piece(self, word: str, lean: float = 0.0) -> float:
        """The volume of one piece; a bracket's corner is ``lean`` more than square."""
        row = self.row
        if isinstance(row, Bolt):
            return _bolt_piece(row, word)
        if word == "slot_plate":
            slots = row.hooks * (row.neck + row.drop + LIFT) * (row.hook_width + 2 * row.slot_play)
            return self._plate() - slots * row.thickness
        hooks = row.hooks * _hook(row) * row.hook_width
        if isinstance(row, HookPlate):
            assert word == "hook_plate"
            return self._plate() + hooks
        assert word == "rail_bracket"
        return _angle(row, lean) + hooks

    def _plate(self) -> float:
        row = self.row
        assert isinstance(row, Hooked)
        face = stadium(row.length, row.width, row.ends) - row.screws * disc(screw_hole(row))
        return face * row.thickness


def _hook(row: Hooked) -> float:
    """Its side view: the neck, and the nose whose near face leans by the wedge."""
    lean = row.drop * math.tan(math.radians(row.wedge))
    return row.neck * row.projection + row.drop * (row.projection - row.thickness - lean / 2)


def _angle(row: Bracket, lean: float) -> float:
    """Two flanges that begin half their thickness from the corner, in plan as strips."""
    t, half = row.thickness, row.thickness / 2
    end = Polygon([(half, 0), (row.end_flange, 0), (row.end_flange, t), (half, t)])
    # The face's strip, square to it: the face itself leans back over the corner by ``lean``.
    c, s = math.cos(lean), math.sin(lean)
    along, inwards = (-s, c), (c, s)
    face = Polygon(
        [
            (x * along[0] + d * inwards[0], x * along[1] + d * inwards[1])
            for x, d in ((half, 0), (row.face_flange, 0), (row.face_flange, t), (half, t))
        ]
    )
    rounds = 4 * (1 - math.pi / 4) * row.corner**2 * t
    bored = 2 * row.face_screws * disc(screw_hole(row)) * t
    return float(end.union(face).area) * row.length - rounds - bored


def _bolt_piece(row: Bolt, word: str) -> float:
    if word == "bolt":
        return disc(row.head) * row.head_height + disc(row.diameter) * row.length
    if word == "washer":
        return (disc(row.washer) - disc(row.diameter + row.play / 2)) * row.washer_thickness
    if word == "barrel_nut":
        thread = row.diameter + min(row.play, row.diameter / 10)
        return disc(row.barrel) * row.barrel_length - crossing(row.barrel, thread)
    assert word == "alignment_dowel"
    return disc(row.dowel) * row.dowel_length
