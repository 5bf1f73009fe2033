"""Meshes, STL and GLB, read back by a mesh library that had no part in writing them."""

from __future__ import annotations

import hashlib
import io
import json
import math
import os
import struct
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cadquery as cq
import numpy as np
import pytest
import trimesh

from bedmodel.bed import Kind, Piece
from bedmodel.errors import WriteError
from bedmodel.exports.mesh import Mesh, glb_bytes, mesh_of, placed_meshes, stl_bytes
from bedmodel.frames import Frame
from bedmodel.outline import Outline
from bedmodel.shape import Shape

TOLERANCE = 0.1
HERE = Path(__file__).resolve().parent


@dataclass(frozen=True)
class Look:
    name: str
    colour: tuple[float, float, float]
    density_kg_m3: float = 700.0


LOOKS = {"oak": Look("White oak", (0.5, 0.04, 1.0)), "ash": Look("Ash", (0.9, 0.8, 0.0))}


def rail() -> cq.Solid:
    """Make a rail with rounded edges and two round-ended mortises."""
    box = cq.Workplane().box(2000, 150, 30, centered=False).edges("|X").fillet(3)
    slots = box.faces(">Z").workplane(origin=(0, 0, 30)).pushPoints([(100, 75), (1900, 75)])
    return one(slots.slot2D(60, 10).cutBlind(-20))


def leg() -> cq.Solid:
    """Make a leg with a hollow outer edge and all edges of its faces rounded."""
    flat = cq.Workplane().lineTo(700, 0).lineTo(700, 90).threePointArc((350, 68), (0, 90)).close()
    return one(flat.extrude(44).edges("#Z").fillet(4))


def tenon() -> cq.Solid:
    return one(cq.Workplane().slot2D(80, 12).extrude(55))


def wedge() -> cq.Solid:
    """Make a solid of planes only, lying away from the origin."""
    plan = cq.Workplane().polyline([(10, 20), (110, 20), (80, 90)]).close()
    return one(plan.extrude(25))


def one(work: cq.Workplane) -> cq.Solid:
    solid = work.val()
    return solid if isinstance(solid, cq.Solid) else solid.Solids()[0]


SOLIDS = {"rail": rail, "leg": leg, "tenon": tenon, "wedge": wedge}
BOXES = {  # by hand, from the numbers in the makers above
    "rail": [[0, 0, 0], [2000, 150, 30]],
    "leg": [[0, 0, 0], [700, 90, 44]],
    "tenon": [[-40, -6, 0], [40, 6, 55]],
    "wedge": [[10, 20, 0], [110, 90, 25]],
}


def read_stl(data: bytes) -> trimesh.Trimesh:
    return trimesh.load_mesh(io.BytesIO(data), file_type="stl")


def plain_kind(name: str, species: str) -> Kind:
    return Kind(name, Shape(1, 1, 1, Outline.rectangle(1, 1, ("a", "b", "c", "d"))), species)


def small_bed() -> tuple[list[Piece], dict[str, Mesh]]:
    kinds = {"rail": plain_kind("rail", "oak"), "tenon": plain_kind("tenon", "ash")}
    turned = Frame.from_zx((500.0, 20.0, 300.0), (0.6, 0.0, 0.8), (0.0, 1.0, 0.0))
    pieces = [
        Piece("rail_left", kinds["rail"], "sides", turned),
        Piece("rail_right", kinds["rail"], "sides", Frame().moved((1, 2, 3))),
        Piece("tenon_1", kinds["tenon"], "head_end", Frame().moved((-900, 0, 40))),
    ]
    return pieces, {"rail": mesh_of(rail()), "tenon": mesh_of(tenon())}


@pytest.mark.parametrize("name", SOLIDS)
def test_stl_is_the_solid(name: str) -> None:
    solid = SOLIDS[name]()
    seen = read_stl(stl_bytes(mesh_of(solid, TOLERANCE), name))
    assert seen.is_watertight
    assert seen.is_winding_consistent
    # The mesh lies within the tolerance of the true surface, and only curved faces
    # deviate at all; the rest is the rounding of STL's 32-bit numbers.
    curved = sum(f.Area() for f in solid.Faces() if f.geomType() != "PLANE")
    assert seen.volume == pytest.approx(solid.Volume(), abs=TOLERANCE * curved, rel=1e-5)
    # A round end may lie between two nodes: 6 mm * (1 - cos 0.05) = 0.0075 mm short.
    assert seen.bounds == pytest.approx(np.array(BOXES[name]), abs=0.01)


