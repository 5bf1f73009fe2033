"""The order of work, step by step.

It is common practice: crosscut before ripping, parts that must match cut together, panels
glued before the joints are cut, metal fitted before the finish and taken off for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.angles import told
from bedmodel.screwing import ScrewPlan
from bedmodel.shop.cautions import BENCH, DUST, GLUE, HEAVY, ROUTER, SAW, SCREWS
from bedmodel.shop.steps import Step, Work, machine_settings
from bedmodel.skeleton import Layout
from bedmodel.stock.cut_list import CutItem, CutList

_FASTENER_WORDS = ("plate", "bracket", "bolt", "washer", "barrel_nut", "alignment_dowel")


def steps(layout: Layout, cuts: CutList, pieces: tuple[str, ...]) -> tuple[Step, ...]:
    """The steps in order; ``pieces`` are the names of all pieces of the bed."""
    work = Work(layout, cuts, pieces)
    found: list[Step] = []
    for part in (_rough, _panels, _to_size, _legs, _joints, _fasteners, _platform, _glue, _hang):
        found += part(work)
    return tuple(found)


def _rough(work: Work) -> Iterator[Step]:
    lumber = tuple(item.name for item in work.cuts.lumber)
    yield Step(
        "Mark out the boards",
        "rack",
        lumber,
        (
            "lay the boards out by the board pages and chalk every part with its name",
            "keep the two parts of a pair side by side where colour and grain match",
            "let the wood lie in the shop until its moisture stands still",
        ),
        cautions=(HEAVY,),
    )
    lengths = tuple(
        f"{item.name.replace('_', ' ')}: {_rough_size(work, item)}" for item in work.cuts.lumber
    )
    yield Step(
        "Crosscut to rough length",
        "saw",
        lumber,
        ("crosscut in the order of the numbers on the board pages, before any rip",),
        settings=lengths,
        cautions=(SAW, DUST),
    )
    yield Step(
        "Rip to rough width",
        "saw",
        lumber,
        (
            "straighten one edge first; rip boards wider than the jointer to just under its width",
            "rip in the order of the numbers on the board pages",
        ),
        cautions=(SAW, DUST),
    )
    yield Step(
        "Flatten and plane to thickness",
        "jointer and planer",
        lumber,
        (
            "joint one face and one edge square to it, mark both",
            "plane all parts of one thickness in one run, thick ones first; test pieces go through "
            "with them",
            "short parts go through as one long strip",
        ),
        settings=machine_settings(work, "planer"),
        cautions=(DUST, "never joint or plane a piece shorter than the machine's maker allows"),
    )


def _rough_size(work: Work, item: CutItem) -> str:
    return f"{item.rough_count} of {work.both(item.rough_length)}"


def _panels(work: Work) -> Iterator[Step]:
    wide = tuple(item for item in work.cuts.lumber if item.staves)
    thick = tuple(item for item in work.cuts.lumber if item.layers > 1)
    if not wide and not thick:
        return
    does = [
        f"{i.name.replace('_', ' ')}: {n}"
        for i in (*wide, *thick)
        for n in i.notes
        if "glue" in n or "lamin" in n
    ]
    yield Step(
        "Glue up panels and thick parts",
        "bench",
        tuple(dict.fromkeys(item.name for item in (*wide, *thick))),
        (
            *does,
            "joint the edges fresh, within a day of gluing; clamp to about 0.7 MPa for light wood "
            "and 1.7 MPa for the densest",
            "leave for 7 days at room temperature before planing, or the joints sink later",
        ),
        cautions=(GLUE,),
    )


def _to_size(work: Work) -> Iterator[Step]:
    straight = work.named(lambda name: "leg" not in name)
    yield Step(
        "Rip to finished width",
        "saw",
        straight,
        ("one fence setting for all parts of a width; plane or scrape the sawn edge",),
        settings=machine_settings(work, "rip fence"),
        cautions=(SAW, DUST),
    )
    does = ["one stop for all parts of a length; pairs are cut together, one on the other"]
    yaw, rail = work.layout.yaw, work.layout.sheet.side_rail
    if yaw > 1e-8:
        out = told(math.degrees(yaw), rail.thickness, work.layout.sheet.design.unit)
        does.append(f"side rails: both ends out of square and parallel, {out}")
    yield Step(
        "Crosscut to finished length",
        "saw",
        straight,
        tuple(does),
        settings=machine_settings(work, "crosscut stop"),
        cautions=(SAW, DUST),
    )


def _legs(work: Work) -> Iterator[Step]:
    legs = work.named(lambda name: "leg" in name)
    splayed = work.layout.legs.foot is not None
    does = ["trace the templates on the plank by the leg nest; saw outside the line"]
    jigs = ["leg templates"]
    if splayed:
        does.append(
            "saw the joint faces on the sled, head legs first, then foot legs at its second fence"
        )
        jigs.insert(0, "sled")
    does.append("fix the template on each leg and rout to it; turn it over for the other hand")
    yield Step(
        "Shape the legs",
        "band saw and router",
        legs,
        tuple(does),
        jigs=tuple(jigs),
        cautions=(SAW, ROUTER, DUST) if splayed else (ROUTER, DUST),
    )


def _joints(work: Work) -> Iterator[Step]:
    sheet = work.layout.sheet
    kinds = {sheet.headboard.joint, sheet.footboard.joint}
    legs = work.named(lambda name: "leg" in name)
    boards = work.named(lambda name: "board_board" in name or "board" in name)
    if "loose_tenon" in kinds or "tenon" in kinds:
        yield Step(
            "Cut the mortises",
            "router",
            (*legs, *boards),
            (
                "set out legs in pairs, inside faces up, by the story stick",
                "one plate for each size of mortise; its fence against the inside face",
            ),
            jigs=("mortise plates", "story sticks"),
            cautions=(ROUTER, DUST),
        )
    if "loose_tenon" in kinds:
        yield Step(
            "Make the loose tenons",
            "bench",
            work.named(lambda name: name.startswith("loose_tenon")),
            (
                "plane the strip until it slides into a mortise by hand; round its edges",
                "cut it to length and mark the joint line on each",
            ),
            cautions=(BENCH,),
        )
    if "dowels" in kinds:
        yield Step(
            "Bore the dowel holes",
            "bench",
            (*legs, *boards),
            ("bore board ends and legs through one guide, set from the marks",),
            jigs=("story sticks",),
            cautions=(BENCH,),
        )


def _fasteners(work: Work) -> Iterator[Step]:
    plan = work.layout.fastener
    if plan is None:
        return
    parts = work.named(lambda name: "leg" in name or name == "side_rail")
    words = {
        "hook_plates": (
            "rout the recesses for hook and slot plates, then the pockets behind the slots",
            "bore the pilot holes; drive the screws, then take the metal off again",
        ),
        "brackets": (
            "rout the recesses of both flanges and of the slot plates, then the pockets",
            "bend each bracket to its corner where the rail is not square, see its card",
            "bore the pilot holes; drive the screws, then take the metal off again",
        ),
        "bolts": (
            "bore the counterbore first, then right through the leg; clamp the leg to the rail's "
            "end and go on into the rail",
            "bore the barrels' holes and the alignment dowels' holes by the guide",
        ),
    }
    yield Step(
        "Let in the rails' fasteners",
        "router and bench",
        parts,
        words[plan.kind],
        settings=(
            f"fastener {plan.row.name}",
            f"its middle {work.both(plan.height)} above the floor",
        ),
        jigs=("fastener plates", "story sticks"),
        cautions=(ROUTER, SCREWS, DUST),
    )


def _platform(work: Work) -> Iterator[Step]:
    layout = work.layout
    settings = []
    if layout.runner_screws is not None:
        plan = layout.runner_screws.plan
        settings.append(_screw_setting(work, "runner to rail", plan))
    if layout.slat_screws is not None:
        settings.append(_screw_setting(work, "slat to runner", layout.slat_screws.plan))
    for cleat in layout.cleats[:1]:
        settings.append(_screw_setting(work, "cleat to board", cleat.plan))
    yield Step(
        "Bore runners and slats, screw the runners on",
        "bench",
        work.named(lambda name: name in ("runner", "slat", "side_rail") or name.endswith("cleat")),
        (
            "bore all slats against one stop, both ends alike",
            "set out the runners on the rails by the story stick; screw them on, tops level",
            "ease all edges that are touched, see the parts' sheets",
        ),
        settings=tuple(settings),
        jigs=("story sticks", "slat spacers"),
        cautions=(SCREWS, DUST),
    )


def _screw_setting(work: Work, what: str, plan: ScrewPlan) -> str:
    return (
        f"{what}: screws of gauge {plan.gauge} x {work.both(plan.length)}; counterbore "
        f"{plan.counterbore:.1f} mm, {plan.sunk:.1f} mm deep, clearance {plan.clearance:.1f} mm, "
        f"pilot {plan.pilot:.1f} mm"
    )


def _glue(work: Work) -> Iterator[Step]:
    yield Step(
        "Sand, then fit all without glue",
        "bench",
        tuple(item.name for item in work.cuts.items),
        (
            "put each end together dry, rails hung, and measure the diagonals",
            "mend now what does not close; number each joint",
        ),
        cautions=(DUST,),
    )
    jigs = ("clamping cauls",) if work.layout.legs.foot is not None else ()
    for end in work.layout.ends:
        dry = [board for board in end.boards if max(board.tenons.slack, default=0.0) > 0]
        does = ["boards into one leg, then the other leg on; clamp at each board, check for square"]
        if dry:
            does.insert(
                0,
                "wide boards: glue only the tenon nearest the middle in the legs, the others stay "
                "dry there so that the board can move",
            )
        yield Step(
            f"Glue up the {end.end} end",
            "bench",
            work.named(lambda name, e=end.end: name.startswith(e) or "tenon" in name),  # type: ignore[misc]
            tuple(does),
            jigs=jigs,
            cautions=(GLUE, HEAVY),
            pieces=work.hung(lambda name, e=end.end: _of_end(name, e)),  # type: ignore[misc]
        )


def _of_end(name: str, end: str) -> bool:
    return name.startswith(end) and not _is_fastener(name)


def _is_fastener(name: str) -> bool:
    return any(word in name for word in _FASTENER_WORDS)


def _hang(work: Work) -> Iterator[Step]:
    yield Step(
        "Finish",
        "bench",
        tuple(item.name for item in work.cuts.items),
        (
            "finish all faces alike, inside ones too, so that the wood takes moisture evenly",
            "screw the metal on for good when it is dry",
        ),
        cautions=(DUST, "rags with oil can catch fire by themselves: lay them out flat to dry"),
    )
    fastener = work.layout.fastener
    words = {
        "hook_plates": "lower the hooks into their slots at both ends and press the rail down",
        "brackets": "lower the hooks into their slots at both ends and press the rail down",
        "bolts": "set the rail on its dowels, turn the bolts into the barrels, tighten evenly",
    }
    yield Step(
        "Hang the rails",
        "bedroom",
        work.named(lambda name: name in ("side_rail", "runner")),
        (
            "two people: stand head and foot end up, never let one go before both rails hang",
            words[fastener.kind] if fastener else "join the rails to the legs as you planned",
            "check that both rails are level and the diagonals equal",
        ),
        cautions=(HEAVY,),
        pieces=work.hung(
            lambda name: name.startswith(("side_rail", "runner")) or _is_fastener(name)
        ),
    )
    if work.layout.centre_rail is not None:
        yield Step(
            "Set the centre rail",
            "bedroom",
            work.named(lambda name: name in ("centre_rail", "support_foot") or "cleat" in name),
            ("feet under it at their marks, its top level with the runners' tops",),
            pieces=work.hung(
                lambda name: name.startswith(("centre_rail", "support_foot")) or "cleat" in name
            ),
        )
    yield Step(
        "Lay the slats",
        "bedroom",
        work.named(lambda name: name == "slat"),
        (
            "from the head, each by the spacers; then drive the screws"
            if work.layout.slat_screws
            else "from the head, each by the spacers",
        ),
        jigs=("slat spacers",),
        pieces=work.hung(lambda name: name.startswith("slat_") and "plate" not in name),
    )
    yield Step(
        "Lay the mattress, look again after a season",
        "bedroom",
        (),
        (
            "sit on each side and at the foot, listen and look at every joint",
            "after the first heating season press the rails down again and tighten what is loose",
        ),
        cautions=("an adult low bed; a design aid made it, not a certificate",),
    )
