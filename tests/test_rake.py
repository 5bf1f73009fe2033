"""The leaning head end, from the layout alone: cuts against vectors and tables, marks, refusals.

Planes and edges are taken from the parts' shapes, carried to the bed with numpy, and the
angles measured there; only the expected values of published rules are written down.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry import Polygon, box

from bedmodel.bed import Piece
from bedmodel.comfort import comfort
from bedmodel.errors import InputError
from bedmodel.frames import Frame, Vector
from bedmodel.hardware import HookPlate
from bedmodel.lean import UPRIGHT, Lean
from bedmodel.parts.leg import make_legs
from bedmodel.parts.side_rail import make_side_rail
from bedmodel.pieces import make_pieces
from bedmodel.sheets import as_table, check_sheet, load_sheet
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.marks import CENTRE
from bedmodel.shop.raked import level_cut, rail_cut
from bedmodel.shop.setting_out import setting_out
from bedmodel.skeleton import Layout, lay_out
from bedmodel.strength.answer import strength
from bedmodel.strength.bed_model import bed_model
from bedmodel.strength.members import basis_of
from bedmodel.strength.tipping import tipping
from tests.test_every_cut import walk

Vec = NDArray[np.float64]
HEATHER = "heather"


def layout(name: str = "hawthorn", size: str | None = None, *changes: str) -> Layout:
    return lay_out(load_sheet(name, size=size, changes=changes))


def matrix(frame: Frame) -> Vec:
    return np.array([frame.x, frame.y, frame.z]).T


def angle_deg(a: Vec, b: Vec) -> float:
    """Angle between two lines, by their cross product."""
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(a, b))), abs(float(a @ b))))


# --- the frame itself ----------------------------------------------------------------------


def test_an_end_is_turned_about_the_line_at_the_platform() -> None:
    lean, rho = Lean(math.radians(8), 300.0), math.radians(8)
    # A right-handed turn about X, which takes Z towards -Y.
    turn = np.array(
        [[1, 0, 0], [0, math.cos(rho), -math.sin(rho)], [0, math.sin(rho), math.cos(rho)]]
    )
    pivot = np.array([0.0, 0.0, 300.0])
    rng = np.random.default_rng(3)
    for p in rng.uniform(-900, 900, (20, 3)):
        wanted = pivot + turn @ (p - pivot)
        there = lean.point((p[0], p[1], p[2]))
        assert np.allclose(there, wanted, atol=1e-9)
        assert np.allclose(lean.own(there), p, atol=1e-9)
        # Plumb height, and back, for that distance from the inside faces.
        assert lean.plumb(p[2], p[1]) == pytest.approx(there[2], abs=1e-9)
        assert lean.along(there[2], p[1]) == pytest.approx(p[2], abs=1e-9)
    assert lean.point((5.0, 0.0, 300.0)) == pytest.approx((5.0, 0.0, 300.0))
    assert lean.point((0.0, 0.0, 800.0))[1] < 0 < lean.point((0.0, 0.0, 0.0))[1]
    assert lean.inside_y(0.0) == pytest.approx(300 * math.tan(rho))


def test_without_a_rake_nothing_is_touched() -> None:
    frame, point = Frame((1.0, -0.0, 2.0)), (1.0, -0.0, 0.1)
    assert UPRIGHT.placed(frame) is frame
    assert UPRIGHT.point(point) is point
    assert UPRIGHT.direction(point) is point
    bed = layout()
    assert [p for p in make_pieces(bed) if p.kind.shape.trims] == []
    assert bed.overall[1] == bed.pocket_length + 2 * bed.sheet.leg.thickness


# --- compound cuts -------------------------------------------------------------------------


def rail_bed(head: float, foot: float, length: float, rake: float) -> Layout:
    """A straight-legged bed whose pocket has the widths and the length of a worked example."""
    table = as_table(load_sheet("hawthorn"))
    table["mattress"] |= {
        "width": f"{foot - 22} mm",
        "length": f"{length - 22} mm",
        "side_clearance": "11 mm",
        "end_clearance": "22 mm",
    }
    table["frame"] |= {"stance": f"{head - foot} mm", "rake": rake}
    table["side_rail"] |= {"joint": "butt"}
    table["runner"] |= {"width": "70 mm"}
    return lay_out(check_sheet(table))


# Source: engineering tables of worked angles, checked there against vectors.
@pytest.mark.parametrize(
    ("given", "length", "mitre", "tilt"),
    [
        ((1680, 1620, 2060, 0), 2060.218, 0.0, 0.834),
        ((1680, 1620, 2000, 8), 2000.225, 8.001, 0.851),
    ],
)
def test_the_rails_head_end_is_cut_as_the_table_says(
    given: tuple[float, float, float, float], length: float, mitre: float, tilt: float
) -> None:
    bed = rail_bed(*given)
    assert bed.rail_length == pytest.approx(length, abs=5e-4)
    (rail,) = make_side_rail(bed)
    if not rail.shape.trims:
        assert math.degrees(bed.yaw) == pytest.approx(tilt, abs=5e-4)
        return
    normal = np.array(rail.shape.trims[0].frame.z)  # part frame: x along, z through
    # The plane's line on the wide face, and the plane's lean to it.
    line = np.cross(normal, [0, 0, 1])
    assert angle_deg(line, np.array([0, 1.0, 0])) == pytest.approx(mitre, abs=5e-4)
    assert 90 - angle_deg(normal, np.array([0, 0, 1.0])) == pytest.approx(tilt, abs=5e-4)
    assert rail_cut(bed).mitre_deg == pytest.approx(mitre, abs=5e-4)
    assert rail_cut(bed).tilt_deg == pytest.approx(tilt, abs=5e-4)


# Source: the same tables; heights there are those of the legs alone.
@pytest.mark.parametrize(
    ("splay", "rake", "resultant", "mitre"), [(5.0, 5.0, 7.053, 4.981), (10.0, 15.0, 17.784, 9.666)]
)
def test_a_splayed_and_raked_leg_stands_and_is_cut_as_the_table_says(
    splay: float, rake: float, resultant: float, mitre: float
) -> None:
    # The sheet's splay is that in the leg's plane; seen from the foot it is the table's.
    own = math.degrees(math.atan(math.tan(math.radians(splay)) * math.cos(math.radians(rake))))
    bed = layout(
        "campion", None, f"leg.splay={own:.12f}", f"frame.rake={rake}", "side_rail.joint=butt",
        "leg.top_width=3 in", "leg.ankle_width=3 in", "leg.foot_width=3 3/8 in",
    )  # fmt: skip
    leg = next(iter(make_legs(bed)))
    grain = np.array(leg.placement.x)  # up the outer edge
    across, along = (math.degrees(math.atan(-grain[i] / grain[2])) for i in (0, 1))
    assert abs(across) == pytest.approx(splay, abs=1e-9)
    assert abs(along) == pytest.approx(rake, abs=1e-9)
    assert grain[1] < 0 < grain[2]  # its top leans back
    assert angle_deg(grain, np.array([0, 0, 1.0])) == pytest.approx(resultant, abs=5e-4)
    normal = np.array(leg.shape.trims[0].frame.z)
    line = np.cross(normal, [0, 0, 1])
    assert angle_deg(line, np.array([0, 1.0, 0])) == pytest.approx(mitre, abs=5e-4)
    assert 90 - angle_deg(normal, np.array([0, 0, 1.0])) == pytest.approx(rake, abs=1e-9)
    assert level_cut(bed).mitre_deg == pytest.approx(mitre, abs=5e-4)
    assert level_cut(bed).tilt_deg == pytest.approx(rake)
    # The floor itself: down in the bed, and at zero.
    there = leg.placement @ leg.shape.trims[0].frame
    assert there.z == pytest.approx((0, 0, -1))
    assert there.origin[2] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("name", ["campion", "hawthorn", "sorrel", HEATHER])
def test_the_outline_goes_on_to_where_the_level_cut_begins(name: str) -> None:
    bed = layout(name, None, "frame.rake=6", "side_rail.joint=butt")
    (head, foot), lean = make_legs(bed), bed.head.lean
    inside = head.shape.thickness  # of a right head leg
    floor = head.shape.outline.named("floor")[0]
    for u, v in (floor.start, floor.end):
        assert head.placement.point((u, v, inside))[2] == pytest.approx(0, abs=1e-9)
        assert head.placement.point((u, v, 0.0))[2] < -3
    assert bed.head.below_floor == pytest.approx(bed.platform * (1 / math.cos(lean.rake) - 1))
    # Above its floor the outline is the foot leg's family.
    names = [n for n in head.shape.outline.names if n != "toe"]
    assert sorted(names) == sorted(foot.shape.outline.names)
    for mine in head.shape.outline.edges():
        if mine.is_arc:
            (twin,) = (e for e in foot.shape.outline.named(mine.name))
            assert (mine.radius, mine.length) == pytest.approx((twin.radius, twin.length))


def test_the_overall_length_reaches_to_the_leaning_top() -> None:
    for name in ("hawthorn", HEATHER):
        bed = layout(name, None, "frame.rake=8", "side_rail.joint=bolts")
        points = [
            piece.placement.point(corner)
            for piece in make_pieces(bed)
            for corner in corners(piece)
            if not piece.kind.is_metal
        ]
        low, high = np.min(points, axis=0), np.max(points, axis=0)
        assert bed.overall == pytest.approx(tuple(high - low - [0, 0, -low[2]]), abs=1e-6)


def corners(piece: Piece) -> list[Vector]:
    """Corners of a part's pushed outline that no trim takes off."""
    shape = piece.kind.shape
    low, high = shape.reach
    found: list[Vector] = []
    for a, b in shape.outline.vertices:
        for c in (low, high):
            point = {"xy": (a, b, c), "xz": (a, c, b), "yz": (c, a, b)}[shape.face]
            if all(t.frame.inverse().point(point)[2] < 1e-6 for t in shape.trims):
                found.append(point)
    return found


