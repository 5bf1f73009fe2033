"""The joints as callables: volumes against closed forms, fits, refusals; the table's frame."""

from __future__ import annotations

import itertools
import math
import re
import runpy
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cadquery as cq
import pytest

from bedmodel import joinery
from bedmodel.errors import InputError
from bedmodel.joinery import (
    bolts,
    brackets,
    clearance_hole,
    dowel_holes,
    eased,
    hook_plate_recess,
    hook_plates,
    into_leg,
    into_rail,
    loose_tenons,
    metal,
    mortise,
    mortises,
    pilot_hole,
    plan_dowels,
    plan_tenons,
    tenons,
    wide_board_slot,
)
from bedmodel.screws import clearance_diameter, pilot_diameter, screw
from bedmodel.sheets import check_sheet

REPOSITORY = Path(__file__).resolve().parent.parent
SCRIPT = REPOSITORY / "scripts" / "table_frame.py"
GUIDE = REPOSITORY / "shared" / "OWN_PARTS.md"


def slot_area(length: float, width: float) -> float:
    return (length - width) * width + math.pi * width**2 / 4


def post(side: float = 60.0, height: float = 400.0) -> cq.Workplane:
    return cq.Workplane().box(side, side, height)


def rail(thickness: float = 32.0, width: float = 180.0) -> cq.Workplane:
    return cq.Workplane().box(500, thickness, width)


def taken(before: cq.Workplane, after: cq.Workplane) -> float:
    (solid,) = after.vals()
    assert isinstance(solid, cq.Shape)
    assert solid.isValid()
    return float(before.val().Volume() - solid.Volume())


# --- volumes -------------------------------------------------------------------------------


@pytest.mark.parametrize(("ends", "area"), [("round", slot_area(40, 8)), ("square", 320.0)])
def test_a_mortise_at_each_point(ends: Any, area: float) -> None:
    work = post().faces("<X").workplane().pushPoints([(0, -80), (0, 80)])
    done = work.invoke(mortise(8, 40, 25, ends=ends, rotation=90))
    assert taken(post(), done) == pytest.approx(2 * 25 * area, rel=1e-9)
    # Turned upright: it reaches 20 mm up and down from its point, and 4 mm to each side.
    box = post().cut(done).val().BoundingBox()
    assert (box.zmin, box.zmax) == pytest.approx((-100, 100), abs=1e-6)
    assert box.ylen == pytest.approx(8, abs=1e-6)


def test_locations_turn_a_mortise_too() -> None:
    work = post().faces(">Z").workplane()
    work = work.pushPoints([cq.Location((0, 5, 0), (0, 0, 1), 90)])
    box = post().cut(work.invoke(mortise(8, 40, 25))).val().BoundingBox()
    assert (box.ylen, box.xlen) == pytest.approx((40, 8), abs=1e-6)
    assert box.center.y == pytest.approx(5, abs=1e-6)


def test_a_row_of_dowel_holes() -> None:
    done = post().faces(">X").workplane().invoke(dowel_holes(3, 15, 8, 20, clearance=0.05))
    assert taken(post(), done) == pytest.approx(3 * math.pi * 4.05**2 * 20, rel=1e-9)


def test_a_wide_boards_slot_is_longer_by_what_the_board_moves() -> None:
    """Red oak: 0.00369 per 1 %, 5 points of moisture (Wood Handbook Table 13-5)."""
    rules = check_sheet({"wood": {"species": "red-oak"}})
    done = post().faces(">X").workplane().invoke(wide_board_slot(8, 30, 10, 200, rules=rules))
    room = 200 * 0.00369 * 5
    assert taken(post(), done) == pytest.approx(10 * slot_area(30 + 2 * room, 8), rel=1e-6)


