"""What ``build --only`` makes, and what it leaves out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bedmodel.build_groups import GROUPS, USUAL, groups_of
from bedmodel.cli import main
from bedmodel.errors import InputError


def test_words_are_groups() -> None:
    assert groups_of(None) == USUAL
    assert groups_of("all") == frozenset(GROUPS)
    assert groups_of(" Plan, report ") == {"plan", "report"}


@pytest.mark.parametrize("words", ["", "plans", "all,plan", "plan;report"])
def test_other_words_are_refused(
    words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(InputError):
        groups_of(words)
    out = tmp_path / "out"
    assert main(["build", "sorrel", "--only", words, "--out", str(out)]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "model, templates, jigs" in told
    assert not out.exists()


def tops(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


RECORDS = {"parts.json", "checks.json", "manifest.json"}


def test_only_what_is_asked_for_is_made_and_listed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["build", "sorrel", "--out", str(tmp_path)]
    assert main([*asked, "--only", "jigs,strength"]) == 0
    assert "bed.step" not in capsys.readouterr().out
    (folder,) = tmp_path.iterdir()
    assert tops(folder) == {"jigs", "strength", *RECORDS}
    listed = {each["path"] for each in json.loads((folder / "manifest.json").read_text())["files"]}
    found = {str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file()}
    assert listed == found - {"manifest.json"}


def test_the_report_links_the_plan_and_the_drawings_beside_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = "plan,drawings,report"
    assert main(["build", "sorrel", "--out", str(tmp_path), "--only", words]) == 0
    told = capsys.readouterr().out
    (folder,) = tmp_path.iterdir()
    assert tops(folder) == {"plan.pdf", "drawings", "report.html", *RECORDS}
    page = (folder / "report.html").read_text("utf-8")
    for name in ("plan.pdf", "drawings/drawings.pdf"):
        assert (folder / name).read_bytes().startswith(b"%PDF")
        assert f'href="{name}"' in page
        assert name in told
    assert "<h2>Strength</h2>" in page
