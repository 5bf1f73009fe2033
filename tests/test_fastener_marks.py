"""Marks of the rail fasteners, measured again with numpy on the cuts in the placed parts.

The marks come from the fastener's plan; here each cut of a leg or a rail is taken from
its own part, left and right, to the bed and measured from the named edge.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from bedmodel.bed import Piece
from bedmodel.cuts import Cut
from bedmodel.screws import clearance_diameter, pilot_diameter, screw
from bedmodel.shop.fastener_marks import drill_words, leg_notes, rail_notes
from bedmodel.shop.marks import CENTRE, MarkRow
from bedmodel.shop.story_stick import story_sticks
from bedmodel.tables import wood
from tests.beds import UNSCREWED
from tests.test_setting_out import (
    NEAR,
    Case,
    Vec,
    bed,
    corners,
    inside_face,
    joint_edge,
    legs,
    rail_line,
    to_bed,
    turned,
)

KINDS = ("hook_plates", "brackets", "bolts")
OTHER: dict[str, tuple[str, ...]] = {
    "campion": ("side_rail.reveal=5 mm",),
    "hawthorn": ("frame.stance=30", "fastener.height=74"),
    "sorrel": ("fastener.fit=0.3",),
}
BEDS = [
    (name, kind, changes)
    for name, kind in itertools.product(OTHER, KINDS)
    for changes in ((), OTHER[name])
]
fastened = pytest.mark.parametrize(("name", "kind", "changes"), BEDS)

STEMS = {
    "plate": "plate recess",
    "pocket": "pocket",
    "screw": "screw hole",
    "face_screw": "bracket screw holes",
    "end_flange": "end flange recess",
    "face_flange": "face flange recess",
    "bolt": "bolt hole",
    "counterbore": "counterbore",
    "barrel": "barrel hole",
    "dowel": "alignment dowel hole",
}


def case_of(name: str, kind: str, changes: tuple[str, ...] = ()) -> Case:
    return bed(name, None, f"side_rail.joint={kind}", *UNSCREWED, *changes)


def cuts_of(piece: Piece) -> list[Cut]:
    found = [cut for cut in piece.kind.shape.cuts if cut.family.endswith("fastener")]
    assert found
    return found


def stem_of(cut: Cut) -> str:
    named = re.fullmatch(r"(?:rail|head|foot)_fastener_(.*?)(?:_\d+)?", cut.name)
    assert named is not None
    return STEMS[named[1]]


def opening(piece: Piece, cut: Cut) -> Vec:
    """Points of the cut's opening in the bed; those of a rim of 360, for round ends."""
    points = []
    for edge in cut.opening.edges():
        points += [edge.point_at(i / 90) for i in range(90)]
    return np.array([to_bed(piece.placement @ cut.frame, (x, y, 0.0)) for x, y in points])


def end_of(rail: Piece, cut: Cut, head: Vec, foot: Vec) -> str:
    """By its place: a left rail may be the right one turned end for end, names and all."""
    there = to_bed(rail.placement @ cut.frame, (0.0, 0.0, 0.0))[1]
    return "head" if abs(there - head[1]) < abs(there - foot[1]) else "foot"


def floor_of(piece: Piece, cut: Cut) -> Vec:
    return to_bed(piece.placement @ cut.frame, (0.0, 0.0, cut.depth))


def into(piece: Piece, cut: Cut) -> Vec:
    return turned(piece.placement @ cut.frame, (0.0, 0.0, 1.0))


def said(row: MarkRow, stem: str, what: str) -> list[float]:
    """Every value a row gives for cuts of a name, whether one by one or as all of them."""
    return [m.true for m in row.marks if m.what == what and any(stem in name for name in m.of)]


def check(row: MarkRow, stem: str, what: str, value: float) -> None:
    assert any(abs(true - value) < NEAR for true in said(row, stem, what)), (row, stem, what, value)


def check_span(row: MarkRow, cut: Cut, names: tuple[str, str], reach: tuple[float, float]) -> None:
    stem = stem_of(cut)
    if cut.is_round:
        check(row, stem, CENTRE, sum(reach) / 2)
        return
    for what, value in zip(names, reach, strict=True):
        if abs(value) > NEAR:
            check(row, stem, what, value)


def spans(points: Vec, origin: Vec, direction: Vec) -> tuple[float, float]:
    along = (points - origin) @ direction
    return float(along.min()), float(along.max())


UP, ACROSS = ("lower end", "upper end"), ("near side", "far side")


# --- legs ----------------------------------------------------------------------------------


