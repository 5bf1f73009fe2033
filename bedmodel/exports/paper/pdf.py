"""Write sheets as one PDF: exact scale, searchable text, the same bytes each time."""

from __future__ import annotations

import functools
import io
from collections.abc import Sequence
from typing import Any

from bedmodel.exports.paper.sheet import Circle, Clipped, Mark, Path, Pen, Sheet, Text, rectangle
from bedmodel.exports.paper.type import MM_PER_POINT, drawable, font_name, load_fonts

_POINTS = 1 / MM_PER_POINT  # in one mm
_DIGITS = 4  # of a mm


def pdf_bytes(sheets: Sequence[Sheet], title: str) -> bytes:
    """One page a sheet, each with its bookmark."""
    from reportlab.pdfgen.canvas import Canvas

    load_fonts()
    out = io.BytesIO()
    canvas: Any = Canvas(out, invariant=1, pageCompression=1)
    canvas.setTitle(drawable(title))
    canvas.setAuthor("")
    canvas.setCreator("bedmodel")
    # Viewers that heed this print at full size.
    canvas.setViewerPreference("PrintScaling", "None")
    for number, sheet in enumerate(sheets):
        canvas.setPageSize((sheet.paper.width * _POINTS, sheet.paper.height * _POINTS))
        canvas.bookmarkPage(f"p{number}")
        canvas.addOutlineEntry(drawable(sheet.title), f"p{number}")
        draw_marks(canvas, sheet.marks)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def draw_marks(canvas: Any, marks: Sequence[Mark]) -> None:
    """Draw marks on a page whose origin is the paper's lower left corner."""
    canvas.setLineJoin(1)
    for mark in marks:
        _draw(canvas, mark)


def _draw(canvas: Any, mark: Mark) -> None:
    if isinstance(mark, Text):
        _write(canvas, mark)
        return
    if isinstance(mark, Clipped):
        canvas.saveState()
        canvas.clipPath(_path(canvas, rectangle(mark.box)), stroke=0, fill=0)
        for each in mark.marks:
            _draw(canvas, each)
        canvas.restoreState()
        return
    if mark.pen:
        _take(canvas, mark.pen)
    if mark.fill:
        canvas.setFillColor(_colour(mark.fill))
    stroke, fill = int(mark.pen is not None), int(bool(mark.fill))
    if isinstance(mark, Circle):
        canvas.circle(*map(_pt, mark.centre), _pt(mark.diameter / 2), stroke, fill)
    else:
        canvas.drawPath(_path(canvas, mark), stroke, fill)


def _path(canvas: Any, mark: Path) -> Any:
    path = canvas.beginPath()
    path.moveTo(*map(_pt, mark.points[0]))
    for point in mark.points[1:]:
        path.lineTo(*map(_pt, point))
    if mark.closed:
        path.close()
    return path


def _take(canvas: Any, pen: Pen) -> None:
    canvas.setStrokeColor(_colour(pen.colour))
    canvas.setLineWidth(_pt(pen.width))
    canvas.setDash([_pt(each) for each in pen.dash])


def _write(canvas: Any, mark: Text) -> None:
    canvas.setFillColor(_colour(mark.colour))
    canvas.setFont(font_name(mark.bold), mark.size)
    x, y = map(_pt, mark.at)
    draw = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[mark.anchor]
    if not mark.turn_deg:
        draw(x, y, mark.text)
        return
    canvas.saveState()
    canvas.translate(x, y)
    canvas.rotate(mark.turn_deg)
    draw(0, 0, mark.text)
    canvas.restoreState()


@functools.cache
def _colour(text: str) -> Any:
    from reportlab.lib.colors import toColor

    return toColor(text)


def _pt(length: float) -> float:
    return round(length, _DIGITS) * _POINTS
