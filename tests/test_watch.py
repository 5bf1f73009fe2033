"""``bedmodel watch`` as a real process, its server, and its page in a browser."""

from __future__ import annotations

import http.client
import json
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from bedmodel.cli import main
from bedmodel.errors import InputError
from bedmodel.live.server import Server, file_below
from bedmodel.sheets import shared_folder
from bedmodel.verbs.watch import Watched
from tests.browser import Page, browser, chromium

PATIENCE_S = 120.0  # other tests run beside this one


def ask(
    port: int, path: str, method: str = "GET", host: str | None = None
) -> tuple[int, dict[str, str], bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.putrequest(method, path, skip_host=True)
    if host != "":
        connection.putheader("Host", host or f"127.0.0.1:{port}")
    connection.endheaders()
    answer = connection.getresponse()
    body = answer.read()
    connection.close()
    return answer.status, {k.lower(): v for k, v in answer.getheaders()}, body


# --- the server by itself ------------------------------------------------------------------


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    (tmp_path / "secret.txt").write_text("secret")
    folder = tmp_path / "bed"
    (folder / "model").mkdir(parents=True)
    (folder / "model" / "bed.step").write_text("ISO")
    (folder / ".hidden").write_text("hidden")
    (folder / "picture.svg").write_text("<svg/>")
    (folder / "out.txt").symlink_to(tmp_path / "secret.txt")
    (folder / "in.txt").symlink_to(folder / "picture.svg")
    served = Server()
    served.tell(version=1, page=b"<p>page", folder=folder)
    yield served
    served.close()


def test_it_gives_page_state_and_files(server: Server) -> None:
    status, headers, body = ask(server.port, "/")
    assert (status, body) == (200, b"<p>page")
    assert headers["cache-control"] == "no-store"
    assert headers["x-frame-options"] == "DENY"
    assert json.loads(ask(server.port, "/now")[2]) == {
        "version": 1, "checked": False, "problem": ""}  # fmt: skip
    status, headers, body = ask(server.port, "/model/bed.step")
    assert (status, body, headers["content-type"]) == (200, b"ISO", "model/step")
    status, headers, _ = ask(server.port, "/picture.svg")
    assert status == 200
    assert "sandbox" in headers["content-security-policy"]
    assert ask(server.port, "/in.txt")[0] == 200
    assert ask(server.port, "/model/bed.step?x=1", "HEAD")[2] == b""


@pytest.mark.parametrize(
    "path",
    ["/model", "/model/", "/../secret.txt", "/%2e%2e/secret.txt", "/model/..%2f..%2fsecret.txt",
     "/model/%2e%2e/%2e%2e/secret.txt", "/..%5csecret.txt", "/out.txt", "/.hidden", "//etc/passwd",
     "/%2fetc%2fpasswd", "/model/bed.step%00.txt", "/C:%5cWindows", "/no-such", "/./picture.svg",
     "/model/../picture.svg", "/" + "a" * 5000],
)  # fmt: skip
def test_nothing_else_can_be_read(server: Server, path: str) -> None:
    status, _, body = ask(server.port, path)
    assert status == 404
    assert b"secret" not in body
    assert file_below(None, path) is None


@pytest.mark.parametrize("host", ["", "evil.example", "127.0.0.1", "evil.example:{port}",
                                  "127.0.0.1.evil.example:{port}", "LOCALHOST:{port}"])  # fmt: skip
def test_only_this_computers_own_name_is_answered(server: Server, host: str) -> None:
    for path in ("/", "/now", "/news", "/model/bed.step"):
        status, _, body = ask(server.port, path, host=host.format(port=server.port))
        assert status == 403
        assert body == b"not for this name\n"
    assert ask(server.port, "/", host=f"localhost:{server.port}")[0] == 200


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "PATCH"])
def test_nothing_can_be_changed(server: Server, method: str) -> None:
    assert ask(server.port, "/model/bed.step", method)[0] == 501


def test_news_come_as_they_happen_and_end_with_the_server(server: Server) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)
    connection.request("GET", "/news")
    answer = connection.getresponse()
    assert answer.getheader("content-type") == "text/event-stream"

    def next_event() -> dict[str, Any]:
        line = answer.readline()
        assert answer.readline() == b"\n"
        told: dict[str, Any] = json.loads(line.removeprefix(b"data: "))
        return told

    assert next_event()["version"] == 1
    server.tell(version=2, problem='no "end"\nof line')
    assert next_event() == {"version": 2, "checked": False, "problem": 'no "end"\nof line'}
    server.close()
    while line := answer.readline():
        assert line == b"\n" or line.startswith(b"data: ")


