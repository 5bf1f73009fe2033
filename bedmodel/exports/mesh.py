"""Triangle meshes of solids, and the STL and GLB files made of them.

A mesh is welded and closed: each edge is shared by exactly two triangles, so a
slicer or a collision check can use it as it stands. The two writers are our own
because both files are short to describe, and importing a mesh library takes
longer than writing all of a bed's files.
"""

from __future__ import annotations

import json
import math
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Protocol

import cadquery as cq
import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.TopAbs import TopAbs_REVERSED
from OCP.TopLoc import TopLoc_Location

from bedmodel import __version__
from bedmodel.bed import Piece
from bedmodel.errors import WriteError
from bedmodel.frames import Frame

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]

_WELD = 1e-6  # mm; far under any feature, far over rounding noise
_WELD_SHIFTS = (0.0, 0.37)  # of _WELD; a second grid, should noise straddle a line of the first
_METRES_PER_MM = 0.001
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


class Look(Protocol):
    """What a mesh viewer needs to know of a species: its name and sRGB colour, 0 to 1."""

    @property
    def name(self) -> str: ...

    @property
    def colour(self) -> tuple[float, float, float]: ...


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed surface of triangles, seen anticlockwise from outside.

    vertices    n x 3, mm
    triangles   m x 3, indices into ``vertices``
    faces       m, the face of the solid each triangle lies on; empty when not known
    """

    vertices: Floats
    triangles: Ints
    faces: Ints = field(default_factory=lambda: np.empty(0, np.int32))

    def placed(self, frame: Frame) -> Mesh:
        """The mesh moved from its own frame to the outer one."""
        turned = self.vertices @ np.array([frame.x, frame.y, frame.z])
        return Mesh(turned + np.array(frame.origin), self.triangles, self.faces)

    @cached_property
    def corners(self) -> Floats:
        """The corner points of each triangle, m x 3 x 3 (mm)."""
        return self.vertices[self.triangles]

    @cached_property
    def doubled_areas(self) -> Floats:
        """For each triangle its outward normal, as long as twice its area (mm2)."""
        a, b, c = self.corners.transpose(1, 0, 2)
        return np.cross(b - a, c - a)

    @property
    def volume(self) -> float:
        """Enclosed volume (mm3)."""
        return float(np.einsum("ij,ij->", self.corners[:, 0], self.doubled_areas) / 6)

    @property
    def is_closed(self) -> bool:
        """Whether each edge is run along once in each direction."""
        starts = self.triangles.ravel().astype(np.int64)
        ends = np.roll(self.triangles, -1, axis=1).ravel()
        count = len(self.vertices)
        there, back = np.sort(starts * count + ends), np.sort(ends * count + starts)
        return bool(np.array_equal(there, back) and np.all(np.diff(there) > 0))


def mesh_of(solid: cq.Shape, tolerance: float = 0.1, angle: float = 0.2) -> Mesh:
    """Mesh one solid, closed and outward, within ``tolerance`` (mm) and ``angle`` (rad).

    Raises WriteError when the solid's faces leave a gap.
    """
    # A copy without its old triangles: meshing a shape twice keeps or mixes the
    # first mesh, and the solid handed in must not change.
    fresh = cq.Shape.cast(BRepBuilderAPI_Copy(solid.wrapped, False, False).Shape())
    BRepMesh_IncrementalMesh(fresh.wrapped, tolerance, False, angle, False)
    nodes, triangles, faces = _read(fresh)
    for shift in _WELD_SHIFTS:
        mesh = _weld(nodes, triangles, faces, shift * _WELD)
        if mesh.is_closed:
            return mesh if mesh.volume > 0 else _inside_out(mesh)
    raise WriteError("mesh of a solid: its faces do not close; check the solid with isValid()")


def _read(shape: cq.Shape) -> tuple[Floats, Ints, Ints]:
    """All faces' nodes (mm), triangles and face numbers, not yet welded."""
    nodes: list[Floats] = []
    triangles: list[Ints] = []
    faces: list[Ints] = []
    offset = 0
    for number, face in enumerate(shape.Faces()):
        location = TopLoc_Location()
        found = BRep_Tool.Triangulation_s(face.wrapped, location)
        if found is None:
            continue
        points, corners = _face_arrays(found, location)
        if face.wrapped.Orientation() == TopAbs_REVERSED:
            corners = corners[:, ::-1]
        nodes.append(points)
        triangles.append(corners - 1 + offset)
        faces.append(np.full(len(corners), number, np.int32))
        offset += len(points)
    if not nodes:
        raise WriteError("mesh of a solid: it has no faces")
    return np.concatenate(nodes), np.concatenate(triangles), np.concatenate(faces)