@pytest.mark.parametrize("mitre", [0, 30, -45])
def test_tenons_stand_out_by_their_closed_form(mitre: float) -> None:
    plan = plan_tenons(32, 180, haunch="+x", ends="round")
    done = rail().faces(">X").workplane().invoke(tenons(plan, rotation=90, mitre=mitre))
    t, w, long = plan.thickness, plan.width, plan.embedment_leg
    (haunch,) = plan.haunches
    # A slant through a symmetric section takes the mean of what it takes at both cheeks.
    mean = long - t / 2 * math.tan(math.radians(abs(mitre)))
    stub = plan.haunch * (slot_area(haunch.high - haunch.low, t) - slot_area(w, t))
    added = slot_area(w, t) * mean + stub
    assert -taken(rail(), done) == pytest.approx(added, rel=1e-9)


@pytest.mark.parametrize("sign", [1, -1])
def test_a_mitre_takes_the_tip_off_the_side_it_names(sign: int) -> None:
    plan = plan_tenons(32, 100)
    done = rail(width=100).faces(">X").workplane().invoke(
        tenons(plan, rotation=90, mitre=45 * sign)
    )  # fmt: skip
    # Seen from the end with x up, y points to the world's -y.
    beyond = done.val().intersect(cq.Workplane().box(20, 40, 200).translate((270, 0, 0)).val())
    assert beyond.Center().y * sign > 0


@pytest.mark.parametrize(("rows", "haunch"), [(2, "none"), (1, "+x"), (1, "-x"), (2, "both")])
def test_board_and_post_fit_together(rows: int, haunch: Any) -> None:
    """Own tenons in their mortises: nothing overlaps, and the gaps are the table's."""
    plan = plan_tenons(50, 160, count=2, rows=rows, haunch=haunch, length=30)
    board = cq.Workplane().box(300, 50, 160).translate((150 + 40, 0, 0))
    board = board.faces("<X").workplane(origin=(40, 0, 0)).invoke(tenons(plan, rotation=90))
    upright = cq.Workplane().box(80, 80, 400)
    upright = upright.faces(">X").workplane().invoke(mortises(plan, rotation=90))
    assert upright.val().intersect(board.val()).Volume() < 1e-6
    room = taken(cq.Workplane().box(80, 80, 400), upright)
    filled = float(board.val().Volume()) - 300 * 50 * 160
    assert room > filled > 0.8 * room
    for shift, fits in ((0.95, True), (1.05, False)):
        moved = board.translate((0, shift * plan.cheek_clearance, 0)).val()
        meet = upright.val().intersect(moved).Volume()
        assert (meet < 1e-6) == fits


def test_an_open_haunch_fills_its_groove_to_the_top() -> None:
    plan = plan_tenons(20, 100, haunch="+x", haunch_shoulder=0)
    end = (22.5, 0, 150)  # the board's upper edge lies level with the post's top
    board = cq.Workplane().box(300, 20, 100).translate((150 + 22.5, 0, 150))
    board = board.faces("<X").workplane(origin=end).invoke(tenons(plan, rotation=90))
    upright = cq.Workplane().box(45, 45, 400)
    work = upright.faces(">X").workplane(origin=end)
    with pytest.raises(InputError, match=r"lies 9. % in wood"):
        work.invoke(mortises(plan, rotation=90))
    upright = work.invoke(mortises(plan, rotation=90, runs_out=True))
    assert upright.val().intersect(board.val()).Volume() < 1e-6
    stub = cq.Workplane().box(1, 1, 1).translate((22.5 - 3, 0, 199)).val()
    assert board.val().intersect(stub).Volume() == pytest.approx(1)
    groove = cq.Workplane().box(1, 1, 1).translate((22.5 - 3, 0, 199.5)).val()
    assert upright.val().intersect(groove).Volume() == pytest.approx(0)


