"""Exact views in good time: a shape that may take long is projected in a child process.

A bed of lines and arcs projects in a second or two and is done here and now, so that the
same sheet gives the same drawing on every machine. Only shapes with very many edges, or
with many free-form faces, go to a child process with a time limit; past it, or if the
child fails, the mesh's projection stands in.
"""

from __future__ import annotations

import io
import multiprocessing
from collections.abc import Sequence
from multiprocessing.connection import Connection

import cadquery as cq
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS
from OCP.TopTools import TopTools_IndexedMapOfShape

from bedmodel.drawing.project import View, exact_view, mesh_view
from bedmodel.frames import Frame

SECONDS = 30.0
MOST_EDGES = 12_000
MOST_FREE_FACES = 60
_PLAIN = {
    GeomAbs_SurfaceType.GeomAbs_Plane,
    GeomAbs_SurfaceType.GeomAbs_Cylinder,
    GeomAbs_SurfaceType.GeomAbs_Cone,
    GeomAbs_SurfaceType.GeomAbs_Sphere,
    GeomAbs_SurfaceType.GeomAbs_Torus,
}


def view_of(solids: Sequence[cq.Shape], frame: Frame, hidden: bool = False) -> View:
    """The exact view, or within ``SECONDS`` and a little the mesh's where that takes too long."""
    if not may_be_slow(solids):
        return exact_view(solids, frame, hidden)
    return view_within(SECONDS, solids, frame, hidden)


def may_be_slow(solids: Sequence[cq.Shape]) -> bool:
    edges = free = 0
    for solid in solids:
        edges += _of(solid, TopAbs_ShapeEnum.TopAbs_EDGE).Extent()
        faces = _of(solid, TopAbs_ShapeEnum.TopAbs_FACE)
        for i in range(1, faces.Extent() + 1):
            free += BRepAdaptor_Surface(TopoDS.Face_s(faces(i)), False).GetType() not in _PLAIN
    return edges > MOST_EDGES or free > MOST_FREE_FACES


def _of(solid: cq.Shape, what: TopAbs_ShapeEnum) -> TopTools_IndexedMapOfShape:
    found = TopTools_IndexedMapOfShape()
    TopExp.MapShapes_s(solid.wrapped, what, found)
    return found


def view_within(
    seconds: float, solids: Sequence[cq.Shape], frame: Frame, hidden: bool = False
) -> View:
    """The exact view if a child process gives it within a time, else the mesh's."""
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    child = context.Process(target=_project, args=(theirs, _packed(solids), frame, hidden))
    child.start()
    theirs.close()
    try:
        found = ours.recv() if ours.poll(seconds) else None
    except EOFError:  # the child died
        found = None
    finally:
        ours.close()
        child.kill()
        child.join()
    return found if isinstance(found, View) else mesh_view(solids, frame, hidden)


def _packed(solids: Sequence[cq.Shape]) -> bytes:
    data = io.BytesIO()
    cq.Compound.makeCompound(solids).exportBin(data)
    return data.getvalue()


def _project(pipe: Connection, packed: bytes, frame: Frame, hidden: bool) -> None:
    solids = list(cq.Shape.importBin(io.BytesIO(packed)))
    pipe.send(exact_view(solids, frame, hidden))
    pipe.close()
