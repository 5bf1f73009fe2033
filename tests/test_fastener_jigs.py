"""Jigs of the rail fasteners, set on the parts as their cards say.

Oracle: the cuts in the pieces of the bed, left and right. Each is taken to the bed and
seen as the jig sees it, up from the fastener's centre mark and out from the face that
lies against the fence; there the jig's own cut or hole must be. Shapely's offset stands
against the templates' own.
"""

from __future__ import annotations

import functools
import itertools
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from bedmodel.bed import Piece
from bedmodel.cuts import Cut
from bedmodel.cutters import bits, bushing
from bedmodel.errors import InputError
from bedmodel.hardware import Bracket, HookPlate
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.jig import LIMIT, GuidedCut, Jig, check_jigs
from bedmodel.shop.jigs.sticks import LINE, stick_jig
from bedmodel.shop.marks import CENTRE
from bedmodel.shop.router import inside_template
from bedmodel.shop.setting_out import setting_out
from bedmodel.shop.sheet import FENCE, NOTES, SLOT, STATION
from bedmodel.shop.simulate import polygon
from bedmodel.shop.story_stick import story_sticks
from bedmodel.skeleton import Layout, lay_out
from bedmodel.spec import Sheet
from tests.beds import UNSCREWED
from tests.test_fastener_marks import (
    case_of,
    corners,
    cuts_of,
    end_of,
    floor_of,
    inside_face,
    into,
    joint_edge,
    opening,
    rail_line,
)
from tests.test_jigs import check_rings, check_words, jigs
from tests.test_setting_out import BEDS, Case, bed

EXAMPLES = ("campion", "hawthorn", "sorrel")
KINDS = ("hook_plates", "brackets", "bolts")
OTHER: dict[str, tuple[str, ...]] = {
    "campion": ("side_rail.reveal=5 mm",),
    "hawthorn": ("router.bushing=1/2 in", "frame.stance=30"),
    "sorrel": ("router.recess_bit=straight-6-x-20-mm",),
}
SETS = [
    (name, kind, changes)
    for name, kind in itertools.product(EXAMPLES, KINDS)
    for changes in ((), OTHER[name])
]
fastened = pytest.mark.parametrize(("name", "kind", "changes"), SETS)


def made(name: str, kind: str, changes: tuple[str, ...] = ()) -> dict[str, Jig]:
    found = jigs(name, None, f"side_rail.joint={kind}", *UNSCREWED, *changes)
    return {jig: it for jig, it in found.items() if jig.startswith("fastener")}


SHEETS = [
    (name, kind, jig)
    for name, kind in itertools.product(EXAMPLES, ("brackets", "bolts"))
    for jig in made(name, kind)
]


# --- the parts, seen as a jig sees them ----------------------------------------------------


def seen(case: Case, piece: Piece, cut: Cut) -> tuple[str, str, Any]:
    """Part, face and opening of a cut: x up from the fastener's middle, y from the fence."""
    plan = case.layout.fastener
    assert plan is not None
    rim, deep = opening(piece, cut), into(piece, cut)
    if "leg" in piece.name:
        low, _ = joint_edge(piece)
        _, inward = inside_face(piece, case)
        out = np.array([np.sign(corners(piece)[:, 0].mean() - low[0]), 0.0, 0.0])
        face = "inside face" if deep @ inward > 0 else "show face"
        y = (rim - low) @ out
        part = "leg"
    else:
        side = piece.name.rsplit("_", 1)[1]
        head, foot, along = rail_line(case, side)
        end = end_of(piece, cut, head, foot)
        corner, way = (head, along) if end == "head" else (foot, -along)
        part, on_end = "rail", abs(deep @ along) > 0.5
        face = "end" if on_end else "inside face"
        across = np.array([1.0 if side == "right" else -1.0, 0.0, 0.0])
        y = (rim - corner) @ (across if on_end else way)
    return part, face, shapely.Polygon(np.column_stack([rim[:, 2] - plan.height, y]))


def parts(case: Case) -> Iterator[Piece]:
    for piece in case.pieces:
        if re.fullmatch(r"(head|foot)_leg_(left|right)|side_rail_(left|right)", piece.name):
            yield piece


