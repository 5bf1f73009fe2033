"""All drawings of a bed: laid out as pages, written as one DXF, and drawn from that on paper."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Any

from bedmodel.assembly import Bed
from bedmodel.drawing.arrangement import Drafter, end_page, general_arrangement, slat_page
from bedmodel.drawing.document import dxf_bytes, make_document
from bedmodel.drawing.exploded import exploded_page
from bedmodel.drawing.joint_pages import joint_pages
from bedmodel.drawing.page import Page
from bedmodel.drawing.paper import sheets_of
from bedmodel.drawing.part_pages import is_small, metal_pages, part_pages, small_pages, title_of
from bedmodel.drawing.sheet_frame import Title, frame_marks
from bedmodel.drawing.subject import Subject
from bedmodel.drawing.whole import Whole
from bedmodel.exports.beside import begun
from bedmodel.exports.paper.drawing_papers import drawing_paper
from bedmodel.exports.paper.pdf import pdf_bytes
from bedmodel.exports.paper.sheet import Paper, Sheet
from bedmodel.exports.paper.svg import svg_bytes
from bedmodel.sheets import folder_name

Say = Callable[[str], None]
Draft = tuple[Page, Title]


@dataclass(frozen=True)
class Drawings:
    """The drawings of a bed; ``sheets`` are what ``document`` shows, one a layout, in order."""

    name: str
    pages: tuple[Page, ...]
    sheets: tuple[Sheet, ...]
    document: Any

    @cached_property
    def dxf(self) -> bytes:
        """The document as a file; written when it is asked for, as a plan book never does."""
        return dxf_bytes(self.document)

    @property
    def pdf(self) -> bytes:
        """All sheets as one PDF at their true scale."""
        return pdf_bytes(self.sheets, f"{self.name}, drawings")

    def svgs(self) -> Iterator[tuple[str, bytes]]:
        """Each sheet as an SVG, with its name."""
        for page, sheet in zip(self.pages, self.sheets, strict=True):
            yield page.name, svg_bytes(sheet)


def make_drawings(bed: Bed, paper: str = "A4", say: Say = lambda text: None) -> Drawings:
    """Draw a bed on a paper: A4, A3, Letter or Tabloid. Raises InputError for another."""
    makers = list(_makers(bed, drawing_paper(paper)))
    # Every other sheet beside, so that both hands have long and short ones.
    others = begun(_drafted, makers[1::2])
    mine = []
    for name, make in makers[::2]:
        say(f"drawing {name}")
        mine.append(make())
    say("waiting for the other sheets")
    theirs = pickle.loads(others())
    drafts: list[Draft] = []
    for number in range(len(makers)):
        drafts += (mine, theirs)[number % 2][number // 2]
    pages = _numbered(bed, drafts)
    say("writing the drawings")
    document = make_document(pages)
    sheets = tuple(sheets_of(document, [(page.name, page.title) for page in pages]))
    return Drawings(bed.layout.sheet.design.title, tuple(pages), sheets, document)


def _drafted(makers: Sequence[tuple[str, Callable[[], list[Draft]]]]) -> bytes:
    """What each gives, pickled to come from another process of our own."""
    return pickle.dumps([make() for _, make in makers])


def _makers(bed: Bed, paper: Paper) -> Iterator[tuple[str, Callable[[], list[Draft]]]]:
    """Each sheet's name, and the function that lays it out."""
    whole = Whole(bed)
    drafter = Drafter(whole, paper)
    design, unit = bed.layout.sheet.design.title, bed.layout.sheet.design.unit
    blank = Title("", design, "", "", "", "", "inches" if unit == "inch" else "millimetres")

    def of_whole(title: str, make: Callable[[Title], Page]) -> Callable[[], list[Draft]]:
        stated = replace(blank, title=title, kind="Arrangement drawing")
        return lambda: [(make(stated), stated)]

    yield (
        "general arrangement",
        of_whole("General arrangement", partial(general_arrangement, drafter)),
    )
    yield "exploded view", of_whole("Exploded view", partial(exploded_page, drafter))
    for end in bed.layout.ends:
        words = f"{end.end.capitalize()} end"
        yield words.lower(), of_whole(words, partial(end_page, drafter, end))
    words = "Slat layout" if bed.layout.has_slats else "Platform"
    yield words.lower(), of_whole(words, partial(slat_page, drafter))
    schedule = replace(blank, title="Joint schedule", kind="Schedule")
    yield (
        "joint schedule",
        lambda: [(page, schedule) for page in joint_pages(drafter, schedule)],
    )
    small = [subject for subject in whole.subjects.values() if is_small(subject)]
    metal = [subject for subject in whole.subjects.values() if subject.kind.is_metal]
    shown = {s.twin.name for s in whole.subjects.values() if s.twin is not None}
    for subject in whole.subjects.values():
        if subject in small or subject in metal or subject.kind.name in shown:
            continue
        title = title_of(subject, design, "", "")

        def make(subject: Subject = subject, title: Title = title) -> list[Draft]:
            where = whole.where(subject.kind.name)
            return [(page, title) for page in part_pages(subject, paper, title, where)]

        yield subject.title, make
    if metal:
        bought = title_of(metal[0], design, "", "")
        bought = replace(bought, title="Bought hardware", count="")
        yield (
            "bought hardware",
            lambda: [(page, bought) for page in metal_pages(metal, paper, bought)],
        )
    if small:
        plain = all("tenon" in s.kind.name for s in small)
        words = "Loose tenons" if plain else "Small parts"
        count = str(sum(len(s.pieces) for s in small))
        title = replace(title_of(small[0], design, "", ""), title=words, count=count)
        yield (
            words.lower(),
            lambda: [(page, title) for page in small_pages(small, paper, title)],
        )


def _numbered(bed: Bed, drafts: list[Draft]) -> list[Page]:
    """The pages with their numbers in the title block."""
    stem, count = folder_name(bed.layout.sheet), len(drafts)
    pages = []
    for i, (page, title) in enumerate(drafts, 1):
        stated = replace(
            title,
            title=page.title,
            number=f"{stem}-{i:02d}",
            sheet=f"{i} of {count}",
            scale=page.scale,
        )
        marks = (*frame_marks(page.paper, stated), *page.marks)
        pages.append(replace(page, name=f"{i:02d}_{page.name}", marks=marks))
    return pages
