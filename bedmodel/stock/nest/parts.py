"""Which pieces of a bed are nested: the legs."""

from __future__ import annotations

from collections.abc import Sequence

from bedmodel.bed import Piece
from bedmodel.errors import InputError
from bedmodel.stock.cut_list import CutList
from bedmodel.stock.nest.plan import NestPart

_LEGS = ("head_leg", "foot_leg")


def leg_parts(pieces: Sequence[Piece], cuts: CutList | None = None) -> tuple[NestPart, ...]:
    """The legs of a bed; with a cut list of their lumber's class, each layer by itself.

    Raises InputError when there is none among the pieces.
    """
    rows = {name: item for item in (cuts.items if cuts else ()) for name in item.pieces}
    found = []
    for piece in pieces:
        if not piece.name.startswith(_LEGS):
            continue
        row = rows.get(piece.name)
        quarters_count = row.lumber.quarters_count if row and row.lumber else 0
        layers = row.layers if row else 1
        for layer in range(1, layers + 1):
            name = piece.name if layers == 1 else f"{piece.name}_layer_{layer}"
            found.append(
                NestPart(name, piece.kind.shape.outline, quarters_count, piece.kind.species)
            )
    if not found:
        raise InputError("nest", None, "has no legs to nest")
    return tuple(found)
