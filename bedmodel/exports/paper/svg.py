"""Write one sheet as SVG, in millimetres, with text that stays text.

Each text says how wide it is, so that a viewer without the font still keeps it in its place.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from bedmodel.exports.paper.sheet import Circle, Clipped, Mark, Path, Pen, Point, Sheet, Text
from bedmodel.exports.paper.type import FAMILY, MM_PER_POINT, drawable

_DIGITS = 4


def svg_bytes(sheet: Sheet) -> bytes:
    """The sheet as a file of its own: no link, no script, no style sheet."""
    width, height = _number(sheet.paper.width), _number(sheet.paper.height)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}" font-family="{FAMILY}">',
        f"<title>{escape(drawable(sheet.title))}</title>",
        f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
        *(_element(mark, sheet.paper.height) for mark in sheet.marks),
        "</svg>",
    ]
    return ("\n".join(lines) + "\n").encode("utf-8")


def _element(mark: Mark, height: float) -> str:
    if isinstance(mark, Text):
        return _text(mark, height)
    if isinstance(mark, Clipped):
        return _clipped(mark, height)
    role = f" class={quoteattr(mark.role)}" if mark.role else ""
    look = "".join(_look(mark.pen, mark.fill))
    if isinstance(mark, Circle):
        x, y = _flipped(mark.centre, height)
        return f'<circle{role} cx="{x}" cy="{y}" r="{_number(mark.diameter / 2)}"{look}/>'
    return f'<path{role} d="{_steps(mark, height)}"{look}/>'


def _clipped(mark: Clipped, height: float) -> str:
    """A drawing in the drawing, in the same measures: what lies outside its view is cut off."""
    x, y = _flipped((mark.box.x0, mark.box.y1), height)
    width, tall = _number(mark.box.width), _number(mark.box.height)
    inside = "\n".join(_element(each, height) for each in mark.marks)
    place = f'x="{x}" y="{y}" width="{width}" height="{tall}"'
    return f'<svg {place} viewBox="{x} {y} {width} {tall}">\n{inside}\n</svg>'


def _steps(mark: Path, height: float) -> str:
    steps = ["{} {}".format(*_flipped(point, height)) for point in mark.points]
    return "M" + "L".join(steps) + ("Z" if mark.closed else "")


def _look(pen: Pen | None, fill: str) -> Iterator[str]:
    yield f' fill="{fill or "none"}"'
    if pen is None:
        return
    yield f' stroke="{pen.colour}" stroke-width="{_number(pen.width)}" stroke-linejoin="round"'
    if pen.dash:
        yield f' stroke-dasharray="{" ".join(map(_number, pen.dash))}"'


def _text(mark: Text, height: float) -> str:
    x, y = _flipped(mark.at, height)
    parts = [
        f'<text x="{x}" y="{y}" font-size="{_number(mark.size * MM_PER_POINT)}"',
        f' textLength="{_number(mark.width)}" lengthAdjust="spacingAndGlyphs"',
        f' fill="{mark.colour}"',
    ]
    if mark.role:
        parts.append(f" class={quoteattr(mark.role)}")
    if mark.bold:
        parts.append(' font-weight="bold"')
    if mark.anchor != "start":
        parts.append(f' text-anchor="{mark.anchor}"')
    if mark.turn_deg:
        parts.append(f' transform="rotate({_number(-mark.turn_deg)} {x} {y})"')
    return "".join(parts) + f">{escape(mark.text)}</text>"


def _flipped(point: Point, height: float) -> tuple[str, str]:
    return _number(point[0]), _number(height - point[1])


def _number(value: float) -> str:
    return f"{round(value, _DIGITS) + 0.0:.{_DIGITS}f}".rstrip("0").rstrip(".")
