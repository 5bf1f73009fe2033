"""Sizes of joints for any two boards, by the rules that the beds follow: one record for both parts.

x   along the joint: across the board, up and down on an upright
y   through the board's thickness; 0 in the middle of the board's end
"""

from __future__ import annotations

import functools
from typing import Literal

from bedmodel.cuts import SlotEnds
from bedmodel.dowels import BOARD_PER_DOWEL, DEPTH_RATIO, DIAMETERS
from bedmodel.dowels import SHARE as DOWEL_SHARE
from bedmodel.errors import InputError
from bedmodel.glue_zone import is_wide, swing
from bedmodel.integral import GREATEST_SHARE, HAUNCH_SHARE, LEAST_HAUNCH
from bedmodel.joinery.places import one_of, positive
from bedmodel.spec import Sheet
from bedmodel.tenons import (
    EMBEDMENT_RATIO,
    LEAST_THICKNESS,
    SHARE,
    Haunch,
    TenonPlan,
    least_width,
    usual_thickness,
)

Side = Literal["none", "+x", "-x", "both"]
Glue = Literal["auto", "all", "zone"]


@functools.cache
def usual_rules() -> Sheet:
    """Clearances, walls and the wood that count where no sheet is given: the defaults."""
    return Sheet()


def plan_tenons(
    board_thickness: float,
    board_width: float,
    *,
    count: int = 1,
    rows: int = 1,
    thickness: float | None = None,
    width: float | None = None,
    length: float | None = None,
    length_in_board: float | None = None,
    ends: SlotEnds | None = None,
    offset: float | None = None,
    haunch: Side = "none",
    haunch_length: float | None = None,
    haunch_shoulder: float | None = None,
    glue: Glue = "auto",
    rules: Sheet | None = None,
) -> TenonPlan:
    """Tenons at the end of a board, and all that their mortises need (mm).

    thickness        a third of the board, in whole mm or 1/16 in; a quarter each in two rows
    width            0.55 of each tenon's share of the board's width
    length           three times the thickness: of the tenon out of the board, or of a loose
                     tenon in the other part; ``length_in_board`` of a loose tenon in the board
    offset           the tenons' middle from the board's; beside a haunch on one side as far to
                     the other as the wall allows
    haunch           on which side, or sides, a short stub goes on beside the tenons;
                     ``haunch_length`` a third of the tenon's, ``haunch_shoulder`` the wood
                     between its groove and the board's edge, 0 for a groove that is open there
    glue             "zone": the tenon nearest the middle is glued, the others' mortises in the
                     other part are longer, so that the board can swell; "all": every one;
                     "auto": by the board's width
    rules            a sheet whose clearances, least walls and wood count, not the defaults

    Raises InputError with the largest that fits.
    """
    sheet = rules or usual_rules()
    tenon = sheet.tenon
    positive("board_thickness", board_thickness)
    positive("board_width", board_width)
    one_of("haunch", haunch, ("none", "+x", "-x", "both"))
    _counts(count, rows)
    wall, gap = tenon.wall_least, tenon.edge_clearance
    thick = _thickness(sheet, board_thickness, rows, thickness)
    pitch = board_width / count
    greatest = pitch - 2 * (wall + gap)
    wide = _within(
        sheet,
        "width",
        width,
        min(max(SHARE * pitch, least_width(thick)), greatest),
        (thick, greatest),
    )
    heights = [(i - (count - 1) / 2) * pitch for i in range(count)]
    shift = offset
    if shift is None:
        room = board_width / 2 - wall - gap - wide / 2 - heights[-1]
        shift = {"+x": -room, "-x": room}.get(haunch, 0.0)
    heights = [height + shift for height in heights]
    slack = _slack(sheet, glue, board_width, heights)
    reach = max(abs(height) + wide / 2 + gap + s for height, s in zip(heights, slack, strict=True))
    if reach > board_width / 2 + 1e-9:
        raise InputError(
            "offset" if offset is not None else "count",
            f"{shift:g} mm" if offset is not None else count,
            f"sets a mortise {reach - board_width / 2:.4g} mm over the board's edge",
            "make it or the tenons' width less",
        )
    long = EMBEDMENT_RATIO * thick if length is None else positive("length", length)
    inside = long if length_in_board is None else positive("length_in_board", length_in_board)
    stub, haunches = _haunches(
        sheet, board_width, heights, (thick, wide, long), slack,
        (haunch, haunch_length, haunch_shoulder),
    )  # fmt: skip
    return TenonPlan(
        heights=tuple(heights),
        setbacks=tuple(board_thickness * ((i + 0.5) / rows - 0.5) for i in range(rows)),
        thickness=thick,
        width=wide,
        embedment_leg=long,
        embedment_board=inside,
        cheek_clearance=tenon.cheek_clearance,
        edge_clearance=gap,
        end_gap=tenon.end_gap,
        wall_least=wall,
        ends=ends or tenon.ends,
        slack=slack,
        haunch=stub,
        haunches=haunches,
    )


