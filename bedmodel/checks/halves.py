"""One tenon in one of its mortises, as the checks of tenons look at it."""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.bed import Piece
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.checks.walls import Walls
from bedmodel.frames import Frame, Vector
from bedmodel.joints import TenonJoint


@dataclass(frozen=True)
class Half:
    """Half of a joint: the piece that has the tenon, the one that has the mortise.

    ``parts`` names them as a finding does, also where the tenon is the board's own;
    ``own`` is the mortise as found in the solid.
    """

    joint: TenonJoint
    parts: tuple[str, str]
    tenon: Piece
    mate: Piece
    own: Walls | None

    def in_cut(self, probe: Probe) -> list[tuple[FaceData, list[Vector]]]:
        """The tenon's faces, each with its corners in the mortise's frame, z into the wood."""
        there = self.to_cut
        return [
            (face, [there.point(p) for p in face.points])
            for face in probe.faces(self.tenon.kind.name)
            if face.points
        ]

    @property
    def to_cut(self) -> Frame:
        """From the tenon's part frame to the mortise's frame."""
        assert self.own is not None
        return (self.mate.placement @ self.own.cut.frame).inverse() @ self.tenon.placement
