"""An exact straight beam on any supports: sag, bending and shear everywhere along it.

    load (down)      |  |  |  |          V
                 ====================================   x ->
                 ^          ^                  ^
                 supports: firm, springy, turning springs, or pushing only

x along the beam from its left end (mm); loads and sag positive down, reactions
positive up, moments positive when they sag the beam. The stiffness method with a node
at each support, load and end of a line load, so that nothing between nodes is
approximate but rounding. With a shear modulus the shear sag is in it.

Source of the element: Timoshenko beam theory; the shear area of a rectangle is 5/6 of
it (Wood Handbook, FPL-GTR-282, Eq. 9-4).
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from bedmodel.strength.timber import Section

_SAME_PLACE = 1e-6  # mm
_NARROW = 0.01  # mm


@dataclass(frozen=True)
class Support:
    """A support at ``x``: its stiffness in N/mm and against turning in N.mm/rad.

    ``push_only`` lets the beam lift off it.
    """

    x: float
    stiffness: float = math.inf
    turning: float = 0.0
    push_only: bool = False


@dataclass(frozen=True)
class PointLoad:
    """A force down at ``x`` (N)."""

    x: float
    force: float


@dataclass(frozen=True)
class LineLoad:
    """A load down from ``start`` to ``end`` (N/mm)."""

    start: float
    end: float
    force: float

    @classmethod
    def spread(cls, x: float, width: float, force: float) -> LineLoad | PointLoad:
        """A force spread evenly over ``width`` round ``x``; a point load for hardly any."""
        if width < _NARROW:
            return PointLoad(x, force)
        return cls(x - width / 2, x + width / 2, force / width)


Load = PointLoad | LineLoad


@dataclass(frozen=True)
class Beam:
    """A beam of one section; ``shear_modulus`` None leaves shear out (MPa)."""

    length: float
    section: Section
    modulus: float
    shear_modulus: float | None
    supports: tuple[Support, ...]


@dataclass(frozen=True)
class _Stretch:
    """Between two nodes: state at its left end, and the line load on it."""

    start: float
    length: float
    sag: float
    turn: float
    moment: float
    shear: float
    load: float


class Unstable(ValueError):
    """The beam would fall: too few supports, or it lifts off them."""


@dataclass(frozen=True)
class Bent:
    """A beam under its loads. Values at any ``x``; extremes are exact."""

    beam: Beam
    stretches: tuple[_Stretch, ...]
    reactions: tuple[float, ...]

    def sag(self, x: float) -> float:
        at = self._stretch(x)
        return self._sag_in(at, x - at.start)

    def moment(self, x: float) -> float:
        at = self._stretch(x)
        s = x - at.start
        return at.moment + at.shear * s - at.load * s * s / 2

    def shear(self, x: float) -> float:
        at = self._stretch(x)
        return at.shear - at.load * (x - at.start)

    def worst_sag(self, start: float = 0.0, end: float = math.inf) -> tuple[float, float]:
        """Where between ``start`` and ``end`` it sags most, and how much."""
        places = self._places(start, end, self._level_places)
        return max(((x, self.sag(x)) for x in places), key=lambda at: at[1])

    def worst_moment(self, start: float = 0.0, end: float = math.inf) -> tuple[float, float]:
        """Where the moment is greatest, and its size without sign."""
        places = self._places(start, end, self._flat_moments)
        return max(((x, abs(self.moment(x))) for x in places), key=lambda at: at[1])

    def worst_shear(self) -> float:
        ends = []
        for s in self.stretches:
            ends += [abs(s.shear), abs(s.shear - s.load * s.length)]
        return max(ends)

    def _stretch(self, x: float) -> _Stretch:
        starts = [s.start for s in self.stretches]
        return self.stretches[max(0, bisect.bisect_right(starts, x + 1e-12) - 1)]

    def _sag_in(self, at: _Stretch, s: float) -> float:
        ei = self.beam.modulus * self.beam.section.inertia
        bent = at.moment * s**2 / 2 + at.shear * s**3 / 6 - at.load * s**4 / 24
        sheared = (at.shear * s - at.load * s**2 / 2) * _give(self.beam)
        return at.sag + at.turn * s - bent / ei + sheared

    def _places(
        self, start: float, end: float, inner: Callable[[_Stretch], Iterable[float]]
    ) -> list[float]:
        end = min(end, self.beam.length)
        places = [start, end]
        for at in self.stretches:
            if at.start <= end and at.start + at.length >= start:
                places += [x for x in (at.start, *inner(at)) if start <= x <= end]
        return places

    def _level_places(self, at: _Stretch) -> Iterable[float]:
        """Where the slope passes zero inside a stretch: a cubic, so up to three times."""
        ei = self.beam.modulus * self.beam.section.inertia
        give = _give(self.beam)
        cubic = (
            at.turn + at.shear * give,
            -at.moment / ei - at.load * give,
            -at.shear / (2 * ei),
            at.load / (6 * ei),
        )
        yield at.start + at.length / 2  # in a symmetric stretch it is level just here
        steps = 4
        ends = [at.length * i / steps for i in range(steps + 1)]
        slopes = [_cubic(cubic, s) for s in ends]
        for i in range(steps):
            if slopes[i] * slopes[i + 1] < 0:
                yield at.start + _root(cubic, ends[i], ends[i + 1], slopes[i])

    def _flat_moments(self, at: _Stretch) -> Iterable[float]:
        if at.load:
            s = at.shear / at.load
            if 0 < s < at.length:
                yield at.start + s


def _cubic(c: tuple[float, float, float, float], s: float) -> float:
    return c[0] + s * (c[1] + s * (c[2] + s * c[3]))


def _root(c: tuple[float, float, float, float], low: float, high: float, at_low: float) -> float:
    """The root of a cubic between two places of unlike sign: Newton's steps, kept inside."""
    s = (low + high) / 2
    for _ in range(40):
        value = _cubic(c, s)
        if (value > 0) == (at_low > 0):
            low = s
        else:
            high = s
        rise = c[1] + s * (2 * c[2] + s * 3 * c[3])
        step = s - value / rise if rise else low
        step = step if low < step < high else (low + high) / 2
        if abs(step - s) < 1e-9:
            break
        s = step
    return s


