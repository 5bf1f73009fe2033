"""STEP files of the bed and of single kinds: AP214, millimetres, the same bytes each time.

The bed is one product with a product for each group under it, and under those the
pieces, each a placed usage of its kind. A kind is stored once, however many pieces
there are of it, with the colour, the name and the density of its species.
"""

from __future__ import annotations

import io
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy, BRepBuilderAPI_Transform
from OCP.gp import gp_Trsf
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
from OCP.STEPCAFControl import STEPCAFControl_Controller, STEPCAFControl_Writer
from OCP.STEPConstruct import STEPConstruct
from OCP.STEPControl import STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape
from OCP.UnitsMethods import UnitsMethods_LengthUnit
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool
from OCP.XSControl import XSControl_WorkSession

from bedmodel import __version__
from bedmodel.bed import Kind, Piece
from bedmodel.errors import WriteError
from bedmodel.exports.step_text import Header, Order, canonical, encoded
from bedmodel.frames import Frame, cross, dot

# The kernel keeps these for the whole process, whoever set them last.
_SETTINGS = {
    "write.step.schema": "AP214IS",
    "write.step.unit": "MM",
    "xstep.cascade.unit": "MM",
    "write.surfacecurve.mode": "Off",  # curves in the surfaces' plane: twice the size, no gain
    "write.precision.mode": "Average",
    "write.step.assembly": "Auto",
    "write.step.nonmanifold": "Off",
    "write.step.tessellated": "OnNoBRep",  # no triangles, even if the solid was meshed before
    "write.stepcaf.subshapes.name": "Off",
}


@dataclass(frozen=True)
class Look:
    """How a species appears: its name, colour (sRGB, 0 to 1) and density (kg/m3)."""

    name: str
    colour: tuple[float, float, float]
    density_kg_m3: float


def step_bytes(
    name: str,
    pieces: Sequence[Piece],
    solids: Mapping[str, cq.Shape],
    looks: Mapping[str, Look],
) -> bytes:
    """Return the STEP file of the whole bed, called ``name``.

    ``solids`` holds the solid of each kind by the kind's name, in its part frame;
    ``looks`` the look of each species. Groups and pieces come in the order of
    ``pieces``. Raises ValueError when a name is empty or means two things, a density
    is not above zero, or a placement mirrors; WriteError when the kernel fails.
    """
    kinds = _distinct_kinds(pieces)
    groups = list(dict.fromkeys(piece.group for piece in pieces))
    document = _Document()
    parts = {
        kind.name: document.add_part(kind.name, solids[kind.name], looks[kind.species])
        for kind in kinds
    }
    root = document.add_assembly(name)
    for group in groups:
        assembly = document.add_assembly(group)
        for piece in pieces:
            if piece.group == group:
                document.place(piece.name, assembly, parts[piece.kind.name], piece.placement)
        document.place(group, root, assembly, Frame())
    usages = [*groups, *(piece.name for piece in pieces)]
    return document.written(name, Order(usages, [name, *groups, *parts]))


def step_bytes_of_kind(kind: Kind, solid: cq.Shape, look: Look) -> bytes:
    """Return the STEP file of one kind, in its part frame.

    Raises ValueError and WriteError as ``step_bytes`` does.
    """
    document = _Document()
    document.add_part(kind.name, solid, look)
    return document.written(kind.name, Order())


def _distinct_kinds(pieces: Sequence[Piece]) -> list[Kind]:
    kinds: dict[str, Kind] = {}
    # Readers that build a tree by name want each name in it to be one of its kind.
    names = {piece.group for piece in pieces}
    for piece in pieces:
        if kinds.setdefault(piece.kind.name, piece.kind) != piece.kind:
            raise ValueError(f"two different kinds are called {piece.kind.name!r}")
        if piece.name in names:
            raise ValueError(f"two pieces, or a piece and a group, are called {piece.name!r}")
        names.add(piece.name)
    return list(kinds.values())


