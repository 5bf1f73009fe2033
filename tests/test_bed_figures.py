"""A bed's figures without solids, against the solids and against the lists they come from."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from bedmodel.bed_figures import OUTCOMES, bed_figures, mass_kg, outcomes
from bedmodel.checks.run import run_checks
from bedmodel.cli import main
from bedmodel.shape_volume import volume
from bedmodel.sheets import load_sheet
from bedmodel.shop_profile import load_profile
from bedmodel.skeleton import lay_out
from bedmodel.verbs.compare import compare_text
from tests.beds import good

ODD = ("headboard.joint=tenon", "side_rail.joint=bolts")


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("campion", ODD),
        ("sorrel", ()),
        ("hawthorn", ("leg.style=turned", "frame.rake=5")),
        *((name, ()) for name in ("bracken", "heather", "rowan", "teasel")),
    ],
)
def test_mass_is_that_of_the_solids(name: str, changes: tuple[str, ...]) -> None:
    bed = good(name, None, *changes)
    assert mass_kg(bed.pieces, bed.layout.sheet) == pytest.approx(bed.total_mass_kg, rel=1e-3)
    for part, kind in bed.kinds.items():
        if not kind.is_metal:
            # Haunches: a groove and the mortises in it are both taken whole, as are their bosses.
            within = 5e-3 if changes == ODD and ("leg" in part or "board" in part) else 1e-4
            if kind.shape.trims or kind.shape.mouldings or name == "bracken":
                within = 3e-3  # slices; run-outs of profiles; mitres of a raised field
            assert volume(kind.shape) == pytest.approx(bed.volume(part), rel=within), part


def test_checks_are_those_that_the_solids_have() -> None:
    bed = good("sorrel")
    found = bed_figures(bed.layout, load_profile(None))
    wanted = [result for result in run_checks(bed) if int(result.code) > 900]
    assert list(found.results) == sorted(wanted, key=lambda result: result.code)


def test_figures_are_those_of_the_verbs(capsys: pytest.CaptureFixture[str]) -> None:
    found = outcomes(bed_figures(lay_out(load_sheet("campion")), load_profile(None)))
    main(["buy", "campion", "--json"])
    bought = json.loads(capsys.readouterr().out)
    main(["strength", "campion", "--json"])
    reckoned = json.loads(capsys.readouterr().out)
    assert found["board_feet"] == pytest.approx(bought["board_feet"], abs=0.01)
    assert found["cost"] == pytest.approx(bought["cost"], abs=0.01)
    uses = [
        (use["use"], member["member"])
        for member in reckoned["members"]
        for case in member["cases"]
        for use in case["uses"]
        if use["what"].startswith("sag")
    ]
    assert found["sag"] == pytest.approx(max(uses)[0], abs=0.005)
    assert found["sag_part"] == max(uses)[1]


def test_no_price_is_told_and_is_not_nothing() -> None:
    found = bed_figures(
        lay_out(load_sheet("campion", changes=["wood.species=red-oak"])), load_profile(None)
    )
    assert outcomes(found)["cost"] is None
    assert found.unpriced
    assert all(name.startswith("red-oak") for name in found.unpriced)


def test_a_centre_rail_that_tips_has_no_share() -> None:
    sheet = load_sheet("campion", changes=["support_foot.count=1"])
    found = bed_figures(lay_out(sheet), load_profile(None))
    assert found.reckoned.tips
    assert outcomes(found)["sag"] is None
    assert not found.passed


def test_compare_is_quick_and_loads_no_modeller() -> None:
    script = (
        "import sys, time; from bedmodel.cli import main\n"
        "main(['compare', 'campion', 'hawthorn', 'sorrel'])\n"
        "assert not {'cadquery', 'OCP', 'reportlab', 'ezdxf'} & set(sys.modules)\n"
        "print(time.process_time())"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert float(done.stdout.splitlines()[-1]) < 4  # about 0.9 s alone


def test_a_bed_that_is_refused_is_a_column_that_says_why(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    argv = ["compare", "sorrel", "--size", "eu-90x200,us-king", "--set", "centre_rail.use=never"]
    assert main([*argv, "--out", str(tmp_path)]) == 1
    told = capsys.readouterr().out
    assert "needs a centre rail" in " ".join(told.split())
    rows = list(csv.DictReader((tmp_path / "compare" / "compare.csv").open(encoding="utf-8")))
    assert [row["size"] for row in rows] == ["eu-90x200", "us-king"]
    assert float(rows[0]["cost"]) > 0
    assert rows[0]["refused"] == rows[1]["cost"] == ""
    assert rows[1]["refused"].startswith("centre_rail.use = never")
    page = (tmp_path / "compare" / "compare.html").read_text("utf-8")
    assert "needs a centre rail" in page
    assert "<script" not in page


@pytest.mark.parametrize("columns", [80, 110])
def test_columns_that_do_not_fit_go_below(columns: int, monkeypatch: pytest.MonkeyPatch) -> None:
    from bedmodel.exports.side_by_side import Column

    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(
        "shutil.get_terminal_size", lambda *_, **__: os.terminal_size((columns, 24))
    )
    monkeypatch.setenv("NO_COLOR", "1")
    shop = load_profile(None)
    found = bed_figures(lay_out(load_sheet("sorrel")), shop)
    beds = [Column("sorrel", size, found) for size in ("us-king", "eu-90x200", "uk-king", "own")]
    text = compare_text(beds, "inch")
    assert max(map(len, text.splitlines())) <= columns
    for bed in beds:
        assert text.count(f"sorrel {bed.size}") == 1
    assert text.count("SIZES") == 2


@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (["--size", "us-king,nothing"], "nothing"),
        (["--size", "us-king", "--mattress", "1400x1900"], "--mattress"),
        (["--shop", "none.toml"], "--shop"),
        (["nobody"], "sheet = nobody"),
    ],
)
def test_bad_input_is_one_line(
    argv: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", *argv]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1


def test_every_outcome_has_a_value_of_its_quantity() -> None:
    found = outcomes(bed_figures(lay_out(load_sheet("hawthorn")), load_profile(None)))
    assert list(found) == list(OUTCOMES)
    for name, value in found.items():
        assert isinstance(value, str) == (OUTCOMES[name].quantity == "word"), name
