"""Cut list, staves, buying list and order of work against closed forms and published figures."""

from __future__ import annotations

import csv
import io
import json
import math
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from OCP.Bnd import Bnd_Box
from OCP.BRepBndLib import BRepBndLib
from OCP.TopoDS import TopoDS_Shape

from bedmodel.errors import InputError
from bedmodel.lumber import class_for, grade, thickness_classes
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.shop.jigs.plates import mortise_seats
from bedmodel.shop.order_of_work import steps
from bedmodel.shop.settings import batches
from bedmodel.shop.steps import Step
from bedmodel.shop_profile import ShopProfile, load_profile
from bedmodel.skeleton import Layout, lay_out
from bedmodel.stock.boards import board_feet
from bedmodel.stock.buying import BuyingList, buying_list
from bedmodel.stock.cut_list import CutList, cut_list
from bedmodel.stock.demand import PanelDemand
from bedmodel.stock.papers import CUT_COLUMNS, cut_csv, cut_record
from bedmodel.stock.staves import staves_for
from bedmodel.stock.wanted import demands
from bedmodel.tables import mattress_sizes
from bedmodel.units import format_both
from tests.beds import EXAMPLES, good

INCH = 25.4


def listed(name: str, *changes: str, shop: ShopProfile | None = None) -> tuple[Layout, CutList]:
    layout = lay_out(load_sheet(name, changes=changes))
    profile = shop or ShopProfile()
    return layout, cut_list(make_pieces(layout), profile, layout.sheet.design.unit)


def profile(tmp_path: Path, text: str) -> ShopProfile:
    path = tmp_path / "shop.toml"
    path.write_text(text)
    return load_profile(str(path))


# --- the cut list --------------------------------------------------------------------------


def sides_of(solid: TopoDS_Shape) -> tuple[float, float, float]:
    """Sides of the least box: of the surfaces, not of a mesh that another test may have made."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(solid, box, useTriangulation=False, useShapeTolerance=False)
    x0, y0, z0, x1, y1, z1 = box.Get()
    return x1 - x0, y1 - y0, z1 - z0


@pytest.mark.parametrize("name", EXAMPLES)
def test_finished_sizes_are_those_of_the_solids(name: str) -> None:
    """The two routes to a size: the cut list's from the data, and the solid's own box."""
    bed = good(name)
    cuts = cut_list(bed.pieces, ShopProfile(), bed.layout.sheet.design.unit)
    seen = Counter[str]()
    for item in cuts.items:
        for kind in item.kinds:
            sides = sorted(sides_of(bed.solids[kind].wrapped))
            told = sorted((item.length, item.width, item.thickness))
            assert told == pytest.approx(sides, abs=0.02), kind
        seen.update(item.pieces)
    assert seen == Counter(p.name for p in bed.pieces if not p.kind.is_metal)
    metal = Counter(dict(cuts.hardware))
    assert sum(metal.values()) == sum(p.kind.is_metal for p in bed.pieces)


def test_the_cut_list_never_loads_the_solid_modeller() -> None:
    code = (
        "import sys; from bedmodel.cli import main; code = main(['cutlist', 'sorrel', '--json']); "
        "assert code == 0; bad = {'cadquery', 'OCP', 'numpy'} & set(sys.modules); "
        "sys.exit(f'loaded {bad}' if bad else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["parts"]


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("size", list(mattress_sizes()))
def test_every_size_has_a_cut_list_that_its_lumber_can_give(name: str, size: str) -> None:
    layout = lay_out(load_sheet(name, size=size))
    pieces = make_pieces(layout)
    shop = ShopProfile()
    for item in cut_list(pieces, shop, "mm").lumber:
        assert item.lumber is not None
        assert item.lumber.surfaced * item.layers >= item.thickness - 1e-6
        assert item.rough_width >= item.width + shop.allowance.width - 1e-6
        per = item.per_rough
        needed = per * item.length + (per - 1) * shop.machines.kerf + shop.allowance.length
        assert item.rough_length >= needed - 1e-6
        assert item.rough_length >= shop.allowance.planed_least - 1e-6
        assert per * item.rough_count >= item.count * item.layers
        if item.staves is None:
            assert item.rough_width <= shop.machines.jointer


def test_board_feet_by_hand() -> None:
    """A board foot is 144 cubic inches; hawthorn's rails reckoned by hand from the sheet."""
    _, cuts = listed("hawthorn")
    rail = next(item for item in cuts.items if item.name == "side_rail")
    assert rail.lumber is not None
    assert rail.lumber.name == "6/4"  # 29 mm out of 33.3 mm surfaced; 5/4 gives 27.0
    rough = 2 * 1.5 * (rail.rough_length / INCH) * (rail.rough_width / INCH) / 144
    assert rail.rough_board_feet == pytest.approx(rough)
    net = 2 * (rail.length / INCH) * (152 / INCH) * (29 / INCH) / 144
    assert rail.net_board_feet == pytest.approx(net)
    assert rail.cubic_metres == pytest.approx(2 * rail.length * 152 * 29 / 1e9)


