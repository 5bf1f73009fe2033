"""Left and right parts that are marked alike, put together."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from bedmodel.shop.setting_out import PartMarks


def in_pairs(parts: Sequence[PartMarks]) -> Iterator[tuple[PartMarks, ...]]:
    """Each kind once, a left and a right of one part together."""
    taken: set[str] = set()
    for part in parts:
        if part.kind in taken:
            continue
        twins = [other for other in parts if other is not part and _mirrored(part, other)]
        group = (part, *itertools.islice(twins, 1))
        taken |= {each.kind for each in group}
        yield group


def _mirrored(one: PartMarks, other: PartMarks) -> bool:
    """True when two kinds are the left and the right of one part, with the same marks."""
    both = {one.hands, other.hands}
    stems = {p.removesuffix("_left").removesuffix("_right") for p in one.pieces + other.pieces}
    return both == {("left",), ("right",)} and len(stems) == 1 and one.rows == other.rows
