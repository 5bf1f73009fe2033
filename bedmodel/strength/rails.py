"""Side rails, and the runners screwed on them.

rail   ==============================    held by a fastener at each end: reckoned
       ^                            ^    as turning freely there, which is on the
                                         safe side
runner --+------+------+------+------    carried by its screws
"""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.skeleton import Layout
from bedmodel.strength.beam import Beam, LineLoad, PointLoad, Support, bend
from bedmodel.strength.judged import MemberReport, Span, judge
from bedmodel.strength.loads import Loads, bed_line_load
from bedmodel.strength.platform import CENTRE_SHARE, slat_wood
from bedmodel.strength.timber import Rules, Section, modulus, shear_modulus
from bedmodel.tables import wood

TWIST_NOTE = (
    "the load stands off the rail's middle and turns its lower edge outwards at each end; "
    "two hooks one above the other do not hold that, slats that are screwed down do"
)


def rail_line_load(layout: Layout, loads: Loads) -> float:
    """One side rail's share of sleepers and mattress (N/mm)."""
    share = (1 - CENTRE_SHARE) / 2 if layout.centre_rail else 0.5
    return share * bed_line_load(layout, loads)


def side_rail(layout: Layout, loads: Loads, rules: Rules) -> MemberReport:
    """A side rail under sleepers, under people sitting on it, and under a drop."""
    given = layout.sheet.side_rail
    timber = wood(layout.sheet.wood.species)
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
        judge("side_rail", "sleepers", "ten_years", bend(beam, [even]), years, timber, rules),
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
                ("edge sitting", "seven_days", loads.edge_n),
                ("drop on the edge", "impact", loads.drop_n),
            )
        ),
    )
    return MemberReport("side_rail", timber.name, section, (length,), cases, (TWIST_NOTE,))


def rail_twist_nmm(layout: Layout, loads: Loads) -> float:
    """Twist at each end of a side rail from people sitting on the edge (N.mm)."""
    arm = (layout.sheet.side_rail.thickness + layout.sheet.runner.width) / 2
    return loads.edge_n * arm / 2


@dataclass(frozen=True)
class RunnerScrews:
    """How runners are fixed, which the sheet leaves to the maker (mm).

    ``penetration`` is how deep a screw stands in the rail.
    """

    diameter: float = 5.0
    pitch: float = 200.0
    penetration: float = 22.0
    glued: bool = False


def runner_screw_loads(layout: Layout, loads: Loads, screws: RunnerScrews) -> tuple[float, float]:
    """What each screw of a runner bears under sleepers, and under people on the edge (N)."""
    return (
        rail_line_load(layout, loads) * screws.pitch,
        loads.edge_n / loads.edge_spread * screws.pitch,
    )


def runner(
    layout: Layout, loads: Loads, rules: Rules, screws: RunnerScrews | None = None
) -> MemberReport:
    """A runner from screw to screw; the screws themselves are judged as joints."""
    screws = screws or RunnerScrews()
    given = layout.sheet.runner
    timber = slat_wood(layout)
    section = Section(given.width, given.height)
    pitch = screws.pitch
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
        ("sleepers", "ten_years", rail_line_load(layout, loads)),
        ("edge sitting", "seven_days", loads.edge_n / loads.edge_spread),
    ):
        ratio = rules.rail_years_ratio if duration == "ten_years" else rules.rail_peak_ratio
        bent = bend(beam, [LineLoad(0.0, xs[-1], force)])
        limits = [Span(0, xs[-1], pitch / ratio)]
        cases.append(judge("runner", load, duration, bent, limits, timber, rules))
    return MemberReport("runner", timber.name, section, (pitch,) * 4, tuple(cases))
