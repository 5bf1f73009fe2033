"""The frame in space, against closed forms and against PyNiteFEA, frame by frame."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from bedmodel.frames import Vector
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import lay_out
from bedmodel.strength.bed_frame import frame_cases
from bedmodel.strength.bed_model import BedModel, bed_model, with_hooks
from bedmodel.strength.frame import (
    FIRM,
    Bar,
    Contact,
    FrameLoad,
    FrameModel,
    Member,
    Moved,
    Topples,
)
from bedmodel.strength.levels import levels, solve_levels
from bedmodel.strength.loads import default_loads
from bedmodel.strength.solve import solve_frame
from bedmodel.strength.timber import Section, default_rules
from tests.frame_oracle import solve_by_oracle, without_shear

E, G = 12000.0, 960.0
CLAMPED = (True,) * 6
BALL = (True, True, True, False, False, False)


def bar(width: float, depth: float, *, shear: bool = False) -> Bar:
    s = Section(width, depth)
    area = s.shear_area if shear else 0.0
    return Bar(E, G, s.area, depth * width**3 / 12, s.inertia, s.torsion, area)


def line(*points: Vector) -> tuple[Vector, ...]:
    return points


# --- closed forms ------------------------------------------------------------------------


@pytest.mark.parametrize("along", [(1, 0, 0), (0, 1, 0), (0.6, 0.48, 0.64)])
def test_cantilever_in_any_direction(along: Vector) -> None:
    """PL^3/3EI: 90 x 20, 780 long, 100 N: 21.970 mm."""
    length = 780.0
    tip = tuple(length * c for c in along)
    across = (-along[1], along[0], 0.0)
    size = math.hypot(*across)
    push = tuple(100.0 * c / size for c in across)
    model = FrameModel(((0, 0, 0), tip), (Member(0, 1, bar(90, 20), up=across),), {0: CLAMPED})
    (moved,) = solve_frame(model, [FrameLoad({1: (*push, 0, 0, 0)})])
    assert math.dist((0, 0, 0), moved.move(1)) == pytest.approx(21.970, abs=0.001)


def test_shear_adds_its_own_sag() -> None:
    """PL^3/3EI + PL/(G A 5/6): Wood Handbook Table 9-1, k_b 1/3 and k_s 1."""
    load = FrameLoad({1: (0, 0, -100, 0, 0, 0)})
    sags = []
    for shear in (False, True):
        model = FrameModel(
            ((0, 0, 0), (300, 0, 0)), (Member(0, 1, bar(20, 90, shear=shear)),), {0: CLAMPED}
        )
        sags.append(-solve_frame(model, [load])[0].move(1)[2])
    assert sags[0] == pytest.approx(100 * 300**3 / (3 * E * 20 * 90**3 / 12))
    assert sags[1] - sags[0] == pytest.approx(100 * 300 / (G * 20 * 90 * 5 / 6))


def test_twist_of_a_bar() -> None:
    """TL/GK."""
    model = FrameModel(((0, 0, 0), (500, 0, 0)), (Member(0, 1, bar(30, 30)),), {0: CLAMPED})
    (moved,) = solve_frame(model, [FrameLoad({1: (0, 0, 0, 1e5, 0, 0)})])
    # A square's constant is 0.1406 of its side to the fourth.
    assert float(moved.moves[1][3]) == pytest.approx(1e5 * 500 / (G * 0.1406 * 30**4), rel=2e-3)


def test_springs_at_both_ends_under_an_even_load() -> None:
    """Span 780, 90 x 20, 0.6 N/mm, 5 kN.m/rad at each end: 1.6697 mm."""
    turning = (FIRM, FIRM, 5e6)
    b = bar(90, 20)
    halves = (
        Member(0, 1, b, turning_start=turning),
        Member(1, 2, b, turning_end=turning),
    )
    model = FrameModel(line((0, 0, 0), (390, 0, 0), (780, 0, 0)), halves, {0: CLAMPED, 2: CLAMPED})
    load = FrameLoad({}, {0: (0, 0, -0.6), 1: (0, 0, -0.6)})
    (moved,) = solve_frame(model, [load])
    assert -moved.move(1)[2] == pytest.approx(1.6697, abs=1e-4)
    # The spring bears what the end turns by.
    assert abs(moved.end_moment(0, 0)[2]) < 0.6 * 780**2 / 12


def test_hinged_ends_are_a_simple_span() -> None:
    b = bar(90, 20)
    hinge = (FIRM, 0.0, 0.0)
    halves = (Member(0, 1, b, turning_start=hinge), Member(1, 2, b, turning_end=hinge))
    model = FrameModel(line((0, 0, 0), (390, 0, 0), (780, 0, 0)), halves, {0: CLAMPED, 2: CLAMPED})
    (moved,) = solve_frame(model, [FrameLoad({1: (0, 0, -500, 0, 0, 0)})])
    assert -moved.move(1)[2] == pytest.approx(6.8656, abs=1e-4)


def test_an_arm_carries_a_load_as_a_moment() -> None:
    """A load 100 mm off a cantilever's axis twists it as moment = force x arm."""
    b = bar(30, 60)
    post = Member(1, 2, b, up=(1, 0, 0), arm_start=(0, 100, 0))
    model = FrameModel(
        ((0, 0, 0), (500, 0, 0), (500, 100, 50)),
        (Member(0, 1, b), replace(post, bar=replace(b, modulus=1e9, shear_modulus=1e9))),
        {0: CLAMPED},
    )
    (moved,) = solve_frame(model, [FrameLoad({2: (0, 0, -100, 0, 0, 0)})])
    assert abs(moved.end_moment(0, 0)[0]) == pytest.approx(100 * 100, rel=1e-9)


