"""From a shape to its solid: outline pushed through, arrises eased, mortises cut.

The arrises are known from the pushing itself, not picked afterwards by where
they lie, so a later cut cannot change which edge is meant.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer, BRepFilletAPI_MakeFillet
from OCP.BRepGProp import BRepGProp
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
    BRepPrimAPI_MakeRevol,
)
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TopoDS import TopoDS, TopoDS_Shape
from OCP.TopTools import TopTools_ListOfShape

from bedmodel.bed import Piece
from bedmodel.cuts import Boss, Cut, Key, Trim, Turning
from bedmodel.errors import BedmodelError
from bedmodel.frames import Frame
from bedmodel.outline import Edge, Outline, Point
from bedmodel.profiles import OVERSHOOT as PAST
from bedmodel.profiles import Moulding
from bedmodel.shape import Easing, Face, Shape

MANY_ARCS = 8  # a free curve turned into arcs: where they meet on a tangent is no edge to draw
SMOOTH = 1e-3  # radians
OVERSHOOT = 1.0  # a cutting tool starts this far outside the opening, clear of its plane


class SolidFailed(BedmodelError):
    """The kernel could not make a part; says which part and which step."""

    exit_code = 1


def make_solid(shape: Shape) -> cq.Solid:
    """Make the solid of a shape in its part frame (mm).

    Raises SolidFailed when easing or cutting does not give one solid.
    """
    solid = _one_solid(_cut(_body(shape), shape.cuts), "cutting")
    if sum(edge.is_arc for edge in shape.outline.edges()) > MANY_ARCS:
        BRepLib.EncodeRegularity_s(solid.wrapped, SMOOTH)
    return solid


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
    return _one_solid(_reflected(twin.wrapped, "xy", shape.thickness / 2), "mirroring")


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


def _body(shape: Shape) -> TopoDS_Shape:
    """The outline pushed through, eased and sawn, with its bosses, before any cut."""
    start, _ = shape.reach
    body = _eased_body(shape)
    if start:
        shift = {"xy": (0.0, 0.0, start), "xz": (0.0, start, 0.0), "yz": (start, 0.0, 0.0)}
        body = body.Moved(location(Frame(shift[shape.face])).wrapped)
    if shape.mouldings:
        waste = [tool for each in shape.mouldings for tool in _moulding_tools(each)]
        body = _taken_off(body, waste, "moulding its edges")
    for trim in shape.trims:  # one by one: tools that meet one another cost the kernel far more
        body = _taken_off(body, [_waste(trim, shape)], "sawing it to shape")
    return _with_bosses(body, shape.bosses) if shape.bosses else body


def _with_bosses(body: TopoDS_Shape, bosses: tuple[Boss, ...]) -> TopoDS_Shape:
    arguments, tools = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(body)
    for boss in bosses:
        prism, _ = _push(boss.outline, "xy", boss.height)
        tools.Append(prism.Moved(location(boss.frame).wrapped))
    operation = BRepAlgoAPI_Fuse()
    operation.SetArguments(arguments)
    operation.SetTools(tools)
    operation.Build()
    if not operation.IsDone():
        raise SolidFailed("joining what stands out of the part did not work")
    merged = ShapeUpgrade_UnifySameDomain(operation.Shape(), True, True, False)
    merged.Build()
    return merged.Shape()


def _eased_body(shape: Shape) -> TopoDS_Shape:
    """The outline pushed through and eased, from the frame's plane on.

    Only half the depth is pushed and its outer arrises eased; the other half is
    its mirror image. So both faces come out alike, and the kernel, which now and
    then gives a faulty corner on the far face, has half the work.
    """
    if not shape.easing.active:
        return _push(shape.outline, shape.face, shape.depth)[0]
    half, edges = _push(shape.outline, shape.face, shape.depth / 2)
    lines = list(zip(shape.outline.edges(), edges, strict=True))
    arrises = [edge for line, edge in lines if line.name in shape.easing.edges]
    length = sum(line.length for line, _ in lines if line.name in shape.easing.edges)
    eased = _ease(half, arrises, shape.easing, length)
    joined = BRepAlgoAPI_Fuse(eased, _reflected(eased, shape.face, shape.depth / 2)).Shape()
    merged = ShapeUpgrade_UnifySameDomain(joined, True, True, False)
    merged.Build()
    return merged.Shape()


def _push(outline: Outline, face: Face, depth: float) -> tuple[TopoDS_Shape, list[TopoDS_Shape]]:
    """Push an outline through; also give the edges of its first face, in the outline's order."""
    drawn = [_edge(line, face) for line in outline.edges()]
    base = _face(drawn)
    direction = {"xy": gp_Vec(0, 0, depth), "xz": gp_Vec(0, depth, 0), "yz": gp_Vec(depth, 0, 0)}
    prism = BRepPrimAPI_MakePrism(base.wrapped, direction[face])
    return prism.Shape(), [prism.FirstShape(edge) for edge in _edges_of(base, drawn)]