def plan_dowels(
    board_thickness: float,
    board_width: float,
    *,
    count: int | None = None,
    diameter: float | None = None,
    depth: float | None = None,
    depth_in_board: float | None = None,
    glue: Glue = "auto",
    rules: Sheet | None = None,
) -> TenonPlan:
    """A row of dowels at the end of a board, along the middle of its thickness (mm).

    diameter         two fifths of the board, of the sizes sold
    count            about one for each 45 mm of the board's width, two at least
    depth            three diameters in the other part; ``depth_in_board`` the same in the board
    glue, rules      as of ``plan_tenons``; dowels left dry stand in slots in the other part

    Raises InputError with the thickest, or the most, that fit.
    """
    sheet = rules or usual_rules()
    dowel = sheet.dowel
    positive("board_thickness", board_thickness)
    positive("board_width", board_width)
    greatest = board_thickness - 2 * (dowel.wall_least + dowel.clearance)
    sold = [d for d in DIAMETERS if d <= min(DOWEL_SHARE * board_thickness, greatest) + 1e-9]
    if not sold and diameter is None:
        least = DIAMETERS[0] + 2 * (dowel.wall_least + dowel.clearance)
        least = max(least, DIAMETERS[0] / DOWEL_SHARE)
        raise InputError(
            "board_thickness",
            sheet.show(board_thickness),
            f"too thin for a dowel, must be at least {sheet.at_least(least)}",
            "make the board thicker, or give a diameter",
        )
    size = _within(sheet, "diameter", diameter, sold[-1] if sold else 0.0, (2.0, greatest))
    many = count if count is not None else max(2, round(board_width / BOARD_PER_DOWEL))
    _counts(many, 1)
    heights = [(i - (many - 1) / 2) * board_width / many for i in range(many)]
    slack = _slack(sheet, glue, board_width, heights)
    room = size / 2 + dowel.clearance + max(slack)
    least_pitch = 2 * room + dowel.wall_least
    most = int(board_width / least_pitch)
    if many > most:
        raise InputError(
            "count", many, f"must be at most {max(most, 0)} in {sheet.show(board_width)}"
        )
    deep = DEPTH_RATIO * size if depth is None else positive("depth", depth)
    inside = deep if depth_in_board is None else positive("depth_in_board", depth_in_board)
    return TenonPlan(
        heights=tuple(heights),
        setbacks=(0.0,),
        thickness=size,
        width=size,
        embedment_leg=deep,
        embedment_board=inside,
        cheek_clearance=dowel.clearance,
        edge_clearance=dowel.clearance,
        end_gap=dowel.end_gap,
        wall_least=dowel.wall_least,
        slack=slack,
    )


def _counts(count: int, rows: int) -> None:
    for name, value, most in (("count", count, 40), ("rows", rows, 2)):
        if not isinstance(value, int) or not 1 <= value <= most:
            raise InputError(name, value, f"must be a whole number from 1 to {most}")


def _thickness(sheet: Sheet, board: float, rows: int, given: float | None) -> float:
    tenon = sheet.tenon
    greatest = board / rows - 2 * (tenon.wall_least + tenon.cheek_clearance)
    usual = usual_thickness(sheet, board, greatest, rows)
    if given is None and usual < LEAST_THICKNESS:
        raise InputError(
            "board_thickness",
            sheet.show(board),
            "too thin for a tenon with its walls",
            "make it thicker, give a thickness, or rules with less tenon.wall_least",
        )
    return _within(sheet, "thickness", given, usual, (1.0, greatest))


def _within(
    sheet: Sheet, name: str, given: float | None, usual: float, span: tuple[float, float]
) -> float:
    """What is given, or the usual; both within the span."""
    low, high = span
    value = usual if given is None else positive(name, given)
    if not low - 1e-9 <= value <= high + 1e-9:
        allowed = f"must be {sheet.at_least(low)} to {sheet.at_most(high)}"
        raise InputError(
            name, sheet.show(value), allowed, "change it or the board, or give other rules"
        )
    return value


def _slack(sheet: Sheet, glue: Glue, width: float, heights: list[float]) -> tuple[float, ...]:
    """How far each may slide, from the glued one, nearest the middle."""
    one_of("glue", glue, ("auto", "all", "zone"))
    if glue == "all" or (glue == "auto" and not is_wide(sheet, width)):
        return (0.0,) * len(heights)
    glued, each = heights[(len(heights) - 1) // 2], swing(sheet)
    return tuple(abs(height - glued) * each for height in heights)


def _haunches(
    sheet: Sheet,
    board_width: float,
    heights: list[float],
    size: tuple[float, float, float],
    slack: tuple[float, ...],
    asked: tuple[Side, float | None, float | None],
) -> tuple[float, tuple[Haunch, ...]]:
    """Length of the haunch, and where it and its groove lie."""
    side, given, shoulder = asked
    thickness, width, length = size
    if side == "none":
        return 0.0, ()
    tenon = sheet.tenon
    gap = tenon.edge_clearance
    span = (LEAST_HAUNCH, GREATEST_SHARE * length)
    stub = _within(sheet, "haunch_length", given, HAUNCH_SHARE * length, span)
    left = tenon.wall_least if shoulder is None else shoulder
    limit = board_width / 2 - left
    # Of an open groove the round end lies outside the part.
    past = thickness / 2 + tenon.cheek_clearance if left <= 0 else 0.0
    each = swing(sheet) if any(slack) else 0.0
    glued = heights[(len(heights) - 1) // 2]
    lows, highs = heights[0] - width / 2, heights[-1] + width / 2
    low, groove_low = lows, lows - gap - slack[0]
    high, groove_high = highs, highs + gap + slack[-1]
    open_gap = gap if left > 0 else 0.0
    if side in ("+x", "both"):
        high, groove_high = limit - open_gap - each * abs(limit - glued), limit + past
    if side in ("-x", "both"):
        low, groove_low = open_gap - limit + each * abs(limit + glued), -limit - past
    if high < highs - 1e-9 or low > lows + 1e-9 or high - low <= highs - lows + 1e-9:
        raise InputError(
            "haunch_shoulder",
            sheet.show(left),
            "leaves no room for a haunch beside the tenons",
            "make it or the tenons' width less, or the board wider",
        )
    return stub, (Haunch(low, high, groove_low, groove_high),)
