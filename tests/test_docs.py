"""The documentation is true: commands run, names exist, nothing is left out."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from bedmodel.cli import VERBS, main
from bedmodel.sheets import example_sheets

REPOSITORY = Path(__file__).resolve().parent.parent
README = (REPOSITORY / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (REPOSITORY / "DEVELOPERS.md").read_text(encoding="utf-8")


def _commands() -> list[str]:
    return re.findall(r"^\$ bedmodel (.+)$", README, flags=re.MULTILINE)


def test_readme_opens_with_the_job_then_the_picture() -> None:
    title, job, picture = README.split("\n\n")[:3]
    assert title == "# bedmodel"
    assert "STEP" in job
    assert "DXF" in job
    (path,) = re.findall(r"^!\[.+\]\((.+)\)$", picture)
    assert (REPOSITORY / path).read_bytes().startswith(b"\x89PNG")


def test_there_are_commands_to_try() -> None:
    assert len(_commands()) >= 4


@pytest.mark.parametrize("command", [c for c in _commands() if "--size all" not in c])
def test_each_command_of_the_readme_runs(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(shlex.split(command)) == 0


@pytest.mark.parametrize("verb", VERBS)
def test_each_verb_is_in_the_readme(verb: str) -> None:
    assert f"`bedmodel {verb}" in README


def test_each_example_sheet_is_in_the_readme() -> None:
    for path in example_sheets():
        assert f"`{path.name}`" in README


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_paths_named_in_the_documents_exist(text: str) -> None:
    named = re.findall(r"`((?:shared|scripts|tests|bedmodel)/[\w./]+\.\w+)`", text)
    named += re.findall(r"\]\(([\w./]+)\)", text)
    assert named
    missing = [path for path in named if not (REPOSITORY / path).exists()]
    assert missing == []


def test_every_test_file_is_on_the_map() -> None:
    section = DEVELOPERS.split("## Map of the tests")[1]
    names = re.findall(r"`(test_\w+\*?)`", section)
    patterns = [re.compile(name.replace("*", r"\w*")) for name in names]
    files = [path.stem for path in (REPOSITORY / "tests").glob("test_*.py")]
    assert [f for f in files if not any(p.fullmatch(f) for p in patterns)] == []


def test_every_module_is_on_the_map_of_layers() -> None:
    section = DEVELOPERS.split("## Layers")[1].split("## Recipes")[0]
    modules = {p.stem for p in (REPOSITORY / "bedmodel").glob("*.py")} - {"__init__", "__main__"}
    assert {m for m in modules if f"`{m}`" not in section} == set()


def test_safety_lines_are_printed_with_a_build() -> None:
    from bedmodel.exports.records import SAFETY

    for text in (SAFETY, README):
        assert "Adult low beds only" in text
        assert "Local codes" in text


def test_help_is_for_a_maker() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "bedmodel", "--help"],
        cwd=REPOSITORY,
        capture_output=True,
        text=True,
        check=True,
    )
    for verb in VERBS:
        assert verb in done.stdout
    assert "bedmodel build campion --size us-king" in done.stdout
