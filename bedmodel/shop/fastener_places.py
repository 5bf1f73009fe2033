"""Where the cuts of the rail fasteners lie on leg and rail, as a maker measures them.

The rail's end stands on the leg's inside face:

        show face                     up      above the floor; on both parts along the
    +-----------------+                       plumb joint face or the rail's lower edge
    |  leg            |  joint        across  on a leg from its joint face, on the rail's
    |        [plate]  |  face                 end from the rail's inside face, on that
    +--------[plate]--+                       face from the rail's end
     inside  |       | <- inside face         of the rail, at its end
      face   | rail  |

Everything is read from ``Layout.fastener``: right-hand side, left is its mirror image.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bedmodel.fasteners.choice import Corner
from bedmodel.frames import Frame, Vector
from bedmodel.shape import Cut
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
    floor lies below the face it is cut from.
    """

    end: Literal["head", "foot"]
    part: Part
    face: Face
    name: str
    cut: Cut
    up: Range
    across: Range
    depth: float

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
    found: list[Place] = []
    for corner in layout.fastener.corners:
        found += (_in_leg(layout, corner, cut) for cut in corner.fitting.leg_cuts)
        found += (_in_rail(corner, cut) for cut in corner.fitting.rail_cuts)
    return tuple(found)


def _in_leg(layout: Layout, corner: Corner, cut: Cut) -> Place:
    """Joint face and inside face are planes of the bed, so it is measured there."""
    end = layout.head if corner.end == "head" else layout.foot
    points = list(_opening(corner.joint @ cut.frame, cut))
    deep = cut.frame.origin[2] + cut.frame.z[2] * cut.depth  # from the inside face
    from_show = cut.frame.z[2] < 0
    return Place(
        corner.end,
        "leg",
        "show face" if from_show else "inside face",
        _name("leg", cut),
        cut,
        _range(p[2] for p in points),
        _range(p[0] - end.joint_x for p in points),
        layout.sheet.leg.thickness - deep if from_show else deep,
    )


def _in_rail(corner: Corner, cut: Cut) -> Place:
    bed = corner.joint @ cut.frame
    points = list(_opening(bed, cut))
    up = _range(p[2] for p in points)
    if abs(cut.frame.z[2]) > 0.5:
        across = _range(p[0] - corner.face.origin[0] for p in points)
        depth = cut.depth - cut.frame.origin[2]
        return Place(corner.end, "rail", "end", _name("rail", cut), cut, up, across, depth)
    on_face = corner.face.inverse() @ bed
    across = _range(p[0] for p in _opening(on_face, cut))
    depth = on_face.origin[2] + cut.depth
    return Place(corner.end, "rail", "inside face", _name("rail", cut), cut, up, across, depth)


def _opening(frame: Frame, cut: Cut) -> Iterator[Vector]:
    """Points of a cut's opening that reach farthest along its own axes."""
    for edge in cut.opening.edges():
        for x, y in edge.extremes():
            yield frame.point((x, y, 0.0))


def _range(values: Iterator[float]) -> Range:
    found = list(values)
    return min(found), max(found)


def stem(cut: Cut) -> str:
    """What a cut is, without the fastener's name and its number: "pocket"."""
    return cut.name.removeprefix(f"{cut.fastener}_").rstrip("_0123456789")


def _name(part: Part, cut: Cut) -> str:
    of = stem(cut)
    if (part, of) in _WORDS:
        return _WORDS[(part, of)]
    number = cut.name.rpartition("_")[2]
    numbered = number.isdigit() and of != _ALIKE
    return f"{_HOLES[of]} {number}" if numbered else _HOLES[of]
