"""What the mattress lies on: rows, webbing, decks, box springs, beams."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import pytest

from bedmodel.centre_beam import beam_height
from bedmodel.cuts import Mortise
from bedmodel.errors import InputError
from bedmodel.panels import panels
from bedmodel.pieces import make_pieces
from bedmodel.screw_joints import screw_joints
from bedmodel.shape import Shape
from bedmodel.sheets import load_sheet
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.order_of_work import steps
from bedmodel.shop.setting_out import setting_out
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout, lay_out
from bedmodel.stock.buying import buying_list
from bedmodel.stock.cut_list import cut_list
from bedmodel.strength.advice import advise
from bedmodel.strength.answer import strength
from bedmodel.strength.bed_frame import frame_cases
from bedmodel.strength.members import basis_of, members
from bedmodel.strength.platform import judge_centre_rail
from bedmodel.strength.what_if import laid_out_with
from bedmodel.tables import mattress_sizes
from tests.beds import EXAMPLES, codes_of, good

WIDE = "centre_rail.width=80 mm"
KINDS: dict[str, tuple[str, ...]] = {
    "rows": ("support.rows=2", WIDE),
    "rows, loose": ("support.rows=2", "slat.joint=loose"),
    "webbed": ("support.kind=webbed",),
    "webbed rows": ("support.kind=webbed", "support.rows=2", WIDE),
    "deck": ("support.kind=deck", "deck.airing=slots"),
    "deck rows": ("support.kind=deck", "support.rows=2", "deck.fixing=screws", "deck.airing=holes"),
    "box": ("support.kind=box_spring",),
    "bearers": ("support.kind=box_spring", "support.bearers=5"),
}
# Bearing enough for a loose slat, too little for its screw.
NARROW = ("support.rows=2", "support.row_bearing=8")
BEAM = (
    *("centre_rail.kind=beam", "leg.above_boards=60 mm", "centre_rail.width=70 mm"),
    *("headboard.board.1.above_platform=-210 mm", "headboard.board.1.width=300 mm"),
    *("footboard.board.1.above_platform=-210 mm", "footboard.board.1.width=300 mm"),
    *("height.platform=360 mm", "cleat.height=24 mm"),
)


def layout_of(name: str, *changes: str, size: str | None = None) -> Layout:
    return lay_out(load_sheet(name, size=size, changes=changes))


# --- every kind in every size ------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_kind_in_every_size(name: str, kind: str) -> None:
    """Laid out, or refused for want of a centre rail alone; pieces lie where they should."""
    built, wrongly = 0, []
    for size in mattress_sizes():
        try:
            layout = layout_of(name, *KINDS[kind], size=size)
        except InputError as refused:
            wrongly += [] if refused.parameter == "support.rows" else [(size, str(refused))]
            continue
        built += 1
        pieces = make_pieces(layout)
        names = [piece.name for piece in pieces]
        assert len(set(names)) == len(names)
        platform = [p for p in pieces if p.name.startswith(("slat_", "deck_panel"))]
        for piece in platform:
            levels = [
                piece.placement.point((0.0, 0.0, z))[2] for z in (0.0, piece.kind.shape.thickness)
            ]
            # A left-hand one may lie turned over.
            assert sorted(levels) == pytest.approx([layout.runner_top, layout.platform], abs=1e-9)
        expected = layout.slats.count * layout.rows if layout.has_slats else 0
        assert sum(n.startswith("slat_") and "plate" not in n for n in names) == expected
        if not platform:
            assert layout.runner_top == layout.platform
    assert built >= 10
    assert wrongly == []


@pytest.mark.parametrize("size", mattress_sizes())
def test_panels_come_out_of_their_sheets_and_can_be_lifted(size: str) -> None:
    layout = layout_of("hawthorn", "support.kind=deck", size=size)
    deck, plan = layout.sheet.deck, layout.deck
    assert plan is not None
    starts = [place.start for place in plan.panels]
    assert plan.panels[0].start == deck.side_gap
    assert plan.panels[-1].end == pytest.approx(layout.pocket_length - deck.side_gap)
    for place in plan.panels:
        assert place.length <= deck.sheet_length - 2 * deck.sheet_margin
        assert place.width <= deck.sheet_width - 2 * deck.sheet_margin
        # 680 kg/m3 of the table, by hand.
        kilograms = place.length * place.width * deck.thickness * 680e-9
        assert plan.mass_kg(place) == pytest.approx(kilograms)
        assert kilograms <= deck.mass_most
    for one, other in itertools.pairwise(plan.panels):
        assert other.start - one.end == pytest.approx(deck.joint_gap)
    assert len(plan.battens) == len(starts) - 1
    # One panel fewer would be too wide or too heavy.
    if len(starts) > 1:
        width = (layout.pocket_length - 2 * deck.side_gap) / (len(starts) - 1) - deck.joint_gap
        heavy = plan.panels[0].length * width * deck.thickness * 680e-9 > deck.mass_most
        assert heavy or width > deck.sheet_width - 2 * deck.sheet_margin - deck.joint_gap


# --- refusals -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "size", "parameter"),
    [
        (("support.rows=2",), "eu-80x200", "support.rows"),
        (("support.rows=2", "slat.joint=loose", "centre_rail.width=30"), None, "centre_rail.width"),
        ((*NARROW, "centre_rail.width=30"), None, "centre_rail.width"),
        (("support.kind=box_spring", "support.rows=2"), None, "support.rows"),
        (("support.kind=box_spring", "support.bearers=2"), None, "support.bearers"),
        (("support.kind=box_spring", "support.bearers=0"), "eu-80x200", "support.bearers"),
        (("support.kind=deck", "deck.sheet_length=1500"), None, "deck.sheet_length"),
        (("support.kind=deck", "deck.panel=chipboard"), None, "deck.panel"),
        (("support.kind=deck", "deck.side_gap=25"), None, "runner.width"),
        (("support.kind=webbed", "webbing.inset=20", "webbing.width=60"), None, "webbing.tapes"),
        ((*BEAM, "centre_rail.beam_height=60"), None, "centre_rail.beam_height"),
        (("centre_rail.kind=beam",), None, "centre_rail.kind"),
    ],
)
def test_refused(changes: tuple[str, ...], size: str | None, parameter: str) -> None:
    with pytest.raises(InputError) as caught:
        layout_of("hawthorn", *changes, size=size)
    assert caught.value.parameter == parameter


def test_the_width_that_is_asked_for_is_enough() -> None:
    with pytest.raises(InputError) as caught:
        layout_of("hawthorn", *NARROW, "centre_rail.width=30")
    (width,) = re.findall(r"at least ([\d.]+) mm", str(caught.value))
    layout_of("hawthorn", *NARROW, f"centre_rail.width={width}")
    with pytest.raises(InputError):
        layout_of("hawthorn", *NARROW, f"centre_rail.width={float(width) - 0.2:g}")


def test_the_beam_that_is_asked_for_is_enough() -> None:
    with pytest.raises(InputError) as caught:
        layout_of("hawthorn", *BEAM, "centre_rail.beam_height=60")
    (height,) = re.findall(r"at least ([\d.]+) mm", str(caught.value))
    layout = layout_of("hawthorn", *BEAM, f"centre_rail.beam_height={height}")
    assert layout.centre_rail is not None
    assert layout.centre_rail.height == float(height)


# --- strength -----------------------------------------------------------------------------------


def test_a_beam_s_height_is_where_the_reckoning_of_members_turns() -> None:
    """The closed form in ``centre_beam`` against the beam solver, which shares nothing with it."""
    layout = layout_of("hawthorn", *BEAM)
    plan = layout.centre_rail
    assert plan is not None
    assert (plan.feet, len(layout.cleats)) == ((), 2)
    sheet, m = layout.sheet, layout.mattress
    assert plan.height == beam_height(sheet, m.width, m.length, plan.end - plan.start)
    step = 5.0

    def worst_sag(height: float) -> float:
        from bedmodel.strength.platform import centre_line_load, centre_plan
        from bedmodel.strength.timber import Section

        beam = centre_plan(layout)
        assert beam is not None
        beam = replace(beam, section=Section(sheet.centre_rail.width, height))
        basis = basis_of(sheet)
        line = centre_line_load(layout, basis.loads)
        found = judge_centre_rail(beam, sheet.inside_wood, line, basis.loads, basis.rules)
        return max(u.use for c in found.cases for u in c.uses if u.what.startswith("sag"))

    assert worst_sag(plan.height) <= 1 < worst_sag(plan.height - step)
    assert all(report.passed for report in members(layout) if report.member == "centre_rail")
    beam = [each for each in advise(layout) if each.parameter == "centre_rail.beam_height"]
    assert len(beam) == 1
    assert beam[0].value is not None
    assert beam[0].value <= plan.height


def test_one_row_of_two_is_a_simple_beam() -> None:
    """5 w l^4/384EI + w l^2 1.2/8GA of yellow birch, with nothing over the centre rail."""
    layout = layout_of("hawthorn", "support.rows=2", "slat.joint=loose")
    report = next(r for r in members(layout) if r.member == "slat")
    (span,) = report.spans
    # Runner 38 wide, 2 mm clear: 36 bear. Centre rail 48, eased 2, rows 6 apart: 19 bear.
    assert span == pytest.approx((811 - 38 + 0.5 * 36) - 6 / 2 - 0.5 * 19)
    wood, limits = layout.sheet.inside_wood, layout.sheet.limits
    modulus = wood.moe * limits.true_modulus_ratio
    shear = modulus * min(
        r for r in (wood.elastic_shear_radial, wood.elastic_shear_tangential) if r is not None
    )
    inertia, area = 62 * 23**3 / 12, 62 * 23
    trunks = 2 * 110 * 9.80665 * 0.5 / 680 + 40 * 9.80665 / 2000
    line = trunks / (2 * layout.half_foot) * (layout.slats.width + layout.slats.gap)
    sag = 5 * line * span**4 / (384 * modulus * inertia)
    sag += 1.2 * line * span**2 / (8 * shear * area)
    case = next(c for c in report.cases if c.load == "sleepers")
    assert case.sag == pytest.approx(sag, rel=1e-3)
    # Each rail takes a quarter, and the centre rail a half, not 3/16 and 5/8.
    one, two = layout_of("hawthorn"), layout
    sags = [next(r for r in members(x) if r.member == "side_rail").cases[0].sag for x in (one, two)]
    assert sags[1] / sags[0] == pytest.approx(0.25 / 0.1875)


def test_a_strip_of_a_deck_by_hand() -> None:
    """Two spans under an even load: 0.0054 w l^4/EI without shear (5/8 on the middle)."""
    layout = layout_of("hawthorn", "support.kind=deck")
    report = next(r for r in members(layout) if r.member == "deck")
    row = next(r for r in panels()["birch-plywood"] if r.thickness == 18)
    span, width = report.spans[0], report.section.width
    trunks = 2 * 110 * 9.80665 * 0.5 / 680 + 40 * 9.80665 / 2000
    line = trunks / (2 * layout.half_foot) * width
    bending = 0.005416 * line * span**4 / (row.modulus * width * 18**3 / 12)
    case = next(c for c in report.cases if c.load == "sleepers")
    # Planar shear is limp in plywood: some more, but not much at 44 times the thickness.
    assert bending < case.sag < 1.25 * bending
    assert report.species == "birch-plywood"


@pytest.mark.parametrize("rows", [panels()["birch-plywood"]])
def test_plywood_of_one_veneer(rows: tuple[object, ...]) -> None:
    """Both moduli add up to one sum whatever the number of plies, all of one veneer."""
    for row in panels()["birch-plywood"]:
        assert row.modulus + row.modulus_across == 17500
        assert row.status == "unconfirmed"
    assert len(rows) == 8


def test_openings_weaken_a_strip() -> None:
    closed = layout_of("hawthorn", "support.kind=deck")
    open_ = layout_of("hawthorn", "support.kind=deck", "deck.airing=holes")
    widths = [
        next(r for r in members(x) if r.member == "deck").section.width for x in (closed, open_)
    ]
    plan = open_.deck
    assert plan is not None
    lines = len({y for _, y in plan.panels[0].openings})
    assert widths[1] / widths[0] == pytest.approx(1 - lines * 30 / plan.panels[0].width)


@pytest.mark.parametrize("kind", KINDS)
def test_the_frame_carries_all_that_lies_on_it(kind: str) -> None:
    """What the feet push is the sleepers' weight, the mattress's and the bed's, to a newton."""
    layout = layout_of("hawthorn", *KINDS[kind])
    basis = basis_of(layout.sheet)
    case = next(c for c in frame_cases(layout, basis.loads, basis.rules) if c.name == "sleepers")
    for moved in case.by_class.values():
        assert not moved.topples
        assert 0 < moved.moved < math.inf
    found = strength(layout)
    assert next(r.member for r in found.members) == (
        "deck" if "deck" in kind else "centre_rail" if kind == "box" else "slat"
    )


