"""Tenons of one board's ends, loose ones and its own: how many, how large, how deep.

Proportions are common practice: a tenon a third of the board thick, set about
three times its thickness into each part, with wood left all round the mortise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.cuts import SlotEnds
from bedmodel.edge_walls import wall_at_edge, wall_beside_arris
from bedmodel.errors import InputError
from bedmodel.glue_zone import most_slack, tenon_slack
from bedmodel.legs import LegFamily
from bedmodel.spec import Board, BoardEnd, Sheet
from bedmodel.spread import Slots, Span, Zone, bands, free_spans, is_clear, spread

THIRD = 1 / 3
QUARTER = 1 / 4  # of the board, each of two tenons side by side
EMBEDMENT_RATIO = 3.0
LEAST_EMBEDMENT_RATIO = 1.0
BOARD_PER_TENON = 125.0
SHARE = 0.55
LEAST_THICKNESS = 4.0


@dataclass(frozen=True)
class Haunch:
    """A short stub beside and between a board's own tenons, and its groove in the leg (mm).

    All are heights above the floor; the groove is longer by the room to slide.
    """

    low: float
    high: float
    groove_low: float
    groove_high: float


@dataclass(frozen=True)
class TenonPlan:
    """The tenons, or dowels, at one end of one board (mm).

    ``heights`` are the middles above the floor; ``setbacks`` are from the legs'
    inside faces to the middles of the thickness, one for each row. ``slack`` is
    for each height; the tenon without any is the glued one. A dowel is a tenon
    with round edges that is as wide as it is thick. An ``integral`` tenon is cut on
    the board itself and has no depth in it; its haunches stand out by ``haunch``.
    """

    heights: tuple[float, ...]
    setbacks: tuple[float, ...]
    thickness: float
    width: float
    embedment_leg: float
    embedment_board: float
    cheek_clearance: float
    edge_clearance: float
    end_gap: float
    wall_least: float
    ends: SlotEnds = "round"
    slack: tuple[float, ...] = ()
    integral: bool = False
    haunch: float = 0.0
    haunches: tuple[Haunch, ...] = ()

    @property
    def mortise_length(self) -> float:
        """Length of the mortises in the board, and of the glued one in the leg."""
        return self.width + 2 * self.edge_clearance

    def slack_at(self, height: float) -> float:
        """How much longer the leg's mortise is at each end for a tenon left dry; else 0."""
        return self.slack[self.heights.index(height)] if self.slack else 0.0

    @property
    def mortise_width(self) -> float:
        return self.thickness + 2 * self.cheek_clearance

    @property
    def slots(self) -> Slots:
        """One row of them along the board's end, as joint, without their clearances."""
        return Slots(self.heights, self.width)

    @property
    def setback(self) -> float:
        """The middle of all rows, from the legs' inside faces."""
        return sum(self.setbacks) / len(self.setbacks)

    @property
    def places(self) -> list[tuple[float, float]]:
        """Height and setback of each tenon, from the lowest up."""
        return [(height, setback) for height in self.heights for setback in self.setbacks]

    @property
    def glued_width(self) -> float:
        """How much of the board's width is held: over all that is glued, edge to edge."""
        glued = [height for height in self.heights if self.slack_at(height) == 0]
        return glued[-1] - glued[0] + self.width

    @property
    def glued_count(self) -> int:
        """At how many heights it is held."""
        return sum(self.slack_at(height) == 0 for height in self.heights)

    @property
    def is_dowel(self) -> bool:
        return self.ends == "round" and self.width == self.thickness

    @property
    def kind(self) -> str:
        """The word for one of them in the names of pieces."""
        return "dowel" if self.is_dowel else "tenon"

    @property
    def stem(self) -> str:
        """The word for one of them in the names of kinds."""
        return "dowel" if self.is_dowel else "loose_tenon"


@dataclass(frozen=True)
class Fit:
    """What tenons and dowels ask of the leg, and which parameters say so."""

    section: str
    depth_name: str
    half: float
    clearance: float
    end_gap: float
    wall_least: float
    depth: float | None
    wanted: float