class _Document:
    """A document of the kernel that is filled once and written once."""

    def __init__(self) -> None:
        self._document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
        XCAFApp_Application.GetApplication_s().InitDocument(self._document)
        main = self._document.Main()
        XCAFDoc_DocumentTool.SetLengthUnit_s(
            self._document, 1.0, UnitsMethods_LengthUnit.UnitsMethods_LengthUnit_Millimeter
        )
        self._shapes = XCAFDoc_DocumentTool.ShapeTool_s(main)
        self._colours = XCAFDoc_DocumentTool.ColorTool_s(main)
        self._materials = XCAFDoc_DocumentTool.MaterialTool_s(main)
        self._material_of: dict[Look, TDF_Label] = {}
        self._solid_of: dict[str, TopoDS_Shape] = {}

    def add_part(self, name: str, solid: cq.Shape, look: Look) -> TDF_Label:
        shape = self._own(solid.wrapped)
        self._solid_of[name] = shape
        label = self._shapes.AddShape(shape, False)
        _set_name(label, name)
        self._colours.SetColor(
            label,
            Quantity_Color(*look.colour, Quantity_TOC_sRGB),
            XCAFDoc_ColorType.XCAFDoc_ColorSurf,
        )
        self._materials.SetMaterial(label, self._material(look))
        return label

    def add_assembly(self, name: str) -> TDF_Label:
        label = self._shapes.NewShape()
        _set_name(label, name)
        return label

    def place(self, name: str, assembly: TDF_Label, part: TDF_Label, frame: Frame) -> None:
        _set_name(self._shapes.AddComponent(assembly, part, _location(name, frame)), name)

    def written(self, name: str, order: Order) -> bytes:
        self._shapes.UpdateAssemblies()
        STEPCAFControl_Controller.Init_s()
        raw = io.BytesIO()
        with _settings():
            session = XSControl_WorkSession()
            writer = STEPCAFControl_Writer(session, False)
            writer.SetColorMode(True)
            writer.SetNameMode(True)
            writer.SetMaterialMode(True)
            writer.SetPropsMode(True)  # the material is left out without it
            writer.SetLayerMode(False)
            done = writer.Transfer(self._document, STEPControl_StepModelType.STEPControl_AsIs)
            self._name_solids(session)
            done = done and writer.WriteStream(raw) == IFSelect_ReturnStatus.IFSelect_RetDone
        if not done:
            raise WriteError(f"{name}: the solid modeller could not write it as STEP")
        header = Header(f"{name}.step", name, f"bedmodel {__version__}")
        return canonical(raw.getvalue(), header, order)

    def _own(self, shape: TopoDS_Shape) -> TopoDS_Shape:
        """Return the shape itself, or a copy when it is moved or another part has it too."""
        # The kernel knows a part by its solid: with a shared one, the second part would
        # be the first again, in the first one's wood.
        if not shape.Location().IsIdentity():
            return BRepBuilderAPI_Transform(
                shape.Located(TopLoc_Location()), shape.Location().Transformation(), True
            ).Shape()
        if any(shape.IsPartner(other) for other in self._solid_of.values()):
            return BRepBuilderAPI_Copy(shape).Shape()
        return shape

    def _material(self, look: Look) -> TDF_Label:
        if not look.density_kg_m3 > 0:
            raise ValueError(f"density of {look.name!r} must be above 0")
        if look not in self._material_of:
            self._material_of[look] = self._materials.AddMaterial(
                TCollection_HAsciiString(_label_text(look.name)),
                TCollection_HAsciiString(""),
                look.density_kg_m3 / 1000,  # the kernel's documents hold g/cm3
                TCollection_HAsciiString("density measure"),
                TCollection_HAsciiString("POSITIVE_RATIO_MEASURE"),
            )
        return self._material_of[look]

    def _name_solids(self, session: XSControl_WorkSession) -> None:
        finder = session.TransferWriter().FinderProcess()
        for name, shape in self._solid_of.items():
            entity = STEPConstruct.FindEntity_s(finder, shape)
            if entity is not None:
                entity.SetName(TCollection_HAsciiString(_label_text(name)))


def _set_name(label: TDF_Label, name: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(_label_text(name)))


def _label_text(name: str) -> str:
    if not name.strip():
        raise ValueError("a name in a STEP file must not be empty")
    return encoded(name)


def _location(name: str, frame: Frame) -> TopLoc_Location:
    if dot(cross(frame.x, frame.y), frame.z) < 0:
        raise ValueError(f"placement of {name!r} mirrors")
    rows = ((frame.x[i], frame.y[i], frame.z[i], frame.origin[i]) for i in range(3))
    placed = gp_Trsf()
    placed.SetValues(*(number for row in rows for number in row))
    return TopLoc_Location(placed)


@contextmanager
def _settings() -> Iterator[None]:
    """Set what the kernel's writer goes by, and set it back after."""
    before = {key: Interface_Static.CVal_s(key) for key in _SETTINGS}
    try:
        for key, value in _SETTINGS.items():
            Interface_Static.SetCVal_s(key, value)
        yield
    finally:
        for key, value in before.items():
            Interface_Static.SetCVal_s(key, value)


def step_bytes_of_assembly(assembly: cq.Assembly) -> bytes:
    """Return the STEP file of any CadQuery assembly, the same bytes each time.

    Raises WriteError when the kernel fails.
    """
    name = assembly.name
    with tempfile.TemporaryDirectory() as folder, _settings():
        path = Path(folder) / "assembly.step"
        try:
            assembly.export(str(path))
            raw = path.read_bytes()
        except Exception as failure:  # the kernel raises many kinds of its own
            raise WriteError(f"{name}: the solid modeller could not write it as STEP") from failure
    header = Header(f"{name}.step", name, f"bedmodel {__version__}")
    return canonical(raw, header, Order())
