"""Writing to a terminal: tables, colour where it is wanted, progress where it is seen."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Sequence
from typing import TextIO

GAP = "  "
_HELD = "\u00a0"  # a space at which no line is broken
NARROWEST = 10  # a column of text is not made narrower


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
    """Columns under their headings; ``right`` has an r for each one set to the right.

    On a terminal too narrow for it, the widest columns are wrapped; elsewhere
    each row stays one line.
    """
    widths = [max(_seen(row[i]) for row in (headings, *rows)) for i in range(len(headings))]
    if sys.stdout.isatty():
        widths = _narrowed(widths, right, shutil.get_terminal_size().columns)
    lines = [_line(headings, widths, right), _line(["-" * w for w in widths], widths, right)]
    text = "\n".join([*lines, *(_line(row, widths, right) for row in rows)])
    return text.replace(_HELD, " ")


def sizes(show: Callable[[float], str], *lengths: float) -> str:
    """Lengths with an x between and their unit once: "66 x 9 1/2 in".

    Fractions hold to their whole numbers where a table or a line is wrapped.
    """
    told = [show(length) for length in lengths]
    unit = told[-1].rpartition(" ")[2]
    told = [*(each.removesuffix(f" {unit}") for each in told[:-1]), told[-1]]
    return " x ".join(each.replace(" ", _HELD) for each in told)


def wrapped(text: str) -> str:
    """A line broken between words where a terminal is too narrow for it."""
    if sys.stdout.isatty():
        import textwrap

        text = textwrap.fill(text, shutil.get_terminal_size().columns, subsequent_indent="  ")
    return text.replace(_HELD, " ")


def _narrowed(widths: list[int], right: str, columns: int) -> list[int]:
    """Column widths that fit the terminal, if words may be wrapped that far."""
    widths = list(widths)
    text = [i for i in range(len(widths)) if right[i : i + 1] != "r"]
    while sum(widths) + len(GAP) * (len(widths) - 1) > columns:
        widest = max(text, key=lambda i: widths[i], default=None)
        if widest is None or widths[widest] <= NARROWEST:
            break
        widths[widest] -= 1
    return widths


def _line(cells: Sequence[str], widths: Sequence[int], right: str) -> str:
    import textwrap

    wrapped = [
        [cell] if _seen(cell) <= width else textwrap.wrap(cell, width) or [""]
        for cell, width in zip(cells, widths, strict=True)
    ]
    tall = max(len(cell) for cell in wrapped)
    return "\n".join(
        GAP.join(
            _set(cell[k] if k < len(cell) else "", width, right[i : i + 1] == "r")
            for i, (cell, width) in enumerate(zip(wrapped, widths, strict=True))
        ).rstrip()
        for k in range(tall)
    )


def _set(cell: str, width: int, to_the_right: bool) -> str:
    space = " " * (width - _seen(cell))
    return space + cell if to_the_right else cell + space


def _seen(text: str) -> int:
    """Letters that a person sees: colour codes take no room."""
    if "\033" not in text:
        return len(text)
    import re

    return len(re.sub(r"\033\[[0-9;]*m", "", text))


def paragraph(text: str, first: str = "", rest: str | None = None) -> str:
    """Text in lines as wide as the terminal, or 100 letters; ``first`` and ``rest`` lead them."""
    import textwrap

    columns = shutil.get_terminal_size().columns if sys.stdout.isatty() else 100
    rest = " " * len(first) if rest is None else rest
    return textwrap.fill(
        text,
        max(40, min(columns, 110)),
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        break_long_words=False,
    )


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


def on_terminal(text: str, hanging: str = "") -> str:
    """A long line, wrapped between words on a terminal, later lines behind ``hanging``."""
    if not sys.stdout.isatty():
        return text
    import textwrap

    columns = max(shutil.get_terminal_size().columns, 2 * NARROWEST)
    return textwrap.fill(
        text, columns, subsequent_indent=hanging, break_long_words=False, break_on_hyphens=False
    )
