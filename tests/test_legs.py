"""Styles of legs: volumes by closed forms, how they bear, how they are set out and drawn.

Outlines and saw cuts are drawn again here by hand, from the sheet's numbers alone.
"""

from __future__ import annotations

import functools
import math
from typing import Any

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss

from bedmodel.checks.run import findings, run_checks
from bedmodel.cuts import Trim, Turning
from bedmodel.errors import InputError
from bedmodel.leg_spec import Leg
from bedmodel.legs import STYLES, unused
from bedmodel.parts.leg import make_legs
from bedmodel.pieces import make_pieces
from bedmodel.shape import Shape
from bedmodel.sheets import example_sheets, load_sheet
from bedmodel.shop.setting_out import setting_out
from bedmodel.skeleton import Layout, lay_out
from bedmodel.solids import make_solid
from bedmodel.strength.leg_sections import OctagonSection, RoundSection, section_of, stations
from bedmodel.tables import mattress_sizes
from tests.beds import good

NEW = ("tapered", "sabre", "turned", "octagon", "bracket")
# W and T differ, and no two of the sizes below are the same.
POST = ("leg.top_width=71", "leg.thickness=58", "leg.edge=square")


@functools.cache
def laid(style: str, *changes: str) -> Layout:
    return lay_out(load_sheet("hawthorn", changes=[f"leg.style={style}", *POST, *changes]))


def shapes(layout: Layout) -> dict[str, Shape]:
    """The legs as they are before any joint is cut, by end."""
    return {draft.name.partition("_")[0]: draft.shape for draft in make_legs(layout)}


def integral(low: float, high: float, area: Any) -> float:
    """Over a smooth area: Gauss's rule, exact for what is at most of the 40th power."""
    nodes, weights = leggauss(20)
    middle, half = (low + high) / 2, (high - low) / 2
    return float(
        sum(w * area(middle + half * x) for x, w in zip(nodes, weights, strict=True)) * half
    )


def post(layout: Layout, end: str) -> float:
    """A plain post's volume above the knee."""
    top = layout.head.leg_top if end == "head" else layout.foot.leg_top
    leg = layout.sheet.leg
    return leg.top_width * leg.thickness * (top - layout.legs.knee)


# --- volumes --------------------------------------------------------------------------------


def tapered(layout: Layout) -> float:
    leg, knee = layout.sheet.leg, layout.legs.knee
    width, thick = leg.taper_width or 0.0, leg.taper_depth or leg.thickness
    thick = thick if leg.taper == "two" else leg.thickness

    def area(h: float) -> float:
        s = h / knee
        return (width + (leg.top_width - width) * s) * (thick + (leg.thickness - thick) * s)

    return integral(0.0, knee, area)


def turned(layout: Layout) -> float:
    leg, knee = layout.sheet.leg, layout.legs.knee
    a, b = (leg.turned_width or 0.0) / 2, (leg.taper_width or 0.0) / 2
    return math.pi * knee / 3 * (a * a + a * b + b * b)  # a cone's frustum


def octagon(layout: Layout) -> float:
    """Sections at each height: a rectangle less four corners, each stopped at 45 degrees.

    The stop comes down from the square post's own corner, so at a depth d below it no more
    is off than what lies beyond the line x + y = (W + T) / 2 - sqrt(2) d.
    """
    leg, knee = layout.sheet.leg, layout.legs.knee
    w0, t0 = leg.top_width, leg.thickness
    w1, t1 = leg.taper_width or 0.0, leg.taper_depth or 0.0
    c0, c1 = (min(a, b) / (2 + math.sqrt(2)) for a, b in ((w0, t0), (w1, t1)))

    def sides(d: float) -> tuple[float, float, float]:
        s = d / knee
        return w0 + (w1 - w0) * s, t0 + (t1 - t0) * s, c0 + (c1 - c0) * s

    def stopped(d: float) -> float:
        w, t, _ = sides(d)
        return (w + t) / 2 - (w0 + t0) / 2 + math.sqrt(2) * d

    # Where the stop meets the facet: both are straight in d.
    gap0, gap1 = (sides(d)[2] - stopped(d) for d in (0.0, 100.0))
    meet = 100.0 * gap0 / (gap0 - gap1)

    def upper(d: float) -> float:
        w, t, _ = sides(d)
        return w * t - 2 * stopped(d) ** 2

    def lower(d: float) -> float:
        w, t, c = sides(d)
        return w * t - 2 * c**2

    return integral(0.0, meet, upper) + integral(meet, knee, lower)


