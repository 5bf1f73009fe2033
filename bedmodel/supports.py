"""What carries the mattress, worked out: thickness over the runners, tapes, panels of a deck.

    slats, webbed   platform is the slats' top
    deck            platform is the panels' top
    box_spring      platform is the runners' top, or that of bearers laid on them

Places are in the bed frame (mm): x from the centreline, y from the head legs' inside faces.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.panels import Panel, panel
from bedmodel.pocket import Pocket
from bedmodel.slats import SlatRow
from bedmodel.spec import Sheet

LEAST_BEARERS = 3  # common practice for a box spring on rails alone
STRIP = 120.0  # mm; about the width of the strips that a deck is reckoned in
KG_PER_MM3 = 1e-9
_CLEAR = 3.0  # mm between a batten and the runner or centre rail beside it
_OPEN_MARGIN = 40.0  # mm of panel round its field of openings


@dataclass(frozen=True)
class WebbingPlan:
    """Tapes across the slats: their middles by x, each ``length`` as cut, staples in all."""

    places: tuple[float, ...]
    length: float
    staples: int

    @property
    def metres(self) -> float:
        return len(self.places) * self.length / 1000.0


@dataclass(frozen=True)
class PanelPlace:
    """One panel, on the right-hand side or across the centreline, with its openings' middles."""

    number: int
    left: float
    right: float
    start: float
    end: float
    openings: tuple[tuple[float, float], ...]

    @property
    def length(self) -> float:
        """Along the face grain, across the bed."""
        return self.right - self.left

    @property
    def width(self) -> float:
        """Along the bed."""
        return self.end - self.start


@dataclass(frozen=True)
class BattenPlace:
    """The batten under a joint between two panels: the joint's middle, and its ends by x."""

    number: int
    joint: float
    left: float
    right: float


@dataclass(frozen=True)
class DeckPlan:
    """Panels from head to foot, battens under the joints between them, and the plywood."""

    panels: tuple[PanelPlace, ...]
    battens: tuple[BattenPlace, ...]
    rows: int
    plywood: Panel
    thickness: float

    def net_share(self, opening: float) -> float:
        """What openings that wide leave of a panel, cut along the bed through a row of them."""
        shares = []
        for place in self.panels:
            in_line = len({round(y, 6) for _, y in place.openings})
            shares.append(1 - in_line * opening / place.width)
        return min(shares)

    def mass_kg(self, place: PanelPlace) -> float:
        """Of a panel without openings."""
        volume = place.length * place.width * self.thickness
        return volume * KG_PER_MM3 * self.plywood.density_kg_m3


def has_centre_rail(sheet: Sheet, mattress_width: float) -> bool:
    """Whether a bed has a centre rail. Raises InputError where it needs one and must not."""
    rail = sheet.centre_rail
    wide = mattress_width > rail.over
    if rail.use == "never" and wide:
        raise InputError(
            "centre_rail.use",
            "never",
            f"a mattress wider than {sheet.show(rail.over)} needs a centre rail",
            'set it to "auto"',
        )
    return rail.use == "always" or (rail.use == "auto" and wide)


def bearers_count(sheet: Sheet, mattress_width: float) -> int:
    """Bearers under a box spring. Raises InputError where they are too few to carry it."""
    given, centre = sheet.support.bearers, has_centre_rail(sheet, mattress_width)
    if given is None:
        return 0 if centre else LEAST_BEARERS
    if given < LEAST_BEARERS and not (centre and given == 0):
        other = "" if centre else ', or take a centre rail, centre_rail.use "always"'
        raise InputError(
            "support.bearers",
            given,
            f"a box spring wants {LEAST_BEARERS} bearers at least, or a centre rail alone",
            f"set it to {LEAST_BEARERS} or more{other}",
        )
    return given


def support_thickness(sheet: Sheet, mattress_width: float) -> float:
    """From the runners' tops to the platform."""
    kind = sheet.support.kind
    if kind == "deck":
        return sheet.deck.thickness
    if kind == "box_spring" and not bearers_count(sheet, mattress_width):
        return 0.0
    return sheet.slat.thickness


def check_rows(sheet: Sheet, mattress_width: float) -> None:
    """Two rows meet on the centre rail: it must be there, and wide enough.

    Raises InputError with the width that would do.
    """
    if sheet.support.rows == 1:
        return
    if sheet.support.kind == "box_spring":
        raise InputError(
            "support.rows", 2, "a box spring lies on one row of bearers", "set it to 1"
        )
    if not has_centre_rail(sheet, mattress_width):
        raise InputError(
            "support.rows",
            2,
            "two rows meet on a centre rail, and this bed has none",
            'set it to 1, or centre_rail.use to "always"',
        )
    least = least_centre_width(sheet)
    if sheet.centre_rail.width < least - 1e-9:
        raise InputError(
            "centre_rail.width",
            sheet.show(sheet.centre_rail.width),
            f"must be at least {sheet.at_least(least)} for two rows to bear on it",
            "make it wider, or support.row_gap or support.row_bearing less, or support.rows 1",
        )


