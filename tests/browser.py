"""A headless Chromium for tests, driven over its own debugging pipe; no further package.

Source: Chrome DevTools Protocol; messages are JSON, each ended by a zero byte, on the
browser's file descriptors 3 (in) and 4 (out).
"""

from __future__ import annotations

import base64
import itertools
import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_FLAGS = (
    *("--headless=new", "--remote-debugging-pipe", "--no-first-run", "--no-default-browser-check"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    *("--disable-extensions", "--hide-scrollbars", "--mute-audio", "--no-sandbox"),
    # Software 3D, so that the same is seen on every machine.
    *("--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--force-device-scale-factor=1"),
)
# Become the browser, with the two pipes where it looks for them; copies first, out of the way.
_AT_3_AND_4 = """
import fcntl, os, sys
ends = [fcntl.fcntl(int(end), fcntl.F_DUPFD, 10) for end in sys.argv[1:3]]
os.dup2(ends[0], 3)
os.dup2(ends[1], 4)
os.execv(sys.argv[3], sys.argv[3:])
"""
KEYS = {"Escape": 27, "Tab": 9, "Enter": 13, "ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39,
        "ArrowDown": 40, " ": 32}  # fmt: skip


def chromium() -> str | None:
    """The browser's program, None when the machine has none."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


@dataclass
class Page:
    """One tab: what it asked for, what it said on its console, and ways to use it."""

    send: Callable[..., dict[str, Any]]
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def open(self, path: Path, timeout_s: float = 60.0) -> None:
        """Open a file and wait until the view was drawn, or is known to be missing."""
        self.send("Page.navigate", url=path.as_uri())
        self.wait("document.getElementById('stage')?.dataset.ready", timeout_s)

    def run(self, script: str) -> Any:
        """The value of an expression in the page."""
        told = self.send(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in told, told["exceptionDetails"]
        return told["result"].get("value")

    def wait(self, script: str, timeout_s: float = 20.0) -> Any:
        """Wait until an expression is true; its value."""
        end = time.monotonic() + timeout_s
        while True:
            value = self.run(script)
            if value:
                return value
            assert time.monotonic() < end, f"still not so: {script}"
            time.sleep(0.05)

    def settle(self) -> None:
        """Wait for two frames, so that what was asked for is drawn."""
        self.run("new Promise(d => requestAnimationFrame(() => requestAnimationFrame(d)))")

    def click(self, x: float, y: float) -> None:
        place = {"x": x, "y": y, "button": "left", "clickCount": 1}
        for kind in ("mousePressed", "mouseReleased"):
            self.send("Input.dispatchMouseEvent", type=kind, **place)

    def press(self, key: str, shift: bool = False) -> None:
        code = KEYS.get(key, ord(key[0].upper()))
        event = {"key": key, "windowsVirtualKeyCode": code, "modifiers": 8 if shift else 0}
        text = {"text": key} if len(key) == 1 else {"text": "\r"} if key == "Enter" else {}
        self.send("Input.dispatchKeyEvent", type="keyDown", **event, **text)
        self.send("Input.dispatchKeyEvent", type="keyUp", **event)

    def size(self, width: int, height: int, mobile: bool = False) -> None:
        self.send(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=height, deviceScaleFactor=1, mobile=mobile,
        )  # fmt: skip

    def prefer(self, **features: str) -> None:
        """Set media features, as ``prefers_color_scheme="dark"``."""
        given = [{"name": k.replace("_", "-"), "value": v} for k, v in features.items()]
        self.send("Emulation.setEmulatedMedia", features=given)

    def picture(self, whole: bool = False) -> bytes:
        """A PNG of what is seen, or of the whole page."""
        told = self.send("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        return base64.b64decode(told["data"])

    def pdf(self) -> bytes:
        told = self.send("Page.printToPDF", printBackground=True, preferCSSPageSize=True)
        return base64.b64decode(told["data"])


@contextmanager
def browser(*flags: str) -> Iterator[Page]:
    """A browser with one empty page; ended, and its folder removed, at the end."""
    program = chromium()
    assert program is not None
    to_read, to_write = os.pipe()
    from_read, from_write = os.pipe()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as home:
        started = subprocess.Popen(
            [
                *(sys.executable, "-c", _AT_3_AND_4, str(to_read), str(from_write)),
                *(program, *_FLAGS, *flags, f"--user-data-dir={home}", "about:blank"),
            ],
            pass_fds=(to_read, from_write),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(from_write)
        try:
            yield _page(_Pipe(to_write, from_read))
        finally:
            os.close(to_write)  # by which the browser ends itself
            try:
                started.wait(10)
            except subprocess.TimeoutExpired:
                started.kill()
                started.wait()
            os.close(from_read)


def _page(pipe: _Pipe) -> Page:
    targets = pipe.call("Target.getTargets")["targetInfos"]
    target = next(each["targetId"] for each in targets if each["type"] == "page")
    session = pipe.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]

    def send(method: str, **given: Any) -> dict[str, Any]:
        return pipe.call(method, session, **given)

    page = Page(send)
    pipe.told = lambda event: _note(page, event)
    for domain in ("Page", "Runtime", "Network", "Log"):
        send(f"{domain}.enable")
    return page


def _note(page: Page, event: dict[str, Any]) -> None:
    method, given = event["method"], event["params"]
    if method == "Network.requestWillBeSent":
        page.requests.append(given["request"]["url"])
    elif method == "Runtime.exceptionThrown":
        page.complaints.append(str(given["exceptionDetails"]))
    elif method == "Runtime.consoleAPICalled" and given["type"] in ("error", "warning", "assert"):
        page.complaints.append(str(given["args"]))
    elif method == "Log.entryAdded" and given["entry"]["level"] in ("error", "warning"):
        page.complaints.append(given["entry"]["text"])


class _Pipe:
    """Calls and answers over the two pipes; events in between go to ``told``."""

    def __init__(self, write: int, read: int) -> None:
        self._write, self._read = write, read
        self._held = b""
        self._numbers = itertools.count(1)
        self.told: Callable[[dict[str, Any]], None] = lambda event: None

    def call(self, method: str, session: str = "", **given: Any) -> dict[str, Any]:
        number = next(self._numbers)
        message: dict[str, Any] = {"id": number, "method": method, "params": given}
        if session:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._write, data) :]
        while True:
            answer = self._next(60.0)
            if answer.get("id") == number:
                assert "error" not in answer, f"{method}: {answer['error']}"
                result: dict[str, Any] = answer["result"]
                return result
            if "method" in answer:
                self.told(answer)

    def _next(self, timeout_s: float) -> dict[str, Any]:
        while b"\0" not in self._held:
            ready, _, _ = select.select([self._read], [], [], timeout_s)
            assert ready, "the browser does not answer"
            more = os.read(self._read, 1 << 20)
            assert more, "the browser has ended"
            self._held += more
        message, _, self._held = self._held.partition(b"\0")
        answer: dict[str, Any] = json.loads(message)
        return answer
