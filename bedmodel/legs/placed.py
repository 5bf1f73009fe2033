"""A drawn outline laid into a leg's (u, v): joint face plumb at u = 0, floor level at v = 0.

The drawing may lie any way round, and mirrored: its layers say what is what.

    JOINT   the straight edge that boards and rail butt against
    OUTER   the edge away from it
    FLOOR   the straight edge on the floor
    all other layers (top, curves): what is left of the outline
"""

from __future__ import annotations

import functools
import itertools
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.legs.drawn import BadDrawing, Drawing, read_drawing, ring_of
from bedmodel.outline import Edge, Outline, Point
from bedmodel.units import MM_PER_INCH, LengthUnit

NEEDED = ("joint", "outer", "floor")
STRAIGHT = 0.05  # mm that a straight edge may be off
SQUARE = math.radians(0.05)
SIZES = (150.0, 2500.0)  # mm, of a leg's outline, the longer way
_LEANS = (math.radians(0.5), math.radians(12.0))  # of a straight outer edge that grain follows


@dataclass(frozen=True)
class PlacedOutline:
    """An outline in (u, v), how far its joint face goes, and what was read of the drawing."""

    outline: Outline
    joint: tuple[float, float]
    splay: float
    unit: str
    strays: float

    @property
    def top(self) -> float:
        return self.outline.bounds()[3]

    def edges_but_joint(self) -> Iterator[Edge]:
        return (e for e in self.outline.edges() if e.name != "joint")

    def spans_at(self, height: float) -> list[float]:
        """Where the outline crosses a height, in u, from inside out."""
        return sorted(u for e in self.outline.edges() for u in _crossings(e, height))


@functools.lru_cache(maxsize=8)
def placed_outline(data: bytes, bare: LengthUnit) -> PlacedOutline:
    """Read a drawing and lay it into (u, v). Raises BadDrawing."""
    drawing = read_drawing(data, bare)
    ring = ring_of(drawing)
    _check_size(drawing, ring)
    _check_crossing(drawing, ring)
    joint, floor = _straight(drawing, ring, "joint"), _straight(drawing, ring, "floor")
    if not any(e.name == "outer" for e in ring):
        raise BadDrawing("has nothing on layer OUTER", "put the outer edge on it")
    return _laid(drawing, ring, joint, floor)


def _check_size(drawing: Drawing, ring: Sequence[Edge]) -> None:
    x0, y0, x1, y1 = Outline(
        tuple(e.start for e in ring), tuple(e.bulge for e in ring), tuple(e.name for e in ring)
    ).bounds()
    size = max(x1 - x0, y1 - y0)
    if SIZES[0] <= size <= SIZES[1]:
        return
    told = f"is {size / drawing.factor:.4g} {drawing.unit} long"
    small = "small" if size < SIZES[0] else "large"
    for name, factor in (("inches", MM_PER_INCH), ("millimetres", 1.0), ("centimetres", 10.0)):
        if SIZES[0] <= size / drawing.factor * factor <= SIZES[1]:
            raise BadDrawing(
                f"{told}, too {small} for a leg; it looks like {name}",
                "set the drawing's unit ($INSUNITS), or scale it",
            )
    raise BadDrawing(
        f"{told}, must be {SIZES[0]:g} to {SIZES[1]:g} mm", "draw the leg at full size"
    )


def _check_crossing(drawing: Drawing, ring: Sequence[Edge]) -> None:
    import shapely
    from shapely.validation import explain_validity

    points = [e.point_at(i / 16) for e in ring for i in range(16 if e.is_arc else 1)]
    polygon = shapely.Polygon(points) if len(points) > 2 else None
    if polygon is None or polygon.area < 1.0:
        raise BadDrawing("encloses no area", "draw the outline as one closed line")
    if not polygon.is_valid:
        said = explain_validity(polygon)
        place = re.search(r"\[(\S+) (\S+)\]", said)
        where = f" at {drawing.place((float(place[1]), float(place[2])))}" if place else ""
        raise BadDrawing(f"crosses or touches itself{where}", "draw one line that does not")


