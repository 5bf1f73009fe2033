"""STEP files: read back by the kernel, by a second parser and by gmsh, and stable to the byte.

Run as a script, this file is the child process of its own tests.
"""

from __future__ import annotations

import functools
import hashlib
import json
import math
import os
import random
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cadquery as cq
import numpy as np
import pytest
from OCP.Interface import Interface_Static
from steputils import p21

import bedmodel
from bedmodel.bed import Kind, Piece
from bedmodel.exports import step
from bedmodel.exports.step import Look, step_bytes, step_bytes_of_kind
from bedmodel.exports.step_text import Header, Order, canonical, encoded
from bedmodel.frames import Frame
from bedmodel.outline import Outline
from bedmodel.shape import Shape

HERE = Path(__file__).resolve()
GROUPS = ("head_end", "sides", "base")
NAME = "bed “Größe 2”"  # a person's own name for it, not plain ASCII
HEADER = Header("x.step", "x", "test")
LOOKS = {
    "oak": Look("white oak", (0.72, 0.53, 0.04), 755.0),
    "ash": Look("common ash (Fraxinus excelsior)", (1.0, 0.9, 0.0), 680.5),
}


# --- the stand-in bed -------------------------------------------------------------


def kind(name: str, species: str) -> Kind:
    outline = Outline.rectangle(100, 30, ("low", "end", "high", "start"))
    return Kind(name, Shape(100, 30, 10, outline), species)


def leg() -> cq.Solid:
    drilled = cq.Workplane().box(700, 90, 44, centered=False).edges("|X").fillet(4)
    return one(drilled.faces(">Z").workplane(origin=(0, 0, 44)).pushPoints([(80, 30)]).hole(12, 30))


def rail() -> cq.Solid:
    box = cq.Workplane().box(2000, 150, 30, centered=False).edges("|X").fillet(3)
    return one(
        box.faces(">Z").workplane(origin=(0, 0, 30)).center(100, 75).slot2D(60, 10).cutBlind(-20)
    )


def slat() -> cq.Solid:
    return one(cq.Workplane().box(900, 70, 18, centered=False).edges("|X").fillet(2.5))


def block() -> cq.Solid:
    return one(cq.Workplane().cylinder(120, 31).faces(">Z").hole(8))


def one(work: cq.Workplane) -> cq.Solid:
    (solid,) = work.solids().vals()
    assert isinstance(solid, cq.Solid)
    return solid


@functools.cache
def solids() -> dict[str, cq.Solid]:
    """One solid by kind; two kinds have the same one, and one solid has been moved."""
    shared = block()
    return {
        "leg": leg(),
        "rail": rail().moved(cq.Location((5, 6, 7), (0, 0, 1), 30)),
        "slat": slat(),
        "block": shared,
        "ash_block": shared,
    }


def pieces() -> list[Piece]:
    """Pieces in three groups, none of them square to the bed, two groups interleaved.

    Three pieces have the name of their kind.
    """
    legs, rails, slats = kind("leg", "oak"), kind("rail", "oak"), kind("slat", "ash")
    rake = Frame.from_zx((450, -20, 10), (0.1, 0.2, 1), (1, 0.3, -0.2))
    made = [
        Piece("leg", legs, "head_end", rake),
        Piece("leg's mate", legs, "head_end", rake.moved((-900, 3, 0))),
        Piece("rail_right", rails, "sides", Frame.from_zx((1, 2, 3), (1, 0.02, 0), (0, 1, 0))),
        Piece("block", kind("block", "oak"), "head_end", Frame()),
        Piece("rail_left", rails, "sides", Frame.from_zx((-1, 2, 3), (-1, 0.02, 0.1), (0, 1, 0.1))),
        Piece("ash_block", kind("ash_block", "ash"), "base", Frame((0.0, 0.0, -250.0))),
    ]
    for i in reversed(range(11)):  # so that neither names nor numbers are in order
        a = 0.3 + 0.2 * i
        placed = Frame.from_zx((0, 90 * i, i / 3), (0, math.sin(a), math.cos(a)), (1, a, a / 7))
        made.append(Piece(f"slat_{i}", slats, "base", placed))
    return made