def bend(beam: Beam, loads: Iterable[Load]) -> Bent:
    """Work out a beam under loads. Raises Unstable where it would fall."""
    loads = tuple(loads)
    resting = [True] * len(beam.supports)
    for _ in range(2 * len(beam.supports) + 2):
        bent = _solved(beam, loads, resting)
        now = [
            not support.push_only or (reaction >= -1e-9 if on else bent.sag(support.x) > 1e-9)
            for support, reaction, on in zip(beam.supports, bent.reactions, resting, strict=True)
        ]
        if now == resting:
            return bent
        resting = now
    raise Unstable("the beam finds no rest on its supports")


def _give(beam: Beam) -> float:
    """Slope from one newton of shear (1/N)."""
    if beam.shear_modulus is None:
        return 0.0
    return 1 / (beam.shear_modulus * beam.section.shear_area)


def _solved(beam: Beam, loads: tuple[Load, ...], resting: list[bool]) -> Bent:
    xs = _nodes(beam, loads)
    count = len(xs)
    line = [_line_load(loads, xs[i], xs[i + 1]) for i in range(count - 1)]
    rows = [[0.0] * 7 for _ in range(2 * count)]  # band: three below, own, three above
    force = [0.0] * (2 * count)
    elements = []
    for i in range(count - 1):
        stiffness, fixed = _element(beam, xs[i + 1] - xs[i], line[i])
        elements.append((stiffness, fixed))
        for a in range(4):
            force[2 * i + a] += fixed[a]
            for b in range(4):
                rows[2 * i + a][3 + b - a] += stiffness[a][b]
    for load in loads:
        if isinstance(load, PointLoad):
            force[2 * _index(xs, load.x)] += load.force
    held = set()
    for support, on in zip(beam.supports, resting, strict=True):
        if not on:
            continue
        node = 2 * _index(xs, support.x)
        for dof, stiffness_at in ((node, support.stiffness), (node + 1, support.turning)):
            if math.isinf(stiffness_at):
                held.add(dof)
            else:
                rows[dof][3] += stiffness_at
    moved = _banded(rows, force, held)
    stretches, ends = [], [0.0] * count
    for i, (stiffness, fixed) in enumerate(elements):
        u = moved[2 * i : 2 * i + 4]
        f = [sum(stiffness[a][b] * u[b] for b in range(4)) - fixed[a] for a in range(4)]
        ends[i] += f[0]
        ends[i + 1] += f[2]
        stretches.append(_Stretch(xs[i], xs[i + 1] - xs[i], u[0], u[1], f[1], -f[0], line[i]))
    applied = [0.0] * count
    for load in loads:
        if isinstance(load, PointLoad):
            applied[_index(xs, load.x)] += load.force
    reactions = []
    for support, on in zip(beam.supports, resting, strict=True):
        i = _index(xs, support.x)
        reactions.append(applied[i] - ends[i] if on else 0.0)
    return Bent(beam, tuple(stretches), tuple(reactions))


