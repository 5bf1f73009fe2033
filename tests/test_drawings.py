"""Drawings of whole beds: against the solids, against a mesh, and rebuilt from their numbers."""

from __future__ import annotations

import functools
import io
import math
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path as FilePath

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pytest
import shapely

from bedmodel import assembly, cli
from bedmodel.assembly import Bed
from bedmodel.bed import Kind
from bedmodel.cuts import Mortise
from bedmodel.drawing import book
from bedmodel.drawing.book import Drawings, make_drawings
from bedmodel.drawing.compose import clashes, struck
from bedmodel.drawing.curves import Curve
from bedmodel.drawing.features import Place, features_of
from bedmodel.drawing.limited import may_be_slow, view_within
from bedmodel.drawing.pictures import marks_in, step_picture
from bedmodel.drawing.project import exact_view, mesh_view
from bedmodel.drawing.sheet_frame import inner, title_box
from bedmodel.drawing.subject import subject_of
from bedmodel.drawing.whole import FROM_CORNER, FROM_FOOT, FROM_RIGHT, HEAD_LEFT, Whole
from bedmodel.errors import InputError
from bedmodel.exports.paper.sheet import Box, Path
from bedmodel.frames import Frame, Vector
from bedmodel.outline import Outline
from bedmodel.shape import SQUARE, Shape
from bedmodel.shop.setting_out import setting_out
from bedmodel.solids import make_solid
from bedmodel.units import parse_length
from tests.beds import good
from tests.drawn_parts import SheetRead, name_of, read_sheets

BEDS = {"hawthorn": "A4", "sorrel": "Letter"}
LEGS = ("head_leg_left", "head_leg_right", "foot_leg_right")


@functools.cache
def drawings(name: str) -> Drawings:
    return make_drawings(good(name), BEDS[name])


@functools.cache
def read(name: str) -> dict[str, SheetRead]:
    return read_sheets(drawings(name).dxf)


def shown_on(bed: Bed, kind: str) -> tuple[str, bool]:
    """The kind whose sheet tells of a kind: its own, or that of which it is the mirror image."""
    left = f"{kind.removesuffix('_right')}_left"
    is_twin = left != kind and left in bed.kinds and subject_of(bed, left).twin == bed.kinds[kind]
    return (left, True) if is_twin else (kind, False)


# --- projection ----------------------------------------------------------------------------


@pytest.mark.parametrize("look", [FROM_FOOT, FROM_RIGHT, HEAD_LEFT, FROM_CORNER])
def test_exact_and_mesh_projection_show_the_same_lines(look: object) -> None:
    """Two algorithms of the kernel; no visible point of one is over 2 mm from the other's."""
    whole = Whole(good("sorrel"))
    solids = [whole.jointed(piece) for piece in whole.wood]
    frame = look.frame  # type: ignore[attr-defined]
    views = [shown(view(solids, frame).visible) for view in (exact_view, mesh_view)]
    for one, two in (views, views[::-1]):
        points = shapely.points([p for line in one.geoms for p in steps(line)])
        far = shapely.distance(points, two)
        # Stray bits at contacts: some hundredths of a per cent, some mm long.
        assert np.mean(far > 2.0) < 1e-3
        assert far.max() < 15.0


def shown(curves: Iterable[Curve]) -> shapely.MultiLineString:
    return shapely.MultiLineString([c.points(0.05) for c in curves])


def steps(line: shapely.LineString) -> Iterable[tuple[float, float]]:
    for at in np.arange(0.0, line.length, 5.0):
        point = line.interpolate(at)
        yield point.x, point.y


def test_a_view_that_takes_too_long_is_given_by_the_mesh() -> None:
    whole = Whole(good("sorrel"))
    solids = [whole.plain(piece) for piece in whole.named("foot")]
    late = view_within(0.0, solids, FROM_FOOT.frame)
    expected = mesh_view(solids, FROM_FOOT.frame, hidden=False)
    assert late == expected
    assert not may_be_slow(solids)