def tenon_plan(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    bottom: float,
    legs: LegFamily,
    zones: tuple[Zone, ...] = (),
) -> TenonPlan:
    """Choose the tenons of a board's end, or check the ones the sheet gives.

    ``zones`` is what a rail's fastener takes of the legs. Raises InputError with
    the largest tenon or the deepest mortise that fits.
    """
    tenon, rows = sheet.tenon, sheet.tenon.rows
    thickness = _thickness(sheet, parameter, board)
    setbacks = tuple(end.reveal + board.thickness * (i + 0.5) / rows for i in range(rows))
    depth = thickness / 2 + tenon.cheek_clearance
    reach = (tenon.embedment or EMBEDMENT_RATIO * thickness) + tenon.end_gap
    taken = bands(
        zones, (setbacks[0] - depth, setbacks[-1] + depth), reach, sheet.fastener.wall_least
    )
    heights, width = _heights(sheet, end, parameter, board, bottom, thickness, taken)
    slack = tenon_slack(sheet, end, board, heights)
    highest = heights[-1] + width / 2 + tenon.edge_clearance + slack[-1]
    fit = tenon_fit(sheet, thickness)
    return TenonPlan(
        heights=heights,
        setbacks=setbacks,
        thickness=thickness,
        width=width,
        embedment_leg=depth_in_leg(sheet, legs, parameter, fit, highest, setbacks),
        embedment_board=tenon.embedment or EMBEDMENT_RATIO * thickness,
        cheek_clearance=tenon.cheek_clearance,
        edge_clearance=tenon.edge_clearance,
        end_gap=tenon.end_gap,
        wall_least=tenon.wall_least,
        ends=tenon.ends,
        slack=slack,
    )


def tenon_fit(sheet: Sheet, thickness: float) -> Fit:
    """What tenons of a thickness ask of the leg."""
    tenon = sheet.tenon
    return Fit(
        section="tenon",
        depth_name="embedment",
        half=thickness / 2,
        clearance=tenon.cheek_clearance,
        end_gap=tenon.end_gap,
        wall_least=tenon.wall_least,
        depth=tenon.embedment,
        wanted=EMBEDMENT_RATIO * thickness,
    )


def _heights(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    bottom: float,
    thickness: float,
    taken: list[Span],
) -> tuple[tuple[float, ...], float]:
    """Heights of the tenons' middles, and their width: even, or between the taken bands."""
    tenon = sheet.tenon
    count = tenon.count or even_count(board)
    heights = _even(bottom, board, count)
    slack = max(tenon_slack(sheet, end, board, heights))
    width = _width(sheet, end, parameter, board, count, thickness, slack)
    if is_clear(heights, width + 2 * (tenon.edge_clearance + slack), taken):
        return heights, width
    found = _between(sheet, end, parameter, board, bottom, (thickness, width), taken)
    if found is None:
        raise InputError(
            "side_rail.joint",
            sheet.side_rail.joint,
            f"its fastener leaves no room in the leg for the tenons of {parameter}",
            f"move fastener.height or {parameter}.above_platform, make tenon.wall_least, "
            "tenon.width or tenon.count less, or take another side_rail.joint",
        )
    return found


def even_count(board: Board) -> int:
    """How many tenons suit the board's width."""
    return max(1, round(board.width / BOARD_PER_TENON))


def _even(bottom: float, board: Board, count: int) -> tuple[float, ...]:
    """Middles of equal shares of the board."""
    return tuple(bottom + (i + 0.5) * board.width / count for i in range(count))


def _between(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    bottom: float,
    size: tuple[float, float],
    taken: list[Span],
) -> tuple[tuple[float, ...], float] | None:
    """The most tenon that the bands leave room for: by count times width, then the fewest."""
    tenon, (thickness, widest) = sheet.tenon, size
    cheek_wall = (board.thickness / tenon.rows - thickness) / 2 - tenon.cheek_clearance
    wall = wall_at_edge(sheet, end, parameter, board, "tenon", cheek_wall)
    free = free_spans(bottom + wall, bottom + board.width - wall, taken)
    even = tenon.count or even_count(board)
    counts = [even] if tenon.count is not None else range(1, even + 2)
    widths = [tenon.width] if tenon.width is not None else _narrower(widest, least_width(thickness))
    best: tuple[float, tuple[tuple[float, ...], float]] | None = None
    for count in counts:
        wanted = _even(bottom, board, count)
        for width in widths:
            # No dry tenon can stand farther than this from the glued one.
            apart = board.width - 2 * wall - width if count > 1 else 0.0
            room = tenon.edge_clearance + most_slack(sheet, end, board, apart)
            middles = spread(wanted, width + 2 * room, tenon.wall_least, free)
            if middles is not None:
                if best is None or count * width > best[0] + 1e-9:
                    best = count * width, (middles, width)
                break
    return None if best is None else best[1]


def _narrower(widest: float, least: float) -> list[float]:
    """Widths to try, from the widest down by whole millimetres to the least."""
    steps = math.floor(widest - least + 1e-9)
    return [widest - i for i in range(steps + 1)] + ([least] if widest - steps > least else [])


