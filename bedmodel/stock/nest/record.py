"""The nests as JSON holds them."""

from __future__ import annotations

from typing import Any

from bedmodel.stock.nest.plan import LegNest, NestedPlank, Placement
from bedmodel.stock.nest.sheets import SheetNest


def legs_record(nest: LegNest) -> dict[str, Any]:
    """Which leg lies where on which plank, the rough blanks, and what has no plank."""
    return {
        "feasible": nest.feasible,
        "board_feet": round(nest.board_feet_used, 4),
        "planks": [_plank_record(plank) for plank in nest.planks],
        "missing": [
            {
                "part": each.name,
                "class": f"{each.quarters_count}/4",
                "species": each.species,
                "least_width_mm": round(each.width, 2),
                "least_length_mm": round(each.length, 2),
                "fits_no_plank": each.fits_none,
            }
            for each in nest.unplaced
        ],
    }


def _plank_record(plank: NestedPlank) -> dict[str, Any]:
    return {
        "plank": plank.board.name,
        "class": f"{plank.board.quarters_count}/4",
        "width_mm": round(plank.board.width, 3),
        "length_mm": round(plank.board.length, 3),
        "used_mm": [round(plank.start, 3), round(plank.stop, 3)],
        "board_feet": round(plank.board_feet_used, 4),
        "legs": [
            {**_placement(placement), "blank_mm": [[x, y] for x, y in blank]}
            for placement, blank in zip(plank.placements, plank.blanks, strict=True)
        ],
    }


def sheets_record(nest: SheetNest) -> dict[str, Any]:
    """Which plate lies where on which sheet."""
    return {
        "sheet_mm": [nest.size.length, nest.size.width],
        "proven_least": nest.is_proven,
        "sheets": [
            {"used_mm": round(sheet.stop, 3), "plates": [_placement(p) for p in sheet.placements]}
            for sheet in nest.sheets
        ],
    }


def _placement(placement: Placement) -> dict[str, Any]:
    return {
        "name": placement.name,
        "turned_over": placement.mirrored,
        "turn_deg": round(placement.turn_deg, 4),
        "origin_mm": [round(placement.x, 3), round(placement.y, 3)],
    }
