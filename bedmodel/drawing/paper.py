"""Draw the layouts of a drawing's document on paper: each a sheet, from which PDF and SVG come.

The library's drawing front end walks the document and its viewports; here its lines become
marks, with the pen of their layer, and its texts stay texts, whatever fonts a machine has.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ezdxf.addons.drawing.backend import Backend
from ezdxf.addons.drawing.config import (
    BackgroundPolicy,
    ColorPolicy,
    Configuration,
    LinePolicy,
)
from ezdxf.addons.drawing.frontend import UniversalFrontend
from ezdxf.addons.drawing.pipeline import RenderPipeline2d
from ezdxf.addons.drawing.properties import RenderContext
from ezdxf.math import Vec2, Vec3

from bedmodel.drawing.document import BOLD, CAPITAL, SLOT
from bedmodel.drawing.pens import LAYERS
from bedmodel.exports.paper.sheet import Mark, Paper, Path, Point, Sheet, Text
from bedmodel.exports.paper.type import MM_PER_POINT

_ANCHORS = {0: "start", 1: "middle", 2: "end"}
_FLAT = 0.01  # mm of paper between a curve and its bits


def sheets_of(document: Any, titles: Iterable[tuple[str, str]]) -> Iterator[Sheet]:
    """The sheets of the named layouts, each with its title, in order."""
    slots = _by_slot(document)
    context = RenderContext(document)
    for name, title in titles:
        yield _sheet(document.layouts.get(name), title, context, slots)


def _sheet(layout: Any, title: str, context: Any, slots: dict[int, list[Any]]) -> Sheet:
    config = Configuration(
        line_policy=LinePolicy.SOLID,
        background_policy=BackgroundPolicy.WHITE,
        color_policy=ColorPolicy.BLACK,
        max_flattening_distance=_FLAT,
    )
    recorder = _Recorder()
    pipeline = _Pipeline(recorder, slots)
    _Frontend(context, pipeline, config).draw_layout(layout)
    paper = Paper(layout.name, layout.dxf.paper_width, layout.dxf.paper_height)
    return Sheet(paper, title, (*recorder.lines, *recorder.words))


def _by_slot(document: Any) -> dict[int, list[Any]]:
    """The entities of each figure, told by the place where the figure lies."""
    slots: dict[int, list[Any]] = {}
    for entity in document.modelspace():
        slots.setdefault(round(_somewhere(entity) / SLOT), []).append(entity)
    return slots


def _somewhere(entity: Any) -> float:
    for name in ("start", "center", "insert", "defpoint", "vtx0"):
        if entity.dxf.hasattr(name):
            return float(entity.dxf.get(name)[0])
    if entity.dxftype() == "HATCH":
        return float(entity.paths[0].vertices[0][0])
    return float(entity[0][0])


class _Recorder(Backend):
    """Keeps what the front end draws as marks."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[Mark] = []
        self.words: list[Text] = []

    def draw_point(self, pos: Vec2, properties: Any) -> None:
        raise NotImplementedError("a drawing has no points")

    def draw_line(self, start: Vec2, end: Vec2, properties: Any) -> None:
        self._line(((start.x, start.y), (end.x, end.y)), properties.layer)

    def draw_path(self, path: Any, properties: Any) -> None:
        points = tuple((v.x, v.y) for v in path.flattening(_FLAT, segments=4))
        closed = len(points) > 2 and Vec2(points[0]).isclose(points[-1], abs_tol=1e-6)
        self._line(points[:-1] if closed else points, properties.layer, closed)

    def draw_filled_paths(self, paths: Any, properties: Any) -> None:
        for path in paths:
            points = tuple((v.x, v.y) for v in path.flattening(_FLAT, segments=4))
            self._area(points, properties.layer)

    def draw_filled_polygon(self, points: Any, properties: Any) -> None:
        self._area(tuple((v.x, v.y) for v in points.vertices()), properties.layer)

    def draw_image(self, image_data: Any, properties: Any) -> None:
        raise NotImplementedError("a drawing has no images")

    def set_background(self, color: str) -> None:
        pass

    def clear(self) -> None:
        self.lines.clear()

    def _line(self, points: tuple[Point, ...], layer: str, closed: bool = False) -> None:
        if layer != "VIEWPORTS":
            self.lines.append(Path(points, LAYERS[layer][0], "", closed, layer.lower()))

    def _area(self, points: tuple[Point, ...], layer: str) -> None:
        self.lines.append(Path(points, None, LAYERS[layer][0].colour, True, layer.lower()))


class _Pipeline(RenderPipeline2d):
    """Shows each viewport the entities of its own figure only, and knows where it puts them."""

    def __init__(self, recorder: _Recorder, slots: dict[int, list[Any]]) -> None:
        super().__init__(recorder)
        self.recorder = recorder
        self._slots = slots
        self._matrix: Any = None

    def draw_viewport(self, vp: Any, layout_ctx: Any, bbox_cache: Any = None) -> None:
        if not self.enter_viewport(vp):
            return
        self._matrix = vp.get_transformation_matrix()
        slot = round(vp.dxf.view_center_point[0] / SLOT)
        self.draw_entities(layout_ctx.from_viewport(vp), self._slots.get(slot, []))
        self._matrix = None
        self.exit_viewport()  # type: ignore[no-untyped-call]

    def write(self, entity: Any) -> None:
        dxf = entity.dxf
        anchor = _ANCHORS[dxf.get("halign", 0)]
        at = Vec3(dxf.align_point if anchor != "start" else dxf.insert)
        scale = 1.0
        if self._matrix is not None:
            at, scale = self._matrix.transform(at), self.current_vp_scale
        size = round(dxf.height * scale / (MM_PER_POINT * CAPITAL), 3)
        turn = dxf.get("rotation", 0.0)
        word = Text(dxf.text, (at.x, at.y), size, dxf.style == BOLD, anchor, turn)  # type: ignore[arg-type]
        self.recorder.words.append(word)


class _Frontend(UniversalFrontend):
    def draw_text_entity(self, entity: Any, properties: Any) -> None:
        del properties
        self.pipeline.write(entity)  # type: ignore[attr-defined]

    def draw_hatch_pattern(self, polygon: Any, paths: Any, properties: Any) -> None:
        """Hatch by even and odd; the library's own way shifts the lines by chance each time."""
        del paths
        rings = [[(x, y) for x, y, *_ in path.vertices] for path in polygon.paths]
        for line in polygon.pattern.lines:
            gap = Vec2(line.offset).magnitude
            for start, end in hatched(rings, gap, line.angle):
                self.pipeline.draw_line(Vec3(*start), Vec3(*end), properties)


def hatched(
    rings: Sequence[Sequence[Point]], gap: float, angle_deg: float
) -> Iterator[tuple[Point, Point]]:
    """Parallel lines inside the outer ring and outside the others, on one grid."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turned = [[(x * c + y * s, y * c - x * s) for x, y in ring] for ring in rings]
    levels = [y for ring in turned for _, y in ring]
    for k in range(math.ceil(min(levels) / gap - 0.5), math.floor(max(levels) / gap - 0.5) + 1):
        y = (k + 0.5) * gap
        cuts = sorted(
            x0 + (x1 - x0) * (y - y0) / (y1 - y0)
            for ring in turned
            for (x0, y0), (x1, y1) in zip(ring, [*ring[1:], ring[0]], strict=True)
            if (y0 <= y) != (y1 <= y)
        )
        for x0, x1 in zip(cuts[::2], cuts[1::2], strict=True):
            yield (x0 * c - y * s, x0 * s + y * c), (x1 * c - y * s, x1 * s + y * c)