# --- hooks ---------------------------------------------------------------------------------


def worst_bite(row: HookPlate, rake_deg: float) -> float:
    """Greatest area (mm2) that a hook shares with its slot plate while the rail drops plumb.

    Side view in the joint frame: up along the leg, and into it.
    """
    lean, t = row.drop * math.tan(math.radians(row.wedge)), row.thickness
    hook = Polygon(
        [(0, 0), (row.neck, 0), (row.neck, row.projection), (-row.drop, row.projection),
         (-row.drop, t + lean), (0, t)]
    )  # fmt: skip
    slot = row.neck + row.drop + 1.0
    plates = (box(-60, 0, 0, t), box(slot, 0, 60, t))
    rake, worst = math.radians(rake_deg), 0.0
    for lifted in np.linspace(0, row.drop, 200):
        moved = translate(hook, lifted * math.cos(rake), -lifted * math.sin(rake))
        worst = max(worst, *(moved.intersection(plate).area for plate in plates))
    return worst


def test_hooks_drop_plumb_while_the_rake_is_no_more_than_their_wedge() -> None:
    row = HookPlate(name="tried")
    assert row.wedge == 6
    assert worst_bite(row, row.wedge) < 1e-6
    assert worst_bite(row, row.wedge - 2) < 1e-6
    assert worst_bite(row, row.wedge + 1) > 0.05  # a nose 0.14 mm too far in, over its last drop
    layout("hawthorn", None, "frame.rake=6")
    with pytest.raises(InputError, match="at most 6 deg") as refused:
        layout("hawthorn", None, "frame.rake=6.01")
    assert refused.value.parameter == "frame.rake"
    assert 'side_rail.joint = "bolts"' in refused.value.remedy
    layout("hawthorn", None, "frame.rake=15", "side_rail.joint=bolts")