def sabre(layout: Layout) -> float:
    """Between two arcs, each tangent to the plumb at the knee."""
    leg, knee = layout.sheet.leg, layout.legs.knee
    sweep, foot = leg.sweep or 0.0, leg.taper_width or 0.0

    def under(reach: float) -> float:
        """Between an arc and the plumb line: rectangle less sector and triangle."""
        r = (reach**2 + knee**2) / (2 * reach)
        angle = math.asin(knee / r)
        return r * knee - r * r * angle / 2 - knee * (r - reach) / 2

    inner, outer = leg.top_width + sweep - foot, sweep
    return (leg.top_width * knee + under(outer) - under(inner)) * leg.thickness


def bracket(layout: Layout) -> float:
    """A cyma of two equal arcs halves its rectangle, whatever their radius."""
    leg, knee = layout.sheet.leg, layout.legs.knee
    each = (leg.bracket_spread or 0.0) * (leg.bracket_height or 0.0) / 2
    return (leg.top_width * knee + each * (2 if leg.bracket == "both" else 1)) * leg.thickness


CASES = [
    ("tapered", ("leg.taper_width=43",), tapered),
    ("tapered", ("leg.taper_width=43", "leg.taper=outer"), tapered),
    ("tapered", ("leg.taper_width=43", "leg.taper_depth=37", "leg.taper=two"), tapered),
    ("turned", ("leg.turned_width=54.5", "leg.taper_width=33"), turned),
    ("octagon", ("leg.taper_width=46", "leg.taper_depth=41"), octagon),
    ("octagon", ("leg.taper_width=35", "leg.taper_depth=44"), octagon),
    ("sabre", ("leg.taper_width=47", "leg.sweep=39"), sabre),
    ("bracket", ("leg.bracket_height=130", "leg.bracket_spread=36"), bracket),
    ("bracket", ("leg.bracket_height=130", "leg.bracket_spread=36", "leg.bracket=both"), bracket),
    ("bracket", ("leg.bracket_height=90", "leg.bracket_spread=61", "leg.bracket=inner"), bracket),
]


@pytest.mark.parametrize(("style", "changes", "below"), CASES)
def test_a_leg_has_the_volume_of_its_closed_form(style: str, changes: Any, below: Any) -> None:
    layout = laid(style, *changes)
    for end, shape in shapes(layout).items():
        expected = post(layout, end) + below(layout)
        assert make_solid(shape).Volume() == pytest.approx(expected, rel=1e-9), end


@pytest.mark.parametrize("style", NEW)
def test_easing_takes_off_what_it_does_of_a_post(style: str) -> None:
    """Above the knee the arrises are a post's; below, what a style leaves sharp stays."""
    changes = ("leg.edge=chamfer", "leg.edge_size=5")
    layout = laid(style, *changes)
    sharp, eased = (make_solid(shapes(x)["head"]).Volume() for x in (laid(style), layout))
    above = 2 * 5**2 / 2 * (layout.head.leg_top - layout.legs.knee)
    top = 2 * 5**2 / 2 * 71
    assert sharp - eased > above + top - 5**2 * 10
    if style in ("turned", "octagon"):  # nothing below: the facets and the lathe take it
        assert sharp - eased < above + top + 5**2 * 15


# --- outlines and cuts ----------------------------------------------------------------------


def test_arcs_of_sabre_and_bracket_are_tangent() -> None:
    for layout, names in (
        (laid("sabre", "leg.taper_width=47", "leg.sweep=39"), ("outer_curve", "curve")),
        (laid("bracket", "leg.bracket=both"), ("bracket", "bracket_foot", "inner_bracket")),
    ):
        edges = list(layout.legs.outline(layout.head.leg_top).edges())
        for i, edge in enumerate(edges):
            if edge.name not in names:
                continue
            for other, here, there in (
                (edges[i - 1], 1e-6, 1 - 1e-6),
                (edges[(i + 1) % len(edges)], 1 - 1e-6, 1e-6),
            ):
                if other.name == "floor":
                    continue
                a, b = _turn(edge, here), _turn(other, there)
                assert math.cos(a - b) == pytest.approx(1.0, abs=1e-8), (edge.name, other.name)


