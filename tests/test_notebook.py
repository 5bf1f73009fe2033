"""A bed in a notebook's cell: one frame that asks for nothing, in a page of another policy."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from pathlib import Path

import cadquery as cq
import pytest

from bedmodel.errors import InputError
from bedmodel.notebook import View
from tests.beds import good
from tests.browser import Page, browser, chromium


def framed() -> str:
    return good("sorrel")._repr_html_()


def srcdoc(frame: str) -> str:
    (page,) = re.findall(r'srcdoc="([^"]*)"', frame)
    return html.unescape(page)


def test_it_is_one_sandboxed_frame_with_the_whole_page() -> None:
    frame = framed()
    assert frame.count("<iframe ") == 1
    assert frame.endswith("</iframe>")
    # Scripts of another origin than the notebook's: they reach neither it nor its server.
    assert re.findall(r'sandbox="([^"]*)"', frame) == ["allow-scripts"]
    page = srcdoc(frame)
    assert page.startswith("<!DOCTYPE html>")
    assert "default-src 'none'" in page
    assert "not checked here" in page


def test_what_the_sheet_says_stays_text_in_the_frames_attribute() -> None:
    bed = good("sorrel", None, """design.title=<q>"it's" & 'that'</q>""")
    frame = bed._repr_html_()
    assert frame.count("<") == 2
    assert "&lt;q&gt;" in srcdoc(frame)
    assert "<q>" not in srcdoc(frame)


def test_some_pieces_are_shown_by_themselves() -> None:
    bed = good("sorrel").only("head_leg_right", "slat")
    names = {piece.kind.name for piece in bed.pieces}
    assert names == {"head_leg_right", "slat"}
    page = srcdoc(bed._repr_html_())
    assert '"name":"head_leg_right"' in page
    assert '"name":"head_leg_left"' not in page
    with pytest.raises(KeyError, match="no_such"):
        bed.only("slat", "no_such")


def test_any_cadquery_model_is_viewed_too() -> None:
    box = cq.Workplane().box(30, 20, 10)
    inner = cq.Assembly(name="inner").add(box, name="lid_2", loc=cq.Location((0, 0, 7)))
    model = cq.Assembly(name="case").add(box, name="lid_1", color=cq.Color(1, 0, 0))
    model.add(inner, loc=cq.Location((0, 0, 100)))
    model.add(box, name="lid_3", loc=cq.Location((50, 0, 0), (0, 0, 1), 90))
    page = srcdoc(View(model, 'A "case" <q>')._repr_html_())
    assert "&quot;case&quot; &lt;q&gt;" in page
    data = json.loads(page.split('id="bed-data">')[1].split("</script>")[0])
    assert [group["title"] for group in data["groups"]] == ["Case", "Inner"]
    # One form, in two colours: two kinds for three parts.
    assert [piece["kind"] for piece in data["pieces"]] == [0, 1, 1]
    assert data["kinds"][0]["colour"] == "#ff0000"
    assert {kind["size"] for kind in data["kinds"]} == {"30 × 20 × 10 mm"}
    places = [piece["place"] for piece in data["pieces"]]
    assert places[1][12:15] == [0, 0, 107]
    assert places[2][:3] == pytest.approx([0, 1, 0], abs=1e-9)
    with pytest.raises(InputError, match="model = Workplane: holds nothing to show"):
        View(cq.Workplane())._repr_html_()
    with pytest.raises(InputError, match="model = str: holds nothing"):
        View("text")._repr_html_()


def test_its_plain_text_is_short() -> None:
    assert repr(good("sorrel")).startswith("<Bed sorrel: ")


@pytest.fixture(scope="module")
def tab() -> Iterator[Page]:
    if chromium() is None:
        pytest.skip("no Chromium on this machine")
    # In one process, so that the frame can be asked from the page around it.
    with browser(
        "--disable-site-isolation-trials", "--disable-features=IsolateSandboxedIframes"
    ) as page:
        yield page


@pytest.mark.parametrize("what", ["bed", "model"])
def test_it_is_drawn_and_asks_for_nothing(what: str, tab: Page, tmp_path: Path) -> None:
    cell = tmp_path / "cell.html"
    box = cq.Workplane().box(30, 20, 10).moveTo(40, 0).box(5, 5, 5, combine=False)
    shown = framed() if what == "bed" else View(box)._repr_html_()
    tab.requests.clear()
    tab.complaints.clear()
    # The last script tells what the frame has drawn: nothing else of it can be seen from here.
    frame = shown.replace(
        "&lt;/body&gt;",
        "&lt;script&gt;window.told = 1&lt;/script&gt;&lt;/body&gt;",
    )
    cell.write_text(f"<!DOCTYPE html><meta charset=utf-8><p>Out[1]:</p>{frame}", "utf-8")
    tab.size(1200, 760)
    tab.send("Page.navigate", url=cell.as_uri())
    tab.wait("document.readyState == 'complete' && !!document.querySelector('iframe')")
    frames = tab.send("Page.getFrameTree")["frameTree"]["childFrames"]
    world = tab.send(
        "Page.createIsolatedWorld", frameId=frames[0]["frame"]["id"], worldName="test"
    )["executionContextId"]

    def inside(script: str) -> object:
        told = tab.send(
            "Runtime.evaluate",
            expression=f"new Promise(done => {{const look = () => {{const found = {script};"
            "if (found) done(found); else setTimeout(look, 50)}; look()})",
            contextId=world,
            returnByValue=True,
            awaitPromise=True,
        )
        assert "exceptionDetails" not in told, told
        return told["result"].get("value")

    assert float(str(inside("document.getElementById('stage').dataset.ready"))) > 0
    count = len(good("sorrel").pieces) if what == "bed" else 1
    assert inside("document.getElementById('stage').dataset.pieces") == str(count)
    assert inside("location.href") == "about:srcdoc"
    if what == "model":
        return
    # A link to a section scrolls there, and leads nowhere else.
    inside("(document.querySelector('a[href=\"#cut-list\"]').click(), true)")
    assert inside("window.scrollY > 100")
    assert inside("location.href") == "about:srcdoc"
    assert [url for url in tab.requests if not url.startswith(("data:", cell.as_uri()))] == []
    # Only the script that we slipped in was refused, by the page's own policy.
    assert len(tab.complaints) == 1
    assert "Content Security Policy" in tab.complaints[0]
