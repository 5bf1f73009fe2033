"""From a sheet on disk, and what the command line changes in it, to a checked Sheet.

Every refusal names the parameter, its value, what is allowed and the remedy.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from bedmodel.errors import InputError
from bedmodel.hardware import TABLE
from bedmodel.outline_files import drawings_of
from bedmodel.own_woods import check_own_names
from bedmodel.refusals import (
    field_at,
    first_error,
    inner_table,
    quantity_of,
    shortened,
    shown,
    walk,
)
from bedmodel.spec import Sheet
from bedmodel.tables import mattress_size
from bedmodel.units import (
    LengthUnit,
    parse_mattress,
)

SHEET_BYTES = 256 * 1024  # a sheet is a page of text; more is not a sheet
# One dotted key as long as a whole sheet would cost the TOML reader gigabytes.
LINE_BYTES = 1000
DEEPEST_NAME = 8  # steps of a dotted name; the deepest parameter has 4

DEFAULT = "campion"  # the example that is meant where none is named
NOT_SHEETS = {TABLE, "shop.toml"}

Table = dict[str, Any]
Model = TypeVar("Model", bound=BaseModel)

_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?")
_INDEX = re.compile(r"[0-9]{1,4}")


def shared_folder() -> Path:
    """The folder of the example sheets: beside the package, or inside it when installed."""
    inside = Path(__file__).parent / "shared"
    return inside if inside.is_dir() else Path(__file__).parent.parent / "shared"


def example_sheets() -> list[Path]:
    """The example sheets, in the order of the alphabet; see ``DEFAULT`` for the usual one."""
    return sorted(p for p in shared_folder().glob("*.toml") if p.name not in NOT_SHEETS)


def load_sheet(
    where: str | None,
    *,
    size: str | None = None,
    mattress: str | None = None,
    changes: Sequence[str] = (),
) -> Sheet:
    """Read a sheet and make the wanted changes; without a name, the usual example.

    ``where`` is a file or the name of an example; ``size`` a name in the table
    of sizes; ``mattress`` a text such as "1400x1900x220", instead of ``size``;
    ``changes`` texts such as "leg.splay=6". Raises InputError.
    """
    if size is not None and mattress is not None:
        raise InputError("--mattress", mattress, "does not go with --size", "give one of the two")
    if size == "all":
        raise InputError("--size", size, "is for the verb build", "name one size")
    path = _find(where)
    table = read_table(path, "sheet", "give a .toml file of parameters")
    unit = _unit(table, path)
    if size is not None:
        _set_mattress(table, {"size": size})
    if mattress is not None:
        _set_mattress(table, _mattress(mattress, unit))
    for change in changes:
        _change(table, change)
    return check_sheet(table, path.name, drawings_of(table, path.parent))


def check_sheet(
    table: Mapping[str, Any],
    name: str = "sheet",
    drawings: Mapping[str, bytes] | None = None,
) -> Sheet:
    """Validate a table of parameters; drawings that it names are read from here if not given.

    Raises InputError for the first thing wrong.
    """
    sheet = validated(Sheet, table, _unit(table, Path(name)))
    mattress_size(sheet.mattress.size)
    check_own_names(sheet.wood.own)
    _ = sheet.climate.chosen, sheet.bed_wood, sheet.inside_wood  # refuse what is in no table
    held = drawings_of(table, Path()) if drawings is None else drawings
    return sheet.with_drawings(held) if held else sheet


def validated(model: type[Model], table: Mapping[str, Any], unit: LengthUnit) -> Model:
    """A table as the model; bare lengths are in ``unit``. Raises InputError for the first fault."""
    try:
        return model.model_validate(dict(table), context={"unit": unit})
    except ValidationError as failure:
        raise first_error(failure, table, unit, model) from None


def sheet_file(where: str | None) -> Path:
    """The file of a sheet, given by its path or an example's name. Raises InputError."""
    return _find(where)


def _find(where: str | None) -> Path:
    examples = example_sheets()
    if where is None:
        return shared_folder() / f"{DEFAULT}.toml"
    by_name = {path.stem: path for path in examples}
    if where in by_name:
        return by_name[where]
    path = Path(where)
    # A maker's own copy of an example comes before the example itself.
    if _is(Path.is_file, path):
        return path
    if where in {example.name for example in examples}:
        return by_name[path.stem]
    wrong = "is a folder" if where and _is(Path.is_dir, path) else "no such file"
    remedy = f"give a .toml file, or one of {', '.join(by_name)}"
    raise InputError("sheet", where, wrong, remedy)


def _is(test: Callable[[Path], bool], path: Path) -> bool:
    try:
        return test(path)
    except (OSError, ValueError):  # too long, or with a null character
        return False


def read_table(path: Path, name: str, remedy: str) -> Table:
    """Read a TOML file. Raises InputError about ``name`` for one that is none, or too large."""
    try:
        with path.open("rb") as file:
            data = file.read(SHEET_BYTES + 1)
    except (OSError, ValueError) as failure:
        reason = failure.strerror if isinstance(failure, OSError) else failure
        raise InputError(name, path, f"cannot be read ({reason})") from None
    if len(data) > SHEET_BYTES:
        most = f"must be at most {SHEET_BYTES // 1024} kB of text"
        raise InputError(name, path, most, remedy)
    if any(len(line) > LINE_BYTES for line in data.split(b"\n")):
        most = f"its lines must be at most {LINE_BYTES} characters"
        raise InputError(name, path, most, remedy)
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise InputError(name, path, "is not UTF-8 text", "save it as UTF-8") from None
    except (ValueError, RecursionError) as failure:
        reason = shortened(str(failure), 200)
        raise InputError(name, path, f"is not valid TOML ({reason})", "mend it") from None