def _turn(edge: Any, t: float) -> float:
    (x0, y0), (x1, y1) = edge.point_at(t - 1e-7), edge.point_at(t + 1e-7)
    return math.atan2(y1 - y0, x1 - x0)


def test_an_octagon_of_a_square_post_is_regular() -> None:
    layout = laid("octagon", "leg.top_width=60", "leg.thickness=60", "leg.taper_width=40")
    solid = make_solid(shapes(layout)["head"])
    foot = min(solid.Faces(), key=lambda face: face.Center().x)
    sides = sorted(edge.Length() for edge in foot.Edges())
    assert len(sides) == 8
    assert sides == pytest.approx([40 * math.tan(math.pi / 8)] * 8, rel=1e-9)


def test_the_inside_face_of_two_tapers_looks_at_the_mattress() -> None:
    layout = laid("tapered", "leg.taper=two")
    for piece in make_pieces(layout):
        if "_leg_" not in piece.name:
            continue
        (taper,) = (t for t in piece.kind.shape.trims if t.name == "inside_taper")
        _, y, z = piece.placement.direction(taper.frame.z)
        inward = 1.0 if piece.name.startswith("head") else -1.0
        assert y * inward > 0.9
        assert z < 0


def test_left_legs_mirror_right_ones() -> None:
    layout = laid("tapered", "leg.taper=two")
    placed = {p.name: p for p in make_pieces(layout)}
    for end in ("head", "foot"):
        right, left = (placed[f"{end}_leg_{side}"] for side in ("right", "left"))
        centres = [
            p.placement.point(make_solid(p.kind.shape).Center().toTuple()) for p in (right, left)
        ]
        (x0, y0, z0), (x1, y1, z1) = centres
        assert (-x0, y0, z0) == pytest.approx((x1, y1, z1), abs=1e-6)


def test_a_stopped_cut_and_a_turned_end_tell_how_deep_a_point_is() -> None:
    (cone,) = laid("turned", "leg.turned_width=54", "leg.taper_width=34").legs.trims()
    assert isinstance(cone, Turning)
    knee = laid("turned").legs.knee
    assert cone.beyond((0.0, 71 / 2 + 20.0, 58 / 2)) == pytest.approx(3.0)
    assert cone.beyond((knee + 5.0, 0.0, 0.0)) < 0
    facet = next(t for t in laid("octagon").legs.trims() if t.name == "facet_1")
    assert isinstance(facet, Trim)
    assert facet.beyond((knee + 1.0, 71.0, 58.0)) < 0 < facet.beyond((10.0, 71.0, 58.0))


# --- every style on every example -----------------------------------------------------------


@pytest.mark.parametrize("style", ["straight", "splayed", *NEW])
def test_a_style_goes_on_every_example_in_every_size(style: str) -> None:
    """Only leg.style is set; all else is worked out."""
    examples, sizes = example_sheets(), list(mattress_sizes())
    for i, path in enumerate(examples):
        for size in sizes[i :: len(examples)]:  # a leg does not know how wide its bed is
            sheet = load_sheet(path.stem, size=size, changes=[f"leg.style={style}"])
            layout = lay_out(sheet)
            assert layout.legs.section_at(0.0).width > 10


def test_the_registry_names_every_style_and_its_parameters() -> None:
    assert set(STYLES) == set(Leg.model_fields["style"].annotation.__args__)  # type: ignore[union-attr]
    named = frozenset().union(*(names for _, names in STYLES.values()))
    shared = {"style", "thickness", "above_boards", "below_boards", "edge", "edge_size"}
    assert named | shared == set(Leg.model_fields)


