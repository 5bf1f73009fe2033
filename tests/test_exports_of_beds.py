"""Every file of one real build, read back by other authors' readers where there are any.

Run as a script, this file is the child process of its own tests.
"""

from __future__ import annotations

import hashlib
import io
import json
import math
import os
import re
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import cadquery as cq
import numpy as np
import pytest
import trimesh
from OCP.Bnd import Bnd_Box
from OCP.BRepAlgoAPI import BRepAlgoAPI_Section
from OCP.BRepBndLib import BRepBndLib
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt

import bedmodel
from bedmodel.assembly import make_bed
from bedmodel.bed import Piece
from bedmodel.build import Built, build
from bedmodel.build_groups import QUICK
from bedmodel.frames import Frame
from bedmodel.materials import material
from bedmodel.sheets import check_sheet, load_sheet
from bedmodel.solids import make_solid
from bedmodel.tables import wood
from tests.beds import idle_codes

HERE = Path(__file__).resolve()
GROUPS = {
    "head_end": {"head_leg", "headboard_board", "head_slot_plate"},
    "foot_end": {"foot_leg", "footboard_board", "foot_slot_plate"},
    "rails": {"side_rail", "runner", "head_hook_plate", "foot_hook_plate"},
    "centre_support": {"centre_rail", "support_foot"},
    "platform": {"slat"},
}
KERNEL_DENSITY = 7.85  # g/cm3, steel: what a material without a density would get


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    return build(load_sheet("campion"), tmp_path_factory.mktemp("out"), only=QUICK)


def record(built: Built, name: str) -> Any:
    return json.loads((built.folder / name).read_text(encoding="utf-8"))


# --- the child ------------------------------------------------------------------------


def child(task: str, path: Path) -> Any:
    """Run one of the tasks below in a fresh process; return what it prints, as JSON."""
    done = subprocess.run(
        [sys.executable, str(HERE), task, str(path)],
        env={**os.environ, "PYTHONPATH": str(Path(bedmodel.__file__).resolve().parents[1])},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def print_reading(folder: Path) -> None:
    """Print the leaves of the bed's STEP file, and the parts of each kind's file."""
    read = cq.Assembly.importStep(str(folder / "bed.step"))
    leaves = list(leaves_of(read, cq.Location(), ()))
    kinds = {}
    for path in sorted((folder / "parts").glob("*.step")):
        parts = cq.importers.importStep(str(path)).vals()
        kinds[path.stem] = [
            (s.Volume(), s.isValid(), len(s.Solids()), box(s))
            for s in parts
            if isinstance(s, cq.Shape)
        ]
    print(json.dumps({"root": read.name, "leaves": leaves, "kinds": kinds}))


def leaves_of(
    node: cq.Assembly, outer: cq.Location, path: tuple[str, ...]
) -> Iterator[dict[str, Any]]:
    here, path = outer * node.loc, (*path, node.name)
    if node.obj is not None:
        assert node.color is not None
        assert node.material is not None
        assert isinstance(node.obj, cq.Shape)
        turned = here.wrapped.Transformation()
        yield {
            "path": path,
            "valid": node.obj.isValid(),
            "volume": node.obj.Volume(),
            "placement": [[turned.Value(i, j) for j in range(1, 5)] for i in range(1, 4)],
            "colour": node.color.toTuple()[:3],
            "material": (node.material.name, node.material.density),
        }
    for below in node.children:
        yield from leaves_of(below, here, path)


def print_gmsh(folder: Path) -> None:
    import gmsh

    gmsh.initialize()
    gmsh.option.setNumber("General.Terminal", 0)
    found = gmsh.model.occ.importShapes(str(folder / "bed.step"))
    gmsh.model.occ.synchronize()
    print(
        json.dumps(
            [
                (
                    gmsh.model.getEntityName(*entity),
                    gmsh.model.occ.getMass(*entity),
                    gmsh.model.occ.getCenterOfMass(*entity),
                )
                for entity in found
            ]
        )
    )


def box(shape: cq.Shape) -> list[float]:
    """Least x, y, z and greatest x, y, z, without the kernel's margins."""
    found = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape.wrapped, found, False, False)
    found.SetGap(0.0)
    return list(found.Get())


# --- STEP -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def reading(built: Built) -> dict[str, Any]:
    found: dict[str, Any] = child("reading", built.folder / "model")
    return found


