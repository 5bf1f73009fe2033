"""A part before its joints are cut and its left-hand twin is made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bedmodel.frames import Frame
from bedmodel.outline import Outline
from bedmodel.shape import Easing, EasingStyle, Shape


@dataclass(frozen=True)
class Draft:
    """A piece on the right of the bed or on its centreline.

    ``side`` is "right" for a piece that has a twin on the left, else "centre".
    ``name`` is the piece's name without the side, ``kind`` that of its kind.
    """

    name: str
    kind: str
    group: str
    side: Literal["right", "centre"]
    shape: Shape
    placement: Frame
    species: str


def strip(
    length: float,
    width: float,
    thickness: float,
    edge: EasingStyle,
    edge_size: float,
    beyond: float = 0.0,
) -> Shape:
    """A straight piece with its four long arrises eased and its ends square.

    The blank reaches ``beyond`` both ends, for what is to stand out of them.
    """
    outline = Outline.rectangle(length, width, ("long", "end", "long", "end"))
    if beyond:
        outline = outline.mapped(lambda p: (p[0] + beyond, p[1]))
    return Shape(
        length + 2 * beyond,
        width,
        thickness,
        outline,
        easing=Easing(edge, edge_size, frozenset({"long"})),
    )