def test_loose_tenons_fill_both_mortises_but_for_their_gaps() -> None:
    plan = plan_tenons(32, 180, count=2, glue="all")
    strips = rail().faces(">X").workplane().invoke(loose_tenons(plan, rotation=90))
    mortised = rail().faces(">X").workplane().invoke(mortises(plan, half="board", rotation=90))
    area = slot_area(plan.width, plan.thickness)
    for strip in strips.vals():
        assert strip.Volume() == pytest.approx(area * 2 * plan.embedment_leg, rel=1e-9)
    hole = slot_area(plan.mortise_length, plan.mortise_width)
    deep = plan.embedment_board + plan.end_gap
    assert taken(rail(), mortised) == pytest.approx(2 * hole * deep, rel=1e-9)
    upright = post().translate((280, 0, 0)).faces("<X").workplane(origin=(250, 0, 0))
    upright = upright.invoke(mortises(plan, rotation=90))
    for strip in strips.vals():
        box = strip.BoundingBox()
        assert (box.xmin, box.xmax) == pytest.approx((220, 280), abs=1e-6)  # three times 10 mm
        for wood in (mortised, upright):
            assert wood.val().intersect(strip).Volume() < 1e-6
            # Moved by more than its gap it would bite.
            bitten = wood.val().intersect(strip.translate(cq.Vector(0, 0.11, 0)))
            assert bitten.Volume() > 1


def test_dry_dowels_of_a_wide_board_get_slots_in_the_post_only() -> None:
    plan = plan_dowels(32, 180, count=4)
    assert plan.slack[1] == 0 < plan.slack[0]
    upright, board = post(), rail()
    holes = board.faces(">X").workplane().invoke(mortises(plan, half="board", rotation=90))
    d, deep = plan.mortise_width, plan.embedment_leg + plan.end_gap
    assert taken(board, holes) == pytest.approx(4 * math.pi * d**2 / 4 * deep, rel=1e-9)
    slots = upright.faces(">X").workplane().invoke(mortises(plan, rotation=90))
    area = sum(slot_area(d + 2 * slack, d) for slack in plan.slack)
    assert taken(upright, slots) == pytest.approx(area * deep, rel=1e-9)


def test_sizes_follow_the_rules_and_yield_to_what_is_given() -> None:
    assert plan_tenons(22, 120).thickness == 7  # a third, whole millimetres down
    inch = check_sheet({"design": {"unit": "inch"}})
    assert plan_tenons(22.225, 120, rules=inch).thickness == pytest.approx(25.4 * 4 / 16)
    plan = plan_tenons(22, 120, thickness=8, width=60, length=40, ends="square", offset=10)
    assert (plan.thickness, plan.width, plan.embedment_leg, plan.ends) == (8, 60, 40, "square")
    assert plan.heights == (10,)
    assert plan_tenons(22, 120).embedment_leg == 21
    assert plan_dowels(22, 120).width == 8  # two fifths are 8.8
    assert len(plan_dowels(22, 140).heights) == 3


# --- fasteners and screws ------------------------------------------------------------------


@pytest.mark.parametrize("kind", [hook_plates, brackets, bolts])
def test_fasteners_fit_their_recesses(kind: Callable[..., Any]) -> None:
    """Metal lies in no wood, and the wood that is cut is that of both parts' own cuts."""
    fitting = kind(32, 180, 60)
    end = (250, 0, 0)
    board = rail().faces(">X").workplane(origin=end)
    plates = board.invoke(metal(fitting, rotation=90))
    board = board.invoke(into_rail(fitting, rotation=90))
    upright = post().translate((280, 0, 0))
    upright = upright.faces("<X").workplane(origin=end).invoke(into_leg(fitting, rotation=90))
    assert plates.size() == len(fitting.loose)
    for plate in plates.vals():
        for wood in (board, upright):
            assert wood.val().intersect(plate).Volume() < 1e-3
    assert taken(rail(), board) > 1000
    assert taken(post(), upright) > 1000


@pytest.mark.parametrize(("inside", "left"), [("+y", True), ("-y", False)])
def test_the_inside_face_is_the_side_that_is_named(inside: Any, left: bool) -> None:
    """Looking at the end ">X" with z up, the world's -y is on the left."""
    fitting = bolts(32, 180, 60, inside=inside)
    board = rail().faces(">X").workplane().invoke(into_rail(fitting, rotation=90))
    # The barrel's hole is open on the inside face alone.
    skin = cq.Workplane().box(500, 1, 180).translate((0, -15.5 if left else 15.5, 0))
    other = cq.Workplane().box(500, 1, 180).translate((0, 15.5 if left else -15.5, 0))
    whole = 500 * 180
    assert board.val().intersect(skin.val()).Volume() < whole - 50
    assert board.val().intersect(other.val()).Volume() == pytest.approx(whole, rel=1e-9)


