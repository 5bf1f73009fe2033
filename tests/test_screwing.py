"""Screws of runners, slats and cleats: plans, places and holes.

Sources beside the checks; proportions without one are common practice.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import pytest

from bedmodel.cuts import Cut
from bedmodel.errors import InputError
from bedmodel.frames import Frame, dot, subtract
from bedmodel.hardware import Bracket, HookPlate
from bedmodel.pieces import make_pieces
from bedmodel.screw_joints import screw_joints
from bedmodel.screwing import BITE_RATIO, HELD_LEAST
from bedmodel.screws import lengths_of, screw
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.tables import mattress_sizes, wood

EXAMPLES = ("campion", "hawthorn", "sorrel")
ALL = [(name, size) for name in EXAMPLES for size in mattress_sizes()]
# A board behind both cleats, and the centre rail's ends near the boards.
CLEATS = (
    "centre_rail.ends=cleats",
    "leg.above_boards=60 mm",
    "headboard.board.1.above_platform=-6 in",
    "footboard.board.1.above_platform=-6 in",
)


def layout_of(name: str, *changes: str, size: str | None = None) -> Layout:
    return lay_out(load_sheet(name, size=size, changes=changes))


@pytest.mark.parametrize(("name", "size"), ALL)
def test_screws_hold_at_every_size(name: str, size: str) -> None:
    layout = layout_of(name, size=size)
    sheet = layout.sheet
    runner, slats = layout.runner_screws, layout.slat_screws
    assert runner is not None
    assert slats is not None
    for plan, holder in (
        (runner.plan, sheet.side_rail.thickness),
        (slats.plan, sheet.runner.height),
    ):
        assert plan.bite <= holder - sheet.fastener.wall_least + 1e-9, "the point stays inside"
        assert plan.bite >= sheet.screw.bite_least - 1e-9
        assert plan.held - plan.sunk >= HELD_LEAST - 1e-9
        assert plan.pilot < screw(plan.gauge).root < screw(plan.gauge).shank < plan.clearance
        lengths = lengths_of(screw(plan.gauge), sheet.design.unit)
        assert plan.length in lengths
    gaps = [b - a for a, b in itertools.pairwise(runner.places)]
    # A screw is moved aside for a slat's by no more than half a hole and its wall.
    aside = 2 * (runner.plan.counterbore + slats.plan.pilot + sheet.fastener.wall_least)
    assert max(gaps) <= sheet.screw.runner_pitch + aside
    assert min(gaps) > 0


def holes(layout: Layout, kind: str) -> Iterator[tuple[Frame, Cut]]:
    """Each hole of a piece, its frame in the bed."""
    for piece in make_pieces(layout):
        if piece.name == kind:
            for cut in piece.kind.shape.cuts:
                yield piece.placement @ cut.frame, cut


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("hand", ["left", "right"])
def test_clearance_and_pilot_holes_are_in_line(name: str, hand: str) -> None:
    """The hole in the part that is held and the one it leads to share an axis, end to end."""
    layout = layout_of(name)
    pilots = [
        (frame, cut)
        for part in (f"runner_{hand}", f"side_rail_{hand}")
        for frame, cut in holes(layout, part)
        if cut.role == "pilot" and "fastener" not in cut.name
    ]
    clear = [
        (frame, cut)
        for part in (f"runner_{hand}", *(f"slat_{i + 1:02d}" for i in range(layout.slats.count)))
        for frame, cut in holes(layout, part)
        if cut.name.endswith("clearance")
        and math.copysign(1, frame.origin[0]) == (1 if hand == "right" else -1)
    ]
    assert layout.runner_screws is not None
    assert len(pilots) == len(clear) == layout.slats.count + len(layout.runner_screws.places)
    for frame, cut in pilots:
        ends = [f.point((0.0, 0.0, c.depth)) for f, c in clear]
        near = min(ends, key=lambda p: math.dist(p, frame.origin))
        other = clear[ends.index(near)][0]
        assert math.dist(near, frame.origin) < 1e-6
        assert dot(other.z, frame.z) == pytest.approx(1.0)
        assert cut.depth > 0


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_hole_lies_inside_what_it_is_bored_in(name: str) -> None:
    """Closed form of the pieces' boxes: each hole's axis keeps its wall to every side."""
    layout = layout_of(name)
    least = layout.sheet.fastener.wall_least
    for piece in make_pieces(layout):
        if piece.kind.name.startswith(("runner", "slat")) and not piece.kind.is_metal:
            for cut in piece.kind.shape.cuts:
                along = max(range(3), key=lambda i: abs(cut.frame.z[i]))
                for i in {0, 1, 2} - {along}:
                    start = cut.frame.origin[i]
                    far = piece.kind.shape.blank[i] - start
                    assert min(start, far) - cut.width / 2 >= least - 0.1, cut.name


@pytest.mark.parametrize(
    ("runner", "rail", "bite"),
    [
        ("40 mm", "40 mm", BITE_RATIO * 4.83),  # seven shanks of No. 10 find room
        ("40 mm", "26 mm", 22.0),  # the rail, less the wall beyond the point
    ],
)
def test_the_bite_is_seven_shanks_or_what_the_rail_allows(
    runner: str, rail: str, bite: float
) -> None:
    """Penetration of 7 D for full lateral load: Wood Handbook, FPL-GTR-282, ch. 8, Eq. 8-13."""
    changes = (f"runner.width={runner}", f"side_rail.thickness={rail}", "leg.top_width=90 mm")
    found = layout_of("hawthorn", *changes).runner_screws
    assert found is not None
    assert found.plan.gauge == 10
    assert 0.8 * bite <= found.plan.bite <= bite + 5.0


def test_pilots_go_by_the_wood() -> None:
    """A dense rail and a light runner: one gauge, two pilots in proportion to 90 % and 70 %."""
    dense = layout_of("hawthorn", "wood.species=white-oak", "screw.runner_gauge=8")
    light = layout_of("hawthorn", "wood.species=eastern-white-pine", "screw.runner_gauge=8")
    assert (
        wood("white-oak").specific_gravity
        > 0.57
        > 0.42
        > wood("eastern-white-pine").specific_gravity
    )
    assert dense.runner_screws is not None
    assert light.runner_screws is not None
    root = 4.17 * 2 / 3  # No. 8, Table 8-9
    assert dense.runner_screws.plan.pilot == pytest.approx(0.9 * root, abs=0.1)
    assert light.runner_screws.plan.pilot == pytest.approx(0.7 * root, abs=0.1)


def test_without_screws_there_are_no_holes() -> None:
    layout = layout_of("campion", "runner.joint=glue", "slat.joint=loose", "side_rail.joint=butt")
    assert not list(screw_joints(layout))
    assert layout.runner_screws is None
    assert layout.slat_screws is None
    for piece in make_pieces(layout):
        if piece.kind.name.startswith(("runner", "slat", "side_rail")):
            assert not piece.kind.shape.cuts


@pytest.mark.parametrize("name", ["campion", "hawthorn"])
def test_cleats_stand_on_the_boards_under_the_centre_rail(name: str) -> None:
    layout = layout_of(name, *CLEATS)
    assert layout.centre_rail is not None
    assert [plan.end for plan in layout.cleats] == ["head", "foot"]
    pieces = {piece.name: piece for piece in make_pieces(layout)}
    for plan in layout.cleats:
        cleat = pieces[f"{plan.end}_cleat"]
        corners = [
            cleat.placement.point((x, y, z))
            for x in (0.0, cleat.kind.shape.length)
            for y in (0.0, cleat.kind.shape.width)
            for z in (0.0, cleat.kind.shape.thickness)
        ]
        assert max(c[2] for c in corners) == pytest.approx(layout.centre_rail.bottom)
        ys = sorted({round(c[1], 6) for c in corners})
        rail = (layout.centre_rail.start, layout.centre_rail.end)
        over = ys[1] - rail[0] if plan.inward > 0 else rail[1] - ys[0]
        assert over >= 15.0
        pilots = [c for c in pieces[plan.board].kind.shape.cuts if "cleat" in c.name]
        assert len(pilots) == 2
        for cut in pilots:
            frame = pieces[plan.board].placement @ cut.frame
            assert abs(subtract(frame.origin, (0.0, plan.face_y, 0.0))[1]) < 1e-9
            assert cut.depth <= pieces[plan.board].kind.shape.thickness - 4.0 + 1e-9


def refused(name: str, *changes: str) -> InputError:
    with pytest.raises(InputError) as caught:
        layout_of(name, *changes)
    return caught.value


@pytest.mark.parametrize(
    ("changes", "parameter", "bound"),
    [
        (("runner.height=14 mm",), "runner.height", "at least"),
        (("screw.runner_length=120 mm",), "screw.runner_length", " to "),
        (("screw.slat_length=80 mm",), "screw.slat_length", " to "),
        (("screw.runner_gauge=14", "runner.height=20 mm"), "runner.height", "at least"),
        (("screw.sunk=10 mm", "slat.thickness=12 mm"), "slat.thickness", "at least"),
        (("runner.width=18 mm", "slat.bearing_least=8 mm"), "runner.width", "at least"),
    ],
)
def test_screws_that_do_not_fit_are_refused(
    changes: tuple[str, ...], parameter: str, bound: str
) -> None:
    failure = refused("hawthorn", *changes)
    assert failure.parameter == parameter
    assert bound in failure.allowed
    assert failure.remedy


@pytest.mark.parametrize(
    ("changes", "parameter"),
    [
        (("screw.runner_gauge=14", "runner.height=20 mm"), "runner.height"),
        (("screw.sunk=10 mm", "slat.thickness=12 mm"), "slat.thickness"),
        (("runner.width=18 mm", "slat.bearing_least=8 mm"), "runner.width"),
    ],
)
def test_the_least_told_is_enough(changes: tuple[str, ...], parameter: str) -> None:
    failure = refused("hawthorn", *changes)
    least = failure.allowed.split("at least ")[1].split(" for ")[0].split(" under ")[0]
    layout_of("hawthorn", *changes, f"{parameter}={least}")


def test_an_unknown_gauge_is_refused_with_those_of_the_table() -> None:
    failure = refused("hawthorn", "screw.slat_gauge=13")
    assert failure.parameter == "screw.slat_gauge"
    assert "12, 14" in failure.remedy


def test_a_cleat_without_a_board_behind_it_is_refused() -> None:
    failure = refused("campion", "centre_rail.ends=cleats")
    assert failure.parameter == "centre_rail.ends"
    assert "head end" in failure.allowed


# --- screws of the rails' fasteners --------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("kind", ["hook_plates", "brackets"])
def test_every_screw_of_a_fastener_bites_as_the_sheet_asks(name: str, kind: str) -> None:
    layout = layout_of(name, f"side_rail.joint={kind}")
    assert layout.fastener is not None
    for corner in layout.fastener.corners:
        for place in corner.fitting.screws:
            assert place.length - place.before >= layout.sheet.fastener.bite_least


def own_row(kind: str, **values: float) -> tuple[str, dict[str, object]]:
    row = {"name": "own", "length": 90, "width": 12, "hook_pitch": 42, "screw_pitch": 79, **values}
    row |= {"screw_gauge": 8, "neck": 8, "drop": 6, "pocket_width": 7}
    if kind == "bracket":
        row |= {"end_flange": 18, "hook_inset": 11}
    return kind, row


@pytest.mark.parametrize(
    ("row", "changes", "told"),
    [
        # 15 mm of wood and the plate's 3 mm.
        (
            own_row("bracket", face_screw=17.9),
            (),
            r"face_screw = 17\.9 mm: must be at least 18 mm for its thread to bite 15 mm of wood",
        ),
        (own_row("hook_plate", leg_screw=16), (), r"leg_screw = 16 mm: must be at least 18 mm"),
        (own_row("hook_plate", rail_screw=12), (), r"rail_screw = 12 mm: must be at least 18 mm"),
        (own_row("bracket", face_screw=26), (), r"face_screw = 26 mm: must be at most 25 mm"),
        # No length fits: the rail less its wall takes 25 mm.
        (
            own_row("bracket", face_screw=20),
            ("fastener.bite_least=24",),
            r"at least 27 mm to bite 24 mm of wood, which takes at most 25 mm, a bite of 22 mm",
        ),
    ],
)
def test_screws_that_bite_too_little_are_refused_with_the_length_that_would(
    row: tuple[str, dict[str, object]], changes: tuple[str, ...], told: str
) -> None:
    kind, values = row
    sheet = load_sheet("hawthorn", changes=(f"side_rail.joint={kind}s", *changes))
    assert sheet.side_rail.thickness == 29
    own = {"hook_plate": HookPlate, "bracket": Bracket}[kind]
    made = own.model_validate(values, context={"unit": "mm"})
    fastener = sheet.fastener.model_copy(update={kind: (made,), "name": "own"})
    with pytest.raises(InputError, match=told):
        lay_out(sheet.model_copy(update={"fastener": fastener}))


def test_the_length_and_the_bite_that_are_named_would_do() -> None:
    for face_screw, bite in ((18.0, 15.0), (25.0, 22.0)):
        sheet = load_sheet("hawthorn", changes=("side_rail.joint=brackets",))
        _, values = own_row("bracket", face_screw=face_screw)
        row = Bracket.model_validate(values, context={"unit": "mm"})
        update = {"bracket": (row,), "name": "own", "bite_least": bite}
        fastener = sheet.fastener.model_copy(update=update)
        assert lay_out(sheet.model_copy(update={"fastener": fastener})).fastener is not None
