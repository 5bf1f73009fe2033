"""Where in the bed a check has looked, and where a finding is.

A ``Show`` is what the view lights up: pieces, places, and the mattress's space.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from bedmodel.assembly import Bed
from bedmodel.bed import Piece
from bedmodel.checks.finding import Code, Result
from bedmodel.exports.report.apart import Box
from bedmodel.exports.report.meetings import Meeting
from bedmodel.frames import Vector

MATTRESS = "mattress"

# The pieces that a code's check is about, by the first word of their kinds; all, where a code
# is not here. The joints' own codes show the joints.
_ABOUT: dict[Code, tuple[str, ...]] = {
    Code.OUTLINE_DIFFERS: ("head_leg", "foot_leg"),
    Code.BOARD_NOT_FLUSH: ("headboard", "footboard", "head_leg", "foot_leg"),
    Code.RAIL_NOT_FLUSH: ("side_rail", "head_leg", "foot_leg"),
    Code.JOINT_BEARING_SHORT: ("headboard", "footboard", "side_rail", "head_leg", "foot_leg"),
    Code.UPRIGHT_GAPS_UNEQUAL: ("headboard", "footboard", "head_leg", "foot_leg"),
    Code.GAP_TRAPS_HEAD: ("headboard", "footboard", "head_leg", "foot_leg"),
    Code.CAP_NOT_SEATED: ("headboard", "footboard", "head_leg", "foot_leg"),
    Code.END_JOINT_FIT: ("headboard", "footboard", "head_leg", "foot_leg"),
    Code.PANEL_CANNOT_MOVE: ("headboard", "footboard", "head_leg", "foot_leg"),
    Code.PANEL_LOOSE: ("headboard", "footboard", "head_leg", "foot_leg"),
    Code.PANEL_ROOM_SHORT: ("headboard", "footboard"),
    Code.SLAT_GAPS_UNEQUAL: ("slat",),
    Code.SLAT_GAP_OUT_OF_BAND: ("slat",),
    Code.SLAT_BEARING_SHORT: ("slat", "runner"),
    Code.SUPPORTS_NOT_LEVEL: ("runner", "centre_rail"),
    Code.ROW_BEARING_SHORT: ("slat", "deck_panel", "centre_rail"),
    Code.DECK_BEARING_SHORT: ("deck_panel", "runner"),
    Code.DECK_JOINT_UNSUPPORTED: ("deck_panel", "deck_batten"),
    Code.FOOT_OFF_FLOOR: ("head_leg", "foot_leg", "support_foot"),
    Code.PLATFORM_TOO_HIGH: ("slat", "deck_panel"),
}
_NOT_SLAT = ("slot_plate",)  # begins like a slat


@dataclass(frozen=True)
class Spot:
    """One place (mm, bed frame), and the piece that it goes with when the bed is taken apart."""

    at: Vector
    piece: str


@dataclass(frozen=True)
class Show:
    """What is lit up: names of pieces, places on them, and whether the mattress's space.

    ``glass`` are those of the pieces that are drawn as glass, since what matters is in them.
    """

    title: str
    pieces: tuple[str, ...]
    spots: tuple[Spot, ...] = ()
    mattress: bool = False
    glass: tuple[str, ...] = ()


def show_meeting(title: str, found: Sequence[Meeting]) -> Show:
    """All joints of one sort."""
    pieces = tuple(dict.fromkeys(name for meeting in found for name in meeting.pieces))
    spots = tuple(Spot(at, meeting.pieces[0]) for meeting in found for at in meeting.at)
    around = {name for meeting in found for name in meeting.around}
    return Show(title, pieces, spots, glass=tuple(name for name in pieces if name in around))


def show_check(result: Result, bed: Bed, joined: Sequence[Meeting]) -> Show:
    """Where a check has looked."""
    family = _family(result.code)
    title = f"{int(result.code)}: {result.title}"
    if family:
        return show_meeting(title, [meeting for meeting in joined if meeting.family in family])
    if result.code // 100 == 5:
        return Show(title, (), mattress=True)
    stems = _ABOUT.get(result.code)
    return Show(title, tuple(p.name for p in bed.pieces if stems is None or _is_of(p, stems)))


def _family(code: Code) -> tuple[str, ...]:
    if code // 100 == 4:
        return ("tenon",)
    if code in (Code.SCREW_BITE_SHORT, Code.RECESS_WALL_THIN):
        return ("rail", "screw")
    return ("rail",) if code // 100 == 8 else ()


def _is_of(piece: Piece, stems: tuple[str, ...]) -> bool:
    return piece.kind.name.startswith(stems) and not piece.kind.name.startswith(_NOT_SLAT)


def show_parts(title: str, parts: Sequence[str], bed: Bed, boxes: Mapping[str, Box]) -> Show:
    """The pieces that a finding names, and the place where they meet.

    A name may be a piece's, a kind's, that of a cut in the kind named before it, or
    the mattress's.
    """
    named = [list(_pieces_of(name, bed)) for name in parts]
    pieces = [piece for group in named for piece in group]
    spots = [spot for name in parts for spot in _cuts_of(name, pieces)]
    if not spots and len(parts) == 2 and all(named):
        spots = [_between(one, other, boxes) for one in named[0] for other in named[1]][:1]
    if not spots:
        spots = [Spot(boxes[piece.name].middle, piece.name) for piece in pieces]
    names = tuple(dict.fromkeys(piece.name for piece in pieces))
    return Show(title, names, tuple(spots), MATTRESS in parts)


def _pieces_of(name: str, bed: Bed) -> Iterator[Piece]:
    found = [p for p in bed.pieces if name in (p.name, p.kind.name)]
    if not found:
        found = [p for p in bed.pieces if p.name in (f"{name}_left", f"{name}_right")]
    if not found:
        found = [p for p in bed.pieces if p.kind.name.rstrip("_0123456789") == name]
    yield from found


def _cuts_of(name: str, pieces: Sequence[Piece]) -> Iterator[Spot]:
    for piece in pieces:
        for cut in piece.kind.shape.cuts:
            if cut.name == name:
                yield Spot(piece.placement.point(cut.frame.origin), piece.name)


def _between(one: Piece, other: Piece, boxes: Mapping[str, Box]) -> Spot:
    """The middle of what two pieces' boxes share, or of the gap between them."""
    return Spot(boxes[one.name].common(boxes[other.name]).middle, one.name)