def _straight(drawing: Drawing, ring: Sequence[Edge], name: str) -> tuple[Point, Point]:
    """The two ends of the edges on a layer, which must be one straight run."""
    layer = name.upper()
    found = [e for e in ring if e.name == name]
    if not found:
        has = ", ".join(sorted({e.name.upper()[:20] for e in ring})[:6])
        raise BadDrawing(
            f"has nothing on layer {layer} (it has {has})",
            "put joint face, outer edge and floor on layers JOINT, OUTER and FLOOR",
        )
    points = [p for e in found for p in (e.start, e.end)]
    a, b = max(((p, q) for p in points[:200] for q in points[:200]), key=lambda pq: math.dist(*pq))
    size = math.dist(a, b)
    if size < 1.0 or abs(sum(e.chord for e in found) - size) > STRAIGHT:
        raise BadDrawing(
            f"layer {layer}: more than one edge, or none, near {drawing.place(found[0].start)}",
            "put one straight edge on it",
        )
    for e in found:
        p = e.point_at(0.5)
        off = abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / size
        if off > STRAIGHT:
            raise BadDrawing(
                f"layer {layer} is not straight: {off / drawing.factor:.3g} {drawing.unit} off at "
                f"{drawing.place(p)}",
                "draw it as a straight line",
            )
    return a, b


def _laid(
    drawing: Drawing, ring: Sequence[Edge], joint: tuple[Point, Point], floor: tuple[Point, Point]
) -> PlacedOutline:
    foot = ((floor[0][0] + floor[1][0]) / 2, (floor[0][1] + floor[1][1]) / 2)
    low, high = sorted(joint, key=lambda p: math.dist(p, foot))
    size = math.dist(low, high)
    up = ((high[0] - low[0]) / size, (high[1] - low[1]) / size)
    run = ((floor[1][0] - floor[0][0]), (floor[1][1] - floor[0][1]))
    lean = math.asin(max(-1.0, min(1.0, (run[0] * up[0] + run[1] * up[1]) / math.hypot(*run))))
    if abs(lean) > SQUARE:
        raise BadDrawing(
            f"joint face and floor are {90 - abs(math.degrees(lean)):.2f} deg to one another, at "
            f"{drawing.place(low)} and {drawing.place(foot)}",
            "draw the floor square to the joint face",
        )
    outer = [e.point_at(0.5) for e in ring if e.name == "outer"]
    middle = (sum(p[0] for p in outer) / len(outer), sum(p[1] for p in outer) / len(outer))
    out = (up[1], -up[0])
    mirrored = (middle[0] - low[0]) * out[0] + (middle[1] - low[1]) * out[1] < 0
    if mirrored:
        out = (-out[0], -out[1])
    level = (foot[0] - low[0]) * up[0] + (foot[1] - low[1]) * up[1]

    def place(p: Point) -> Point:
        x, y = p[0] - low[0], p[1] - low[1]
        return x * out[0] + y * out[1], x * up[0] + y * up[1] - level

    vertices, sign = [], -1.0 if mirrored else 1.0
    for i, e in enumerate(ring):
        u, v = place(e.start)
        names = {e.name, ring[i - 1].name}
        vertices.append((0.0 if "joint" in names else u, 0.0 if "floor" in names else v))
    names_ = tuple(_name(e.name) for e in ring)
    outline = Outline(tuple(vertices), tuple(sign * e.bulge + 0.0 for e in ring), names_)
    outline = outline if outline.area > 0 else outline.reversed()
    outline = _merged(outline)
    if outline.bounds()[1] < -STRAIGHT:
        raise BadDrawing(
            "goes on below the floor", "draw FLOOR as its lowest edge, joint face upwards"
        )
    heights = sorted(v for e in outline.named("joint") for v in (e.start[1], e.end[1]))
    outlined = PlacedOutline(outline, (heights[0], heights[-1]), 0.0, drawing.unit, drawing.strays)
    return replace(outlined, splay=_splay(outline))


