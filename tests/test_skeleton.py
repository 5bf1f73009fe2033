"""The layout: stations, heights, leg family, slats, and refusals whose remedies are true."""

from __future__ import annotations

import copy
import json
import math
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import bedmodel
from bedmodel.bed import Piece
from bedmodel.errors import InputError
from bedmodel.joints import tenon_joints
from bedmodel.outline import Edge, Outline
from bedmodel.pieces import make_pieces
from bedmodel.pocket import Pocket
from bedmodel.sheets import check_sheet, load_sheet, parameters
from bedmodel.skeleton import Layout, lay_out
from bedmodel.slats import slat_row
from bedmodel.spec import Sheet
from bedmodel.units import parse_length
from tests.closed_forms import DESIGNS, design
from tests.sheet_space import sheets

Table = dict[str, Any]
FIELDS = dict(parameters())
QUICK = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], database=None)


def laid(**sections: Table) -> Layout:
    return lay_out(check_sheet(sections))


def butted(sheet: Sheet) -> Sheet:
    """The sheet with its rails butted, so that no fastener is in the way of the boards' joints."""
    rail = sheet.side_rail.model_copy(update={"joint": "butt"})
    return sheet.model_copy(update={"side_rail": rail})


def pieces_of(layout: Layout) -> dict[str, Piece]:
    return {piece.name: piece for piece in make_pieces(layout)}


def corners(piece: Piece, edge_name: str) -> np.ndarray:
    """Corners, in the bed, of the faces that an outline's edges of one name sweep."""
    shape = piece.kind.shape
    push = {"xy": (0, 0, 1), "xz": (0, 1, 0), "yz": (1, 0, 0)}[shape.face]
    points = []
    for edge in shape.outline.named(edge_name):
        for a, b in (edge.start, edge.end):
            flat = {"xy": (a, b, 0.0), "xz": (a, 0.0, b), "yz": (0.0, a, b)}[shape.face]
            for k in (0.0, shape.depth):
                points.append(piece.placement.point(tuple(np.array(flat) + k * np.array(push))))
    return np.array(points)


def crossed(a: np.ndarray, b: np.ndarray) -> float:
    """The cross product in the plane."""
    return float(a[0] * b[1] - a[1] * b[0])


# --- pocket, stance, yaw ------------------------------------------------------------------


@pytest.mark.parametrize("name", DESIGNS)
def test_pocket_is_the_mattress_and_its_room(name: str) -> None:
    sheet = design(name, "us-queen")
    layout = lay_out(sheet)
    assert layout.pocket_length == pytest.approx(2032 + sheet.mattress.end_clearance)
    foot = 1524 + 2 * sheet.mattress.side_clearance
    assert 2 * layout.half_foot == pytest.approx(foot)
    assert 2 * layout.half_head == pytest.approx(foot + sheet.frame.stance)
    assert layout.half_width(layout.pocket_length / 4) == pytest.approx(
        foot / 2 + sheet.frame.stance * 3 / 8
    )


@given(stance=st.floats(0, 120), length=st.floats(1600, 2300))
def test_rail_between_the_two_ends(stance: float, length: float) -> None:
    layout = laid(
        frame={"stance": stance},
        mattress={"width": 1400, "length": length, "end_clearance": 25},
        slat={"gap_least": 45, "gap_greatest": 75, "bearing_least": 8},
        runner={"width": 110, "joint": "glue"},
    )
    clear = length + 25
    assert layout.rail_length == pytest.approx(math.sqrt(clear**2 + (stance / 2) ** 2), rel=1e-12)
    assert layout.yaw == pytest.approx(math.asin(stance / 2 / layout.rail_length), abs=1e-12)
    assert layout.stance == pytest.approx(stance, abs=1e-9)
    found = pieces_of(layout)
    for side, sign in (("left", -1), ("right", 1)):
        rail = found[f"side_rail_{side}"]
        # Both ends lie wholly in the planes of the legs' inside faces.
        # A part within a nanometre of its own mirror image counts as its own twin.
        assert np.allclose(corners(rail, "head_end")[:, 1], 0.0, atol=2e-6)
        assert np.allclose(corners(rail, "foot_end")[:, 1], clear, atol=2e-6)
        # The inner corners start at the head's half width and end at the foot's; without
        # a stance the left rail is the right one turned round, so names do not tell them.
        ends = np.vstack([corners(rail, "head_end"), corners(rail, "foot_end")])
        for y, half in ((0.0, 711 + stance / 2), (clear, 711)):
            inner = (sign * ends[np.abs(ends[:, 1] - y) < 1e-3, 0]).min()
            assert inner == pytest.approx(half, abs=2e-6)