@pytest.mark.parametrize(
    ("quarters", "width_in", "length_ft", "feet"),
    [(4, 6, 8, 4.0), (8, 7.5, 10, 12.5), (5, 9, 12, 11.25)],
)
def test_board_foot_oracles(quarters: int, width_in: float, length_ft: float, feet: float) -> None:
    """Surface in square feet times nominal thickness in inches, unrounded."""
    assert board_feet(quarters, width_in * INCH, length_ft * 12 * INCH) == pytest.approx(feet)


@pytest.mark.parametrize(
    ("thickness_in", "quarters"),
    [(13 / 16, 4), (0.82, 5), (1 + 1 / 16, 5), (1 + 5 / 16, 6), (1.75, 8), (1.76, 10)],
)
def test_surfaced_thickness_decides_the_class(thickness_in: float, quarters: int) -> None:
    """The trade's table of surfaced thickness (S2S): 4/4 13/16, 5/4 1 1/16, 8/4 1 3/4 in."""
    found = class_for(thickness_in * INCH, thickness_classes())
    assert found is not None
    assert found.quarters_count == quarters


def test_classes_the_yard_has_not_are_passed_over(tmp_path: Path) -> None:
    shop = profile(tmp_path, "[buying]\nclasses = [4, 8, 12]")
    _, cuts = listed("hawthorn", shop=shop)
    assert {i.lumber.quarters_count for i in cuts.lumber if i.lumber} <= {4, 8, 12}


def test_a_thick_part_is_laminated_or_refused(tmp_path: Path) -> None:
    """Hawthorn's posts are 68 mm; two layers of 8/4 (44.5 mm surfaced) make them."""
    text = '[glue_up]\nthickest = 8\nlaminate = "{}"'
    _, cuts = listed("hawthorn", shop=profile(tmp_path, text.format("allowed")))
    legs = [item for item in cuts.items if item.name.endswith("_leg")]
    assert {item.layers for item in legs} == {2}
    assert all("laminated of 2 layers of" in " ".join(item.notes) for item in legs)
    assert [item.rough_count for item in legs] == [2 * item.count for item in legs]
    with pytest.raises(InputError) as caught:
        listed("hawthorn", shop=profile(tmp_path, text.format("never")))
    assert caught.value.parameter == "glue_up.laminate"
    assert "68.0 mm" in str(caught.value)


def test_short_parts_are_planed_as_a_strip() -> None:
    _, cuts = listed("campion")
    tenons = [item for item in cuts.items if item.name.startswith("loose_tenon")]
    assert tenons
    for item in tenons:
        assert item.per_rough > 1
        assert item.rough_length >= ShopProfile().allowance.planed_least


