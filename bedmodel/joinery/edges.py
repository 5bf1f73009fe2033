"""Eased arrises for ``Workplane.invoke``."""

from __future__ import annotations

import cadquery as cq

from bedmodel.errors import InputError
from bedmodel.joinery.places import body_of, one_of, positive, told
from bedmodel.joinery.woodwork import Step


def eased(style: str = "roundover", size: float = 3.0) -> Step:
    """The chosen edges rounded over, or chamfered at 45 degrees, by ``size`` mm.

    Raises InputError where no edges are chosen, and where the kernel cannot ease them.
    """
    one_of("style", style, ("roundover", "chamfer"))
    positive("size", size)

    def step(work: cq.Workplane) -> cq.Workplane:
        edges = [thing for thing in work.objects if isinstance(thing, cq.Edge)]
        if not edges or len(edges) != len(work.objects):
            raise InputError(
                "eased", told(work.objects), "needs edges alone", 'choose them, as .edges("|Z")'
            )
        body = cq.Solid(body_of(work, "eased").wrapped)
        try:
            done = body.fillet(size, edges) if style == "roundover" else body.chamfer(
                size, None, edges
            )  # fmt: skip
        except Exception as failure:  # the kernel raises many kinds of its own
            raise InputError(
                "eased", f"{len(edges)} edges, {size:g} mm", "could not be eased", "make size less"
            ) from failure
        solids = done.Solids()
        if len(solids) != 1 or not done.isValid():
            raise InputError(
                "eased", f"{len(edges)} edges, {size:g} mm", "gave a faulty part", "make size less"
            )
        return work.newObject(solids)

    return step
