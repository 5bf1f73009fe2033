"""Drawings from the ground up: lines made tidy, dimensions, places on a sheet, true scale."""

from __future__ import annotations

import io
import itertools
import math
import multiprocessing
import os
import random

import numpy as np
import pypdfium2 as pdfium
import pytest

from bedmodel.drawing.curves import Arc, EllipseArc, Line, Poly
from bedmodel.drawing.dims import PITCH, Station, linear, running, spread
from bedmodel.drawing.document import make_document
from bedmodel.drawing.figure import Figure, stroke
from bedmodel.drawing.labels import Ink, crosses
from bedmodel.drawing.packing import pack
from bedmodel.drawing.page import Page, Placed
from bedmodel.drawing.paper import sheets_of
from bedmodel.drawing.tidy import tidied
from bedmodel.exports.beside import begun
from bedmodel.exports.paper.drawing_papers import drawing_paper
from bedmodel.exports.paper.pdf import pdf_bytes
from bedmodel.exports.paper.sheet import Box

# --- tidy ----------------------------------------------------------------------------------


def ends(curves: object) -> set[tuple[tuple[float, float], tuple[float, float]]]:
    found = set()
    for c in curves:  # type: ignore[attr-defined]
        assert isinstance(c, Line)
        a, b = sorted((round(p[0], 6) + 0.0, round(p[1], 6) + 0.0) for p in (c.start, c.end))
        found.add((a, b))
    return found


def test_pieces_of_one_line_become_one_whichever_way_they_run() -> None:
    seen, _ = tidied(
        [Line((0, 0), (5, 0)), Line((9, 0), (4, 0)), Line((9, 0.005), (20, 0.005))], []
    )
    assert len(seen) == 1
    (start, end), *_ = ends(seen)
    assert (start[0], end[0]) == (0, 20)
    assert abs(start[1]) < 0.02


def test_lines_beside_and_beyond_stay_apart() -> None:
    lines = [Line((0, 0), (5, 0)), Line((5.1, 0), (9, 0)), Line((0, 0.1), (5, 0.1))]
    assert ends(tidied(lines, [])[0]) == ends(lines)


def test_upright_lines_are_one_direction_up_or_down() -> None:
    seen, _ = tidied([Line((3, 0), (3 + 1e-9, 5)), Line((3, 9), (3 - 1e-9, 5))], [])
    assert ends(seen) == {((3, 0), (3, 9))}


def test_what_is_hidden_under_a_visible_line_is_left_out() -> None:
    seen, hidden = tidied([Line((2, 0), (4, 0))], [Line((0, 0), (10, 0)), Line((1, 1), (2, 1))])
    assert ends(hidden) == {((0, 0), (2, 0)), ((4, 0), (10, 0)), ((1, 1), (2, 1))}
    assert ends(seen) == {((2, 0), (4, 0))}


def test_a_circle_in_two_halves_is_one_circle_and_hides_its_double() -> None:
    halves = [Arc((1, 2), 3, 0, math.pi), Arc((1, 2), 3, math.pi, math.tau)]
    seen, hidden = tidied(halves, [Arc((1, 2), 3, 0.3, 1.0), Arc((1, 2), 4, 0.3, 1.0)])
    assert len(seen) == 1
    assert isinstance(seen[0], Arc)
    assert seen[0].is_whole
    assert [c.radius for c in hidden if isinstance(c, Arc)] == [4]


def test_arcs_meet_across_the_zero_angle() -> None:
    seen, _ = tidied([Arc((0, 0), 5, -0.5, 0.0), Arc((0, 0), 5, 0.0, 0.7)], [])
    assert len(seen) == 1
    assert isinstance(seen[0], Arc)
    assert seen[0].last - seen[0].first == pytest.approx(1.2, abs=1e-9)


