"""Answers instead of verdicts: how thin, how many, how heavy; each tried before it is given.

Every suggestion names the parameter to change and the value, and was found by laying the
bed out again with just that value. Lengths go by half millimetres or 1/32 in, as a shop
can set them.
"""

from __future__ import annotations

import bisect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from bedmodel.errors import InputError
from bedmodel.skeleton import Layout
from bedmodel.strength.beam import Unstable
from bedmodel.strength.judged import MemberReport
from bedmodel.strength.members import Basis, basis_of, members
from bedmodel.strength.platform import centre_rail, slats
from bedmodel.strength.rails import side_rail
from bedmodel.strength.what_if import bounds_of, laid_out_with, setting, steps_of
from bedmodel.strength.words import plain, use_text

Changes = dict[str, int | float | str]
MOST_FEET = 5
# Source: practice. Below this the screws from the slats decide, not the bending.
THIN_CENTRE_RAIL = 22.0
HEAVIEST_MATTRESS_KG = 300

THIN_NOTE = (
    "so thin, what is screwed into it decides, from slats or feet: hold, splitting, and a hole "
    "over a foot, where it bends most"
)
FEET_NOTE = "make the feet adjustable: an uneven floor moves the rail more than any load"


@dataclass(frozen=True)
class Suggestion:
    """One answer. ``value`` None: nothing in the parameter's range will do.

    ``changes`` as for ``--set``; ``governs`` is what decides at that value; ``enough_now``
    says that the sheet as it is passes.
    """

    question: str
    parameter: str
    value: float | None
    changes: tuple[str, ...]
    text: str
    governs: str
    enough_now: bool
    caution: str = ""


def advise(layout: Layout, basis: Basis | None = None) -> tuple[Suggestion, ...]:
    """Every answer for a bed, in the order a maker would ask."""
    basis = basis or basis_of(layout.sheet)
    found = [least_rail_width(layout, basis)]
    if layout.support_thickness:
        found.insert(0, least_slat_thickness(layout, basis))
    if layout.sheet.centre_rail.kind == "beam" and layout.centre_rail is not None:
        found.append(least_beam_height(layout, basis))
    elif layout.centre_rail is not None:
        found += [feet_needed(layout, basis), *least_centre_heights(layout, basis)]
    return (*found, greatest_mattress_mass(layout, basis))


def least_slat_thickness(layout: Layout, basis: Basis) -> Suggestion:
    """How thin may the slats be, or the deck?"""

    def judged(bed: Layout) -> MemberReport | None:
        return slats(bed, basis.loads, basis.rules)

    if layout.deck is not None:
        return _least(layout, "how thin may the deck be?", "deck.thickness", "thick", judged)
    return _least(layout, "how thin may the slats be?", "slat.thickness", "thick", judged)


def least_beam_height(layout: Layout, basis: Basis) -> Suggestion:
    """How low may a centre rail without feet be?"""
    question, name = "how low may the centre beam be?", "centre_rail.beam_height"
    return _least(layout, question, name, "high", _centre(basis))


def least_rail_width(layout: Layout, basis: Basis) -> Suggestion:
    """How deep must the side rails be?"""

    def judged(bed: Layout) -> MemberReport | None:
        return side_rail(bed, basis.loads, basis.rules)

    return _least(layout, "how deep must the side rails be?", "side_rail.width", "deep", judged)


def least_centre_heights(layout: Layout, basis: Basis) -> tuple[Suggestion, ...]:
    """How thin may the centre rail be, with one foot to five?"""
    return tuple(least_centre_height(layout, basis, feet) for feet in range(1, MOST_FEET + 1))


def least_centre_height(layout: Layout, basis: Basis, feet: int) -> Suggestion:
    """How thin may the centre rail be with so many feet?"""
    many = f"{feet} feet" if feet > 1 else "1 foot"
    question = f"how thin may the centre rail be on {many}?"
    name = "centre_rail.height"
    placed = well_placed_feet(layout, feet)
    if feet == 1:
        try:
            laid_out_with(layout, placed)
        except InputError as refused:
            text = (
                "one foot alone does not hold it up: its ends would need cleats as well, which the "
                f"sheet refuses ({refused.parameter})"
            )
            return Suggestion(question, name, None, (), text, "stability", False)
    found = _least(layout, question, name, "thick", _centre(basis), placed)
    if found.value is None:
        return found
    notes = [THIN_NOTE] if found.value < THIN_CENTRE_RAIL else []
    return replace(found, caution="; ".join([*notes, FEET_NOTE]))


