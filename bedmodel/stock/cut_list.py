"""The cut list: every kind of wooden part, its finished and its rough size, its lumber.

    finished   the part as the solids have it: length along the grain, width, thickness
    rough      as it is first cut out of a board, with the shop's allowances
    class      the lumber's thickness in quarters of an inch, 8/4 and the like
    stave      one of the strips that a wide part is glued up from
    layer      one of the boards that a thick part is laminated from

Sizes come from the parts' own data; no solid is made.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from bedmodel.bed import Kind, Piece
from bedmodel.errors import InputError
from bedmodel.lumber import ThicknessClass, class_for, thickness_classes
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.stock.boards import BOARD_FOOT_MM3, board_feet
from bedmodel.stock.staves import Staves, staves_for
from bedmodel.stock.supplies import Supply, supplies
from bedmodel.units import LengthUnit

MM3_PER_M3 = 1e9
BOUGHT = {"dowel", "alignment_dowel"}  # rod, cut to length
LEGS = ("head_leg", "foot_leg")
_STRAIGHT = 1e-6  # of its area: a rectangle but for rounding
SHOWS = ("headboard", "footboard")  # parts on whose face a seam is seen


@dataclass(frozen=True)
class CutItem:
    """One row of the cut list (mm): ``count`` equal parts, or one left and one right.

    ``nested`` parts are traced on a plank (see ``nest``), not ripped out of a board.
    """

    name: str
    kinds: tuple[str, ...]
    pieces: tuple[str, ...]
    species: str
    length: float
    width: float
    thickness: float
    rough_length: float
    rough_width: float
    per_rough: int
    lumber: ThicknessClass | None
    layers: int
    staves: Staves | None
    notes: tuple[str, ...]
    nested: bool = False
    is_panel: bool = False

    @property
    def stock_name(self) -> str:
        """What it is made of: the lumber's class, rod, or a sheet of plywood."""
        if self.lumber is not None:
            return self.lumber.name
        return "sheet" if self.is_panel else "rod"

    @property
    def count(self) -> int:
        return len(self.pieces)

    @property
    def rough_count(self) -> int:
        """How many rough pieces the parts come out of, each layer counted."""
        return math.ceil(self.count / self.per_rough) * self.layers

    @property
    def is_bought(self) -> bool:
        """True for what is not made of lumber, such as dowel rod."""
        return self.lumber is None

    @property
    def net_board_feet(self) -> float:
        """Volume of the finished sizes as board feet."""
        return self.count * self.length * self.width * self.thickness / BOARD_FOOT_MM3

    @property
    def rough_board_feet(self) -> float:
        """Board feet of the rough parts, at their class's nominal thickness."""
        if self.lumber is None:
            return 0.0
        width = self.staves.rough_width if self.staves else self.rough_width
        feet = board_feet(self.lumber.quarters_count, width, self.rough_length)
        return self.rough_count * feet

    @property
    def cubic_metres(self) -> float:
        """Volume of the finished sizes."""
        return self.count * self.length * self.width * self.thickness / MM3_PER_M3


@dataclass(frozen=True)
class CutList:
    """All rows, by species and then by class, the thickest first; metal stands apart."""

    items: tuple[CutItem, ...]
    hardware: tuple[tuple[str, int], ...]
    supplies: tuple[Supply, ...] = ()

    @property
    def lumber(self) -> tuple[CutItem, ...]:
        return tuple(item for item in self.items if not item.is_bought)

    def totals(self) -> dict[tuple[str, int], tuple[float, float]]:
        """Net and rough board feet of each species and class."""
        found: dict[tuple[str, int], tuple[float, float]] = {}
        for item in self.lumber:
            assert item.lumber is not None
            key = (item.species, item.lumber.quarters_count)
            net, rough = found.get(key, (0.0, 0.0))
            found[key] = (net + item.net_board_feet, rough + item.rough_board_feet)
        return found


def cut_list(
    pieces: Sequence[Piece], shop: ShopProfile, unit: LengthUnit, layout: Layout | None = None
) -> CutList:
    """The cut list of a bed's pieces, its notes in ``unit``; with its layout, supplies too.

    Raises InputError for what the shop cannot make.
    """
    wooden = [piece for piece in pieces if not piece.kind.is_metal]
    items = [_item(group, shop, unit) for group in _rows(wooden)]
    items.sort(key=_order)
    metal: dict[str, int] = {}
    for piece in pieces:
        if piece.kind.is_metal:
            stem = piece.kind.name.rstrip("_0123456789")
            metal[stem] = metal.get(stem, 0) + 1
    extra = () if layout is None else supplies(layout, shop)
    return CutList(tuple(items), tuple(metal.items()), extra)


def _rows(pieces: Sequence[Piece]) -> Iterator[list[Piece]]:
    """Pieces of one row: one name but for the hand, one finished size, one species."""
    rows: dict[tuple[object, ...], list[Piece]] = {}
    for piece in pieces:
        kind = piece.kind
        size = tuple(round(side, 3) for side in kind.shape.blank)
        rows.setdefault((_stem(kind.name), kind.species, size), []).append(piece)
    yield from rows.values()


def _stem(name: str) -> str:
    return name.removesuffix("_left").removesuffix("_right")


def _order(item: CutItem) -> tuple[object, ...]:
    quarters = item.lumber.quarters_count if item.lumber else 0
    return (item.species, -quarters, -item.length, -item.width, item.name)