def test_arcs_of_two_circles_do_not_lend_each_other_their_spans() -> None:
    one, two = Arc((0, 0), 5, 0.1, 0.4), Arc((9, 0), 5, 1.0, 1.6)
    three = Arc((0, 0), 5, 2.0, 2.5)
    seen, _ = tidied([one, two, three], [])
    assert sorted(seen, key=repr) == sorted([one, two, three], key=repr)


def test_a_circle_seen_from_its_edge_is_a_line() -> None:
    flat = Poly(tuple((5 + 3 * math.cos(t / 10), 2.0) for t in range(63)))
    edge_on = EllipseArc((0, 0), (4, 0), 1e-9, 0, math.tau)
    seen, _ = tidied([flat, edge_on], [])
    assert ends(seen) == {((2.0, 2.0), (8.0, 2.0)), ((-4, 0), (4, 0))} or len(seen) == 2
    assert all(isinstance(c, Line) for c in seen)
    assert sorted(round(c.length, 2) for c in seen) == [6.0, 8.0]


# --- dimensions ----------------------------------------------------------------------------


def test_values_that_would_touch_are_moved_apart_and_no_further() -> None:
    wanted = [0.0, 0.5, 1.0, 20.0, 40.0, 40.1]
    places = spread(wanted, 3.0)
    assert all(b - a >= 3.0 - 1e-9 for a, b in itertools.pairwise(places))
    assert places[3] == 20.0  # it has room, so it stays
    assert sum(places[:3]) == pytest.approx(sum(wanted[:3]))  # as far up as down
    assert places[4:] == pytest.approx([38.55, 41.55])


def test_a_row_with_room_is_not_moved() -> None:
    assert spread([1.0, 5.0, 9.0], 4.0) == [1.0, 5.0, 9.0]


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("span", [0.3, 2.0, 5.5, 9.0, 14.0, 60.0])
@pytest.mark.parametrize("text", ["3", "10 63/64", "2016.4"])
def test_no_dimension_however_narrow_has_a_line_through_its_text(
    span: float, text: str, axis: str
) -> None:
    a, b = ((0.0, 0.0), (span, 0.0)) if axis == "x" else ((0.0, 0.0), (0.0, span))
    measure = linear(a, b, -7.0, axis, span, text, "")  # type: ignore[arg-type]
    assert measure.text.text == text
    box = measure.text.box
    for line in measure.strokes:
        for p, q in itertools.pairwise(line.curve.points()):
            assert not crosses(p, q, box)
    for fill in measure.fills:
        xs, ys = zip(*fill.points, strict=True)
        assert not Box(min(xs), min(ys), max(xs), max(ys)).meets(box)


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("outward", [1.0, -1.0])
def test_running_values_keep_clear_of_one_another_and_of_all_lines(
    axis: str, outward: float
) -> None:
    rng = random.Random(7)
    places = sorted(rng.uniform(0, 60) for _ in range(12))
    stations = [Station(p, 0.0, p * 10, f"{p * 10:.1f}", "") for p in (0.0, *places)]
    row = running(stations, (0.0, 0.0), 0.0, axis, outward)  # type: ignore[arg-type]
    assert [m.text.text for m in row] == [s.text for s in stations]
    for one, two in itertools.combinations(row, 2):
        assert not one.text.box.meets(two.text.box)
    for one, two in itertools.product(row, row):
        for line in two.strokes:
            for p, q in itertools.pairwise(line.curve.points()):
                assert not crosses(p, q, one.text.box)
    assert PITCH > 3.0


# --- places on a sheet ---------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_packed_boxes_keep_their_distance_and_stay_inside(seed: int) -> None:
    rng = random.Random(seed)
    room, taken = Box(0, 0, 250, 180), Box(90, 0, 250, 27)
    items = []
    for _ in range(rng.randint(2, 9)):
        width, height = rng.uniform(10, 90), rng.uniform(5, 50)
        boxes = [Box(0, 0, width, height)]
        if rng.random() < 0.4:  # an item of two boxes, with room between them
            boxes.append(Box(width + 5, height + 5, width + 30, height + 15))
        items.append(boxes)
    places = pack(items, room, [taken], 5.0)
    if places is None:
        assert sum(b.width * b.height for item in items for b in item) > 0.2 * 250 * 180
        return
    put = [
        [Box(b.x0 + x, b.y0 + y, b.x1 + x, b.y1 + y) for b in item]
        for item, (x, y) in zip(items, places, strict=True)
    ]
    for boxes in put:
        assert all(room.holds(b) and not b.meets(taken, 4.99) for b in boxes)
    for one, two in itertools.combinations(put, 2):
        assert not any(a.meets(b, 4.99) for a in one for b in two)


