"""Work done beside the rest on another core, where the system can split a process in two."""

from __future__ import annotations

import atexit
import multiprocessing
import os
from collections.abc import Callable
from typing import Any, TypeVar

Given = TypeVar("Given")


def begun(work: Callable[[Given], bytes], given: Given) -> Callable[[], bytes]:
    """Begin work that gives bytes; what comes back waits for them.

    A child that shares all that is in memory starts at once; where there is none such, as on
    Windows, or no second core, or in a child that is one of many, or where it fails, the work is
    done when it is asked for.
    """
    is_child = multiprocessing.parent_process() is not None
    has_fork = "fork" in multiprocessing.get_all_start_methods()
    if is_child or not has_fork or (os.cpu_count() or 1) < 2:
        return lambda: work(given)
    context = multiprocessing.get_context("fork")
    ours, theirs = context.Pipe(duplex=False)
    # No daemon, or it could have no child of its own: a slow view is drawn in one.
    child = context.Process(target=_send, args=(work, given, theirs, ours), daemon=False)
    child.start()
    theirs.close()
    # Where something fails meanwhile nobody reads what it sends, and the end would wait for it.
    atexit.register(child.kill)

    def finish() -> bytes:
        try:
            found: bytes = ours.recv_bytes()
        except (EOFError, OSError):
            found = work(given)
        child.join()
        atexit.unregister(child.kill)
        return found

    return finish


def _send(work: Callable[[Given], bytes], given: Given, pipe: Any, far_end: Any) -> None:
    # Else a child whose parent is gone would wait for itself to read.
    far_end.close()
    try:
        pipe.send_bytes(work(given))
    finally:
        pipe.close()
        # Nothing of the parent's is to be tidied up here, least of all the solid modeller.
        os._exit(0)