def bed_file() -> bytes:
    return step_bytes(NAME, pieces(), solids(), LOOKS)


def kind_file() -> bytes:
    return step_bytes_of_kind(kind("slat", "ash"), solids()["slat"], LOOKS["ash"])


@pytest.fixture(scope="module")
def bed() -> bytes:
    return bed_file()


@pytest.fixture(scope="module")
def raw(bed: bytes) -> bytes:
    """The bed as the kernel writes it, before it is put in order."""
    caught: list[bytes] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(step, "canonical", lambda text, *_: caught.append(text) or b"")
        bed_file()
    return caught[0]


# --- child processes --------------------------------------------------------------


def child(task: str, *paths: Path, seed: int = 0, cwd: Path | None = None) -> Any:
    """Run one of the tasks below in a fresh process; return what it prints, as JSON."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(Path(bedmodel.__file__).resolve().parents[1]),
        "PYTHONHASHSEED": str(seed),
    }
    done = subprocess.run(
        [sys.executable, str(HERE), task, *map(str, paths)],
        env=environment,
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def print_digests() -> None:
    digests = [hashlib.sha256(data).hexdigest() for data in (bed_file(), kind_file())]
    print(json.dumps(digests))


def soil(folder: Path) -> None:
    """Do what a process may have done before: mesh, export otherwise, name things anew."""
    for solid in solids().values():
        solid.mesh(0.5, 0.5)
    other = cq.Assembly(name="other").add(solids()["leg"], name="a", color=cq.Color("red"))
    other.add(solids()["block"], name="b")
    other.export(str(folder / "other.step"), unit="INCH")
    for key, value in {
        "write.step.schema": "AP242DIS",
        "write.step.unit": "M",
        "write.precision.mode": "Max",
        "write.step.assembly": "Off",
        "write.step.nonmanifold": "On",
        "write.step.tessellated": "On",
        "write.stepcaf.subshapes.name": "On",
    }.items():
        assert Interface_Static.SetCVal_s(key, value), key
    kind_file()
    bed_file()


def print_digests_after(folder: Path) -> None:
    soil(folder)
    print_digests()


def print_reading(path: Path) -> None:
    """Print the root's name, and of each leaf path, volume, centre, colour, material."""
    read = cq.Assembly.importStep(str(path))
    leaves = list(leaves_of(read, cq.Location(), ()))
    print(json.dumps({"root": read.name, "leaves": leaves}))


def leaves_of(
    node: cq.Assembly, outer: cq.Location, path: tuple[str, ...]
) -> Iterator[dict[str, Any]]:
    here, path = outer * node.loc, (*path, node.name)
    if node.obj is not None:
        assert node.color is not None
        assert node.material is not None
        assert isinstance(node.obj, cq.Shape)
        solid = node.obj
        yield {
            "path": path,
            "valid": solid.isValid(),
            "volume": solid.Volume(),
            "centre": solid.moved(here).Center().toTuple(),
            "placement": transform(here),
            "colour": node.color.toTuple()[:3],
            "material": (node.material.name, node.material.density),
        }
    for below in node.children:
        yield from leaves_of(below, here, path)


def transform(location: cq.Location) -> list[list[float]]:
    matrix = location.wrapped.Transformation()
    return [[matrix.Value(i, j) for j in range(1, 5)] for i in range(1, 4)]


