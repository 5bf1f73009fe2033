"""Show a bed wherever a script runs: a CadQuery host, a notebook, or plain Python.

A host puts ``show_object`` among the script's own globals, which a library cannot
see; so the script passes ``globals()``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bedmodel.assembly import Bed


def show(bed: Bed, script: Mapping[str, Any], name: str = "") -> str:
    """Show the bed through the host's ``show_object``; say what was done.

    ``script`` is the script's ``globals()``. In plain Python, where there is no
    host, nothing is shown and the text says so.
    """
    show_object: Callable[..., Any] | None = script.get("show_object")
    if show_object is None:
        return "no CAD host here: nothing shown"
    # Some hosts need the name and the options even when they have defaults.
    show_object(bed.to_assembly(), name=name or bed.name, options={})
    return f"shown as {name or bed.name}"


def is_plain_python(script: Mapping[str, Any]) -> bool:
    """True when the script was run by itself, not by a CAD host or a notebook."""
    return script.get("__name__") == "__main__" and "show_object" not in script


def write_when_plain(bed: Bed, script: Mapping[str, Any], out: Path) -> Path | None:
    """In plain Python, write the bed's STEP file; in a host, write nothing."""
    if not is_plain_python(script):
        return None
    from bedmodel.exports.looks import looks_of
    from bedmodel.exports.publish import write_file
    from bedmodel.exports.step import step_bytes

    path = out / f"{bed.name}.step"
    write_file(path, step_bytes(bed.name, bed.pieces, bed.solids, looks_of(bed)))
    return path
