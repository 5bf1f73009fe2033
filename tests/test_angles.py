"""Angles against vectors: planes and edges are built, intersected and measured.

The oracles share no formula with ``bedmodel.angles``: they place the part as points
and lines in the bed frame (X across, Y head to foot, Z up), cut its edges with the
plane of the cut, and measure angles with atan2 of cross and dot products.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from bedmodel.angles import (
    GaugeSetting,
    caul_deg,
    compound_mitre,
    gauge_setting,
    leg_length,
    leg_level_cut,
    leg_resultant_deg,
    offset_over,
    rail_end_cut,
    run_per_rise,
    side_face_twist_deg,
    side_rail_length,
    side_rail_yaw_deg,
    sight_line_deg,
    slope_text,
    told,
)
from bedmodel.sheets import example_sheets, load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.units import LengthUnit

Array = NDArray[np.float64]

CASES = 3000
WORST_DEG = 1e-9
X, Y, Z = np.eye(3)


# --- vectors, one row a case -------------------------------------------------------------


def rows(*columns: Array | float) -> Array:
    return np.stack(np.broadcast_arrays(*columns), axis=-1).astype(float)


def dot(a: Array, b: Array) -> Array:
    return np.asarray(np.sum(a * b, axis=-1))


def unit(a: Array) -> Array:
    return np.asarray(a / np.linalg.norm(a, axis=-1, keepdims=True))


def between(a: Array, b: Array) -> Array:
    """The angle between two directions in degrees, exact at 0 and at 90 alike."""
    return np.asarray(np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b), axis=-1), dot(a, b))))


def turned(start: Array, towards: Array, to: Array) -> Array:
    """The signed angle in degrees from ``start`` to ``to``, positive towards ``towards``."""
    return np.asarray(np.degrees(np.arctan2(dot(to, unit(towards)), dot(to, unit(start)))))


def meet(point: Array, along: Array, normal: Array) -> Array:
    """Where lines meet planes through the origin."""
    t = -dot(point, normal) / dot(along, normal)
    return point + t[:, None] * along


def worst(got: list[float], expected: Array) -> float:
    assert len(got) == len(expected) == CASES
    return float(np.max(np.abs(np.array(got) - expected)))


def tilt_of(line: Array, cut: Array, face: Array, along: Array) -> Array:
    """The blade's angle from square to a face, seen along the line it cuts on it.

    ``face`` is the face's normal; the result is positive where the cut, going up
    through that face, drifts towards ``along``.
    """
    blade = np.cross(line, cut)
    blade *= np.sign(dot(blade, face))[:, None]
    side = np.cross(line, face)
    side *= np.sign(dot(side, along))[:, None]
    return turned(face, side, blade)


@pytest.fixture
def random() -> np.random.Generator:
    return np.random.default_rng(41)


# --- side rails --------------------------------------------------------------------------


def test_yaw_and_length_of_rails_between_their_ends(random: np.random.Generator) -> None:
    head, foot = random.uniform(600, 2200, (2, CASES))
    length = random.uniform(300, 2400, CASES)
    at_head, at_foot = rows(head / 2, 0.0, 300.0), rows(foot / 2, length, 300.0)
    rail = at_foot - at_head
    cases = list(zip(head.tolist(), foot.tolist(), length.tolist(), strict=True))
    yaws = [side_rail_yaw_deg(*case) for case in cases]
    assert worst(yaws, turned(Y, -X, rail)) < WORST_DEG
    lengths = [side_rail_length(*case) for case in cases]
    assert worst(lengths, np.linalg.norm(rail, axis=1)) < 1e-9
    assert min(yaws) < -30  # the foot may be the wider
    assert max(yaws) > 30


def test_rail_end_against_a_leaning_head(random: np.random.Generator) -> None:
    """The right-hand rail as a box: its four long edges are cut by the leaning plane."""
    yaw, rake = random.uniform(-60, 60, (2, CASES))
    a, r = np.radians(yaw), np.radians(rake)
    rail = rows(-np.sin(a), np.cos(a), 0.0)
    show = np.cross(rail, Z)
    lean = rows(0.0, -np.sin(r), np.cos(r))
    end = np.cross(np.broadcast_to(X, lean.shape), lean)
    below, above, behind = (meet(p, rail, end) for p in (show * 27, show * 27 + Z * 150, 0 * show))

    cuts = [rail_end_cut(*case) for case in zip(yaw.tolist(), rake.tolist(), strict=True)]
    mitre = turned(Z, -rail, above - below)  # at the head the rail runs out to -rail
    assert worst([c.mitre_deg for c in cuts], mitre) < WORST_DEG
    tilt = tilt_of(above - below, end, show, -rail)
    assert worst([c.tilt_deg for c in cuts], tilt) < WORST_DEG

    # What positive means, in lengths measured along the rail from its head end.
    longer_above = dot(below - above, rail)
    assert np.array_equal(np.sign(longer_above), np.sign([c.mitre_deg for c in cuts]))
    longer_show = dot(behind - below, rail)
    assert np.array_equal(np.sign(longer_show), np.sign([c.tilt_deg for c in cuts]))


def test_upright_end_is_tilt_alone_and_both_ends_are_parallel() -> None:
    yaw = side_rail_yaw_deg(1680, 1620, 2060)
    cut = rail_end_cut(yaw, 0)
    assert cut.mitre_deg == 0
    assert cut.tilt_deg == pytest.approx(yaw, abs=1e-12)
    rail = np.array([-30.0, 2060.0, 0.0])
    # Seen from above both ends lie along X: the same angle from square at each.
    square = np.cross(rail, Z)
    assert between(X, square) == pytest.approx(cut.tilt_deg, abs=WORST_DEG)


def test_rail_end_without_yaw_is_the_rake_alone() -> None:
    cut = rail_end_cut(0, 8)
    assert cut.mitre_deg == pytest.approx(8, abs=1e-12)
    assert cut.tilt_deg == 0


# --- legs --------------------------------------------------------------------------------


class Legs:
    """Square legs leaning at random, cut level; the foot is out to +X and +Y."""

    section = 60.0

    def __init__(self, random: np.random.Generator) -> None:
        self.splay, self.rake = random.uniform(-60, 60, (2, CASES))
        self.height = random.uniform(100, 1200, CASES)
        a, b = np.radians(self.splay), np.radians(self.rake)
        across, along = np.zeros((2, CASES, 3)) + [[X], [Y]]
        # Seen along Y the leg lies in one leaning plane, seen along X in another.
        seen_from_foot = np.cross(rows(np.sin(a), 0.0, -np.cos(a)), along)
        seen_from_side = np.cross(across, rows(0.0, np.sin(b), -np.cos(b)))
        down = unit(np.cross(seen_from_foot, seen_from_side))
        self.down = down * -np.sign(down[:, 2:])
        self.front = unit(np.cross(across, self.down))
        self.front *= np.sign(self.front[:, 1:2])  # the face towards +Y
        self.side = np.cross(self.down, self.front)
        self.side *= np.sign(self.side[:, 0:1])  # the face towards +X
        # Where the corners' lines meet the floor.
        half = self.section / 2
        corners = {
            (i, j): rows(0.0, 0.0, self.height) + half * (i * self.side + j * self.front)
            for i, j in itertools.product((-1, 1), repeat=2)
        }
        level = np.zeros((CASES, 3)) + Z
        self.floor = {at: meet(p, self.down, level) for at, p in corners.items()}
        self.level = level

    def pairs(self) -> list[tuple[float, float]]:
        return list(zip(self.splay.tolist(), self.rake.tolist(), strict=True))

    def of(self, function: Callable[[float, float], float]) -> list[float]:
        return [function(*pair) for pair in self.pairs()]


@pytest.fixture
def legs(random: np.random.Generator) -> Legs:
    return Legs(random)


def test_the_oracle_stands_as_asked(legs: Legs) -> None:
    """Measured in the two views, the built legs have the angles they were asked for."""
    flat_x, flat_y = legs.down * [1, 0, 1], legs.down * [0, 1, 1]
    assert np.allclose(turned(-Z, X, flat_x), legs.splay, atol=1e-9)
    assert np.allclose(turned(-Z, Y, flat_y), legs.rake, atol=1e-9)
    assert np.all(np.abs(dot(legs.front, legs.side)) < 1e-12)
    assert np.all(np.abs(dot(legs.front, np.broadcast_to(X, legs.front.shape))) < 1e-12)


def test_resultant_and_sight_line(legs: Legs) -> None:
    assert worst(legs.of(leg_resultant_deg), between(legs.down, -legs.level)) < WORST_DEG
    assert worst(legs.of(sight_line_deg), turned(Y, X, legs.down)) < WORST_DEG


def test_true_length_of_legs(legs: Legs) -> None:
    top = rows(0.0, 0.0, legs.height)
    foot = meet(top, legs.down, legs.level)
    got = [leg_length(h, *p) for h, p in zip(legs.height.tolist(), legs.pairs(), strict=True)]
    expected = np.linalg.norm(foot - top, axis=1)
    assert float(np.max(np.abs(got / expected - 1))) < 1e-12


def test_level_cut_of_legs(legs: Legs) -> None:
    cuts = [leg_level_cut(*pair) for pair in legs.pairs()]
    line = legs.floor[1, 1] - legs.floor[-1, 1]  # on the face towards +Y, out to +X
    assert worst([c.mitre_deg for c in cuts], turned(legs.side, legs.down, line)) < WORST_DEG
    tilt = tilt_of(line, legs.level, legs.front, legs.down)
    assert worst([c.tilt_deg for c in cuts], tilt) < WORST_DEG
    # What positive means: which corner of the foot is the longer.
    outer = dot(legs.floor[1, 1] - legs.floor[-1, 1], legs.down)
    assert np.array_equal(np.sign(outer), np.sign([c.mitre_deg for c in cuts]))
    facing = dot(legs.floor[1, 1] - legs.floor[1, -1], legs.down)
    assert np.array_equal(np.sign(facing), np.sign([c.tilt_deg for c in cuts]))


def test_twist_of_the_side_face(legs: Legs) -> None:
    trace = legs.floor[1, 1] - legs.floor[1, -1]
    assert worst(legs.of(side_face_twist_deg), turned(Y, X, trace)) < WORST_DEG
    front = legs.floor[1, 1] - legs.floor[-1, 1]
    assert np.allclose(between(front, np.broadcast_to(X, front.shape)), 0, atol=1e-9)


def test_caul_makes_the_outer_face_plumb(legs: Legs) -> None:
    expected = between(legs.side, np.broadcast_to(X, legs.side.shape)) * np.sign(legs.splay)
    assert worst(legs.of(caul_deg), expected) < WORST_DEG
    # The wedge tapers along the leg: through the leg's thickness it is even.
    even = unit(np.cross(legs.side, np.broadcast_to(X, legs.side.shape)))
    assert np.allclose(np.abs(dot(even, legs.front)), 1, atol=1e-12)


def test_clamp_faces_are_parallel_when_both_legs_have_their_caul() -> None:
    """Outlines in XZ: each outer edge, turned by its caul, is plumb."""
    for splay in (1.0, 4.25, 7.5, 20.0):
        lean = math.radians(splay)
        edges = np.array([[math.sin(lean), -math.cos(lean)], [-math.sin(lean), -math.cos(lean)]])
        faces = []
        for edge, turn in zip(edges, (-caul_deg(splay), caul_deg(splay)), strict=True):
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            faces.append([[c, -s], [s, c]] @ edge)
        assert np.allclose(faces, [0, -1], atol=1e-12)
        # Without cauls they would close on each other by twice the splay.
        cross = edges[0, 0] * edges[1, 1] - edges[0, 1] * edges[1, 0]
        assert math.degrees(math.asin(abs(cross))) == pytest.approx(2 * caul_deg(splay))


# --- frames of sloping sides -------------------------------------------------------------


def test_compound_mitre_of_frames(random: np.random.Generator) -> None:
    """Two neighbouring sides: their common line on one, half their dihedral angle."""
    count = random.integers(3, 25, CASES)
    slope = random.uniform(1, 90, CASES)
    b, corner = np.radians(slope), 2 * np.pi / count
    normals, ups = [], []
    for azimuth in (0 * corner, corner):
        edge = rows(-np.sin(azimuth), np.cos(azimuth), 0.0)
        inward = rows(-np.cos(azimuth), -np.sin(azimuth), 0.0)
        up = np.cos(b)[:, None] * inward + np.sin(b)[:, None] * Z
        normals.append(np.cross(edge, up))
        ups.append(up)
    line = np.cross(normals[0], normals[1])
    cuts = [compound_mitre(*case) for case in zip(count.tolist(), slope.tolist(), strict=True)]
    assert worst([c.mitre_deg for c in cuts], between(line, ups[0])) < WORST_DEG
    halving = unit(normals[0]) + unit(normals[1])
    assert worst([c.tilt_deg for c in cuts], between(normals[0], halving)) < WORST_DEG


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8, 12])
def test_flat_frame_is_mitre_alone_and_upright_box_tilt_alone(count: int) -> None:
    flat, upright = compound_mitre(count, 0), compound_mitre(count, 90)
    assert (flat.mitre_deg, flat.tilt_deg) == pytest.approx((180 / count, 0), abs=1e-12)
    assert (upright.mitre_deg, upright.tilt_deg) == pytest.approx((0, 180 / count), abs=1e-12)


# The published setting of a 38 degree crown moulding on a square room: the moulding
# stands 38 degrees from the wall, which is 52 from level; it is told to 0.01 degree.
def test_published_crown_moulding() -> None:
    cut = compound_mitre(4, 90 - 38)
    assert f"{cut.mitre_deg:.2f} {cut.tilt_deg:.2f}" == "31.62 33.86"


# --- worked values of the standard forms -------------------------------------------------
# Each was worked by hand to three decimals, hence half of the last one.

WORKED = 0.0005


@pytest.mark.parametrize(
    ("head", "foot", "length", "rake", "yaw", "true_length", "mitre", "tilt"),
    [
        (1680, 1620, 2060, 0, 0.834, 2060.218, 0, 0.834),
        (1680, 1620, 2000, 8, 0.859, 2000.225, 8.001, 0.851),
    ],
)
def test_worked_rails(
    head: float,
    foot: float,
    length: float,
    rake: float,
    yaw: float,
    true_length: float,
    mitre: float,
    tilt: float,
) -> None:
    got = side_rail_yaw_deg(head, foot, length)
    cut = rail_end_cut(got, rake)
    assert got == pytest.approx(yaw, abs=WORKED)
    assert side_rail_length(head, foot, length) == pytest.approx(true_length, abs=WORKED)
    assert cut.mitre_deg == pytest.approx(mitre, abs=WORKED)
    assert cut.tilt_deg == pytest.approx(tilt, abs=WORKED)


def test_worked_leg_of_equal_leans() -> None:
    assert leg_resultant_deg(5, 5) == pytest.approx(7.053, abs=WORKED)
    assert sight_line_deg(5, 5) == pytest.approx(45, abs=1e-12)
    assert leg_length(250, 5, 5) == pytest.approx(251.906, abs=WORKED)
    cut = leg_level_cut(5, 5)
    assert (cut.mitre_deg, cut.tilt_deg) == pytest.approx((4.981, 5), abs=WORKED)
    assert side_face_twist_deg(5, 5) == pytest.approx(0.435, abs=WORKED)
    assert offset_over(250, 5) == pytest.approx(21.87, abs=0.005)


def test_worked_leg_of_unequal_leans() -> None:
    assert leg_resultant_deg(10, 15) == pytest.approx(17.784, abs=WORKED)
    assert sight_line_deg(10, 15) == pytest.approx(33.347, abs=WORKED)
    assert leg_length(300, 10, 15) == pytest.approx(315.055, abs=WORKED)
    cut = leg_level_cut(10, 15)
    assert (cut.mitre_deg, cut.tilt_deg) == pytest.approx((9.666, 15), abs=WORKED)
    assert side_face_twist_deg(10, 15) == pytest.approx(2.524, abs=WORKED)


@pytest.mark.parametrize(
    ("count", "slope", "mitre", "tilt"),
    [(4, 52, 31.619, 33.863), (6, 30, 26.565, 14.478), (4, 80, 9.851, 44.136)],
)
def test_worked_frames(count: int, slope: float, mitre: float, tilt: float) -> None:
    cut = compound_mitre(count, slope)
    assert (cut.mitre_deg, cut.tilt_deg) == pytest.approx((mitre, tilt), abs=WORKED)


# --- limits, symmetry, order -------------------------------------------------------------


def test_without_stance_rails_run_straight() -> None:
    assert side_rail_yaw_deg(1550, 1550, 2060) == 0
    assert side_rail_length(1550, 1550, 2060) == 2060


def test_head_and_foot_changed_over_turn_the_rail_the_other_way() -> None:
    assert side_rail_yaw_deg(1620, 1680, 2060) == -side_rail_yaw_deg(1680, 1620, 2060)
    assert side_rail_length(1620, 1680, 2060) == side_rail_length(1680, 1620, 2060)


def test_a_plumb_leg_is_cut_square() -> None:
    assert leg_resultant_deg(0, 0) == 0
    assert leg_length(300, 0, 0) == 300
    cut = leg_level_cut(0, 0)
    assert (cut.mitre_deg, cut.tilt_deg) == (0, 0)
    assert side_face_twist_deg(0, 0) == caul_deg(0) == 0
    with pytest.raises(ValueError, match="no sight line"):
        sight_line_deg(0, 0)


@pytest.mark.parametrize("angle", [0.5, 4.25, 7.5, 30.0, 80.0])
def test_a_lean_in_one_view_only_is_that_lean(angle: float) -> None:
    assert leg_resultant_deg(angle, 0) == pytest.approx(angle, abs=1e-12)
    assert leg_resultant_deg(0, angle) == pytest.approx(angle, abs=1e-12)
    assert (sight_line_deg(angle, 0), sight_line_deg(0, angle)) == (90, 0)
    assert (sight_line_deg(-angle, 0), sight_line_deg(0, -angle)) == (-90, 180)
    assert leg_level_cut(angle, 0).mitre_deg == pytest.approx(angle, abs=1e-12)
    assert leg_level_cut(0, angle).mitre_deg == 0
    assert caul_deg(angle) == pytest.approx(angle, abs=1e-12)
    assert side_face_twist_deg(angle, 0) == side_face_twist_deg(0, angle) == 0


def test_legs_leaning_to_other_quarters_are_mirror_images() -> None:
    for splay, rake in itertools.product((3.0, 11.0), (7.0, 20.0)):
        assert leg_resultant_deg(splay, rake) == leg_resultant_deg(rake, splay)
        for p, q in itertools.product((1, -1), repeat=2):
            there, here = (p * splay, q * rake), (splay, rake)
            assert leg_resultant_deg(*there) == leg_resultant_deg(*here)
            assert leg_length(300, *there) == leg_length(300, *here)
            assert leg_level_cut(*there).mitre_deg == p * leg_level_cut(*here).mitre_deg
            assert leg_level_cut(*there).tilt_deg == q * leg_level_cut(*here).tilt_deg
            assert caul_deg(*there) == p * caul_deg(*here)
            assert side_face_twist_deg(*there) == p * q * side_face_twist_deg(*here)
            assert rail_end_cut(*there).mitre_deg == q * rail_end_cut(*here).mitre_deg
            assert rail_end_cut(*there).tilt_deg == p * rail_end_cut(*here).tilt_deg


@pytest.mark.parametrize(
    ("function", "grows"),
    [
        (lambda t: side_rail_yaw_deg(1500 + 4 * t, 1500, 2000), True),
        (lambda t: side_rail_yaw_deg(1700, 1500, 1000 + 20 * t), False),
        (lambda t: side_rail_length(1500 + 4 * t, 1500, 2000), True),
        (lambda t: rail_end_cut(3, t).mitre_deg, True),
        (lambda t: rail_end_cut(3, t).tilt_deg, False),
        (lambda t: rail_end_cut(t, 8).mitre_deg, True),
        (lambda t: rail_end_cut(t, 8).tilt_deg, True),
        (lambda t: leg_resultant_deg(t, 10), True),
        (lambda t: leg_length(300, 10, t), True),
        (lambda t: sight_line_deg(t, 10), True),
        (lambda t: sight_line_deg(10, t), False),
        (lambda t: leg_level_cut(t, 10).mitre_deg, True),
        (lambda t: leg_level_cut(10, t).mitre_deg, False),
        (lambda t: side_face_twist_deg(t, 10), True),
        (lambda t: side_face_twist_deg(10, t / 2), True),  # up to a rake of 45 it grows
        (lambda t: compound_mitre(6, t).mitre_deg, False),
        (lambda t: compound_mitre(6, t).tilt_deg, True),
        (lambda t: compound_mitre(3 + int(t), 40).mitre_deg, False),
        (lambda t: compound_mitre(3 + int(t), 40).tilt_deg, False),
        (lambda t: offset_over(27, t), True),
        (lambda t: run_per_rise(t), False),
    ],
)
def test_more_of_one_gives_steadily_more_or_less_of_the_other(
    function: Callable[[float], float], grows: bool
) -> None:
    steps = np.diff([function(float(t)) for t in range(1, 90)])
    assert np.all(steps > 0) if grows else np.all(steps < 0)


# --- setting an angle --------------------------------------------------------------------


@pytest.mark.parametrize("cut", [-60.0, -8.0, -0.83, 0.5, 4.98, 31.62, 80.0])
def test_turned_gauge_brings_the_cut_line_to_the_blade(cut: float) -> None:
    """Seen from above: the work turns with the gauge until its line is the blade's, +Y."""
    setting = gauge_setting(cut)
    line = math.radians(90 + cut)  # square is 90 from the work's length, positive anticlockwise
    turn = math.radians(90 - setting.reading_deg)
    turn *= {"clockwise": -1, "anticlockwise": 1}[setting.turn]
    assert math.cos(line + turn) == pytest.approx(0, abs=1e-12)
    assert math.sin(line + turn) == pytest.approx(1, abs=1e-12)


