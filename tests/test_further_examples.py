"""Examples beside the first three: every size laid out, some reckoned, a few made as solids.

The dear tests of checks, exports and drawings go over the first three (``tests/beds``).
"""

from __future__ import annotations

import pytest

from bedmodel.assembly import Bed
from bedmodel.checks.movement import check_movement
from bedmodel.checks.probe import Probe
from bedmodel.checks.run import findings, run_checks
from bedmodel.checks.strength import check_strength
from bedmodel.pieces import make_pieces
from bedmodel.sheets import example_sheets, load_sheet
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.setting_out import setting_out
from bedmodel.skeleton import lay_out
from bedmodel.tables import mattress_sizes
from tests.beds import EXAMPLES, FURTHER, good

# Solids in the narrowest, the widest and a middling size of each.
SOLID = [
    ("medlar", "us-california-king"),
    ("rowan", "eu-80x200"),
    ("rowan", "eu-180x200"),
    ("teasel", "us-king"),
    ("bracken", None),
    ("yarrow", "us-twin-xl"),
    ("heather", "uk-king"),
]


def test_every_example_is_in_one_list() -> None:
    assert sorted((*EXAMPLES, *FURTHER)) == [path.stem for path in example_sheets()]


@pytest.mark.parametrize("name", FURTHER)
def test_a_further_example_holds_in_every_size(name: str) -> None:
    """Laid out in all sizes; reckoned in a third of them, another third for each sheet.

    ``bench/examples.py`` makes and checks the solids of all.
    """
    reckoned = FURTHER.index(name) % 3
    for i, size in enumerate(mattress_sizes()):
        layout = lay_out(load_sheet(name, size=size))
        pieces = make_pieces(layout)
        if i % 3 != reckoned:
            continue
        if i % 9 == reckoned:
            assert setting_out(layout, pieces)
        probe = Probe(Bed(layout, pieces, {}))
        told = [f for r in (*check_strength(probe), *check_movement(probe)) for f in r.findings]
        assert told == [], size


@pytest.mark.parametrize("name", FURTHER)
def test_a_further_example_has_its_jigs(name: str) -> None:
    layout = lay_out(load_sheet(name))
    names = [jig.sheet.name for jig in make_jigs(layout, make_pieces(layout))]
    assert {
        f"leg_{end}_leg_{side}_template" for end in ("head", "foot") for side in ("left", "right")
    } <= set(names)


@pytest.mark.parametrize(("name", "size"), SOLID)
def test_a_further_example_passes_all_checks(name: str, size: str) -> None:
    results = run_checks(good(name, size))
    assert findings(results) == ()
