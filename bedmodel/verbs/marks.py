"""``bedmodel marks``: what to mark on each part before its joints are cut."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bedmodel.errors import InputError
from bedmodel.verbs.terminal import on_terminal, table

if TYPE_CHECKING:
    from bedmodel.shop.marks import Mark
    from bedmodel.shop.setting_out import PartMarks
    from bedmodel.shop.story_stick import Stick
    from bedmodel.skeleton import Layout


def run(arguments: argparse.Namespace) -> int:
    """Print the marks. Raises InputError for a bad sheet or a part that is not there."""
    from bedmodel.pieces import make_pieces
    from bedmodel.shop.setting_out import marks_record, setting_out
    from bedmodel.shop.story_stick import story_sticks
    from bedmodel.verbs.asked import asked_layout

    layout = asked_layout(arguments)
    pieces = make_pieces(layout)
    parts = _chosen(setting_out(layout, pieces), getattr(arguments, "part", None))
    names = {part.kind for part in parts}
    stems = {
        piece.removesuffix("_left").removesuffix("_right") for p in parts for piece in p.pieces
    }
    sticks = [stick for stick in story_sticks(layout) if stems.intersection(stick.parts)]
    if arguments.json:
        record = marks_record(layout, pieces)
        kept = {stick.name for stick in sticks}
        record["parts"] = [part for part in record["parts"] if part["kind"] in names]
        record["sticks"] = [stick for stick in record["sticks"] if stick["name"] in kept]
        print(json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(marks_text(layout, parts, sticks))
    return 0


def _chosen(parts: Sequence[PartMarks], wanted: str | None) -> list[PartMarks]:
    """The kinds whose name, or the name of one of whose pieces, starts as asked."""
    if not wanted:
        return list(parts)
    found = [part for part in parts if any(n.startswith(wanted) for n in (part.kind, *part.pieces))]
    if not found:
        names = ", ".join(part.kind for part in parts)
        raise InputError("part", wanted, f"must be one of {names}", "or the beginning of one")
    return found


def marks_text(layout: Layout, parts: Sequence[PartMarks], sticks: Sequence[Stick]) -> str:
    """A table for each kind of part, left and right together, then the story sticks."""
    from bedmodel.shop.pairs import in_pairs
    from bedmodel.shop.setting_out import RULE

    blocks = [on_terminal(f"{layout.sheet.design.title}. {RULE}")]
    blocks += [_part_text(group) for group in in_pairs(parts)]
    blocks += [_stick_text(layout, stick) for stick in sticks]
    return "\n\n".join(blocks)


def _part_text(group: Sequence[PartMarks]) -> str:
    part = group[0]
    names = " and ".join(each.kind for each in group)
    count = sum(each.count for each in group)
    hands = [hand for hand in ("left", "right") if any(hand in each.hands for each in group)]
    side = f" ({' and '.join(hands)})" if hands else ""
    lines = [f"{names}: {count}{side}"]
    if part.reason:
        lines.append(f"  nothing to mark: {part.reason}")
    else:
        rows = [
            [row.reference if i == 0 else "", *_cells(mark)]
            for row in part.rows
            for i, mark in enumerate(row.marks)
        ]
        lines.append(table(rows, ["reference", "mark", "at", "true mm", "rounding"], "  rrr"))
    return "\n".join([*lines, *(on_terminal(f"  - {note}", "    ") for note in part.notes)])


def _stick_text(layout: Layout, stick: Stick) -> str:
    rows = [_cells(mark) for mark in stick.marks]
    return "\n".join(
        [
            on_terminal(
                f"story stick {stick.name}: {layout.sheet.show(stick.length)} long, for "
                f"{', '.join(stick.parts)}, from the {stick.datum}"
            ),
            table(rows, ["mark", "at", "true mm", "rounding"], " rrr"),
        ]
    )


def _cells(mark: Mark) -> list[str]:
    error = f"{mark.error:+.3f}"
    return [mark.label, mark.shown, f"{mark.true + 0.0:.3f}", "0" if float(error) == 0 else error]
