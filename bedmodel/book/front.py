"""The first pages: cover, contents, cautions and what was assumed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportlab.platypus import NextPageTemplate, PageBreak, Spacer

from bedmodel.book.contents import Contents
from bedmodel.book.document import TEXT, Story, heading, section
from bedmodel.book.flowables import Shown
from bedmodel.book.style import POINTS, paragraph, shares, table, text_width_of
from bedmodel.materials import material
from bedmodel.sheets import folder_name
from bedmodel.shop import cautions

ADULT = (
    "For adults on a low bed, platform under 600 mm: not for cots, children's, bunk, loft, "
    "adjustable or medical beds."
)
NO_CERTIFICATE = (
    "These plans are a design aid reckoned from average clear wood. They certify nothing; local "
    "codes and licensed practice decide. Test the bed with care before anyone sleeps in it."
)
HARDWARE = (
    "Fasteners differ from maker to maker: measure yours before you cut. Hooks must hang on both "
    "sides before anyone sits on the bed; tap the rails down again after the first heating season."
)
MEASURE = (
    "Measure every sheet and template before use: print at 100 %, check its squares, and make a "
    "trial cut in scrap."
)


def cover(book: Contents) -> Story:
    """The bed, its name, and what size it is."""
    width = text_width_of(book.paper) * POINTS
    facts = list(facts_of(book))
    return [
        Spacer(1, 18),
        paragraph(book.title, "title"),
        paragraph(f"for a mattress of {mattress(book)}", "subtitle"),
        Spacer(1, 10),
        Shown(book.cover, width, width * 0.625),
        Spacer(1, 14),
        table(["overall", ""], facts, shares(book.paper, 0.34, 0.66)),
        Spacer(1, 12),
        paragraph(NO_CERTIFICATE, "body"),
        paragraph(ADULT, "body"),
        NextPageTemplate(TEXT),
        PageBreak(),
    ]


def mattress(book: Contents) -> str:
    size = book.layout.mattress
    thickness = f" and {book.both(size.thickness)} thick" if size.thickness else ""
    return f"{book.both(size.width)} by {book.both(size.length)}{thickness}"


def facts_of(book: Contents) -> Iterator[tuple[str, str]]:
    """What a buyer asks first."""
    layout = book.layout
    x, y, z = layout.overall
    yield "width over all", book.both(x)
    yield "length over all", book.both(y)
    yield "height over all", book.both(z)
    yield "platform, top of the slats", f"{book.both(layout.platform)} above the floor"
    woods = dict.fromkeys(p.kind.species for p in book.pieces if not p.kind.is_metal)
    yield "wood", ", ".join(material(name, layout.sheet.own_woods).label for name in woods)
    yield "mass without mattress", f"{book.mass_kg:.0f} kg ({book.mass_kg / 0.45359237:.0f} lb)"
    yield "to buy", f"{book.buying.gross:.0f} board feet, by the list inside"
    parts = sum(item.count for item in book.cuts.items)
    yield "parts", f"{parts} of wood, {sum(n for _, n in book.cuts.hardware)} of metal"


def contents(book: Contents, openings: Sequence[tuple[str, int, int]]) -> Story:
    rows = [(title, str(page)) for title, level, page in openings if level == 0]
    lines = table(["chapter", "page"], rows, shares(book.paper, 0.85, 0.15), " r")
    return [*heading("Contents"), lines]


def safety(book: Contents) -> Story:
    """The cautions, and what the reckoning took for granted."""
    told = (ADULT, NO_CERTIFICATE, HARDWARE, MEASURE)
    shop = (
        cautions.SAW,
        cautions.ROUTER,
        cautions.DUST,
        cautions.BENCH,
        cautions.SCREWS,
        cautions.GLUE,
        cautions.HEAVY,
    )
    return [
        *heading("Before you begin"),
        *section("What this bed is, and is not"),
        *(paragraph(text, "item", "\u2022") for text in told),
        *section("In the shop"),
        *(paragraph(_sentence(text), "item", "\u2022") for text in shop),
        *section("How to read this book"),
        *(paragraph(text, "item", "\u2022") for text in _reading(book)),
    ]


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."


def _reading(book: Contents) -> Iterator[str]:
    unit = "inches, to 1/64" if book.layout.sheet.design.unit == "inch" else "millimetres, to 0.1"
    yield f"Lengths are in {unit}; other units stand in brackets."
    yield (
        "Left and right are those of someone lying in the bed on their back, head at the head end; "
        "the inside face looks at the mattress, the show face away from it, and the joint face of "
        "a leg is the one that boards and rails butt against."
    )
    yield (
        "Marks run from one reference edge each and are rounded one by one, so errors do not add "
        "up. The true value stands beside the rounded one."
    )
    yield (
        f"Every page and file of this bed bears the name {folder_name(book.layout.sheet)}: "
        "do not mix sheets of two sizes."
    )