def test_a_steeper_wedge_of_the_makers_own_takes_more_rake() -> None:
    table = as_table(load_sheet("hawthorn"))
    table["fastener"]["hook_plate"] = [
        {
            "name": "steep",
            "wedge": 9,
            "length": "120 mm",
            "hook_pitch": "62 mm",
            "screw_pitch": "105 mm",
            "projection": "10.5 mm",
        }
    ]
    table["frame"]["rake"] = 8
    assert lay_out(check_sheet(table)).fastener is not None


# --- refusals and their remedies -----------------------------------------------------------


def test_what_the_lean_leaves_no_room_for_is_refused_with_a_true_remedy() -> None:
    raked = ("frame.rake=12", "side_rail.joint=butt")
    # Upright its edge would be 20 mm off the floor; its show face stands 42 mm further out.
    low = ("headboard.board.1.above_platform=-295 mm", "headboard.board.1.width=500 mm")
    with pytest.raises(InputError, match="above the floor") as refused:
        layout("hawthorn", None, *raked, *low)
    assert refused.value.allowed.endswith("at least 20 mm")
    edge = 315 - 295 * math.cos(math.radians(12)) - 42 * math.sin(math.radians(12))
    assert f"puts its edge {edge:.1f} mm above" in refused.value.allowed
    with pytest.raises(InputError, match="raked head end") as refused:
        layout("hawthorn", None, *raked, "centre_rail.end_gap=50 mm")
    most = refused.value.allowed.partition(", ")[2].split(",")[0]
    layout("hawthorn", None, *raked, f"centre_rail.end_gap={most}")
    narrow = ("frame.rake=15", "side_rail.joint=bolts", "runner.height=20 mm",
              "side_rail.above_platform=20 mm", "fastener.name=bolt-m8-110")  # fmt: skip
    with pytest.raises(InputError, match="rise with the rake") as refused:
        layout("hawthorn", None, *narrow, "side_rail.width=94 mm")
    least = refused.value.allowed.partition("at least ")[2].partition(" for")[0]
    layout("hawthorn", None, *narrow, f"side_rail.width={least}")