def print_parts(path: Path) -> None:
    """Print name, volume, centre, colour and material of each top-level part."""
    from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDF import TDF_LabelSequence
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool, XCAFDoc_Material

    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    reader = STEPCAFControl_Reader()
    reader.ReadFile(str(path))
    reader.Transfer(document)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    found, materials = TDF_LabelSequence(), TDF_LabelSequence()
    shapes.GetFreeShapes(found)
    XCAFDoc_DocumentTool.MaterialTool_s(document.Main()).GetMaterialLabels(materials)
    assert materials.Length() == found.Length()
    rows = []
    for i in range(1, found.Length() + 1):
        name, material, colour = TDataStd_Name(), XCAFDoc_Material(), Quantity_Color()
        assert found.Value(i).FindAttribute(TDataStd_Name.GetID_s(), name)
        assert materials.Value(i).FindAttribute(XCAFDoc_Material.GetID_s(), material)
        shape = shapes.GetShape_s(found.Value(i))
        assert colours.GetColor(shape, XCAFDoc_ColorType.XCAFDoc_ColorSurf, colour)
        solid = cq.Shape.cast(shape)
        rows.append(
            {
                "name": name.Get().ToExtString(),
                "volume": solid.Volume(),
                "centre": solid.Center().toTuple(),
                "material": material.GetName().ToCString(),
                "density_g_cm3": material.GetDensity(),
                "colour": colour.Values(Quantity_TOC_sRGB),
            }
        )
    print(json.dumps(rows))


def print_gmsh(path: Path) -> None:
    import gmsh

    gmsh.initialize()
    gmsh.option.setNumber("General.Terminal", 0)
    found = gmsh.model.occ.importShapes(str(path))
    gmsh.model.occ.synchronize()
    rows = [
        (
            gmsh.model.getEntityName(d, t),
            gmsh.model.occ.getMass(d, t),
            gmsh.model.occ.getCenterOfMass(d, t),
        )
        for d, t in found
    ]
    print(json.dumps(rows))


# --- same bytes -------------------------------------------------------------------


def test_same_bytes_in_fresh_and_in_soiled_processes(bed: bytes, tmp_path: Path) -> None:
    here = [hashlib.sha256(data).hexdigest() for data in (bed, kind_file())]
    assert child("digests", seed=1) == here
    assert child("soiled", tmp_path, seed=4321, cwd=tmp_path) == here


def test_same_bytes_again_in_the_same_process(bed: bytes) -> None:
    cq.Assembly(name="x").add(solids()["leg"], name="y")
    kind_file()
    assert bed_file() == bed


def test_settings_of_the_kernel_are_given_back() -> None:
    Interface_Static.SetCVal_s("write.step.schema", "AP203")
    Interface_Static.SetCVal_s("write.surfacecurve.mode", "On")
    try:
        assert b"AUTOMOTIVE_DESIGN" in kind_file()
        assert Interface_Static.CVal_s("write.step.schema") == "AP203"
        assert Interface_Static.CVal_s("write.surfacecurve.mode") == "On"
    finally:
        Interface_Static.SetCVal_s("write.step.schema", "AP214IS")


def shuffled(text: str, seed: int) -> bytes:
    """Put the instances in another order under other numbers, which says the same."""
    chance = random.Random(seed)
    head, data = text.split("DATA;", 1)
    body, tail = data.split("ENDSEC;", 1)
    rows = re.findall(r"#(\d+)\s*=((?:[^';]|'[^']*')*);", body)
    fresh = dict(zip((n for n, _ in rows), chance.sample(range(1, 10**6), len(rows)), strict=True))
    chance.shuffle(rows)

    def numbered(row: str) -> str:
        return re.sub(r"('[^']*')|#(\d+)", lambda m: m[1] if m[1] else f"#{fresh[m[2]]}", row)

    again = "".join(f"#{fresh[number]} = {numbered(row)};\n" for number, row in rows)
    return f"{head}DATA;\n{again}ENDSEC;{tail}".encode()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_bytes_do_not_hang_on_the_kernels_order_or_numbers(raw: bytes, seed: int) -> None:
    text = raw.decode().replace("\n", "")
    assert canonical(shuffled(text, seed), HEADER, Order()) == canonical(raw, HEADER, Order())


