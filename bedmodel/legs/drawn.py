"""Reading a drawing (DXF) that nobody vouches for: its lines and arcs, by layer, in mm.

Looked at before the library reads it: bytes, kind of file, count of entities. Taken: LINE, ARC,
LWPOLYLINE and POLYLINE with bulges; ELLIPSE and SPLINE become arcs. Words, points and
dimensions are passed over, and so are the layers of marks and notes that bedmodel writes.
Whatever else there is refuses the file, with its place in the drawing's own unit.
"""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from bedmodel.legs.biarcs import TooManyArcs, as_arcs
from bedmodel.outline import Edge, Point
from bedmodel.units import MM_PER_INCH, LengthUnit

WITHIN = 0.01  # mm that arcs may stray from an ellipse or a spline
MOST_LINES = 150_000
MOST_ENTITIES = 2000
MOST_EDGES = 800
FARTHEST = 1e6  # drawing units from the origin
MOST_POLES = 400
STEEPEST_DEGREE = 11
# The unit's code in the header ($INSUNITS): its name and mm.
UNITS = {
    1: ("inch", MM_PER_INCH),
    2: ("foot", 12 * MM_PER_INCH),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
}
_PASSED_OVER = {"TEXT", "MTEXT", "POINT", "DIMENSION", "LEADER", "ATTDEF", "VIEWPORT"}
_OTHER_LAYERS = ("MARK_", "NOTES", "DEFPOINTS")
_APP = "BEDMODEL"  # edges' names in the drawings that bedmodel writes
_BINARY = b"AutoCAD Binary DXF"


class BadDrawing(Exception):
    """Why a drawing cannot be used, and the remedy, each in a few words."""

    def __init__(self, wrong: str, remedy: str) -> None:
        super().__init__(wrong)
        self.wrong, self.remedy = wrong, remedy


@dataclass(frozen=True)
class DrawnEdge:
    """One line or arc in mm, its name that of its layer, and what to call it."""

    edge: Edge
    spoken: str


@dataclass(frozen=True)
class Drawing:
    """All edges (mm), the unit they were drawn in and its mm, and how far arcs stray (mm)."""

    edges: tuple[DrawnEdge, ...]
    unit: str
    factor: float
    strays: float

    def place(self, p: Point) -> str:
        """A place as the drawing program shows it."""
        return f"({p[0] / self.factor:.4g}, {p[1] / self.factor:.4g})"


def read_drawing(data: bytes, bare: LengthUnit) -> Drawing:
    """Read a drawing; one without a unit is in ``bare``. Raises BadDrawing."""
    text = _looked_at(data)
    document = _document(text)
    unit, factor = _unit(document, bare)
    edges: list[DrawnEdge] = []
    worst = 0.0
    try:
        for entity in document.modelspace():
            found, strays = _edges_of(entity, factor)
            edges += found
            worst = max(worst, strays)
            if len(edges) > MOST_EDGES:
                raise BadDrawing(
                    f"has more than {MOST_EDGES} lines and arcs",
                    "leave only the leg's outline in it",
                )
    except BadDrawing:
        raise
    except Exception as failure:  # an entity that the library read and cannot tell of
        raise BadDrawing(
            f"has an entity that cannot be read ({type(failure).__name__})", "save it anew as DXF"
        ) from None
    if not edges:
        raise BadDrawing("has no lines or arcs", "draw the leg's outline in model space")
    return Drawing(tuple(edges), unit, factor, worst)


def _looked_at(data: bytes) -> str:
    if data.startswith(_BINARY):
        raise BadDrawing("is a binary DXF", "save it as DXF text")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", "replace")
    lines = text.splitlines()
    not_one = BadDrawing("is no DXF drawing", "export the outline as DXF, of R12 or later")
    if "\0" in text or len(lines) < 4:
        raise not_one
    if len(lines) > MOST_LINES:
        raise BadDrawing(f"has more than {MOST_LINES} lines", "leave only the leg's outline in it")
    codes, values = lines[0::2], lines[1::2]
    starts = 0
    for i, (code, value) in enumerate(zip(codes, values, strict=False)):
        if not code.strip().lstrip("-").isdigit() or len(code) > 12:
            raise BadDrawing(f"is no DXF drawing (line {2 * i + 1})", not_one.remedy)
        if code.strip() == "0" and value.strip() in _DRAWN:
            starts += 1
    if not any(
        c.strip() == "2" and v.strip() == "ENTITIES" for c, v in zip(codes, values, strict=False)
    ):
        raise not_one
    if starts > MOST_ENTITIES:
        raise BadDrawing(
            f"has more than {MOST_ENTITIES} entities", "leave only the leg's outline in it"
        )
    return text


_DRAWN = {
    "LINE",
    "ARC",
    "LWPOLYLINE",
    "POLYLINE",
    "VERTEX",
    "ELLIPSE",
    "SPLINE",
    "INSERT",
    "CIRCLE",
}


