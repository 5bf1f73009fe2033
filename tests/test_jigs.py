"""Jigs, held against the parts they are to make, closed forms and other readers.

Oracles: the pieces of the bed, which the jigs do not read for angles and distances; a
segment widened by a radius for a slot; GDAL for the files; the simulated cut, which is
held against closed forms in ``test_router``.
"""

from __future__ import annotations

import argparse
import functools
import hashlib
import io
import itertools
import json
import math
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely
from ezdxf.filemanagement import read as read_document

from bedmodel.bed import Piece
from bedmodel.cutters import Cutter, bit, bits, bushing, bushing_cutter
from bedmodel.errors import InputError
from bedmodel.exports.cnc import dxf_bytes, legend_text, read_rings, words_on
from bedmodel.exports.jig_files import write_jigs
from bedmodel.outline import Outline
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.shop.cards import WIDE
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.jig import GuidedCut, Jig, check_jigs, will_do
from bedmodel.shop.jigs.legs import leg_jigs, relieved_part
from bedmodel.shop.jigs.plates import mortise_seats
from bedmodel.shop.jigs.spacers import rounded_gap
from bedmodel.shop.sheet import (
    CUT,
    FACE,
    FENCE,
    HOLD_DOWN,
    LAYERS,
    NOTES,
    OPENING,
    SAW,
    STOP,
    CncSheet,
    Label,
    Mark,
)
from bedmodel.shop.simulate import polygon, simulate
from bedmodel.shop.story_stick import story_sticks
from bedmodel.skeleton import Layout, lay_out
from bedmodel.verbs import jigs as verb

HERE = Path(__file__).resolve().parent
EXAMPLES = ("campion", "hawthorn", "sorrel")
SPLAYED = ("campion", "sorrel")
SIZES = (None, "us-king", "eu-140x200")
# Round plates, square ones for two rows, and legs led by a bushing.
OTHERS = (
    ("campion", ("router.guide=bushing",)),
    ("sorrel", ("router.guide=bushing", "router.bushing=3/4 in")),
    (
        "hawthorn",
        (
            "tenon.ends=square",
            "tenon.rows=2",
            "headboard.board.1.thickness=60",
            "footboard.board.1.thickness=60",
        ),
    ),
)


@functools.cache
def bed(name: str, size: str | None = None, *changes: str) -> tuple[Layout, tuple[Piece, ...]]:
    layout = lay_out(load_sheet(name, size=size, changes=changes))
    return layout, make_pieces(layout)


@functools.cache
def jigs(name: str, size: str | None = None, *changes: str) -> dict[str, Jig]:
    return {jig.name: jig for jig in make_jigs(*bed(name, size, *changes))}


def plates(name: str, size: str | None = None, *changes: str) -> list[Jig]:
    return [j for j in jigs(name, size, *changes).values() if j.name.startswith("mortise_plate")]


def cut_of(jig: Jig) -> GuidedCut:
    (cut,) = jig.cuts
    return cut


def marks(jig: Jig, layer: str) -> list[Any]:
    return [mark for mark in jig.sheet.marks if mark.layer == layer]


EVERY = [(name, jig) for name in EXAMPLES for jig in jigs(name)]
EVERY_IDS = [f"{name}-{jig}" for name, jig in EVERY]


def by_gdal(data: bytes) -> list[tuple[str, Any]]:
    """Layer and geometry of each entity, arcs stroked finely."""
    raw = pytest.importorskip("pyogrio.raw")
    import pyogrio

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.05"})
    meta, _, shapes, columns = raw.read(data)
    layers = columns[list(meta["fields"]).index("Layer")]
    return list(zip(layers, shapely.from_wkb(shapes), strict=True))


# --- files -------------------------------------------------------------------------------


def test_the_jigs_of_a_splayed_and_of_a_straight_bed() -> None:
    legs = {
        f"leg_{end}_leg_{hand}_template" for end in ("head", "foot") for hand in ("left", "right")
    }
    assert set(jigs("sorrel")) == {
        "leg_sled",
        *legs,
        "mortise_plate_1",
        "mortise_plate_2",  # the footboard's one tenon is narrower
        "fastener_recess",
        "fastener_pockets",
        "fastener_screw_guide",
        "runner_screw_guide",
        "slat_end_guide",
        *(f"stick_{stick.name}" for stick in story_sticks(bed("sorrel")[0])),
        "caul",
        "slat_spacer",
    }
    # Square, runners and centre rail share a stick.
    more = {"leg_sled", "caul", "stick_slats_runner"}
    assert set(jigs("sorrel")) - set(jigs("hawthorn")) == more
    # A dry tenon's mortise in the leg is longer.
    assert "mortise_plate_3" in jigs("hawthorn")


