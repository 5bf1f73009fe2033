"""Sheets of shaped legs: each leg made again from the numbers written on its sheet."""

from __future__ import annotations

import functools
import itertools
import math
import re
from dataclasses import replace

import pytest

from bedmodel.assembly import Bed
from bedmodel.drawing.book import drawing_paper
from bedmodel.drawing.compose import clashes, struck
from bedmodel.drawing.document import dxf_bytes, make_document
from bedmodel.drawing.page import Page
from bedmodel.drawing.part_pages import part_pages, title_of
from bedmodel.drawing.subject import subject_of
from bedmodel.outline import Outline
from bedmodel.shape import SQUARE
from bedmodel.solids import make_solid
from bedmodel.units import parse_length
from tests.beds import good
from tests.drawn_parts import SheetRead, read_sheets

KIND = "head_leg_right"
CHANGES = {
    "tapered": ("leg.taper=two", "leg.taper_width=40", "leg.taper_depth=47"),
    "turned": ("leg.turned_width=62", "leg.taper_width=35"),
    "octagon": ("leg.taper_width=46",),
    "sabre": ("leg.sweep=36", "leg.taper_width=45"),
    "bracket": ("leg.bracket=both", "leg.bracket_spread=40"),
}


@functools.cache
def bed(style: str) -> Bed:
    return good("hawthorn", None, f"leg.style={style}", *CHANGES[style])


@functools.cache
def pages(style: str) -> tuple[Page, ...]:
    subject = subject_of(bed(style), KIND)
    title = title_of(subject, "test", "1", "1 of 1")
    return tuple(part_pages(subject, drawing_paper("A4"), title))


@functools.cache
def sheets(style: str) -> dict[str, SheetRead]:
    return read_sheets(dxf_bytes(make_document(pages(style))))


def real(style: str) -> float:
    """The leg's volume with sharp edges and without its joints."""
    shape = bed(style).kinds[KIND].shape
    return make_solid(replace(shape, easing=SQUARE, cuts=())).Volume()


def below(style: str) -> dict[str, list[float]]:
    """What the table of the shaping says: sizes by their words."""
    found: dict[str, list[float]] = {}
    rows = sheets(style)[KIND].table("size", "measured")
    for row in rows:
        if len(row) >= 3 and re.fullmatch(r"[\d.]+", row[1]):
            found.setdefault(row[0], []).append(parse_length(row[1], "mm"))
    return found


def post(style: str, begins: float) -> float:
    sheet = sheets(style)[KIND]
    long, wide, thick = (sheet.number(of, "mm") for of in ("length", "width", "thickness"))
    return (long - begins) * wide * thick


def test_a_taper_is_made_again_from_its_sheet() -> None:
    told = below("tapered")
    (begins,), (width,), (thick,) = (
        told[what] for what in ("taper begins", "width left", "thickness left")
    )
    sheet = sheets("tapered")[KIND]
    wide, deep = sheet.number("width", "mm"), sheet.number("thickness", "mm")
    # A frustum of a wedge, by the prismoidal formula.
    middle = (wide + width) / 2 * (deep + thick) / 2
    volume = begins / 6 * (wide * deep + 4 * middle + width * thick)
    assert post("tapered", begins) + volume == pytest.approx(real("tapered"), rel=2e-3)


def test_a_turned_end_is_made_again_from_its_stations() -> None:
    told = below("turned")
    (begins,) = told["square shoulder"]
    stations = [(0.0, told["diameter at the foot end"][0])]
    for what, (value,) in told.items():
        if match := re.fullmatch(r"diameter (\d+) mm up", what):
            stations.append((float(match[1]), value))
    stations.append((begins, told["diameter below the shoulder"][0]))
    assert len(stations) >= 5
    volume = 0.0
    for (a, d), (b, e) in itertools.pairwise(stations):
        volume += math.pi * (b - a) / 12 * (d * d + d * e + e * e)
    assert post("turned", begins) + volume == pytest.approx(real("turned"), rel=2e-3)


def test_an_octagon_is_made_again_from_its_arris_lines() -> None:
    told = below("octagon")
    (begins,), (width,), (thick,) = (
        told[what] for what in ("tapers and facets begin", "width left", "thickness left")
    )
    first, last = told["arris lines"]
    sheet = sheets("octagon")[KIND]
    wide, deep = sheet.number("width", "mm"), sheet.number("thickness", "mm")

    def area(share: float) -> float:
        w, t = wide + (width - wide) * share, deep + (thick - deep) * share
        return w * t - 2 * (first + (last - first) * share) ** 2

    volume = begins / 6 * (area(0.0) + 4 * area(0.5) + area(1.0))
    # The stops at 45 degrees leave a little wood at each corner's facet.
    stops = 4 * first**3 / (3 * math.sqrt(2))
    made = post("octagon", begins) + volume + stops
    assert made == pytest.approx(real("octagon"), abs=0.3 * stops)


@pytest.mark.parametrize("style", ["sabre", "bracket"])
def test_a_curved_leg_is_made_again_from_its_points(style: str) -> None:
    sheet = sheets(style)[f"{KIND}_outline"]
    rows = {
        row[0]: row[:5]
        for heading in ("from the joint face", "from the outer edge")
        for row in _table(sheet, heading)
        if row[0].isdigit()
    }
    points = [(parse_length(r[1], "mm"), parse_length(r[2], "mm")) for r in rows.values()]
    bulges = []
    for i, row in enumerate(rows.values()):
        arc = re.match(r"arc R ([\d.]+) (hollow|round)", row[3])
        chord = math.dist(points[i], points[(i + 1) % len(points)])
        bulge = math.tan(math.asin(chord / 2 / float(arc[1])) / 2) if arc else 0.0
        bulges.append(bulge * (-1 if arc and arc[2] == "hollow" else 1))
    area = sum(
        p[0] * q[1] - q[0] * p[1] for p, q in zip(points, points[1:] + points[:1], strict=True)
    )
    turn = 1.0 if area > 0 else -1.0
    outline = Outline(tuple(points), tuple(turn * b for b in bulges), ("",) * len(points))
    true = bed(style).kinds[KIND].shape.outline
    assert abs(outline.area) == pytest.approx(true.area, rel=1e-3)
    assert len(points) == len(true.vertices)


def _table(sheet: SheetRead, heading: str) -> list[list[str]]:
    try:
        return sheet.table("along", heading, "then", "edge", before=20.0)
    except LookupError:
        return []


@pytest.mark.parametrize("style", CHANGES)
def test_no_word_of_a_leg_s_sheet_lies_on_another(style: str) -> None:
    for page in pages(style):
        assert list(clashes(page)) == []
        assert list(struck(page)) == []
