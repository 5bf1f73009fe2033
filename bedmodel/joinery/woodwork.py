"""Mortises, tenons and dowels: each function gives a callable for ``Workplane.invoke``.

The callable takes the workplane with its places selected and gives one that holds the changed
part, as CadQuery's own ``hole`` does.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Literal

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Fuse
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

from bedmodel.cuts import Boss, Mortise, SlotEnds
from bedmodel.errors import InputError
from bedmodel.frames import Frame
from bedmodel.glue_zone import swing
from bedmodel.joinery.places import (
    SLACK,
    Tool,
    body_of,
    cut_away,
    into_wood,
    one_of,
    out_of,
    positive,
    tools,
)
from bedmodel.joinery.plans import usual_rules
from bedmodel.joints import TenonJoint, as_tenon
from bedmodel.solids import boss_of, location, make_solid, volume_of
from bedmodel.spec import Sheet
from bedmodel.tenons import TenonPlan

Step = Callable[[cq.Workplane], cq.Workplane]
Half = Literal["other", "board"]
ENDS = ("round", "square")
_STRAIGHT = 60.0  # degrees; no tenon is mitred more


def mortise(
    width: float,
    length: float,
    depth: float,
    *,
    ends: SlotEnds = "round",
    rotation: float = 0.0,
    runs_out: bool = False,
) -> Step:
    """A mortise of your own size at each place, ``length`` along the workplane's x (mm).

    ``runs_out`` lets it leave the wood, or meet another mortise.
    """
    for name, value in (("width", width), ("length", length), ("depth", depth)):
        positive(name, value)
    one_of("ends", ends, ENDS)
    if length < width - 1e-9:
        raise InputError("length", f"{length:g} mm", f"must be at least the width, {width:g} mm")

    def step(work: cq.Workplane) -> cq.Workplane:
        frames = into_wood(work, "mortise", rotation)
        found = [
            tool
            for i, frame in enumerate(frames)
            for tool in tools(
                [Mortise("mortise", frame, length, width, depth, ends)], i, frame, runs_out=runs_out
            )
        ]
        return cut_away(work, "mortise", frames, found)

    return step


def wide_board_slot(
    width: float,
    length: float,
    depth: float,
    from_glued: float,
    *,
    ends: SlotEnds = "round",
    rotation: float = 0.0,
    runs_out: bool = False,
    rules: Sheet | None = None,
) -> Step:
    """A mortise longer at each end by what a wide board moves, ``from_glued`` mm from its glue.

    ``width``, ``length`` and ``depth`` as of ``mortise``, for a board that stands still. The
    wood and its change of moisture are those of ``rules``.
    """
    room = abs(from_glued) * swing(rules or usual_rules())
    return mortise(width, length + 2 * room, depth, ends=ends, rotation=rotation, runs_out=runs_out)


def dowel_holes(
    count: int,
    pitch: float,
    diameter: float,
    depth: float,
    *,
    clearance: float = 0.0,
    rotation: float = 0.0,
    runs_out: bool = False,
) -> Step:
    """A row of holes along the workplane's x, its middle at each place; ``clearance`` all round."""
    if isinstance(count, bool) or not isinstance(count, int) or count < 1:
        raise InputError("count", count, "must be a whole number, at least 1")
    wide = positive("diameter", diameter) + 2 * clearance
    positive("depth", depth)
    if count > 1 and positive("pitch", pitch) <= wide:
        raise InputError("pitch", f"{pitch:g} mm", f"must be more than the holes, {wide:g} mm")

    def step(work: cq.Workplane) -> cq.Workplane:
        frames = into_wood(work, "dowel_holes", rotation)
        found = [
            tool
            for i, frame in enumerate(frames)
            for k in range(count)
            for tool in tools(
                [
                    Mortise(
                        "dowel",
                        frame.moved(frame.direction(((k - (count - 1) / 2) * pitch, 0.0, 0.0))),
                        wide,
                        wide,
                        depth,
                    )
                ],
                i,
                frame,
                runs_out=runs_out,
            )
        ]
        return cut_away(work, "dowel_holes", frames, found)

    return step


# --- from one plan, all that belongs together ----------------------------------------------


def mortises(
    plan: TenonPlan, *, half: Half = "other", rotation: float = 0.0, runs_out: bool = False
) -> Step:
    """The mortises, grooves or holes of a plan, each place being the middle of the board's end.

    half        "other": in the part that the board meets, longer where a tenon is left dry;
                "board": in the board's own end, for loose tenons and dowels
    runs_out    lets them leave the wood, or meet those of another board
    """
    one_of("half", half, ("other", "board"))

    def step(work: cq.Workplane) -> cq.Workplane:
        look = into_wood if half == "other" else out_of
        frames = look(work, "mortises", rotation)
        found = list[Tool]()
        for i, frame in enumerate(frames):
            cuts = [
                joint.cut_in_leg(Frame()) if half == "other" else joint.cut_in_board(Frame())
                for joint in _joints(plan, frame, cut=True)
                if half == "other" or not joint.is_haunch
            ]
            found += tools(cuts, i, frame, runs_out=runs_out)
        return cut_away(work, "mortises", frames, found)

    return step


