"""A process that makes packs, one after the other, and the handle by which it is asked.

It loads the solid modeller once, runs below the rest of the machine's work, and gives way to a
fresh one after so many packs or when it has grown too large. It ends with the process that
started it: when that dies its requests come to an end, and what was begun is cleared away.
Requests and answers are pickles between one program and itself, never from outside.
"""

from __future__ import annotations

import json
import os
import pickle
import queue
import shutil
import subprocess
import sys
import threading
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from bedmodel.errors import BedmodelError
from bedmodel.program import program_stamp
from bedmodel.publishing.pack import Done, Pack, Picture, pack_record

NICENESS = 10
LARGEST_MB = 2000  # of memory at its most; then a fresh process takes over
# A pack takes 12 mm by 12 mm of a page at least; the picture is twice as dense as it is shown.
PICTURE_SIZE = (720, 427)
_QUALITY = 84
_END_S = 5.0


class MakerDied(Exception):
    """The process ended before it answered: killed, or out of memory."""


@dataclass(frozen=True)
class Order:
    """What is asked: a pack or a picture, made in a folder that may be temporary."""

    what: Pack | Picture
    out: Path | None = None
    temporary: bool = False


class Maker:
    """The handle of one such process; it is started when it is first asked."""

    def __init__(self, recycle: int) -> None:
        self._recycle, self._made = recycle, 0
        self._process: subprocess.Popen[bytes] | None = None

    def ask(self, order: Order) -> Any:
        """A Done for a pack, the bytes of a JPEG for a picture.

        Raises MakerDied; a later request starts a fresh process.
        """
        process = self._process or self._started()
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            pickle.dump(order, process.stdin)
            process.stdin.flush()
            answer = pickle.load(process.stdout)
        except (OSError, EOFError, pickle.UnpicklingError) as reason:
            self.kill()
            raise MakerDied(str(reason) or type(reason).__name__) from None
        self._made += 1
        large = isinstance(answer, Done) and answer.peak_mb > LARGEST_MB
        if self._made >= self._recycle or large:
            self.close()
        return answer

    def _started(self) -> subprocess.Popen[bytes]:
        # It must find the same modules as this process does.
        start = (
            f"import sys; sys.path[:] = {json.dumps(sys.path)}; "
            "from bedmodel.publishing.maker import main; main()"
        )
        self._process = subprocess.Popen(
            [sys.executable, "-c", start],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # a Ctrl-C is for the process that gives the orders
        )
        self._made = 0
        return self._process

    @property
    def pid(self) -> int | None:
        return self._process.pid if self._process else None

    def close(self) -> None:
        """Let the process end; it has nothing under way."""
        if self._process is not None:
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    pipe.close()
            try:
                self._process.wait(_END_S)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.wait()
        self._process = None

    def kill(self) -> None:
        """End the process now; what it had begun is cleared away by its guard."""
        process = self._process
        if process is not None:
            process.kill()
        self.close()


def main() -> None:
    """Answer requests from standard input until they end."""
    # Whatever prints must not stand among the answers, and drawings split this process in two:
    # the half would wait for ever to close a standard input that is being read here.
    asked, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(2, 1)
    if hasattr(os, "nice"):
        os.nice(NICENESS)
    orders: queue.Queue[Order] = queue.Queue()
    held = _Held()
    threading.Thread(target=_listen, args=(asked, orders, held), daemon=True).start()
    while True:
        order = orders.get()
        held.temporary = order.out if order.temporary else None
        pickle.dump(_answer(order), answers)
        answers.flush()


@dataclass
class _Held:
    """The temporary folder that is being filled or was filled last."""

    temporary: Path | None = None


def _listen(asked: BinaryIO, orders: queue.Queue[Order], held: _Held) -> None:
    """Pass requests on; when they end, so does the process, whatever it is doing."""
    while True:
        try:
            orders.put(pickle.load(asked))
        except (EOFError, OSError, pickle.UnpicklingError):
            if held.temporary is not None:
                shutil.rmtree(held.temporary, ignore_errors=True)
            os._exit(0)


def _answer(order: Order) -> Any:
    if isinstance(order.what, Picture):
        return _drawn(order.what)
    assert order.out is not None
    return made(order.what, order.out)


def made(pack: Pack, out: Path) -> Done:
    """Make a pack in ``out``, in this process; a failure is told, not raised."""
    from bedmodel.bed_figures import size_word

    about = (pack.name, pack.sheet.design.name, size_word(pack.sheet))
    start = _spent()
    try:
        if pack.stamp != program_stamp():
            raise BedmodelError("another version of bedmodel is installed where this was made")
        record = _built(pack, out)
    except BedmodelError as reason:
        return Done(*about, "failed", None, str(reason), reason.exit_code)
    except Exception:  # one bed that fails must not stop the others
        told = traceback.format_exc().strip().splitlines()[-1]
        return Done(*about, "failed", None, f"a fault of the program: {told}", 1)
    return Done(*about, "made", record, seconds=_spent() - start, peak_mb=_peak_mb())


def _built(pack: Pack, out: Path) -> dict[str, Any]:
    from bedmodel import kernel

    kernel.load()
    from bedmodel.build import build
    from bedmodel.exports.publish import MANIFEST

    built = build(
        pack.sheet,
        out,
        workshop=pack.workshop,
        only=pack.only,
        about=lambda bed, results, folder: pack_record(pack, bed, results, folder),
    )
    record: dict[str, Any] = json.loads((built.folder / MANIFEST).read_bytes())
    return record


def _drawn(picture: Picture) -> bytes:
    """A picture of the bed; empty where it cannot be drawn, which is no reason to stop."""
    import io

    try:
        from bedmodel.assembly import make_bed
        from bedmodel.exports.looks import looks_of
        from bedmodel.exports.picture import png_bytes

        bed = make_bed(picture.sheet)
        width, height = PICTURE_SIZE
        drawn = png_bytes(bed.pieces, bed.solids, looks_of(bed), width=width, height=height)
        from PIL import Image

        held = io.BytesIO()
        image = Image.open(io.BytesIO(drawn)).convert("RGB")
        image.save(held, "JPEG", quality=_QUALITY, optimize=True)
    except Exception:
        return b""
    return held.getvalue()


def _spent() -> float:
    """Processor time of this process and of those it started and saw off (s)."""
    return sum(os.times()[:4])


def _peak_mb() -> float:
    """The most memory that this process has held (MB), 0 where the system does not say."""
    try:
        import resource
    except ImportError:
        return 0.0
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1024 * 1024 if sys.platform == "darwin" else 1024)
