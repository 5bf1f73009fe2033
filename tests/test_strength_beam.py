"""The beam against closed forms, handbook tables and its own laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedmodel.strength.beam import (
    Beam,
    LineLoad,
    PointLoad,
    Support,
    Unstable,
    bend,
)
from bedmodel.strength.timber import Section

E = 12000.0
SLAT = Section(90, 20)
CLAMP = math.inf


def beam(
    length: float, *supports: Support, section: Section = SLAT, g: float | None = None
) -> Beam:
    return Beam(length, section, E, g, supports)


def simple(length: float, **more: float) -> Beam:
    return beam(length, Support(0), Support(length), **more)  # type: ignore[arg-type]


# --- closed forms: 90 x 20, E 12 000, no shear ---------------------------------------------


def test_cantilever() -> None:
    bent = bend(beam(780, Support(0, turning=CLAMP)), [PointLoad(780, 100)])
    assert bent.worst_sag() == (780, pytest.approx(21.970, abs=5e-4))
    assert bent.worst_moment() == (0, pytest.approx(78000))


def test_simple_span_with_a_load_in_the_middle() -> None:
    bent = bend(simple(780), [PointLoad(390, 500)])
    assert bent.worst_sag() == (pytest.approx(390), pytest.approx(6.8656, abs=5e-5))
    assert bent.reactions == pytest.approx((250, 250))
    assert bent.worst_shear() == pytest.approx(250)


def test_simple_span_with_an_even_load() -> None:
    bent = bend(simple(780), [LineLoad(0, 780, 0.6)])
    assert bent.worst_sag() == (pytest.approx(390), pytest.approx(4.0164, abs=5e-5))
    assert bent.worst_moment() == (pytest.approx(390), pytest.approx(0.6 * 780**2 / 8))


def two_spans() -> Beam:
    return beam(1560, Support(0), Support(780), Support(1560))


def test_two_spans_with_an_even_load() -> None:
    """Reactions 3/8, 10/8, 3/8; the peak near 0.42 L is w L^4 / 185 E I, rounded."""
    bent = bend(two_spans(), [LineLoad(0, 1560, 0.6)])
    assert bent.reactions == pytest.approx((175.5, 585.0, 175.5))
    assert bent.sag(390) == pytest.approx(1.6066, abs=5e-5)
    x, sag = bent.worst_sag()
    assert min(x, 1560 - x) == pytest.approx(0.4215 * 780, abs=0.1)
    assert sag == pytest.approx(0.6 * 780**4 / (185 * E * SLAT.inertia), rel=3e-3)
    assert bent.worst_moment() == (780, pytest.approx(0.6 * 780**2 / 8))


def test_two_spans_with_one_loaded() -> None:
    """13/32, 22/32 and -3/32 of the load; moment 13/64 P L under it."""
    bent = bend(two_spans(), [PointLoad(390, 500)])
    assert bent.reactions == pytest.approx((500 * 13 / 32, 500 * 22 / 32, -500 * 3 / 32))
    assert bent.sag(390) == pytest.approx(4.9347, abs=5e-5)
    assert bent.moment(390) == pytest.approx(500 * 780 * 13 / 64)


def test_a_loose_end_lifts_and_the_span_is_a_simple_one() -> None:
    supports = [Support(x, push_only=True) for x in (0, 780, 1560)]
    bent = bend(beam(1560, *supports), [PointLoad(390, 500)])
    assert bent.reactions == pytest.approx((250, 250, 0))
    assert bent.sag(390) == pytest.approx(6.8656, abs=5e-5)
    assert bent.sag(1560) < 0


def test_springs_against_turning_at_both_ends() -> None:
    ends = (Support(0, turning=5e6), Support(780, turning=5e6))
    assert bend(beam(780, *ends), [LineLoad(0, 780, 0.6)]).worst_sag()[1] == pytest.approx(
        1.6697, abs=5e-5
    )


def test_three_spans() -> None:
    """Three spans of 650, 1 N/mm, 70 x 30: 0.4, 1.1, 1.1, 0.4 w L; 0.1 w L^2."""
    rail = beam(1950, *(Support(650 * i) for i in range(4)), section=Section(70, 30))
    bent = bend(rail, [LineLoad(0, 1950, 1.0)])
    assert bent.reactions == pytest.approx((260, 715, 715, 260))
    assert bent.worst_moment()[1] == pytest.approx(42250)
    assert bent.sag(650 * 0.45) == pytest.approx(0.650, abs=1e-3)
    # Beam tables give 0.0069 w L^4 / E I at 0.446 L from the end.
    assert bent.worst_sag()[1] == pytest.approx(0.0069 * 650**4 / (E * 157500), rel=4e-3)


def test_overhang() -> None:
    """A load P at an overhang a beside a span L sags it by P a^2 (L + a) / 3 E I."""
    bent = bend(beam(1000, Support(0), Support(800)), [PointLoad(1000, 100)])
    assert bent.sag(1000) == pytest.approx(100 * 200**2 * 1000 / (3 * E * SLAT.inertia))
    assert bent.reactions == pytest.approx((-25, 125))


def test_springy_support_gives_by_its_reaction() -> None:
    bent = bend(beam(780, Support(0), Support(780, stiffness=50)), [PointLoad(390, 500)])
    assert bent.sag(780) == pytest.approx(250 / 50)


# Wood Handbook (FPL-GTR-282) Table 9-1: k_b and k_s of sag = k_b W L^3/EI + k_s W L/GA'.
HANDBOOK = [
    ("even, simple", "simple", "even", 5 / 384, 1 / 8),
    ("even, clamped", "clamped", "even", 1 / 384, 1 / 8),
    ("middle, simple", "simple", "middle", 1 / 48, 1 / 4),
    ("middle, clamped", "clamped", "middle", 1 / 192, 1 / 4),
    ("quarter points, simple", "simple", "quarters", 11 / 768, 1 / 8),
    ("even, cantilever", "cantilever", "even", 1 / 8, 1 / 2),
    ("end, cantilever", "cantilever", "end", 1 / 3, 1),
]


@pytest.mark.parametrize(("ends", "load", "kb", "ks"), [row[1:] for row in HANDBOOK])
def test_handbook_table_of_sags(ends: str, load: str, kb: float, ks: float) -> None:
    length, total, g = 900.0, 400.0, 800.0
    supports = {
        "simple": (Support(0), Support(length)),
        "clamped": (Support(0, turning=CLAMP), Support(length, turning=CLAMP)),
        "cantilever": (Support(0, turning=CLAMP),),
    }[ends]
    loads = {
        "even": [LineLoad(0, length, total / length)],
        "middle": [PointLoad(length / 2, total)],
        "quarters": [PointLoad(length / 4, total / 2), PointLoad(length * 3 / 4, total / 2)],
        "end": [PointLoad(length, total)],
    }[load]
    section = Section(40, 90)
    bent = bend(beam(length, *supports, section=section, g=g), loads)
    sag = kb * total * length**3 / (E * section.inertia)
    sag += ks * total * length / (g * section.shear_area)
    assert bent.worst_sag()[1] == pytest.approx(sag, rel=1e-9)


def test_two_quarter_loads_under_one_of_them() -> None:
    """1/96 at the load point belongs to simple ends (by beam theory)."""
    bent = bend(simple(800), [PointLoad(200, 50), PointLoad(600, 50)])
    assert bent.sag(200) == pytest.approx(100 * 800**3 / (96 * E * SLAT.inertia))


@pytest.mark.parametrize(
    "supports", [(), (Support(0),), (Support(300), Support(300)), (Support(0, stiffness=10),)]
)
def test_what_would_fall_is_told(supports: tuple[Support, ...]) -> None:
    with pytest.raises(Unstable):
        bend(beam(800, *supports), [PointLoad(400, 10)])


# --- laws ----------------------------------------------------------------------------------

spans = st.lists(st.floats(150, 900), min_size=1, max_size=5)
places = st.lists(st.tuples(st.floats(0, 1), st.floats(10, 2000)), min_size=1, max_size=4)


def over(bays: list[float], factor: float = 1.0) -> Beam:
    xs = [0.0]
    for bay in bays:
        xs.append(xs[-1] + bay * factor)
    return beam(xs[-1], *(Support(x) for x in xs), g=700.0)


@given(spans, places)
@settings(max_examples=40, deadline=None)
def test_reactions_balance_the_loads(bays: list[float], loads: list[tuple[float, float]]) -> None:
    b = over(bays)
    points = [PointLoad(share * b.length, force) for share, force in loads]
    bent = bend(b, points)
    total = sum(p.force for p in points)
    assert sum(bent.reactions) == pytest.approx(total, rel=1e-6)
    turn = sum(p.force * p.x for p in points)
    held = sum(r * s.x for r, s in zip(bent.reactions, b.supports, strict=True))
    assert held == pytest.approx(turn, rel=1e-6, abs=1e-3 * total)


@given(spans, places)
@settings(max_examples=25, deadline=None)
def test_one_beam_turned_round_bends_alike(
    bays: list[float], loads: list[tuple[float, float]]
) -> None:
    there, back = over(bays), over(bays[::-1])
    bent = bend(there, [PointLoad(s * there.length, f) for s, f in loads])
    turned = bend(back, [PointLoad((1 - s) * back.length, f) for s, f in loads])
    assert turned.reactions[::-1] == pytest.approx(bent.reactions, rel=1e-5, abs=1e-3)
    assert turned.worst_sag()[1] == pytest.approx(bent.worst_sag()[1], rel=1e-5, abs=1e-7)
    assert turned.worst_moment()[1] == pytest.approx(bent.worst_moment()[1], rel=1e-5)


@given(spans, st.floats(1, 3), places)
@settings(max_examples=25, deadline=None)
def test_more_load_sags_more_in_proportion(
    bays: list[float], factor: float, loads: list[tuple[float, float]]
) -> None:
    b = over(bays)
    points = [PointLoad(s * b.length, f) for s, f in loads]
    once = bend(b, points)
    more = bend(b, [PointLoad(p.x, p.force * factor) for p in points])
    assert more.worst_sag()[1] == pytest.approx(once.worst_sag()[1] * factor, rel=1e-6, abs=1e-9)


@given(spans, st.floats(1.1, 3))
@settings(max_examples=25, deadline=None)
def test_sag_goes_with_the_cube_of_the_span(bays: list[float], factor: float) -> None:
    """One load in the middle of the first bay, without shear."""
    short, long = over(bays), over(bays, factor)
    sags = []
    for b, bay in ((short, bays[0]), (long, bays[0] * factor)):
        bare = Beam(b.length, b.section, b.modulus, None, b.supports)
        sags.append(bend(bare, [PointLoad(bay / 2, 500)]).worst_sag()[1])
    assert sags[1] / sags[0] == pytest.approx(factor**3, rel=1e-5)


@given(spans, places)
@settings(max_examples=25, deadline=None)
def test_extremes_are_extremes(bays: list[float], loads: list[tuple[float, float]]) -> None:
    b = over(bays)
    bent = bend(b, [PointLoad(s * b.length, f) for s, f in loads] + [LineLoad(0, b.length, 0.3)])
    xs = [b.length * i / 400 for i in range(401)]
    assert max(bent.sag(x) for x in xs) <= bent.worst_sag()[1] + 1e-9
    assert max(abs(bent.moment(x)) for x in xs) <= bent.worst_moment()[1] * (1 + 1e-9) + 1e-6


def test_spreading_a_load_over_no_width_is_a_point() -> None:
    assert LineLoad.spread(100, 0, 50) == PointLoad(100, 50)
    spread = LineLoad.spread(100, 40, 50)
    assert spread == LineLoad(80, 120, 1.25)
