"""What strength and movement were reckoned to, as chapters of the report."""

from __future__ import annotations

from bedmodel.assembly import Bed
from bedmodel.exports.paper.svg import svg_bytes
from bedmodel.exports.reckoning_page import strength_page
from bedmodel.exports.report.matter import Chapter, Figure, Remark
from bedmodel.movement.parts import movement
from bedmodel.strength import CAUTIONS
from bedmodel.strength.answer import Strength
from bedmodel.strength.judged import MemberReport
from bedmodel.strength.words import plain, sag_text, use_text


def strength_chapter(bed: Bed, found: Strength) -> Chapter:
    """The picture of sag and use, a line for each member and joint that matters, the cautions."""
    picture = svg_bytes(strength_page(found)).decode("utf-8").partition("?>\n")[2]
    remarks = [_member(bed, found, report) for report in found.members]
    remarks += [
        Remark(f"{plain(band.joint)}, {band.action}: {band.band}")
        for band in found.joints
        if band.band != "ample"
    ]
    remarks += [Remark(text) for text in CAUTIONS]
    return Chapter(
        "strength",
        "Strength",
        "How each member bends under its worst loads and how much of its strength that uses; 1.0 "
        "is all that is allowed. Reckoned from average clear wood; it certifies nothing.",
        (Figure(picture, "sag, drawn much too deep, and the share of strength used along it"),),
        tuple(remarks),
    )


def _member(bed: Bed, found: Strength, report: MemberReport) -> Remark:
    case, sheet = report.governing, found.layout.sheet
    sags = [each.sag for each in report.cases if each.bent]
    sag = f"sags up to {sag_text(sheet, max(sags))}, " if sags else ""
    text = (
        f"{plain(report.member)}: {sag}uses {use_text(case.worst.use)} of what is allowed, by "
        f"{case.worst.what} under {case.load}"
    )
    stem = report.member.replace(" ", "_")
    names = tuple(piece.name for piece in bed.pieces if piece.name.startswith(stem))
    return Remark(text, report.passed, names)


def movement_chapter(bed: Bed) -> Chapter:
    """How far each wide part swells and shrinks, whether boards may, and what it does."""
    found, show = movement(bed.layout), bed.layout.sheet.show
    remarks = []
    for part in found.parts:
        stem = part.part.replace(" ", "_")
        names = tuple(piece.name for piece in bed.pieces if piece.name.startswith(stem))
        text = (
            f"{plain(part.part)}, {part.what} {show(part.size)}: {part.dry:+.1f} mm at its driest, "
            f"{part.damp:+.1f} mm at its dampest"
        )
        remarks.append(Remark(text, None, names))
    remarks += [
        Remark(
            f"{plain(fixing.board)}: glued over {show(fixing.glued_height)}, "
            f"{fixing.splitting.risk} risk of splitting",
            fixing.passed,
        )
        for fixing in found.fixings
    ]
    remarks += [
        Remark(
            f"{plain(panel.panel)}: each edge swells {panel.swells:.1f} of {panel.room:.1f} mm, "
            f"stays in {panel.depth - panel.shrinks:.1f} of {panel.least:.1f} mm",
            panel.passed,
        )
        for panel in found.panels
    ]
    remarks += [
        Remark(f"{e.what}: {e.dry:+.1f} mm dry, {e.damp:+.1f} mm damp; {e.meaning}")
        for e in found.effects
    ]
    lead = (
        f"In {found.climate.label} the wood goes from {found.climate.low:.1f} to "
        f"{found.climate.high:.1f} % moisture; it was made at {found.made_moisture:.1f} %."
    )
    return Chapter("movement", "Movement of the wood", lead, (), tuple(remarks))