def test_a_child_process_gives_the_same_view() -> None:
    solids = [good("sorrel").solids["slat"]]
    frame = FROM_CORNER.frame
    found = view_within(120.0, solids, frame)
    expected = exact_view(solids, frame, hidden=False)
    assert sum(c.length for c in found.visible) == pytest.approx(
        sum(c.length for c in expected.visible), rel=1e-6
    )
    assert {type(c) for c in found.visible} == {type(c) for c in expected.visible}


# --- the sheets ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", BEDS)
def test_no_word_lies_on_a_word_or_a_line_and_no_view_on_a_view(name: str) -> None:
    for page in drawings(name).pages:
        assert [what for what, _, _ in clashes(page)] == []
        assert [what for what, _ in struck(page)] == []


@pytest.mark.parametrize("name", BEDS)
def test_everything_lies_inside_the_border_and_off_the_title_block(name: str) -> None:
    for page in drawings(name).pages:
        for placed in page.placed:
            assert inner(page.paper).holds(placed.box), (page.name, placed.figure.name)
            assert not placed.box.meets(title_box(page.paper)), (page.name, placed.figure.name)


@pytest.mark.parametrize("name", BEDS)
def test_every_kind_of_part_has_its_sheet(name: str) -> None:
    bed = good(name)
    titles = " ".join(page.title.lower() for page in drawings(name).pages)
    words = " ".join(t.lower() for sheet in read(name).values() for _, _, t in sheet.texts)
    figures = " ".join(
        placed.figure.name.lower() + " ".join(t.text.lower() for t in placed.figure.words)
        for page in drawings(name).pages
        for placed in page.placed
    )
    for kind in bed.kinds:
        spoken = kind.replace("_", " ")
        drawn, is_mirrored = shown_on(bed, kind)
        if is_mirrored:
            assert f"{drawn.replace('_', ' ')}, right mirrored" in titles
            assert f"{spoken} is its mirror image" in words
        else:
            assert spoken in titles or spoken in figures
        assert spoken in words


@pytest.mark.parametrize("name", BEDS)
def test_every_feature_is_placed_once_along_and_once_across(name: str) -> None:
    bed = good(name)
    for kind in bed.kinds:
        if bed.kinds[kind].is_metal:  # bought, and together on one sheet
            continue
        if shown_on(bed, kind)[1]:
            assert kind not in read(name)
            continue
        subject = subject_of(bed, kind)
        sheet = read(name).get(kind) or read(name).get(f"{kind}_joints")
        if not subject.features or sheet is None:
            assert not subject.features
            continue
        places = sheet.running(bed.layout.sheet.design.unit)
        for feature in subject.features:
            for k, place in enumerate(feature.places, 1):
                found = places.get((feature.code, k), {})
                wanted = 2 if place.is_slot else 1
                if feature.side == "right" and (feature.code, k) in places:
                    continue  # drawn for both ends at once
                if f"{feature.code}: all in one" in " ".join(t for _, _, t in sheet.texts):
                    continue
                assert len(found.get("x", [])) == wanted, (kind, feature.code, k)
                assert len(found.get("y", [])) == wanted, (kind, feature.code, k)
        codes = [row.code for row in sheet.features()]
        assert sorted(set(codes)) == sorted(codes)
        assert {feature.code for feature in subject.features} == set(codes)


@pytest.mark.parametrize("name", BEDS)
def test_dimensions_in_the_file_are_measured_in_the_file(name: str) -> None:
    """What each DIMENSION says is what its own points measure, to half of a rule's tenth."""
    document = ezdxf.read(io.StringIO(drawings(name).dxf.decode()))  # type: ignore[attr-defined]
    found = 0
    for entity in document.modelspace().query("DIMENSION"):
        measured = entity.get_measurement()
        text = entity.dxf.text
        if entity.dimtype == 6:
            measured = abs(measured.x if entity.dxf.dimtype & 64 else measured.y)
        first = re.match(r"(?:R )?([\d.]+)", text)
        assert first is not None, text
        slack = 0.005 if text.endswith("°") else 0.0501
        assert float(first[1]) == pytest.approx(measured, abs=slack), name_of(entity)
        found += 1
    assert found > 150
    assert document.audit().errors == []