def twins() -> str:
    """Two products with nameless solids of equal geometry, each in a colour of its own."""
    return """ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('a'),'2;1');
FILE_NAME('n','2020-02-02T02:02:02',('A'),(
  'B'),'kernel 1','K','U');
FILE_SCHEMA(('S { 1 }'));
ENDSEC;
DATA;
#1 = SHAPE_DEFINITION_REPRESENTATION(#2,#3);
#2 = PRODUCT('left','left','',());
#3 = MANIFOLD_SOLID_BREP('',#9);
#4 = SHAPE_DEFINITION_REPRESENTATION(#5,#6);
#5 = PRODUCT('right','right','',());
#6 = MANIFOLD_SOLID_BREP('',#10);
#7 = STYLED_ITEM('color',(#11),#3);
#8 = STYLED_ITEM('color',(#12),#6);
#9 = VERTEX_POINT('',#13);
#10 = VERTEX_POINT('',#13);
#11 = COLOUR_RGB('',0.1,0.2,0.3);
#12 = COLOUR_RGB('',0.1,0.2,0.3);
#13 = CARTESIAN_POINT('',(0.,-0.,1.));
ENDSEC;
END-ISO-10303-21;
"""


def test_twin_solids_stay_two_and_their_colours_find_them_in_any_order() -> None:
    results = {canonical(shuffled(twins(), seed), HEADER, Order()) for seed in range(40)}
    assert len(results) == 1
    text = results.pop().decode()
    assert text.count("MANIFOLD_SOLID_BREP") == 2
    assert text.count("COLOUR_RGB") == 1  # a colour is a value; a solid is a thing
    styled = re.findall(r"STYLED_ITEM\('color',\(#\d+\),#(\d+)\)", text)
    assert sorted(styled) == sorted(re.findall(r"#(\d+)=MANIFOLD_SOLID_BREP", text))


def test_geometry_that_differs_in_one_coordinate_is_not_merged() -> None:
    text = twins().replace("#10 = VERTEX_POINT('',#13)", "#10 = VERTEX_POINT('',#14)")
    text = text.replace("ENDSEC;\nEND-", "#14 = CARTESIAN_POINT('',(0.,0.,2.));\nENDSEC;\nEND-")
    assert canonical(text.encode(), HEADER, Order()).count(b"CARTESIAN_POINT") == 2


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("#9);", "#99);", "missing"),
        ("VERTEX_POINT('',#13)", "VERTEX_POINT('',#9)", "circle"),
        (
            "#13 = CARTESIAN_POINT('',(0.,-0.,1.));",
            "#13 = CARTESIAN_POINT('',(0.,",
            "not understood",
        ),
    ],
)
def test_broken_text_is_refused(old: str, new: str, told: str) -> None:
    assert old in twins()
    with pytest.raises(ValueError, match=told):
        canonical(twins().replace(old, new, 1).encode(), HEADER, Order())


def test_no_clock_and_no_place_in_the_file(bed: bytes, tmp_path: Path) -> None:
    text = bed.decode("ascii")
    assert re.findall(r"\d{4}-\d\d-\d\d(?:T[\d:]+)?", text) == ["1970-01-01T00:00:00"]
    assert f"'bedmodel {bedmodel.__version__}'" in text
    assert "translator" not in text  # the kernel's stand-in for a name it was not given
    assert "Open CASCADE Shape Model" not in text
    assert not re.search(r"[/\\](?:tmp|home|root)\b", text)


# --- read back by the kernel, in a fresh process ----------------------------------


