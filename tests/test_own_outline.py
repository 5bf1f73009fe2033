"""The maker's own outline: read, laid into place, built; and every bad drawing told in one line."""

from __future__ import annotations

import itertools
import math
import os
import random
import time
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely

from bedmodel.bed import Kind
from bedmodel.cli import main
from bedmodel.errors import InputError
from bedmodel.exports.template import dxf_bytes, leg_template
from bedmodel.legs.biarcs import as_arcs, distance_to
from bedmodel.legs.drawn import WITHIN, BadDrawing, read_drawing
from bedmodel.legs.placed import PlacedOutline, cut_at, placed_outline
from bedmodel.outline import Outline
from bedmodel.parts.leg import make_legs
from bedmodel.shape import Shape
from bedmodel.sheets import as_table, check_sheet, load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.solids import make_solid
from tests.own_drawings import (
    ANGLE,
    ELLIPSE,
    POLES,
    SHARED,
    area,
    as_bytes,
    drawing,
)

INCH = 25.4
GOOD = as_bytes(drawing())


def placed(**how: Any) -> PlacedOutline:
    return placed_outline(as_bytes(drawing(**how)), "inch")


def own(data: bytes, folder: Path, example: str = "medlar", **leg: Any) -> Layout:
    """An example's bed on legs of a drawing."""
    (folder / "leg.dxf").write_bytes(data)
    table = as_table(load_sheet(example))
    table["leg"] |= {"style": "own", "outline": str(folder / "leg.dxf"), **leg}
    return lay_out(check_sheet(table))


def leg(layout: Layout, end: str = "head") -> Shape:
    return next(d.shape for d in make_legs(layout) if d.name.startswith(end))


def refused(data: bytes, bare: Any = "inch") -> str:
    with pytest.raises(BadDrawing) as bad:
        placed_outline(data, bare)
    assert bad.value.remedy
    return bad.value.wrong


def outcome(data: bytes) -> str:
    """Why a drawing is refused; nothing for one that is read."""
    try:
        placed_outline(data, "inch")
    except BadDrawing as bad:
        return bad.wrong
    return ""


# --- what is read ---------------------------------------------------------------------------


def test_the_shared_drawing_is_the_one_made_here() -> None:
    there, here = (placed_outline(data, "inch").outline for data in (SHARED.read_bytes(), GOOD))
    assert there.canonical() == here.canonical()


def test_an_ellipse_and_a_spline_have_the_area_of_their_closed_forms() -> None:
    """An arc that strays by e over a length s is wrong by less than e s of area."""
    found = placed()
    length = sum(e.length for e in found.outline.edges() if e.is_arc)
    assert 0 < found.strays <= WITHIN
    assert abs(found.outline.area - area() * INCH**2) < found.strays * length
    assert found.outline.area == pytest.approx(area() * INCH**2, rel=1e-5)


def test_the_closed_form_itself_against_fine_chords() -> None:
    cu, cv, a, b = ELLIPSE
    steps = [i / 20000 for i in range(20001)]
    outer = [(cu - a * math.cos(t * ANGLE), cv - b * math.sin(t * ANGLE)) for t in steps]
    inner = [_bezier(t) for t in steps[::-1]]
    ring = [(3.0, 48.0), *outer, *inner, (0.0, 48.0)]
    assert shapely.Polygon(ring).area == pytest.approx(area(), rel=1e-8)


def _bezier(t: float) -> tuple[float, float]:
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
    x, y = (sum(w * p[i] for w, p in zip(weights, POLES, strict=True)) for i in (0, 1))
    return x, y


def test_arcs_stay_with_the_ellipse_and_the_spline() -> None:
    """Against points of the true curves, not of those that were asked while arcs were made."""
    edges = list(placed().outline.edges())
    cu, cv, a, b = ELLIPSE
    for i in range(1, 997):
        t = i / 997
        on_ellipse = (cu - a * math.cos(t * ANGLE), cv - b * math.sin(t * ANGLE))
        for p in (on_ellipse, _bezier(t)):
            q = (p[0] * INCH, p[1] * INCH)
            assert min(distance_to(q, e) for e in edges) <= WITHIN


def test_arcs_meet_on_tangents() -> None:
    edges = [e for e in placed().outline.edges() if e.name == "inside"]
    assert len(edges) > 4
    for one, two in itertools.pairwise(edges):
        (a, b), (c, d) = (one.point_at(1 - 1e-6), one.end), (two.start, two.point_at(1e-6))
        turn = math.atan2(b[1] - a[1], b[0] - a[0]) - math.atan2(d[1] - c[1], d[0] - c[0])
        assert math.cos(turn) == pytest.approx(1.0, abs=1e-6)


