"""From a shape to its solid: outline pushed through, arrises eased, mortises cut.

The arrises are known from the pushing itself, not picked afterwards by where
they lie, so a later cut cannot change which edge is meant.
"""

from __future__ import annotations

from collections.abc import Iterable

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer, BRepFilletAPI_MakeFillet
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS, TopoDS_Shape
from OCP.TopTools import TopTools_ListOfShape

from bedmodel.bed import Piece
from bedmodel.errors import BedmodelError
from bedmodel.frames import Frame
from bedmodel.outline import Edge, Outline, Point
from bedmodel.shape import Easing, Face, Key, Mortise, Shape

OVERSHOOT = 1.0  # a cutting tool starts this far outside the opening, clear of its plane


class SolidFailed(BedmodelError):
    """The kernel could not make a part; says which part and which step."""

    exit_code = 1


def make_solid(shape: Shape) -> cq.Solid:
    """Make the solid of a shape in its part frame (mm).

    Raises SolidFailed when easing or cutting does not give one solid.
    """
    prism, arrises = _push(shape.outline, shape.face, shape.depth, shape.easing)
    eased = _ease(prism, arrises, shape.easing)
    return _one_solid(_cut(eased, shape.cuts), "cutting")


def make_solids(pieces: Iterable[Piece]) -> dict[str, cq.Solid]:
    """The solid of each kind, by kind name."""
    kinds = {piece.kind.name: piece.kind for piece in pieces}
    solids: dict[str, cq.Solid] = {}
    made: dict[Key, cq.Solid] = {}
    for name, kind in kinds.items():
        try:
            twin = made.get(kind.shape.reflected("z").key())
            solid = make_solid(kind.shape) if twin is None else _mirrored(twin, kind.shape)
            solids[name] = made[kind.shape.key()] = solid
        except SolidFailed as failure:
            raise SolidFailed(f"{name}: {failure}") from failure
        except Exception as failure:  # the kernel raises many kinds of its own
            raise SolidFailed(f"{name}: {type(failure).__name__} {failure}") from failure
    return solids


def _mirrored(twin: cq.Solid, shape: Shape) -> cq.Solid:
    """The mirror image in the middle of the thickness: a left leg from the right one."""
    middle = gp_Ax2(gp_Pnt(0, 0, shape.thickness / 2), gp_Dir(0, 0, 1))
    mirror = gp_Trsf()
    mirror.SetMirror(middle)
    return _one_solid(BRepBuilderAPI_Transform(twin.wrapped, mirror, True).Shape(), "mirroring")


def location(frame: Frame) -> cq.Location:
    """The kernel's form of a placement."""
    return cq.Location(cq.Plane(frame.origin, frame.x, frame.z))


def placed(solid: cq.Solid, frame: Frame) -> cq.Solid:
    """A copy of the solid, placed by the frame; the geometry itself is shared."""
    return solid.moved(location(frame))


def volume_of(shape: TopoDS_Shape) -> float:
    """Volume of a shape (mm3); of an empty one, 0."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return abs(float(properties.Mass()))


def area_of(shape: TopoDS_Shape) -> float:
    """Surface area of a shape (mm2); of an empty one, 0."""
    properties = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, properties)
    return abs(float(properties.Mass()))


def _push(
    outline: Outline, face: Face, depth: float, easing: Easing
) -> tuple[TopoDS_Shape, list[TopoDS_Shape]]:
    """Push an outline through; also give the arrises to be eased, on both faces."""
    lines = list(outline.edges())
    drawn = [_edge(line, face) for line in lines]
    wire = cq.Wire.assembleEdges(drawn)
    base = cq.Face.makeFromWires(wire)
    direction = {"xy": gp_Vec(0, 0, depth), "xz": gp_Vec(0, depth, 0), "yz": gp_Vec(depth, 0, 0)}
    prism = BRepPrimAPI_MakePrism(base.wrapped, direction[face])
    arrises: list[TopoDS_Shape] = []
    if easing.active:
        for line, edge in zip(lines, _edges_of(base, drawn), strict=True):
            if line.name in easing.edges:
                arrises += [prism.FirstShape(edge), prism.LastShape(edge)]
    return prism.Shape(), arrises


def _edges_of(base: cq.Face, drawn: list[cq.Edge]) -> list[TopoDS_Shape]:
    """The edges of the face that stand for the drawn ones, in the drawn order."""
    have = list(base.Edges())
    found = []
    for edge in drawn:
        middle = edge.positionAt(0.5)
        near = min(have, key=lambda e: (e.positionAt(0.5) - middle).Length)
        found.append(near.wrapped)
    return found


def _edge(line: Edge, face: Face) -> cq.Edge:
    start, end = _point(line.start, face), _point(line.end, face)
    if line.is_arc:
        return cq.Edge.makeThreePointArc(start, _point(line.point_at(0.5), face), end)
    return cq.Edge.makeLine(start, end)


def _point(p: Point, face: Face) -> cq.Vector:
    a, b = p
    return {"xy": cq.Vector(a, b, 0), "xz": cq.Vector(a, 0, b), "yz": cq.Vector(0, a, b)}[face]


def _ease(prism: TopoDS_Shape, arrises: list[TopoDS_Shape], easing: Easing) -> TopoDS_Shape:
    """Ease the arrises, alone and before any cut."""
    if not arrises:
        return prism
    make = BRepFilletAPI_MakeFillet if easing.style == "roundover" else BRepFilletAPI_MakeChamfer
    tool = make(prism)
    for arris in arrises:
        tool.Add(easing.size, TopoDS.Edge_s(arris))
    tool.Build()
    if not tool.IsDone():
        raise SolidFailed(
            f"easing {len(arrises)} arrises ({', '.join(sorted(easing.edges))}) by "
            f"{easing.size:g} mm did not work"
        )
    return tool.Shape()


def _cut(solid: TopoDS_Shape, cuts: tuple[Mortise, ...]) -> TopoDS_Shape:
    if not cuts:
        return solid
    arguments, tools = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(solid)
    for cut in cuts:
        tools.Append(_mortise_tool(cut).wrapped)
    operation = BRepAlgoAPI_Cut()
    operation.SetArguments(arguments)
    operation.SetTools(tools)
    operation.Build()
    if not operation.IsDone():
        raise SolidFailed("cutting the mortises did not work")
    return operation.Shape()


def _mortise_tool(cut: Mortise) -> cq.Solid:
    straight, half = (cut.length - cut.width) / 2, cut.width / 2
    outline = Outline.of(
        [
            ((-straight, -half), 0.0, "cheek"),
            ((straight, -half), 1.0, "edge"),
            ((straight, half), 0.0, "cheek"),
            ((-straight, half), 1.0, "edge"),
        ]
    )
    prism, _ = _push(outline, "xy", cut.depth + OVERSHOOT, Easing("square", 0.0, frozenset()))
    outside = Frame((0.0, 0.0, -OVERSHOOT))
    return placed(cq.Solid(prism), cut.frame @ outside)


def _one_solid(shape: TopoDS_Shape, step: str) -> cq.Solid:
    solids = cq.Shape.cast(shape).Solids()
    if len(solids) != 1:
        raise SolidFailed(f"{step} gave {len(solids)} solids, not one")
    return solids[0]
