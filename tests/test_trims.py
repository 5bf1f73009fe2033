"""Saw cuts through a whole part, against closed forms of prisms cut by a plane."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bedmodel.cuts import Trim
from bedmodel.frames import Frame
from bedmodel.outline import Outline
from bedmodel.shape import Easing, Shape, mirror_pair
from bedmodel.solids import make_solid

LENGTH, WIDTH, THICKNESS = 400.0, 90.0, 37.0
PLAIN = Shape(
    LENGTH, WIDTH, THICKNESS, Outline.rectangle(LENGTH, WIDTH, ("long", "end", "long", "end"))
)


def compound(mitre_deg: float, tilt_deg: float, at: float) -> Trim:
    """A cut at the far end; the point at x = ``at`` on the axis y = z = 0 stays in its plane."""
    m, t = math.tan(math.radians(mitre_deg)), math.tan(math.radians(tilt_deg))
    return Trim("far", Frame.from_zx((at, 0.0, 0.0), (1.0, m, t), (0.0, 1.0, 0.0)))


@pytest.mark.parametrize(("mitre", "tilt"), [(0.0, 0.0), (8.0, 0.0), (0.0, -11.0), (8.0, 5.0)])
def test_a_sawn_prism_is_as_long_as_the_plane_over_its_middle(mitre: float, tilt: float) -> None:
    # Volume under a plane over a rectangle is its area times the height over the middle.
    shape = replace(PLAIN, trims=(compound(mitre, tilt, 350.0),))
    middle = 350.0 - math.tan(math.radians(mitre)) * WIDTH / 2
    middle -= math.tan(math.radians(tilt)) * THICKNESS / 2
    solid = make_solid(shape)
    assert solid.Volume() == pytest.approx(WIDTH * THICKNESS * middle, rel=1e-12)
    assert solid.BoundingBox().xmin == pytest.approx(0.0, abs=1e-6)


def test_a_trim_comes_after_easing_and_before_cuts() -> None:
    eased = replace(PLAIN, easing=Easing("chamfer", 4.0, frozenset({"long"})))
    shape = replace(eased, trims=(compound(0.0, 0.0, 350.0),))
    section = WIDTH * THICKNESS - 4 * 4.0**2 / 2
    assert make_solid(shape).Volume() == pytest.approx(section * 350.0, rel=1e-9)


def test_the_key_tells_planes_and_not_where_a_frame_lies_in_its_plane() -> None:
    trim = compound(8.0, 5.0, 350.0)
    slid = Trim("other", Frame.from_zx(trim.frame.point((9.0, -4.0, 0.0)), trim.frame.z, (1, 2, 3)))
    shape, same = replace(PLAIN, trims=(trim,)), replace(PLAIN, trims=(slid,))
    assert shape.key() == same.key() != PLAIN.key()
    assert shape.key() != replace(PLAIN, trims=(compound(8.0, 5.0, 350.1),)).key()


def test_the_twin_of_a_sawn_part_is_its_mirror_image() -> None:
    plain_twin, _ = mirror_pair(PLAIN, Frame((50.0, 0.0, 0.0)))
    assert plain_twin.key() == PLAIN.key()
    shape = replace(PLAIN, trims=(compound(8.0, 5.0, 350.0),))
    twin, placement = mirror_pair(shape, Frame((50.0, 0.0, 0.0)))
    assert twin.key() != shape.key()
    right = make_solid(shape).Center()
    left = placement.point(make_solid(twin).Center().toTuple())
    assert left == pytest.approx((-right.x - 50.0, right.y, right.z), abs=1e-6)
