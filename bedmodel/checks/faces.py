"""Checks of faces that must lie in one plane, or bear on each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Fuse
from OCP.TopoDS import TopoDS_Shape
from OCP.TopTools import TopTools_ListOfShape

from bedmodel.bed import Piece
from bedmodel.checks.finding import Code, Finding, Result
from bedmodel.checks.probe import Probe
from bedmodel.checks.solid_faces import FaceData
from bedmodel.cuts import Cut, Mortise
from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.ends.record import PanelPlan
from bedmodel.frames import Vector, dot, scale, subtract
from bedmodel.shape import Shape
from bedmodel.skeleton import Layout
from bedmodel.solids import area_of, flat, location

FLUSH = 0.05  # mm; a step this small cannot be felt
COPLANAR = 0.02  # mm; faces nearer than this are in contact
BEARING_SHARE = 0.998  # the kernel's area of a contact is exact to about 1e-6

SIDES = (("left", -1.0), ("right", 1.0))


def check_faces(probe: Probe) -> Iterator[Result]:
    """Boards and rails flush with the legs, and bearing on them."""
    yield _boards_flush(probe)
    yield _rails_flush(probe)
    yield _bearing(probe)


def _result(code: Code, values: Mapping[tuple[str, str], tuple[float, float]]) -> Result:
    """Result of reveals: for each pair of parts, the measured one and the stated one.

    A reveal that cannot be measured, for want of a flat face, is infinite.
    """
    limit = f"within {FLUSH:g} mm of the stated reveal"
    findings = []
    for parts, (measured, stated) in values.items():
        if abs(measured - stated) > FLUSH:
            stated_limit = f"{stated:g} mm within {FLUSH:g} mm"
            findings.append(Finding(code, parts, measured, stated_limit))
    worst = max((abs(m - s) for m, s in values.values()), default=0.0)
    return Result(code, len(values), worst, "mm", limit, tuple(findings))


def _boards_flush(probe: Probe) -> Result:
    values = {}
    for end in probe.bed.layout.ends:
        inward = end.towards_mattress
        for board in end.boards:
            piece = probe.bed.piece(board_name(end, board))
            for side, _ in SIDES:
                leg = probe.bed.piece(f"{end.end}_leg_{side}")
                faces = probe.offsets(piece, inward), probe.offsets(leg, inward)
                values[(piece.name, leg.name)] = (_step(*faces, end.reveal), end.reveal)
    return _result(Code.BOARD_NOT_FLUSH, values)


def _step(
    board: tuple[float, float] | None, leg: tuple[float, float] | None, stated: float
) -> float:
    """How far the board stands back from the leg, at the corner where it is most wrong."""
    if board is None or leg is None:
        return math.inf
    steps = [level - corner for level in leg for corner in board]
    return max(steps, key=lambda step: abs(step - stated))


def _rails_flush(probe: Probe) -> Result:
    values = {}
    stated = probe.bed.layout.sheet.side_rail.reveal
    for end in probe.bed.layout.ends:
        for side, sign in SIDES:
            rail = probe.bed.piece(f"side_rail_{side}")
            leg = probe.bed.piece(f"{end.end}_leg_{side}")
            measured = _rail_step(probe, rail, leg, end, sign)
            values[(rail.name, leg.name)] = (measured, stated)
    return _result(Code.RAIL_NOT_FLUSH, values)


def _rail_step(probe: Probe, rail: Piece, leg: Piece, end: EndPlan, sign: float) -> float:
    """How far the rail's inside face stands out from the joint face, at the leg."""
    towards = (-sign, 0.0, 0.0)
    rail_plane, joint = probe.plane(rail, towards), probe.plane(leg, towards)
    inside = probe.plane(leg, end.towards_mattress)
    if rail_plane is None or joint is None or inside is None:
        return math.inf
    at = y_of(inside, probe.bed.layout.platform) if end.lean.rake else inside[0][1]
    return sign * (across(rail_plane, at) - joint[0][0])


def y_of(plane: tuple[Vector, Vector], height: float) -> float:
    """Y of a plane that leans lengthwise, at a plumb height."""
    point, normal = plane
    return point[1] - normal[2] * (height - point[2]) / normal[1]