def test_inside_faces_meet_the_joint_faces() -> None:
    """Flush at reveal 0; with a reveal the rail stands out by it, on both ends alike."""
    for reveal in (0.0, 3.5):
        layout = lay_out(load_sheet("campion", changes=[f"side_rail.reveal={reveal} mm"]))
        found = pieces_of(layout)
        for end, y in (("head", 0.0), ("foot", layout.pocket_length)):
            for side, sign in (("left", -1), ("right", 1)):
                joint = corners(found[f"{end}_leg_{side}"], "joint")
                assert np.ptp(joint[:, 0]) < 1e-9  # plumb
                inside = corners(found[f"side_rail_{side}"], "inside")
                at_end = inside[np.abs(inside[:, 1] - y) < 1e-6]
                assert len(at_end) == 2
                assert np.allclose(sign * (at_end[:, 0] - joint[0, 0]), reveal, atol=1e-9)


def test_end_cut_of_a_rail_in_numbers_a_maker_knows() -> None:
    """27 mm of rail turned by 0.83 degrees: the end runs 0.4 mm off square."""
    clear = 2054.0
    stance = 2 * clear * math.tan(math.radians(0.83))
    layout = laid(
        mattress={"size": "us-queen"},
        frame={"stance": stance},
        side_rail={"thickness": 27},
        runner={"width": 60},
    )
    assert math.degrees(layout.yaw) == pytest.approx(0.83, abs=1e-9)
    rail = pieces_of(layout)["side_rail_right"].kind.shape
    (head,) = rail.outline.named("head_end")
    assert abs(head.start[0] - head.end[0]) == pytest.approx(0.39, abs=0.01)
    # The blank is longer than the rail's inside face by that offset.
    assert rail.length - layout.rail_length == pytest.approx(0.39, abs=0.01)
    (foot,) = rail.outline.named("foot_end")
    turn = crossed(np.subtract(head.end, head.start), np.subtract(foot.end, foot.start))
    assert turn == pytest.approx(0.0, abs=1e-9)  # both ends are parallel


@pytest.mark.parametrize("name", DESIGNS)
def test_runners_keep_their_gap_and_lie_on_the_rails(name: str) -> None:
    layout = lay_out(design(name, "us-queen"))
    found = pieces_of(layout)
    runner, rail = found["runner_right"], found["side_rail_right"]
    ends = corners(runner, "end")
    gap = layout.sheet.runner.end_gap
    assert ends[:, 1].min() == pytest.approx(gap, abs=1e-9)
    assert layout.pocket_length - ends[:, 1].max() == pytest.approx(gap, abs=1e-9)
    normal = np.array(rail.placement.z)
    plane = corners(rail, "inside")[0] @ normal
    assert (ends @ normal).max() == pytest.approx(plane, abs=1e-9)
    assert ends[:, 2].max() == pytest.approx(layout.platform - layout.sheet.slat.thickness)


# --- heights ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given_heights", "platform", "thickness"),
    [
        ({"platform": 310, "thickness": 240}, 310, 240),
        ({"platform": 310, "mattress_top": 550}, 310, 240),
        ({"mattress_top": 550, "thickness": 240}, 310, 240),
        ({"platform": 310, "mattress_top": 550, "thickness": 240}, 310, 240),
        ({"platform": 310}, 310, 250),
        ({"mattress_top": 550}, 300, 250),
        ({"thickness": 240}, 300, 240),
        ({}, 300, 250),
    ],
)
def test_two_heights_fix_the_third(
    given_heights: dict[str, float], platform: float, thickness: float
) -> None:
    rest = dict(given_heights)
    mattress = {"thickness": rest.pop("thickness")} if "thickness" in rest else {}
    layout = laid(height=rest, mattress=mattress)
    assert layout.platform == platform
    assert layout.mattress.thickness == thickness
    found = pieces_of(layout)
    slat = found["slat_01"]
    assert slat.placement.origin[2] + slat.kind.shape.thickness == pytest.approx(platform)


def test_heights_that_contradict_are_refused() -> None:
    table: Table = {
        "height": {"platform": 310, "mattress_top": 550},
        "mattress": {"thickness": 200},
    }
    with pytest.raises(InputError) as caught:
        lay_out(check_sheet(table))
    assert caught.value.parameter == "height.mattress_top"
    assert "510 mm" in caught.value.allowed
    table["height"]["mattress_top"] = 510
    assert lay_out(check_sheet(table)).platform == 310
    for free in ("platform", "mattress_top"):  # each of the ways out that it names
        heights = {k: v for k, v in {"platform": 310, "mattress_top": 550}.items() if k != free}
        assert laid(height=heights, mattress={"thickness": 200})
    assert laid(height={"platform": 310, "mattress_top": 550}).mattress.thickness == 240


@pytest.mark.parametrize(("top", "platform"), [(230, 30), (1000, 800)])
def test_a_platform_that_comes_out_of_range_is_refused(top: float, platform: float) -> None:
    with pytest.raises(InputError) as caught:
        laid(height={"mattress_top": top}, mattress={"thickness": 200})
    assert f"{platform} mm" in caught.value.allowed
    assert caught.value.parameter == "height.mattress_top"