def check_rings(sheet: CncSheet) -> None:
    """By GDAL: one ring round, every opening in it, their areas, and which way they run."""
    found = by_gdal(dxf_bytes(sheet))
    cut = [shape for layer, shape in found if layer == CUT]
    openings = [shape for layer, shape in found if layer == OPENING]
    assert len(cut) == 1
    assert len(openings) == len(sheet.openings)
    assert shapely.Polygon(cut[0].coords).area == pytest.approx(sheet.outline.area, rel=1e-5)
    assert shapely.Polygon(cut[0].coords).exterior.is_ccw
    for ring, opening in zip(openings, sheet.openings, strict=True):
        assert shapely.Polygon(ring.coords).area == pytest.approx(opening.area, rel=1e-4)
        assert not shapely.Polygon(ring.coords).exterior.is_ccw  # the waste lies inside
        assert shapely.Polygon(cut[0].coords).contains(ring)


@pytest.mark.parametrize(("name", "jig"), EVERY, ids=EVERY_IDS)
def test_gdal_reads_the_rings(name: str, jig: str) -> None:
    check_rings(jigs(name)[jig].sheet)


@pytest.mark.parametrize("version", ["R2000", "R12"])
@pytest.mark.parametrize(("name", "jig"), EVERY, ids=EVERY_IDS)
def test_ezdxf_reads_back_what_was_written(name: str, jig: str, version: str) -> None:
    sheet = jigs(name)[jig].sheet
    data = dxf_bytes(sheet, version)
    assert read_rings(data, CUT) == [sheet.outline]
    back = read_rings(data, OPENING)
    assert [ring.canonical() for ring in back] == [ring.canonical() for ring in sheet.openings]
    document = read_document(io.StringIO(data.decode("cp1252")))
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    used = {entity.dxf.layer for entity in document.modelspace()}
    assert used <= set(sheet.layers) <= set(LAYERS)
    assert {CUT, NOTES} <= used
    kinds = {entity.dxftype() for entity in document.modelspace()}
    assert kinds <= {"LWPOLYLINE", "POLYLINE", "LINE", "TEXT"}
    if version == "R2000":
        assert document.header["$INSUNITS"] == 4


def check_words(sheet: CncSheet) -> None:
    """All words and marks are there, on the piece and clear of each other."""
    labels, arrow = words_on(sheet)
    ring = polygon(sheet.outline, 0.01)
    holes = [polygon(opening, 0.01) for opening in sheet.openings]
    lines = [shapely.LineString([m.start, m.end]) for m in (*sheet.marks, *arrow)]
    assert {*sheet.notes, *(m.label for m in sheet.marks if m.label)} <= {w.text for w in labels}
    boxes = []
    for label in labels:
        turn = math.radians(label.turn_deg)
        along = (math.cos(turn), math.sin(turn))
        (x, y), wide = label.at, len(label.text) * label.height
        corner = (x + wide * along[0], y + wide * along[1])
        up = (-along[1] * label.height, along[0] * label.height)
        far = [(px + up[0], py + up[1]) for px, py in (corner, (x, y))]
        boxes.append(shapely.Polygon([(x, y), corner, *far]))
    assert all(ring.contains(box) for box in boxes)
    assert not any(box.intersects(line) for box in boxes for line in lines)
    assert not any(box.intersects(hole) for box in boxes for hole in holes)
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[:i])
    assert all(ring.buffer(1e-3).contains(line) for line in lines)
    assert not any(line.crosses(hole) for line in lines for hole in holes)


@pytest.mark.parametrize(("name", "jig"), EVERY, ids=EVERY_IDS)
def test_words_and_marks_lie_on_the_piece_and_clear_of_each_other(name: str, jig: str) -> None:
    check_words(jigs(name)[jig].sheet)