def least_centre_width(sheet: Sheet) -> float:
    """The centre rail's width on which both rows have their bearing."""
    rail = sheet.centre_rail
    eased = rail.edge_size if rail.edge != "square" else 0.0
    return sheet.support.row_gap + 2 * (sheet.support.row_bearing + eased)


def row_bearing(sheet: Sheet) -> float:
    """How far each of two rows lies on the flat of the centre rail's top."""
    rail = sheet.centre_rail
    eased = rail.edge_size if rail.edge != "square" else 0.0
    return (rail.width - sheet.support.row_gap) / 2 - eased


# --- rows ----------------------------------------------------------------------------------


def bearer_row(sheet: Sheet, pocket: Pocket, count: int) -> SlatRow:
    """Bearers of a box spring, evenly along the pocket, whatever the gap."""
    width = sheet.slat.width
    gap = (pocket.length - count * width) / (count + 1)
    narrowest = pocket.half_width(pocket.length - gap)
    return SlatRow(count, width, gap, 2 * (narrowest - sheet.slat.end_clearance))


def strip_row(pocket: Pocket, end_gap: float) -> SlatRow:
    """A deck, or a box spring's underside, as strips side by side: for reckoning alone."""
    count = max(2, round(pocket.length / STRIP))
    return SlatRow(count, pocket.length / count, 0.0, 2 * (pocket.half_foot - end_gap))


# --- webbing -------------------------------------------------------------------------------


def webbing_plan(sheet: Sheet, row: SlatRow) -> WebbingPlan | None:
    """The tapes of webbed slats. Raises InputError where they find no room on a slat."""
    if sheet.support.kind != "webbed":
        return None
    given, rows = sheet.webbing, sheet.support.rows
    ends = [(-row.length / 2, row.length / 2)]
    if rows == 2:
        ends = [
            (-row.length / 2, -sheet.support.row_gap / 2),
            (sheet.support.row_gap / 2, row.length / 2),
        ]
    places: list[float] = []
    for left, right in ends:
        first, last = left + given.inset, right - given.inset
        pitch = (last - first) / (given.tapes - 1)
        if pitch < given.width + 10 or given.inset < given.width / 2 + 5:
            raise InputError(
                "webbing.tapes",
                given.tapes,
                f"{given.tapes} tapes {sheet.show(given.width)} wide, the outer ones "
                f"{sheet.show(given.inset)} in, find no room on slats of "
                f"{sheet.show(right - left)}",
                "take fewer or narrower tapes, or change webbing.inset",
            )
        places += [first + i * pitch for i in range(given.tapes)]
    starts = row.starts()
    length = starts[-1] + row.width - starts[0] + 2 * given.turned
    return WebbingPlan(tuple(places), length, len(places) * row.count * given.staples)


# --- deck ----------------------------------------------------------------------------------


def deck_plan(sheet: Sheet, pocket: Pocket, centre: bool) -> DeckPlan | None:
    """The panels of a deck: as few as come out of the sheets and can be lifted.

    Raises InputError where a panel fits no sheet, or does not bear on its runners.
    """
    if sheet.support.kind != "deck":
        return None
    deck, rows = sheet.deck, sheet.support.rows
    plywood = panel(deck.panel, deck.thickness)
    _check_sheet(sheet, pocket)
    for count in range(1, 13):
        plan = _deck_of(sheet, pocket, centre, plywood, count)
        least = min(place.width for place in plan.panels)
        if max(p.width for p in plan.panels) > deck.sheet_width - 2 * deck.sheet_margin + 1e-9:
            continue
        if max(plan.mass_kg(p) for p in plan.panels) <= deck.mass_most or least < STRIP:
            break
    heaviest = max(plan.mass_kg(place) for place in plan.panels)
    if heaviest > deck.mass_most:
        raise InputError(
            "deck.mass_most",
            f"{deck.mass_most:g} kg",
            f"panels {sheet.show(deck.thickness)} thick and {sheet.show(STRIP)} wide weigh "
            f"{heaviest:.1f} kg still",
            "make it more, deck.thickness less, or support.rows 2",
        )
    _check_deck_bearing(sheet, pocket, plan)
    if rows == 1 or centre:
        return plan
    raise AssertionError("two rows without a centre rail are refused before")


