"""Checks of hooks in their slots and pockets: they hold, come free, and are not pinched.

Seen from the side, the rail on the left; every distance is taken between faces of the
finished solids:

    rail | hook plate | slot plate |   pocket in the leg
         |            |            |   .------.
         |            |            |   |      |   lift    up to slot and pocket
         |            |____________|_______   |
         |            |       top          |  |   beyond  from its end to the bottom
         |            |_________      end  |  |
         |            |  seat   |wedge     |  |
         |            |=========||_________|  |   held    from the seat down to the tip
         |            |=========||   tip   '--'   behind  from the plate to the wedge
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from OCP.TopoDS import TopoDS

from bedmodel.bed import Piece
from bedmodel.checks.corners import Site, boss_faces, cut_at, sites, span
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.nearest import least_distance
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData, face_data
from bedmodel.checks.walls import Walls, find_walls
from bedmodel.cuts import Boss
from bedmodel.frames import Vector, dot, scale
from bedmodel.hardware import Hooked
from bedmodel.solids import location

ROOT_TOUCH = 0.05  # mm; the wedge draws the joint tight from its root on
MARGIN = 0.01  # mm; sizes are told to 0.1 mm
# Of the room at a hook's sides, this much must be left with the rail as it stands.
PLAY_SHARE = 0.5
HOOK_FACES = {"top", "end", "tip", "wedge", "seat", "near", "far"}


@dataclass(frozen=True)
class Hung:
    """What was measured of one hook (mm); see the picture above.

    ``behind`` is from the slot plate's far face to the nose's root, less than zero
    where the nose bites into the plate; ``lift`` is the room above the hook in slot
    and pocket; ``play`` is the least gap at its sides.
    """

    held: float
    behind: float
    lift: float
    beyond: float
    play: float


@dataclass(frozen=True)
class Hook:
    """One hook of the bed: the pieces it is told by, and what was measured, if it could be."""

    parts: tuple[str, str]
    place: str
    hung: Hung | None


def check_hooks(probe: Probe) -> Iterator[Result]:
    """Measure each hook in its slot plate and its pocket."""
    hooks = list(all_hooks(probe))
    fastener = probe.bed.layout.sheet.fastener
    yield _engagement(hooks, fastener.engagement_least)
    yield _travel(hooks, fastener.end_room)
    plan = probe.bed.layout.fastener
    play = plan.row.slot_play if plan is not None and isinstance(plan.row, Hooked) else 0.0
    yield _binding(hooks, PLAY_SHARE * play)


# --- results -------------------------------------------------------------------------------


def _engagement(hooks: list[Hook], least: float) -> Result:
    code, limit = Code.HOOK_ENGAGEMENT_SHORT, f"at least {least:g} mm behind the slot plate"
    findings = []
    for hook in hooks:
        held = hook.hung.held if hook.hung is not None else 0.0
        if held < least - MARGIN:
            findings.append(Finding(code, hook.parts, held, limit, hook.place))
        elif hook.hung is not None and abs(hook.hung.behind) > ROOT_TOUCH:
            touch = f"within {ROOT_TOUCH:g} mm of the slot plate's far face"
            findings.append(
                Finding(code, hook.parts, hook.hung.behind, touch, f"{hook.place}, its root")
            )
    worst = min((h.hung.held if h.hung else 0.0 for h in hooks), default=None)
    return Result(code, len(hooks), worst, "mm", limit, tuple(findings))


def _travel(hooks: list[Hook], end_room: float) -> Result:
    """A lifted hook's tip must clear the slot's lower edge; the worst is the room then left."""
    code, findings, spare = Code.HOOK_TRAVEL_SHORT, [], []
    for hook, hung in _measured(hooks):
        spare += [hung.lift - hung.held, hung.beyond - end_room]
        if hung.lift < hung.held - MARGIN:
            limit = f"at least {hung.held:g} mm, what it hangs behind the slot plate"
            findings.append(Finding(code, hook.parts, hung.lift, limit, f"{hook.place}, above it"))
        if hung.beyond < end_room - MARGIN:
            limit = f"at least {end_room:g} mm of room"
            findings.append(
                Finding(code, hook.parts, hung.beyond, limit, f"{hook.place}, beyond its end")
            )
    limit = "at least 0 mm more than it is lifted"
    return Result(code, len(hooks), min(spare, default=None), "mm", limit, tuple(findings))


def _binding(hooks: list[Hook], least: float) -> Result:
    code, measured = Code.HOOK_BINDS, _measured(hooks)
    findings = tuple(
        Finding(code, hook.parts, hung.play, f"at least {least:g} mm to each side", hook.place)
        for hook, hung in measured
        if hung.play < least - MARGIN
    )
    worst = min((hung.play for _, hung in measured), default=None)
    limit = f"at least {PLAY_SHARE:g} of its play to each side"
    return Result(code, len(hooks), worst, "mm", limit, findings)


def _measured(hooks: list[Hook]) -> list[tuple[Hook, Hung]]:
    """What hangs nowhere is told once, as not held at all."""
    return [(hook, hook.hung) for hook in hooks if hook.hung is not None]


# --- measuring -----------------------------------------------------------------------------


def all_hooks(probe: Probe) -> Iterator[Hook]:
    """The hooks of all four corners, each from the lowest up."""
    walls: dict[str, list[Walls]] = {}
    for site in sites(probe):
        plate = site.loose.get("slot_plate")
        carrier = site.loose.get("hook_plate") or site.loose.get("rail_bracket")
        if plate is None or carrier is None:
            continue
        for piece in (plate, site.leg):
            walls.setdefault(piece.kind.name, find_walls(probe, piece.kind))
        bosses = [b for b in carrier.kind.shape.bosses if b.outline.named("tip")]
        bosses.sort(key=lambda boss: _neck(carrier, boss)[2])
        for i, boss in enumerate(bosses, start=1):
            hung = _hung(probe, site, carrier, boss, walls)
            yield Hook((carrier.name, plate.name), f"hook {i} from below", hung)


def _neck(carrier: Piece, boss: Boss) -> Vector:
    """The middle of a hook's neck, in the bed."""
    (low, y), (high, _) = (boss.outline.named(n)[0].point_at(0.5) for n in ("seat", "top"))
    return carrier.placement.point(boss.frame.point(((low + high) / 2, y, boss.height / 2)))