# --- legs -----------------------------------------------------------------------------------


def in_uv(layout: Layout, end: str) -> Outline:
    return layout.legs.outline(layout.head.leg_top if end == "head" else layout.foot.leg_top)


@pytest.mark.parametrize("name", ["campion", "sorrel", "odd"])
def test_leg_in_the_bed_stands_plumb_splayed_and_on_the_floor(name: str) -> None:
    layout = lay_out(design(name, "us-queen"))
    found = pieces_of(layout)
    splay = math.radians(layout.sheet.leg.splay)
    for end in ("head", "foot"):
        for side, sign in (("left", -1), ("right", 1)):
            leg = found[f"{end}_leg_{side}"]
            assert np.ptp(corners(leg, "joint")[:, 0]) < 1e-9
            assert np.allclose(corners(leg, "floor")[:, 2], 0.0, atol=1e-9)
            assert np.ptp(corners(leg, "top")[:, 2]) < 1e-9
            outer = corners(leg, "outer")
            low, high = outer[outer[:, 2].argmin()], outer[outer[:, 2].argmax()]
            run = high - low
            assert sign * run[0] / run[2] == pytest.approx(-math.tan(splay), rel=1e-9)
            # The grain runs up the outer edge.
            grain = np.array(leg.placement.x)
            assert grain @ run / np.linalg.norm(run[[0, 2]]) == pytest.approx(1.0)


@pytest.mark.parametrize("name", ["campion", "sorrel", "odd"])
def test_foot_leg_is_the_head_leg_cut_lower(name: str) -> None:
    layout = lay_out(design(name, "us-queen"))
    head, foot = in_uv(layout, "head"), in_uv(layout, "foot")
    assert layout.head.leg_top != layout.foot.leg_top
    edges = {e.name: e for e in head.edges()}
    for edge in foot.edges():
        twin = edges[edge.name]
        if edge.name == "top":
            # On the same two lines, and level.
            assert edge.start[1] == edge.end[1] == layout.foot.leg_top
            continue
        if edge.name in ("outer", "joint"):
            a, b = np.subtract(twin.end, twin.start), np.subtract(edge.end, edge.start)
            assert crossed(a, b) == pytest.approx(0.0, abs=1e-6)
            shared = edge.start if edge.name == "outer" else edge.end
            assert shared == (twin.start if edge.name == "outer" else twin.end)
            continue
        assert edge == twin


@pytest.mark.parametrize("name", ["campion", "sorrel", "odd"])
def test_curves_are_hollow_and_tangent_to_the_ankle(name: str) -> None:
    outline = in_uv(lay_out(design(name, "us-queen")), "head")
    (ankle,), (curve,), (flare,), (outer,) = map(
        outline.named, ("ankle", "curve", "flare", "outer")
    )
    along = np.subtract(ankle.end, ankle.start) / ankle.chord
    for arc, end in ((curve, ankle.start), (flare, ankle.end)):
        radius = np.subtract(end, arc.centre)
        assert radius @ along / arc.radius == pytest.approx(0.0, abs=1e-9)
        # The centre lies on the inner side, away from the outer edge, outside the wood.
        away = np.array([-along[1], along[0]])  # the wood is to the left of the run
        assert away @ np.subtract(arc.centre, end) == pytest.approx(-arc.radius)
        middle = np.array(arc.point_at(0.5))
        chord = np.add(arc.start, arc.end) / 2
        assert away @ (middle - chord) > 0  # bent into the wood
    lean = np.subtract(outer.start, outer.end) / outer.chord
    assert along @ lean == pytest.approx(1.0)
    sheet = design(name, "us-queen").leg
    assert _apart(ankle, outer) == pytest.approx(sheet.ankle_width)
    assert outline.named("floor")[0].chord == pytest.approx(sheet.foot_width)
    assert 2 * flare.radius == pytest.approx(sheet.flare_diameter)
    if sheet.curve_diameter is not None:
        assert 2 * curve.radius == pytest.approx(sheet.curve_diameter)


def _apart(one: Edge, other: Edge) -> float:
    run = np.subtract(one.end, one.start) / one.chord
    return abs(crossed(run, np.subtract(other.start, one.start)))


# --- twins and kinds ----------------------------------------------------------------------