def test_runner_centre_rail_and_slats_are_clear_of_what_leans_in_below_the_platform() -> None:
    bed = layout("campion", "us-king", "frame.rake=9", "side_rail.joint=bolts")
    gap = bed.sheet.runner.end_gap
    for piece in make_pieces(bed):
        if not piece.name.startswith(("runner", "centre_rail", "slat")):
            continue
        inside = [bed.head.lean.own(piece.placement.point(p))[1] for p in corners(piece)]
        least = {"r": gap * math.cos(bed.rake), "c": bed.sheet.centre_rail.end_gap - 1e-9, "s": 30}
        assert min(inside) >= least[piece.name[0]] - 1.0, piece.name
        if piece.name.startswith("runner"):
            # The nearest corner keeps the gap, along the bed.
            assert min(inside) / math.cos(bed.rake) == pytest.approx(gap, abs=1e-6)


# --- marks ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["campion", "hawthorn", HEATHER])
@pytest.mark.parametrize("joint", ["loose_tenon", "tenon", "dowels"])
def test_marks_up_a_leaning_leg_are_along_it(name: str, joint: str) -> None:
    bed = layout(name, None, "frame.rake=6", f"headboard.joint={joint}")
    pieces = make_pieces(bed)
    part = next(p for p in setting_out(bed, pieces) if p.kind.startswith("head_leg"))
    leg = next(p for p in pieces if p.kind.name == part.kind and p.name.endswith(part.hands[0]))
    (edge,) = leg.kind.shape.outline.named("joint")
    ends = sorted([edge.start, edge.end])  # the foot end first, by x
    start, end = (np.array(leg.placement.point((*p, leg.kind.shape.thickness))) for p in ends)
    up = (end - start) / np.linalg.norm(end - start)
    assert np.allclose(np.abs(up), np.abs(bed.head.lean.direction((0, 0, 1))), atol=1e-9)
    row = next(
        r for r in part.rows if r.reference.startswith("from the") and "up the" in r.reference
    )
    marks = {m.label: m.true for m in row.marks}
    found = 0
    for cut in leg.kind.shape.tenon_cuts:
        middle = np.array(leg.placement.point(cut.frame.origin))
        along = float((middle - start) @ up)
        assert any(
            abs(along - true) < 1e-6 for label, true in marks.items() if label.endswith(CENTRE)
        ), (cut.name, along)
        found += 1
    assert found >= 3
    assert marks["top end"] == pytest.approx(float((end - start) @ up))
    low = bed.head.lean.point((0, 0, bed.head.lean.along(bed.rail_bottom)))
    assert low[2] == pytest.approx(bed.rail_bottom)
    edges = next(true for label, true in marks.items() if "side rail: lower edge" in label)
    assert edges == pytest.approx(float((np.array(low) - start) @ up), abs=1e-6)


