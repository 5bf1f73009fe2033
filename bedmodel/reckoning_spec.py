"""Parameters of the reckoning: loads, limits and factors, and the climate the bed stands in.

The proposed figures stand in ``data/*.csv``, each with its source and how sure it is, and
are read from there, so that a default and its source cannot differ. A maker's own value
is shown as such with every answer.
"""

from __future__ import annotations

from functools import partial
from typing import Literal

from bedmodel import fields
from bedmodel.climates import Climate, climate, climate_of_air, own_climate
from bedmodel.errors import InputError
from bedmodel.fields import Length, Section

Duration = Literal["permanent", "ten_years", "two_months", "seven_days", "ten_minutes", "impact"]
SLEEPERS_MOST = 4

_load = partial(fields.figure, "loads.csv")
_limit = partial(fields.figure, "strength_rules.csv")
_movement = partial(fields.figure, "movement_rules.csv")


class Loads(Section):
    """What the bed is asked to bear."""

    sleepers: int | None = fields.count(
        None,
        1,
        SLEEPERS_MOST,
        "How many sleep in it.",
        worked_out="two where the mattress is wider than loads.two_sleepers_over",
    )
    sleeper_mass_kg: float = _load("sleeper_mass_kg", 30, 250)
    mattress_mass_kg: float = _load("mattress_mass_kg", 5, 300)
    head_share: float = _load("head_share", 0.01, 0.3)
    trunk_share: float = _load("trunk_share", 0.2, 0.9)
    trunk_length: Length = _load("trunk_length", 300, 1200)
    two_sleepers_over: Length = _load("two_sleepers_over", 700, 2000)
    base_point_n: float = _load("base_point_n", 200, 6000)
    base_point_spread: Length = _load("base_point_spread", 20, 600)
    base_point_slats_count: float = _load("base_point_slats_count", 1, 5)
    edge_pad_n: float = _load("edge_pad_n", 200, 6000)
    edge_pads_count: float = _load("edge_pads_count", 1, 4)
    edge_spread: Length = _load("edge_spread", 200, 2000)
    drop_factor: float = _load("drop_factor", 1, 30)
    headboard_push_n: float = _load("headboard_push_n", 20, 3000)
    headboard_side_push_n: float = _load("headboard_side_push_n", 20, 3000)
    leaning_width: Length = _load("leaning_width", 50, 2000)
    rail_push_n: float = _load("rail_push_n", 20, 3000)
    lift_height: Length = _load("lift_height", 5, 300)
    floor_unevenness: Length = _load("floor_unevenness", 0.5, 30)
    sleepers_duration: Duration = fields.choice(
        "ten_years", "How long, in all, the sleepers' weight lasts; wood bears less for longer."
    )
    point_duration: Duration = fields.choice(
        "ten_minutes", "How long, in all, the point on the base lasts."
    )
    edge_duration: Duration = fields.choice(
        "seven_days", "How long, in all, people sit on the edge."
    )
    push_duration: Duration = fields.choice(
        "ten_minutes", "How long, in all, pushes on headboard and rails last."
    )