def test_mirror_pairs_are_one_row() -> None:
    _, cuts = listed("campion")
    legs = next(item for item in cuts.items if item.name == "head_leg")
    assert legs.kinds == ("head_leg_left", "head_leg_right")
    assert legs.count == 2
    assert any(note.startswith("mirror pair") for note in legs.notes)


# --- staves --------------------------------------------------------------------------------


@pytest.mark.parametrize("shows", [True, False])
@pytest.mark.parametrize("width", [204.0, 260.0, 385.0, 500.0, 760.0])
def test_staves_balance(width: float, shows: bool) -> None:
    shop = ShopProfile()
    found = staves_for(width, shop, shows=shows)
    assert found is not None
    assert found.count * found.net == pytest.approx(width)
    assert found.width == pytest.approx(found.net + shop.glue_up.joint)
    assert shop.glue_up.stave_least <= found.width <= shop.machines.jointer
    seams = [found.net * i for i in range(1, found.count)]
    if shows:
        assert min(abs(seam - width / 2) for seam in seams) > 1.0, "a seam lies on the middle"


def test_a_part_the_jointer_takes_is_one_board() -> None:
    assert staves_for(ShopProfile().machines.jointer, ShopProfile(), shows=True) is None


def test_staves_become_a_panel_of_the_board_plan() -> None:
    _, cuts = listed("hawthorn")
    wide = [item for item in cuts.items if item.staves]
    panels = [d for d in demands(cuts, ShopProfile()) if isinstance(d, PanelDemand)]
    assert {p.name for p in panels} == {item.name for item in wide}
    assert all(p.stave_most <= ShopProfile().machines.jointer for p in panels)
    assert len(demands(cuts, ShopProfile())) == len(cuts.lumber)


# --- buying --------------------------------------------------------------------------------


def bought(name: str, shop: ShopProfile) -> BuyingList:
    layout, cuts = listed(name, shop=shop)
    return buying_list(cuts, shop, layout.sheet.wood.species)


def test_the_grade_s_yield_decides_what_to_buy(tmp_path: Path) -> None:
    """Least clear share: FAS 10/12, No. 1 Common 8/12 (NHLA summary chart)."""
    text = '[buying]\nspare = 0\ngrade = "{}"'
    fas = bought("campion", profile(tmp_path, text.format("fas")))
    common = bought("campion", profile(tmp_path, text.format("no1-common")))
    for row in fas.rows:
        assert row.gross == pytest.approx(row.rough * 12 / 10)
    for row in common.rows:
        assert row.gross == pytest.approx(row.rough * 12 / 8)
    assert math.isclose(float(grade("FAS", "grade").share), 0.833333, abs_tol=1e-6)


def test_cost_and_alternatives() -> None:
    shop = load_profile(None)
    buying = bought("campion", shop)
    costs = [row.cost for row in buying.rows]
    assert None not in costs
    assert buying.cost == pytest.approx(sum(c for c in costs if c is not None))
    maple = next(r for r in buying.rows if r.species == "red-maple" and r.class_name == "6/4")
    assert maple.cost == pytest.approx(5.2 * maple.gross)
    thick = next(r for r in buying.rows if r.species == "red-maple" and r.class_name == "10/4")
    assert thick.cost == pytest.approx(8.4 * thick.gross), "the class's own price comes first"
    first, *others = buying.alternatives
    assert first.species == "red-maple"
    assert first.cost == pytest.approx(buying.cost)
    # Mass goes with density alone: white oak 0.68 against red maple 0.54, all else poplar.
    oak = next(a for a in others if a.species == "white-oak")
    _, cuts = listed("campion")
    maple_m3 = sum(i.cubic_metres for i in cuts.items if i.species == "red-maple")
    assert oak.mass_kg - first.mass_kg == pytest.approx(maple_m3 * 1120 * (0.68 - 0.54))


def test_without_a_price_there_is_no_cost(tmp_path: Path) -> None:
    buying = bought("campion", profile(tmp_path, '[[price]]\nspecies="red-maple"\nboard_foot=5'))
    assert buying.cost is None
    assert any(row.cost is not None for row in buying.rows)


