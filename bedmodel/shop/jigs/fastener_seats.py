"""Where the jigs of the rail fasteners are set: on which faces, against which edges, how often."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bedmodel.angles import BARELY, offset_over, told
from bedmodel.shop.fastener_places import Place
from bedmodel.shop.jigs.fence import Seat
from bedmodel.skeleton import Layout

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


def askew(layout: Layout, seats: Sequence[Seat]) -> Iterator[str]:
    """With a stance the rail's corner is not square, so the fence must bear at the arris."""
    rail, yaw_deg = layout.sheet.side_rail, math.degrees(layout.yaw)
    if any(s.part == "rail" for s in seats) and offset_over(rail.thickness, yaw_deg) >= BARELY:
        yield (
            "the rail's end and inside face do not meet square: "
            f"{told(yaw_deg, rail.thickness, layout.sheet.design.unit)}; ease the fence's lower "
            "edge, so that it bears at the arris"
        )
