"""The placed pieces as triangles, and what a view of them holds in each pixel."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cadquery as cq
import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepLib import BRepLib_ToolTriangulatedShape
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location

from bedmodel.bed import Piece
from bedmodel.exports.raster import (
    NOTHING,
    Floats,
    Ints,
    Singles,
    View,
    outward,
    plane_slopes,
    rasterise,
    snapped,
)

FLOOR = -2  # stands for the floor where else a piece's number stands
FLOOR_REACH = 900.0  # how far beyond the bed the floor is drawn (mm)

_AGREE = 1e-6  # between the normals of a flat face's corners
_MESH_GAP, _MESH_ANGLE = 0.2, 0.45  # how far (mm) and how much (radians) facets may stray


@dataclass(frozen=True)
class Mesh:
    """Triangles of one kind in its part frame: corners and outward normals, n x 3 x 3."""

    corners: Floats
    normals: Floats


@dataclass(frozen=True)
class Scene:
    """All triangles in the bed frame, and the number of the piece that each belongs to."""

    corners: Floats
    normals: Floats
    owner: Ints


@dataclass(frozen=True)
class Buffers:
    """For each pixel: number of the piece (or FLOOR, NOTHING), depth, and the unit normal."""

    piece: NDArray[np.int16]
    depth: Singles
    normal: Singles


def build(pieces: Sequence[Piece], solids: Mapping[str, cq.Shape]) -> Scene:
    """Place the triangles of each piece's kind in the bed frame."""
    meshes = {name: _mesh(solids[name]) for name in sorted({p.kind.name for p in pieces})}
    corners, normals, owner = [], [], []
    for number, piece in enumerate(pieces):
        mesh, place = meshes[piece.kind.name], piece.placement
        turn = np.array((place.x, place.y, place.z))
        corners.append(_turned(mesh.corners, turn) + np.array(place.origin))
        normals.append(_turned(mesh.normals, turn))
        owner.append(np.full(len(mesh.corners), number))
    return Scene(np.concatenate(corners), np.concatenate(normals), np.concatenate(owner))


def _turned(vectors: Floats, turn: Floats) -> Floats:
    x, y, z = (vectors[..., i, None] for i in range(3))
    turned: Floats = x * turn[0] + y * turn[1] + z * turn[2]
    return turned


def _mesh(solid: cq.Shape) -> Mesh:
    # A copy, since facets that an earlier export left in the solid would be used again.
    copy = BRepBuilderAPI_Copy(solid.wrapped, False, False).Shape()
    BRepMesh_IncrementalMesh(copy, _MESH_GAP, False, _MESH_ANGLE, False)
    faces = [_facets(face) for face in cq.Shape.cast(copy).Faces()]
    return Mesh(np.concatenate([f[0] for f in faces]), np.concatenate([f[1] for f in faces]))


def _facets(face: cq.Face) -> tuple[Floats, Floats]:
    """Corners and outward normals (n x 3 x 3) of one face's triangles."""
    location = TopLoc_Location()
    found = BRep_Tool.Triangulation_s(face.wrapped, location)
    BRepLib_ToolTriangulatedShape.ComputeNormals_s(face.wrapped, found)
    move = location.Transformation()
    nodes, normals = [], []
    for i in range(1, found.NbNodes() + 1):
        at, normal = found.Node(i).Transformed(move), found.Normal(i).Transformed(move)
        nodes.append((at.X(), at.Y(), at.Z()))
        normals.append((normal.X(), normal.Y(), normal.Z()))
    triangles = [found.Triangle(i).Get() for i in range(1, found.NbTriangles() + 1)]
    index = np.array(triangles, dtype=np.int64).reshape(-1, 3) - 1
    sign = 1.0
    if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
        index, sign = index[:, ::-1], -1.0
    return np.array(nodes)[index], sign * np.array(normals)[index]


def aimed(
    scene: Scene,
    azimuth_deg: float,
    elevation_deg: float,
    perspective_deg: float,
    width: int,
    height: int,
    margin: float,
) -> View:
    """Return the view that holds the whole scene with a margin in pixels."""
    points = np.unique(scene.corners.reshape(-1, 3), axis=0)
    low, high = points.min(axis=0), points.max(axis=0)
    x, y, z = (float(c) for c in (low + high) / 2)
    radius = float(np.linalg.norm(high - low)) / 2 + 1e-6
    nearness = math.sin(math.radians(perspective_deg) / 2) / radius
    view = View.orbit(azimuth_deg, elevation_deg, (x, y, z), nearness)
    return view.fitted(points, width, height, margin)


def drawn(scene: Scene, view: View, width: int, height: int) -> Buffers:
    """Find for each pixel the nearest piece, and its depth and normal there."""
    seen = snapped(view.project(scene.corners.reshape(-1, 3)).reshape(-1, 3, 3))
    front = outward(seen)
    seen, normals = seen[front], scene.normals[front]
    index, depth = rasterise(seen, width, height)
    piece = np.append(scene.owner[front], NOTHING)[index].astype(np.int16)
    normal = np.zeros((height, width, 3), dtype=np.float32)
    covered = index != NOTHING
    normal[covered] = normals[:, 0].astype(np.float32)[index[covered]]
    curved = ~is_flat(scene)[front]
    row, column = np.nonzero(np.append(curved, False)[index])
    slope = plane_slopes(seen, normals)[index[row, column]]
    x, y = (column + 0.5)[:, None], (row + 0.5)[:, None]
    found = slope[:, :, 0] * x + slope[:, :, 1] * y + slope[:, :, 2]
    normal[row, column] = found / (np.sqrt((found * found).sum(axis=1))[:, None] + 1e-12)
    return Buffers(piece, depth, normal)


def is_flat(scene: Scene) -> NDArray[np.bool_]:
    """Which triangles are of a flat face: their normals at the three corners agree."""
    flat: NDArray[np.bool_] = np.ptp(scene.normals, axis=1).max(axis=1) <= _AGREE
    return flat


def lay_floor(buffers: Buffers, scene: Scene, view: View) -> None:
    """Put the floor near the bed in the pixels that nothing covers."""
    row, column = (a.astype(np.int32) for a in np.nonzero(buffers.piece == NOTHING))
    x, y = (a.astype(np.float32) + np.float32(0.5) for a in (column, row))
    # What is drawn by itself may reach below the floor of the bed.
    level = min(0.0, float(scene.corners[:, :, 2].min()))
    depth = view.floor_depth(y, level)
    with np.errstate(invalid="ignore"):
        at = view.space(x, y, depth)
        near = beside(scene, at) < FLOOR_REACH
    row, column = row[near], column[near]
    buffers.piece[row, column] = FLOOR
    buffers.depth[row, column] = depth[near]
    buffers.normal[row, column] = (0.0, 0.0, 1.0)


def beside(scene: Scene, at: list[Singles]) -> Singles:
    """How far points lie beyond the scene's length and width, seen from above (mm)."""
    low, high = scene.corners.min(axis=(0, 1)), scene.corners.max(axis=(0, 1))
    off = [
        np.maximum(np.maximum(np.float32(low[i]) - at[i], at[i] - np.float32(high[i])), 0)
        for i in (0, 1)
    ]
    beyond: Singles = np.sqrt(off[0] * off[0] + off[1] * off[1])
    return beyond
