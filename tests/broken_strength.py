"""Beds broken on purpose in one way: what is reckoned of strength, sag and wood movement.

What must be said is worked out here by closed forms and the handbook's tables.
"""

from __future__ import annotations

import itertools

from bedmodel.checks.finding import Code
from tests.beds import Broken, Case, good, register_in

CASES: list[Case] = []
breaks = register_in(CASES)

# White ash: modulus 12 000 MPa from short beams, true one 10 % more; shear 0.077 of that
# (Wood Handbook, FPL-GTR-282, notes to Table 5-3; Table 5-1).
ASH_E = 1.1 * 12000
ASH_G = 0.077 * ASH_E


@breaks(Code.PART_SAGS)
def rails_that_may_hardly_bend() -> Broken:
    """A limit of 1/900 of the length for rails that people sit on."""
    bed = good("hawthorn", None, "limits.rail_peak_ratio=900")
    length, width, depth = bed.layout.rail_length, 29.0, 152.0
    inertia = width * depth**3 / 12
    # PL^3/48EI + 1.2 PL/4GA, 2 x 1200 N in the middle.
    sag = 2400 * length**3 / (48 * ASH_E * inertia)
    sag += 1.2 * 2400 * length / (4 * ASH_G * width * depth)
    place = f"{sag:.0f} mm of {length / 900:.1f} mm, sag under edge sitting"
    limit = "at most 1.0 [practice]"
    return Broken(bed, {("side_rail",): sag / (length / 900)}, limit, 1e-3, place)


@breaks(Code.PART_OVERSTRESSED)
def rails_without_the_strength() -> Broken:
    """Three people's weight at once, on rails so short of depth that they may sag."""
    bed = good(
        *("hawthorn", None, "loads.edge_pads_count=4", "loads.edge_pad_n=1800"),
        *("limits.rail_peak_ratio=50", "runner.joint=glue", "screw.runner_pitch=60 mm"),
        # The metal and the leg's joints are not what is asked about.
        *("side_rail.joint=butt", "headboard.glue=all", "tenon.embedment=36 mm"),
    )
    length, width, depth = bed.layout.rail_length, 29.0, 152.0
    stress = 7200 * length / 4 / (width * depth**2 / 6)
    # 103 MPa, 16 % variation, grain 0.89, size (51/d)^(1/9), seven days 1.25/1.6, 1.44.
    allowed = 103 * (1 - 1.645 * 0.16) * 0.89 * (51 / depth) ** (1 / 9) * (1.25 / 1.6) / 1.44
    place = f"{stress:.1f} of {allowed:.1f} MPa, bending under edge sitting"
    limit = "at most 1.0 [unconfirmed]"
    return Broken(bed, {("side_rail",): stress / allowed}, limit, 1e-6, place)


@breaks(Code.CENTRE_RAIL_TIPS)
def one_foot_alone() -> Broken:
    bed = good("hawthorn", None, "support_foot.count=1")
    return Broken(bed, {("centre_rail",): 1.0}, "at least 2")


@breaks(Code.BOARD_MAY_SPLIT)
def glued_throughout() -> Broken:
    """Beech, which moves most, glued over all its tenons in a house that gets very dry."""
    bed = good(
        *("hawthorn", None, "wood.species=american-beech", "tenon.glued_most=500 mm"),
        *("climate.driest=8.2", "climate.dampest=10", "climate.made_moisture=10"),
    )
    plan = bed.layout.head.boards[0].tenons
    glued = plan.heights[-1] - plan.heights[0] + plan.width
    # Over 330 mm the share is level. Beech: tangential shrinkage 11.9 % (Table 4-3), tension
    # across 1010 psi, no modulus across in Table 5-1: the greatest there is, black cherry's.
    held = 1.8 * 0.00431  # Table 13-5, from 6 to 14 %
    strong = 1010 * 0.006894757 * (1 - 1.645 * 0.25)
    share = 0.731 + (0.769 - 0.731) * (min(glued, 330) - 250) / 80
    index = held * 0.086 * 11900 * 1.1 * 0.5 * share / strong
    return Broken(
        bed, {("headboard_board",): index}, "low or some risk [confirmed]", 1e-3,
        f"glued over {glued:.1f} mm",
    )  # fmt: skip


@breaks(Code.BOARD_ROOM_SHORT)
def slots_for_a_dry_climate_only() -> Broken:
    """Room for 2 points of change, where a year brings 4 from the wood as made."""
    bed = good(
        *("hawthorn", None, "tenon.moisture_change=2", "climate.driest=6", "climate.dampest=11"),
    )
    # White ash 0.00274 a point (Table 13-5); dry tenons stand a third of the board away.
    away = 385 / 3
    short = away * 0.00274 * (2 - 4)
    parts = {("headboard_board", f"tenon_{i}"): short for i in (1, 3)}
    return Broken(bed, parts, "at least 0 mm [confirmed]", 1e-6)


@breaks(Code.HEADBOARD_WOBBLES)
def little_movement_allowed() -> Broken:
    """2 mm of legs and rails alone; the boards are stiff enough for 1.9 mm."""
    bed = good(
        *("hawthorn", None, "limits.headboard_drift_most=1.9", "footboard.board.1.thickness=50"),
    )
    # Both ways alike, by symmetry; the movement itself is held by tests/test_strength_frame.py.
    parts = {(f"headboard push {way}",): 2.0 for way in ("back", "forward")}
    return Broken(bed, parts, "at most 1.9 mm [practice]", 0.06, "with firm fasteners")


@breaks(Code.BEARING_DENTS)
def feet_too_small() -> Broken:
    """Two small feet under a rail of wood whose crushing strength varies widely."""
    bed = good(
        *("hawthorn", None, "support_foot.size=25", "support_foot.count=2"),
        *("centre_rail.height=150", "limits.crushing_variation=0.5"),
    )
    feet, row = bed.layout.centre_rail.feet, bed.layout.slats  # type: ignore[union-attr]
    slat = row.starts()[0] + row.width / 2
    force = 1400 * (feet[1] - slat) / (feet[1] - feet[0])
    # Yellow birch 6.7 MPa across the grain (Table 5-3a), 5 % of pieces weaker.
    allowed = 6.7 * (1 - 1.645 * 0.5)
    pressure = force / (48 * 25)
    place = f"{pressure:.1f} of {allowed:.1f} MPa, bearing under point on the head overhang"
    return Broken(
        bed, {("centre_rail",): pressure / allowed}, "at most 1.0 [disputed]", 1e-6, place
    )


@breaks(Code.JOINT_OVERLOADED)
def screws_far_apart() -> Broken:
    """Two people on 200 mm of a runner, whose screws stand 300 mm apart."""
    bed = good("hawthorn", None, "loads.edge_spread=200", "screw.runner_pitch=300")
    screws = bed.layout.runner_screws
    assert screws is not None
    apart = max(b - a for a, b in itertools.pairwise(screws.places))
    asked = 2400 / 200 * apart
    # No. 10 is 4.83 mm (Table 8-9); slip at 44.13 D^2 for woods over 0.57 (Table 8-4), when
    # 7 D deep, and about 4 times that at its best (ch. 8).
    assert screws.plan.gauge == 10
    held = 4 * 44.13 * 4.83**2 * min(1, screws.plan.bite / (7 * 4.83))
    place = f"{asked:.0f} of {held:.0f} N under edge sitting"
    parts = {("runner screws", "sideways"): asked / held}
    return Broken(bed, parts, "at most 1.0 [practice]", 1e-6, place)