@fastened
def test_cuts_in_a_leg_are_where_the_marks_say(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    case = case_of(name, kind, changes)
    for leg in legs(case):
        low, high = joint_edge(leg)
        up = (high - low) / np.linalg.norm(high - low)
        assert up == pytest.approx([0, 0, 1], abs=1e-9)
        point, inward = inside_face(leg, case)
        # Square to the joint face, into the leg.
        out = np.cross(up, inward)
        out *= np.sign(out @ (corners(leg).mean(axis=0) - low))
        for cut in cuts_of(leg):
            rim, stem = opening(leg, cut), stem_of(cut)
            upward = case.row(leg, "up the joint face")
            check_span(upward, cut, UP, spans(rim, low, up))
            downward = case.row(leg, "from the top end")
            check_span(downward, cut, UP, spans(rim, high, -up)[::-1])
            from_inside = into(leg, cut) @ inward > 0
            face = "inside face" if from_inside else "show face"
            across = case.row(leg, f"from the joint face, across the {face}")
            check_span(across, cut, ACROSS, spans(rim, low, out))
            deep = (floor_of(leg, cut) - point) @ inward
            depth = deep if from_inside else leg.kind.shape.thickness - deep
            if depth < leg.kind.shape.thickness - NEAR:
                check(case.row(leg, f"from the {face}, into the leg"), stem, "depth", depth)
            else:  # right through, so it is marked on both faces
                assert stem == "bolt hole"
                across = case.row(leg, "from the joint face, across the inside face")
                check_span(across, cut, ACROSS, spans(rim, low, out))


@fastened
def test_no_mark_is_of_a_cut_that_is_not_there(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    """Each value of a row that names a fastener's cut is met by a cut of the part."""
    case = case_of(name, kind, changes)
    for leg in legs(case):
        low, _ = joint_edge(leg)
        heights: dict[str, list[float]] = {}
        for cut in cuts_of(leg):
            rim = opening(leg, cut)[:, 2] - low[2]
            found = [rim.min(), rim.max(), (rim.min() + rim.max()) / 2]
            heights.setdefault(stem_of(cut), []).extend(found)
        for mark in case.row(leg, "up the joint face").marks:
            for stem, values in heights.items():
                if any(stem in of for of in mark.of):
                    assert min(abs(mark.true - v) for v in values) < NEAR
    rows = [m for m in case.row(leg, "up the joint face").marks if "mortise" not in m.label]
    assert len(rows) > 2


# --- rails ---------------------------------------------------------------------------------


@fastened
@pytest.mark.parametrize("side", ["left", "right"])
def test_cuts_in_a_rail_are_where_the_marks_say(
    name: str, kind: str, changes: tuple[str, ...], side: str
) -> None:
    case = case_of(name, kind, changes)
    rail = case.piece(f"side_rail_{side}")
    head, foot, along = rail_line(case, side)
    up = np.array([0.0, 0.0, 1.0])
    outward = np.cross(along, up) * (1 if side == "right" else -1)
    across_bed = np.array([1.0 if side == "right" else -1.0, 0.0, 0.0])
    counts = {"head": 0, "foot": 0}
    for cut in cuts_of(rail):
        end = end_of(rail, cut, head, foot)
        counts[end] += 1
        corner, way = (head, along) if end == "head" else (foot, -along)
        rim, stem, deep = opening(rail, cut), stem_of(cut), into(rail, cut)
        if abs(deep @ along) > 0.5:
            check_span(case.row(rail, "lower edge, on both ends"), cut, UP, spans(rim, head, up))
            row = case.row(rail, "from the inside face, across both ends")
            check_span(row, cut, ACROSS, spans(rim, corner, across_bed))
            depth = abs(floor_of(rail, cut)[1] - corner[1])  # the end is a plane of the bed
            check(case.row(rail, "from each end, into the rail"), stem, "depth", depth)
            continue
        assert deep @ outward == pytest.approx(1)
        row = case.row(rail, "from the lower edge, on the inside face")
        check_span(row, cut, UP, spans(rim, head, up))
        row = case.row(rail, f"from the {end} end, along")
        check_span(row, cut, ACROSS, spans(rim, corner, way))
        depth = (floor_of(rail, cut) - corner) @ outward
        check(case.row(rail, "from the inside face, into the rail"), stem, "depth", depth)
    assert counts["head"] == counts["foot"] > 0


@fastened
def test_hooks_of_both_rails_meet_the_slots_of_their_legs(
    name: str, kind: str, changes: tuple[str, ...]
) -> None:
    """From the marks alone: leg and rail say the same height for what must meet."""
    case = case_of(name, kind, changes)
    what = {"hook_plates": "plate recess", "brackets": "recess", "bolts": "bolt hole"}[kind]
    rail = case.piece("side_rail_left")
    lower = corners(rail)[:, 2].min()
    (middle,) = set(said(case.row(rail, "lower edge, on both ends"), what, CENTRE))
    for leg in legs(case):
        low, _ = joint_edge(leg)
        (height,) = said(case.row(leg, "up the joint face"), what, CENTRE)
        assert low[2] + height == pytest.approx(lower + middle, abs=NEAR)
        rail_near = said(case.row(leg, "across the inside face"), "side rail", "inside face")[0]
        names = {"hook_plates": "near side", "bolts": CENTRE}
        if kind in names:
            (there,) = set(said(case.row(leg, "across the inside face"), what, names[kind]))
            (here,) = set(said(case.row(rail, "across both ends"), what, names[kind]))
            assert there == pytest.approx(rail_near + here, abs=NEAR)


def test_barrel_holes_of_a_yawed_rail_are_told_end_by_end() -> None:
    """A barrel a from the end on the bolt's line, b from the face: a sin, b cos of the yaw."""
    case = case_of("campion", "bolts")
    layout = case.layout
    assert layout.fastener is not None
    row = case.row(case.piece("side_rail_left"), "from the inside face, into the rail")
    assert {m.label for m in row.marks} == {
        "head end, barrel hole: depth",
        "foot end, barrel hole: depth",
    }
    inset = layout.fastener.row.barrel_inset  # type: ignore[union-attr]
    shallow, deep = (m.true for m in row.marks)
    assert deep - shallow == pytest.approx(2 * inset * math.sin(layout.yaw))
    square = case_of("hawthorn", "bolts")
    (mark,) = square.row(square.piece("side_rail_left"), "inside face, into the rail").marks
    assert mark.label == "barrel hole: depth"


# --- notes ---------------------------------------------------------------------------------


def notes(case: Case, name: str) -> str:
    return " ".join(case.of(case.piece(name)).notes)


@pytest.mark.parametrize("name", list(OTHER))
def test_pilot_and_clearance_drills_are_named(name: str) -> None:
    case = case_of(name, "hook_plates")
    plan, unit = case.layout.fastener, case.layout.sheet.design.unit
    assert plan is not None
    gauge = screw(plan.row.screw_gauge)
    gravity = wood(case.layout.sheet.wood.species).specific_gravity
    pilot = drill_words(pilot_diameter(gauge, gravity, unit), unit)
    clear = drill_words(clearance_diameter(gauge, unit), unit)
    for part in ("head_leg_left", "foot_leg_right", "side_rail_left"):
        assert f"{pilot} pilot drill, for No. {plan.row.screw_gauge} " in notes(case, part)
        assert f"smaller than {clear}," in notes(case, part)


def test_drills_are_told_by_their_nearest_64th() -> None:
    """9 mm is 22.68/64 in; 23/64 in is 9.128 mm; 8.1 mm is nearest 20/64 = 7.9375 mm."""
    assert drill_words(9.0, "mm") == "9 mm"
    assert drill_words(9.0, "inch") == "9 mm (23/64 in is 0.13 mm over)"
    assert drill_words(8.1, "inch") == "8.1 mm (5/16 in is 0.16 mm under)"
    assert drill_words(25.4 * 3 / 32, "inch") == "3/32 in"


def test_end_grain_and_noses_are_told_on_the_rail() -> None:
    rail = notes(case_of("hawthorn", "hook_plates"), "side_rail_left")
    assert "end grain" in rail
    assert "no shorter than 50 mm" in rail
    assert "noses pointing down" in rail
    assert "end grain" not in notes(case_of("hawthorn", "brackets"), "side_rail_left")
    leg = notes(case_of("hawthorn", "hook_plates"), "head_leg_left")
    assert "recess first, then the pockets" in leg
    assert "slots nearer its upper end" in leg


def test_slots_do_lie_nearer_the_upper_end_of_the_slot_plate() -> None:
    """Placed in the bed: from the uppermost slot to the top is less than from the lowest down."""
    case = case_of("hawthorn", "hook_plates")
    plate = case.piece("head_slot_plate_right")
    slots = [cut for cut in plate.kind.shape.cuts if cut.name.startswith("slot")]
    zs = np.concatenate([opening(plate, cut)[:, 2] for cut in slots])
    ends = corners(plate)[:, 2]
    assert ends.max() - zs.max() < zs.min() - ends.min() - 1


def test_brass_wants_a_steel_screw_first_and_square_ends_a_chisel() -> None:
    case = case_of("hawthorn", "hook_plates")
    plan = case.layout.fastener
    assert plan is not None
    plain = " ".join((*leg_notes(case.layout), *rail_notes(case.layout)))
    assert "steel screw" not in plain
    assert "chisel" not in plain
    row = plan.row.model_copy(update={"metal": "brass", "ends": "square"})
    layout = replace(case.layout, fastener=replace(plan, row=row))
    for told in (" ".join(leg_notes(layout)), " ".join(rail_notes(layout))):
        assert "drive a steel screw of the same size first" in told
        assert "chisel" in told


def test_bends_are_told_by_what_they_open_or_close() -> None:
    """The corner of the rail itself: over square at the head, under it at the foot."""
    case = case_of("campion", "brackets")
    _, _, along = rail_line(case, "right")
    outward = np.array([1.0, 0.0, 0.0])  # along the end, away from the corner
    at_head = math.degrees(math.acos(along @ outward))
    at_foot = math.degrees(math.acos(-along @ outward))
    assert at_head > 90 > at_foot
    rail = notes(case, "side_rail_right")
    plan = case.layout.fastener
    assert plan is not None
    over = plan.row.end_flange * math.tan(math.radians(at_head - 90))  # type: ignore[union-attr]
    assert f"head brackets: open the bend at the end flange by 1/128 in [{over:.1f} mm]" in rail
    assert f"foot brackets: close the bend at the end flange by 1/128 in [{over:.1f} mm]" in rail
    for end, how in (("head", "open"), ("foot", "close")):
        (note,) = case.of(case.piece(f"{end}_rail_bracket_left")).notes
        assert f"{end} brackets: {how}" in note
    wide = case_of("hawthorn", "brackets", ("frame.stance=100", "runner.width=80"))
    yaw = math.degrees(wide.layout.yaw)
    assert yaw > 1
    assert f"mm] over 22 mm ({yaw:.2f} deg)" in notes(wide, "side_rail_left").replace(
        " in]", " mm]"
    )
    assert "bend" not in notes(case_of("hawthorn", "brackets"), "side_rail_left")


def test_what_the_runner_covers_is_told_when_it_does() -> None:
    covered = "before the runner is fixed"
    for kind in ("brackets", "bolts"):
        assert covered in notes(case_of("hawthorn", kind), "side_rail_left")
    assert covered not in notes(case_of("hawthorn", "hook_plates"), "side_rail_left")
    high = ("fastener.height=95",)
    assert covered not in notes(case_of("hawthorn", "bolts", high), "side_rail_left")


def test_metal_has_a_reason_and_dowels_a_joint_line() -> None:
    case = case_of("hawthorn", "bolts")
    for name in ("head_bolt_left", "foot_barrel_nut_right", "head_washer_left"):
        assert case.of(case.piece(name)).reason.startswith("bought")
    dowel = case.piece("head_alignment_dowel_1_right")
    (row,) = case.of(dowel).rows
    (mark,) = row.marks
    ends = corners(dowel)[:, 1]
    # The head legs' inside faces lie at y = 0; the rail is on the far side.
    assert mark.true == pytest.approx(ends.max(), abs=NEAR)
    assert "dry in the leg" in notes(case, dowel.name)


# --- sticks --------------------------------------------------------------------------------


def labels(case: Case, part: str) -> Iterator[str]:
    for stick in story_sticks(case.layout):
        if part in stick.parts:
            yield from (mark.label for mark in stick.marks)


@pytest.mark.parametrize("kind", KINDS)
def test_sticks_of_leg_and_rail_carry_the_fastener(kind: str) -> None:
    case = case_of("sorrel", kind)
    leg, rail = " ".join(labels(case, "head_leg")), " ".join(labels(case, "side_rail"))
    on_leg = {"bolts": "bolt hole"}.get(kind, "slot plate recess: centre")
    on_rail = {"bolts": "barrel hole", "brackets": "end flange recess"}.get(kind, "hook plate")
    assert on_leg in leg
    assert on_rail in rail
    assert "runner: upper edge" in rail


def test_rails_that_butt_have_the_runner_alone() -> None:
    case = case_of("sorrel", "butt")
    assert list(labels(case, "side_rail")) == ["runner: lower edge", "runner: upper edge"]
    assert not any("recess" in row.reference for part in case.parts for row in part.rows)
