"""Put a finished folder in the place of an older one, in one step where the system can."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable
from pathlib import Path

from bedmodel.exports import guard

_TRIES = 100
_TAKEN = {errno.EEXIST, errno.ENOTEMPTY, errno.ENOTDIR}
# EPERM too: some sandboxes answer so to calls they do not know. A true lack of
# permission shows again in the renames that are tried next.
_NO_EXCHANGE = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EPERM}
_AT_FDCWD, _RENAME_EXCHANGE = -100, 2  # Source: Linux uapi fcntl.h and fs.h
_RENAME_SWAP = 2  # Source: macOS sys/stdio.h


def put_in_place(new: Path, target: Path, aside: Path, check: Callable[[], None]) -> None:
    """Move the folder ``new`` to ``target``; a folder that was there moves the other way.

    The older folder ends at ``new``, or below ``aside`` where the system cannot
    exchange two folders, and is put back from there by ``guard.recover`` if the
    run does not come to its end. ``check`` is called before a folder is replaced and
    raises if it may not be. Other runs may do the same at the same time: the
    last one wins.

    Raises: OSError.
    """
    for _ in range(_TRIES):
        if not os.path.lexists(target):
            done = _move_in(new, target)
        else:
            check()
            done = _replace(new, target, aside)
        if done:
            return
    raise OSError(errno.EBUSY, os.strerror(errno.EBUSY), str(target))


def _move_in(new: Path, target: Path) -> bool:
    """Rename into a free place; False if it was taken meanwhile."""
    try:
        os.rename(new, target)
    except OSError as error:
        if error.errno in _TAKEN:
            return False
        raise
    return True


def _replace(new: Path, target: Path, aside: Path) -> bool:
    """Take the place of a folder; False if the place changed meanwhile."""
    try:
        return exchange(new, target) or _rename_twice(new, target, aside)
    except FileNotFoundError:
        if not os.path.lexists(new):
            raise
        return False  # another run is between its two renames


def _rename_twice(new: Path, target: Path, aside: Path) -> bool:
    guard.remove_tree(str(aside))  # left by an earlier try that another run overtook
    os.mkdir(aside)
    os.rename(target, aside / target.name)
    # Should this fail, or the run die here, the end of the staging area, the
    # guard or a later sweep puts the older folder back from ``aside``.
    return _move_in(new, target)


def exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step; False where the system cannot.

    Raises: OSError.
    """
    code = _exchange_code(os.fsencode(one), os.fsencode(other))
    if code == 0:
        return True
    if code in _NO_EXCHANGE:
        return False
    raise OSError(code, os.strerror(code), str(one), None, str(other))


def _exchange_code(one: bytes, other: bytes) -> int:
    """Call the system; return its error number, 0 when done."""
    if os.name == "nt":
        return errno.ENOSYS
    try:
        import ctypes

        libc = ctypes.CDLL(None, use_errno=True)
        if sys.platform == "darwin":
            result = libc.renamex_np(one, other, ctypes.c_uint(_RENAME_SWAP))
        else:
            flags = ctypes.c_uint(_RENAME_EXCHANGE)
            result = libc.renameat2(_AT_FDCWD, one, _AT_FDCWD, other, flags)
    except (ImportError, AttributeError, OSError):
        return errno.ENOSYS
    return 0 if result == 0 else ctypes.get_errno()
