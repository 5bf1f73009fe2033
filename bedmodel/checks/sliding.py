"""Can wide boards move: room in the mortises of what is left dry, and what is held by glue."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bedmodel.checks.boxes import box_of
from bedmodel.checks.finding import Caution, Code, Finding, Result
from bedmodel.checks.halves import Half
from bedmodel.checks.own_tenons import faces_inside
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.frames import Frame
from bedmodel.glue_zone import is_wide, swing
from bedmodel.solids import location

ROOM_TOLERANCE = 0.01  # mm


def check_sliding(probe: Probe, halves: Iterable[Half]) -> Result:
    """Each dry tenon's room in the leg, measured, against the movement it is to allow for."""
    findings, spare = [], []
    for half in halves:
        own, joint = half.own, half.joint
        if joint.is_glued or own is None or half.mate.name == joint.board:
            continue
        # Along the slot, upwards in the bed or downwards as the leg lies.
        up = half.mate.placement.direction(own.cut.frame.x)[2] > 0
        wanted = joint.slack - joint.shift, joint.slack + joint.shift
        rooms = _rooms(probe, half)
        if rooms is None:
            continue  # no walls: the mortise is missing, which another check tells
        ends = zip(rooms if up else reversed(rooms), wanted, strict=True)
        room, needed = min(ends, key=lambda end: end[0] - end[1])
        spare.append(room - needed)
        if room < needed - ROOM_TOLERANCE:
            limit = f"at least {needed:.2f} mm of room to slide"
            findings.append(Finding(Code.BOARD_CANNOT_MOVE, half.parts, room, limit))
    boards = [(end, board) for end in probe.bed.layout.ends for board in end.boards]
    told = [_caution(probe, end, board) for end, board in boards]
    return Result(
        Code.BOARD_CANNOT_MOVE,
        len(boards),
        min(spare, default=0.0),
        "mm",
        "0 mm or more to spare",
        tuple(findings),
        tuple(caution for caution in told if caution is not None),
    )


def _rooms(probe: Probe, half: Half) -> tuple[float, float] | None:
    """Room of a tenon at both ends of its slot, along the slot's x."""
    assert half.own is not None
    slot = _extent(half.own.faces, half.own.cut.frame.inverse())
    integral, kind = half.joint.plan.integral, half.tenon.kind.name
    faces = faces_inside(probe, half) if integral else probe.faces(kind)
    tenon = _extent(faces, half.to_cut)
    if slot is None or tenon is None:
        return None
    return tenon[0] - slot[0], slot[1] - tenon[1]


def _extent(faces: Sequence[FaceData], there: Frame) -> tuple[float, float] | None:
    """How far faces reach along the x of the frame that ``there`` leads to."""
    ends: list[float] = []
    for face in faces:
        ends += [there.point(p)[0] for p in face.points]
        if face.normal is None:  # a round end reaches beyond its corners
            low, high = box_of(face.face.Moved(location(there).wrapped), exact=True)
            ends += [low[0], high[0]]
    return (min(ends), max(ends)) if ends else None


def _caution(probe: Probe, end: EndPlan, board: BoardPlan) -> Caution | None:
    """What it costs that a wide board is glued over more than may be; None where it is not."""
    sheet, plan = probe.bed.layout.sheet, board.tenons
    if not is_wide(sheet, board.width) or plan.glued_width <= sheet.tenon.glued_most + 1e-9:
        return None
    if plan.glued_count == 1 and sheet.tenon.width is None:
        return None  # one tenon of the width that was worked out: the zone itself
    movement = plan.glued_width * swing(sheet)
    section = f"{end.end}board"
    given = sheet.headboard if end.end == "head" else sheet.footboard
    remedy = f'set {section}.glue to "zone"' if given.glue == "all" else "make tenon.width less"
    told = (
        f"glued over {sheet.show(plan.glued_width)} of its width, which wants to move "
        f"{sheet.show(movement)} with the seasons ({sheet.tenon.moisture_change} points of "
        f"moisture content); held, it may split or its joints open; {remedy}"
    )
    return Caution(Code.BOARD_CANNOT_MOVE, (board_name(end, board),), movement, told)
