"""Sizes and volumes of every piece by hand arithmetic, from a sheet's numbers alone.

Nothing here uses the package's skeleton, outlines or parts: only the parameters
as the maker wrote them and the nominal mattress. Lengths in mm, angles in degrees
in the sheet and radians here. Legs are drawn in (u, v): u outward from the joint
face, v up from the floor.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bedmodel.sheets import check_sheet, load_sheet
from bedmodel.spec import Board, BoardEnd, Sheet
from tests.closed_fasteners import Fastener, Row

Vec = NDArray[np.float64]

# No two lengths, thicknesses, edge sizes, reveals or clearances are the same here,
# so that a sum with the wrong term in it cannot come out right by chance.
ODD: dict[str, Any] = {
    "design": {"name": "odd"},
    "mattress": {"thickness": 213, "side_clearance": 12.5, "end_clearance": 27},
    "height": {"platform": 331},
    "wood": {"species": "black-walnut", "slats": "white-ash"},
    "frame": {"stance": 31},
    "leg": {
        "style": "splayed",
        "thickness": 53,
        "top_width": 83,
        "splay": 6.3,
        "ankle_width": 79,
        "foot_width": 87,
        "curve_diameter": 307,
        "flare_diameter": 103,
        "above_boards": 19,
        "below_boards": 17.5,
        "edge": "chamfer",
        "edge_size": 3.6,
    },
    "headboard": {
        "reveal": 4.5,
        "edge": "chamfer",
        "edge_size": 2.2,
        "board": [
            {"width": 217, "thickness": 31, "above_platform": 246},
            {"width": 149, "thickness": 36, "above_platform": 61},
        ],
    },
    "footboard": {
        "reveal": 7,
        "edge": "roundover",
        "edge_size": 4.1,
        "board": [{"width": 181, "thickness": 33, "above_platform": -112}],
    },
    "side_rail": {
        "width": 157,
        "thickness": 26,
        "above_platform": 43,
        "reveal": 3.5,
        "edge": "roundover",
        "edge_size": 5.3,
    },
    "runner": {
        "width": 47,
        "height": 34,
        "end_gap": 6.5,
        "edge": "roundover",
        "edge_size": 1.7,
    },
    "slat": {
        "width": 59,
        "thickness": 18.5,
        "gap_wanted": 57,
        "end_clearance": 2.6,
        "bearing_least": 16,
        "edge": "chamfer",
        "edge_size": 1.3,
    },
    "centre_rail": {
        "width": 46,
        "height": 71,
        "end_gap": 9.5,
        "edge": "roundover",
        "edge_size": 2.9,
    },
    "support_foot": {
        "size": 49,
        "bay": 730,
        "end_inset": 165,
        "edge": "roundover",
        "edge_size": 3.1,
    },
    "tenon": {
        "count": 2,
        "thickness": 10.5,
        "width": 38,
        "embedment": 29,
        "cheek_clearance": 0.15,
        "edge_clearance": 0.7,
        "end_gap": 1.9,
        "wall_least": 6.4,
    },
}

# Change of width per point of moisture content, flat-sawn: Wood Handbook (FPL-GTR-282),
# Table 13-5, typed again from there.
TANGENTIAL = {
    "red-maple": 0.00289,
    "white-ash": 0.00274,
    "yellow-birch": 0.00338,
    "black-walnut": 0.00274,
}

DESIGNS = ("campion", "hawthorn", "sorrel", "odd")


# Without the platform's screws: their holes are looked at by themselves.
PLAIN = {"runner": "glue", "slat": "loose"}


def design(name: str, size: str | None = None, rails: str = "hook_plates", **leg: Any) -> Sheet:
    """One of the examples or the odd sheet, in a size; ``leg`` changes its legs."""
    if name == "odd":
        table = {**ODD, "leg": {**ODD["leg"], **leg}}
        for part, joint in {"side_rail": rails, **PLAIN}.items():
            table[part] = {**ODD[part], "joint": joint}
        if size is not None:
            table["mattress"] = {**ODD["mattress"], "size": size}
        return check_sheet(table)
    changes = [f"leg.{key}={value}" for key, value in leg.items()]
    changes += [f"{part}.joint={joint}" for part, joint in PLAIN.items()]
    return load_sheet(name, size=size, changes=[*changes, f"side_rail.joint={rails}"])


# --- sections and strips ------------------------------------------------------------------


def arris_loss(style: str, size: float) -> float:
    """Area that easing takes off one square arris."""
    return {"square": 0.0, "chamfer": size**2 / 2, "roundover": (1 - math.pi / 4) * size**2}[style]


def strip(length: float, width: float, thickness: float, style: str, size: float) -> float:
    """A bar with four eased long arrises.

    Its ends may slant, so long as they are parallel: each line along the bar is
    ``length`` long all the same.
    """
    return length * (width * thickness - 4 * arris_loss(style, size))


def stadium(length: float, width: float) -> float:
    """A slot with round ends, ``length`` overall."""
    return (length - width) * width + math.pi * width**2 / 4


# --- what the sheet's numbers come to --------------------------------------------------------


@dataclass(frozen=True)
class Tenons:
    """The loose tenons at each end of one board: ``heights`` above the board's lower edge."""

    heights: tuple[float, ...]
    thickness: float
    width: float
    in_board: float
    in_leg: float

    @property
    def count(self) -> int:
        return len(self.heights)