def test_words_without_room_stand_beside_the_piece_with_a_leader() -> None:
    """A strip 10 mm wide has no room for a letter of 2 mm and 3 mm clear on both sides."""
    outline = Outline.rectangle(10.0, 80.0, ("a", "b", "c", "d"))
    mark = Mark(FACE, (3.0, 10.0), (3.0, 30.0), "THIS FACE TO THE SLAT")
    sheet = CncSheet("strip", "Strip", outline, (), (mark,), ("one note", "another"))
    labels, leaders = words_on(sheet)
    assert [label.text for label in labels] == ["THIS FACE TO THE SLAT", "one note", "another"]
    assert all(label.at[0] > 10.0 + 3.0 for label in labels)
    assert len({label.at[1] for label in labels}) == 3
    assert all(b.at[1] + b.height < a.at[1] for a, b in itertools.pairwise(labels))
    (leader,) = leaders
    assert leader.layer == NOTES  # it is not engraved
    assert leader.start == (3.0, 20.0)
    assert 0 < labels[0].at[0] - leader.end[0] < 3
    wide = replace(sheet, outline=Outline.rectangle(200.0, 80.0, ("a", "b", "c", "d")))
    labels, leaders = words_on(wide)
    assert leaders == ()
    assert all(label.at[0] < 200.0 for label in labels)


def test_words_with_a_place_of_their_own_keep_it() -> None:
    outline = Outline.rectangle(200.0, 80.0, ("a", "b", "c", "d"))
    word = Label("HERE", (90.0, 38.0), 4.0)
    sheet = CncSheet("board", "Board", outline, (), (), ("a note",), words=(word,))
    check_words(sheet)
    labels, _ = words_on(sheet)
    assert word in labels


def test_files_and_cards(tmp_path: Path) -> None:
    layout, pieces = bed("campion")
    made = write_jigs(layout, pieces, tmp_path)
    folder = tmp_path / "jigs"
    ends = ("_mm.dxf", "_legend.txt", "_card.txt")
    expected = {"cards.json", *(jig.name + end for jig in made for end in ends)}
    assert {path.name for path in folder.iterdir()} == expected
    record = json.loads((folder / "cards.json").read_text("utf-8"))
    assert [card["file"] for card in record["cards"]] == [f"{jig.name}_mm.dxf" for jig in made]
    for jig, card in zip(made, record["cards"], strict=True):
        text = (folder / f"{jig.name}_card.txt").read_text("utf-8")
        assert all(len(line) <= WIDE for line in text.splitlines())
        words = " ".join(text.split())
        assert card["cautions"]
        for line in (*card["settings"].values(), *card["cautions"]):
            assert " ".join(line.split()) in words
        assert card["simulated"] == bool(jig.cuts)
        if jig.cuts:
            assert {"bit", "offset", "depth", "face up", "reference"} <= set(card["settings"])
            assert any("unplug the router" in caution for caution in card["cautions"])
            assert any("against the cutter's rotation" in caution for caution in card["cautions"])
    sled = (folder / "leg_sled_card.txt").read_text("utf-8")
    assert "behind the hold-downs" in sled
    assert "riving knife" in sled


def test_bytes_are_the_same_in_another_process() -> None:
    program = (
        "import hashlib, test_jigs as m\n"
        "print(hashlib.sha256(m.all_bytes('campion')).hexdigest())\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        cwd=HERE,
        env={**os.environ, "PYTHONPATH": str(HERE.parent), "PYTHONHASHSEED": "11"},
    )
    assert run.stdout.strip() == hashlib.sha256(all_bytes("campion")).hexdigest()


def all_bytes(name: str) -> bytes:
    made = jigs(name).values()
    texts = "".join(legend_text(jig.sheet) + jig.card.text() for jig in made)
    return b"".join(dxf_bytes(jig.sheet) for jig in made) + texts.encode()


# --- simulated cuts ----------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_router_jig_leaves_what_is_wanted(name: str, size: str | None) -> None:
    cuts = check_jigs(list(jigs(name, size).values()))
    # Four legs, the mortise plates, and of the fasteners the recess and the pockets.
    assert len(cuts) == 4 + len(mortise_seats(bed(name, size)[0])) + 2
    for jig, report, passed in cuts:
        assert passed, jig
        assert max(report.uncut_depth, report.overcut_depth) < 0.05


