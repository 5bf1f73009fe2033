"""The bed as the report's 3D view takes it: each kind's form once, each piece's place.

A form is packed: corners as whole 16-bit steps of the kind's own box, normals as 8-bit
vectors, the solid's own edges as pairs of corners, each in base64. Facets and edges come
from one meshing, so that the lines lie on the faces they bound.
"""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass
from typing import Any

import cadquery as cq
import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepLib import BRepLib_ToolTriangulatedShape
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.TopAbs import TopAbs_EDGE, TopAbs_REVERSED
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS
from OCP.TopTools import TopTools_IndexedMapOfShape

from bedmodel.errors import WriteError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GAP, ANGLE = 0.4, 0.6  # how far (mm) and how much (radians) facets may stray
SMOOTH_DEG = 15.0  # faces that meet flatter than this run into each other
STEPS = 65535
NORMAL_STEPS = 127


@dataclass(frozen=True, eq=False)
class Form:
    """One kind's surface and edges in its part frame (mm).

    corners     n x 3, split between faces, so that each has one normal
    normals     n x 3, outward, one long
    triangles   m x 3, into ``corners``, anticlockwise from outside
    edges       k x 2, into ``corners``: the straight bits of the sharp edges
    soft        the same of those where one face runs into another, as at a roundover
    """

    corners: Floats
    normals: Floats
    triangles: Ints
    edges: Ints
    soft: Ints


@dataclass(frozen=True, eq=False)
class _Face:
    corners: Floats
    normals: Floats
    triangles: Ints
    start: int  # the number of its first corner in the whole form
    found: Any  # the kernel's triangulation
    location: TopLoc_Location
    topology: Any


def form_of(solid: cq.Shape) -> Form:
    """Facets and edges of a solid. Raises WriteError when it has no faces."""
    # A copy, since facets that an earlier export left in the solid would be used again.
    copy = cq.Shape.cast(BRepBuilderAPI_Copy(solid.wrapped, False, False).Shape())
    BRepMesh_IncrementalMesh(copy.wrapped, GAP, False, ANGLE, False)
    faces, start = list[_Face](), 0
    for face in copy.Faces():
        found = _face(face, start)
        if found is not None:
            faces.append(found)
            start += len(found.corners)
    if not faces:
        raise WriteError("report: a part's solid has no faces; check the solid with isValid()")
    return Form(
        np.concatenate([face.corners for face in faces]),
        np.concatenate([face.normals for face in faces]),
        np.concatenate([face.triangles + face.start for face in faces]),
        *_edges(faces),
    )


def _face(face: cq.Face, start: int) -> _Face | None:
    location = TopLoc_Location()
    found = BRep_Tool.Triangulation_s(face.wrapped, location)
    if found is None:
        return None
    BRepLib_ToolTriangulatedShape.ComputeNormals_s(face.wrapped, found)
    move = location.Transformation()
    still = location.IsIdentity()
    flat: list[float] = []
    for i in range(1, found.NbNodes() + 1):
        at, normal = found.Node(i), found.Normal(i)
        if not still:
            at, normal = at.Transformed(move), normal.Transformed(move)
        flat += (at.X(), at.Y(), at.Z(), normal.X(), normal.Y(), normal.Z())
    table = np.array(flat).reshape(-1, 6)
    triangles = np.array(
        [found.Triangle(i).Get() for i in range(1, found.NbTriangles() + 1)], dtype=np.int64
    ).reshape(-1, 3)
    sign = 1.0
    if face.wrapped.Orientation() == TopAbs_REVERSED:
        triangles, sign = triangles[:, ::-1], -1.0
    normals = sign * table[:, 3:]
    return _Face(table[:, :3], normals, triangles - 1, start, found, location, face.wrapped)


def _edges(faces: list[_Face]) -> tuple[Ints, Ints]:
    """The straight bits of the sharp and of the soft edges; the seams of holes are neither."""
    edges = TopTools_IndexedMapOfShape()
    sides: dict[int, list[tuple[_Face, Ints]]] = {}
    for face in faces:
        walk = TopExp_Explorer(face.topology, TopAbs_EDGE)
        while walk.More():
            edge = TopoDS.Edge_s(walk.Current())
            number = edges.Add(edge)
            line = BRep_Tool.PolygonOnTriangulation_s(edge, face.found, face.location)
            if line is not None:
                along = [line.Node(i) - 1 for i in range(1, line.NbNodes() + 1)]
                sides.setdefault(number, []).append((face, np.array(along, np.int64)))
            walk.Next()
    sharp, soft = [np.empty((0, 2), np.int64)], [np.empty((0, 2), np.int64)]
    for found in sides.values():
        if len(found) == 2 and found[0][0] is found[1][0]:
            continue
        face, nodes = found[0]
        bits = np.stack([nodes[:-1], nodes[1:]], axis=1) + face.start
        (soft if _is_smooth(found) else sharp).append(bits)
    return np.concatenate(sharp), np.concatenate(soft)


def _is_smooth(sides: list[tuple[_Face, Ints]]) -> bool:
    """True where the two faces of an edge run into each other."""
    if len(sides) != 2 or len(sides[0][1]) != len(sides[1][1]):
        return False
    (one, along), (other, back) = sides
    here, there = one.normals[along], other.normals[back]
    dots = np.einsum("ij,ij->i", here, there)
    return bool(dots.min() > math.cos(math.radians(SMOOTH_DEG)))


# --- packing -----------------------------------------------------------------------------


def packed(form: Form) -> dict[str, Any]:
    """The form as the page holds it; ``low`` and ``size`` are its box (mm)."""
    low = form.corners.min(axis=0)
    size = np.maximum(form.corners.max(axis=0) - low, 1e-3)
    short = len(form.corners) <= STEPS
    number = "<u2" if short else "<u4"
    return {
        "low": [round(float(c), 4) + 0.0 for c in low],
        "size": [round(float(c), 4) for c in size],
        "corners": _text(np.rint((form.corners - low) / size * STEPS).astype("<u2")),
        "normals": _text(np.rint(form.normals * NORMAL_STEPS).astype("<i1")),
        "triangles": _text(form.triangles.astype(number)),
        "edges": _text(form.edges.astype(number)),
        "soft": _text(form.soft.astype(number)),
        "wide": not short,
    }


def _text(values: NDArray[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(values).tobytes()).decode("ascii")


def unpacked(record: dict[str, Any]) -> Form:
    """The form again, as the page's script reads it: for a look at what a page holds."""

    def numbers(name: str, kind: str, columns: int = 3) -> NDArray[Any]:
        return np.frombuffer(base64.b64decode(record[name]), kind).reshape(-1, columns)

    low, size = np.array(record["low"]), np.array(record["size"])
    kind = "<u4" if record["wide"] else "<u2"
    return Form(
        numbers("corners", "<u2") / STEPS * size + low,
        numbers("normals", "<i1") / NORMAL_STEPS,
        numbers("triangles", kind).astype(np.int64),
        numbers("edges", kind, 2).astype(np.int64),
        numbers("soft", kind, 2).astype(np.int64),
    )