def test_what_has_no_room_is_told() -> None:
    assert pack([[Box(0, 0, 50, 50)], [Box(0, 0, 60, 60)]], Box(0, 0, 100, 100), [], 5.0) is None


def test_a_line_that_only_touches_a_box_does_not_cross_it() -> None:
    box = Box(0, 0, 10, 5)
    assert crosses((-5, 2), (15, 3), box)
    assert not crosses((-5, 5), (15, 5), box)
    assert not crosses((-5, 2), (-1, 3), box)
    ink = Ink()
    ink.add_segment((-50, 2), (60, 2))
    assert not ink.is_free(box)
    assert ink.is_free(Box(0, 3, 10, 5))


# --- scale ---------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
@pytest.mark.parametrize("scale", [1.0, 5.0, 10.0])
def test_a_hundred_millimetres_measure_a_hundred_on_paper(paper: str, scale: float) -> None:
    """Measured on the picture that another program (PDFium) makes of the PDF, within 0.05 mm."""
    size = drawing_paper(paper)
    lines = (*stroke("visible", (0, 0), (100, 0)), *stroke("visible", (-10, 10), (-10, 110)))
    figure = Figure("lines", scale, Box(-10, 0, 100, 110), lines)
    page = Page("lines", "lines", size, (Placed(figure, (41.3, 27.7)),), ())
    document = make_document([page])
    model = [e for e in document.modelspace() if e.dxftype() == "LINE"]
    assert [round(e.dxf.start.distance(e.dxf.end), 9) for e in model] == [100 * scale] * 2
    (sheet,) = sheets_of(document, [("lines", "lines")])
    view = pdfium.PdfDocument(io.BytesIO(pdf_bytes([sheet], "")))[0]
    assert view.get_width() == pytest.approx(size.width / 25.4 * 72, abs=1e-3)
    dpi = 600
    image = view.render(scale=dpi / 72, grayscale=True).to_numpy().squeeze()
    dark = 1.0 - image.astype(float) / 255.0
    rows, columns = dark.sum(axis=1), dark.sum(axis=0)
    level, upright = dark[np.argmax(rows)], dark[:, np.argmax(columns)]
    for line in (level, upright):
        lit = np.nonzero(line > 0.02)[0]
        # The part-covered pixels at the ends count by how dark they are.
        length = (line[lit[0] : lit[-1] + 1] / line.max()).sum() * 25.4 / dpi
        assert length == pytest.approx(100.0, abs=0.05)


# --- work done beside ----------------------------------------------------------------------


def who_did_it(number: int) -> bytes:
    """The process that did it, after a child of its own did nothing well."""
    child = multiprocessing.get_context("fork").Process(target=int)
    child.start()
    child.join()
    return f"{os.getpid()} {child.exitcode} {number}".encode()


def none_can(number: int) -> bytes:
    if multiprocessing.parent_process() is not None:
        raise ValueError(number)
    return str(number).encode()


@pytest.mark.skipif(
    "fork" not in multiprocessing.get_all_start_methods() or (os.cpu_count() or 1) < 2,
    reason="needs a second core, and processes that split",
)
def test_work_beside_may_have_children_and_is_done_here_where_it_fails_there() -> None:
    process, code, number = begun(who_did_it, 7)().decode().split()
    assert (code, number) == ("0", "7")
    assert int(process) != os.getpid()
    assert begun(none_can, 8)() == b"8"
