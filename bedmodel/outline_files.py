"""The maker's own drawings that a sheet names: read once, with the sheet, and never trusted."""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bedmodel.errors import InputError

DRAWING_BYTES = 1024 * 1024  # an outline of a leg is some kilobytes
_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_NAMES = ("outline", "outline_foot")


def drawings_of(table: Mapping[str, Any], folder: Path) -> dict[str, bytes]:
    """The bytes of every drawing that [leg] names, by its name; paths are from ``folder``.

    Raises InputError for one that is missing, no plain file, or too large.
    """
    leg = table.get("leg")
    if not isinstance(leg, Mapping) or leg.get("style") != "own":
        return {}
    named = ((f"leg.{key}", leg.get(key)) for key in _NAMES)
    return {
        name: _read(parameter, name, folder)
        for parameter, name in named
        if isinstance(name, str) and name
    }


def _read(parameter: str, name: str, folder: Path) -> bytes:
    def refused(wrong: str, remedy: str) -> InputError:
        return InputError(parameter, name, wrong, remedy)

    missing = "give the drawing's path from the sheet's own folder"
    try:
        # Not waiting for what may never come, should it be a pipe or a device.
        handle = os.open(folder / name, _FLAGS)
    except (OSError, ValueError) as failure:
        reason = failure.strerror if isinstance(failure, OSError) else failure
        raise refused(f"cannot be read ({reason})", missing) from None
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise refused("is no plain file", missing)
    with os.fdopen(handle, "rb") as file:
        try:
            data = file.read(DRAWING_BYTES + 1)
        except OSError as failure:
            raise refused(f"cannot be read ({failure.strerror})", missing) from None
    if len(data) > DRAWING_BYTES:
        most = f"must be at most {DRAWING_BYTES // 1024} kB"
        raise refused(most, "leave nothing in it but the leg's outline")
    return data