# --- papers -------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_cut_list_steps_and_marks(kind: str) -> None:
    layout = layout_of("hawthorn", *KINDS[kind])
    pieces, shop = make_pieces(layout), ShopProfile()
    cuts = cut_list(pieces, shop, "mm", layout)
    buying = buying_list(cuts, shop, layout.sheet.wood.species)
    told = {each.what: each for each in buying.supplies}
    if layout.deck is not None:
        many = sum(item.count for item in cuts.items if item.is_panel)
        assert many == len(layout.deck.panels) * layout.rows
        sheets = told["birch plywood 18 mm"]
        area = sum(p.length * p.width for p in layout.deck.panels) * layout.rows
        assert sheets.count >= area / (2440 * 1220)
    if layout.webbing is not None:
        tape, staples = told["webbing tape 38 mm wide"], told["staples for the tapes"]
        ends = layout.slats.starts()
        each = ends[-1] + layout.slats.width - ends[0] + 2 * 40
        assert tape.count == 2 * layout.rows
        assert f"{tape.count * each / 1000:.2f} m" in tape.sizes
        assert staples.count == 2 * 2 * layout.rows * layout.slats.count
    titles = [step.title for step in steps(layout, cuts, tuple(p.name for p in pieces), shop)]
    last = {"deck": "Lay the deck", "webbed": "Unroll the slats", "slats": "Lay the slats"}
    assert last.get(layout.sheet.support.kind, "Set the box spring in") in titles
    parts = {part.kind: part for part in setting_out(layout, pieces)}
    for piece in pieces:
        if piece.name.startswith(("slat_", "deck_")) and piece.kind.shape.cuts:
            rows = parts[piece.kind.name].rows
            assert any("hole" in m.label or "airing" in m.label for r in rows for m in r.marks)
    assert all(jig.card.rows for jig in make_jigs(layout, pieces))