def _face_arrays(found: Any, location: TopLoc_Location) -> tuple[Floats, Ints]:
    flat: list[float] = []
    for i in range(1, found.NbNodes() + 1):
        p = found.Node(i)
        flat += (p.X(), p.Y(), p.Z())
    points = np.array(flat).reshape(-1, 3)
    if not location.IsIdentity():
        move = location.Transformation()
        rows = np.array([[move.Value(r, c) for c in range(1, 5)] for r in range(1, 4)])
        points = points @ rows[:, :3].T + rows[:, 3]
    corners = [found.Triangle(i).Get() for i in range(1, found.NbTriangles() + 1)]
    return points, np.array(corners, np.int32).reshape(-1, 3)


def _weld(nodes: Floats, triangles: Ints, faces: Ints, shift: float) -> Mesh:
    """Merge nodes that lie on one another and drop triangles that vanish by it."""
    cells = np.rint((nodes + shift) / _WELD).astype(np.int64)
    _, first, place = np.unique(cells, axis=0, return_index=True, return_inverse=True)
    welded = place.reshape(-1)[triangles].astype(np.int32)
    a, b, c = welded.T
    kept = (a != b) & (b != c) & (c != a)
    return Mesh(nodes[first], welded[kept], faces[kept])


def _inside_out(mesh: Mesh) -> Mesh:
    return Mesh(mesh.vertices, np.ascontiguousarray(mesh.triangles[:, ::-1]), mesh.faces)


def placed_meshes(pieces: Sequence[Piece], meshes: Mapping[str, Mesh]) -> list[Mesh]:
    """Each piece's mesh in the bed frame; ``meshes`` goes by the name of the kind."""
    return [meshes[piece.kind.name].placed(piece.placement) for piece in pieces]


def stl_bytes(meshes: Mesh | Sequence[Mesh], name: str) -> bytes:
    """Write one mesh, or several in one frame, as a binary STL in millimetres.

    STL itself holds no unit, so the header says it.
    """
    bodies = [meshes] if isinstance(meshes, Mesh) else list(meshes)
    facets = np.zeros(sum(len(body.triangles) for body in bodies), _FACET)
    start = 0
    for body in bodies:
        rows = facets[start : start + len(body.triangles)]
        rows["normal"] = _units(body.doubled_areas)
        rows["corners"] = body.corners
        start += len(rows)
    header = f"binary STL, millimetres, {name}".encode("ascii", "replace")
    return header[:80].ljust(80) + struct.pack("<I", len(facets)) + facets.tobytes()


def glb_bytes(
    name: str,
    pieces: Sequence[Piece],
    meshes: Mapping[str, Mesh],
    looks: Mapping[str, Look],
) -> bytes:
    """Write the bed as binary glTF 2.0: in metres, Y up, one mesh a kind, one material a species.

    ``meshes`` goes by the name of the kind, in its part frame (mm); ``looks`` by
    the name of the species. Nodes are the bed, its groups, and their pieces.
    Source: glTF 2.0, sections 3.4 (units and axes) and 4.4 (binary container).
    """
    kinds = {piece.kind.name: piece.kind for piece in pieces}
    species = list(dict.fromkeys(kind.species for kind in kinds.values()))
    buffer = _Buffer()
    gltf_meshes = []
    for kind in kinds.values():
        primitive = buffer.primitive(meshes[kind.name]) | {"material": species.index(kind.species)}
        gltf_meshes.append({"name": kind.name, "primitives": [primitive]})
    document = {
        "asset": {"version": "2.0", "generator": f"bedmodel {__version__}"},
        "scene": 0,
        "scenes": [{"name": name, "nodes": [0]}],
        "nodes": _nodes(name, pieces, list(kinds)),
        "meshes": gltf_meshes,
        "materials": [_material(looks[s]) for s in species],
        "accessors": buffer.accessors,
        "bufferViews": buffer.views,
        "buffers": [{"byteLength": len(buffer.data)}],
    }
    return _container(document, bytes(buffer.data))


def _nodes(name: str, pieces: Sequence[Piece], kinds: list[str]) -> list[dict[str, Any]]:
    """The tree of nodes: the root at 0, then the groups, then the pieces."""
    half = math.sqrt(0.5)  # a quarter turn about X takes (x, y, z) to (x, z, -y)
    root: dict[str, Any] = {
        "name": name,
        "rotation": [-half, 0.0, 0.0, half],
        "scale": [_METRES_PER_MM] * 3,
    }
    groups: dict[str, dict[str, Any]] = {}
    for piece in pieces:
        groups.setdefault(piece.group, {"name": piece.group, "children": []})
    root["children"] = list(range(1, 1 + len(groups)))
    nodes = [root, *groups.values()]
    for piece in pieces:
        groups[piece.group]["children"].append(len(nodes))
        node = {"name": piece.name, "mesh": kinds.index(piece.kind.name)}
        nodes.append(node | {"matrix": _matrix(piece.placement)})
    return nodes