def _document(text: str) -> Any:
    from ezdxf.filemanagement import read

    log = logging.getLogger("ezdxf")
    level = log.level
    log.setLevel(logging.CRITICAL + 1)
    try:
        return read(io.StringIO(text))
    except (Exception, RecursionError) as failure:  # the library raises many kinds on bad files
        reason = " ".join(str(failure).split())[:80] or type(failure).__name__
        raise BadDrawing(f"is no sound DXF drawing ({reason})", "save it anew as DXF") from None
    finally:
        log.setLevel(level)


def _unit(document: Any, bare: LengthUnit) -> tuple[str, float]:
    code = document.header.get("$INSUNITS", 0)
    if code in (0, None):
        return bare, MM_PER_INCH if bare == "inch" else 1.0
    if code not in UNITS:
        raise BadDrawing(
            f"is in a unit ($INSUNITS {code}) that no leg is drawn in", "draw it in mm or inches"
        )
    return UNITS[code]


def _edges_of(entity: Any, factor: float) -> tuple[list[DrawnEdge], float]:
    kind = entity.dxftype()
    layer = str(entity.dxf.get("layer", "0"))[:60]
    if kind in _PASSED_OVER or layer.upper().startswith(_OTHER_LAYERS):
        return [], 0.0
    spoken = f"{kind} on layer {layer}"
    read = _READ.get(kind)
    if read is None:
        what = {"CIRCLE": "a full circle is no part of an outline", "INSERT": "a block"}
        told = what.get(kind, "is no line, arc, polyline, ellipse or spline")
        remedy = (
            "explode it first" if kind == "INSERT" else "take it out or draw it as lines and arcs"
        )
        raise BadDrawing(f"{spoken}: {told}", remedy)
    try:
        _check_plane(entity)
        rows, strays = read(entity, factor)
    except BadDrawing as bad:
        raise BadDrawing(f"{spoken}: {bad.wrong}", bad.remedy) from None
    except TooManyArcs:
        raise BadDrawing(f"{spoken}: too wild a curve", "draw it with fewer points") from None
    except Exception as failure:  # the library again, on values that make no sense
        raise BadDrawing(
            f"{spoken}: cannot be read ({type(failure).__name__})", "draw it anew"
        ) from None
    names = _names(entity, len(rows)) or [layer.lower()] * len(rows)
    found = []
    for (start, end, bulge), name in zip(rows, names, strict=True):
        if math.dist(start, end) > 1e-9:
            found.append(DrawnEdge(Edge(start, end, bulge, name), spoken))
    return found, strays


_Row = tuple[Point, Point, float]


def _check_plane(entity: Any) -> None:
    z = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if not math.dist(tuple(z), (0.0, 0.0, 1.0)) < 1e-6:
        raise BadDrawing("is not drawn in the plane of x and y", "flatten the drawing")


def _point(p: Any, factor: float) -> Point:
    x, y = float(p[0]), float(p[1])
    if not (abs(x) <= FARTHEST and abs(y) <= FARTHEST):  # also when it is no number at all
        raise BadDrawing("has a point that is no number or too far off", "draw it near the origin")
    return x * factor, y * factor


def _names(entity: Any, count: int) -> list[str]:
    if not entity.has_xdata(_APP):
        return []
    kept = [str(value)[:60] for code, value in entity.get_xdata(_APP) if code == 1000]
    return kept if len(kept) == count else []


def _line(entity: Any, factor: float) -> tuple[list[_Row], float]:
    return [(_point(entity.dxf.start, factor), _point(entity.dxf.end, factor), 0.0)], 0.0


def _arc(entity: Any, factor: float) -> tuple[list[_Row], float]:
    cx, cy = _point(entity.dxf.center, factor)
    _, r = _point((0.0, entity.dxf.radius), factor)
    a, b = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
    sweep = (b - a) % math.tau
    if not (r > 0 and sweep > 1e-9):
        raise BadDrawing("has no length", "take it out")
    # In two halves, so that no bulge goes beyond 1.
    at = [(cx + r * math.cos(a + sweep * k), cy + r * math.sin(a + sweep * k)) for k in (0, 0.5, 1)]
    bulge = math.tan(sweep / 8)
    if sweep <= math.pi:
        return [(at[0], at[2], math.tan(sweep / 4))], 0.0
    return [(at[0], at[1], bulge), (at[1], at[2], bulge)], 0.0


def _polyline(entity: Any, factor: float) -> tuple[list[_Row], float]:
    if entity.dxftype() == "LWPOLYLINE":
        rows = [(_point((x, y), factor), float(b)) for x, y, b in entity.get_points("xyb")]
        closed = bool(entity.closed)
    else:
        if not entity.is_2d_polyline:
            raise BadDrawing("is a mesh or a line in space", "draw it flat")
        rows = [(_point(v.dxf.location, factor), float(v.dxf.bulge)) for v in entity.vertices]
        closed = bool(entity.is_closed)
    if any(not abs(bulge) <= 1e3 for _, bulge in rows):
        raise BadDrawing("has an arc that is no number", "draw it anew")
    count = len(rows) if closed else len(rows) - 1
    found = [(rows[i][0], rows[(i + 1) % len(rows)][0], rows[i][1]) for i in range(count)]
    return found, 0.0


