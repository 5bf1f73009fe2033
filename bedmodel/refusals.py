"""What a sheet got wrong, in one line: the parameter, its value, the range and a remedy."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from bedmodel.errors import InputError
from bedmodel.fields import ONE_LINE
from bedmodel.spec import Sheet
from bedmodel.units import MM_PER_INCH, LengthUnit, format_length, format_number

_INDEX = re.compile(r"[0-9]{1,4}")
_BOUNDS = ("greater_than_equal", "less_than_equal")
# How pydantic calls what is wrong, and how a maker would.
_REASONS = {
    "model_type": "must be a table",
    "tuple_type": "must be a list of tables",
    "string_type": "must be text",
    "string_unicode": "must be text in UTF-8",
    "string_too_long": "must be at most {max_length} characters",
    "missing": "must be given",
    "too_short": "must have at least {min_length}",
    "too_long": "must have at most {max_length}",
}
_REMEDIES = {
    "length": "give a number in the sheet's unit, or text with a unit of its own",
    "angle": "give a number of degrees",
    "number": "give a number without quotes",
    "count": "give a number without a fraction and without quotes",
    "choice": "write one of these",
    "text": "change or shorten it",
}


def first_error(
    failure: ValidationError, table: Mapping[str, Any], unit: LengthUnit, root: type[BaseModel]
) -> InputError:
    error = failure.errors(include_url=False)[0]
    steps = [s for s in error["loc"] if isinstance(s, str | int)]
    parameter = ".".join(str(s + 1) if isinstance(s, int) else shortened(s, 60) for s in steps)
    kind = error["type"]
    if kind == "extra_forbidden":
        return _unknown(steps, parameter, root)
    field = field_at(steps, root)
    # The value as the maker wrote it: pydantic would give it in mm.
    value = None if kind == "missing" else shown(_given(table, steps))
    return InputError(
        parameter, value, _reason(kind, error, field, unit), _remedy(kind, field, parameter)
    )


def _given(table: Mapping[str, Any], steps: Sequence[str | int]) -> Any:
    place: Any = table
    for step in steps:
        place = place[step]
    return place


def shown(value: Any) -> Any:
    """A value as a sheet would have it, and never too long to print."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and value.bit_length() > 256:
        return "a number of too many digits"
    return value


def shortened(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 3]}..."


def _reason(kind: str, error: Any, field: FieldInfo | None, unit: LengthUnit) -> str:
    allowed, context = _range(field, unit), error.get("ctx", {})
    if kind == "literal_error":
        return f"must be {context['expected']}"
    if kind == "value_error":
        return f"{context['error']}{f'; it {allowed}' if allowed else ''}"
    if kind == "string_pattern_mismatch":
        if context["pattern"] == ONE_LINE:
            return "must be one line of printable characters"
        return "must be small letters, digits and hyphens, starting with a letter"
    return allowed or _REASONS.get(kind, str(error["msg"])).format_map(context)


def _remedy(kind: str, field: FieldInfo | None, parameter: str) -> str:
    if kind in _BOUNDS:
        return "set it within the range"
    alone = field is not None and inner_table(field) is field.annotation
    if kind == "model_type" and ("." not in parameter or alone):
        return f"write it as [{parameter}]"
    if kind in ("model_type", "tuple_type", "too_short", "too_long"):
        return f"write each as [[{re.sub('[.][0-9]+$', '', parameter)}]]"
    return _REMEDIES.get(quantity_of(field), "")


def quantity_of(field: FieldInfo | None) -> str:
    extra = field.json_schema_extra if field is not None else None
    return str(extra.get("quantity", "")) if isinstance(extra, dict) else ""


def _range(field: FieldInfo | None, unit: LengthUnit) -> str:
    if field is None or not isinstance(field.json_schema_extra, dict):
        return ""
    extra: Mapping[str, Any] = field.json_schema_extra
    if "low" not in extra:
        return ""
    low, high = float(extra["low"]), float(extra["high"])
    if extra["quantity"] == "length":
        inches = f" ({_inches(low, high)})" if unit == "inch" else ""
        return f"must be a length of {low:g} to {high:g} mm{inches}"
    if extra["quantity"] == "angle":
        return f"must be an angle of {low:g} to {high:g} deg"
    if extra["quantity"] == "number":
        return f"must be a number of {low:g} to {high:g} {extra['unit']}".rstrip()
    return f"must be a whole number of {low:g} to {high:g}"


def _inches(low: float, high: float) -> str:
    """A range in 64ths that lie inside it, so that both ends as printed are accepted."""
    step = MM_PER_INCH / 64
    first, last = math.ceil(low / step - 1e-9) * step, math.floor(high / step + 1e-9) * step
    return f"{format_number(first, 'inch')} to {format_length(last, 'inch')}"


def _unknown(steps: list[str | int], parameter: str, root: type[BaseModel]) -> InputError:
    import difflib

    model = model_at(steps[:-1], root)
    known = list(model.model_fields) if model is not None else []
    elsewhere = [name for name, _ in walk(root, "") if name.endswith(f".{steps[-1]}")]
    near = difflib.get_close_matches(str(steps[-1])[:60], known, n=1, cutoff=0.5)
    remedy = "bedmodel parameters lists all"
    if root is not Sheet:
        remedy = f"there are {', '.join(known)}"
    if elsewhere:
        remedy = f"did you mean {elsewhere[0]}?"
    elif near:
        prefix = parameter.rpartition(".")[0]
        remedy = f"did you mean {prefix + '.' if prefix else ''}{near[0]}?"
    return InputError(parameter or '""', None, "no such parameter", remedy)


def model_at(steps: Sequence[str | int], root: type[BaseModel] = Sheet) -> type[BaseModel] | None:
    model: type[BaseModel] | None = root
    for step in steps:
        if isinstance(step, int):
            continue
        if model is None or step not in model.model_fields:
            return None
        model = inner_table(model.model_fields[step])
    return model


def field_at(steps: Sequence[str | int], root: type[BaseModel] = Sheet) -> FieldInfo | None:
    """The field at a place; steps into a list are numbers, or digits on the command line."""
    names = [s for s in steps if isinstance(s, str) and not _INDEX.fullmatch(s)]
    model = model_at(names[:-1], root) if names else None
    return model.model_fields.get(names[-1]) if model is not None else None


def inner_table(field: FieldInfo) -> type[BaseModel] | None:
    """The table that a field holds, or a list of them."""
    for candidate in (field.annotation, *getattr(field.annotation, "__args__", ())):
        if isinstance(candidate, type) and issubclass(candidate, BaseModel):
            return candidate
    return None


def walk(model: type[BaseModel], prefix: str) -> Iterator[tuple[str, FieldInfo]]:
    for name, field in model.model_fields.items():
        inner = inner_table(field)
        if inner is None:
            yield f"{prefix}{name}", field
        else:
            many = field.annotation is not inner
            yield from walk(inner, f"{prefix}{name}.{'N.' if many else ''}")
