"""The kinds of part, one file each, and the written list of them.

A part's file gives the right-hand or central pieces of its kind as drafts:
shape, placement and group. Mirror images, mortises and the sharing of equal
shapes are the business of ``pieces``. To add a kind of part, write its file and
add one line here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from bedmodel.parts import (
    boards,
    cap,
    centre_rail,
    cleat,
    deck,
    floating_panel,
    frame_upright,
    leg,
    runner,
    side_rail,
    slat,
    support_foot,
    upright,
)
from bedmodel.parts.draft import Draft
from bedmodel.skeleton import Layout

PARTS: tuple[Callable[[Layout], Iterable[Draft]], ...] = (
    leg.make_legs,
    boards.make_boards,
    upright.make_uprights,
    frame_upright.make_frame_uprights,
    floating_panel.make_floating_panels,
    cap.make_caps,
    side_rail.make_side_rail,
    runner.make_runner,
    centre_rail.make_centre_rail,
    support_foot.make_support_feet,
    cleat.make_cleats,
    slat.make_slats,
    deck.make_deck,
)

# Sub-assemblies, in the order a maker hangs the bed.
GROUPS = ("head_end", "foot_end", "rails", "centre_support", "platform")
