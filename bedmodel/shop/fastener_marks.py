"""Setting out the cuts of the rail fasteners: rows of marks, drills, and what to mind.

On a leg everything is measured from the joint face, up it or square to it, and from
the face that is cut into; on a rail from its lower edge, its inside face and its ends.
Widths and places come as marks; the diameters of holes stand in the notes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator

from bedmodel.angles import BARELY, SHIM_BELOW_DEG, offset_over, told
from bedmodel.end_plan import EndPlan
from bedmodel.fasteners.choice import FastenerPlan
from bedmodel.hardware import Bolt, Bracket, Hooked, HookPlate
from bedmodel.screws import clearance_diameter, screw
from bedmodel.shop.fastener_places import Face, Part, Place, Range, fastener_places
from bedmodel.shop.marks import (
    CENTRE,
    DEPTH,
    FAR,
    LOWER,
    NEAR,
    UPPER,
    Found,
    Mark,
    MarkRow,
    merged,
    row_of,
    shifted,
)
from bedmodel.skeleton import Layout
from bedmodel.units import MM_PER_INCH, LengthUnit, format_angle, format_both, format_number

_EVERY = ("pocket", "screw hole", "alignment dowel hole")
_EDGE = 1e-6  # mm; what reaches an edge is not marked there
_DRILLED = 0.005  # mm; a drill this near its hole's diameter is that diameter
_THROUGH = 1e-6


# --- rows ----------------------------------------------------------------------------------


def fastener_heights(layout: Layout, part: Part, end: str) -> list[Mark]:
    """All cuts in a leg, or in one end of a rail, by height above the floor."""
    return _up(layout, _places(layout, part, end))


def leg_rows(layout: Layout, end: EndPlan, rail_on_leg: list[Mark]) -> Iterator[MarkRow]:
    """Across and into the leg, for each face that is cut; with the rail's own two marks."""
    places = _places(layout, "leg", end.end)
    inside, show = _on(places, "inside face"), _on(places, "show face")
    through = [p for p in show if _is_through(layout, p)]
    yield row_of(
        "from the joint face, across the inside face",
        [*rail_on_leg, *_across(layout, inside + through)],
    )
    yield row_of("from the joint face, across the show face", _across(layout, show))
    yield row_of("from the inside face, into the leg (depth)", _depths(layout, inside))
    blind = [p for p in show if p not in through]
    yield row_of("from the show face, into the leg (depth)", _depths(layout, blind))


def rail_end_rows(layout: Layout) -> Iterator[MarkRow]:
    """On both ends of a rail: up, across and into them."""
    head, foot = (_on(_places(layout, "rail", end), "end") for end in ("head", "foot"))
    yield row_of("from the lower edge, on both ends", rail_end_heights(layout))
    yield row_of(
        "from the inside face, across both ends",
        _both(_across(layout, head), _across(layout, foot)),
    )
    yield row_of(
        "from each end, into the rail (depth)", _both(_depths(layout, head), _depths(layout, foot))
    )


def rail_end_heights(layout: Layout) -> list[Mark]:
    """What is cut into a rail's ends, from its lower edge."""
    head, foot = (_on(_places(layout, "rail", end), "end") for end in ("head", "foot"))
    return shifted(_both(_up(layout, head), _up(layout, foot)), -layout.rail_bottom)


def rail_face_heights(layout: Layout) -> list[Mark]:
    """What is cut into a rail's inside face, from its lower edge."""
    head, foot = (_on_face(layout, end) for end in ("head", "foot"))
    return shifted(_both(_up(layout, head), _up(layout, foot)), -layout.rail_bottom)


def rail_face_along(layout: Layout, end: str) -> list[Mark]:
    """What is cut into a rail's inside face, from one of its ends."""
    return _across(layout, _on_face(layout, end))


def rail_face_depths(layout: Layout) -> MarkRow:
    head, foot = (_on_face(layout, end) for end in ("head", "foot"))
    return row_of(
        "from the inside face, into the rail (depth)",
        _both(_depths(layout, head), _depths(layout, foot)),
    )