def test_parameters_that_a_style_does_not_use_are_told() -> None:
    sheet = load_sheet("campion", changes=["leg.style=turned", "leg.sweep=1"])
    assert set(unused(sheet)) == {
        *("leg.splay", "leg.ankle_width", "leg.foot_width", "leg.flare_diameter", "leg.sweep"),
    }
    assert unused(load_sheet("campion")) == ()
    bed = good("hawthorn", None, "leg.style=turned", "leg.splay=7")
    said = [c.told for r in run_checks(bed) for c in r.cautions if "leg." in c.told]
    assert said == ["leg.splay: not used by turned legs; take it out, or leave it"]


REFUSED = [
    ("tapered", ("leg.taper_width=70.5",), "leg.taper_width", "1"),
    ("tapered", ("leg.taper=two", "leg.taper_depth=57.5"), "leg.taper_depth", ""),
    ("octagon", ("leg.taper_width=120",), "leg.taper_width", ""),
    ("turned", ("leg.turned_width=58",), "leg.turned_width", ""),
    ("turned", ("leg.turned_width=40", "leg.taper_width=40"), "leg.taper_width", ""),
    ("sabre", ("leg.sweep=150",), "leg.sweep", ""),
    ("bracket", ("leg.bracket_height=300",), "leg.bracket_height", ""),
    ("bracket", ("leg.bracket_spread=9",), "leg.bracket_spread", ""),
    ("bracket", ("leg.bracket_spread=250",), "leg.bracket_spread", ""),
]


@pytest.mark.parametrize(("style", "changes", "parameter", "_"), REFUSED)
def test_what_does_not_fit_is_refused_and_leaving_it_out_mends_it(
    style: str, changes: Any, parameter: str, _: str
) -> None:
    with pytest.raises(InputError) as refused:
        laid(style, *changes)
    assert refused.value.parameter == parameter
    laid(style, *changes, f"{parameter}=auto")


@pytest.mark.parametrize("style", NEW)
def test_no_room_below_the_joint_is_refused_and_a_post_mends_it(style: str) -> None:
    low = ("height.platform=200", "side_rail.width=215", "footboard.board.1.above_platform=0")
    with pytest.raises(InputError) as refused:
        laid(style, *low)
    assert refused.value.parameter == "leg.style"
    assert '"straight"' in refused.value.remedy
    laid("straight", *low)


# --- how they bear --------------------------------------------------------------------------


def test_sections_against_handbook_formulas() -> None:
    """Regular octagon across flats a: A = 0.8284 a^2, I = 0.0547 a^4 (any table of sections)."""
    eight, ring = OctagonSection(50.0, 50.0, 50 / (2 + math.sqrt(2))), RoundSection(50.0, 50.0)
    assert eight.area == pytest.approx(0.8284 * 50**2, rel=1e-4)
    assert eight.inertia == pytest.approx(0.0547 * 50**4, rel=2e-3)
    assert eight.inertia_across == pytest.approx(eight.inertia)
    assert ring.area == pytest.approx(0.7854 * 50**2, rel=1e-4)
    assert ring.modulus == pytest.approx(0.0982 * 50**3, rel=1e-3)
    assert OctagonSection(50.0, 40.0, 9.0).inertia == pytest.approx(
        _by_strips(50.0, 40.0, 9.0), rel=1e-6
    )


def _by_strips(width: float, depth: float, c: float, count: int = 20000) -> float:
    z = (np.arange(count) + 0.5) / count * depth - depth / 2
    wide = width - 2 * np.maximum(0.0, np.abs(z) - (depth / 2 - c))
    return float(np.sum(wide * z**2) * depth / count)


@pytest.mark.parametrize(("style", "changes"), [case[:2] for case in CASES])
def test_the_reckoned_section_is_the_leg_s_own(style: str, changes: Any) -> None:
    """Area of the solid's own section at three heights; of a leaning one, square to its middle."""
    layout = laid(style, *changes)
    shape = shapes(layout)["head"]
    solid = make_solid(shape)
    for share in (0.1, 0.5, 0.9, 1.3):
        height = share * layout.legs.knee
        found = layout.legs.section_at(height)
        area = sum(face.Area() for face in _cut_across(solid, height))
        if style == "bracket":  # what spreads is not counted on
            assert section_of(found).area <= area + 1e-6
        elif style == "sabre":
            assert 0.8 * area < section_of(found).area <= area + 1e-6
        else:
            assert section_of(found).area == pytest.approx(area, rel=1e-6), height


