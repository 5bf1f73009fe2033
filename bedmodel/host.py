"""Show a bed, or any CadQuery object, wherever a script runs: a CadQuery host or plain Python.

A host puts ``show_object`` among the script's own globals, which a library cannot
see; so the script passes ``globals()``. A notebook shows a bed by itself: see ``notebook``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import cadquery as cq

    from bedmodel.assembly import Bed


def show(thing: Bed | cq.Assembly | cq.Workplane, script: Mapping[str, Any], name: str = "") -> str:
    """Show a bed or a CadQuery object through the host's ``show_object``; say what was done.

    ``script`` is the script's ``globals()``. A notebook displays it, offline. In plain
    Python, where there is no host, nothing is shown and the text says so.
    """
    show_object: Callable[..., Any] | None = script.get("show_object")
    if show_object is None and "get_ipython" in script:
        from IPython.display import display

        from bedmodel.notebook import View

        display(thing if hasattr(thing, "to_assembly") else View(thing, name))
        return "shown in the notebook"
    if show_object is None:
        return "no CAD host here: nothing shown"
    shown = name or str(getattr(thing, "name", None) or "part")
    # Some hosts need the name and the options even when they have defaults.
    show_object(_as_assembly(thing), name=shown, options={})
    return f"shown as {shown}"


def _as_assembly(thing: Any) -> Any:
    """A bed as an assembly; what CadQuery knows stays as it is."""
    to_assembly: Callable[[], Any] | None = getattr(thing, "to_assembly", None)
    return thing if to_assembly is None else to_assembly()


def is_plain_python(script: Mapping[str, Any]) -> bool:
    """True when the script was run by itself, not by a CAD host or a notebook."""
    return (
        script.get("__name__") == "__main__"
        and "show_object" not in script
        and "get_ipython" not in script
    )


def write_when_plain(thing: Bed | cq.Assembly, script: Mapping[str, Any], out: Path) -> Path | None:
    """In plain Python, write the STEP file of a bed or an assembly; in a host, write nothing.

    Raises WriteError where it cannot be written.
    """
    if not is_plain_python(script):
        return None
    from bedmodel.exports.publish import write_file

    path = out / f"{thing.name}.step"
    write_file(path, _step(thing))
    return path


def _step(thing: Any) -> bytes:
    if hasattr(thing, "pieces"):
        from bedmodel.exports.looks import looks_of
        from bedmodel.exports.step import step_bytes

        return step_bytes(thing.name, thing.pieces, thing.solids, looks_of(thing))
    from bedmodel.exports.step import step_bytes_of_assembly

    return step_bytes_of_assembly(thing)
