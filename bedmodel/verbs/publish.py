"""``bedmodel publish``: the packs of many sheets and sizes, and a page that shows them all."""

from __future__ import annotations

import argparse
import json
import re
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bedmodel.build_groups import groups_of
from bedmodel.errors import InputError
from bedmodel.verbs.asked import asked_beds, asked_workshop
from bedmodel.verbs.terminal import Progress, on_terminal, verdict

if TYPE_CHECKING:
    from bedmodel.publishing.cluster import Certificates
    from bedmodel.publishing.index_page import Design
    from bedmodel.publishing.pack import Done, Pack, Picture
    from bedmodel.publishing.store import Store

MOST_JOBS = 256
PICTURES = "pictures"


@dataclass(frozen=True)
class Plan:
    """What is to be made: packs in the order asked for, and what is refused already."""

    packs: tuple[Pack, ...]
    refused: tuple[Done, ...]
    order: tuple[str, ...]
    designs: tuple[Design, ...]
    pictures: tuple[Picture, ...]


def run(arguments: argparse.Namespace) -> int:
    """Publish; 0 when every pack was made and passed, 1 when one failed or was refused.

    Raises InputError or MissingLibrary before any work; WriteError for the page itself.
    """
    from bedmodel.publishing.crew import usual_jobs
    from bedmodel.publishing.store import store_of

    _check_counts(arguments)
    certificates = _certificates(arguments)
    say = Progress()
    say("reading the sheets")
    plan = _planned(arguments)
    store = store_of(arguments.out)
    start = time.perf_counter()
    jobs = arguments.jobs or usual_jobs()
    done: dict[str, Done] = {each.name: each for each in plan.refused}
    line = _Account(say, len(plan.packs), quiet=arguments.json)
    try:
        for each in _made(arguments, plan, store, jobs, certificates, line):
            done[each.name] = each
            line(each)
        say("drawing the page")
        designs = _with_packs(plan, done, store)
        _write_pages(arguments.title or "Beds", designs, store)
        _clear_pictures(plan, store)
    except KeyboardInterrupt:
        say.done()
        again = "the packs made so far are whole and are kept; run the same command to go on"
        print(f"bedmodel: stopped; {again}", file=sys.stderr)
        return 130
    say.done()
    _tell(arguments, designs, store, time.perf_counter() - start)
    return _exit_code(list(done.values()))


def _check_counts(arguments: argparse.Namespace) -> None:
    if arguments.jobs is not None and not 1 <= arguments.jobs <= MOST_JOBS:
        raise InputError("--jobs", arguments.jobs, f"must be a whole number of 1 to {MOST_JOBS}")
    if arguments.jobs is not None and arguments.scheduler is not None:
        remedy = "the workers of the scheduler decide how many"
        raise InputError("--jobs", arguments.jobs, "does not go with --scheduler", remedy)
    if not 1 <= arguments.recycle <= 10_000:
        raise InputError("--recycle", arguments.recycle, "must be a whole number of 1 to 10000")


def _certificates(arguments: argparse.Namespace) -> Certificates | None:
    from pathlib import Path

    from bedmodel.publishing.cluster import Certificates

    given = {name: getattr(arguments, f"tls_{name}") for name in ("ca", "cert", "key")}
    if not any(given.values()):
        return None
    if arguments.scheduler is None:
        raise InputError("--tls-ca", given["ca"], "goes with --scheduler tls://... only")
    for name, file in given.items():
        if file is None or not Path(file).is_file():
            allowed = "must be a file" if file else "must be given with the other two"
            raise InputError(f"--tls-{name}", file, allowed, "--tls-ca, --tls-cert and --tls-key")
    return Certificates(given["ca"], given["cert"], given["key"])


def _planned(arguments: argparse.Namespace) -> Plan:
    """Lay out every bed asked for. Raises InputError for bad input, or where no bed is left."""
    from bedmodel.program import program_stamp
    from bedmodel.publishing.index_page import Design
    from bedmodel.publishing.pack import Done, Pack, Picture
    from bedmodel.sheets import example_sheets, folder_name
    from bedmodel.skeleton import lay_out

    only = groups_of(arguments.only)
    workshop = asked_workshop(arguments.shop, arguments.rack)
    stamp = program_stamp()
    packs: list[Pack] = []
    refused: list[Done] = []
    order: list[str] = []
    designs: list[Design] = []
    pictures: list[Picture] = []
    for given in arguments.sheets or [path.stem for path in example_sheets()]:
        beds = asked_beds([given], arguments.size, arguments.mattress, arguments.changes)
        name = beds[0].sheet.design.name
        if any(design.name == name for design in designs):
            allowed = f"has the design.name {name} of another sheet, so their packs would clash"
            raise InputError("SHEET", given, allowed, "give it a design.name of its own")
        designs.append(Design(name, beds[0].sheet.design.title))
        drawn = False
        for bed in beds:
            order.append(folder_name(bed.sheet))
            try:
                lay_out(bed.sheet)
            except InputError as reason:
                refused.append(Done(order[-1], name, bed.size, "refused", None, str(reason)))
                continue
            packs.append(Pack(bed.sheet, workshop, only, arguments.zip, stamp))
            if not drawn:
                pictures.append(Picture(bed.sheet, stamp))
            drawn = True
    if not packs:
        first = refused[0]
        raise InputError(first.name, None, f"every bed asked for is refused: {first.problem}")
    return Plan(tuple(packs), tuple(refused), tuple(order), tuple(designs), tuple(pictures))


