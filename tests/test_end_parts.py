"""What fills and caps an end, part by part: volumes by closed forms, marks, guides, units."""

from __future__ import annotations

import math
import re
from collections import Counter
from typing import Any

import pytest

from bedmodel.bed import Piece
from bedmodel.checks.run import findings, run_checks
from bedmodel.ends.record import PanelPlan, UprightPlan
from bedmodel.pieces import make_pieces
from bedmodel.sheets import as_table, check_sheet, load_sheet
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.jig import check_jigs
from bedmodel.shop.setting_out import PartMarks, setting_out
from bedmodel.skeleton import Layout, lay_out
from bedmodel.solids import make_solid, volume_of
from tests.beds import good, idle_codes
from tests.test_ends import of_kind
from tests.test_every_cut import count

EXACT = 1e-9


def one(layout: Layout, start: str) -> Piece:
    return next(piece for piece in make_pieces(layout) if piece.name.startswith(start))


def volume(piece: Piece) -> float:
    return volume_of(make_solid(piece.kind.shape).wrapped)


def bar(length: float, wide: float, thick: float, style: str, size: float) -> float:
    """A bar with its four long arrises eased."""
    lost = {"roundover": (4 - math.pi) * size**2, "chamfer": 2 * size**2, "square": 0.0}[style]
    return length * (wide * thick - lost)


def stadium(length: float, width: float) -> float:
    return (length - width) * width + math.pi * width**2 / 4


# --- volumes -------------------------------------------------------------------------------------


def test_a_spindle_and_its_rails() -> None:
    layout = lay_out(
        of_kind("hawthorn", "spindles", "spindles.diameter=22 mm", "spindles.pin=15 mm")
    )
    (plan,) = layout.head.fills
    assert isinstance(plan, UprightPlan)
    high = 390 - (118 - 24)
    turned = math.pi / 4 * (22**2 * high + 2 * 15**2 * 20)
    assert volume(one(layout, "headboard_spindle_01")) == pytest.approx(turned, rel=EXACT)
    rail = one(layout, "headboard_rail_2")
    whole = bar(2 * layout.head.joint_x, 92, 34, "chamfer", 2.5)
    holes = len(plan.middles) * math.pi / 4 * 15.1**2 * 22
    tenons = layout.head.boards[1].tenons
    mortise = stadium(tenons.mortise_length, tenons.mortise_width)
    mortises = 2 * len(tenons.heights) * mortise * (tenons.embedment_board + tenons.end_gap)
    assert volume(rail) == pytest.approx(whole - holes - mortises, rel=EXACT)


@pytest.mark.parametrize("ends", ["round", "square"])
def test_a_slat_and_its_tenons(ends: str) -> None:
    table = as_table(of_kind("hawthorn", "slats"))
    table["tenon"]["ends"] = ends
    layout = lay_out(check_sheet(table))
    high = 390 - (118 - 24)
    tenon = stadium(39, 10) if ends == "round" else 39 * 10
    expected = bar(high, 45, 16, "roundover", 2) + 2 * 20 * tenon
    assert volume(one(layout, "headboard_slat_01")) == pytest.approx(expected, rel=EXACT)


def test_a_raised_panel_is_its_tongue_and_two_bevelled_fields() -> None:
    layout = lay_out(of_kind("hawthorn", "frame_and_panel", "panels.style=raised"))
    (plan,) = layout.head.fills
    assert isinstance(plan, PanelPlan)
    wide, high = plan.size(plan.openings[0])
    a, b = (plan.openings[0][1] - plan.openings[0][0]) - 60, plan.where.height - 60
    rise, bevel = 4.0, 0.9 * 4.0
    # A frustum by Simpson's rule, which is exact for it, on the step that stays below it.
    frustum = (
        bevel / 6 * (a * b + 4 * (a - bevel) * (b - bevel) + (a - 2 * bevel) * (b - 2 * bevel))
    )
    expected = wide * high * 8 + 2 * (a * b * (rise - bevel) + frustum)
    found = volume(one(layout, "headboard_floating_panel_1"))
    assert found == pytest.approx(expected, rel=EXACT)


def test_a_flat_panel_a_muntin_and_a_grooved_rail() -> None:
    layout = lay_out(of_kind("hawthorn", "frame_and_panel"))
    (plan,) = layout.head.fills
    assert isinstance(plan, PanelPlan)
    wide, high = plan.size(plan.openings[0])
    flat = volume(one(layout, "headboard_floating_panel_1"))
    assert flat == pytest.approx(wide * high * 8, rel=EXACT)
    deep, groove = plan.groove_depth, 8.3 * plan.groove_depth
    body = bar(plan.where.height, 70, 34, "chamfer", 2.5) - 2 * groove * plan.where.height
    stub = (70 - 2 * (deep + 4)) * 8.1 * (deep - 1.5)
    assert volume(one(layout, "headboard_muntin_1")) == pytest.approx(body + 2 * stub, rel=EXACT)
    rail = bar(2 * layout.head.joint_x, 92, 34, "chamfer", 2.5)
    rail -= groove * 2 * layout.head.joint_x
    tenons = layout.head.boards[1].tenons
    mortise = stadium(tenons.mortise_length, tenons.mortise_width)
    rail -= 2 * len(tenons.heights) * mortise * (tenons.embedment_board + tenons.end_gap)
    assert volume(one(layout, "headboard_rail_2")) == pytest.approx(rail, rel=EXACT)


