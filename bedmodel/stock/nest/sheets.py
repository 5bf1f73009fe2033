"""Nest templates and jig plates on sheet goods.

Every part goes on the first sheet that has room for it, as far left as it will go. That is
tried in a few orders, upright and lying; the nest of fewest sheets is kept, then the one
that uses up the least of its last sheet. Parts are turned by quarters and never turned
over: their marks lie on one face.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.outline import Outline
from bedmodel.stock.nest.forms import Form, Room, Spot, Way, forms_of
from bedmodel.stock.nest.nofit import NoFit
from bedmodel.stock.nest.place import places
from bedmodel.stock.nest.plan import MOST_PARTS, Placement
from bedmodel.stock.nest.polygons import inner_polygon, outer_polygon

_TOLERANCE = 0.5  # mm
_QUARTERS = (0.0, 90.0, 180.0, 270.0)
_LEAST, _MOST = 100.0, 5000.0


@dataclass(frozen=True)
class SheetPart:
    """One flat piece: a template or a plate, by its outside cut."""

    name: str
    outline: Outline


@dataclass(frozen=True)
class SheetSize:
    """A sheet and what is kept clear on it (mm).

    The default is a full sheet of fibreboard, common practice, no source; the gap is for a
    6.35 mm cutter and a web that holds.
    """

    length: float = 2440.0
    width: float = 1220.0
    gap: float = 10.0
    margin: float = 10.0

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("length", self.length, _LEAST, _MOST),
            ("width", self.width, _LEAST, _MOST),
            ("gap", self.gap, 0.0, 100.0),
            ("margin", self.margin, 0.0, 45.0),
        ):
            if not low <= value <= high:
                raise InputError(f"sheet {name}", value, f"must be {low:g} to {high:g} mm")


@dataclass(frozen=True)
class NestedSheet:
    """One sheet: what lies where, and how far along it reaches with the margin (mm)."""

    placements: tuple[Placement, ...]
    stop: float


@dataclass(frozen=True)
class SheetNest:
    """All sheets. ``least_count`` sheets at least are needed, by area alone."""

    size: SheetSize
    sheets: tuple[NestedSheet, ...]
    least_count: int

    @property
    def is_proven(self) -> bool:
        """True when no nest needs fewer sheets."""
        return len(self.sheets) == self.least_count


def nest_on_sheets(
    parts: Sequence[SheetPart],
    size: SheetSize = SheetSize(),
    turns: Sequence[float] = _QUARTERS,
) -> SheetNest:
    """Nest all parts on sheets of one size; the same parts give the same nest.

    ``turns`` are the angles by which a part may be turned, fewer where its grain matters.

    Raises InputError for no parts, for two of one name, and for one that fits no sheet.
    """
    _check(parts)
    room = Room(size.margin, size.margin, size.length - size.margin, size.width - size.margin)
    forms = [_forms(part, number, turns) for number, part in enumerate(parts)]
    nofit = NoFit(size.gap)
    for part, ways in zip(parts, forms, strict=True):
        if not any(places((), form, room, nofit) for form in ways):
            raise InputError(
                f"part {part.name}",
                " x ".join(f"{2 * half:.0f}" for half in ways[0].half) + " mm",
                f"fits no sheet of {size.length:g} x {size.width:g} mm with a margin of "
                f"{size.margin:g} mm",
                "take a larger sheet, or make it of two pieces",
            )
    tried = [
        _fill(forms, order, rank, room, nofit)
        for order in _orders(forms)
        for rank in (_by_stop, _by_start)
    ]
    sheets = min(tried, key=lambda each: (len(each), round(_stop(each[-1]), 3)))
    return SheetNest(
        size,
        tuple(
            NestedSheet(
                tuple(_placement(parts[spot.form.kind].name, spot) for spot in spots),
                _stop(spots) + size.margin,
            )
            for spots in sheets
        ),
        _least_count(parts, size),
    )


def _check(parts: Sequence[SheetPart]) -> None:
    if not parts:
        raise InputError("nest", None, "has no parts to nest")
    if len(parts) > MOST_PARTS:
        raise InputError("nest", len(parts), f"must be of {MOST_PARTS} parts at most", "split it")
    names = [part.name for part in parts]
    for part in parts:
        if names.count(part.name) > 1:
            raise InputError(
                f"part {part.name}", None, "is there twice", "give each a name of its own"
            )
        if not part.outline.area > 0:
            raise InputError(f"part {part.name}", None, "has an outline without an area")


def _forms(part: SheetPart, number: int, turns: Sequence[float]) -> tuple[Form, ...]:
    polygon = outer_polygon(part.outline, _TOLERANCE)
    return forms_of(number, polygon, [Way(False, turn) for turn in turns])


def _orders(forms: Sequence[Sequence[Form]]) -> list[list[int]]:
    """The largest first, by several measures of what is large."""

    def size_of(measure: Callable[[float, float], float]) -> list[int]:
        sizes = [measure(*sorted(turns[0].half)) for turns in forms]
        return sorted(range(len(forms)), key=lambda i: (-sizes[i], i))

    orders = [
        size_of(lambda short, long: short * long),
        size_of(lambda short, long: long),
        size_of(lambda short, long: short),
        size_of(lambda short, long: short + long),
    ]
    return [order for i, order in enumerate(orders) if order not in orders[:i]]


def _fill(
    forms: Sequence[Sequence[Form]],
    order: Sequence[int],
    rank: Callable[[Spot], tuple[float, ...]],
    room: Room,
    nofit: NoFit,
) -> list[list[Spot]]:
    sheets: list[list[Spot]] = []
    for number in order:
        for sheet in [*sheets, []]:
            spots = [
                Spot(form, x, y)
                for form in forms[number]
                for x, y in places(sheet, form, room, nofit)
            ]
            if spots:
                sheet.append(min(spots, key=rank))
                if len(sheet) == 1:
                    sheets.append(sheet)
                break
    return sheets


def _by_stop(spot: Spot) -> tuple[float, ...]:
    """Reaching least far along the sheet: upright, where there is a choice."""
    return (round(spot.x + spot.form.half[0], 3), round(spot.y, 3), spot.form.way.turn_deg)


def _by_start(spot: Spot) -> tuple[float, ...]:
    """Beginning nearest to the sheet's end, and lying along it."""
    start, long = spot.x - spot.form.half[0], spot.form.half[0]
    return (round(start, 3), round(-long, 3), round(spot.y, 3), spot.form.way.turn_deg)


def _stop(spots: Sequence[Spot]) -> float:
    return max(spot.x + spot.form.half[0] for spot in spots)


def _placement(name: str, spot: Spot) -> Placement:
    dx, dy = spot.form.shift
    turn = spot.form.way.turn_deg
    return Placement(name, False, turn - 360.0 if turn > 180 else turn, spot.x + dx, spot.y + dy)


def _least_count(parts: Sequence[SheetPart], size: SheetSize) -> int:
    """Sheets needed if every part, grown by half the gap, could be poured into them."""
    import shapely

    half = size.gap / 2
    grown: float = sum(
        shapely.Polygon(inner_polygon(part.outline, _TOLERANCE)).buffer(half).area for part in parts
    )
    more = 2 * (half - size.margin)
    return max(math.ceil(float(grown) / ((size.length + more) * (size.width + more)) - 1e-9), 1)
