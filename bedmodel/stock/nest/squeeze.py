"""Push a nest together: shift and tilt all parts at once, by a row of linear programmes.

Of every two convex parts that are near one another a line that parts them is chosen; how
the gap along it changes is linear in the shifts and nearly so in small tilts. Each
programme makes the nest as short as these lines allow within small steps; then the lines
are chosen anew. The last programme only shifts, which is exact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from bedmodel.stock.nest.forms import Room, Spot
from bedmodel.stock.nest.linear import minimise
from bedmodel.stock.nest.polygons import rectangle

_FIRST_STEP = 12.0  # mm
_LAST_STEP = 0.05
_SMALLER = 3.0  # times, when a step no longer pays
_ROUNDS = 24
_EXACT_ROUNDS = 3
_GOOD = 1e-6  # mm; what the linear programmes are exact to
_GAINED = 0.02  # of the step; less than this is not worth steps of the same size


@dataclass(frozen=True)
class Limits:
    """What a nest must keep (mm, degrees)."""

    gap: float
    tilt_deg: float


def squeeze(
    spots: Sequence[Spot], room: Room, limits: Limits, rounds_count: int = _ROUNDS
) -> tuple[tuple[Spot, ...], float] | None:
    """The nest pushed together to the left, and how far right it then reaches.

    A start whose parts overlap a little is put right. None where that fails.
    """
    step = _FIRST_STEP
    state = _State(spots, room, limits, step)
    for _ in range(rounds_count):
        moved = state.improved(step, tilting=True)
        if moved is None or moved.rank() > state.rank() - _GAINED * step:
            step /= _SMALLER
        if step < _LAST_STEP:
            break
        state = state if moved is None or moved.rank() >= state.rank() else moved
        state = state.with_reach(step)
    for _ in range(_EXACT_ROUNDS):
        state = state.with_reach(max(_LAST_STEP, 2 * state.worst))
        moved = state.improved(state.reach, tilting=False)
        if moved is None:
            break
        state = moved
        if state.worst <= _GOOD:
            break
    return (state.spots, state.stop) if state.worst <= _GOOD else None


class _State:
    """Where everything is, and what parts the parts."""

    def __init__(self, spots: Sequence[Spot], room: Room, limits: Limits, reach: float) -> None:
        self.spots = tuple(spots)
        self.room = room
        self.limits = limits
        self.reach = reach  # the largest step that the lines are chosen for
        self._find_lines()

    def with_reach(self, reach: float) -> _State:
        """The same for other steps."""
        return self if reach == self.reach else _State(self.spots, self.room, self.limits, reach)

    def rank(self) -> float:
        """Short and without overlaps."""
        return self.stop + 100 * self.worst

    def _find_lines(self) -> None:
        import numpy as np

        count = len(self.spots)
        self.solids: list[list[_Convex]] = []
        for spot in self.spots:
            angle = np.radians(spot.tilt_deg)
            turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
            self.solids.append(
                [_Convex(np.array(part) @ turn + (spot.x, spot.y)) for part in spot.form.parts]
            )
        self.solids += [[_Convex(np.array(rectangle(*box)))] for box in self.room.obstacles]
        self.corners = [np.concatenate([p.corners for p in s]) for s in self.solids[:count]]
        self.stop = max(float(c[:, 0].max()) for c in self.corners)
        room = self.room
        over = [0.0]
        for c in self.corners:
            over += [room.start - c[:, 0].min(), room.low - c[:, 1].min()]
            over += [c[:, 0].max() - room.stop, c[:, 1].max() - room.high]
        self.lines = []
        for i in range(count):
            for j in range(i + 1, len(self.solids)):
                gap = self.limits.gap if j < count else 0.0
                for a, b in _near(self.solids[i], self.solids[j], gap + 5 * self.reach):
                    apart, normal = _parting(a, b)
                    self.lines.append((apart - gap, i, j, a, b, normal, gap))
                    over.append(gap - apart)
        self.worst = float(max(over))

    def improved(self, step: float, tilting: bool) -> _State | None:
        """The state after one linear programme; None when it has no solution."""
        count = len(self.spots)
        names = 3 * count + 1  # dx, dy, tilt of each; the stop
        rows: list[tuple[list[tuple[int, float]], float]] = []
        lower, upper = [], []
        for spot in self.spots:
            most = step / spot.form.reach if tilting else 0.0
            low, high = _tilt_range(spot, self.limits, most)
            lower += [-step, -step, low]
            upper += [step, step, high]
        lower.append(self.room.start)
        upper.append(self.room.stop)
        for i in range(count):
            rows += self._walls(i, 3 * step)
        for over, i, j, a, b, normal, gap in self.lines:
            if over < 5 * step:
                rows += self._line(i, j, a, b, normal, gap, 5 * step)
        prices = [0.0] * (names - 1) + [1.0]
        values = minimise(prices, lower, upper, rows)
        if values is None:
            return None
        spots = [
            replace(
                spot,
                x=spot.x + values[3 * i],
                y=spot.y + values[3 * i + 1],
                tilt_deg=_tilted(spot, values[3 * i + 2], self.limits),
            )
            for i, spot in enumerate(self.spots)
        ]
        return _State(spots, self.room, self.limits, self.reach)

    def _walls(self, i: int, within: float) -> list[tuple[list[tuple[int, float]], float]]:
        rows = []
        spot, room, stop = self.spots[i], self.room, 3 * len(self.spots)
        x, y, tilt = 3 * i, 3 * i + 1, 3 * i + 2
        for px, py in self.corners[i].tolist():
            rx, ry = px - spot.x, py - spot.y
            if px - room.start < within:
                rows.append(([(x, 1.0), (tilt, -ry)], room.start - px))
            if self.stop - px < within:
                rows.append(([(stop, 1.0), (x, -1.0), (tilt, ry)], px))
            if py - room.low < within:
                rows.append(([(y, 1.0), (tilt, rx)], room.low - py))
            if room.high - py < within:
                rows.append(([(y, -1.0), (tilt, -rx)], py - room.high))
        return rows

    def _line(
        self,
        i: int,
        j: int,
        a: _Convex,
        b: _Convex,
        normal: tuple[float, float],
        gap: float,
        within: float,
    ) -> list[tuple[list[tuple[int, float]], float]]:
        nx, ny = normal
        ends, begins = a.corners @ (nx, ny), b.corners @ (nx, ny)
        top, bottom = ends.max(), begins.min()
        one, other = self.spots[i], self.spots[j] if j < len(self.spots) else None
        rows = []
        for (ax, ay), end in zip(a.corners.tolist(), ends.tolist(), strict=True):
            if end < top - within:
                continue
            swing = ny * (ax - one.x) - nx * (ay - one.y)
            mine = [(3 * i, -nx), (3 * i + 1, -ny), (3 * i + 2, -swing)]
            for (bx, by), begin in zip(b.corners.tolist(), begins.tolist(), strict=True):
                if begin - end > bottom - top + within:
                    continue
                entries = list(mine)
                if other is not None:
                    swing = ny * (bx - other.x) - nx * (by - other.y)
                    entries += [(3 * j, nx), (3 * j + 1, ny), (3 * j + 2, swing)]
                rows.append((entries, gap - (begin - end)))
        return rows


def _tilt_range(spot: Spot, limits: Limits, most: float) -> tuple[float, float]:
    """How far a part may still be turned (radians), never more than ``most``."""
    lean = spot.form.lean_deg + spot.tilt_deg
    low = math.radians(-limits.tilt_deg - lean)
    high = math.radians(limits.tilt_deg - lean)
    return min(max(low, -most), 0.0), max(min(high, most), 0.0)


def _tilted(spot: Spot, by: float, limits: Limits) -> float:
    """The tilt after a turn (radians), kept within the limits against rounding."""
    lean = spot.form.lean_deg
    most = max(limits.tilt_deg, abs(lean))
    return min(max(spot.tilt_deg + math.degrees(by), -most - lean), most - lean)


class _Convex:
    """A convex part where it lies: its corners, and a unit vector out of each edge."""

    def __init__(self, corners: Any) -> None:
        import numpy as np

        edges = np.concatenate((corners[1:], corners[:1])) - corners
        edges /= np.sqrt((edges * edges).sum(axis=1))[:, None]
        self.corners = corners
        self.normals = edges @ np.array([[0.0, -1.0], [1.0, 0.0]])
        self.low, self.high = corners.min(axis=0), corners.max(axis=0)


def _near(
    ones: Sequence[_Convex], others: Sequence[_Convex], within: float
) -> list[tuple[_Convex, _Convex]]:
    """The pairs of convex parts whose boxes are near one another."""
    import numpy as np

    low_1, high_1 = (np.array([getattr(p, n) for p in ones])[:, None] for n in ("low", "high"))
    low_2, high_2 = (np.array([getattr(p, n) for p in others])[None] for n in ("low", "high"))
    apart = np.maximum(low_2 - high_1, low_1 - high_2).max(axis=2)
    return [(ones[i], others[j]) for i, j in np.argwhere(apart < within).tolist()]


def _parting(a: _Convex, b: _Convex) -> tuple[float, tuple[float, float]]:
    """How far apart two convex polygons are, negative when they overlap, and the direction.

    The normal points from a to b. It is square to an edge, or where two corners are nearest
    along the line between them.
    """
    import numpy as np

    directions = np.concatenate((a.normals, -b.normals))
    ends, begins = a.corners @ directions.T, b.corners @ directions.T
    apart = begins.min(axis=0) - ends.max(axis=0)
    best = int(apart.argmax())
    far, normal = float(apart[best]), directions[best]
    if far > 0:
        one = a.corners[ends[:, best].argmax()]
        other = b.corners[begins[:, best].argmin()]
        way = other - one
        length = float(np.sqrt(way @ way))
        if length > far + _GOOD:
            way = way / length
            along = float((b.corners @ way).min() - (a.corners @ way).max())
            if along > far:
                far, normal = along, way
    return far, (float(normal[0]), float(normal[1]))
