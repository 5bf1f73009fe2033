"""Screws of a plywood deck: panel to batten, which ties a joint, and panel to runner.

        panel 1      |      panel 2
    =====v===========|===========v=====     screws in panel 2 only where the deck is screwed
               [  batten  ]

A batten is always screwed to the panel on its head side. Places are in the bed frame, on the
right-hand side (mm).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.pocket import Pocket
from bedmodel.screwing import Joint, ScrewPlan, screw_plan
from bedmodel.spec import Sheet
from bedmodel.supports import DeckPlan, PanelPlace

GAUGES = (8, 7, 6, 5, 4)
_PITCH = 220.0  # mm between a batten's screws, at most; common practice
_FROM_END = 60.0  # mm from a panel's end to its first screw in the runner


@dataclass(frozen=True)
class DeckScrew:
    """One screw: the panel by its number, what it holds to, and where it goes in."""

    panel: int
    batten: int
    x: float
    y: float


@dataclass(frozen=True)
class RunnerPlaces:
    """Screws of panels in the right runner."""

    plan: ScrewPlan
    screws: tuple[DeckScrew, ...]


@dataclass(frozen=True)
class DeckScrews:
    """Both sorts; ``batten`` and ``runner`` are None where there is none of a sort."""

    batten: ScrewPlan | None
    in_battens: tuple[DeckScrew, ...]
    runner: RunnerPlaces | None


def deck_screws(sheet: Sheet, pocket: Pocket, plan: DeckPlan | None) -> DeckScrews | None:
    """The screws of a deck. Raises InputError where they find no room."""
    if plan is None:
        return None
    runner = None
    if sheet.deck.fixing == "screws":
        made = _plan(sheet, sheet.runner.height, "runner.height")
        runner = RunnerPlaces(made, tuple(_in_runner(sheet, pocket, plan, made)))
    if not plan.battens:
        return DeckScrews(None, (), runner)
    batten = _plan(sheet, sheet.deck.batten_thickness, "deck.batten_thickness")
    return DeckScrews(batten, tuple(_in_battens(sheet, plan, batten)), runner)


def _plan(sheet: Sheet, holder: float, name: str) -> ScrewPlan:
    return screw_plan(
        sheet,
        Joint(
            gauge_name="screw.slat_gauge",
            length_name="screw.slat_length",
            gauge=sheet.screw.slat_gauge,
            length=sheet.screw.slat_length,
            gauges=GAUGES,
            held=sheet.deck.thickness,
            held_name="deck.thickness",
            holder=holder,
            holder_name=name,
            across=sheet.deck.batten_width / 2,
            across_name="deck.batten_width",
            specific_gravity=sheet.inside_wood.specific_gravity,
        ),
    )


def _in_battens(sheet: Sheet, plan: DeckPlan, screw: ScrewPlan) -> list[DeckScrew]:
    deck = sheet.deck
    found = []
    for batten in plan.battens:
        # A batten across the centreline has its screws on both sides of it.
        low = max(batten.left, 0.0) + deck.batten_width / 2
        high = batten.right - deck.batten_width / 2
        count = 1 + max(1, math.ceil((high - low) / _PITCH - 1e-9))
        xs = [low + i * (high - low) / (count - 1) for i in range(count)]
        aside = (deck.joint_gap + deck.batten_width) / 4 + deck.joint_gap / 4
        found += [DeckScrew(batten.number, batten.number, x, batten.joint - aside) for x in xs]
        if deck.fixing == "screws":
            ahead = batten.number + 1
            found += [DeckScrew(ahead, batten.number, x, batten.joint + aside) for x in xs]
    return found


def _in_runner(sheet: Sheet, pocket: Pocket, plan: DeckPlan, screw: ScrewPlan) -> list[DeckScrew]:
    wall = sheet.fastener.wall_least
    found = []
    for place in plan.panels:
        for y in _ends(place):
            x = pocket.half_width(y) - sheet.runner.width / math.cos(pocket.yaw) / 2
            spare = place.right - x - wall - screw.counterbore / 2
            if spare < -1e-9:
                width = sheet.runner.width - 2 * spare
                raise InputError(
                    "runner.width",
                    sheet.show(sheet.runner.width),
                    f"must be at least {sheet.at_least(width)} for the deck's screws",
                    'make the runner wider, deck.side_gap less, or deck.fixing "loose"',
                )
            found.append(DeckScrew(place.number, 0, x, y))
    return found


def _ends(place: PanelPlace) -> tuple[float, float]:
    return place.start + _FROM_END, place.end - _FROM_END
