"""Writing to a terminal: tables, colour where it is wanted, progress where it is seen."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Sequence
from typing import TextIO


def coloured(stream: TextIO) -> bool:
    """True when colour is wanted: a terminal, and no NO_COLOR in the environment."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def verdict(passed: bool, stream: TextIO | None = None) -> str:
    """The word for a check's outcome, green or red where colour is wanted."""
    word = "passed" if passed else "FAILED"
    if not coloured(stream or sys.stdout):
        return word
    return f"\033[{32 if passed else 31}m{word}\033[0m"


def table(rows: Sequence[Sequence[str]], headings: Sequence[str], right: str = "") -> str:
    """Columns under their headings; ``right`` has an r for each one set to the right."""
    widths = [max(len(row[i]) for row in (headings, *rows)) for i in range(len(headings))]

    def line(cells: Sequence[str]) -> str:
        set_ = (
            cell.rjust(width) if right[i : i + 1] == "r" else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(cells, widths, strict=True))
        )
        return "  ".join(set_).rstrip()

    return "\n".join([line(headings), line(["-" * w for w in widths]), *map(line, rows)])


class Progress:
    """One line that says what is being done; nothing where nobody sees it."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = stream or sys.stderr
        self._seen = self._stream.isatty() and os.environ.get("TERM") != "dumb"

    def __call__(self, text: str) -> None:
        if self._seen:
            width = shutil.get_terminal_size().columns - 1
            self._stream.write(f"\r\033[K{text[:width]}")
            self._stream.flush()

    def done(self) -> None:
        """Clear the line."""
        self("")
