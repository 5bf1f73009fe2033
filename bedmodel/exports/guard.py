"""Tidy up after a run that died: the rules, and the small process that applies them.

A run keeps everything that is not finished in one hidden folder beside its result::

    out/.bedmodel-0123456789ab/lock         locked as long as the run lives
    out/.bedmodel-0123456789ab/new/<name>   being written; after an exchange, the old one
    out/.bedmodel-0123456789ab/old/<name>   the old one, only between two renames

So whatever is in ``new`` may be thrown away at any time, and what is in ``old``
goes back if its place is empty. The same rules serve the run itself, its guard,
and later runs that find what a power cut left.

The guard runs this file by itself (``python -I -S guard.py``), without the
package and before anything else is up, so only light imports stand at the top.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

LOCK, NEW, OLD = "lock", "new", "old"


if sys.platform == "win32":
    import msvcrt

    def take_lock(descriptor: int, *, wait: bool) -> bool:
        """Lock an open file; False while a living process holds it."""
        try:
            msvcrt.locking(descriptor, msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def take_lock(descriptor: int, *, wait: bool) -> bool:
        """Lock an open file; False while a living process holds it.

        Raises: OSError where the file system knows no locks.
        """
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
        except BlockingIOError:
            return False
        return True


def recover(area: str, *, certain: bool) -> None:
    """Put back the old folder if its place is empty and clear a dead run's hidden folder.

    ``certain`` says that the run is known to be dead or done. Without it a run
    counts as dead only when its lock is free, and is left alone where locks do
    not work. Does nothing, quietly, where it may not.
    """
    lock = os.path.join(area, LOCK)
    try:
        descriptor = os.open(lock, os.O_RDWR)
    except OSError:
        remove_empty([area])  # a run that died, or is about to look again, before its lock
        return
    try:
        if not _is_free(descriptor, certain):
            return
        _put_back(area)
        cleared = [remove_tree(os.path.join(area, part)) for part in (NEW, OLD)]
    finally:
        os.close(descriptor)
    if all(cleared):  # else keep the lock: it marks the folder for the next sweep
        _remove_lock(lock)
        remove_empty([area])


def _is_free(descriptor: int, certain: bool) -> bool:
    try:
        return take_lock(descriptor, wait=certain) or certain
    except OSError:
        return certain


def _put_back(area: str) -> None:
    aside = os.path.join(area, OLD)
    try:
        names = os.listdir(aside)
    except OSError:
        return
    for name in names:
        place = os.path.join(os.path.dirname(area), name)
        if not os.path.lexists(place):
            try:
                # Never destroys: a full folder that came meanwhile makes it fail.
                os.rename(os.path.join(aside, name), place)
            except OSError:
                continue


def remove_tree(folder: str) -> bool:
    """Remove a folder and all in it, also where folders were closed to writing; True if gone."""
    if not os.path.lexists(folder):
        return True
    import shutil

    shutil.rmtree(folder, ignore_errors=True)
    if os.path.lexists(folder):
        _open_up(folder)
        shutil.rmtree(folder, ignore_errors=True)
    return not os.path.lexists(folder)


def _open_up(folder: str) -> None:
    _make_writable(folder)
    for root, folders, files in os.walk(folder):
        # On POSIX only folders bar the way, and a file may be linked from elsewhere.
        for name in folders + (files if os.name == "nt" else []):
            path = os.path.join(root, name)
            if not os.path.islink(path):
                _make_writable(path)


def _make_writable(path: str) -> None:
    try:
        os.chmod(path, 0o700)
    except OSError:
        return


def _remove_lock(lock: str) -> None:
    try:
        os.unlink(lock)
    except OSError:
        return


def remove_empty(folders: Sequence[str]) -> None:
    """Remove the folders that are empty, in the order given; leave the others."""
    for folder in folders:
        try:
            os.rmdir(folder)
        except OSError:
            continue


def _outlive_signals() -> None:
    # A logout or shutdown tells every process to end; the guard ends by itself
    # right after its run, and until then must be there to tidy up.
    import signal

    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)


def main(arguments: Sequence[str]) -> None:
    """Wait for the end of standard input, which is the end of the run, and tidy up.

    ``arguments`` are the run's hidden folder and the folders that it may have
    had to make for it, innermost first.
    """
    area, *made = arguments
    _outlive_signals()
    while os.read(0, 1):
        pass
    recover(area, certain=True)
    remove_empty(made)


if __name__ == "__main__":
    main(sys.argv[1:])
