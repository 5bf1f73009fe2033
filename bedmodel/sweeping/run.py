"""Work out every point of a sweep, over all cores; what is done is kept if the run is ended.

Each finished row is written at once to a file beside the result, ``NAME.partial.jsonl``, under
a key that says what is swept. The same sweep begun again goes on from there; the file goes when
the result stands in its place.
"""

from __future__ import annotations

import hashlib
import json
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bedmodel.bed_figures import bed_figures, outcomes
from bedmodel.errors import InputError, WriteError
from bedmodel.program import program_stamp
from bedmodel.sheets import load_sheet
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import lay_out
from bedmodel.sweeping.ranges import Axis, Value

WORTH_MORE_CORES = 24  # points: below, starting processes costs more than it saves
OTHER_BED = {"mattress.size", "mattress.width", "mattress.length"}
CHUNK = 4  # points handed to a process at once: few, so that a Ctrl-C is soon heard

FAULT = "could not be reckoned, report this"

Figures = dict[str, Any]


@dataclass(frozen=True)
class Base:
    """The bed that is varied: sheet, mattress, changes and shop as asked for."""

    sheet: str | None
    size: str | None
    mattress: str | None
    changes: tuple[str, ...]
    shop: ShopProfile


@dataclass(frozen=True)
class Row:
    """One point: the values of the axes, its named figures, or why it is refused."""

    values: tuple[Value, ...]
    figures: Figures
    refused: str = ""

    @property
    def passed(self) -> bool:
        return not self.refused and not self.figures["failed"]


Point = tuple[Value, ...]


def one(base: Base, names: Sequence[str], values: Point) -> tuple[Figures, str]:
    """The figures of one point, or none and the refusal; a fault of the program is told as one."""
    changes = [*base.changes, *(f"{n}={v.text}" for n, v in zip(names, values, strict=True))]
    try:
        sheet = load_sheet(base.sheet, size=base.size, mattress=base.mattress, changes=changes)
        return outcomes(bed_figures(lay_out(sheet), base.shop)), ""
    except InputError as refusal:
        return {}, str(refusal)
    except Exception as fault:  # one bed that cannot be reckoned must not cost the others
        return {}, f"{FAULT}: {type(fault).__name__}: {fault}"


def sweep_key(base: Base, axes: Sequence[Axis], table: dict[str, Any]) -> str:
    """Hash of all that the rows hang on; ``table`` is the resolved sheet."""
    told = {
        "sheet": table,
        "mattress": [base.size, base.mattress],
        "shop": base.shop.model_dump(mode="json"),
        "axes": [[axis.name, [value.text for value in axis.values]] for axis in axes],
        "program": program_stamp(),
    }
    text = json.dumps(told, sort_keys=True, default=str)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


class Journal:
    """The rows that are done, one a line; None for ``path`` keeps nothing."""

    def __init__(self, path: Path | None, key: str) -> None:
        self._path, self._key = path, key
        self._file: Any = None

    def rows(self) -> dict[int, tuple[Figures, str]]:
        """The rows of the same sweep that an earlier run left; the last may be torn off."""
        if self._path is None or not self._path.is_file():
            return {}
        found: dict[int, tuple[Figures, str]] = {}
        lines = self._path.read_bytes().split(b"\n")
        try:
            if json.loads(lines[0])["key"] != self._key:
                return {}
            for line in lines[1:-1]:
                row = json.loads(line)
                found[int(row["point"])] = (row["figures"], row["refused"])
        except (ValueError, KeyError, TypeError):
            return found
        return found

    def begin(self, done: dict[int, tuple[Figures, str]]) -> None:
        """Write the file anew with the rows that are known. Raises WriteError."""
        if self._path is None:
            return
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            new = self._path.with_suffix(".new")
            with new.open("w", encoding="utf-8", newline="\n") as file:
                file.write(json.dumps({"key": self._key}) + "\n")
                file.writelines(_line(i, *row) for i, row in done.items())
            os.replace(new, self._path)
            self._file = self._path.open("a", encoding="utf-8", newline="\n")
        except OSError as reason:
            raise WriteError(f"cannot write {self._path}: {reason.strerror}") from reason

    def add(self, i: int, figures: Figures, refused: str) -> None:
        if self._file is not None:
            self._file.write(_line(i, figures, refused))
            self._file.flush()

    def close(self) -> None:
        if self._file is not None:
            self._file.close()
            self._file = None

    def remove(self) -> None:
        """The result is in place: the rows are no longer needed by themselves."""
        self.close()
        if self._path is not None:
            self._path.unlink(missing_ok=True)


