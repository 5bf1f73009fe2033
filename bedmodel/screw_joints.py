"""One record for each screw of the platform: runner to rail, slat to runner, cleat to board."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from bedmodel.cuts import Cut
from bedmodel.frames import Frame, add, scale
from bedmodel.parts.draft import Draft
from bedmodel.parts.side_rail import rail_axes
from bedmodel.platform_screws import ScrewJoint
from bedmodel.skeleton import Layout

DOWN = (0.0, 0.0, -1.0)
UP = (0.0, 0.0, 1.0)


def screw_joints(layout: Layout) -> Iterator[ScrewJoint]:
    """All screws on the right-hand side; the left are their mirror images."""
    yield from _runner_joints(layout)
    yield from _slat_joints(layout)
    yield from _deck_joints(layout)
    yield from _cleat_joints(layout)


def with_screws(draft: Draft, joints: Iterable[ScrewJoint]) -> Draft:
    """The draft with its holes for screws; a piece on the centreline has them on both sides."""
    hands = ("right", "left") if draft.side == "centre" else ("right",)
    cuts: list[Cut] = []
    for joint in joints:
        for hand in hands:
            if joint.held == draft.name:
                cuts += joint.cuts_in_held(draft.placement, hand)
            if joint.holder == draft.name:
                cuts.append(joint.cut_in_holder(draft.placement, hand))
    return replace(draft, shape=draft.shape.with_cuts(tuple(cuts))) if cuts else draft


def _runner_joints(layout: Layout) -> Iterator[ScrewJoint]:
    screws = layout.runner_screws
    if screws is None:
        return
    along, _, outward = rail_axes(layout)
    height = layout.runner_top - layout.sheet.runner.height + screws.above_runner
    start = add((layout.half_head, 0.0, height), scale(outward, -layout.sheet.runner.width))
    for i, place in enumerate(screws.places, start=1):
        frame = Frame.from_zx(add(start, scale(along, place)), outward, along)
        yield ScrewJoint(f"runner_screw_{i:02d}", "runner", "side_rail", frame, screws.plan)


def _slat_joints(layout: Layout) -> Iterator[ScrewJoint]:
    screws, row = layout.slat_screws, layout.slats
    if screws is None:
        return
    x = row.length / 2 - screws.inset
    starts = row.starts()
    for i in screws.numbers(row.count):
        y, name = starts[i - 1] + row.width / 2, f"slat_{i:02d}"
        yield ScrewJoint(f"{name}_screw", name, "runner", _down(layout, x, y), screws.plan)
        if screws.inner is not None:
            inner = _down(layout, layout.sheet.support.row_gap / 2 + screws.inner, y)
            yield ScrewJoint(f"{name}_inner_screw", name, "centre_rail", inner, screws.plan)


def _deck_joints(layout: Layout) -> Iterator[ScrewJoint]:
    screws = layout.deck_screws
    if screws is None:
        return
    for i, screw in enumerate(screws.in_battens, start=1):
        assert screws.batten is not None
        held, holder = f"deck_panel_{screw.panel}", f"deck_batten_{screw.batten}"
        frame = _down(layout, screw.x, screw.y)
        yield ScrewJoint(f"batten_screw_{i:02d}", held, holder, frame, screws.batten)
    if screws.runner is not None:
        for i, screw in enumerate(screws.runner.screws, start=1):
            frame = _down(layout, screw.x, screw.y)
            held = f"deck_panel_{screw.panel}"
            yield ScrewJoint(f"deck_screw_{i:02d}", held, "runner", frame, screws.runner.plan)


def _down(layout: Layout, x: float, y: float) -> Frame:
    """A screw driven down from the platform."""
    return Frame.from_zx((x, y, layout.platform), DOWN, (0.0, 1.0, 0.0))


def _cleat_joints(layout: Layout) -> Iterator[ScrewJoint]:
    given = layout.sheet.cleat
    for plan in layout.cleats:
        y = plan.face_y + plan.inward * given.thickness
        at = (plan.screw_x, y, plan.top - given.height / 2)
        lean = (layout.head if plan.end == "head" else layout.foot).lean
        frame = lean.placed(Frame.from_zx(at, (0.0, -plan.inward, 0.0), UP))
        yield ScrewJoint(
            f"{plan.end}_cleat_screw", f"{plan.end}_cleat", plan.board, frame, plan.plan
        )
