"""Write pages as one DXF document: the model at 1:1 in mm, one layout with its views a sheet.

Every figure lies in the model space at true size, ``SLOT`` apart from the next, with real
dimensions; its viewport shows it on its sheet at the sheet's scale. Dimensions carry their
own drawing, so every program shows them alike, and the text as the sheet writes it.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import Any

from ezdxf.filemanagement import new as new_document

from bedmodel.drawing.curves import Arc, Curve, EllipseArc, Line, Point
from bedmodel.drawing.figure import HATCH_GAP, Figure, Fill, Measure
from bedmodel.drawing.page import Page, Placed
from bedmodel.drawing.pens import LAYERS, OF_INK
from bedmodel.exports.cnc import without_clock
from bedmodel.exports.paper.sheet import Circle, Clipped, Mark, Text
from bedmodel.exports.paper.type import MM_PER_POINT

SLOT = 20_000.0  # mm from one figure to the next
CAPITAL = 0.73  # share of the type's size that its capitals are high
REGULAR, BOLD = "SHEET", "SHEET_BOLD"
_FONTS = {REGULAR: "DejaVuSans.ttf", BOLD: "DejaVuSans-Bold.ttf"}
_ROOM = 0.6  # mm of paper round a figure in its viewport
_STYLE = "SHEET"
APP = "BEDMODEL"  # owner of the names kept with the dimensions
# Kinds of dimension. Source: the DXF reference, group 70 of DIMENSION.
_KINDS = {"linear": 0, "aligned": 1, "angle": 5, "diameter": 3, "radius": 4, "running": 6}
_OWN_BLOCK, _ALONG_X = 32, 64
_ALIGNED = {"start": 0, "middle": 1, "end": 2}


def make_document(pages: Sequence[Page]) -> Any:
    """The pages as an ezdxf document."""
    with without_clock():
        document = new_document("R2010", setup=False)
        _set_up(document)
        slot = 0
        for page in pages:
            layout = document.layouts.new(page.name)
            paper = page.paper
            layout.page_setup(size=(paper.width, paper.height), margins=(0, 0, 0, 0), units="mm")
            for mark in page.marks:
                _draw_mark(layout, mark)
            for placed in page.placed:
                _draw_figure(document, placed.figure, slot * SLOT)
                _show(layout, placed, slot * SLOT)
                slot += 1
        document.layouts.delete("Layout1")
        _set_extents(document, pages)
    return document


def dxf_bytes(document: Any) -> bytes:
    """The document as a file; the same bytes on every run."""
    with without_clock():
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _set_up(document: Any) -> None:
    header = document.header
    header["$INSUNITS"], header["$MEASUREMENT"] = 4, 1
    header["$PSLTSCALE"], header["$LTSCALE"] = 1, 1.0
    document.appids.add(APP)
    for name, font in _FONTS.items():
        document.styles.add(name, font=font)
    for name, (pen, purpose) in LAYERS.items():
        linetype = "Continuous"
        if pen.dash:
            linetype = f"PAPER_{name}"
            signed = [v if i % 2 == 0 else -v for i, v in enumerate(pen.dash)]
            document.linetypes.add(linetype, [sum(pen.dash), *signed], description=purpose)
        layer = document.layers.add(name, linetype=linetype, lineweight=round(pen.width * 100))
        layer.rgb = tuple(int(pen.colour[i : i + 2], 16) for i in (1, 3, 5))
        layer.description = purpose
    document.layers.get("VIEWPORTS").dxf.plot = 0
    style = document.dimstyles.add(_STYLE)
    style.dxf.dimtxt, style.dxf.dimasz, style.dxf.dimexe = 2.0, 2.2, 1.2
    style.dxf.dimexo, style.dxf.dimgap, style.dxf.dimdec = 0.8, 0.7, 1
    style.dxf.dimtxsty = REGULAR


def _set_extents(document: Any, pages: Sequence[Page]) -> None:
    count = sum(len(page.placed) for page in pages)
    low, high = (-SLOT / 2, -SLOT / 2, 0.0), (count * SLOT, SLOT / 2, 0.0)
    header = document.header
    header["$EXTMIN"], header["$EXTMAX"] = low, high
    header["$LIMMIN"], header["$LIMMAX"] = low[:2], high[:2]
    document.modelspace().reset_extents(low, high)
    document.modelspace().reset_limits(low[:2], high[:2])


# --- paper space ---------------------------------------------------------------------------


def _draw_mark(layout: Any, mark: Mark) -> None:
    if isinstance(mark, Text):
        _write(layout, mark, (0.0, 0.0), 1.0, "TEXT")
        return
    if isinstance(mark, Clipped):
        raise TypeError("a drawing's own marks are not cut off at a box")
    look = {"layer": mark.role or "THIN"}
    if isinstance(mark, Circle):
        if mark.fill:
            ring = Arc(mark.centre, mark.diameter / 2, 0.0, math.tau).points(0.02)
            _fill(layout, ring, {"layer": "SHADE" if mark.fill != "#000000" else "THIN"})
        if mark.pen:
            layout.add_circle(mark.centre, mark.diameter / 2, dxfattribs=look)
        return
    if mark.fill:
        _fill(layout, mark.points, {"layer": "SHADE" if mark.fill != "#000000" else "THIN"})
    if mark.pen:
        layout.add_lwpolyline(mark.points, close=mark.closed, dxfattribs=look)


def _show(layout: Any, placed: Placed, offset: float) -> None:
    figure, (x, y) = placed.figure, placed.at
    box, n = figure.box, figure.scale
    width, height = box.width + 2 * _ROOM, box.height + 2 * _ROOM
    middle = ((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2)
    layout.add_viewport(
        center=(x + middle[0], y + middle[1]),
        size=(width, height),
        view_center_point=(offset + middle[0] * n, middle[1] * n),
        view_height=height * n,
        dxfattribs={"layer": "VIEWPORTS"},
    )


# --- model space ---------------------------------------------------------------------------


def _draw_figure(document: Any, figure: Figure, offset: float) -> None:
    space, n, at = document.modelspace(), figure.scale, (offset, 0.0)
    for hatch in figure.hatches:
        entity = space.add_hatch(dxfattribs={"layer": "HATCH"})
        turn = math.radians(hatch.angle_deg)
        gap = HATCH_GAP * n
        step = (-gap * math.sin(turn), gap * math.cos(turn))
        entity.set_pattern_fill("WOOD", definition=[[hatch.angle_deg, (0.0, 0.0), step, []]])
        for ring in hatch.rings:
            points = [(offset + x * n, y * n) for x, y in ring]
            entity.paths.add_polyline_path(points, is_closed=True)
    for stroke in figure.strokes:
        _draw_curve(space, stroke.curve.placed(at, n), {"layer": OF_INK[stroke.ink]})
    for fill in figure.fills:
        _fill(space, _scaled(fill, at, n), {"layer": "THIN"})
    for measure in figure.measures:
        _dimension(document, measure, at, n)
    for word in figure.words:
        _write(space, word, at, n, "TEXT")


def _scaled(fill: Fill, at: Point, n: float) -> list[Point]:
    return [(at[0] + x * n, at[1] + y * n) for x, y in fill.points]


def _draw_curve(space: Any, curve: Curve, look: dict[str, Any]) -> None:
    if isinstance(curve, Line):
        space.add_line(curve.start, curve.end, dxfattribs=look)
    elif isinstance(curve, Arc) and curve.is_whole:
        space.add_circle(curve.centre, curve.radius, dxfattribs=look)
    elif isinstance(curve, Arc):
        ends = math.degrees(curve.first), math.degrees(curve.last)
        space.add_arc(curve.centre, curve.radius, *ends, dxfattribs=look)
    elif isinstance(curve, EllipseArc):
        space.add_ellipse(
            curve.centre,
            (*curve.major, 0.0),
            max(curve.ratio, 1e-6),
            curve.first,
            curve.last,
            dxfattribs=look,
        )
    else:
        space.add_lwpolyline(curve.run, dxfattribs=look)


def _fill(space: Any, points: Sequence[Point], look: dict[str, Any]) -> None:
    if len(points) == 3:
        space.add_solid([*points, points[2]], dxfattribs=look)
        return
    entity = space.add_hatch(dxfattribs=look)
    entity.set_solid_fill(color=256)
    entity.paths.add_polyline_path(points, is_closed=True)


def _dimension(document: Any, measure: Measure, at: Point, n: float) -> None:
    block = document.blocks.new_anonymous_block(type_char="D")
    look = {"layer": "DIMENSION"}
    for stroke in measure.strokes:
        _draw_curve(block, stroke.curve.placed(at, n), look)
    for fill in measure.fills:
        _fill(block, _scaled(fill, at, n), look)
    _write(block, measure.text, at, n, "DIMENSION")
    points = [(at[0] + x * n, at[1] + y * n, 0.0) for x, y in measure.points]
    kind = _KINDS[measure.kind] | _OWN_BLOCK
    kind |= _ALONG_X if measure.kind == "running" and measure.along == "x" else 0
    where = measure.text.at
    entity = document.modelspace().new_entity(
        "DIMENSION",
        {
            **look,
            "dimtype": kind,
            "dimstyle": _STYLE,
            "geometry": block.name,
            "text": measure.text.text or " ",
            "text_midpoint": (at[0] + where[0] * n, at[1] + where[1] * n, 0.0),
            "actual_measurement": measure.value,
            **_definition(measure, points),
        },
    )
    # What it measures, for programs that read the file.
    entity.set_xdata(APP, [(1000, measure.of)])


def _definition(measure: Measure, points: Sequence[tuple[float, ...]]) -> dict[str, Any]:
    if measure.kind == "linear":
        turn = 0.0 if measure.along == "x" else 90.0
        return {
            "defpoint": points[2],
            "defpoint2": points[0],
            "defpoint3": points[1],
            "angle": turn,
        }
    if measure.kind == "aligned":
        return {"defpoint": points[2], "defpoint2": points[0], "defpoint3": points[1]}
    if measure.kind == "running":
        return {"defpoint": points[0], "defpoint2": points[1], "defpoint3": points[2]}
    if measure.kind == "angle":
        return {
            "defpoint4": points[0],
            "defpoint2": points[1],
            "defpoint3": points[2],
            "defpoint": points[3],
        }
    return {"defpoint": points[0], "defpoint4": points[1]}


def _write(space: Any, word: Text, at: Point, n: float, layer: str) -> None:
    if not word.text:
        return
    where = (at[0] + word.at[0] * n, at[1] + word.at[1] * n)
    entity = space.add_text(
        word.text,
        height=word.size * MM_PER_POINT * CAPITAL * n,
        rotation=word.turn_deg,
        dxfattribs={"layer": layer, "style": BOLD if word.bold else REGULAR},
    )
    entity.dxf.insert = where
    if word.anchor != "start":
        entity.dxf.halign = _ALIGNED[word.anchor]
        entity.dxf.align_point = where
