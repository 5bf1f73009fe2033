"""Choose the cutters of the jigs from the sheet, or work them out from the tables."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from bedmodel.cutters import (
    BIT_CLEARANCE,
    Bit,
    Bushing,
    Cutter,
    bushing_cutter,
    pattern_cutter,
    round_down,
)
from bedmodel.errors import InputError
from bedmodel.shop.jigs.on_hand import ALL, OnHand
from bedmodel.spec import Sheet
from bedmodel.units import format_both

_SAME = 1e-6  # mm
_PATTERN = {"mm": "pattern-19-x-50-mm", "inch": "pattern-3-4-x-2-in"}
_STRAIGHT = {"mm": "straight-12-x-50-mm", "inch": "straight-1-2-x-2-in"}
_UNIT_OF_NAMES = {"mm": "-mm", "inch": "-in"}


@dataclass(frozen=True)
class Chosen:
    """A bit and what guides it; ``guide`` says it in words."""

    bit: Bit
    bushing: Bushing | None
    cutter: Cutter

    @property
    def guide(self) -> str:
        if self.bushing is not None:
            return self.bushing.label
        return f"bearing {self.cutter.guide:g} mm"

    @property
    def unconfirmed(self) -> str:
        """A caution where a size was not read in a published table; empty if all were."""
        rows: list[Bit | Bushing] = [self.bit] if self.bit.status != "confirmed" else []
        if self.bushing and (self.bushing.status != "confirmed" or self.bushing.inner is None):
            rows.append(self.bushing)
        names = " and the ".join(row.label for row in rows)
        return f"measure the {names} first: their sizes decide where the cut lies" if rows else ""


@contextmanager
def blamed_on(**parameters: str) -> Iterator[None]:
    """Tell refusals about a bit, a bushing or a cutter under the sheet's own parameters."""
    try:
        yield
    except InputError as e:
        name = parameters.get(e.parameter, e.parameter)
        raise InputError(name, e.value, e.allowed, e.remedy) from None


def leg_cutter(sheet: Sheet, thickness: float, hand: OnHand = ALL) -> Chosen:
    """The cutter that follows the templates of legs of a thickness (mm).

    Raises InputError for names not in the tables or not on hand, and a bit that its guide
    cannot guide.
    """
    router, name = sheet.router, "router.template_bit"
    if router.guide == "bearing":
        chosen = _template_bit(sheet, "pattern", _PATTERN, thickness, hand)
        with blamed_on(bit=name):
            return Chosen(chosen, None, pattern_cutter(chosen))
    chosen = _template_bit(sheet, "straight", _STRAIGHT, thickness, hand)
    return _in_bushing(sheet, chosen, name, hand)


def _template_bit(
    sheet: Sheet, style: str, usual: dict[str, str], thickness: float, hand: OnHand
) -> Bit:
    """The sheet's bit, the usual one, or what the shop has: long enough, then the widest."""
    name = "router.template_bit"
    if sheet.router.template_bit:
        return hand.bit(sheet.router.template_bit, name)
    if usual[sheet.design.unit] in hand.bits:
        return hand.bits[usual[sheet.design.unit]]
    fit = [b for b in hand.bits.values() if b.style == style]
    if style == "straight":
        fit = [b for b in fit if any(_clears(g, b.diameter) for g in hand.bushings.values())]
    if not fit:
        raise InputError(
            name,
            "none",
            f"no {style} bit {hand.bits_words} would follow the leg templates",
            "add one to router.bits of the shop's file",
        )

    def rank(b: Bit) -> tuple[bool, float, float]:
        return (b.length >= thickness - _SAME, min(b.length, thickness), b.diameter)

    return max(fit, key=rank)


def mortise_cutter(sheet: Sheet, width: float, depth: float, hand: OnHand = ALL) -> Chosen:
    """The straight bit and bushing for mortises of a width and depth (mm).

    Raises InputError for names not in the tables, a bit wider than the mortise and
    one that does not clear the bushing.
    """
    name = "router.mortise_bit"
    given = sheet.router.mortise_bit
    chosen = hand.bit(given, name) if given else _widest(sheet, width, depth, hand)
    if chosen.diameter > width + _SAME:
        raise InputError(
            name,
            chosen.name,
            f"wider than the mortise, the largest bit that would do is {round_down(width)} mm",
            "take a narrower bit or leave it out",
        )
    return _in_bushing(sheet, chosen, name, hand)


def recess_cutter(
    sheet: Sheet, width: float, depth: float, what: str, hand: OnHand = ALL
) -> Chosen:
    """The straight bit and bushing for a fastener's recess or pocket, at most ``width`` wide (mm).

    ``what`` says in words what is so narrow. Raises InputError as ``mortise_cutter``
    does, and where no bit of the table is as narrow.
    """
    name = "router.recess_bit"
    given = sheet.router.recess_bit
    if given is None:
        return _in_bushing(sheet, _widest_for_recess(sheet, width, depth, what, hand), name, hand)
    chosen = hand.bit(given, name)
    if chosen.diameter > width + _SAME:
        raise InputError(
            name,
            chosen.name,
            f"too wide for {what}, the largest bit that would do is {round_down(width)} mm",
            "take a narrower bit or leave it out",
        )
    return _in_bushing(sheet, chosen, name, hand)


