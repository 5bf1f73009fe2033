"""A small server on this computer alone: the page as it is now, and the bed's files to read.

Only addresses of this computer are answered, and only for its own name in the ``Host`` header,
so that a page from elsewhere cannot read the bed by giving its own name this address. Nothing
can be changed through it, and no folder is listed.
"""

from __future__ import annotations

import json
import mimetypes
import os
import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from bedmodel.errors import InputError

HOST = "127.0.0.1"
TICK_S = 2.0  # how often a silent connection is tried
_HEADERS = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
}
# For files of the build that a browser would show: they may run nothing.
_FILE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox"
_TYPES = {".step": "model/step", ".glb": "model/gltf-binary", ".stl": "model/stl",
          ".dxf": "image/vnd.dxf", ".toml": "text/plain", ".json": "application/json"}  # fmt: skip


@dataclass(frozen=True)
class Now:
    """What the page is told: a number that grows with each bed, and how far it has come.

    ``problem`` is what is wrong with the sheet as last saved; empty when nothing is.
    """

    version: int = 0
    checked: bool = False
    problem: str = ""
    page: bytes = b""
    folder: Path | None = None
    ended: bool = False

    @property
    def told(self) -> Mapping[str, Any]:
        return {"version": self.version, "checked": self.checked, "problem": self.problem}


class Server:
    """Serves the newest page from a thread of its own, until it is closed."""

    def __init__(self, port: int = 0) -> None:
        self._news = threading.Condition()
        self._now = Now()
        self._followers = 0
        self._drawn = 0
        try:
            self._http = _Http((HOST, port), _handler(self))
        except OSError as failure:
            raise InputError(
                "--port", port, f"cannot be used ({failure.strerror})", "choose another, or none"
            ) from None
        self.port: int = self._http.server_address[1]
        self._thread = threading.Thread(target=self._http.serve_forever, args=(0.1,), daemon=True)
        self._thread.start()

    @property
    def address(self) -> str:
        return f"http://{HOST}:{self.port}/"

    @property
    def now(self) -> Now:
        return self._now

    def tell(self, **changes: Any) -> None:
        """Change what is served, and tell every open page."""
        with self._news:
            self._now = replace(self._now, **changes)
            self._news.notify_all()

    def wait_for_news(self, known: Now) -> Now:
        """What is now, as soon as it differs from what is known; or the same after a while."""
        with self._news:
            self._news.wait_for(lambda: self._now is not known, TICK_S)
            return self._now

    def following(self, more: int) -> None:
        """Count the pages that are open."""
        with self._news:
            self._followers += more

    def was_drawn(self, version: int) -> None:
        """A page tells that it shows a version."""
        with self._news:
            self._drawn = version
            self._news.notify_all()

    def wait_until_drawn(self, most_s: float) -> None:
        """Wait until an open page shows what is now; not at all where none is open."""
        with self._news:
            self._news.wait_for(
                lambda: not self._followers or self._drawn == self._now.version, most_s
            )

    def close(self) -> None:
        """Tell the open pages that it is over, and stop."""
        self.tell(ended=True)
        self._http.shutdown()
        self._thread.join()
        self._http.server_close()


class _Http(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False  # a browser may hold its connection as long as it likes
    allow_reuse_address = os.name != "nt"  # there it would let two servers have one port


def _handler(server: Server) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        """Answers one request."""

        server_version = "bedmodel"
        sys_version = ""
        timeout = 30.0

        def do_GET(self) -> None:
            _answer(self, server)

        do_HEAD = do_GET

        def log_message(self, format: str, *args: Any) -> None:
            """Nothing: the terminal tells of the bed."""

    return Handler


def _answer(request: BaseHTTPRequestHandler, server: Server) -> None:
    try:
        if request.headers.get("Host") not in _names(server.port):
            _send(request, HTTPStatus.FORBIDDEN, b"not for this name\n")
            return
        path, asked = urlsplit(request.path).path, urlsplit(request.path).query
        now = server.now
        if path == "/":
            _send(request, HTTPStatus.OK, now.page, "text/html; charset=utf-8")
        elif path == "/now":
            if asked == f"drawn={now.version}":
                server.was_drawn(now.version)
            _send(request, HTTPStatus.OK, json.dumps(now.told).encode(), "application/json")
        elif path == "/news":
            _stream(request, server)
        else:
            found = file_below(now.folder, path)
            if found is None:
                _send(request, HTTPStatus.NOT_FOUND, b"there is no such file\n")
            else:
                kind = _TYPES.get(found.suffix) or mimetypes.guess_type(found.name)[0]
                _send(request, HTTPStatus.OK, found.read_bytes(), kind, _FILE_POLICY)
    except OSError:
        request.close_connection = True  # the browser has left, or a file has


def _names(port: int) -> set[str]:
    return {f"{HOST}:{port}", f"localhost:{port}"} | ({HOST, "localhost"} if port == 80 else set())


def file_below(folder: Path | None, path: str) -> Path | None:
    """The file below a folder that a request's path names; None for anything else.

    No way up, no absolute or hidden name, no link that leads out of the folder.
    """
    steps = unquote(path).removeprefix("/").split("/")
    if folder is None or any(not step or step.startswith(".") or set(step) & set('\\:\0')
                             for step in steps):  # fmt: skip
        return None
    root = os.path.realpath(folder)
    real = os.path.realpath(os.path.join(root, *steps))
    inside = real.startswith(root + os.sep) and os.path.isfile(real)
    return Path(real) if inside else None


def _send(
    request: BaseHTTPRequestHandler,
    status: HTTPStatus,
    body: bytes,
    kind: str | None = "text/plain; charset=utf-8",
    policy: str = "",
) -> None:
    request.send_response(status)
    _head(request, kind or "application/octet-stream")
    if policy:
        request.send_header("Content-Security-Policy", policy)
    request.send_header("Content-Length", str(len(body)))
    request.end_headers()
    if request.command != "HEAD":
        request.wfile.write(body)


def _head(request: BaseHTTPRequestHandler, kind: str) -> None:
    request.send_header("Content-Type", kind)
    for name, value in _HEADERS.items():
        request.send_header(name, value)


def _stream(request: BaseHTTPRequestHandler, server: Server) -> None:
    """Server-sent events (HTML standard, section 9.2): what is now, whenever it changes."""
    request.send_response(HTTPStatus.OK)
    _head(request, "text/event-stream")
    request.end_headers()
    request.close_connection = True
    now = server.now
    server.following(1)
    try:
        while not now.ended and request.command != "HEAD":
            request.wfile.write(f"data: {json.dumps(now.told)}\n\n".encode())
            request.wfile.flush()
            now = server.wait_for_news(now)
    finally:
        server.following(-1)
