"""From nests to pages: legs on planks with where to lay each template, plates on sheets.

A leg's template is laid down by its joint face, a straight line: both its ends are measured
from the plank's left end and from its lower edge.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from bedmodel.bed import Piece
from bedmodel.exports.plan_pages.nest import NestedPart, Plank
from bedmodel.exports.plan_pages.words import Lengths, Setup, counted, spoken, wood_words
from bedmodel.outline import Outline, Point
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.jigs.legs import face_up
from bedmodel.stock.nest.plan import LegNest, NestedPlank, NestPart, Placement
from bedmodel.stock.nest.polygons import outer_polygon
from bedmodel.stock.nest.sheets import NestedSheet, SheetNest

# What is traced is measured to a thirty-second, or to a whole millimetre.
TRACED = {"mm": 1.0, "inch": 25.4 / 32}
_DRAWN = 0.5  # mm; of a polygon from its arcs, far under a printed line at these scales
_OTHER = {"inside face": "show face", "show face": "inside face"}
_LEG_HEADS = (
    ("leg", 0.22),
    ("face up", 0.13),
    ("foot to the", 0.11),
    ("joint face begins at", 0.22),
    ("and ends at", 0.22),
    ("tilt", 0.10),
)
_PLATE_HEADS = (
    ("no.", 0.06),
    ("plate", 0.40),
    ("size", 0.22),
    ("from the left", 0.16),
    ("from below", 0.16),
)


def leg_planks(
    nest: LegNest, parts: Sequence[NestPart], pieces: Sequence[Piece], setup: Setup
) -> list[Plank]:
    """A page's matter for each plank of a nest of legs."""
    outlines = {part.name: part.outline for part in parts}
    faces = {piece.name: face_up(piece) for piece in pieces if piece.name in _stems(outlines)}
    lengths = Lengths(setup.unit, TRACED[setup.unit])
    return [_leg_plank(plank, parts[0], outlines, faces, lengths) for plank in nest.planks]


def seen_face(faces: Mapping[str, str], placement: Placement) -> str:
    """Which face of a leg looks up where it lies; ``faces`` say it of each as it is drawn."""
    face = faces[placement.name.split("_layer_")[0]]
    return _OTHER[face] if placement.mirrored else face


def _stems(names: Mapping[str, Outline]) -> set[str]:
    return {name.split("_layer_")[0] for name in names}


def _leg_plank(
    plank: NestedPlank,
    part: NestPart,
    outlines: Mapping[str, Outline],
    faces: Mapping[str, str],
    lengths: Lengths,
) -> Plank:
    board = plank.board
    found, rows = [], []
    for placement, blank in zip(plank.placements, plank.blanks, strict=True):
        outline = placement.outline(outlines[placement.name])
        up = seen_face(faces, placement)
        points = tuple(outer_polygon(outline, _DRAWN))
        found.append(NestedPart(spoken(placement.name), points, f"{up} up", tuple(blank)))
        rows.append(_leg_row(placement, outline, up, lengths))
    used = (
        f"uses {lengths.told(plank.length_used)} from the "
        f"{'left' if plank.start == 0 else 'right'} end, {plank.board_feet_used:.1f} board feet; "
        "solid line: the leg; dashed: saw here"
    )
    title = (
        f"{wood_words(board.species or part.species)} {board.quarters_count}/4, "
        f"{lengths.number(board.width)} × {lengths.told(board.length)}"
    )
    return Plank(
        board.name,
        board.length,
        board.width,
        tuple(found),
        (title, used),
        tuple(_keep_off(plank)),
        _LEG_HEADS,
        tuple(rows),
    )


def _keep_off(plank: NestedPlank) -> Iterator[tuple[float, float, float, float]]:
    board = plank.board
    if board.check_left > 0:
        yield 0.0, board.check_left, 0.0, board.width
    if board.check_right > 0:
        yield board.length - board.check_right, board.length, 0.0, board.width
    for d in board.defects:
        yield d.start, d.stop, d.low, d.high


def _leg_row(placement: Placement, outline: Outline, up: str, lengths: Lengths) -> tuple[str, ...]:
    turn = placement.turn_deg
    reversed_ = abs(turn) > 90
    tilt = turn - (180.0 if turn > 90 else -180.0 if turn < -90 else 0.0)
    ends = sorted(joint_ends(outline))
    lean = f"{abs(tilt):.1f}° {'up' if tilt > 0 else 'down'}"
    return (
        spoken(placement.name),
        up,
        "right" if reversed_ else "left",
        *(f"{lengths.number(x)} along, {lengths.number(y)} up" for x, y in ends),
        lean if abs(tilt) >= 0.05 else "none",
    )


def joint_ends(outline: Outline) -> tuple[Point, Point]:
    """Both ends of the straight edge that boards butt against, the longest if there are more."""
    edges = [edge for edge in outline.named("joint") if not edge.is_arc]
    longest = max(edges, key=lambda edge: edge.chord)
    return longest.start, longest.end


# --- plates ------------------------------------------------------------------------------


def plate_sheets(nest: SheetNest, jigs: Sequence[Jig], setup: Setup) -> list[Plank]:
    """A page's matter for each sheet of templates and plates."""
    by_name = {jig.name: jig for jig in jigs}
    lengths = Lengths(setup.unit, TRACED[setup.unit])
    many = len(nest.sheets)
    return [
        _plate_sheet(sheet, nest, by_name, lengths, f"sheet {number}", many)
        for number, sheet in enumerate(nest.sheets, start=1)
    ]


def _plate_sheet(
    sheet: NestedSheet,
    nest: SheetNest,
    jigs: Mapping[str, Jig],
    lengths: Lengths,
    name: str,
    many: int,
) -> Plank:
    found, rows = [], []
    for number, placement in enumerate(sheet.placements, start=1):
        jig = jigs[placement.name]
        outline = placement.outline(jig.sheet.outline)
        x0, y0, x1, y1 = outline.bounds()
        points = tuple(outer_polygon(outline, _DRAWN))
        found.append(NestedPart(spoken(jig.name), points, number=str(number)))
        size = lengths.size(x1 - x0, y1 - y0)
        rows.append((str(number), jig.sheet.title, size, lengths.number(x0), lengths.number(y0)))
    count = f"{counted(len(found), 'plate')} on {name} of {many}"
    proven = "; fewer sheets cannot hold them" if nest.is_proven else ""
    return Plank(
        name,
        nest.size.length,
        nest.size.width,
        tuple(found),
        (
            count + proven,
            f"used up to {lengths.told(sheet.stop)} from the left; sizes as they lie",
        ),
        (),
        _PLATE_HEADS,
        tuple(rows),
        "along the sheet",
    )