def across(plane: tuple[Vector, Vector], y: float) -> float:
    """X of a plumb plane at ``y``."""
    point, normal = plane
    return point[0] - normal[1] * (y - point[1]) / normal[0]


def _bearing(probe: Probe) -> Result:
    """Contact area of each butt joint against the whole area of the end that butts."""
    findings, shares = [], []
    for parts, towards, intended in _butts(probe):
        one, leg = (probe.bed.piece(name) for name in parts)
        area = contact_area(probe, one, leg, towards)
        share = area / intended
        shares.append(share)
        if share < BEARING_SHARE:
            findings.append(
                Finding(
                    Code.JOINT_BEARING_SHORT, parts, area, f"at least {intended:.0f} mm2 of contact"
                )
            )
    limit = f"at least {BEARING_SHARE:g} of the end's area"
    return Result(
        Code.JOINT_BEARING_SHORT, len(shares), min(shares), "share", limit, tuple(findings)
    )


def _butts(probe: Probe) -> Iterator[tuple[tuple[str, str], Vector, float]]:
    """Each butt joint: the part that butts and the leg, the direction, the intended area."""
    layout = probe.bed.layout
    for end in layout.ends:
        for side, sign in SIDES:
            leg = f"{end.end}_leg_{side}"
            for board in end.boards:
                piece, towards = probe.bed.piece(board_name(end, board)), (sign, 0.0, 0.0)
                post = probe.bed.piece(leg)
                integral = board.tenons.integral
                openings = _opened(piece, post) if integral else _openings(piece, post, towards)
                area = section_area(piece.kind.shape) - openings - grooved(end, board)
                yield (piece.name, leg), towards, area
            rail = f"side_rail_{side}"
            towards, level = (0.0, -end.inward, 0.0), -end.inward * end.inside_y
            area = section_area(probe.bed.piece(rail).kind.shape) / math.cos(layout.yaw)
            if end.lean.rake:
                towards = scale(end.towards_mattress, -1.0)
                level = dot(towards, (0.0, end.inside_y, layout.platform))
                area = (area - _overhang(layout)) / math.cos(end.lean.rake)
            area -= _let_in(probe.bed.piece(rail), probe.bed.piece(leg), towards, level)
            yield (rail, leg), towards, area


def _overhang(layout: Layout) -> float:
    """Area, seen along the bed, by which a yawed rail passes its raked leg's joint face.

    Below the platform its end stands nearer to the foot, where the bed is narrower.
    """
    slope = math.tan(layout.yaw) * math.tan(layout.rake)
    if slope <= 0:
        return 0.0
    begins = layout.sheet.side_rail.reveal / slope
    return slope * max(0.0, layout.platform - layout.rail_bottom - begins) ** 2 / 2


def section_area(shape: Shape) -> float:
    """Area of a strip's section, its four corners eased (mm2)."""
    size = shape.easing.size if shape.easing.active else 0.0
    lost = (4 - math.pi) * size**2 if shape.easing.style == "roundover" else 2 * size**2
    return shape.width * shape.thickness - lost


def grooved(end: EndPlan, board: BoardPlan) -> float:
    """Area of the grooves that run out at a rail's end (mm2)."""
    return sum(
        fill.groove_width * fill.groove_depth
        for fill in end.fills
        if isinstance(fill, PanelPlan)
        and board in (end.boards[fill.where.lower], end.boards[fill.where.upper])
    )


def _openings(piece: Piece, leg: Piece, towards: Vector) -> float:
    """Area of the mortises in the end that looks ``towards``.

    A dry tenon's mortise is longer in the leg than in the board: the larger counts.
    """
    outward = piece.placement.inverse().direction(towards)
    total = 0.0
    for cut in piece.kind.shape.cuts:
        if dot(cut.frame.z, outward) < 0:
            place = leg.placement.inverse().point(piece.placement.point(cut.frame.origin))
            facing = [c.opening.area for c in leg.kind.shape.mortises if _holds(c, place)]
            total += max([cut.opening.area, *facing])
    return total