def _made(
    arguments: argparse.Namespace,
    plan: Plan,
    store: Store,
    jobs: int,
    certificates: Certificates | None,
    line: _Account,
) -> Iterator[Done]:
    """What is there already, then what is made; pictures come last."""
    from bedmodel.publishing import cluster
    from bedmodel.publishing.crew import Crew, kept_of

    todo = []
    for pack, found in kept_of(plan.packs, store, verify=arguments.verify):
        if found is None:
            todo.append(pack)
        else:
            yield found
    line.begin(len(todo), 0 if arguments.scheduler else jobs)
    wanted = [picture for picture in plan.pictures if not store.has(picture.path)]
    if not todo and not wanted:
        return
    if arguments.scheduler is not None:
        recycle = arguments.recycle
        yield from cluster.make_packs(
            todo, wanted, store, arguments.scheduler, recycle, certificates
        )
        return
    with Crew(max(1, min(jobs, max(len(todo), len(wanted)))), arguments.recycle) as crew:
        yield from crew.make(todo, store)
        line.say("drawing the pictures")
        crew.draw(wanted, store)


def _with_packs(plan: Plan, done: dict[str, Done], store: Store) -> list[Design]:
    """Each design with its picture and its packs, in the order they were asked for."""
    designs = {design.name: design for design in plan.designs}
    for picture in plan.pictures:
        design = designs[picture.sheet.design.name]
        design.picture = store.read(picture.path) if store.has(picture.path) else b""
    for name in plan.order:
        designs[done[name].sheet].packs.append(done[name])
    return list(designs.values())


def _write_pages(title: str, designs: Sequence[Design], store: Store) -> None:
    from bedmodel.exports.json_text import json_bytes
    from bedmodel.publishing.index_page import CATALOGUE, INDEX, catalogue, pages

    store.write(CATALOGUE, json_bytes(catalogue(designs)))
    found = pages(title, designs)
    for name in sorted(found, key=lambda name: name == INDEX):
        store.write(name, found[name])


def _clear_pictures(plan: Plan, store: Store) -> None:
    """Take away pictures of these designs as they were before."""
    names = "|".join(re.escape(design.name) for design in plan.designs)
    wanted = {picture.path for picture in plan.pictures}
    for name in store.names(PICTURES):
        path = f"{PICTURES}/{name}"
        if re.fullmatch(rf"(?:{names})-[0-9a-f]{{12}}\.jpg", name) and path not in wanted:
            store.remove(path)


class _Account:
    """A line for each finished pack, and one below that says how far it is."""

    def __init__(self, say: Progress, total: int, *, quiet: bool) -> None:
        self.say, self._total, self._quiet = say, total, quiet
        self._kept = self._made = self._bad = self._todo = 0
        self._start = time.perf_counter()

    def begin(self, todo: int, jobs: int) -> None:
        """So many are to be made now."""
        self._todo, self._start = todo, time.perf_counter()
        if self._kept and not self._quiet:
            self.say.done()
            print(f"{self._kept} of {self._total} packs are there already", flush=True)
        where = f"{jobs} at a time" if jobs else "by the scheduler's workers"
        self.say(f"making {todo} packs, {where}")

    def __call__(self, done: Done) -> None:
        if done.state == "kept" and not self._todo:
            self._kept += 1
            return
        self._made += 1
        self._bad += not done.passed
        if not self._quiet:
            self.say.done()
            print(on_terminal(_line(done), "  "), flush=True)
        left = self._todo - self._made
        spent = time.perf_counter() - self._start
        failed = f", {self._bad} failed" if self._bad else ""
        self.say(
            f"{self._made} of {self._todo} packs{failed}, about "
            f"{_lasting(spent / self._made * left)} left"
        )


def _line(done: Done) -> str:
    if done.record is None:
        return f"{done.name}: not made: {done.problem}"
    told = done.record["pack"]
    cost = "no price" if told["cost"] is None else f"{told['cost']:.2f}"
    size = done.record["bytes"] / 1e6
    return (
        f"{done.name}: {verdict(done.passed)}, {told['mass_kg']:.1f} kg, lumber {cost}, "
        f"{len(done.record['files']) + 1} files of {size:.1f} MB, {done.seconds:.1f} s of processor"
    )


def _lasting(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    if seconds < 5400:
        return f"{seconds / 60:.0f} min"
    return f"{seconds / 3600:.1f} h"


def _tell(
    arguments: argparse.Namespace, designs: Sequence[Design], store: Store, seconds: float
) -> None:
    from bedmodel.publishing.index_page import INDEX, catalogue

    if arguments.json:
        print(json.dumps(catalogue(designs), indent=1, ensure_ascii=False))
        return
    every = [done for design in designs for done in design.packs]
    for done in every:
        if done.state == "refused":
            print(on_terminal(f"{done.name}: refused: {done.problem}", "  "))
    made = [done for done in every if done.record is not None]
    bad = [done for done in made if not done.passed]
    kept = sum(done.state == "kept" for done in every)
    told = f"{len(made)} packs in {store.address}, {kept} of them kept"
    if bad:
        told += f"; {len(bad)} failed a check"
    if len(made) < len(every):
        told += f"; {len(every) - len(made)} not made"
    print(f"\n{told}; took {_lasting(seconds)}\nopen {store.address}/{INDEX}")


def _exit_code(every: Sequence[Done]) -> int:
    if any(each.exit_code == 3 for each in every):
        return 3
    return 0 if all(each.passed for each in every) else 1
