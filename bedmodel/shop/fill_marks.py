"""Setting out of what fills an end, and of its cap: rails, legs, uprights, panels.

    left end       of a rail, or its left shoulder line where it has tenons of its own; the row
                   of uprights is alike from both ends, so either end serves
    upper edge     of the lower rail, lower edge of the upper rail: where uprights are let in

All values come from the layout; mm, and the sheet's unit as shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bedmodel.end_joints import cap_name, frame_upright_name, panel_name, upright_name
from bedmodel.end_plan import BoardPlan, EndPlan
from bedmodel.ends.record import CapPlan, Fill, PanelPlan, UprightPlan
from bedmodel.shop.marks import CENTRE, DEPTH, Found, Mark, MarkRow, row_of
from bedmodel.skeleton import Layout

GROOVE = "panel groove"
CAP_HOLE = "cap dowel hole"


def hole_word(plan: UprightPlan) -> str:
    """What one of an upright's ends goes into: "spindle hole" or "slat mortise"."""
    return f"{plan.word} {'hole' if plan.is_round else 'mortise'}"


def _mark(layout: Layout, of: str, what: str, true: float) -> Mark:
    return Mark((of,) if of else (), what, true, layout.sheet.design.unit)


# --- rails ---------------------------------------------------------------------------------


def rail_rows(layout: Layout, end: EndPlan, board: BoardPlan) -> Iterator[MarkRow]:
    """What is marked on a rail for uprights, panels and the cap."""
    index = end.boards.index(board)
    for fill in end.fills:
        for edge, rail in (("upper", fill.where.lower), ("lower", fill.where.upper)):
            if rail == index:
                yield from _edge_rows(layout, end, board, fill, edge)
    cap = end.cap
    if cap is not None and cap.use == "between" and cap.board == index:
        start = _start(board)
        places = [
            _mark(layout, f"{CAP_HOLE} {i}", CENTRE, d.x + end.joint_x)
            for i, d in enumerate(cap.dowels, start=1)
        ]
        yield row_of(f"{start}, along the upper edge, for the cap", places)
        setback = cap.dowels[0].setback - end.reveal
        every = f"every {CAP_HOLE}"
        yield row_of(
            "from the inside face, across the upper edge, for the cap",
            [_mark(layout, every, CENTRE, setback)],
        )
        yield row_of(
            "from the upper edge, for the cap (depth)",
            [_mark(layout, every, DEPTH, cap.in_below + cap.end_gap)],
        )


def _start(board: BoardPlan) -> str:
    return "from the left shoulder line" if board.tenons.integral else "from the left end"


def _edge_rows(
    layout: Layout, end: EndPlan, board: BoardPlan, fill: Fill, edge: str
) -> Iterator[MarkRow]:
    along = f"{_start(board)}, along the {edge} edge"
    across = f"from the inside face, across the {edge} edge"
    deep = f"from the {edge} edge, into the rail (depth)"
    setback = fill.where.setback - end.reveal
    yield row_of(along, upright_places(layout, end, fill))
    if isinstance(fill, UprightPlan):
        of, half = f"every {hole_word(fill)}", fill.tenon_thickness / 2 + fill.clearance
        centre = [_mark(layout, of, CENTRE, setback)]
    else:
        of, half, centre = GROOVE, fill.groove_width / 2, []
    if not centre or not (isinstance(fill, UprightPlan) and fill.is_round):
        centre = [
            _mark(layout, of, "near cheek", setback - half),
            _mark(layout, of, "far cheek", setback + half),
        ]
    yield row_of(across, centre)
    depth = fill.hole_depth if isinstance(fill, UprightPlan) else fill.groove_depth
    yield row_of(deep, [_mark(layout, of, DEPTH, depth)])


def upright_places(layout: Layout, end: EndPlan, fill: Fill) -> list[Mark]:
    """Holes, mortises or muntins along a rail, from its left end or shoulder."""
    marks = []
    if isinstance(fill, PanelPlan):
        half = fill.upright_width / 2
        for number, x in enumerate(fill.uprights, start=1):
            word = frame_upright_name(end, fill, number).partition("_")[2].replace("_", " ")
            marks.append(_mark(layout, word, "near edge", x - half + end.joint_x))
            marks.append(_mark(layout, word, "far edge", x + half + end.joint_x))
        return marks
    half = fill.tenon_width / 2 + fill.clearance
    for number, x in enumerate(fill.middles, start=1):
        of = f"{hole_word(fill)} {number}"
        if fill.is_round:
            marks.append(_mark(layout, of, CENTRE, x + end.joint_x))
        else:
            marks.append(_mark(layout, of, "near end", x - half + end.joint_x))
            marks.append(_mark(layout, of, CENTRE, x + end.joint_x))
            marks.append(_mark(layout, of, "far end", x + half + end.joint_x))
    return marks


