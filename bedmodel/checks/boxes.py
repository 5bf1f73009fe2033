"""Boxes round faces and edges along the axes, and the faces and edges of a shape."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from OCP.Bnd import Bnd_Box
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

from bedmodel.frames import Vector

FLAT = 1e-9  # an axis this near to square is square

SOLID, SHELL, FACE, EDGE, VERTEX = (
    TopAbs_ShapeEnum.TopAbs_SOLID,
    TopAbs_ShapeEnum.TopAbs_SHELL,
    TopAbs_ShapeEnum.TopAbs_FACE,
    TopAbs_ShapeEnum.TopAbs_EDGE,
    TopAbs_ShapeEnum.TopAbs_VERTEX,
)


def within(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> Iterator[TopoDS_Shape]:
    """The faces, edges or vertices of a shape; those shared come up more than once."""
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def box_of(shape: object, exact: bool = False) -> tuple[Vector, Vector]:
    """The box round a shape along its own axes, without the kernel's margin (mm)."""
    box = Bnd_Box()
    if exact:
        BRepBndLib.AddOptimal_s(shape, box, False, False)
    else:
        BRepBndLib.Add_s(shape, box, False)
    box.SetGap(0.0)
    x0, y0, z0, x1, y1, z1 = box.Get()
    return (x0, y0, z0), (x1, y1, z1)


def quick_box(face: TopoDS_Face) -> tuple[Vector, Vector]:
    """A box that holds a face, made at once (mm).

    Round a torus, such as the eased arris of a curve, the kernel's own is many
    millimetres too large in some places and a little too small in others, so
    there it is worked out here.
    """
    torus = _Torus.of(face)
    return torus.box() if torus is not None else box_of(face)


def exact_box(face: TopoDS_Face) -> tuple[Vector, Vector]:
    """The smallest box round a face (mm), some ten milliseconds where the kernel has to search.

    On a torus it need not, as long as no point inside the face is an outermost one: then
    its edges reach as far as the face does.
    """
    torus = _Torus.of(face)
    if torus is None or torus.turns_inside():
        return box_of(face, exact=True)
    return union_of([box_of(edge, exact=True) for edge in within(face, EDGE)])


Span = tuple[float, float]


@dataclass(frozen=True)
class _Torus:
    """A face's torus: its radii and axes, and the spans of both its angles (radians).

    A point's coordinate is c + (R + r cos v) w + r z sin v, where w = x cos u + y sin u.
    """

    centre: Vector
    axes: tuple[Vector, Vector, Vector]
    major: float
    minor: float
    u: Span
    v: Span

    @classmethod
    def of(cls, face: TopoDS_Face) -> _Torus | None:
        """The torus that a face is part of, if it is of one."""
        surface = BRepAdaptor_Surface(face, True)
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Torus:
            return None
        torus, axes = surface.Torus(), surface.Torus().Position()
        x, y, z, centre = (
            (p.X(), p.Y(), p.Z())
            for p in (axes.XDirection(), axes.YDirection(), axes.Direction(), axes.Location())
        )
        return cls(
            centre,
            (x, y, z),
            torus.MajorRadius(),
            torus.MinorRadius(),
            (surface.FirstUParameter(), surface.LastUParameter()),
            (surface.FirstVParameter(), surface.LastVParameter()),
        )

    def box(self) -> tuple[Vector, Vector]:
        """A box that holds all of both spans."""
        reaches = []
        for i in range(3):
            x, y, z = (axis[i] for axis in self.axes)
            # The coordinate is linear in w, so the ends of the range of w bound it.
            bounds = [
                self.centre[i] + self.major * w + self.minor * side
                for w in wave(x, y, self.u)
                for side in wave(w, z, self.v)
            ]
            reaches.append((min(bounds), max(bounds)))
        (x0, x1), (y0, y1), (z0, z1) = reaches
        return (x0, y0, z0), (x1, y1, z1)

    def turns_inside(self) -> bool:
        """Whether a coordinate has a turning point strictly inside both spans."""
        for i in range(3):
            x, y, z = (axis[i] for axis in self.axes)
            flat = math.hypot(x, y)
            for w, crest in ((flat, math.atan2(y, x)), (-flat, math.atan2(-y, -x))):
                if flat > FLAT and not _is_inside(crest, self.u):
                    continue
                if any(_is_inside(math.atan2(z, w) + turn, self.v) for turn in (0.0, math.pi)):
                    return True
        return False


def _is_inside(angle: float, span: Span) -> bool:
    """Whether an angle lies in a span, and not at one of its ends (radians)."""
    past = (angle - span[0]) % math.tau
    return 1e-6 < past < span[1] - span[0] - 1e-6


def wave(a: float, b: float, span: Span) -> Span:
    """Least and greatest value of a cos t + b sin t, for t in a span (radians)."""
    crest, height = math.atan2(b, a), math.hypot(a, b)
    values = [a * math.cos(t) + b * math.sin(t) for t in span]
    for turn, value in ((crest, height), (crest + math.pi, -height)):
        if (turn - span[0]) % math.tau <= span[1] - span[0]:
            values.append(value)
    return min(values), max(values)


def union_of(boxes: list[tuple[Vector, Vector]]) -> tuple[Vector, Vector]:
    lows, highs = zip(*boxes, strict=True)
    low = tuple(min(c) for c in zip(*lows, strict=True))
    high = tuple(max(c) for c in zip(*highs, strict=True))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])
