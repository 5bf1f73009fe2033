"""What ``build --only`` makes, and what it leaves out."""

from __future__ import annotations

import importlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from bedmodel.build_groups import GROUPS, QUICK, groups_of
from bedmodel.cli import main
from bedmodel.errors import InputError


def test_words_are_groups() -> None:
    assert groups_of(None) == groups_of("all") == frozenset(GROUPS)
    assert groups_of("quick") == QUICK
    assert {"model", "templates", "jigs", "shop", "strength"} == QUICK
    assert groups_of("quick, Report") == QUICK | {"report"}
    assert groups_of(" Plan, report ") == {"plan", "report"}


@pytest.mark.parametrize("words", ["", "plans", "all,", "plan;report"])
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


class Count:
    """Stands in for a function of a module, and counts."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, where: str) -> None:
        module, _, name = where.rpartition(".")
        self.work: Callable[..., Any] = getattr(importlib.import_module(module), name)
        self.asked = 0
        monkeypatch.setattr(where, self)

    def __call__(self, *given: Any) -> Any:
        self.asked += 1
        return self.work(*given)


def test_a_build_makes_everything_and_nothing_twice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    pictures = Count(monkeypatch, "bedmodel.exports.working.begun")
    plans = Count(monkeypatch, "bedmodel.exports.working.plan_for_shop")
    drawings = Count(monkeypatch, "bedmodel.book.gather.make_drawings")
    # Slats of a wood of the maker's own, which no table knows.
    own = ("wood.own.1.name=my-spruce", "wood.own.1.like=sitka-spruce", "wood.slats=my-spruce")
    changes = [word for each in (*own, "wood.species=red-maple") for word in ("--set", each)]
    rack = ("--rack", "boards", *changes)
    assert main(["build", "sorrel", "--out", str(tmp_path), *rack]) == 0
    assert (pictures.asked, plans.asked, drawings.asked) == (1, 1, 1)
    told = capsys.readouterr().out
    (folder,) = tmp_path.iterdir()
    groups = {"model", "templates", "jigs", "shop", "strength", "drawings"}
    assert tops(folder) == {*groups, "plan.pdf", "report.html", *RECORDS}
    page = (folder / "report.html").read_text("utf-8")
    for name in ("plan.pdf", "drawings/drawings.pdf"):
        assert (folder / name).read_bytes().startswith(b"%PDF")
        assert f'href="{name}"' in page
        assert name in told
    assert "<h2>Strength</h2>" in page
    # The boards are those of the shop papers, and the page links the model's parts.
    boards = json.loads((folder / "shop" / "boards.json").read_text("utf-8"))
    cut = {board["board"] for group in boards["classes"] for board in group["boards"]}
    assert cut
    assert {name for name in cut if f'id="board-{name}"' in page} == cut
    assert 'href="model/bed.step"' in page
    assert "my-spruce" in page
    drawn = pypdfium2.PdfDocument(folder / "drawings" / "drawings.pdf")
    assert any("my spruce" in sheet.get_textpage().get_text_bounded() for sheet in drawn)
