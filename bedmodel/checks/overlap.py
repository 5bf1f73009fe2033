"""No two parts share more than a touch: all pairs, settled as cheaply as is safe.

1. Pairs whose boxes in the bed do not meet cannot overlap.
2. Each solid lies inside its own box in its part frame. Two such boxes with a
   plane between them cannot overlap: this settles parts that lie on each other.
3. A flat face with its whole solid behind it, and the other part's box in front
   of it, is such a plane too: this settles slanted butt joints.
4. What is left is cut with the solid modeller, and the common volume measured.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

from bedmodel.bed import Piece
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Array, FaceData, Probe
from bedmodel.frames import Vector, dot
from bedmodel.solids import location, volume_of

TOUCH_VOLUME = 1.0  # mm3; parts in contact give a little less by rounding, overlaps more
# Two parts this deep in each other over two metres by 150 mm share 0.6 mm3.
TOUCH_DEPTH = 2e-6


def check_overlap(probe: Probe) -> Iterator[Result]:
    """Measure the common volume of all pairs of parts."""
    pieces = probe.bed.pieces
    limit = f"at most {TOUCH_VOLUME:g} mm3 in common"
    worst, findings = 0.0, []
    for i, j in candidate_pairs(probe):
        volume = common_volume(probe, pieces[i], pieces[j])
        worst = max(worst, volume)
        if volume > TOUCH_VOLUME:
            names = (pieces[i].name, pieces[j].name)
            findings.append(Finding(Code.PARTS_OVERLAP, names, volume, limit))
    pairs = len(pieces) * (len(pieces) - 1) // 2
    yield Result(Code.PARTS_OVERLAP, pairs, worst, "mm3", limit, tuple(findings))


def candidate_pairs(probe: Probe) -> list[tuple[int, int]]:
    """Pairs that no plane was found to part, by index of the pieces."""
    boxes = _Boxes(probe)
    faces = _PartingFaces(probe)
    pieces = probe.bed.pieces
    return [
        (i, j)
        for i, j in boxes.overlapping()
        if not faces.part(pieces[i], pieces[j]) and not faces.part(pieces[j], pieces[i])
    ]


def common_volume(probe: Probe, one: Piece, other: Piece) -> float:
    """The volume two pieces share (mm3), by the solid modeller."""
    # In one's part frame only the other needs to be moved.
    there = one.placement.inverse() @ other.placement
    solids = probe.bed.solids
    moved = solids[other.kind.name].moved(location(there))
    common = BRepAlgoAPI_Common(solids[one.kind.name].wrapped, moved.wrapped)
    return volume_of(common.Shape())


class _Boxes:
    """The pieces' own boxes, placed in the bed."""

    def __init__(self, probe: Probe) -> None:
        pieces = probe.bed.pieces
        boxes = np.array([probe.box(p.kind.name) for p in pieces])
        self.axes: Array = np.array([(p.placement.x, p.placement.y, p.placement.z) for p in pieces])
        origins = np.array([p.placement.origin for p in pieces])
        middle = boxes.mean(axis=1)
        self.half: Array = (boxes[:, 1] - boxes[:, 0]) / 2
        self.centres: Array = origins + np.einsum("ni,nij->nj", middle, self.axes)

    def overlapping(self) -> list[tuple[int, int]]:
        """Pairs of boxes with no separating axis among the fifteen that can part them."""
        reach = np.einsum("ni,nij->nj", self.half, np.abs(self.axes))
        apart = np.abs(self.centres[:, None] - self.centres[None, :])
        near = np.all(apart < reach[:, None] + reach[None, :] - TOUCH_DEPTH, axis=2)
        first, second = np.nonzero(np.triu(near, 1))
        if not len(first):
            return []
        kept = ~self._parted(first, second)
        return [(int(i), int(j)) for i, j in zip(first[kept], second[kept], strict=True)]

    def _parted(self, i: NDArrayInt, j: NDArrayInt) -> NDArrayBool:
        a, b = self.axes[i], self.axes[j]
        crosses = np.cross(a[:, :, None, :], b[:, None, :, :]).reshape(len(i), 9, 3)
        length = np.linalg.norm(crosses, axis=2, keepdims=True)
        # Parallel edges give no direction of their own; the faces' normals cover them.
        crosses = np.where(length > 1e-9, crosses / np.maximum(length, 1e-9), a[:, :1])
        axes = np.concatenate([a, b, crosses], axis=1)
        reach = np.einsum("pi,pki->pk", self.half[i], np.abs(axes @ a.transpose(0, 2, 1)))
        reach += np.einsum("pi,pki->pk", self.half[j], np.abs(axes @ b.transpose(0, 2, 1)))
        apart = np.abs(np.einsum("pkj,pj->pk", axes, self.centres[j] - self.centres[i]))
        parted: NDArrayBool = np.any(apart >= reach - TOUCH_DEPTH, axis=1)
        return parted


NDArrayInt = np.ndarray[tuple[int, ...], np.dtype[np.int64]]
NDArrayBool = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


class _PartingFaces:
    """Flat faces that have their whole solid behind them."""

    def __init__(self, probe: Probe) -> None:
        self.probe = probe
        self._bounding: dict[str, list[tuple[FaceData, Vector]]] = {}

    def part(self, one: Piece, other: Piece) -> bool:
        """True when a face of ``one`` has the box of ``other`` in front of it."""
        place = one.placement
        for face, normal in self._faces(one.kind.name):
            towards = place.direction(normal)
            level = dot(place.point(face.points[0]), towards)
            if self.probe.extent(other, towards)[0] >= level - TOUCH_DEPTH:
                return True
        return False

    def _faces(self, kind: str) -> list[tuple[FaceData, Vector]]:
        if kind not in self._bounding:
            points = np.array([p for f in self.probe.faces(kind) for p in f.points])
            self._bounding[kind] = [
                (f, f.normal)
                for f in self.probe.faces(kind)
                if f.normal is not None and self._is_bounding(kind, f, f.normal, points)
            ]
        return self._bounding[kind]

    def _is_bounding(self, kind: str, face: FaceData, normal: Vector, corners: Array) -> bool:
        """All corners behind the face's plane, and all curved faces too."""
        direction = np.array(normal)
        level = float(direction @ np.array(face.points[0]))
        if float((corners @ direction).max()) > level + TOUCH_DEPTH:
            return False
        return all(
            _greatest(f.box, normal) <= level + TOUCH_DEPTH
            or f.reach(normal) <= level + TOUCH_DEPTH
            for f in self.probe.faces(kind)
            if f.normal is None
        )


def _greatest(box: tuple[Vector, Vector], along: Vector) -> float:
    return sum(max(c * a, c * b) for c, a, b in zip(along, *box, strict=True))
