"""Where the jigs of the rail fasteners are set: on which faces, against which edges, how often."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bedmodel.shop.fastener_marks import askew, yaw_over
from bedmodel.shop.fastener_places import Place
from bedmodel.shop.jigs.fence import Seat
from bedmodel.shop.story_stick import leg_foot_end
from bedmodel.skeleton import Layout
from bedmodel.units import format_both

FACES = {
    ("leg", "inside face"): "inside face of each leg",
    ("leg", "show face"): "show face of each leg",
    ("rail", "end"): "both ends of each rail",
    ("rail", "inside face"): "inside face of each rail, at both ends",
}


def seats_of(places: Sequence[Place], across: bool = True) -> list[Seat]:
    """Places as seats of a plate, both hands; ``across`` False where the fence is at the edge."""
    found: dict[tuple[str, float, float], int] = {}
    for p in places:
        where = f"{p.name.rstrip(' 0123456789')}, {FACES[(p.part, p.face)]}"
        key = (f"{p.part}:{where}", p.middle if across else 0.0, p.depth)
        found[key] = found.get(key, 0) + 2
    return [
        Seat(name.partition(":")[0], name.partition(":")[2], count, distance, depth)
        for (name, distance, depth), count in found.items()
    ]


def edges_to_fence(seats: Sequence[Seat]) -> str:
    """Which face meets the fence, for the parts of the seats."""
    words = {"leg": "leg: joint face", "rail": "rail: inside face"}
    parts = dict.fromkeys(seat.part for seat in seats)
    return ", ".join(words[part] for part in parts) + " to the fence"


def against(seats: Sequence[Seat], edge: str = "") -> str:
    """Which faces lie against the fence; ``edge`` where it is not the rail's inside face."""
    words = {"leg": "the leg's joint face", "rail": f"the rail's {edge or 'inside face'}"}
    return " or ".join(words[part] for part in dict.fromkeys(seat.part for seat in seats))


def up_words(seats: Sequence[Seat]) -> str:
    """Which faces lie up."""
    found = []
    for (part, face), words in FACES.items():
        if any(seat.part == part and seat.where.endswith(words) for seat in seats):
            found.append(f"{face} of the {part}")
    return " or ".join(found)


def askew_caution(layout: Layout, seats: Sequence[Seat]) -> Iterator[str]:
    """With a stance the rail's corner is not square, so the fence must bear at the arris."""
    thickness = layout.sheet.side_rail.thickness
    if any(seat.part == "rail" for seat in seats) and askew(layout, thickness):
        yield (
            "the rail's end and inside face do not meet square, by "
            f"{yaw_over(layout, thickness)}: ease the fence's lower edge, so that it bears at the "
            "arris"
        )


def centre_row(layout: Layout, seats: Sequence[Seat]) -> tuple[str, str]:
    """Where the fastener's centre mark stands, for a card."""
    plan, unit = layout.fastener, layout.sheet.design.unit
    assert plan is not None
    up_leg = format_both(plan.height - leg_foot_end(layout, layout.foot), unit)
    up_rail = format_both(plan.height - layout.rail_bottom, unit)
    start = layout.legs.datum
    if layout.rake:
        lean, first = layout.head.lean, leg_foot_end(layout, layout.head)
        up_head = format_both(lean.along(plan.height) - first, unit)
        up_leg = f"{up_head} at the head, {up_leg} at the foot,"
        along = (plan.height - layout.rail_bottom) / math.cos(lean.rake)
        up_rail = f"{format_both(along, unit)} along the head end, {up_rail} at the foot end,"
    told = {
        "leg": f"legs {up_leg} from the {start}, up the joint face",
        "rail": f"rails {up_rail} from the lower edge",
    }
    parts = dict.fromkeys(seat.part for seat in seats)
    return "centre mark", "; ".join(told[part] for part in parts)
