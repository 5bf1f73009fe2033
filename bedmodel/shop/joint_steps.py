"""Steps of the joints that need their sizes told: plates, dowel holes, own tenons, eased edges."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.edge_profiles import group_words, profiles_of
from bedmodel.ends.boards import is_board
from bedmodel.shop.cautions import BENCH, DUST, ROUTER, SAW
from bedmodel.shop.jigs.fence import by_part
from bedmodel.shop.jigs.plates import mortise_seats
from bedmodel.shop.steps import Step, Work

_EASED = ("leg", "headboard", "footboard", "side_rail", "runner", "slat", "centre_rail")


def mortise_settings(work: Work) -> Iterator[str]:
    """For each plate what it cuts and how deep."""
    unit = work.layout.sheet.design.unit
    sizes = mortise_seats(work.layout)
    for number, ((length, width, _), seats) in enumerate(sizes.items(), start=1):
        name = "mortise plate" if len(sizes) == 1 else f"mortise plate {number}"
        depths = by_part([(seat, seat.depth) for seat in seats], unit)
        yield f"{name}: {work.both(length)} x {work.both(width)}; deep {depths}"


def dowel_settings(work: Work) -> Iterator[str]:
    """Bit and depths of the dowel holes, once for each that differs."""
    found: dict[str, None] = {}
    for end in work.layout.ends:
        for board in end.boards:
            plan = board.tenons
            if plan.is_dowel:
                found.setdefault(
                    f"dowels {work.both(plan.thickness)}: legs "
                    f"{work.both(plan.embedment_leg + plan.end_gap)} deep, boards "
                    f"{work.both(plan.embedment_board + plan.end_gap)}"
                )
    yield from found


def own_tenons(work: Work) -> Iterator[Step]:
    """Tenons that are cut on the boards themselves."""
    settings: dict[str, None] = {}
    for end in work.layout.ends:
        for board in end.boards:
            plan = board.tenons
            if not plan.integral:
                continue
            settings.setdefault(
                f"{end.end} end: tenon {work.both(plan.thickness)} thick, {work.both(plan.width)} "
                f"wide, {work.both(plan.embedment_leg)} long from the shoulder"
            )
            if plan.haunches:
                settings.setdefault(f"{end.end} end: haunch {work.both(plan.haunch)} long")
    if settings:
        yield Step(
            "Cut the tenons on the boards",
            "table saw or router",
            work.named(is_board),
            (
                "saw all shoulders with one stop first, both faces, then both edges",
                "saw the cheeks, the same distance from the inside face on every board; creep up "
                "on a fit that slides by hand",
                "cut the haunches to length, round or square the edges as the mortises are",
            ),
            settings=tuple(settings),
            jigs=("story sticks",),
            cautions=(SAW, ROUTER, DUST),
        )


def mould_edges(work: Work) -> Iterator[Step]:
    """Arrises with a profile of their own, after the joints are cut."""
    sheet, settings = work.layout.sheet, []
    parts = {"leg": "legs", "headboard": "headboard", "footboard": "footboard",
             "side_rail": "side rails"}  # fmt: skip
    for stem, name in parts.items():
        for group, profile in profiles_of(getattr(sheet, f"{stem}_edges")):
            settings.append(
                f"{name}, {group_words(group)}: {profile.style} {work.both(profile.size)}, "
                f"{work.both(profile.drop)} deep"
            )
    if settings:
        yield Step(
            "Mould the edges",
            "router",
            work.named(lambda name: name.startswith((*parts, "head_leg", "foot_leg"))),
            (
                "set bit and depth on a test piece by the edge gauge, before the edges are eased",
                "mark where each profile stops, clear of every joint, and clamp stop blocks there; "
                "start and end against the blocks, never into the air beside a joint",
            ),
            settings=tuple(settings),
            jigs=("edge gauges",),
            cautions=(ROUTER, BENCH, DUST),
        )


def ease_edges(work: Work) -> Iterator[Step]:
    """Long edges eased, all of one size in one setting of the router."""
    yield from mould_edges(work)
    sheet = work.layout.sheet
    sizes: dict[tuple[str, float], list[str]] = {}
    for name in _EASED:
        section = getattr(sheet, name)
        is_there = work.named(lambda row, name=name: name in row)  # type: ignore[misc]
        if is_there and section.edge != "square" and section.edge_size > 0:
            sizes.setdefault((section.edge, section.edge_size), []).append(name.replace("_", " "))
    if sizes:
        yield Step(
            "Ease the edges",
            "router or hand plane",
            work.named(lambda name: name.startswith((*_EASED, "head_leg", "foot_leg"))),
            (
                "after the joints are cut, so that shoulders stay sharp; never across a joint face",
                "a light touch with sandpaper on every other edge that a hand can reach",
            ),
            settings=tuple(
                f"{style} {work.both(size)}: {', '.join(names)}"
                for (style, size), names in sizes.items()
            ),
            cautions=(ROUTER, BENCH, DUST),
        )
