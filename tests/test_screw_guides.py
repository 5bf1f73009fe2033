"""Guides for screws and dowels, set on the parts by fence, stop and mark as their cards say.

Oracle: the holes in the pieces of the bed. Each guide's own opening is taken to the part:
y from the edge that lies against the fence, x from the end at the stop or from the mark.
"""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest

from bedmodel.bed import Piece
from bedmodel.cuts import Mortise
from bedmodel.cutters import bits
from bedmodel.screwing import ScrewPlan
from bedmodel.screws import pilot_diameter, screw
from bedmodel.shop.fastener_marks import drill_words
from bedmodel.shop.jigs.dowel_guides import is_even
from bedmodel.shop.jigs.jig import LIMIT, Jig, check_jigs
from bedmodel.shop.jigs.plates import slot_seats
from bedmodel.shop.screw_marks import holes_along, spacing
from bedmodel.shop.sheet import FENCE, SLOT, STOP
from bedmodel.shop.simulate import polygon
from bedmodel.shop.story_stick import HOLES, story_sticks
from bedmodel.tables import wood
from tests.test_jigs import check_rings, check_words, jigs
from tests.test_screwing import CLEATS
from tests.test_setting_out import Case, bed

BEDS: list[tuple[str, str | None, tuple[str, ...]]] = [
    ("campion", None, ()),
    ("campion", "us-king", CLEATS),
    ("hawthorn", "eu-90x200", ()),
    ("hawthorn", None, ("frame.stance=20 mm", *CLEATS)),
    ("sorrel", None, ("slat.width=71", "runner.height=37")),
]
beds = pytest.mark.parametrize(("name", "size", "changes"), BEDS)
EXAMPLES = ("campion", "hawthorn", "sorrel")
DOWELS = ("headboard.joint=dowels", "footboard.joint=dowels")
NEAR = 1e-4  # mm; openings are written to a hundred-thousandth


def case_of(name: str, size: str | None, changes: tuple[str, ...]) -> tuple[Case, dict[str, Jig]]:
    return bed(name, size, *changes), jigs(name, size, *changes)


def led(jig: Jig) -> list[tuple[float, float, float]]:
    """Middle and diameter of each round opening, by its area and centroid."""
    found = []
    for ring in jig.sheet.openings:
        x0, y0, x1, y1 = ring.bounds()
        if math.isclose(x1 - x0, y1 - y0):
            shape = polygon(ring)
            wide = 2 * math.sqrt(shape.area / math.pi)
            found.append((shape.centroid.x, shape.centroid.y, wide))
    return found


def fences(jig: Jig) -> dict[str, float]:
    """The distance of each fence by the part it is for."""
    lines = [mark for mark in jig.sheet.marks if mark.layer == FENCE and mark.label]
    return {mark.label.split()[1].lower(): -mark.start[1] for mark in lines}


def stop(jig: Jig) -> float:
    (line,) = (mark for mark in jig.sheet.marks if mark.layer == STOP)
    assert line.start[0] == line.end[0]
    return line.start[0]


def bored(piece: Piece, word: str, role: str) -> list[Mortise]:
    return [
        cut
        for cut in piece.kind.shape.cuts
        if isinstance(cut, Mortise) and cut.role == role and word in cut.name
    ]


def row(jig: Jig, name: str) -> str:
    return dict(jig.card.rows)[name]


def lengths(text: str) -> list[float]:
    return [float(v) for v in re.findall(r"([\d.]+) mm", text)]


# --- runner and rail -----------------------------------------------------------------------


