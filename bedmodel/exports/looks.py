"""How each species of a bed appears in pictures and exchange files."""

from __future__ import annotations

from bedmodel.assembly import Bed
from bedmodel.exports.step import Look
from bedmodel.materials import Metal, material
from bedmodel.panels import Panel
from bedmodel.tables import Wood


def looks_of(bed: Bed) -> dict[str, Look]:
    """The look of each species of the bed, by the species' name in the sheet."""
    species = {kind.species for kind in bed.kinds.values()}
    own = bed.layout.sheet.own_woods
    return {name: _look(material(name, own)) for name in sorted(species)}


def _look(stuff: Wood | Metal | Panel) -> Look:
    return Look(stuff.label, stuff.rgb, stuff.density_kg_m3)