@pytest.mark.parametrize("rail", ["hook_plates", "brackets", "bolts"])
def test_marks_at_a_rails_head_end_are_along_the_slanting_cut(rail: str) -> None:
    bed = layout("campion", None, "frame.rake=6", f"side_rail.joint={rail}")
    pieces = make_pieces(bed)
    piece = next(p for p in pieces if p.name == "side_rail_right")
    part = next(p for p in setting_out(bed, pieces) if p.kind == piece.kind.name)
    corner = np.array(  # lower corner of the head end on the inside face
        (bed.half_width(bed.head.lean.inside_y(bed.rail_bottom)),
         bed.head.lean.inside_y(bed.rail_bottom), bed.rail_bottom)
    )  # fmt: skip
    up = np.array(bed.head.lean.direction((0, 0, 1)))
    words = "from the lower edge, on both ends" if rail != "brackets" else "from the lower edge, on"
    rows = [r for r in part.rows if r.reference.startswith(words)]
    trues = [m.true for r in rows for m in r.marks if m.what == CENTRE]
    cuts = [c for c in piece.kind.shape.cuts if c.name.startswith("head_fastener")]
    ends = [c for c in cuts if abs(c.frame.z[0]) > 0.9]
    for cut in ends:
        along = float((np.array(piece.placement.point(cut.frame.origin)) - corner) @ up)
        assert min(abs(along - true) for true in trues) < 1e-6, cut.name
    assert ends
    assert any("platform's line" in note for note in part.notes)
    head = next(r for r in part.rows if "long corner" in r.reference)
    width = bed.sheet.side_rail.width
    slope = math.tan(bed.rake) / math.cos(bed.yaw)
    assert [m.true for m in head.marks] == pytest.approx(
        [(bed.rail_top - bed.platform) * slope, width * slope]
    )


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        (HEATHER, ()),
        ("campion", ("frame.rake=6", "headboard.joint=tenon")),
        ("hawthorn", ("frame.rake=5", "side_rail.joint=brackets", "headboard.joint=dowels")),
        (HEATHER, ("centre_rail.ends=cleats", "headboard.board.1.above_platform=-200 mm",
                   "headboard.board.1.width=480 mm",
                   "footboard.board.1.above_platform=-140 mm", "footboard.board.1.width=200 mm")),
    ],
)  # fmt: skip
def test_every_cut_of_a_raked_bed_is_marked_and_has_its_jig(
    name: str, changes: tuple[str, ...]
) -> None:
    walk(name, None, changes)