@pytest.mark.parametrize("name", DESIGNS)
def test_left_pieces_mirror_the_right_ones(name: str) -> None:
    found = pieces_of(lay_out(design(name, "us-queen")))
    rights = [n for n in found if n.endswith("_right")]
    assert len(rights) >= 7
    for right in rights:
        one, other = found[right], found[right.replace("_right", "_left")]
        place = other.placement
        assert np.linalg.det([place.x, place.y, place.z]) == pytest.approx(1.0)
        names = set(one.kind.shape.outline.names)
        image = np.vstack([corners(one, n) for n in names]) * [-1, 1, 1]
        there = np.vstack([corners(other, n) for n in names])
        far = np.linalg.norm(image[:, None] - there[None], axis=2)
        assert far.min(axis=0).max() < 1e-6
        assert far.min(axis=1).max() < 1e-6
        assert one.kind.species == other.kind.species


@pytest.mark.parametrize("name", DESIGNS)
def test_which_parts_are_alike(name: str) -> None:
    layout = lay_out(design(name, "us-queen"))
    found = pieces_of(layout)
    # A rail of a bed with a stance is turned upside down for the other side: so its
    # fasteners must stand at half its height.
    assert layout.fastener is not None
    off_middle = layout.fastener.height - (layout.rail_bottom + layout.rail_top) / 2
    rails_alike = layout.stance == 0 or abs(off_middle) < 1e-6
    assert rails_alike == (name != "odd")
    for part, alike in (("side_rail", rails_alike), ("runner", True)):
        left, right = (found[f"{part}_{side}"].kind for side in ("left", "right"))
        assert (left is right) == alike
        names = {part} if alike else {f"{part}_left", f"{part}_right"}
        assert {left.name, right.name} == names
    # The boards stand near one face of the leg, so a left leg is no right leg.
    for end in ("head", "foot"):
        left, right = (found[f"{end}_leg_{side}"].kind for side in ("left", "right"))
        assert (left.name, right.name) == (f"{end}_leg_left", f"{end}_leg_right")
        assert left.shape.key() != right.shape.key()
        assert left.shape.reflected("z").key() == right.shape.key()
    slats = {piece.kind.name for n, piece in found.items() if n.startswith("slat_")}
    assert slats == {"slat"}


def test_a_straight_leg_with_centred_boards_fits_both_sides() -> None:
    centred = {"reveal": 15, "board": [{"width": 140, "thickness": 30}]}
    butt = {"joint": "butt"}
    rest: Table = {"leg": {"thickness": 60}, "footboard": centred}
    found = pieces_of(laid(headboard=centred, side_rail=butt, **rest))
    for end in ("head", "foot"):
        left, right = (found[f"{end}_leg_{side}"] for side in ("left", "right"))
        assert left.kind is right.kind
    # Head and foot legs are named apart though they are equal: the maker needs both words.
    assert {p.kind.name for n, p in found.items() if "_leg_" in n} == {"head_leg", "foot_leg"}
    off = {"reveal": 15.5, "board": [{"width": 140, "thickness": 30}]}
    found = pieces_of(laid(headboard=off, side_rail=butt, **rest))
    assert found["head_leg_left"].kind is not found["head_leg_right"].kind
    assert found["foot_leg_left"].kind is found["foot_leg_right"].kind
    # A fastener is let into one face, and makes a leg left or right.
    for joint in ("hook_plates", "brackets", "bolts"):
        found = pieces_of(laid(headboard=centred, side_rail={"joint": joint}, **rest))
        for end in ("head", "foot"):
            assert found[f"{end}_leg_left"].kind is not found[f"{end}_leg_right"].kind


@pytest.mark.parametrize("name", DESIGNS)
def test_tenons_share_their_board_evenly(name: str) -> None:
    """Each in the middle of its share of the width and of the board's thickness.

    Where a rail's fastener is in the way they give way to it: ``test_fasteners``.
    """
    layout = lay_out(butted(design(name, "us-queen")))
    found = pieces_of(layout)
    for joint in tenon_joints(layout):
        board, tenon = found[joint.board], found[f"{joint.name}_right"]
        width, thick = board.kind.shape.width, board.kind.shape.thickness
        bottom, face = board.placement.origin[2], board.placement.origin[1]
        height = tenon.placement.origin[2] + tenon.kind.shape.width / 2
        count, number = len(joint.plan.heights), int(joint.name[-1])
        assert height - bottom == pytest.approx(width * (2 * number - 1) / (2 * count))
        middle = [tenon.placement.point((0.0, 0.0, z))[1] for z in (0, tenon.kind.shape.thickness)]
        assert sum(middle) / 2 == pytest.approx(face - thick / 2)