def _line(i: int, figures: Figures, refused: str) -> str:
    return json.dumps({"point": i, "figures": figures, "refused": refused}) + "\n"


def rows_of(
    base: Base,
    axes: Sequence[Axis],
    found: Sequence[Point],
    journal: Journal,
    jobs: int,
    say: Callable[[int, int], None] = lambda done, kept: None,
) -> list[Row]:
    """Every row in the order of the points; ``say`` is told how many are done, and were before.

    Raises WriteError. A KeyboardInterrupt passes when the processes have ended.
    """
    done = {i: row for i, row in journal.rows().items() if i < len(found)}
    kept = len(done)
    journal.begin(done)
    names = [axis.name for axis in axes]
    todo = [i for i in range(len(found)) if i not in done]
    say(kept, kept)
    try:
        for i, row in _worked_out(base, names, found, todo, jobs):
            done[i] = row
            journal.add(i, *row)
            say(len(done), kept)
    finally:
        journal.close()
    return [Row(found[i], *done[i]) for i in range(len(found))]


def _worked_out(
    base: Base, names: list[str], found: Sequence[Point], todo: list[int], jobs: int
) -> Iterator[tuple[int, tuple[Figures, str]]]:
    if jobs == 1 or len(todo) < WORTH_MORE_CORES:
        for i in todo:
            yield i, one(base, names, found[i])
        return
    import multiprocessing

    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(jobs, context, _begin, (base, names))
    try:
        chunks = [todo[i : i + CHUNK] for i in range(0, len(todo), CHUNK)]
        futures: dict[Future[list[tuple[Figures, str]]], list[int]] = {
            pool.submit(_chunk, [found[i] for i in chunk]): chunk for chunk in chunks
        }
        for future in as_completed(futures):
            yield from zip(futures[future], future.result(), strict=True)
    except BrokenProcessPool:
        raise WriteError(
            "a process of the sweep was ended by the system; run it again to go on, "
            "with fewer --jobs if memory was short"
        ) from None
    finally:
        # Waited for, a second or so: left to itself the pool would keep this process from ending.
        pool.shutdown(wait=True, cancel_futures=True)


_BASE: list[tuple[Base, list[str]]] = []


def _begin(base: Base, names: list[str]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a Ctrl-C is for the process that asked
    if hasattr(os, "nice"):
        os.nice(5)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _BASE.append((base, names))


def _end_with_parent() -> None:
    """A pool's processes would wait for ever for one that was killed."""
    import multiprocessing
    from multiprocessing.connection import wait

    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def _chunk(values: list[Point]) -> list[tuple[Figures, str]]:
    base, names = _BASE[-1]
    return [one(base, names, each) for each in values]


def front(rows: Sequence[Row], by: tuple[str, str]) -> list[int]:
    """The points that no other beats in both figures (less is better), by the first of them.

    Of those alone that pass every check that needs no solid, and whose figures are known.
    """
    first, second = by
    known = [
        (row.figures[first], row.figures[second], i)
        for i, row in enumerate(rows)
        if row.passed and row.figures[first] is not None and row.figures[second] is not None
    ]
    best: list[int] = []
    least: float | None = None
    last: tuple[float, float] | None = None
    for x, y, i in sorted(known):
        if least is None or y < least or (x, y) == last:
            best.append(i)
            least, last = y, (x, y)
    return best


def fronts(axes: Sequence[Axis], rows: Sequence[Row], by: tuple[str, str]) -> list[list[int]]:
    """The front of each mattress by itself: a smaller one is cheaper, and no answer."""
    sides = [i for i, axis in enumerate(axes) if axis.name in OTHER_BED]
    groups: dict[tuple[str, ...], list[int]] = {}
    for i, row in enumerate(rows):
        groups.setdefault(tuple(row.values[k].text for k in sides), []).append(i)
    found = [[own[i] for i in front([rows[k] for k in own], by)] for own in groups.values()]
    return [each for each in found if each]
