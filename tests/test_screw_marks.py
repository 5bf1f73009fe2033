"""Marks of the platform's screws, measured again with numpy on the holes in the placed parts.

The marks come from the screws' records; here each hole of a runner, rail, slat, cleat or
board is taken from its own part, left and right, to the bed and measured from the edge
that its row names.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from bedmodel.bed import Piece
from bedmodel.cuts import Cut
from bedmodel.screws import pilot_share
from bedmodel.shop.marks import CENTRE, MarkRow
from bedmodel.shop.story_stick import HOLES, story_sticks
from bedmodel.tables import wood
from tests.test_screwing import CLEATS
from tests.test_setting_out import NEAR, Case, Vec, bed, corners, rail_line, to_bed, turned

BEDS: list[tuple[str, str | None, tuple[str, ...]]] = [
    ("campion", None, ()),
    ("campion", "us-king", ("frame.stance=0",)),
    ("hawthorn", "eu-90x200", ()),
    ("hawthorn", None, ("frame.stance=20", "runner.height=41", "slat.width=71")),
    ("sorrel", None, ("screw.sunk=0",)),
]
beds = pytest.mark.parametrize(("name", "size", "changes"), BEDS)
SIDES = ("left", "right")


def screw_cuts(piece: Piece, words: str, end: str) -> Iterator[tuple[Vec, Cut]]:
    """Where each such hole is let in, in the bed, and the hole."""
    for cut in piece.kind.shape.cuts:
        if words in cut.name and cut.name.endswith(end):
            yield to_bed(piece.placement @ cut.frame, (0.0, 0.0, 0.0)), cut


def values(row: MarkRow, what: str, *words: str) -> list[float]:
    return [m.true for m in row.marks if m.what == what and all(word in m.label for word in words)]


def met(found: list[float], wanted: list[float]) -> None:
    """Each hole has its mark, and no mark is without a hole."""
    assert found
    assert wanted
    for one, many in ((found, wanted), (wanted, found)):
        for value in one:
            assert min(abs(value - other) for other in many) < NEAR


def runner_head(case: Case, side: str) -> tuple[Vec, Vec, Vec]:
    """A runner's upper head corner at its rail, along it to the foot, and away from the rail."""
    runner = case.piece(f"runner_{side}")
    points = corners(runner)
    _, _, along = rail_line(case, side)
    inward = np.cross(along, [0.0, 0.0, 1.0]) * (-1 if side == "right" else 1)
    start = min(points @ along)
    at_head = points[np.abs(points @ along - start) < NEAR]
    corner = min(at_head, key=lambda p: (round(p @ inward, 6), -p[2]))
    return corner, along, inward


@beds
@pytest.mark.parametrize("side", SIDES)
def test_holes_of_a_runner_are_where_the_marks_say(
    name: str, size: str | None, changes: tuple[str, ...], side: str
) -> None:
    case = bed(name, size, *changes)
    runner = case.piece(f"runner_{side}")
    corner, along, inward = runner_head(case, side)
    low = corners(runner)[:, 2].min()
    holes = list(screw_cuts(runner, "runner_screw", "clearance"))
    found = values(case.row(runner, "from the head end, along the inside face"), CENTRE)
    met([float((p - corner) @ along) for p, _ in holes], found)
    assert len(found) == len(holes)
    up = values(case.row(runner, "from the lower edge"), CENTRE)
    met([float(p[2] - low) for p, _ in holes], up)
    pilots = list(screw_cuts(runner, "slat_", "pilot"))
    row = case.row(runner, "squared across the top")
    across = case.row(runner, "from the rail's side")
    for point, cut in pilots:
        # The layout numbers the slats from the head, as the pieces are.
        slat = min(case.some("slat_"), key=lambda s: abs(corners(s)[:, 1].mean() - point[1]))
        (there,) = values(row, CENTRE, slat.name)
        assert (point - corner) @ along == pytest.approx(there, abs=NEAR)
        far = [
            m.true for m in across.marks if slat.name in str(m.of) or m.of[0].startswith("every")
        ]
        assert far == pytest.approx([(point - corner) @ inward], abs=NEAR)
        (deep,) = values(case.row(runner, "from the top, into the runner"), "depth")
        assert cut.depth == pytest.approx(deep, abs=NEAR)
    assert len(row.marks) == len(pilots) == case.layout.slats.count


@beds
@pytest.mark.parametrize("side", SIDES)
def test_pilots_of_a_rail_are_where_the_marks_say(
    name: str, size: str | None, changes: tuple[str, ...], side: str
) -> None:
    case = bed(name, size, *changes)
    rail = case.piece(f"side_rail_{side}")
    head, _, along = rail_line(case, side)
    low = corners(rail)[:, 2].min()
    holes = list(screw_cuts(rail, "runner_screw", "pilot"))
    found = values(case.row(rail, "from the head end"), CENTRE, "runner screw")
    met([float((p - head) @ along) for p, _ in holes], found)
    assert len(found) == len(holes)
    up = values(case.row(rail, "from the lower edge, on the inside face"), CENTRE, "runner screw")
    met([float(p[2] - low) for p, _ in holes], up)
    assert len(up) == 1
    deep = values(case.row(rail, "from the inside face, into the rail"), "depth", "runner screw")
    met([cut.depth for _, cut in holes], deep)


