"""A bolt through the leg into a barrel nut in the rail, two alignment dowels beside it.

seen from above; the leg's show face is at the top:

      leg      |#| washer and head, in their counterbore
     ----------|-|----------  joint
      rail     | |
              (( ))  barrel, let in from the rail's inside face
               | |   the bolt's hole goes on past its tip
"""

from __future__ import annotations

from dataclasses import replace

from bedmodel.cuts import Boss, Cut, Mortise
from bedmodel.fasteners.fitting import (
    INTO_LEG,
    INTO_RAIL,
    Fitting,
    Loose,
    Wood,
    at,
    cylinder,
    disc,
    hole,
)
from bedmodel.frames import Frame
from bedmodel.hardware import Bolt
from bedmodel.shape import Shape

ROUND_DOWELS = 0.05  # a dry dowel's hole in the leg is this much wider, all round
COUNTERBORE_ROOM = 1.0  # a counterbore is this much wider than the washer
SUNK = 0.5  # the head lies this far below the leg's show face


def counterbore_depth(row: Bolt) -> float:
    """How deep washer and head are sunk in the leg's show face."""
    return row.washer_thickness + row.head_height + SUNK


def grip(row: Bolt, leg_thickness: float) -> float:
    """From under the washer to the joint."""
    return leg_thickness - counterbore_depth(row)


def reach(row: Bolt, leg_thickness: float) -> float:
    """How far the bolt's tip stands in the rail, from the joint."""
    return row.length - row.washer_thickness - grip(row, leg_thickness)


def barrel_depth(row: Bolt, wood: Wood) -> float:
    """From the rail's inside face to the middle of the bolt, where the barrel is."""
    return wood.face.inverse().point((0.0, 0.0, -row.barrel_inset))[2]


def fit_bolt(row: Bolt, wood: Wood, parameter: str) -> Fitting:
    """Bolt, washer, barrel and both alignment dowels."""
    del parameter  # this fastener has no screws of a table
    d = row.diameter + row.play
    show = Frame.from_zx((0.0, 0.0, wood.leg_thickness), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0))
    sunk = counterbore_depth(row)
    leg_cuts: list[Cut] = [
        hole("counterbore", show, row.washer + COUNTERBORE_ROOM, sunk),
        hole("bolt", at(show, (0.0, 0.0, sunk)), d, wood.leg_thickness - sunk, through=True),
    ]
    barrel, depth = _barrel_frame(row, wood), barrel_depth(row, wood)
    rail_cuts: list[Cut] = [
        hole("bolt", INTO_RAIL, d, reach(row, wood.leg_thickness) + wood.end_room),
        hole("barrel", barrel, row.barrel + 2 * wood.fit, depth + row.barrel_length / 2),
    ]
    loose = [_bolt(row, wood.leg_thickness), _washer(row, wood), _barrel(row, barrel, depth)]
    for i, x in enumerate((-row.dowel_pitch / 2, row.dowel_pitch / 2), start=1):
        in_rail = row.dowel_length - row.dowel_in_leg
        wide = row.dowel + 2 * ROUND_DOWELS
        leg_cuts.append(
            hole(f"dowel_{i}", at(INTO_LEG, (x, 0.0, 0.0)), wide, row.dowel_in_leg + wood.end_room)
        )
        rail_cuts.append(
            hole(f"dowel_{i}", at(INTO_RAIL, (x, 0.0, 0.0)), wide, in_rail + wood.end_room)
        )
        loose.append(_dowel(row, i, x, in_rail))
    return Fitting(tuple(leg_cuts), tuple(rail_cuts), tuple(loose), ())


def _barrel_frame(row: Bolt, wood: Wood) -> Frame:
    """On the rail's inside face, square to it, over the place where the bolt passes."""
    along, up, _ = wood.face.inverse().point((0.0, 0.0, -row.barrel_inset))
    return at(wood.face, (along, up, 0.0))


def _bolt(row: Bolt, leg_thickness: float) -> Loose:
    """Head first: x runs from the head to the tip."""
    wide = max(row.head, row.diameter)
    half = wide / 2
    head = disc(row.head).mapped(lambda p: (p[0] + half, p[1] + half))
    along = Frame((row.head_height, half, half), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    shank = Boss(along, disc(row.diameter), row.length)
    shape = Shape(
        row.head_height + row.length,
        wide,
        wide,
        head,
        face="yz",
        bosses=(shank,),
        base=(0.0, row.head_height),
    )
    start = grip(row, leg_thickness) + row.washer_thickness + row.head_height
    return Loose("bolt", shape, _pointing_to_rail(start, half), row.metal)


def _pointing_to_rail(start: float, half: float) -> Frame:
    """A part frame whose x runs from the leg into the rail along the bolt's axis."""
    return Frame((half, half, start), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0), (-1.0, 0.0, 0.0))


def _washer(row: Bolt, wood: Wood) -> Loose:
    wide, thick = row.washer, row.washer_thickness
    bore = Mortise(
        "bore",
        Frame((0.0, wide / 2, wide / 2), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)),
        row.diameter + row.play / 2,
        row.diameter + row.play / 2,
        thick,
        role="hole",
        through=True,
    )
    shape = replace(cylinder(wide, thick), cuts=(bore,))
    start = grip(row, wood.leg_thickness) + thick
    return Loose("washer", shape, _pointing_to_rail(start, wide / 2), row.metal)


def _barrel(row: Bolt, frame: Frame, depth: float) -> Loose:
    """Its x lies along the hole in the rail; its thread is drawn as a plain bore."""
    half = row.barrel / 2
    # Drawn a little wider than the bolt, since the barrel may stand askew by the yaw.
    bore_wide = row.diameter + min(row.play, 0.1 * row.diameter)
    bore = Mortise(
        "thread",
        Frame(
            (row.barrel_length / 2, 0.0, half), (1.0, 0.0, 0.0), (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
        ),
        bore_wide,
        bore_wide,
        row.barrel,
        role="hole",
        through=True,
    )
    shape = replace(cylinder(row.barrel, row.barrel_length), cuts=(bore,))
    start = depth - row.barrel_length / 2
    # Part x into the wood, part y along the rail, part z up or down.
    axes = Frame((0.0, 0.0, start), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    return Loose("barrel_nut", shape, frame @ axes @ Frame((0.0, -half, -half)), row.metal)


def _dowel(row: Bolt, number: int, x: float, in_rail: float) -> Loose:
    half = row.dowel / 2
    corner = (x - half, -half, -in_rail)
    frame = Frame(corner, (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    return Loose(f"alignment_dowel_{number}", cylinder(row.dowel, row.dowel_length), frame, None)
