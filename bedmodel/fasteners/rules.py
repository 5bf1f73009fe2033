"""What a fastener must satisfy: by itself, in its rail and in its leg.

Each rule refuses with the parameter, its value, the bound and the remedy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bedmodel.errors import InputError
from bedmodel.fasteners.bolt import COUNTERBORE_ROOM, barrel_depth, counterbore_depth, grip, reach
from bedmodel.fasteners.fitting import Wood
from bedmodel.fasteners.hooked import hooks_of, pocket_length, screw_heights
from bedmodel.hardware import Bolt, Bracket, Fastener, Hooked, HookPlate
from bedmodel.legs import LegFamily
from bedmodel.screws import screw
from bedmodel.spec import Sheet

NOSE_LEAST = 0.6  # a hook's nose is at least this thick at its tip
METAL_LEAST = 1.0  # metal left round a screw's head and a slot


@dataclass(frozen=True)
class Place:
    """Where a fastener is to go (mm): heights above the floor, and distances in the leg.

    ``middle`` is from the leg's joint face to the middle of the rail's end.
    """

    rail_bottom: float
    rail_width: float
    rail_thickness: float
    leg_thickness: float
    middle: float
    legs: LegFamily
    rake: float = 0.0  # of the head end (radians)
    sway: float = 0.0  # what yaw and splay take of the leg beside the fastener, at a raked end


@dataclass(frozen=True)
class Asked:
    """A row under trial: one of the table, or the sheet's own with the name of its table there."""

    row: Fastener
    parameter: str
    sheet: Sheet

    def name_of(self, field: str) -> str:
        """The parameter of the sheet that decides a field of the row."""
        if self.parameter:
            return f"{self.parameter}.{field}"
        return "side_rail.joint" if self.sheet.fastener.name is None else "fastener.name"

    def refuse(self, field: str, limit: str, remedy: str) -> InputError:
        """A refusal of one field. A row of the table is not for the maker to change."""
        value = getattr(self.row, field)
        # A row's default is a whole number as often as not, and still a length.
        shown = self.sheet.show(value) if isinstance(value, int | float) else value
        name = self.name_of(field)
        if self.parameter:
            return InputError(name, shown, limit, remedy)
        given = self.sheet.fastener.name or self.sheet.side_rail.joint
        word = field.replace("_", " ")
        return InputError(name, given, f"the {word} of {self.row.name}, {shown}, {limit}", remedy)

    def at_most(self, field: str, greatest: float, why: str, remedy: str) -> None:
        if getattr(self.row, field) > greatest + 1e-9:
            limit = f"must be at most {self.sheet.at_most(greatest)} {why}"
            raise self.refuse(field, limit, remedy)

    def at_least(self, field: str, least: float, why: str, remedy: str) -> None:
        if getattr(self.row, field) < least - 1e-9:
            limit = f"must be at least {self.sheet.at_least(least)} {why}"
            raise self.refuse(field, limit, remedy)


def check(asked: Asked, wood: Wood, place: Place) -> None:
    """Refuse a fastener that cannot be let into its rail and leg."""
    row = asked.row
    if isinstance(row, Hooked):
        _check_hooks(asked, row, wood)
        _check_drop(asked, row, place)
        _check_slot_plate(asked, row, wood, place)
    if isinstance(row, HookPlate):
        _check_hook_plate(asked, row, wood, place)
    if isinstance(row, Bracket):
        _check_bracket(asked, row, wood, place)
    if isinstance(row, Bolt):
        _check_bolt(asked, row, wood, place)


def room(asked: Asked, place: Place) -> tuple[float, float]:
    """The heights above the floor between which the fastener's middle may stand."""
    row, wall = asked.row, rail_wall(asked.sheet)
    if isinstance(row, Hooked):
        half, field = row.length / 2, "length"
    else:
        assert isinstance(row, Bolt)
        half, field = row.dowel_pitch / 2 + row.dowel / 2, "dowel_pitch"
    spare = place.rail_width / 2 - wall - half
    if spare < -1e-9:
        asked.at_most(
            field,
            getattr(row, field) + 2 * spare,
            f"in a rail {asked.sheet.show(place.rail_width)} wide",
            "take a shorter one or make side_rail.width more",
        )
    middle = place.rail_bottom + place.rail_width / 2
    return middle - max(spare, 0.0), middle + max(spare, 0.0)


