"""The whole matrix of joints: every kind of joint, every way to hang a rail, every sheet.

All are laid out in every tabled size; solids are made and checked of each in one size, the
sizes taken in turn. ``tests/bench/matrix.py`` makes and checks the solids of all.
"""

from __future__ import annotations

import pytest

from bedmodel.assembly import make_bed
from bedmodel.checks.run import findings, run_checks
from bedmodel.joints import tenon_joints
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import lay_out
from bedmodel.tables import mattress_sizes
from tests.matrix import STRENGTH, Joining, joinings

SIZES = tuple(mattress_sizes())
JOININGS = tuple(joinings())
every = pytest.mark.parametrize("joining", JOININGS, ids=str)


@every
def test_it_lays_out_in_every_tabled_size(joining: Joining) -> None:
    for size in SIZES:
        layout = lay_out(load_sheet(joining.sheet, size=size, changes=joining.changes))
        pieces = make_pieces(layout)
        joints = list(tenon_joints(layout))
        own = tuple(c.partition(".")[0] for c in joining.changes if c.endswith(".joint=tenon"))
        loose = [p for p in pieces if p.kind.name.startswith(("loose_tenon", "dowel"))]
        assert len(loose) == 2 * sum(not joint.board.startswith(own) for joint in joints)
        hung = {p.name.split("_")[0] for p in pieces if p.kind.is_metal}
        assert hung == (set() if joining.rails == "butt" else {"head", "foot"})


@pytest.mark.parametrize(
    ("joining", "size"),
    [(joining, SIZES[(5 * n) % len(SIZES)]) for n, joining in enumerate(JOININGS)],
    ids=str,
)
def test_it_is_made_and_passes_its_checks(joining: Joining, size: str) -> None:
    bed = make_bed(load_sheet(joining.sheet, size=size, changes=joining.changes))
    # Thin pairs of tenons, or tenons cut short beside a fastener, may be too weak, which the
    # checks then say; here it is whether all fits.
    assert [f for f in findings(run_checks(bed)) if f.code < STRENGTH] == []
