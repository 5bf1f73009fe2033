"""Where packs are kept: a folder, or any place that fsspec can write to.

A pack is whole or not there. In a folder it is moved into place when it is finished; elsewhere
its manifest is written last and taken away first, and a pack without one does not count.
"""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from bedmodel.errors import InputError, MissingLibrary, WriteError
from bedmodel.exports.publish import MANIFEST, write_file

_ADDRESS = re.compile(r"[a-z][a-z0-9+.-]+://", re.IGNORECASE)
INSTALL = "pip install distributed fsspec, or '.[cluster]' in the folder of bedmodel"
TEMPORARY = "bedmodel-pack-"
_ELSEWHERE = "see that it can be written to, or choose another --out"


class Store(Protocol):
    """What a place for packs can do; it can be sent to another process."""

    @property
    def address(self) -> str:
        """The place by a name that holds on every machine that writes to it."""

    def manifest(self, name: str) -> dict[str, Any] | None:
        """The manifest of a pack that is whole, None where there is none."""

    def place(self, name: str) -> Any:
        """A context that yields the folder to make the pack in, and takes it in at its end."""

    def has(self, path: str) -> bool: ...

    def read(self, path: str) -> bytes: ...

    def write(self, path: str, data: bytes) -> None:
        """Write one file, whole or not at all where the place can do that."""

    def names(self, folder: str) -> list[str]: ...

    def remove(self, path: str) -> None: ...


def store_of(where: str) -> Store:
    """The place meant by ``--out``.

    Raises InputError for an address that is none, MissingLibrary where fsspec is wanting.
    """
    return AddressStore(where) if _ADDRESS.match(where) else FolderStore(Path(where).absolute())


@dataclass(frozen=True)
class FolderStore:
    """A folder of this machine, or one that all machines share under one path."""

    root: Path

    @property
    def address(self) -> str:
        return str(self.root)

    def manifest(self, name: str) -> dict[str, Any] | None:
        try:
            return _record((self.root / name / MANIFEST).read_bytes())
        except OSError:
            return None

    @contextmanager
    def place(self, name: str) -> Iterator[tuple[Path, bool]]:
        """The folder itself: a build puts a pack in place whole. Second: is it temporary."""
        yield self.root, False

    def has(self, path: str) -> bool:
        return (self.root / path).is_file()

    def read(self, path: str) -> bytes:
        return (self.root / path).read_bytes()

    def write(self, path: str, data: bytes) -> None:
        write_file(self.root / path, data)

    def names(self, folder: str) -> list[str]:
        there = self.root / folder
        return sorted(path.name for path in there.iterdir()) if there.is_dir() else []

    def remove(self, path: str) -> None:
        (self.root / path).unlink(missing_ok=True)


class AddressStore:
    """A place by its address, such as s3://bucket/beds, by way of fsspec."""

    def __init__(self, address: str) -> None:
        self.address = address.rstrip("/")
        self._connect()

    def _connect(self) -> None:
        try:
            import fsspec
        except ImportError:
            raise MissingLibrary(f"--out {self.address} needs fsspec: {INSTALL}") from None
        try:
            self._system, self._root = fsspec.core.url_to_fs(self.address)
        except (ImportError, ValueError) as reason:
            raise InputError("--out", self.address, _one(reason), "or give a folder") from None
        self._root = self._root.rstrip("/")

    def __getstate__(self) -> str:
        return self.address

    def __setstate__(self, address: str) -> None:
        self.address = address
        self._connect()

    def manifest(self, name: str) -> dict[str, Any] | None:
        try:
            return _record(self._system.cat_file(f"{self._root}/{name}/{MANIFEST}"))
        except FileNotFoundError:
            return None

    @contextmanager
    def place(self, name: str) -> Iterator[tuple[Path, bool]]:
        """A temporary folder, whose pack is stored when it was made."""
        there = Path(tempfile.mkdtemp(prefix=TEMPORARY))
        try:
            yield there, True
            self.put(there / name, name)
        finally:
            shutil.rmtree(there, ignore_errors=True)

    def put(self, folder: Path, name: str) -> None:
        """Store a finished pack: its manifest last, that of an older one taken away first.

        Raises WriteError.
        """
        base = f"{self._root}/{name}"
        files = sorted(path for path in folder.rglob("*") if path.is_file())
        wanted = {path.relative_to(folder).as_posix() for path in files}
        with self._told(name):
            if self._system.exists(f"{base}/{MANIFEST}"):
                self._system.rm_file(f"{base}/{MANIFEST}")
            self._clear(base, wanted)
            made: set[str] = set()
            for path in sorted(files, key=lambda path: path == folder / MANIFEST):
                place = f"{base}/{path.relative_to(folder).as_posix()}"
                parent = place.rpartition("/")[0]
                if parent not in made:
                    self._system.makedirs(parent, exist_ok=True)
                    made.add(parent)
                self._system.put_file(str(path), place)

    def _clear(self, base: str, wanted: set[str]) -> None:
        """Take away what an older pack had and this one has not."""
        for path in self._system.find(base) if self._system.exists(base) else ():
            if path[path.index(base) + len(base) + 1 :] not in wanted:
                self._system.rm_file(path)

    def has(self, path: str) -> bool:
        return bool(self._system.exists(f"{self._root}/{path}"))

    def read(self, path: str) -> bytes:
        data: bytes = self._system.cat_file(f"{self._root}/{path}")
        return data

    def write(self, path: str, data: bytes) -> None:
        place = f"{self._root}/{path}"
        with self._told(path):
            self._system.makedirs(place.rpartition("/")[0], exist_ok=True)
            self._system.pipe_file(place, data)

    def names(self, folder: str) -> list[str]:
        there = f"{self._root}/{folder}"
        if not self._system.exists(there):
            return []
        found = self._system.ls(there, detail=False)
        return sorted(path.rstrip("/").rpartition("/")[2] for path in found)

    def remove(self, path: str) -> None:
        with self._told(path):
            self._system.rm_file(f"{self._root}/{path}")

    @contextmanager
    def _told(self, what: str) -> Iterator[None]:
        """Any failure of the place as one line; what it raises differs from kind to kind."""
        try:
            yield
        except Exception as reason:
            place = f"{self.address}/{what}"
            raise WriteError(f"cannot write {place}: {_one(reason)}; {_ELSEWHERE}") from reason


def _record(data: bytes) -> dict[str, Any] | None:
    """A manifest as written, None for half of one."""
    try:
        found = json.loads(data)
    except ValueError:
        return None
    return found if isinstance(found, dict) else None


def _one(reason: Exception) -> str:
    text = str(reason) or type(reason).__name__
    return "".join(c if c.isprintable() else " " for c in text)[:200]
