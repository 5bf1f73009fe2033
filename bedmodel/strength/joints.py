"""Each joint of a bed as a band: ample, fair, doubtful, or not known.

What a joint bears comes from the frame, the worst of all cases and of all classes of
rail fastener; what it may bear from formulas that stay below known tests. More than a
band would be false precision.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from bedmodel.end_plan import board_name
from bedmodel.hardware import Hooked
from bedmodel.screwing import ScrewPlan
from bedmodel.screws import screw
from bedmodel.skeleton import Layout
from bedmodel.strength.bed_frame import FrameCase, JointForce
from bedmodel.strength.ends import COMPRESSION_VARIATION
from bedmodel.strength.members import Basis
from bedmodel.strength.platform import centre_rail, slat_wood
from bedmodel.strength.rails import runner_pitch, runner_screw_loads
from bedmodel.strength.screws import lateral_design_n, lateral_slip_n
from bedmodel.strength.tenon_strength import board_end
from bedmodel.strength.timber import Rules, duration_factor, five_percent
from bedmodel.tables import Wood

Band = Literal["ample", "fair", "doubtful", "not known"]
ULTIMATE = 4  # times the load at which slip begins. Source: Wood Handbook ch. 8
SLIP_DEPTH = 7  # diameters in the wood. Source: Wood Handbook (FPL-GTR-282) Eq. 8-13


@dataclass(frozen=True)
class FastenerRating:
    """What the maker of a rail fastener says it bears at one rail end; None: not said.

    ``moment_nm`` against turning (N.m), ``load_n`` straight down (N), ``lift_n`` up (N).
    """

    moment_nm: float | None = None
    load_n: float | None = None
    lift_n: float | None = None


def rating_of(layout: Layout) -> FastenerRating:
    """What the chosen fastener's row says it bears."""
    plan = layout.fastener
    if plan is None:
        return FastenerRating()
    return FastenerRating(plan.row.rated_turning_nm, plan.row.rated_down_n, plan.row.rated_lift_n)


@dataclass(frozen=True)
class JointBand:
    """One joint in one action: what it bears, what it may, and the case that asks most.

    Moments in N.m, forces in N (``unit`` says which). ``reason`` names what gives first
    or why it is not known. ``capacity`` is for use over years, ``bound`` what it holds once.
    """

    joint: str
    action: str
    unit: Literal["N.m", "N"]
    demand: float
    capacity: float | None
    case: str
    band: Band
    reason: str
    bound: float | None = None

    @property
    def breaks(self) -> bool:
        """Whether it is asked for more than the lower bound of what it holds at its best."""
        return self.bound is not None and self.demand > self.bound

    @property
    def use(self) -> float | None:
        if self.capacity is None:
            return None
        return self.demand / self.capacity if self.capacity > 0 else math.inf


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
    """Every kind of joint: board ends, rail fasteners, their screws, those of the platform.

    ``fastener`` None: as the fastener's row has it.
    """
    return (
        *board_bands(layout, cases, basis),
        *fastener_bands(layout, cases, basis, fastener or rating_of(layout)),
        *leg_screw_bands(layout, cases, basis),
        *screw_bands(layout, basis),
    )


def board_bands(layout: Layout, cases: Sequence[FrameCase], basis: Basis) -> tuple[JointBand, ...]:
    """The tenons or dowels of each board, against turning upright and against pull."""
    rules = basis.rules
    timber = layout.sheet.bed_wood
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
                        capacity / scale / strength.share,
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
    layout: Layout, cases: Sequence[FrameCase], basis: Basis, fastener: FastenerRating
) -> tuple[JointBand, ...]:
    """The rail fasteners; without a rating they are not known."""
    plan = layout.fastener
    name = "rail joint, yours to choose" if plan is None else f"{plan.kind[:-1]} {plan.row.name}"
    name = name.replace("_", " ")
    hooks = [
        (case.name, moved.hooks)
        for case in cases
        for moved in case.by_class.values()
        if moved.hooks is not None
    ]
    reason = "needs a rating by its maker or your own test: rated_* of its row"
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
                name,
                action,
                "N.m" if scale > 1 else "N",
                demand,
                given,
                case,
                band_of(demand, given, basis.rules),
                reason if given is None else "by the rating given",
                given,
            )
        )
    return tuple(bands)


def screw_bands(layout: Layout, basis: Basis) -> tuple[JointBand, ...]:
    """The screws of runners and cleats, sideways."""
    return (*_runner_bands(layout, basis), *_cleat_bands(layout, basis))


