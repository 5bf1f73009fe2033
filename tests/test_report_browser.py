"""The report in a real browser, headless and with software 3D; skipped where there is none.

With ``BEDMODEL_SHOTS=folder`` what is seen is kept there, to be looked at.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest

from bedmodel.exports.report.page import report_html
from tests.beds import good
from tests.browser import Page, browser, chromium
from tests.test_report import HOSTILE, matter, matter_of, size

pytestmark = pytest.mark.skipif(chromium() is None, reason="no Chromium on this machine")

STAGE = "document.getElementById('stage').dataset"
APART = "document.getElementById('apart')"
# Far more than the 2 s it may take: other tests run beside this one. See tests/bench.
READY_MS = 20_000


def keep(name: str, data: bytes) -> None:
    folder = os.environ.get("BEDMODEL_SHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        (Path(folder) / name).write_bytes(data)


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_bytes(report_html(matter("campion")))
    return path


@pytest.fixture(scope="module")
def tab() -> Iterator[Page]:
    with browser() as page:
        yield page


@pytest.fixture
def page(tab: Page, file: Path) -> Page:
    """The report, opened anew."""
    tab.prefer(prefers_reduced_motion="reduce", prefers_color_scheme="light")
    tab.size(1280, 800)
    tab.requests.clear()
    tab.complaints.clear()
    tab.open(file)
    return tab


def state(page: Page, name: str) -> str:
    return str(page.run(f"{STAGE}.{name} ?? ''"))


def button(page: Page, where: str, text: str) -> None:
    """Press the button with that text, where it can be seen."""
    page.run(
        f"[...document.querySelectorAll('{where} button')]"
        f".find(b => b.innerText == '{text}' && b.checkVisibility())?.click()"
    )


def outside(page: Page) -> list[str]:
    own = [url for url in page.requests if url.startswith("file:") and url.endswith(".html")]
    assert len(own) == 1
    return [url[:80] for url in page.requests if url not in own and not url.startswith("data:")]


def seen(page: Page, piece: str) -> tuple[float, float]:
    """Where in the window the middle of a piece is."""
    box = matter("campion").boxes[piece]
    number = [each.name for each in matter("campion").bed.pieces].index(piece)
    spot = [*box.middle, number]
    x, y, left, top = page.run(
        f"(() => {{const at = bedReport.view.seen({spot});"
        "const box = bedReport.view.canvas.getBoundingClientRect();"
        "return [...at, box.left, box.top]})()"
    )
    return x + left, y + top


def test_it_opens_from_disk_and_asks_for_nothing(page: Page) -> None:
    assert outside(page) == []
    assert page.complaints == []
    assert 0 < float(state(page, "ready")) < READY_MS
    assert state(page, "pieces") == str(len(matter("campion").bed.pieces))
    assert page.run("document.querySelectorAll('.list li').length") >= 12
    listed = page.run(
        "[...document.querySelectorAll('.list li')].map(li => li.querySelector('.many').textContent"
        ".replace(/[^0-9]/g, '') || '1').reduce((a, b) => a + Number(b), 0)"
    )
    assert listed == len(matter("campion").bed.pieces)
    keep("desktop.png", page.picture())


def test_the_view_shows_the_bed(page: Page) -> None:
    """Not one colour: the canvas holds wood, lines and ground."""
    colours = page.run(
        "(() => {const c = document.createElement('canvas'); c.width = 90; c.height = 60;"
        "bedReport.view.turn(0, 0); const d = c.getContext('2d');"
        "return new Promise(done => requestAnimationFrame(() => {"
        "d.drawImage(bedReport.view.canvas, 0, 0, 90, 60);"
        "const p = d.getImageData(0, 0, 90, 60).data; const s = new Set();"
        "for (let i = 0; i < p.length; i += 4) if (p[i + 3] > 200)"
        " s.add([p[i] >> 4, p[i + 1] >> 4, p[i + 2] >> 4].join());"
        "done(s.size)}))})()"
    )
    assert colours > 12


@pytest.mark.parametrize("piece", ["headboard_board_2", "foot_leg_right", "footboard_board"])
def test_a_click_picks_the_piece_under_it(page: Page, piece: str) -> None:
    page.click(*seen(page, piece))
    assert state(page, "picked") == piece
    card = page.run("document.querySelector('.card').innerText")
    found = matter("campion")
    kind = found.bed.piece(piece).kind
    assert size(*kind.shape.blank) in card
    assert "Loose tenon" in card
    row, _ = found.rows[kind.name]
    assert page.run("document.querySelector('.card a[href^=\"#cut-\"]').getAttribute('href')") == (
        f"#cut-{row}"
    )
    page.settle()
    keep(f"picked-{piece}.png", page.picture())
    page.click(40, 300)  # the ground
    assert state(page, "picked") == ""


def test_what_is_hidden_is_not_there(page: Page) -> None:
    at = seen(page, "headboard_board_2")
    page.click(*at)
    assert state(page, "picked") == "headboard_board_2"
    button(page, ".does", "Hide")
    assert state(page, "hidden") == "1"
    page.click(*at)
    assert state(page, "picked") != "headboard_board_2"
    page.run("document.querySelector('.list h3 input').click()")  # the whole head end
    head = [p for p in matter("campion").bed.pieces if p.group == "head_end"]
    assert state(page, "hidden") == str(len(head))
    button(page, ".tools", "Show all")
    assert state(page, "hidden") == "0"


def test_taken_apart_pieces_move(page: Page) -> None:
    leg, board = seen(page, "head_leg_right"), seen(page, "headboard_board_1")
    page.run(f"{APART}.value = 100; {APART}.dispatchEvent(new Event('input'))")
    page.settle()
    assert state(page, "apart") == "100"
    assert abs(seen(page, "head_leg_right")[0] - seen(page, "headboard_board_1")[0]) != (
        pytest.approx(abs(leg[0] - board[0]), rel=0.02)
    )
    # Still all in sight.
    for piece in ("head_leg_left", "foot_leg_right", "slat_01", "slat_17"):
        x, y = seen(page, piece)
        assert 28 < x < 905
        assert 200 < y < 740
    page.click(*seen(page, "slat_17"))
    assert state(page, "picked").startswith("slat")
    keep("apart.png", page.picture())


def test_a_check_is_shown_in_the_view(page: Page) -> None:
    page.run("document.querySelector('[data-show=check-404]').click()")
    page.settle()
    assert "wood is left round each mortise" in page.run(
        "document.getElementById('caption').innerText"
    )
    assert page.run("document.querySelectorAll('.pins i').length") == 8
    assert page.run("Math.abs(document.getElementById('stage').getBoundingClientRect().top) < 300")
    keep("check.png", page.picture())
    page.press("Escape")
    assert page.run("document.querySelectorAll('.pins i').length") == 0


def test_it_can_be_used_from_the_keyboard_alone(page: Page) -> None:
    def focused() -> str:
        return str(
            page.run("document.activeElement.tagName + ' ' + document.activeElement.className")
        )

    page.press("Tab")
    assert focused() == "A skip"
    reached = []
    for _ in range(40):
        page.press("Tab")
        reached.append(focused())
        if reached[-1].startswith("CANVAS"):
            break
    assert reached[-1].startswith("CANVAS")
    before = seen(page, "foot_leg_right")
    page.press("ArrowRight")
    page.settle()
    assert seen(page, "foot_leg_right") != pytest.approx(before, abs=5)
    page.press("0")
    page.settle()
    assert seen(page, "foot_leg_right") == pytest.approx(before, abs=1)
    page.press("n")
    page.press("n")
    assert state(page, "picked") == matter("campion").bed.pieces[1].name
    page.press("p")
    assert state(page, "picked") == matter("campion").bed.pieces[0].name
    page.press("h")
    assert state(page, "hidden") == "1"
    page.press("a")
    assert state(page, "hidden") == "0"
    page.press("e")
    assert state(page, "apart") == "100"
    page.press("Escape")
    assert state(page, "picked") == ""
    # On from the view: the tools, then the list, whose buttons Enter presses.
    for _ in range(40):
        page.press("Tab")
        if page.run(
            "document.activeElement.closest('.list li') && document.activeElement.tagName"
        ) == ("BUTTON"):
            break
    page.press("Enter")
    assert state(page, "picked") == matter("campion").bed.pieces[0].name
    assert page.complaints == []


def test_the_wheel_turns_the_page_until_the_view_is_clicked(page: Page) -> None:
    def wheel() -> None:
        where = {"x": 400, "y": 500, "deltaX": 0, "deltaY": 120}
        page.send("Input.dispatchMouseEvent", type="mouseWheel", **where)
        page.settle()

    before = seen(page, "foot_leg_right")
    wheel()
    assert page.wait("scrollY > 0")
    page.run("scrollTo(0, 0)")
    page.settle()
    assert seen(page, "foot_leg_right") == pytest.approx(before, abs=1)
    page.run("bedReport.view.canvas.focus()")
    wheel()
    assert seen(page, "foot_leg_right") != pytest.approx(before, abs=3)


def test_a_phone_needs_no_scrolling_sideways(page: Page) -> None:
    page.size(390, 844, mobile=True)
    page.settle()
    assert page.run("document.documentElement.scrollWidth") <= 390
    wide = page.run(
        "[...document.querySelectorAll('main *')].filter(e => e.checkVisibility() &&"
        " !e.closest('.view') && e.getBoundingClientRect().right > 391).map(e => e.outerHTML"
        ".slice(0, 80))"
    )
    assert wide == []
    small = page.run(
        "[...document.querySelectorAll('.tools button, .list button, .see')].filter(e =>"
        " e.checkVisibility() && e.getBoundingClientRect().height < 34).length"
    )
    assert small == 0
    keep("phone.png", page.picture())
    keep("phone-whole.png", page.picture(whole=True))


def test_dark_is_dark(page: Page) -> None:
    page.prefer(prefers_color_scheme="dark")
    page.settle()
    red, green, blue = page.run(
        "getComputedStyle(document.body).backgroundColor.match(/\\d+/g).map(Number)"
    )
    assert max(red, green, blue) < 60
    keep("dark.png", page.picture())


def test_on_paper_it_is_a_picture_and_lists(page: Page) -> None:
    data = page.pdf()
    keep("print.pdf", data)
    document = pypdfium2.PdfDocument(data)
    text = "".join(each.get_textpage().get_text_range() for each in document)
    assert 4 <= len(document) <= 12
    for item in matter("campion").cuts.items:
        assert item.notes == () or item.notes[0][:12] in text.replace("\r\n", " ")
    assert "Take apart" not in text
    assert "Zoom to" not in text
    first = document[0].render(scale=0.5).to_numpy()
    half = first[len(first) // 4 : len(first) // 2]
    assert (half.min(axis=2) < 200).mean() > 0.05  # the picture is there


def test_a_hostile_title_does_nothing(tab: Page, tmp_path: Path) -> None:
    bed = good("sorrel", None, f"design.title={HOSTILE}", f"design.note={HOSTILE}")
    path = tmp_path / "hostile.html"
    path.write_bytes(report_html(matter_of(bed)))
    tab.requests.clear()
    tab.complaints.clear()
    tab.size(1280, 800)
    tab.open(path)
    assert outside(tab) == []
    assert tab.complaints == []
    assert tab.run("document.querySelector('h1').textContent") == HOSTILE
    assert "onerror" in tab.run("document.title")  # the whole of it, and nothing but text
    assert tab.run("document.querySelectorAll('img').length") == 1


def test_an_inserted_script_does_not_run(page: Page) -> None:
    """The policy is in force: neither a script nor a picture from elsewhere gets through."""
    page.run(
        "(() => {const s = document.createElement('script'); s.textContent = 'window.bad = 1';"
        "document.body.append(s); const i = new Image(); i.src = 'other.png';"
        "document.body.append(i)})()"
    )
    time.sleep(0.2)
    assert page.run("window.bad === undefined")
    assert any("Content Security Policy" in text for text in page.complaints)


def test_without_3d_it_says_so_and_tells_the_rest(file: Path) -> None:
    with browser("--disable-3d-apis") as page:
        page.size(1280, 800)
        page.open(file)
        assert state(page, "ready") == "none"
        assert page.run("document.querySelector('.still').checkVisibility()")
        assert "WebGL" in page.run("document.querySelector('p.no3d').innerText")
        assert not page.run("document.getElementById('tools').checkVisibility()")
        assert (
            page.run("[...document.querySelectorAll('.see')].some(b => b.checkVisibility())")
            is False
        )
        page.run("document.querySelector('.list button').click()")
        assert state(page, "picked") == matter("campion").bed.pieces[0].name
        assert "Finished" in page.run("document.querySelector('.card').innerText")
        assert [text for text in page.complaints if "WebGL" not in text] == []
        keep("no3d.png", page.picture())


def test_without_scripts_picture_and_tables_stand(tab: Page, file: Path) -> None:
    tab.size(1280, 800)
    tab.send("Emulation.setScriptExecutionDisabled", value=True)
    try:
        tab.send("Page.navigate", url=file.as_uri())
        time.sleep(1.0)
        picture = tab.picture()
        text = tab.send("DOM.getDocument", depth=0)["root"]["nodeId"]
        html = tab.send("DOM.getOuterHTML", nodeId=text)["outerHTML"]
    finally:
        tab.send("Emulation.setScriptExecutionDisabled", value=False)
    assert "Scripts are off" in html
    assert "in3d" not in html.partition(">")[0]
    keep("no-script.png", picture)
