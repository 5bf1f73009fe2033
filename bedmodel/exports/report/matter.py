"""What a report is made of: the bed and its proofs, gathered once for page and view."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bedmodel.assembly import Bed
from bedmodel.bed import Kind
from bedmodel.checks.finding import Result
from bedmodel.exports.report.apart import Box
from bedmodel.exports.report.forms import Form, form_of
from bedmodel.exports.report.meetings import Meeting, meetings
from bedmodel.exports.report.spots import Show, show_check, show_meeting, show_parts
from bedmodel.shop.setting_out import PartMarks, setting_out
from bedmodel.stock.cut_list import CutItem, CutList
from bedmodel.stock.sawing import RackPlan


@dataclass(frozen=True)
class Figure:
    """A drawing for a chapter: SVG text that stands by itself, and what it shows."""

    svg: str
    caption: str


@dataclass(frozen=True)
class Remark:
    """One line of a chapter: what was found, whether it is as it should be, and which pieces.

    ``passed`` is None for what is only told; ``parts`` may name pieces or kinds.
    """

    text: str
    passed: bool | None = None
    parts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Chapter:
    """A part of the report that is given from outside, as strength or movement of the wood."""

    key: str
    title: str
    lead: str = ""
    figures: tuple[Figure, ...] = ()
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True)
class Matter:
    """All that the report tells. ``picture`` is a WebP, PNG or JPEG; ``files`` are those beside
    the page.

    ``plan`` and ``chapters`` are left out of the page where they are not given; where there
    are no ``results``, ``unchecked`` says why, and an empty ``picture`` is left out.
    """

    bed: Bed
    results: Sequence[Result]
    cuts: CutList
    picture: bytes
    plan: RackPlan | None = None
    chapters: tuple[Chapter, ...] = ()
    files: frozenset[str] = field(default_factory=frozenset)
    unchecked: str = "not checked"
    made: Mapping[str, Form] | None = None

    @cached_property
    def forms(self) -> Mapping[str, Form]:
        """Each kind's facets and edges; those that were ``made`` before, where they were."""
        return self.made or {name: form_of(self.bed.solids[name]) for name in self.bed.kinds}

    @cached_property
    def boxes(self) -> Mapping[str, Box]:
        """The box round each piece in the bed frame, from its facets."""
        found = {}
        for piece in self.bed.pieces:
            place = piece.placement
            turned = self.forms[piece.kind.name].corners @ np.array([place.x, place.y, place.z])
            low, high = turned.min(axis=0), turned.max(axis=0)
            sides = [
                [float(a + o) for a, o in zip(e, place.origin, strict=True)] for e in (low, high)
            ]
            found[piece.name] = Box(*((s[0], s[1], s[2]) for s in sides))
        return found

    @cached_property
    def meetings(self) -> tuple[Meeting, ...]:
        return meetings(self.bed.layout, self.bed.pieces)

    @cached_property
    def sorts(self) -> dict[tuple[str, str], list[Meeting]]:
        """Joints that are alike, by what they are called and what is told of them."""
        rows: dict[tuple[str, str], list[Meeting]] = {}
        for meeting in self.meetings:
            rows.setdefault((meeting.title, meeting.told), []).append(meeting)
        return rows

    @cached_property
    def marks(self) -> Mapping[str, PartMarks]:
        """What is marked on each kind."""
        return {part.kind: part for part in setting_out(self.bed.layout, self.bed.pieces)}

    @cached_property
    def rows(self) -> Mapping[str, tuple[int, CutItem]]:
        """For each wooden kind its row of the cut list, counted from 1."""
        numbered = enumerate(self.cuts.items, start=1)
        return {kind: (number, item) for number, item in numbered for kind in item.kinds}

    @cached_property
    def shows(self) -> Mapping[str, Show]:
        """What the page can have lit up in the view, by the key of the row that asks for it."""
        found: dict[str, Show] = {}
        for result in self.results:
            code = int(result.code)
            found[f"check-{code}"] = show_check(result, self.bed, self.meetings)
            for i, finding in enumerate(result.findings):
                found[f"finding-{code}-{i}"] = self._parts(f"{code}: {result.title}", finding.parts)
            for i, caution in enumerate(result.cautions):
                found[f"caution-{code}-{i}"] = self._parts(f"{code}: {caution.told}", caution.parts)
        for i, ((title, _), row) in enumerate(self.sorts.items()):
            found[f"joint-{i}"] = show_meeting(title, row)
        for chapter in self.chapters:
            for i, remark in enumerate(chapter.remarks):
                if remark.parts:
                    found[f"{chapter.key}-{i}"] = self._parts(remark.text, remark.parts)
        return found

    def _parts(self, title: str, parts: Sequence[str]) -> Show:
        return show_parts(title, parts, self.bed, self.boxes)

    @property
    def failed(self) -> int:
        return sum(1 for result in self.results if not result.passed)

    @property
    def tested(self) -> int:
        """Checks that had something to test."""
        return sum(1 for result in self.results if result.tested)

    def files_of(self, kind: Kind) -> list[tuple[str, str]]:
        """What lies beside the page for one kind: path and what it is."""
        name = kind.name
        wanted = (
            (f"model/parts/{name}.step", "STEP"),
            (f"model/stl/{name}.stl", "STL"),
            (f"templates/{name}_mm.dxf", "template, DXF"),
            (f"templates/{name}_legend.txt", "template's legend"),
        )
        return [(path, what) for path, what in wanted if path in self.files]
