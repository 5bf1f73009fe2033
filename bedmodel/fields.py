"""How one parameter of a sheet is written down: its unit, default, range and help.

Each helper makes a pydantic field whose description, range and unit are read
again by the parameter list, the JSON schema, the reference and the error texts,
so that they cannot differ. Lengths are millimetres inside; a sheet may give a
number in its own unit, or text such as "7 1/2 in".
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo

from bedmodel.figures import figures
from bedmodel.units import LengthUnit, parse_angle, parse_length

EdgeStyle = Literal["square", "roundover", "chamfer"]
EDGE = "How the long edges are eased."
EDGE_SIZE = "Radius of the roundover, or width of the chamfer."

Quantity = Literal["length", "angle", "count", "number", "text", "choice"]

# Text that is safe on a terminal and on a drawing: no line ends, no escape codes, nothing
# that turns the direction of writing. Written so that Rust, Python and ECMA all read it.
ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]*$"


def _to_mm(value: Any, info: ValidationInfo) -> float:
    unit: LengthUnit = (info.context or {}).get("unit", "mm")
    return parse_length(value, unit)


def _to_degrees(value: Any) -> float:
    return parse_angle(value)


Length = Annotated[float, BeforeValidator(_to_mm)]
Angle = Annotated[float, BeforeValidator(_to_degrees)]


class Section(BaseModel):
    """A table of a sheet: frozen, and no key but its own."""

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=False)


def length(
    default: float | None, low: float, high: float, text: str, *, worked_out: str = ""
) -> Any:
    """A length in mm between ``low`` and ``high``; without a default it is ``worked_out``."""
    return _field(default, "length", text, low, high, worked_out)


def angle(default: float, low: float, high: float, text: str) -> Any:
    """An angle in degrees between ``low`` and ``high``."""
    return _field(default, "angle", text, low, high, "")


def count(default: int | None, low: int, high: int, text: str, *, worked_out: str = "") -> Any:
    """A whole number between ``low`` and ``high``; without a default it is ``worked_out``."""
    # Strict, or true and "2" would count too.
    return _field(default, "count", text, low, high, worked_out, strict=True)


def number(
    default: float | None, low: float, high: float, unit: str, text: str, *, worked_out: str = ""
) -> Any:
    """A number between ``low`` and ``high`` in ``unit``, which the sheet's own does not change."""
    # Strict, or true and "2" would be numbers too.
    made = _field(default, "number", text, low, high, worked_out, strict=True)
    made.json_schema_extra["unit"] = unit
    return made


def figure(file_name: str, name: str, low: float, high: float) -> Any:
    """A figure of a table of ``data/``, with what it is, where it is from and how sure it is."""
    row = figures(file_name)[name]
    mark = "" if row.status == "confirmed" else f" [{row.status}]"
    text = f"{row.meaning[0].upper()}{row.meaning[1:]}; {row.source}{mark}."
    if row.unit == "mm":
        return length(row.value, low, high, text)
    return number(row.value, low, high, row.unit, text)


def choice(default: str, text: str) -> Any:
    """One of the words that the field's type lists."""
    return Field(default, description=text, json_schema_extra={"quantity": "choice"})


def words(
    default: str | None,
    text: str,
    *,
    pattern: str | None = None,
    limit: int = 200,
    worked_out: str = "",
) -> Any:
    """One line of text of at most ``limit`` characters, or of one ``pattern``."""
    extra: dict[str, Any] = {"quantity": "text"}
    if worked_out:
        extra["worked_out"] = worked_out
    return Field(
        default,
        description=text,
        pattern=pattern or ONE_LINE,
        max_length=limit,
        json_schema_extra=extra,
    )


def _field(
    default: float | None,
    quantity: Quantity,
    text: str,
    low: float,
    high: float,
    worked_out: str,
    *,
    strict: bool | None = None,
) -> Any:
    extra: dict[str, Any] = {"quantity": quantity, "low": low, "high": high}
    if worked_out:
        extra["worked_out"] = worked_out
    return Field(
        default,
        description=text,
        ge=low,
        le=high,
        allow_inf_nan=False,
        strict=strict,
        json_schema_extra=extra,
    )
