"""Side rails: turned by the stance, both ends cut to match and parallel.

seen from above, right-hand rail, x from head to foot, z outward:

   show  ______________________
        /                     /     ends lie in the planes of the legs'
inside /_____________________/      inside faces: yaw off square
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from bedmodel.cuts import Trim
from bedmodel.frames import Frame, Vector
from bedmodel.outline import Outline
from bedmodel.parts.draft import Draft
from bedmodel.shape import Easing, Shape
from bedmodel.skeleton import Layout

HEAD_CUT = "head_cut"


def make_side_rail(layout: Layout) -> Iterator[Draft]:
    """The right side rail."""
    given = layout.sheet.side_rail
    slant = given.thickness * math.tan(layout.yaw)
    # With a raked head end the rail runs on above the platform, and all of that is sawn off
    # but at its upper edge.
    beyond = -layout.head.lean.inside_y(layout.rail_top) / math.cos(layout.yaw)
    length = layout.rail_length + beyond
    outline = Outline.of(
        [
            ((slant, 0.0), 0.0, "inside"),
            ((slant + length, 0.0), 0.0, "foot_end"),
            ((length, given.thickness), 0.0, "show"),
            ((0.0, given.thickness), 0.0, "head_end"),
        ]
    )
    shape = Shape(
        length + slant,
        given.width,
        given.thickness,
        outline,
        face="xz",
        easing=Easing(given.edge, given.edge_size, frozenset({"inside", "show"})),
    )
    axes = rail_axes(layout)
    start = (layout.half_head, 0.0, layout.rail_bottom)
    placement = Frame(start, *axes)
    shifted = placement.moved(placement.direction((-slant - beyond, 0.0, 0.0)))
    if layout.rake:
        shape = replace(shape, trims=(head_cut(layout, shifted),))
    yield Draft(
        "side_rail", "side_rail", "rails", "right", shape, shifted, layout.sheet.wood.species
    )


def head_cut(layout: Layout, placement: Frame) -> Trim:
    """The cut of a rail's head end along the raked legs' inside faces."""
    lean = layout.head.lean
    off = lean.placed(Frame.from_zx((0.0, 0.0, lean.pivot), (0.0, -1.0, 0.0), (1.0, 0.0, 0.0)))
    return Trim(HEAD_CUT, placement.inverse() @ off)


def rail_axes(layout: Layout) -> tuple[Vector, Vector, Vector]:
    """Along the right rail from head to foot, up, and outward."""
    sine, cosine = math.sin(layout.yaw), math.cos(layout.yaw)
    return (-sine, cosine, 0.0), (0.0, 0.0, 1.0), (cosine, sine, 0.0)
