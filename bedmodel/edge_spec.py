"""Parameters of edge profiles, arris by arris: style, size, and how far from a joint they stop."""

from __future__ import annotations

from typing import Literal

from bedmodel import fields
from bedmodel.fields import Length, Section

ArrisStyle = Literal["as_edge", "roundover", "chamfer", "ovolo", "thumbnail"]
_STYLE = (
    "as_edge: as the part's edge says; else a profile of its own, which is stopped where a joint "
    "needs the edge."
)
_SIZE = "Radius of a roundover or ovolo, leg of a chamfer, width of a thumbnail."


def _style(where: str) -> ArrisStyle:
    made: ArrisStyle = fields.choice("as_edge", f"{where}: {_STYLE}")
    return made


def _size(where: str) -> Length:
    made: Length = fields.length(8, 2, 25, f"{where}: {_SIZE}")
    return made


class _Arrises(Section):
    """What all profiles of a part share."""

    quirk: Length = fields.length(1.5, 0.3, 5, "Step of an ovolo or thumbnail.")
    stop: Length = fields.length(
        15, 3, 200, "Edge left as it was between a joint and the end of a profile's run-out."
    )


class BoardEdges(_Arrises):
    """Profiles of the arrises of head or foot boards; the show face looks to the foot."""

    top_show: ArrisStyle = _style("Top edge, show face")
    top_show_size: Length = _size("Top edge, show face")
    top_back: ArrisStyle = _style("Top edge, back")
    top_back_size: Length = _size("Top edge, back")
    bottom_show: ArrisStyle = _style("Lower edge, show face")
    bottom_show_size: Length = _size("Lower edge, show face")
    bottom_back: ArrisStyle = _style("Lower edge, back")
    bottom_back_size: Length = _size("Lower edge, back")


class RailEdges(_Arrises):
    """Profiles of the arrises of the side rails."""

    top_show: ArrisStyle = _style("Top edge, show face")
    top_show_size: Length = _size("Top edge, show face")
    top_inside: ArrisStyle = _style("Top edge, inside face")
    top_inside_size: Length = _size("Top edge, inside face")
    bottom_show: ArrisStyle = _style("Lower edge, show face")
    bottom_show_size: Length = _size("Lower edge, show face")
    bottom_inside: ArrisStyle = _style("Lower edge, inside face")
    bottom_inside_size: Length = _size("Lower edge, inside face")


class LegEdges(_Arrises):
    """Profiles of the arrises of the legs: the outer edge, and a splayed leg's inside curve."""

    outer_show: ArrisStyle = _style("Outer edge, the face away from the mattress")
    outer_show_size: Length = _size("Outer edge, the face away from the mattress")
    outer_inside: ArrisStyle = _style("Outer edge, inside face")
    outer_inside_size: Length = _size("Outer edge, inside face")
    curve_show: ArrisStyle = _style("Inside curve of splayed legs, the face away from the mattress")
    curve_show_size: Length = _size("Inside curve, the face away from the mattress")
    curve_inside: ArrisStyle = _style("Inside curve of splayed legs, inside face")
    curve_inside_size: Length = _size("Inside curve, inside face")
