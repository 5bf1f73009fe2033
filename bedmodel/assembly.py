"""The finished bed: layout, pieces and solids together, with mass and centre of mass."""

from __future__ import annotations

import importlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import cadquery as cq
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps

from bedmodel.bed import Kind, Piece
from bedmodel.frames import Frame, Vector, add, scale
from bedmodel.materials import Metal, material
from bedmodel.panels import Panel
from bedmodel.pieces import make_pieces
from bedmodel.shape import Shape
from bedmodel.skeleton import Layout, lay_out
from bedmodel.solids import location, make_solid, make_solids
from bedmodel.spec import Sheet
from bedmodel.tables import Wood

MM3_PER_M3 = 1e9


@dataclass(frozen=True, repr=False)
class Bed:
    """A bed as built; ``solids`` are by kind name, in the part frame (mm)."""

    layout: Layout
    pieces: tuple[Piece, ...]
    solids: Mapping[str, cq.Shape]

    @property
    def name(self) -> str:
        return self.layout.sheet.design.name

    @cached_property
    def kinds(self) -> dict[str, Kind]:
        """Each kind once, in the order of first use."""
        return {piece.kind.name: piece.kind for piece in self.pieces}

    @cached_property
    def _bodies(self) -> dict[str, tuple[float, Vector]]:
        return {name: _volume_and_centre(self.solids[name]) for name in self.kinds}

    def piece(self, name: str) -> Piece:
        """The piece of that name; KeyError when there is none."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise KeyError(name)

    def solid(self, piece: Piece) -> cq.Shape:
        """The piece's solid, placed in the bed."""
        return self.solids[piece.kind.name].moved(location(piece.placement))

    def volume(self, kind: str) -> float:
        """Volume of one piece of a kind (mm3), measured on its solid."""
        return self._bodies[kind][0]

    def mass_kg(self, kind: str) -> float:
        """Mass of one piece of a kind (kg), at 12 % moisture content."""
        return self.volume(kind) / MM3_PER_M3 * self.material(kind).density_kg_m3

    def material(self, kind: str) -> Wood | Metal | Panel:
        """What a kind is made of."""
        return material(self.kinds[kind].species, self.layout.sheet.own_woods)

    @property
    def total_mass_kg(self) -> float:
        return sum(self.mass_kg(piece.kind.name) for piece in self.pieces)

    @property
    def centre_of_mass(self) -> Vector:
        """Centre of mass of the whole bed, without mattress, in the bed frame (mm)."""
        total, moment = 0.0, (0.0, 0.0, 0.0)
        for piece in self.pieces:
            mass = self.mass_kg(piece.kind.name)
            centre = piece.placement.point(self._bodies[piece.kind.name][1])
            total, moment = total + mass, add(moment, scale(centre, mass))
        return scale(moment, 1 / total)

    def groups(self) -> Iterator[tuple[str, list[Piece]]]:
        """Each sub-assembly and its pieces."""
        names = dict.fromkeys(piece.group for piece in self.pieces)
        for name in names:
            yield name, [piece for piece in self.pieces if piece.group == name]

    def with_piece(
        self,
        name: str,
        *,
        shape: Shape | None = None,
        solid: cq.Shape | None = None,
        placement: Frame | None = None,
    ) -> Bed:
        """The bed with one piece changed, as a kind of its own when its form changes."""
        old = self.piece(name)
        new, solids = old, dict(self.solids)
        if shape is not None or solid is not None:
            kind = Kind(f"{name}_changed", shape or old.kind.shape, old.kind.species)
            new = replace(old, kind=kind)
            solids[kind.name] = solid if solid is not None else make_solid(kind.shape)
        if placement is not None:
            new = replace(new, placement=placement)
        pieces = tuple(new if piece is old else piece for piece in self.pieces)
        return Bed(self.layout, pieces, solids)

    def only(self, *names: str) -> Bed:
        """The bed's pieces of these names, or of the kinds of these names; KeyError for none."""
        kept = tuple(p for p in self.pieces if p.name in names or p.kind.name in names)
        for name in names:
            if not any(name in (p.name, p.kind.name) for p in kept):
                raise KeyError(name)
        return Bed(self.layout, kept, self.solids)

    def __repr__(self) -> str:
        return f"<Bed {self.name}: {len(self.pieces)} pieces of {len(self.kinds)} kinds>"

    def _repr_html_(self) -> str:
        """What a notebook shows of it. Found by its name, as it stands in a layer above."""
        html: str = importlib.import_module("bedmodel.notebook").framed(self)
        return html

    def to_assembly(self) -> cq.Assembly:
        """The bed as a CadQuery assembly, for hosts that show one."""
        root = cq.Assembly(name=self.name)
        for group, pieces in self.groups():
            branch = cq.Assembly(name=group)
            for piece in pieces:
                stuff = self.material(piece.kind.name)
                branch.add(
                    self.solids[piece.kind.name],
                    name=piece.name,
                    loc=location(piece.placement),
                    color=cq.Color(*stuff.rgb),
                    material=cq.Material(
                        stuff.label, density=stuff.density_kg_m3, densityUnit="kg/m3"
                    ),
                )
            root.add(branch, name=group)
        return root


def make_bed(sheet: Sheet) -> Bed:
    """Build the bed of a sheet. Raises InputError where the sheet cannot be built."""
    layout = lay_out(sheet)
    pieces = make_pieces(layout)
    return Bed(layout, pieces, make_solids(pieces))


def _volume_and_centre(solid: cq.Shape) -> tuple[float, Vector]:
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid.wrapped, properties)
    centre = properties.CentreOfMass()
    return properties.Mass(), (centre.X(), centre.Y(), centre.Z())