def test_gauge_in_words() -> None:
    assert gauge_setting(0) == GaugeSetting(90, "square")
    assert gauge_setting(0).text == "90 deg"
    assert gauge_setting(4.981).text == "85.02 deg, turned clockwise"
    assert gauge_setting(-8).text == "82 deg, turned anticlockwise"


def test_offset_is_the_far_side_of_the_triangle() -> None:
    yaw = side_rail_yaw_deg(1680, 1620, 2060)
    assert offset_over(2060, yaw) == pytest.approx(30, abs=1e-9)  # half of the stance
    assert offset_over(27, yaw) == pytest.approx(27 * 30 / 2060, abs=1e-12)  # similar triangles
    assert offset_over(27, -yaw) == -offset_over(27, yaw)
    assert offset_over(50, 45) == pytest.approx(50, abs=1e-12)


def test_rise_over_run() -> None:
    assert f"{run_per_rise(4.25):.2f}" == "13.46"
    assert run_per_rise(45) == pytest.approx(1, abs=1e-12)
    # From the sides of triangles: 5-12-13, and half an equilateral one.
    assert run_per_rise(math.degrees(math.asin(5 / 13))) == pytest.approx(12 / 5, abs=1e-12)
    assert run_per_rise(60) == pytest.approx(math.sqrt(3) / 3, abs=1e-12)
    assert slope_text(4.25, "mm") == "1 : 13.46, 22.3 mm per 300 mm"
    assert slope_text(4.25, "inch") == "1 : 13.46, 57/64 in per 12 in"  # 12 / 13.456 = 0.892
    assert slope_text(45, "inch") == "1 : 1, 12 in per 12 in"


