"""The checks on good beds: nothing is found, and what is measured is what was asked for."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence

import cadquery as cq
import pytest

from bedmodel.assembly import Bed
from bedmodel.checks.finding import Code, Result
from bedmodel.checks.run import findings, run_checks
from bedmodel.exports.json_text import json_bytes
from bedmodel.exports.records import checks_record
from bedmodel.verbs.check import check_table, summary
from tests.beds import EXAMPLES, good, hawthorn, idle_codes, thrice_broken

SIZES = (None, "us-king", "eu-90x200", "uk-small-single", "us-california-king")

# What the worst case of a good bed may be, for each code; the numbers are the limits
# that a maker is told.
WITHIN: dict[Code, Callable[[float], bool]] = {
    Code.FOOT_NOT_LEVEL: lambda worst: worst <= 0.05,
    Code.SOLID_NOT_VALID: lambda worst: worst == 0,
    Code.SOLID_NOT_SINGLE: lambda worst: worst == 0,
    Code.SOLID_OUTSIDE_BLANK: lambda worst: worst <= 0.01,
    Code.SIZE_DIFFERS: lambda worst: worst <= 0.01,
    Code.OUTLINE_DIFFERS: lambda worst: worst == 0,
    Code.PARTS_OVERLAP: lambda worst: 0 <= worst <= 1,
    Code.BOARD_NOT_FLUSH: lambda worst: worst <= 0.05,
    Code.RAIL_NOT_FLUSH: lambda worst: worst <= 0.05,
    Code.JOINT_BEARING_SHORT: lambda worst: 0.998 <= worst <= 1.002,
    Code.TENON_CHEEK_CLEARANCE: lambda worst: abs(worst - 0.1) <= 0.02,
    Code.TENON_END_GAP: lambda worst: abs(worst - 1.5) <= 0.02,
    Code.MORTISE_MISSING: lambda worst: worst == 0,
    Code.MORTISE_WALL_THIN: lambda worst: worst >= 6,
    Code.MORTISE_BREAKS_OUT: lambda worst: worst == 0,
    Code.MORTISES_MEET: lambda worst: worst == 0,
    Code.BOARD_CANNOT_MOVE: lambda worst: worst >= -0.01,
    Code.POCKET_TOO_SMALL: lambda worst: worst >= 20,
    Code.POCKET_TIGHT_AT_TOLERANCE: lambda worst: worst >= 20,
    Code.POCKET_OBSTRUCTED: lambda worst: 0 <= worst <= 1,
    Code.SLAT_GAPS_UNEQUAL: lambda worst: worst > 0,
    Code.SLAT_GAP_OUT_OF_BAND: lambda worst: 50.8 <= worst <= 69.85,
    Code.SLAT_BEARING_SHORT: lambda worst: worst >= 18,
    Code.SUPPORTS_NOT_LEVEL: lambda worst: worst <= 0.05,
    Code.FOOT_OFF_FLOOR: lambda worst: abs(worst) <= 0.05,
    Code.PLATFORM_TOO_HIGH: lambda worst: worst < 600,
    Code.HOOK_ENGAGEMENT_SHORT: lambda worst: worst >= 4,
    Code.HOOK_TRAVEL_SHORT: lambda worst: worst >= -0.01,
    Code.HOOK_BINDS: lambda worst: worst >= 0.375,
    Code.SCREW_BITE_SHORT: lambda worst: worst >= 12,
    Code.RECESS_WALL_THIN: lambda worst: worst >= 3.99,
    Code.FASTENER_NEAR_MORTISE: lambda worst: worst >= 3.99,
    Code.PLATE_NOT_FLUSH: lambda worst: worst <= 0.05,
    Code.BOLT_REACH_SHORT: lambda worst: worst >= -0.01,
    Code.FASTENER_SHOWS: lambda worst: worst == 0,
    Code.RAILS_NOT_LEVEL: lambda worst: worst <= 0.05,
    Code.SCREW_OFF_PILOT: lambda worst: worst <= 0.001,
    Code.PART_SAGS: lambda worst: 0 < worst <= 1,
    Code.PART_OVERSTRESSED: lambda worst: 0 < worst <= 1,
    Code.BEARING_DENTS: lambda worst: 0 < worst <= 1,
    Code.CENTRE_RAIL_TIPS: lambda worst: worst >= 2,
    Code.HEADBOARD_WOBBLES: lambda worst: 0 < worst <= 15,
    Code.JOINT_OVERLOADED: lambda worst: 0 < worst <= 1,
    Code.BOARD_MAY_SPLIT: lambda worst: 0 < worst <= 0.6,
    Code.BOARD_ROOM_SHORT: lambda worst: worst >= 0,
    Code.GAP_CATCHES: lambda worst: worst > 0,
    Code.UPRIGHT_GAPS_UNEQUAL: lambda worst: worst <= 0.1,
    Code.GAP_TRAPS_HEAD: lambda worst: worst <= 60 or worst >= 230,
    Code.CAP_NOT_SEATED: lambda worst: worst <= 0.02,
    Code.END_JOINT_FIT: lambda worst: worst <= 0.02,
    Code.PANEL_CANNOT_MOVE: lambda worst: worst >= -0.01,
    Code.PANEL_LOOSE: lambda worst: worst >= -0.01,
    Code.PANEL_ROOM_SHORT: lambda worst: worst >= 0,
}

# Legal sheets in which something other than the usual face lies where a check looks.
ODD_SHEETS = {
    "ankles longer than the joint faces": (
        "campion",
        "height.platform=20 in",
        "leg.curve_diameter=4 in",
    ),
    "edges eased as far as the mortises": (
        "hawthorn",
        "leg.edge_size=12 mm",
        "headboard.reveal=0",
        "footboard.reveal=0",
    ),
}


def by_code(results: Sequence[Result]) -> dict[Code, Result]:
    return {result.code: result for result in results}


# --- good beds ----------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size or "its own size")
@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_passes(name: str, size: str | None) -> None:
    passes(good(name, size))


@pytest.mark.parametrize("joint", ["brackets", "bolts", "butt"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_passes_with_any_joint_of_its_rails(name: str, joint: str) -> None:
    passes(good(name, None, f"side_rail.joint={joint}"))


def test_hook_plates_do_not_show() -> None:
    """Between leg and rail, all is out of sight; looked for only where the sheet asks."""
    bed = good("campion", None, "fastener.visible=never")
    passes(bed)
    (shows,) = (r for r in run_checks(bed) if r.code is Code.FASTENER_SHOWS)
    # In each leg a recess, two pockets and two pilot holes, in each rail's end a recess
    # and two; two plates at each corner.
    assert shows.tested == 4 * (5 + 3 + 2)


def passes(bed: Bed) -> None:
    """Nothing is found, each code has looked at something, and within what it allows."""
    results = run_checks(bed)
    assert findings(results) == ()
    assert all(result.passed for result in results)
    # Codes come in their order, each once, and none is left out.
    assert [result.code for result in results] == sorted(Code)
    assert {r.code for r in results if not r.tested} == idle_codes(bed.layout.sheet)
    worst = {r.code: r.worst for r in results if r.tested}
    assert None not in worst.values()
    assert [c.name for c, w in worst.items() if w is not None and not WITHIN[c](w)] == []
    assert {r.worst for r in results if not r.tested} <= {None}


@pytest.mark.parametrize("odd", ODD_SHEETS)
def test_an_unusual_sheet_passes(odd: str) -> None:
    name, *changes = ODD_SHEETS[odd]
    assert findings(run_checks(good(name, None, *changes))) == ()


def test_what_is_measured_is_what_the_sheet_asks_for() -> None:
    """Campion, whose head is wider by 35 mm: sums from the sheet, none from the solids."""
    bed = good("campion")
    layout, sheet = bed.layout, bed.layout.sheet
    worst = {r.code: r.worst for r in run_checks(bed)}
    assert worst[Code.POCKET_TOO_SMALL] == pytest.approx(
        min(2 * sheet.mattress.side_clearance, sheet.mattress.end_clearance), abs=1e-5
    )
    assert worst[Code.PLATFORM_TOO_HIGH] == pytest.approx(12.5 * 25.4, abs=1e-6)
    count = layout.slats.count
    gap = (80 * 25.4 + 22 - count * 2.25 * 25.4) / (count + 1)
    assert worst[Code.SLAT_GAP_OUT_OF_BAND] == pytest.approx(gap, abs=1e-5)
    # Least wood is beside the cheeks: half of what the board has over its mortise,
    # as the boards are flush with the legs; tenons are 3/8 in thick in 1 1/8 in.
    wall = (1.125 - 0.375) * 25.4 / 2 - 0.1
    assert worst[Code.MORTISE_WALL_THIN] == pytest.approx(wall, abs=1e-6)


def test_a_slat_bears_least_where_the_pocket_is_widest() -> None:
    """Hawthorn has parallel rails, campion rails turned by the stance."""
    straight = hawthorn()
    runner, slat = straight.layout.sheet.runner, straight.layout.sheet.slat
    worst = by_code(run_checks(straight))[Code.SLAT_BEARING_SHORT].worst
    assert worst == pytest.approx(runner.width - runner.edge_size - slat.end_clearance, abs=1e-6)

    turned = good("campion")
    layout, sheet = turned.layout, turned.layout.sheet
    # Half the stance of 1 3/8 in is lost over the pocket's length; the first slat lies a
    # gap from the head, and its edge on that side bears least.
    at_first = layout.half_head - 0.5 * 1.375 * 25.4 * layout.slats.gap / layout.pocket_length
    inner = at_first - sheet.runner.width / math.cos(layout.yaw) + sheet.runner.edge_size
    worst = by_code(run_checks(turned))[Code.SLAT_BEARING_SHORT].worst
    assert worst == pytest.approx(layout.slats.length / 2 - inner, abs=1e-3)


# --- what is reported ---------------------------------------------------------------------


def test_findings_are_the_same_every_time_and_in_the_order_of_their_codes() -> None:
    bed = thrice_broken()
    first, second = run_checks(bed), run_checks(bed)
    assert first == second
    codes = [finding.code for finding in findings(first)]
    assert codes == sorted(codes)
    assert set(codes) >= {Code.PARTS_OVERLAP, Code.RAIL_NOT_FLUSH}
    assert json_bytes(checks_record(first)) == json_bytes(checks_record(second))


@pytest.mark.parametrize("round_part", ["side_rail_right", "runner_left", "head_leg_right"])
def test_a_part_without_flat_faces_is_a_finding_and_no_nan(round_part: str) -> None:
    """Turned round, a part has nothing that could be flush, level or bear."""
    bed = hawthorn()
    across = bed.piece(round_part).kind.shape.width
    ball = cq.Solid.makeSphere(across / 2, cq.Vector(across / 2, across / 2, across / 2))
    results = run_checks(bed.with_piece(round_part, solid=ball))
    assert any(round_part in finding.parts for finding in findings(results))
    numbers = [r.worst for r in results if r.worst is not None]
    numbers += [f.measured for f in findings(results)]
    assert not any(math.isnan(number) for number in numbers)
    assert all("" not in finding.parts for finding in findings(results))
    record = json.loads(json_bytes(checks_record(results)))
    assert record["passed"] is False
    assert [entry["code"] for entry in record["checks"]] == [int(code) for code in Code]


def test_what_the_bed_does_not_have_is_neither_passed_nor_failed_in_the_table() -> None:
    """A bed with hook plates has no bolt, its sheet lets fasteners show, its ends are boards."""
    results = run_checks(hawthorn())
    rows = {line.split()[0]: line for line in check_table(results).splitlines()[2:]}
    assert len(rows) == len(Code)
    idle = {code for code, row in rows.items() if row.endswith("nothing to test")}
    ends = {"304", "305", "306", "408", "409", "410", "910"}
    one_row_of_slats = {"605", "606", "607"}
    assert idle == {"307", "808", "809", "909"} | ends | one_row_of_slats
    assert all(row.endswith("passed") for code, row in rows.items() if code not in idle)
    told = f"all {len(Code) - len(idle)} checks passed; {len(idle)} more had nothing to test"
    assert summary(results) == told