def test_a_row_may_be_changed_and_named() -> None:
    slim = hook_plates(32, 180, 60, name="hook-90")
    board = rail().faces(">X").workplane().invoke(hook_plate_recess(slim, rotation=90))
    wider = hook_plates(32, 180, 60, name="hook-90", width=14)
    other = rail().faces(">X").workplane().invoke(hook_plate_recess(wider, rotation=90))
    assert taken(rail(), other) > taken(rail(), board)
    with pytest.raises(InputError, match="hook_plate = hook-7: is not in the table"):
        hook_plates(32, 180, 60, name="hook-7")
    with pytest.raises(InputError, match="no row of the table fits"):
        hook_plates(12, 180, 60)
    with pytest.raises(InputError, match="length"):
        hook_plates(32, 180, 60, length=5000)
    with pytest.raises(InputError, match="hook_plate = hook-140: does not fit this rail and leg"):
        hook_plates(32, 100, 60, name="hook-140")
    for leg in (15, 150):  # too thin for its head and its grip; too thick to reach the barrel
        with pytest.raises(InputError, match="bolt: no row of the table fits"):
            bolts(32, 180, leg)


def test_screw_holes_are_those_of_the_gauge() -> None:
    of = screw(8)
    slat = cq.Workplane().box(100, 60, 20)
    work = slat.faces(">Z").workplane()
    r = clearance_diameter(of, "mm") / 2
    plain = taken(slat, work.invoke(clearance_hole(8, head="none")))
    assert plain == pytest.approx(math.pi * r**2 * 20, rel=1e-9)
    bored = taken(slat, work.invoke(clearance_hole(8, sunk=5)))
    wide = of.head / 2 + 0.25
    assert bored == pytest.approx(math.pi * (r**2 * 15 + wide**2 * 5), rel=1e-9)
    # A countersunk head of 90 degrees: a cone as high as it is wider than the hole.
    sunk = taken(slat, work.invoke(clearance_hole(8, head="countersink", sunk=1)))
    big, high = of.head / 2, of.head / 2 - r
    cone = math.pi * high / 3 * (big**2 + big * r + r**2)
    assert sunk == pytest.approx(math.pi * (big**2 + r**2 * (19 - high)) + cone, rel=1e-6)
    pilot = taken(slat, work.invoke(pilot_hole(8, 12, wood="red-oak")))
    d = pilot_diameter(of, 0.63, "mm")  # red oak, Wood Handbook Table 5-3a
    assert pilot == pytest.approx(math.pi * d**2 / 4 * 12, rel=1e-9)


@pytest.mark.parametrize(
    ("style", "left"), [("roundover", 1 - math.pi / 4), ("chamfer", 0.5)], ids=str
)
def test_eased_edges(style: str, left: float) -> None:
    done = post().edges("|Z").invoke(eased(style, 3))
    assert taken(post(), done) == pytest.approx(4 * left * 9 * 400, rel=1e-6)


# --- refusals ------------------------------------------------------------------------------