def _runner_bands(layout: Layout, basis: Basis) -> Iterator[JointBand]:
    pitch, screws = runner_pitch(layout), layout.runner_screws
    if pitch is None or screws is None:
        return
    loads = basis.loads
    density = min(layout.sheet.bed_wood.specific_gravity, slat_wood(layout).specific_gravity)
    sleepers, edge = runner_screw_loads(layout, loads, pitch)
    for case, demand, duration in (
        ("sleepers", sleepers, loads.sleepers_duration),
        ("edge sitting", edge, loads.edge_duration),
    ):
        yield _sideways("runner screws", screws.plan, density, (case, demand, duration), basis)


def _cleat_bands(layout: Layout, basis: Basis) -> Iterator[JointBand]:
    """Two screws a cleat share what the centre rail's end bears."""
    loads = basis.loads
    if not layout.cleats:
        return
    centre = centre_rail(layout, loads, basis.rules)
    assert centre is not None
    density = layout.sheet.bed_wood.specific_gravity
    worst: dict[str, tuple[str, float, str]] = {}
    for case in centre.cases:
        if case.bent is None:
            continue
        force = max(case.bent.reactions[0], case.bent.reactions[-1]) / 2
        name = case.load if case.load == "sleepers" else "point on an end bay"
        if force > worst.get(name, ("", 0.0, ""))[1]:
            worst[name] = name, force, case.duration
    for asked in worst.values():
        yield _sideways("cleat screws", layout.cleats[0].plan, density, asked, basis)


def _sideways(
    joint: str, plan: ScrewPlan, density: float, asked: tuple[str, float, str], basis: Basis
) -> JointBand:
    """One screw under a load across it (case, N, duration).

    By the load at which it begins to slip, the handbook's for screws 7 diameters deep, less
    in proportion where they stand shallower. The building code's figure is named beside it.
    """
    case, demand, duration = asked
    shank = screw(plan.gauge).shank
    slip = lateral_slip_n(shank, density) * min(1.0, plan.bite / (SLIP_DEPTH * shank))
    capacity = slip * duration_factor(duration)
    code = lateral_design_n(shank, plan.held - plan.sunk, plan.bite, density).force_n
    code *= duration_factor(duration) / duration_factor("ten_years")
    reason = f"slip begins, glue as well; a building code allows {code:.0f} N [unconfirmed]"
    band = band_of(demand, capacity, basis.rules)
    return JointBand(joint, "sideways", "N", demand, capacity, case, band, reason, slip * ULTIMATE)


def _along_grain(timber: Wood) -> float:
    """Crushing along the grain that 19 of 20 pieces exceed (MPa)."""
    return five_percent(timber.compression_parallel, COMPRESSION_VARIATION)


def leg_screw_bands(
    layout: Layout, cases: Sequence[FrameCase], basis: Basis
) -> Iterator[JointBand]:
    """The screws that hold a fastener's slot plate to the leg, under a rail end's load down.

    They share it evenly, and the plate's lower end bears on the bottom of its recess, with the
    grain; the metal between them is judged only by a rating.
    """
    plan = layout.fastener
    if plan is None or plan.kind == "bolts":
        return
    row = plan.row
    assert isinstance(row, Hooked)
    asked = [
        (case.name, _across(moved.hooks))
        for case in cases
        for moved in case.by_class.values()
        if moved.hooks is not None and case.name in ("edge sitting", "sleepers")
    ]
    if not asked:
        return
    name, demand = max(asked, key=lambda at: at[1])
    shank, density = screw(row.screw_gauge).shank, layout.sheet.bed_wood.specific_gravity
    bite = row.leg_screw - row.thickness
    slip = lateral_slip_n(shank, density) * min(1.0, bite / (SLIP_DEPTH * shank)) * row.screws
    duration = basis.loads.edge_duration
    if name == "sleepers":
        duration = basis.loads.sleepers_duration
    seat = row.width * row.thickness * _along_grain(layout.sheet.bed_wood)
    capacity = (slip + seat / basis.rules.safety_divisor) * duration_factor(duration)
    band = band_of(demand, capacity, basis.rules)
    reason = f"{row.screws} screws begin to slip, and the plate's lower end presses into the leg"
    most = slip * ULTIMATE + seat
    joint = "slot plate's screws"
    yield JointBand(joint, "load down", "N", demand, capacity, name, band, reason, most)