def _ellipse(entity: Any, factor: float) -> tuple[list[_Row], float]:
    cx, cy = _point(entity.dxf.center, factor)
    ax, ay = _point(entity.dxf.major_axis, factor)
    ratio = float(entity.dxf.ratio)
    if not (1e-3 <= ratio <= 1.0 and math.hypot(ax, ay) > 1e-6):
        raise BadDrawing("is too flat", "draw it as a line")
    a, b = float(entity.dxf.start_param), float(entity.dxf.end_param)
    sweep = (b - a) % math.tau
    if not 1e-6 < sweep < math.tau - 1e-6:
        raise BadDrawing("a full ellipse is no part of an outline", "take it out")
    bx, by = -ay * ratio, ax * ratio

    def point(t: float) -> Point:
        c, s = math.cos(t), math.sin(t)
        return cx + ax * c + bx * s, cy + ay * c + by * s

    def slope(t: float) -> Point:
        c, s = math.cos(t), math.sin(t)
        return bx * c - ax * s, by * c - ay * s

    # Quarters: a biarc never has to turn by more than a right angle.
    steps = max(1, math.ceil(sweep / (math.pi / 2)))
    return _arcs(point, slope, [a + sweep * i / steps for i in range(steps + 1)])


def _spline(entity: Any, factor: float) -> tuple[list[_Row], float]:
    poles = entity.control_point_count() + entity.fit_point_count()
    if poles > MOST_POLES or not 1 <= int(entity.dxf.degree) <= STEEPEST_DEGREE:
        raise BadDrawing("has too many points or too high a degree", "draw it with fewer points")
    for p in (*entity.control_points, *entity.fit_points):
        _point(p, factor)
    curve = entity.construction_tool()
    if any(not math.isfinite(k) for k in curve.knots()) or any(
        not 1e-6 < w < 1e6 for w in curve.weights()
    ):
        raise BadDrawing("has knots or weights that are no numbers", "draw it anew")

    def point(t: float) -> Point:
        return _point(curve.point(t), factor)

    def slope(t: float) -> Point:
        _, first = curve.derivative(t, 1)
        return float(first[0]), float(first[1])

    low, high = curve.knots()[curve.order - 1], curve.knots()[-curve.order]
    knots = sorted({float(k) for k in curve.knots() if low <= k <= high})
    return _arcs(point, slope, knots)


def _arcs(point: Any, slope: Any, knots: Sequence[float]) -> tuple[list[_Row], float]:
    edges, strays = as_arcs(point, slope, knots, "", WITHIN)
    return [(e.start, e.end, e.bulge) for e in edges], strays


_READ = {
    "LINE": _line,
    "ARC": _arc,
    "LWPOLYLINE": _polyline,
    "POLYLINE": _polyline,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}


def ring_of(drawing: Drawing, gap_allowed: float = WITHIN) -> list[Edge]:
    """The drawing's edges as one closed line, each from where the last one ends.

    Raises BadDrawing with the place of a gap, a fork or a second line.
    """
    left = list(drawing.edges)
    first = left.pop(0)
    ring = [first.edge]
    while math.dist(ring[-1].end, ring[0].start) > gap_allowed or len(ring) < 2:
        here = ring[-1].end
        near = sorted(_ends(left), key=lambda row: math.dist(row[2], here))
        if not near or math.dist(near[0][2], here) > gap_allowed:
            raise _gap(drawing, here, [*near[:1]], ring[0].start)
        if len(near) > 1 and math.dist(near[1][2], here) <= gap_allowed:
            raise BadDrawing(f"three lines meet at {drawing.place(here)}", "leave two of them")
        i, turned, _ = near[0]
        edge = left.pop(i).edge
        if turned:
            edge = Edge(edge.end, edge.start, -edge.bulge, edge.name)
        # A gap too small to see is closed.
        ring.append(Edge(here, edge.end, edge.bulge, edge.name))
    last = ring[-1]
    ring[-1] = Edge(last.start, ring[0].start, last.bulge, last.name)
    if left:
        other = left[0]
        raise BadDrawing(
            f"{other.spoken} at {drawing.place(other.edge.start)} is no part of the closed outline "
            f"through {drawing.place(ring[0].start)}",
            "leave one outline, without doubled lines",
        )
    return ring


def _ends(edges: Sequence[DrawnEdge]) -> Iterator[tuple[int, bool, Point]]:
    for i, drawn in enumerate(edges):
        yield i, False, drawn.edge.start
        yield i, True, drawn.edge.end


def _gap(
    drawing: Drawing, here: Point, near: Sequence[tuple[int, bool, Point]], start: Point
) -> BadDrawing:
    there = min([start, *(row[2] for row in near)], key=lambda p: math.dist(p, here))
    wide = math.dist(there, here) / drawing.factor
    return BadDrawing(
        f"is not closed: a gap of {wide:.3g} {drawing.unit} from {drawing.place(here)} to "
        f"{drawing.place(there)}",
        "join the ends",
    )
