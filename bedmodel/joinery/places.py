"""Where on a part a joint is cut: the points of a CadQuery workplane, and the wood behind them.

At each place x lies along the workplane's x, turned by ``rotation`` degrees anticlockwise as
seen from outside, and the workplane's normal points out of the wood.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy

from bedmodel.cuts import Boss, Cut
from bedmodel.errors import InputError
from bedmodel.frames import Frame, Vector, add, dot, scale
from bedmodel.solids import OVERSHOOT, boss_of, tool_of, volume_of

SLACK = 1e-4  # share of a cut's volume that rounding may hide


@dataclass(frozen=True)
class Tool:
    """A solid that takes wood away, and which place it belongs to.

    ``inside`` must lie in wood wholly, ``before`` in none; None where that does not matter.
    """

    solid: cq.Shape
    place: int
    inside: cq.Shape | None = None
    before: cq.Shape | None = None


def into_wood(work: cq.Workplane, what: str, rotation: float) -> list[Frame]:
    """A frame at each place, z into the wood. Raises InputError for a wrong selection."""
    return [Frame.from_zx(f.origin, scale(f.z, -1.0), f.x) for f in out_of(work, what, rotation)]


def out_of(work: cq.Workplane, what: str, rotation: float) -> list[Frame]:
    """A frame at each place, z out of the wood. Raises InputError for a wrong selection."""
    turn = math.radians(rotation)
    plane, frames = work.plane, list[Frame]()
    normal, along = plane.zDir.toTuple(), plane.xDir.toTuple()
    across = plane.yDir.toTuple()
    x = add(scale(along, math.cos(turn)), scale(across, math.sin(turn)))
    chosen = work.objects or [plane.origin]
    for number, thing in enumerate(chosen, start=1):
        if isinstance(thing, cq.Location):
            frames.append(_of_location(plane.location * thing, turn))
            continue
        if isinstance(thing, cq.Face):
            _check_face(thing, normal, what, f"face {number} of {len(chosen)}")
        elif not isinstance(thing, cq.Vector | cq.Vertex):
            raise InputError(
                what,
                told(work.objects),
                "needs points on a face",
                'choose one face, as .faces(">Z").workplane(), then points, as .pushPoints(...)',
            )
        middle = thing if isinstance(thing, cq.Vector) else thing.Center()
        frames.append(Frame.from_zx(middle.toTuple(), normal, x))
    return frames


def _of_location(place: cq.Location, turn: float) -> Frame:
    there = cq.Plane(place)
    x = there.xDir * math.cos(turn) + there.yDir * math.sin(turn)
    return Frame.from_zx(there.origin.toTuple(), there.zDir.toTuple(), x.toTuple())


def _check_face(face: cq.Face, normal: Vector, what: str, which: str) -> None:
    if face.geomType() != "PLANE":
        raise InputError(what, f"{which}, of type {face.geomType()}", "needs a flat face")
    facing = face.normalAt().toTuple()
    if dot(facing, normal) < 1 - 1e-6:
        raise InputError(
            what,
            f"{which}, which faces {_point(facing)}",
            f"does not face as the workplane does, {_point(normal)}",
            "add .workplane() behind .faces(...)",
        )


def told(things: Sequence[object]) -> str:
    """What was found, as "4 edges and 1 solid"."""
    if not things:
        return "nothing chosen"
    names: dict[str, int] = {}
    for thing in things:
        name = thing.ShapeType().lower() if isinstance(thing, cq.Shape) else type(thing).__name__
        names[name] = names.get(name, 0) + 1
    plural = {"vertex": "vertices"}
    return " and ".join(
        f"{n} {name if n == 1 else plural.get(name, name + 's')}" for name, n in names.items()
    )


def _point(p: Vector) -> str:
    return "(" + ", ".join(f"{round(c, 2) + 0.0:g}" for c in p) + ")"


def body_of(work: cq.Workplane, what: str) -> cq.Shape:
    """The one solid of the chain. Raises InputError when there is none, or more than one."""
    try:
        found = work.findSolid()
    except ValueError:
        raise InputError(
            what, "0 solids", "needs a part to be cut", "make one first, as with .box(...)"
        ) from None
    solids = found.Solids()
    if len(solids) != 1:
        raise InputError(
            what, f"{len(solids)} solids", "needs one part", "choose it, as with .solids(...)"
        )
    return solids[0]


def tools(cuts: Iterable[Cut], place: int, surface: Frame, *, runs_out: bool = False) -> list[Tool]:
    """The tools of cuts that belong to one place, whose frame is ``surface``.

    A hole right through may run out, and only what opens at the place itself is clear of wood
    before its opening: a pocket lies behind its recess.
    """
    found = []
    for cut in cuts:
        inside = before = None
        if not runs_out and not cut.through:
            inside = boss_of(Boss(cut.frame, cut.opening, cut.depth))
            if abs(surface.inverse().point(cut.frame.origin)[2]) < 1e-6:
                f = cut.frame
                outside = Frame(f.point((0.0, 0.0, -OVERSHOOT)), f.x, f.y, f.z)
                before = boss_of(Boss(outside, cut.opening, OVERSHOOT))
        found.append(Tool(tool_of(cut), place, inside, before))
    return found


def cut_away(
    work: cq.Workplane, what: str, frames: Sequence[Frame], found: Sequence[Tool]
) -> cq.Workplane:
    """The chain with its part less what the tools take; the part must stay in one piece.

    Raises InputError for a tool that meets no wood, is not wholly in it where it should be,
    has wood before its opening, or for tools that cut the part in two.
    """
    body = body_of(work, what)
    for tool in found:
        where = f"place {tool.place + 1} of {len(frames)} at {_point(frames[tool.place].origin)}"
        if _common(body, tool.solid) <= 1e-6:
            raise InputError(
                what,
                where,
                "meets no wood",
                "move it, or choose the face it goes into; .workplane() keeps the earlier origin",
            )
        if tool.before is not None and _common(body, tool.before) > 1e-3:
            raise InputError(
                what,
                where,
                "has wood before its opening",
                "put the workplane on the part's surface, or say runs_out=True",
            )
        if tool.inside is None:
            continue
        whole = volume_of(tool.inside.wrapped)
        share = _common(body, tool.inside) / whole
        if share < 1 - SLACK:
            raise InputError(
                what,
                where,
                f"lies {math.floor(100 * share)} % in wood, must lie in it wholly",
                "move it, make it smaller or less deep, or say runs_out=True",
            )
    # A copy, or the kernel may widen the tolerances of the part that was handed in.
    copy = cq.Shape.cast(BRepBuilderAPI_Copy(body.wrapped).Shape())
    left = copy.cut(*(tool.solid for tool in found)).Solids()
    if len(left) != 1:
        raise InputError(
            what,
            f"{len(frames)} places",
            f"cuts the part into {len(left)}",
            "move it or make it smaller",
        )
    return work.newObject([left[0]])


def _common(one: cq.Shape, other: cq.Shape) -> float:
    return volume_of(BRepAlgoAPI_Common(one.wrapped, other.wrapped).Shape())


def positive(name: str, value: float) -> float:
    """A length in mm. Raises InputError when it is none, or not more than 0."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise InputError(name, value, "must be a number of millimetres")
    if value <= 0:
        raise InputError(name, f"{value:g} mm", "must be more than 0")
    return float(value)


def one_of(name: str, value: str, allowed: Sequence[str]) -> str:
    """A word. Raises InputError when it is not among the allowed ones."""
    if value not in allowed:
        raise InputError(name, value, f"must be one of {', '.join(allowed)}")
    return value