def _opened(piece: Piece, leg: Piece) -> float:
    """Area of the leg's mortises and grooves in the end of a board with its own tenons."""
    shape, there = piece.kind.shape, piece.placement.inverse() @ leg.placement
    cuts: list[Mortise] = []
    for cut in leg.kind.shape.tenon_cuts:
        _, y, z = there.point(cut.frame.origin)
        if 0 < y < shape.width and 0 < z < shape.thickness:
            cuts.append(cut)
    # A mortise whose opening lies in a haunch's groove takes nothing more.
    grooves = [cut for cut in cuts if cut.role == "haunch"]
    apart = [cut for cut in cuts if cut.role != "haunch" and not _within(cut, grooves)]
    return sum(cut.opening.area for cut in (*grooves, *apart))


def _within(cut: Mortise, grooves: list[Mortise]) -> bool:
    """Whether a slot's opening lies in one of the grooves', which are as wide."""
    for groove in grooves:
        x, y, _ = groove.frame.inverse().point(cut.frame.origin)
        if abs(y) < COPLANAR and abs(x) + cut.length / 2 < groove.length / 2 + COPLANAR:
            return True
    return False


def _let_in(rail: Piece, leg: Piece, towards: Vector, level: float) -> float:
    """Area of the plane between rail and leg that is cut out of the one or the other."""
    openings = []
    for piece, sign in ((rail, -1.0), (leg, 1.0)):
        for cut in piece.kind.shape.cuts:
            frame = piece.placement @ cut.frame
            in_plane = abs(dot(frame.origin, towards) - level) < COPLANAR
            if in_plane and sign * dot(frame.z, towards) > 0.999:
                openings.append(flat(cut.opening).moved(location(frame)).wrapped)
            elif cut.through and sign * dot(frame.z, towards) < -0.999:
                far = frame.moved(scale(frame.z, cut.depth))
                if abs(dot(far.origin, towards) - level) < COPLANAR:
                    openings.append(flat(cut.opening).moved(location(far)).wrapped)
    return _area_of_all(openings)


def _area_of_all(faces: list[TopoDS_Shape]) -> float:
    """Area that faces of one plane cover together (mm2)."""
    if not faces:
        return 0.0
    arguments, tools = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(faces[0])
    for face in faces[1:]:
        tools.Append(face)
    operation = BRepAlgoAPI_Fuse()
    operation.SetArguments(arguments)
    operation.SetTools(tools)
    operation.Build()
    return area_of(operation.Shape() if len(faces) > 1 else faces[0])


def _holds(cut: Cut, place: Vector) -> bool:
    """Whether a place of the part frame lies in a mortise's opening."""
    x, y, z = cut.frame.inverse().point(place)
    return abs(x) < cut.length / 2 and abs(y) < cut.width / 2 and abs(z) < COPLANAR


def contact_area(probe: Probe, one: Piece, other: Piece, towards: Vector) -> float:
    """Area over which two pieces touch, the first facing ``towards`` the second (mm2)."""
    back = (-towards[0], -towards[1], -towards[2])
    total = 0.0
    for a in probe.flat_faces(one, towards):
        for b in probe.flat_faces(other, back):
            if _gap(one, a, other, b, towards) <= COPLANAR:
                total += _common_area(one, a, other, b)
    return total


def _gap(one: Piece, a: FaceData, other: Piece, b: FaceData, towards: Vector) -> float:
    """Greatest distance along ``towards`` between one face's plane and the other's corners."""
    if a.normal is None:
        return math.inf
    normal = one.placement.direction(a.normal)
    start = one.placement.point(a.points[0])
    points = (other.placement.point(p) for p in b.points)
    return max(abs(dot(subtract(p, start), normal)) for p in points)


def _common_area(one: Piece, a: FaceData, other: Piece, b: FaceData) -> float:
    there = one.placement.inverse() @ other.placement
    moved = cq.Face(b.face).moved(location(there))
    arguments, tools = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(a.face)
    tools.Append(moved.wrapped)
    operation = BRepAlgoAPI_Common()
    operation.SetArguments(arguments)
    operation.SetTools(tools)
    operation.SetFuzzyValue(COPLANAR)
    operation.Build()
    return area_of(operation.Shape())