def test_portal_that_sways() -> None:
    """Both feet clamped, all bars alike and h long: 5 P h^3 / 84 E I by slope-deflection."""
    h = 1000.0
    b = replace(bar(50, 50), area=1e9)  # no stretch, as the hand reckoning has none
    nodes = line((0, 0, 0), (0, 0, h), (h, 0, h), (h, 0, 0))
    up = (1.0, 0.0, 0.0)
    members = (Member(0, 1, b, up=up), Member(1, 2, b), Member(3, 2, b, up=up))
    model = FrameModel(nodes, members, {0: CLAMPED, 3: CLAMPED})
    (moved,) = solve_frame(model, [FrameLoad({1: (1000, 0, 0, 0, 0, 0)})])
    assert moved.move(1)[0] == pytest.approx(5 * 1000 * h**3 / (84 * E * 50**4 / 12), rel=1e-4)


# --- feet that push only -----------------------------------------------------------------


def table(gap: float = 0.0) -> FrameModel:
    """A square on four feet, corners 0 to 3, middle 4, and places 5 and 6 off the middle.

    5 lies towards corner 0, 6 towards corner 2, whose foot may be short.
    """
    corners = [(-500.0, -500.0, 0.0), (500.0, -500.0, 0.0), (500.0, 500.0, 0.0), (-500.0, 500.0, 0)]
    nodes = (*corners, (0.0, 0.0, 0.0), (-300.0, -300.0, 0.0), (300.0, 300.0, 0.0))
    b = replace(bar(60, 60), modulus=1e6, shear_modulus=1e5)  # so stiff that only feet give
    members = tuple(Member(*pair, b) for pair in ((0, 5), (5, 4), (1, 4), (2, 6), (6, 4), (3, 4)))
    contacts = tuple(Contact(i, 100, gap if i == 2 else 0.0) for i in range(4))
    return FrameModel(nodes, members, {}, contacts)


def down(node: int, force: float) -> FrameLoad:
    return FrameLoad({node: (0, 0, -force, 0, 0, 0)})


def test_feet_share_a_load_in_the_middle() -> None:
    (moved,) = solve_frame(table(), [down(4, 400)])
    assert moved.contact_n == pytest.approx((100,) * 4)
    assert moved.lifted() == ()


def test_a_foot_that_would_pull_lifts_and_the_rest_stay_in_balance() -> None:
    """Three feet stay: by the lever rule 60 % at the near corner, 20 % at its neighbours."""
    (moved,) = solve_frame(table(), [down(5, 1000)])
    assert moved.contact_n == pytest.approx((600, 200, 0, 200), abs=1)
    assert moved.lifted() == (2,)
    assert moved.move(2)[2] > 0


