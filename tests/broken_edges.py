"""Beds broken on purpose in one way: a profile that was not stopped in time."""

from __future__ import annotations

import math
from dataclasses import replace

from bedmodel.checks.finding import Code
from bedmodel.profiles import shortened
from tests.beds import Broken, Case, good, register_in, shape_of

CASES: list[Case] = []
breaks = register_in(CASES)

OVOLO = ("headboard_edges.top_show=ovolo", "headboard_edges.top_show_size=8 mm")


@breaks(Code.JOINT_ARRIS_SHAPED)
def a_profile_run_too_far() -> Broken:
    """An ovolo of 8 mm with steps of 1.5 mm, 12 mm nearer to the leg than it should be."""
    bed = good("hawthorn", None, *OVOLO)
    shape = shape_of(bed, "headboard_board")
    (each,) = shape.mouldings
    longer = shortened(each, -12.0, each.length, each.stopped)
    spoilt = bed.with_piece("headboard_board", shape=replace(shape, mouldings=(longer,)))
    # The bit's axis now stands 12 mm past its place; the station is half a mm inside the 15 mm
    # that are to stay, the run-out of the bit with a bearing of 9.5 mm 13.35 mm long.
    bearing, width = 4.75, 9.5
    ahead = math.sqrt((bearing + width) ** 2 - bearing**2)
    aside = 15 + ahead - 12 - 14.5
    # Along the diagonal, y = z = t, until the wood begins: the quarter round's middle lies 9.5
    # from both faces, its radius is 8, and the bit cuts there as it does farther over the face.
    t = 0.0
    while True:
        y = math.hypot(bearing + t, aside) - bearing
        depth = 9.5 if y < 1.5 else 9.5 - math.sqrt(max(0.0, 64 - (9.5 - y) ** 2))
        if y > 9.5 or t >= depth:
            break
        t += 1e-5
    # The board's own chamfer of 2.5 mm takes 2.5 / sqrt 2 of that line.
    gone = t * math.sqrt(2) - 2.5 / math.sqrt(2)
    return Broken(
        spoilt,
        {("headboard_board", "top_show"): gone},
        "at most the easing and 0.1 mm",
        1e-3,
        "14 mm from the part's end",
    )
