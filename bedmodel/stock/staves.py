"""Split a part wider than the machines take into staves of balanced widths."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bedmodel.errors import InputError
from bedmodel.shop_profile import ShopProfile
from bedmodel.units import LengthUnit, format_length


@dataclass(frozen=True)
class Staves:
    """``count`` staves, each ``width`` wide before its edges are straightened (mm).

    ``net`` is the width that each gives to the panel.
    """

    count: int
    width: float
    net: float

    @property
    def rough_width(self) -> float:
        """All staves side by side."""
        return self.count * self.width

    def told(self, unit: LengthUnit) -> str:
        """What the maker does, in words."""
        return (
            f"glue up of {self.count} staves of about {format_length(self.width, unit)}, heart "
            "sides up and down in turn, grain running one way"
        )


def staves_for(width: float, shop: ShopProfile, *, shows: bool) -> Staves | None:
    """The staves of a part ``width`` wide in the rough; None when one board will do.

    Where the face ``shows`` their count is odd, so that no seam lies on its middle.
    Raises InputError where the machines leave no width for staves.
    """
    glue, most = shop.glue_up, shop.stave_most
    if width <= most:
        return None
    net_most = most - glue.joint
    least = shop.stave_least
    if net_most < least:
        raise InputError(
            "glue_up.stave_least",
            least,
            f"must be at most {net_most:.0f} mm, what the machines leave of a stave",
            "make it less",
        )
    count = math.ceil(width / net_most - 1e-9)
    if shows and count % 2 == 0 and width / (count + 1) + glue.joint >= least:
        count += 1
    net = width / count
    return Staves(count, net + glue.joint, net)
