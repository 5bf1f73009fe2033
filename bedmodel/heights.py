"""Heights of a bed: platform, rails and boards above the floor, and the mattress they follow from.

Any two of platform, mattress top and mattress thickness fix the third; what cannot
hold together is refused with its bound.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from bedmodel.ends.boards import ENDS, boards_of
from bedmodel.ends.cap import leg_above
from bedmodel.errors import InputError
from bedmodel.lean import UPRIGHT, Lean
from bedmodel.spec import Board, Sheet
from bedmodel.tables import mattress_size

LEAST_FLOOR_GAP = 20.0  # boards, rails and centre rail stay this far off the floor
EASED_SHARE = 0.45  # two eased edges may take this much each of the side between them
DEFAULT_PLATFORM = 300.0
DEFAULT_THICKNESS = 250.0
# Source: EN 747-1 (bunk and high beds) begins where the top of the base is 600 mm up.
PLATFORM_LIMIT = 600.0


@dataclass(frozen=True)
class MattressBox:
    """The nominal mattress (mm)."""

    width: float
    length: float
    thickness: float


def check_easing(sheet: Sheet) -> None:
    """Eased edges must leave a flat between them on the narrowest side of each part."""
    sides = {
        "headboard": [s for b in sheet.headboard.board for s in (b.width, b.thickness)],
        "footboard": [s for b in sheet.footboard.board for s in (b.width, b.thickness)],
        "side_rail": [sheet.side_rail.width, sheet.side_rail.thickness],
        "runner": [sheet.runner.width, sheet.runner.height],
        "slat": [sheet.slat.width, sheet.slat.thickness],
        "centre_rail": [sheet.centre_rail.width, sheet.centre_rail.height],
        "deck": [sheet.deck.thickness],
        "support_foot": [sheet.support_foot.size],
        "cleat": [sheet.cleat.height, sheet.cleat.thickness],
    }
    for name, lengths in sides.items():
        section = getattr(sheet, name)
        greatest = EASED_SHARE * min(lengths)
        if section.edge != "square" and section.edge_size > greatest:
            raise InputError(
                f"{name}.edge_size",
                sheet.show(section.edge_size),
                f"must be at most {sheet.at_most(greatest)} on the narrowest side",
                f'make it less, the part thicker, or {name}.edge "square"',
            )


def _mattress_plan(sheet: Sheet) -> tuple[float, float]:
    given = sheet.mattress
    if given.width is not None and given.length is not None:
        return given.width, given.length
    row = mattress_size(given.size, "mattress.size")
    return given.width or row.width, given.length or row.length


def heights(sheet: Sheet) -> tuple[float, MattressBox]:
    width, length = _mattress_plan(sheet)
    platform, top = sheet.height.platform, sheet.height.mattress_top
    thickness = sheet.mattress.thickness
    if platform is not None and top is not None:
        if thickness is not None and abs(top - platform - thickness) > 0.5:
            raise InputError(
                "height.mattress_top",
                sheet.show(top),
                f"platform and mattress make {sheet.show(platform + thickness)}",
                "leave out one of height.platform, height.mattress_top, mattress.thickness",
            )
        thickness = top - platform
        if not 80 <= thickness <= 520:
            raise InputError(
                "height.mattress_top",
                sheet.show(top),
                f"leaves {sheet.show(thickness)} for the mattress, must be "
                f"{sheet.show(80)} to {sheet.show(520)}",
                "move height.platform or height.mattress_top",
            )
    thickness = DEFAULT_THICKNESS if thickness is None else thickness
    if platform is None:
        platform = DEFAULT_PLATFORM if top is None else top - thickness
        if not 120 <= platform < PLATFORM_LIMIT:
            raise InputError(
                "height.mattress_top",
                sheet.show(top if top is not None else 0.0),
                f"puts the platform at {sheet.show(platform)}, must be "
                f"{sheet.show(120)} to under {sheet.show(PLATFORM_LIMIT)}",
                "change height.mattress_top or mattress.thickness",
            )
    return platform, MattressBox(width, length, thickness)


def rail_heights(sheet: Sheet, platform: float, thickness: float) -> tuple[float, float]:
    """Top and bottom of the rails; ``thickness`` is what lies on the runners."""
    rail, runner = sheet.side_rail, sheet.runner
    top = platform + rail.above_platform
    bottom = top - rail.width
    needed = rail.above_platform + thickness + runner.height
    if rail.width < needed:
        raise InputError(
            "side_rail.width",
            sheet.show(rail.width),
            f"must be at least {sheet.at_least(needed)} to carry the runner under the slats",
            "make the rail wider, or lower side_rail.above_platform or runner.height",
        )
    greatest = top - LEAST_FLOOR_GAP
    if bottom < LEAST_FLOOR_GAP:
        raise InputError(
            "side_rail.width",
            sheet.show(rail.width),
            f"must be at most {sheet.at_most(greatest)} at this platform height",
            "make the rail narrower or raise height.platform",
        )
    return top, bottom


def board_heights(
    sheet: Sheet, platform: float, lean: Lean = UPRIGHT
) -> tuple[tuple[float, float], float]:
    """Tops of head and foot legs, and the lowest board edge of both ends, along the legs.

    ``lean`` is that of the head end.
    """
    tops, lowest = [], math.inf
    for end in ENDS:
        name, boards = f"{end}board", boards_of(sheet, end)
        bottoms = [platform + board.above_platform for board in boards]
        order = sorted(range(len(bottoms)), key=lambda i: bottoms[i])
        _check_boards(sheet, name, boards, bottoms, order, lean if end == "head" else UPRIGHT)
        lowest = min(lowest, bottoms[order[0]])
        board = boards[order[-1]]
        tops.append(bottoms[order[-1]] + board.width + leg_above(sheet, end, board))
    return (tops[0], tops[1]), lowest


def _check_boards(
    sheet: Sheet,
    name: str,
    boards: tuple[Board, ...],
    bottoms: list[float],
    order: list[int],
    lean: Lean,
) -> None:
    reveal = (sheet.headboard if name == "headboard" else sheet.footboard).reveal
    for i in order:
        board = boards[i]
        # The lower edge of a leaning board is lowest at its show face.
        low = lean.plumb(bottoms[i], -reveal - board.thickness)
        if low < LEAST_FLOOR_GAP:
            raise InputError(
                f"{name}.board.{i + 1}.above_platform",
                sheet.show(board.above_platform),
                f"puts its edge {sheet.show(low)} above the floor, must be at least "
                f"{sheet.at_least(LEAST_FLOOR_GAP)}",
                "raise the board or height.platform",
            )
    for below, above in itertools.pairwise(order):
        edge = bottoms[below] + boards[below].width
        if bottoms[above] < edge - 1e-9:
            least = edge - bottoms[above] + boards[above].above_platform
            raise InputError(
                f"{name}.board.{above + 1}.above_platform",
                sheet.show(boards[above].above_platform),
                f"overlaps {name}.board.{below + 1}, must be at least {sheet.at_least(least)}",
                "raise it or make the lower board narrower",
            )