def flat(outline: Outline) -> cq.Face:
    """The face inside an outline, in the plane of x and y."""
    return _face([_edge(line, "xy") for line in outline.edges()])


def _face(edges: list[cq.Edge]) -> cq.Face:
    return cq.Face.makeFromWires(cq.Wire.assembleEdges(edges))


def _reflected(body: TopoDS_Shape, face: Face, level: float) -> TopoDS_Shape:
    """The mirror image in the plane at ``level`` along the direction of pushing."""
    planes = {
        "xy": gp_Ax2(gp_Pnt(0, 0, level), gp_Dir(0, 0, 1)),
        "xz": gp_Ax2(gp_Pnt(0, level, 0), gp_Dir(0, 1, 0)),
        "yz": gp_Ax2(gp_Pnt(level, 0, 0), gp_Dir(1, 0, 0)),
    }
    mirror = gp_Trsf()
    mirror.SetMirror(planes[face])
    return BRepBuilderAPI_Transform(body, mirror, True).Shape()


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


def _ease(
    body: TopoDS_Shape, arrises: list[TopoDS_Shape], easing: Easing, length: float
) -> TopoDS_Shape:
    """Ease the arrises, ``length`` mm of them in all, alone and before any cut.

    Where the kernel gives a faulty body, a size a tenth of a micrometre off is
    tried: it meets the corners a little differently, and no tool can tell. A body
    may also be called valid and lack much of its volume; so that is looked at.
    """
    section = 1 - math.pi / 4 if easing.style == "roundover" else 0.5
    expected, whole = section * easing.size**2 * length, volume_of(body)
    make = BRepFilletAPI_MakeFillet if easing.style == "roundover" else BRepFilletAPI_MakeChamfer
    for size in (easing.size, easing.size - 1e-4, easing.size + 1e-4):
        tool = make(body)
        for arris in arrises:
            tool.Add(size, TopoDS.Edge_s(arris))
        tool.Build()
        if not tool.IsDone() or not BRepCheck_Analyzer(tool.Shape()).IsValid():
            continue
        # Mitred corners and curved arrises move this by some hundredths.
        if 0.5 * expected < whole - volume_of(tool.Shape()) < 1.5 * expected:
            return tool.Shape()
    raise SolidFailed(
        f"easing the edges {', '.join(sorted(easing.edges))} by {easing.size:g} mm did not work; "
        "make edge_size less"
    )


def _cut(solid: TopoDS_Shape, cuts: tuple[Cut, ...]) -> TopoDS_Shape:
    if not cuts:
        return solid
    tools = [_tool(cut).wrapped for cut in cuts]
    return _taken_off(solid, tools, "cutting its mortises and recesses")