def rail_wall(sheet: Sheet) -> float:
    """Wood wanted between a fastener and the rail's upper and lower edge."""
    rail = sheet.side_rail
    eased = rail.edge_size if rail.edge != "square" else 0.0
    return sheet.fastener.wall_least + eased + sheet.fastener.fit


def _check_hooks(asked: Asked, row: Hooked, wood: Wood) -> None:
    """What a row must satisfy by itself."""
    wall, remedy = wood.sheet.fastener.wall_least, "measure the fastener again"
    lean = row.drop * math.tan(math.radians(row.wedge))
    asked.at_least(
        "projection", row.thickness + lean + NOSE_LEAST, "for a nose behind the slot plate", remedy
    )
    asked.at_least(
        "drop", wood.sheet.fastener.engagement_least, "to hold the slot plate", "take deeper hooks"
    )
    pocket, hooks = pocket_length(row, wood.end_room), hooks_of(row)
    asked.at_least("pocket_width", row.hook_width + 2 * row.slot_play, "for the hooks", remedy)
    asked.at_most("pocket_width", row.width - 2 * METAL_LEAST, "behind this plate", remedy)
    slot = row.hook_width + 2 * row.slot_play
    asked.at_least("width", slot + 4 * METAL_LEAST, "round the slots", remedy)
    head = screw(row.screw_gauge, asked.name_of("screw_gauge")).head
    asked.at_most(
        "screw_pitch", row.length - head - 2 * METAL_LEAST, "for heads inside the plate", remedy
    )
    if row.hooks > 1:
        asked.at_least("hook_pitch", pocket + wall, "so that the pockets stay apart", remedy)
    outermost = row.hook_pitch * (len(hooks) - 1) / 2 + pocket / 2
    bored = wood.pilot(row.screw_gauge, asked.name_of("screw_gauge")) / 2
    for height in screw_heights(row):
        clear = min(
            abs(height - (hook.seat + hook.neck / 2)) - pocket / 2 - bored for hook in hooks
        )
        if clear < wall - 1e-9:
            raise asked.refuse(
                "screw_pitch",
                f"puts a screw {asked.sheet.show(max(clear, 0.0))} from a pocket, must be at least "
                f"{asked.sheet.at_least(wall)}",
                "set the screws or hooks of the row apart, or make fastener.wall_least less",
            )
    asked.at_least("length", 2 * outermost, "to cover its pockets", remedy)


def _check_drop(asked: Asked, row: Hooked, place: Place) -> None:
    """A rail must drop straight down at both ends, though the head end's plates lean.

    Going down by h its hooks go h tan(rake) deeper into the leaning plate. The nose clears
    the plate by h tan(wedge) on the way, so the wedge must be as steep as the rake.
    """
    rake = math.degrees(place.rake)
    if rake > row.wedge + 1e-9:
        raise InputError(
            "frame.rake",
            f"{rake:g} deg",
            f"must be at most {row.wedge:g} deg for the hooks of {row.name}: the rail drops plumb, "
            "and their noses would bind behind a plate that leans more than their wedge",
            'make it less, or take side_rail.joint "bolts"',
        )


def _check_slot_plate(asked: Asked, row: Hooked, wood: Wood, place: Place) -> None:
    """The leg must be thick and wide enough for the slot plate, its pockets and screws."""
    sheet = asked.sheet
    wall = sheet.fastener.wall_least
    asked.at_most(
        "projection",
        place.leg_thickness - wood.end_room - wall,
        "in this leg's thickness",
        "take shallower hooks or make leg.thickness more",
    )
    _check_screw(asked, row, "leg_screw", place.leg_thickness - wall, "leg.thickness")
    _check_across(asked, "width", row.width, wood, place)


def _check_screw(asked: Asked, row: Hooked, field: str, greatest: float, thickness: str) -> None:
    """A plate's screws bite as the sheet asks, and stay inside the wood: lengths in between.

    ``greatest`` is what the wood takes of a screw, its head in the plate; ``thickness`` is
    the parameter that makes it more.
    """
    sheet, least = asked.sheet, asked.sheet.fastener.bite_least + row.thickness
    shortest, longest = sheet.at_least(least), sheet.at_most(max(greatest, 0.0))
    if greatest < least - 1e-9:
        raise asked.refuse(
            field,
            f"must be at least {shortest} to bite {sheet.show(sheet.fastener.bite_least)} of wood, "
            f"which takes at most {longest}, a bite of "
            f"{sheet.at_most(max(greatest - row.thickness, 0.0))}",
            f"make {thickness} more or fastener.bite_least less",
        )
    bites = f"for its thread to bite {sheet.show(sheet.fastener.bite_least)} of wood"
    asked.at_least(field, least, bites, "take longer screws or make fastener.bite_least less")
    remedy = f"take shorter screws or make {thickness} more"
    asked.at_most(field, greatest, "so that the point stays inside", remedy)


