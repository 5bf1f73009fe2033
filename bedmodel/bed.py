"""The bed as data: pieces placed in the bed frame, and the kinds they are of.

kind    one distinct part to make, such as ``side_rail``
piece   one copy of it in the bed, such as ``side_rail_left``
group   the sub-assembly a piece belongs to, such as ``head_end``
"""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.frames import Frame
from bedmodel.materials import is_metal
from bedmodel.panels import is_panel
from bedmodel.shape import Shape


@dataclass(frozen=True)
class Kind:
    """One distinct part to make, or a fastener's: its shape, and its species or its metal."""

    name: str
    shape: Shape
    species: str

    @property
    def is_metal(self) -> bool:
        return is_metal(self.species)

    @property
    def is_panel(self) -> bool:
        """True for plywood, which is cut from sheets."""
        return is_panel(self.species)


@dataclass(frozen=True)
class Piece:
    """One copy of a kind, placed: ``placement`` takes its part frame to the bed frame."""

    name: str
    kind: Kind
    group: str
    placement: Frame
