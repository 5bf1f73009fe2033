"""``bedmodel watch``: an open page follows the sheet at each save."""

from __future__ import annotations

import argparse
import hashlib
import os
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel import kernel
from bedmodel.errors import BedmodelError, InputError, WriteError
from bedmodel.sheets import folder_name, sheet_file
from bedmodel.skeleton import Layout
from bedmodel.verbs.asked import asked_layout, asked_workshop
from bedmodel.verbs.terminal import on_terminal, verdict

if TYPE_CHECKING:
    from bedmodel.checks.finding import Result
    from bedmodel.exports.report.matter import Matter
    from bedmodel.live.rebuild import Rebuilder, Seen, Stages
    from bedmodel.live.server import Server

POLL_S = 0.1
SETTLE_S = 0.02
DRAWN_S = 1.5  # how long the checks wait at most for an open page to show the bed
CACHE = ".parts-cache"
_TOLD = 3  # findings that are told in the terminal


@dataclass
class Watched:
    """A file, and what it held when it was last looked at."""

    path: Path
    _stat: tuple[int, int, int] | None = None
    _digest: bytes = b""

    def changed(self) -> bool:
        """Whether it holds something else than at the last call that said so.

        A file that is not there or empty, as in the midst of an editor's saving, has not
        changed yet; one that is still being written is waited for.
        """
        try:
            told = os.stat(self.path)
            stat = (told.st_mtime_ns, told.st_size, told.st_ino)
            if stat == self._stat:
                return False
            held = self._settled()
        except OSError:
            return False
        if not held.strip():
            return False
        digest = hashlib.sha256(held).digest()
        self._stat = stat
        changed, self._digest = digest != self._digest, digest
        return changed

    def _settled(self) -> bytes:
        """What it holds, once two looks at it have seen the same."""
        held = self.path.read_bytes()
        for _ in range(50):
            time.sleep(SETTLE_S)
            again = self.path.read_bytes()
            if again == held:
                break
            held = again
        return held


def run(arguments: argparse.Namespace) -> int:
    """Watch until Ctrl-C, then 0. Raises InputError for a sheet that cannot be built at all."""
    port = arguments.port
    if not 0 <= port <= 65535:
        raise InputError("--port", port, "must be 0 to 65535", "0 takes a free one")
    watched = Watched(sheet_file(arguments.sheet))
    watched.changed()
    layout = asked_layout(arguments)
    shop = asked_workshop(arguments.shop, None).shop
    kernel.load()
    from bedmodel.live.page import waiting_html
    from bedmodel.live.rebuild import Rebuilder
    from bedmodel.live.server import Server
    from bedmodel.part_cache import PartFolder

    out = Path(arguments.out)
    rebuilder = Rebuilder(PartFolder(out / CACHE), shop)
    server = Server(port)
    server.tell(page=waiting_html("The bed is being made."))
    try:
        _say(f"watching {watched.path}; open {server.address} in a browser; Ctrl-C ends it")
        run = _Run(arguments, watched, rebuilder, server, out)
        run.show(lambda: layout)
        while True:
            time.sleep(POLL_S)
            if watched.changed():
                run.show(lambda: asked_layout(arguments))
    except KeyboardInterrupt:
        _say("\nwatching has ended" if sys.stdout.isatty() else "watching has ended")
    finally:
        server.close()
    return 0


@dataclass
class _Run:
    arguments: argparse.Namespace
    watched: Watched
    rebuilder: Rebuilder
    server: Server
    out: Path
    version: int = 0
    pending: bool = False
    refused: str = ""

    def show(self, lay: Callable[[], Layout]) -> None:
        """Show the sheet as it is now; once more where it was saved again meanwhile."""
        while True:
            self.pending = False
            try:
                self._show(lay)
            except BedmodelError as problem:
                self._trouble(str(problem))
            if not self.pending:
                return
            lay = lambda: asked_layout(self.arguments)  # noqa: E731

    def _again(self) -> bool:
        """Whether the sheet was saved again, so that what is being made is out of date."""
        self.pending = self.pending or self.watched.changed()
        return self.pending

    def _trouble(self, problem: str) -> None:
        _say(f"{_clock()} {problem}")
        if self.version:
            self.server.tell(problem=problem)
        else:
            from bedmodel.live.page import waiting_html

            self.server.tell(problem=problem, page=waiting_html(problem))

    def _show(self, lay: Callable[[], Layout]) -> None:
        from bedmodel.live.page import live_html
        from bedmodel.live.rebuild import Stages

        stages, start = Stages(), time.perf_counter()
        with stages.stage("layout"):
            layout = lay()
        seen = self.rebuilder.view(layout, stages)
        with stages.stage("page"):
            page = live_html(seen.matter, self.version + 1)
        self.version += 1
        folder = self.out / folder_name(layout.sheet)
        self.server.tell(version=self.version, checked=False, problem="", page=page, folder=folder)
        _say(f"{_clock()} {_account(seen)} in {time.perf_counter() - start:.2f} s")
        # A page that is being loaded needs the processor more than the checks do.
        self.server.wait_until_drawn(DRAWN_S)
        if not self._again():
            self._check(seen, stages)
        if self.arguments.timing:
            _say(f"         processor time, s: {stages}")

    def _check(self, seen: Seen, stages: Stages) -> None:
        from bedmodel.live.page import live_html

        matter = self.rebuilder.checked(seen, stages, self._again)
        if matter is None:
            return
        with stages.stage("page"):
            page = live_html(matter, self.version)
        self.server.tell(checked=True, page=page)
        for line in _results(matter.results):
            _say(f"         {line}")
        if not self._again():
            with stages.stage("files"):
                self._write(matter)
                self.rebuilder.tidy()

    def _write(self, matter: Matter) -> None:
        """Put the report on disk, where no files of another bed lie beside it."""
        from dataclasses import replace

        from bedmodel.exports.report.page import report_html
        from bedmodel.exports.report.put import put_report

        try:
            put_report(
                matter.bed, self.out, lambda files: report_html(replace(matter, files=files))
            )
        except WriteError as failure:
            if str(failure) != self.refused:  # once, not at each save
                _say(f"         report.html was not written: {failure}")
            self.refused = str(failure)


def _account(seen: Seen) -> str:
    kinds, bed = len(seen.bed.kinds), seen.bed
    made = f"{seen.made} made anew" if seen.made else "none made anew"
    return f"{bed.name}: {len(bed.pieces)} pieces of {kinds} kinds, {made}, shown"


def _results(results: Sequence[Result]) -> list[str]:
    from bedmodel.verbs.check import summary

    passed = all(result.passed for result in results)
    lines = [f"{verdict(passed)}: {summary(results)}"]
    findings = [finding for result in results for finding in result.findings]
    for finding in findings[:_TOLD]:
        lines.append(f"{finding.code.name} ({int(finding.code)}): {', '.join(finding.parts)}")
    if len(findings) > _TOLD:
        lines.append(f"and {len(findings) - _TOLD} more, on the page")
    return lines


def _clock() -> str:
    return time.strftime("%H:%M:%S")


def _say(line: str) -> None:
    print(on_terminal(line, "         "), flush=True)