@pytest.mark.parametrize("name", DESIGNS)
def test_tenons_reach_as_deep_as_told_into_both_parts(name: str) -> None:
    layout = lay_out(design(name, "us-queen"))
    found = pieces_of(layout)
    for joint in tenon_joints(layout):
        tenon = found[f"{joint.name}_right"]
        leg = found[f"{joint.leg}_right"]
        x0 = tenon.placement.origin[0]
        face = corners(leg, "joint")[0, 0]
        assert face - x0 == pytest.approx(joint.plan.embedment_board)
        assert x0 + tenon.kind.shape.length - face == pytest.approx(joint.plan.embedment_leg)
        # Its mortise is longer by the gap for glue, and opens on the joint face.
        cut = next(c for c in leg.kind.shape.cuts if c.name == f"{joint.name}_right")
        opening = np.array(leg.placement.point(cut.frame.origin))
        bottom = np.array(leg.placement.point(cut.frame.point((0.0, 0.0, cut.depth))))
        assert opening[0] == pytest.approx(face)
        assert bottom[0] - face == pytest.approx(joint.plan.embedment_leg + joint.plan.end_gap)
        assert bottom[2] == pytest.approx(opening[2])


# --- slats ----------------------------------------------------------------------------------


@given(
    clear=st.floats(1620, 2380),
    width=st.floats(30, 160),
    low=st.floats(10, 80),
    band=st.floats(1, 40),
    share=st.floats(0, 1),
)
def test_slat_count_is_the_best_of_all_counts(
    clear: float, width: float, low: float, band: float, share: float
) -> None:
    slat = {
        "width": width,
        "gap_least": low,
        "gap_greatest": low + band,
        "gap_wanted": low + share * band,
    }
    sheet = check_sheet({"slat": slat, "runner": {"width": 60}})
    gaps = {n: (clear - n * width) / (n + 1) for n in range(2, 120)}
    fits = {n: g for n, g in gaps.items() if low <= g <= low + band}
    if not fits:
        with pytest.raises(InputError, match=r"^slat\.width = .*no count of slats"):
            slat_row(sheet, Pocket(clear, 720.0, 700.0))
        return
    row = slat_row(sheet, Pocket(clear, 720.0, 700.0))
    assert row.count * width + (row.count + 1) * row.gap == pytest.approx(clear)
    wanted = low + share * band
    best = min(abs(g - wanted) for g in fits.values())
    assert abs(row.gap - wanted) == pytest.approx(best, abs=1e-6)
    # Equal gaps, the first and the last against the legs.
    starts = np.array(row.starts())
    assert starts[0] == pytest.approx(row.gap)
    assert clear - starts[-1] - width == pytest.approx(row.gap)
    assert np.allclose(np.diff(starts), width + row.gap)


@pytest.mark.parametrize("unit", ["mm", "inch"])
@pytest.mark.parametrize(
    ("length", "width"), [(1905, 120), (2000, 100), (2032, 140), (2032, 110), (1700, 90)]
)
def test_refused_slats_say_what_would_fit(unit: str, length: float, width: float) -> None:
    """Both ways out: the width it suggests, and either gap it names as the band's edge."""
    gap = {"gap_least": "52 mm", "gap_wanted": "53 mm", "gap_greatest": "54 mm"}
    table: Table = {
        "design": {"unit": unit},
        "mattress": {"width": "1400 mm", "length": f"{length} mm"},
        "slat": {"width": f"{width} mm", **gap},
    }
    with pytest.raises(InputError) as caught:
        lay_out(check_sheet(table))
    assert caught.value.parameter == "slat.width"
    told = caught.value.remedy
    number = r"(-?\d[\d /.]*(?:mm|in))"
    suggested = re.search(rf"slat.width to {number}", told)
    assert suggested is not None
    mended = copy.deepcopy(table)
    mended["slat"]["width"] = suggested[1]
    row = lay_out(check_sheet(mended)).slats
    assert 52 - 1e-6 <= row.gap <= 54 + 1e-6
    few, more = re.findall(rf"(\d+) (?:slats )?leave {number}", told)
    for count, left in (few, more):
        leave = parse_length(left, "mm")
        wide = copy.deepcopy(table)
        # The gap is told to a tenth of a mm or a 64th of an inch: allow for that.
        wide["slat"]["gap_least"] = f"{min(52, leave - 0.2)} mm"
        wide["slat"]["gap_greatest"] = f"{max(54, leave + 0.2)} mm"
        assert lay_out(check_sheet(wide)).slats.count == int(count)


# --- refusals -------------------------------------------------------------------------------

NUMBER = r"-?\d[\d /.]*(?: mm| in)"
# A bound is told rounded to the safe side, so it may be taken at its word: only a
# hair for the arithmetic.
HAIR = {"mm": 1e-6, "in": 1e-6}
# These tell of another quantity than the parameter itself, or of more than one bound.
OTHER = (
    "platform and mattress make",
    "puts the platform at",
    "makes the foot legs",
    "no count of slats",
    "puts its edge",
    "a mattress wider than",
    "is not in the table",
)


def refusal(table: Table) -> InputError | None:
    try:
        make_pieces(lay_out(check_sheet(table)))
    except InputError as refused:
        return refused
    return None