def _places(layout: Layout, part: Part, end: str) -> list[Place]:
    return [p for p in fastener_places(layout) if p.part == part and p.end == end]


def _on(places: Iterable[Place], face: Face) -> list[Place]:
    return [p for p in places if p.face == face]


def _on_face(layout: Layout, end: str) -> list[Place]:
    return _on(_places(layout, "rail", end), "inside face")


def _is_through(layout: Layout, place: Place) -> bool:
    return place.part == "leg" and place.depth > layout.sheet.leg.thickness - _THROUGH


def _up(layout: Layout, places: Iterable[Place]) -> list[Mark]:
    found = [m for p in places for m in _ends(layout, p, p.up, (LOWER, UPPER), middle=True)]
    return merged(found)


def _across(layout: Layout, places: Iterable[Place]) -> list[Mark]:
    return _by_kind(places, lambda p: list(_ends(layout, p, p.across, (NEAR, FAR), middle=False)))


def _depths(layout: Layout, places: Iterable[Place]) -> list[Mark]:
    unit = layout.sheet.design.unit
    return _by_kind(places, lambda p: [Mark((p.name,), DEPTH, p.depth, unit)])


def _ends(
    layout: Layout, place: Place, reach: Range, names: tuple[str, str], middle: bool
) -> Iterator[Mark]:
    """Both ends of what a cut takes up, or a hole's centre; none at the reference edge."""
    unit, of = layout.sheet.design.unit, (place.name,)
    if place.cut.is_round:
        yield Mark(of, CENTRE, sum(reach) / 2, unit)
        return
    for name, value in zip(names, reach, strict=True):
        if name != NEAR or value > _EDGE:
            yield Mark(of, name, value, unit)
    if middle:
        yield Mark(of, CENTRE, sum(reach) / 2, unit)


def _by_kind(places: Iterable[Place], marks: Callable[[Place], list[Mark]]) -> list[Mark]:
    """The marks of all, those of like cuts told as one where they agree."""
    groups: dict[str, list[Mark]] = {}
    for place in places:
        groups.setdefault(place.name.rstrip(" 0123456789"), []).extend(marks(place))
    found = []
    for name, each in groups.items():
        found += merged(each, f"every {name}" if name in _EVERY else "")
    return merged(found)


def _both(head: list[Mark], foot: list[Mark]) -> list[Mark]:
    """One list where both ends of the rail are alike; else each mark says its end."""

    def values(marks: list[Mark]) -> list[tuple[object, ...]]:
        return [(m.of, m.what, round(m.true, 6)) for m in marks]

    if values(head) == values(foot):
        return head
    return [
        Mark(tuple(f"{end} end, {name}" for name in mark.of), mark.what, mark.true, mark.unit)
        for end, marks in (("head", head), ("foot", foot))
        for mark in marks
    ]


# --- notes ---------------------------------------------------------------------------------


def drill_words(diameter: float, unit: LengthUnit) -> str:
    """A drill by its size: in inches the nearest 1/64 in, with how far off it is."""
    metric = f"{format_number(diameter, 'mm', decimals=2)} mm"
    if unit == "mm":
        return metric
    nearest = round(diameter / MM_PER_INCH * 64) * MM_PER_INCH / 64
    told_ = f"{format_number(nearest, unit)} in"
    off = nearest - diameter
    if abs(off) < _DRILLED:
        return told_
    return f"{metric} ({told_} is {abs(off):.2f} mm {'over' if off > 0 else 'under'})"


