"""The whole space of sheets, for property tests: drawn from the parameters' own ranges."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from bedmodel.legs import STYLES
from bedmodel.reference import all_parameters
from bedmodel.sheets import as_table, example_sheets, load_sheet, parameters, shared_folder
from bedmodel.tables import mattress_sizes, woods

Table = dict[str, Any]

DRAWING = shared_folder() / "medlar-leg.dxf"
_FREE = ("design.", "wood.", "mattress.size")


def _text(mm: float) -> str:
    """A length as a sheet may write it: in full, and never with an exponent."""
    return f"{mm:.9f} mm"


def _values(name: str) -> st.SearchStrategy[Any] | None:
    """Values of one parameter over its whole range, a third of them at its ends."""
    field = dict(parameters())[name]
    extra = field.json_schema_extra
    if not isinstance(extra, dict) or name.startswith(_FREE):
        return None
    if "low" in extra:
        low, high = float(extra["low"]), float(extra["high"])  # type: ignore[arg-type]
        if extra["quantity"] == "count":
            return st.integers(int(low), int(high))
        if extra["quantity"] == "number":
            return st.floats(low, high, allow_nan=False) | st.sampled_from([low, high])
        inside = st.floats(low, high, allow_nan=False).map(_text)
        if extra["quantity"] == "angle":
            return st.floats(low, high, allow_nan=False) | st.sampled_from([low, high])
        return inside | inside | st.sampled_from([_text(low), _text(high)])
    choices = {p.name: p.range for p in all_parameters()}[name]
    return st.sampled_from(choices.split(" | ")) if " | " in choices else None


_CHANGES = {
    name: values
    for name, _ in parameters()
    if ".N." not in name and (values := _values(name)) is not None
}
_BOARD = {
    name.rpartition(".")[2]: values
    for name, _ in parameters()
    if name.startswith("headboard.board.N.") and (values := _values(name)) is not None
}


@st.composite
def sheets(draw: st.DrawFn) -> Table:
    """One of the examples with some parameters moved anywhere in their ranges."""
    name = draw(st.sampled_from([path.stem for path in example_sheets()]))
    # As it is written: lengths with their unit, so that they hold in a sheet of inches, too.
    table: Table = as_table(load_sheet(name))
    table["mattress"]["size"] = draw(st.sampled_from(list(mattress_sizes())))
    table["wood"]["species"] = draw(st.sampled_from(list(woods())))
    for end in ("headboard", "footboard"):
        if draw(st.integers(0, 5)) == 0:
            table[end]["board"] = draw(
                st.lists(st.fixed_dictionaries({}, optional=_BOARD), min_size=1, max_size=3)
            )
    for end in ("headboard", "footboard"):
        table[end]["joint"] = draw(_CHANGES[f"{end}.joint"])
    if draw(st.integers(0, 2)) == 0:  # one name of many, and yet most parts hang on it
        table["frame"]["rake"] = draw(_CHANGES["frame.rake"])
    if draw(st.integers(0, 2)) == 0:
        for key in ("kind", "rows"):
            table["support"][key] = draw(_CHANGES[f"support.{key}"])
    if draw(st.integers(0, 2)) == 0:
        styled = [
            n for n in _CHANGES if "_edges." in n and not n.endswith(("size", "quirk", "stop"))
        ]
        for name_of in draw(st.lists(st.sampled_from(styled), max_size=4, unique=True)):
            part, key = name_of.split(".")
            table[part][key] = draw(_CHANGES[name_of])
    names = draw(st.lists(st.sampled_from(sorted(_CHANGES)), max_size=8, unique=True))
    # Every style of leg as often as any example, own legs of the drawing in shared.
    table["leg"]["style"] = draw(st.sampled_from([table["leg"]["style"], *STYLES]))
    table["leg"]["outline"] = str(DRAWING)
    for changed in names:
        *sections, key = changed.split(".")
        place = table
        for section in sections:
            place = place[section]
        place[key] = draw(_CHANGES[changed])
    for end in ("headboard", "footboard"):
        if draw(st.integers(0, 3)) == 0:
            _fill(draw, table, end)
    return table


_PARTS = {
    "slats": "slats",
    "spindles": "spindles",
    "frame_and_panel": "panels",
}


def _fill(draw: st.DrawFn, table: Table, end: str) -> None:
    """An end of any kind, mostly with the boards that its kind wants, and some of its own sizes."""
    kind = table[end]["kind"] = draw(_CHANGES[f"{end}.kind"])
    table[end]["cap"]["use"] = draw(_CHANGES[f"{end}.cap.use"])
    section = _PARTS.get(kind)
    thick = _text(draw(st.floats(26, 45)))
    if section is not None:
        low, high = draw(st.floats(-80, 40)), draw(st.floats(200, 600))
        table[end]["board"] = [
            {
                "width": _text(draw(st.floats(70, 160))),
                "thickness": thick,
                "above_platform": _text(at),
            }
            for at in (low, high)
        ]
        names = sorted(n for n in _CHANGES if n.startswith(f"{end}.{section}."))
        for changed in draw(st.lists(st.sampled_from(names), max_size=3, unique=True)):
            table[end][section][changed.rpartition(".")[2]] = draw(_CHANGES[changed])
    elif kind in ("panel", "none"):
        table[end]["board"] = table[end]["board"][:1]
