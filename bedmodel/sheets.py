"""From a sheet on disk, and what the command line changes in it, to a checked Sheet.

Every refusal names the parameter, its value, what is allowed and the remedy.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from bedmodel.errors import InputError
from bedmodel.spec import Sheet
from bedmodel.units import LengthUnit, format_length, parse_mattress

SHEET_BYTES = 256 * 1024  # a sheet is a page of text; more is not a sheet

Table = dict[str, Any]


def shared_folder() -> Path:
    """The folder of the example sheets: beside the package, or inside it when installed."""
    inside = Path(__file__).parent / "shared"
    return inside if inside.is_dir() else Path(__file__).parent.parent / "shared"


def example_sheets() -> list[Path]:
    """The example sheets, in the order of the alphabet; the first is the default."""
    return sorted(p for p in shared_folder().glob("*.toml") if not p.name.startswith("_"))


def load_sheet(
    where: str | None,
    *,
    size: str | None = None,
    mattress: str | None = None,
    changes: Sequence[str] = (),
) -> Sheet:
    """Read a sheet and make the wanted changes; without a name, the first example.

    ``where`` is a file or the name of an example; ``size`` a name in the table
    of sizes; ``mattress`` a text such as "1400x1900x220"; ``changes`` texts such
    as "leg.splay=6". Raises InputError.
    """
    path = _find(where)
    table = _read(path)
    unit = _unit(table, path)
    if size is not None:
        _set_mattress(table, {"size": size})
    if mattress is not None:
        _set_mattress(table, _mattress(mattress, unit))
    for change in changes:
        _change(table, change)
    return check_sheet(table, path.name)


def check_sheet(table: Mapping[str, Any], name: str = "sheet") -> Sheet:
    """Validate a table of parameters. Raises InputError for the first thing wrong."""
    unit = _unit(table, Path(name))
    try:
        return Sheet.model_validate(dict(table), context={"unit": unit})
    except ValidationError as failure:
        raise _first_error(failure, unit) from None


def _find(where: str | None) -> Path:
    examples = example_sheets()
    if where is None:
        return examples[0]
    for path in examples:
        if where in (path.stem, path.name):
            return path
    path = Path(where)
    try:
        found = path.is_file()
    except (OSError, ValueError):
        found = False
    if not found:
        names = ", ".join(p.stem for p in examples)
        raise InputError("sheet", where, "no such file", f"give a .toml file, or one of {names}")
    return path


def _read(path: Path) -> Table:
    try:
        with path.open("rb") as file:
            data = file.read(SHEET_BYTES + 1)
    except OSError as failure:
        raise InputError("sheet", path, f"cannot be read ({failure.strerror})") from None
    if len(data) > SHEET_BYTES:
        raise InputError("sheet", path, f"must be at most {SHEET_BYTES // 1024} kB of text")
    try:
        return tomllib.loads(data.decode("utf-8"))
    except UnicodeDecodeError:
        raise InputError("sheet", path, "is not UTF-8 text") from None
    except (tomllib.TOMLDecodeError, RecursionError) as failure:
        raise InputError("sheet", path, f"is not valid TOML ({failure})") from None


def _unit(table: Mapping[str, Any], path: Path) -> LengthUnit:
    design = table.get("design", {})
    unit = design.get("unit", "mm") if isinstance(design, Mapping) else "mm"
    if unit == "mm":
        return "mm"
    if unit == "inch":
        return "inch"
    raise InputError("design.unit", unit, 'must be "mm" or "inch"', f"mend it in {path.name}")


def _set_mattress(table: Table, values: Table) -> None:
    section = table.setdefault("mattress", {})
    if not isinstance(section, dict):
        raise InputError("mattress", section, "must be a table")
    for key in ("width", "length"):
        section.pop(key, None)
    section.update(values)


def _mattress(text: str, unit: LengthUnit) -> Table:
    try:
        width, length, thickness = parse_mattress(text, unit)
    except ValueError as failure:
        raise InputError("--mattress", text, str(failure)) from None
    values: Table = {"width": f"{width} mm", "length": f"{length} mm"}
    if thickness is not None:
        values["thickness"] = f"{thickness} mm"
    return values


def _change(table: Table, change: str) -> None:
    """Set one parameter from a text such as ``headboard.board.2.width=9 in``."""
    name, equals, value = change.partition("=")
    steps = name.strip().split(".")
    if not equals or not all(steps):
        raise InputError("--set", change, "must be PARAMETER=VALUE", "for example leg.splay=6")
    place: Any = table
    for i, step in enumerate(steps[:-1]):
        place = _step_into(place, step, ".".join(steps[: i + 1]), change)
    if not isinstance(place, dict):
        raise InputError("--set", change, f"{'.'.join(steps[:-1])} has no parameters")
    if value.strip() == "auto":  # back to the default, worked out where it can be
        place.pop(steps[-1], None)
        return
    place[steps[-1]] = _plain_value(value.strip())


def _step_into(place: Any, step: str, name: str, change: str) -> Any:
    if isinstance(place, list):
        if step.isdigit() and 1 <= int(step) <= len(place):
            return place[int(step) - 1]
        raise InputError("--set", change, f"{name}: number must be 1 to {len(place)}")
    if not isinstance(place, dict):
        raise InputError("--set", change, f"{name} is not a table")
    return place.setdefault(step, {})


def _plain_value(text: str) -> Any:
    """A bare number is a number, so that it takes the sheet's unit; the rest is text."""
    for read in (int, float):
        try:
            return read(text)
        except ValueError:
            continue
    return text


