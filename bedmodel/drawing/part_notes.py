"""The notes on a part's sheets, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.drawing.part_figures import is_slanting
from bedmodel.drawing.profile_figures import profile_notes
from bedmodel.drawing.sawn import sawn_notes
from bedmodel.drawing.subject import Subject
from bedmodel.drawing.tables import Notes
from bedmodel.units import format_angle


def outline_notes(subject: Subject) -> Notes:
    """What the sheet of an outline says."""
    lines = ["the numbers go round the outline; a full-size template comes with the plans"]
    lines.append("saw outside the line and rout to the template, or work down to it by hand")
    lines.append("grain runs along the length; the box in chain lines is the blank")
    lines += [f"then, on the sheet of the joints: {words}" for words in sawn_notes(subject)]
    return Notes("Notes", (*lines, *of_twin(subject)), 76.0)


_EDGES = {"long": "long edges", "show": "show face", "inside": "inside face"}


def part_notes(subject: Subject, alike: bool) -> Notes:
    """What a part's sheet says besides its views; ``alike`` are both ends, mirrored."""
    lines = []
    if subject.kind.is_metal:
        lines.append("bought: check its sizes before anything is cut for it")
    easing = subject.shape.easing
    if easing.active:
        what = "rounded over, radius" if easing.style == "roundover" else "chamfered"
        edges = ", ".join(_EDGES.get(edge, edge) for edge in sorted(easing.edges))
        lines.append(f"edges {what} {subject.text(easing.size)}: {edges}; all others left sharp")
    elif not subject.kind.is_metal:
        lines.append("edges left sharp")
    if subject.gauges:
        lines.append("sawn and turned faces below the joints are left sharp: break them by hand")
    lines += profile_notes(subject)
    for feature in subject.features:
        look = subject.front.seen_from(feature.side)
        if feature.side not in ("left", "right") and is_slanting(feature, look):
            lines.append(f"{feature.code}: all in one straight line from the first to the last")
    if alike:
        lines.append("both ends alike, mirrored")
    lines += _off_square(subject)
    lines += sawn_notes(subject)
    if subject.features:
        start = "where the joint face begins" if subject.joint is not None else "the left end"
        lines.append(
            f"running dimensions begin at the small circles: along, at {start}; mark all of a row "
            "from there, never one from the next"
        )
    if not subject.kind.is_metal:
        lines.append("grain along the length")
    lines += of_twin(subject)
    return Notes("Notes", tuple(lines), 76.0)


def of_twin(subject: Subject) -> Iterator[str]:
    """What the sheet says of the other hand, which has none of its own."""
    if subject.twin is not None:
        other = subject.twin.name.replace("_", " ")
        yield (
            f"drawn: {subject.title}; {other} is its mirror image, all sizes from the same edges: "
            "lay both side by side and mark them as a pair"
        )


def _off_square(subject: Subject) -> Iterator[str]:
    """Ends of a rail that are not square."""
    if subject.shape.face != "xz":
        return
    ends: dict[str, list[str]] = {}
    sawn = {trim.name for trim in subject.shape.trims}
    for edge in subject.shape.outline.edges():
        if edge.name.replace("_end", "_cut") in sawn:
            continue
        rise, run = edge.end[1] - edge.start[1], edge.end[0] - edge.start[0]
        off = abs(math.degrees(math.atan2(run, rise)))
        off = min(off, 180 - off)
        if 0.02 < off < 45:
            ends.setdefault(format_angle(off), []).append(edge.name.replace("_", " "))
    for angle, names in ends.items():
        yield f"{' and '.join(sorted(names))} cut {angle} off square, as the outline says"
