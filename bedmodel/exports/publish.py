"""Write the output of a run whole or not at all.

A folder is written beside its place and moved there when it is finished, so
that a run which fails, is stopped or is killed leaves what was there before.
Every file is on the disk before the move (fsync), so that this holds for a
power cut too.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bedmodel.errors import InputError, WriteError
from bedmodel.exports import guard
from bedmodel.exports.staging import staging_area
from bedmodel.exports.swap import put_in_place

MANIFEST = "manifest.json"

_NAME = re.compile(r"(?!\.)[A-Za-z0-9._-]{1,100}(?<!\.)")  # Windows drops a dot at the end
_NO_SYNC = {errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EBADF, errno.EACCES}
_JUNCTION = 0xA0000003  # Source: Windows SDK, IO_REPARSE_TAG_MOUNT_POINT
_ELSEWHERE = "choose another output folder"
_REASONS = {
    errno.ENOSPC: ("the disk is full", f"free some space or {_ELSEWHERE}"),
    errno.EDQUOT: ("the disk quota is used up", f"free some space or {_ELSEWHERE}"),
    errno.EFBIG: ("a file grew past the size allowed here", f"raise the limit or {_ELSEWHERE}"),
    errno.EROFS: ("the file system is read-only", _ELSEWHERE),
    errno.EACCES: (
        "permission denied",
        f"close programs that use it, make it writable or {_ELSEWHERE}",
    ),
    errno.EPERM: ("not permitted", f"make it writable or {_ELSEWHERE}"),
    errno.ENOTDIR: ("part of the path is a file, not a folder", _ELSEWHERE),
    errno.EEXIST: ("something else is in its place", f"move that away or {_ELSEWHERE}"),
    errno.ENOENT: ("a file or folder is missing", "run again and leave the folder alone meanwhile"),
    errno.ENAMETOOLONG: ("the path is too long", "choose a shorter output folder"),
    errno.EXDEV: ("it is on another file system", f"move the old folder away or {_ELSEWHERE}"),
    errno.EBUSY: ("it is in use", f"close programs that use it or {_ELSEWHERE}"),
    errno.EMFILE: ("too many files are open", "raise the limit on open files"),
    errno.EIO: ("the disk reports an error", f"check the disk or {_ELSEWHERE}"),
}


@contextmanager
def fresh_folder(out: Path, name: str) -> Iterator[Path]:
    """Yield an empty folder to write into; move it to ``out/name`` when all went well.

    The move replaces an older output in one step where the system allows. After
    any exception the older output is untouched and nothing else is left. The
    result should hold a ``manifest.json``: by it the next run knows the folder
    as its own and may replace it.

    Raises: InputError for an unsafe name; WriteError for any OSError, and where
    ``out/name`` is something that this tool did not make.
    """
    _check_name(name)
    shown = out / name
    with _told_as_write_error(shown):
        real = Path(os.path.realpath(out))
        target = real / name
        _check_replaceable(target, shown)
        with staging_area(real) as area:
            new = area / guard.NEW / name
            new.mkdir(parents=True)
            owner = os.getpid()
            yield new
            if os.getpid() == owner:  # a forked child that ran to here publishes nothing
                _sync_tree(new)
                put_in_place(
                    new, target, area / guard.OLD, lambda: _check_replaceable(target, shown)
                )
                _sync(real)


def write_file(path: Path, data: bytes) -> None:
    """Write one file whole or not at all, making its folder if need be.

    A link is followed and stays; an older file keeps its permissions.

    Raises: WriteError for any OSError, and where ``path`` is not a plain file.
    """
    with _told_as_write_error(path):
        real = Path(os.path.realpath(path))
        mode = _mode_of_file(real, path)
        with staging_area(real.parent) as area:
            new = area / guard.NEW / real.name
            write_bytes(new, data)
            if mode is not None:
                os.chmod(new, mode)
            _sync(new)
            os.replace(new, real)
            _sync(real.parent)


def write_bytes(path: Path, data: bytes) -> None:
    """Write a file inside a fresh folder, making the folders above it.

    Raises: OSError, which ``fresh_folder`` turns into WriteError.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def write_text(path: Path, text: str) -> None:
    r"""Write UTF-8 text inside a fresh folder, lines ended by ``\n`` on every system.

    Raises: OSError, which ``fresh_folder`` turns into WriteError.
    """
    write_bytes(path, text.replace("\r\n", "\n").encode("utf-8"))


