"""Each joint of a bed as a band: ample, fair, doubtful, or not known.

What a joint bears comes from the frame, the worst of all cases and of all classes of
rail fastener; what it may bear from formulas that stay below known tests. More than a
band would be false precision.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from bedmodel.joints import board_name
from bedmodel.skeleton import Layout
from bedmodel.strength.bed_frame import FrameCase, JointForce
from bedmodel.strength.members import Basis
from bedmodel.strength.platform import slat_wood
from bedmodel.strength.rails import runner_screw_loads
from bedmodel.strength.screws import lateral_design_n, lateral_slip_n
from bedmodel.strength.tenon_strength import board_end
from bedmodel.strength.timber import Rules, duration_factor
from bedmodel.tables import wood

Band = Literal["ample", "fair", "doubtful", "not known"]
SLIP_DEPTH = 7  # diameters in the wood. Source: Wood Handbook (FPL-GTR-282) Eq. 8-13


@dataclass(frozen=True)
class FastenerRating:
    """What the maker of a rail fastener says it bears at one rail end; None: not said.

    ``moment_nm`` against turning (N.m), ``load_n`` straight down (N), ``lift_n`` up (N).
    """

    moment_nm: float | None = None
    load_n: float | None = None
    lift_n: float | None = None


@dataclass(frozen=True)
class JointBand:
    """One joint in one action: what it bears, what it may, and the case that asks most.

    Moments in N.m, forces in N (``unit`` says which). ``reason`` names what gives first
    or why it is not known.
    """

    joint: str
    action: str
    unit: Literal["N.m", "N"]
    demand: float
    capacity: float | None
    case: str
    band: Band
    reason: str

    @property
    def use(self) -> float | None:
        return None if self.capacity is None else self.demand / self.capacity


def band_of(demand: float, capacity: float | None, rules: Rules) -> Band:
    if capacity is None:
        return "not known"
    use = demand / capacity if capacity > 0 else float("inf")
    if use <= rules.ample_below:
        return "ample"
    return "fair" if use <= rules.fair_below else "doubtful"


def joint_bands(
    layout: Layout,
    cases: Sequence[FrameCase],
    basis: Basis,
    fastener: FastenerRating | None = None,
) -> tuple[JointBand, ...]:
    """Every kind of joint: board ends, rail fasteners, runner screws."""
    return (
        *board_bands(layout, cases, basis),
        *fastener_bands(cases, basis, fastener or FastenerRating()),
        *screw_bands(layout, basis),
    )


def board_bands(layout: Layout, cases: Sequence[FrameCase], basis: Basis) -> tuple[JointBand, ...]:
    """The tenons or dowels of each board, against turning upright and against pull."""
    rules = basis.rules
    timber = wood(layout.sheet.wood.species)
    bands = []
    for end in layout.ends:
        for board in end.boards:
            name = board_name(end, board)
            strength = board_end(board.tenons, timber, rules)
            kind = f"{name} {board.tenons.kind}s"
            forces = [
                (case.name, joint)
                for case in cases
                for moved in case.by_class.values()
                for joint in moved.boards
                if joint.name == name
            ]
            for action, unit, scale, capacity, ask in (
                ("turning", "N.m", 1e3, strength.design_moment, _upright),
                ("pull", "N", 1.0, strength.design_pull, _along),
                ("load across", "N", 1.0, strength.design_across, _across),
            ):
                case, demand = max(((c, ask(j)) for c, j in forces), key=lambda at: at[1])
                bands.append(
                    JointBand(
                        kind,
                        action,
                        "N.m" if unit == "N.m" else "N",
                        demand / scale,
                        capacity / scale,
                        case,
                        band_of(demand, capacity, rules),
                        f"the {strength.first} gives first" if action == "turning" else "glue",
                    )
                )
    return tuple(bands)


def _upright(joint: JointForce) -> float:
    return joint.upright_nmm


def _along(joint: JointForce) -> float:
    return joint.along_n


def _across(joint: JointForce) -> float:
    return joint.across_n


def fastener_bands(
    cases: Sequence[FrameCase], basis: Basis, fastener: FastenerRating
) -> tuple[JointBand, ...]:
    """The rail fasteners; without a rating they are not known."""
    hooks = [
        (case.name, moved.hooks)
        for case in cases
        for moved in case.by_class.values()
        if moved.hooks is not None
    ]
    reason = "needs a rating by its maker or by your own test"
    bands = []
    for action, given, scale, ask, only in (
        ("turning", fastener.moment_nm, 1e3, _upright, ""),
        ("load down", fastener.load_n, 1.0, _across, ""),
        ("lift, without coming out", fastener.lift_n, 1.0, _across, "lift at the head"),
    ):
        asked = [(c, ask(j) / scale) for c, j in hooks if not only or c == only]
        if not asked:
            continue
        case, demand = max(asked, key=lambda at: at[1])
        bands.append(
            JointBand(
                "rail fastener",
                action,
                "N.m" if scale > 1 else "N",
                demand,
                given,
                case,
                band_of(demand, given, basis.rules),
                reason if given is None else "by the rating given",
            )
        )
    return tuple(bands)


def screw_bands(layout: Layout, basis: Basis) -> tuple[JointBand, ...]:
    """The runner's screws sideways: by the load at which they begin to slip.

    That load is the handbook's for screws 7 diameters deep, less in proportion where they
    stand shallower. The building code's figure is named beside it.
    """
    screws = basis.screws
    sleepers, edge = runner_screw_loads(layout, basis.loads, screws)
    density = min(
        wood(layout.sheet.wood.species).specific_gravity, slat_wood(layout).specific_gravity
    )
    depth = min(screws.penetration, layout.sheet.side_rail.thickness)
    slip = lateral_slip_n(screws.diameter, density)
    slip *= min(1.0, depth / (SLIP_DEPTH * screws.diameter))
    bands = []
    for case, demand, duration in (
        ("sleepers", sleepers, "ten_years"),
        ("edge sitting", edge, "seven_days"),
    ):
        code = lateral_design_n(
            screws.diameter, layout.sheet.runner.width, depth, density
        ).force_n * (duration_factor(duration) / duration_factor("ten_years"))
        capacity = slip * duration_factor(duration)
        reason = f"slip begins; a building code allows {code:.0f} N so deep [unconfirmed]"
        if screws.glued:
            reason = "glued as well, which holds more than the screws"
        band = "ample" if screws.glued else band_of(demand, capacity, basis.rules)
        bands.append(
            JointBand("runner screws", "sideways", "N", demand, capacity, case, band, reason)
        )
    return tuple(bands)
