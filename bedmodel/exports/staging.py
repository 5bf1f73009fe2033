"""A run's own hidden folder: claimed by a lock, watched by a guard, swept when stale."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
import weakref
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bedmodel.exports import guard

_AREA_NAME = re.compile(r"\.bedmodel-[0-9a-f]{12}")
_CLAIM_TRIES = 20
_CLAIM_PAUSE_S = 0.01
_GUARD_END_S = 5.0


@contextmanager
def staging_area(out: Path) -> Iterator[Path]:
    """Yield a fresh hidden folder inside ``out``, which is made if it is not there.

    ``out`` is a real path, absolute and without links. Write below ``guard.NEW``
    in the yielded folder and move the result out of it; at the end, however it
    comes, the rest is removed, and so is ``out`` if it was made here and stayed
    empty. If this process dies its guard does the same.

    Raises: OSError.
    """
    owner = os.getpid()
    area = out / f".bedmodel-{os.urandom(6).hex()}"
    made = _missing_folders(out)
    hold = _Hold(_start_guard(area, made))
    try:
        sweep(out)
        hold.lock = _claim(area)
        yield area
    finally:
        if os.getpid() == owner:  # a forked child has no say in it
            _tidy(area, made, hold)


def sweep(out: Path) -> None:
    """Clear the hidden folders in ``out`` that runs which are no more left there."""
    try:
        names = os.listdir(out)
    except OSError:
        return
    for name in names:
        if _AREA_NAME.fullmatch(name):
            guard.recover(os.path.join(out, name), certain=False)


def _missing_folders(out: Path) -> list[str]:
    """Return ``out`` and its parents that do not exist, innermost first."""
    missing: list[str] = []
    for folder in (out, *out.parents):
        if os.path.lexists(folder):
            break
        missing.append(str(folder))
    return missing


def _tidy(area: Path, made: list[str], hold: _Hold) -> None:
    try:
        hold.release_lock()
        guard.recover(str(area), certain=True)
        guard.remove_empty(made)
    finally:
        hold.end_guard()


class _Hold:
    """The lock and the guard of a living run."""

    def __init__(self, process: subprocess.Popen[bytes] | None) -> None:
        self.lock: int | None = None
        self._process = process
        _let_go_in_children(self)

    def release_lock(self) -> None:
        """Close the lock, which frees it."""
        if self.lock is not None:
            os.close(self.lock)
            self.lock = None

    def close_pipe(self) -> None:
        """Let go of the guard's standard input, which tells it that the run is over."""
        if self._process is not None and self._process.stdin is not None:
            self._process.stdin.close()

    def end_guard(self) -> None:
        """Tell the guard that the run is over and see it off."""
        self.close_pipe()
        if self._process is not None:
            try:
                self._process.wait(_GUARD_END_S)
            except subprocess.TimeoutExpired:
                return  # a machine under heavy load; the guard ends by itself


def _let_go_in_children(hold: _Hold) -> None:
    # A forked worker would keep the pipe and the lock open after the run was
    # killed, and the guard would wait for it.
    if not hasattr(os, "register_at_fork"):
        return
    reference = weakref.ref(hold)

    def let_go() -> None:
        inherited = reference()
        if inherited is not None:
            inherited.close_pipe()
            inherited.release_lock()

    os.register_at_fork(after_in_child=let_go)


def _start_guard(area: Path, made: list[str]) -> subprocess.Popen[bytes] | None:
    """Start the guard without waiting for it; None where no process can be started."""
    flags = [getattr(subprocess, n, 0) for n in ("CREATE_NO_WINDOW", "CREATE_NEW_PROCESS_GROUP")]
    if not sys.executable:
        return None
    try:
        return subprocess.Popen(
            [sys.executable, "-I", "-S", guard.__file__, str(area), *made],
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            bufsize=0,
            close_fds=True,
            cwd=os.path.abspath(os.sep),  # keeps no folder of the user's busy
            start_new_session=True,
            creationflags=flags[0] | flags[1],
        )
    except OSError:
        return None  # the next run's sweep still clears what a killed run leaves


def _claim(area: Path) -> int:
    """Make the hidden folder and lock it; return the descriptor of the lock.

    Between making and locking, another run's sweep may take the folder for a
    dead one and remove it, or remove ``out`` which it made: then make it again.
    """
    for _ in range(_CLAIM_TRIES - 1):
        try:
            return _claim_once(area)
        except (FileNotFoundError, FileExistsError, BlockingIOError):
            time.sleep(_CLAIM_PAUSE_S)
    return _claim_once(area)


def _claim_once(area: Path) -> int:
    os.makedirs(area, exist_ok=True)
    path = area / guard.LOCK
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o666)
    try:
        if not _lock_if_possible(descriptor):
            raise BlockingIOError("the staging folder is being swept")
        if not os.path.samestat(os.fstat(descriptor), os.stat(path)):
            raise FileNotFoundError("the staging folder was swept")
    except BaseException:
        os.close(descriptor)
        raise
    return descriptor


def _lock_if_possible(descriptor: int) -> bool:
    try:
        return guard.take_lock(descriptor, wait=False)
    except OSError:
        return True  # no locks on this file system: sweeps leave the folder alone
