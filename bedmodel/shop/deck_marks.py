"""Setting out of side rails, runners, centre rail, cleats and slats.

All values come from the layout, none from a solid; mm, and the sheet's unit as shown.
"""

from __future__ import annotations

import math

from bedmodel.angles import told
from bedmodel.shop.fastener_marks import (
    rail_end_rows,
    rail_face_along,
    rail_face_depths,
    rail_face_heights,
    rail_notes,
)
from bedmodel.shop.marks import CENTRE, Found, Mark, MarkRow, row_of, shifted
from bedmodel.shop.raked import RAKED_END, SQUARE_TO_END, raked_rail_marks, raked_rail_notes
from bedmodel.shop.screw_marks import (
    cleat_notes,
    cleat_rows,
    rail_screw_depths,
    rail_screw_heights,
    rail_screw_notes,
    runner_along,
    runner_end,
    runner_notes,
    runner_rows,
    runner_start,
    slat_notes,
    slat_rows,
    spacing,
)
from bedmodel.shop.story_stick import along_rail, runner_edges, slat_edges
from bedmodel.shop.support_marks import centre_pilot_notes, centre_pilots, row_slat
from bedmodel.skeleton import Layout

# A yaw below this (radians) moves nothing by a micron over a part's width.
_SQUARE = 1e-8


def _mark(layout: Layout, of: str, what: str, true: float) -> Mark:
    return Mark((of,), what, true, layout.sheet.design.unit)


def rail_on_leg(layout: Layout) -> list[Mark]:
    """Both faces of the rail on a leg's inside face, from the joint face."""
    rail = layout.sheet.side_rail
    across = rail.thickness / math.cos(layout.yaw)
    return [
        _mark(layout, "side rail", "inside face", rail.reveal),
        _mark(layout, "side rail", "show face", rail.reveal + across),
    ]


def side_rail(layout: Layout) -> Found:
    """Runner, slats and fasteners on a side rail, and its end cuts."""
    sheet, yaw = layout.sheet, layout.yaw
    thickness = sheet.side_rail.thickness
    heights = [
        *runner_edges(layout),
        *rail_face_heights(layout),
        *rail_screw_heights(layout),
    ]
    along = [
        _mark(layout, "runner", "head end", runner_start(layout)),
        _mark(layout, "runner", "foot end", runner_end(layout)),
        *along_rail(layout, slat_edges(layout)),
        *([] if layout.rake else rail_face_along(layout, "head")),
        *runner_along(layout),
    ]
    back = [
        _mark(layout, "runner", "foot end", layout.rail_length - runner_end(layout)),
        *rail_face_along(layout, "foot"),
    ]
    cut = _mark(layout, "end cuts", "out of square at the show face", thickness * math.tan(yaw))
    rake = raked_rail_marks(layout)
    depths = rail_face_depths(layout)
    rows = (
        MarkRow("from a square line at the inside face, on both edges", (cut,)),
        MarkRow(RAKED_END, rake),
        row_of("from the lower edge, on the inside face", heights),
        row_of("from the head end, along the inside face", along),
        row_of("from the foot end, along the inside face", back),
        row_of(SQUARE_TO_END, rail_face_along(layout, "head") if layout.rake else []),
        *rail_end_rows(layout),
        row_of(depths.reference, [*depths.marks, *rail_screw_depths(layout)]),
    )
    angle = told(math.degrees(yaw), thickness, sheet.design.unit)
    notes = [
        f"end cuts, both alike and parallel: {angle}" if not rake else f"foot end cut: {angle}",
        *raked_rail_notes(layout),
        "left and right are one part until marked, then mirrored: lay them side by side, inside "
        "faces up, lower edges touching, and mark both at once",
        *rail_notes(layout),
        *rail_screw_notes(layout),
    ]
    if yaw > _SQUARE:
        notes.append(
            "the show face runs on past the square line at the head end and stops short of it at "
            "the foot end"
        )
    return Found(rows, tuple(notes))


