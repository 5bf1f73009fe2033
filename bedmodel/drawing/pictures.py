"""Line pictures of the bed being put together: what a step adds in black, what is there in grey."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import cadquery as cq

from bedmodel.bed import Piece
from bedmodel.drawing.curves import Curve, bounds_of
from bedmodel.drawing.directions import Look, isometric
from bedmodel.drawing.exploded import pulled
from bedmodel.drawing.pens import LAYERS
from bedmodel.drawing.project import exact_views
from bedmodel.drawing.tidy import tidied
from bedmodel.drawing.whole import Whole
from bedmodel.exports.paper.sheet import Box, Mark, Path

FROM_FOOT_RIGHT = isometric(1.0, 1.0)
_FLAT = 0.02  # mm of paper between a curve and its bits


@dataclass(frozen=True)
class Picture:
    """A view by its lines (mm of the model): those of the new parts and those of the others."""

    new: tuple[Curve, ...]
    done: tuple[Curve, ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        return bounds_of((*self.new, *self.done))


def step_picture(
    whole: Whole,
    new: Iterable[str],
    done: Iterable[str] = (),
    *,
    look: Look = FROM_FOOT_RIGHT,
    apart: bool = False,
) -> Picture:
    """The named pieces in their places, hidden lines left out; ``apart`` pulls the new ones away.

    Nothing is cut into those that are there already: it would not be seen for the others.

    Raises KeyError for a name that the bed has not, ValueError for no name at all.
    """
    added = [whole.bed.piece(name) for name in new]
    there = [whole.bed.piece(name) for name in done]
    if not added and not there:
        raise ValueError("a picture needs a piece")
    solids = [_solid(whole, piece, apart) for piece in added]
    solids += [whole.tenoned(piece) for piece in there]
    parts = exact_views(solids, look.frame)
    black = [curve for view in parts[: len(added)] for curve in view]
    grey = [curve for view in parts[len(added) :] for curve in view]
    shown, under = tidied(black, grey)
    return Picture(tuple(shown), tuple(under))


def _solid(whole: Whole, piece: Piece, apart: bool) -> cq.Shape:
    solid = whole.jointed(piece)
    return solid.translate(cq.Vector(*pulled(piece))) if apart else solid


def marks_in(picture: Picture, box: Box) -> Iterator[Mark]:
    """The picture as large as a box allows, in its middle; grey first, black over it (mm)."""
    x0, y0, x1, y1 = picture.bounds
    factor = min(box.width / max(x1 - x0, 1.0), box.height / max(y1 - y0, 1.0))
    at = (
        (box.x0 + box.x1) / 2 - factor * (x0 + x1) / 2,
        (box.y0 + box.y1) / 2 - factor * (y0 + y1) / 2,
    )
    for curves, layer in ((picture.done, "DONE"), (picture.new, "ASSEMBLY")):
        for curve in curves:
            points = tuple(curve.placed(at, factor).points(_FLAT))
            yield Path(points, LAYERS[layer][0], role=layer.lower())