def leg_notes(layout: Layout) -> tuple[str, ...]:
    """What to mind when the fastener is let into the legs."""
    plan = layout.fastener
    if plan is None:
        return ()
    show, row = layout.sheet.show, plan.row
    notes = [
        f"rail fastener {row.name}: its middle is {show(plan.height)} above the floor on all four "
        "legs; mark all four from one stick, so that both rails hang at one height",
        "square the fastener's marks from the joint face on across the face it is cut into; the "
        "boards' mortises are marked on the joint face",
    ]
    if isinstance(row, Hooked):
        notes += [
            "recess first, then the pockets in its floor; every depth is from the inside face",
            "the slot plate goes in with its slots nearer its upper end, flush with the wood or a "
            "hair below, never proud",
            _screw_note(layout, plan, "leg", row.leg_screw),
            *_square_note(row),
            *_brass_note(row.metal),
        ]
    else:
        notes += _bolt_notes(layout, row)
    return tuple(notes)


def rail_notes(layout: Layout) -> tuple[str, ...]:
    """What to mind when the fastener is let into the rails."""
    plan = layout.fastener
    if plan is None:
        return ()
    row = plan.row
    if isinstance(row, HookPlate):
        return (
            "hook plates go in with the hooks' noses pointing down, flush with the end or a hair "
            "below, never proud",
            _screw_note(layout, plan, "rail", row.rail_screw),
            # Source: Wood Handbook, FPL-GTR-282, ch. 8: end grain holds about 75 % of side grain.
            "these screws go into end grain, which holds about three quarters of what side grain "
            f"does: take them no shorter than {_bought(layout, row.rail_screw)}",
            *_square_note(row),
            *_square_to_end(layout),
            *_brass_note(row.metal),
        )
    if isinstance(row, Bracket):
        return (
            "brackets go in with the hooks' noses pointing down, both flanges flush or a hair "
            "below, never proud",
            *(note for end in ("head", "foot") for note in _bend(layout, row, end)),
            _screw_note(layout, plan, "rail", row.face_screw),
            *_brass_note(row.metal),
            *_under_runner(layout, "screw the brackets in"),
        )
    barrel = _hole(layout, "rail", "barrel hole")
    bolt, dowel = _hole(layout, "rail", "bolt hole"), _hole(layout, "rail", "alignment")
    return (
        f"drills: bolt hole {bolt}, alignment dowels {dowel}, barrel hole {barrel}",
        *_square_to_end(layout),
        "drill the bolt hole before the barrel hole, which must meet it; turn the barrel's slot "
        "in line with the bolt",
        "glue the alignment dowels in the rail; they stay dry in the leg",
        *_under_runner(layout, "put the barrel nuts in and catch each with its bolt"),
    )


def _bolt_notes(layout: Layout, row: Bolt) -> Iterator[str]:
    bolt, dowel = _hole(layout, "leg", "bolt hole"), _hole(layout, "leg", "alignment")
    sunk = _hole(layout, "leg", "counterbore")
    yield (
        f"drills: counterbore {sunk} from the show face first, then bolt hole {bolt} right "
        f"through, half from each face; alignment dowels {dowel} from the inside face"
    )
    yield (
        "marks on the show face are mirrored as well: lay the two legs show faces up, joint faces "
        "touching"
    )
    yield f"bolt {row.diameter:g} x {row.length:g} mm, its length under the head"


def _screw_note(layout: Layout, plan: FastenerPlan, part: Part, length: float) -> str:
    """Pilot, screw and clearance, and how they are driven."""
    row, unit = plan.row, layout.sheet.design.unit
    pilot = _hole(layout, part, "screw", "bracket screw")
    clear = drill_words(clearance_diameter(screw(row.screw_gauge), unit), unit)
    return (
        f"screw holes: {pilot} pilot drill, for No. {row.screw_gauge} wood screws "
        f"{_bought(layout, length)} long; if the metal's own holes are smaller than {clear}, "
        "drill them up to that and countersink"
    )


def _bought(layout: Layout, length: float) -> str:
    """A length as screws are sold: to a quarter of an inch, and in mm."""
    return format_both(length, layout.sheet.design.unit, denominator=4)


