"""Angle bracket round the rail's inside corner; its end flange carries the hooks.

seen from above:

        leg    [slot plate]
     ----------[==========]---------
     |  rail   |__end flange___| |        the flanges are let in flush, so that
     |                         | |        mattress and runner lie against wood
     |             face flange | | inside face
"""

from __future__ import annotations

from dataclasses import replace

from bedmodel.cuts import Boss, Cut, Mortise, Recess
from bedmodel.fasteners.fitting import (
    INTO_RAIL,
    Fitting,
    Loose,
    ScrewPlace,
    Wood,
    at,
    evenly,
    hole,
)
from bedmodel.fasteners.hooked import hook_bosses, hooks_of, slot_plate, slot_plate_side
from bedmodel.frames import Frame
from bedmodel.hardware import Bracket
from bedmodel.outline import Outline, Point
from bedmodel.screws import clearance_diameter, screw
from bedmodel.shape import Shape

OVER = 2.0  # a cut that runs out of its part is drawn this much past it
QUARTER = 0.41421356237309503  # bulge of a quarter circle
ROW_INSET = 18.0  # from the flange's upper and lower edge to its screws
COLUMN_INSET = 12.0  # from the flange's end to its last screws
BEND_INSET = 25.0  # from the rail's end to its first screws


def fit_bracket(row: Bracket, wood: Wood, parameter: str) -> Fitting:
    """The angle on the rail's inside face and end, and the slot plate in the leg."""
    pilot = wood.pilot(row.screw_gauge, parameter)
    side = _side(wood)
    across = wood.face.origin[1] - side * row.hook_inset
    leg_cuts, leg_screws = slot_plate_side(row, wood, pilot, across)
    rail_cuts: list[Cut] = [_end_recess(row, wood), _face_recess(row, wood)]
    screws = []
    for i, (along, up) in enumerate(_screw_places(row), start=1):
        name, t = f"face_screw_{i}", row.thickness
        floor = at(wood.face, (along, up, t))
        rail_cuts.append(hole(name, floor, pilot, row.face_screw - t, pilot=True))
        head = at(wood.face, (along, up, 0.0))
        screws.append(ScrewPlace(name, row.screw_gauge, row.face_screw, head, t))
    loose = (_angle(row, wood, across), slot_plate(row, across))
    return Fitting(tuple(leg_cuts), tuple(rail_cuts), loose, (*screws, *leg_screws), hooks_of(row))


def _side(wood: Wood) -> float:
    """On which side of the joint's middle the rail's inside face lies."""
    return 1.0 if wood.face.origin[1] > 0 else -1.0


def _screw_places(row: Bracket) -> list[tuple[float, float]]:
    """Along the rail from its end, and up or down from the middle, of the face flange's screws."""
    first, last = BEND_INSET, row.face_flange - COLUMN_INSET
    middle, span = (first + last) / 2, last - first
    height = row.length / 2 - ROW_INSET
    return [
        (middle + along, up) for along in evenly(row.face_screws, span) for up in (-height, height)
    ]


def _flange(half: float, near: float, far: float, corner: float) -> Outline:
    """A flange: x over its height, y from its near side to its far one, whose corners are round."""
    return Outline.of(
        [
            ((-half, near), 0.0, "near"),
            ((half, near), 0.0, "upper"),
            ((half, far - corner), QUARTER, "corner"),
            ((half - corner, far), 0.0, "far"),
            ((corner - half, far), QUARTER, "corner"),
            ((-half, far - corner), 0.0, "lower"),
        ]
    )


def _on_end(wood: Wood, outline: Outline) -> Outline:
    """Take (height, distance from the inside face) to the x and y of INTO_RAIL."""
    side, face = _side(wood), wood.face.origin[1]

    def place(p: Point) -> Point:
        return p[0], side * p[1] - face

    return outline.mapped(place, mirrored=side < 0)


def _on_face(outline: Outline) -> Outline:
    """Take (height, distance from the end) to the x and y of the face frame."""
    return outline.mapped(lambda p: (p[1], -p[0]))


def _end_recess(row: Bracket, wood: Wood) -> Recess:
    """In the rail's end, open towards the inside face."""
    half, far = row.length / 2 + wood.fit, row.end_flange + wood.fit
    opening, sweep = (_flange(half, near, far, row.corner) for near in (0.0, -OVER))
    return Recess(
        "end_flange", INTO_RAIL, _on_end(wood, opening), _on_end(wood, sweep), row.thickness
    )


def _face_recess(row: Bracket, wood: Wood) -> Recess:
    """In the rail's inside face, open towards its end."""
    half, far = row.length / 2 + wood.fit, row.face_flange + wood.fit
    opening, sweep = (_flange(half, near, far, row.corner) for near in (0.0, -OVER))
    return Recess("face_flange", wood.face, _on_face(opening), _on_face(sweep), row.thickness)


def _angle(row: Bracket, wood: Wood, across: float) -> Loose:
    """The bent metal; its bend is the rail's own corner, square but for the yaw."""
    t, half = row.thickness, row.length / 2
    # In the joint frame first: the end flange is the base, the face flange and hooks bosses.
    # Both begin half a thickness from the rail's corner, as a bend is round: so neither
    # juts out where the yaw makes the corner more or less than square.
    end = _on_end(wood, _flange(half, t / 2, row.end_flange, row.corner))
    base = end.mapped(lambda p: (p[0], -p[1]), mirrored=True)
    flange = Boss(
        wood.face,
        _on_face(_flange(half, t / 2, row.face_flange, row.corner)),
        t,
    )
    hooks = hook_bosses(row, across, 0.0, 0.0)
    shank = clearance_diameter(screw(row.screw_gauge), "mm")
    bored = [
        hole(f"face_screw_{i}", at(wood.face, (along, up, 0.0)), shank, t, through=True)
        for i, (along, up) in enumerate(_screw_places(row), start=1)
    ]
    low, high = _box(base, t, (flange, *hooks))
    back = (-low[0], -low[1], -low[2])
    shape = Shape(
        high[0] - low[0],
        high[1] - low[1],
        high[2] - low[2],
        base.mapped(lambda p: (p[0] + back[0], p[1] + back[1])),
        cuts=tuple(_moved(cut, back) for cut in bored),
        bosses=tuple(
            Boss(boss.frame.moved(back), boss.outline, boss.height) for boss in (flange, *hooks)
        ),
        base=(back[2] - t, back[2]),
    )
    return Loose("rail_bracket", shape, Frame(low), row.metal)


def _moved(cut: Mortise, by: tuple[float, float, float]) -> Mortise:
    return replace(cut, frame=cut.frame.moved(by))


def _box(
    base: Outline, thickness: float, bosses: tuple[Boss, ...]
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """The box round base and bosses; their outlines reach the middle of each side."""
    x0, y0, x1, y1 = base.bounds()
    points = [(x, y, z) for x in (x0, x1) for y in (y0, y1) for z in (-thickness, 0.0)]
    for boss in bosses:
        u0, v0, u1, v1 = boss.outline.bounds()
        points += [
            boss.frame.point((u, v, w))
            for u in (u0, u1)
            for v in (v0, v1)
            for w in (0, boss.height)
        ]
    xs, ys, zs = zip(*points, strict=True)
    return (min(xs), min(ys), min(zs)), (max(xs), max(ys), max(zs))
