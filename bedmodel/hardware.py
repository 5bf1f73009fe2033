"""Knock-down rail fasteners as a maker buys them: every dimension, row by row.

The rows that come with the program stand in ``shared/fasteners.toml``; a sheet may
add its own in ``[[fastener.hook_plate]]`` and the like, with the same names.

hook plate and slot plate, seen from the side; the rail is on the left:

         rail | hook plate |slot plate| leg
              |            +--+
              |         ___|  |___      neck   height of the hook where it passes the slot
              |        |_____    _|     drop   how far the nose hangs behind the slot plate
              |            |  |  |
              |            |  |__|      nose, its near face leaning by the wedge
              |            +--+

    projection  of the hook from its plate's face, which lies in the joint's plane
    pitch       between the middles of two like things
"""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Literal

from pydantic import Field

from bedmodel import fields
from bedmodel.fields import Angle, Length, Section

RailJoint = Literal["hook_plates", "brackets", "bolts", "butt"]
TABLE = "fasteners.toml"
NAME = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"


class Fastener(Section):
    """What every row has."""

    name: str = fields.words(
        "own", "Name of the row: small letters, digits and hyphens.", pattern=NAME, limit=40
    )
    metal: Literal["steel", "brass"] = fields.choice("steel", "What it is made of.")
    screw_gauge: int = fields.count(10, 4, 20, "Gauge of its wood screws.")
    rated_down_n: float | None = fields.number(
        None, 10, 50000, "N", "What its maker, or your own test, says a rail's end may bear down.",
        worked_out="not known",
    )  # fmt: skip
    rated_turning_nm: float | None = fields.number(
        None, 1, 2000, "N.m", "The same against the rail's end turning up or down.",
        worked_out="not known",
    )  # fmt: skip
    rated_lift_n: float | None = fields.number(
        None, 10, 50000, "N", "The same upwards, without coming out.", worked_out="not known"
    )  # fmt: skip


class Hooked(Fastener):
    """Hooks on the rail's part, and the slot plate in the leg that they hang in."""

    length: Length = fields.length(140, 50, 300, "Length of both plates, up and down.")
    width: Length = fields.length(16, 8, 60, "Width of the slot plate, and of a flat hook plate.")
    thickness: Length = fields.length(3, 1, 8, "Thickness of the plates.")
    ends: Literal["round", "square"] = fields.choice("round", "Ends of the flat plates.")
    hooks: int = fields.count(2, 1, 4, "How many hooks.")
    hook_pitch: Length = fields.length(80, 20, 200, "Between the middles of neighbouring hooks.")
    hook_width: Length = fields.length(3, 1, 10, "Thickness of a hook, across the plate.")
    neck: Length = fields.length(10, 3, 40, "Height of a hook where it passes the slot.")
    drop: Length = fields.length(8, 2, 30, "How far the nose hangs behind the slot plate.")
    projection: Length = fields.length(10, 3, 40, "Of the hooks, from the face of their plate.")
    wedge: Angle = fields.angle(6, 0, 20, "Lean of the nose, that draws the joint tight.")
    pocket_width: Length = fields.length(8, 4, 30, "Width of the pocket behind each slot.")
    slot_play: Length = fields.length(0.75, 0.2, 5, "Room of a hook in its slot, to each side.")
    screws: int = fields.count(2, 2, 5, "Screws of each flat plate, along its middle.")
    screw_pitch: Length = fields.length(124, 10, 290, "Between the outermost of these screws.")
    leg_screw: Length = fields.length(32, 12, 90, "Length of the screws in the leg.")


class HookPlate(Hooked):
    """A flat hook plate in the rail's end, a slot plate in the leg."""

    rail_screw: Length = fields.length(50, 12, 100, "Length of the screws in the rail's end.")


class Bracket(Hooked):
    """An angle let into the rail's inside face and end; its end flange has the hooks."""

    end_flange: Length = fields.length(22, 10, 80, "Width of the flange on the rail's end.")
    hook_inset: Length = fields.length(
        14, 5, 70, "From the rail's inside face to the middle of the hooks."
    )
    face_flange: Length = fields.length(60, 20, 200, "Length of the flange on the inside face.")
    corner: Length = fields.length(4, 1, 20, "Radius of the flanges' corners.")
    face_screws: int = fields.count(2, 1, 5, "Screws in each of the two rows of this flange.")
    face_screw: Length = fields.length(20, 8, 60, "Length of these screws.")


class Bolt(Fastener):
    """A bolt through the leg into a barrel nut in the rail, between two alignment dowels."""

    diameter: Length = fields.length(8, 4, 16, "Diameter of the bolt.")
    length: Length = fields.length(110, 40, 250, "Length of the bolt under its head.")
    head: Length = fields.length(13, 6, 35, "Diameter over the head.")
    head_height: Length = fields.length(5.5, 1, 15, "Height of the head.")
    washer: Length = fields.length(16, 8, 60, "Diameter of the washer.")
    washer_thickness: Length = fields.length(1.6, 0.5, 6, "Thickness of the washer.")
    barrel: Length = fields.length(14, 6, 30, "Diameter of the barrel nut.")
    barrel_length: Length = fields.length(20, 8, 60, "Length of the barrel nut.")
    barrel_inset: Length = fields.length(40, 15, 120, "From the rail's end to the barrel's middle.")
    play: Length = fields.length(1, 0.2, 3, "How much wider the bolt's holes are than the bolt.")
    dowel: Length = fields.length(8, 4, 16, "Diameter of the alignment dowels.")
    dowel_length: Length = fields.length(40, 12, 100, "Length of these dowels.")
    dowel_in_leg: Length = fields.length(14, 5, 60, "How deep they stand in the leg, dry.")
    dowel_pitch: Length = fields.length(70, 20, 250, "Between the two, the bolt in the middle.")


class Fasteners(Section):
    """A table of fasteners: the rows of each kind."""

    hook_plate: tuple[HookPlate, ...] = Field((), max_length=24, description="Hook plates.")
    bracket: tuple[Bracket, ...] = Field((), max_length=24, description="Brackets.")
    bolt: tuple[Bolt, ...] = Field((), max_length=24, description="Bolts.")


KINDS: Mapping[RailJoint, str] = MappingProxyType(
    {"hook_plates": "hook_plate", "brackets": "bracket", "bolts": "bolt"}
)


@functools.cache
def own_fasteners(path: Path) -> Fasteners:
    """The rows that come with the program."""
    table = tomllib.loads(path.read_text("utf-8"))
    return Fasteners.model_validate(table, context={"unit": "mm"})