def test_a_cap_and_its_dowels() -> None:
    layout = lay_out(load_sheet("yarrow"))
    cap = layout.head.cap
    assert cap is not None
    hole = math.pi / 4 * (cap.diameter + 0.1) ** 2 * (cap.in_cap + 1.5)
    expected = bar(cap.length, cap.width, 26, "roundover", 5) - 4 * hole
    assert volume(one(layout, "headboard_cap")) == pytest.approx(expected, rel=EXACT)
    pin = math.pi / 4 * cap.diameter**2 * (cap.in_cap + cap.in_below)
    assert volume(one(layout, "headboard_cap_dowel_1")) == pytest.approx(pin, rel=EXACT)


# --- marks and guides ---------------------------------------------------------------------------

# A cut's name; what the marks call it; the jig that makes it.
CUTS = (
    (r"\w+_spindle(_\d)?_\d\d_(lower|upper)", r"spindle hole", "end_hole_guide"),
    (r"\w+_slat(_\d)?_\d\d_(lower|upper)", r"slat mortise", "slat_mortise_plate"),
    (r"\w+_groove_(lower|upper|left|right|\d)", r"panel groove", "groove_block"),
    (r"\w+_cap_dowel_\d+_(below|cap|left|right)", r"cap dowel hole", "end_hole_guide"),
)
BEDS = {
    "spindles, cap over": ("spindles", "cap.use=over"),
    "slats, cap between, own tenons": ("slats", "cap.use=between", "joint=tenon"),
    "raised panels": ("frame_and_panel", "panels.style=raised"),
    "own stiles": ("frame_and_panel", "panels.stiles=own", "joint=dowels"),
}


def marked(part: PartMarks, label: str) -> tuple[bool, bool]:
    """Whether a place is marked, and a depth."""
    rows = [(row.reference, m.label) for row in part.rows for m in row.marks]
    named = [(reference, text) for reference, text in rows if re.search(label, text)]
    return bool(named), any("(depth)" in reference for reference, _ in named)


@pytest.mark.parametrize("bed", BEDS, ids=str)
def test_every_cut_is_marked_and_has_its_guide(bed: str) -> None:
    kind, *changes = BEDS[bed]
    layout = lay_out(of_kind("hawthorn", kind, *changes))
    pieces = make_pieces(layout)
    parts = {part.kind: part for part in setting_out(layout, pieces)}
    jigs = make_jigs(layout, pieces)
    made: Counter[str] = Counter()
    for piece in pieces:
        for cut in piece.kind.shape.cuts:
            for name, label, jig in CUTS:
                if re.fullmatch(name, cut.name):
                    made[jig] += 1
                    assert marked(parts[piece.kind.name], label) == (True, True), cut.name
    assert made
    for name, wanted in made.items():
        some = [jig for jig in jigs if re.fullmatch(rf"{name}(_\d)?", jig.name)]
        assert sum(count(jig) for jig in some) == wanted, name
    assert [name for name, _, passed in check_jigs(jigs) if not passed] == []
    for part in parts.values():
        assert part.rows or part.reason, part.kind


def test_each_upright_is_marked_on_both_rails_from_one_stick() -> None:
    layout = lay_out(load_sheet("yarrow"))
    pieces = make_pieces(layout)
    (stick,) = [
        j for j in make_jigs(layout, pieces) if j.name.startswith("stick_headboard_spindles")
    ]
    (plan,) = layout.head.fills
    assert isinstance(plan, UprightPlan)
    rows = [value for name, value in stick.card.rows if name.isdigit()]
    true = [float(re.findall(r"true ([\d.]+) mm", row)[0]) for row in rows]
    assert true == pytest.approx([x + layout.head.joint_x for x in plan.middles], abs=1e-3)
    # Alike from either end, so it does not matter which end of the rails it is held to.
    assert true == pytest.approx([2 * layout.head.joint_x - x for x in reversed(true)], abs=2e-3)


# --- solids ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "size"), [("bracken", None), ("yarrow", "eu-90x200")])
def test_a_further_example_passes_all_its_checks(name: str, size: str | None) -> None:
    """All sizes are reckoned in ``test_ends``; two are made whole."""
    bed = good(name, size)
    results = run_checks(bed)
    assert findings(results) == ()
    assert {result.code for result in results if not result.tested} == idle_codes(bed.layout.sheet)


# --- units -------------------------------------------------------------------------------------


def in_inches(table: dict[str, Any]) -> dict[str, Any]:
    table["design"]["unit"] = "inch"
    return table


@pytest.mark.parametrize("kind", ["panel", "slats", "spindles", "frame_and_panel", "none"])
def test_the_same_sheet_in_inches_and_in_millimetres_is_the_same_bed(kind: str) -> None:
    """Where the rule's steps choose a size, it is given: tenons, pins, grooves."""
    changes = ("panels.groove_depth=14 mm", "spindles.pin=14 mm", "cap.use=between")
    table = as_table(of_kind("hawthorn", kind, *changes))
    table["tenon"]["thickness"] = "9 mm"
    table["side_rail"]["joint"] = "butt"  # screws of the fasteners are of the unit's own table
    metric = make_pieces(lay_out(check_sheet(table)))
    inches = make_pieces(lay_out(check_sheet(in_inches(table))))
    ends = [p for p in metric if p.group in ("head_end", "foot_end") and not p.kind.is_metal]
    others = {p.name: p for p in inches}
    assert ends
    for piece in ends:
        assert others[piece.name].kind.shape.key() == piece.kind.shape.key(), piece.name
        assert others[piece.name].placement.origin == pytest.approx(piece.placement.origin)