@pytest.mark.parametrize(("name", "changes"), OTHERS)
def test_so_do_those_for_other_cutters_and_square_mortises(
    name: str, changes: tuple[str, ...]
) -> None:
    assert all(passed for _, _, passed in check_jigs(list(jigs(name, None, *changes).values())))


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_wanted_outlines_are_those_of_the_parts(name: str) -> None:
    """The pieces are the oracle: their outlines, and every mortise in them."""
    _, pieces = bed(name)
    wanted = {j.name: j.cuts[0].wanted for j in jigs(name).values() if j.cuts}
    for kind in {p.kind.name: p.kind for p in pieces if "_leg" in p.name}.values():
        assert wanted[f"leg_{kind.name}_template"] == kind.shape.outline
    mortises = [c for p in pieces for c in p.kind.shape.mortises]
    sizes = {(round(c.length, 2), round(c.width, 2)) for c in mortises}
    slots = [outline for jig, outline in wanted.items() if jig.startswith("mortise")]
    bounds = [outline.bounds() for outline in slots]
    assert {(round(2 * b[2], 2), round(2 * b[3], 2)) for b in bounds} == sizes


@pytest.mark.parametrize("other", ["1-2-in", "3-4-in"])
def test_a_plate_of_another_bushing_fails(other: str) -> None:
    plate = plates("campion")[0]
    wrong = Cutter(cut_of(plate).cutter.diameter, bushing(other).outer, "bushing")
    assert wrong.offset != cut_of(plate).cutter.offset
    spoilt = replace(plate, cuts=(replace(cut_of(plate), cutter=wrong),))
    ((_, report, passed),) = check_jigs([spoilt])
    assert not passed
    missed = abs(wrong.offset - cut_of(plate).cutter.offset)
    assert max(report.uncut_depth, report.overcut_depth) >= missed - 0.01


def test_a_leg_template_without_its_offset_fails() -> None:
    jig = jigs("campion", None, "router.guide=bushing")["leg_head_leg_left_template"]
    cut = replace(cut_of(jig), template=cut_of(jig).wanted)
    report = simulate(cut.template, cut.wanted, cut.cutter, cut.side)
    assert report.uncut_depth == pytest.approx(cut.cutter.offset, abs=0.02)
    assert not will_do(cut, report)


def test_only_what_a_round_bit_must_leave_is_forgiven() -> None:
    plate = plates("hawthorn", None, *OTHERS[2][1])[0]
    ((_, report, passed),) = check_jigs([plate])
    left = cut_of(plate).cutter.diameter / 2 * (math.sqrt(2) - 1)
    assert report.uncut_depth == pytest.approx(left, abs=0.02)
    assert passed
    assert not will_do(cut_of(plate), replace(report, uncut_depth=left + 0.07))
    assert any("chisel" in caution for caution in plate.card.cautions)


# --- leg templates -----------------------------------------------------------------------


def test_a_bearing_of_its_own_size_leaves_the_outline_itself() -> None:
    jig = jigs("campion")["leg_foot_leg_right_template"]
    assert cut_of(jig).cutter.offset == 0
    assert jig.sheet.outline == cut_of(jig).wanted


def test_a_bushing_moves_the_template_in() -> None:
    jig = jigs("campion", None, "router.guide=bushing")["leg_foot_leg_right_template"]
    chosen, found = bit("straight-1-2-x-2-in"), bushing("3/4 in")
    by = (found.outer - chosen.diameter) / 2
    assert by == pytest.approx(25.4 / 8)
    part, template = polygon(cut_of(jig).wanted), polygon(jig.sheet.outline)
    assert part.contains(template)
    for edge in jig.sheet.outline.edges():
        middle = shapely.Point(edge.point_at(0.5))
        assert part.exterior.distance(middle) == pytest.approx(by, abs=0.002), edge.name
    assert any("come out round" in caution for caution in jig.card.cautions)


@pytest.mark.parametrize("changes", [(), ("router.guide=bushing",)])
def test_mortise_ticks_stand_where_the_mortises_are(changes: tuple[str, ...]) -> None:
    changes = (*changes, "side_rail.joint=butt")
    jig = jigs("sorrel", None, *changes)["leg_foot_leg_left_template"]
    _, pieces = bed("sorrel", None, *changes)
    kind = next(p.kind for p in pieces if p.kind.name == "foot_leg_left")
    (mortise,) = kind.shape.mortises
    centre, *_ = marks(jig, "MARK_MORTISE_CENTRE")
    f = mortise.frame
    bottom = f.point((0.0, 0.0, mortise.depth))
    assert centre.end == pytest.approx(bottom[:2])
    along = [centre.end[i] - centre.start[i] for i in (0, 1)]
    assert along[0] * f.z[1] - along[1] * f.z[0] == pytest.approx(0, abs=1e-9)
    edge = polygon(jig.sheet.outline).exterior
    assert edge.distance(shapely.Point(centre.start)) < 0.001


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_face_that_lies_up_is_named(name: str) -> None:
    """Part frames are right-handed, so the face seen is the one its z axis points out of."""
    layout, pieces = bed(name)
    middle = layout.pocket_length / 2
    for piece in pieces:
        jig = jigs(name).get(f"leg_{piece.kind.name}_template")
        if jig is not None:
            towards = (middle - piece.placement.origin[1]) * piece.placement.z[1] > 0
            face = "inside face" if towards else "show face"
            assert f"this face up: {face}" in jig.sheet.notes