def test_cards_and_steps_tell_both_compound_cuts() -> None:
    bed = layout(HEATHER)
    cards = {jig.name: dict(jig.card.rows) for jig in make_jigs(bed, make_pieces(bed))}
    told = [rows["level cut"] for name, rows in cards.items() if "level cut" in rows]
    assert told
    for words in told:
        assert "mitre 3.5 deg" in words
        assert "blade tilt 8 deg" in words
    assert not any("level cut" in rows for name, rows in cards.items() if "foot_leg" in name)


# --- reckoning -----------------------------------------------------------------------------


def test_the_frame_stands_where_the_leaning_parts_are() -> None:
    bed = layout(HEATHER)
    basis = basis_of(bed.sheet)
    model = bed_model(bed, basis.rules, 20.0)
    foot, top = (
        np.array(model.frame.nodes[model.spots[f"head_leg_right{s}"]]) for s in ("", "_top")
    )
    half = bed.sheet.leg.thickness / 2
    rho = bed.rake
    # By hand: the middle of the foot on the floor, and of the top square to the leg.
    assert foot[2] == pytest.approx(0, abs=1e-9)
    assert foot[1] == pytest.approx(bed.platform * math.tan(rho) - half / math.cos(rho))
    reach = bed.head.leg_top - bed.platform
    assert top[1] == pytest.approx(-half * math.cos(rho) - reach * math.sin(rho))
    assert top[2] == pytest.approx(bed.platform - half * math.sin(rho) + reach * math.cos(rho))


def test_places_that_coincide_do_not_swamp_the_frame() -> None:
    """The middle slat of an odd row lies at the rail's middle but for the last bit."""
    moved = []
    for by in (0.0, 0.01):
        bed = layout(HEATHER, None, f"leg.thickness={56 + by}", "frame.rake=0")
        row = bed.slats
        assert row.count % 2 == 1
        cases = {case.name: case for case in strength(bed).frame}
        moved.append(cases["headboard push back"].by_class["usual"].moved)
    assert moved[0] == pytest.approx(moved[1], rel=1e-2)


def test_tipping_is_a_balance_about_the_rear_edge_of_the_head_feet() -> None:
    rows = {rake: layout("hawthorn", None, f"frame.rake={rake}", "side_rail.joint=bolts")
            for rake in (0, 15)}  # fmt: skip
    found = {rake: tipping(bed, basis_of(bed.sheet)) for rake, bed in rows.items()}
    assert found[0].edge_y == -68
    rho, bed = math.radians(15), rows[15]
    # The show face meets the floor 68 / cos(rho) behind the inside face, which is forward
    # of the pivot by the platform's height times tan(rho).
    assert found[15].edge_y == pytest.approx(315 * math.tan(rho) - 68 / math.cos(rho))
    for at in found.values():
        assert at.push_n * at.height == pytest.approx(at.weight_n * (at.middle_y - at.edge_y))
        assert 700 < at.weight_n < 1500
    assert found[15].push_n < found[0].push_n
    assert found[15].height == pytest.approx(bed.platform + 445 * math.cos(rho))


def test_comfort_tells_how_far_the_headboard_stands_behind_the_mattress() -> None:
    told = {a.topic: a for a in comfort(layout(HEATHER))}
    behind = told["headboard behind the mattress"]
    assert behind.measured == pytest.approx(200 * math.tan(math.radians(8)))
    assert "headboard behind the mattress" not in {a.topic for a in comfort(layout())}


# --- sheets --------------------------------------------------------------------------------


def test_an_inch_sheet_and_its_metric_twin_are_one_bed() -> None:
    table: dict[str, Any] = as_table(load_sheet("campion", changes=("frame.rake=5.5",)))
    twin = check_sheet({**table, "design": {**table["design"], "unit": "mm"}})
    mine, other = layout("campion", None, "frame.rake=5.5"), lay_out(twin)
    assert mine.overall == pytest.approx(other.overall)
    for a, b in zip(make_legs(mine), make_legs(other), strict=True):
        assert a.shape.key() == b.shape.key()
