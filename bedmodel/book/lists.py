"""Chapters of lists: parts, what to buy, machine settings."""

from __future__ import annotations

from reportlab.platypus import Spacer

from bedmodel.book.contents import Contents
from bedmodel.book.document import Story, heading, section
from bedmodel.book.style import paragraph, shares, table
from bedmodel.materials import material
from bedmodel.shop.settings import batches

MACHINES = {
    "planer": "Planer, one setting a thickness",
    "rip fence": "Rip fence, one setting a width",
    "crosscut stop": "Crosscut stop, one setting a length",
}


def parts(book: Contents) -> Story:
    """Every part, finished and rough, and the hardware."""
    rows, own = [], book.layout.sheet.own_woods
    for number, item in enumerate(book.cuts.items, start=1):
        rough = book.sides(item.rough_length, item.rough_width)
        rows.append(
            (
                str(number),
                spoken(item.name),
                str(item.count),
                book.sides(item.length, item.width, item.thickness),
                rough if item.lumber else item.stock_name,
                f"{material(item.species, own).label}, {item.lumber.name}" if item.lumber else "",
                "; ".join(item.notes),
            )
        )
    heads = ("no.", "part", "count", "finished: length x width x thickness", "rough", "wood", "")
    widths = shares(book.paper, 0.05, 0.125, 0.06, 0.215, 0.185, 0.14, 0.225)
    story = [
        *heading("Parts"),
        paragraph(
            "Finished sizes are those of the parts before joints are cut; lengths go from end to "
            "end of the blank, tenons included. Rough sizes have the shop's allowances in.",
            "lead",
        ),
        table(heads, rows, widths, "r r"),
    ]
    if book.cuts.hardware:
        metal = [(spoken(name), str(count)) for name, count in book.cuts.hardware]
        story += [*section("Hardware"), table(("what", "count"), metal, [70.0, 20.0], " r")]
    return story


def to_buy(book: Contents) -> Story:
    """What to ask the yard for."""
    buying, own = book.buying, book.layout.sheet.own_woods
    rows = [
        (
            material(row.species, own).label,
            row.class_name,
            f"{row.gross:.1f}",
            f"{row.rough:.1f}",
            book.show(row.least_width),
            book.show(row.least_length),
            ", ".join(f"{count} from {feet} ft" for feet, count in row.lengths[:3]),
            _money(row.cost),
        )
        for row in buying.rows
    ]
    heads = (
        *("wood", "class", "board feet to buy", "as cut", "least width", "least length"),
        *("longest part", "cost"),
    )
    story = [
        *heading("What to buy"),
        paragraph(
            f"{buying.grade.label}: at least {float(buying.grade.share):.0%} of a board in clear "
            "cuttings. Ask for rough lumber of full thickness, dry for indoor use; pick boards "
            "that take the widest and longest parts first. Prices come from the shop's own file.",
            "lead",
        ),
        table(heads, rows, shares(book.paper, 17, 9, 12, 10, 13, 13, 16, 10), "  rrrr r"),
        Spacer(1, 4),
        paragraph(f"In all {buying.gross:.1f} board feet, cost {_money(buying.cost)}."),
    ]
    rods = [
        f"dowel rod {book.show(item.width)}: {item.count} of {book.show(item.length)}"
        for item in buying.rods
    ]
    metal = [f"{count} x {spoken(name)}" for name, count in buying.hardware]
    others_too = [f"{each.what}: {each.count}, {each.sizes}" for each in buying.supplies]
    if rods or metal or others_too:
        story += section("Besides lumber")
        story += [paragraph(line, "item", "\u2022") for line in (*rods, *metal, *others_too)]
    others = [(a.label, _money(a.cost), f"{a.mass_kg:.0f} kg") for a in buying.alternatives]
    if others:
        story += [
            *section("The same bed in another wood"),
            table(("wood", "lumber", "bed without mattress"), others, [60.0, 30.0, 45.0], " rr"),
        ]
    return story


def settings(book: Contents) -> Story:
    """Machine by machine, every part of one setting in one go."""
    story: Story = [
        *heading("Machine settings"),
        paragraph(
            "Set a machine once and run every part of that setting, test pieces with them.", "lead"
        ),
    ]
    machines = dict.fromkeys(batch.machine for batch in batches(book.cuts))
    for machine in machines:
        rows = [
            (book.both(b.setting), str(b.count), ", ".join(map(spoken, b.parts)))
            for b in batches(book.cuts)
            if b.machine == machine
        ]
        story += section(MACHINES.get(machine, spoken(machine).capitalize()))
        widths = shares(book.paper, 0.3, 0.1, 0.6)
        story.append(table(("setting", "count", "parts"), rows, widths, "rr"))
    return story


def spoken(name: str) -> str:
    return name.replace("_", " ")


def _money(cost: float | None) -> str:
    return "no price" if cost is None else f"{cost:.2f}"
