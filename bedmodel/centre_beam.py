"""A centre rail without feet: the least height that keeps its sag within the sheet's limits.

    ======================================   freely turning on a cleat at each end
    ^                                    ^

    sag = 5 w l^4 / (384 E I) + w l^2 / (8 G A 5/6)    even load, after years of creep
    sag = P l^3 / (48 E I) + P l / (4 G A 5/6)         one point in the middle

Source of the forms: Wood Handbook (FPL-GTR-282) Table 9-1. Loads, limits and factors are the
sheet's own. Its stress and bearing are judged with all other members.
"""

from __future__ import annotations

import math

from bedmodel.errors import InputError
from bedmodel.spec import Sheet
from bedmodel.units import MM_PER_INCH

GRAVITY = 9.80665  # m/s2, standard
_GREATEST = 300.0  # mm, of centre_rail.beam_height


def centre_share(rows: int) -> float:
    """What a centre rail takes of an even load: one row lies over it, two end on it."""
    # The middle support of a beam over two equal spans takes 5/8; of two beams, a half.
    return 0.625 if rows == 1 else 0.5


def beam_height(sheet: Sheet, mattress_width: float, mattress_length: float, span: float) -> float:
    """The height of the beam: as the sheet gives it, or the least that does (mm).

    Raises InputError with that height where the given one is not enough.
    """
    needed = _least(sheet, mattress_width, mattress_length, span)
    given = sheet.centre_rail.beam_height
    if given is None:
        if needed > _GREATEST:
            raise InputError(
                "centre_rail.kind",
                "beam",
                f"no beam up to {sheet.show(_GREATEST)} high and "
                f"{sheet.show(sheet.centre_rail.width)} wide keeps its sag limit over "
                f"{sheet.show(span)}",
                'make centre_rail.width more, or take "feet"',
            )
        return needed
    if given < needed - 1e-9 and _worst(sheet, mattress_width, mattress_length, span, given) > 1:
        raise InputError(
            "centre_rail.beam_height",
            sheet.show(given),
            f"must be at least {sheet.at_least(needed)} to keep its sag limit over "
            f"{sheet.show(span)}",
            'make it more, or centre_rail.width, or take centre_rail.kind "feet"',
        )
    return given


def _least(sheet: Sheet, mattress_width: float, mattress_length: float, span: float) -> float:
    step = MM_PER_INCH / 4 if sheet.design.unit == "inch" else 5.0
    height = math.ceil(40.0 / step - 1e-9) * step
    while _worst(sheet, mattress_width, mattress_length, span, height) > 1 and height <= _GREATEST:
        height += step
    return height


def _worst(sheet: Sheet, width: float, length: float, span: float, height: float) -> float:
    """The greater share used of the two sag limits."""
    loads, limits, timber = sheet.loads, sheet.limits, sheet.inside_wood
    sleepers = loads.sleepers
    if sleepers is None:
        sleepers = 2 if width > loads.two_sleepers_over else 1
    trunks = sleepers * loads.sleeper_mass_kg * GRAVITY * loads.trunk_share / loads.trunk_length
    line = centre_share(sheet.support.rows) * (trunks + loads.mattress_mass_kg * GRAVITY / length)
    modulus = timber.moe * limits.true_modulus_ratio
    ratios = (timber.elastic_shear_radial, timber.elastic_shear_tangential)
    shear = modulus * min((r for r in ratios if r is not None), default=limits.shear_ratio_unknown)
    stiff = modulus * sheet.centre_rail.width * height**3 / 12
    web = shear * sheet.centre_rail.width * height * 5 / 6
    even = 5 * line * span**4 / (384 * stiff) + line * span**2 / (8 * web)
    point = loads.base_point_n * (span**3 / (48 * stiff) + span / (4 * web))
    years = min(span / limits.centre_years_ratio, limits.centre_years_most)
    return max(even * limits.creep_checked / years, point * limits.centre_peak_ratio / span)
