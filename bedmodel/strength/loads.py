"""The loads a bed is judged under, each with its basis, and what they come to on a bed.

Forces in N, masses in kg, lengths in mm, line loads in N/mm. The set stands in
``data/loads.csv``; a maker's own values replace single ones (``figures.changed``).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from bedmodel.figures import values_of
from bedmodel.skeleton import Layout
from bedmodel.spec import Sheet

GRAVITY = 9.80665  # m/s2, standard
LOADS_FILE = "loads.csv"


@dataclass(frozen=True)
class Loads:
    """The figures of ``data/loads.csv``, which says what each is and where it is from.

    ``sleepers`` None: by the mattress's width; ``*_duration`` are rows of
    ``data/durations.csv``.
    """

    sleeper_mass_kg: float
    mattress_mass_kg: float
    head_share: float
    trunk_share: float
    trunk_length: float
    two_sleepers_over: float
    base_point_n: float
    base_point_spread: float
    base_point_slats_count: float
    edge_pad_n: float
    edge_pads_count: float
    edge_spread: float
    drop_factor: float
    headboard_push_n: float
    headboard_side_push_n: float
    leaning_width: float
    rail_push_n: float
    lift_height: float
    floor_unevenness: float
    sleepers: int | None = None
    sleepers_duration: str = "ten_years"
    point_duration: str = "ten_minutes"
    edge_duration: str = "seven_days"
    push_duration: str = "ten_minutes"

    @cached_property
    def sleeper_n(self) -> float:
        return self.sleeper_mass_kg * GRAVITY

    @cached_property
    def edge_n(self) -> float:
        return self.edge_pad_n * self.edge_pads_count

    @cached_property
    def drop_n(self) -> float:
        return self.sleeper_n * self.drop_factor


def default_loads() -> Loads:
    return values_of(Loads, LOADS_FILE)


def loads_of(sheet: Sheet) -> Loads:
    """The loads as the sheet has them."""
    return Loads(**sheet.loads.model_dump())


def sleepers_count(layout: Layout, loads: Loads) -> int:
    if loads.sleepers is not None:
        return loads.sleepers
    return 2 if layout.mattress.width > loads.two_sleepers_over else 1


def bed_line_load(layout: Layout, loads: Loads) -> float:
    """What the slats carry where the trunks lie, for each mm of the bed's length (N/mm).

    Taken along the whole length, since a sleeper may lie anywhere: of the slats and rails
    judged, each stands under a trunk at some time.
    """
    trunks = sleepers_count(layout, loads) * loads.sleeper_n * loads.trunk_share
    return trunks / loads.trunk_length + mattress_line_load(layout, loads)


def mattress_line_load(layout: Layout, loads: Loads) -> float:
    return loads.mattress_mass_kg * GRAVITY / layout.mattress.length


def body_line_loads(
    layout: Layout, loads: Loads, start: float
) -> tuple[tuple[float, float, float], ...]:
    """One sleeper from ``start`` towards the foot: from, to (mm) and N/mm of head, trunk, legs.

    Head and legs take what is left of 1750 mm of stature beside the trunk, an eighth and
    seven eighths.
    """
    head, legs = (1750 - loads.trunk_length) / 8, (1750 - loads.trunk_length) * 7 / 8
    legs_share = 1 - loads.head_share - loads.trunk_share
    runs = []
    for share, length in (
        (loads.head_share, head),
        (loads.trunk_share, loads.trunk_length),
        (legs_share, legs),
    ):
        end = min(start + length, layout.pocket_length)
        if end > start:
            runs.append((start, end, loads.sleeper_n * share / (end - start)))
        start = end
    return tuple(runs)
