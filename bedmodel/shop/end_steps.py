"""Steps of what fills and caps an end: holes, mortises, grooves, uprights, panels, glue-up."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.end_plan import EndPlan
from bedmodel.ends.record import PanelPlan, UprightPlan
from bedmodel.shop.cautions import BENCH, DUST, ROUTER, SAW
from bedmodel.shop.steps import Step, Work

_FRAMED = ("board_rail", "board_muntin", "board_stile")


def fill_steps(work: Work) -> Iterator[Step]:
    """What is cut for uprights, panels and caps, in the order of work."""
    ends = work.layout.ends
    uprights = [(e, f) for e in ends for f in e.fills if isinstance(f, UprightPlan)]
    panels = [(e, f) for e in ends for f in e.fills if isinstance(f, PanelPlan)]
    if uprights:
        yield from _uprights(work, uprights)
    if panels:
        yield from _panels(work, panels)
    if any(end.cap for end in ends):
        yield _caps(work)


def _uprights(work: Work, found: list[tuple[EndPlan, UprightPlan]]) -> Iterator[Step]:
    ends = tuple(end.end for end, _ in found)
    words = " and ".join(dict.fromkeys(f"{plan.word}s" for _, plan in found))
    is_round = any(plan.is_round for _, plan in found)
    slats = any(not plan.is_round for _, plan in found)
    does = ["clamp lower and upper rail together and strike both by the stick"]
    if is_round:
        does.append("bore the spindles' holes through the guide, to one stop; try one in scrap")
    if slats:
        does.append("rout the slats' mortises with their plate, stopped at both ends")
    jigs = (
        "story sticks",
        *(("end hole guide",) if is_round else ()),
        *(("slat mortise plate",) if slats else ()),
    )
    yield Step(
        f"Cut the rails for the {words}",
        "drill press or router",
        work.named(lambda name: "board_rail" in name and name.startswith(ends)),
        tuple(does),
        settings=tuple(
            dict.fromkeys(
                f"{end.end} end: {len(plan.middles)} {plan.word}s, {work.both(plan.gap)} apart, "
                f"{work.both(plan.end_gap)} beside the legs; {work.both(plan.hole_depth)} deep"
                for end, plan in found
            )
        ),
        jigs=jigs,
        cautions=(ROUTER, BENCH, DUST),
    )
    does = ["cut all to one length against one stop"]
    if is_round:
        does.append("turn them, or round them with a cutter; the ends to the holes' size")
    if slats:
        does.append("saw the shoulders with one stop, then the cheeks; creep up on the fit")
    yield Step(
        f"Make the {words}",
        "lathe or router table" if is_round else "table saw",
        work.named(lambda name: "board_spindle" in name or "board_slat" in name),
        tuple(does),
        settings=tuple(dict.fromkeys(_sized(work, end, plan) for end, plan in found)),
        cautions=(SAW, BENCH, DUST),
    )


def _sized(work: Work, end: EndPlan, plan: UprightPlan) -> str:
    across = f"{work.both(plan.tenon_width)} across"
    if not plan.is_round:
        across = f"{work.both(plan.tenon_width)} x {work.both(plan.tenon_thickness)}"
    long, tip = work.both(plan.length), work.both(plan.let_in)
    return f"{end.end} end: {long} long, ends {across}, {tip} long"


def _panels(work: Work, found: list[tuple[EndPlan, PanelPlan]]) -> Iterator[Step]:
    legs = any(plan.stiles == "legs" for _, plan in found)
    ends = tuple(end.end for end, _ in found)
    does = ["groove rails, muntins and stiles from end to end, inside face to the fence"]
    if legs:
        does.append("groove the legs from mark to mark, and chisel the ends square")
    if any(plan.uprights for _, plan in found):
        does.append("cut the stub tenons of muntins and stiles to the grooves")
    yield Step(
        "Groove the frames",
        "table saw or router table",
        work.named(
            lambda n: (
                n.startswith(ends) and (any(w in n for w in _FRAMED) or (legs and "_leg" in n))
            )
        ),
        tuple(does),
        settings=tuple(
            f"{end.end} end: groove {work.both(plan.groove_width)} wide, "
            f"{work.both(plan.groove_depth)} deep"
            for end, plan in found
        ),
        jigs=("groove block", "story sticks"),
        cautions=(SAW, ROUTER, DUST),
    )
    raised = any(plan.is_raised for _, plan in found)
    bevel = ("cut tongue and bevel on all four edges, across the grain first",)
    yield Step(
        "Make the panels",
        "table saw or router table" if raised else "bench",
        work.named(lambda name: "floating_panel" in name),
        (
            "bring them to size in the shop's own air, when their moisture stands still",
            *(bevel if raised else ()),
            "finish them all over, edges too, before they go in",
        ),
        settings=tuple(
            f"{end.end} end: tongue {work.both(plan.tongue)} thick; each edge across the grain "
            f"{work.both(plan.room)} short of the groove's bottom, each end "
            f"{work.both(plan.end_room)}"
            for end, plan in found
        ),
        cautions=(SAW, ROUTER, DUST),
    )


def _caps(work: Work) -> Step:
    settings = []
    for end in work.layout.ends:
        cap = end.cap
        if cap is not None:
            settings.append(
                f"{end.end} cap: dowels {work.both(cap.diameter)}, {work.both(cap.in_cap)} into "
                f"the cap, {work.both(cap.in_below)} below"
            )
    return Step(
        "Bore for the caps",
        "bench",
        work.named(lambda name: name.endswith("board_cap")),
        ("bore cap and what is under it through one guide, each hole at its own mark",),
        settings=tuple(settings),
        jigs=("end hole guide",),
        cautions=(BENCH,),
    )


def gluing(end: EndPlan) -> tuple[str, ...]:
    """The order in which a filled or capped end is glued."""
    does = []
    for fill in end.fills:
        if isinstance(fill, UprightPlan):
            does.append(
                f"{fill.word}s into the lower rail, glued; upper rail on, its holes dry; then the "
                "legs, all in one go while the glue is open"
            )
        else:
            does.append(
                "frame: muntins into the lower rail, glued, panels in, no glue on them or in their "
                "grooves, upper rail on; then the legs over rails and panels"
            )
    if end.cap is not None:
        does.append(
            "cap last, on its dowels in the legs; no glue on the board below it"
            if end.cap.use == "over"
            else "cap last, glued and dowelled to the board below it, its ends dry"
        )
    return tuple(dict.fromkeys(does))