def well_placed_feet(layout: Layout, feet: int) -> Changes:
    """So many feet where they do most good, as changes of the sheet.

    With ends on cleats, in equal bays; else with overhangs of a third of a bay, which nearly
    balance it. One foot stands in the middle anyway, and needs cleats under the ends.
    """
    changes: Changes = {"support_foot.count": feet}
    plan, name = layout.centre_rail, "support_foot.end_inset"
    if feet == 1 or plan is None:
        return changes if layout.cleats else {**changes, "centre_rail.ends": "cleats"}
    length = plan.end - plan.start
    share = 1 / (feet + 1) if layout.cleats else 1 / (3 * (feet - 1) + 2)
    steps = [s for s in steps_of(layout.sheet, name) if s >= layout.sheet.support_foot.size / 2]
    changes[name] = steps[min(bisect.bisect_left(steps, length * share), len(steps) - 1)]
    return changes


def feet_needed(layout: Layout, basis: Basis, height: float | None = None) -> Suggestion:
    """How many feet does the centre rail need, as high as it is or ``height`` (mm)?

    Raises InputError for a height that the sheet refuses.
    """
    name = "support_foot.count"
    if height is not None:
        layout = laid_out_with(layout, {"centre_rail.height": float(height)})
    most = int(bounds_of(name)[1])
    judged = _centre(basis)
    question = "how many feet does the centre rail need?"
    plan, sheet = layout.centre_rail, layout.sheet
    now = len(plan.feet) if plan else 0
    own = _tried(layout, {}, judged)
    enough = own is not None and own.passed
    before = ""
    for count in range(1 if layout.cleats else 2, most + 1):
        placed = well_placed_feet(layout, count)
        report = _tried(layout, placed, judged)
        if report is None or not report.passed:
            if report is not None:
                before = f"; with {count}, {_too_much(report)}"
            continue
        changes = tuple(setting(sheet, key, value) for key, value in placed.items())
        if height is not None:
            changes = (setting(sheet, "centre_rail.height", float(height)), *changes)
        feet = f"{count} {'foot' if count == 1 else 'feet'}"
        shown = sheet.show(sheet.centre_rail.height)
        text = f"{shown} thick, it needs {feet}: {', '.join(changes)} (now {now}){before}"
        thin = sheet.centre_rail.height < THIN_CENTRE_RAIL
        caution = "; ".join([*([THIN_NOTE] if thin else []), FEET_NOTE])
        return Suggestion(question, name, count, changes, text, _governs(report), enough, caution)
    shown = sheet.show(sheet.centre_rail.height)
    text = f"{shown} thick, not even {most} feet are enough{before}: make centre_rail.height more"
    return Suggestion(question, name, None, (), text, "", enough)


def greatest_mattress_mass(layout: Layout, basis: Basis) -> Suggestion:
    """How heavy may the mattress be, with the sleepers as given?"""
    question, name = "how heavy may the mattress be?", "loads.mattress_mass_kg"

    def passes(kg: int) -> bool:
        loads = replace(basis.loads, mattress_mass_kg=float(kg))
        return all(report.passed for report in members(layout, replace(basis, loads=loads)))

    try:
        first_too_heavy = _first(range(1, HEAVIEST_MATTRESS_KG + 1), lambda kg: not passes(kg))
        last = members(layout, basis)
    except Unstable as reason:
        return Suggestion(question, name, None, (), str(reason), "", False)
    worst = max(last, key=lambda report: report.governing.worst.use)
    if first_too_heavy == 1:
        text = f"no mattress is light enough: {_governs(worst)} is too much by itself"
        return Suggestion(question, name, None, (), text, _governs(worst), False)
    if first_too_heavy is None:
        text = f"over {HEAVIEST_MATTRESS_KG} kg, more than any mattress of the trade"
        return Suggestion(question, name, HEAVIEST_MATTRESS_KG, (), text, _governs(worst), True)
    most = first_too_heavy - 1
    enough = basis.loads.mattress_mass_kg <= most
    return Suggestion(
        question,
        name,
        most,
        (f"{name}={most}",),
        f"at most {most} kg (reckoned with {basis.loads.mattress_mass_kg:g} kg)",
        _governs(worst),
        enough,
    )