def test_a_short_foot_is_reached_only_when_the_load_tips_onto_it() -> None:
    away, towards = solve_frame(table(gap=3.0), [down(5, 1000), down(6, 1000)])
    assert away.contact_n == pytest.approx((600, 200, 0, 200), abs=1)
    assert away.move(2)[2] > -3
    assert towards.contact_n == pytest.approx((0, 200, 600, 200), abs=1)
    assert towards.move(2)[2] == pytest.approx(-3 - 600 / 100, abs=0.02)


def test_load_outside_the_feet_turns_it_over() -> None:
    model = table()
    nodes = (*model.nodes, (2000.0, 0.0, 0.0))
    out = replace(model, nodes=nodes, members=(*model.members, Member(4, 7, bar(60, 60))))
    with pytest.raises(Topples):
        solve_frame(out, [down(7, 1000)])


def test_too_few_supports_are_told() -> None:
    model = FrameModel(((0, 0, 0), (1000, 0, 0)), (Member(0, 1, bar(60, 60)),), {0: BALL})
    with pytest.raises(Topples):
        solve_frame(model, [down(1, 1)])


# --- equations by levels --------------------------------------------------------------------


def test_levels_meet_only_their_neighbours() -> None:
    rng = random.Random(5)
    links = [(rng.randrange(30), rng.randrange(30)) for _ in range(40)]
    order = levels(30, links)
    place = {node: i for i, level in enumerate(order) for node in level}
    assert sorted(place) == list(range(30))
    assert all(abs(place[a] - place[b]) <= 1 for a, b in links)


def test_solving_by_levels_is_solving() -> None:
    import numpy as np

    rng = np.random.default_rng(3)
    sizes = [3, 5, 1, 4]
    blocks, first = [], 0
    for size in sizes:
        blocks.append(np.arange(first, first + size))
        first += size
    full = np.zeros((first, first))
    for i, block in enumerate(blocks):
        full[np.ix_(block, block)] = rng.normal(size=(len(block), len(block))) + 8 * np.eye(
            len(block)
        )
        if i:
            full[np.ix_(blocks[i - 1], block)] = rng.normal(size=(len(blocks[i - 1]), len(block)))
    full = full + full.T
    right = rng.normal(size=(first, 2))
    assert solve_levels(full, right, blocks) == pytest.approx(np.linalg.solve(full, right))


# --- against PyNiteFEA -----------------------------------------------------------------------


def wild(seed: int, *, sprung: bool = False) -> tuple[FrameModel, FrameLoad]:
    """A frame of 5 to 8 nodes in space at random, seed by seed; ``sprung`` with arms too."""
    rng = random.Random(seed)
    count = rng.randint(5, 8)
    nodes = tuple(
        (rng.uniform(-800, 800), rng.uniform(-800, 800), 250.0 * i + rng.uniform(-50, 50))
        for i in range(count)
    )
    members = []
    pairs = [(i, i + 1) for i in range(count - 1)] + [(0, count - 1), (1, count - 2)]
    for a, b in pairs:
        spring, arm = (FIRM, FIRM, FIRM), (0.0, 0.0, 0.0)
        if sprung:
            spring = tuple(rng.choice([FIRM, 10 ** rng.uniform(5.5, 7.5)]) for _ in range(3))
            arm = (rng.uniform(-40, 40), rng.uniform(-40, 40), 0.0)
        members.append(
            Member(
                a,
                b,
                bar(rng.uniform(20, 60), rng.uniform(40, 160)),
                up=rng.choice([(0.0, 0.0, 1.0), (1.0, 0.2, 0.0)]),
                arm_start=arm,
                turning_end=spring,
            )
        )
    load = FrameLoad(
        {count - 1: tuple(rng.uniform(-300, 300) for _ in range(3)) + (0.0, 2e4, -1e4)},
        {1: (0.1, 0.0, -0.5), len(members) - 1: (0.0, 0.3, -0.2)},
    )
    return FrameModel(nodes, tuple(members), {0: CLAMPED, 2: BALL}), load