def _in_bushing(sheet: Sheet, chosen: Bit, name: str, hand: OnHand) -> Chosen:
    if chosen.style != "straight":
        raise InputError(
            name,
            chosen.name,
            "has a bearing, which would jam in the bushing",
            "take a straight bit",
        )
    with blamed_on(bit=name, bushing="router.bushing"):
        found = _bushing(sheet, chosen.diameter, hand)
        return Chosen(chosen, found, bushing_cutter(found, chosen.diameter))


def _bushing(sheet: Sheet, diameter: float, hand: OnHand) -> Bushing:
    """The sheet's bushing, or the smallest that the bit clears, the surest rows first."""
    if sheet.router.bushing is not None:
        return hand.bushing(sheet.router.bushing, "router.bushing")
    unit = _UNIT_OF_NAMES[sheet.design.unit]
    fit = [b for b in hand.bushings.values() if _clears(b, diameter)]
    if not fit:
        raise InputError("bit", f"{diameter:g} mm", f"clears no bushing {hand.bushings_words}")
    return min(fit, key=lambda b: (b.status != "confirmed", not b.name.endswith(unit), b.outer))


def _clears(bushing: Bushing, diameter: float) -> bool:
    inner = bushing.outer if bushing.inner is None else bushing.inner
    return diameter <= inner - 2 * BIT_CLEARANCE + _SAME


def _fitting(sheet: Sheet, width: float, hand: OnHand) -> list[Bit]:
    """Straight bits on hand as narrow as asked that pass a bushing, the sheet's if given."""
    fit = [b for b in hand.bits.values() if b.style == "straight" and b.diameter <= width + _SAME]
    if sheet.router.bushing is not None:
        given = hand.bushing(sheet.router.bushing, "router.bushing")
        return [b for b in fit if _clears(given, b.diameter)]
    if hand.own_bushings:
        return [b for b in fit if any(_clears(g, b.diameter) for g in hand.bushings.values())]
    return fit


def _widest_for_recess(sheet: Sheet, width: float, depth: float, what: str, hand: OnHand) -> Bit:
    """The widest bit for a recess that a confirmed bushing of the sheet's unit lets through."""
    fit = _fitting(sheet, width, hand)
    if not fit:
        given = sheet.router.bushing
        narrow = f"{what}, {format_both(width, sheet.design.unit)}"
        if given is not None:
            raise InputError(
                "router.bushing",
                given,
                f"lets no straight bit {hand.bits_words} through that is as narrow as {narrow}",
                "take a larger bushing, or another fastener",
            )
        raise InputError(
            "router.recess_bit",
            "none",
            f"no straight bit {hand.bits_words}{_through(hand)} is as narrow as {narrow}",
            "add a bit to router.bits of the shop's file, or take another fastener"
            if hand.own_bits
            else "add your own bit to the table of bits, or take another fastener",
        )

    def rank(b: Bit) -> tuple[bool, bool, bool, float, float]:
        through = _bushing(sheet, b.diameter, hand)
        own = through.name.endswith(_UNIT_OF_NAMES[sheet.design.unit])
        sure = sheet.router.bushing is not None or (own and through.status == "confirmed")
        return (b.length >= depth - _SAME, sure, *_own_and_wide(sheet, b))

    return max(fit, key=rank)


def _through(hand: OnHand) -> str:
    return " that passes one of its bushings" if hand.own_bushings else ""


def _own_and_wide(sheet: Sheet, b: Bit) -> tuple[bool, float, float]:
    """Rank a bit: of the sheet's unit first, then the widest, then the shortest."""
    return b.name.endswith(_UNIT_OF_NAMES[sheet.design.unit]), b.diameter, -b.length


def _widest(sheet: Sheet, width: float, depth: float, hand: OnHand) -> Bit:
    """The widest straight bit of the table for a mortise, in the sheet's unit where one fits.

    One whose edges reach the bottom comes first; of equal ones the shortest that does.
    """
    fit = _fitting(sheet, width, hand)
    if not fit:
        narrow = f"the mortises, {format_both(width, sheet.design.unit)}"
        if sheet.router.bushing is None and (hand.own_bits or hand.own_bushings):
            raise InputError(
                "router.mortise_bit",
                "none",
                f"no straight bit {hand.bits_words}{_through(hand)} is as narrow as {narrow}",
                "add one to router.bits of the shop's file, or take thicker tenons",
            )
        raise InputError(
            "router.bushing",
            sheet.router.bushing or "none",
            f"lets no straight bit {hand.bits_words} through that is as narrow as {narrow}",
            "take a larger bushing or thicker tenons",
        )
    unit = _UNIT_OF_NAMES[sheet.design.unit]

    def rank(b: Bit) -> tuple[bool, bool, float, float]:
        reaches = b.length >= depth - _SAME
        own = b.name.endswith(unit)
        return (reaches, own, b.diameter, -b.length if reaches else b.length)

    return max(fit, key=rank)