def _check_sheet(sheet: Sheet, pocket: Pocket) -> None:
    deck = sheet.deck
    across = 2 * (pocket.half_head - deck.side_gap)
    if sheet.support.rows == 2:
        across = across / 2 - deck.joint_gap / 2
    room = deck.sheet_length - 2 * deck.sheet_margin
    if across > room + 1e-9:
        raise InputError(
            "deck.sheet_length",
            sheet.show(deck.sheet_length),
            f"must be at least {sheet.at_least(across + 2 * deck.sheet_margin)} for panels "
            "across the bed",
            "buy longer sheets, or take support.rows 2",
        )


def _deck_of(sheet: Sheet, pocket: Pocket, centre: bool, plywood: Panel, count: int) -> DeckPlan:
    deck, rows = sheet.deck, sheet.support.rows
    first, last = deck.side_gap, pocket.length - deck.side_gap
    width = (last - first - (count - 1) * deck.joint_gap) / count
    places, battens = [], []
    for i in range(count):
        start = first + i * (width + deck.joint_gap)
        end = start + width
        # Square panels in a pocket that may draw together: by their foot-side corners.
        half = pocket.half_width(end) - deck.side_gap
        left = deck.joint_gap / 2 if rows == 2 else -half
        openings = _openings(sheet, pocket, centre, (left, half, start, end))
        places.append(PanelPlace(i + 1, left, half, start, end, openings))
        if i:
            joint = start - deck.joint_gap / 2
            battens.append(_batten(sheet, pocket, centre, i, joint))
    return DeckPlan(tuple(places), tuple(battens), rows, plywood, deck.thickness)


def _batten(sheet: Sheet, pocket: Pocket, centre: bool, number: int, joint: float) -> BattenPlace:
    """Clear of the runners, and of the centre rail where there is one."""
    foot_side = joint + sheet.deck.batten_width / 2
    runner = sheet.runner.width / math.cos(pocket.yaw)
    right = pocket.half_width(foot_side) - runner - _CLEAR
    left = sheet.centre_rail.width / 2 + _CLEAR if centre else -right
    return BattenPlace(number, joint, left, right)


def _check_deck_bearing(sheet: Sheet, pocket: Pocket, plan: DeckPlan) -> None:
    runner = sheet.runner
    eased = runner.edge_size if runner.edge != "square" else 0.0
    for place in plan.panels:
        inner = pocket.half_width(place.start) - (runner.width - eased) / math.cos(pocket.yaw)
        bearing = place.right - inner
        least = sheet.slat.bearing_least
        if bearing < least - 1e-9:
            needed = runner.width + (least - bearing) * math.cos(pocket.yaw)
            raise InputError(
                "runner.width",
                sheet.show(runner.width),
                f"must be at least {sheet.at_least(needed)} for the deck to bear "
                f"{sheet.show(least)} on it",
                "make the runner wider, or deck.side_gap or frame.stance less",
            )
    if plan.battens and min(b.right - b.left for b in plan.battens) < 3 * sheet.deck.batten_width:
        raise InputError(
            "deck.batten_width",
            sheet.show(sheet.deck.batten_width),
            "the battens between runners and centre rail are hardly longer than wide",
            "make it less, or the runners narrower",
        )


def _openings(
    sheet: Sheet, pocket: Pocket, centre: bool, box: tuple[float, float, float, float]
) -> tuple[tuple[float, float], ...]:
    """Middles of a panel's openings on the right, over the open field beside what carries it.

    Of a panel across the centreline the left-hand ones are their mirror images.
    """
    deck = sheet.deck
    if deck.airing == "none":
        return ()
    left, _, start, end = box
    half_x = deck.hole / 2 if deck.airing == "holes" else max(deck.slot, deck.hole) / 2
    runner = sheet.runner.width / math.cos(pocket.yaw)
    high = pocket.half_width(end) - runner - _OPEN_MARGIN / 2 - half_x
    low = (sheet.centre_rail.width / 2 if centre else 0.0) + _OPEN_MARGIN / 2 + half_x
    low = max(low, left + half_x + _OPEN_MARGIN / 2)
    edge = max(_OPEN_MARGIN, deck.batten_width / 2 + 5.0) + deck.hole / 2
    pitch_x = deck.pitch if deck.airing == "holes" else deck.pitch + deck.slot
    xs = _spread(low, high, max(pitch_x, 2 * half_x + 20.0))
    ys = _spread(start + edge, end - edge, max(deck.pitch, deck.hole + 20.0))
    return tuple((x, y) for y in ys for x in xs)


def _spread(low: float, high: float, pitch: float) -> list[float]:
    """Evenly spread places, as many as keep the pitch."""
    if high < low:
        return []
    count = 1 + int((high - low) / pitch + 1e-9)
    if count == 1:
        return [(low + high) / 2]
    return [low + i * (high - low) / (count - 1) for i in range(count)]