# --- finding the least -------------------------------------------------------------------

Judged = Callable[[Layout], MemberReport | None]
_Value = TypeVar("_Value", int, float)


def _centre(basis: Basis) -> Judged:
    def judged(bed: Layout) -> MemberReport | None:
        return centre_rail(bed, basis.loads, basis.rules)

    return judged


def _least(
    layout: Layout,
    question: str,
    name: str,
    word: str,
    judged: Judged,
    others: Changes | None = None,
) -> Suggestion:
    """The least value of a length with which a member passes, tried on the bed itself.

    It is sought with all else left as it lies, which is quick, and then tried on the bed
    laid out again. Where the sheet refuses it, all values that the sheet accepts are tried.
    """
    others = others or {}
    sheet = layout.sheet
    section, key = name.split(".")
    now: float | None = getattr(getattr(sheet, section), key)
    if now is None:  # a beam's height that was worked out
        assert layout.centre_rail is not None
        now = layout.centre_rail.height
    steps = steps_of(sheet, name)

    def trial(value: float) -> MemberReport | None:
        return _tried(layout, {**others, name: value}, judged)

    def wanted(value: float) -> bool:
        report = trial(value)
        return report is not None and report.passed

    enough_now = wanted(now)
    part = section.replace("_", " ")
    found = _sketched(layout, name, others, steps, judged)
    accepted: Sequence[float] = ()
    if found is None or not wanted(found):
        accepted = _accepted(steps, bisect.bisect_left(steps, now), trial)
        found = _first(accepted, wanted)
    best = trial(found) if found is not None else None
    if found is None or best is None:
        high = sheet.show(accepted[-1]) if accepted else "any size"
        text = f"{part}: not even {high} {word} is enough on this bed"
        return Suggestion(question, name, None, (), text, "", enough_now)
    every = {**others, name: found}
    changes = tuple(setting(sheet, other, value) for other, value in every.items())
    text = f"{part} at least {sheet.show(found)} {word}: {', '.join(changes)}"
    if not others:
        text += f" (now {sheet.show(now)})"
    return Suggestion(question, name, found, changes, text, _governs(best), enough_now)


def _sketched(
    layout: Layout,
    name: str,
    others: Changes,
    steps: Sequence[float],
    judged: Judged,
) -> float | None:
    """The least value by the member alone, on a layout where nothing else follows."""
    try:
        bed = laid_out_with(layout, others) if others else layout
    except InputError:
        return None
    section, key = name.split(".")

    def passes(value: float) -> bool:
        part = getattr(bed.sheet, section).model_copy(update={key: value})
        sheet = bed.sheet.model_copy(update={section: part})
        report = judged(replace(bed, sheet=sheet))
        return report is not None and report.passed

    try:
        return _first(steps, passes)
    except Unstable:
        return None


def _accepted(
    steps: Sequence[float], start: int, trial: Callable[[float], MemberReport | None]
) -> Sequence[float]:
    """The run of values round the present one that the sheet accepts."""
    start = min(start, len(steps) - 1)
    if trial(steps[start]) is None:
        return ()
    below = bisect.bisect_left(range(start), True, key=lambda i: trial(steps[i]) is not None)
    above = bisect.bisect_left(
        range(start, len(steps)), True, key=lambda i: trial(steps[i]) is None
    )
    return steps[below : start + above]


def _first(values: Sequence[_Value], wanted: Callable[[_Value], bool]) -> _Value | None:
    """The first of values that are unwanted up to some place and wanted from there on."""
    i = bisect.bisect_left(values, True, key=wanted)
    return values[i] if i < len(values) else None


def _tried(
    layout: Layout, changes: Mapping[str, int | float | str], judged: Judged
) -> MemberReport | None:
    """The member of the bed so changed; None where the sheet refuses or it falls."""
    try:
        return judged(laid_out_with(layout, changes))
    except (InputError, Unstable):
        return None


def _too_much(report: MemberReport) -> str:
    """What gives first, and by how much."""
    case = report.governing
    use = use_text(case.worst.use)
    return f"{case.worst.what} under {case.load} is {use} of what is allowed"


def _governs(report: MemberReport) -> str:
    case = report.governing
    return f"{plain(report.member)}: {case.worst.what} under {case.load}"