def notched() -> Outline:
    steps = [((0, 0), "a"), ((90, 0), "b"), ((90, 50), "c"), ((50, 50), "d"), ((50, 90), "e")]
    corners = [*steps, ((0, 90), "f")]
    return Outline.of([((float(x), float(y)), 0.0, name) for (x, y), name in corners])


def test_a_relief_opens_the_inside_corner_for_the_machine() -> None:
    plain, style = notched(), "dog-bone"
    made = relieved_part(plain, 12.0, style)
    assert relieved_part(plain, 12.0, "none") == plain
    assert "relief" in made.names
    assert polygon(made).exterior.distance(shapely.Point(50, 50)) < 0.002
    assert polygon(plain).difference(polygon(made)).area > 10
    legs = jigs("campion", None, "router.relief=t-bone")
    part = legs["leg_head_leg_left_part"]
    assert [passed for _, _, passed in check_jigs([part])] == [True]
    assert part.card.record()["settings"]["relief"] == "no sharp inside corner to relieve"


def test_a_bit_larger_than_the_inside_curve_is_refused() -> None:
    layout, pieces = bed("campion")
    leg = next(p for p in pieces if p.name == "head_leg_right")
    hollow = Outline.of(
        [
            ((0.0, 0.0), 0.0, "joint"),
            ((300.0, 0.0), 0.0, "top"),
            ((300.0, 80.0), 0.0, "outer"),
            ((165.0, 80.0), -1.0, "curve"),
            ((150.0, 80.0), 0.0, "outer"),
            ((0.0, 80.0), 0.0, "floor"),
        ]
    )
    tight = replace(leg, kind=replace(leg.kind, shape=replace(leg.kind.shape, outline=hollow)))
    with pytest.raises(InputError, match=r"router\.template_bit = 19\.05 mm.*would do is 15 mm"):
        list(leg_jigs(layout, [tight]))


# --- mortise plates ----------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", EXAMPLES)
def test_a_slot_is_the_mortise_grown_by_the_offset(name: str, size: str | None) -> None:
    """A stadium is a segment widened by a radius; grown, the radius alone is larger."""
    found = plates(name, size)
    for jig, (length, width, _) in zip(found, mortise_seats(bed(name, size)[0]), strict=True):
        (slot,) = jig.sheet.openings
        half, radius = (length - width) / 2, width / 2 + cut_of(jig).cutter.offset
        assert cut_of(jig).cutter.offset > 1
        assert slot.bounds() == pytest.approx((-half - radius, -radius, half + radius, radius))
        assert slot.area == pytest.approx(math.pi * radius**2 + 4 * half * radius)
        middle = shapely.LineString([(-half, 0), (half, 0)])
        for edge in slot.edges():
            for t in (0.0, 0.3, 0.7):
                assert middle.distance(shapely.Point(edge.point_at(t))) == pytest.approx(radius)


