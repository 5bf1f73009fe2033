"""Edge profiles: sections, volumes, stops, bits, refusals."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import cadquery as cq
import pytest
from OCP.BRepCheck import BRepCheck_Analyzer

from bedmodel.edge_profiles import covers, profiles_of, with_profiles
from bedmodel.errors import InputError
from bedmodel.outline import Edge, Outline
from bedmodel.parts.draft import strip
from bedmodel.pieces import make_pieces
from bedmodel.profile_bits import bit_for, profile_bits
from bedmodel.profiles import Moulding, Profile, arc_moulding, moulding, shortened
from bedmodel.shape import Easing, Shape
from bedmodel.sheets import load_sheet
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.edge_gauges import gauge_outline
from bedmodel.shop.order_of_work import steps
from bedmodel.shop.setting_out import setting_out
from bedmodel.shop_profile import Racks, ShopProfile
from bedmodel.skeleton import Layout, lay_out
from bedmodel.solids import make_solid, volume_of
from bedmodel.stock.cut_list import cut_list
from bedmodel.strength.what_if import laid_out_with
from bedmodel.tables import mattress_sizes
from tests.beds import codes_of, good

PROFILES = (
    Profile("roundover", 8.0),
    Profile("chamfer", 6.0),
    Profile("ovolo", 8.0, 1.5),
    Profile("thumbnail", 10.0, 1.5),
)
# Every arris of every part that may have a profile.
ALL = (
    *("headboard_edges.top_show=thumbnail", "headboard_edges.top_back=roundover"),
    *("headboard_edges.bottom_back=ovolo", "headboard_edges.bottom_back_size=6 mm"),
    *("footboard_edges.top_show=ovolo", "footboard_edges.bottom_show=thumbnail"),
    *("side_rail_edges.top_show=thumbnail", "side_rail_edges.top_inside=roundover"),
    *("side_rail_edges.bottom_show=chamfer", "side_rail_edges.bottom_inside=roundover"),
    *("leg_edges.outer_show=ovolo", "leg_edges.outer_inside=roundover"),
)


def ids(profile: Profile) -> str:
    return profile.style


@pytest.mark.parametrize("profile", PROFILES, ids=ids)
def test_a_profile_s_area_and_depth(profile: Profile) -> None:
    """The closed form against the outline's, and both against a sum of its depths."""
    assert profile.outline().area == pytest.approx(profile.area, rel=1e-12)
    beyond = profile.outline(1.0).area
    assert beyond == pytest.approx(profile.area + profile.width + profile.drop + 1, rel=1e-12)
    count = 20000
    step = profile.width / count
    total = sum(profile.drop_at((i + 0.5) * step) for i in range(count)) * step
    assert total == pytest.approx(profile.area, rel=1e-5)
    x0, y0, x1, y1 = profile.outline().bounds()
    assert (x0, y0, x1, y1) == pytest.approx((0.0, 0.0, profile.width, profile.drop))


def test_sections_by_hand() -> None:
    """Quarter round of 8 between steps of 1.5: 9.5 square less a quarter of a circle of 8."""
    assert PROFILES[2].area == pytest.approx(9.5**2 - math.pi * 64 / 4)
    # A thumbnail of 10: 5 deep below its step of 1.5, radius (10^2 + 5^2) / (2 x 5) = 12.5.
    thumbnail = PROFILES[3]
    assert (thumbnail.radius, thumbnail.drop) == (12.5, 6.5)
    assert thumbnail.drop_at(0.0) == pytest.approx(6.5)
    assert thumbnail.drop_at(10.0 - 1e-12) == pytest.approx(1.5)


def board(*mouldings: Moulding, edge: str = "square") -> Shape:
    shape = strip(600.0, 120.0, 30.0, "roundover" if edge == "roundover" else "square", 3.0)
    return replace(shape, mouldings=mouldings)


def along(profile: Profile, first: float, last: float, stopped: tuple[bool, bool]) -> Moulding:
    ends = ((first, 120.0, 0.0), (last, 120.0, 0.0))
    return moulding("top_show", ends, (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), profile, 6.35, stopped)


@pytest.mark.parametrize("profile", PROFILES, ids=ids)
def test_a_through_profile_s_volume_is_exact(profile: Profile) -> None:
    whole = volume_of(make_solid(board()).wrapped)
    cut = make_solid(board(along(profile, 0.0, 600.0, (False, False)))).wrapped
    assert BRepCheck_Analyzer(cut).IsValid()
    assert whole - volume_of(cut) == pytest.approx(600 * profile.area, rel=1e-9)


