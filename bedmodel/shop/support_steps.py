"""Steps of what the mattress lies on: made on the bench, and laid in at the last."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.shop.cautions import BENCH, DUST, HEAVY, ROUTER, SAW, SCREWS
from bedmodel.shop.steps import Step, Work
from bedmodel.skeleton import Layout

STAPLES = "a stapler shoots: keep the other hand away, and bear down on wood only"


def bore_words(layout: Layout) -> tuple[str, ...]:
    """How the slats are bored; nothing where there are none."""
    if not layout.has_slats or layout.slat_screws is None:
        return ()
    if layout.slat_screws.only_ends:
        return ("bore the first and the last slat alone, against one stop",)
    if layout.rows == 2:
        return ("bore all slats against one stop at their outer ends, another at their inner ends",)
    return ("bore all slats against one stop, both ends alike",)


def make_support(work: Work) -> Iterator[Step]:
    """Cut the deck's panels, or staple the slats on their tapes."""
    layout, sheet = work.layout, work.layout.sheet
    if layout.deck is not None:
        yield _cut_deck(work)
    if layout.webbing is None:
        return
    webbing, given = layout.webbing, sheet.webbing
    yield Step(
        "Staple the slats on their tapes",
        "bench",
        work.named(lambda name: name.startswith("slat")),
        (
            "lay the slats top up on the bench by the spacers, ends against a straightedge",
            "draw the tapes straight over their tops, without stretching them",
            f"{given.staples} staples at each crossing, across the tape; turn the ends of the tape "
            "under the end slats and staple them there too",
            "lift one end: the slats must hang square; roll the row up, tapes outside",
        ),
        settings=(
            f"{len(webbing.places)} tapes {work.both(given.width)} wide, cut to "
            f"{work.both(webbing.length)} each: {webbing.metres:.2f} m",
            f"{webbing.staples} staples, no longer than two thirds of a slat's thickness",
            f"middle of the outer tapes {work.both(given.inset)} from the slats' ends",
        ),
        jigs=("slat spacers",),
        cautions=(STAPLES, BENCH),
    )


def _cut_deck(work: Work) -> Step:
    plan, deck = work.layout.deck, work.layout.sheet.deck
    assert plan is not None
    sides = 1 if plan.rows == 1 else 2
    does = [
        "saw the panels out by the sheets' page, face grain across the bed; sheets are heavy, "
        "have one helped over the saw",
        "ease every edge, and clean the corners that come beside the legs",
    ]
    if deck.airing != "none":
        does.append("bore or rout the openings over scrap, then ease their edges")
    if plan.battens:
        does.append(
            "screw each batten under the panel on its head side, half of it standing out under "
            "the next one"
        )
    return Step(
        "Cut the deck",
        "saw and router",
        work.named(lambda name: name.startswith("deck_")),
        tuple(does),
        settings=tuple(
            f"panel {p.number}: {sides} of {work.both(p.length)} x {work.both(p.width)}, "
            f"{plan.mass_kg(p):.1f} kg each"
            for p in plan.panels
        ),
        cautions=(SAW, ROUTER, HEAVY, DUST),
    )


def lay_support(work: Work) -> Iterator[Step]:
    """Lay in what the mattress lies on."""
    layout = work.layout
    if layout.deck is not None:
        yield _lay_deck(work)
        return
    if layout.sheet.support.kind == "box_spring":
        yield from _box_spring(work)
        return
    row, webbed = layout.slats, layout.webbing is not None
    count = row.count * layout.rows
    yield Step(
        "Unroll the slats" if webbed else "Lay the slats",
        "bedroom",
        work.named(lambda name: name.startswith("slat")),
        (_lay_words(layout),),
        settings=(f"{count} slats, {work.both(row.gap)} apart",),
        jigs=("slat spacers",),
        cautions=(SCREWS,) if layout.slat_screws else (HEAVY,),
        pieces=work.hung(_is_slat),
    )


def _lay_words(layout: Layout) -> str:
    if layout.webbing is not None:
        then = "; then screw down the first and the last slat" if layout.slat_screws else ""
        return f"unroll each row from the head, first slat at its mark, tapes up{then}"
    if layout.slat_screws:
        return "from the head, each by the spacers; then drive the screws"
    return "from the head, each by the spacers"


def _is_slat(name: str) -> bool:
    return name.startswith("slat_") and "plate" not in name


def _lay_deck(work: Work) -> Step:
    plan, deck = work.layout.deck, work.layout.sheet.deck
    assert plan is not None
    does = ["from the head, the panels in the order of their numbers, each on the batten before"]
    if deck.fixing == "screws":
        does.append("then drive the screws")
    if deck.airing == "none":
        does.append("a closed deck keeps damp in: air the mattress, stand it up now and then")
    heaviest = max(plan.mass_kg(place) for place in plan.panels)
    return Step(
        "Lay the deck",
        "bedroom",
        work.named(lambda name: name.startswith("deck_")),
        tuple(does),
        settings=(f"the heaviest panel is {heaviest:.1f} kg",),
        cautions=(HEAVY, SCREWS) if deck.fixing == "screws" else (HEAVY,),
        pieces=work.hung(lambda name: name.startswith("deck_")),
    )


def _box_spring(work: Work) -> Iterator[Step]:
    layout = work.layout
    if layout.has_slats:
        yield Step(
            "Lay the bearers",
            "bedroom",
            work.named(lambda name: name.startswith("slat")),
            ("at their marks; then drive the screws" if layout.slat_screws else "at their marks",),
            settings=(f"{layout.slats.count} bearers, {work.both(layout.slats.gap)} apart",),
            cautions=(SCREWS,) if layout.slat_screws else (HEAVY,),
            pieces=work.hung(_is_slat),
        )
    yield Step(
        "Set the box spring in",
        "bedroom",
        (),
        ("two people, from one side; its frame must lie on both runners all along",),
        settings=(
            f"underside {work.both(layout.platform)} above the floor; box and mattress together "
            f"{work.both(layout.mattress.thickness)} thick",
        ),
        cautions=(HEAVY,),
    )
