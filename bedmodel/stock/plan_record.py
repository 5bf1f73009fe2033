"""The board plan as JSON holds it, and in the words that a person reads."""

from __future__ import annotations

import math
from typing import Any

from bedmodel.stock.plan import ClassPlan, CutBoard, Plan, Rectangle


def plan_record(plan: Plan) -> dict[str, Any]:
    """All boards with their cuts in order, all places, off-cuts, bound and what is missing."""
    return {
        "objective": plan.objective,
        "kerf_mm": round(plan.kerf, 4),
        "feasible": plan.feasible,
        "used": round(plan.used, 4),
        "bound": round(plan.bound, 4),
        "gap": None if math.isinf(plan.gap) else round(plan.gap, 6),
        "classes": [_class_record(each) for each in plan.classes],
    }


def _class_record(each: ClassPlan) -> dict[str, Any]:
    return {
        "species": each.species,
        "class": f"{each.quarters_count}/4",
        "used": round(each.used, 4),
        "bound": round(each.bound, 4),
        "proven_impossible": each.impossible,
        "boards": [_board_record(board) for board in each.boards],
        "missing": [
            {
                "part": missing.name,
                "count": missing.count,
                "board_feet": round(missing.board_feet, 3),
                "length_mm": round(missing.length, 2),
                "fits_no_board": missing.fits_none,
            }
            for missing in each.missing
        ],
    }


def _board_record(cut: CutBoard) -> dict[str, Any]:
    return {
        "board": cut.board.name,
        "width_mm": round(cut.board.width, 3),
        "length_mm": round(cut.board.length, 3),
        "board_feet": round(cut.board.board_feet, 4),
        "cuts": [
            {
                "number": c.number,
                "kind": c.kind,
                "at_mm": round(c.at, 3),
                "piece_mm": _rectangle(c.piece),
            }
            for c in cut.cuts
        ],
        "parts": [
            {
                "part": p.name,
                "copy": p.copy,
                "panel": p.panel_number or None,
                "place_mm": _rectangle(p.place),
            }
            for p in cut.placed
        ],
        "offcuts_mm": [_rectangle(r) for r in cut.offcuts],
    }


def _rectangle(r: Rectangle) -> list[float]:
    return [round(v, 3) + 0.0 for v in (r.x, r.y, r.length, r.width)]


def missing_lines(plan: Plan) -> list[str]:
    """What the rack lacks, in words: board feet of which class, and the longest part."""
    lines = []
    for each in plan.classes:
        if not each.missing:
            continue
        feet = sum(m.board_feet for m in each.missing)
        longest = each.longest_missing
        assert longest is not None
        parts = ", ".join(f"{m.count} {m.name}" for m in each.missing)
        proven = " (proven: no plan has them all)" if each.impossible else ""
        lines.append(
            f"missing {feet:.1f} bd ft rough of {each.species} {each.quarters_count}/4 for "
            f"{parts}{proven}; the longest is {longest.name}, {longest.length:.0f} mm"
        )
    return lines
