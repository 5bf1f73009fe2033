"""Profiles on the arrises of boards, rails and legs, stopped where joints need the edge.

    end  |stop| run-out |=========== profile ===========| run-out |stop|  end
    leg ->                                                             <- leg

The part's own easing stays under a profile and shows at its ends, so that what butts, and the
wood round tenons and plates, is as without it. A profile must therefore take off all that the
easing does. Where a cut of the part lies near an arris, the profile is parted there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from bedmodel.cuts import Cut
from bedmodel.edge_spec import BoardEdges, LegEdges, RailEdges
from bedmodel.errors import InputError
from bedmodel.frames import Vector, dot, subtract
from bedmodel.parts.draft import Draft
from bedmodel.profile_bits import bearing_radius
from bedmodel.profiles import (
    Moulding,
    Profile,
    ProfileStyle,
    arc_moulding,
    moulding,
    run_out,
    shortened,
)
from bedmodel.shape import Easing, Shape
from bedmodel.skeleton import Layout
from bedmodel.spec import Sheet

SHORTEST = 60.0  # mm; a shorter stretch between two stops is not worth setting the router for
_FLAT_LEAST = 3.0  # mm left between two profiles of one face
_SAMPLES = 24
Arrises = BoardEdges | RailEdges | LegEdges


@dataclass(frozen=True)
class Arris:
    """One arris of a part: its points in the part frame, the ways into the wood, open ends."""

    group: str
    ends: tuple[Vector, Vector]
    across: Vector
    down: Vector
    open_ends: bool
    across_room: float
    down_room: float


def with_profiles(draft: Draft, layout: Layout) -> Draft:
    """The draft with the profiles that the sheet asks for on its arrises.

    Raises InputError for one that is too large for the part, or less than its easing.
    """
    section = profile_section(draft.name)
    if section is None:
        return draft
    given: Arrises = getattr(layout.sheet, section)
    profiles = dict(profiles_of(given))
    if not profiles:
        return draft
    shape = draft.shape
    found: list[Moulding] = []
    arrises = [arris for arris in _arrises(draft, layout) if arris.group in profiles]
    _check(layout.sheet, section, shape.easing, arrises, profiles)
    found += _curves(draft, layout, profiles, given.stop)
    for arris in arrises:
        profile = profiles[arris.group]
        whole = moulding(
            arris.group,
            arris.ends,
            arris.across,
            arris.down,
            profile,
            bearing_radius(profile),
            (not arris.open_ends, not arris.open_ends),
        )
        zones = [*joint_zones(whole, shape, layout), *_butting(whole, draft, layout)]
        found += _clear(whole, zones, given.stop)
    return replace(draft, shape=replace(shape, mouldings=tuple(found)))


def _curves(
    draft: Draft, layout: Layout, profiles: dict[str, Profile], stop: float
) -> Iterator[Moulding]:
    """The inside curve of a splayed leg, stopped short of the knee and of the ankle.

    Raises InputError where a profile takes off less than the leg's own easing.
    """
    shape = draft.shape
    for line in shape.outline.edges():
        if line.name != "curve" or not line.is_arc:
            continue
        for face in ("show", "inside"):
            profile = profiles.get(f"curve_{face}")
            if profile is None:
                continue
            name = f"leg_edges.curve_{face}_size"
            _check_cover(layout.sheet, name, shape.easing, profile)
            far = (face == "inside") == (draft.name == "head_leg")
            level, down = (shape.thickness, -1.0) if far else (0.0, 1.0)
            bearing = bearing_radius(profile)
            whole = arc_moulding(f"curve_{face}", line, level, (0.0, 0.0, down), profile, bearing)
            room = stop + whole.run_out
            if whole.length - 2 * room >= SHORTEST:
                yield shortened(whole, room, whole.length - room, (True, True))


def profiles_of(given: Arrises) -> Iterator[tuple[str, Profile]]:
    """The groups of arrises that have a profile of their own."""
    for name in type(given).model_fields:
        if f"{name}_size" not in type(given).model_fields:
            continue
        style = getattr(given, name)
        if style != "as_edge":
            quirk = given.quirk if style in ("ovolo", "thumbnail") else 0.0
            yield name, Profile(style, getattr(given, f"{name}_size"), quirk)


def group_words(group: str) -> str:
    """A group of arrises as a maker says it: "top edge, show face"."""
    edge, face = group.split("_")
    edge = {"curve": "inside curve,"}.get(edge, f"{edge} edge,")
    faces = {"show": "show face", "back": "back", "inside": "inside face"}
    return f"{edge} {faces[face]}"


def profile_section(name: str) -> str | None:
    """The table of the sheet that a piece's or a kind's arrises are shaped by."""
    for stem in ("headboard", "footboard", "side_rail"):
        if name.startswith(stem):
            return f"{stem}_edges"
    return "leg_edges" if name.startswith(("head_leg", "foot_leg")) else None


# --- arrises -------------------------------------------------------------------------------


def _arrises(draft: Draft, layout: Layout) -> Iterator[Arris]:
    if draft.name == "side_rail":
        yield from _rail_arrises(draft.shape)
    elif draft.name.endswith("_leg"):
        yield from _leg_arrises(draft, layout)
    elif draft.shape.face == "xy" and set(draft.shape.outline.names) == {"long", "end"}:
        yield from _board_arrises(draft.shape)


def _board_arrises(shape: Shape) -> Iterator[Arris]:
    """z = 0 is the show face; x runs between the shoulders."""
    x0, _, x1, _ = shape.outline.bounds()
    w, t = shape.width, shape.thickness
    for edge, y, down_y in (("top", w, -1.0), ("bottom", 0.0, 1.0)):
        for face, z, in_z in (("show", 0.0, 1.0), ("back", t, -1.0)):
            ends = ((x0, y, z), (x1, y, z))
            # Over the face means down the board; down the edge means through its thickness.
            yield Arris(f"{edge}_{face}", ends, (0.0, down_y, 0.0), (0.0, 0.0, in_z), False, w, t)


def _rail_arrises(shape: Shape) -> Iterator[Arris]:
    """z = 0 is the inside face; both faces have their own ends, slanted by the yaw."""
    w, t = shape.width, shape.thickness
    for line in shape.outline.edges():
        if line.name not in ("inside", "show"):
            continue
        z, in_z = (0.0, 1.0) if line.name == "inside" else (t, -1.0)
        xs = sorted((line.start[0], line.end[0]))
        for edge, y, down_y in (("top", w, -1.0), ("bottom", 0.0, 1.0)):
            ends = ((xs[0], y, z), (xs[1], y, z))
            yield Arris(
                f"{edge}_{line.name}", ends, (0.0, down_y, 0.0), (0.0, 0.0, in_z), False, w, t
            )


def _leg_arrises(draft: Draft, layout: Layout) -> Iterator[Arris]:
    """The outer edge, where it is straight, on both faces; from floor to top."""
    shape = draft.shape
    t = shape.thickness
    head = draft.name == "head_leg"
    narrowest = layout.sheet.leg.top_width
    for line in shape.outline.edges():
        if line.name != "outer" or line.is_arc:
            continue
        (x0, y0), (x1, y1) = line.start, line.end
        length = math.dist(line.start, line.end)
        # The outline runs anticlockwise: the wood is on its left.
        across = (-(y1 - y0) / length, (x1 - x0) / length, 0.0)
        for face, z, in_z in (("show", 0.0, 1.0), ("inside", t, -1.0)):
            if not head:
                z, in_z = t - z, -in_z
            ends = ((x0, y0, z), (x1, y1, z))
            yield Arris(f"outer_{face}", ends, across, (0.0, 0.0, in_z), True, narrowest, t)


# --- checks --------------------------------------------------------------------------------


def _check(
    sheet: Sheet,
    section: str,
    easing: Easing,
    arrises: list[Arris],
    profiles: dict[str, Profile],
) -> None:
    for arris in arrises:
        profile, name = profiles[arris.group], f"{section}.{arris.group}_size"
        _check_cover(sheet, name, easing, profile)
        for room, each in ((arris.across_room, "width"), (arris.down_room, "drop")):
            # The other profile of the same face or edge, or the easing there.
            others = [
                getattr(profiles[o.group], each)
                for o in arrises
                if o.group != arris.group and _share(arris.group, o.group, each)
            ]
            other = max(others, default=easing.size if easing.active else 0.0)
            if getattr(profile, each) + other > room - _FLAT_LEAST:
                raise InputError(
                    name,
                    sheet.show(profile.size),
                    f"leaves no flat of {sheet.show(_FLAT_LEAST)} on a side of {sheet.show(room)}",
                    "make it less, or the part thicker",
                )


def _check_cover(sheet: Sheet, name: str, easing: Easing, profile: Profile) -> None:
    if easing.active and not covers(profile, easing):
        raise InputError(
            name,
            sheet.show(profile.size),
            f"takes off less than the part's own easing of {sheet.show(easing.size)}",
            'make it more, or the part\'s edge_size less or its edge "square"',
        )


def _share(one: str, other: str, each: str) -> bool:
    """Whether two groups lie on one face (their widths add up) or on one edge (their drops)."""
    edges, faces = zip(one.split("_"), other.split("_"), strict=True)
    return faces[0] == faces[1] if each == "width" else edges[0] == edges[1]


def covers(profile: Profile, easing: Easing) -> bool:
    """Whether a profile takes off all that an easing of the same arris does."""
    style: ProfileStyle = "chamfer" if easing.style == "chamfer" else "roundover"
    eased = Profile(style, easing.size)
    ys = [easing.size * i / _SAMPLES for i in range(_SAMPLES + 1)]
    return all(profile.drop_at(y) >= eased.drop_at(y) - 1e-9 for y in ys)


# --- stops ---------------------------------------------------------------------------------

Zone = tuple[float, float]


def joint_zones(whole: Moulding, shape: Shape, layout: Layout) -> Iterator[Zone]:
    """Stretches of the arris, from its start, beside which something is cut into the part."""
    wall = layout.sheet.fastener.wall_least
    frame, profile = whole.frame, whole.profile
    for cut in shape.cuts:
        lows, highs = [math.inf] * 3, [-math.inf] * 3
        for corner in _corners(cut):
            at = subtract(corner, frame.origin)
            for i, axis in enumerate((frame.x, frame.y, frame.z)):
                value = dot(at, axis)
                lows[i], highs[i] = min(lows[i], value), max(highs[i], value)
        if lows[1] < profile.width + wall and lows[2] < profile.drop + wall:
            yield lows[0] - wall, highs[0] + wall


def _corners(cut: Cut) -> Iterator[Vector]:
    x0, y0, x1, y1 = cut.opening.bounds()
    for x in (x0, x1):
        for y in (y0, y1):
            for z in (0.0, cut.depth):
                yield cut.frame.point((x, y, z))


def _butting(whole: Moulding, draft: Draft, layout: Layout) -> Iterator[Zone]:
    """Where a leg's inside face carries a rail that comes too near to the outer arris."""
    if whole.name != "outer_inside":
        return
    rail = layout.sheet.side_rail
    needed = rail.reveal + rail.thickness / math.cos(layout.yaw)
    levels = (layout.rail_bottom, layout.rail_top)
    if all(layout.legs.width_at(z) - whole.profile.width >= needed for z in levels):
        return
    # Along the arris by height above the floor, which it leans from by the splay.
    start = draft.placement.point(whole.frame.origin)[2]
    rise = draft.placement.direction(whole.frame.x)[2]
    yield tuple(sorted((z - start) / rise for z in levels))  # type: ignore[misc]


def _clear(whole: Moulding, zones: list[Zone], stop: float) -> Iterator[Moulding]:
    """What is left of a moulding between the zones and its ends, each stretch stopped."""
    ahead = run_out(whole.profile, whole.bearing)
    low, high = 0.0, whole.length
    first, last = whole.stopped
    pieces: list[tuple[float, float, bool, bool]] = []
    at, stopped = low, first
    for start, end in sorted(zones):
        if end <= low or start >= high:
            continue
        if start > at:
            pieces.append((at, start, stopped, True))
        at, stopped = max(at, end), True
    if at < high:
        pieces.append((at, high, stopped, last))
    for start, end, stop_start, stop_end in pieces:
        begin = start + (stop + ahead if stop_start else 0.0)
        finish = end - (stop + ahead if stop_end else 0.0)
        if finish - begin >= SHORTEST:
            yield shortened(whole, begin, finish, (stop_start, stop_end))