@pytest.fixture(scope="module")
def reading(bed: bytes, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    path = tmp_path_factory.mktemp("step") / "bed.step"
    path.write_bytes(bed)
    return child("read", path)  # type: ignore[no-any-return]


def test_tree_and_names_in_the_order_of_the_pieces(reading: dict[str, Any]) -> None:
    wanted = [
        [NAME, group, piece.name] for group in GROUPS for piece in pieces() if piece.group == group
    ]
    assert reading["root"] == NAME
    assert [leaf["path"] for leaf in reading["leaves"]] == wanted


def by_name(reading: dict[str, Any]) -> Iterator[tuple[Piece, dict[str, Any]]]:
    leaves = {leaf["path"][-1]: leaf for leaf in reading["leaves"]}
    for piece in pieces():
        yield piece, leaves[piece.name]


def test_solids_read_back_whole_and_where_they_belong(reading: dict[str, Any]) -> None:
    for piece, leaf in by_name(reading):
        solid = solids()[piece.kind.name]
        assert leaf["valid"]
        assert leaf["volume"] == pytest.approx(solid.Volume(), rel=1e-9)
        # The centre says that the solid is where its own location had put it, too.
        centre = piece.placement.point(solid.Center().toTuple())
        assert leaf["centre"] == pytest.approx(centre, abs=1e-6)


def test_placements_are_the_frames(reading: dict[str, Any]) -> None:
    # The file gives twelve digits: 1e-11 in a direction, 1e-9 mm in a length of metres.
    for piece, leaf in by_name(reading):
        assert np.allclose(leaf["placement"], matrix(piece.placement)[:3], rtol=0, atol=1e-8)


def test_each_piece_has_the_colour_and_the_density_of_its_wood(reading: dict[str, Any]) -> None:
    for piece, leaf in by_name(reading):
        look = LOOKS[piece.kind.species]
        name, density_g_cm3 = leaf["material"]
        assert name == look.name
        assert density_g_cm3 * 1000 == pytest.approx(look.density_kg_m3, rel=1e-9)
        assert leaf["colour"] == pytest.approx(look.colour, abs=2e-6)


def test_file_of_one_kind_reads_back(tmp_path: Path) -> None:
    path = tmp_path / "slat.step"
    path.write_bytes(kind_file())
    (part,) = child("read_parts", path)
    assert part["name"] == "slat"
    assert part["volume"] == pytest.approx(slat().Volume(), rel=1e-9)
    assert part["centre"] == pytest.approx(slat().Center().toTuple(), abs=1e-9)
    assert part["material"] == LOOKS["ash"].name
    assert part["density_g_cm3"] == pytest.approx(0.6805, rel=1e-9)
    assert part["colour"] == pytest.approx(LOOKS["ash"].colour, abs=2e-6)


# --- read by a parser that had no part in writing ---------------------------------


@pytest.fixture(scope="module")
def parsed(bed: bytes) -> p21.StepFile:
    return p21.loads(bed.decode("ascii"))


def of_type(parsed: p21.StepFile, name: str) -> dict[str, Any]:
    return {
        str(i.ref): i.entity.params
        for i in parsed.data[0].instances.values()
        if p21.is_simple_entity_instance(i) and i.entity.name == name
    }


def complex_of(parsed: p21.StepFile, ref: str) -> dict[str, Any]:
    return {entity.name: entity.params for entity in parsed.data[0].get(ref).entities}


def references(value: Any) -> Iterator[str]:
    if p21.is_reference(value):
        yield str(value)
    elif isinstance(value, tuple | list):
        for item in value:
            yield from references(item)
    elif p21.is_typed_parameter(value):
        yield from references(value.param)


def test_every_line_is_an_instance_and_no_reference_dangles(
    parsed: p21.StepFile, bed: bytes
) -> None:
    known = {str(ref) for ref in parsed.data[0].references()}
    assert known == {f"#{n + 1}" for n in range(len(known))}
    assert len(known) == sum(line.startswith(b"#") for line in bed.splitlines())
    used = set()
    for instance in parsed.data[0].instances.values():
        simple = p21.is_simple_entity_instance(instance)
        for entity in [instance.entity] if simple else instance.entities:
            used |= set(references(entity.params))
    assert used <= known


def test_each_kind_is_stored_once_and_by_its_name(parsed: p21.StepFile) -> None:
    breps = [params[0] for params in of_type(parsed, "MANIFOLD_SOLID_BREP").values()]
    assert sorted(breps) == sorted(solids())
    products = [params[0] for params in of_type(parsed, "PRODUCT").values()]
    assert sorted(products) == sorted([NAME, *GROUPS, *solids()])


def test_usages_are_the_pieces_and_the_groups(parsed: p21.StepFile) -> None:
    usages = [params[:2] for params in of_type(parsed, "NEXT_ASSEMBLY_USAGE_OCCURRENCE").values()]
    wanted = [*GROUPS, *(piece.name for piece in pieces())]
    assert Counter(name for _, name in usages) == Counter(wanted)
    assert all(number == name for number, name in usages)  # no counter of the process


def test_no_curves_in_the_planes_of_surfaces(parsed: p21.StepFile) -> None:
    assert not of_type(parsed, "PCURVE")
    assert of_type(parsed, "CYLINDRICAL_SURFACE")


def test_unit_is_the_millimetre_in_every_context(bed: bytes) -> None:
    units = re.findall(rb"LENGTH_UNIT\(\)NAMED_UNIT\(\*\)(SI_UNIT\([^)]*\))", bed)
    tops = 1 + 3 + len(solids())
    counts = Counter(units)
    assert counts.pop(b"SI_UNIT(.MILLI.,.METRE.)") == tops
    assert set(counts) == {b"SI_UNIT(.CENTI.,.METRE.)"}  # in the unit of density only
    assert b"CONVERSION_BASED_UNIT" not in bed
    assert b"FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));" in bed


def test_density_in_the_unit_that_the_file_states(parsed: p21.StepFile) -> None:
    found: Counter[float] = Counter()
    for _, value, unit_ref in of_type(parsed, "MEASURE_REPRESENTATION_ITEM").values():
        factor = 1.0
        for element in parsed.data[0].get(unit_ref).entity.params[0]:
            named, exponent = parsed.data[0].get(element).entity.params
            units = complex_of(parsed, named)
            prefix, base = (str(p) for p in units["SI_UNIT"])
            assert ("MASS_UNIT" in units) == (base == ".GRAM.")
            size = {".CENTI.": 0.01, "$": 1.0}[prefix] * {".GRAM.": 1e-3, ".METRE.": 1.0}[base]
            factor *= size ** float(exponent)
        found[round(float(value.param) * factor, 6)] += 1
    assert found == Counter(look.density_kg_m3 for look in LOOKS.values())


def test_colour_is_written_as_srgb(parsed: p21.StepFile) -> None:
    found = {tuple(params[1:]) for params in of_type(parsed, "COLOUR_RGB").values()}
    assert found == {look.colour for look in LOOKS.values()}
    assert len(of_type(parsed, "STYLED_ITEM")) == len(solids())


def matrix(frame: Frame) -> np.ndarray:
    made = np.eye(4)
    made[:3] = np.column_stack([frame.x, frame.y, frame.z, frame.origin])
    return made


def placement(parsed: p21.StepFile, ref: str) -> np.ndarray:
    _, origin, z, x = parsed.data[0].get(ref).entity.params
    values = [parsed.data[0].get(r).entity.params[1] for r in (origin, z, x)]
    zx = [tuple(float(number) for number in value) for value in values]
    return matrix(Frame.from_zx(zx[0], zx[1], zx[2]))


def test_placements_composed_from_the_file_are_the_frames(parsed: p21.StepFile) -> None:
    """Chain the usages from the root down by what the file says, without any kernel."""
    usages = of_type(parsed, "NEXT_ASSEMBLY_USAGE_OCCURRENCE")
    shapes = of_type(parsed, "PRODUCT_DEFINITION_SHAPE")
    local: dict[str, np.ndarray] = {}
    for relation, shape in of_type(parsed, "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION").values():
        parts = complex_of(parsed, relation)
        (operator,) = parts["REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION"]
        *_, inner, outer = parsed.data[0].get(operator).entity.params
        _, _, child_shape, parent_shape = parts["REPRESENTATION_RELATIONSHIP"]
        assert inner in parsed.data[0].get(child_shape).entity.params[1]
        assert outer in parsed.data[0].get(parent_shape).entity.params[1]
        usage = str(shapes[str(shape)][2])
        local[usage] = placement(parsed, outer) @ np.linalg.inv(placement(parsed, inner))
    assert local.keys() == usages.keys()
    groups = {str(params[4]): ref for ref, params in usages.items() if params[1] in GROUPS}
    wanted = {piece.name: piece.placement for piece in pieces()}
    checked = []
    for ref, (_, name, _, parent, _, _) in usages.items():
        if ref in groups.values():
            continue
        found = local[groups[str(parent)]] @ local[ref]
        assert np.allclose(found, matrix(wanted[name]), rtol=0, atol=1e-8), name
        checked.append(name)
    assert sorted(checked) == sorted(wanted)


# --- read by gmsh -----------------------------------------------------------------


def test_gmsh_finds_the_same_volumes_in_the_same_places(bed: bytes, tmp_path: Path) -> None:
    path = tmp_path / "bed.step"
    path.write_bytes(bed)
    probe = subprocess.run(
        [sys.executable, "-c", "import gmsh"], capture_output=True, text=True, check=False
    )
    if probe.returncode:
        pytest.skip(f"gmsh does not load here: {probe.stderr.strip().splitlines()[-1]}")
    rows = child("gmsh", path)
    found = {name.split("/")[-2]: (volume, centre) for name, volume, centre in rows}
    assert len(rows) == len(found) == len(pieces())
    for piece in pieces():
        solid = solids()[piece.kind.name]
        volume, centre = found[piece.name]
        assert volume == pytest.approx(solid.Volume(), rel=1e-6)
        assert centre == pytest.approx(piece.placement.point(solid.Center().toTuple()), abs=1e-4)


# --- names and refusals -----------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "stored"),
    [
        ("it's 7 1/2\"; #3", "it's 7 1/2\"; #3"),
        ("Größe", r"Gr\X2\00F600DF\X0\e"),
        ("a\\b", r"a\X2\005C\X0\b"),
        ("𝔘é", r"\X4\0001D518000000E9\X0" + "\\"),
        ("two\nlines", "two lines"),
    ],
)
def test_names_in_the_alphabet_of_the_standard(text: str, stored: str) -> None:
    assert encoded(text) == stored