def test_lengths_sold_are_those_that_hold_the_longest_part() -> None:
    shop = ShopProfile()
    for row in bought("campion", shop).rows:
        longest = row.least_length - shop.allowance.board_ends
        for feet, count in row.lengths:
            used = count * longest + (count - 1) * shop.machines.kerf
            assert used <= feet * 304.8 - shop.allowance.board_ends + 1e-6
            assert used + longest + shop.machines.kerf > feet * 304.8 - shop.allowance.board_ends


# --- papers --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_csv_and_json_tell_the_same(name: str) -> None:
    layout, cuts = listed(name)
    rows = list(csv.DictReader(io.StringIO(cut_csv(cuts, layout.sheet.design.unit))))
    assert tuple(rows[0]) == CUT_COLUMNS
    record = cut_record(cuts)
    parts = [row for row in rows if row["class"] != "bought"]
    assert [row["part"] for row in parts] == [part["name"] for part in record["parts"]]
    for row, part in zip(parts, record["parts"], strict=True):
        assert float(row["length_mm"]) == pytest.approx(part["finished_mm"][0], abs=0.01)
        assert int(row["count"]) == part["count"] == len(part["pieces"])
    hardware = {row["part"]: int(row["count"]) for row in rows if row["class"] == "bought"}
    assert hardware == dict(cuts.hardware)


# --- the order of work ---------------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("joint", ["hook_plates", "brackets", "bolts", "butt"])
def test_the_steps_hang_every_piece_once(name: str, joint: str) -> None:
    layout, cuts = listed(name, f"side_rail.joint={joint}")
    names = tuple(piece.name for piece in make_pieces(layout))
    found = steps(layout, cuts, names)
    hung = Counter(piece for step in found for piece in step.pieces)
    assert hung == Counter(names), "each piece joins the bed in one step"
    rows = {item.name for item in cuts.items}
    for step in found:
        assert set(step.parts) <= rows
        assert step.does
        assert step.cautions, step.title
        assert step.parts or step.title.startswith("Lay the mattress")
    titles = [step.title for step in found]
    assert titles.index("Crosscut to rough length") < titles.index("Rip to rough width")
    assert titles.index("Hang the rails") < titles.index("Lay the slats")
    sawn = [step for step in found if step.place == "saw"]
    assert all(any("riving knife" in c for c in step.cautions) for step in sawn)


def _steps(name: str, *changes: str) -> dict[str, Step]:
    layout, cuts = listed(name, *changes)
    names = tuple(piece.name for piece in make_pieces(layout))
    return {step.title: step for step in steps(layout, cuts, names, ShopProfile())}


@pytest.mark.parametrize("name", EXAMPLES)
def test_legs_are_traced_or_sawn_straight_and_never_both(name: str) -> None:
    found = _steps(name)
    traced = name != "hawthorn"
    title = "Saw the legs' blanks out of the planks"
    assert (title in found) == traced
    for sawn in ("Crosscut to rough length", "Rip to rough width", "Rip to finished width"):
        assert ("head_leg" in found[sawn].parts) != traced
    assert "head_leg" in found["Flatten and plane to thickness"].parts


def test_steps_tell_the_sizes_of_the_joints() -> None:
    plates = _steps("campion")["Cut the mortises"].settings
    layout, _ = listed("campion")
    assert len(plates) == len(mortise_seats(layout))
    own = _steps("campion", "headboard.joint=tenon")["Cut the tenons on the boards"]
    plan = lay_out(load_sheet("campion", changes=["headboard.joint=tenon"])).ends[0].boards[0]
    assert format_both(plan.tenons.thickness, "inch") in own.settings[0]
    assert "Cut the tenons on the boards" not in _steps("campion")
    dowels = _steps("campion", "headboard.joint=dowels")["Bore the dowel holes"].settings
    assert any("deep" in each for each in dowels)


