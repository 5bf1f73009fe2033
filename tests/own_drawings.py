"""Drawings of legs for the tests, and the one that lies in ``shared`` beside its sheet.

``python -m tests.own_drawings`` writes ``shared/medlar-leg.dxf`` anew.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf

Add = Callable[[Any, Callable[[float, float], tuple[float, float]], float], None]

SHARED = Path(__file__).resolve().parent.parent / "shared" / "medlar-leg.dxf"

# Inches, u out from the joint face, v up from the floor.
TOP, POST, KNEE, TOE = 48.0, 3.0, 5.0, 1.9
ELLIPSE = (5.0, 10.0, 2.0, 12.0)  # its centre, its half axes along u and v
POLES = ((0.0, KNEE), (0.0, 3.6), (0.9, 2.2), (TOE, 0.0))
ANGLE = math.asin(10 / 12)  # how far down the ellipse the floor is
REACH = ELLIPSE[0] - ELLIPSE[2] * math.cos(ANGLE)


def drawing(
    *,
    unit: int = 1,
    scale: float = 1.0,
    turn_deg: float = 0.0,
    mirrored: bool = False,
    shift: tuple[float, float] = (0.0, 0.0),
    version: str = "R2000",
) -> Any:
    """The medlar leg as a document: lines, an ellipse outside, a spline inside."""
    document = ezdxf.new(version)  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = unit
    space = document.modelspace()
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))

    def at(u: float, v: float) -> tuple[float, float]:
        x, y = (-u if mirrored else u) * scale, v * scale
        return (x * c - y * s + shift[0], x * s + y * c + shift[1])

    def line(layer: str, a: tuple[float, float], b: tuple[float, float]) -> None:
        space.add_line(at(*a), at(*b), dxfattribs={"layer": layer})

    line("JOINT", (0.0, KNEE), (0.0, TOP))
    line("TOP", (0.0, TOP), (POST, TOP))
    line("OUTER", (POST, ELLIPSE[1]), (POST, TOP))
    line("FLOOR", (TOE, 0.0), (REACH, 0.0))
    cu, cv, a, b = ELLIPSE
    centre, tip = at(cu, cv), at(cu, cv - b)
    # The major axis points down; in the mirror image the parameter runs the other way.
    params = (math.pi / 2 - ANGLE, math.pi / 2) if mirrored else (-math.pi / 2, ANGLE - math.pi / 2)
    if not mirrored:
        params = (math.tau - math.pi / 2, math.tau - math.pi / 2 + ANGLE)
    space.add_ellipse(
        centre,
        (tip[0] - centre[0], tip[1] - centre[1]),
        a / b,
        *params,
        dxfattribs={"layer": "OUTER"},
    )
    space.add_open_spline([at(*p) for p in POLES], dxfattribs={"layer": "INSIDE"})
    return document


def area() -> float:
    """Its area in square inches, by closed forms: rectangles, an ellipse's part, a Bezier's."""
    _, cv, a, b = ELLIPSE
    outer = ELLIPSE[0] * cv - (a * b / 2 * (ANGLE + math.sin(ANGLE) * math.cos(ANGLE)))
    return (TOP - cv) * POST + outer - _left_of_spline()


def _left_of_spline() -> float:
    """Between the v axis and the cubic from knee to toe: the integral of u dv, exactly.

    For a cubic Bezier, the integral of x dy is a fixed sum over pairs of its poles.
    """
    p = POLES
    return -sum(_PAIRS[i][j] * p[i][0] * p[j][1] for i in range(4) for j in range(4)) / 20


# 20 * integral of B_i * dB_j over 0..1, from the Beta function by hand.
_PAIRS = (
    (-10.0, 6.0, 3.0, 1.0),
    (-6.0, 0.0, 3.0, 3.0),
    (-3.0, -3.0, 0.0, 6.0),
    (-1.0, -3.0, -6.0, 10.0),
)


def as_bytes(document: Any) -> bytes:
    ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]
    stream = io.StringIO()
    document.write(stream)
    ezdxf.options.write_fixed_meta_data_for_testing = False  # type: ignore[attr-defined]
    return stream.getvalue().encode("utf-8")


if __name__ == "__main__":
    SHARED.write_bytes(as_bytes(drawing()))
