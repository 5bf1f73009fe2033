"""The project's joints for anyone's CadQuery model: callables for ``Workplane.invoke``.

    from bedmodel.joinery import mortises, plan_tenons, tenons

    plan = plan_tenons(22, 120)
    rail = rail.faces(">X").workplane(origin=...).invoke(tenons(plan))
    leg = leg.faces("<X").workplane().center(0, 300).invoke(mortises(plan))

Lengths are millimetres. Places are the points of the workplane; its normal points out of the
wood. What cannot be cut so is refused with ``InputError``, in one line.
"""

from bedmodel.errors import InputError
from bedmodel.joinery.edges import eased
from bedmodel.joinery.metalwork import (
    bolts,
    bracket_recess,
    brackets,
    clearance_hole,
    hook_plate_recess,
    hook_plates,
    into_leg,
    into_rail,
    metal,
    pilot_hole,
    slot_plate_recess,
)
from bedmodel.joinery.plans import plan_dowels, plan_tenons
from bedmodel.joinery.woodwork import (
    dowel_holes,
    loose_tenons,
    mortise,
    mortises,
    tenons,
    wide_board_slot,
)

STEPS = (
    *(mortise, mortises, tenons, loose_tenons, dowel_holes, wide_board_slot),
    *(into_rail, into_leg, metal, hook_plate_recess, slot_plate_recess, bracket_recess),
    *(clearance_hole, pilot_hole, eased),
)

__all__ = [
    "STEPS",
    "InputError",
    "bolts",
    "bracket_recess",
    "brackets",
    "clearance_hole",
    "dowel_holes",
    "eased",
    "hook_plate_recess",
    "hook_plates",
    "into_leg",
    "into_rail",
    "loose_tenons",
    "metal",
    "mortise",
    "mortises",
    "pilot_hole",
    "plan_dowels",
    "plan_tenons",
    "slot_plate_recess",
    "tenons",
    "wide_board_slot",
]
