"""Leaning head ends as solids: faces, volumes and contacts measured, all checks passed."""

from __future__ import annotations

import functools
import math
from typing import cast

import pytest
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepExtrema import BRepExtrema_DistShapeShape

from bedmodel.angles import rail_end_cut
from bedmodel.assembly import Bed, make_bed
from bedmodel.checks.finding import Code
from bedmodel.checks.pocket import check_pocket
from bedmodel.checks.probe import Probe
from bedmodel.checks.run import findings, run_checks
from bedmodel.drawing.directions import Side
from bedmodel.drawing.part_figures import Overall, view_figure
from bedmodel.drawing.sawn import mitre_and_tilt, sawn_notes, with_sawn_angles
from bedmodel.drawing.subject import subject_of
from bedmodel.frames import dot
from bedmodel.sheets import load_sheet
from bedmodel.solids import volume_of
from tests.beds import with_mattress

BUTT = "side_rail.joint=butt"
SQUARE = tuple(f"{part}.edge=square" for part in ("leg", "side_rail", "headboard"))
BEDS: tuple[tuple[str, str | None, tuple[str, ...]], ...] = (
    ("heather", None, ()),
    ("heather", "us-twin", ("centre_rail.ends=cleats", "headboard.board.1.above_platform=-200 mm",
                            "headboard.board.1.width=480 mm", "centre_rail.use=always",
                            "footboard.board.1.above_platform=-140 mm",
                            "footboard.board.1.width=200 mm")),
    ("campion", "us-king", ("frame.rake=6", "headboard.joint=tenon")),
    ("hawthorn", "eu-90x200", ("frame.rake=6", "side_rail.joint=brackets",
                               "headboard.joint=dowels")),
    ("sorrel", None, ("frame.rake=15", BUTT)),
)  # fmt: skip


@functools.cache
def bed_of(name: str, size: str | None = None, changes: tuple[str, ...] = ()) -> Bed:
    return make_bed(load_sheet(name, size=size, changes=changes))