def _waste(trim: Trim | Turning, shape: Shape) -> TopoDS_Shape:
    """What a trim takes off, as a box that covers all of the part beyond the plane."""
    reach = 2 * math.hypot(*shape.blank) + math.hypot(*trim.frame.origin)
    box = BRepPrimAPI_MakeBox(gp_Pnt(-reach, -reach, 0.0), gp_Pnt(reach, reach, reach)).Shape()
    waste = box.Moved(location(trim.frame).wrapped)
    if isinstance(trim, Turning):
        # On past the end, so that no two faces lie on one another there.
        length, end = trim.length + OVERSHOOT, trim.radius_at(trim.length + OVERSHOOT)
        cone = BRepPrimAPI_MakeCone(trim.radius, end, length).Shape()
        return BRepAlgoAPI_Cut(waste, cone.Moved(location(trim.frame).wrapped)).Shape()
    if trim.stop is None:
        return waste
    return BRepAlgoAPI_Common(waste, box.Moved(location(trim.stop).wrapped)).Shape()


def _moulding_tools(each: Moulding) -> list[TopoDS_Shape]:
    """What the bit takes off along an arris, and round its axis at a stopped end."""
    section = each.profile.outline(PAST)
    tools = []
    for at, turn, stopped in ((0.0, 1.0, each.stopped[0]), (each.length, -1.0, each.stopped[1])):
        if not stopped:
            continue
        drawn = _face([_edge(line, "yz") for line in section.edges()])
        axis = gp_Ax1(gp_Pnt(0.0, -each.bearing, 0.0), gp_Dir(0, 0, 1))
        swung = BRepPrimAPI_MakeRevol(drawn.wrapped, axis, turn * math.pi / 2).Shape()
        tools.append(swung.Moved(location(each.at(at)).wrapped))
    if each.bend is not None:
        drawn = _face([_edge(line, "yz") for line in section.edges()])
        axis = gp_Ax1(gp_Pnt(0.0, each.bend, 0.0), gp_Dir(0, 0, 1))
        round_it = BRepPrimAPI_MakeRevol(drawn.wrapped, axis, each.length / each.bend).Shape()
        return [round_it.Moved(location(each.frame).wrapped), *tools]
    past = [0.0 if stopped else PAST for stopped in each.stopped]
    prism, _ = _push(section, "yz", each.length + sum(past))
    start = each.frame @ Frame((-past[0], 0.0, 0.0))
    return [prism.Moved(location(start).wrapped), *tools]


def _taken_off(body: TopoDS_Shape, waste: list[TopoDS_Shape], step: str) -> TopoDS_Shape:
    arguments, tools = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(body)
    for tool in waste:
        tools.Append(tool)
    operation = BRepAlgoAPI_Cut()
    operation.SetArguments(arguments)
    operation.SetTools(tools)
    operation.Build()
    if not operation.IsDone():
        raise SolidFailed(f"{step} did not work")
    return operation.Shape()


def _tool(cut: Cut) -> cq.Solid:
    height = cut.depth + OVERSHOOT + (OVERSHOOT if cut.through else 0.0)
    if cut.is_round:  # one round wall instead of two halves
        prism = BRepPrimAPI_MakeCylinder(cut.width / 2, height).Shape()
    else:
        prism, _ = _push(cut.sweep, "xy", height)
    outside = Frame((0.0, 0.0, -OVERSHOOT))
    return placed(cq.Solid(prism), cut.frame @ outside)


def _one_solid(shape: TopoDS_Shape, step: str) -> cq.Solid:
    solids = cq.Shape.cast(shape).Solids()
    if len(solids) != 1:
        raise SolidFailed(f"{step} gave {len(solids)} solids, not one")
    return solids[0]


def tool_of(cut: Cut) -> cq.Solid:
    """What a cut takes away, a little higher than its opening; in the frame the cut is given in."""
    return _tool(cut)


def boss_of(boss: Boss) -> cq.Solid:
    """What a boss adds, in the frame it is given in."""
    prism, _ = _push(boss.outline, "xy", boss.height)
    return placed(cq.Solid(prism), boss.frame)
