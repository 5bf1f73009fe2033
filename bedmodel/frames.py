"""Rigid placements in space, without numpy, so that sizes come out at once.

A ``Frame`` says where one set of axes stands in another: ``bed`` in words of
the project, "the part frame, placed in the bed frame". All maths is on plain
tuples, so frames can be compared, hashed and written out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

Vector = tuple[float, float, float]

ORIGIN: Vector = (0.0, 0.0, 0.0)
X: Vector = (1.0, 0.0, 0.0)
Y: Vector = (0.0, 1.0, 0.0)
Z: Vector = (0.0, 0.0, 1.0)


def add(a: Vector, b: Vector) -> Vector:
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def subtract(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def scale(a: Vector, factor: float) -> Vector:
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def unit(a: Vector) -> Vector:
    return scale(a, 1.0 / math.sqrt(dot(a, a)))


@dataclass(frozen=True)
class Frame:
    """A right-handed set of axes: origin and the three unit vectors, in another frame."""

    origin: Vector = ORIGIN
    x: Vector = X
    y: Vector = Y
    z: Vector = Z

    @classmethod
    def from_zx(cls, origin: Vector, z: Vector, x: Vector) -> Frame:
        """Make a frame from its origin, its z axis and its x axis (made square to z)."""
        z = unit(z)
        x = unit(subtract(x, scale(z, dot(x, z))))
        return cls(origin, x, cross(z, x), z)

    def point(self, p: Vector) -> Vector:
        """Take a point given in this frame to the outer frame."""
        return add(self.origin, self.direction(p))

    def direction(self, d: Vector) -> Vector:
        """Take a direction given in this frame to the outer frame."""
        return add(add(scale(self.x, d[0]), scale(self.y, d[1])), scale(self.z, d[2]))

    def __matmul__(self, inner: Frame) -> Frame:
        """Place ``inner``, given in this frame, in the outer frame."""
        return Frame(
            self.point(inner.origin),
            self.direction(inner.x),
            self.direction(inner.y),
            self.direction(inner.z),
        )

    def inverse(self) -> Frame:
        """The outer frame as seen from this one."""
        back = (self.x, self.y, self.z)
        turned = Frame(ORIGIN, *((back[0][i], back[1][i], back[2][i]) for i in range(3)))
        return Frame(scale(turned.direction(self.origin), -1.0), turned.x, turned.y, turned.z)

    def moved(self, by: Vector) -> Frame:
        """The same axes, shifted in the outer frame."""
        return Frame(add(self.origin, by), self.x, self.y, self.z)