def _hole(layout: Layout, part: Part, *starts: str) -> str:
    """The drill for the first hole of a name."""
    width = next(
        p.cut.width
        for p in fastener_places(layout)
        if p.part == part and p.cut.is_round and p.name.startswith(starts)
    )
    return drill_words(width, layout.sheet.design.unit)


def _square_note(row: Hooked) -> Iterator[str]:
    if row.ends == "square":
        yield "chisel the recess square in its corners"


def _brass_note(metal: str) -> Iterator[str]:
    # Common practice (no source): brass shears where steel cuts its thread.
    if metal == "brass":
        yield (
            "brass screws: drive a steel screw of the same size first, take it out, then drive "
            "the brass one, waxed"
        )


def _square_to_end(layout: Layout) -> Iterator[str]:
    if askew(layout, layout.sheet.side_rail.thickness):
        yield (
            "rout and drill square to the end as it is cut, not along the rail; the two differ by "
            f"{yaw_over(layout, layout.sheet.side_rail.thickness)}"
        )


def _under_runner(layout: Layout, do: str) -> Iterator[str]:
    """Say so where the runner covers what is cut into the rail's inside face."""
    top, bottom = layout.runner_top, layout.runner_top - layout.sheet.runner.height
    cuts = _on_face(layout, "head")
    high = any(p.up[0] < top and p.up[1] > bottom for p in cuts)
    if high and max(p.across[1] for p in cuts) > layout.sheet.runner.end_gap:
        yield f"the runner covers this: {do} before the runner is fixed"


# --- stance --------------------------------------------------------------------------------


def askew(layout: Layout, length: float) -> bool:
    """Whether the stance puts a corner of the rail out of square by enough to tell."""
    return offset_over(length, math.degrees(layout.yaw)) >= BARELY


def yaw_over(layout: Layout, length: float) -> str:
    """The stance's yaw as an offset over a length: "0.2 mm over 27 mm (0.49 deg)"."""
    unit, yaw_deg = layout.sheet.design.unit, math.degrees(layout.yaw)
    if yaw_deg < SHIM_BELOW_DEG:
        return told(yaw_deg, length, unit).partition(":")[0]
    offset, over = offset_over(length, yaw_deg), layout.sheet.show(length)
    return f"{format_both(offset, unit)} over {over} ({format_angle(yaw_deg)})"


def _bend(layout: Layout, row: Bracket, end: str) -> Iterator[str]:
    """How a bracket that was bought square is bent to the rail's corner.

    With the bed wider at its head, that corner is more than square at the head, less
    at the foot.
    """
    if askew(layout, row.end_flange):
        how = "open" if end == "head" else "close"
        yield (
            f"{end} brackets: {how} the bend at the end flange by "
            f"{yaw_over(layout, row.end_flange)}; try it with a square and a shim"
        )


# --- loose pieces --------------------------------------------------------------------------

BOUGHT = "bought; its place is marked on legs and rails"


def loose_part(layout: Layout, name: str) -> Found:
    """A piece of a fastener, by its name without the side: what is marked on it, or why nothing."""
    plan = layout.fastener
    assert plan is not None
    row, end = plan.row, name.partition("_")[0]
    if isinstance(row, Bolt) and "dowel" in name:
        line = row.dowel_length - row.dowel_in_leg
        mark = Mark((), "joint line, between rail and leg", line, layout.sheet.design.unit)
        note = f"dowel {row.dowel:g} x {row.dowel_length:g} mm; glue it in the rail, dry in the leg"
        return Found((row_of("from the end that goes into the rail", [mark]),), (note,))
    bend = _bend(layout, row, end) if isinstance(row, Bracket) and "bracket" in name else ()
    return Found((), tuple(bend), BOUGHT)


def loose_names(layout: Layout) -> Iterator[str]:
    """Names, without the side, of all loose pieces of the fasteners."""
    if layout.fastener is not None:
        for corner in layout.fastener.corners:
            for loose in corner.fitting.loose:
                yield f"{corner.end}_{loose.name}"