def rail_notes(layout: Layout, end: EndPlan, board: BoardPlan) -> tuple[str, ...]:
    """What to mind of a rail that is filled."""
    index, notes = end.boards.index(board), []
    for fill in end.fills:
        if index not in (fill.where.lower, fill.where.upper):
            continue
        if isinstance(fill, UprightPlan):
            notes.append(
                f"clamp the two rails together, edges flush, and strike all {len(fill.middles)} "
                f"{fill.word}s across both at once, by the stick; gaps of "
                f"{layout.sheet.show(fill.gap)}, {layout.sheet.show(fill.end_gap)} beside the legs"
            )
        else:
            notes.append(
                "the groove runs out at both ends of the rail; in the legs it is stopped"
                if fill.stiles == "legs"
                else "the groove runs out at both ends of the rail, where the legs hide it"
            )
    return tuple(notes)


# --- legs ----------------------------------------------------------------------------------


def groove_heights(layout: Layout, end: EndPlan) -> Iterator[Mark]:
    """Both ends of each panel groove in a leg, above the floor."""
    for plan in _in_legs(end):
        where, deep = plan.where, plan.groove_depth
        yield _mark(layout, GROOVE, "lower end", where.bottom - deep)
        yield _mark(layout, GROOVE, "upper end", where.top + deep)


def _in_legs(end: EndPlan) -> Iterator[PanelPlan]:
    for fill in end.fills:
        if isinstance(fill, PanelPlan) and fill.stiles == "legs":
            yield fill


def leg_fill_rows(layout: Layout, end: EndPlan) -> Iterator[MarkRow]:
    """Cheeks and depth of panel grooves, and the cap's dowels in the top of a leg."""
    for plan in list(_in_legs(end))[:1]:
        half, middle = plan.groove_width / 2, plan.where.setback
        yield row_of(
            "from the inside face, across the joint face, for the panels",
            [
                _mark(layout, GROOVE, "near cheek", middle - half),
                _mark(layout, GROOVE, "far cheek", middle + half),
            ],
        )
        yield row_of(
            "from the joint face, for the panels (depth)",
            [_mark(layout, GROOVE, DEPTH, plan.groove_depth)],
        )
    cap = end.cap
    if cap is None or cap.use != "over":
        return
    every = f"every {CAP_HOLE}"
    yield row_of(
        "from the joint face, along the top end",
        [
            _mark(layout, f"{CAP_HOLE} {i}", CENTRE, d.x - end.joint_x)
            for i, d in enumerate(cap.dowels, start=1)
        ],
    )
    yield row_of(
        "from the inside face, across the top end",
        [_mark(layout, every, CENTRE, cap.dowels[0].setback)],
    )
    yield row_of(
        "from the top end, for the cap (depth)",
        [_mark(layout, every, DEPTH, cap.in_below + cap.end_gap)],
    )


# --- uprights, panels and caps -----------------------------------------------------------------


def fill_parts(layout: Layout) -> Iterator[tuple[str, Found]]:
    """What is marked on each piece that stands in an end or lies on it, by its name."""
    for end in layout.ends:
        for fill in end.fills:
            if isinstance(fill, UprightPlan):
                for number in range(1, len(fill.middles) + 1):
                    yield upright_name(end, fill, number), _upright(layout, fill)
                continue
            for number in range(1, len(fill.uprights) + 1):
                name = frame_upright_name(end, fill, number)
                yield name, _frame_upright(layout, fill)
            for number in range(1, len(fill.openings) + 1):
                yield panel_name(end, fill, number), _panel(layout, fill)
        if end.cap is not None:
            yield cap_name(end), _cap(layout, end, end.cap)
            for i in range(1, len(end.cap.dowels) + 1):
                yield f"{cap_name(end)}_dowel_{i}", _cap_dowel(layout, end.cap)