def tenons(plan: TenonPlan, *, rotation: float = 0.0, mitre: float = 0.0) -> Step:
    """The plan's tenons and haunches, cut on the part itself: each place the middle of an end.

    They stand out of the end by their own length, which the part does not yet have. ``mitre``
    degrees take the tip off towards the workplane's +y (turned by ``rotation``), or, where
    negative, towards its -y, as where two tenons meet in one leg; the longer cheek keeps the
    length. With x up, +y is the left as you look at the end.

    Raises InputError where a tenon overhangs the end: every side needs its shoulder.
    """
    if not -_STRAIGHT <= mitre <= _STRAIGHT:
        raise InputError("mitre", f"{mitre:g} degrees", f"must be -{_STRAIGHT:g} to {_STRAIGHT:g}")
    lost = plan.thickness * math.tan(math.radians(abs(mitre)))
    if lost >= plan.embedment_leg:
        raise InputError("mitre", f"{mitre:g} degrees", "leaves nothing of one cheek")

    def step(work: cq.Workplane) -> cq.Workplane:
        frames = out_of(work, "tenons", rotation)
        grown = body_of(work, "tenons").wrapped
        for i, frame in enumerate(frames):
            for joint in _joints(plan, frame):
                boss, _ = joint.bosses(Frame())
                _check_stands(work, boss, i, len(frames))
                mitred = _mitred(boss, plan, 0.0 if joint.is_haunch else mitre)
                grown = BRepAlgoAPI_Fuse(grown, mitred.wrapped).Shape()
        merged = ShapeUpgrade_UnifySameDomain(grown, True, True, False)
        merged.Build()
        solids = cq.Shape.cast(merged.Shape()).Solids()
        if len(solids) != 1:
            raise InputError("tenons", f"{len(frames)} places", "do not stand on the part")
        return work.newObject(solids)

    return step


def loose_tenons(plan: TenonPlan, *, rotation: float = 0.0) -> Step:
    """The plan's loose tenons or dowels as solids of their own, half in each part at each place.

    Places are the middles of a board's ends, turned as its mortises are; the new workplane
    holds the tenons alone.
    """

    def step(work: cq.Workplane) -> cq.Workplane:
        made = list[cq.Shape]()
        for frame in out_of(work, "loose_tenons", rotation):
            for joint in _joints(plan, frame):
                if not joint.is_haunch:
                    shape, place = joint.tenon()
                    made.append(make_solid(shape).moved(location(place)))
        return work.newObject(made)

    return step


def _joints(plan: TenonPlan, frame: Frame, *, cut: bool = False) -> Iterator[TenonJoint]:
    """Each tenon of a plan, then each haunch, at a place whose z goes into the other part.

    A haunch's groove has its own middle, which is given where it is to be ``cut``.
    """

    def at(height: float, setback: float) -> Frame:
        return frame.moved(frame.direction((height, setback, 0.0)))

    blank = TenonJoint("joint", "", "", "", frame, plan, 0.0)
    for height, setback in plan.places:
        yield replace(blank, frame=at(height, setback), slack=plan.slack_at(height))
    for haunch in plan.haunches:
        own = as_tenon(plan, haunch)
        low, high = (haunch.groove_low, haunch.groove_high) if cut else (haunch.low, haunch.high)
        room = (haunch.groove_high - haunch.groove_low - own.mortise_length) / 2
        for setback in plan.setbacks:
            place = at((low + high) / 2, setback)
            yield replace(blank, frame=place, plan=own, slack=room, is_haunch=True)


def _check_stands(work: cq.Workplane, boss: Boss, place: int, count: int) -> None:
    """A tenon must have wood behind all of it."""
    probe = 0.5
    f = boss.frame
    behind = Frame(f.point((0.0, 0.0, -probe)), f.x, f.y, f.z)
    root = boss_of(replace(boss, frame=behind, height=probe))
    body = body_of(work, "tenons")
    held = volume_of(BRepAlgoAPI_Common(body.wrapped, root.wrapped).Shape())
    share = held / (boss.outline.area * probe)
    if share < 1 - 10 * SLACK:
        raise InputError(
            "tenons",
            f"place {place + 1} of {count}",
            f"has wood behind {math.floor(100 * share)} % of it, must have it behind all",
            "turn it with rotation=, or make thickness, width or offset less",
        )


def _mitred(boss: Boss, plan: TenonPlan, mitre: float) -> cq.Shape:
    """A tenon with its tip taken off slantwise: all of it where there is no mitre."""
    solid = boss_of(boss)
    if not mitre:
        return solid
    half, top = plan.thickness / 2, boss.height
    slope = math.tan(math.radians(abs(mitre)))
    long = plan.width  # half as much again to each side is enough
    near = -1.0 if mitre > 0 else 1.0  # the side whose cheek keeps its length
    # In y and z of the tenon's frame: the corner above the slant.
    corner = [
        (near * half, top),
        (-near * 2 * half, top - 3 * half * slope),
        (-near * 2 * half, top + half),
        (near * half, top + half),
    ]
    face = cq.Workplane(cq.Plane((-long, 0, 0), (0, 1, 0), (1, 0, 0))).polyline(corner).close()
    tip = face.extrude(2 * long).val()
    assert isinstance(tip, cq.Shape)
    return solid.cut(tip.moved(location(boss.frame))).Solids()[0]
