"""A part as the one who draws it sees it: its front, its sides' names, its datums, its features.

Datums agree with the marks of setting out: along the part from its first end, of a leg from
where the joint face begins; across it from the lower edge or the joint face; through its
thickness from the inside face.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

from bedmodel.assembly import Bed
from bedmodel.bed import Kind, Piece
from bedmodel.drawing.directions import Look, Side
from bedmodel.drawing.features import Feature, Place, features_of
from bedmodel.drawing.limited import view_of
from bedmodel.drawing.project import View
from bedmodel.drawing.sections import CutFace, cut_faces
from bedmodel.frames import Frame, Vector, add, cross, dot, scale, subtract, unit
from bedmodel.legs import Gauge
from bedmodel.shape import SQUARE, Shape, mirror_pair
from bedmodel.shop.marks import Mark
from bedmodel.solids import make_solid
from bedmodel.units import LengthUnit, format_number

_SAME = 0.3  # mm; corners so near to a face lie on it
_MIDDLE = 40.0  # mm; a face so near to the bed's middle is neither inside nor outside
_SMOOTH = 0.02  # radians between two faces that run into one another
_LEVEL = 0.7  # cosine by which a face is called upper or lower


@dataclass(frozen=True)
class Subject:
    """One kind of part to draw; ``pieces`` are all of that kind.

    ``twin`` is the kind of its mirror images, which the same sheet stands for; ``stuff`` is what
    it is made of.
    """

    kind: Kind
    pieces: tuple[Piece, ...]
    solid: cq.Shape
    front: Look
    unit: LengthUnit
    bed_centre: Vector
    twin: Kind | None = None
    stuff: str = ""
    gauges: tuple[Gauge, ...] = ()  # of a leg: what is shaped below its joints

    @property
    def shape(self) -> Shape:
        return self.kind.shape

    @property
    def curved(self) -> bool:
        """True for a part to make whose outline has curves that no end view shows."""
        outline, face = self.shape.outline, self.shape.face
        return face != "yz" and not self.kind.is_metal and any(e.is_arc for e in outline.edges())

    @property
    def title(self) -> str:
        return self.kind.name.replace("_", " ")

    def text(self, length: float) -> str:
        """A length as the sheet writes it, rounded as a rule shows it, without its unit."""
        return format_number(Mark((), "", length, self.unit).rounded, self.unit)

    @cached_property
    def features(self) -> tuple[Feature, ...]:
        return features_of(self.shape, self.front, self.kind.name)

    @cached_property
    def places(self) -> tuple[Place, ...]:
        return tuple(place for feature in self.features for place in feature.places)

    @cached_property
    def corners(self) -> tuple[Vector, ...]:
        """The corners of the pushed outline, arcs by their extremes, and of what stands out."""
        shape, (low, high) = self.shape, self.shape.reach
        found: list[Vector] = []
        for edge in shape.outline.edges():
            for a, b in edge.extremes():
                for level in (low, high):
                    found.append(
                        {"xy": (a, b, level), "xz": (a, level, b), "yz": (level, a, b)}[shape.face]
                    )
        for boss in shape.bosses:
            ends = Place(boss).corners()
            found += ends
            found += [add(p, scale(boss.frame.z, boss.height)) for p in ends]
        return tuple(found)

    def span(
        self, direction: Vector, points: Iterable[Vector] | None = None
    ) -> tuple[float, float]:
        along = [dot(p, direction) for p in (points or self.corners)]
        return min(along), max(along)

    @cached_property
    def joint(self) -> tuple[Vector, Vector] | None:
        """Start and end of the joint face's line, foot end first; None where there is none."""
        edges = self.shape.outline.named("joint") if self.shape.face == "xy" else []
        edges = [edge for edge in edges if not edge.is_arc]
        if not edges:
            return None
        points = sorted(p for edge in edges for p in (edge.start, edge.end))
        return (*points[0], 0.0), (*points[-1], 0.0)

    def datum(self, direction: Vector, side: Side) -> float:
        """Where running dimensions along a direction begin, on the face seen from a side."""
        front = self.front
        if abs(dot(direction, front.toward)) > 0.9:
            low, high = self.span(direction)
            return high if dot(direction, front.toward) > 0 else low
        if self.joint is not None:
            return dot(self.joint[0], direction)
        toward = front.seen_from(side).toward
        level = self.span(toward)[1]
        on_face = [p for p in self.corners if dot(p, toward) > level - _SAME]
        # Of a plate with round ends no corner of an edge lies at its end.
        low, high = self.span(direction, None if self.kind.is_metal else on_face)
        if abs(dot(direction, front.right)) > 0.9:
            return low if dot(direction, front.right) > 0 else high
        return low if dot(direction, (0.0, 1.0, 0.0)) > 0 else high

    def on(self, side: Side) -> list[Feature]:
        return [feature for feature in self.features if feature.side == side]

    @cached_property
    def _views(self) -> dict[tuple[Side, bool], View]:
        return {}

    @cached_property
    def sharp(self) -> cq.Shape:
        """The part with its edges not eased."""
        if not self.shape.easing.active:
            return self.solid
        return make_solid(replace(self.shape, easing=SQUARE))

    def view(self, side: Side, sharp: bool = False) -> View:
        """What is seen from a side, in the plane of that look; with sharp edges if asked."""
        if (side, sharp) not in self._views:
            look = self.front.seen_from(side)
            solid = self.sharp if sharp else self.solid
            self._views[(side, sharp)] = view_of([smoothed(solid)], look.frame, hidden=False)
        return self._views[(side, sharp)]

    @cached_property
    def _faces(self) -> dict[object, list[CutFace]]:
        return {}

    def cut_faces(self, frame: Frame, window: tuple[float, float, float, float]) -> list[CutFace]:
        """The faces in which a plane cuts the part; see ``sections.cut_faces``."""
        if (frame, window) not in self._faces:
            self._faces[(frame, window)] = cut_faces(self.solid, frame, window)
        return self._faces[(frame, window)]

    def picture(self, most: float = 14.0) -> View:
        """The part as seen at equal angles; of a long one its first end only."""
        front = self.front
        look = Look(*_turned(front))
        solid = self.solid
        low, high = self.span(front.right)
        across = max(b - a for a, b in (self.span(front.up), self.span(front.toward)))
        if high - low > most * across:
            solid = first_part(solid, front, low, 3.0 * across)
        return view_of([solid], look.frame, hidden=False)

    def way(self, side: Side) -> str:
        """Of a face along the bed, which of its ends is the head's."""
        if side in ("left", "right") or self.kind.is_metal or self.joint is not None:
            return ""
        right = self.front.seen_from(side).right
        ways = {round(piece.placement.direction(right)[1]) for piece in self.pieces}
        told = {
            frozenset((1,)): ", head end on the left",
            frozenset((-1,)): ", head end on the right",
            frozenset((-1, 1)): ", either end at the head",
        }
        return told.get(frozenset(ways), "")

    def side_name(self, side: Side) -> str:
        """What a face is called, by how it lies in the bed."""
        look = self.front.seen_from(side)
        place = self.pieces[0].placement
        if self.joint is not None and side in ("top", "bottom"):
            inward = cross(self.front.toward, self.front.right)
            joint_low = dot(self.joint[0], inward) < sum(self.span(inward)) / 2
            if (side == "bottom") == joint_low:
                return "Joint face"
            return "Outer edge"
        towards = place.direction(look.toward)
        if self.kind.is_metal:
            return {"front": "Face", "left": "Edge", "right": "Edge"}.get(side, "Edge")
        if side in ("left", "right"):
            if self.joint is not None:
                return "Foot end" if side == "left" else "Top end"
            if abs(towards[1]) > _LEVEL:
                return "Head end" if towards[1] < 0 else "Foot end"
            if abs(towards[2]) > _LEVEL:
                return "Lower end" if towards[2] < 0 else "Upper end"
            return "Left end" if side == "left" else "Right end"
        what = "face" if side in ("front", "back") else "edge"
        if abs(towards[2]) > _LEVEL:
            return f"Upper {what}" if towards[2] > 0 else f"Lower {what}"
        centre = place.point(scale(self.shape.blank, 0.5))
        to_middle = dot(towards, subtract(self.bed_centre, centre))
        if abs(to_middle) < _MIDDLE:
            return what.capitalize()
        return f"Inside {what}" if to_middle > 0 else f"Outside {what}"


