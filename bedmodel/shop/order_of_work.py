"""The order of work, step by step.

It is common practice: crosscut before ripping, parts that must match cut together, panels
glued before the joints are cut, metal fitted before the finish and taken off for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.angles import told
from bedmodel.ends.boards import is_board
from bedmodel.materials import material
from bedmodel.screwing import ScrewPlan
from bedmodel.shop.cautions import (
    BAND_SAW,
    BENCH,
    DUST,
    GLUE,
    HEAVY,
    PLANER,
    ROUTER,
    SAW,
    SCREWS,
)
from bedmodel.shop.closing_steps import glue_up, hang
from bedmodel.shop.end_steps import fill_steps
from bedmodel.shop.joint_steps import dowel_settings, ease_edges, mortise_settings, own_tenons
from bedmodel.shop.raked import (
    level_cut_settings,
    level_cut_steps,
    plumb_words,
    raked_rail_steps,
)
from bedmodel.shop.steps import Step, Work, machine_settings
from bedmodel.shop.support_steps import bore_words, make_support
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.stock.cut_list import CutItem, CutList


def steps(
    layout: Layout, cuts: CutList, pieces: tuple[str, ...], shop: ShopProfile | None = None
) -> tuple[Step, ...]:
    """The steps in order; ``pieces`` are the names of all pieces of the bed.

    With the ``shop``, also what is to be done where a part is too large for its machines.
    """
    work = Work(layout, cuts, pieces, shop)
    found: list[Step] = []
    for part in (
        *(_rough, _panels, _to_size, _legs, _joints, own_tenons, fill_steps, _fasteners),
        *(_below, _platform),
        *(ease_edges, glue_up, hang),
    ):
        found += part(work)
    return tuple(found)


def _rough(work: Work) -> Iterator[Step]:
    lumber = tuple(item.name for item in work.cuts.lumber)
    straight = tuple(item.name for item in work.cuts.lumber if not item.nested)
    nested = tuple(item.name for item in work.cuts.lumber if item.nested)
    yield Step(
        "Mark out the boards",
        "rack",
        lumber,
        (
            "lay the boards out by the board pages and chalk every part with its name",
            "keep the two parts of a pair side by side where colour and grain match",
            "let the wood lie in the shop until its moisture stands still",
        ),
        settings=tuple(_totals(work)),
        cautions=(HEAVY,),
    )
    if nested:
        yield Step(
            "Saw the legs' blanks out of the planks",
            "band saw",
            nested,
            (
                "trace the templates by the pages of the nest, joint face by its two points, the "
                "face up that is said; mark left and right",
                "saw outside the line; what is left of the plank is cut off square and goes back "
                "to the boards",
                "stick its label on each blank",
            ),
            settings=tuple(
                f"{item.name.replace('_', ' ')}: {item.rough_count} blanks of "
                f"{item.lumber.name if item.lumber else ''}"
                for item in work.cuts.lumber
                if item.nested
            ),
            jigs=("leg templates",),
            cautions=(BAND_SAW, DUST),
        )
    lengths = tuple(
        f"{item.name.replace('_', ' ')}: {_rough_size(work, item)}"
        for item in work.cuts.lumber
        if not item.nested
    )
    yield Step(
        "Crosscut to rough length",
        "saw",
        straight,
        (
            "crosscut in the order of the numbers on the board pages, before any rip",
            "a board too wide for the saws is ripped down before that, see its page",
        ),
        settings=lengths,
        cautions=(SAW, DUST),
    )
    yield Step(
        "Rip to rough width",
        "saw",
        straight,
        (
            "straighten one edge first; rip boards wider than the jointer to just under its width",
            "rip in the order of the numbers on the board pages, the part between blade and fence",
            "stick its label on each part as it comes off the saw",
        ),
        settings=tuple(
            f"{item.name.replace('_', ' ')}: {work.both(item.rough_width)}"
            for item in work.cuts.lumber
            if not item.nested and item.staves is None
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
            *(
                ("staves and layers stay 1 to 2 mm (1/16 in) thicker until they are glued",)
                if any(item.staves or item.layers > 1 for item in work.cuts.lumber)
                else ()
            ),
        ),
        settings=machine_settings(work, "planer"),
        cautions=(PLANER, DUST),
    )


def _totals(work: Work) -> Iterator[str]:
    for (species, quarters), (_, rough) in work.cuts.totals().items():
        label = material(species, work.layout.sheet.own_woods).label
        yield f"{label} {quarters}/4: {rough:.1f} board feet of rough parts"


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
            "then flatten one face and bring all to thickness",
            *_too_wide_to_plane(work, wide),
        ),
        settings=tuple(
            f"{item.name.replace('_', ' ')}: to {work.both(item.thickness)}"
            for item in dict.fromkeys((*wide, *thick))
        ),
        cautions=(GLUE, PLANER, DUST),
    )


def _too_wide_to_plane(work: Work, wide: tuple[CutItem, ...]) -> Iterator[str]:
    if work.shop is not None:
        for item in wide:
            if item.width > work.shop.machines.planer:
                yield (
                    f"{item.name.replace('_', ' ')} is wider than the planer takes: flatten it by "
                    "hand plane or wide sander"
                )


def _to_size(work: Work) -> Iterator[Step]:
    straight = tuple(item.name for item in work.cuts.lumber if not item.nested)
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
        ends = (
            "foot ends out of square"
            if work.layout.rake
            else "both ends out of square and parallel"
        )
        does.append(f"side rails: {ends}, {out}")
    does += raked_rail_steps(work.layout)
    if work.shop is not None:
        for item in work.cuts.lumber:
            if not item.nested and item.width > work.shop.machines.crosscut:
                does.append(
                    f"{item.name.replace('_', ' ')} is wider than the crosscut station takes: cut "
                    "it with a circular saw along a clamped straightedge, or on a panel sled"
                )
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
    nested = tuple(item.name for item in work.cuts.lumber if item.nested)
    does = ["trace the template anew on the planed blank, joint face first"] if nested else []
    jigs = ["leg templates"]
    if splayed:
        does.append(
            "saw the joint faces on the sled, head legs first, then foot legs at its second fence"
        )
        jigs.insert(0, "sled")
    does.append("fix the template on each leg and rout to it; turn it over for the other hand")
    does += level_cut_steps(work.layout)
    yield Step(
        "Shape the legs",
        "saw sled and router" if splayed else "router",
        legs,
        tuple(does),
        settings=(
            (f"splay {math.degrees(work.layout.legs.splay):.2f} deg: the sled's card",)
            if splayed
            else ()
        )
        + level_cut_settings(work.layout),
        jigs=tuple(jigs),
        cautions=(SAW, ROUTER, DUST) if splayed else (ROUTER, DUST),
    )


def _below(work: Work) -> Iterator[Step]:
    """What is sawn or turned off the legs below the joint, once the joints are cut."""
    shaping = work.layout.legs.work(work.layout.sheet.design.unit)
    if shaping is not None:
        yield Step(
            shaping.title,
            shaping.place,
            work.named(lambda name: "leg" in name),
            ("joints are cut first, while the legs are square", *shaping.does),
            settings=shaping.settings,
            jigs=("story sticks",),
            cautions=(*shaping.cautions, DUST),
        )


def _joints(work: Work) -> Iterator[Step]:
    sheet = work.layout.sheet
    kinds = {sheet.headboard.joint, sheet.footboard.joint}
    legs = work.named(lambda name: "leg" in name)
    boards = work.named(is_board)
    if "loose_tenon" in kinds or "tenon" in kinds:
        yield Step(
            "Cut the mortises",
            "router",
            (*legs, *boards),
            (
                "set out legs in pairs, inside faces up, by the story stick",
                "one plate for each size of mortise; its fence against the inside face",
            ),
            settings=tuple(mortise_settings(work)),
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
            settings=tuple(dowel_settings(work)),
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
            f"its middle {work.both(plan.height)} above the floor{plumb_words(work.layout)}",
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
    yield from make_support(work)
    slats = layout.has_slats
    yield Step(
        "Bore runners and slats, screw the runners on" if slats else "Screw the runners on",
        "bench",
        work.named(
            lambda name: (
                name.startswith("slat") or name in ("runner", "side_rail") or name.endswith("cleat")
            )
        ),
        (
            *bore_words(layout),
            "set out the runners on the rails by the story stick; screw them on, tops level",
        ),
        settings=tuple(settings),
        jigs=("story sticks", "slat spacers") if slats else ("story sticks",),
        cautions=(SCREWS, DUST),
    )


def _screw_setting(work: Work, what: str, plan: ScrewPlan) -> str:
    return (
        f"{what}: screws of gauge {plan.gauge} x {work.both(plan.length)}; counterbore "
        f"{work.both(plan.counterbore)}, {work.both(plan.sunk)} deep, clearance "
        f"{work.both(plan.clearance)}, pilot {work.both(plan.pilot)}"
    )