@pytest.mark.parametrize("name", BEDS)
def test_overall_sizes_are_those_of_the_solids(name: str) -> None:
    bed = good(name)
    sheets = read(name)
    for kind in bed.kinds:
        sheet = sheets.get(kind) or sheets.get(f"{kind}_outline")
        if sheet is None:
            continue
        box = bed.solids[kind].BoundingBox(1e-3)
        for of, size in (("length", box.xlen), ("width", box.ylen), ("thickness", box.zlen)):
            if any(of == name for name, _, _ in sheet.measures):
                assert sheet.number(of, "mm") == pytest.approx(size, abs=0.06), (kind, of)
    arrangement = sheets["general_arrangement"]
    width, length, _ = bed.layout.overall
    assert arrangement.number("overall width", "mm") == pytest.approx(width, abs=0.06)
    assert arrangement.number("overall length", "mm") == pytest.approx(length, abs=0.06)


# --- rebuilt from the numbers --------------------------------------------------------------


def rebuilt(bed: Bed, kind: Kind, sheet: SheetRead) -> Shape:
    """A straight part made from nothing but what its sheet says, and which side is seen where.

    Along from the left end, across from the lower edge, through from the face in front.
    """
    unit = bed.layout.sheet.design.unit
    front = subject_of(bed, kind.name).front
    sides: dict[str, str] = {}
    for feature in features_of(kind.shape, front, kind.name):
        sides.setdefault(feature.code, feature.side)
    up = 1.0 if front.toward[2] > 0 else -1.0
    length, width = sheet.number("length", unit), sheet.number("width", unit)
    thick = sheet.number("thickness", unit)
    names = ("a", "a", "a", "a")
    outline = Outline.rectangle(length, width, names)
    cuts: list[Mortise] = []
    rows = {row.code: row for row in sheet.features()} if kind.shape.cuts else {}
    for (code, number), at in sheet.running(unit).items():
        row, x, y = rows[code], sum(at["x"]) / len(at["x"]), sum(at["y"]) / len(at["y"])
        deep = depth(sheet, code, row.deep, thick if sides[code] in ("front", "back") else width)
        long, wide = sizes(row.size)
        into: dict[str, tuple[Vector, Vector, Vector]] = {
            "front": ((x, y, thick if up > 0 else 0.0), (0, 0, -up), (1, 0, 0)),
            "back": ((x, y, 0.0 if up > 0 else thick), (0, 0, up), (1, 0, 0)),
            "top": ((x, width, thick - y if up > 0 else y), (0, -1, 0), (1, 0, 0)),
            "bottom": ((x, 0.0, thick - y if up > 0 else y), (0, 1, 0), (1, 0, 0)),
            "left": ((0.0, y, thick - x if up > 0 else x), (1, 0, 0), (0, 1, 0)),
        }
        side = sides[code]
        if row.what.endswith("each end"):  # it is the left end that is drawn
            side = "left"
        if up < 0 and side in ("top", "bottom"):  # the part is turned over, top for bottom
            side = {"top": "bottom", "bottom": "top"}[side]
        origin, z, along = into[side]
        cut = Mortise(f"{code}_{number}", Frame.from_zx(origin, z, along), long, wide, deep)
        cuts.append(cut)
        if side == "left" and row.what.endswith("each end"):
            cuts.append(cut.reflected("x", (length, width, thick)))
    return Shape(length, width, thick, outline, "xy", tuple(cuts))