def face(side: str = "<X") -> cq.Workplane:
    return post().faces(side).workplane()


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: post().invoke(mortise(8, 40, 25)), "mortise = 1 solid: needs points on a face"),
        (lambda: post().edges("|Z").invoke(mortise(8, 40, 25)), "4 edges: needs points"),
        (lambda: post().faces("<X").invoke(mortise(8, 40, 25)),
         r"face 1 of 1, which faces \(-1, 0, 0\): does not face as the workplane"),
        (lambda: post().faces("|X").invoke(mortise(8, 40, 25)), "face 1 of 2, which faces"),
        (lambda: cq.Workplane().invoke(mortise(8, 40, 25)), "0 solids: needs a part"),
        (lambda: face().pushPoints([(0, 0), (0, 500)]).invoke(mortise(8, 40, 25)),
         r"place 2 of 2 at \(-30, 0, 500\): meets no wood"),
        (lambda: face().center(0, 190).invoke(mortise(8, 40, 25, rotation=90)), "lies 7. % in"),
        (lambda: face().workplane(offset=-10).invoke(mortise(8, 40, 25)), "wood before its open"),
        (lambda: face().invoke(mortise(30, 400, 59, rotation=90, runs_out=True)).faces("<X")
         .workplane(offset=-1).invoke(mortise(80, 100, 70, runs_out=True)), "cuts the part into"),
        (lambda: mortise(8, 4, 25), "length = 4 mm: must be at least the width"),
        (lambda: mortise(-8, 40, 25), "width = -8 mm: must be more than 0"),
        (lambda: mortise(8, 40, math.nan), "depth = nan: must be a number"),
        (lambda: mortise(8, 40, 25, ends="oval"), "ends = oval: must be one of round, square"),  # type: ignore[arg-type]
        (lambda: plan_tenons(22, 120, thickness=15), "thickness = 15 mm: must be 1 mm to 9.8 mm"),
        (lambda: plan_tenons(12, 120), "board_thickness = 12 mm: too thin"),
        (lambda: plan_tenons(22, 120, count=0), "count = 0: must be a whole number"),
        (lambda: plan_tenons(22, 120, offset=40), "offset = 40 mm: sets a mortise"),
        (lambda: plan_tenons(22, 120, haunch="+x", haunch_length=50), "haunch_length = 50 mm"),
        (lambda: plan_tenons(22, 120, width=100, haunch="both", haunch_shoulder=20),
         "haunch_shoulder = 20 mm: leaves no room"),
        (lambda: plan_dowels(10, 100), "board_thickness = 10 mm: too thin for a dowel"),
        (lambda: plan_dowels(22, 100, count=30), "count = 30: must be at most"),
        (lambda: dowel_holes(2, 5, 8, 20), "pitch = 5 mm: must be more than the holes"),
        (lambda: rail().faces(">X").workplane().invoke(tenons(plan_tenons(32, 180))),
         "tenons = place 1 of 1: has wood behind"),
        (lambda: tenons(plan_tenons(32, 180), mitre=80), "mitre = 80 degrees"),
        (lambda: face().invoke(pilot_hole(99, 10)), "gauge = 99: is not a gauge"),
        (lambda: face().invoke(eased()), "eased = nothing chosen: needs edges alone"),
        (lambda: post().edges("|Z").invoke(eased(size=40)), "4 edges, 40 mm"),
    ],
)  # fmt: skip
def test_what_cannot_be_cut_is_refused_in_one_line(make: Callable[[], Any], told: str) -> None:
    with pytest.raises(InputError, match=told):
        make()


# --- methods -------------------------------------------------------------------------------


def test_methods_come_only_with_their_module() -> None:
    script = """
import cadquery as cq
before = set(dir(cq.Workplane))
import bedmodel.joinery, bedmodel.host, bedmodel.notebook
assert set(dir(cq.Workplane)) == before
import importlib, bedmodel.joinery.methods as methods
added = set(dir(cq.Workplane)) - before
assert added == {step.__name__ for step in bedmodel.joinery.STEPS}, added
importlib.reload(methods)
box = cq.Workplane().box(60, 60, 400)
one = box.faces("<X").workplane().mortise(8, 40, 25, rotation=90)
two = box.faces("<X").workplane().invoke(bedmodel.joinery.mortise(8, 40, 25, rotation=90))
assert abs(one.val().Volume() - two.val().Volume()) < 1e-9
cq.Workplane.eased = lambda self: self
try:
    methods.attach()
except AttributeError as error:
    assert "eased" in str(error)
else:
    raise AssertionError
"""
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=REPOSITORY, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_each_step_says_what_it_does() -> None:
    assert {step.__name__ for step in joinery.STEPS} <= set(joinery.__all__)
    assert all(step.__doc__ for step in joinery.STEPS)


# --- the table's frame, the guide ----------------------------------------------------------