def told_bounds(refused: InputError) -> tuple[str | None, str | None]:
    """The least and the greatest value that a refusal allows, as told."""
    text = refused.allowed
    if text.startswith(OTHER) or re.match(r"leaves -?\d", text):
        return None, None
    if found := re.search(rf"must be at least (?:\D*, )?({NUMBER})", text):
        return found[1], None
    if found := re.search(rf"must be at most (?:\D*, )?({NUMBER})", text):
        return None, found[1]
    if found := re.search(rf"must be ({NUMBER}) to ({NUMBER})", text):
        return found[1], found[2]
    return None, None


def changed(table: Table, name: str, value: object) -> Table:
    made = copy.deepcopy(table)
    place: Any = made
    *steps, last = name.split(".")
    for step in steps:
        place = place[int(step) - 1] if step.isdigit() else place.setdefault(step, {})
    place[last] = value
    return made


def sort_of(refused: InputError) -> tuple[str, str]:
    return refused.parameter, re.sub(NUMBER, "#", refused.allowed)


def mm_of(told: str) -> float:
    sign = -1.0 if told.startswith("-") else 1.0
    return sign * parse_length(told.lstrip("-"), "mm")


def assert_bounds_are_true(table: Table) -> set[tuple[str, str]]:
    """Set the refused parameter to each told bound: that refusal must go away.

    Another refusal may come, since one thing is told at a time. Returns what was
    tried; nothing when the bound is outside the parameter's own range, where the
    remedy's other ways out must do.
    """
    refused = refusal(table)
    if refused is None:
        return set()
    tried = set()
    for side, told in zip((1, -1), told_bounds(refused), strict=True):
        if told is None:
            continue
        extra = FIELDS[re.sub(r"\.\d+\.", ".N.", refused.parameter)].json_schema_extra
        assert isinstance(extra, dict)
        if "low" not in extra:  # a row of the table of fasteners: test_fasteners tries its bounds
            continue
        low, high = float(extra["low"]), float(extra["high"])  # type: ignore[arg-type]
        value = mm_of(told) + side * HAIR[told[-2:]]
        if not low <= value <= high:
            continue
        again = refusal(changed(table, refused.parameter, f"{value:.6f} mm"))
        assert (
            again is None or sort_of(again) != sort_of(refused) or _on_another_board(refused, again)
        ), (str(refused), str(again))
        tried.add(sort_of(refused))
    return tried


def _on_another_board(refused: InputError, again: InputError) -> bool:
    """tenon.* is shared by all boards: the next board may ask for still less."""
    if not refused.parameter.startswith("tenon."):
        return False
    return told_bounds(again) != told_bounds(refused)


@settings(QUICK, max_examples=400)
@given(table=sheets())
def test_told_bounds_are_true_anywhere(table: Table) -> None:
    # A band of gaps narrower than its ends are told, or upside down, cannot be obeyed.
    slat = table["slat"]
    if _mm(slat["gap_least"]) + 2 * HAIR["in"] < _mm(slat["gap_greatest"]):
        assert_bounds_are_true(table)


def _mm(value: object) -> float:
    return parse_length(value, "mm")  # type: ignore[arg-type]


STRAIGHT: Table = {}
SPLAYED: Table = {
    "leg": {
        "style": "splayed",
        "thickness": 53,
        "top_width": 83,
        "splay": 6.3,
        "ankle_width": 79,
        "foot_width": 87,
        "flare_diameter": 103,
        "above_boards": 19,
        "below_boards": 17.5,
    }
}
HIGH_BOARD = {"board": [{"width": 140, "above_platform": 300}]}

