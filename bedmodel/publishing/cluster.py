"""Make packs on many machines, by the workers of a Dask scheduler.

A task is a pack and a place, and is known by the pack's key: asked for twice it is made once,
and a task whose worker dies is given to another. Each thread of a worker has a process that
makes the packs, as on one machine, so that nothing here runs the solid modeller in threads.

Dask's scheduler trusts its network: who reaches it can run any program on its workers. Keep it
on a network of your own, or give it certificates (tls://).
"""

from __future__ import annotations

import itertools
import logging
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bedmodel.bed_figures import size_word
from bedmodel.errors import InputError, MissingLibrary
from bedmodel.program import program_stamp
from bedmodel.publishing.crew import make_one, make_picture
from bedmodel.publishing.maker import Maker
from bedmodel.publishing.pack import Done, Pack, Picture
from bedmodel.publishing.store import INSTALL, Store

RETRIES = 2  # of a task that raises; one whose worker dies is given away without counting
REACH_S = 10
WORKERS_S = 60
_AHEAD = 4  # tasks held by the scheduler for each thread: enough that none waits for this process
_START = "start one by `dask scheduler`, its workers by `dask worker tcp://HOST:8786 --nthreads 1`"

_OWN = threading.local()


@dataclass(frozen=True)
class Certificates:
    """PEM files for a scheduler that asks for them."""

    ca: str
    cert: str
    key: str


def make_packs(
    packs: Sequence[Pack],
    pictures: Sequence[Picture],
    store: Store,
    scheduler: str,
    recycle: int,
    certificates: Certificates | None = None,
) -> Iterator[Done]:
    """Each pack as it is stored, in no order; the pictures are stored beside them.

    Raises MissingLibrary without the extra, InputError for a scheduler that cannot be reached,
    has no workers, or whose workers have another program.
    """
    try:
        import distributed
    except ImportError:
        raise MissingLibrary(f"--scheduler {scheduler} needs Dask: {INSTALL}") from None
    for name in ("distributed", "distributed.client", "distributed.core", "distributed.comm"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    with _client(distributed, scheduler, certificates) as client:
        threads = _agreed(client, scheduler)
        tasks: dict[str, Pack | Picture] = {}
        # The same pack for the same place is the same task.
        tasks.update((f"pack-{pack.key}-{store.address}", pack) for pack in packs)
        tasks.update((f"{each.path}-{store.address}", each) for each in pictures)
        yield from _each(distributed, client, tasks, store, recycle, _AHEAD * threads)


def _client(distributed: Any, scheduler: str, certificates: Certificates | None) -> Any:
    security = None
    if certificates is not None:
        security = distributed.Security(
            tls_ca_file=certificates.ca,
            tls_client_cert=certificates.cert,
            tls_client_key=certificates.key,
            require_encryption=True,
        )
    try:
        return distributed.Client(scheduler, timeout=REACH_S, security=security)
    except (OSError, ValueError, TypeError, RuntimeError) as reason:
        told = " ".join(str(reason).split())[:150] or type(reason).__name__
        allowed = f"cannot be reached ({told})"
        raise InputError("--scheduler", scheduler, allowed, _START) from None


def _agreed(client: Any, scheduler: str) -> int:
    """How many threads the workers have, all of this very program. Raises InputError."""
    try:
        client.wait_for_workers(1, timeout=WORKERS_S)
    except (TimeoutError, OSError):
        allowed = f"has no workers, waited {WORKERS_S} s"
        raise InputError("--scheduler", scheduler, allowed, _START) from None
    stamps = client.run(_stamp, on_error="return")
    own = program_stamp()
    for worker, stamp in stamps.items():
        if stamp != own:
            has = "has no bedmodel that can be used" if isinstance(stamp, BaseException) else ""
            has = has or "has another version of bedmodel or of its libraries"
            remedy = "install the same version on every worker and restart it"
            raise InputError("--scheduler", scheduler, f"its worker {worker} {has}", remedy)
    return sum(client.nthreads().values())


def _stamp() -> str:
    return program_stamp()


def _each(
    distributed: Any,
    client: Any,
    tasks: Mapping[str, Pack | Picture],
    store: Store,
    recycle: int,
    ahead: int,
) -> Iterator[Done]:
    """Hand out a few tasks at a time, so that 100,000 packs fill no scheduler's memory."""
    waiting = iter(tasks.items())

    def handed(count: int) -> list[Any]:
        return [
            client.submit(make_at_worker, what, store, recycle, key=key, retries=RETRIES)
            for key, what in itertools.islice(waiting, count)
        ]

    finished = distributed.as_completed(handed(ahead))
    for future in finished:
        what = tasks[future.key]
        try:
            done = future.result()
        except Exception as reason:  # given up: it killed several workers, or raised each time
            done = _given_up(what, reason)
        if done is not None:
            yield done
        for more in handed(1):
            finished.add(more)


def _given_up(what: Pack | Picture, reason: Exception) -> Done | None:
    if isinstance(what, Picture):
        return None
    told = f"{type(reason).__name__}: {' '.join(str(reason).split())[:150]}"
    size = size_word(what.sheet)
    return Done(what.name, what.sheet.design.name, size, "failed", None, told, 1)


def make_at_worker(what: Pack | Picture, store: Store, recycle: int) -> Done | None:
    """The task: what a worker's thread does, with a maker of its own that is kept for the next."""
    maker = getattr(_OWN, "maker", None)
    if maker is None:
        maker = _OWN.maker = Maker(recycle)
    if isinstance(what, Picture):
        make_picture(what, store, maker)
        return None
    return make_one(what, store, maker)
