"""Side rails: turned by the stance, both ends cut to match and parallel.

seen from above, right-hand rail, x from head to foot, z outward:

   show  ______________________
        /                     /     ends lie in the planes of the legs'
inside /_____________________/      inside faces: yaw off square
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.frames import Frame, Vector
from bedmodel.outline import Outline
from bedmodel.parts.draft import Draft
from bedmodel.shape import Easing, Shape
from bedmodel.skeleton import Layout


def make_side_rail(layout: Layout) -> Iterator[Draft]:
    """The right side rail."""
    given = layout.sheet.side_rail
    slant = given.thickness * math.tan(layout.yaw)
    length = layout.rail_length
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
    shifted = placement.moved(placement.direction((-slant, 0.0, 0.0)))
    yield Draft(
        "side_rail", "side_rail", "rails", "right", shape, shifted, layout.sheet.wood.species
    )


def rail_axes(layout: Layout) -> tuple[Vector, Vector, Vector]:
    """Along the right rail from head to foot, up, and outward."""
    sine, cosine = math.sin(layout.yaw), math.cos(layout.yaw)
    return (-sine, cosine, 0.0), (0.0, 0.0, 1.0), (cosine, sine, 0.0)
