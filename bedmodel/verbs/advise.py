"""``bedmodel advise``: how thin, how many, how heavy, how high; each answer tried on the bed."""

from __future__ import annotations

import argparse
import json
import shlex
from collections.abc import Iterator, Sequence
from typing import Any

from bedmodel.comfort import Advice, comfort
from bedmodel.skeleton import Layout
from bedmodel.strength import CAUTIONS
from bedmodel.strength.advice import Suggestion, advise
from bedmodel.strength.record import suggestion_record
from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.reckoned import cautions, heading, rests_on
from bedmodel.verbs.terminal import paragraph, table

FEET_QUESTION = "how thin may the centre rail be"


def run(arguments: argparse.Namespace) -> int:
    """Answer a maker's questions; 0 always, since advice is no failure."""
    layout = asked_layout(arguments)
    said, told = advise(layout), comfort(layout)
    if arguments.json:
        print(json.dumps(_record(said, told), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(advice_text(layout, said, told, asked_again(arguments)))
    return 0


def asked_again(arguments: argparse.Namespace) -> str:
    """The command that reckons the bed as it was asked about, for changes to be added to."""
    words = ["bedmodel", "strength", *([arguments.sheet] if arguments.sheet else [])]
    for name in ("size", "mattress"):
        if getattr(arguments, name) is not None:
            words += [f"--{name}", getattr(arguments, name)]
    return f"{shlex.join(words)} {settings(arguments.changes)}".rstrip()


def _record(said: Sequence[Suggestion], told: Sequence[Advice]) -> dict[str, Any]:
    return {
        "answers": [suggestion_record(each) for each in said],
        "heights_and_gaps": [
            {
                "topic": each.topic,
                "measured": round(each.measured, 1),
                "low": each.low,
                "high": each.high,
                "verdict": each.verdict,
                "text": each.text,
                "source": each.source,
                "parameter": each.parameter,
            }
            for each in told
        ],
        "cautions": list(CAUTIONS),
    }


def advice_text(
    layout: Layout, said: Sequence[Suggestion], told: Sequence[Advice], again: str
) -> str:
    """All that is printed of one bed."""
    lines = [heading(layout), ""]
    by_feet = [each for each in said if each.question.startswith(FEET_QUESTION)]
    for each in said:
        if each not in by_feet:
            lines += [*_answer(each, again), ""]
    if by_feet:
        lines += [f"{FEET_QUESTION}, by the number of its feet?", _feet_table(by_feet)]
        notes = {note for each in by_feet for note in each.caution.split("; ") if note}
        lines += [paragraph(f"caution: {note}", "  ") for note in sorted(notes)]
        lines.append("")
    lines += ["heights, gaps and edges: advice, of beds in homes no code asks any of this"]
    lines += list(_heights(told))
    tried = "each answer was tried: with its --set the part is within its limits, a step less not"
    lines += ["", paragraph(tried), rests_on(layout), cautions()]
    return "\n".join(lines)


def _answer(each: Suggestion, again: str) -> Iterator[str]:
    now = "the bed as it is will do" if each.enough_now else "the bed as it is will not do"
    yield each.question
    yield paragraph(each.text, "  ")
    yield paragraph(f"{now}; decided by {each.governs}" if each.governs else now, "  ")
    if each.changes:
        # In one line whatever the width, so that it can be copied.
        yield f"  try it: {again} {settings(each.changes)}"
    if each.caution:
        yield paragraph(f"caution: {each.caution}", "  ")


def settings(changes: Sequence[str]) -> str:
    """Changes as they are given on the command line."""
    return " ".join(f"--set {shlex.quote(change)}" for change in changes)


def _feet_table(by_feet: Sequence[Suggestion]) -> str:
    rows = []
    for feet, each in enumerate(by_feet, 1):
        values = dict(change.partition("=")[::2] for change in each.changes)
        least = values.get(each.parameter, "no")
        reason = each.governs.partition(": ")[2] if each.changes else each.text
        if "centre_rail.ends" in values:
            reason += ", its ends on cleats (centre_rail.ends=cleats)"
        rows.append([str(feet), least, values.get("support_foot.end_inset", ""), reason])
    heads = ["feet", "centre_rail.height", "support_foot.end_inset", "decided by"]
    return table(rows, heads, "rrr")


def _heights(told: Sequence[Advice]) -> Iterator[str]:
    marks = {"inside": "fine", "outside": "look", "told": "note"}
    for each in told:
        lead = f"  {marks[each.verdict]}  "
        yield paragraph(f"{each.text} ({each.source})", lead)
