"""The bed as a whole, as solids fit for drawing: square edges, and only the cuts that show.

At the scale of a whole bed an eased edge is a clot of ink and a screw's hole a dot, and both
cost the projection much time; the sheets of the parts show them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import cadquery as cq

from bedmodel.assembly import Bed
from bedmodel.bed import Piece
from bedmodel.drawing.curves import bounds_of
from bedmodel.drawing.directions import Look, isometric
from bedmodel.drawing.figure import Figure, Ink, Stroke
from bedmodel.drawing.limited import view_of
from bedmodel.drawing.project import View
from bedmodel.drawing.subject import Subject, subject_of
from bedmodel.drawing.tidy import tidied
from bedmodel.exports.paper.sheet import Box
from bedmodel.frames import Frame, Vector, dot
from bedmodel.shape import SQUARE, Shape
from bedmodel.solids import location, make_solid

FROM_FOOT = Look((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
FROM_HEAD = Look((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
FROM_RIGHT = Look((0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
FROM_CORNER = isometric(1.0, 1.0)
HEAD_LEFT = FROM_RIGHT.seen_from("top")  # from above, the head on the left


@dataclass(frozen=True)
class Whole:
    """A bed with its solids for drawing, made when they are asked for."""

    bed: Bed

    @cached_property
    def _plain(self) -> dict[str, cq.Shape]:
        return {}

    @cached_property
    def _tenoned(self) -> dict[str, cq.Shape]:
        return {}

    @cached_property
    def _jointed(self) -> dict[str, cq.Shape]:
        return {}

    @property
    def wood(self) -> list[Piece]:
        """Pieces that are seen when all is together: no loose tenons, no metal."""
        return [p for p in self.bed.pieces if not p.kind.is_metal and "_tenon_" not in p.name]

    def plain(self, piece: Piece) -> cq.Shape:
        """The piece in its place with square edges and nothing cut into it."""
        return _made(self._plain, piece, without_cuts)

    def tenoned(self, piece: Piece) -> cq.Shape:
        """The piece in its place with square edges and its own tenons, nothing cut into it."""
        return _made(self._tenoned, piece, without_holes)

    def jointed(self, piece: Piece) -> cq.Shape:
        """The piece in its place with square edges and its mortises, recesses and pockets."""
        return _made(self._jointed, piece, with_joints)

    @cached_property
    def isometric(self) -> View:
        """The whole bed at equal angles, from above its foot on the right."""
        return seen([self.plain(piece) for piece in self.wood], FROM_CORNER)

    def where(self, kind: str) -> Figure:
        """The bed in grey, small, and over it the pieces of one kind in black (1:1)."""
        pieces = [p for p in self.bed.pieces if p.kind.name == kind]
        own = seen([self.plain(p) for p in pieces], FROM_CORNER).visible
        rest = tidied(own, self.isometric.visible)[1]
        strokes = [Stroke("done", c) for c in rest] + [Stroke("whole", c) for c in own]
        body = Box(*bounds_of(s.curve for s in strokes))
        return Figure("Where it goes", 1.0, body, tuple(strokes))

    @cached_property
    def subjects(self) -> dict[str, Subject]:
        return {name: subject_of(self.bed, name) for name in self.bed.kinds}

    def span(self, pieces: Iterable[Piece], direction: Vector) -> tuple[float, float]:
        """From where to where pieces reach along a direction of the bed."""
        reaches = [self._reach(piece, direction) for piece in pieces]
        return min(low for low, _ in reaches), max(high for _, high in reaches)

    def _reach(self, piece: Piece, direction: Vector) -> tuple[float, float]:
        key = (piece.name, direction)
        if key not in self._reaches:
            corners = self.subjects[piece.kind.name].corners
            along = [dot(piece.placement.point(p), direction) for p in corners]
            self._reaches[key] = min(along), max(along)
        return self._reaches[key]

    @cached_property
    def _reaches(self) -> dict[tuple[str, Vector], tuple[float, float]]:
        return {}

    def named(self, *starts: str) -> list[Piece]:
        return [p for p in self.bed.pieces if p.name.startswith(starts)]


def _made(made: dict[str, cq.Shape], piece: Piece, change: object) -> cq.Shape:
    name = piece.kind.name
    if name not in made:
        made[name] = make_solid(change(piece.kind.shape))  # type: ignore[operator]
    return made[name].moved(location(piece.placement))


def without_cuts(shape: Shape) -> Shape:
    return replace(shape, cuts=(), bosses=(), easing=SQUARE, mouldings=())


def without_holes(shape: Shape) -> Shape:
    return replace(shape, cuts=(), easing=SQUARE, mouldings=())


def with_joints(shape: Shape) -> Shape:
    roles = ("mortise", "haunch", "recess", "pocket")
    cuts = tuple(c for c in shape.cuts if c.role in roles)
    return replace(shape, cuts=cuts, easing=SQUARE, mouldings=())


def seen(
    solids: Sequence[cq.Shape], look: Look, *, hidden: bool = False, origin: Frame | None = None
) -> View:
    """What is seen of solids in the bed's frame."""
    return view_of(solids, (origin or Frame()) @ look.frame, hidden=hidden)


def drawn(name: str, view: View, size: float, ink: Ink = "whole") -> Figure:
    """A view as a figure at 1:``size``."""
    curves = [c.placed((0.0, 0.0), 1 / size) for c in view.visible]
    behind = [c.placed((0.0, 0.0), 1 / size) for c in view.hidden]
    strokes = [Stroke(ink, c) for c in curves] + [Stroke("hidden", c) for c in behind]
    return Figure(name, size, Box(*bounds_of(curves)), tuple(strokes))
