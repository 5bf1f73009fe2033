"""Nests: known optima, the independent checker, and the checker itself."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bedmodel.errors import InputError
from bedmodel.outline import Outline
from bedmodel.pieces import make_pieces
from bedmodel.sheets import check_sheet, load_sheet, shared_folder
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.skeleton import lay_out
from bedmodel.stock.boards import Board, Defect
from bedmodel.stock.nest.parts import leg_parts
from bedmodel.stock.nest.plan import LegNest, Nesting, NestPart
from bedmodel.stock.nest.planks import Effort, nest_on_boards, nest_on_width
from bedmodel.stock.nest.polygons import area, convex_parts, inner_polygon, outer_polygon
from bedmodel.stock.nest.sheets import SheetPart, SheetSize, nest_on_sheets
from bedmodel.stock.rack import read_rack
from tests.nest_checker import plank_problems, problems, rendered, sheet_problems
from tests.sheet_space import Table, sheets

LITTLE = Effort(beam_count=8, squeezed_count=2)
PLAIN = Nesting(gap=4.0, margin=2.0, blank=1.0, kerf=1.0)
NAMES = ("floor", "outer", "top", "joint")


def block(name: str, length: float, width: float) -> NestPart:
    return NestPart(name, Outline.rectangle(length, width, NAMES))


def wedge(name: str, length: float, width: float) -> NestPart:
    corners = ((0.0, 0.0), (length, 0.0), (0.0, width))
    return NestPart(name, Outline(corners, (0.0,) * 3, ("a", "b", "c")))


def legs(name: str) -> tuple[NestPart, ...]:
    sheet = load_sheet(name, size="us-queen")
    return leg_parts(make_pieces(lay_out(sheet)))


# --- known optima ------------------------------------------------------------------------


def test_blocks_that_fill_a_plank_with_their_gaps_fit_it() -> None:
    """Two rows of two: 2 x 300 + 4 + 2 x 2 long, 2 x 48 + 4 + 2 x 2 wide, and not a hair more."""
    parts = [block(f"b{i}", 300, 48) for i in range(4)]
    nest = nest_on_width(parts, 104, PLAIN, LITTLE)
    assert plank_problems(nest, parts, PLAIN) == []
    assert nest.length_used == pytest.approx(608, abs=1e-3)
    # A hair narrower there is one row: 4 x 300 + 3 x 4 + 2 x 2.
    nest = nest_on_width(parts, 103.9, replace(PLAIN, grain_deg=0.0), LITTLE)
    assert nest.length_used == pytest.approx(1216, abs=1e-3)


def test_two_wedges_make_a_rectangle_with_the_gap_between() -> None:
    """Right triangles 300 x 100 back to back: their long sides a gap apart.

    Shifted by s along the grain a long side moves away by s x 100 / sqrt(300^2 + 100^2).
    """
    parts = [wedge("a", 300, 100), wedge("b", 300, 100)]
    straight = replace(PLAIN, grain_deg=0.0)
    nest = nest_on_width(parts, 104, straight, replace(LITTLE, nodes_count=500))
    assert plank_problems(nest, parts, straight) == []
    shift = 4.0 * math.hypot(300, 100) / 100
    assert nest.length_used == pytest.approx(300 + shift + 4, abs=0.01)
    (proof,) = nest.proofs
    assert proof.closed
    assert nest.length_used * 0.98 < proof.length <= nest.length_used + 1e-3


def test_a_tilt_within_the_limit_lets_a_wide_part_in() -> None:
    """A slanted bar, 100 high as it lies, is 60 wide once it is turned back by 4 degrees."""
    t = math.radians(4)
    turned = [
        (x * math.cos(t) - y * math.sin(t), x * math.sin(t) + y * math.cos(t))
        for x, y in ((0, 0), (570, 0), (570, 60), (0, 60))
    ]
    bar = NestPart("bar", Outline(tuple(turned), (0.0,) * 4, NAMES))
    nest = nest_on_width([bar], 64.1, PLAIN, LITTLE)
    assert plank_problems(nest, [bar], PLAIN) == []
    with pytest.raises(InputError, match="too narrow"):
        nest_on_width([bar], 64.1, replace(PLAIN, grain_deg=3.9), LITTLE)


def test_proof_is_never_above_a_nest_that_is_there() -> None:
    """Of three blocks in a plank of one row the least length is known: all of them and gaps."""
    parts = [block("a", 200, 50), block("b", 310, 40), block("c", 120, 45)]
    nest = nest_on_width(parts, 60, PLAIN, replace(LITTLE, nodes_count=500))
    least = 200 + 310 + 120 + 2 * 4 + 2 * 2
    assert nest.length_used == pytest.approx(least, abs=1e-3)
    straight = nest.proofs[1]
    assert straight.closed
    assert straight.length == pytest.approx(least, rel=0.01)
    assert straight.length <= least + 1e-3
    assert nest.bound == nest.proofs[0].length <= least + 1e-3


# --- planks of a rack ----------------------------------------------------------------------


def plank(name: str, width: float, length: float, *defects: Defect, **more: float) -> Board:
    return Board(name, 50.8, 8, width, length, defects=defects, **more)  # type: ignore[arg-type]


def test_the_least_wood_is_used() -> None:
    parts = [block(f"b{i}", 300, 48) for i in range(4)]
    # In A all four take 608 x 120; in B, each two beside one another, 608 x 104.
    rack = [plank("A", 120, 2000), plank("B", 104, 2000), plank("C", 200, 900)]
    nest = nest_on_boards(parts, rack, PLAIN, LITTLE)
    assert problems(nest, parts, rack, PLAIN) == []
    assert [each.board.name for each in nest.planks] == ["B"]
    assert nest.planks[0].offcut == (pytest.approx(608, abs=1e-3), 2000)


def test_checks_and_defects_are_kept_clear_of() -> None:
    parts = [block("a", 300, 90)]
    knot = Defect(250, 300, 40, 60)
    rack = [plank("A", 100, 1000, knot, check_left=20.0)]
    nest = nest_on_boards(parts, rack, PLAIN, LITTLE)
    assert problems(nest, parts, rack, PLAIN) == []
    # From the right end there is no check and no knot: 300 and two margins.
    assert nest.planks[0].length_used == pytest.approx(304, abs=1e-3)
    rack = [plank("A", 100, 604, knot, check_left=20.0)]
    nest = nest_on_boards(parts, rack, PLAIN, LITTLE)
    assert nest.planks[0].start == pytest.approx(300, abs=1e-3)
    assert not nest_on_boards(parts, [plank("A", 100, 603, knot)], PLAIN, LITTLE).feasible


def test_what_has_no_plank_is_told_with_the_plank_that_would_do() -> None:
    parts = [block("long", 700, 60), block("short", 200, 60)]
    nest = nest_on_boards(parts, [plank("A", 70, 500)], replace(PLAIN, grain_deg=0), LITTLE)
    assert problems(nest, parts, [plank("A", 70, 500)], replace(PLAIN, grain_deg=0)) == []
    (short,) = nest.unplaced
    assert (short.name, short.fits_none) == ("long", True)
    assert "at least 64.0 mm wide and 704.0 mm long" in short.told
    would_do = plank("B", short.width, short.length)
    assert nest_on_boards(parts, [plank("A", 70, 500), would_do], PLAIN, LITTLE).feasible
    full = nest_on_boards([*parts[1:], block("other", 210, 60)], [plank("A", 70, 300)], PLAIN)
    assert [each.fits_none for each in full.unplaced] == [False]


def test_class_and_species_are_kept_to() -> None:
    part = replace(block("a", 300, 48), quarters_count=8, species="red-maple")
    thin = replace(plank("A", 100, 900), quarters_count=4)
    other = replace(plank("B", 100, 900), species="white-ash")
    any_kind = plank("C", 100, 900)
    for rack, good in (([thin], False), ([other], False), ([any_kind], True), ([], False)):
        nest = nest_on_boards([part], rack, PLAIN, LITTLE)
        assert nest.feasible == good
        assert problems(nest, [part], rack, PLAIN) == []


def test_the_example_rack_takes_the_legs_of_the_example() -> None:
    parts = tuple(replace(part, quarters_count=10) for part in legs("campion"))
    rack = read_rack(shared_folder() / "boards.csv")
    nest = nest_on_boards(parts, rack, effort=LITTLE)
    assert nest.feasible
    assert problems(nest, parts, rack, Nesting()) == []
    assert nest == nest_on_boards(parts, rack, effort=LITTLE)


def test_legs_nest_closer_than_in_a_row() -> None:
    """On 9 1/4 in a straight nest of the four needs 1428.2 mm or more, by the proof."""
    nesting = Nesting(6.35, 3.175, 5.0, 2.4, 1.5)
    parts = legs("campion")
    nest = nest_on_width(parts, 9.25 * 25.4, nesting, Effort(30, 3))
    assert plank_problems(nest, parts, nesting) == []
    assert nest.length_used < 1432
    row = sum(part.outline.bounds()[2] for part in parts)
    assert nest.length_used < 0.55 * row


def test_the_solver_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """Tilted legs are pushed together by linear programmes."""
    nest_on_width(legs("sorrel"), 200, Nesting(), LITTLE)
    assert capfd.readouterr() == ("", "")


# --- fuzz ----------------------------------------------------------------------------------


@settings(max_examples=8, deadline=None)
@given(sheets(), st.data())
def test_legs_of_any_sheet_nest_on_any_rack(table: Table, data: st.DataObject) -> None:
    try:
        pieces = make_pieces(lay_out(check_sheet(table)))
    except InputError:
        assume(False)
    parts = leg_parts(pieces)
    assume(parts)
    nesting = Nesting(
        gap=data.draw(st.sampled_from([6.0, 8.0, 15.0])),
        margin=data.draw(st.sampled_from([3.0, 10.0])),
        grain_deg=data.draw(st.sampled_from([0.0, 2.0, 5.0])),
        blank=2.0,
        turn_over=data.draw(st.booleans()),
        end_for_end=data.draw(st.booleans()),
    )
    rack = []
    for name in data.draw(st.sampled_from(["A", "AB"])):
        width, length = data.draw(st.floats(90, 320)), data.draw(st.floats(500, 3000))
        x, y = data.draw(st.floats(0, length - 60)), data.draw(st.floats(0, width - 30))
        knots = [Defect(x, x + 50, y, y + 25)] if data.draw(st.booleans()) else []
        rack.append(plank(name, width, length, *knots, check_left=data.draw(st.floats(0, 60))))
    nest = nest_on_boards(parts, rack, nesting, Effort(4, 1, 2))
    assert problems(nest, parts, rack, nesting) == []


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.integers(40, 900), st.integers(40, 500)), min_size=1, max_size=12),
    st.sampled_from([0.0, 10.0]),
)
def test_plates_nest_on_sheets(sizes: list[tuple[int, int]], gap: float) -> None:
    parts = [SheetPart(f"p{i}", Outline.rectangle(a, b, NAMES)) for i, (a, b) in enumerate(sizes)]
    size = SheetSize(1220, 610, gap=gap, margin=8.0)
    assert sheet_problems(nest_on_sheets(parts, size), parts, size) == []


# --- sheet goods -----------------------------------------------------------------------------


def test_plates_that_fill_a_sheet_fill_it() -> None:
    """Four plates of 600 x 300 with gaps of 10 and margins of 5: 1220 x 620 holds them exactly."""
    parts = [SheetPart(f"p{i}", Outline.rectangle(600, 300, NAMES)) for i in range(4)]
    nest = nest_on_sheets(parts, SheetSize(1220, 620, 10, 5))
    assert sheet_problems(nest, parts, nest.size) == []
    assert (len(nest.sheets), nest.is_proven) == (1, True)
    small = nest_on_sheets(parts, SheetSize(1220, 619, 10, 5))
    assert len(small.sheets) == 2
    assert sheet_problems(small, parts, small.size) == []


def test_the_jigs_of_a_bed_nest_on_a_sheet() -> None:
    layout = lay_out(load_sheet("campion", size="us-queen"))
    jigs = make_jigs(layout, make_pieces(layout))
    parts = [SheetPart(jig.name, jig.sheet.outline) for jig in jigs]
    nest = nest_on_sheets(parts)
    assert sheet_problems(nest, parts, nest.size) == []
    assert nest.is_proven


def test_a_plate_too_large_is_refused() -> None:
    with pytest.raises(InputError, match="part big"):
        nest_on_sheets([SheetPart("big", Outline.rectangle(2500, 100, NAMES))])


# --- refusals ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        ({"gap": -1.0}, "nest gap"),
        ({"gap": math.nan}, "nest gap"),
        ({"gap": 5.0}, "must be at least 7.5 mm"),
        ({"margin": 1.0}, "must be at least 3 mm"),
        ({"grain_deg": 90.0}, "0 to 30 degrees"),
    ],
)
def test_settings_that_cannot_be_are_refused(bad: dict[str, float], told: str) -> None:
    with pytest.raises(InputError, match=told):
        Nesting(**bad)  # type: ignore[arg-type]


def test_parts_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="no parts"):
        nest_on_width([], 100)
    with pytest.raises(InputError, match="is there twice"):
        nest_on_width([block("a", 100, 50), block("a", 90, 50)], 100)
    with pytest.raises(InputError, match=r"too narrow.*at least 58.0 mm wide"):
        nest_on_width([block("a", 100, 50)], 57.5, Nesting(grain_deg=0))
    for width in (math.nan, -5.0, 1e9):
        with pytest.raises(InputError, match="plank width"):
            nest_on_width([block("a", 100, 50)], width)


# --- polygons ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["campion", "hawthorn", "sorrel"])
def test_polygons_hold_the_outline_or_lie_within_it(name: str) -> None:
    import shapely

    for part in legs(name):
        true = rendered(part.outline)
        outer = outer_polygon(part.outline, 0.25)
        inner = inner_polygon(part.outline, 0.25)
        assert shapely.Polygon(outer).buffer(1e-3).contains(true)
        assert true.buffer(1e-3).contains(shapely.Polygon(inner))
        assert shapely.Polygon(outer).hausdorff_distance(true) < 0.26
        parts = convex_parts(outer)
        assert sum(area(p) for p in parts) == pytest.approx(area(outer))
        for p in parts:
            assert shapely.Polygon(p).convex_hull.area == pytest.approx(area(p))


def test_importing_the_nest_is_light() -> None:
    code = (
        "import sys; import bedmodel.stock.nest.planks, bedmodel.stock.nest.sheets;"
        "print({'shapely', 'numpy', 'highspy', 'cadquery'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


# --- the checker finds what it is for ------------------------------------------------------------


@pytest.fixture(scope="module")
def good() -> tuple[LegNest, tuple[NestPart, ...], list[Board]]:
    parts = (block("a", 300, 48), block("b", 300, 48))
    rack = [plank("A", 104, 700, Defect(400, 420, 0, 30), check_left=10.0)]
    nest = nest_on_boards(parts, rack, PLAIN, LITTLE)
    assert problems(nest, parts, rack, PLAIN) == []
    return nest, parts, rack


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"y": 0.0}, "apart|outside"),
        ({"x": 5.0}, "outside sound wood"),
        ({"x": 380.0}, "on a defect|outside"),
        ({"turn_deg": 7.0}, "tilted by 7"),
        ({"turn_deg": 90.0}, "tilted by 90"),
        ({"name": "b"}, "placed"),
    ],
)
def test_a_broken_nest_is_found(
    good: tuple[LegNest, tuple[NestPart, ...], list[Board]], change: dict[str, float], told: str
) -> None:
    import re

    nest, parts, rack = good
    (done,) = nest.planks
    for at in range(2):
        placements = list(done.placements)
        placements[at] = replace(placements[at], **change)  # type: ignore[arg-type]
        broken = replace(nest, planks=(replace(done, placements=tuple(placements)),))
        found = problems(broken, parts, rack, PLAIN)
        if any(re.search(told, each) for each in found):
            return
    pytest.fail(f"not found: {told}")
