"""Make packs on one machine: a few threads, each with a process that makes one pack at a time."""

from __future__ import annotations

import hashlib
import os
import queue
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from bedmodel.bed_figures import size_word
from bedmodel.exports.publish import MANIFEST
from bedmodel.publishing.maker import Maker, MakerDied, Order
from bedmodel.publishing.pack import Done, Pack, Picture
from bedmodel.publishing.store import Store

Item = TypeVar("Item")
Answer = TypeVar("Answer")
TRIES = 3  # a process that dies is followed by another; a pack that kills three is given up
LOOKED_UP = 16  # manifests read at once: a store by network answers each slowly
ONE_MAKER_MB = 1200  # measured: 850 at its most with all groups, and what draws beside it


def usual_jobs() -> int:
    """As many at once as there are cores, and memory for."""
    jobs = os.cpu_count() or 1
    free = _free_mb()
    return max(1, min(jobs, int(free / ONE_MAKER_MB))) if free else jobs


def _free_mb() -> float:
    """Memory that can be had (MB); 0 where the system does not say."""
    try:
        with open("/proc/meminfo", encoding="ascii") as file:
            lines = dict(line.split(":") for line in file)
        return float(lines["MemAvailable"].split()[0]) / 1024
    except (OSError, KeyError, ValueError):
        return 0.0


def kept(pack: Pack, store: Store, *, verify: bool = False) -> Done | None:
    """The pack as it lies in the store, if it is the one that is wanted.

    ``verify`` reads all its files and compares them with the manifest, whose record is taken away
    where one differs. Raises WriteError.
    """
    manifest = store.manifest(pack.name)
    if manifest is None:
        return None
    told = manifest.get("pack")
    if not isinstance(told, dict) or told.get("key") != pack.key:
        return None
    if verify and not _unharmed(pack, store, manifest):
        # From now on it does not count for anybody; the folder stays known as ours.
        store.write(f"{pack.name}/{MANIFEST}", b"{}\n")
        return None
    size = size_word(pack.sheet)
    return Done(pack.name, pack.sheet.design.name, size, "kept", _short(manifest))


def _unharmed(pack: Pack, store: Store, manifest: dict[str, Any]) -> bool:
    try:
        return all(
            hashlib.sha256(store.read(f"{pack.name}/{each['path']}")).hexdigest() == each["sha256"]
            for each in manifest["files"]
        )
    except (OSError, KeyError, TypeError):
        return False


def kept_of(
    packs: Sequence[Pack], store: Store, *, verify: bool = False
) -> Iterator[tuple[Pack, Done | None]]:
    """Each pack, and how it lies in the store; several are looked up at once."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(LOOKED_UP) as pool:
        found = pool.map(lambda pack: kept(pack, store, verify=verify), packs)
        yield from zip(packs, found, strict=True)


def make_one(pack: Pack, store: Store, maker: Maker) -> Done:
    """Make a pack and store it; a process that dies is started again a few times.

    It may be asked for twice: a pack that is there by now is taken as it is.
    """
    for left in reversed(range(TRIES)):
        found = kept(pack, store)
        if found is not None:
            return found
        try:
            return _made_and_stored(pack, store, maker)
        except MakerDied:
            if not left:
                told = f"the process that made it died {TRIES} times: killed, or out of memory"
                return _failed(pack, told, 1)
    raise AssertionError("never reached")


def _made_and_stored(pack: Pack, store: Store, maker: Maker) -> Done:
    from bedmodel.errors import WriteError

    done: Done | None = None
    try:
        with store.place(pack.name) as (out, temporary):
            done = maker.ask(Order(pack, out, temporary))
            assert isinstance(done, Done)
            if done.record is None:
                raise _NothingToStore
    except _NothingToStore:
        assert done is not None
        return done
    except WriteError as reason:
        return _failed(pack, str(reason), reason.exit_code)
    assert done.record is not None
    return replace(done, record=_short(done.record))


class _NothingToStore(Exception):
    """Leaves the place of a pack that was not made."""


def _failed(pack: Pack, problem: str, exit_code: int) -> Done:
    name, sheet = pack.name, pack.sheet
    return Done(name, sheet.design.name, size_word(sheet), "failed", None, problem, exit_code)


def _short(manifest: dict[str, object]) -> dict[str, object]:
    """Of a manifest what the page of all packs needs."""
    files = manifest.get("files")
    listed = files if isinstance(files, list) else []
    return {
        "pack": manifest["pack"],
        "files": [each["path"] for each in listed],
        "bytes": sum(each["bytes"] for each in listed),
    }


def make_picture(picture: Picture, store: Store, maker: Maker) -> bool:
    """Draw a design and store it; a page without a picture is still a page. Raises WriteError."""
    if store.has(picture.path):
        return True
    try:
        data = maker.ask(Order(picture))
    except MakerDied:
        return False
    if data:
        store.write(picture.path, data)
    return bool(data)


class Crew:
    """The makers of one machine; a context that leaves none of them behind."""

    def __init__(self, jobs: int, recycle: int) -> None:
        self._makers = [Maker(recycle) for _ in range(jobs)]

    def __enter__(self) -> Crew:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        for maker in self._makers:
            if kind is None:
                maker.close()
            else:
                maker.kill()

    @property
    def pids(self) -> list[int]:
        return [maker.pid for maker in self._makers if maker.pid is not None]

    def make(self, packs: Sequence[Pack], store: Store) -> Iterator[Done]:
        """Each pack as it is made, in no order."""
        yield from self._each(packs, lambda pack, maker: make_one(pack, store, maker))

    def draw(self, pictures: Sequence[Picture], store: Store) -> int:
        """Draw and store each picture; return how many could be."""
        return sum(self._each(pictures, lambda each, maker: make_picture(each, store, maker)))

    def _each(
        self, items: Sequence[Item], work: Callable[[Item, Maker], Answer]
    ) -> Iterator[Answer]:
        todo: queue.SimpleQueue[Item] = queue.SimpleQueue()
        done: queue.SimpleQueue[Answer | BaseException] = queue.SimpleQueue()
        for item in items:
            todo.put(item)

        def run(maker: Maker) -> None:
            try:
                while True:
                    done.put(work(todo.get_nowait(), maker))
            except queue.Empty:
                return
            except BaseException as reason:  # told to whoever waits, or it would wait for ever
                done.put(reason)

        threads = [
            threading.Thread(target=run, args=(maker,), daemon=True)
            for maker in self._makers[: len(items)]
        ]
        for thread in threads:
            thread.start()
        for _ in items:
            answer = done.get()
            if isinstance(answer, BaseException):
                raise answer
            yield answer