def leaves(built: Built, reading: dict[str, Any]) -> Iterator[tuple[Piece, dict[str, Any]]]:
    found = {leaf["path"][-1]: leaf for leaf in reading["leaves"]}
    assert set(found) == {piece.name for piece in built.bed.pieces}
    for piece in built.bed.pieces:
        yield piece, found[piece.name]


def matrix(frame: Frame) -> np.ndarray:
    return np.array([frame.x, frame.y, frame.z, frame.origin]).T


def test_step_holds_the_whole_bed_in_its_tree(built: Built, reading: dict[str, Any]) -> None:
    # 4 legs, 3 boards, 2 + 2 + 1 tenons at each of 2 ends of them, 2 rails, 2 runners,
    # a centre rail on 4 feet (two bays would be longer than 800 mm), 17 slats; a hook plate
    # and a slot plate at each corner.
    assert len(reading["leaves"]) == 4 + 3 + 8 + 2 + 2 + 1 + 4 + 17 + 2 * 4
    assert reading["root"] == "campion"
    paths = [leaf["path"] for leaf in reading["leaves"]]
    assert list(dict.fromkeys(path[1] for path in paths)) == list(GROUPS)
    for _, group, name in paths:
        stem = re.sub(r"(_\d+)?(_tenon.*|_left|_right)?$", "", name)
        assert stem in GROUPS[group], name


def test_step_solids_are_whole_and_where_they_belong(built: Built, reading: dict[str, Any]) -> None:
    for piece, leaf in leaves(built, reading):
        assert leaf["valid"], piece.name
        assert leaf["volume"] == pytest.approx(built.bed.volume(piece.kind.name), rel=1e-6)
        assert np.allclose(leaf["placement"], matrix(piece.placement), rtol=0, atol=1e-8)


