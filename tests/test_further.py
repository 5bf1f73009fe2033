"""The further example sheets: in every tabled size by the reckoning, in a few as solids."""

from __future__ import annotations

import pytest

from bedmodel.movement.parts import movement
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import lay_out
from bedmodel.strength.answer import strength
from bedmodel.tables import mattress_sizes
from tests.beds import FURTHER, codes_of, good


@pytest.mark.parametrize("name", FURTHER)
def test_it_is_strong_enough_in_every_size(name: str) -> None:
    weak = {}
    for size in mattress_sizes():
        layout = lay_out(load_sheet(name, size=size))
        make_pieces(layout)
        found = strength(layout)
        firm = [c.by_class["firm"].moved <= c.limit for c in found.frame if c.limit is not None]
        moves = all(fixing.passed for fixing in movement(layout).fixings)
        if not (found.passed and all(firm) and moves):
            weak[size] = found
    assert list(weak) == []


@pytest.mark.parametrize(
    ("name", "size"), [("teasel", None), ("teasel", "us-king"), ("teasel", "eu-80x200")]
)
def test_it_passes_all_checks(name: str, size: str | None) -> None:
    assert codes_of(good(name, size)) == set()