def test_checks_wait_for_an_open_page_alone(server: Server) -> None:
    start = time.monotonic()
    server.wait_until_drawn(30.0)  # none is open
    assert time.monotonic() - start < 10
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)
    connection.request("GET", "/news")
    connection.getresponse().readline()
    start = time.monotonic()
    server.wait_until_drawn(0.3)
    assert time.monotonic() - start >= 0.29
    assert ask(server.port, "/now?drawn=7")[0] == 200  # of another bed
    server.wait_until_drawn(0.1)
    assert ask(server.port, "/now?drawn=1")[0] == 200
    start = time.monotonic()
    server.wait_until_drawn(30.0)
    assert time.monotonic() - start < 10
    connection.close()


def test_a_port_in_use_is_refused(server: Server) -> None:
    with pytest.raises(InputError, match=f"--port = {server.port}: cannot be used"):
        Server(server.port)


def test_a_wrong_port_and_a_wrong_sheet_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["watch", "sorrel", "--port", "70000"]) == 2
    assert main(["watch", "no-such-sheet"]) == 2
    assert main(["watch", "sorrel", "--set", "height.platform=900"]) == 2
    told = capsys.readouterr().err.splitlines()
    assert [line.split(" = ")[0] for line in told] == [
        "bedmodel: --port", "bedmodel: sheet", "bedmodel: height.platform"]  # fmt: skip