def depth(sheet: SheetRead, code: str, text: str, through: float) -> float:
    if text == "through":
        return through
    if not text.startswith("see"):
        return parse_length(text, "mm")
    names = {name for name, _, _ in sheet.measures if name.endswith(" depth")}
    own = f"{code} depth"
    # One section stands for like mortises of several lengths.
    alike = sorted(n for n in names if n[0] == code[0])
    return sheet.number(own if own in names else alike[0], "mm")


def sizes(text: str) -> tuple[float, float]:
    if text.startswith("Ø"):
        wide = parse_length(text[1:].strip(), "mm")
        return wide, wide
    long, wide = (parse_length(t.strip(), "mm") for t in text.split(",")[0].split("×"))
    return long, wide


STRAIGHT = [
    *("head_leg_left", "head_leg_right", "foot_leg_right", "headboard_board", "footboard_board"),
    *("side_rail", "runner", "slat", "centre_rail", "support_foot"),
]


@pytest.mark.parametrize("kind", STRAIGHT)
def test_a_straight_part_is_rebuilt_from_the_numbers_on_its_sheet(kind: str) -> None:
    """Wood that one has and the other lacks is less than the tenths of the numbers allow."""
    bed = good("hawthorn")
    shape = bed.kinds[kind].shape
    real = make_solid(replace(shape, easing=SQUARE))
    drawn, is_mirrored = shown_on(bed, kind)
    found = rebuilt(bed, bed.kinds[drawn], read("hawthorn")[drawn])
    ours = make_solid(found.reflected("z") if is_mirrored else found)
    lacking = real.cut(ours).Volume() + ours.cut(real).Volume()
    removed = shape.length * shape.width * shape.thickness - real.Volume()
    surface = sum(face.Area() for face in real.Faces())
    assert lacking < 0.03 * surface  # mm3: a skin of hundredths of a mm
    if shape.cuts:
        assert lacking < 0.12 * removed  # and far less than what its cuts take away


def shared_views(sheet: str, title: str) -> tuple[int, int]:
    """From which to which view a shared sheet shows the part whose name stands over or under it."""
    page = next(p for p in drawings("hawthorn").pages if p.name.endswith(sheet))
    starts = [
        (k, text.text.rpartition(",")[0].lower())
        for k, placed in enumerate(page.placed)
        for text in placed.figure.words
        if re.search(r", \d+ to (make|buy)$", text.text)
    ]
    starts.append((len(page.placed), ""))
    return next((k, starts[i + 1][0]) for i, (k, name) in enumerate(starts) if name == title)


@pytest.mark.parametrize("kind", ["loose_tenon_1", "loose_tenon_2"])
def test_a_loose_tenon_is_rebuilt_from_the_numbers_on_its_sheet(kind: str) -> None:
    solid = good("hawthorn").solids[kind]
    whole = read("hawthorn")["small_parts"]
    sheet = whole.part(*shared_views("small_parts", kind.replace("_", " ")))
    long, wide, thick = (sheet.number(of, "mm") for of in ("length", "width", "thickness"))
    words = " ".join(text for _, _, text in whole.texts)
    assert "round edges: a radius of half the thickness" in words
    section = (wide - thick) * thick + math.pi / 4 * thick**2
    assert solid.Volume() == pytest.approx(long * section, rel=0.05 / thick + 0.05 / wide)
    box = solid.BoundingBox(1e-3)
    assert (box.xlen, box.ylen, box.zlen) == pytest.approx((long, wide, thick), abs=0.06)