@beds
def test_the_runner_guide_leads_both_drills(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    case, found = case_of(name, size, changes)
    guide = found["runner_screw_guide"]
    (cx, cy, clearance), (px, py, pilot) = led(guide)
    (stick,) = (s for s in story_sticks(case.layout) if s.name == HOLES)
    marks = [m.true for m in stick.marks if any("runner screw" in name for name in m.of)]
    for side in ("left", "right"):
        runner, rail = case.piece(f"runner_{side}"), case.piece(f"side_rail_{side}")
        head = runner.placement.inverse()
        for part, role, wide, at in (
            (runner, "hole", clearance, (cx, cy)),
            (rail, "pilot", pilot, (px, py)),
        ):
            cuts = [c for c in bored(part, "runner_screw", role) if "counterbore" not in c.name]
            assert len(cuts) == len(marks)
            up = fences(guide)["runner" if part is runner else "rail"]
            for cut in cuts:
                there = part.placement @ cut.frame
                low = min(
                    part.placement.point((0.0, y, 0.0))[2] for y in (0.0, part.kind.shape.width)
                )
                assert there.origin[2] - low == pytest.approx(up + at[1], abs=NEAR)
                assert cut.width == pytest.approx(wide, abs=2e-3)
                x = head.point(there.origin)[0]
                along = min((x, runner.kind.shape.length - x), key=lambda v: _off(v, marks))
                assert _off(along, marks) < NEAR
    # Sights show the marks: they stand on the line of their hole.
    middles = {round(polygon(ring).centroid.x, 6) for ring in guide.sheet.openings}
    assert middles == {round(cx, 6), round(px, 6)}


def _off(value: float, marks: list[float]) -> float:
    return min(abs(value - mark) for mark in marks)


@beds
def test_sights_lie_over_the_part_and_clear_of_their_holes(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    case, found = case_of(name, size, changes)
    guide = found["runner_screw_guide"]
    half = case.layout.sheet.runner.height / 2
    shapes = [polygon(ring) for ring in guide.sheet.openings]
    assert len(shapes) == 4
    for one, other in itertools.combinations(shapes, 2):
        assert one.distance(other) > 2
    for shape in shapes[2:]:
        assert half - shape.bounds[1] >= 5  # this much of the mark is seen


# --- slats ---------------------------------------------------------------------------------


@beds
def test_the_slat_guide_finds_both_ends(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    case, found = case_of(name, size, changes)
    guide = found["slat_end_guide"]
    ((x, y, wide),) = led(guide)
    from_stop, from_fence = x - stop(guide), y + fences(guide)["slat"]
    slats = case.some("slat_")
    for slat in slats:
        shape = slat.kind.shape
        cuts = [c for c in shape.cuts if c.name.endswith("clearance")]
        assert len(cuts) == 2
        for cut in cuts:
            u, v, _ = cut.frame.origin
            # For the other end the slat is turned: both its edges are alike then.
            assert min(u, shape.length - u) == pytest.approx(from_stop, abs=NEAR)
            assert v == pytest.approx(from_fence, abs=NEAR)
            assert shape.width - v == pytest.approx(from_fence, abs=NEAR)
            assert cut.width == pytest.approx(wide, abs=2e-3)
    assert lengths(row(guide, "fence")) == pytest.approx([from_fence], abs=0.051)
    assert lengths(row(guide, "end stop")) == pytest.approx([from_stop], abs=0.051)
    counts = [int(n) for n in re.findall(r"\((\d+) off\)", row(guide, "for"))]
    pilots = sum(len(bored(p, "slat", "pilot")) for p in case.some("runner"))
    assert counts == [2 * len(slats), pilots]


@beds
def test_pilots_drilled_through_the_slats_are_the_runners(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    """From the counterbore's floor, down the slat's hole, by the depth that the card says."""
    case, found = case_of(name, size, changes)
    deep = lengths(row(found["slat_end_guide"], "stop"))[0]
    floors = {}
    for runner in case.some("runner"):
        for cut in bored(runner, "slat", "pilot"):
            end = (runner.placement @ cut.frame).point((0.0, 0.0, cut.depth))
            floors[tuple(np.round(end[:2], 4))] = end[2]
    for slat in case.some("slat_"):
        for cut in slat.kind.shape.cuts:
            if cut.name.endswith("clearance"):
                start = (slat.placement @ cut.frame).origin
                assert start[2] - floors[tuple(np.round(start[:2], 4))] == pytest.approx(
                    deep, abs=0.051
                )
    assert len(floors) == 2 * len(case.some("slat_"))


# --- cleats --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["campion", "hawthorn"])
def test_the_cleat_guide_finds_both_holes(name: str) -> None:
    case, found = case_of(name, None, CLEATS)
    guide = found["cleat_guide"]
    places = [(x - stop(guide), y + fences(guide)["cleat"], d) for x, y, d in led(guide)]
    for end in ("head", "foot"):
        cleat = case.piece(f"{end}_cleat")
        shape = cleat.kind.shape
        assert cleat.placement.direction((0.0, 1.0, 0.0)) == (0.0, 0.0, 1.0)
        cuts = [c for c in shape.cuts if c.name.endswith("clearance")]
        there = sorted((c.frame.origin[0], shape.width - c.frame.origin[1], c.width) for c in cuts)
        for (x, y, d), (u, v, w) in zip(places, there, strict=True):
            assert (x, y, d) == pytest.approx((u, v, w), abs=2e-3)
    deep = lengths(row(guide, "stop"))[0]
    plan = case.layout.cleats[0].plan
    assert deep == pytest.approx(plan.length, abs=0.051)  # the screw's point is the pilot's end


def test_cleats_of_other_screws_have_a_guide_each() -> None:
    """Boards of 25 and 35 mm take screws of two lengths, and so another counterbore."""
    changes = (*CLEATS, "headboard.board.1.thickness=19 mm", "cleat.thickness=45 mm")
    case, found = case_of("hawthorn", None, changes)
    plans = {cleat.plan for cleat in case.layout.cleats}
    guides = [name for name in found if name.startswith("cleat_guide")]
    assert len(guides) == len(plans)


# --- what the cards say --------------------------------------------------------------------


@beds
def test_cards_tell_the_drills_by_the_wood(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    case, found = case_of(name, size, changes)
    layout, unit = case.layout, case.layout.sheet.design.unit
    given = layout.sheet.wood
    assert layout.runner_screws is not None
    assert layout.slat_screws is not None
    plans: list[tuple[str, ScrewPlan, str]] = [
        ("runner_screw_guide", layout.runner_screws.plan, given.species),
        ("slat_end_guide", layout.slat_screws.plan, given.slats or given.species),
        *(("cleat_guide", cleat.plan, given.species) for cleat in layout.cleats),
    ]
    for jig, plan, species in plans:
        pilot = row(found[jig], "pilot")
        timber = wood(species)
        wanted = pilot_diameter(screw(plan.gauge), timber.specific_gravity, unit)
        assert pilot.startswith(f"pilot {drill_words(wanted, unit)}, ")
        assert timber.label in pilot
        assert f"specific gravity {timber.specific_gravity:.2f}" in pilot
        # Source: Wood Handbook, ch. 8: 70 % of the root in light woods, 90 % in dense ones.
        for gravity in (0.42, 0.57):
            drill = drill_words(pilot_diameter(screw(plan.gauge), gravity, unit), unit)
            assert f"{drill} at {gravity:.2f} or" in pilot
        told = row(found[jig], "clearance")
        assert drill_words(plan.clearance, unit) in told
        assert drill_words(plan.counterbore, unit) in told
        assert f"No. {plan.gauge} " in row(found[jig], "screws")
        assert {"make", "stop", "fence", "reference", "face up", "left, right"} <= set(
            dict(found[jig].card.rows)
        )


def test_a_row_is_told_as_first_pitch_and_count() -> None:
    layout = bed("hawthorn").layout
    told = spacing(layout, [40.0, 215.5, 391.0])
    assert "first 40 mm" in told
    assert "2 more at a pitch of 175.5 mm" in told
    assert "last 391 mm" in told
    moved = spacing(layout, [40.0, 218.0, 391.0])
    assert "pitch" not in moved
    assert "173 mm" in moved
    assert "178 mm" in moved
    assert "story stick" in moved
    assert spacing(layout, [40.0]).startswith("one, first 40 mm")


def test_one_stick_carries_both_rows_of_a_runner() -> None:
    layout = bed("campion").layout
    (stick,) = (s for s in story_sticks(layout) if s.name == HOLES)
    assert stick.parts == ("runner", "side_rail")
    assert layout.runner_screws is not None
    assert len(stick.marks) == len(layout.runner_screws.places) + layout.slats.count
    assert list(stick.marks) == holes_along(layout)
    glued = story_sticks(bed("campion", None, "runner.joint=glue").layout)
    (stick,) = (s for s in glued if s.name == HOLES)
    assert stick.parts == ("runner",)
    loose = bed("campion", None, "runner.joint=glue", "slat.joint=loose").layout
    assert HOLES not in {s.name for s in story_sticks(loose)}


# --- dowels --------------------------------------------------------------------------------

DOWELLED = [(name, (*DOWELS, *more)) for name in EXAMPLES for more in ((), ("frame.stance=14 mm",))]


def guides_of(found: dict[str, Jig]) -> list[Jig]:
    return [jig for name, jig in found.items() if name.startswith("dowel_guide")]


@pytest.mark.parametrize(("name", "changes"), DOWELLED)
def test_every_dowel_hole_is_where_a_guide_leads_the_drill(
    name: str, changes: tuple[str, ...]
) -> None:
    """Up from the lowest hole, which stands on its mark; out from the inside face."""
    case, found = case_of(name, None, changes)
    for end in case.layout.ends:
        for number, board in enumerate(end.boards, start=1):
            boards = [p for p in case.pieces if p.name.startswith(f"{end.end}board_board")]
            piece = boards[number - 1 if len(end.boards) > 1 else 0]
            owners = [piece, *case.some(f"{end.end}_leg")]
            for owner in owners:
                holes = [
                    (owner.placement @ cut.frame).origin
                    for cut in owner.kind.shape.mortises
                    if cut.is_round and _meets(owner, cut, board.tenons.heights)
                ]
                assert holes
                for hole in holes:
                    part = "leg" if "leg" in owner.name else "board"
                    inside = end.inside_y - (0 if part == "leg" else end.inward * end.reveal)
                    out = abs(hole[1] - inside)
                    up = hole[2] - board.tenons.heights[0]
                    assert any(_leads(jig, part, up, out) for jig in guides_of(found)), owner.name


def _meets(owner: Piece, cut: Mortise, heights: tuple[float, ...]) -> bool:
    z = (owner.placement @ cut.frame).origin[2]
    return any(abs(z - height) < 1e-3 for height in heights)


def _leads(jig: Jig, part: str, up: float, out: float) -> bool:
    holes = sorted(led(jig))
    distance = fences(jig).get(part, fences(jig).get("both"))
    if distance is None:
        return False
    return any(
        abs(x - holes[0][0] - up) < NEAR and abs(y + distance - out) < NEAR for x, y, _ in holes
    )


@pytest.mark.parametrize(("name", "changes"), DOWELLED)
def test_slots_of_dry_dowels_have_plates_whose_cut_is_theirs(
    name: str, changes: tuple[str, ...]
) -> None:
    case, found = case_of(name, None, changes)
    plates = {n: jig for n, jig in found.items() if n.startswith("dowel_slot_plate")}
    slots = [
        cut
        for leg in case.some("head_leg") + case.some("foot_leg")
        for cut in leg.kind.shape.mortises
        if not cut.is_round
    ]
    assert slots
    sizes = {(round(c.length, 3), round(c.width, 3)) for c in slots}
    cuts = [jig.cuts[0] for jig in plates.values()]
    wanted = set()
    for cut in cuts:
        x0, y0, x1, y1 = cut.wanted.bounds()
        wanted.add((round(x1 - x0, 3), round(y1 - y0, 3)))
    assert wanted == sizes
    counts = sum(
        int(n) for jig in plates.values() for n in re.findall(r"\((\d+) off\)", row(jig, "for"))
    )
    assert counts == len(slots)
    for plate, report, passed in check_jigs(list(plates.values())):
        assert passed, plate
        assert max(report.uncut_depth, report.overcut_depth) < LIMIT
    deep = max(cut.depth for cut in slots)
    for jig in plates.values():
        assert any(bit.label == row(jig, "bit") and bit.length >= deep for bit in bits().values())
    assert sum(len(seats) for seats in slot_seats(case.layout).values()) >= len(plates)


def test_rows_alike_from_both_ends_need_no_turning_over() -> None:
    found = jigs("hawthorn", None, "headboard.joint=dowels")
    (guide,) = guides_of(found)
    assert "turn the part end for end" in row(guide, "left, right")
    assert "LOWEST" not in {mark.label for mark in guide.sheet.marks}
    assert is_even(((-10.0, 0.0, 10.0), 8.0))
    assert not is_even(((-10.0, 2.0, 10.0), 8.0))


def as_drawn(piece: Piece, end: str, inward: float) -> bool:
    """Whether x of a guide on this face is up, with the fence (-y) at the inside face.

    Seen by who drills, who looks into the wood: x, y and the way out of it are right-handed.
    """
    out = np.array([1.0, 0.0, 0.0]) * (1 if end == "right" else -1)
    if "leg" in piece.name:
        out = -out  # its joint face looks to the board
    fence = np.array([0.0, inward, 0.0])
    return bool(np.dot(np.cross([0.0, 0.0, 1.0], -fence), out) > 0)


def test_one_leg_and_one_end_of_a_board_want_an_uneven_guide_turned_over() -> None:
    case = bed("sorrel", None, *DOWELS)
    for end in case.layout.ends:
        legs = {
            as_drawn(leg, leg.name.rsplit("_", 1)[1], end.inward)
            for leg in case.some(end.end)
            if "leg" in leg.name
        }
        board = case.some(f"{end.end}board_board")[0]
        ends = {as_drawn(board, side, end.inward) for side in ("left", "right")}
        assert legs == ends == {True, False}


def test_rows_that_are_not_alike_tell_their_lowest_hole() -> None:
    found = [
        guide
        for name in EXAMPLES
        for guide in guides_of(jigs(name, None, *DOWELS))
        if "turned over" in row(guide, "left, right")
    ]
    assert found
    for guide in found:
        (line,) = (m for m in guide.sheet.marks if m.layer == SLOT and m.label == "LOWEST")
        low = min(x for x, _, _ in led(guide))
        assert line.end[0] < line.start[0] < low


# --- files ---------------------------------------------------------------------------------

SHEETS = [
    *((name, CLEATS, jig) for name in EXAMPLES[:2] for jig in ("cleat_guide",)),
    *((name, DOWELS, jig) for name in EXAMPLES for jig in ("dowel_guide_1", "dowel_slot_plate_1")),
]


@pytest.mark.parametrize(("name", "changes", "jig"), SHEETS)
def test_sheets_read_back_and_their_words_are_clear(
    name: str, changes: tuple[str, ...], jig: str
) -> None:
    sheet = jigs(name, None, *changes)[jig].sheet
    check_rings(sheet)
    check_words(sheet)