def test_a_file_changes_when_what_it_holds_does(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text("one")
    watched = Watched(path)
    assert watched.changed()
    assert not watched.changed()
    path.touch()
    assert not watched.changed()
    path.unlink()
    assert not watched.changed()  # an editor is saving
    path.write_text("\n")
    assert not watched.changed()  # another one, which empties the file first
    path.write_text("one")
    assert not watched.changed()
    other = tmp_path / "new"
    other.write_text("two")
    other.replace(path)
    assert watched.changed()


# --- a real one ----------------------------------------------------------------------------


class Watch:
    """A real ``bedmodel watch`` of a sheet of its own."""

    def __init__(self, folder: Path) -> None:
        self.sheet = folder / "own.toml"
        shutil.copy(shared_folder() / "sorrel.toml", self.sheet)
        self.out = folder / "out"
        cache = self.out / ".parts-cache"
        cache.mkdir(parents=True)
        (cache / ("0" * 64 + ".solid")).write_bytes(b"foreign")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "bedmodel", "watch", str(self.sheet), "--out", str(self.out)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            # Tests that run in the background of a shell are told to leave Ctrl-C alone.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        self.address = re.findall(r"http://127\.0\.0\.1:\d+/", line)[0]
        self.port = int(self.address.rstrip("/").rpartition(":")[2])

    def save(self, old: str, new: str) -> None:
        text = self.sheet.read_text("utf-8")
        assert old in text
        self.sheet.write_text(text.replace(old, new, 1), "utf-8")

    def until(self, **wanted: Any) -> dict[str, Any]:
        """Wait until the server tells this."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            now: dict[str, Any] = json.loads(ask(self.port, "/now")[2])
            if all(now[key] == value for key, value in wanted.items()):
                return now
            time.sleep(0.1)
        raise TimeoutError(f"{wanted}, but {now}")


@pytest.fixture(scope="module")
def watch(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Watch]:
    started = Watch(tmp_path_factory.mktemp("watch"))
    yield started
    started.process.kill()
    started.process.wait()


@pytest.fixture(scope="module")
def tab() -> Iterator[Page]:
    if chromium() is None:
        pytest.skip("no Chromium on this machine")
    with browser() as page:
        page.size(1280, 800)
        yield page


def until(page: Page, script: str) -> None:
    """Wait until it is so in the page, through a reload, in which it cannot be asked."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        try:
            if page.run(script):
                return
        except AssertionError:
            pass
        time.sleep(0.05)
    raise TimeoutError(script)


def version(number: int) -> str:
    return (
        f"document.documentElement?.dataset.version == '{number}' && "
        "!!document.getElementById('stage')?.dataset.ready"
    )


def test_an_open_page_follows_the_sheet(watch: Watch, tab: Page) -> None:
    """Camera, hidden parts and the picked one stay; results are filled in; errors are told."""
    watch.until(version=1)
    tab.send("Page.navigate", url=watch.address)
    until(tab, version(1))
    until(tab, "document.documentElement.dataset.checked == 'true'")
    assert "checks passed" in tab.run("document.querySelector('.verdict').innerText")
    # A button that came with the results works.
    tab.run("document.querySelector('#checks button.see').click()")
    assert tab.run("document.getElementById('stage').dataset.shown") != ""
    tab.run("bedReport.view.look(20, 40, true); bedReport.view.zoom(0.7)")
    hidden = tab.run(
        "(() => {const box = document.querySelector('.list li input'); box.click();"
        "return bedReport.keep().hidden})()"
    )
    assert hidden
    before = tab.run("bedReport.keep()")
    size = "[...document.querySelectorAll('.list .size')].map(e => e.innerText).join()"
    sizes = tab.run(size)
    slats = re.findall(r"^width = (\d+)", watch.sheet.read_text().split("[slat]")[1], re.M)
    width = slats[0]
    watch.save(f"[slat]\nwidth = {width}", f"[slat]\nwidth = {int(width) + 3}")
    until(tab, version(2))
    assert tab.run(size) != sizes
    after = tab.run("bedReport.keep()")
    assert after["hidden"] == before["hidden"]
    assert after["stand"] == pytest.approx(before["stand"], abs=1e-6)
    until(tab, "document.documentElement.dataset.checked == 'true'")
    # While typing: a line on the page, the last good bed below it.
    watch.save("[slat]\nwidth", "[slat]\nwidht")
    until(tab, "!!document.documentElement.dataset.problem")
    assert "slat.widht" in tab.run("document.querySelector('body > p[role=status]').innerText")
    assert tab.run(version(2))
    watch.save("[slat]\nwidht", "[slat]\nwidth")
    until(tab, version(3))
    assert tab.run("document.querySelector('body > p[role=status]').checkVisibility()") is False
    assert [url for url in tab.requests if not url.startswith((watch.address, "data:"))] == []
    assert tab.complaints == []


def test_saves_bad_saves_and_the_end(watch: Watch) -> None:
    """Over HTTP alone, so that it is tried without a browser too."""
    version_ = watch.until(checked=True, problem="")["version"]
    status, headers, page = ask(watch.port, "/")
    assert status == 200
    assert headers["content-type"].startswith("text/html")
    policy = re.findall(rb'Content-Security-Policy" content="([^"]*)"', page)[0]
    assert policy.startswith(b"default-src 'none'; ")
    assert policy.endswith(b"; connect-src 'self'")
    title = watch.sheet.read_text().split('title = "')[1].split('"')[0]
    watch.save(f'title = "{title}"', f'title = "{title}')
    trouble = watch.until(version=version_)
    while not trouble["problem"]:
        trouble = watch.until(version=version_)
    assert "own.toml" in trouble["problem"]
    watch.save(f'title = "{title}', 'title = "Another <b>name</b>"\n# ')
    watch.until(version=version_ + 1, problem="", checked=True)
    assert b"Another &lt;b&gt;name" in ask(watch.port, "/")[2]
    # On disk is the report without any of it, and the kept parts beside.
    (report,) = watch.out.glob("*/report.html")
    end = time.monotonic() + PATIENCE_S
    while b"Another" not in report.read_bytes() and time.monotonic() < end:
        time.sleep(0.1)
    text = report.read_bytes()
    assert b"Another" in text
    assert b"EventSource" not in text
    assert b"connect-src" not in text
    assert b"checks passed" in text
    kept = watch.out / ".parts-cache"
    assert len(list(kept.glob("*.solid"))) > 10
    assert len(list(kept.glob("*.form"))) > 10
    watch.process.send_signal(signal.SIGINT)
    told, wrong = watch.process.communicate(timeout=PATIENCE_S)
    assert watch.process.returncode == 0
    assert wrong == ""
    assert "none made anew" in told  # a new title changes no part
    assert told.endswith("watching has ended\n")