def _matrix(frame: Frame) -> list[float]:
    """The placement as glTF wants it, column after column."""
    columns = ((*frame.x, 0.0), (*frame.y, 0.0), (*frame.z, 0.0), (*frame.origin, 1.0))
    return [round(value, 9) + 0.0 for column in columns for value in column]


def _material(look: Look) -> dict[str, Any]:
    colour = [round(_linear(channel), 6) for channel in look.colour]
    return {
        "name": look.name,
        "pbrMetallicRoughness": {
            "baseColorFactor": [*colour, 1.0],
            "metallicFactor": 0.0,
            "roughnessFactor": 0.7,
        },
    }


def _linear(channel: float) -> float:
    """Linear light of an sRGB channel. Source: IEC 61966-2-1."""
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


class _Buffer:
    """The binary part of a glTF file, and the records that say what lies where."""

    _FLOAT, _UINT16, _UINT32 = 5126, 5123, 5125
    _VERTICES, _INDICES = 34962, 34963

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict[str, int]] = []
        self.accessors: list[dict[str, Any]] = []

    def primitive(self, mesh: Mesh) -> dict[str, Any]:
        points, normals, corners = _creased(mesh)
        place = self._add(points.astype("<f4"), self._FLOAT, "VEC3", self._VERTICES)
        stored = points.astype("<f4")
        self.accessors[place]["min"] = stored.min(axis=0).astype(float).tolist()
        self.accessors[place]["max"] = stored.max(axis=0).astype(float).tolist()
        normal = self._add(normals.astype("<f4"), self._FLOAT, "VEC3", self._VERTICES)
        short = len(points) < 65535  # the last 16-bit index is kept for other uses by glTF
        indices = corners.ravel().astype("<u2" if short else "<u4")
        kind = self._UINT16 if short else self._UINT32
        index = self._add(indices, kind, "SCALAR", self._INDICES)
        return {"attributes": {"POSITION": place, "NORMAL": normal}, "indices": index}

    def _add(self, values: NDArray[Any], component: int, shape: str, target: int) -> int:
        self.views.append(
            {
                "buffer": 0,
                "byteOffset": len(self.data),
                "byteLength": values.nbytes,
                "target": target,
            }
        )
        self.accessors.append(
            {
                "bufferView": len(self.views) - 1,
                "componentType": component,
                "count": len(values),
                "type": shape,
            }
        )
        self.data += values.tobytes()
        self.data += bytes(-len(self.data) % 4)
        return len(self.accessors) - 1


def _creased(mesh: Mesh) -> tuple[Floats, Floats, Ints]:
    """Points, normals and triangles with each vertex split between the solid's faces.

    Shading is smooth within a face and breaks at its border, so wood edges look
    crisp. Each corner counts by its angle, or long thin triangles would win.
    """
    faces = mesh.faces if len(mesh.faces) else np.arange(len(mesh.triangles), dtype=np.int32)
    keys = np.column_stack([np.repeat(faces, 3), mesh.triangles.ravel()])
    unique, place = np.unique(keys, axis=0, return_inverse=True)
    place = place.reshape(-1)
    flat = _units(mesh.doubled_areas)
    weighted = (flat[:, None, :] * _corner_angles(mesh)[:, :, None]).reshape(-1, 3)
    sums: Floats = np.zeros((len(unique), 3))
    np.add.at(sums, place, weighted)
    corners = place.reshape(-1, 3).astype(np.int32)
    normals = _units(sums)
    # A vertex of slivers only has no normal; any unit vector keeps the file valid.
    normals[~normals.any(axis=1)] = (0.0, 0.0, 1.0)
    return mesh.vertices[unique[:, 1]], normals, corners


def _corner_angles(mesh: Mesh) -> Floats:
    """The angle at each corner of each triangle, m x 3 (rad)."""
    onward = _units(np.roll(mesh.corners, -1, axis=1) - mesh.corners)
    back = -np.roll(onward, 1, axis=1)
    cosines = np.einsum("ijk,ijk->ij", onward, back)
    return np.asarray(np.arccos(np.clip(cosines, -1.0, 1.0)))


def _units(vectors: Floats) -> Floats:
    """Vectors made one long; those with no length stay zero."""
    lengths = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(vectors / np.where(lengths > 0, lengths, 1.0))


def _container(document: Mapping[str, Any], data: bytes) -> bytes:
    """Wrap the JSON and the binary chunk in a GLB container."""
    text = json.dumps(document, separators=(",", ":"), ensure_ascii=True).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<I4s", len(text), b"JSON") + text
    chunks += struct.pack("<I4s", len(data), b"BIN\0") + data
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks
