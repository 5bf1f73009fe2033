"""Whether the empty bed tips when somebody leans on its headboard: plain statics.

                  push ->.   height of the highest board's top
       <- back            \\
                           \\          weight, at its own middle
    rear edge of the        \\            |
    head feet, on the floor  /|__________v________ ...
                            ^
A head end that leans back has its feet nearer to the foot of the bed and its top further
out, so the same push needs less weight to be answered.
"""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.skeleton import Layout
from bedmodel.strength.bed_frame import at_rest
from bedmodel.strength.bed_model import bed_model
from bedmodel.strength.ends import highest_board
from bedmodel.strength.members import Basis


@dataclass(frozen=True)
class Tipping:
    """Push (N) towards the head at which the foot legs lift, and what it follows from (N, mm)."""

    push_n: float
    weight_n: float
    middle_y: float
    edge_y: float
    height: float


def tipping(layout: Layout, basis: Basis) -> Tipping:
    """The bed and its mattress, nobody in it, pushed at the headboard's top."""
    model = bed_model(layout, basis.rules, basis.rules.hook_firm_knm)
    load = at_rest(model, layout, basis.loads)
    nodes = model.frame.nodes
    weight = turning = 0.0
    for i, (_, _, per_mm) in load.members.items():
        member = model.frame.members[i]
        start, end = nodes[member.start], nodes[member.end]
        ends = [
            (a + b, c + d, e + f)
            for (a, c, e), (b, d, f) in ((start, member.arm_start), (end, member.arm_end))
        ]
        span = sum((p - q) ** 2 for p, q in zip(*ends, strict=True)) ** 0.5
        weight -= per_mm * span
        turning -= per_mm * span * (ends[0][1] + ends[1][1]) / 2
    head = layout.head
    out = -layout.sheet.leg.thickness
    _, edge, _ = head.lean.point((0.0, out, head.lean.along(0.0, out)))
    height = head.lean.plumb(highest_board(head).top)
    middle = turning / weight
    return Tipping(max(0.0, weight * (middle - edge) / height), weight, middle, edge, height)