@pytest.mark.parametrize("base", ["80 mm", "150 mm", "300 mm"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_a_plate_carries_the_router_all_round(name: str, base: str) -> None:
    for jig in plates(name, None, f"router.router_base={base}"):
        (slot,) = jig.sheet.openings
        x0, y0, x1, y1 = jig.sheet.outline.bounds()
        s0, t0, s1, t1 = slot.bounds()
        rests = min(s0 - x0, t0 - y0, x1 - s1, y1 - t1)
        assert float(base.split()[0]) / 2 - 1e-9 <= rests < float(base.split()[0]) / 2 + 5


@pytest.mark.parametrize("changes", [(), ("headboard.reveal=11 mm",)])
@pytest.mark.parametrize("name", EXAMPLES)
def test_the_fence_meets_the_inside_face(name: str, changes: tuple[str, ...]) -> None:
    """The oracle is each piece's own mortise, placed in the bed, and its own inside face."""
    layout, pieces = bed(name, None, *changes)
    lines: dict[tuple[float, float], set[float]] = {}
    for jig, (length, width, _) in zip(
        plates(name, None, *changes), mortise_seats(layout), strict=True
    ):
        ys = {round(1e-6 - m.start[1], 3) for m in marks(jig, FENCE)}
        assert all(m.start[1] == m.end[1] for m in marks(jig, FENCE))
        lines[(round(length, 2), round(width, 2))] = ys
    needed: dict[tuple[float, float], set[float]] = {key: set() for key in lines}
    for piece in pieces:
        for cut in piece.kind.shape.mortises:
            inward = 1.0 if piece.group == "head_end" else -1.0
            z = piece.placement.z[1] * inward  # 1 where the inside face is the part's far face
            deep = cut.frame.origin[2]
            distance = piece.kind.shape.thickness - deep if z > 0 else deep
            needed[(round(cut.length, 2), round(cut.width, 2))].add(round(distance + 1e-6, 3))
    assert lines == needed


def test_the_depths_told_are_those_of_the_mortises() -> None:
    _, pieces = bed("sorrel")
    depths = {round(cut.depth, 1) for p in pieces for cut in p.kind.shape.mortises}
    assert depths == {25.5}
    assert all("25.5 mm" in dict(j.card.rows)["depth"] for j in plates("sorrel"))
    # The 8 mm bit of the table is half a millimetre short of it.
    assert all(any("longer bit" in c for c in j.card.cautions) for j in plates("sorrel"))
    assert not any("longer bit" in c for j in plates("hawthorn") for c in j.card.cautions)


def test_the_widest_bit_that_fits_is_taken() -> None:
    for name, wanted in (
        ("campion", "straight-3-8-x-1-1-4-in"),
        ("hawthorn", "straight-10-x-40-mm"),
    ):
        (jig, *_) = plates(name)
        assert dict(jig.card.rows)["bit"] == bits()[wanted].label
    narrow = plates("hawthorn", None, "router.bushing=1/2 in")[0]
    assert cut_of(narrow).cutter == bushing_cutter(bushing("1/2 in"), 8.0)


def test_dowels_want_a_guide_and_no_plate() -> None:
    changes = ("headboard.joint=dowels", "footboard.joint=dowels")
    assert plates("hawthorn", None, *changes) == []
    assert "slat_spacer" in jigs("hawthorn", None, *changes)


REFUSED = {
    "router.template_bit=straight-1-2-x-2-in": r"router\.template_bit.*no bearing",
    "router.template_bit=nonsuch": r"router\.template_bit.*not in the table",
    "router.bushing=nonsuch": r"router\.bushing.*not in the table",
    "router.mortise_bit=straight-3-4-x-1-1-2-in": r"router\.mortise_bit.*do is 9\.725 mm",
    "router.mortise_bit=pattern-3-8-x-1-in": r"router\.mortise_bit.*bearing.*straight bit",
}


@pytest.mark.parametrize("change", REFUSED)
def test_cutters_that_cannot_do_it_are_refused_in_one_line(change: str) -> None:
    with pytest.raises(InputError, match=REFUSED[change]) as refusal:
        make_jigs(*bed("campion", None, change))
    assert "\n" not in str(refusal.value)


def test_a_bit_that_does_not_clear_its_bushing_is_refused() -> None:
    changes = ("router.bushing=3/8 in", "router.mortise_bit=straight-3-8-x-1-in")
    with pytest.raises(InputError, match=r"router\.mortise_bit.*does not clear.*5\.556 mm"):
        make_jigs(*bed("campion", None, *changes))
    changes = ("router.guide=bushing", "router.template_bit=pattern-3-4-x-2-in")
    with pytest.raises(InputError, match=r"router\.template_bit.*jam in the bushing"):
        make_jigs(*bed("campion", None, *changes))


# --- sled --------------------------------------------------------------------------------


def unit_of(start: Any, end: Any) -> tuple[float, float]:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def square_to(point: Any, line: Any) -> float:
    """How far a point lies from an endless line."""
    u = unit_of(line.start, line.end)
    return float(abs((point[0] - line.start[0]) * u[1] - (point[1] - line.start[1]) * u[0]))


def meet(a: Any, b: Any) -> tuple[float, float]:
    """Where two endless lines meet."""
    u, v = unit_of(a.start, a.end), unit_of(b.start, b.end)
    dx, dy = b.start[0] - a.start[0], b.start[1] - a.start[1]
    t = (dx * v[1] - dy * v[0]) / (u[0] * v[1] - u[1] * v[0])
    return a.start[0] + t * u[0], a.start[1] + t * u[1]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", SPLAYED)
def test_the_sled_saws_the_joint_face_of_each_leg(name: str, size: str | None) -> None:
    """Rebuild the joint face from the sled's three lines; the leg's own shape is the oracle."""
    _, pieces = bed(name, size)
    sled = jigs(name, size)["leg_sled"]
    (saw,), (fence,), stops = marks(sled, SAW), marks(sled, FENCE), marks(sled, STOP)
    for piece, stop in zip(("head_leg_right", "foot_leg_right"), stops, strict=True):
        leg = next(p for p in pieces if p.name == piece)
        (joint,) = leg.kind.shape.outline.named("joint")
        top, knee = sorted((joint.start, joint.end), key=lambda p: -p[0])
        corner = meet(stop, saw)  # the blank's square end, sawn through
        width = leg.kind.shape.width
        assert square_to(corner, fence) == pytest.approx(width - top[1], abs=1e-6)
        ahead = (corner[0] + joint.chord, corner[1])
        assert square_to(ahead, fence) == pytest.approx(width - knee[1], abs=1e-6)
        u, v = unit_of(stop.start, stop.end), unit_of(fence.start, fence.end)
        assert u[0] * v[0] + u[1] * v[1] == pytest.approx(0, abs=1e-9)
        # Placed in the bed, what was sawn parallel to the saw line stands plumb.
        lean = math.atan2(v[1], v[0])
        grain, out = leg.placement.x, leg.placement.y
        plumb = [math.cos(lean) * g + math.sin(lean) * o for g, o in zip(grain, out, strict=True)]
        assert plumb == pytest.approx([0, 0, 1], abs=1e-9)


@pytest.mark.parametrize("name", SPLAYED)
def test_the_sled_card_says_which_face_lies_up(name: str) -> None:
    """Grain towards you, outer edge away from the blade: the part's z then points down."""
    layout, pieces = bed(name)
    (fence,) = marks(jigs(name)["leg_sled"], FENCE)
    ahead = unit_of(fence.start, fence.end)
    grain, out = (-ahead[0], -ahead[1]), (-ahead[1], ahead[0])
    upward = grain[0] * out[1] - grain[1] * out[0]
    assert upward == pytest.approx(-1)
    told = dict(jigs(name)["leg_sled"].card.rows)["face up"]
    assert "right head leg and left foot leg show face up" in told
    assert "left head leg and right foot leg inside face up" in told
    shown = {}
    for leg in (p for p in pieces if p.kind.name.startswith(("head_leg", "foot_leg"))):
        towards = layout.pocket_length / 2 - leg.placement.origin[1]
        shown[leg.name] = "inside" if upward * leg.placement.z[1] * towards > 0 else "show"
    assert shown == {
        "head_leg_right": "show",
        "foot_leg_left": "show",
        "head_leg_left": "inside",
        "foot_leg_right": "inside",
    }


@pytest.mark.parametrize("name", SPLAYED)
def test_the_stops_stand_apart_as_the_legs_differ(name: str) -> None:
    layout, pieces = bed(name)
    sled = jigs(name)["leg_sled"]
    head, foot = marks(sled, STOP)
    apart = math.dist(head.start, foot.start)
    lengths = {p.name: p.kind.shape.length for p in pieces}
    # Both blanks end alike at the foot, so their lengths differ as the stops do.
    assert apart == pytest.approx(lengths["head_leg_left"] - lengths["foot_leg_left"])
    rise = layout.head.leg_top - layout.foot.leg_top
    assert apart == pytest.approx(rise * math.cos(math.radians(layout.sheet.leg.splay)))


@pytest.mark.parametrize("name", SPLAYED)
def test_nothing_on_the_sled_stands_in_the_saw_line(name: str) -> None:
    sled = jigs(name)["leg_sled"]
    (saw,) = marks(sled, SAW)
    for mark in marks(sled, HOLD_DOWN):
        assert min(mark.start[1], mark.end[1]) > saw.start[1] + 30
    for mark in marks(sled, STOP):
        assert min(mark.start[1], mark.end[1]) > saw.start[1] + 10
    _, low, _, high = sled.sheet.outline.bounds()
    assert low < saw.start[1] < high  # the base is sawn off along it


def test_legs_of_one_height_share_a_stop() -> None:
    _, pieces = bed("sorrel", None, "footboard.board.1.width=196")
    assert len({p.kind.shape.length for p in pieces if "_leg_" in p.kind.name}) == 1
    (stop,) = marks(jigs("sorrel", None, "footboard.board.1.width=196")["leg_sled"], STOP)
    assert stop.label == "STOP ALL LEGS"


# --- cauls and spacers -------------------------------------------------------------------


@pytest.mark.parametrize("name", SPLAYED)
def test_a_caul_differs_by_the_splay(name: str) -> None:
    layout, pieces = bed(name)
    caul = jigs(name)["caul"]
    (clamp,) = caul.sheet.outline.named("clamp")
    (slope,) = caul.sheet.outline.named("leg")
    u, v = unit_of(clamp.start, clamp.end), unit_of(slope.end, slope.start)
    between = math.degrees(math.acos(u[0] * v[0] + u[1] * v[1]))
    leg = next(p for p in pieces if p.name == "head_leg_right")
    grain = leg.placement.x  # along the outer edge; plumb is z
    assert between == pytest.approx(math.degrees(math.acos(grain[2])))
    assert between == pytest.approx(layout.sheet.leg.splay)
    (thick,) = caul.sheet.outline.named("thick end")
    (up,) = (m for m in marks(caul, FACE) if m.label == "UP")
    assert up.start[0] == pytest.approx(thick.start[0] - 3)  # the leg leans in at its top
    boards = max(
        sum(p.kind.name.startswith(f"{end}board_board") for p in pieces) for end in ("head", "foot")
    )
    assert f"{2 * boards} off" in caul.sheet.notes


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_spacer_is_as_wide_as_the_gap(name: str) -> None:
    _, pieces = bed(name)
    slats = sorted(
        (p for p in pieces if p.kind.name == "slat"), key=lambda p: p.placement.origin[1]
    )
    ys = [p.placement.origin[1] for p in slats]
    gap = ys[1] - ys[0] - slats[0].kind.shape.width
    x0, _, x1, _ = jigs(name)["slat_spacer"].sheet.outline.bounds()
    assert x1 - x0 == pytest.approx(gap)


def test_the_rounded_gap_tells_what_it_adds_up_to() -> None:
    layout, _ = bed("campion")
    assert layout.slats.gap == pytest.approx(60.13611, abs=1e-5)
    assert rounded_gap(layout.slats.gap, "inch") == pytest.approx(2.375 * 25.4)
    rows = dict(jigs("campion")["slat_spacer"].card.rows)
    # 18 gaps of 60.325 - 60.136 = 0.189 mm
    assert "18 gaps add up to 9/64 in [3.4 mm] too much" in rows["rounding"]
    assert "2 3/8 in [60.3 mm]" in rows["gap"]


# --- the verb ----------------------------------------------------------------------------


def test_the_verb_writes_and_tells(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = argparse.Namespace(
        sheet="sorrel",
        size=None,
        mattress=None,
        changes=[],
        shop=None,
        out=str(tmp_path),
        json=True,
    )
    assert verb.run(asked) == 0
    told = json.loads(capsys.readouterr().out)
    folder = Path(told["folder"])
    assert folder == tmp_path / "sorrel-eu-90x200-jigs"
    assert (folder / "jigs" / "leg_sled_mm.dxf").exists()
    assert [cut["passed"] for cut in told["simulated_cuts"]] == [True] * 8
    asked.json = False
    assert verb.run(asked) == 0  # over its own output
    assert "leg_sled" in capsys.readouterr().out


def test_the_verb_fails_when_a_cut_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from bedmodel.shop.jigs import jig as module

    spoil = module._simulated

    def too_deep(cut: GuidedCut) -> Any:
        return replace(spoil(cut), overcut_depth=2.0)

    monkeypatch.setattr(module, "_simulated", too_deep)
    asked = argparse.Namespace(
        sheet="sorrel",
        size=None,
        mattress=None,
        changes=[],
        shop=None,
        out=str(tmp_path),
        json=False,
    )
    assert verb.run(asked) == 1
    assert "FAILED" in capsys.readouterr().out


def test_the_jigs_need_no_solid_modeller() -> None:
    program = (
        "import sys, pathlib, tempfile, test_jigs as m\n"
        "m.write_jigs(*m.bed('sorrel'), pathlib.Path(tempfile.mkdtemp()))\n"
        "print([name for name in ('cadquery', 'OCP') if name in sys.modules])\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        cwd=HERE,
        env={**os.environ, "PYTHONPATH": str(HERE.parent)},
    )
    assert run.stdout.strip() == "[]"
