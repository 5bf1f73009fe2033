"""Routing templates, read back by GDAL, by dxflib and by hand-made numbers."""

from __future__ import annotations

import hashlib
import io
import math
import os
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import ezdxf
import ezdxf.bbox
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, from_wkb

from bedmodel.bed import Kind
from bedmodel.cuts import Mortise
from bedmodel.errors import InputError
from bedmodel.exports import template as t
from bedmodel.frames import Frame
from bedmodel.outline import Outline
from bedmodel.shape import Shape

HERE = Path(__file__).resolve().parent
ENTITIES = {"LWPOLYLINE", "LINE", "TEXT"}
TITLE = ("Head leg, right", "Oak bed, 1530 x 2030")


def splayed() -> Shape:
    """Make a leg 900 long: joint face on y = 0 from x = 330, outer edge leaning, foot flared."""
    outline = Outline.of(
        [
            ((0.0, 80.0), 0.0, "floor"),
            ((0.0, 135.0), 0.0, "outer"),
            ((900.0, 70.0), 0.0, "top"),
            ((900.0, 0.0), 0.0, "joint"),
            ((330.0, 0.0), 0.18, "curve"),
        ]
    )
    into, along = (0.0, 1.0, 0.0), (1.0, 0.0, 0.0)
    upper = Mortise("upper_board", Frame.from_zx((800, 0, 22), into, along), 90, 12, 31)
    lower = Mortise("lower_board", Frame.from_zx((430, 0, 22), into, along), 70, 12, 25)
    # A slot in the wide face, of a rail: not of the joint face, so it gets no mark.
    rail = Mortise("rail", Frame.from_zx((500, 40, 44), (0, 0, -1), along), 60, 12, 20)
    return Shape(900, 135, 44, outline, "xy", (upper, lower, rail))


def bellied() -> Shape:
    """Make a leg whose outer edge is an arc, so that the arc and no vertex sets the width."""
    steps = [
        ((0.0, 0.0), 0.0, "joint"),
        ((700.0, 0.0), 0.0, "top"),
        ((700.0, 60.0), 0.08, "outer"),
        ((0.0, 60.0), 0.0, "floor"),
    ]
    return Shape(700, 88, 40, Outline.of(steps))


def round_topped() -> Shape:
    """Make a strip 300 x 80 with a half circle of radius 40 on its top end."""
    steps = [
        ((0.0, 0.0), 0.0, "joint"),
        ((300.0, 0.0), 1.0, "top"),
        ((300.0, 80.0), 0.0, "outer"),
        ((0.0, 80.0), 0.0, "floor"),
    ]
    return Shape(340, 80, 30, Outline.of(steps))


SHAPES = {
    "splayed": splayed(),
    "splayed_turned": splayed().reflected("y"),
    "bellied": bellied(),
    "round_topped": round_topped(),
}


def template_of(shape: Shape) -> t.Template:
    return t.leg_template(Kind("head_leg", shape, "oak"), title_lines=TITLE, face_up="show face")


def read(data: bytes) -> Any:
    return ezdxf.read(io.StringIO(data.decode("cp1252")))


def by_gdal(data: bytes) -> list[tuple[str, Any, str]]:
    """Layer, geometry and text of each entity; arcs stroked finely, or the area is 0.4 % out."""
    raw = pytest.importorskip("pyogrio.raw")
    import pyogrio

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.05"})
    meta, _, shapes, columns = raw.read(data)
    fields = list(meta["fields"])
    layers, words = columns[fields.index("Layer")], columns[fields.index("Text")]
    return list(zip(layers, from_wkb(shapes), words, strict=True))


def ring_by_gdal(data: bytes) -> Polygon:
    rings = [shape for layer, shape, _ in by_gdal(data) if layer == t.CUT]
    assert len(rings) == 1
    line = rings[0]
    assert line.geom_type == "LineString"
    assert line.is_ring
    return Polygon(line.coords)