def test_only_the_end_slats_of_webbing_are_screwed() -> None:
    layout = layout_of("hawthorn", "support.kind=webbed")
    held = [j.held for j in screw_joints(layout) if j.holder == "runner"]
    assert held == ["slat_01", f"slat_{layout.slats.count:02d}"]
    loose = layout_of("hawthorn", "support.kind=webbed", "slat.joint=loose")
    assert not [j for j in screw_joints(loose) if j.holder == "runner"]


def test_pilots_of_two_rows_are_marked_on_the_centre_rail() -> None:
    layout = layout_of("campion", *KINDS["rows"])
    pieces = make_pieces(layout)
    rail = next(p for p in pieces if p.name == "centre_rail")
    pilots = [c for c in rail.kind.shape.cuts if isinstance(c, Mortise) and "inner" in c.name]
    assert len(pilots) == 2 * layout.slats.count
    (part,) = [p for p in setting_out(layout, pieces) if p.kind == "centre_rail"]
    row = next(r for r in part.rows if "screws" in r.reference)
    places = sorted({round(c.frame.origin[0], 4) for c in pilots})
    assert [round(m.true, 4) for m in row.marks] == places


# --- solids, of a chosen few -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "kind"), [("campion", "webbed rows"), ("hawthorn", "deck"), ("sorrel", "box")]
)
def test_the_checks_pass(name: str, kind: str) -> None:
    stiff = {
        "deck": ("deck.thickness=24 mm",),
        "box": ("slat.thickness=40 mm", "side_rail.width=165 mm"),
    }
    bed = good(name, None, *KINDS[kind], *stiff.get(kind, ()))
    assert codes_of(bed) == set()