def all_seen(case: Case, *stems: str) -> list[tuple[str, str, Any]]:
    return [
        seen(case, piece, cut)
        for piece in parts(case)
        for cut in cuts_of(piece)
        if re.sub(r"_\d+$", "", cut.name.split("fastener_")[1]) in stems
    ]


def fences(jig: Jig) -> set[float]:
    lines = [mark for mark in jig.sheet.marks if mark.layer == FENCE]
    assert all(line.start[1] == line.end[1] for line in lines)
    return {-line.start[1] + 0.0 for line in lines}


def moved(shape: Any, up: float) -> Any:
    return shapely.affinity.translate(shape, 0.0, up)


def same(a: Any, b: Any) -> bool:
    """Alike but for the chords that stand for arcs."""
    return bool(a.symmetric_difference(b).area < 2e-3 * a.length)


@functools.cache
def jig_case(name: str, kind: str, changes: tuple[str, ...]) -> tuple[Case, dict[str, Jig]]:
    return case_of(name, kind, changes), made(name, kind, changes)


# --- recesses and pockets ------------------------------------------------------------------

CUT_BY = {
    "fastener_recess": ("plate",),
    "fastener_pockets": ("pocket",),
    "fastener_end_flange": ("end_flange",),
    "fastener_face_flange": ("face_flange",),
}


def test_each_kind_has_its_jigs() -> None:
    for name in EXAMPLES:
        assert set(made(name, "hook_plates")) == {
            "fastener_recess", "fastener_pockets", "fastener_screw_guide"
        }  # fmt: skip
        assert set(made(name, "brackets")) == {*CUT_BY, "fastener_screw_guide",
            "fastener_face_screw_guide"}  # fmt: skip
        assert set(made(name, "bolts")) == {"fastener_bolt_guide", "fastener_barrel_guide"}
        assert made(name, "butt") == {}