@pytest.mark.parametrize(("kind", "nth"), [("slot_plate", 0), ("hook_plate", 1)])
def test_a_metal_part_is_rebuilt_from_the_numbers_on_its_sheet(kind: str, nth: int) -> None:
    """Every hole, slot and hook stands where it is read, as large and as deep as it is read."""
    bed = good("hawthorn")
    real = bed.kinds[kind].shape
    sheet = read("hawthorn")["hardware"].part(
        *shared_views("hardware", kind.replace("_", " ")), nth=nth
    )
    found = rebuilt(bed, bed.kinds[kind], sheet)
    assert (found.length, found.width) == pytest.approx((real.length, real.width), abs=0.06)
    wanted = [Place(item) for item in (*real.cuts, *real.bosses)]
    assert len(found.cuts) == len(wanted)
    for cut in found.cuts:
        place = Place(cut)
        # As seen in the direction of the hole, or of what stands out.
        seen = [i for i in range(3) if abs(cut.frame.z[i]) < 0.5]
        at = [place.centre[i] for i in seen]
        near = min(wanted, key=lambda p: math.dist([p.centre[i] for i in seen], at))
        assert [near.centre[i] for i in seen] == pytest.approx(at, abs=0.06)
        assert sorted(near.spans) == pytest.approx(sorted(place.spans), abs=0.06)
        # Through is through the plate; its hooks stand on it.
        through = getattr(near.item, "through", False)
        assert (
            place.depth > near.depth - 0.06
            if through
            else (near.depth == pytest.approx(place.depth, abs=0.06))
        )
        wanted.remove(near)


@pytest.mark.parametrize("kind", LEGS)
def test_a_curved_outline_is_rebuilt_from_its_points(kind: str) -> None:
    """A sheet of the left part seen in a mirror is the right one; areas and sizes are the same."""
    shape = good("sorrel").kinds[kind].shape
    drawn, _ = shown_on(good("sorrel"), kind)
    sheet = read("sorrel")[f"{drawn}_outline"]
    rows = sheet.points()
    points = [(parse_length(r[1], "mm"), -parse_length(r[2], "mm")) for r in rows]
    area = shapely.Polygon(points).exterior
    turn = 1.0 if area.is_ccw else -1.0
    bulges = []
    for i, row in enumerate(rows):
        arc = re.match(r"arc R ([\d.]+) (hollow|round)", row[3])
        if arc is None:
            bulges.append(0.0)
            continue
        chord = math.dist(points[i], points[(i + 1) % len(points)])
        sweep = 2 * math.asin(chord / 2 / float(arc[1]))
        bulges.append(math.tan(sweep / 4) * (turn if arc[2] == "round" else -turn))
    outline = Outline(tuple(points), tuple(bulges), ("",) * len(points))
    assert abs(outline.area) == pytest.approx(shape.outline.area, rel=5e-4)
    x0, y0, x1, y1 = outline.bounds()
    assert (x1 - x0, y1 - y0) == pytest.approx((shape.length, shape.width), abs=0.11)
    assert sorted(e.radius for e in outline.edges() if e.is_arc) == pytest.approx(
        sorted(e.radius for e in shape.outline.edges() if e.is_arc), abs=0.06
    )


@pytest.mark.parametrize("name", BEDS)
def test_running_dimensions_agree_with_the_marks_of_setting_out(name: str) -> None:
    bed = good(name)
    for part in setting_out(bed.layout, bed.pieces):
        if "_leg_" not in part.kind:
            continue
        drawn, _ = shown_on(bed, part.kind)
        sheet = read(name).get(drawn) or read(name)[f"{drawn}_joints"]
        along = {text for _, axis, text in sheet.measures if axis == "x"}
        row = next(r for r in part.rows if "up the joint face" in r.reference)
        for mark in row.marks:
            if mark.what.endswith("end of slot"):
                assert mark.shown.removesuffix(" mm") in along, (part.kind, mark.label)


@pytest.mark.parametrize("name", BEDS)
def test_depths_on_the_sheets_are_those_of_setting_out(name: str) -> None:
    """Setting out reckons its depths from the layout, the sheets theirs from the finished shape."""
    bed, compared = good(name), 0
    for part in setting_out(bed.layout, bed.pieces):
        drawn, _ = shown_on(bed, part.kind)
        sheet = read(name).get(drawn) or read(name).get(f"{drawn}_joints")
        marks = [m for row in part.rows if "(depth)" in row.reference for m in row.marks]
        if sheet is None or not marks:
            continue
        told = {text for of, _, text in sheet.measures if of.endswith(" depth")}
        told |= {row.deep for row in sheet.features()}
        for mark in marks:
            if "right through" not in mark.label:
                assert mark.shown.removesuffix(" mm") in told, (part.kind, mark.label, told)
                compared += 1
    assert compared > 12