@pytest.mark.parametrize(
    ("angle", "thickness", "unit_", "text"),
    [
        (0.834, 27, "mm", "0.4 mm over 27 mm (0.83 deg): set it with a square and a shim"),
        (-0.834, 27, "mm", "0.4 mm over 27 mm (0.83 deg): set it with a square and a shim"),
        (0.99, 60, "mm", "1 mm over 60 mm (0.99 deg): set it with a square and a shim"),
        (
            0.834,
            27,
            "inch",
            "1/64 in [0.4 mm] over 1 1/16 in (0.83 deg): set it with a square and a shim",
        ),
        # 27 tan 0.55 = 0.259 mm: over half of a 64th, so no finer rule is called for.
        (
            0.55,
            27,
            "inch",
            "1/64 in [0.3 mm] over 1 1/16 in (0.55 deg): set it with a square and a shim",
        ),
        # 27 tan 0.3 = 0.141 mm: a 64th would be 0.4, so a finer rule and the mm beside it.
        (
            0.3,
            27,
            "inch",
            "1/128 in [0.1 mm] over 1 1/16 in (0.3 deg): set it with a square and a shim",
        ),
        (0.05, 27, "mm", "square (0.05 deg)"),
        (0.05, 27, "inch", "square (0.05 deg)"),
        (0.05, 270, "mm", "0.2 mm over 270 mm (0.05 deg): set it with a square and a shim"),
        (0.004, 27, "mm", "square"),
        (0, 27, "inch", "square"),
        (1, 27, "mm", "1 deg"),
        (8.0014, 27, "mm", "8 deg"),
        (-4.25, 27, "inch", "4.25 deg"),
    ],
)
def test_angle_as_it_is_told(angle: float, thickness: float, unit_: LengthUnit, text: str) -> None:
    assert told(angle, thickness, unit_) == text