def _item(group: list[Piece], shop: ShopProfile, unit: LengthUnit) -> CutItem:
    kind = group[0].kind
    name = _stem(kind.name)
    length, width, thickness = finished_size(kind)
    notes = list(_notes(group, kind))
    if kind.is_panel:
        notes.append("sawn out of plywood sheets, face grain along its length")
        row = _row(group, (length, width, thickness), (length, width, 1), None, 1, None, notes)
        return replace(row, is_panel=True)
    if name.rstrip("_0123456789") in BOUGHT:
        notes.append("cut from rod")
        return _row(group, (length, width, thickness), (length, width, 1), None, 1, None, notes)
    lumber, layers = _lumber(name, thickness, shop)
    if layers > 1:
        notes.append(f"laminated of {layers} layers of {lumber.name}")
    per, along = _strip(length, len(group), shop)
    if per > 1:
        notes.append(f"plane as a strip of {per}, then cut to length")
    rule = shop.machines.rule
    wide = max(width + shop.allowance.width, shop.allowance.strip_least)
    if wide > width + shop.allowance.width:
        notes.append("ripped wider than it will be, for safety: plane or band-saw it to width")
    rough = (_up(along, rule), _up(wide, rule), per)
    staves = staves_for(rough[1], shop, shows=name.startswith(SHOWS))
    if staves is not None:
        notes.append(staves.told(unit))
    return _row(group, (length, width, thickness), rough, lumber, layers, staves, notes)


def _row(
    group: list[Piece],
    size: tuple[float, float, float],
    rough: tuple[float, float, int],
    lumber: ThicknessClass | None,
    layers: int,
    staves: Staves | None,
    notes: list[str],
) -> CutItem:
    kind = group[0].kind
    return CutItem(
        name=_stem(kind.name),
        kinds=tuple(dict.fromkeys(piece.kind.name for piece in group)),
        pieces=tuple(piece.name for piece in group),
        species=kind.species,
        length=size[0],
        width=size[1],
        thickness=size[2],
        rough_length=rough[0],
        rough_width=rough[1],
        per_rough=rough[2],
        lumber=lumber,
        layers=layers,
        staves=staves,
        notes=tuple(notes),
        nested=lumber is not None and is_traced(kind),
    )


def _strip(length: float, count: int, shop: ShopProfile) -> tuple[int, float]:
    """How many short parts are planed as one strip, and the strip's rough length."""
    least, each = shop.allowance.planed_least, length + shop.machines.kerf
    per = 1
    if length + shop.allowance.length < least:
        # The strip must be long enough for the planer, with all it can hold up to three times that.
        most = max(1, math.floor(3 * least / each))
        strips = math.ceil(count / most)
        per = math.ceil(count / strips)
    along = per * each - shop.machines.kerf + shop.allowance.length
    return per, max(along, least) if per > 1 or along < least else along


def _up(length: float, rule: float) -> float:
    """A rough size as it is measured: whole steps of the rule."""
    return math.ceil(length / rule - 1e-6) * rule


def finished_size(kind: Kind) -> tuple[float, float, float]:
    """Length along the grain, then the wider and the thinner of the two others (mm)."""
    length, width, thickness = kind.shape.blank
    # A leg's outline lies in its wide face whatever its thickness.
    if thickness > width:
        width, thickness = thickness, width
    return length, width, thickness


def is_traced(kind: Kind) -> bool:
    """Whether a part is a leg of a shaped outline; a square post is sawn straight."""
    if not kind.name.startswith(LEGS):
        return False
    x0, y0, x1, y1 = kind.shape.outline.bounds()
    return kind.shape.outline.area < (1 - _STRAIGHT) * (x1 - x0) * (y1 - y0)


def _notes(group: list[Piece], kind: Kind) -> Iterator[str]:
    hands = {piece.kind.name.rpartition("_")[2] for piece in group} & {"left", "right"}
    sides = {piece.name.rpartition("_")[2] for piece in group} & {"left", "right"}
    if len(hands) == 2:
        yield "mirror pair: cut together, mark left and right"
    elif len(sides) == 2 and len(group) == 2:
        yield "cut together, to one length"
    elif len(group) > 2:
        yield "cut to one stop"
    if is_traced(kind):
        yield "nest on the plank, see the leg nest"
    if kind.name.startswith(LEGS):
        yield "reference edge: the joint face"
    if kind.name.startswith("side_rail"):
        yield "reference edge: the lower edge; inside face towards the mattress"


def _lumber(name: str, thickness: float, shop: ShopProfile) -> tuple[ThicknessClass, int]:
    """The class to buy, and how many layers of it."""
    extra, thickest = shop.allowance.thickness, shop.glue_up.thickest
    classes = [
        c
        for c in thickness_classes()
        if c.quarters_count <= thickest and c.quarters_count in shop.buying.classes
    ]
    found = class_for(thickness + extra, classes)
    if found is not None:
        return found, 1
    if shop.glue_up.laminate == "never" or not classes:
        limit = classes[-1].surfaced - extra if classes else 0.0
        raise InputError(
            "glue_up.laminate",
            shop.glue_up.laminate,
            f"{name} is {thickness:.1f} mm thick, the thickest class bought gives {limit:.1f} mm",
            'set it to "allowed", or glue_up.thickest to a thicker class',
        )
    for layers in range(2, 9):
        layer = class_for(thickness / layers + extra, classes)
        if layer is not None:
            return layer, layers
    raise InputError(
        "glue_up.thickest",
        shop.glue_up.thickest,
        f"{name} is {thickness:.1f} mm thick, more than eight layers of it",
        "buy thicker lumber",
    )
