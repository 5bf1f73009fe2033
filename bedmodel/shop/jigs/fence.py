"""What all plates with a fence have in common: the board, the fence's lines, and how it is told.

Seen from above, the fence underneath; x runs along it, y away from it:

        +-------------------------------------+
        |         ( what is cut: its )        |
        |         ( middle at y = 0  )        |
        |  __________            __________   |     fence line at y = -distance
        |   x      fence, under the plate  x  |
        +-------------------------------------+
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from bedmodel.outline import Outline
from bedmodel.shop.sheet import FENCE, SCREW, Mark, cross
from bedmodel.units import LengthUnit, format_both

Bounds = tuple[float, float, float, float]

CLEAR = 3.0  # mm from an opening to a mark
FENCE_WIDE = 36.0  # mm
EDGE = 6.0  # mm from a plate's edge to a mark
ALIKE = 0.01  # mm; lengths this close are one
_STEP = 5.0  # mm; plates are whole steps
_MANY = {
    "leg": "legs",
    "board": "boards",
    "rail": "rails",
    "runner": "runners",
    "slat": "slats",
    "cleat": "cleats",
    "cap": "caps",
}


@dataclass(frozen=True)
class Seat:
    """Like cuts made with one plate in one setting: in which parts, how deep, how far in (mm).

    ``part`` is leg, board, rail, runner, slat, cleat or cap; ``distance`` is from the reference
    face, against which the fence lies, to the middle of the cut's width.
    """

    part: str
    where: str
    count: int
    distance: float
    depth: float


def board_for(bounds: Bounds, distances: Sequence[float], margin: float) -> Outline:
    """The plate: so much wider than its openings all round, and room for the fence."""
    x0, y0, x1, y1 = bounds
    right, top = _up(max(-x0, x1) + margin), _up(y1 + margin)
    bottom = max(_up(-y0 + margin), _up(max(distances) + FENCE_WIDE + EDGE))
    corners = [(-right, -bottom), (right, -bottom), (right, top), (-right, top)]
    names = ["fence side", "end", "side", "end"]
    return Outline.of([(p, 0.0, n) for p, n in zip(corners, names, strict=True)])


def _up(length: float) -> float:
    return math.ceil(length / _STEP - 1e-9) * _STEP


def fence_marks(
    inner: float, plate: Outline, distances: Sequence[float], label: Callable[[float], str]
) -> Iterator[Mark]:
    """The fence's edge for each distance, broken within ``inner`` of the middle, and its screws."""
    _, _, right, _ = plate.bounds()
    start = inner + 2 * CLEAR
    for i, distance in enumerate(distances):
        for sign in (1.0, -1.0):
            words = label(distance) if (sign > 0) == (i % 2 == 0) else ""
            ends = (sign * start, -distance), (sign * (right - EDGE), -distance)
            yield Mark(FENCE, *ends, words)
            # Each fence has its own holes, so that they do not run into one another.
            across = sign * (right - 2 * EDGE - 18.0 * i)
            yield from cross(SCREW, (across, -distance - FENCE_WIDE / 2))


def fence_label(distance: float, seats: Sequence[Seat]) -> str:
    """Whose fence it is, and how far from the middle: "FENCE LEG 14.3"."""
    parts = {s.part for s in seats if abs(s.distance - distance) < ALIKE}
    return f"FENCE {'BOTH' if len(parts) > 1 else parts.pop().upper()} {distance:.1f}"


# --- told on the card ----------------------------------------------------------------------


def where_words(seats: Sequence[Seat]) -> str:
    """Where it is used, and how often."""
    counts: dict[str, int] = {}
    for seat in seats:
        counts[seat.where] = counts.get(seat.where, 0) + seat.count
    return "; ".join(f"{where} ({count} off)" for where, count in counts.items())


def apart(lengths: Iterable[float]) -> list[float]:
    """The different lengths, from the least up; those that no rule tells apart are one."""
    found: list[float] = []
    for length in sorted(lengths):
        if not found or length - found[-1] > ALIKE:
            found.append(length)
    return found


def by_part(values: Sequence[tuple[Seat, float]], unit: LengthUnit) -> str:
    """Say lengths as shortly as they are alike: one for all, one a part, or one a place."""
    everyone = " and ".join(dict.fromkeys(_MANY[seat.part] for seat, _ in values))
    for key in (
        lambda seat: everyone,
        lambda seat: _MANY[seat.part],
        lambda seat: seat.where,  # where two rows differ, both are told
    ):
        given: dict[str, list[float]] = {}
        for seat, value in values:
            given.setdefault(key(seat), []).append(value)
        told = {name: apart(each) for name, each in given.items()}
        if all(len(each) == 1 for each in told.values()):
            break
    return "; ".join(
        f"{name} {' and '.join(format_both(v, unit) for v in each)}" for name, each in told.items()
    )