def _upright(layout: Layout, plan: UprightPlan) -> Found:
    whole = plan.tenon_width >= plan.width
    what = "line of the rail's edge" if whole else "shoulder line"
    rows = [
        row_of("from each end, along it", [_mark(layout, "", what, plan.let_in)]),
    ]
    if not whole and not plan.is_round:
        side, face = plan.width - plan.tenon_width, plan.thickness - plan.tenon_thickness
        rows.append(row_of("from each edge", [_mark(layout, "tenon", "edge", side / 2)]))
        rows.append(row_of("from each face", [_mark(layout, "tenon", "cheek", face / 2)]))
    show = layout.sheet.show
    told = (
        f"turn both ends down to {show(plan.tenon_width)}"
        if plan.is_round and not whole
        else "cut all against one stop, from shoulder to shoulder alike"
    )
    return Found(
        tuple(rows),
        (
            told,
            "glue its lower end alone: the upper one stays dry, so that the rail can move on it",
        ),
    )


def _frame_upright(layout: Layout, plan: PanelPlan) -> Found:
    half, middle = plan.groove_width / 2, plan.upright_thickness / 2
    rows = (
        row_of("from each end, along it", [_mark(layout, "", "shoulder line", plan.tenon_length)]),
        row_of(
            "from the inside face, across the edges",
            [
                _mark(layout, GROOVE, "near cheek", middle - half),
                _mark(layout, GROOVE, "far cheek", middle + half),
            ],
        ),
        row_of("from each grooved edge (depth)", [_mark(layout, GROOVE, DEPTH, plan.groove_depth)]),
        row_of(
            "from each edge, on both ends",
            [_mark(layout, "stub tenon", "edge", (plan.upright_width - plan.tenon_width) / 2)],
        ),
        row_of(
            "from each face, on both ends",
            [
                _mark(
                    layout,
                    "stub tenon",
                    "cheek",
                    (plan.upright_thickness - plan.tenon_thickness) / 2,
                )
            ],
        ),
    )
    return Found(rows, ("its stub tenons fill the rails' grooves; glue them there",))


def _panel(layout: Layout, plan: PanelPlan) -> Found:
    show = layout.sheet.show
    notes = (
        "never glue it: at most one pin through the rail at the middle of each end, so that it "
        "moves both ways alike",
        f"across the grain it has {show(plan.room)} of room at each edge, and stands "
        f"{show(plan.groove_depth - plan.room)} deep in its grooves as made",
        "finish it before it goes in, or bare wood shows when it shrinks",
    )
    if not plan.is_raised:
        return Found((), notes, "it is cut to size alone; nothing is set out on it")
    along, across = plan.groove_depth - plan.end_room, plan.groove_depth - plan.room
    rise = (plan.thickness - plan.tongue) / 2
    rows = (
        row_of("from each end of the grain", [_mark(layout, "field", "edge", along + plan.border)]),
        row_of("from each edge", [_mark(layout, "field", "edge", across + plan.border)]),
        row_of("from each face (depth)", [_mark(layout, "tongue", "cheek", rise)]),
    )
    return Found(rows, notes)


def _cap(layout: Layout, end: EndPlan, cap: CapPlan) -> Found:
    half = cap.length / 2
    xs: Iterable[float] = [d.x for d in cap.dowels]
    if cap.use == "over":
        xs = sorted({x for d in cap.dowels for x in (d.x, -d.x)})
    along = [_mark(layout, f"{CAP_HOLE} {i}", CENTRE, x + half) for i, x in enumerate(xs, start=1)]
    every = f"every {CAP_HOLE}"
    rows = (
        row_of("from the left end, along the lower face", along),
        row_of(
            "from the edge towards the mattress, across the lower face",
            [_mark(layout, every, CENTRE, cap.dowels[0].setback + cap.inner)],
        ),
        row_of(
            "from the lower face (depth)",
            [_mark(layout, every, DEPTH, cap.in_cap + cap.end_gap)],
        ),
    )
    if cap.use == "over":
        told = (
            "glue its dowels in cap and legs; never glue it to the highest rail or board, which "
            f"has {layout.sheet.show(cap.room)} below it to rise in damp air"
        )
    else:
        told = "glue it and its dowels to the board under it; its ends stay dry beside the legs"
    return Found(rows, (told,))


def _cap_dowel(layout: Layout, cap: CapPlan) -> Found:
    line = _mark(layout, "", "line of the cap's lower face", cap.in_cap)
    return Found((MarkRow("from the end that goes into the cap", (line,)),), ("glue both ends",))
