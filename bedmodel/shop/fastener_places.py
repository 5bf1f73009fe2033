"""Where the cuts of the rail fasteners lie on leg and rail, as a maker measures them.

The rail's end stands on the leg's inside face:

        show face                     up      above the floor; on both parts along the
    +-----------------+                       plumb joint face or the rail's lower edge
    |  leg            |  joint        across  on a leg from its joint face, on the rail's
    |        [plate]  |  face                 end from the rail's inside face, on that
    +--------[plate]--+                       face from the rail's end
     inside  |       | <- inside face         of the rail, at its end
      face   | rail  |

At a raked head end both parts are measured along it: a leg in its own upright frame, a
rail's end from its lower edge along the slanting cut.

Everything is read from ``Layout.fastener``: right-hand side, left is its mirror image.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from bedmodel.cuts import Cut
from bedmodel.fasteners.choice import Corner
from bedmodel.frames import Frame, Vector, dot, subtract
from bedmodel.outline import Outline, Point
from bedmodel.skeleton import Layout

Part = Literal["leg", "rail"]
Face = Literal["inside face", "show face", "end"]
Range = tuple[float, float]

# What the maker calls each cut, by its name in the leg or the rail.
_WORDS = {
    ("leg", "plate"): "slot plate recess",
    ("rail", "plate"): "hook plate recess",
    ("rail", "end_flange"): "end flange recess",
    ("rail", "face_flange"): "face flange recess",
}
_HOLES = {
    "pocket": "pocket",
    "screw": "screw hole",
    "face_screw": "bracket screw holes",
    "bolt": "bolt hole",
    "counterbore": "counterbore",
    "barrel": "barrel hole",
    "dowel": "alignment dowel hole",
}
_ALIKE = "face_screw"  # these stand in a grid, and are not numbered


@dataclass(frozen=True)
class Place:
    """One cut of a fastener: on which part and face, and where (mm).

    ``up`` and ``across`` say from where to where it reaches; ``depth`` how far its
    floor lies below the face it is cut from. ``opening`` is its outline as seen on
    that face: x up from the fastener's middle, y across.
    """

    end: Literal["head", "foot"]
    part: Part
    face: Face
    name: str
    cut: Cut
    up: Range
    across: Range
    depth: float
    opening: Outline

    @property
    def height(self) -> float:
        """Of its middle, above the floor."""
        return sum(self.up) / 2

    @property
    def middle(self) -> float:
        """Of its width, from the reference edge."""
        return sum(self.across) / 2


def fastener_places(layout: Layout) -> tuple[Place, ...]:
    """Every cut of the fasteners of the right rail; none where the rails butt."""
    if layout.fastener is None:
        return ()
    height, found = layout.fastener.height, list[Place]()
    lean, bottom = layout.head.lean, layout.rail_bottom
    leaning = bottom + (height - bottom) / math.cos(lean.rake)  # along a raked rail's end
    for corner in layout.fastener.corners:
        if corner.end == "head" and lean.rake:
            up = lean.along(height)
            found += (_in_leg(layout, corner, cut, up) for cut in corner.fitting.leg_cuts)
            found += (_in_raked_rail(corner, cut, leaning) for cut in corner.fitting.rail_cuts)
            continue
        found += (_in_leg(layout, corner, cut, height) for cut in corner.fitting.leg_cuts)
        found += (_in_rail(corner, cut, height) for cut in corner.fitting.rail_cuts)
    return tuple(found)


def _in_leg(layout: Layout, corner: Corner, cut: Cut, height: float) -> Place:
    """Joint face and inside face are planes of the bed, so it is measured there."""
    end = layout.head if corner.end == "head" else layout.foot
    deep = cut.frame.origin[2] + cut.frame.z[2] * cut.depth  # from the inside face
    from_show = cut.frame.z[2] < 0
    depth = layout.sheet.leg.thickness - deep if from_show else deep
    face: Face = "show face" if from_show else "inside face"

    def view(p: Vector) -> Point:
        own = end.lean.own(p)
        return own[2] - height, own[0] - end.joint_x

    seen = _seen(cut, corner.joint @ cut.frame, view)
    return _place(corner, "leg", face, cut, depth, seen, height)


def _in_rail(corner: Corner, cut: Cut, height: float) -> Place:
    bed = corner.joint @ cut.frame
    if abs(cut.frame.z[2]) > 0.5:
        inside = corner.face.origin[0]
        seen = _seen(cut, bed, lambda p: (p[2] - height, p[0] - inside))
        depth = cut.depth - cut.frame.origin[2]
        return _place(corner, "rail", "end", cut, depth, seen, height)
    to_face = corner.face.inverse()
    seen = _seen(cut, bed, lambda p: (p[2] - height, to_face.point(p)[0]))
    depth = (to_face @ bed).origin[2] + cut.depth
    return _place(corner, "rail", "inside face", cut, depth, seen, height)


def _in_raked_rail(corner: Corner, cut: Cut, height: float) -> Place:
    """At a raked end ``up`` is along that end, and ``across`` on the inside face square to it."""
    bed, up = corner.joint @ cut.frame, corner.joint.x
    if abs(cut.frame.z[2]) > 0.5:
        middle, inside = corner.joint.origin, corner.face.origin[0]
        seen = _seen(cut, bed, lambda p: (dot(subtract(p, middle), up), p[0] - inside))
        depth = cut.depth - cut.frame.origin[2]
        return _place(corner, "rail", "end", cut, depth, seen, height)
    to_face = corner.face.inverse()

    def view(p: Vector) -> Point:
        x, y, _ = to_face.point(p)
        return y, x

    depth = (to_face @ bed).origin[2] + cut.depth
    return _place(corner, "rail", "inside face", cut, depth, _seen(cut, bed, view), height)


def _seen(cut: Cut, frame: Frame, view: Callable[[Vector], Point]) -> Outline:
    """A cut's opening as ``view`` shows the bed; anticlockwise, whichever way it looks."""

    def place(p: Point) -> Point:
        return view(frame.point((p[0], p[1], 0.0)))

    (x0, y0), (x1, y1), (x2, y2) = (place(p) for p in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)))
    mirrored = (x1 - x0) * (y2 - y0) < (y1 - y0) * (x2 - x0)
    return cut.opening.mapped(place, mirrored)


def _place(
    corner: Corner, part: Part, face: Face, cut: Cut, depth: float, seen: Outline, height: float
) -> Place:
    low, near, high, far = seen.bounds()
    up = (height + low, height + high)
    return Place(corner.end, part, face, _name(part, cut), cut, up, (near, far), depth, seen)


def stem(cut: Cut) -> str:
    """What a cut is, without the fastener's name and its number: "pocket"."""
    return cut.name.removeprefix(f"{cut.family}_").rstrip("_0123456789")


def _name(part: Part, cut: Cut) -> str:
    of = stem(cut)
    if (part, of) in _WORDS:
        return _WORDS[(part, of)]
    number = cut.name.rpartition("_")[2]
    numbered = number.isdigit() and of != _ALIKE
    return f"{_HOLES[of]} {number}" if numbered else _HOLES[of]
