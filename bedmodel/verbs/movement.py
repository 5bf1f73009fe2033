"""``bedmodel movement``: what the seasons do to the wood, and what room it needs."""

from __future__ import annotations

import argparse
import json

from bedmodel.movement.parts import BoardFixing, Movement, movement
from bedmodel.movement.record import movement_record
from bedmodel.skeleton import Layout
from bedmodel.strength.words import plain
from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.reckoned import cautions, percent
from bedmodel.verbs.terminal import paragraph, table, verdict


def run(arguments: argparse.Namespace) -> int:
    """Reckon a bed's wood movement; 0 when its boards can move and are not likely to split."""
    layout = asked_layout(arguments)
    found = movement(layout)
    if arguments.json:
        print(json.dumps(movement_record(found), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(movement_text(layout, found))
    return 0 if found.passed else 1


def movement_text(layout: Layout, found: Movement) -> str:
    """All that is printed of one bed."""
    climate, show = found.climate, layout.sheet.show
    mark = "" if climate.status == "confirmed" else f" [{climate.status}]"
    head = (
        f"{layout.sheet.design.title}: made at {percent(found.made_moisture)} moisture, standing "
        f"in {climate.label}{mark}, where wood goes from {percent(climate.low)} to "
        f"{percent(climate.high)}. Plus grows, minus shrinks."
    )
    parts = [
        [plain(p.part), p.what, show(p.size), _signed(p.dry), _signed(p.damp)] for p in found.parts
    ]
    fixings = [_fixing_row(layout, fixing) for fixing in found.fixings]
    effects = [[e.what, _signed(e.dry), _signed(e.damp), e.meaning] for e in found.effects]
    lines = [
        paragraph(head),
        "",
        table(parts, ["part", "across the grain", "as made", "driest", "dampest"], "  rrr"),
        "",
        table(fixings, ["board's ends", "glued over", "may split", "dry tenons have, need"], " r"),
        "",
        table(effects, ["what it does", "driest", "dampest", "what it means"], " rr"),
    ]
    if found.panels:
        rows = [
            [
                plain(p.panel),
                f"{p.swells:.1f} of {p.room:.1f} mm",
                f"{p.depth - p.shrinks:.1f} of {p.least:.1f} mm",
            ]
            for p in found.panels
        ]
        heads = ["floating panel, each edge", "swells, of its room", "stays in, of the least"]
        lines += ["", table(rows, heads, " rr")]
    if found.slots:
        slots = [
            [s.where, show(s.away), f"{s.travel:.1f} mm", f"{s.length:.1f} mm"] for s in found.slots
        ]
        heads = ["screwed across the grain", "from the middle", "travel", "slot for it"]
        lines += ["", table(slots, heads, " rrr")]
    failed = [fixing.board for fixing in found.fixings if not fixing.passed]
    failed += [panel.panel for panel in found.panels if not panel.passed]
    told = "boards can move, and are not likely to split"
    if failed:
        told = f"look at {', '.join(plain(name) for name in failed)}"
    lines += ["", "rests on", *(paragraph(line, "  ") for line in found.assumptions)]
    lines += [cautions(), "", f"{verdict(not failed)}: {told}"]
    return "\n".join(lines)


def _fixing_row(layout: Layout, fixing: BoardFixing) -> list[str]:
    dry = [f"{tenon.has:.1f} of {tenon.needs:.1f} mm" for tenon in fixing.tenons]
    borrowed = fixing.splitting.borrowed
    risk = f"{fixing.splitting.risk} risk"
    if borrowed:
        risk += f" [{', '.join(borrowed)}: the least favourable wood's]"
    return [
        plain(fixing.board),
        layout.sheet.show(fixing.glued_height),
        risk,
        ", ".join(dict.fromkeys(dry)) or "none",
    ]


def _signed(mm: float) -> str:
    """A travel to 0.1 mm."""
    return f"{round(mm, 1) + 0.0:+.1f} mm" if abs(mm) >= 0.05 else "0"
