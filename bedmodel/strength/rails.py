"""Side rails, and the runners screwed on them.

rail   ==============================    held by a fastener at each end: reckoned
       ^                            ^    as turning freely there, which is on the
                                         safe side
runner --+------+------+------+------    carried by its screws
"""

from __future__ import annotations

import itertools

from bedmodel.centre_beam import centre_share
from bedmodel.skeleton import Layout
from bedmodel.strength.beam import Beam, LineLoad, PointLoad, Support, bend
from bedmodel.strength.judged import LASTING, MemberReport, Span, judge
from bedmodel.strength.loads import Loads, bed_line_load
from bedmodel.strength.platform import slat_wood
from bedmodel.strength.timber import Rules, Section, modulus, shear_modulus

TWIST_NOTE = (
    "the load stands off the rail's middle and turns its lower edge outwards at each end; "
    "two hooks one above the other do not hold that, slats that are screwed down do"
)


def rail_line_load(layout: Layout, loads: Loads) -> float:
    """One side rail's share of sleepers and mattress (N/mm)."""
    share = (1 - centre_share(layout.rows)) / 2 if layout.centre_rail else 0.5
    return share * bed_line_load(layout, loads)


def side_rail(layout: Layout, loads: Loads, rules: Rules) -> MemberReport:
    """A side rail under sleepers, under people sitting on it, and under a drop."""
    given = layout.sheet.side_rail
    timber = layout.sheet.bed_wood
    length = layout.rail_length
    section = Section(given.thickness, given.width)
    beam = Beam(
        length,
        section,
        modulus(timber, rules),
        shear_modulus(timber, rules),
        (Support(0.0), Support(length)),
    )
    years = [Span(0.0, length, length / rules.rail_years_ratio)]
    peak = [Span(0.0, length, length / rules.rail_peak_ratio)]
    even = LineLoad(0.0, length, rail_line_load(layout, loads))
    cases = (
        judge(
            "side_rail",
            "sleepers",
            loads.sleepers_duration,
            bend(beam, [even]),
            years,
            timber,
            rules,
        ),
        *(
            judge(
                "side_rail",
                load,
                duration,
                bend(beam, [PointLoad(length / 2, force)]),
                peak,
                timber,
                rules,
            )
            for load, duration, force in (
                ("edge sitting", loads.edge_duration, loads.edge_n),
                ("drop on the edge", "impact", loads.drop_n),
            )
        ),
    )
    return MemberReport("side_rail", timber.name, section, (length,), cases, (TWIST_NOTE,))


def rail_twist_nmm(layout: Layout, loads: Loads) -> float:
    """Twist at each end of a side rail from people sitting on the edge (N.mm)."""
    arm = (layout.sheet.side_rail.thickness + layout.sheet.runner.width) / 2
    return loads.edge_n * arm / 2


def runner_pitch(layout: Layout) -> float | None:
    """The longest stretch of runner between two screws (mm); None where it is glued."""
    screws = layout.runner_screws
    if screws is None:
        return None
    return max(b - a for a, b in itertools.pairwise(screws.places))


def runner_screw_loads(layout: Layout, loads: Loads, pitch: float) -> tuple[float, float]:
    """What each screw of a runner bears under sleepers, and under people on the edge (N)."""
    return rail_line_load(layout, loads) * pitch, loads.edge_n / loads.edge_spread * pitch


def runner(layout: Layout, loads: Loads, rules: Rules) -> MemberReport | None:
    """A runner from screw to screw, or None where glue holds it all along.

    The screws themselves are judged as joints.
    """
    pitch = runner_pitch(layout)
    if pitch is None:
        return None
    given = layout.sheet.runner
    timber = slat_wood(layout)
    section = Section(given.width, given.height)
    # Four bays are enough for the worst of many equal ones.
    xs = [pitch * i for i in range(5)]
    beam = Beam(
        xs[-1],
        section,
        modulus(timber, rules),
        shear_modulus(timber, rules),
        tuple(Support(x) for x in xs),
    )
    cases = []
    for load, duration, force in (
        ("sleepers", loads.sleepers_duration, rail_line_load(layout, loads)),
        ("edge sitting", loads.edge_duration, loads.edge_n / loads.edge_spread),
    ):
        ratio = rules.rail_years_ratio if duration in LASTING else rules.rail_peak_ratio
        bent = bend(beam, [LineLoad(0.0, xs[-1], force)])
        limits = [Span(0, xs[-1], pitch / ratio)]
        cases.append(judge("runner", load, duration, bent, limits, timber, rules))
    return MemberReport("runner", timber.name, section, (pitch,) * 4, tuple(cases))
