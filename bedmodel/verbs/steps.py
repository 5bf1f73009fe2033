"""``bedmodel steps``: the order of work, from rough boards to the hung bed."""

from __future__ import annotations

import argparse
import json
import shutil
import textwrap
from typing import TYPE_CHECKING

from bedmodel.verbs.asked import asked_layout

if TYPE_CHECKING:
    from bedmodel.shop.steps import Step

WIDEST = 96  # letters, of a line that is read with ease


def run(arguments: argparse.Namespace) -> int:
    """Print the steps. Raises InputError for a bad sheet or shop."""
    from bedmodel.pieces import make_pieces
    from bedmodel.shop.order_of_work import steps
    from bedmodel.shop.steps import steps_record
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.cut_list import cut_list

    layout = asked_layout(arguments)
    pieces = make_pieces(layout)
    shop = load_profile(arguments.shop)
    cuts = cut_list(pieces, shop, layout.sheet.design.unit, layout)
    found = steps(layout, cuts, tuple(piece.name for piece in pieces), shop)
    if arguments.json:
        print(json.dumps(steps_record(found, cuts), indent=1, ensure_ascii=False, allow_nan=False))
        return 0
    print(f"{layout.sheet.design.title}: {len(found)} steps")
    for number, step in enumerate(found, start=1):
        print(f"\n{_text(number, step)}")
    return 0


def _text(number: int, step: Step) -> str:
    lines = [f"{number}. {step.title}  ({step.place})"]
    if step.parts:
        lines += _wrapped("parts: " + ", ".join(name.replace("_", " ") for name in step.parts))
    for does in step.does:
        lines += _wrapped(f"- {does}")
    for setting in step.settings:
        lines += _wrapped(f"  set {setting}")
    if step.jigs:
        lines += _wrapped("jigs: " + ", ".join(step.jigs))
    for caution in step.cautions:
        lines += _wrapped(f"CAUTION {caution}")
    return "\n".join(lines)


def _wrapped(text: str) -> list[str]:
    wide = min(shutil.get_terminal_size().columns, WIDEST)
    return textwrap.wrap(text, wide, initial_indent="   ", subsequent_indent="     ")
