"""Plan the screws of one joint: gauge, length, counterbore, and the holes in both parts.

head
 ||  counterbore, the head sunk in it
 ||  clearance hole      held part
-||---------------------------------
 ||  pilot hole          holding part; the bite is the thread in it
 \\/
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.screws import Screw, clearance_diameter, lengths_of, pilot_diameter, screw
from bedmodel.spec import Sheet

BITE_RATIO = 7.0  # of the shank. Source: Wood Handbook, FPL-GTR-282, ch. 8, Eq. 8-13
ENOUGH = 0.8  # of that bite, where a deeper counterbore would be the price; our own choice
HELD_LEAST = 6.0  # wood left under a head
COUNTERBORE_ROOM = 0.5  # a counterbore is this much wider than the head


@dataclass(frozen=True)
class ScrewPlan:
    """The screws of one joint (mm): ``held`` is the thickness of the part they go through."""

    gauge: int
    length: float
    held: float
    sunk: float
    counterbore: float
    clearance: float
    pilot: float

    @property
    def bite(self) -> float:
        """Length of the screw in the part it holds to."""
        return self.length - (self.held - self.sunk)


@dataclass(frozen=True)
class Joint:
    """What is screwed to what (mm), and the parameters that say so.

    ``across`` is the width that the holes lie in the middle of, in the narrower part.
    """

    gauge_name: str
    length_name: str
    gauge: int | None
    length: float | None
    gauges: Sequence[int]
    held: float
    held_name: str
    holder: float
    holder_name: str
    across: float
    across_name: str
    specific_gravity: float


def screw_plan(sheet: Sheet, joint: Joint) -> ScrewPlan:
    """Choose the screws of a joint, or check the ones the sheet gives.

    Raises InputError with the thickest or longest screw that fits.
    """
    if joint.gauge is not None:
        return _with_gauge(sheet, joint, screw(joint.gauge, joint.gauge_name))
    failure: InputError | None = None
    for gauge in joint.gauges:
        try:
            return _with_gauge(sheet, joint, screw(gauge))
        except InputError as refused:
            failure = refused
    assert failure is not None
    raise failure


def _with_gauge(sheet: Sheet, joint: Joint, of: Screw) -> ScrewPlan:
    wall, unit = sheet.fastener.wall_least, sheet.design.unit
    counterbore = of.head + COUNTERBORE_ROOM
    if counterbore + 2 * wall > joint.across + 1e-9:
        raise InputError(
            joint.across_name,
            sheet.show(joint.across),
            f"must be at least {sheet.at_least(counterbore + 2 * wall)} for screws of gauge "
            f"{of.gauge}",
            f"make it more, or {joint.gauge_name} or fastener.wall_least less",
        )
    greatest = joint.holder - wall
    if greatest < sheet.screw.bite_least - 1e-9:
        raise InputError(
            joint.holder_name,
            sheet.show(joint.holder),
            f"must be at least {sheet.at_least(sheet.screw.bite_least + wall)} for its screws",
            "make it more, or screw.bite_least or fastener.wall_least less",
        )
    sunk = sheet.screw.sunk
    most_sunk = joint.held - HELD_LEAST
    if most_sunk < sunk - 1e-9:
        raise InputError(
            joint.held_name,
            sheet.show(joint.held),
            f"must be at least {sheet.at_least(sunk + HELD_LEAST)} under a screw's head",
            "make it more, or screw.sunk less",
        )
    wanted = min(BITE_RATIO * of.shank, greatest)
    lengths = [joint.length] if joint.length is not None else lengths_of(of, unit)
    plans = [
        ScrewPlan(
            gauge=of.gauge,
            length=length,
            held=joint.held,
            sunk=depth,
            counterbore=counterbore,
            clearance=clearance_diameter(of, unit),
            pilot=pilot_diameter(of, joint.specific_gravity, unit),
        )
        for length in lengths
        for depth in dict.fromkeys((sunk, min(max(sunk, joint.held + wanted - length), most_sunk)))
    ]
    fit = [
        plan
        for plan in plans
        if plan.sunk <= most_sunk + 1e-9
        and sheet.screw.bite_least - 1e-9 <= plan.bite <= greatest + 1e-9
    ]
    if not fit:
        least = HELD_LEAST + sheet.screw.bite_least
        most = joint.held - sunk + greatest
        given = "none" if joint.length is None else sheet.show(joint.length)
        raise InputError(
            joint.length_name,
            given,
            f"must be {sheet.at_least(least)} to {sheet.at_most(most)} for gauge {of.gauge}",
            f"change it, {joint.gauge_name}, {joint.held_name} or {joint.holder_name}",
        )
    # A deep counterbore weakens what is held: a little less bite comes before one.
    good = [plan for plan in fit if plan.bite >= ENOUGH * wanted - 1e-9]
    if good:
        return min(good, key=lambda plan: (round(plan.sunk, 6), -plan.bite))
    return max(fit, key=lambda plan: plan.bite)