def test_step_says_which_wood_or_metal(built: Built, reading: dict[str, Any]) -> None:
    soft = {"slat", "runner_left", "runner_right", "centre_rail"}
    for piece, leaf in leaves(built, reading):
        name, density_g_cm3 = leaf["material"]
        if "_plate_" in piece.name:
            assert name == "steel"
            # EN 1991-1-1, Table A.4: steel weighs 77.0 to 78.5 kN/m3, as printed.
            assert 77.0 <= round(density_g_cm3 * 9.80665, 1) <= 78.5
            assert is_grey(leaf["colour"])
            continue
        expected = wood(
            "yellow-poplar" if re.sub(r"_\d+$", "", piece.name) in soft else "red-maple"
        )
        assert name == expected.label
        assert density_g_cm3 * 1000 == pytest.approx(expected.density_kg_m3, rel=1e-9)
        assert density_g_cm3 < KERNEL_DENSITY / 5
        rgb = [int(expected.colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        assert leaf["colour"] == pytest.approx(rgb, abs=2e-6)
        assert not is_grey(leaf["colour"])


def is_grey(colour: Sequence[float]) -> bool:
    """Steel is, and no wood: its red is well above its blue."""
    return abs(colour[0] - colour[2]) < 0.1


def test_one_step_file_for_each_kind(built: Built, reading: dict[str, Any]) -> None:
    assert set(reading["kinds"]) == set(built.bed.kinds)
    for name, parts in reading["kinds"].items():
        ((volume, valid, solids, bounds),) = parts
        assert valid
        assert solids == 1
        assert volume == pytest.approx(built.bed.volume(name), rel=1e-6)
        assert bounds == pytest.approx([0, 0, 0, *built.bed.kinds[name].shape.blank], abs=1e-3), (
            name
        )


def test_gmsh_finds_the_same_volumes_in_the_same_places(built: Built) -> None:
    probe = subprocess.run(
        [sys.executable, "-c", "import gmsh"], capture_output=True, text=True, check=False
    )
    if probe.returncode:
        pytest.skip(f"gmsh does not load here: {probe.stderr.strip().splitlines()[-1]}")
    rows = child("gmsh", built.folder / "model")
    found = {name.split("/")[-2]: (volume, centre) for name, volume, centre in rows}
    assert len(rows) == len(found) == len(built.bed.pieces)
    for piece in built.bed.pieces:
        volume, centre = found[piece.name]
        assert volume == pytest.approx(built.bed.volume(piece.kind.name), rel=1e-6)
        assert centre == pytest.approx(built.bed.solid(piece).Center().toTuple(), abs=1e-3)


# --- templates ----------------------------------------------------------------------------


def ring(data: bytes) -> Any:
    """The one ring to cut, read by GDAL, as a shapely polygon; arcs stroked finely."""
    raw = pytest.importorskip("pyogrio.raw")
    import pyogrio
    from shapely import Polygon, from_wkb

    # GDAL's own step of 4 degrees would lose 0.4 % of the area.
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.05"})
    meta, _, shapes, columns = raw.read(data)
    layers = columns[list(meta["fields"]).index("Layer")]
    rings = [s for layer, s in zip(layers, from_wkb(shapes), strict=True) if layer == "OUTSIDE_CUT"]
    (line,) = rings
    assert line.is_ring
    return Polygon(line)


def section(solid: cq.Shape, z: float) -> cq.Face:
    """The outline of a solid cut at ``z`` by the kernel; holes inside it are filled."""
    cut = BRepAlgoAPI_Section(solid.wrapped, gp_Pln(gp_Pnt(0, 0, z), gp_Dir(0, 0, 1)))
    edges = cq.Shape.cast(cut.Shape()).Edges()
    rings = [cq.Face.makeFromWires(wire) for wire in cq.Wire.combine(edges, 1e-4)]
    return max(rings, key=lambda face: face.Area())


def assert_same_outline(polygon: Any, face: cq.Face) -> None:
    """Within 0.01 %, that is 0.01 mm or so on the width of a leg."""
    assert polygon.area == pytest.approx(face.Area(), rel=1e-4)
    x0, y0, _, x1, y1, _ = box(face)
    size = max(x1 - x0, y1 - y0)
    assert polygon.bounds == pytest.approx((x0, y0, x1, y1), abs=1e-4 * size)


LEGS = ("head_leg_left", "head_leg_right", "foot_leg_left", "foot_leg_right")


@pytest.mark.parametrize("kind", LEGS)
def test_template_is_the_legs_own_section(built: Built, kind: str) -> None:
    """The eased solid, cut where its easing does not reach; mortises filled again."""
    shape = built.bed.kinds[kind].shape
    solid = built.bed.solids[kind]
    # Cut beside the mortises: inside the easing's reach on neither face.
    cuts = [(c.frame.origin[2], c.width / 2) for c in shape.mortises]
    levels = np.linspace(shape.easing.size + 0.5, shape.thickness - shape.easing.size - 0.5, 60)
    clear = [z for z in levels if all(abs(z - middle) > half + 0.5 for middle, half in cuts)]
    data = (built.folder / "templates" / f"{kind}_mm.dxf").read_bytes()
    for z in (clear[0], clear[-1]):
        assert_same_outline(ring(data), section(solid, float(z)))


def test_template_of_a_square_leg_is_its_largest_face(tmp_path: Path) -> None:
    from bedmodel.exports.template import dxf_bytes, leg_template

    bed = make_bed(load_sheet("campion", changes=["leg.edge=square"]))
    for name in LEGS:
        face = max(bed.solids[name].Faces(), key=lambda f: f.Area())
        outer = cq.Face.makeFromWires(face.outerWire())
        template = leg_template(bed.kinds[name], title_lines=["x"], face_up="inside face")
        assert_same_outline(ring(dxf_bytes(template)), outer)


def test_templates_of_left_and_right_are_mirror_images(built: Built) -> None:
    # Both lie on the face at high z, so the outline is the same and the faces differ.
    for end in ("head", "foot"):
        texts = {
            side: (built.folder / "templates" / f"{end}_leg_{side}_legend.txt").read_text("utf-8")
            for side in ("left", "right")
        }
        ups = {side: re.search(r"this face up: (.*)", text)[1] for side, text in texts.items()}  # type: ignore[index]
        assert set(ups.values()) == {"inside face", "show face"}


# --- STL and GLB --------------------------------------------------------------------------


def test_stl_of_each_kind_is_closed_and_its_volume_right(built: Built) -> None:
    """Chords at most 0.1 mm off the curved faces, and single precision, bound the error."""
    for name, kind in built.bed.kinds.items():
        data = (built.folder / "model" / "stl" / f"{name}.stl").read_bytes()
        mesh = trimesh.load_mesh(io.BytesIO(data), file_type="stl")
        assert mesh.is_watertight, name
        solid = built.bed.solids[name]
        curved = sum(f.Area() for f in solid.Faces() if f.geomType() != "PLANE")
        rounding = 2.0**-24 * max(kind.shape.blank)
        assert abs(mesh.volume - solid.Volume()) <= 0.1 * curved + rounding * solid.Area()
        assert mesh.volume == pytest.approx(solid.Volume(), rel=2e-3), name
        assert mesh.bounds.ravel() == pytest.approx([0, 0, 0, *kind.shape.blank], abs=0.01), name


def test_stl_of_the_bed_is_in_mm_and_holds_every_piece(built: Built) -> None:
    data = (built.folder / "model" / "stl" / "bed.stl").read_bytes()
    mesh = trimesh.load_mesh(io.BytesIO(data), file_type="stl")
    counts = Counter(piece.kind.name for piece in built.bed.pieces)
    folder = built.folder / "model" / "stl"
    single = {k: trimesh.load_mesh(folder / f"{k}.stl") for k in counts}
    assert len(mesh.faces) == sum(n * len(single[k].faces) for k, n in counts.items())
    assert mesh.volume == pytest.approx(
        sum(n * single[k].volume for k, n in counts.items()), rel=1e-5
    )
    width, length, height = built.bed.layout.overall
    # The lowest point is the floor's; the foot legs' far faces end the bed.
    assert mesh.bounds == pytest.approx(
        np.array(
            [
                [-width / 2, -built.bed.layout.sheet.leg.thickness, 0],
                [width / 2, length - built.bed.layout.sheet.leg.thickness, height],
            ]
        ),
        abs=0.01,
    )


def test_glb_has_the_names_in_metres_and_y_up(built: Built) -> None:
    scene = trimesh.load_scene(built.folder / "model" / "bed.glb")
    pieces = {piece.name for piece in built.bed.pieces}
    assert pieces <= set(scene.graph.nodes)
    assert set(GROUPS) <= set(scene.graph.nodes)
    # One mesh a kind: pieces that are alike share it.
    assert len(scene.geometry) == len(built.bed.kinds)
    width, length, height = (v / 1000 for v in built.bed.layout.overall)
    assert scene.extents == pytest.approx([width, height, length], abs=2e-5)
    assert scene.bounds[0][1] == pytest.approx(0.0, abs=2e-5)
    # The bed's own Y, from head to foot, is towards the viewer's back: -Z.
    assert scene.bounds[0][2] < -2.0 < 0.0 < scene.bounds[1][2] < 0.06
    for piece in built.bed.pieces:
        there, geometry = scene.graph[piece.name]
        seen = scene.geometry[geometry].copy().apply_transform(there)
        x, y, z = built.bed.solid(piece).Center().toTuple()
        assert seen.bounds.mean(axis=0) == pytest.approx(
            centre_of_box(built.bed.solid(piece)), abs=2e-4
        ), piece.name
        assert np.linalg.norm(seen.center_mass - np.array([x, z, -y]) / 1000) < 2e-4


def centre_of_box(shape: cq.Shape) -> list[float]:
    """The middle of the box, as glTF has it: metres, Y up."""
    b = box(shape)
    x, y, z = ((b[i] + b[i + 3]) / 2000 for i in range(3))
    return [x, z, -y]


# --- records --------------------------------------------------------------------------------


def test_parts_record_counts_sizes_and_weighs_the_solids(built: Built) -> None:
    parts = record(built, "parts.json")
    counts = Counter(piece.kind.name for piece in built.bed.pieces)
    assert {k["kind"]: k["count"] for k in parts["kinds"]} == dict(counts)
    total = 0.0
    for kind in parts["kinds"]:
        solid = built.bed.solids[kind["kind"]]
        b = box(solid)
        sizes = [kind["size"][axis] for axis in ("along", "across", "thick")]
        assert sizes == pytest.approx([b[i + 3] - b[i] for i in range(3)], abs=0.001), kind["kind"]
        assert kind["volume"] == pytest.approx(solid.Volume(), abs=0.06)
        density = material(kind["species"]).density_kg_m3
        if kind["species"] == "steel":
            assert density == 7850
        else:  # At 12 % by hand: ovendry mass over volume, and the water in it.
            assert density == pytest.approx(1000 * wood(kind["species"]).specific_gravity * 1.12)
        assert kind["mass_kg"] == pytest.approx(solid.Volume() * 1e-9 * density, abs=6e-5)
        total += kind["count"] * solid.Volume() * 1e-9 * density
    assert parts["mass_kg"] == pytest.approx(total, abs=6e-4)


def test_parts_record_is_enough_to_put_the_bed_together(built: Built) -> None:
    """Kinds from their own STEP files, placed by the record, are the bed's STEP file."""
    parts = record(built, "parts.json")
    moment, total = np.zeros(3), 0.0
    for kind in parts["kinds"]:
        path = built.folder / "model" / "parts" / f"{kind['kind']}.step"
        solid = cq.importers.importStep(str(path)).val()
        assert isinstance(solid, cq.Shape)
        for row in kind["pieces"]:
            axes = np.array([row["along"], row["across"], row["thick"]])
            assert np.allclose(axes @ axes.T, np.eye(3), atol=1e-8)
            assert np.linalg.det(axes) == pytest.approx(1.0)
            placed = np.array(solid.Center().toTuple()) @ axes + row["origin"]
            piece = built.bed.piece(row["name"])
            # Places are told to 0.0001 mm, directions to 1e-9 over two metres.
            assert placed == pytest.approx(built.bed.solid(piece).Center().toTuple(), abs=5e-4)
            assert piece.group == row["group"]
            moment += kind["mass_kg"] * placed
            total += kind["mass_kg"]
    assert parts["centre_of_mass"] == pytest.approx(list(moment / total), abs=0.05)
    assert moment[0] / total == pytest.approx(0.0, abs=1e-3)  # alike on both sides


def test_checks_record_tells_every_code(built: Built) -> None:
    from bedmodel.checks.finding import Code

    checks = record(built, "checks.json")
    assert checks["passed"] is True
    assert [c["code"] for c in checks["checks"]] == [int(code) for code in Code]
    for check in checks["checks"]:
        assert check["passed"]
        assert check["findings"] == []
        assert check["limit"]
    idle = {check["code"] for check in checks["checks"] if not check["tested"]}
    assert idle == idle_codes(built.bed.layout.sheet)


def test_manifest_lists_every_other_file_with_its_hash(built: Built) -> None:
    manifest = record(built, "manifest.json")
    there = {p.relative_to(built.folder).as_posix() for p in built.folder.rglob("*") if p.is_file()}
    assert {row["path"] for row in manifest["files"]} == there - {"manifest.json"}
    assert built.files == len(there)
    for row in manifest["files"]:
        data = (built.folder / row["path"]).read_bytes()
        assert row["bytes"] == len(data) > 0
        assert row["sha256"] == hashlib.sha256(data).hexdigest()
    assert "not a certificate" in manifest["safety"]


def test_sheet_in_the_manifest_makes_the_same_bed(built: Built) -> None:
    """It is resolved to mm, while this design's unit is the inch."""
    sheet = record(built, "manifest.json")["sheet"]
    again = check_sheet(sheet)
    assert again == built.bed.layout.sheet
    assert again.design.unit == "inch"


def test_worked_out_values_in_the_manifest(built: Built) -> None:
    worked_out = record(built, "manifest.json")["worked_out"]
    assert worked_out["mattress"] == [1524.0, 2032.0, 254.0]
    # Stance 34.925 over the pocket's 2054 mm, by hand.
    yaw = math.degrees(math.atan(34.925 / 2 / 2054))
    assert worked_out["side_rail_yaw_deg"] == pytest.approx(yaw, abs=1e-5)
    assert worked_out["side_rail_end_offset"] == pytest.approx(28.575 * 34.925 / 2 / 2054, abs=1e-4)


def test_no_file_tells_of_this_machine_or_the_day(built: Built) -> None:
    import datetime

    here = (str(built.folder), str(Path.home()), os.getcwd(), tempfile.gettempdir() + os.sep)
    today = datetime.date.today()
    days = {today + datetime.timedelta(d) for d in (-1, 0, 1)}
    dates = [d.strftime(form) for d in days for form in ("%Y-%m-%d", "%Y%m%d", "%d.%m.%Y")]
    for path in sorted(built.folder.rglob("*")):
        if not path.is_file():
            continue
        data = path.read_bytes()
        for word in (*here, *dates):
            if len(word) > 3:
                assert word.encode() not in data, (path.name, word)


def test_kinds_are_made_as_their_shapes_say(built: Built) -> None:
    """A mirrored leg is the leg that its own shape would give."""
    for name in ("head_leg_left", "foot_leg_left"):
        own, made = make_solid(built.bed.kinds[name].shape), built.bed.solids[name]
        assert made.Volume() == pytest.approx(own.Volume(), rel=1e-9)
        assert made.Center().toTuple() == pytest.approx(own.Center().toTuple(), abs=1e-6)
        assert box(made) == pytest.approx(box(own), abs=1e-6)


if __name__ == "__main__":
    {"reading": print_reading, "gmsh": print_gmsh}[sys.argv[1]](Path(sys.argv[2]))
