"""Lay parts down one after the other, each as far left as it will go: many nests at once.

A beam search: of the nests with the same number of parts the best are kept, and each is
gone on with by every kind that is left, in every way it may lie. No chance, no clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bedmodel.stock.nest.forms import Form, Room, Spot
from bedmodel.stock.nest.nofit import NoFit

_DIGITS = 6


@dataclass(frozen=True)
class Laid:
    """A nest: what lies where, and the farthest right that anything reaches."""

    spots: tuple[Spot, ...]
    stop: float
    left: tuple[int, ...]  # of each kind, how many are still to come
    filled: float = 0.0  # how far right all parts reach together: compact nests first


def lay_down(
    kinds: Sequence[Sequence[Form]],
    counts: Sequence[int],
    room: Room,
    nofit: NoFit,
    beam_count: int,
) -> list[Laid]:
    """Nests of all parts, the shortest first; empty when none was found.

    ``kinds`` are the forms of each kind, ``counts`` how many of it are wanted.
    """
    nests = lay_down_all(kinds, counts, room, nofit, beam_count)
    return sorted((nest for nest in nests if not any(nest.left)), key=_rank)


def lay_down_all(
    kinds: Sequence[Sequence[Form]],
    counts: Sequence[int],
    room: Room,
    nofit: NoFit,
    beam_count: int,
) -> list[Laid]:
    """The best nests of every set of parts out of those wanted, smaller sets first."""
    level = [Laid((), room.start, tuple(counts))]
    every: list[Laid] = []
    for _ in range(sum(counts)):
        found: dict[object, Laid] = {}
        for nest in level:
            for kind, count in enumerate(nest.left):
                if count:
                    for form in kinds[kind]:
                        for laid in _with(nest, kind, form, room, nofit):
                            found.setdefault(_look(laid, room), laid)
        level = _best_of_each(list(found.values()), beam_count)
        every += level
    return every


def _best_of_each(nests: Sequence[Laid], beam_count: int) -> list[Laid]:
    """So many with the same parts laid: a nest of the short ones alone says little yet.

    Half of them are the shortest, the others those whose parts all lie far to the left: one
    that sticks out at one edge may leave room at the other.
    """
    kept: dict[tuple[int, ...], dict[int, Laid]] = {}
    for rank, share in ((_rank, (beam_count + 1) // 2), (_rank_by_filling, beam_count)):
        for at in sorted(range(len(nests)), key=lambda i: rank(nests[i])):
            same = kept.setdefault(nests[at].left, {})
            if len(same) < share:
                same[at] = nests[at]
    return [nest for same in kept.values() for nest in same.values()]


def _rank_by_filling(nest: Laid) -> tuple[object, ...]:
    return (round(nest.filled, 3), *_rank(nest))


def _rank(nest: Laid) -> tuple[object, ...]:
    # Whole digits, so that what differs by rounding alone is settled by what comes after.
    places = tuple((s.form.kind, round(s.x, 3), round(s.y, 3)) for s in nest.spots)
    return (round(nest.stop, 3), round(nest.filled, 3), places)


def _look(nest: Laid, room: Room) -> object:
    """Equal for nests that look the same, in whatever order they were laid.

    In a room without obstacles a nest mirrored across the middle is no other one.
    """
    seen = sorted((s.form.key, round(s.x, _DIGITS), round(s.y, _DIGITS)) for s in nest.spots)
    if room.obstacles:
        return tuple(seen)
    ends = room.low + room.high
    image = sorted(
        (s.form.mirror_key(1, -1), round(s.x, _DIGITS), round(ends - s.y, _DIGITS))
        for s in nest.spots
    )
    return tuple(min(seen, image))


def _with(nest: Laid, kind: int, form: Form, room: Room, nofit: NoFit) -> list[Laid]:
    left = tuple(n - (i == kind) for i, n in enumerate(nest.left))
    return [
        Laid(
            (*nest.spots, Spot(form, x, y)),
            max(nest.stop, x + form.half[0]),
            left,
            nest.filled + x + form.half[0],
        )
        for x, y in places(nest.spots, form, room, nofit)
    ]


def places(
    spots: Sequence[Spot], form: Form, room: Room, nofit: NoFit
) -> list[tuple[float, float]]:
    """Where the form may go: as far left as possible at the low edge, at the high one, anywhere."""
    import numpy as np
    import shapely

    hx, hy = form.half
    x0, y0, x1, y1 = room.start + hx, room.low + hy, room.stop - hx, room.high - hy
    hair = 1e-6
    if x1 < x0 - hair or y1 < y0 - hair:
        return []
    frame = shapely.box(x0 - hair, y0 - hair, x1 + hair, y1 + hair)
    taken: list[Any] = []
    for spot in spots:
        if spot.x - spot.form.half[0] - hx < x1 + room.stop:
            taken.append(nofit.corners(spot.form, form) + np.array((spot.x, spot.y)))
    taken += [nofit.around(obstacle, form) for obstacle in room.obstacles]
    free = frame
    if taken:
        free = frame.difference(shapely.union_all([shapely.polygons(ring) for ring in taken]))
    corners = shapely.get_coordinates(free)
    if not len(corners):
        return []
    inside = np.clip(corners, (x0, y0), (max(x0, x1), max(y0, y1))).round(_DIGITS)
    rounded: list[tuple[float, float]] = list(map(tuple, inside.tolist()))
    low = min(rounded, key=lambda p: (p[0], p[1]))
    high = min(rounded, key=lambda p: (p[0], -p[1]))
    at_low = [p for p in rounded if p[1] <= y0 + 2 * hair]
    at_high = [p for p in rounded if p[1] >= y1 - 2 * hair]
    picked = [low, high, *([min(at_low)] if at_low else []), *([min(at_high)] if at_high else [])]
    return list(dict.fromkeys(picked))
