"""How each species of a bed appears in pictures and exchange files."""

from __future__ import annotations

from bedmodel.assembly import Bed
from bedmodel.exports.step import Look
from bedmodel.materials import material


def looks_of(bed: Bed) -> dict[str, Look]:
    """The look of each species of the bed, by the species' name in the sheet."""
    species = {kind.species for kind in bed.kinds.values()}
    return {name: _look(name) for name in sorted(species)}


def _look(species: str) -> Look:
    stuff = material(species)
    return Look(stuff.label, stuff.rgb, stuff.density_kg_m3)
