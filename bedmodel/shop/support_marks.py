"""Setting out two rows of slats, and the panels and battens of a deck.

Everything is read from the layout and from the records that holes are made of; mm, and the
sheet's unit as shown.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.platform_screws import ScrewJoint
from bedmodel.screw_joints import screw_joints
from bedmodel.shop.marks import CENTRE, Found, Mark, MarkRow, merged, row_of
from bedmodel.shop.screw_marks import held_words, pilot_words
from bedmodel.skeleton import Layout
from bedmodel.supports import BattenPlace, PanelPlace

HOLE = "screw hole"
AIRING = "airing"


def _mark(layout: Layout, of: str, what: str, true: float) -> Mark:
    return Mark((of,), what, true, layout.sheet.design.unit)


def joints_of(layout: Layout, *, held: str = "", holder: str = "") -> list[ScrewJoint]:
    """The platform's screws in a part, by the piece's name without its side."""
    found = screw_joints(layout)
    return [j for j in found if (held and j.held == held) or (holder and j.holder == holder)]


# --- centre rail under two rows ------------------------------------------------------------


def centre_pilots(layout: Layout) -> Iterator[MarkRow]:
    """The pilot holes of two rows of slats in the centre rail's top, alike on both sides."""
    joints, plan = joints_of(layout, holder="centre_rail"), layout.centre_rail
    if not joints or plan is None:
        return
    along = [
        _mark(layout, f"{j.held} {HOLE}", CENTRE, j.frame.origin[1] - plan.start) for j in joints
    ]
    yield MarkRow("from the head end, squared across the top for the slats' screws", tuple(along))
    half, x = layout.sheet.centre_rail.width / 2, joints[0].frame.origin[0]
    edge = [_mark(layout, "every inner slat screw hole", CENTRE, half - x)]
    yield row_of("from each side, across the top", edge)


def centre_pilot_notes(layout: Layout) -> Iterator[str]:
    joints = joints_of(layout, holder="centre_rail")
    if joints:
        species = layout.sheet.wood.slats or layout.sheet.wood.species
        yield f"slats' inner pilot holes: {pilot_words(layout, joints[0].plan, species)}"


# --- slats of two rows -----------------------------------------------------------------------


def row_slat(layout: Layout, bearings: Sequence[float]) -> Found:
    """One slat of two rows: its bearings on runner and centre rail, and its holes."""
    length, gap = layout.slat_length, layout.sheet.support.row_gap
    rail = layout.sheet.centre_rail.width / 2
    under = [_mark(layout, "centre rail", "near edge", length + gap / 2 - rail)]
    if max(bearings) - min(bearings) < 1e-6:
        under.insert(0, _mark(layout, "runner", "inner edge", bearings[0]))
        each: list[Mark] = []
    else:
        each = [
            _mark(layout, f"slat_{i:02d}", "inner edge of the runner", bearing)
            for i, bearing in enumerate(bearings, start=1)
        ]
    screws = layout.slat_screws
    rows = [row_of("from the outer end, along the underside", under)]
    if each:
        rows.append(MarkRow("from the outer end, on the middle of the underside", tuple(each)))
    if screws is not None and screws.inner is not None:
        of = f"outer {HOLE}"
        rows.append(
            row_of("from the outer end, along the top", [_mark(layout, of, CENTRE, screws.inset)])
        )
        of = f"inner {HOLE}"
        rows.append(
            row_of("from the inner end, along the top", [_mark(layout, of, CENTRE, screws.inner)])
        )
        middle = [_mark(layout, f"each {HOLE}", CENTRE, layout.slats.width / 2)]
        rows.append(row_of("from each edge, across the top", middle))
    notes = ["two rows: mark the outer end, which lies on the runner, of every slat"]
    if screws is not None:
        notes.append(f"screws: {held_words(layout, screws.plan)}")
    return Found(tuple(rows), tuple(notes))


# --- deck ----------------------------------------------------------------------------------