@cache
def dxflib_reader(folder: Path) -> Path:
    compiler = shutil.which("g++")
    if compiler is None:
        pytest.skip("no C++ compiler here")
    program = folder / "dxflib_reader"
    source = HERE / "readers" / "dxflib_reader.cpp"
    built = subprocess.run(
        [compiler, "-o", program, source, "-ldxflib"], capture_output=True, text=True, check=False
    )
    if built.returncode and "dxflib/" in built.stderr and "No such file" in built.stderr:
        pytest.skip("dxflib and its headers are not installed")
    assert built.returncode == 0, built.stderr
    return program


@pytest.mark.parametrize("name", SHAPES)
def test_gdal_reads_the_outline(name: str) -> None:
    outline = SHAPES[name].outline
    ring = ring_by_gdal(t.dxf_bytes(template_of(SHAPES[name])))
    assert ring.exterior.is_ccw
    assert ring.area == pytest.approx(outline.area, rel=1e-4)
    assert ring.bounds == pytest.approx(outline.bounds(), rel=1e-4, abs=1e-3)


@pytest.mark.parametrize("version", t.VERSIONS)
@pytest.mark.parametrize("name", SHAPES)
def test_dxflib_reads_the_outline(
    name: str, version: str, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    reader = dxflib_reader(tmp_path_factory.getbasetemp())
    path = tmp_path / "leg.dxf"
    template = template_of(SHAPES[name])
    path.write_bytes(t.dxf_bytes(template, version))
    rows = subprocess.run([reader, path], capture_output=True, text=True, check=True).stdout
    lines = rows.splitlines()
    rings = [line.split() for line in lines if line.startswith("polyline")]
    assert [ring[:4] for ring in rings] == [
        ["polyline", t.CUT, "1", str(len(template.outline.vertices))]
    ]
    assert float(rings[0][4]) == pytest.approx(template.outline.area, rel=1e-9)
    bounds = [float(v) for v in rings[0][5:]]
    assert bounds == pytest.approx(template.outline.bounds(), abs=1e-5)
    assert sum(line.startswith("line") for line in lines) == len(template.marks)
    if version == "R2000":
        assert "variable $INSUNITS 4" in lines
        assert "variable $MEASUREMENT 1" in lines


def test_closed_form() -> None:
    template = template_of(round_topped())
    ring = ring_by_gdal(t.dxf_bytes(template))
    assert ring.area == pytest.approx(300 * 80 + math.pi * 40**2 / 2, rel=1e-5)
    assert ring.bounds == pytest.approx((0, 0, 340, 80), abs=1e-3)
    legend = t.legend_text(template)
    assert "340.000 mm (13.3858 in)" in legend
    assert f"{300 * 80 + math.pi * 800:.2f} mm2" in legend


@pytest.mark.parametrize("version", t.VERSIONS)
@pytest.mark.parametrize("name", SHAPES)
def test_ring_comes_back_as_it_was(name: str, version: str) -> None:
    template = template_of(SHAPES[name])
    assert t.read_outline(t.dxf_bytes(template, version)) == SHAPES[name].outline


@pytest.mark.parametrize("name", SHAPES)
def test_file_holds_only_what_a_machine_takes(name: str) -> None:
    document = read(t.dxf_bytes(template_of(SHAPES[name])))
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    space = document.modelspace()
    assert {e.dxftype() for e in space} == ENTITIES
    assert {e.dxf.layer for e in space} <= set(t.LAYERS)
    assert [e.dxf.layer for e in space.query("LWPOLYLINE")] == [t.CUT]
    assert {e.dxf.layer for e in space.query("TEXT")} == {t.NOTES}
    assert all(c.isalnum() or c == "_" for layer in t.LAYERS for c in layer)
    assert not any(block.name[0] != "*" for block in document.blocks)
    heights = [e.dxf.elevation for e in space.query("LWPOLYLINE")]
    heights += [p.z for e in space.query("LINE") for p in (e.dxf.start, e.dxf.end)]
    heights += [e.dxf.insert.z for e in space.query("TEXT")]
    assert set(heights) == {0.0}


@pytest.mark.parametrize("name", SHAPES)
def test_header_says_unit_and_extents(name: str) -> None:
    header = read(t.dxf_bytes(template_of(SHAPES[name]))).header
    x0, y0, x1, y1 = SHAPES[name].outline.bounds()
    assert (header["$ACADVER"], header["$INSUNITS"], header["$MEASUREMENT"]) == ("AC1015", 4, 1)
    assert tuple(header["$EXTMIN"]) == pytest.approx((x0, y0, 0.0), abs=1e-9)
    assert tuple(header["$EXTMAX"]) == pytest.approx((x1, y1, 0.0))
    assert (x0, y0) == pytest.approx((0.0, 0.0), abs=1e-9)


def test_marks_lie_where_the_maker_needs_them() -> None:
    lines = [
        (layer, [tuple(np.round(p[:2], 6)) for p in shape.coords])
        for layer, shape, _ in by_gdal(t.dxf_bytes(template_of(splayed())))
        if shape.geom_type == "LineString" and layer != t.CUT
    ]
    mortises = [line for layer, line in lines if layer == t.MORTISE_CENTRE]
    # Upper slot: 90 long about x = 800, 31 deep; lower: 70 long about 430, 25 deep.
    assert mortises == [
        [(800, 0), (800, 31)],
        [(755, 0), (755, 10)],
        [(845, 0), (845, 10)],
        [(430, 0), (430, 25)],
        [(395, 0), (395, 10)],
        [(465, 0), (465, 10)],
    ]
    (joint,) = [line for layer, line in lines if layer == t.JOINT_FACE]
    assert joint == [(336, 3), (894, 3)]
    shaft, *head = [line for layer, line in lines if layer == t.GRAIN]
    assert shaft[0][1] == shaft[1][1]
    assert shaft[1][0] > shaft[0][0] + 50  # towards the top
    assert all(line[0] == shaft[1] and line[1][0] < shaft[1][0] for line in head)


def test_marks_of_the_turned_leg_mirror_those_of_the_leg() -> None:
    here, there = template_of(splayed()), template_of(splayed().reflected("y"))
    marks = [m for m in here.marks if m.layer == t.MORTISE_CENTRE]
    mirrored = [m for m in there.marks if m.layer == t.MORTISE_CENTRE]
    flipped = {((m.start[0], 135 - m.start[1]), (m.end[0], 135 - m.end[1])) for m in marks}
    assert {(m.start, m.end) for m in mirrored} == flipped
    legends = [t.legend_text(template).splitlines()[-2:] for template in (here, there)]
    assert legends[0] == legends[1]
    assert legends[0][0].endswith(
        "upper_board: centre 470.00, slot from 425.00 to 515.00, 12.00 wide, 31.00 deep"
    )


def boxes(template: t.Template) -> list[Polygon]:
    """The room each label takes, at a full height a letter."""
    found = []
    for label in template.labels:
        c, s = math.cos(math.radians(label.turn_deg)), math.sin(math.radians(label.turn_deg))
        w, h = len(label.text) * label.height, label.height
        corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]
        found.append(
            Polygon(
                [(label.at[0] + c * x - s * y, label.at[1] + s * x + c * y) for x, y in corners]
            )
        )
    return found


