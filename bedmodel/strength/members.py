"""Every member of a bed judged by itself: sag now and in years, stress, bearing."""

from __future__ import annotations

from dataclasses import dataclass, field

from bedmodel.figures import assumptions
from bedmodel.skeleton import Layout
from bedmodel.strength.ends import board, leg
from bedmodel.strength.judged import MemberReport
from bedmodel.strength.loads import LOADS_FILE, Loads, default_loads
from bedmodel.strength.platform import centre_rail, slats
from bedmodel.strength.rails import RunnerScrews, runner, side_rail
from bedmodel.strength.timber import RULES_FILE, Rules, default_rules


@dataclass(frozen=True)
class Basis:
    """What a reckoning rests on beside the layout: loads, rules, and what the sheet leaves open.

    ``slats_held``: slats are screwed down. ``ends_carried``: blocks under the centre rail's
    ends.
    """

    loads: Loads = field(default_factory=default_loads)
    rules: Rules = field(default_factory=default_rules)
    screws: RunnerScrews = field(default_factory=RunnerScrews)
    slats_held: bool = True
    ends_carried: bool = False

    @property
    def assumptions(self) -> tuple[str, ...]:
        """Every figure used, one line each, for printing with the answers."""
        return (
            *assumptions(self.loads, LOADS_FILE),
            *assumptions(self.rules, RULES_FILE),
            f"slats {'screwed down' if self.slats_held else 'lying loose'}",
            f"runner screws {self.screws.diameter:g} mm every {self.screws.pitch:g} mm, "
            f"{self.screws.penetration:g} mm in the rail"
            f"{', glued as well' if self.screws.glued else ''}",
        )


def members(layout: Layout, basis: Basis | None = None) -> tuple[MemberReport, ...]:
    """Judge slats, centre rail, runner, side rail, boards and legs.

    Raises Unstable where a centre rail on one foot has nothing under its ends.
    """
    basis = basis or Basis()
    loads, rules = basis.loads, basis.rules
    centre = centre_rail(layout, loads, rules, ends_carried=basis.ends_carried)
    return (
        slats(layout, loads, rules, held=basis.slats_held),
        *((centre,) if centre else ()),
        runner(layout, loads, rules, basis.screws),
        side_rail(layout, loads, rules),
        *(board(layout, end, loads, rules) for end in layout.ends),
        *(leg(layout, end, loads, rules) for end in layout.ends),
    )
