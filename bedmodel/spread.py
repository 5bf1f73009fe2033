"""Where along a board's end its tenons or dowels can stand, beside a rail's fastener.

zone    what a fastener takes of a leg: heights above the floor, and how deep it lies
        from the leg's inside face
band    heights that a mortise must keep out of, the wall counted in

        top of the board
          |  free
          |  ####  band       mortises go where they are free, as near as may be
          |  free             to where they would stand without the fastener
          |  ####  band
          |  free
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

Span = tuple[float, float]


@dataclass(frozen=True)
class Zone:
    """One cut of a fastener in a leg (mm): heights, depth from the inside face, start across.

    ``across`` is the least distance of the cut from the leg's joint face.
    """

    low: float
    high: float
    near: float
    far: float
    across: float

    def meets(self, depth: Span, reach: float, wall: float) -> bool:
        """Whether a mortise as deep from the inside face, that goes ``reach`` in, comes near."""
        return (
            self.near - wall < depth[1] - 1e-9
            and self.far + wall > depth[0] + 1e-9
            and self.across - wall < reach - 1e-9
        )


@dataclass(frozen=True)
class Slots:
    """Equal slots along a board's end: their middles, from the lowest up, and their length."""

    middles: tuple[float, ...]
    length: float

    @property
    def whole(self) -> float:
        """How much joint there is: the length of all."""
        return self.length * len(self.middles)

    @property
    def hold(self) -> float:
        """How well they keep the board from turning: all length by its distance from the middle."""
        middle = sum(self.middles) / len(self.middles)
        return sum(self._hold(abs(m - middle)) for m in self.middles)

    def _hold(self, arm: float) -> float:
        half = self.length / 2
        return self.length * arm if arm >= half else arm**2 + half**2


def share_kept(wanted: Sequence[Slots], found: Sequence[Slots]) -> float:
    """What the board that loses most keeps of its joint, in length or in hold."""
    return min(min(f.whole / w.whole, f.hold / w.hold) for w, f in zip(wanted, found, strict=True))


def bands(zones: Sequence[Zone], depth: Span, reach: float, wall: float) -> list[Span]:
    """The heights that mortises of one depth must keep out of."""
    return [(z.low - wall, z.high + wall) for z in zones if z.meets(depth, reach, wall)]


def is_clear(middles: Sequence[float], length: float, taken: Sequence[Span]) -> bool:
    """Whether slots of a length round the middles keep out of the bands."""
    half = length / 2 - 1e-9
    return all(
        middle + half <= low or middle - half >= high for middle in middles for low, high in taken
    )


def free_spans(low: float, high: float, taken: Sequence[Span]) -> list[Span]:
    """What the bands leave of a span, from the lowest up."""
    free, start = [], low
    for a, b in sorted(taken):
        if a > start:
            free.append((start, min(a, high)))
        start = max(start, b)
    if start < high:
        free.append((start, high))
    return [(a, b) for a, b in free if b - a > 1e-9]


def spread(
    wanted: Sequence[float], length: float, wall: float, free: Sequence[Span]
) -> tuple[float, ...] | None:
    """Middles of slots of a length in the free spans, ``wall`` apart; None when they do not fit.

    Of all ways to share them out, the one nearest to the wanted middles is taken.
    """
    most = [math.floor((b - a + wall + 1e-9) / (length + wall)) for a, b in free]
    best: tuple[float, tuple[float, ...]] | None = None
    for counts in itertools.product(*(range(min(m, len(wanted)) + 1) for m in most)):
        if sum(counts) != len(wanted):
            continue
        middles = tuple(_in_spans(wanted, counts, length, wall, free))
        cost = sum((m - w) ** 2 for m, w in zip(middles, wanted, strict=True))
        if best is None or cost < best[0] - 1e-9:
            best = cost, middles
    return None if best is None else best[1]


def _in_spans(
    wanted: Sequence[float],
    counts: Sequence[int],
    length: float,
    wall: float,
    free: Sequence[Span],
) -> list[float]:
    middles: list[float] = []
    for count, (low, high) in zip(counts, free, strict=True):
        here = wanted[len(middles) : len(middles) + count]
        first, last, pitch = low + length / 2, high - length / 2, length + wall
        placed: list[float] = []
        for i, want in enumerate(here):  # upwards: not below what those under it take
            floor = placed[-1] + pitch if placed else first
            ceiling = last - (count - 1 - i) * pitch
            placed.append(min(max(want, floor), ceiling))
        middles += placed
    return middles
