"""Beds broken on purpose in one way: wood screws of fasteners, runners, slats and cleats.

What must be measured is worked out from how the bed was broken, never from what
the checks report.
"""

from __future__ import annotations

from bedmodel.assembly import Bed
from bedmodel.checks.finding import Code
from bedmodel.frames import scale
from tests.beds import Broken, Case, cut_of, good, register_in, shape_of, with_cut, with_sheet
from tests.test_screwing import CLEATS

CASES: list[Case] = []
breaks = register_in(CASES)

LEG, RAIL, RUNNER = "head_leg_right", "side_rail_right", "runner_right"
SIDES, ENDS = ("left", "right"), ("head", "foot")
BITE = "at least 12 mm of thread in a hole closed all round"
OFF = "within 0.2 mm of the pilot hole's axis"


def shallow(bed: Bed, name: str, pilot: str, depth: float) -> Broken:
    """One pilot hole is drilled less deep."""
    assert bed.layout.sheet.screw.bite_least == 12.0
    assert cut_of(shape_of(bed, name), pilot).depth > 12.0
    broken = bed.with_piece(name, shape=with_cut(shape_of(bed, name), pilot, depth=depth))
    return Broken(broken, {(name, pilot): depth}, BITE)


@breaks(Code.SCREW_BITE_SHORT)
def shallow_pilot_of_a_runner_in_its_rail() -> Broken:
    return shallow(good("hawthorn"), RAIL, "runner_screw_05_right_pilot", 5.0)


@breaks(Code.SCREW_BITE_SHORT)
def shallow_pilot_of_a_slat_in_its_runner() -> Broken:
    return shallow(good("hawthorn"), RUNNER, "slat_07_screw_right_pilot", 11.9)


@breaks(Code.SCREW_BITE_SHORT)
def shallow_pilot_of_a_cleat_in_its_board() -> Broken:
    bed = good("hawthorn", None, *CLEATS)
    board = next(plan.board for plan in bed.layout.cleats if plan.end == "foot")
    return shallow(bed, board, "foot_cleat_screw_left_pilot", 8.0)


@breaks(Code.SCREW_BITE_SHORT)
def short_bracket_screws() -> Broken:
    """Another sheet asks for more than their length less the bracket's 3 mm."""
    bed = with_sheet(good("hawthorn", None, "side_rail.joint=brackets"), "fastener", bite_least=18)
    parts = {
        (f"side_rail_{side}", f"{end}_fastener_face_screw_{i}"): 17.0
        for side in SIDES
        for end in ENDS
        for i in (1, 2, 3, 4)
    }
    return Broken(bed, parts, "at least 18 mm of thread in a hole closed all round")


# --- holes that are not in line ------------------------------------------------------------


def aside(bed: Bed, name: str, hole: str, by: float) -> Bed:
    """The bed with one hole of a piece drilled beside its place."""
    shape = shape_of(bed, name)
    frame = cut_of(shape, hole).frame
    return bed.with_piece(name, shape=with_cut(shape, hole, frame=frame.moved(scale(frame.x, by))))


@breaks(Code.SCREW_OFF_PILOT)
def hole_of_a_slot_plate_beside_its_pilot() -> Broken:
    plate = "head_slot_plate_right"
    bed = aside(good("hawthorn"), plate, "screw_1", 0.5)
    return Broken(bed, {(plate, LEG, "rail_fastener_screw_1"): 0.5}, OFF)


@breaks(Code.SCREW_OFF_PILOT)
def hole_of_a_bracket_beside_its_pilot() -> Broken:
    bracket = "foot_rail_bracket_right"
    bed = aside(good("hawthorn", None, "side_rail.joint=brackets"), bracket, "face_screw_2", -0.4)
    place = (bracket, RAIL, "foot_fastener_face_screw_2")
    return Broken(bed, {place: 0.4}, OFF)


@breaks(Code.SCREW_OFF_PILOT)
def pilot_of_a_runner_beside_its_screw() -> Broken:
    pilot = "runner_screw_05_right_pilot"
    bed = aside(good("hawthorn"), RAIL, pilot, 1.0)
    return Broken(bed, {(RUNNER, RAIL, pilot): 1.0}, OFF)


@breaks(Code.SCREW_OFF_PILOT)
def hole_of_a_slat_beside_its_pilot() -> Broken:
    # All slats are of one kind, whose holes have the first one's names.
    bed = aside(good("hawthorn"), "slat_03", "slat_01_screw_right_clearance", 0.7)
    return Broken(bed, {("slat_03", RUNNER, "slat_03_screw_right_pilot"): 0.7}, OFF)