@pytest.fixture(scope="module")
def table() -> dict[str, Any]:
    return runpy.run_path(str(SCRIPT), run_name="a_test")


@pytest.fixture(scope="module")
def parts(table: dict[str, Any]) -> dict[str, cq.Shape]:
    found = {}
    for node in table["table"].children:
        solid = node.obj.val() if isinstance(node.obj, cq.Workplane) else node.obj
        found[node.name.split("/")[-1]] = solid.moved(node.loc)
    return found


def test_the_table_has_all_its_parts_and_none_overlap(parts: dict[str, cq.Shape]) -> None:
    assert len(parts) == 4 + 4 + 1 + 4
    assert all(part.isValid() for part in parts.values())
    for (one, a), (other, b) in itertools.combinations(parts.items(), 2):
        assert a.intersect(b).Volume() < 1e-3, f"{one} and {other}"


def test_the_tables_volumes_are_their_closed_forms(
    table: dict[str, Any], parts: dict[str, cq.Shape]
) -> None:
    plan, pins = table["tenon"], table["pins"]
    (haunch,) = plan.haunches
    t, w, long = plan.thickness, plan.width, plan.embedment_leg
    end = slot_area(w, t) * (long - t / 2) + plan.haunch * (
        slot_area(haunch.high - haunch.low, t) - slot_area(w, t)
    )
    apron = (560 - 2 * 45) * 20 * 100 + 2 * end
    assert parts["apron_left"].Volume() == pytest.approx(apron, rel=1e-9)
    d = pins.mortise_width
    holes = 2 * math.pi * d**2 / 4 * (pins.embedment_leg + pins.end_gap)
    long_apron = (900 - 2 * 45) * 20 * 100 + 2 * end - holes
    assert parts["apron_front"].Volume() == pytest.approx(long_apron, rel=1e-9)
    # The leg: two mortises with their grooves, less where the mortises cross, counted twice:
    # the chord of the slot squared, along the slot's length; of each round end 8/3 r3.
    m, high, deep = plan.mortise_width, plan.mortise_length, long + plan.end_gap
    groove = slot_area(haunch.groove_high - haunch.groove_low, m) - slot_area(high, m)
    mortise_ = slot_area(high, m) * deep + groove * (plan.haunch + plan.end_gap)
    cross = m**2 * (high - m) + 16 / 3 * (m / 2) ** 3
    rounded = (1 - math.pi / 4) * 2**2 * 4
    leg = (45**2 - rounded) * 710 - 2 * mortise_ + cross
    assert parts["leg_front_left"].Volume() == pytest.approx(leg, rel=1e-9)


def test_the_tables_tenons_fill_their_mortises(
    table: dict[str, Any], parts: dict[str, cq.Shape]
) -> None:
    """A tenon may be pushed along by its gaps and no farther; two tips keep their gap."""
    plan = table["tenon"]
    leg, apron = parts["leg_front_left"], parts["apron_front"]
    for by, clear in (
        ((0, 0.95 * plan.cheek_clearance, 0), True),
        ((0, 1.05 * plan.cheek_clearance, 0), False),
        ((0, 0, 0.95 * plan.edge_clearance), True),
        ((0, 0, 1.05 * plan.edge_clearance), False),
    ):
        moved = apron.moved(cq.Location(by))
        assert (leg.intersect(moved).Volume() < 1e-6) == clear, by
    assert leg.distance(apron) == pytest.approx(0, abs=1e-6)  # shoulders are home
    gap = table["MITRE_GAP"] * math.sqrt(0.5) * 2
    assert apron.distance(parts["apron_left"]) == pytest.approx(gap, abs=1e-6)


def test_the_guides_code_runs_as_printed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"^```python\n(.*?)^```$", GUIDE.read_text("utf-8"), re.S | re.M)
    assert len(blocks) >= 5
    names: dict[str, Any] = {"__name__": "a_guide"}
    for block in blocks:
        exec(compile(block, str(GUIDE), "exec"), names)
    assert names["joined"] == pytest.approx(0, abs=1e-6)
