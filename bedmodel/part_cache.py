"""Solids and facets of parts kept under the hash of what they are made from.

The name of a kept part is the hash of its shape's canonical ``key``, of the solid modeller's
version, and of the code that makes solids; so parts are shared by sizes, sheets and runs, and
what was made by other code is never found. They are held in memory and, where there is a
folder, in files that may be deleted at any time:

    <name>.solid, <name>.form      a line of text, the hash of what follows, what follows

A file that is cut short, spoilt or not ours is made anew.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import importlib.metadata
import io
import os
import re
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Generic, TypeVar

import cadquery as cq
from OCP.BinTools import BinTools
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopoDS import TopoDS, TopoDS_Shape

from bedmodel import __version__
from bedmodel.bed import Kind, Piece
from bedmodel.shape import Shape
from bedmodel.solids import make_solids

MOST_BYTES = 64_000_000  # in the folder; a bed takes about 1 MB
MOST_HELD = 600  # in memory; a bed has some 20 kinds
_HEAD = b"bedmodel part 1\n"
_MADE_BY = ("frames.py", "outline.py", "cuts.py", "profiles.py", "shape.py", "solids.py")
_NAME = re.compile(r"[0-9a-f]{64}\.[a-z]+")
_LEFT_OVER = re.compile(r"\.[0-9a-f]{64}\.[a-z]+\.[0-9]+-[0-9a-f]+")
_OLD_S = 3600.0  # a half-written file that old was left by a run that died

Made = TypeVar("Made")


@functools.cache
def _makers() -> bytes:
    """Versions, and the text of the modules that turn a shape into a solid."""
    here = Path(__file__).parent
    told = hashlib.sha256()
    for name in _MADE_BY:
        told.update((here / name).read_bytes())
    kernel = importlib.metadata.version("cadquery-ocp")
    return f"{__version__} {kernel} {told.hexdigest()} ".encode()


def name_of(shape: Shape) -> str:
    """The name under which what is made from a shape is kept: 64 hexadecimal digits."""
    return hashlib.sha256(_makers() + repr(shape.key()).encode()).hexdigest()


class PartFolder:
    """A folder of kept parts. All its failures are quiet: what cannot be read is not there."""

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES) -> None:
        self.folder = folder
        self.most_bytes = most_bytes

    def read(self, name: str, ending: str) -> bytes | None:
        """What was kept, None where it is not there or not as it was written."""
        path = self.folder / f"{name}.{ending}"
        try:
            data = path.read_bytes()
        except OSError:
            return None
        head, digest, body = data[: len(_HEAD)], data[len(_HEAD) :][:32], data[len(_HEAD) + 32 :]
        if head != _HEAD or hashlib.sha256(body).digest() != digest:
            return None
        with contextlib.suppress(OSError):
            os.utime(path)  # used just now
        return body

    def write(self, name: str, ending: str, body: bytes) -> None:
        """Keep it, whole or not at all; two runs may do so at once, with the same bytes."""
        data = _HEAD + hashlib.sha256(body).digest() + body
        path = self.folder / f"{name}.{ending}"
        new = self.folder / f".{path.name}.{os.getpid()}-{os.urandom(4).hex()}"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            new.write_bytes(data)
            os.replace(new, path)
        except OSError:
            with contextlib.suppress(OSError):
                new.unlink()

    def trim(self) -> None:
        """Drop those used the longest ago until the rest are few enough; touch no other file."""
        found, whole = list[tuple[float, int, str]](), 0
        try:
            with os.scandir(self.folder) as entries:
                for entry in entries:
                    told = entry.stat(follow_symlinks=False)
                    if _NAME.fullmatch(entry.name):
                        found.append((told.st_mtime, told.st_size, entry.path))
                        whole += told.st_size
                    elif _LEFT_OVER.fullmatch(entry.name) and told.st_mtime < time.time() - _OLD_S:
                        found.append((0.0, told.st_size, entry.path))
                        whole += self.most_bytes  # goes in any case
        except OSError:
            return
        over = whole - self.most_bytes
        for used, size, path in sorted(found):
            if over <= 0:
                return
            with contextlib.suppress(OSError):
                os.unlink(path)
            over -= size if used else size + self.most_bytes


class _Held(Generic[Made]):
    """What is kept in memory, the longest unused dropped first."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._held: OrderedDict[str, Made] = OrderedDict()

    def get(self, name: str) -> Made | None:
        if name in self._held:
            self._held.move_to_end(name)
        return self._held.get(name)

    def put(self, name: str, made: Made) -> None:
        self._held[name] = made
        self._held.move_to_end(name)
        while len(self._held) > self._most:
            self._held.popitem(last=False)


class Kept(Generic[Made]):
    """One thing that is made from shapes, kept in memory and in a folder.

    ``pack`` and ``unpack`` turn it to bytes and back; ``unpack`` gives None for bytes that
    hold none. ``made`` counts those that had to be made.
    """

    def __init__(
        self,
        ending: str,
        pack: Callable[[Made], bytes],
        unpack: Callable[[bytes], Made | None],
        folder: PartFolder | None,
        most_held: int = MOST_HELD,
    ) -> None:
        self._ending, self._pack, self._unpack = ending, pack, unpack
        self._folder, self._held = folder, _Held[Made](most_held)
        self.made = 0

    def of(
        self,
        kinds: Mapping[str, Kind],
        make: Callable[[Mapping[str, Kind]], Mapping[str, Made]],
    ) -> dict[str, Made]:
        """One for each kind, by the kind's name; ``make`` makes those that are not kept."""
        names = {kind: name_of(each.shape) for kind, each in kinds.items()}
        found = {kind: self._get(name) for kind, name in names.items()}
        missing = {kind: kinds[kind] for kind, there in found.items() if there is None}
        self.made += len(missing)
        if missing:
            for kind, new in make(missing).items():
                found[kind] = new
                self._held.put(names[kind], new)
                if self._folder is not None:
                    self._folder.write(names[kind], self._ending, self._pack(new))
        return {kind: there for kind, there in found.items() if there is not None}

    def _get(self, name: str) -> Made | None:
        there = self._held.get(name)
        if there is None and self._folder is not None:
            data = self._folder.read(name, self._ending)
            there = None if data is None else self._unpack(data)
            if there is not None:
                self._held.put(name, there)
        return there


def kept_solids(folder: PartFolder | None) -> Kept[cq.Solid]:
    """The solids of parts, as BREP."""
    return Kept("solid", solid_bytes, solid_of, folder)


def solids_of(pieces: Iterable[Piece], kept: Kept[cq.Solid]) -> dict[str, cq.Solid]:
    """As ``solids.make_solids``, from what is kept where it is there."""
    every = tuple(pieces)

    def make(missing: Mapping[str, Kind]) -> dict[str, cq.Solid]:
        return make_solids(piece for piece in every if piece.kind.name in missing)

    return kept.of({piece.kind.name: piece.kind for piece in every}, make)


def solid_bytes(solid: cq.Solid) -> bytes:
    """A solid as the kernel's binary BREP."""
    held = io.BytesIO()
    BinTools.Write_s(solid.wrapped, held)
    return held.getvalue()


def solid_of(data: bytes) -> cq.Solid | None:
    """The solid of a binary BREP; None where there is none in it."""
    shape = TopoDS_Shape()
    try:
        BinTools.Read_s(shape, io.BytesIO(data))
        if shape.IsNull() or shape.ShapeType() != TopAbs_SOLID:
            return None
        return cq.Solid(TopoDS.Solid_s(shape))
    except Exception:  # the kernel raises many kinds of its own
        return None