@pytest.mark.parametrize("profile", PROFILES, ids=ids)
def test_a_stopped_profile_runs_out_round_the_bit(profile: Profile) -> None:
    """Each end takes the section's rings as far as they lie in the wood: r acos(b/r) of each."""
    bearing, count = 6.35, 4000
    step = profile.width / count
    end = 0.0
    for i in range(count):
        y = (i + 0.5) * step
        r = bearing + y
        end += profile.drop_at(y) * step * r * math.acos(bearing / r)
    whole = volume_of(make_solid(board()).wrapped)
    cut = make_solid(board(along(profile, 100.0, 500.0, (True, True)))).wrapped
    assert BRepCheck_Analyzer(cut).IsValid()
    taken = whole - volume_of(cut)
    assert taken == pytest.approx(400 * profile.area + 2 * end, rel=2e-5)
    one = make_solid(board(along(profile, 0.0, 500.0, (False, True)))).wrapped
    assert whole - volume_of(one) == pytest.approx(500 * profile.area + end, rel=2e-5)


@pytest.mark.parametrize("profile", PROFILES, ids=ids)
def test_over_an_eased_edge_only_the_profile_is_seen(profile: Profile) -> None:
    """The easing of 3 mm lies wholly in what the profile takes."""
    assert covers(profile, Easing("roundover", 3.0, frozenset({"long"})))
    plain = volume_of(make_solid(board(edge="roundover")).wrapped)
    cut = make_solid(board(along(profile, 0.0, 600.0, (False, False)), edge="roundover")).wrapped
    assert BRepCheck_Analyzer(cut).IsValid()
    eased = (1 - math.pi / 4) * 9
    assert plain - volume_of(cut) == pytest.approx(600 * (profile.area - eased), rel=1e-9)


@pytest.mark.parametrize("axis", ["x", "y", "z"])
@pytest.mark.parametrize("profile", PROFILES, ids=ids)
def test_mirror_images(profile: Profile, axis: str) -> None:
    shape = board(along(profile, 50.0, 600.0, (True, False)))
    image = shape.reflected(axis)  # type: ignore[arg-type]
    frame = image.mouldings[0].frame
    x, y, z = frame.x, frame.y, frame.z
    turned = (x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0])
    assert turned == pytest.approx(z)
    assert image.key() != shape.key()
    assert image.reflected(axis).key() == shape.key()  # type: ignore[arg-type]
    volumes = [volume_of(make_solid(s).wrapped) for s in (shape, image)]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-7)


# --- on beds --------------------------------------------------------------------------------


def layout_of(name: str, *changes: str, size: str | None = None) -> Layout:
    return lay_out(load_sheet(name, size=size, changes=changes))


@pytest.mark.parametrize("name", ["hawthorn", "campion"])
def test_beds_with_every_profile_pass_their_checks(name: str) -> None:
    bed = good(name, None, *ALL)
    assert codes_of(bed) == set()
    moulded = {m.name for p in bed.pieces for m in p.kind.shape.mouldings}
    groups = ("top_show", "top_back", "top_inside", "bottom_show", "bottom_back", "bottom_inside")
    assert moulded == {*groups, "outer_show", "outer_inside"}


def test_profiles_stop_clear_of_what_is_cut_and_of_the_ends() -> None:
    """15 mm and the run-out from each leg; round each recess, too."""
    for name in ("hawthorn", "campion", "sorrel"):
        for size in mattress_sizes():
            layout = layout_of(name, *ALL, size=size)
            for piece in make_pieces(layout):
                for each in piece.kind.shape.mouldings:
                    assert each.length >= 60
                    if "leg" in piece.name:
                        continue
                    ends = [each.frame.origin[0], each.frame.point((each.length, 0, 0))[0]]
                    x0, _, x1, _ = piece.kind.shape.outline.bounds()
                    slant = layout.sheet.side_rail.thickness * math.tan(layout.yaw)
                    assert min(ends) - each.run_out >= x0 + 15 - 1e-6
                    assert max(ends) + each.run_out <= x1 - 15 + 1e-6 + slant


