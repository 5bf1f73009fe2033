"""Make the page of a sheet in two steps: the view at once, checks and reckoning after it.

Solids and facets come from the kept ones where a part's shape is the same as before, so a change
of one length makes only the parts that it touches.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

import numpy as np

from bedmodel.assembly import Bed
from bedmodel.bed import Kind
from bedmodel.checks.finding import Result
from bedmodel.checks.probe import Probe
from bedmodel.checks.run import CHECKS
from bedmodel.exports.report.forms import Form, form_of
from bedmodel.exports.report.matter import Matter
from bedmodel.exports.report.reckoning import movement_chapter, strength_chapter
from bedmodel.part_cache import Kept, PartFolder, kept_solids, solids_of
from bedmodel.pieces import make_pieces
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.stock.cut_list import cut_list
from bedmodel.strength.answer import strength

RUNNING = "checks are running"


@dataclass
class Stages:
    """Processor time of each stage (s), in order."""

    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        start = time.process_time()
        try:
            yield
        finally:
            self.seconds[name] = self.seconds.get(name, 0.0) + time.process_time() - start

    def __str__(self) -> str:
        return ", ".join(f"{name} {seconds:.2f}" for name, seconds in self.seconds.items())


@dataclass(frozen=True)
class Seen:
    """A bed ready to be looked at, and how many kinds were made anew of how many."""

    matter: Matter
    made: int

    @property
    def bed(self) -> Bed:
        return self.matter.bed


class Rebuilder:
    """Makes beds, and remembers the parts of those before."""

    def __init__(self, folder: PartFolder | None, shop: ShopProfile) -> None:
        self._folder, self._shop = folder, shop
        self._solids = kept_solids(folder)
        self._forms: Kept[Form] = Kept("form", form_bytes, form_from, folder)

    def view(self, layout: Layout, stages: Stages) -> Seen:
        """The bed with its facets, not yet checked.

        Raises InputError for what the shop cannot make, SolidFailed for a part that cannot be.
        """
        with stages.stage("parts"):
            pieces = make_pieces(layout)
        before = self._solids.made
        with stages.stage("solids"):
            bed = Bed(layout, pieces, solids_of(pieces, self._solids))
        with stages.stage("facets"):
            forms = self._forms.of(bed.kinds, lambda missing: _forms(bed, missing))
        with stages.stage("lists"):
            cuts = cut_list(bed.pieces, self._shop, layout.sheet.design.unit)
            matter = Matter(bed, (), cuts, b"", unchecked=RUNNING, made=forms)
        return Seen(matter, self._solids.made - before)

    def checked(
        self, seen: Seen, stages: Stages, stop: Callable[[], bool] = lambda: False
    ) -> Matter | None:
        """The same with checks, strength and movement; None when ``stop`` says so in between."""
        bed, results = seen.bed, list[Result]()
        probe = Probe(bed)
        for check in CHECKS:
            if stop():
                return None
            with stages.stage("checks"):
                results += check(probe)
        if stop():
            return None
        with stages.stage("strength"):
            found = strength(bed.layout)
            chapters = (strength_chapter(bed, found), movement_chapter(bed))
        ordered = sorted(results, key=lambda result: result.code)
        return replace(seen.matter, results=tuple(ordered), chapters=chapters)

    def tidy(self) -> None:
        """Keep the folder of parts within its size."""
        if self._folder is not None:
            self._folder.trim()


def _forms(bed: Bed, kinds: Mapping[str, Kind]) -> dict[str, Form]:
    return {name: form_of(bed.solids[name]) for name in kinds}


# --- facets as bytes -----------------------------------------------------------------------

_TABLES = ("corners", "normals", "triangles", "edges", "soft")


def form_bytes(form: Form) -> bytes:
    """Facets and edges of a part as an archive of their tables."""
    held = io.BytesIO()
    np.savez(held, allow_pickle=False, **{name: getattr(form, name) for name in _TABLES})
    return held.getvalue()


def form_from(data: bytes) -> Form | None:
    """The facets again; None where the bytes hold none."""
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as found:
            return Form(*(found[name] for name in _TABLES))
    except Exception:  # an archive can be broken in many ways
        return None