class Limits(Section):
    """How far parts may bend, and the factors that strength is judged by."""

    true_modulus_ratio: float = _limit("true_modulus_ratio", 1, 1.2)
    shear_ratio_unknown: float = _limit("shear_ratio_unknown", 0.03, 0.12)
    bending_variation: float = _limit("bending_variation", 0.05, 0.4)
    shear_variation: float = _limit("shear_variation", 0.05, 0.4)
    crushing_variation: float = _limit("crushing_variation", 0.05, 0.5)
    tension_variation: float = _limit("tension_variation", 0.05, 0.5)
    straight_grain_ratio: float = _limit("straight_grain_ratio", 0.3, 1)
    safety_divisor: float = _limit("safety_divisor", 1, 5)
    size_depth: Length = _limit("size_depth", 10, 300)
    size_exponent: float = _limit("size_exponent", 0.01, 0.5)
    creep_likely: float = _limit("creep_likely", 1, 6)
    creep_checked: float = _limit("creep_checked", 1, 6)
    slat_years_ratio: float = _limit("slat_years_ratio", 50, 2000)
    slat_years_most: Length = _limit("slat_years_most", 0.5, 50)
    slat_peak_ratio: float = _limit("slat_peak_ratio", 20, 2000)
    centre_years_ratio: float = _limit("centre_years_ratio", 50, 2000)
    centre_years_most: Length = _limit("centre_years_most", 0.5, 50)
    centre_peak_ratio: float = _limit("centre_peak_ratio", 50, 2000)
    rail_years_ratio: float = _limit("rail_years_ratio", 50, 2000)
    rail_peak_ratio: float = _limit("rail_peak_ratio", 50, 2000)
    headboard_drift_most: Length = _limit("headboard_drift_most", 1, 200)
    glue_design_share: float = _limit("glue_design_share", 0.1, 1)
    cheek_glue_mpa: float = _limit("cheek_glue_mpa", 0.5, 10)
    dowel_glue_mpa: float = _limit("dowel_glue_mpa", 0.5, 10)
    ample_below: float = _limit("ample_below", 0.1, 1)
    fair_below: float = _limit("fair_below", 0.2, 2)
    hook_loose_knm: float = _limit("hook_loose_knm", 0.1, 1000)
    hook_usual_knm: float = _limit("hook_usual_knm", 0.1, 1000)
    hook_firm_knm: float = _limit("hook_firm_knm", 0.1, 1000)
    hook_flat_share: float = _limit("hook_flat_share", 0.01, 1)
    hook_spacing: Length = _limit("hook_spacing", 20, 300)
    hook_play: Length = _limit("hook_play", 0.01, 5)


class ClimateSection(Section):
    """Where the bed stands: how dry and how damp its wood becomes over a year.

    A climate of the table, or the maker's own: the air in both seasons, or the wood's
    moisture content as measured in it.
    """

    name: str = fields.words(
        "us-most",
        "Climate of the table: us-most, us-south-west, us-warm-coast, air-conditioned, "
        "heated-north or sweden.",
        limit=40,
    )
    driest: float | None = fields.number(
        None, 0, 29, "%", "Moisture content of the wood at its driest.",
        worked_out="from climate.name, or from the air",
    )  # fmt: skip
    dampest: float | None = fields.number(
        None, 1, 30, "%", "Moisture content of the wood at its dampest.",
        worked_out="from climate.name, or from the air",
    )  # fmt: skip
    dry_humidity: float | None = fields.number(
        None, 0, 90, "%", "Relative humidity of the air in the dry season.",
        worked_out="not needed with climate.name",
    )  # fmt: skip
    damp_humidity: float | None = fields.number(
        None, 5, 95, "%", "Relative humidity of the air in the damp season.",
        worked_out="not needed with climate.name",
    )  # fmt: skip
    dry_temperature: float = fields.number(
        20, -1, 60, "deg C", "Temperature of the air in the dry season."
    )
    damp_temperature: float = fields.number(
        20, -1, 60, "deg C", "Temperature of the air in the damp season."
    )
    made_moisture: float = _movement("made_moisture", 2, 25)
    along_share: float = _movement("along_share", 0.0005, 0.02)
    relaxed_share: float = _movement("relaxed_share", 0.1, 1)
    risk_low_below: float = _movement("risk_low_below", 0.05, 1)
    risk_some_below: float = _movement("risk_some_below", 0.1, 3)
    screw_clearance: Length = _movement("screw_clearance", 0.1, 5)

    @property
    def chosen(self) -> Climate:
        """The climate meant. Raises InputError for one that is not in the table, or half given."""
        wood = _both("driest", self.driest, "dampest", self.dampest)
        air = _both("dry_humidity", self.dry_humidity, "damp_humidity", self.damp_humidity)
        if wood is not None:
            return own_climate(*wood)
        if air is not None:
            return climate_of_air((self.dry_temperature, air[0]), (self.damp_temperature, air[1]))
        return climate(self.name)


def _both(
    dry_name: str, dry: float | None, damp_name: str, damp: float | None
) -> tuple[float, float] | None:
    """Two values that go together; None where neither is given."""
    if dry is None and damp is None:
        return None
    if dry is None or damp is None:
        given, missing = (dry_name, damp_name) if damp is None else (damp_name, dry_name)
        value = dry if damp is None else damp
        raise InputError(
            f"climate.{given}", value, f"goes with climate.{missing}", "give both, or neither"
        )
    return dry, damp