def _cut_across(solid: Any, height: float) -> Any:
    import cadquery as cq

    plane = cq.Face.makePlane(900.0, 900.0, (height, 0.0, 0.0), (1.0, 0.0, 0.0))
    return solid.intersect(plane).Faces()


def test_a_thin_taper_is_stressed_where_it_is_weakest() -> None:
    from bedmodel.strength.ends import leg as leg_member
    from bedmodel.strength.loads import loads_of
    from bedmodel.strength.timber import rules_of

    def bending(*changes: str) -> tuple[float, float]:
        layout = laid(*changes)
        sheet = layout.sheet
        found = leg_member(layout, layout.head, loads_of(sheet), rules_of(sheet))
        use = next(u for u in found.cases[-1].uses if u.what == "bending")
        return use.value, use.x

    (post_stress, at), (stress, where) = (
        bending("straight"),
        bending("turned", "leg.taper_width=24"),
    )
    assert stress > 1.3 * post_stress
    assert at == pytest.approx((laid("straight").rail_top + laid("straight").rail_bottom) / 2)
    # Of a cone under a push at its end the worst place is where its diameter is 1.5 times that
    # of the tip produced; here by trying every millimetre.
    layout = laid("turned", "leg.taper_width=24")
    heights = [h / 10 for h in range(1, int(10 * layout.legs.knee))]
    best = max(heights, key=lambda h: h / section_of(layout.legs.section_at(h)).modulus)
    assert where == pytest.approx(best, abs=8.0)


def test_a_foot_beside_its_post_bends_the_leg() -> None:
    rows = stations(laid("sabre").legs, 250.0)
    assert rows[0][2] - rows[-1][2] > 30  # mm from the foot's middle to the post's
    assert [at for _, _, at in stations(laid("turned").legs, 250.0)] == pytest.approx(
        [35.5] * len(rows), abs=1e-9
    )


# --- setting out, and whole beds ------------------------------------------------------------


def test_sizes_below_the_joints_are_marked() -> None:
    layout = laid("turned", "leg.turned_width=54", "leg.taper_width=34")
    (part,) = (p for p in setting_out(layout, make_pieces(layout)) if "head_leg_right" in p.pieces)
    told = {mark.label: mark.true for row in part.rows for mark in row.marks}
    knee = layout.legs.knee
    assert told["square shoulder"] == pytest.approx(knee)
    assert told["diameter at the foot end"] == 34
    for h in (50, 100, 150):
        assert told[f"diameter {h} mm up"] == pytest.approx(34 + 20 * h / knee)
    inches = lay_out(load_sheet("campion", changes=["leg.style=turned"])).legs.gauges()
    assert "diameter 2 in up" in [g.what for g in inches]


@pytest.mark.parametrize(
    ("style", "changes"),
    [
        ("tapered", ("leg.taper=two",)),
        ("sabre", ()),
        ("turned", ("leg.edge=roundover", "leg.edge_size=5")),
        ("octagon", ("leg.edge=chamfer",)),
        ("bracket", ("leg.bracket=both", "leg.edge=roundover")),
    ],
)
def test_a_bed_of_each_style_passes_its_checks(style: str, changes: Any) -> None:
    bed = good("hawthorn", None, f"leg.style={style}", *changes)
    results = run_checks(bed)
    assert findings(results) == ()
    (outline,) = (r for r in results if r.code.name == "OUTLINE_DIFFERS")
    assert outline.tested > 100


def test_a_taper_that_was_not_sawn_is_found() -> None:
    from dataclasses import replace

    from tests.beds import codes_of

    bed = good("hawthorn", None, "leg.style=octagon")
    kind = bed.piece("head_leg_right").kind
    plain = make_solid(replace(kind.shape, trims=()))
    spoilt = replace(bed, solids={**bed.solids, kind.name: plain})
    assert {code.name for code in codes_of(spoilt)} == {"OUTLINE_DIFFERS"}
