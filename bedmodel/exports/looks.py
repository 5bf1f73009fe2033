"""How each species of a bed appears in pictures and exchange files."""

from __future__ import annotations

from bedmodel.assembly import Bed
from bedmodel.exports.step import Look
from bedmodel.tables import wood


def looks_of(bed: Bed) -> dict[str, Look]:
    """The look of each species of the bed, by the species' name in the sheet."""
    species = {kind.species for kind in bed.kinds.values()}
    return {name: _look(name) for name in sorted(species)}


def _look(species: str) -> Look:
    timber = wood(species, "wood.species")
    return Look(timber.label, timber.rgb, timber.density_kg_m3)