def test_planes_are_exact() -> None:
    mesh = mesh_of(wedge())
    assert mesh.volume == pytest.approx(100 * 70 / 2 * 25, rel=1e-12)
    assert len(mesh.triangles) == 8
    assert len(mesh.vertices) == 6


def test_finer_tolerance_after_a_coarse_one_is_as_if_fresh() -> None:
    solid = leg()
    coarse = mesh_of(solid, 2.0, 0.8)
    fine, fresh = mesh_of(solid, 0.05, 0.05), mesh_of(leg(), 0.05, 0.05)
    assert len(fine.triangles) == len(fresh.triangles) > 2 * len(coarse.triangles)
    assert fine.volume == pytest.approx(fresh.volume, rel=1e-12)


def test_turned_and_reversed_solids_stay_outward() -> None:
    moved = tenon().rotate(cq.Vector(0, 0, 0), cq.Vector(1, 2, 3), 40).translate((7, 8, 9))
    assert mesh_of(moved).volume == pytest.approx(mesh_of(tenon()).volume, rel=1e-9)
    mirrored = cq.Solid(tenon().mirror("YZ").wrapped.Reversed())
    assert mesh_of(mirrored).volume == pytest.approx(mesh_of(tenon()).volume, rel=1e-9)
    located = tenon().moved(cq.Location((1, 2, 3), (0, 0, 1), 90))
    vertices = mesh_of(located).vertices
    assert vertices.min(axis=0) == pytest.approx([-5, -38, 3], abs=0.01)
    assert vertices.max(axis=0) == pytest.approx([7, 42, 58], abs=0.01)


def test_an_open_shell_is_refused_in_one_line() -> None:
    faces = cq.Workplane().box(10, 20, 30).faces().vals()
    shell = cq.Shell.makeShell(faces[:5])
    with pytest.raises(WriteError) as caught:
        mesh_of(shell)
    assert "\n" not in str(caught.value)
    assert caught.value.exit_code == 3


def test_stl_layout() -> None:
    data = stl_bytes(mesh_of(wedge()), "a long name " * 12)
    assert len(data) == 84 + 50 * 8
    assert struct.unpack("<I", data[80:84]) == (8,)
    assert not data.startswith(b"solid")  # many readers would take it for a text file
    assert b"millimetres, a long name" in data[:80]


def test_stl_of_the_bed_holds_each_piece_closed_and_in_place() -> None:
    pieces, meshes = small_bed()
    data = stl_bytes(placed_meshes(pieces, meshes), "bed")
    start = 84
    for piece in pieces:
        count = len(meshes[piece.kind.name].triangles)
        body = read_stl(bytes(80) + struct.pack("<I", count) + data[start : start + 50 * count])
        start += 50 * count
        assert body.is_watertight
        assert body.is_winding_consistent
        assert body.volume == pytest.approx(meshes[piece.kind.name].volume, rel=1e-5)
        corners = np.array(
            [piece.placement.point(tuple(v)) for v in meshes[piece.kind.name].vertices]
        )
        assert body.bounds == pytest.approx(
            np.array([corners.min(axis=0), corners.max(axis=0)]), abs=1e-3
        )
    assert start == len(data)


def glb_parts(data: bytes) -> tuple[dict[str, Any], bytes]:
    magic, version, total = struct.unpack("<4sII", data[:12])
    assert (magic, version, total) == (b"glTF", 2, len(data))
    size, kind = struct.unpack("<I4s", data[12:20])
    assert kind == b"JSON"
    assert size % 4 == 0
    assert data[24 + size : 28 + size] == b"BIN\0"
    return json.loads(data[20 : 20 + size]), data[28 + size :]