def _name(layer: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", layer.lower()).strip("_") or "side"


def _merged(outline: Outline) -> Outline:
    """Straight edges of one name that go on in one line, as one edge."""
    steps = list(zip(outline.vertices, outline.bulges, outline.names, strict=True))
    i = 0
    while len(steps) > 3 and i < len(steps):
        (p, b0, n0), (q, b1, n1) = steps[i - 1], steps[i]
        r = steps[(i + 1) % len(steps)][0]
        size = math.dist(p, r)
        off = abs((r[0] - p[0]) * (q[1] - p[1]) - (r[1] - p[1]) * (q[0] - p[0]))
        if n0 == n1 and b0 == b1 == 0.0 and size > 0 and off / size < 1e-6:
            steps.pop(i)
        else:
            i += 1
    return Outline.of(steps)


def _splay(outline: Outline) -> float:
    """The lean of an outer edge that is one straight line, leaning in; else 0."""
    found = outline.named("outer")
    if len(found) != 1 or found[0].is_arc:
        return 0.0
    (u0, v0), (u1, v1) = found[0].start, found[0].end
    lean = math.atan2(u0 - u1, v1 - v0) if v1 > v0 else 0.0
    return lean if _LEANS[0] <= lean <= _LEANS[1] else 0.0


def _crossings(e: Edge, height: float) -> Iterator[float]:
    """Where an edge crosses a height (half-open at its ends, so that corners count once)."""
    if not e.is_arc:
        (u0, v0), (u1, v1) = e.start, e.end
        if (v0 <= height) != (v1 <= height):
            yield u0 + (u1 - u0) * (height - v0) / (v1 - v0)
        return
    # In stretches that only rise or only fall: between its ends and its upper and lower points.
    cx, cy = e.centre
    first = math.atan2(e.start[1] - cy, e.start[0] - cx)
    turns = [0.0, e.sweep]
    for quarter in (math.pi / 2, -math.pi / 2):
        turn = (quarter - first) % math.tau
        turns += [t for t in (turn, turn - math.tau) if 0 < t / e.sweep < 1]
    turns.sort(key=abs)
    for a, b in itertools.pairwise(turns):
        v0 = e.start[1] if a == 0.0 else cy + e.radius * math.sin(first + a)
        v1 = e.end[1] if b == e.sweep else cy + e.radius * math.sin(first + b)
        if (v0 <= height) != (v1 <= height):
            half = math.sqrt(max(0.0, e.radius**2 - (height - cy) ** 2))
            right = math.cos(first + (a + b) / 2) > 0
            yield cx + (half if right else -half)


def cut_at(placed: PlacedOutline, top: float) -> Outline:
    """The outline sawn off level at ``top``, which must cross joint face and outer edge alone."""
    if abs(placed.top - top) < 1e-6:
        return placed.outline
    edges = list(placed.outline.edges())
    # From the foot of the joint face on, down and round by the floor, up to the cut.
    start = next(i for i, e in enumerate(edges) if e.name == "joint")
    edges = edges[start + 1 :] + edges[: start + 1]
    joint = edges.pop()  # it runs down: the outline is anticlockwise, the joint on its left
    steps: list[tuple[Point, float, str]] = []
    for e in edges:
        crossed = list(_crossings(e, top))
        if not crossed:
            steps.append((e.start, e.bulge, e.name))
            continue
        # The first time that it comes to this height is where the saw ends.
        p = (min(crossed, key=lambda u: math.dist((u, top), e.start)), top)
        steps.append((e.start, _part(e, p), e.name))
        steps += [(p, 0.0, "top"), ((0.0, top), 0.0, "joint")]
        return Outline.of(steps)
    raise BadDrawing("is not as high as the leg", f"draw its joint face up to {joint.start[1]:g}")


def _part(e: Edge, p: Point) -> float:
    """The bulge of an edge that is cut off at a point on it."""
    if not e.is_arc:
        return 0.0
    cx, cy = e.centre
    first = math.atan2(e.start[1] - cy, e.start[0] - cx)
    turn = (math.atan2(p[1] - cy, p[0] - cx) - first) % math.tau
    return math.tan((turn if e.bulge > 0 else turn - math.tau) / 4)