def _nodes(beam: Beam, loads: tuple[Load, ...]) -> list[float]:
    given = [0.0, beam.length, *(s.x for s in beam.supports)]
    for load in loads:
        given += [load.x] if isinstance(load, PointLoad) else [load.start, load.end]
    inside = sorted(min(max(x, 0.0), beam.length) for x in given)
    nodes = [inside[0]]
    for x in inside[1:]:
        if x - nodes[-1] > _SAME_PLACE:
            nodes.append(x)
    return nodes


def _index(xs: list[float], x: float) -> int:
    i = bisect.bisect_left(xs, x)
    near = [j for j in (i - 1, i) if 0 <= j < len(xs)]
    return min(near, key=lambda j: abs(xs[j] - x))


def _line_load(loads: tuple[Load, ...], start: float, end: float) -> float:
    middle = (start + end) / 2
    return sum(
        load.force
        for load in loads
        if isinstance(load, LineLoad) and load.start < middle < load.end
    )


def _element(beam: Beam, length: float, load: float) -> tuple[list[list[float]], list[float]]:
    ei = beam.modulus * beam.section.inertia
    give = 12 * ei * _give(beam) / length**2
    k = ei / (length**3 * (1 + give))
    a, b = 6 * length * k, 12 * k
    near, far = (4 + give) * length**2 * k, (2 - give) * length**2 * k
    stiffness = [[b, a, -b, a], [a, near, -a, far], [-b, -a, b, -a], [a, far, -a, near]]
    half, twelfth = load * length / 2, load * length**2 / 12
    return stiffness, [half, twelfth, half, -twelfth]


def _banded(rows: list[list[float]], force: list[float], held: set[int]) -> list[float]:
    """Solve the symmetric band by elimination; held degrees of freedom stay at zero."""
    n = len(rows)
    largest = max(row[3] for row in rows)
    for dof in held:
        for k in range(max(0, dof - 3), min(n, dof + 4)):
            rows[dof][3 + k - dof] = rows[k][3 + dof - k] = 0.0
        rows[dof][3] = largest
        force[dof] = 0.0
    for i in range(n):
        pivot = rows[i][3]
        if not pivot > 1e-13 * largest:
            raise Unstable("too few supports")
        for j in range(i + 1, min(n, i + 4)):
            factor = rows[j][3 + i - j] / pivot
            if factor:
                for k in range(i, min(n, i + 4)):
                    rows[j][3 + k - j] -= factor * rows[i][3 + k - i]
                force[j] -= factor * force[i]
    solved = [0.0] * n
    for i in range(n - 1, -1, -1):
        known = sum(rows[i][3 + k - i] * solved[k] for k in range(i + 1, min(n, i + 4)))
        solved[i] = (force[i] - known) / rows[i][3]
    return solved
