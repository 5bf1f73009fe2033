"""The whole space of sheets: each builds and passes its checks, or is refused in one line.

``BEDMODEL_FUZZ=N`` tries N sheets with solids and 20 N without.
"""

from __future__ import annotations

import os
import re
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, event, given, settings

from bedmodel.bed import Piece
from bedmodel.checks.finding import Code
from bedmodel.checks.run import findings, run_checks
from bedmodel.errors import InputError
from bedmodel.pieces import make_pieces
from bedmodel.sheets import check_sheet, example_sheets, load_sheet, parameters
from bedmodel.skeleton import Layout, lay_out
from tests.beds import idle_codes
from tests.sheet_space import sheets

Table = dict[str, Any]

FUZZ = int(os.environ.get("BEDMODEL_FUZZ", "0"))
NAMES = {name for name, _ in parameters()}
SPACE = settings(
    deadline=None,
    database=None,
    derandomize=not FUZZ,  # the same sheets on every run, unless more are asked for
    # Without the reduction of a failing sheet, which would build a hundred beds.
    phases=[Phase.explicit, Phase.generate] if not FUZZ else list(Phase),
    suppress_health_check=list(HealthCheck),
)


def laid(table: Table) -> tuple[Layout, tuple[Piece, ...]] | None:
    """The layout and the pieces of a sheet; None when it is refused as it should be."""
    try:
        layout = lay_out(check_sheet(table))
        return layout, make_pieces(layout)
    except InputError as refused:
        assert_well_refused(refused)
        event(f"refused: {general(refused.parameter)}")
        return None


def general(parameter: str) -> str:
    return re.sub(r"\.\d+(?=\.|$)", ".N", parameter)


def assert_well_refused(refused: InputError) -> None:
    told = str(refused)
    assert general(refused.parameter) in NAMES, told
    assert told.startswith(refused.parameter)
    assert "\n" not in told
    assert told.isprintable()
    assert refused.allowed
    assert len(told) < 400


@settings(SPACE, max_examples=max(40, FUZZ))
@given(sheets())
def test_a_sheet_builds_and_passes_or_is_refused(table: Table) -> None:
    if laid(table) is None:
        return
    from bedmodel.assembly import make_bed

    sheet = check_sheet(table)
    results = run_checks(make_bed(sheet))
    # What bends or holds is reckoned for any sheet that can be built, and may well fail.
    assert [f for f in findings(results) if f.code < Code.PART_SAGS] == []
    assert {result.code for result in results if not result.tested} == idle_codes(sheet)
    event("built")


@settings(SPACE, max_examples=max(400, 20 * FUZZ))
@given(sheets())
def test_a_layout_or_a_refusal(table: Table) -> None:
    found = laid(table)
    if found is None:
        return
    layout, pieces = found
    names = [piece.name for piece in pieces]
    assert len(set(names)) == len(names)
    shapes: dict[str, object] = {}
    for piece in pieces:
        kind = piece.kind
        key = (kind.shape.key(), kind.species)
        assert shapes.setdefault(kind.name, key) == key, kind.name
        assert min(kind.shape.blank) > 0, kind.name
        assert kind.shape.outline.area > 0
        # Nothing reaches below the floor or has a mirrored placement.
        place = piece.placement
        x, y, z = place.x, place.y, place.z
        turned = (
            x[0] * (y[1] * z[2] - y[2] * z[1])
            - x[1] * (y[0] * z[2] - y[2] * z[0])
            + x[2] * (y[0] * z[1] - y[1] * z[0])
        )
        assert turned == pytest.approx(1.0)
        for u, v in kind.shape.outline.vertices:
            flat = {"xy": (u, v, 0.0), "xz": (u, 0.0, v), "yz": (0.0, u, v)}[kind.shape.face]
            if all(t.frame.inverse().point(flat)[2] < 1e-6 for t in kind.shape.trims):
                assert place.point(flat)[2] > -1e-6, piece.name
    # Two shapes that are equal are of one kind, if they are one sort of part.
    sorts = {(re.sub(r"(_\d+)?(_left|_right)?$", "", n), key) for n, key in shapes.items()}
    assert len(sorts) == len(shapes)
    slats = layout.slats.count * layout.rows if layout.has_slats else 0
    assert slats == sum(name.startswith("slat_") for name in names)


def test_the_space_holds_all_examples_and_every_parameter() -> None:
    """What the two tests above draw from."""
    from tests.sheet_space import _BOARD, _CHANGES

    fields = dict(parameters())
    fixed = {n for n in NAMES if n.startswith(("design.", "wood.", "mattress.size"))}
    fixed |= {n for n in NAMES if (fields[n].json_schema_extra or {}).get("quantity") == "text"}
    boards = {name for name in NAMES if ".N." in name}
    assert set(_CHANGES) == NAMES - fixed - boards
    assert {f"headboard.board.N.{key}" for key in _BOARD} == {
        name for name in boards if name.startswith("headboard")
    }
    for path in example_sheets():
        table = load_sheet(path.stem).model_dump(exclude_none=True) | {"design": {}}
        if "outline" in table["leg"]:
            table["leg"]["outline"] = str(path.with_name(table["leg"]["outline"]))
        assert laid(table) is not None