# --- files ---------------------------------------------------------------------------------


def test_the_same_bytes_each_time() -> None:
    again = make_drawings(good("hawthorn"), "A4")
    first = drawings("hawthorn")
    assert again.dxf == first.dxf
    assert again.pdf == first.pdf
    assert list(again.svgs()) == list(first.svgs())


def test_words_in_the_pdf_can_be_searched() -> None:
    pages = pdfium.PdfDocument(io.BytesIO(drawings("hawthorn").pdf))
    text = pages[0].get_textpage().get_text_range()
    assert "General arrangement" in text
    assert "2158" in text
    assert len(pages) == len(drawings("hawthorn").pages)


def test_a_paper_that_is_none_is_told() -> None:
    with pytest.raises(InputError, match="A4, A3, Letter, Tabloid"):
        make_drawings(good("hawthorn"), "A5")


def test_the_verb_writes_all_files_or_none(
    tmp_path: FilePath, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = []

    def made(bed: Bed, paper: str, say: object) -> Drawings:
        asked.append(paper)
        return drawings("hawthorn")

    monkeypatch.setattr(book, "make_drawings", made)
    monkeypatch.setattr(assembly, "make_bed", lambda sheet: good("hawthorn"))
    assert cli.main(["draw", "hawthorn", "--out", str(tmp_path)]) == 0
    folder = tmp_path / "hawthorn-eu-160x200-drawings"
    names = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    count = len(drawings("hawthorn").pages)
    assert {"drawings.dxf", "drawings.pdf", "manifest.json"} < names
    assert len([name for name in names if re.fullmatch(r"svg/\d\d_\w+\.svg", name)]) == count
    assert "General arrangement" in capsys.readouterr().out
    assert cli.main(["draw", "campion", "--json", "--out", str(tmp_path / "in")]) == 0
    assert asked == ["A4", "Letter"]

    def broken(bed: Bed, paper: str, say: object) -> Drawings:
        raise InputError("paper", paper, "is torn", "take another")

    monkeypatch.setattr(book, "make_drawings", broken)
    assert cli.main(["draw", "sorrel", "--out", str(tmp_path / "none")]) == 2
    assert not list((tmp_path / "none").glob("*"))


# --- pictures of steps ---------------------------------------------------------------------


def test_a_step_shows_its_own_parts_black_and_those_done_grey() -> None:
    whole = Whole(good("sorrel"))
    rails = [p.name for p in whole.named("side_rail")]
    ends = [p.name for p in whole.wood if p.group in ("head_end", "foot_end")]
    picture = step_picture(whole, rails, ends)
    assert picture.new
    assert picture.done
    box = Box(10, 20, 110, 90)
    marks = list(marks_in(picture, box))
    colours = {m.pen.colour for m in marks if isinstance(m, Path) and m.pen}
    assert len(colours) == 2
    assert all(
        box.x0 - 1e-6 <= x <= box.x1 + 1e-6 and box.y0 - 1e-6 <= y <= box.y1 + 1e-6
        for m in marks
        if isinstance(m, Path)
        for x, y in m.points
    )


def test_parts_in_front_hide_those_behind() -> None:
    """With the rails put on, less is seen of the far leg than without them."""
    whole = Whole(good("sorrel"))
    leg = ["head_leg_left", "head_leg_right"]
    alone = step_picture(whole, [], leg)
    slats = [p.name for p in whole.named("slat_", "side_rail")]
    behind = step_picture(whole, slats, leg)
    assert sum(c.length for c in behind.done) < sum(c.length for c in alone.done) - 100


def test_a_name_that_is_not_there_is_told() -> None:
    with pytest.raises(KeyError):
        step_picture(Whole(good("sorrel")), ["nothing"])