def _check_across(asked: Asked, field: str, width: float, wood: Wood, place: Place) -> None:
    """What lies in the leg's inside face keeps its wall to the joint face and the outer edge."""
    sheet, legs = asked.sheet, place.legs
    wall = sheet.fastener.wall_least + wood.fit
    top = place.rail_bottom + place.rail_width
    eased = legs.easing_size / math.cos(legs.splay)
    outside = legs.width_at(top) - eased - wall / math.cos(legs.splay)
    greatest = 2 * (min(place.middle - wall, outside - place.middle) - place.sway)
    if width > greatest + 1e-9:
        raise asked.refuse(
            field,
            f"must be at most {sheet.at_most(max(greatest, 0.0))} on the leg's inside face",
            "take a narrower one, or make side_rail.reveal, side_rail.thickness or "
            "leg.top_width more",
        )


def _check_hook_plate(asked: Asked, row: HookPlate, wood: Wood, place: Place) -> None:
    greatest = place.rail_thickness - 2 * (asked.sheet.fastener.wall_least + wood.fit)
    asked.at_most(
        "width",
        greatest,
        "in the rail's end",
        "take a narrower one or make side_rail.thickness more",
    )
    bites = f"for its thread to bite {asked.sheet.show(asked.sheet.fastener.bite_least)} of wood"
    least = asked.sheet.fastener.bite_least + row.thickness
    asked.at_least(
        "rail_screw", least, bites, "take longer screws or make fastener.bite_least less"
    )


def _check_bracket(asked: Asked, row: Bracket, wood: Wood, place: Place) -> None:
    wall = asked.sheet.fastener.wall_least
    remedy = "take a smaller one or make side_rail.thickness more"
    asked.at_most("end_flange", place.rail_thickness - wall - wood.fit, "on the rail's end", remedy)
    _check_screw(asked, row, "face_screw", place.rail_thickness - wall, "side_rail.thickness")
    asked.at_least("hook_inset", row.hook_width / 2 + row.thickness, "clear of the bend", remedy)
    asked.at_most("hook_inset", row.end_flange - row.hook_width / 2, "on the end flange", remedy)
    shift = row.hook_inset - place.rail_thickness / 2
    moved = replace(place, middle=place.middle + shift)
    _check_across(asked, "width", row.width, wood, moved)


def _check_bolt(asked: Asked, row: Bolt, wood: Wood, place: Place) -> None:
    wall = asked.sheet.fastener.wall_least
    far, wide = "take a shorter or thinner one", row.washer + COUNTERBORE_ROOM
    asked.at_least("washer", row.head, "under the head", "measure the bolt again")
    _check_across(asked, "washer", wide, wood, place)
    if counterbore_depth(row) + wall > place.leg_thickness:
        raise asked.refuse("head_height", "too high for this leg's thickness", far)
    asked.at_most(
        "dowel_in_leg", place.leg_thickness - wood.end_room - wall, "in this leg's thickness", far
    )
    asked.at_most("dowel_in_leg", row.dowel_length - 8.0, "so that the rail holds it", far)
    least = row.length + row.barrel_inset + row.barrel / 2 - reach(row, place.leg_thickness)
    asked.at_least("length", least, "to go right through its barrel", "take a longer bolt")
    past = reach(row, place.leg_thickness) - row.barrel_inset - row.barrel / 2
    if past > 25.0:
        raise asked.refuse(
            "length",
            f"must be at most {asked.sheet.at_most(row.length - past + 25.0)} for this leg",
            "take a shorter bolt",
        )
    depth = barrel_depth(row, wood)
    asked.at_most(
        "barrel_length",
        2 * min(place.rail_thickness - wall - depth, depth),
        "through the rail's thickness",
        "take a shorter barrel or make side_rail.thickness more",
    )
    asked.at_least(
        "dowel_pitch",
        row.dowel + max(row.washer + COUNTERBORE_ROOM, row.barrel) + 2 * wall,
        "clear of the bolt",
        "set the dowels apart",
    )
    asked.at_most(
        "dowel", place.rail_thickness - 2 * wall, "in the rail's end", "take thinner dowels"
    )
    if grip(row, place.leg_thickness) < wall:
        raise asked.refuse("head_height", "leaves too little leg under the washer", far)
