"""What the sheet of the platform says of slats, panels of a deck, or a box spring."""

from __future__ import annotations

from bedmodel.skeleton import Layout

Places = list[tuple[float, str]]  # from the head legs' inside faces, and what begins there


def platform_places(layout: Layout) -> Places:
    """Each slat's or panel's edge nearest the head."""
    if layout.has_slats:
        return [(y, f"slat {i}") for i, y in enumerate(layout.slats.starts(), start=1)]
    panels = layout.deck.panels if layout.deck else ()
    return [(place.start, f"panel {place.number}") for place in panels]


def platform_across(layout: Layout) -> tuple[float, float, str] | None:
    """What is dimensioned across the bed: from, to and its name; None where nothing is."""
    half = layout.slats.length / 2
    if layout.deck is not None:
        last = layout.deck.panels[-1]
        return last.left, last.right, "deck panel"
    if not layout.has_slats:
        return None
    return (half - layout.slat_length, half, "slat length")


def platform_table(layout: Layout) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Heading and rows of the table."""
    show, row = layout.sheet.show, layout.slats
    if layout.deck is not None:
        deck = layout.deck
        rows = [
            (
                f"panel {p.number}",
                f"{show(p.length)} × {show(p.width)}, {deck.mass_kg(p):.1f} kg",
            )
            for p in deck.panels
        ]
        kind = f"{deck.plywood.label}, {show(deck.thickness)}, face grain across the bed"
        across = "one across the bed" if deck.rows == 1 else "two across the bed, mirror images"
        return "Deck", (("plywood", kind), ("panels", across), *rows)
    if not layout.has_slats:
        return "Box spring", (
            ("underside above the floor", show(layout.platform)),
            ("box and mattress together", show(layout.mattress.thickness)),
        )
    said = [
        ("slats", str(row.count * layout.rows)),
        ("width × thickness", f"{show(row.width)} × {show(layout.sheet.slat.thickness)}"),
        ("length, all alike", show(layout.slat_length)),
        ("gap between slats, and at both ends", show(row.gap)),
        ("first slat's edge to the next slat's", show(row.width + row.gap)),
    ]
    if layout.rows == 2:
        said.append(("gap between the two rows", show(layout.sheet.support.row_gap)))
    if layout.webbing is not None:
        tapes = f"{len(layout.webbing.places)} of {show(layout.webbing.length)}"
        said.append(("webbing tapes", tapes))
    return "Slats", tuple(said)


def platform_notes(layout: Layout) -> list[str]:
    """The lines under the figure."""
    if not layout.has_slats and layout.deck is None:
        return ["a box spring lies on both runners, and on the centre rail where there is one"]
    what = "slat" if layout.has_slats else "panel"
    lines = [
        f"places are those of each {what}'s edge nearest the head, from the head legs' inside "
        "faces, along the centreline",
        "mark both runners and the centre rail from one stick",
    ]
    if layout.deck is not None and layout.deck.battens:
        lines.append("joints lie over battens, each screwed to the panel on its head side")
    if layout.webbing is not None:
        lines.append("tapes are stapled on the slats' tops; only the end slats are screwed")
    elif layout.slat_screws is not None:
        lines.append("one screw at each end of each slat, as on the slat's own sheet")
    return lines
