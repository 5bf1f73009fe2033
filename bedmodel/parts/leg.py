"""Head and foot legs: one outline family, pushed through the leg's thickness.

x (grain, up the outer edge)
^
|______
|      |      part frame of a right leg: y outward, z from the show
| joint|      face to the inside face of a head leg (the other way
|      |      round for a foot leg)
|______|--> y
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from bedmodel.cuts import Turning
from bedmodel.end_plan import EndPlan
from bedmodel.frames import Frame
from bedmodel.outline import Point
from bedmodel.parts.draft import Draft
from bedmodel.raked_leg import FLOOR, TOE, lengthened, level_cut
from bedmodel.shape import Easing, Shape
from bedmodel.skeleton import Layout


def make_legs(layout: Layout) -> Iterator[Draft]:
    """The right head leg and the right foot leg."""
    for end in layout.ends:
        yield _leg(layout, end)


def _leg(layout: Layout, end: EndPlan) -> Draft:
    given = layout.sheet.leg
    sine, cosine = math.sin(layout.legs.splay), math.cos(layout.legs.splay)

    def along_grain(p: Point) -> Point:
        u, v = p
        return (v * cosine - u * sine, u * cosine + v * sine)

    # Grain first, then outward: the other hand of (u, v), so the map mirrors.
    whole = lengthened(layout.legs.outline(end.leg_top, end.end), end.below_floor)
    turned = whole.mapped(along_grain, mirrored=True)
    x0, y0, x1, y1 = turned.bounds()
    outline = turned.mapped(lambda p: (p[0] - x0, p[1] - y0))
    # The level cut's arris is eased by hand, once the leg is cut.
    sharp = layout.legs.sharp | ({FLOOR, TOE} if end.lean.rake else frozenset())
    eased = frozenset(outline.names) - sharp
    shape = Shape(
        x1 - x0,
        y1 - y0,
        given.thickness,
        outline,
        easing=Easing(given.edge, given.edge_size, eased),
    )
    # The blank's corner, back in (u, v), and there in the bed.
    u, v = y0 * cosine - x0 * sine, x0 * cosine + y0 * sine
    far_y = end.inside_y - given.thickness if end.end == "head" else end.inside_y
    placement = Frame(
        (end.joint_x + u, far_y, v),
        (-sine, 0.0, cosine),
        (cosine, 0.0, sine),
        (0.0, 1.0, 0.0),
    )
    trims = tuple(
        t.lengthened(end.below_floor) if isinstance(t, Turning) else t for t in layout.legs.trims()
    )
    shape = replace(shape, trims=tuple(t.moved((-x0, -y0, 0.0)) for t in trims))
    if end.end == "foot":  # its inside face is the other one
        trims = shape.reflected("z").trims
        shape = replace(shape, trims=trims)
    placement = end.lean.placed(placement)
    if end.lean.rake:
        shape = replace(shape, trims=(*shape.trims, level_cut(placement)))
    name = f"{end.end}_leg"
    return Draft(name, name, f"{end.end}_end", "right", shape, placement, layout.sheet.wood.species)