@pytest.mark.parametrize(("name", "size", "changes"), BEDS)
def test_a_raked_bed_passes_all_checks(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    bed = bed_of(name, size, changes)
    assert bed.layout.rake > 0
    assert findings(run_checks(bed)) == ()
    if "centre_rail.ends=cleats" in changes:
        assert {p.name for p in bed.pieces if "cleat" in p.name} == {"head_cleat", "foot_cleat"}


@pytest.mark.parametrize(("name", "size", "changes"), [BEDS[0], BEDS[2], BEDS[4]])
def test_feet_stand_level_and_rails_meet_the_leaning_legs(
    name: str, size: str | None, changes: tuple[str, ...]
) -> None:
    bed = bed_of(name, size, changes)
    probe, layout = Probe(bed), bed.layout
    for leg in (p for p in bed.pieces if "_leg_" in p.name):
        down = [
            face
            for face in probe.faces(leg.kind.name)
            if face.normal and leg.placement.direction(face.normal)[2] < -1 + 1e-9
        ]
        (foot,) = down
        assert foot.area > 0.7 * layout.sheet.leg.thickness * 60
        assert max(abs(leg.placement.point(p)[2]) for p in foot.points) < 1e-6
    for side in ("left", "right"):
        rail, leg = bed.piece(f"side_rail_{side}"), bed.piece(f"head_leg_{side}")
        inward = layout.head.towards_mattress
        ends = [
            face
            for face in probe.faces(rail.kind.name)
            if face.normal and dot(rail.placement.direction(face.normal), inward) < -1 + 1e-9
        ]
        # In one plane with the legs' inside face, through the platform's line.
        assert ends
        lengths = []
        for p in max(ends, key=lambda face: face.area).points:
            x, y, z = rail.placement.point(p)
            assert dot((x, y, z - layout.platform), inward) == pytest.approx(0, abs=1e-6)
            lengths.append(y)
        low, high = layout.rail_bottom, layout.rail_top
        assert max(lengths) - min(lengths) == pytest.approx(
            (high - low) * math.tan(layout.rake), abs=2 * layout.sheet.side_rail.edge_size
        )
        common = BRepAlgoAPI_Common(bed.solid(rail).wrapped, bed.solid(leg).wrapped).Shape()
        assert volume_of(common) < 1e-3
        apart = BRepExtrema_DistShapeShape(bed.solid(rail).wrapped, bed.solid(leg).wrapped)
        assert apart.Value() < 1e-6


@pytest.mark.parametrize("rake", [1, 8, 15])
def test_volumes_are_area_times_mean_length(rake: int) -> None:
    """A prism cut off by a plane: its section's area times its length through the middle."""
    changes = (f"frame.rake={rake}", BUTT, "runner.joint=glue", *SQUARE)
    bed = bed_of("hawthorn", None, changes)
    layout, sheet, rho = bed.layout, bed.layout.sheet, math.radians(rake)
    rail = sheet.side_rail
    middle = (layout.rail_top + layout.rail_bottom) / 2
    length = layout.pocket_length + (middle - layout.platform) * math.tan(rho)
    assert bed.volume("side_rail") == pytest.approx(rail.width * rail.thickness * length, rel=1e-9)
    # Its longest line is the blank's.
    longest = layout.pocket_length + (layout.rail_top - layout.platform) * math.tan(rho)
    assert bed.kinds["side_rail"].shape.length == pytest.approx(longest)
    leg, side = sheet.leg, "head_leg_right"
    mortises = sum(
        (cut.length - cut.width) * cut.width * cut.depth + math.pi / 4 * cut.width**2 * cut.depth
        for cut in bed.kinds[side].shape.mortises
    )
    foot = layout.platform / math.cos(rho) - leg.thickness / 2 * math.tan(rho)
    mean = foot + layout.head.leg_top - layout.platform
    wood = leg.top_width * leg.thickness * mean - mortises
    assert bed.volume(side) == pytest.approx(wood, rel=1e-9)


def test_a_mattress_that_reaches_the_leaning_boards_is_told() -> None:
    """The lean gives room above the platform, and none at it."""
    bed = bed_of("hawthorn", None, ("frame.rake=8", BUTT))
    spare = bed.layout.sheet.mattress.end_clearance
    for over, fits in ((-0.01, True), (0.01, False)):
        results = check_pocket(Probe(with_mattress(bed, length=spare + over)))
        codes = {f.code for f in findings(tuple(results))}
        assert (Code.POCKET_TOO_SMALL not in codes) == fits


def test_sheets_of_parts_dimension_both_compound_cuts() -> None:
    bed = bed_of("heather")
    for kind, side, of, words in (
        ("head_leg_right", "top", "level_cut", "foot cut level with the floor: blade tilted 8 deg"),
        ("side_rail_right", "front", "head_cut", "head end cut to the leaning leg: 8 deg off"),
    ):
        subject = subject_of(bed, kind)
        if kind.startswith("head_leg") and not subject.on("top"):
            side = "bottom"
        figure = view_figure(subject, cast("Side", side), 10.0, Overall())
        shown = with_sawn_angles(figure, subject, cast("Side", side), 10.0)
        (angle,) = [m for m in shown.measures if m.of == f"angle of {of}"]
        assert angle.text.text == "8\u00b0"
        assert abs(angle.value) == pytest.approx(8, abs=0.01)
        (note,) = sawn_notes(subject)
        assert note.startswith(words)
        # Nothing of the kind is said of a leg that stands plumb.
        foot = subject_of(bed, "foot_leg_right")
        assert list(sawn_notes(foot)) == []
    # The saw's own angles, from the plane of the solid and from the formula.
    rail = subject_of(bed, "side_rail_right")
    mitre, tilt = mitre_and_tilt(rail, rail.shape.trims[0])
    cut = rail_end_cut(math.degrees(bed.layout.yaw), 8.0)
    assert (mitre, tilt) == pytest.approx((cut.mitre_deg, cut.tilt_deg))