def runner(layout: Layout) -> Found:
    """Slats on a runner, and the holes for its screws and theirs."""
    sheet, yaw = layout.sheet, layout.yaw
    marks = shifted(along_rail(layout, slat_edges(layout)), -runner_start(layout))
    notes = [
        "left and right: lay them side by side, tops up, edges touching, and mark both at once"
    ]
    if yaw > _SQUARE:
        over = told(math.degrees(yaw), sheet.runner.width, sheet.design.unit)
        notes = [
            "left and right are mirrored: lay them side by side, tops up, rail edges touching, and "
            "mark both at once",
            "the slats lie square to the bed, not to the runner: on the edge away from the rail "
            f"each line comes nearer to the foot, {over}",
        ]
    reference = "from the head end, along the rail edge of the top"
    edges = [mark.true for mark in marks if mark.what == "near edge"]
    if edges:
        what = "slats" if layout.has_slats else "panels"
        notes.append(f"{what}, their near edges: {spacing(layout, edges)}")
    notes += runner_notes(layout)
    return Found((MarkRow(reference, tuple(marks)), *runner_rows(layout)), tuple(notes))


def centre_rail(layout: Layout) -> Found:
    """Slats and feet on the centre rail."""
    plan, size = layout.centre_rail, layout.sheet.support_foot.size
    if plan is None:
        return Found((), reason="this bed has no centre rail")
    feet: list[Mark] = []
    for i, y in enumerate(plan.feet):
        foot, place = f"support_foot_{i + 1}", y - plan.start
        feet.append(_mark(layout, foot, "near edge", place - size / 2))
        feet.append(_mark(layout, foot, CENTRE, place))
        feet.append(_mark(layout, foot, "far edge", place + size / 2))
    rows = (
        MarkRow(
            "from the head end, along the top", tuple(shifted(slat_edges(layout), -plan.start))
        ),
        MarkRow("from the head end, along the underside", tuple(feet)),
        *centre_pilots(layout),
    )
    notes = ("mark which end is the head end before anything else", *centre_pilot_notes(layout))
    return Found(rows, notes)


def slat(layout: Layout) -> Found:
    """Where runners and centre rail come under a slat, on the middle of its width; its holes."""
    half, bearings = layout.slats.length / 2, _bearings(layout)
    if layout.rows == 2:
        return row_slat(layout, bearings)
    under = []
    if layout.centre_rail is not None:
        rail = layout.sheet.centre_rail.width / 2
        under.append(_mark(layout, "centre rail", "near edge", half - rail))
        under.append(_mark(layout, "centre rail", "far edge", half + rail))
    if layout.yaw <= _SQUARE:
        bearing = bearings[0]
        under.append(_mark(layout, "left runner", "inner edge", bearing))
        under.append(_mark(layout, "right runner", "inner edge", 2 * half - bearing))
        plain = row_of("from the left end, along the underside", under)
        return Found((plain, *slat_rows(layout)), tuple(slat_notes(layout)))
    marks = [
        _mark(layout, f"slat_{i + 1:02d}", "inner edge of the runner", bearing)
        for i, bearing in enumerate(bearings)
    ]
    over = told(math.degrees(layout.yaw), layout.slats.width, layout.sheet.design.unit)
    rows = (
        row_of("from the left end, along the underside", under),
        MarkRow("from either end, along the middle of the underside", tuple(marks)),
        *slat_rows(layout),
    )
    notes = (
        "all slats are one length and the runners draw together towards the foot, so each slat "
        "bears a little more than the one before: number the slats from the head",
        f"the runner's edge crosses the slat out of square: {over}",
        *slat_notes(layout),
    )
    return Found(rows, notes)


def cleat(layout: Layout, end: str) -> Found:
    """Holes of the cleat of one end."""
    return Found(tuple(cleat_rows(layout, end)), tuple(cleat_notes(layout, end)))


def _bearings(layout: Layout) -> list[float]:
    """How far each slat reaches over its runner, on the middle of the slat's width."""
    across = layout.sheet.runner.width / math.cos(layout.yaw)
    half = layout.slats.length / 2
    middles = (y + layout.slats.width / 2 for y in layout.slats.starts())
    return [half - (layout.half_width(y) - across) for y in middles]
