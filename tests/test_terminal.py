"""Tables on narrow terminals and in pipes; colour codes that take no room."""

from __future__ import annotations

import os
import sys

import pytest

from bedmodel.verbs.terminal import paragraph, table

HEADINGS = ["code", "check", "worst"]
ROWS = [
    ["101", "each part is a valid closed solid with nothing left over", "0.0 mm"],
    ["\033[32m201\033[39m", "no overlap", "12.5 mm"],
]


def _narrow(monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("shutil.get_terminal_size", lambda: os.terminal_size((columns, 24)))


def _plain(text: str) -> list[str]:
    return text.replace("\033[32m", "").replace("\033[39m", "").splitlines()


def test_in_a_pipe_each_row_is_one_line() -> None:
    lines = table(ROWS, HEADINGS, "  r").splitlines()
    assert len(lines) == 2 + len(ROWS)
    assert ROWS[0][1] in lines[2]


def test_on_a_narrow_terminal_words_are_wrapped(monkeypatch: pytest.MonkeyPatch) -> None:
    _narrow(monkeypatch, 40)
    lines = _plain(table(ROWS, HEADINGS, "  r"))
    assert max(len(line) for line in lines) <= 40
    words = " ".join(" ".join(line.split()) for line in lines)
    for word in ROWS[0][1].split():
        assert word in words  # nothing is cut off


def test_numbers_stay_under_each_other(monkeypatch: pytest.MonkeyPatch) -> None:
    _narrow(monkeypatch, 40)
    lines = _plain(table(ROWS, HEADINGS, "  r"))
    ends = {len(line) for line in lines if line.endswith((" mm", "worst"))}
    assert len(ends) == 1


def test_a_table_that_fits_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    wide = table(ROWS, HEADINGS, "  r")
    _narrow(monkeypatch, 200)
    assert table(ROWS, HEADINGS, "  r") == wide


NOTE = "  - lay them side by side, 2 1/4 in [57.2 mm] apart, and mark both at once"


def test_a_note_is_wrapped_between_words_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    assert paragraph(NOTE, "    ") == NOTE
    _narrow(monkeypatch, 40)
    lines = paragraph(NOTE, "    ").splitlines()
    assert len(lines) == 3
    assert max(len(line) for line in lines) <= 40
    assert all(line.startswith("    ") for line in lines[1:])
    assert " ".join(" ".join(lines).split()) == NOTE.strip()