def _first_error(failure: ValidationError, unit: LengthUnit) -> InputError:
    error = failure.errors(include_url=False)[0]
    steps = [s for s in error["loc"] if isinstance(s, str | int)]
    parameter = ".".join(str(s + 1) if isinstance(s, int) else s for s in steps)
    kind, value = error["type"], error.get("input")
    if kind == "extra_forbidden":
        return _unknown(steps, parameter)
    if isinstance(value, dict | list):
        value = f"a {'table' if isinstance(value, dict) else 'list'}"
    field = _field(steps)
    allowed = _reason(kind, error, field, unit)
    if kind in ("greater_than_equal", "less_than_equal"):
        remedy = "set it within the range"
    else:
        remedy = field.description if field is not None and field.description else ""
    return InputError(parameter, value, allowed, remedy)


def _reason(kind: str, error: Any, field: FieldInfo | None, unit: LengthUnit) -> str:
    allowed = _range(field, unit)
    if kind == "literal_error":
        return f"must be {error['ctx']['expected']}"
    if kind == "value_error":
        return f"{error['ctx']['error']}{f', {allowed}' if allowed else ''}"
    if kind == "string_pattern_mismatch":
        return "must be small letters, digits and hyphens, starting with a letter"
    return allowed or str(error["msg"])


def _range(field: FieldInfo | None, unit: LengthUnit) -> str:
    if field is None or not isinstance(field.json_schema_extra, dict):
        return ""
    extra: Mapping[str, Any] = field.json_schema_extra
    if "low" not in extra:
        return ""
    low, high = float(extra["low"]), float(extra["high"])
    if extra["quantity"] == "length":
        return f"must be a length of {format_length(low, unit)} to {format_length(high, unit)}"
    if extra["quantity"] == "angle":
        return f"must be an angle of {low:g} to {high:g} deg"
    return f"must be a whole number of {low:g} to {high:g}"


def _unknown(steps: list[str | int], parameter: str) -> InputError:
    import difflib

    model = _model(steps[:-1])
    known = list(model.model_fields) if model is not None else []
    near = difflib.get_close_matches(str(steps[-1]), known, n=1, cutoff=0.5)
    prefix = parameter.rpartition(".")[0]
    remedy = f"did you mean {prefix + '.' if prefix else ''}{near[0]}?" if near else ""
    if not near:
        elsewhere = [name for name, _ in parameters() if name.endswith(f".{steps[-1]}")]
        remedy = f"did you mean {elsewhere[0]}?" if elsewhere else "bedmodel parameters lists all"
    return InputError(parameter, None, "no such parameter", remedy)


def _model(steps: Sequence[str | int]) -> type[BaseModel] | None:
    model: type[BaseModel] | None = Sheet
    for step in steps:
        if isinstance(step, int):
            continue
        if model is None or step not in model.model_fields:
            return None
        model = _inner(model.model_fields[step])
    return model


def _field(steps: Sequence[str | int]) -> FieldInfo | None:
    names = [s for s in steps if isinstance(s, str)]
    model = _model(names[:-1]) if names else None
    return model.model_fields.get(names[-1]) if model is not None else None


def _inner(field: FieldInfo) -> type[BaseModel] | None:
    """The table that a field holds, or a list of them."""
    for candidate in (field.annotation, *getattr(field.annotation, "__args__", ())):
        if isinstance(candidate, type) and issubclass(candidate, BaseModel):
            return candidate
    return None


def parameters() -> Iterator[tuple[str, FieldInfo]]:
    """Every parameter by its dotted name, in the order of the sheet; N numbers a list."""
    yield from _walk(Sheet, "")


def _walk(model: type[BaseModel], prefix: str) -> Iterator[tuple[str, FieldInfo]]:
    for name, field in model.model_fields.items():
        inner = _inner(field)
        if inner is None:
            yield f"{prefix}{name}", field
        else:
            many = field.annotation is not inner
            yield from _walk(inner, f"{prefix}{name}.{'N.' if many else ''}")