@pytest.mark.parametrize(("name", "wedged"), [("campion", True), ("hawthorn", False)])
def test_clamps_stand_at_the_middle_of_each_board_on_cauls_where_legs_are_splayed(
    name: str, wedged: bool
) -> None:
    layout = lay_out(load_sheet(name))
    for end in layout.ends:
        step = _steps(name)[f"Glue up the {end.end} end"]
        (told,) = step.settings
        for board in end.boards:
            middle = (board.bottom + board.top) / 2
            assert format_both(middle, layout.sheet.design.unit) in told
        assert any("caul" in each for each in step.does) == wedged
        assert bool(step.jigs) == wedged


def test_steps_say_what_is_too_large_for_a_machine() -> None:
    """Hawthorn's board is 385 mm wide; the planer takes 330.2, the crosscut station 300."""
    found = _steps("hawthorn")
    assert any("wider than the planer" in d for d in found["Glue up panels and thick parts"].does)
    assert any("headboard board is wider" in d for d in found["Crosscut to finished length"].does)
    assert not any("is wider" in d for d in _steps("sorrel")["Crosscut to finished length"].does)


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_setting_serves_all_its_parts(name: str) -> None:
    _, cuts = listed(name)
    sizes = {item.name: (item.thickness, item.width, item.length) for item in cuts.items}
    which = {"planer": 0, "rip fence": 1, "crosscut stop": 2}
    seen: dict[str, list[str]] = {}
    for batch in batches(cuts):
        for part in batch.parts:
            assert sizes[part][which[batch.machine]] == pytest.approx(batch.setting, abs=0.05)
        seen.setdefault(batch.machine, []).extend(batch.parts)
    assert sorted(seen["planer"]) == sorted(item.name for item in cuts.lumber)
    settings = [b.setting for b in batches(cuts) if b.machine == "planer"]
    assert settings == sorted(set(settings), reverse=True), "one setting a thickness"


# --- the shop's file -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "parameter", "said"),
    [
        ('unit = "cm"', "unit", '"mm" or "inch"'),
        ("[machines]\njoiner = 3", "machines.joiner", "machines.jointer"),
        ('[machines]\njointer = "3 mm"', "machines.jointer", "80 to 600 mm"),
        ("[[price]]\nspecies = 'oakum'\nboard_foot = 1", "price.1.species", "not in the table"),
        ("[[price]]\nspecies = 'white-oak'", "price.1.board_foot", "must be given"),
        ("[[price]]\nboard_foot = -1", "price.1.board_foot", "greater than or equal to 0"),
        ("[buying]\ngrade = 'best'", "buying.grade", "no1-common"),
        ("x =", "--shop", "not valid TOML"),
        ("[machines]\nkerf = -1", "machines.kerf", "0.5 to 10 mm"),
        ("[machines]\nrip = 'wide'", "machines.rip", "number"),
        ("[allowance]\nstrip_least = 500", "allowance.strip_least", "5 to 100 mm"),
        ("[nest]\ngrain = 45", "nest.grain", "0 to 30"),
        ("[nest]\nturn_over = 'yes'", "nest.turn_over", "allowed"),
        ("[sheet_goods]\nlength = 1", "sheet_goods.length", "300 to 5000 mm"),
        ("[router]\nbits = 'straight'", "router.bits", ""),
        (
            "[[price]]\nspecies = 'white-oak'\nboard_foot = 1\n[[price]]\nspecies = 'white-ash'\n"
            "board_foot = 'x'",
            "price.2.board_foot",
            "number",
        ),
        ("[glue_up]\nstave_least = '10 in'", "glue_up.stave_least", "20 to 200 mm"),
    ],
)
def test_a_bad_shop_file_is_refused(tmp_path: Path, text: str, parameter: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        profile(tmp_path, text)
    assert caught.value.parameter == parameter
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)
