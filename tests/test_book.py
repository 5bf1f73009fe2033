"""The plan book, read back by pypdfium2: chapters, contents, whole pages, hostile text."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from bedmodel.book.book import plan_pdf
from bedmodel.book.contents import Contents
from bedmodel.checks.finding import Caution, Code, Finding, Result
from bedmodel.cli import main
from bedmodel.exports.paper.sheet import A4, LETTER, Paper, Sheet, Text, line
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.order_of_work import steps
from bedmodel.shop.setting_out import setting_out
from bedmodel.shop_profile import load_profile
from bedmodel.skeleton import lay_out
from bedmodel.stock.buying import buying_list
from bedmodel.stock.cut_list import cut_list

MM_PER_INCH = 25.4
A3 = Paper("A3", 420.0, 297.0)


def contents(name: str = "campion", *changes: str) -> Contents:
    """A book's matter without a solid: its picture is blank, its one check made up."""
    layout = lay_out(load_sheet(name, changes=changes))
    pieces = make_pieces(layout)
    shop = load_profile(None)
    cuts = cut_list(pieces, shop, layout.sheet.design.unit)
    blank = io.BytesIO()
    Image.new("RGB", (16, 10), "white").save(blank, "PNG")
    return Contents(
        layout=layout,
        pieces=pieces,
        results=(Result(Code.PARTS_OVERLAP, 12, 0.0, "mm3", "at most 1 mm3", ()),),
        cuts=cuts,
        buying=buying_list(cuts, shop, layout.sheet.wood.species),
        steps=steps(layout, cuts, tuple(piece.name for piece in pieces)),
        marks=setting_out(layout, pieces),
        jigs=make_jigs(layout, pieces),
        mass_kg=50.0,
        cover=blank.getvalue(),
        paper=LETTER if layout.sheet.design.unit == "inch" else A4,
    )


def pages(data: bytes) -> list[str]:
    """The words of each page, on one line."""
    document = pypdfium2.PdfDocument(data)
    texts = (page.get_textpage().get_text_bounded() for page in document)
    return [" ".join(text.split()) for text in texts]


@pytest.fixture(scope="module")
def campion() -> Contents:
    return contents()


@pytest.fixture(scope="module")
def campion_pdf(campion: Contents) -> bytes:
    return plan_pdf(campion)


def test_every_chapter_is_on_the_page_that_the_contents_tell(campion_pdf: bytes) -> None:
    texts = pages(campion_pdf)
    listed = texts[1]
    toc = list(pypdfium2.PdfDocument(campion_pdf).get_toc())
    titles = [entry.get_title() for entry in toc]
    assert titles[:3] == ["Contents", "Before you begin", "Parts"]
    assert {"What to buy", "Setting out", "Step by step", "Checks"} <= set(titles)
    for entry in toc:
        title, page = entry.get_title(), entry.get_dest().get_index()
        assert texts[page].startswith(title), title
        assert f"{title} {page + 1}" in listed, title
    assert all(f"page {k} of {len(texts)}" in text for k, text in enumerate(texts[1:], 2))


def test_every_part_step_mark_card_and_caution_is_in_it(
    campion: Contents, campion_pdf: bytes
) -> None:
    text = " ".join(pages(campion_pdf))
    squeezed = text.replace(" ", "")

    def told(words: str) -> bool:
        return words.replace("_", " ").replace(" ", "") in squeezed

    assert all(told(item.name) for item in campion.cuts.items)
    for step in campion.steps:
        assert told(step.title), step.title
        assert all(told(each[1:]) for each in (*step.does, *step.cautions)), step.title
        assert all(told(each) for each in step.settings), step.title
    for part in campion.marks:
        for row in part.rows:
            assert told(row.reference), row.reference
            assert all(told(mark.shown) for mark in row.marks)
    for jig in campion.jigs:
        assert told(jig.card.title)
        assert all(told(each) for each in jig.card.cautions)
    assert "certify nothing" in text
    assert "Adult" in text or "adults" in text


def test_sizes_are_those_of_the_cut_list_in_the_sheets_unit() -> None:
    book = contents("hawthorn")
    text = " ".join(pages(plan_pdf(book)))
    for item in book.cuts.items:
        shown = [book.show(s) for s in (item.length, item.width, item.thickness)]
        size = " x ".join([shown[0].removesuffix(" mm"), shown[1].removesuffix(" mm"), shown[2]])
        assert size.replace(" ", "") in text.replace(" ", ""), item.name


def test_screws_of_an_inch_sheet_are_set_in_inches_too(campion: Contents) -> None:
    (step,) = (step for step in campion.steps if step.title.startswith("Bore runners"))
    assert step.settings
    for setting in step.settings:
        assert setting.count(" mm]") == setting.count(" mm") == 5, setting


def test_edges_are_eased_of_parts_that_are_there(campion: Contents) -> None:
    for book, there in ((campion, True), (contents("sorrel"), False)):
        (step,) = (step for step in book.steps if step.title == "Ease the edges")
        assert any("centre rail" in setting for setting in step.settings) == there