def panel_marks(layout: Layout, place: PanelPlace) -> Found:
    """Holes and openings of one panel, from its edge towards the head and from one end."""
    deck, plan = layout.sheet.deck, layout.deck
    assert plan is not None
    two = plan.rows == 2
    first = "the end on the centre rail" if two else "the centreline"
    origin = place.left if two else 0.0
    notes = [
        f"{plan.mass_kg(place):.1f} kg before openings; face grain along its "
        f"{layout.sheet.show(place.length)}, across the bed",
        "strike the centreline first: the marks run from it to both ends" if not two else
        "left and right panels are mirror images",
    ]  # fmt: skip
    joints = joints_of(layout, held=f"deck_panel_{place.number}")
    rows = []
    if joints:
        across = [_mark(layout, _hole(j), CENTRE, j.frame.origin[0] - origin) for j in joints]
        down = [_mark(layout, _hole(j), CENTRE, j.frame.origin[1] - place.start) for j in joints]
        rows.append(row_of(f"from {first}, across the bed", merged(across)))
        rows.append(row_of("from the edge towards the head", merged(down)))
        plans = dict.fromkeys(j.plan for j in joints)
        notes += [f"screws: {held_words(layout, each)}" for each in plans]
    if place.openings:
        what = f"{AIRING} {'hole' if deck.airing == 'holes' else 'slot'}"
        xs = sorted({round(x, 6) for x, _ in place.openings})
        ys = sorted({round(y, 6) for _, y in place.openings})
        across = [_mark(layout, f"{what} row {i}", CENTRE, x - origin) for i, x in enumerate(xs, 1)]
        down = [
            _mark(layout, f"{what} line {i}", CENTRE, y - place.start) for i, y in enumerate(ys, 1)
        ]
        rows.append(row_of(f"openings: from {first}, across the bed", across))
        rows.append(row_of("openings: from the edge towards the head", down))
        size = layout.sheet.show(deck.hole)
        if deck.airing == "slots":
            size = f"{size} wide and {layout.sheet.show(max(deck.slot, deck.hole))} long"
        sides = 1 if two else 2
        notes.append(
            f"{sides * len(place.openings)} openings {size}: bore over scrap and ease their edges"
        )
    reason = "" if rows else "cut to size with square ends; nothing is marked on it"
    return Found(tuple(rows), tuple(notes), reason)


def batten_marks(layout: Layout, batten: BattenPlace) -> Found:
    """The joint over a batten, and the pilot holes in its top."""
    width = layout.sheet.deck.batten_width
    rows = [row_of("from its head edge", [_mark(layout, "joint of the deck", CENTRE, width / 2)])]
    joints = joints_of(layout, holder=f"deck_batten_{batten.number}")
    origin, first = (0.0, "centreline") if batten.left < 0 else (batten.left, "inner end")
    along = [_mark(layout, _hole(j), CENTRE, j.frame.origin[0] - origin) for j in joints]
    rows.append(row_of(f"from the {first}, along the top", merged(along)))
    start = batten.joint - width / 2
    across = [_mark(layout, _hole(j), CENTRE, j.frame.origin[1] - start) for j in joints]
    rows.append(row_of("from its head edge, across the top", merged(across)))
    species = layout.sheet.wood.slats or layout.sheet.wood.species
    notes = ["half of it stands out under the next panel, which is laid on it"]
    notes += [f"screws: {pilot_words(layout, j.plan, species)}" for j in joints[:1]]
    return Found(tuple(rows), tuple(notes))


def _hole(joint: ScrewJoint) -> str:
    number = joint.name.rpartition("_")[2]
    return f"{'runner' if joint.holder == 'runner' else 'batten'} {HOLE} {int(number)}"


def panel_edges(layout: Layout) -> list[Mark]:
    """Both edges of every panel by Y, the distance from the head legs' inside faces."""
    marks = []
    for place in layout.deck.panels if layout.deck else ():
        name = f"deck_panel_{place.number}"
        marks.append(_mark(layout, name, "near edge", place.start))
        marks.append(_mark(layout, name, "far edge", place.end))
    return marks