@beds
def test_the_stick_of_a_runner_serves_its_rail_too(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    """Its datum end held to the mark of the runner's head end, the rail's pilots lie under it."""
    case = bed(name, size, *changes)
    (stick,) = (s for s in story_sticks(case.layout) if s.name == HOLES)
    marks = [m.true for m in stick.marks if "runner screw" in m.label]
    rail = case.piece("side_rail_right")
    row = case.row(rail, "from the head end")
    (start,) = values(row, "head end")
    head, _, along = rail_line(case, "right")
    holes = [float((p - head) @ along) for p, _ in screw_cuts(rail, "runner_screw", "pilot")]
    met([hole - start for hole in holes], marks)


@beds
def test_holes_of_a_slat_are_where_the_marks_say(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    case = bed(name, size, *changes)
    for slat in case.some("slat_"):
        points = corners(slat)
        low, high = points.min(axis=0), points.max(axis=0)
        (inset,) = values(case.row(slat, "from each end"), CENTRE)
        (middle,) = values(case.row(slat, "from each edge"), CENTRE)
        depths = case.row(slat, "into the slat")
        sunk = values(depths, "counterbore")
        holes = list(screw_cuts(slat, "screw", "clearance"))
        assert sorted(p[0] for p, _ in holes) == pytest.approx([low[0] + inset, high[0] - inset])
        for point, cut in holes:
            assert point[1] - low[1] == pytest.approx(middle, abs=NEAR)
            assert high[1] - point[1] == pytest.approx(middle, abs=NEAR)
            below = high[2] - point[2]
            assert below == pytest.approx(sunk[0] if sunk else 0.0, abs=NEAR)
            (through,) = values(depths, "clearance hole, right through")
            assert below + cut.depth == pytest.approx(through, abs=NEAR)
        assert len(list(screw_cuts(slat, "screw", "counterbore"))) == 2 * len(sunk)


@pytest.mark.parametrize("joint", ["loose_tenon", "tenon", "dowels"])
@pytest.mark.parametrize("name", ["campion", "hawthorn"])
def test_holes_of_cleats_and_boards_are_where_the_marks_say(name: str, joint: str) -> None:
    case = bed(name, None, *CLEATS, f"headboard.joint={joint}", f"footboard.joint={joint}")
    for plan in case.layout.cleats:
        cleat, board = case.piece(f"{plan.end}_cleat"), case.piece(plan.board)
        box = corners(cleat)
        low, high = box.min(axis=0), box.max(axis=0)
        holes = list(screw_cuts(cleat, "cleat_screw", "clearance"))
        row = case.row(cleat, "from each end")
        (along,) = values(row, CENTRE)
        assert sorted(p[0] for p, _ in holes) == pytest.approx([low[0] + along, high[0] - along])
        (down,) = values(case.row(cleat, "from the upper edge"), CENTRE)
        assert [high[2] - p[2] for p, _ in holes] == pytest.approx([down] * 2)
        (near,) = values(row, "near edge", "centre rail")
        rail = corners(case.piece("centre_rail"))[:, 0]
        assert rail.min() - low[0] == pytest.approx(near)
        edges = corners(board)
        ends, bottom = (edges[:, 0].min(), edges[:, 0].max()), edges[:, 2].min()
        pilots = list(screw_cuts(board, "cleat_screw", "pilot"))
        word = "shoulder line" if joint == "tenon" else "end"
        places = case.row(board, f"from each {word}, along the inside face")
        (x,) = values(places, CENTRE)
        assert sorted(p[0] for p, _ in pilots) == pytest.approx([ends[0] + x, ends[1] - x])
        (near,) = values(places, "near end", "cleat")
        assert low[0] - ends[0] == pytest.approx(near)
        heights = case.row(board, "from the lower edge, up the inside face")
        (z,) = values(heights, CENTRE)
        assert [p[2] - bottom for p, _ in pilots] == pytest.approx([z] * 2)
        assert values(heights, "lower edge") == pytest.approx([low[2] - bottom])
        assert values(heights, "upper edge") == pytest.approx([high[2] - bottom])
        (deep,) = values(case.row(board, "from the inside face, into the board"), "depth")
        assert [cut.depth for _, cut in pilots] == pytest.approx([deep] * 2)
        for _, cut in pilots:  # it is the face that the marks are on
            way = turned(board.placement @ cut.frame, (0.0, 0.0, 1.0))
            assert way[1] * plan.inward == pytest.approx(-1)


def test_notes_tell_drills_spacing_and_wood() -> None:
    case = bed("hawthorn")
    parts = {part.kind: part for part in case.parts}
    runner = next(part for kind, part in parts.items() if kind.startswith("runner"))
    told = " ".join(runner.notes)
    plan = case.layout.runner_screws
    assert plan is not None
    pitch = plan.places[1] - plan.places[0]
    assert f"{len(plan.places) - 1} more at a pitch of {pitch:.0f} mm" in told
    assert "counterbore 10.16 mm" in told
    assert "clearance hole 5.1 mm" in told
    species = wood("yellow-birch")  # the runner's, which the slats are screwed to
    share = 100 * pilot_share(species.specific_gravity)
    assert f"{share:.0f} % of the thread's root for {species.label}" in told
    slats = case.layout.slats
    assert f"{slats.count - 1} more at a pitch of {slats.width + slats.gap:.1f} mm" in told