def _turned(front: Look) -> tuple[Vector, Vector]:
    """Right and up of the isometric view of a front: its face, its top and its first end seen."""
    toward = unit(add(add(front.toward, front.up), scale(front.right, -1.0)))
    across = unit(cross(front.up, toward))
    return across, cross(toward, across)


def first_part(solid: cq.Shape, front: Look, low: float, reach: float) -> cq.Shape:
    """The first ``reach`` mm of a part, from the left of its front."""
    far = 1e4
    corner = add(
        scale(front.right, low - 1.0), add(scale(front.up, -far), scale(front.toward, -far))
    )
    axes = gp_Ax2(gp_Pnt(*corner), gp_Dir(*front.toward), gp_Dir(*front.right))
    block = BRepPrimAPI_MakeBox(axes, reach + 1.0, 2 * far, 2 * far).Shape()
    return cq.Shape.cast(BRepAlgoAPI_Common(solid.wrapped, block).Shape())


def smoothed(solid: cq.Shape) -> cq.Shape:
    """A copy in which faces that run into one another without an edge are known to: no line there.

    The lines where a rounded edge begins are none that a maker could mark.
    """
    copy = solid.copy()
    BRepLib.EncodeRegularity_s(copy.wrapped, _SMOOTH)
    return copy


def subjects(bed: Bed) -> list[Subject]:
    """Every kind of part of a bed, in the order of first use."""
    return [subject_of(bed, name) for name in bed.kinds]