@dataclass(frozen=True)
class Chosen:
    """What is not worked out here: the rails' fastener, and where it leaves tenons room.

    ``beside`` holds the tenons' heights above their board's lower edge and their width,
    of the boards that stand beside the rails, by end and number.
    """

    row: Row | None
    beside: Mapping[tuple[str, int], tuple[tuple[float, ...], float]]


class Numbers:
    """The sizes of one bed."""

    def __init__(self, sheet: Sheet, mattress: tuple[float, float], chosen: Chosen) -> None:
        self.sheet = sheet
        self.chosen = chosen
        width, length = mattress
        self.wide = width > sheet.centre_rail.over
        self.clear = length + sheet.mattress.end_clearance
        self.foot_width = width + 2 * sheet.mattress.side_clearance
        self.head_width = self.foot_width + sheet.frame.stance
        top, thick = sheet.height.mattress_top, sheet.mattress.thickness
        self.platform = sheet.height.platform or (top or 0) - (thick or 0)
        self.rail_top = self.platform + sheet.side_rail.above_platform
        self.runner_top = self.platform - sheet.slat.thickness

    @property
    def rail_length(self) -> float:
        return math.sqrt(self.clear**2 + (self.sheet.frame.stance / 2) ** 2)

    @property
    def runner_length(self) -> float:
        # Square ends between slanted planes: at the head the corner away from the rail
        # comes nearest to the leg, at the foot the one on the rail.
        runner = self.sheet.runner
        gaps = 2 * runner.end_gap / math.cos(self.yaw)
        return self.rail_length - gaps - runner.width * math.tan(self.yaw)

    @property
    def slats(self) -> tuple[int, float]:
        """Count and gap, by trying every count."""
        slat = self.sheet.slat
        gaps = {n: (self.clear - n * slat.width) / (n + 1) for n in range(2, 100)}
        allowed = {n: g for n, g in gaps.items() if slat.gap_least <= g <= slat.gap_greatest}
        count = min(allowed, key=lambda n: abs(allowed[n] - slat.gap_wanted))
        return count, allowed[count]

    @property
    def slat_length(self) -> float:
        # To the pocket's width at the last slat's foot-side edge, one gap from the foot.
        _, gap = self.slats
        narrowest = self.foot_width + self.sheet.frame.stance * gap / self.clear
        return narrowest - 2 * self.sheet.slat.end_clearance

    def end(self, name: str) -> BoardEnd:
        return self.sheet.headboard if name == "head" else self.sheet.footboard

    def board_length(self, name: str) -> float:
        pocket = self.head_width if name == "head" else self.foot_width
        return pocket - 2 * self.sheet.side_rail.reveal

    def leg_top(self, name: str) -> float:
        boards = self.end(name).board
        return (
            self.platform
            + max(b.above_platform + b.width for b in boards)
            + self.sheet.leg.above_boards
        )

    @property
    def knee(self) -> float:
        boards = [*self.sheet.headboard.board, *self.sheet.footboard.board]
        lowest_board = self.platform + min(b.above_platform for b in boards)
        rail_bottom = self.rail_top - self.sheet.side_rail.width
        return min(lowest_board, rail_bottom) - self.sheet.leg.below_boards

    def leg_width(self, height: float) -> float:
        """From the joint face to the outer edge."""
        leg = self.sheet.leg
        if leg.style == "straight":
            return leg.top_width
        lean = math.tan(math.radians(leg.splay))
        return leg.top_width + (self.leg_top("head") - height) * lean

    @property
    def yaw(self) -> float:
        return math.asin(self.sheet.frame.stance / 2 / self.rail_length)

    @property
    def fastener(self) -> Fastener | None:
        row = self.chosen.row
        return None if row is None else Fastener(row, self.sheet, self.yaw)

    def tenons(self, name: str, number: int) -> Tenons:
        """As the sheet gives them, else by the rules of thumb of the parameters' help."""
        given, board = self.sheet.tenon, self.end(name).board[number]
        step = 25.4 / 16 if self.sheet.design.unit == "inch" else 1.0
        thickness = given.thickness or math.floor(board.thickness / 3 / step) * step
        if (name, number) in self.chosen.beside:
            heights, width = self.chosen.beside[name, number]
        else:
            count = given.count or max(1, round(board.width / 125))
            heights = tuple((i + 0.5) * board.width / count for i in range(count))
            width = given.width or 0.55 * board.width / count
        deep = given.embedment or 3 * thickness
        # At the top of the topmost slot the leg is narrowest.
        slack = self.slacks(board, heights)[-1]
        top = board.above_platform + self.platform + heights[-1]
        narrow = self.leg_width(top + width / 2 + given.edge_clearance + slack)
        lean = math.radians(self.sheet.leg.splay) if self.sheet.leg.style == "splayed" else 0.0
        room = narrow - given.wall_least / math.cos(lean) - given.end_gap
        return Tenons(heights, thickness, width, deep, min(deep, room))

    def slacks(self, board: Board, heights: tuple[float, ...]) -> list[float]:
        """How much longer each mortise in the leg is at each end: the middle tenon is glued."""
        if board.width <= 100:
            return [0.0] * len(heights)
        moves = TANGENTIAL[self.sheet.wood.species] * 5
        glued = heights[(len(heights) - 1) // 2]
        return [abs(height - glued) * moves for height in heights]

    # volumes

    def slot(self, t: Tenons, depth: float, slack: float = 0.0) -> float:
        """One mortise for such a tenon."""
        given = self.sheet.tenon
        opening = stadium(
            t.width + 2 * (given.edge_clearance + slack), t.thickness + 2 * given.cheek_clearance
        )
        return opening * (depth + given.end_gap)

    def board(self, name: str, number: int) -> float:
        end = self.end(name)
        board = end.board[number]
        t = self.tenons(name, number)
        whole = strip(
            self.board_length(name), board.width, board.thickness, end.edge, end.edge_size
        )
        return whole - 2 * t.count * self.slot(t, t.in_board)

    def tenon(self, name: str, number: int) -> float:
        t = self.tenons(name, number)
        return stadium(t.width, t.thickness) * (t.in_board + t.in_leg)

    def leg(self, name: str) -> float:
        leg = self.sheet.leg
        whole = eased_plate(self.leg_outline(name), leg.thickness, leg.edge, leg.edge_size)
        cut = self.fastener.out_of_leg() if self.fastener is not None else 0.0
        for number, board in enumerate(self.end(name).board):
            t = self.tenons(name, number)
            cut += sum(self.slot(t, t.in_leg, s) for s in self.slacks(board, t.heights))
        return whole - cut

    def side_rail(self) -> float:
        rail = self.sheet.side_rail
        whole = strip(self.rail_length, rail.width, rail.thickness, rail.edge, rail.edge_size)
        return whole - (self.fastener.out_of_rail() if self.fastener is not None else 0.0)

    def metal(self, end: str, word: str) -> float:
        """A loose piece of the rails' fastener at one end of the bed."""
        assert self.fastener is not None
        # At the head, which is wider, the rail's inside corner is more than square.
        return self.fastener.piece(word, self.yaw if end == "head" else -self.yaw)

    def leg_outline(self, name: str) -> list[Curve]:
        """The outline, anticlockwise, by plane geometry in (u, v)."""
        leg, top = self.sheet.leg, self.leg_top(name)
        floor = self.leg_width(0.0)
        outer = np.array([floor, 0.0])
        upper = np.array([self.leg_width(top), top])
        joint_top = np.array([0.0, top])
        if leg.style == "straight":
            corner = np.array([0.0, 0.0])
            ring = [corner, outer, upper, joint_top]
            names = ("floor", "outer", "top", "joint")
            return [
                Curve(n, a, b) for n, a, b in zip(names, ring, ring[1:] + ring[:1], strict=True)
            ]
        lean = math.radians(leg.splay)
        up = np.array([-math.sin(lean), math.cos(lean)])  # along the outer edge
        inward = np.array([-math.cos(lean), -math.sin(lean)])

        def at(along: float, across: float) -> Vec:
            return outer + along * up + across * inward

        knee, tip = np.array([0.0, self.knee]), np.array([floor - leg.foot_width, 0.0])
        flare = leg.flare_diameter / 2
        tip_up, tip_in = float((tip - outer) @ up), float((tip - outer) @ inward)
        # Tangent to the ankle's line: the centre lies a radius beyond it.
        flare_up = tip_up + math.sqrt(flare**2 - (tip_in - leg.ankle_width - flare) ** 2)
        knee_up, knee_in = float((knee - outer) @ up), float((knee - outer) @ inward)
        step = knee_in - leg.ankle_width
        if leg.curve_diameter is not None:
            curve = leg.curve_diameter / 2
        else:
            # Nine tenths of the radius that would end 10 mm above the flare:
            # run^2 + (R - step)^2 = R^2.
            run = knee_up - flare_up - 10.0
            curve = max(step, 0.9 * (run**2 + step**2) / (2 * step))
        curve_up = knee_up - math.sqrt(curve**2 - (curve - step) ** 2)
        curve_end, flare_start = at(curve_up, leg.ankle_width), at(flare_up, leg.ankle_width)
        return [
            Curve("floor", tip, outer),
            Curve("outer", outer, upper),
            Curve("top", upper, joint_top),
            Curve("joint", joint_top, knee),
            Curve("curve", knee, curve_end, at(curve_up, leg.ankle_width + curve), curve),
            Curve("ankle", curve_end, flare_start),
            Curve("flare", flare_start, tip, at(flare_up, leg.ankle_width + flare), flare),
        ]

    def volume(self, piece: str) -> float:
        """The volume of a piece of the bed, by its name."""
        for pattern, formula in _FORMULAS:
            found = re.fullmatch(pattern, piece)
            if found is not None:
                return formula(self, found)
        raise KeyError(piece)


Formula = Callable[[Numbers, "re.Match[str]"], float]


def _number(found: re.Match[str]) -> int:
    return int(found["number"] or 1) - 1


def _bar(section: Any, length: float, width: float, thickness: float) -> float:
    return strip(length, width, thickness, section.edge, section.edge_size)


_BOARD = r"(?P<end>head|foot)board_board(_(?P<number>\d))?"
_FORMULAS: tuple[tuple[str, Formula], ...] = (
    (r"(?P<end>head|foot)_leg_(left|right)", lambda n, m: n.leg(m["end"])),
    (_BOARD, lambda n, m: n.board(m["end"], _number(m))),
    (_BOARD + r"_tenon_\d_(left|right)", lambda n, m: n.tenon(m["end"], _number(m))),
    (r"side_rail_(left|right)", lambda n, m: n.side_rail()),
    (
        r"(?P<end>head|foot)_(?P<word>hook_plate|slot_plate|rail_bracket|bolt|washer|barrel_nut"
        r"|alignment_dowel)(_\d)?_(left|right)",
        lambda n, m: n.metal(m["end"], m["word"]),
    ),
    (
        r"runner_(left|right)",
        lambda n, m: _bar(
            n.sheet.runner, n.runner_length, n.sheet.runner.width, n.sheet.runner.height
        ),
    ),
    (
        r"centre_rail",
        lambda n, m: _bar(
            n.sheet.centre_rail,
            n.clear - 2 * n.sheet.centre_rail.end_gap,
            n.sheet.centre_rail.width,
            n.sheet.centre_rail.height,
        ),
    ),
    (
        r"support_foot_\d",
        lambda n, m: _bar(
            n.sheet.support_foot,
            n.runner_top - n.sheet.centre_rail.height,
            n.sheet.support_foot.size,
            n.sheet.support_foot.size,
        ),
    ),
    (
        r"slat_\d\d",
        lambda n, m: _bar(n.sheet.slat, n.slat_length, n.sheet.slat.width, n.sheet.slat.thickness),
    ),
)


# --- plates with eased arrises ----------------------------------------------------------------


@dataclass(frozen=True)
class Curve:
    """A line, or an arc hollow into the wood; the wood lies to the left of its run."""

    name: str
    start: Vec
    end: Vec
    centre: Vec | None = None
    radius: float = 0.0

    def inset(self, by: float) -> Curve:
        """The curve moved into the wood; its ends are not yet those of the ring."""
        if self.centre is not None:
            return Curve(self.name, self.start, self.end, self.centre, self.radius + by)
        run = (self.end - self.start) / np.linalg.norm(self.end - self.start)
        shift = by * np.array([-run[1], run[0]])
        return Curve(self.name, self.start + shift, self.end + shift)


def ring_area(ring: list[Curve]) -> float:
    """Shoelace over the corners, less the segment between each hollow arc and its chord."""
    total = 0.0
    for c in ring:
        total += float(c.start[0] * c.end[1] - c.end[0] * c.start[1]) / 2
        if c.centre is not None:
            angle = 2 * math.asin(float(np.linalg.norm(c.end - c.start)) / 2 / c.radius)
            total -= c.radius**2 * (angle - math.sin(angle)) / 2
    return total


def inset_ring(ring: list[Curve], by: float, fixed: str) -> list[Curve]:
    """The ring with all curves but the ``fixed`` one moved inwards, its corners mitred."""
    moved = [c if c.name == fixed else c.inset(by) for c in ring]
    corners = [_meet(moved[i - 1], moved[i], ring[i].start) for i in range(len(ring))]
    return [
        Curve(c.name, corners[i], corners[(i + 1) % len(ring)], c.centre, c.radius)
        for i, c in enumerate(moved)
    ]


def _meet(one: Curve, other: Curve, near: Vec) -> Vec:
    """Where two curves meet, next to a point."""
    if one.centre is None and other.centre is None:
        a, b = one.end - one.start, other.end - other.start
        s, _ = np.linalg.solve(np.column_stack([a, -b]), other.start - one.start)
        return np.asarray(one.start + s * a)
    line, arc = (one, other) if one.centre is None else (other, one)
    assert arc.centre is not None
    run = (line.end - line.start) / np.linalg.norm(line.end - line.start)
    foot = line.start + run * ((arc.centre - line.start) @ run)
    square = arc.radius**2 - float(np.sum((arc.centre - foot) ** 2))
    half = math.sqrt(square) if square > 1e-6 else 0.0  # 0: they touch
    return np.asarray(min((foot + half * run, foot - half * run), key=lambda p: _far(p, near)))


def _far(p: Vec, q: Vec) -> float:
    return float(np.linalg.norm(p - q))


def eased_plate(ring: list[Curve], thickness: float, style: str, size: float) -> float:
    """A plate of that outline with all arrises eased but those of the joint face.

    At the depth d below either face the section is the outline moved in by c - d
    (chamfer) or by r - sqrt(r^2 - (r - d)^2) (roundover), with mitred corners. The
    sections' areas are summed by Gauss's rule, over the angle of the roundover: the
    area is smooth there, so 24 points are exact to rounding.
    """
    if style == "square":
        return ring_area(ring) * thickness
    nodes, weights = np.polynomial.legendre.leggauss(24)
    total = 0.0
    for node, weight in zip((nodes + 1) / 2, weights / 2, strict=True):
        if style == "chamfer":
            by, rate = size * node, size
        else:
            angle = node * math.pi / 2
            by, rate = size * (1 - math.cos(angle)), size * math.cos(angle) * math.pi / 2
        total += weight * rate * ring_area(inset_ring(ring, by, "joint"))
    return 2 * total + (thickness - 2 * size) * ring_area(ring)
