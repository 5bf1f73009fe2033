"""Dowels of one board's ends: how many, how thick, how deep.

Proportions are common practice: a dowel two fifths of the board thick, three
times its diameter into each part, about one for each 45 mm of the board's width. Of a
wide board the dowels near its middle are glued; the others stand dry in slots in the
leg, a little longer than they are thick, as pegs do that hold a wide board flat.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from bedmodel.edge_walls import wall_at_edge
from bedmodel.errors import InputError
from bedmodel.glue_zone import dowel_slack, is_wide, most_slack, swing
from bedmodel.legs import LegFamily
from bedmodel.spec import Board, BoardEnd, Sheet
from bedmodel.spread import Span, Zone, bands, free_spans, is_clear, spread
from bedmodel.tenons import Fit, TenonPlan, depth_in_leg

SHARE = 0.4
DEPTH_RATIO = 3.0
BOARD_PER_DOWEL = 45.0
# Shares of the board's width over which a dry dowel may slide, from none up.
_SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
DIAMETERS = (6.0, 8.0, 10.0, 12.0, 16.0)  # as sold, common practice


def dowel_plan(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    bottom: float,
    legs: LegFamily,
    zones: tuple[Zone, ...] = (),
) -> TenonPlan:
    """Choose the dowels of a board's end, or check the ones the sheet gives.

    ``zones`` is what a rail's fastener takes of the legs. Raises InputError with
    the thickest or deepest dowel, or the most, that fit.
    """
    dowel = sheet.dowel
    diameter = _diameter(sheet, parameter, board)
    setback = end.reveal + board.thickness / 2
    setbacks = (setback,)
    reach = diameter / 2 + dowel.clearance
    deep = (dowel.depth or DEPTH_RATIO * diameter) + dowel.end_gap
    taken = bands(zones, (setback - reach, setback + reach), deep, sheet.fastener.wall_least)
    row = _Row(sheet, end, board, bottom, diameter, _wall(sheet, end, parameter, board, reach))
    heights = _heights(sheet, parameter, row, taken)
    slack = row.slack(heights)
    fit = Fit(
        section="dowel",
        depth_name="depth",
        half=diameter / 2,
        clearance=dowel.clearance,
        end_gap=dowel.end_gap,
        wall_least=dowel.wall_least,
        depth=dowel.depth,
        wanted=DEPTH_RATIO * diameter,
    )
    highest = heights[-1] + reach + slack[-1]
    return TenonPlan(
        heights=heights,
        setbacks=setbacks,
        thickness=diameter,
        width=diameter,
        embedment_leg=depth_in_leg(sheet, legs, parameter, fit, highest, setbacks),
        embedment_board=dowel.depth or DEPTH_RATIO * diameter,
        cheek_clearance=dowel.clearance,
        edge_clearance=dowel.clearance,
        end_gap=dowel.end_gap,
        wall_least=dowel.wall_least,
        slack=slack,
    )


@dataclass(frozen=True)
class _Row:
    """Where the dowels of a board's end may stand (mm); ``wall`` is to the board's edges.

    How long a dry dowel's slot is hangs on where it and the glued ones stand, and where
    they can stand hangs on the slots: so places are proposed first, and then judged.
    """

    sheet: Sheet
    end: BoardEnd
    board: Board
    bottom: float
    diameter: float
    wall: float

    @property
    def reach(self) -> float:
        """Half a hole."""
        return self.diameter / 2 + self.sheet.dowel.clearance

    @property
    def inset(self) -> float:
        """From the edges to the outer dowels: twice the diameter, as a rule, given room."""
        return max(self.reach + self.wall, min(2 * self.diameter, self.board.width / 4))

    @property
    def between(self) -> float:
        """From one dowel to the next, at least, where neither slides."""
        return 2 * self.reach + self.sheet.dowel.wall_least

    def slack(self, heights: tuple[float, ...]) -> tuple[float, ...]:
        middle = self.bottom + self.board.width / 2
        return dowel_slack(self.sheet, self.end, self.board, heights, middle, self.diameter)

    def holds(self, heights: tuple[float, ...], taken: list[Span]) -> bool:
        """Whether all slots leave their walls, at the edges and between, and clear the bands."""
        slots = [
            (h - self.reach - s, h + self.reach + s)
            for h, s in zip(heights, self.slack(heights), strict=True)
        ]
        low, high = self.bottom + self.wall, self.bottom + self.board.width - self.wall
        walls = [b[0] - a[1] for a, b in itertools.pairwise(slots)]
        return (
            low <= slots[0][0] + 1e-9
            and slots[-1][1] <= high + 1e-9
            and min(walls) >= self.sheet.dowel.wall_least - 1e-9
            and all(is_clear([(a + b) / 2], b - a, taken) for a, b in slots)
        )

    def even(self, count: int, taken: list[Span]) -> tuple[float, ...] | None:
        """So many, evenly spaced; None when they do not hold."""
        for apart in (self.board.width / 2, self.board.width):
            inset = max(self.inset, self.reach + self.wall + self._most(apart))
            pitch = (self.board.width - 2 * inset) / (count - 1)
            heights = tuple(self.bottom + inset + i * pitch for i in range(count))
            if pitch > 0 and self.holds(heights, taken):
                return heights
        return None

    def beside(self, count: int, taken: list[Span]) -> tuple[float, ...] | None:
        """So many, between the bands, with as little room for sliding as holds."""
        wanted = self.even(count, [])
        if wanted is None:
            return None
        for share in _SHARES:
            most = self._most(share * self.board.width)
            edge = max(self.wall, self.inset - self.reach - most)
            free = free_spans(self.bottom + edge, self.bottom + self.board.width - edge, taken)
            least = self.sheet.dowel.wall_least
            found = spread(wanted, 2 * (self.reach + most), least, free)
            if found is not None and self.holds(found, taken):
                return found
        return None

    def _most(self, apart: float) -> float:
        return most_slack(self.sheet, self.end, self.board, apart)


def _heights(sheet: Sheet, parameter: str, row: _Row, taken: list[Span]) -> tuple[float, ...]:
    """Heights of the middles: even, or between the bands, as many as find room."""
    count = _count(sheet, parameter, row)
    even = row.even(count, taken)
    if even is not None:
        return even
    fewest = count if sheet.dowel.count is not None else 2
    for fewer in range(count, fewest - 1, -1):
        found = row.beside(fewer, taken)
        if found is not None:
            return found
    raise InputError(
        "side_rail.joint",
        sheet.side_rail.joint,
        f"its fastener leaves no room in the leg for {fewest} dowels of {parameter}",
        f"move fastener.height or {parameter}.above_platform, make dowel.diameter, "
        "dowel.wall_least or dowel.count less, or take another side_rail.joint",
    )


def _diameter(sheet: Sheet, parameter: str, board: Board) -> float:
    dowel = sheet.dowel
    greatest = board.thickness - 2 * (dowel.wall_least + dowel.clearance)
    if dowel.diameter is not None:
        if dowel.diameter > greatest + 1e-9:
            raise InputError(
                "dowel.diameter",
                sheet.show(dowel.diameter),
                f"must be at most {sheet.at_most(greatest)} in {parameter}",
                "make it less, the board thicker or dowel.wall_least less",
            )
        return dowel.diameter
    fit = [d for d in DIAMETERS if d <= greatest and d <= SHARE * board.thickness + 1e-9]
    if not fit:
        least = max(DIAMETERS[0] / SHARE, DIAMETERS[0] + 2 * (dowel.wall_least + dowel.clearance))
        raise InputError(
            f"{parameter}.thickness",
            sheet.show(board.thickness),
            f"too thin for a dowel, must be at least {sheet.at_least(least)}",
            "make the board thicker or dowel.wall_least less, or give dowel.diameter",
        )
    return fit[-1]


def _wall(sheet: Sheet, end: BoardEnd, parameter: str, board: Board, reach: float) -> float:
    """Wood that the outer holes need to the board's edges."""
    return wall_at_edge(sheet, end, parameter, board, "dowel", board.thickness / 2 - reach)


def _count(sheet: Sheet, parameter: str, row: _Row) -> int:
    """How many: the sheet's own, or what suits the width."""
    board, given = row.board, sheet.dowel.count
    wanted = given or max(2, round(board.width / BOARD_PER_DOWEL))
    most = next((n for n in range(wanted, 1, -1) if row.even(n, []) is not None), 0)
    if most < 2:
        # A wide board's slots grow with it.
        least = 2 * (row.reach + row.wall) + row.between
        if row.end.glue == "zone" and is_wide(sheet, max(least, board.width)):
            least /= 1 - 4 * swing(sheet)
        raise InputError(
            f"{parameter}.width",
            sheet.show(board.width),
            f"too narrow for two dowels, must be at least {sheet.at_least(least)}",
            "make the board wider, or dowel.diameter or dowel.wall_least less",
        )
    if given is not None and given > most:
        raise InputError(
            "dowel.count",
            given,
            f"must be at most {most} in {parameter}, {sheet.show(board.width)} wide",
            "use fewer dowels or a wider board",
        )
    return most
