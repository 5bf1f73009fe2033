"""Panels of a plywood deck, and the battens under the joints between them.

A panel lies on the runners; x along its face grain, across the bed, y towards the foot. A
batten's top is level with the runners' tops, x across.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bedmodel.cuts import Cut, Mortise
from bedmodel.frames import Frame
from bedmodel.outline import Outline
from bedmodel.parts.draft import Draft, strip
from bedmodel.shape import Easing, Shape
from bedmodel.skeleton import Layout
from bedmodel.supports import DeckPlan, PanelPlace

_DOWN = (0.0, 0.0, -1.0)
_ACROSS = (1.0, 0.0, 0.0)


def make_deck(layout: Layout) -> Iterator[Draft]:
    """Panels and battens from head to foot, where the bed has a deck."""
    plan = layout.deck
    if plan is None:
        return
    for place in plan.panels:
        yield Draft(
            f"deck_panel_{place.number}",
            "deck_panel",
            "platform",
            "right" if plan.rows == 2 else "centre",
            _panel(layout, plan, place),
            Frame((place.left, place.start, layout.runner_top)),
            plan.plywood.name,
        )
    sheet = layout.sheet
    deck, runner = sheet.deck, sheet.runner
    for batten in plan.battens:
        size = (batten.right - batten.left, deck.batten_width, deck.batten_thickness)
        # Eased as the runners are, beside which it lies.
        shape = strip(*size, runner.edge, runner.edge_size)
        start = batten.joint - deck.batten_width / 2
        yield Draft(
            f"deck_batten_{batten.number}",
            "deck_batten",
            "platform",
            "centre" if batten.left < 0 else "right",
            shape,
            Frame((batten.left, start, layout.runner_top - deck.batten_thickness)),
            sheet.wood.slats or sheet.wood.species,
        )


def _panel(layout: Layout, plan: DeckPlan, place: PanelPlace) -> Shape:
    deck = layout.sheet.deck
    outline = Outline.rectangle(place.length, place.width, ("long", "end", "long", "end"))
    easing = Easing(deck.edge, deck.edge_size, frozenset({"long", "end"}))
    shape = Shape(place.length, place.width, plan.thickness, outline, easing=easing)
    return replace(shape, cuts=tuple(_openings(layout, plan, place)))


def _openings(layout: Layout, plan: DeckPlan, place: PanelPlace) -> Iterator[Cut]:
    """On both sides of the centreline where the panel lies across it."""
    deck = layout.sheet.deck
    length = deck.hole if deck.airing == "holes" else max(deck.slot, deck.hole)
    sides = (1.0,) if plan.rows == 2 else (1.0, -1.0)
    for i, (x, y) in enumerate(place.openings, start=1):
        for side in sides:
            at = (side * x - place.left, y - place.start, plan.thickness)
            frame = Frame.from_zx(at, _DOWN, _ACROSS)
            name = f"airing_{i:02d}_{'right' if side > 0 else 'left'}"
            yield Mortise(name, frame, length, deck.hole, plan.thickness, role="hole", through=True)