@pytest.mark.parametrize("unit_", ["mm", "inch"])
def test_no_shim_of_nothing_is_told(unit_: LengthUnit) -> None:
    for angle in np.linspace(0.001, 0.999, 500).tolist():
        text = told(angle, 27, unit_)
        offset = 27 * math.radians(angle)  # under one degree tan is its arc to 1 in 10 000
        assert ("shim" in text) == (offset > 0.05), text
        assert not text.startswith("0 ")


# --- refusals ----------------------------------------------------------------------------


@pytest.mark.parametrize("bad", [90.0, -90.0, 120.0, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize(
    ("name", "call"),
    [
        ("yaw_deg", lambda bad: rail_end_cut(bad, 5)),
        ("rake_deg", lambda bad: rail_end_cut(5, bad)),
        ("splay_deg", lambda bad: leg_resultant_deg(bad, 5)),
        ("rake_deg", lambda bad: leg_resultant_deg(5, bad)),
        ("splay_deg", lambda bad: sight_line_deg(bad, 5)),
        ("rake_deg", lambda bad: sight_line_deg(5, bad)),
        ("splay_deg", lambda bad: leg_length(300, bad, 5)),
        ("rake_deg", lambda bad: leg_length(300, 5, bad)),
        ("splay_deg", lambda bad: leg_level_cut(bad, 5)),
        ("rake_deg", lambda bad: leg_level_cut(5, bad)),
        ("splay_deg", lambda bad: side_face_twist_deg(bad, 5)),
        ("rake_deg", lambda bad: side_face_twist_deg(5, bad)),
        ("splay_deg", lambda bad: caul_deg(bad)),
        ("rake_deg", lambda bad: caul_deg(5, bad)),
        ("angle_deg", lambda bad: offset_over(27, bad)),
        ("angle_deg", lambda bad: run_per_rise(bad)),
        ("angle_deg", lambda bad: slope_text(bad, "mm")),
        ("angle_deg", lambda bad: told(bad, 27, "mm")),
        ("cut_deg", lambda bad: gauge_setting(bad)),
    ],
)
def test_angles_out_of_range_are_refused(
    name: str, call: Callable[[float], object], bad: float
) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must be over -?\d+ and under 90, not [^\n]+$"):
        call(bad)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(
    ("name", "call"),
    [
        ("head_width", lambda bad: side_rail_yaw_deg(bad, 1500, 2000)),
        ("foot_width", lambda bad: side_rail_yaw_deg(1500, bad, 2000)),
        ("length", lambda bad: side_rail_yaw_deg(1500, 1500, bad)),
        ("length", lambda bad: side_rail_length(1500, 1500, bad)),
        ("height", lambda bad: leg_length(bad, 5, 5)),
        ("thickness", lambda bad: offset_over(bad, 5)),
        ("thickness", lambda bad: told(0.5, bad, "mm")),
        ("thickness", lambda bad: told(5, bad, "mm")),
    ],
)
def test_lengths_out_of_range_are_refused(
    name: str, call: Callable[[float], object], bad: float
) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must be finite and over 0, not [^\n]+$"):
        call(bad)


def test_frames_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match=r"^side_count must be at least 3, not 2$"):
        compound_mitre(2, 45)
    for slope in (-0.1, 90.1, math.nan):
        with pytest.raises(ValueError, match=r"^slope_deg must be 0 to 90, not"):
            compound_mitre(4, slope)
    for flat in (0.0, -4.25):
        with pytest.raises(ValueError, match=r"^angle_deg must be over 0 and under 90"):
            run_per_rise(flat)


# --- the skeleton says the same ----------------------------------------------------------


@pytest.fixture(scope="module")
def layouts() -> dict[str, Layout]:
    return {path.stem: lay_out(load_sheet(path.stem)) for path in example_sheets()}


def test_layouts_have_the_yaw_and_rail_length_of_these_functions(
    layouts: dict[str, Layout],
) -> None:
    assert len(layouts) >= 3
    for layout in layouts.values():
        widths = 2 * layout.half_width(0), 2 * layout.half_width(layout.pocket_length)
        yaw = side_rail_yaw_deg(*widths, layout.pocket_length)
        assert math.degrees(layout.yaw) == pytest.approx(yaw, abs=1e-12)
        length = side_rail_length(*widths, layout.pocket_length)
        assert layout.rail_length == pytest.approx(length, abs=1e-9)


def test_examples_tell_a_yawed_rail_from_a_straight_one(layouts: dict[str, Layout]) -> None:
    """By hand: stance 1 3/8 in is 34.925 mm, of which each side has half."""
    by_hand = {
        name: math.degrees(math.atan(laid.sheet.frame.stance / 2 / laid.pocket_length))
        for name, laid in layouts.items()
    }
    assert layouts["campion"].sheet.frame.stance == pytest.approx(34.925)
    assert {name: math.degrees(laid.yaw) for name, laid in layouts.items()} == pytest.approx(
        by_hand, abs=1e-12
    )
    assert by_hand["campion"] > 0.4
    assert min(by_hand.values()) == 0