def test_a_circle_comes_back_as_itself() -> None:
    """A biarc of a circle is that circle."""
    edges, strays = as_arcs(
        lambda t: (70 * math.cos(t), 70 * math.sin(t)),
        lambda t: (-70 * math.sin(t), 70 * math.cos(t)),
        (0.0, 1.0, 2.0),
        "x",
        WITHIN,
    )
    assert strays < 1e-5
    assert {round(e.radius, 4) for e in edges} == {70.0}
    assert sum(e.sweep for e in edges) == pytest.approx(2.0)


@pytest.mark.parametrize(
    "how",
    [
        {"unit": 4, "scale": INCH},
        {"unit": 5, "scale": 2.54},
        {"unit": 0},
        {"turn_deg": 37.0, "shift": (300.0, -80.0)},
        {"mirrored": True},
        {"mirrored": True, "turn_deg": -90.0, "version": "R2010"},
    ],
    ids=["mm", "cm", "no unit", "turned", "mirrored", "lying"],
)
def test_one_leg_however_it_is_drawn(how: Any, tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    one, two = own(GOOD, tmp_path / "a"), own(as_bytes(drawing(**how)), tmp_path)
    for end in ("head", "foot"):
        first, second = leg(one, end), leg(two, end)
        assert first.blank == pytest.approx(second.blank, abs=1e-6)
        for p, q in zip(first.outline.vertices, second.outline.vertices, strict=True):
            assert p == pytest.approx(q, abs=1e-6)
    if how.get("unit") == 4:
        assert make_solid(first).Volume() == pytest.approx(make_solid(second).Volume(), rel=1e-9)
        assert [d.shape.key() for d in make_legs(one)] == [d.shape.key() for d in make_legs(two)]


@pytest.mark.parametrize("version", ["R12", "R2000"])
@pytest.mark.parametrize("example", ["campion", "sorrel", "hawthorn"])
def test_our_own_template_gives_the_same_leg(example: str, version: str, tmp_path: Path) -> None:
    layout = lay_out(load_sheet(example))
    head = leg(layout)
    template = leg_template(
        Kind("head_leg", head, "red-maple"), title_lines=("t",), face_up="show face"
    )
    (tmp_path / "leg.dxf").write_bytes(dxf_bytes(template, version))
    table = as_table(load_sheet(example))
    table["leg"] |= {"style": "own", "outline": str(tmp_path / "leg.dxf")}
    if version == "R12":  # no unit in it, so it is read in the sheet's
        table["design"]["unit"] = "mm"
    again = lay_out(check_sheet(table))
    for end in ("head", "foot"):
        assert leg(again, end).key() == leg(layout, end).key()
    assert again.legs.splay == pytest.approx(layout.legs.splay)
    if version == "R12":
        return  # tenons are worked out in steps of the sheet's unit
    assert [b.tenons for b in again.head.boards] == [b.tenons for b in layout.head.boards]


def test_a_leg_is_cut_at_its_height(tmp_path: Path) -> None:
    layout = own(GOOD, tmp_path)
    for end in layout.ends:
        outline = layout.legs.outline(end.leg_top, end.end)
        assert outline.bounds()[3] == pytest.approx(end.leg_top)
        assert outline.area == pytest.approx(
            (area() - (48 - end.leg_top / INCH) * 3) * INCH**2, rel=1e-5
        )
        assert len(outline.named("top")) == 1


def test_a_cut_through_an_arc_leaves_the_arc() -> None:
    found = placed()
    low = cut_at(found, 6 * INCH)  # where the ellipse still curves
    whole = found.outline
    box = shapely.box(-500, -1, 500, 6 * INCH)
    assert low.area == pytest.approx(shapely.intersection(_polygon(whole), box).area, rel=1e-6)


def _polygon(outline: Outline) -> Any:
    return shapely.Polygon([e.point_at(i / 200) for e in outline.edges() for i in range(200)])


def test_foot_legs_of_an_outline_of_their_own(tmp_path: Path) -> None:
    (tmp_path / "foot.dxf").write_bytes(as_bytes(drawing(unit=4, scale=27.0)))
    layout = own(GOOD, tmp_path, outline_foot=str(tmp_path / "foot.dxf"))
    head, foot = (layout.legs.outline(e.leg_top, e.end).bounds()[2] for e in layout.ends)
    assert foot / head == pytest.approx(27.0 / INCH, rel=1e-6)
    # A little less, by how far the ellipse leans where the joint zone begins.
    assert 3 * INCH - 0.1 < layout.legs.width_at(layout.rail_top) < 3 * INCH


def test_a_top_of_its_own_is_kept(tmp_path: Path) -> None:
    """Drawn just as high as the head leg, with its corner cut off."""
    top = lay_out(load_sheet("medlar")).head.leg_top / INCH
    document = ezdxf.new("R2000")  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = 1
    for layer, *points in (
        ("JOINT", (0, 0), (0, top)),
        ("TOP", (0, top), (2, top)),
        ("TOP", (2, top), (3, top - 1)),
        ("OUTER", (3, top - 1), (3, 0)),
        ("FLOOR", (3, 0), (0, 0)),
    ):
        document.modelspace().add_line(*points, dxfattribs={"layer": layer})
    layout = own(as_bytes(document), tmp_path)
    head = layout.legs.outline(layout.head.leg_top, "head")
    assert len(head.vertices) == 5
    assert head.area == pytest.approx((3 * top - 0.5) * INCH**2)
    assert len(layout.legs.outline(layout.foot.leg_top, "foot").vertices) == 4
    assert layout.legs.joint_start == 0


# --- what is refused ------------------------------------------------------------------------


def changed(change: Any, **how: Any) -> bytes:
    document = drawing(**how)
    change(document.modelspace())
    return as_bytes(document)


def _layer(space: Any, name: str) -> Any:
    return next(e for e in space if e.dxf.layer == name)


def _move(space: Any, name: str, end: str, by: tuple[float, float]) -> None:
    entity = _layer(space, name)
    at = entity.dxf.get(end)
    entity.dxf.set(end, (at[0] + by[0], at[1] + by[1], 0.0))


BAD = {
    "a gap": (
        lambda s: _move(s, "TOP", "end", (-0.2, 0.0)),
        r"not closed: a gap of 0\.2 inch.*\(2\.8, 48\)",
    ),
    "a block": (lambda s: s.add_blockref("X", (0, 0)), "INSERT on layer 0: a block"),
    "a circle": (lambda s: s.add_circle((1, 20), 0.5), "CIRCLE on layer 0: a full circle"),
    "a hatch": (lambda s: s.add_hatch(), "HATCH on layer 0"),
    "a face in space": (lambda s: s.add_3dface([(0, 0), (1, 0), (1, 1)]), "3DFACE"),
    "two outlines": (
        lambda s: s.add_line((1, 20), (2, 20)),
        r"LINE on layer 0 at \(1, 20\) is no part",
    ),
    "a doubled line": (
        lambda s: s.add_line((0, 48), (3, 48), dxfattribs={"layer": "TOP"}),
        r"three lines meet at \(",
    ),
    "it crosses itself": (
        lambda s: (
            _move(s, "TOP", "end", (1.5, -20.0)),
            s.add_line((4.5, 28), (3, 48), dxfattribs={"layer": "TOP"}),
        ),
        r"crosses or touches itself at \(",
    ),
    "no floor": (
        lambda s: _layer(s, "FLOOR").dxf.set("layer", "BASE"),
        "nothing on layer FLOOR.*BASE",
    ),
    "no outer edge": (
        lambda s: [e.dxf.set("layer", "SIDE") for e in s if e.dxf.layer == "OUTER"],
        "nothing on layer OUTER",
    ),
    "no number": (
        lambda s: _move(s, "TOP", "end", (math.nan, 0.0)),
        "LINE on layer TOP.*no number",
    ),
    "infinite": (lambda s: _move(s, "TOP", "end", (math.inf, 0.0)), "LINE on layer TOP.*no number"),
    "far off": (lambda s: _move(s, "TOP", "end", (1e9, 0.0)), "too far off"),
    "seen from below": (
        lambda s: s.add_arc((0, 0), 1, 0, 90, dxfattribs={"extrusion": (0, 0, -1)}),
        "not drawn in the plane",
    ),
    "a whole ellipse": (lambda s: s.add_ellipse((1, 20), (0.5, 0), 0.5), "a full ellipse"),
    "a wild spline": (
        lambda s: s.add_open_spline([(i, i % 7) for i in range(401)]),
        "too many points",
    ),
    "too much": (
        lambda s: [s.add_line((0, i), (1, i)) for i in range(2001)],
        "more than 2000 entities",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_drawing_is_told_with_its_place(name: str) -> None:
    import re

    change, told = BAD[name]
    wrong = refused(changed(change))
    assert re.search(told, wrong), wrong
    assert "\n" not in wrong
    assert len(wrong) < 250


def test_a_slanting_floor_and_a_bent_joint_face_are_told() -> None:
    def tilt(space: Any) -> None:
        _move(space, "FLOOR", "end", (0.0, 0.05))
        ellipse = next(e for e in space if e.dxftype() == "ELLIPSE")
        space.delete_entity(ellipse)
        space.add_line((3.8945, 0.05), (3, 10), dxfattribs={"layer": "OUTER"})
        _move(space, "FLOOR", "end", (3.8945 - _layer(space, "FLOOR").dxf.end[0], 0.0))

    assert "deg to one another" in refused(changed(tilt))

    def bend(space: Any) -> None:
        space.delete_entity(_layer(space, "JOINT"))
        for a, b in (((0, 5), (0.1, 20)), ((0.1, 20), (0, 48))):
            space.add_line(a, b, dxfattribs={"layer": "JOINT"})

    assert "layer JOINT is not straight: 0.05 inch off" in refused(changed(bend))


@pytest.mark.parametrize(
    ("how", "bare", "told"),
    [
        ({"unit": 4}, "inch", "is 48 mm long, too small for a leg; it looks like inches"),
        ({"unit": 0}, "mm", "is 48 mm long, too small for a leg; it looks like inches"),
        ({"unit": 1, "scale": INCH}, "mm", "too large for a leg; it looks like millimetres"),
        ({"unit": 6}, "mm", "is 48 m long, too large for a leg; it looks like inches"),
        ({"unit": 4, "scale": 0.01}, "mm", "must be 150 to 2500 mm"),
        ({"unit": 3}, "mm", "in a unit"),
    ],
)
def test_an_implausible_size_is_refused_with_a_guess(how: Any, bare: Any, told: str) -> None:
    assert told in refused(as_bytes(drawing(**how)), bare)


HOSTILE = {
    "binary": (b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes(200), "binary DXF"),
    "not DXF": (b"PK\x03\x04" + os.urandom(400), "no DXF"),
    "text": (b"To whom it may concern\n" * 50, "no DXF"),
    "empty": (b"", "no DXF"),
    "TOML": (b"[leg]\nstyle = 'own'\nsplay = 5\nx = 1\n", "no DXF"),
    "cut short": (GOOD[: len(GOOD) // 2], "DXF"),
    "many lines": (b"0\nX\n" * 80_000, "more than 150000 lines"),
    "a count that lies": (GOOD.replace(b"\n 74\n", b"\n 74\n999999999"), ""),
    "no sections": (b"0\nSECTION\n2\nENTITIES\n" * 3000, ""),
    "no entities": (as_bytes(ezdxf.new("R2000")), "no lines"),  # type: ignore[attr-defined]
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_soon(name: str) -> None:
    data, told = HOSTILE[name]
    start = time.process_time()
    said = outcome(data)
    assert told in said
    assert said or name == "a count that lies"
    assert time.process_time() - start < 8.0


def test_changed_bytes_are_read_or_refused() -> None:
    """A good file with some bytes changed, lost, doubled or put elsewhere."""
    draw = random.Random(20261126)
    start, seen = time.process_time(), {"read": 0, "refused": 0}
    lines = GOOD.split(b"\n")
    first = next(i for i, line in enumerate(lines) if line == b"ENTITIES")
    for _ in range(150):
        data = list(lines)
        for _ in range(draw.choice([1, 1, 2, 5])):
            # Mostly among the entities, where it matters.
            i = (
                draw.randrange(first, len(data))
                if draw.random() < 0.8
                else draw.randrange(len(data))
            )
            odd = [b"", b"nan", b"1e308", b"-1", b"0", b"SPLINE", b"10", b"\xff\xfe", b"INSERT"]
            what = draw.randrange(4)
            if what == 0:
                data[i] = draw.choice(odd)
            elif what == 1:
                del data[i]
            elif what == 2:
                data.insert(i, data[draw.randrange(len(data))])
            else:
                data[i : i + 4] = data[i : i + 4][::-1]
        said = outcome(b"\n".join(data))
        assert "\n" not in said
        seen["refused" if said else "read"] += 1
    assert min(seen.values()) > 5
    assert time.process_time() - start < 60


# --- from the sheet -------------------------------------------------------------------------


def _sheet(folder: Path, outline: str = "leg.dxf") -> Path:
    path = folder / "mine.toml"
    text = (SHARED.parent / "medlar.toml").read_text("utf-8")
    path.write_text(text.replace("medlar-leg.dxf", outline), "utf-8")
    return path


def test_the_drawing_lies_beside_its_sheet(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "leg.dxf").write_bytes(GOOD)
    monkeypatch.chdir("/")
    sheet = _sheet(tmp_path)
    assert main(["marks", str(sheet)]) == 0
    capsys.readouterr()
    (tmp_path / "leg.dxf").unlink()
    for make in (None, Path.mkdir, lambda p: os.mkfifo(p), lambda p: p.symlink_to("/dev/zero")):
        if make is not None:
            make(tmp_path / "leg.dxf")
        assert main(["marks", str(sheet)]) == 2
        told = capsys.readouterr().err
        assert told.count("\n") == 1
        assert "leg.outline = leg.dxf: " in told
        if make is not None:
            path = tmp_path / "leg.dxf"
            path.rmdir() if path.is_dir() and not path.is_symlink() else path.unlink()
    (tmp_path / "leg.dxf").write_bytes(b"0\n" * 700_000)
    assert main(["marks", str(sheet)]) == 2
    assert "must be at most 1024 kB" in capsys.readouterr().err


def test_own_legs_need_a_drawing() -> None:
    with pytest.raises(InputError, match="own legs need a drawing"):
        lay_out(load_sheet("hawthorn", changes=["leg.style=own"]))


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"headboard.board.2.above_platform": "35 in"}, "layer JOINT ends 48 in above the floor"),
        ({"height.platform": "8 in"}, "layer JOINT begins 5 in above the floor"),
    ],
)
def test_a_joint_face_that_is_too_short_is_told(changes: Any, told: str) -> None:
    with pytest.raises(InputError) as bad:
        lay_out(load_sheet("medlar", changes=[f"{k}={v}" for k, v in changes.items()]))
    assert bad.value.parameter == "leg.outline"
    assert told in bad.value.allowed


def test_a_narrow_outline_asks_for_a_wider_drawing(tmp_path: Path) -> None:
    """What would be leg.top_width of a post."""
    document = drawing()
    for entity in document.modelspace():
        if entity.dxftype() == "LINE":
            for end in ("start", "end"):
                x, y, _ = entity.dxf.get(end)
                entity.dxf.set(end, (min(x, 1.2) if y > 9 else x, y, 0.0))
    space = document.modelspace()
    space.delete_entity(next(e for e in space if e.dxftype() == "ELLIPSE"))
    foot = _layer(space, "FLOOR").dxf.end
    space.add_line((1.2, 10.0), foot, dxfattribs={"layer": "OUTER"})
    with pytest.raises(InputError) as bad:
        own(as_bytes(document), tmp_path)
    assert bad.value.parameter in ("leg.outline", "side_rail.thickness", "fastener.type")
    assert "leg.top_width" not in bad.value.parameter


def test_the_manifest_holds_the_drawing_s_hash(tmp_path: Path) -> None:
    import hashlib

    from bedmodel.exports.records import layout_record

    (row,) = layout_record(lay_out(load_sheet("medlar")))["leg_drawings"]
    assert row["sha256"] == hashlib.sha256(SHARED.read_bytes()).hexdigest()
    assert row["unit"] == "inch"
    assert 0 < row["curves_within_mm"] <= WITHIN


def test_arcs_and_polylines_are_read_as_they_are() -> None:
    document = ezdxf.new("R2000")  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_arc((0, 0), 50, 350, 20, dxfattribs={"layer": "A"})
    space.add_arc((0, 0), 50, 0, 270, dxfattribs={"layer": "B"})
    space.add_lwpolyline([(0, 0, 0.5), (10, 0, 0)], format="xyb", close=True)
    edges = [d.edge for d in read_drawing(as_bytes(document), "mm").edges]
    assert [round(math.degrees(e.sweep), 6) for e in edges[:3]] == [30.0, 135.0, 135.0]
    assert all(e.radius == pytest.approx(50) for e in edges[:3])
    assert edges[3].sweep == pytest.approx(4 * math.atan(0.5))
    assert len(edges) == 5
