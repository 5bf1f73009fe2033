"""No two parts share more than a touch: all pairs, settled as cheaply as is safe.

1. Pairs whose boxes in the bed do not meet cannot overlap.
2. Each solid lies inside its own box in its part frame. Two such boxes with a
   plane between them cannot overlap: this settles parts that lie on each other.
3. Where no face of one part enters the other's box, and that box is not inside
   the part, they cannot overlap: this settles butt joints of slanted parts.
4. What is left is cut with the solid modeller, and the common volume measured.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.TopoDS import TopoDS

from bedmodel.bed import Piece
from bedmodel.checks.boxes import exact_box, quick_box
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Array, Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.frames import Frame, dot
from bedmodel.solids import location, volume_of

TOUCH_VOLUME = 1.0  # mm3; parts in contact give a little less by rounding, overlaps more
# Two parts this deep in each other over two metres by 150 mm share 0.6 mm3.
TOUCH_DEPTH = 2e-6
_ALIKE_DIGITS = 7


def check_overlap(probe: Probe) -> Iterator[Result]:
    """Measure the common volume of all pairs of parts."""
    pieces = probe.bed.pieces
    limit = f"at most {TOUCH_VOLUME:g} mm3 in common"
    worst, findings = 0.0, []
    measured: dict[tuple[object, ...], float] = {}
    for i, j in candidate_pairs(probe):
        # Pairs alike, such as the plates at the four corners, are measured once, and so
        # are the left and the right side of the bed.
        key = _pair_key(pieces[i], pieces[j])
        if key not in measured:
            volume = common_volume(probe, pieces[i], pieces[j])
            measured[key] = volume
            for image in _mirrored_keys(probe, pieces[i], pieces[j]):
                measured.setdefault(image, volume)
        volume = measured[key]
        worst = max(worst, volume)
        if volume > TOUCH_VOLUME:
            names = (pieces[i].name, pieces[j].name)
            findings.append(Finding(Code.PARTS_OVERLAP, names, volume, limit))
    pairs = len(pieces) * (len(pieces) - 1) // 2
    yield Result(Code.PARTS_OVERLAP, pairs, worst, "mm3", limit, tuple(findings))


def candidate_pairs(probe: Probe) -> list[tuple[int, int]]:
    """Pairs that no plane was found to part, by index of the pieces."""
    boxes = _Boxes(probe)
    faces = _Faces(probe)
    pieces = probe.bed.pieces
    return [
        (i, j)
        for i, j in boxes.overlapping()
        if not faces.part(pieces[i], pieces[j]) and not faces.part(pieces[j], pieces[i])
    ]


def _pair_key(one: Piece, other: Piece) -> tuple[object, ...]:
    """Equal for two pairs of the same kinds that lie alike to each other."""
    there = one.placement.inverse() @ other.placement
    axes = (there.origin, there.x, there.y, there.z)
    turns = tuple(round(c, _ALIKE_DIGITS) + 0.0 for axis in axes for c in axis)
    return one.kind.name, other.kind.name, turns


def _mirrored_keys(probe: Probe, one: Piece, other: Piece) -> Iterator[tuple[object, ...]]:
    """The keys of the pair's mirror image, in every way in which it may have been placed."""
    images = [
        [
            replace(piece, kind=probe.bed.kinds[twin.kind], placement=twin.image(piece))
            for twin in probe.twins(piece.kind.name)
        ]
        for piece in (one, other)
    ]
    return itertools.starmap(_pair_key, itertools.product(*images))


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
        boxes = np.array([probe.loose_box(p.kind.name) for p in pieces])
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


class _Faces:
    """The faces of each kind as boxes and, where flat, as planes, in its part frame."""

    def __init__(self, probe: Probe) -> None:
        self._probe = probe
        self._kinds: dict[str, _KindFaces] = {}

    def part(self, one: Piece, other: Piece) -> bool:
        """True when no face of ``one`` can enter the box of ``other``, nor hold it whole."""
        there = other.placement.inverse() @ one.placement
        turn = np.array([there.x, there.y, there.z])  # rows: one's axes, seen from the other
        low, high = np.array(self._probe.loose_box(other.kind.name))
        middle, half = (low + high) / 2, (high - low) / 2
        faces = self._of(one.kind.name)
        centres = faces.centres @ turn + np.array(there.origin)
        reach = faces.half @ np.abs(turn) + half - TOUCH_DEPTH
        misses = np.any(np.abs(centres - middle) >= reach, axis=1)
        normals = faces.normals @ turn
        levels = faces.levels + normals @ np.array(there.origin)
        # A curved face has no normal here: its plane's reach is 0, and it never misses so.
        beside = np.abs(normals @ middle - levels) >= np.abs(normals) @ half - TOUCH_DEPTH
        unsure = np.nonzero(~(misses | (faces.flat & beside)))[0]
        if any(self._enters(one, int(i), there, low, high) for i in unsure):
            return False
        return not self._inside(one, other)

    def _enters(self, one: Piece, i: int, there: Frame, low: Array, high: Array) -> bool:
        """Whether a face's own box, along the other part's axes, meets the other's box.

        A face's box in its own part frame, turned, is larger than this one.
        """
        data = self._probe.faces(one.kind.name)[i]
        moved = TopoDS.Face_s(data.face.Moved(location(there).wrapped))

        def meets(exact: bool) -> bool:
            box_low, box_high = exact_box(moved) if exact else quick_box(moved)
            return bool(
                np.all(np.array(box_low) < high - TOUCH_DEPTH)
                and np.all(np.array(box_high) > low + TOUCH_DEPTH)
            )

        return meets(False) and (not data.is_simple or meets(True))

    def _inside(self, one: Piece, other: Piece) -> bool:
        """Whether the box of ``other`` lies wholly in the box of ``one``, or as good as so.

        A box that stands out by no more than a touch may be that of a twin in the
        same place, whose faces all count as missed.
        """
        place = one.placement
        low, high = self._probe.loose_box(one.kind.name)
        reaches = (self._probe.loose_extent(other, axis) for axis in (place.x, place.y, place.z))
        starts = (dot(place.origin, axis) for axis in (place.x, place.y, place.z))
        return all(
            start + a <= low_ + 2 * TOUCH_DEPTH and high_ - 2 * TOUCH_DEPTH <= start + b
            for start, a, b, (low_, high_) in zip(starts, low, high, reaches, strict=True)
        )

    def _of(self, kind: str) -> _KindFaces:
        if kind not in self._kinds:
            self._kinds[kind] = _KindFaces.of(self._probe.faces(kind))
        return self._kinds[kind]


@dataclass(frozen=True, eq=False)
class _KindFaces:
    centres: Array
    half: Array
    normals: Array
    levels: Array
    flat: NDArrayBool

    @classmethod
    def of(cls, faces: list[FaceData]) -> _KindFaces:
        boxes = np.array([face.box for face in faces])
        normals = np.array([face.normal or (0.0, 0.0, 0.0) for face in faces])
        points = np.array([face.points[0] for face in faces])
        return cls(
            centres=boxes.mean(axis=1),
            half=(boxes[:, 1] - boxes[:, 0]) / 2,
            normals=normals,
            levels=np.einsum("ni,ni->n", normals, points),
            flat=np.array([face.normal is not None for face in faces]),
        )