def furthest(a: Sequence[Vector], b: Sequence[Vector]) -> float:
    return max(math.dist(p, q) for p, q in zip(a, b, strict=True))


def moves(moved: Moved, model: FrameModel) -> list[Vector]:
    return [moved.move(i) for i in range(len(model.nodes))]


@pytest.mark.parametrize("seed", range(10))
def test_frames_in_space_against_pynite(seed: int) -> None:
    model, load = wild(seed)
    ours = moves(solve_frame(model, [load])[0], model)
    size = max(math.hypot(*move) for move in ours)
    assert furthest(ours, solve_by_oracle(model, load)) < 1e-7 * size


@pytest.mark.parametrize("seed", range(4))
def test_sprung_frames_with_arms_against_pynite(seed: int) -> None:
    model, load = wild(seed, sprung=True)
    ours = moves(solve_frame(model, [load])[0], model)
    size = max(math.hypot(*move) for move in ours)
    # What is left is the oracle's short bars for springs and stiff ones for arms.
    assert furthest(ours, solve_by_oracle(model, load)) < 5e-3 * size


def pushed(model: BedModel) -> FrameLoad:
    nodes = {model.spots[f"head_leg_{s}_top"]: (0, 150.0, 0, 0, 0, 0) for s in ("left", "right")}
    return FrameLoad(nodes, weight(model))


def sat_on(model: BedModel) -> FrameLoad:
    nodes = {model.spots["side_rail_right_middle"]: (0, 0, -2400.0, 0, 0, 0)}
    return FrameLoad(nodes, weight(model))


def weight(model: BedModel) -> dict[int, Vector]:
    return dict.fromkeys(range(len(model.frame.members)), (0.0, 0.0, -0.05))


@pytest.mark.parametrize("load", [pushed, sat_on], ids=["headboard push", "edge sitting"])
@pytest.mark.parametrize("name", ["campion", "sorrel"])
def test_a_whole_bed_against_pynite(name: str, load: Callable[[BedModel], FrameLoad]) -> None:
    bed = bed_model(lay_out(load_sheet(name)), default_rules(), 8.0)
    contacts = tuple(
        replace(c, grip=not foot.startswith("support"))
        for c, foot in zip(bed.frame.contacts, bed.feet, strict=True)
    )
    model = without_shear(replace(bed.frame, contacts=contacts))
    given = load(bed)
    (moved,) = solve_frame(model, [given])
    standing = {i: push > 0 for i, push in enumerate(moved.contact_n)}
    theirs = solve_by_oracle(model, given, standing)
    ours = moves(moved, model)
    size = max(math.hypot(*move) for move in ours)
    assert size > 1.0
    assert furthest(ours, theirs) < 5e-4 * size


# --- the bed's cases -------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["campion", "hawthorn", "sorrel"])
def test_the_floor_carries_all_that_is_put_on_it(name: str) -> None:
    layout = lay_out(load_sheet(name))
    bed = bed_model(layout, default_rules(), 8.0)
    given = sat_on(bed)
    (moved,) = solve_frame(bed.frame, [given])
    lengths = 0.0
    for m in bed.frame.members:
        start = [a + b for a, b in zip(bed.frame.nodes[m.start], m.arm_start, strict=True)]
        end = [a + b for a, b in zip(bed.frame.nodes[m.end], m.arm_end, strict=True)]
        lengths += math.dist(start, end)
    assert sum(moved.contact_n) == pytest.approx(2400 + 0.05 * lengths, rel=1e-6)


@pytest.mark.parametrize("name", ["campion", "hawthorn"])
def test_the_centre_rail_takes_five_eighths_of_an_even_load(name: str) -> None:
    """5/8 by the two-span beam that members are judged by, where slats are soft; as they get
    stiffer a little more, since the side rails give."""
    shares = [centre_share(name, f"slat.thickness={t} mm") for t in (10, 14, 20, 26)]
    assert shares[0] == pytest.approx(0.625, abs=0.01)
    assert shares == sorted(shares)
    assert shares[-1] < 0.70