def subject_of(bed: Bed, name: str) -> Subject:
    kind = bed.kinds[name]
    pieces = tuple(piece for piece in bed.pieces if piece.kind is kind)
    centre = _centre(bed)
    front = _front(kind.shape, pieces[0], centre)
    unit, stuff = bed.layout.sheet.design.unit, bed.material(name).label
    legs = bed.layout.legs.gauges() if kind.shape.trims and "_leg" in name else ()
    twin = twin_of(bed, name)
    return Subject(kind, pieces, bed.solids[name], front, unit, centre, twin, stuff, legs)


def twin_of(bed: Bed, name: str) -> Kind | None:
    """Of a left-hand kind the right-hand one that is its mirror image, where there is one."""
    stem = name.removesuffix("_left")
    twin = bed.kinds.get(f"{stem}_right") if stem != name else None
    if twin is None or mirror_pair(twin.shape, Frame())[0].key() != bed.kinds[name].shape.key():
        return None
    return twin


def _centre(bed: Bed) -> Vector:
    corners = [
        piece.placement.point(p)
        for piece in bed.pieces
        for p in ((0.0, 0.0, 0.0), piece.kind.shape.blank)
    ]
    low = [min(p[i] for p in corners) for i in range(3)]
    high = [max(p[i] for p in corners) for i in range(3)]
    return ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2)


def _front(shape: Shape, piece: Piece, centre: Vector) -> Look:
    """The wide face with most cut into it, of two alike the inside one, lengthways."""
    right: Vector = (1.0, 0.0, 0.0)
    joint = [e for e in shape.outline.named("joint") if not e.is_arc] if shape.face == "xy" else []
    if joint:
        low = min(p for e in joint for p in (e.start, e.end))
        high = max(p for e in joint for p in (e.start, e.end))
        right = unit((high[0] - low[0], high[1] - low[1], 0.0))
    up = [c for c in shape.cuts if c.frame.z[2] < -0.9]
    down = [c for c in shape.cuts if c.frame.z[2] > 0.9]
    place = piece.placement
    inward = dot(place.z, subtract(centre, place.point(scale(shape.blank, 0.5)))) > 0
    top = inward if len(up) == len(down) else len(up) > len(down)
    if not up and not down and abs(place.z[2]) > _LEVEL:
        top = place.z[2] > 0
    toward: Vector = (0.0, 0.0, 1.0 if top else -1.0)
    return Look(right, cross(toward, right))