def _unit(table: Mapping[str, Any], path: Path) -> LengthUnit:
    design = table.get("design", {})
    unit = design.get("unit", "mm") if isinstance(design, Mapping) else "mm"
    return unit_of(unit, "design.unit", path)


def unit_of(word: Any, parameter: str, path: Path) -> LengthUnit:
    """The unit that a file is written in. Raises InputError for any other word."""
    if word == "mm":
        return "mm"
    if word == "inch":
        return "inch"
    allowed, remedy = 'must be "mm" or "inch"', f"mend it in {path.name}"
    raise InputError(parameter, shown(word), allowed, remedy)


def _set_mattress(table: Table, values: Table) -> None:
    section = table.setdefault("mattress", {})
    if not isinstance(section, dict):
        raise InputError("mattress", shown(section), "must be a table", "write it as [mattress]")
    for key in ("width", "length"):
        section.pop(key, None)
    section.update(values)


def _mattress(text: str, unit: LengthUnit) -> Table:
    try:
        width, length, thickness = parse_mattress(text, unit)
    except ValueError as failure:
        raise InputError("--mattress", text, str(failure), "or name one by --size") from None
    values: Table = {"width": f"{width} mm", "length": f"{length} mm"}
    if thickness is not None:
        values["thickness"] = f"{thickness} mm"
    return values


def _change(table: Table, change: str) -> None:
    """Set one parameter from a text such as ``headboard.board.2.width=9 in``.

    The value "auto" takes a parameter out of the sheet again.
    """
    name, equals, value = change.partition("=")
    steps = name.strip().split(".")
    if not equals or not all(steps) or len(steps) > DEEPEST_NAME:
        raise InputError("--set", change, "must be PARAMETER=VALUE", "for example leg.splay=6")
    field = field_at(steps)
    takes_out = value.strip() == "auto" and field is not None  # its default, or worked out
    place: Any = table
    for i in range(len(steps) - 1):
        place = _step_into(place, steps[: i + 1], change, adds=not takes_out)
    if not isinstance(place, dict):
        raise InputError(
            "--set", change, *_no_parameter_in(place, shortened(".".join(steps[:-1]), 80))
        )
    if takes_out:
        place.pop(steps[-1], None)
        return
    place[steps[-1]] = _plain_value(value.strip(), field)


def _step_into(place: Any, steps: Sequence[str], change: str, *, adds: bool) -> Any:
    """One step down the table. What is not there is put there, if the change ``adds``."""
    name, step = shortened(".".join(steps), 80), steps[-1]
    if isinstance(place, list):
        if _INDEX.fullmatch(step) and 1 <= int(step) <= len(place):
            return place[int(step) - 1]
        allowed = f"{name}: must be a number from 1 to {len(place)}"
        raise InputError("--set", change, allowed, "add a table to the list in the sheet")
    if not isinstance(place, dict):
        raise InputError("--set", change, *_no_parameter_in(place, name.rpartition(".")[0]))
    field = field_at(steps)
    # A list that the sheet leaves out has one table, all of it defaults, or gets its first.
    many = field is not None and inner_table(field) not in (None, field.annotation)
    new: Any = [{}] if many else {}
    return place.setdefault(step, new) if adds else place.get(step, new)


def _no_parameter_in(place: Any, name: str) -> tuple[str, str]:
    if isinstance(place, list):
        return f"{name} is a list of tables", f"name one and its parameter, as {name}.1.width"
    return f"{name} has no parameters", f"set {name} itself"


def _plain_value(text: str, field: FieldInfo | None) -> Any:
    """A bare number is a number, so that it takes the sheet's unit; the rest is text."""
    if quantity_of(field) in ("text", "choice") or not _NUMBER.fullmatch(text):
        return text
    return int(text) if text.lstrip("+-").isdigit() and len(text) < 300 else float(text)


def folder_name(sheet: Sheet) -> str:
    """The folder of a bed's files: the design's name and the mattress's."""
    given = sheet.mattress
    if given.width is None and given.length is None:
        return f"{sheet.design.name}-{mattress_size(given.size).name}"
    size = "x".join("own" if side is None else f"{side:g}" for side in (given.width, given.length))
    return f"{sheet.design.name}-{size}mm"


def as_table(sheet: Sheet) -> Table:
    """The sheet's parameters as a table that reads back as the same sheet, in any unit."""
    return _as_table(sheet)


def _as_table(section: BaseModel) -> Table:
    table: Table = {}
    for name, field in type(section).model_fields.items():
        value = getattr(section, name)
        extra = field.json_schema_extra
        if isinstance(value, BaseModel):
            table[name] = _as_table(value)
        elif isinstance(value, tuple):
            table[name] = [_as_table(inner) for inner in value]
        elif isinstance(extra, dict) and extra.get("quantity") == "length" and value is not None:
            table[name] = f"{value!r} mm"
        elif value is not None:
            table[name] = value
    return table


def parameters() -> Iterator[tuple[str, FieldInfo]]:
    """Every parameter by its dotted name, in the order of the sheet; N numbers a list."""
    yield from walk(Sheet, "")