def _thickness(sheet: Sheet, parameter: str, board: Board) -> float:
    tenon, rows = sheet.tenon, sheet.tenon.rows
    # Rows stand in the middles of equal shares, each with a wall on both sides.
    greatest = board.thickness / rows - 2 * (tenon.wall_least + tenon.cheek_clearance)
    if tenon.thickness is not None:
        if tenon.thickness > greatest + 1e-9:
            raise InputError(
                "tenon.thickness",
                sheet.show(tenon.thickness),
                f"must be at most {sheet.at_most(greatest)} in {parameter}",
                "make it thinner, the board thicker, or tenon.wall_least or tenon.rows less",
            )
        return tenon.thickness
    step = thickness_step(sheet)
    chosen = usual_thickness(sheet, board.thickness, greatest, rows)
    if chosen < LEAST_THICKNESS:
        least = rows * (LEAST_THICKNESS + step + 2 * (tenon.wall_least + tenon.cheek_clearance))
        raise InputError(
            f"{parameter}.thickness",
            sheet.show(board.thickness),
            f"too thin for a tenon, must be at least {sheet.at_least(least)}",
            "make the board thicker, or tenon.wall_least or tenon.rows less",
        )
    return chosen


def thickness_step(sheet: Sheet) -> float:
    """Tenons are whole millimetres thick, or sixteenths of an inch (mm)."""
    return 25.4 / 16 if sheet.design.unit == "inch" else 1.0


def usual_thickness(sheet: Sheet, board: float, greatest: float, rows: int) -> float:
    """The usual share of a board's thickness, no more than ``greatest``, in whole steps (mm)."""
    step = thickness_step(sheet)
    share = THIRD if rows == 1 else QUARTER
    return math.floor(min(board * share, greatest) / step + 1e-9) * step


def _width(
    sheet: Sheet,
    end: BoardEnd,
    parameter: str,
    board: Board,
    count: int,
    thickness: float,
    slack: float,
) -> float:
    tenon = sheet.tenon
    pitch = board.width / count
    wanted = tenon.width if tenon.width is not None else SHARE * pitch
    cheek_wall = (board.thickness / tenon.rows - thickness) / 2 - tenon.cheek_clearance
    # Between two mortises there is one wall; at the board's edges one each, which
    # an eased arris may make thinner.
    wall = wall_at_edge(sheet, end, parameter, board, "tenon", cheek_wall)
    wall += slack  # a longer mortise in the leg needs its wall too, and stays hidden
    greatest = pitch - 2 * (wall + tenon.edge_clearance)
    least = least_width(thickness)
    if greatest < least:
        raise InputError(
            "tenon.count",
            count,
            f"must be at most {max(1, int(board.width / (least + 2 * (wall + 0.5))))} "
            f"in {parameter}, {sheet.show(board.width)} wide",
            "use fewer tenons, a wider board or less tenon.wall_least",
        )
    if tenon.width is not None and not least - 1e-9 <= wanted <= greatest + 1e-9:
        raise InputError(
            "tenon.width",
            sheet.show(wanted),
            f"must be {sheet.at_least(least)} to {sheet.at_most(greatest)} in {parameter}",
            "change it, tenon.count or the board's width",
        )
    return min(max(wanted, least), greatest)


def least_width(thickness: float) -> float:
    """The narrowest tenon that is worth its mortise."""
    return max(12.0, 1.5 * thickness)


def depth_in_leg(
    sheet: Sheet,
    legs: LegFamily,
    parameter: str,
    fit: Fit,
    highest: float,
    setbacks: tuple[float, ...],
) -> float:
    """How deep tenons or dowels may stand in the leg, or as deep as the sheet wants.

    ``highest`` is the top of the highest mortise, where a splayed leg is narrowest.
    Raises InputError with the greatest depth that fits.
    """
    greatest = greatest_depth(sheet, legs, fit, highest, setbacks)
    least = max(8.0, LEAST_EMBEDMENT_RATIO * 2 * fit.half)
    if greatest < least:
        raise InputError(
            "leg.top_width",
            sheet.show(sheet.leg.top_width),
            f"must be at least {sheet.at_least(sheet.leg.top_width + least - greatest)} "
            "for its mortises",
            "make the leg wider at the top",
        )
    if fit.depth is not None and fit.depth > greatest + 1e-9:
        raise InputError(
            f"{fit.section}.{fit.depth_name}",
            sheet.show(fit.depth),
            f"breaks through the leg at {parameter}, must be at most {sheet.at_most(greatest)}",
            "make it less or leg.top_width more",
        )
    return fit.depth or min(fit.wanted, greatest)


def greatest_depth(
    sheet: Sheet, legs: LegFamily, fit: Fit, highest: float, setbacks: tuple[float, ...]
) -> float:
    """How deep the leg can take tenons whose mortises reach up to ``highest``, gap left (mm).

    Raises InputError where its eased edges leave no wall.
    """
    leg = sheet.leg
    reach = fit.half + fit.clearance
    cheek_wall = min(setbacks[0] - reach, leg.thickness - setbacks[-1] - reach)
    wall = wall_beside_arris(cheek_wall, fit.wall_least, leg.edge, leg.edge_size)
    if wall is None:
        raise InputError(
            "leg.edge_size",
            sheet.show(leg.edge_size),
            "leaves too little wood round the mortises",
            "make it less, or leg.thickness more",
        )
    return legs.width_at(highest) - wall / math.cos(legs.splay) - fit.end_gap
