"""Check a nest with shapely; shares no code with the planner.

Only the plan's own numbers are read: placements, planks, settings. Outlines are rendered
here from their vertices and bulges, and every rule is stated again.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.affinity import affine_transform

if TYPE_CHECKING:
    from bedmodel.outline import Outline
    from bedmodel.stock.boards import Board
    from bedmodel.stock.nest.plan import LegNest, NestedPlank, Nesting, NestPart, Placement
    from bedmodel.stock.nest.sheets import SheetNest, SheetPart, SheetSize

EPS = 1e-4  # mm


def problems(
    nest: LegNest, parts: Sequence[NestPart], boards: Sequence[Board], nesting: Nesting
) -> list[str]:
    """Everything that is wrong with a nest; empty when a maker can saw it."""
    return list(_problems(nest, parts, boards, nesting))


def plank_problems(plank: NestedPlank, parts: Sequence[NestPart], nesting: Nesting) -> list[str]:
    """The same of one plank by itself that takes all the parts."""
    found = list(_of_plank(plank, {part.name: part for part in parts}, nesting))
    if sorted(p.name for p in plank.placements) != sorted(part.name for part in parts):
        found.append("not every part is there once")
    return found


def rendered(outline: Outline, chord_angle: float = 0.002) -> Any:
    """An outline with its arcs as very short chords."""
    points = []
    count = len(outline.vertices)
    for i in range(count):
        start, end = np.array(outline.vertices[i]), np.array(outline.vertices[(i + 1) % count])
        points.append(start)
        bulge = outline.bulges[i]
        if abs(bulge) > 1e-9:
            # The arc meets the chord at half its included angle, 2 atan(bulge).
            half = 2 * math.atan(bulge)
            chord = end - start
            normal = np.array((-chord[1], chord[0]))
            centre = (start + end) / 2 + normal / (2 * math.tan(half))
            steps = max(math.ceil(abs(2 * half) / chord_angle), 2)
            turn = 2 * half * np.arange(1, steps) / steps
            ray = start - centre
            points += [
                centre + (ray[0] * c - ray[1] * s, ray[0] * s + ray[1] * c)
                for c, s in zip(np.cos(turn), np.sin(turn), strict=True)
            ]
    polygon = shapely.Polygon(points)
    assert polygon.is_valid
    return polygon


def laid(shape: Any, placement: Placement) -> Any:
    """A shape where a placement puts it."""
    c, s = math.cos(math.radians(placement.turn_deg)), math.sin(math.radians(placement.turn_deg))
    k = -1.0 if placement.mirrored else 1.0
    return affine_transform(shape, [c, -s * k, s, c * k, placement.x, placement.y])


def _problems(
    nest: LegNest, parts: Sequence[NestPart], boards: Sequence[Board], nesting: Nesting
) -> Iterator[str]:
    wanted = {part.name: part for part in parts}
    placed = Counter(p.name for plank in nest.planks for p in plank.placements)
    short = Counter(each.name for each in nest.unplaced)
    if placed + short != Counter(list(wanted)):
        yield f"placed {dict(placed)}, unplaced {dict(short)}"
    used = [plank.board.name for plank in nest.planks]
    if len(set(used)) != len(used):
        yield "a plank is used twice"
    for plank in nest.planks:
        if plank.board not in boards:
            yield f"{plank.board.name} is not on the rack"
        yield from (f"{plank.board.name}: {each}" for each in _of_plank(plank, wanted, nesting))


def _of_plank(plank: NestedPlank, wanted: dict[str, NestPart], nesting: Nesting) -> Iterator[str]:
    board, m = plank.board, nesting.margin
    sound = shapely.box(
        board.check_left + m, m, board.length - board.check_right - m, board.width - m
    )
    used = shapely.box(plank.start, 0, plank.stop, board.width)
    if min(abs(plank.start), abs(plank.stop - board.length)) > EPS:
        yield "what is used does not begin at an end"
    knots = [shapely.box(d.start, d.low, d.stop, d.high) for d in board.defects]
    shapes = []
    for placement, blank in zip(plank.placements, plank.blanks, strict=True):
        part = wanted[placement.name]
        if part.quarters_count not in (0, board.quarters_count):
            yield f"{part.name} is on {board.quarters_count}/4"
        if part.species and board.species not in ("", part.species):
            yield f"{part.name} is on {board.species}"
        tilts = [abs(math.remainder(placement.turn_deg - whole, 360)) for whole in (0, 180)]
        if min(tilts) > nesting.grain_deg + 1e-6:
            yield f"{part.name} is tilted by {min(tilts)}"
        if not nesting.turn_over and placement.mirrored:
            yield f"{part.name} is turned over"
        if not nesting.end_for_end and tilts[0] > 90:
            yield f"{part.name} is turned end for end"
        shape = laid(rendered(part.outline), placement)
        for room, where in ((sound, "sound wood"), (used, "what is used")):
            x0, y0, x1, y1 = shape.bounds
            a0, b0, a1, b1 = room.bounds
            if x0 < a0 - EPS or y0 < b0 - EPS or x1 > a1 + EPS or y1 > b1 + EPS:
                yield f"{part.name} is outside {where}"
        if any(shape.distance(knot) < min(m, 1e9) - EPS for knot in knots):
            yield f"{part.name} is on a defect"
        outer = shapely.Polygon(blank)
        if not outer.is_valid or not outer.buffer(EPS * 20).contains(shape):
            yield f"{part.name} is not in its blank"
        if outer.hausdorff_distance(shape) > nesting.blank + 0.2:
            yield f"{part.name}'s blank strays {outer.hausdorff_distance(shape)}"
        if not shapely.box(0, 0, board.length, board.width).buffer(0.12).contains(outer):
            yield f"{part.name}'s blank is outside the plank"
        shapes.append((part.name, shape, outer))
    for i, (name, shape, outer) in enumerate(shapes):
        for other, second, second_outer in shapes[:i]:
            if shape.distance(second) < nesting.gap - EPS:
                yield f"{name} and {other} are {shape.distance(second)} apart"
            if outer.distance(second_outer) < nesting.kerf - 0.25:
                yield f"the blanks of {name} and {other} leave no kerf"
    for proof in plank.proofs:
        tilt = max(
            (min(abs(math.remainder(p.turn_deg - w, 360)) for w in (0, 180)))
            for p in plank.placements
        )
        if proof.length > plank.length_used + 1e-3 and tilt <= proof.tilt_deg + 1e-9:
            yield f"bound {proof.length} above {plank.length_used}"


def sheet_problems(nest: SheetNest, parts: Sequence[SheetPart], size: SheetSize) -> list[str]:
    """Everything that is wrong with a nest on sheet goods."""
    return list(_of_sheets(nest, parts, size))


def _of_sheets(nest: SheetNest, parts: Sequence[SheetPart], size: SheetSize) -> Iterator[str]:
    wanted = {part.name: part.outline for part in parts}
    placed = Counter(p.name for sheet in nest.sheets for p in sheet.placements)
    if placed != Counter(list(wanted)):
        yield f"placed {dict(placed)}"
    if nest.least_count > len(nest.sheets):
        yield f"bound {nest.least_count} above {len(nest.sheets)} sheets"
    for number, sheet in enumerate(nest.sheets, start=1):
        shapes = []
        for p in sheet.placements:
            if p.mirrored or p.turn_deg % 90 != 0:
                yield f"{p.name} lies as none may"
            shape = laid(rendered(wanted[p.name]), p)
            x0, y0, x1, y1 = shape.bounds
            inside = min(x0, y0, size.width - y1, min(size.length, sheet.stop) - x1)
            if inside < size.margin - EPS:
                yield f"{p.name} is {inside} from the edge of sheet {number}"
            for name, other in shapes:
                if shape.distance(other) < size.gap - EPS:
                    yield f"{p.name} and {name} are {shape.distance(other)} apart"
            shapes.append((p.name, shape))