@pytest.mark.parametrize("name", SHAPES)
def test_words_lie_inside_the_part_and_on_no_line(name: str) -> None:
    template = template_of(SHAPES[name])
    data = t.dxf_bytes(template)
    ring = ring_by_gdal(data)
    drawn = [shape for _, shape, _ in by_gdal(data) if shape.geom_type == "LineString"]
    words = boxes(template)
    assert all(ring.contains(box) for box in words)
    assert not any(line.intersects(box) for line in drawn for box in words)
    assert not any(a.intersects(b) for i, a in enumerate(words) for b in words[:i])
    # As a reader with a font of its own sees them.
    for text in read(data).modelspace().query("TEXT"):
        low, high = ezdxf.bbox.extents([text])
        corners = [(low.x, low.y), (high.x, low.y), (high.x, high.y), (low.x, high.y)]
        assert ring.contains(Polygon(corners)), text.dxf.text


@pytest.mark.parametrize("name", SHAPES)
def test_every_note_is_drawn_and_stands_upright(name: str) -> None:
    template = template_of(SHAPES[name])
    words = [text for layer, _, text in by_gdal(t.dxf_bytes(template)) if layer == t.NOTES]
    length, width, thickness = SHAPES[name].blank
    for note in (
        *TITLE,
        f"size {length:.1f} x {width:.1f} x {thickness:.1f} mm",
        "this face up: show face",
        "unit: millimetres, scale 1:1",
        "JOINT FACE",
        "GRAIN",
    ):
        assert note in words
    assert all(-90 < label.turn_deg <= 90 for label in template.labels)
    assert all(note in t.legend_text(template) for note in template.notes)