def test_volumes_of_panels_by_hand() -> None:
    bed = good("hawthorn", None, *KINDS["deck"])
    plan = bed.layout.deck
    assert plan is not None
    deck = bed.layout.sheet.deck
    for place in plan.panels:
        kind = bed.piece(f"deck_panel_{place.number}").kind
        a, b, t, r = place.length, place.width, deck.thickness, deck.edge_size
        # Roundovers mitre at the corners: each strip's own length runs to the middle of the mitre.
        section, edge = (1 - math.pi / 4) * r**2, 2 * (a + b)
        # Twice what two strips share at each corner: the cube less what a mitre leaves of it.
        shared = 8 * r**3 * (5 / 3 - math.pi / 2)
        expected = a * b * t - 2 * section * edge + shared
        slot = math.pi * deck.hole**2 / 4 + (deck.slot - deck.hole) * deck.hole
        expected -= 2 * len(place.openings) * slot * t
        screws = [c for c in kind.shape.cuts if "screw" in c.name]
        expected -= sum(math.pi * c.width**2 / 4 * c.depth for c in screws)
        assert bed.volume(kind.name) == pytest.approx(expected, rel=1e-6)


def test_inches_and_millimetres_are_one_bed() -> None:
    one = layout_of("campion", *KINDS["deck"])
    two = laid_out_with(one, {"design.unit": "mm"})
    # But for the screws, which are sold by other lengths.
    shapes = [
        [plain(p.kind.shape).key() for p in make_pieces(x) if p.name.startswith("deck_")]
        for x in (one, two)
    ]
    assert shapes[0] == shapes[1]


def plain(shape: Shape) -> Shape:
    return replace(shape, cuts=tuple(cut for cut in shape.cuts if "screw" not in cut.name))