def _hung(
    probe: Probe,
    site: Site,
    carrier: Piece,
    boss: Boss,
    walls: Mapping[str, list[Walls]],
) -> Hung | None:
    """Measure one hook; None when hook, slot or pocket is not there as drawn."""
    plate, leg, place = site.loose["slot_plate"], site.leg, _neck(carrier, boss)
    up = site.up
    slot = cut_at(walls[plate.kind.name], plate, place, "hole")
    pocket = cut_at(walls[leg.kind.name], leg, place, "pocket")
    hook = boss_faces(probe, carrier.kind.name, boss)
    far = probe.main_face(plate, site.into_leg)
    if slot is None or pocket is None or far is None or not set(hook) >= HOOK_FACES:
        return None
    lower, upper = _facing(plate, slot, up), _facing(plate, slot, scale(up, -1.0))
    bottom = _facing(leg, pocket, site.into_rail)
    if not lower or not upper or not bottom:
        return None

    def reach(name: str, along: Vector) -> tuple[float, float]:
        return span(carrier, [hook[name]], along)

    above = min(
        span(plate, upper, up)[0] - reach("top", up)[1],
        _room_above(probe, carrier, hook["top"], leg, site),
    )
    return Hung(
        held=span(plate, lower, up)[0] - reach("tip", up)[1],
        behind=reach("wedge", site.into_leg)[0] - span(plate, [far], site.into_leg)[1],
        lift=above,
        beyond=span(leg, bottom, site.into_leg)[0] - reach("end", site.into_leg)[1],
        play=min(
            _beside(carrier, hook, plate, _but(slot, lower + upper)),
            _beside(carrier, hook, leg, _but(pocket, bottom)),
        ),
    )


def _facing(piece: Piece, own: Walls, towards: Vector) -> list[FaceData]:
    """The flat walls of a cut that look in a direction of the bed."""
    return own.facing(piece.placement.inverse().direction(towards))


def _but(own: Walls, faces: list[FaceData]) -> tuple[FaceData, ...]:
    left_out = {id(face) for face in faces}
    return tuple(face for face in own.faces if id(face) not in left_out)


def _room_above(probe: Probe, carrier: Piece, top: FaceData, leg: Piece, site: Site) -> float:
    """From the corners of a hook's top, at its end, straight up to the leg's wood.

    A pocket's round end is lowest over the hook's sides, and the same at each depth.
    """
    into_leg = site.into_leg
    low, high = span(carrier, [top], into_leg)
    corners = [carrier.placement.point(p) for p in top.points]
    at_end = [p for p in corners if dot(p, into_leg) > (low + high) / 2]
    back = leg.placement.inverse()
    up = back.direction(site.up)
    rooms = (probe.ray(leg.kind.name, back.point(p), up) for p in at_end)
    return min((room for room in rooms if room is not None), default=math.inf)


def _beside(
    carrier: Piece, hook: Mapping[str, FaceData], piece: Piece, walls: tuple[FaceData, ...]
) -> float:
    """Least gap between a hook's two sides and walls of another piece."""
    if not walls:
        return 0.0
    there = location(piece.placement.inverse() @ carrier.placement).wrapped
    sides = (TopoDS.Face_s(hook[name].face.Moved(there)) for name in ("near", "far"))
    return least_distance([face_data(side) for side in sides], walls)
