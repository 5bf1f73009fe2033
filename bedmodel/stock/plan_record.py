"""The board plan as JSON holds it, and in the words that a person reads."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from bedmodel.stock.boards import board_feet
from bedmodel.stock.nest.plan import LegNest, Unplaced
from bedmodel.stock.nest.record import legs_record
from bedmodel.stock.plan import ClassPlan, CutBoard, Plan, Rectangle
from bedmodel.stock.sawing import RackPlan


def rack_record(found: RackPlan) -> dict[str, Any]:
    """The board plan, and the nest of the legs where there is one."""
    legs = None if found.legs is None else legs_record(found.legs)
    return {**plan_record(found.plan), "feasible": found.feasible, "legs": legs}


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
        "sawn_out_of": None
        if not cut.board.of
        else {
            "board": cut.board.of,
            "at_mm": [round(cut.board.along, 3), round(cut.board.across, 3)],
        },
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


def missing_rows(found: RackPlan, show: Callable[[float], str]) -> list[list[str]]:
    """What the rack lacks, a row a class: lumber, board feet, the longest part, which parts."""
    rows = []
    for each in found.plan.classes:
        lacks = [_Lack(m.name, m.count, m.length, m.board_feet) for m in each.missing]
        lacks += [
            _Lack(leg.name, 1, leg.length, board_feet(each.quarters_count, leg.width, leg.length))
            for leg in _unplaced(found)
            if (leg.species, leg.quarters_count) == (each.species, each.quarters_count)
        ]
        if lacks:
            wood = f"{each.species} {each.quarters_count}/4"
            rows.append(
                _missing_row(wood, lacks, "proven" if each.impossible else "not proven", show)
            )
    planned = {(each.species, each.quarters_count) for each in found.plan.classes}
    alone: dict[tuple[str, int], list[Unplaced]] = {}
    for leg in _unplaced(found):
        if (leg.species, leg.quarters_count) not in planned:
            alone.setdefault((leg.species, leg.quarters_count), []).append(leg)
    for (species, quarters), legs in alone.items():
        lacks = [
            _Lack(leg.name, 1, leg.length, board_feet(quarters, leg.width, leg.length))
            for leg in legs
        ]
        proof = "proven" if all(leg.fits_none for leg in legs) else "not proven"
        rows.append(_missing_row(f"{species} {quarters}/4", lacks, proof, show))
    return rows


@dataclass(frozen=True)
class _Lack:
    name: str
    count: int
    length: float
    feet: float


def _unplaced(found: RackPlan) -> tuple[Unplaced, ...]:
    return found.legs.unplaced if found.legs is not None else ()


def _missing_row(
    wood: str, lacks: list[_Lack], proof: str, show: Callable[[float], str]
) -> list[str]:
    longest = max(lacks, key=lambda lack: lack.length)
    return [
        wood,
        f"{sum(lack.feet for lack in lacks):.1f}",
        f"{_spoken(longest.name)}, {show(longest.length)}",
        ", ".join(f"{lack.count} {_spoken(lack.name)}" for lack in lacks),
        proof,
    ]


def _spoken(name: str) -> str:
    return name.replace("_", " ")


def missing_legs(nest: LegNest, show: Callable[[float], str]) -> list[str]:
    """What planks would do for the legs that have none, in words; equal legs together."""
    groups: dict[tuple[object, ...], list[Unplaced]] = {}
    for leg in nest.unplaced:
        key = (leg.species, leg.quarters_count, leg.width, leg.length, leg.fits_none)
        groups.setdefault(key, []).append(leg)
    return [_needed(legs, show) for legs in groups.values()]


def _needed(legs: Sequence[Unplaced], show: Callable[[float], str]) -> str:
    first = legs[0]
    names = ", ".join(_spoken(leg.name) for leg in legs)
    why = "no plank is large enough" if first.fits_none else "the planks are used up"
    return (
        f"{names}: {why}; {'each' if len(legs) > 1 else 'it'} needs {first.species} "
        f"{first.quarters_count}/4 at least {show(first.width)} wide and {show(first.length)} "
        "long, clear of checks and defects"
    )