def test_what_is_to_bear_in_mind_says_of_what(campion: Contents) -> None:
    caution = Caution(Code.PARTS_OVERLAP, ("slat_01", "slat_02"), 1.0, "doubtful")
    result = replace(campion.results[0], cautions=(caution,))
    text = " ".join(pages(plan_pdf(replace(campion, results=(result,)))))
    assert "slat 01, slat 02: doubtful" in text


def test_the_same_matter_gives_the_same_bytes(campion: Contents, campion_pdf: bytes) -> None:
    assert plan_pdf(campion) == campion_pdf


def test_text_of_the_sheet_stays_text() -> None:
    hostile = "<b>Bed</b> & <para> </font> {x}"
    book = contents("sorrel", f"design.title={hostile}")
    assert book.title == hostile
    assert hostile in pages(plan_pdf(book))[0]


def whole(paper: Paper, title: str) -> Sheet:
    marks = (
        line((20.0, 40.0), (120.0, 40.0), role="ruler"),
        Text("drawn whole", (20.0, 60.0), 12.0),
    )
    return Sheet(paper, title, marks)


def test_whole_pages_keep_their_paper_and_their_scale(campion: Contents) -> None:
    sheets = [whole(A4.turned, "front view"), whole(A3, "side view")]
    data = plan_pdf(replace(campion, drawings=sheets))
    document = pypdfium2.PdfDocument(data)
    found = [k for k, text in enumerate(pages(data)) if text == "drawn whole"]
    assert len(found) == 2
    dpi = 300.0
    for k, sheet in zip(found, sheets, strict=True):
        size = [side / 72 * MM_PER_INCH for side in document[k].get_size()]
        assert size == pytest.approx((sheet.paper.width, sheet.paper.height), abs=0.01)
        image = document[k].render(scale=dpi / 72, grayscale=True).to_numpy()
        image = np.asarray(image).reshape(image.shape[:2])
        row = round((sheet.paper.height - 40.0) / MM_PER_INCH * dpi)
        dark = np.nonzero((image[row - 2 : row + 3] < 128).any(axis=0))[0]
        assert (dark[-1] - dark[0]) / dpi * MM_PER_INCH == pytest.approx(100.0, abs=0.2)
    titles = [(entry.level, entry.get_title()) for entry in document.get_toc()]
    assert (1, "front view") in titles
    assert (0, "Drawings") in titles


def test_a_steps_picture_stands_on_the_page_of_its_step(campion: Contents) -> None:
    picture = Sheet(Paper("", 150.0, 80.0), "", (Text("PICTURE", (10.0, 10.0), 12.0),))
    data = plan_pdf(replace(campion, step_pictures={3: picture}))
    (page,) = [text for text in pages(data) if "PICTURE" in text]
    assert f"3 {campion.steps[2].title}" in page


def test_a_failed_check_is_told_first(campion: Contents) -> None:
    finding = Finding(Code.PARTS_OVERLAP, ("slat_01", "slat_02"), 40.0, "at most 1 mm3")
    failed = Result(Code.PARTS_OVERLAP, 12, 40.0, "mm3", "at most 1 mm3", (finding,))
    text = " ".join(pages(plan_pdf(replace(campion, results=(failed,)))))
    assert "do not build from this book" in text
    assert "FAILED" in text


def test_cautions_of_the_checks_are_told(campion: Contents) -> None:
    caution = Caution(Code.BOARD_CANNOT_MOVE, ("board",), 2.0, "the board wants to move 2 mm")
    result = Result(Code.BOARD_CANNOT_MOVE, 1, 0.0, "mm", "none", (), (caution,))
    text = " ".join(pages(plan_pdf(replace(campion, results=(result,)))))
    assert "the board wants to move 2 mm" in text


def test_no_words_run_out_of_the_page(campion: Contents, campion_pdf: bytes) -> None:
    for page in pypdfium2.PdfDocument(campion_pdf):
        width, height = page.get_size()
        texts = page.get_textpage()
        for k in range(texts.count_rects()):
            left, bottom, right, top = texts.get_rect(k)
            assert min(left, width - right) >= 15 / MM_PER_INCH * 72
            assert min(bottom, height - top) >= 10


def run(words: Sequence[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    code = main(list(words))
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_the_verb_writes_a_book_under_three_megabytes(
    tmp_path: FilePath, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(["plan", "sorrel", "--out", str(tmp_path), "--json"], capsys)
    assert code == 0
    record = json.loads(out)
    data = FilePath(record["plan"]).read_bytes()
    assert len(data) == record["bytes"] < 3_000_000
    assert "Every check on the solids of this bed passed" in " ".join(pages(data))


def test_a_paper_that_is_not_there_is_refused(
    tmp_path: FilePath, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, error = run(["plan", "sorrel", "--paper", "a9", "--out", str(tmp_path)], capsys)
    assert code == 2
    assert error.count("\n") == 1
    assert "A4" in error
    assert list(tmp_path.iterdir()) == []