# One of every refusal of skeleton, leg_outline, slats and tenons that tells a bound.
REFUSED: dict[str, tuple[Table, dict[str, object], str, str]] = {
    "rail too narrow for its runner": (
        STRAIGHT,
        {"runner.height": 100, "side_rail.width": 140},
        "side_rail.width",
        "at least",
    ),
    "rail near the floor": (
        STRAIGHT,
        {"height.platform": 150, "side_rail.width": 210},
        "side_rail.width",
        "at most",
    ),
    "boards overlap": (
        STRAIGHT,
        {"headboard.board": [{"width": 150}, {"width": 90, "above_platform": 101}]},
        "headboard.board.2.above_platform",
        "at least",
    ),
    "rail above the foot leg": (
        STRAIGHT,
        {"footboard.board": [{"above_platform": -120}], "side_rail.above_platform": 90},
        "side_rail.above_platform",
        "at most",
    ),
    "rail thicker than the leg is wide": (
        STRAIGHT,
        {"leg.top_width": 31, "side_rail.thickness": 40},
        "side_rail.thickness",
        "at most",
    ),
    "board thicker than the leg": (
        STRAIGHT,
        {"leg.thickness": 30, "headboard.board": [{"thickness": 35}]},
        "headboard.board.1.thickness",
        "at most",
    ),
    "centre rail to the floor": (
        STRAIGHT,
        {
            "height.platform": 170,
            "centre_rail.height": 140,
            "side_rail.width": 100,
            "side_rail.joint": "butt",  # no fastener is so short
        },
        "centre_rail.height",
        "at most",
    ),
    "centre rail too short": (
        STRAIGHT,
        {"centre_rail.end_gap": 120},
        "centre_rail.end_gap",
        "at most",
    ),
    "runner too short": (STRAIGHT, {"runner.end_gap": 90}, "runner.end_gap", "at most"),
    "runner too narrow": (
        STRAIGHT,
        {"frame.stance": 90, "runner.width": 40},
        "runner.width",
        "at least",
    ),
    "foot over the rail's end": (
        STRAIGHT,
        {"support_foot.size": 120, "support_foot.end_inset": 40},
        "support_foot.end_inset",
        "at least",
    ),
    "gap wanted outside the band": (
        STRAIGHT,
        {"slat.gap_wanted": 40},
        "slat.gap_wanted",
        " to ",
    ),
    "eased edge into the joint face above": (
        STRAIGHT,
        {"leg.edge_size": 12, "leg.above_boards": 9},
        "leg.above_boards",
        "at least",
    ),
    "eased edge into the joint face below": (
        STRAIGHT,
        {"leg.edge_size": 11, "leg.below_boards": 9},
        "leg.below_boards",
        "at least",
    ),
    "eased edges meet on a post": (
        STRAIGHT,
        {"leg.edge_size": 11, "leg.thickness": 40, "leg.below_boards": 20},
        "leg.edge_size",
        "at most",
    ),
    "eased edges meet on a splayed leg": (
        SPLAYED,
        {"leg.edge_size": 11, "leg.thickness": 40, "leg.below_boards": 40},
        "leg.edge_size",
        "at most",
    ),
    "ankle wider than the leg": (
        SPLAYED,
        {"leg.ankle_width": 120},
        "leg.ankle_width",
        "at most",
    ),
    "no room for the curve": (
        SPLAYED,
        {"height.platform": 180, "leg.ankle_width": 26, "leg.foot_width": 40},
        "leg.ankle_width",
        "at least",
    ),
    "foot narrower than the ankle": (
        SPLAYED,
        {"leg.foot_width": 60},
        "leg.foot_width",
        " to ",
    ),
    "foot wider than the flare": (
        SPLAYED,
        {"leg.foot_width": 180},
        "leg.foot_width",
        " to ",
    ),
    "curve too tight": (SPLAYED, {"leg.curve_diameter": 41}, "leg.curve_diameter", " to "),
    "curve too wide": (SPLAYED, {"leg.curve_diameter": 3900}, "leg.curve_diameter", " to "),
    "curve's eased edge reaches the joint": (
        SPLAYED,
        {"leg.edge_size": 9, "leg.below_boards": 9.5},
        "leg.below_boards",
        "at least",
    ),
    "tenon thicker than the board": (
        STRAIGHT,
        {"tenon.thickness": 20},
        "tenon.thickness",
        "at most",
    ),
    "board too thin for a tenon": (
        STRAIGHT,
        {"headboard.board": [{"thickness": 15}], "tenon.wall_least": 7},
        "headboard.board.1.thickness",
        "at least",
    ),
    "tenon wider than its share": (STRAIGHT, {"tenon.width": 150}, "tenon.width", " to "),
    "tenon narrower than it may be": (
        STRAIGHT,
        {"tenon.width": 12, "tenon.thickness": 11},
        "tenon.width",
        " to ",
    ),
    "leg too narrow for a mortise": (
        STRAIGHT,
        {
            "leg.top_width": 31,
            "tenon.wall_least": 14,
            "tenon.end_gap": 10,
            "headboard.board": [{"thickness": 40}],
            "footboard.board": [{"thickness": 40}],
            "side_rail.thickness": 20,
        },
        "leg.top_width",
        "at least",
    ),
    "mortise through the leg": (STRAIGHT, {"tenon.embedment": 100}, "tenon.embedment", "at most"),
}


def table_of(base: Table, changes: dict[str, object]) -> Table:
    made = copy.deepcopy(base)
    for name, value in changes.items():
        made = changed(made, name, value)
    return made


@pytest.mark.parametrize("unit", ["mm", "inch"])
@pytest.mark.parametrize("case", list(REFUSED))
def test_each_refusal_tells_a_true_bound(case: str, unit: str) -> None:
    base, changes, parameter, word = REFUSED[case]
    table = in_unit(table_of(base, changes), unit)
    refused = refusal(table)
    assert refused is not None
    assert (refused.parameter, word in refused.allowed) == (parameter, True), str(refused)
    assert "\n" not in str(refused)
    assert refused.remedy
    assert assert_bounds_are_true(table) == {sort_of(refused)}


