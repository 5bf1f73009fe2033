"""What can go wrong for the user, each with its exit code and one clear line."""

from __future__ import annotations


class BedmodelError(Exception):
    """Any failure that is told to the user in one line, without a traceback."""

    exit_code = 2


class InputError(BedmodelError):
    """Input that cannot be used: which parameter, its value, the range, the remedy.

    ``parameter`` is the dotted name in the sheet, a command-line option, or a
    file name; ``value`` is shown as the user wrote it.
    """

    def __init__(self, parameter: str, value: object, allowed: str, remedy: str = "") -> None:
        self.parameter = parameter
        self.value = value
        self.allowed = allowed
        self.remedy = remedy
        super().__init__(parameter, value, allowed, remedy)

    def __str__(self) -> str:
        shown = "" if self.value is None else f" = {_short(self.value)}"
        remedy = f"; {self.remedy}" if self.remedy else ""
        return _one_line(f"{self.parameter}{shown}: {self.allowed}{remedy}")


class WriteError(BedmodelError):
    """Output that could not be written; whatever was there before is untouched."""

    exit_code = 3


class MissingLibrary(BedmodelError):
    """A library of the operating system that the solid modeller needs is absent."""


def _short(value: object, limit: int = 80) -> str:
    text = str(value)
    return text if len(text) <= limit else text[: limit - 3] + "..."


def _one_line(text: str) -> str:
    # Control characters from a hostile sheet must not reach the terminal.
    return "".join(c if c.isprintable() else " " for c in text)
