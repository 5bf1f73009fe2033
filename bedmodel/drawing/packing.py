"""Put boxes on a sheet: each in the free room where it fits best, none on another."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bedmodel.exports.paper.sheet import Box

Point = tuple[float, float]
_LEAST = 1e-6


def pack(
    items: Iterable[Sequence[Box]], room: Box, taken: Sequence[Box], gap: float
) -> list[Point] | None:
    """Where each item's origin goes, clear of all else by ``gap``; None if one has no room.

    An item is the boxes it covers round its own origin; what is free between them may be
    used by others. Each goes as high and then as far left as the free room allows.
    """
    free = [room]
    for box in taken:
        free = _less(free, _grown(box, gap))
    found: list[Point] = []
    for boxes in items:
        whole = Box(
            min(b.x0 for b in boxes),
            min(b.y0 for b in boxes),
            max(b.x1 for b in boxes),
            max(b.y1 for b in boxes),
        )
        fits = [
            f for f in free if f.width >= whole.width - _LEAST and f.height >= whole.height - _LEAST
        ]
        if not fits:
            return None
        best = min(fits, key=lambda f: (-round(f.y1, 3), round(f.x0, 3)))
        x, y = best.x0 - whole.x0, best.y1 - whole.y1
        found.append((x, y))
        for b in boxes:
            there = Box(b.x0 + x, b.y0 + y, b.x1 + x, b.y1 + y)
            free = _less(free, _grown(there, gap))
    return found


def _grown(box: Box, by: float) -> Box:
    return Box(box.x0 - by, box.y0 - by, box.x1 + by, box.y1 + by)


def _less(free: Sequence[Box], taken: Box) -> list[Box]:
    """The largest free boxes that are left when a box is taken out of them."""
    out: list[Box] = []
    for f in free:
        if not f.meets(taken):
            out.append(f)
            continue
        parts = (
            Box(f.x0, f.y0, taken.x0, f.y1),
            Box(taken.x1, f.y0, f.x1, f.y1),
            Box(f.x0, f.y0, f.x1, taken.y0),
            Box(f.x0, taken.y1, f.x1, f.y1),
        )
        out += [p for p in parts if p.width > 1.0 and p.height > 1.0]
    return [
        f
        for i, f in enumerate(out)
        if not any(
            other.holds(f) and (other != f or j < i) for j, other in enumerate(out) if j != i
        )
    ]
