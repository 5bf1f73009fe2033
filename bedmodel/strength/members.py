"""Every member of a bed judged by itself: sag now and in years, stress, bearing."""

from __future__ import annotations

from dataclasses import dataclass, field

from bedmodel.figures import assumptions
from bedmodel.skeleton import Layout
from bedmodel.spec import Sheet
from bedmodel.strength.ends import board, leg
from bedmodel.strength.fills import fills
from bedmodel.strength.judged import MemberReport
from bedmodel.strength.loads import LOADS_FILE, Loads, default_loads, loads_of
from bedmodel.strength.platform import centre_rail, slats
from bedmodel.strength.rails import runner, side_rail
from bedmodel.strength.timber import RULES_FILE, Rules, default_rules, rules_of


@dataclass(frozen=True)
class Basis:
    """What a reckoning rests on beside the layout: loads, and limits and factors."""

    loads: Loads = field(default_factory=default_loads)
    rules: Rules = field(default_factory=default_rules)

    @property
    def assumptions(self) -> tuple[str, ...]:
        """Every figure used, one line each, for printing with the answers."""
        return (
            *assumptions(self.loads, LOADS_FILE),
            *assumptions(self.rules, RULES_FILE),
        )


def basis_of(sheet: Sheet) -> Basis:
    """Loads, limits and factors as the sheet has them."""
    return Basis(loads_of(sheet), rules_of(sheet))


def members(layout: Layout, basis: Basis | None = None) -> tuple[MemberReport, ...]:
    """Judge slats or deck, centre rail, runner, side rail, boards, legs and fills.

    Raises Unstable where a centre rail on one foot has nothing under its ends.
    """
    basis = basis or basis_of(layout.sheet)
    loads, rules = basis.loads, basis.rules
    centre = centre_rail(layout, loads, rules)
    under = runner(layout, loads, rules)
    return (
        *((slats(layout, loads, rules),) if layout.support_thickness else ()),
        *((centre,) if centre else ()),
        *((under,) if under else ()),
        side_rail(layout, loads, rules),
        *(board(layout, end, loads, rules) for end in layout.ends),
        *(leg(layout, end, loads, rules) for end in layout.ends),
        *fills(layout, loads, rules),
    )
