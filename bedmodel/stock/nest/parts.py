"""Which pieces of a bed are nested: the legs of a shaped outline.

A square post is sawn straight, as boards are, so the board plan has it; the nest has only
what is traced. No leg is in both.
"""

from __future__ import annotations

from collections.abc import Sequence

from bedmodel.bed import Piece
from bedmodel.stock.cut_list import CutList, is_traced
from bedmodel.stock.nest.plan import NestPart


def leg_parts(pieces: Sequence[Piece], cuts: CutList | None = None) -> tuple[NestPart, ...]:
    """The shaped legs of a bed; with a cut list of their lumber's class, each layer by itself.

    There are none where the legs are square posts.
    """
    rows = {name: item for item in (cuts.items if cuts else ()) for name in item.pieces}
    found = []
    for piece in pieces:
        if not is_traced(piece.kind):
            continue
        row = rows.get(piece.name)
        quarters_count = row.lumber.quarters_count if row and row.lumber else 0
        layers = row.layers if row else 1
        for layer in range(1, layers + 1):
            name = piece.name if layers == 1 else f"{piece.name}_layer_{layer}"
            found.append(
                NestPart(name, piece.kind.shape.outline, quarters_count, piece.kind.species)
            )
    return tuple(found)