def in_unit(table: Any, unit: str, key: str = "") -> Any:
    """The same sheet with its lengths told in mm and its unit the given one."""
    if isinstance(table, dict):
        made = {k: in_unit(v, unit, k) for k, v in table.items()}
        return {"design": {"unit": unit}, **made} if not key else made
    if isinstance(table, list):
        return [in_unit(v, unit, key) for v in table]
    if isinstance(table, str) or key in ("splay", "count"):
        return table
    return f"{table} mm"


def test_refused_wide_slats_are_not_told_to_be_wider_than_slats_may_be() -> None:
    table: Table = {
        "mattress": {"width": 1400, "length": 1905},
        "slat": {"width": 160, "gap_least": 52, "gap_wanted": 53, "gap_greatest": 54},
    }
    refused = refusal(table)
    assert refused is not None
    told = re.search(rf"slat.width to ({NUMBER})", refused.remedy)
    assert told is not None
    assert refusal(changed(table, "slat.width", told[1])) is None


def test_a_band_of_gaps_upside_down_is_not_told_as_a_range() -> None:
    refused = refusal({"slat": {"gap_greatest": 10}})
    assert refused is not None
    least, greatest = told_bounds(refused)
    assert least is None or greatest is None or mm_of(least) <= mm_of(greatest)


def test_too_many_tenons_or_feet_are_refused_with_a_count_that_fits() -> None:
    table: Table = {"tenon": {"count": 6}, "headboard": {"board": [{"width": 140}]}}
    refused = refusal(table)
    assert refused is not None
    assert refused.parameter == "tenon.count"
    most = int(re.search(r"at most (\d+)", refused.allowed)[1])  # type: ignore[index]
    assert refusal({**table, "tenon": {"count": most}}) is None
    table = {"support_foot": {"count": 7, "size": 150, "end_inset": 600}}
    refused = refusal(table)
    assert refused is not None
    assert refused.parameter == "support_foot.count"
    most = int(re.search(r"at most (\d+)", refused.allowed)[1])  # type: ignore[index]
    assert refusal(changed(table, "support_foot.count", most)) is None
    assert refusal(changed(table, "support_foot.count", most + 1)) is not None


def test_a_board_near_the_floor_is_refused_and_the_told_rise_mends_it() -> None:
    boards = [{"above_platform": -295, "width": 60}, {"above_platform": -100}]
    table: Table = {"footboard": {"board": boards}}
    refused = refusal(table)
    assert refused is not None
    assert refused.parameter == "footboard.board.1.above_platform"
    edge, least = (mm_of(n) for n in re.findall(NUMBER, refused.allowed))
    assert (edge, least) == (5, 20)
    assert refusal(changed(table, refused.parameter, -295 + least - edge)) is None
    assert refusal(changed(table, "height.platform", 300 + least - edge)) is None


def test_a_splay_that_leaves_no_top_is_refused_and_the_told_width_mends_it() -> None:
    table = table_of(SPLAYED, {"leg.splay": 1.0, "leg.top_width": 31})
    table = changed(table, "footboard.board", [{"width": 450, "above_platform": 400}])
    refused = refusal(table)
    assert refused is not None
    assert refused.parameter == "leg.splay"
    width, least = (mm_of(n) for n in re.findall(NUMBER, refused.allowed))
    wider = changed(table, "leg.top_width", 31 + least - width + 0.1)
    again = refusal(wider)
    assert again is None or again.parameter != "leg.splay"


def test_a_wide_bed_must_not_go_without_a_centre_rail() -> None:
    table: Table = {"mattress": {"size": "us-queen"}, "centre_rail": {"use": "never"}}
    refused = refusal(table)
    assert refused is not None
    assert refused.parameter == "centre_rail.use"
    assert 'set it to "auto"' in refused.remedy
    assert refusal(changed(table, "centre_rail.use", "auto")) is None
    single = changed(table, "mattress.size", "eu-90x200")
    assert refusal(single) is None
    assert lay_out(check_sheet(single)).centre_rail is None


# --- no solid modeller -----------------------------------------------------------------------


def test_a_layout_and_its_pieces_need_no_solid_modeller() -> None:
    code = (
        "import json, sys\n"
        "from bedmodel.pieces import make_pieces\n"
        "from bedmodel.sheets import load_sheet\n"
        "from bedmodel.skeleton import lay_out\n"
        "count = len(make_pieces(lay_out(load_sheet('campion'))))\n"
        "print(json.dumps([count, sorted(sys.modules)]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(Path(bedmodel.__file__).resolve().parents[1])},
        capture_output=True,
        text=True,
        check=True,
    )
    count, modules = json.loads(done.stdout)
    assert count == len(make_pieces(lay_out(load_sheet("campion"))))
    heavy = {"cadquery", "OCP", "ezdxf", "trimesh", "numpy", "scipy", "vtk", "PIL"}
    assert heavy.isdisjoint(modules)