def _check_name(name: str) -> None:
    if not _NAME.fullmatch(name):
        raise InputError(
            "name",
            name,
            "must be 1 to 100 letters a-z, digits, '.', '_' or '-', with no dot at either end",
            "rename the sheet",
        )


def _check_replaceable(target: Path, shown: Path) -> None:
    """Refuse a place that holds something which this tool did not make.

    Raises: WriteError; OSError where the place cannot be looked at.
    """
    what = _foreign_thing(target)
    if what:
        raise WriteError(
            _one_line(
                f"cannot write {shown}: {what} is in its place and is left alone; "
                f"move it away or {_ELSEWHERE}"
            )
        )


def _foreign_thing(target: Path) -> str:
    """Name what is at ``target`` and not ours; empty when there is nothing or ours."""
    try:
        info = os.lstat(target)
        if stat.S_ISLNK(info.st_mode) or getattr(info, "st_reparse_tag", 0) == _JUNCTION:
            return "a link"
        if not stat.S_ISDIR(info.st_mode):
            return "a file"
        names = os.listdir(target)
    except FileNotFoundError:
        return ""
    if names and MANIFEST not in names:
        return f"a folder that this tool did not make (it has no {MANIFEST})"
    return ""


def _mode_of_file(real: Path, shown: Path) -> int | None:
    """Return the permissions of the file to be replaced, None if there is none.

    Raises: WriteError for a folder, a device or the like.
    """
    try:
        mode = os.lstat(real).st_mode
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(mode):
        what = "a folder" if stat.S_ISDIR(mode) else "not a plain file"
        raise WriteError(_one_line(f"cannot write {shown}: it is {what}; choose another file name"))
    return stat.S_IMODE(mode)


def _sync_tree(folder: Path) -> None:
    for root, _, names in os.walk(folder, topdown=False):
        for name in names:
            path = Path(root, name)
            if path.is_file() and not path.is_symlink():
                _sync(path)
        _sync(Path(root))


def _sync(path: Path) -> None:
    """Bring a file or folder from the cache to the disk, where the system can.

    Raises: OSError, for here a full network disk first shows.
    """
    is_windows = os.name == "nt"
    if is_windows and path.is_dir():
        return
    try:
        descriptor = os.open(path, os.O_RDWR if is_windows else os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as error:
        if error.errno not in _NO_SYNC:
            raise


@contextmanager
def _told_as_write_error(shown: Path) -> Iterator[None]:
    """Turn OSError into a WriteError of one line: what, why, what to do.

    A reader that closed the standard output says nothing of the disk and passes.
    """
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        raise WriteError(_one_line(_write_failure(shown, error))) from error


def _write_failure(shown: Path, error: OSError) -> str:
    fallback = ((error.strerror or str(error) or type(error).__name__).lower(), _ELSEWHERE)
    reason, remedy = _REASONS.get(error.errno or 0, fallback)
    return f"cannot write {shown}: {reason}{_where(error)}; {remedy}"


def _where(error: OSError) -> str:
    """Say which path failed, in brackets, without the hidden folder's name."""
    if not isinstance(error.filename, (str, bytes, os.PathLike)):
        return ""
    path = os.fsdecode(error.filename)
    inside = re.search(r"\.bedmodel-[0-9a-f]{12}(?:[/\\](?:new|old)[/\\]?|[/\\]?)(.*)", path)
    shown = inside.group(1) if inside else path
    return f" ({shown})" if shown else ""


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)