@pytest.mark.parametrize(
    "name",
    ["L" * 67 + "''" + "R" * 90, "日本" * 40, "a\\X2\\0041\\X0\\;#1 'b'"],
    ids=["long", "foreign", "coded"],
)
def test_awkward_names_survive(name: str, tmp_path: Path) -> None:
    path = tmp_path / "b.step"
    piece = Piece(name, kind("odd", "oak"), "g", Frame())
    path.write_bytes(step_bytes("b", [piece], {"odd": solids()["slat"]}, LOOKS))
    (group,) = cq.Assembly.importStep(str(path)).children
    assert [leaf.name for leaf in group.children] == [name]


def test_refusals() -> None:
    oak = kind("a", "oak")
    solid = {"a": solids()["slat"]}
    mirrored = Frame(x=(-1.0, 0.0, 0.0))
    piece = Piece("p", oak, "g", Frame())
    for wrong, told in [
        ([piece, piece], "two pieces"),
        ([piece, Piece("g", oak, "other", Frame())], "a piece and a group"),
        ([piece, Piece("q", kind("a", "ash"), "g", Frame())], "two different kinds"),
        ([Piece("p", oak, "g", mirrored)], "mirrors"),
        ([Piece(" ", oak, "g", Frame())], "empty"),
    ]:
        with pytest.raises(ValueError, match=told):
            step_bytes("b", wrong, solid, LOOKS)
    for density in (0.0, math.nan):
        with pytest.raises(ValueError, match="density"):
            step_bytes("b", [piece], solid, {"oak": Look("oak", (0, 0, 0), density)})


if __name__ == "__main__":
    tasks = {
        "digests": print_digests,
        "soiled": print_digests_after,
        "read": print_reading,
        "read_parts": print_parts,
        "gmsh": print_gmsh,
    }
    tasks[sys.argv[1]](*map(Path, sys.argv[2:]))