def test_glb_tree_names_instances_and_colours() -> None:
    pieces, meshes = small_bed()
    document, binary = glb_parts(glb_bytes("oak_bed", pieces, meshes, LOOKS))
    nodes = document["nodes"]

    def tree(index: int) -> Any:
        node = nodes[index]
        return (
            {node["name"]: [tree(i) for i in node["children"]]}
            if "children" in node
            else node["name"]
        )

    assert tree(document["scenes"][0]["nodes"][0]) == {
        "oak_bed": [{"sides": ["rail_left", "rail_right"]}, {"head_end": ["tenon_1"]}]
    }
    assert [m["name"] for m in document["meshes"]] == ["rail", "tenon"]
    assert [n["mesh"] for n in nodes if "mesh" in n] == [0, 0, 1]
    assert [m["name"] for m in document["materials"]] == ["White oak", "Ash"]
    oak = document["materials"][0]["pbrMetallicRoughness"]["baseColorFactor"]
    # Linear light by IEC 61966-2-1: 0.5 -> 0.214041, 0.04 -> 0.04 / 12.92, 1 -> 1.
    assert oak == pytest.approx([0.214041, 0.003096, 1.0, 1.0], abs=1e-6)
    last = document["bufferViews"][-1]
    assert len(binary) >= last["byteOffset"] + last["byteLength"]
    assert document["buffers"][0]["byteLength"] == len(binary)
    # Nodes that share a mesh are read as copies of it, by a reader of another author.
    scene = trimesh.load_scene(
        io.BytesIO(glb_bytes("oak_bed", pieces, meshes, LOOKS)), file_type="glb"
    )
    assert len(scene.geometry) == 2
    assert {"oak_bed", "sides", "head_end", "rail_left", "rail_right", "tenon_1"} <= set(
        scene.graph.nodes
    )


def test_glb_is_in_metres_with_y_up() -> None:
    pieces, meshes = small_bed()
    data = glb_bytes("bed", pieces, meshes, LOOKS)
    scene = trimesh.load_scene(io.BytesIO(data), file_type="glb")
    for piece in pieces:
        matrix, geometry = scene.graph[piece.name]
        seen = scene.geometry[geometry].copy().apply_transform(matrix)
        mesh = meshes[piece.kind.name].placed(piece.placement)
        x, y, z = mesh.vertices.T / 1000
        expected = np.column_stack([x, z, -y])
        assert seen.bounds == pytest.approx(
            np.array([expected.min(axis=0), expected.max(axis=0)]), abs=1e-6
        )
        seen.merge_vertices(merge_norm=True)
        assert seen.is_watertight
        assert seen.volume == pytest.approx(mesh.volume * 1e-9, rel=1e-5)


def test_glb_shading_breaks_at_edges_and_is_smooth_within_a_face() -> None:
    kind = plain_kind("tenon", "oak")
    data = glb_bytes("t", [Piece("t", kind, "g", Frame())], {"tenon": mesh_of(tenon())}, LOOKS)
    geometry = next(iter(trimesh.load_scene(io.BytesIO(data), file_type="glb").geometry.values()))
    points, normals = np.array(geometry.vertices), np.array(geometry.vertex_normals)
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0, abs=1e-6)
    ends = np.abs(normals[:, 2]) > 0.5
    assert np.allclose(np.abs(normals[ends, 2]), 1.0)
    assert ends.any()
    round_end = ~ends & (points[:, 0] > 34.001)  # the half cylinder round (34, 0)
    radial = (points[round_end, :2] - (34, 0)) / 6
    cosines = np.einsum("ij,ij->i", radial, normals[round_end, :2])
    # Halfway between facets 0.1 rad apart, at worst, at the face's border.
    assert cosines.min() > math.cos(0.06)
    # Each of the two flat sides keeps its own four corners, exactly square to it.
    assert np.count_nonzero(np.abs(normals[:, 1]) > 1 - 1e-9) == 8


def test_bytes_are_the_same_in_another_process() -> None:
    program = (
        "import hashlib, test_mesh as t\n"
        "pieces, meshes = t.small_bed()\n"
        "print(hashlib.sha256(t.both_files(pieces, meshes)).hexdigest())\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        cwd=HERE,
        env=_environment(),
    )
    here = hashlib.sha256(both_files(*small_bed())).hexdigest()
    assert run.stdout.strip() == here


def both_files(pieces: list[Piece], meshes: dict[str, Mesh]) -> bytes:
    return stl_bytes(placed_meshes(pieces, meshes), "bed") + glb_bytes("bed", pieces, meshes, LOOKS)


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(HERE.parent), "PYTHONHASHSEED": "7"}
