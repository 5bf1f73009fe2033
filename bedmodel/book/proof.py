"""What was checked, and what was assumed."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.book.contents import Contents
from bedmodel.book.document import Story, heading, section
from bedmodel.book.lists import spoken
from bedmodel.book.style import paragraph, shares, table
from bedmodel.checks.finding import Result


def checks(book: Contents) -> Story:
    """Every check: what was tested, the worst measured, the limit."""
    rows = [
        (
            str(int(result.code)),
            result.title,
            str(result.tested),
            _worst(result),
            result.limit,
            "passed" if result.passed else "FAILED",
        )
        for result in book.results
        if result.tested
    ]
    passed = all(result.passed for result in book.results)
    lead = (
        "Every check on the solids of this bed passed. They tell that the parts fit; they do not "
        "certify the bed."
        if passed
        else "Not every check passed: do not build from this book."
    )
    heads = ("code", "what was checked", "tested", "worst", "limit", "")
    story = [
        *heading("Checks"),
        paragraph(lead, "lead"),
        table(heads, rows, shares(book.paper, 7, 37, 9, 14, 23, 10), "r rr"),
    ]
    told = [
        f"{spoken(', '.join(caution.parts))}: {caution.told}" if caution.parts else caution.told
        for result in book.results
        for caution in result.cautions
    ]
    if told:
        story += section("To bear in mind")
        story += [paragraph(text, "caution", "!") for text in dict.fromkeys(told)]
    return story


def _worst(result: Result) -> str:
    if result.worst is None or result.measure == "count":
        return "" if result.worst is None else f"{result.worst:.0f}"
    # What arithmetic leaves of nothing is nothing.
    worst = 0.0 if abs(result.worst) < 1e-6 else result.worst
    return f"{worst:.3g} {result.measure}"


def assumptions(book: Contents) -> Story:
    story: Story = [*heading("What was assumed")]
    story += [paragraph(text, "item", "\u2022") for text in _assumed(book)]
    for title, lines in book.more:
        story += section(title)
        story += [paragraph(line, "item", "\u2022") for line in lines]
    return story


def _assumed(book: Contents) -> Iterator[str]:
    sheet = book.layout.sheet
    size = book.layout.mattress
    yield (
        f"The mattress is {book.both(size.width)} wide and {book.both(size.length)} long by name; "
        "one 20 mm over its size, the tolerance of EN 1334, still drops in."
    )
    yield (
        f"The wood is {sheet.bed_wood.label}, of average clear wood, dried for indoor use; it "
        "swells and shrinks across its grain with the seasons."
    )
    if book.layout.fastener is not None:
        yield (
            f"The rails hang on fasteners of the row {book.layout.fastener.row.name}; the table's "
            "sizes are typical ones, unconfirmed: measure yours and give them in the sheet."
        )
    yield "Router bits, bushings and saw kerf are those of the shop's file; measure yours."