@fastened
def test_every_recess_is_where_a_plate_set_by_its_fence_cuts(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    case, found = jig_case(name, kind, changes)
    for jig_name, stems in CUT_BY.items():
        if jig_name not in found:
            continue
        jig = found[jig_name]
        openings = all_seen(case, *stems)
        assert len(openings) in (4, 8)
        used = set()
        for _, _, rim in openings:
            fits = [
                distance
                for distance in fences(jig)
                for cut in jig.cuts
                if same(moved(rim, -distance), clipped(cut))
            ]
            assert fits, (jig_name, rim)
            used |= set(fits)
        assert used == fences(jig)  # no line that serves nothing


def clipped(cut: GuidedCut) -> Any:
    """What is wanted of the wood itself."""
    wanted = polygon(cut.wanted)
    return wanted if cut.wood is None else wanted.intersection(polygon(cut.wood))


@fastened
def test_the_cut_of_every_plate_leaves_what_is_wanted(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    _, found = jig_case(name, kind, changes)
    reports = check_jigs(list(found.values()))
    assert {jig for jig, _, _ in reports} == {jig for jig in found if jig in CUT_BY}
    for jig, report, passed in reports:
        assert passed, jig
        assert max(report.uncut_depth, report.overcut_depth) < LIMIT, jig


@fastened
def test_openings_are_the_recesses_grown_by_the_offset(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    _, found = jig_case(name, kind, changes)
    for jig in found.values():
        for ring, cut in zip(jig.sheet.openings, jig.cuts, strict=False):
            assert ring == cut.template
            assert cut.cutter.offset > 1
            grown = polygon(cut.wanted).buffer(cut.cutter.offset, join_style="mitre", quad_segs=64)
            assert same(polygon(ring), grown)


@pytest.mark.parametrize("base", ["80 mm", "150 mm", "300 mm"])
def test_plates_carry_the_router_all_round(base: str) -> None:
    for jig in made("campion", "brackets", (f"router.router_base={base}",)).values():
        if jig.cuts:
            x0, y0, x1, y1 = jig.sheet.outline.bounds()
            for ring in jig.sheet.openings:
                s0, t0, s1, t1 = ring.bounds()
                assert min(s0 - x0, t0 - y0, x1 - s1, y1 - t1) >= float(base.split()[0]) / 2


def test_pockets_fall_into_the_floor_of_their_recess() -> None:
    """One fence and one centre: in the plates' frame the pockets lie inside the recess."""
    for name in EXAMPLES:
        found = made(name, "hook_plates")
        (recess,), pockets = found["fastener_recess"].cuts, found["fastener_pockets"].cuts
        assert len(pockets) == 2
        for pocket in pockets:
            assert polygon(recess.wanted).contains(polygon(pocket.wanted))
        assert fences(found["fastener_pockets"]) <= fences(found["fastener_recess"])
        for jig in (found["fastener_recess"], found["fastener_pockets"]):
            (centre,) = (m for m in jig.sheet.marks if m.label == "CENTRE")
            assert centre.start[0] == centre.end[0] == 0.0


def test_a_flange_drawn_without_its_run_out_would_leave_corners_uncut() -> None:
    """A bit that turns at the edge itself leaves both corners there, r (sqrt 2 - 1) deep."""
    jig = made("hawthorn", "brackets")["fastener_end_flange"]
    (cut,) = jig.cuts
    short = cut.wanted.mapped(lambda p: (p[0], max(p[1], 0.0)))
    spoilt = replace(jig, cuts=(replace(cut, template=inside_template(short, cut.cutter)),))
    ((_, report, passed),) = check_jigs([spoilt])
    left = cut.cutter.diameter / 2 * (math.sqrt(2) - 1)
    assert report.uncut_depth == pytest.approx(left, abs=0.01)
    assert not passed


def test_the_bit_runs_out_past_the_edge_before_it_turns() -> None:
    for name in EXAMPLES:
        for flange in ("fastener_end_flange", "fastener_face_flange"):
            (cut,) = made(name, "brackets")[flange].cuts
            assert cut.wanted.bounds()[1] < -cut.cutter.diameter / 2
            assert cut.cutter.diameter <= 8.0  # its corners are of radius 4
            assert cut.wood is not None
            assert cut.wood.bounds()[1] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("stance", ["0", "30"])
def test_the_wood_of_an_end_flange_is_the_rails_end(stance: str) -> None:
    case, found = jig_case("hawthorn", "brackets", (f"frame.stance={stance}",))
    (cut,) = found["fastener_end_flange"].cuts
    points = corners(case.piece("side_rail_right"))
    end = points[np.abs(points[:, 1] - points[:, 1].min()) < 1e-6]
    assert cut.wood is not None
    x0, y0, x1, y1 = cut.wood.bounds()
    assert (x1 - x0, y1 - y0) == pytest.approx((np.ptp(end[:, 2]), np.ptp(end[:, 0])))


# --- drilling guides -----------------------------------------------------------------------

DRILLED_BY = {
    "fastener_screw_guide": ("screw",),
    "fastener_bolt_guide": ("bolt", "dowel"),
    "fastener_barrel_guide": ("barrel",),
    "fastener_face_screw_guide": ("face_screw",),
}


def holes(jig: Jig) -> list[tuple[float, float, float]]:
    """Middle and diameter of each opening, by its area and centroid."""
    shapes = [polygon(ring) for ring in jig.sheet.openings]
    return [(s.centroid.x, s.centroid.y, 2 * math.sqrt(s.area / math.pi)) for s in shapes]


@fastened
def test_every_hole_is_where_a_guide_set_by_its_fence_leads_the_drill(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    case, found = jig_case(name, kind, changes)
    for jig_name, stems in DRILLED_BY.items():
        if jig_name not in found:
            continue
        jig = found[jig_name]
        led = holes(jig)
        met: set[int] = set()
        card = dict(jig.card.rows)
        shim = re.search(r"shim of (\d\.\d) mm", card["fence"])
        shims = [0.0, float(shim[1])] if shim else [0.0]
        for _, _, rim in all_seen(case, *stems):
            (x, y), wide = (rim.centroid.x, rim.centroid.y), 2 * math.sqrt(rim.area / math.pi)
            fits = [
                i
                for i, (u, v, d) in enumerate(led)
                for distance in fences(jig)
                for by in shims
                if math.dist((x, y), (u, v + distance - by)) < (0.05 if shim else 1e-3)
                and abs(d - wide) < 0.01
            ]
            assert fits, (jig_name, x, y, wide)
            met |= set(fits)
        assert met == set(range(len(led)))


def test_a_barrel_guide_on_a_yawed_rail_wants_a_shim_at_the_head() -> None:
    """The barrel stands on the bolt's line: from the ends it is s (t / 2c) apart, twice."""
    layout = case_of("campion", "bolts").layout
    half = layout.sheet.side_rail.thickness / 2 / math.cos(layout.yaw)
    apart = 2 * half * math.sin(layout.yaw)
    fence = dict(made("campion", "bolts")["fastener_barrel_guide"].card.rows)["fence"]
    assert f"at the head end with a shim of {apart:.1f} mm" in fence
    square = dict(made("hawthorn", "bolts")["fastener_barrel_guide"].card.rows)["fence"]
    assert "shim" not in square


@fastened
def test_depths_on_the_cards_are_those_of_the_cuts(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    case, found = jig_case(name, kind, changes)
    for jig_name, stems in {**CUT_BY, **DRILLED_BY}.items():
        if jig_name not in found:
            continue
        told = dict(found[jig_name].card.rows)["depth"]
        values = [float(v) for v in re.findall(r"([\d.]+) mm", told)]
        for piece in parts(case):
            for cut in cuts_of(piece):
                if re.sub(r"_\d+$", "", cut.name.split("fastener_")[1]) in stems:
                    deep = depth_of(case, piece, cut)
                    through = deep > piece.kind.shape.thickness - 1e-6
                    if through and "leg" in piece.name:
                        assert "right through" in told
                    else:
                        assert any(abs(v - deep) < 0.051 for v in values), (told, deep)


def depth_of(case: Case, piece: Piece, cut: Cut) -> float:
    """From the face it is cut from to its floor."""
    floor, deep = floor_of(piece, cut), into(piece, cut)
    if "leg" in piece.name:
        point, inward = inside_face(piece, case)
        below = float((floor - point) @ inward)
        return below if deep @ inward > 0 else piece.kind.shape.thickness - below
    head, foot, along = rail_line(case, piece.name.rsplit("_", 1)[1])
    corner = head if end_of(piece, cut, head, foot) == "head" else foot
    if abs(deep @ along) > 0.5:
        return float(abs(floor[1] - corner[1]))
    return float((floor - corner) @ deep)


# --- cards ---------------------------------------------------------------------------------


@fastened
def test_cards_say_where_the_centre_mark_is_and_how_often(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    case, found = jig_case(name, kind, changes)
    low, _ = joint_edge(case.piece("head_leg_right"))
    lower = corners(case.piece("side_rail_right"))[:, 2].min()
    plan = case.layout.fastener
    assert plan is not None
    for jig in found.values():
        rows = dict(jig.card.rows)
        values = [float(v) for v in re.findall(r"([\d.]+) mm", rows["centre mark"])]
        wanted = []
        if "legs" in rows["centre mark"]:
            wanted.append(plan.height - low[2])
        if "rails" in rows["centre mark"]:
            wanted.append(plan.height - lower)
        assert values == pytest.approx(wanted, abs=0.051)
        counts = sum(int(n) for n in re.findall(r"\((\d+) off\)", rows["for"]))
        stems = {**CUT_BY, **DRILLED_BY}[jig.name]
        # A bolt hole is drilled from both faces, and counted at the show face.
        assert counts == len(all_seen(case, *stems))
        assert {"reference", "face up", "left, right", "order", "depth", "fence"} <= set(rows)
    askew = [any("do not meet square" in c for c in jig.card.cautions) for jig in found.values()]
    assert any(askew) == (case.layout.yaw > 0)


def test_the_order_of_cuts_is_told() -> None:
    plates = made("hawthorn", "brackets")
    order = {name: dict(jig.card.rows)["order"] for name, jig in plates.items()}
    assert order["fastener_recess"].startswith("recess first")
    assert order["fastener_pockets"].startswith("after the recess")
    assert order["fastener_face_flange"].startswith("after the end flange")
    bolts = dict(made("hawthorn", "bolts")["fastener_bolt_guide"].card.rows)
    assert "counterbore 17 mm, 7.6 mm" in bolts["order"]
    assert bolts["order"].index("counterbore") < bolts["order"].index("half way")
    assert "8.1 mm" in bolts["drills"]


# --- files ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "kind", "jig"), SHEETS)
def test_sheets_read_back_and_their_words_are_clear(name: str, kind: str, jig: str) -> None:
    sheet = made(name, kind)[jig].sheet
    check_rings(sheet)
    check_words(sheet)


# --- bits ----------------------------------------------------------------------------------


def with_row(name: str, field: str, kind: type[HookPlate] | type[Bracket], **values: Any) -> Sheet:
    """An example with a row of the maker's own, and nothing else to choose from."""
    joint = {"hook_plate": "hook_plates", "bracket": "brackets"}[field]
    sheet = load_sheet(name, changes=(f"side_rail.joint={joint}",))
    row = kind.model_validate({"name": "own", **values}, context={"unit": "mm"})
    section = sheet.fastener.model_copy(update={field: (row,), "name": "own"})
    return sheet.model_copy(update={"fastener": section})


def jigs_of(sheet: Sheet) -> dict[str, Jig]:
    layout = lay_out(sheet)
    return {jig.name: jig for jig in make_jigs(layout, make_pieces(layout))}


SHORT: dict[str, Any] = {"length": 120, "hook_pitch": 62, "screw_pitch": 105}


def test_recess_bits_are_the_widest_that_fit() -> None:
    """16.2 mm recess, 8 mm pockets; in inches 5/8 in would want a bushing of another shop."""
    for name, recess, pocket in (
        ("hawthorn", "straight-16-x-40-mm", "straight-8-x-25-mm"),
        ("campion", "straight-1-2-x-1-1-2-in", "straight-5-16-x-1-in"),
    ):
        found = made(name, "hook_plates")
        assert dict(found["fastener_recess"].card.rows)["bit"] == bits()[recess].label
        assert dict(found["fastener_pockets"].card.rows)["bit"] == bits()[pocket].label
    given = made("sorrel", "hook_plates", OTHER["sorrel"])
    assert {cut.cutter.diameter for jig in given.values() for cut in jig.cuts} == {6.0}


REFUSED = {
    "router.recess_bit=straight-10-x-40-mm": r"^router\.recess_bit = straight-10-x-40-mm: "
    r"too wide for the pockets, the largest bit that would do is 8 mm;",
    "router.recess_bit=pattern-12-x-25-mm": r"router\.recess_bit.*bearing.*straight bit",
    "router.recess_bit=nonsuch": r"router\.recess_bit.*not in the table",
}


@pytest.mark.parametrize("change", REFUSED)
def test_bits_that_cannot_do_it_are_refused_in_one_line(change: str) -> None:
    with pytest.raises(InputError, match=REFUSED[change]) as refusal:
        made("hawthorn", "hook_plates", (change,))
    assert "\n" not in str(refusal.value)


def test_corners_tighter_than_any_bit_are_refused() -> None:
    sheet = with_row("hawthorn", "bracket", Bracket, **SHORT, corner=1.5)
    told = r"^router\.recess_bit = none: no straight bit of the table is as narrow as the corners "
    with pytest.raises(InputError, match=told + r"of the bracket's recess, 3 mm"):
        jigs_of(sheet)
    just = with_row("hawthorn", "bracket", Bracket, **SHORT, corner=1.6)  # 1/8 in is 3.175 mm
    assert jigs_of(just)["fastener_end_flange"].cuts[0].cutter.diameter == pytest.approx(3.175)


def test_pockets_too_near_for_a_web_are_cut_one_by_one() -> None:
    """Pitch 42 less 25 mm of pocket leaves 17; a 30 mm bushing on an 8 mm bit takes 22 of it."""
    row = {"length": 90, "hook_pitch": 42, "screw_pitch": 78, "neck": 8, "drop": 6}
    sheet = with_row("hawthorn", "hook_plate", HookPlate, **row)
    jig = jigs_of(sheet)["fastener_pockets"]
    assert len(jig.sheet.openings) == len(jig.cuts) == 1
    assert "one pocket at a time" in dict(jig.card.rows)["order"]
    assert "42.00 mm apart" in dict(jig.card.rows)["order"]
    router = sheet.router.model_copy(update={"bushing": "1/2 in"})
    small = jigs_of(sheet.model_copy(update={"router": router}))["fastener_pockets"]
    assert bushing("1/2 in").outer - 8.0 < 17 - 4
    assert len(small.sheet.openings) == 2
    first, second = (polygon(ring).centroid.x for ring in small.sheet.openings)
    assert second - first == pytest.approx(42)


def test_square_plates_want_a_chisel() -> None:
    sheet = with_row("hawthorn", "hook_plate", HookPlate, **SHORT, ends="square")
    jig = jigs_of(sheet)["fastener_recess"]
    assert any("chisel" in caution for caution in jig.card.cautions)
    ((_, report, passed),) = check_jigs([jig])
    assert passed
    (cut,) = jig.cuts
    # A round bit leaves its own corner, r (sqrt 2 - 1) deep.
    left = cut.cutter.diameter / 2 * (math.sqrt(2) - 1)
    assert report.uncut_depth == pytest.approx(left, abs=0.02)


# --- story sticks --------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "size"), BEDS)
def test_a_stick_is_drawn_at_true_size(name: str, size: str | None) -> None:
    layout = bed(name, size).layout
    for stick in story_sticks(layout):
        jig = stick_jig(layout, stick)
        sheet = jig.sheet
        x0, y0, x1, _ = sheet.outline.bounds()
        assert (x0, y0) == (0, 0)
        assert stick.length - 1e-9 <= x1 < stick.length + 12
        lines = [mark for mark in sheet.marks if mark.layer == STATION]
        assert len(lines) == len(stick.marks) == len(sheet.words)
        assert sheet.outline.named("datum")[0].start[0] == 0
        numbered = dict(jig.card.rows)
        places = zip(lines, stick.marks, sheet.words, strict=True)
        for i, (line, mark, word) in enumerate(places, start=1):
            assert line.start == (mark.true, 0)
            assert line.end == (mark.true, LINE / 2 if mark.what == CENTRE else LINE)
            assert word.text == str(i)
            assert 0 < word.at[0] - mark.true < 2
            assert numbered[str(i)].startswith(f"{mark.shown} (true {mark.true + 0.0:.3f} mm)")
            assert mark.label in numbered[str(i)]


@pytest.mark.parametrize("kind", KINDS)
def test_numbers_of_crowded_sticks_do_not_overlap(kind: str) -> None:
    """Hooks, screws, mortises and rail edges of a foot leg, some less than 1 mm apart."""
    layout = case_of("campion", kind).layout
    near = []
    for stick in story_sticks(layout):
        check_words(stick_jig(layout, stick).sheet)
        near += [b.true - a.true for a, b in itertools.pairwise(stick.marks)]
    if kind == "hook_plates":
        assert min(near) < 1
    layers = {mark.layer for mark in stick_jig(layout, stick).sheet.marks}
    assert layers <= {STATION, NOTES}


def test_every_row_of_marks_has_its_stick_or_needs_none() -> None:
    """The sticks that are drawn carry the leg's and the rail's heights, whatever the fastener."""
    layout: Layout = bed("hawthorn", None, "side_rail.joint=brackets").layout
    drawn = {name for name in jigs("hawthorn", None, "side_rail.joint=brackets") if "stick" in name}
    assert drawn == {f"stick_{stick.name}" for stick in story_sticks(layout)}
    marked = {part.kind for part in setting_out(layout, make_pieces(layout)) if part.rows}
    assert {"side_rail", "head_leg_left"} <= marked
    assert SLOT not in {mark.layer for name in drawn for mark in _marks(name)}


def _marks(name: str) -> tuple[Any, ...]:
    return jigs("hawthorn", None, "side_rail.joint=brackets")[name].sheet.marks
