"""The centre rail and its feet: where they lie, and whether they have room.

        y = start                                    y = end
head      ==============================================      foot   top: under the slats
             ||            ||            ||          ||
------------------------------------------------------------- floor
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.centre_beam import beam_height
from bedmodel.errors import InputError
from bedmodel.heights import LEAST_FLOOR_GAP, MattressBox
from bedmodel.spec import Sheet
from bedmodel.supports import has_centre_rail


@dataclass(frozen=True)
class CentreRailPlan:
    """The centre rail and the places of its feet along Y."""

    start: float
    end: float
    top: float
    bottom: float
    feet: tuple[float, ...]

    @property
    def height(self) -> float:
        """How thick it is under load."""
        return self.top - self.bottom


def centre_rail_plan(
    sheet: Sheet,
    mattress: MattressBox,
    pocket_length: float,
    platform: float,
    top: float,
    gap: float | None,
) -> CentreRailPlan | None:
    """The centre rail, its top at ``top``; ``gap`` before the first slat, None without slats.

    Raises InputError where it has no room.
    """
    rail = sheet.centre_rail
    if not has_centre_rail(sheet, mattress.width):
        return None
    beam = rail.kind == "beam"
    height, name = rail.height, "centre_rail.height"
    if beam:
        long = pocket_length - 2 * rail.end_gap
        height = beam_height(sheet, mattress.width, mattress.length, long)
        name = "centre_rail.beam_height"
    greatest = top - LEAST_FLOOR_GAP
    if height > greatest:
        raise InputError(
            name,
            sheet.show(height),
            f"must be at most {sheet.at_most(greatest)} to leave room "
            + ("over the floor" if beam else "for its feet"),
            "raise height.platform"
            + (" or make centre_rail.width more" if beam else " or make it lower"),
        )
    # A raked head end stands into the pocket below the platform.
    shift = (platform - top + height) * math.tan(math.radians(sheet.frame.rake))
    if gap is not None and rail.end_gap + shift > gap:
        most = "the slat gap" if not shift else "the slat gap less what the raked head end takes"
        raise InputError(
            "centre_rail.end_gap",
            sheet.show(rail.end_gap),
            f"must be at most {most}, {sheet.at_most(gap - shift)}, or the end slats overhang",
            "make it less" if not shift else "make it, frame.rake or centre_rail.height less",
        )
    start, end = rail.end_gap + shift, pocket_length - rail.end_gap
    feet = () if beam else _feet(sheet, start, end)
    return CentreRailPlan(start, end, top, top - height, feet)


def _feet(sheet: Sheet, start: float, end: float) -> tuple[float, ...]:
    foot = sheet.support_foot
    if foot.end_inset < foot.size / 2:
        raise InputError(
            "support_foot.end_inset",
            sheet.show(foot.end_inset),
            f"must be at least half the foot, {sheet.at_least(foot.size / 2)}",
            "move the feet in",
        )
    first, last = start + foot.end_inset, end - foot.end_inset
    count = foot.count or 1 + max(1, math.ceil((last - first) / foot.bay - 1e-9))
    if count == 1:
        return ((start + end) / 2,)
    pitch = (last - first) / (count - 1)
    if pitch < foot.size + 10:
        raise InputError(
            "support_foot.count",
            count,
            f"must be at most {1 + int((last - first) / (foot.size + 10))} of this size",
            "use fewer or smaller feet, or a smaller support_foot.end_inset",
        )
    return tuple(first + i * pitch for i in range(count))