def test_a_recess_parts_a_profile() -> None:
    """Hook plates let in just under the upper edge of a low rail."""
    layout = layout_of("hawthorn", "side_rail_edges.top_inside=ovolo")
    (rail,) = [p.kind.shape for p in make_pieces(layout) if p.name == "side_rail_right"]
    from bedmodel.cuts import Mortise
    from bedmodel.frames import Frame
    from bedmodel.parts.draft import Draft

    frame = Frame.from_zx((900.0, rail.width - 12.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    slot = Mortise("slot", frame, 60.0, 10.0, 8.0)
    plain = replace(rail, mouldings=(), cuts=(slot,))
    draft = Draft("side_rail", "side_rail", "rails", "right", plain, Frame(), "white-ash")
    parted = with_profiles(draft, layout).shape.mouldings
    assert len(parted) == 2
    wall, stop = layout.sheet.fastener.wall_least, 15
    spans = sorted(
        sorted((m.frame.origin[0], m.frame.point((m.length, 0.0, 0.0))[0])) for m in parted
    )
    ahead = parted[0].run_out
    assert spans[0][1] == pytest.approx(900 - 30 - wall - stop - ahead)
    assert spans[1][0] == pytest.approx(900 + 30 + wall + stop + ahead)
    assert all(m.stopped == (True, True) for m in parted)


@pytest.mark.parametrize(
    ("changes", "parameter"),
    [
        (("headboard_edges.top_show=roundover", "headboard_edges.top_show_size=2 mm"),
         "headboard_edges.top_show_size"),
        (("side_rail_edges.top_show=ovolo", "side_rail_edges.top_show_size=25 mm",
          "side_rail_edges.top_inside=ovolo"), "side_rail_edges.top_inside_size"),
        (("leg_edges.outer_show=roundover", "leg_edges.outer_show_size=3 mm",
          "leg.edge_size=8 mm"), "leg_edges.outer_show_size"),
    ],
)  # fmt: skip
def test_refused(changes: tuple[str, ...], parameter: str) -> None:
    layout = layout_of("hawthorn", *changes)
    with pytest.raises(InputError) as caught:
        make_pieces(layout)
    assert caught.value.parameter == parameter


def test_inches_and_millimetres_are_one_bed() -> None:
    one = layout_of("campion", *ALL)
    two = laid_out_with(one, {"design.unit": "mm"})
    shapes = [
        [replace(p.kind.shape, cuts=()).key() for p in make_pieces(x) if p.kind.shape.mouldings]
        for x in (one, two)
    ]
    assert shapes[0] == shapes[1]
    assert len(shapes[0]) == 9


def test_without_profiles_nothing_is_moulded() -> None:
    layout = layout_of("hawthorn")
    assert not any(p.kind.shape.mouldings for p in make_pieces(layout))
    assert dict(profiles_of(layout.sheet.headboard_edges)) == {}


# --- bits and papers ------------------------------------------------------------------------


def test_each_bit_cuts_its_own_profile_and_no_other() -> None:
    for bit in profile_bits().values():
        assert bit.status == "unconfirmed"
        assert bit.cuts(bit.profile)
        first = bit_for(bit.profile)
        assert first is not None
        assert first.profile.style == bit.profile.style
    assert bit_for(Profile("ovolo", 8.0, 2.5)) is None
    small = bit_for(Profile("chamfer", 3.0))
    assert small is not None
    assert small.profile.size > 3


def test_the_card_names_the_bit_or_warns() -> None:
    layout = layout_of("hawthorn", "headboard_edges.top_show=ovolo")
    pieces = make_pieces(layout)

    def card(shop: ShopProfile | None) -> dict[str, str]:
        (jig,) = [j for j in make_jigs(layout, pieces, shop) if j.name == "edge_gauge"]
        return dict(jig.card.rows)

    assert "ovolo bit 8 mm" in card(None)["bit"]
    have = ("straight-10-x-40-mm", "straight-6-x-20-mm", "straight-12-x-50-mm",
            "pattern-1-2-x-1-1-2-in", "pattern-3-4-x-2-in")  # fmt: skip
    without = ShopProfile(router=Racks(bits=(*have, "roundover-8-mm")))
    assert "CAUTION" in card(without)["bit"]
    assert "13.4 mm" in card(None)["stops"]


def test_a_gauge_and_the_edge_make_a_whole() -> None:
    """Points near the arris lie in the gauge or in the wood, never in both."""
    rng = random.Random(7)
    for profile in PROFILES:
        gauge = gauge_outline(profile)
        from shapely import Point as At
        from shapely import Polygon

        from bedmodel.stock.nest.polygons import outer_polygon

        shape = Polygon(outer_polygon(gauge, 0.001))
        for _ in range(300):
            y, z = rng.uniform(0, profile.width + 10), rng.uniform(0, profile.drop + 10)
            margin = abs(z - profile.drop_at(y))
            if margin < 0.05 or min(abs(y - profile.width), abs(y - profile.quirk)) < 0.05:
                continue
            gone = y < profile.width and z < profile.drop_at(y)
            assert shape.contains(At(y, z)) == gone, (profile, y, z)


def test_steps_and_stop_marks() -> None:
    layout = layout_of("hawthorn", *ALL)
    pieces, shop = make_pieces(layout), ShopProfile()
    cuts = cut_list(pieces, shop, "mm", layout)
    made = steps(layout, cuts, tuple(p.name for p in pieces), shop)
    (step,) = [s for s in made if s.title == "Mould the edges"]
    assert len(step.settings) == 11
    (rail,) = [p for p in setting_out(layout, pieces) if p.kind.startswith("side_rail")][:1]
    stops = [m for row in rail.rows for m in row.marks if "profile stops" in m.what]
    assert len(stops) == 8


HOLLOW = 300.0


def hollow() -> tuple[Shape, Edge]:
    """A board with a hollow arc in its upper edge, and that arc."""
    bulge = -math.tan(math.asin(200 / HOLLOW) / 2)
    outline = Outline.of(
        [
            ((0.0, 0.0), 0.0, "end"),
            ((500.0, 0.0), 0.0, "end"),
            ((500.0, 200.0), 0.0, "long"),
            ((450.0, 200.0), bulge, "curve"),
            ((50.0, 200.0), 0.0, "long"),
            ((0.0, 200.0), 0.0, "end"),
        ]
    )
    (line,) = outline.named("curve")
    assert line.radius == pytest.approx(HOLLOW)
    return Shape(500.0, 200.0, 30.0, outline), line


def moulded(profile: Profile, level: float, down: float, short: float) -> cq.Solid:
    shape, line = hollow()
    whole = arc_moulding("curve_show", line, level, (0.0, 0.0, down), profile, 6.35)
    part = shortened(whole, short, whole.length - short, (True, True))
    solid = make_solid(replace(shape, mouldings=(part,)))
    assert BRepCheck_Analyzer(solid.wrapped).IsValid()
    return solid


@pytest.mark.parametrize(("level", "down"), [(0.0, 1.0), (30.0, -1.0)])
@pytest.mark.parametrize("profile", PROFILES[2:], ids=ids)
def test_along_an_arc_by_the_rule_of_pappus(profile: Profile, level: float, down: float) -> None:
    """60 mm more of a hollow arc take the section times each fibre's own, longer path."""
    count = 20000
    step = profile.width / count
    middles = [(i + 0.5) * step for i in range(count)]
    path = sum(profile.drop_at(y) * step * (HOLLOW + y) / HOLLOW for y in middles)
    volumes = [volume_of(moulded(profile, level, down, short).wrapped) for short in (60.0, 90.0)]
    assert volumes[1] - volumes[0] == pytest.approx(60 * path, rel=1e-4)


@pytest.mark.parametrize(("level", "down"), [(0.0, 1.0), (30.0, -1.0)])
def test_a_chamfer_along_an_arc_by_its_face(level: float, down: float) -> None:
    """Its flat is a cone: 60 mm more are 6 sqrt 2 by the path of its middle.

    The kernel's integral of a volume over cones cut by cones is off by some 1e-5 of the part,
    which is much of a chamfer; areas are exact.
    """
    areas = [
        max(
            f.Area() for f in moulded(PROFILES[1], level, down, s).Faces() if f.geomType() == "CONE"
        )
        for s in (60.0, 90.0)
    ]
    expected = 60 * 6 * math.sqrt(2) * (HOLLOW + 3) / HOLLOW
    assert areas[0] - areas[1] == pytest.approx(expected, rel=1e-6)


def test_the_inside_curve_of_a_splayed_leg() -> None:
    bed = good("campion", None, "leg_edges.curve_show=ovolo", "leg_edges.curve_inside=roundover")
    assert codes_of(bed) == set()
    legs = [p for p in bed.pieces if "_leg_" in p.name]
    assert {m.name for p in legs for m in p.kind.shape.mouldings} == {"curve_show", "curve_inside"}
    plain = good("campion")
    for leg in legs:
        lost = plain.volume(plain.piece(leg.name).kind.name) - bed.volume(leg.kind.name)
        low, high = (
            sum(m.length * m.profile.area for m in leg.kind.shape.mouldings) * f for f in (0.5, 1.3)
        )
        assert low < lost < high