def centre_share(name: str, change: str) -> float:
    """How much of an even load on the slats comes down under the centre rail."""
    bed = bed_model(lay_out(load_sheet(name, changes=[change])), default_rules(), 8.0)
    even = {m: (0.0, 0.0, -0.1) for halves in bed.slats for m in halves}
    (moved,) = solve_frame(bed.frame, [FrameLoad({}, even)])
    feet = zip(bed.feet, moved.contact_n, strict=True)
    under = sum(push for foot, push in feet if foot.startswith("support_foot"))
    return float(under / sum(moved.contact_n))


def test_a_symmetric_bed_answers_symmetrically() -> None:
    bed = bed_model(lay_out(load_sheet("hawthorn")), default_rules(), 8.0)
    answers = []
    for side in ("left", "right"):
        spot = bed.spots[f"side_rail_{side}_middle"]
        load = FrameLoad({spot: (0, 0, -1000.0, 0, 0, 0)}, weight(bed))
        answers.append(solve_frame(bed.frame, [load])[0].move(spot))
    (left, right) = answers
    assert left[2] == pytest.approx(right[2], rel=1e-6)
    assert left[0] == pytest.approx(-right[0], rel=1e-5)


def test_softer_fasteners_drift_more_and_the_law_is_a_plus_b_over_k() -> None:
    """Drift = a + b/k: the fasteners are springs in a row with the wood's own bending."""
    layout = lay_out(load_sheet("campion", changes=["slat.thickness=13/16 in"]))
    classes = {"a": 2.0, "b": 4.0, "c": 8.0, "d": 16.0}
    (case,) = frame_cases(
        layout,
        default_loads(),
        default_rules(),
        classes=classes,
        names=("headboard push forward",),
    )
    drift = [case.by_class[k].moved for k in classes]
    assert drift == sorted(drift, reverse=True)
    b = (drift[0] - drift[2]) / (1 / 2 - 1 / 8)
    a = drift[2] - b / 8
    assert drift[1] == pytest.approx(a + b / 4, rel=0.02)
    assert drift[3] == pytest.approx(a + b / 16, rel=0.02)
    # The lever is the push times its height over the rail, on four rail ends.
    assert 30 < b < 120
    assert 0.5 < a < 6


def test_play_is_told_apart_from_stiffness() -> None:
    """0.2 mm over hooks 80 mm apart moves a point 725 mm higher by 1.8 mm."""
    layout = lay_out(load_sheet("campion"))
    rules = default_rules()
    (case,) = frame_cases(
        layout, default_loads(), rules, names=("headboard push back",), classes={"usual": 8.0}
    )
    top = max(board.top for board in layout.head.boards)
    over = top - (layout.rail_top + layout.rail_bottom) / 2
    # Hooks of the row that campion takes stand 62 mm apart.
    assert case.play == pytest.approx(over * 0.2 / 62)
    assert 725 * rules.hook_play / rules.hook_spacing == pytest.approx(1.8, abs=0.05)


def test_lifting_the_head_leaves_the_foot_on_the_floor() -> None:
    (case,) = frame_cases(
        lay_out(load_sheet("campion")),
        default_loads(),
        default_rules(),
        names=("lift at the head",),
        classes={"usual": 8.0},
    )
    lifted = case.by_class["usual"].lifted
    assert {"head_leg_left", "head_leg_right"} <= set(lifted)
    assert not any(foot.startswith("foot_leg") for foot in lifted)


def test_a_short_foot_comes_down_under_the_sleepers() -> None:
    loads = default_loads()
    (case,) = frame_cases(
        lay_out(load_sheet("campion")),
        loads,
        default_rules(),
        names=("one foot short",),
        classes={"usual": 8.0},
    )
    assert 0 < case.most <= loads.floor_unevenness + 0.1


def test_changing_the_fastener_is_making_the_bed_with_it() -> None:
    layout, rules = lay_out(load_sheet("hawthorn")), default_rules()
    made = bed_model(layout, rules, 30.0)
    assert with_hooks(bed_model(layout, rules, 1.0), rules, 30.0) == made
