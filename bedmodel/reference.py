"""The list of parameters in every form it is shown: text, JSON schema, Markdown.

All come from the fields of ``spec``, so the reference cannot differ from what is
checked.
"""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from bedmodel.sheets import parameters
from bedmodel.spec import Sheet

LENGTH_TEXT = r"^[^\n]{1,60}$"

MARKDOWN_HEAD = """\
# Parameters of a sheet

Made by `bedmodel parameters --markdown`; do not edit by hand.

A length is a number in the sheet's unit (`design.unit`) or text with its own unit:
`"7 1/2 in"`, `"44 mm"`, `"6 ft 6 in"`. In a list of tables, such as
`[[headboard.board]]`, `N` stands for the table's place in it, from 1.
"""


@dataclass(frozen=True)
class Parameter:
    """One parameter as shown to a person."""

    name: str
    quantity: str
    default: str
    range: str
    help: str

    def record(self) -> dict[str, str]:
        return asdict(self)


def all_parameters() -> Iterator[Parameter]:
    """Every parameter, in the order of the sheet."""
    for name, field in parameters():
        extra = _extra(field)
        yield Parameter(
            name=name,
            quantity=str(extra.get("quantity", "text")),
            default=_default(field, extra),
            range=_range(field, extra),
            help=field.description or "",
        )


def _extra(field: FieldInfo) -> dict[str, Any]:
    return dict(field.json_schema_extra) if isinstance(field.json_schema_extra, dict) else {}


def _unit(extra: dict[str, Any]) -> str:
    quantity = str(extra.get("quantity"))
    if quantity == "number" and extra["unit"]:
        return f" {extra['unit']}"
    return {"length": " mm", "angle": " deg"}.get(quantity, "")


def _default(field: FieldInfo, extra: dict[str, Any]) -> str:
    if field.default is None:
        return str(extra.get("worked_out", "none"))
    if isinstance(field.default, str):
        return f'"{field.default}"'
    return f"{field.default:g}{_unit(extra)}"


def _range(field: FieldInfo, extra: dict[str, Any]) -> str:
    if "low" in extra:
        return f"{extra['low']:g} to {extra['high']:g}{_unit(extra)}"
    choices = _choices(field.annotation)
    return " | ".join(choices) if choices else "text"


def _choices(annotation: Any) -> list[str]:
    if get_origin(annotation) is Literal:
        return [str(value) for value in get_args(annotation)]
    if isinstance(annotation, types.UnionType):
        return [c for inner in get_args(annotation) for c in _choices(inner)]
    return []


def markdown() -> str:
    """The reference of all parameters."""
    lines, section = [MARKDOWN_HEAD], ""
    for p in all_parameters():
        head = p.name.rpartition(".")[0]
        if head != section:
            section = head
            title = head.removesuffix(".N")
            lines.append(f"\n## {title}{' (a list)' if head.endswith('.N') else ''}\n")
            lines.append("| parameter | default | range | what it is |")
            lines.append("|---|---|---|---|")
        cells = (f"`{p.name}`", p.default, p.range.replace("|", "or"), p.help)
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def schema() -> dict[str, Any]:
    """JSON schema of a sheet: lengths and angles may be numbers or text."""
    made = Sheet.model_json_schema()
    made["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    made["title"] = "bedmodel sheet"
    for part in (made, *made.get("$defs", {}).values()):
        for entry in part.get("properties", {}).values():
            _as_written(entry)
    return made


def _as_written(entry: dict[str, Any]) -> None:
    """Say of one parameter what may stand in a file, which has no null and its own unit."""
    quantity = entry.get("quantity")
    if quantity in ("length", "angle"):
        _open_to_text(entry, str(quantity))
    elif "anyOf" in entry:
        kept = [form for form in entry.pop("anyOf") if form != {"type": "null"}]
        entry.update(kept[0])
    # A table's default is the defaults of its parameters.
    if entry.get("default") is None or isinstance(entry["default"], dict | list):
        entry.pop("default", None)
    for key in ("quantity", "low", "high", "unit", "worked_out"):
        entry.pop(key, None)


def _open_to_text(entry: dict[str, Any], quantity: str) -> None:
    """Let a length or angle be text too; its number is in the sheet's unit, so unranged."""
    for key in ("minimum", "maximum", "type", "anyOf"):
        entry.pop(key, None)
    entry["anyOf"] = [{"type": "number"}, {"type": "string", "pattern": LENGTH_TEXT}]
    unit = "mm" if quantity == "length" else "deg"
    entry["description"] += f" ({entry['low']:g} to {entry['high']:g} {unit})"
    if entry.get("default") is not None:
        entry["default"] = f"{entry['default']:g} {unit}"
