"""The chapters in their order."""

from __future__ import annotations

from collections.abc import Sequence

from bedmodel.book import building, front, joinery, lists, proof
from bedmodel.book.contents import Contents
from bedmodel.book.document import (
    COLUMNS,
    Opening,
    Story,
    book_bytes,
    new_page,
    whole_page,
)
from bedmodel.exports.paper.sheet import Sheet


def plan_pdf(book: Contents) -> bytes:
    """The plan book as PDF: searchable, at true scale, bookmarked, the same bytes each time."""

    def story(openings: Sequence[tuple[str, int, int]]) -> Story:
        return [
            *front.cover(book),
            *front.contents(book, openings),
            *new_page(),
            *front.safety(book),
            *new_page(),
            *lists.parts(book),
            *new_page(),
            *lists.to_buy(book),
            *_sheets("Boards", book.board_pages),
            *new_page(),
            *lists.settings(book),
            *_sheets("Drawings", book.drawings),
            *new_page(COLUMNS),
            *joinery.setting_out(book),
            *new_page(),
            *joinery.jigs(book),
            *new_page(),
            *building.steps(book),
            *_sheets("Strength", book.reckoning),
            *new_page(),
            *proof.checks(book),
            *new_page(),
            *proof.assumptions(book),
        ]

    papers = [sheet.paper for sheet in (*book.drawings, *book.board_pages, *book.reckoning)]
    return book_bytes(f"{book.title}, plan book", book.paper, papers, story)


def _sheets(title: str, sheets: Sequence[Sheet]) -> Story:
    """Whole pages, each with its own bookmark under the chapter's, which opens on the first."""
    story: Story = []
    for sheet in sheets:
        page = whole_page(sheet)
        openings = [Opening(sheet.title, 1)]
        if not story:
            openings.insert(0, Opening(title))
        story += [*page[:-1], *openings, page[-1]]
    return story
