"""What things are called in the report, and text made safe to stand in its HTML."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable
from typing import Any

from bedmodel.bed import Kind
from bedmodel.materials import material
from bedmodel.spec import Sheet

_TOGETHER = "\u00a0"
_HANDS = ("left", "right")
_IN_SCRIPT = {
    "<": "\\u003c",
    ">": "\\u003e",
    "&": "\\u0026",
    "\u2028": "\\u2028",
    "\u2029": "\\u2029",
}


def titled(name: str) -> str:
    """A piece's or a kind's name as a person reads it: ``slat_03`` is "Slat 3"."""
    base, _, hand = name.rpartition("_")
    words, side = (base, f", {hand}") if hand in _HANDS and base else (name, "")
    said = re.sub(r"\b0+(\d)", r"\1", words.replace("_", " "))
    return f"{said[:1].upper()}{said[1:]}{side}"


def sides(show: Callable[[float], str], *lengths: float) -> str:
    """Lengths in one line, the unit said once where it is one for all; broken only at a ×."""
    shown = [show(length) for length in lengths]
    unit = f" {shown[0].rpartition(' ')[2]}"
    if all(text.endswith(unit) for text in shown):
        shown = [*(text.removesuffix(unit) for text in shown[:-1]), shown[-1]]
    return " × ".join(text.replace(" ", _TOGETHER) for text in shown)


def size_of(kind: Kind, sheet: Sheet) -> str:
    """Length along the grain, width and thickness, in the sheet's unit."""
    return sides(sheet.show, *kind.shape.blank)


def stuff_of(kind: Kind, sheet: Sheet) -> str:
    """The wood or the metal."""
    return material(kind.species, sheet.own_woods).label


def counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def safe(text: object) -> str:
    """Text as it stands between tags, or in a quoted attribute."""
    return html.escape(str(text), quote=True)


def data_block(identity: str, record: Any) -> str:
    """JSON for the page's script; nothing in it can end the block or begin a tag."""
    text = json.dumps(record, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    for letter, told in _IN_SCRIPT.items():
        text = text.replace(letter, told)
    return f'<script type="application/json" id="{identity}">{text}</script>'
