"""Prove that no nest is shorter: by area, by the longest part, and by whole-number programmes.

For each choice of ways to lie the programme places all parts, each pair in one of the cells
that the other's no-fit polygon leaves. Parts that may be tilted count as what is common
to all their tilts, so that the bound holds for every tilt, but is weaker.

Source: mixed-integer models of nesting over cells of no-fit polygons, as published for
irregular strip packing; stated here anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, product
from typing import Any

from bedmodel.outline import Outline
from bedmodel.stock.nest.cells import HalfPlane, free_cells
from bedmodel.stock.nest.linear import Programme, least_of
from bedmodel.stock.nest.plan import Nesting, Proof
from bedmodel.stock.nest.polygons import (
    Polygon,
    area,
    box,
    convex_parts,
    inner_polygon,
    turned,
    turned_over,
)

_TOLERANCE = 0.3  # mm
_SHRUNK = 0.3  # mm
_TILT_STEP = 0.1  # degrees
_MOST_PARTS = 5  # a proof of more takes too long
_MOST_TILT = 1.0  # degrees; what is common to more tilts is too little for a useful bound


@dataclass(frozen=True)
class _Lying:
    """One part in one way: what it covers in every tilt, grown by half the gap, and its least
    reach to the left, down, right and up of its reference point.
    """

    kind: int
    solid: Polygon
    parts: tuple[Polygon, ...]
    reach: tuple[float, float, float, float]

    def key(self, x_sign: int = 1, y_sign: int = 1) -> tuple[object, ...]:
        image = sorted((round(x_sign * x, 1), round(y_sign * y, 1)) for x, y in self.solid)
        return (self.kind, tuple(image))


def prove(
    outlines: Sequence[Outline], width: float, nesting: Nesting, best: float, nodes_count: int
) -> tuple[Proof, ...]:
    """Bounds of the length that these parts use up of a sound plank.

    The first is for all tilts that the nesting allows; where it allows any, a second is for
    none. ``best`` is the length of a nest that is there.
    """
    tilts = [nesting.grain_deg, 0.0] if nesting.grain_deg > 0 else [0.0]
    return tuple(_proof(outlines, width, nesting, tilt, best, nodes_count) for tilt in tilts)


def _proof(
    outlines: Sequence[Outline],
    width: float,
    nesting: Nesting,
    tilt: float,
    best: float,
    nodes_count: int,
) -> Proof:
    plain = _plain_bound(outlines, width, nesting, tilt)
    if len(outlines) > _MOST_PARTS or tilt > _MOST_TILT:
        return Proof(min(plain, best), tilt, False)
    # A nest with tilts says nothing of the best without; then a longer one is looked for.
    below = best if tilt == nesting.grain_deg else 1.1 * best
    bound, closed = _bound(outlines, width, nesting, tilt, below, nodes_count)
    if tilt == nesting.grain_deg:
        plain, bound = min(plain, best), min(bound, best)
    return Proof(max(plain, bound), tilt, closed)


def _plain_bound(outlines: Sequence[Outline], width: float, nesting: Nesting, tilt: float) -> float:
    """The area of all parts grown by half the gap, and the longest part."""
    import shapely

    half, margins = nesting.gap / 2, 2 * nesting.margin
    polygons = [inner_polygon(outline, _TOLERANCE) for outline in outlines]
    grown = sum(shapely.Polygon(p).buffer(half).area for p in polygons)
    by_area = grown / (width - margins + nesting.gap) - nesting.gap + margins
    longest = 0.0
    for polygon in polygons:
        lengths = [r[2] - r[0] for r in (box(turned(polygon, t)) for t, _ in _steps(tilt))]
        farthest = max(math.hypot(*p) for p in polygon)
        slack = 2 * farthest * math.radians(_TILT_STEP) / 2 if tilt else 0.0
        longest = max(longest, min(lengths) - slack)
    return max(float(by_area), longest + margins)


def _steps(tilt: float) -> list[tuple[float, int]]:
    """Tilts so near one another that what lies between them is within a known slack."""
    count = math.ceil(tilt / _TILT_STEP)
    return [(tilt * i / max(count, 1), i) for i in range(-count, count + 1)]


# --- the ways to lie -----------------------------------------------------------------------


def _lying(kind: int, outline: Outline, nesting: Nesting, tilt: float) -> list[_Lying]:
    import shapely

    polygon = inner_polygon(outline, _TOLERANCE)
    x0, y0, x1, y1 = box(polygon)
    middle: Polygon = tuple((x - (x0 + x1) / 2, y - (y0 + y1) / 2) for x, y in polygon)
    farthest = max(math.hypot(*p) for p in middle)
    # Between two of the tilts tried, no point moves by more than this from the nearer.
    slack = farthest * math.radians(_TILT_STEP) / 2 if tilt else 0.0
    turns = [turned(middle, t) for t, _ in _steps(tilt)]
    common = shapely.intersection_all([shapely.Polygon(t) for t in turns])
    grown = common.buffer(nesting.gap / 2 - slack - _SHRUNK, quad_segs=2).simplify(_SHRUNK)
    boxes = [box(t) for t in turns]
    least = (
        min(-b[0] for b in boxes) - slack,
        min(-b[1] for b in boxes) - slack,
        min(b[2] for b in boxes) - slack,
        min(b[3] for b in boxes) - slack,
    )
    whole = max(shapely.get_parts(grown), key=lambda part: part.area)
    solid: Polygon = tuple(map(tuple, shapely.get_coordinates(whole.exterior)[:-1].tolist()))
    found: dict[object, _Lying] = {}
    for over in (False, True) if nesting.turn_over else (False,):
        for end in (False, True) if nesting.end_for_end else (False,):
            lying = _turned_lying(kind, solid, least, over, end)
            found.setdefault(lying.key(), lying)
    return list(found.values())


def _turned_lying(
    kind: int, solid: Polygon, reach: tuple[float, float, float, float], over: bool, end: bool
) -> _Lying:
    left, down, right, up = reach
    if over:
        solid, down, up = turned_over(solid), up, down
    if end:
        solid, left, down, right, up = turned(solid, 180.0), right, up, left, down
    if area(solid) < 0:
        solid = solid[::-1]
    return _Lying(kind, solid, convex_parts(solid), (left, down, right, up))


def _choices(kinds: Sequence[tuple[Sequence[_Lying], int]]) -> Iterator[tuple[_Lying, ...]]:
    """Every choice of ways to lie, one of those that are mirror images of one another."""
    seen = set()
    each = [list(combinations_with_replacement(ways, count)) for ways, count in kinds]
    for chosen in product(*each):
        flat = tuple(lying for group in chosen for lying in group)
        images = [
            tuple(sorted(repr(lying.key(sx, sy)) for lying in flat))
            for sx in (1, -1)
            for sy in (1, -1)
        ]
        if min(images) not in seen:
            seen.add(min(images))
            yield flat


# --- the programme -------------------------------------------------------------------------


def _bound(
    outlines: Sequence[Outline],
    width: float,
    nesting: Nesting,
    tilt: float,
    below: float,
    nodes_count: int,
) -> tuple[float, bool]:
    """The least length over all choices of ways to lie, and whether all came to their end."""
    groups: dict[object, list[Outline]] = {}
    for outline in outlines:
        groups.setdefault(outline.canonical(), []).append(outline)
    kinds = [
        (_lying(number, group[0], nesting, tilt), len(group))
        for number, group in enumerate(groups.values())
    ]
    margins = 2 * nesting.margin
    cells = _Cells(below - margins, width - margins)
    least, closed, left = below - margins, True, nodes_count
    for chosen in _choices(kinds):
        programme = _programme(chosen, below - margins, width - margins, cells)
        if programme is None:
            continue
        bound, done, nodes = least_of(programme, least, max(left, 1))
        left -= nodes
        least, closed = min(least, bound), closed and done
        if left <= 0:
            # What was not looked at may be as short as anything.
            return 0.0, False
    return least + margins, closed


class _Cells:
    """The cells of each pair of ways to lie, made once."""

    def __init__(self, length: float, width: float) -> None:
        self._size = (length, width)
        self._made: dict[tuple[int, int], list[list[HalfPlane]]] = {}

    def of(self, one: _Lying, other: _Lying) -> list[list[HalfPlane]]:
        key = (id(one), id(other))
        if key not in self._made:
            self._made[key] = free_cells(
                _taken(one, other),
                self._size[0] - _together(one, other, 0),
                self._size[1] - _together(one, other, 1),
            )
        return self._made[key]


def _together(one: _Lying, other: _Lying, axis: int) -> float:
    """How much less than the room two reference points are apart at most, along an axis."""
    forth = one.reach[axis] + other.reach[axis + 2]
    back = other.reach[axis] + one.reach[axis + 2]
    return min(forth, back)


def _taken(one: _Lying, other: _Lying) -> Any:
    import shapely

    sums = [
        shapely.MultiPoint([(ax - bx, ay - by) for ax, ay in a for bx, by in b]).convex_hull
        for a in one.parts
        for b in other.parts
    ]
    return shapely.union_all(sums)


def _programme(
    chosen: Sequence[_Lying], length: float, width: float, cells: _Cells
) -> Programme | None:
    """The programme of one choice of ways to lie; None when a part is too large."""
    made = Programme()
    stop = made.value(0.0, length, 1.0)
    at: list[tuple[int, int]] = []
    for lying in chosen:
        left, down, right, up = lying.reach
        if left + right > length or down + up > width + 1e-9:
            return None
        x = made.value(left, length - right)
        y = made.value(down, max(width - up, down))
        made.rows.append(([(stop, 1.0), (x, -1.0)], right))
        at.append((x, y))
    for i, one in enumerate(chosen):
        for j in range(i + 1, len(chosen)):
            if not _pair(made, at[i], at[j], cells.of(one, chosen[j])):
                return None
            if one is chosen[j]:
                made.rows.append(([(at[j][0], 1.0), (at[i][0], -1.0)], 0.0))
    return made


def _pair(
    made: Programme,
    one: tuple[int, int],
    other: tuple[int, int],
    cells: Sequence[Sequence[HalfPlane]],
) -> bool:
    """One cell is chosen; the difference of the two places is the sum of each cell's share."""
    if not cells:
        return False
    infinite = math.inf
    choices = []
    shares: tuple[list[tuple[int, float]], list[tuple[int, float]]] = ([], [])
    for cell in cells:
        chosen = made.value(0.0, 1.0)
        made.whole.append(chosen)
        choices.append((chosen, 1.0))
        x, y = made.value(-infinite, infinite), made.value(-infinite, infinite)
        shares[0].append((x, 1.0))
        shares[1].append((y, 1.0))
        for nx, ny, d in cell:
            made.rows.append(([(x, nx), (y, ny), (chosen, -d)], 0.0))
    made.equal.append((choices, 1.0))
    for axis in (0, 1):
        made.equal.append(([*shares[axis], (other[axis], -1.0), (one[axis], 1.0)], 0.0))
    return True