@settings(max_examples=25, deadline=None)
@given(
    length=st.floats(30, 1200),
    width=st.floats(8, 200),
    lean=st.floats(0, 0.9),
    bulge=st.floats(-0.2, 0.2),
)
def test_any_size_gives_a_sound_file(
    length: float, width: float, lean: float, bulge: float
) -> None:
    bulge *= min(1.0, width / length)  # a hollow must not reach the joint face
    # Under this it is no arc to any reader: 1e-6 of 600 mm is a sagitta of 0.3 um.
    bulge = bulge if abs(bulge) > 1e-6 else 0.0
    steps = [
        ((0.0, 0.0), 0.0, "joint"),
        ((length, 0.0), 0.0, "top"),
        ((length, width * (1 - lean / 2)), bulge, "outer"),
        ((0.0, width), 0.0, "floor"),
    ]
    shape = Shape(length, width, 40, Outline.of(steps))
    template = template_of(shape)
    assert t.read_outline(t.dxf_bytes(template)) == shape.outline
    ring = ring_by_gdal(t.dxf_bytes(template))
    assert all(ring.contains(box) for box in boxes(template))
    assert len(template.notes) == 5


def test_bytes_are_the_same_in_another_process() -> None:
    program = (
        "import hashlib, test_template as m\n"
        "print(hashlib.sha256(m.t.dxf_bytes(m.template_of(m.splayed()))).hexdigest())\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        cwd=HERE,
        env={**os.environ, "PYTHONPATH": str(HERE.parent), "PYTHONHASHSEED": "7"},
    )
    here = hashlib.sha256(t.dxf_bytes(template_of(splayed()))).hexdigest()
    assert run.stdout.strip() == here


def test_the_library_is_left_as_it_was() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    t.dxf_bytes(template_of(bellied()))
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


def test_a_line_break_in_a_title_does_not_break_the_file() -> None:
    kind = Kind("head_leg", splayed(), "oak")
    template = t.leg_template(kind, title_lines=("Größe\n0\nEOF",), face_up="show\tface")
    words = [e.dxf.text for e in read(t.dxf_bytes(template)).modelspace().query("TEXT")]
    assert words[0] == "Größe 0 EOF"
    assert "this face up: show face" in words


def test_refusals_are_one_line() -> None:
    rail = Shape(500, 90, 30, Outline.rectangle(500, 30, ("a", "b", "c", "d")), "xz")
    no_ring = io.StringIO()
    ezdxf.new("R2000").write(no_ring)
    with pytest.raises(InputError, match=r"side_rail.*wide face"):
        t.leg_template(Kind("side_rail", rail, "oak"), title_lines=(), face_up="any")
    with pytest.raises(InputError, match=r"R2018.*R2000, R12"):
        t.dxf_bytes(template_of(bellied()), "R2018")
    with pytest.raises(InputError, match="0 lines on OUTSIDE_CUT: one closed line"):
        t.read_outline(no_ring.getvalue().encode())
