"""Read a part back from its sheet in the DXF, as a maker would: by the numbers written there."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import ezdxf

from bedmodel.units import parse_length

SLOT = 20_000.0
LengthUnit = Any


@dataclass
class Row:
    """One line of the table of features."""

    code: str
    what: str
    count: int
    size: str
    deep: str


@dataclass
class SheetRead:
    """Everything written on one sheet: dimensions by what they measure, rows of its tables."""

    measures: list[tuple[str, str, str]] = field(default_factory=list)  # of, axis or kind, text
    texts: list[tuple[float, float, str]] = field(default_factory=list)
    # The same dimensions view by view, in the order in which the views were placed.
    views: list[list[tuple[str, str, str]]] = field(default_factory=list)
    nth: int = 0  # which of several tables of features is meant

    def part(self, first: int, stop: int, nth: int = 0) -> SheetRead:
        """What some of the views say, and the nth table of features."""
        views = self.views[first:stop]
        return SheetRead([m for view in views for m in view], self.texts, views, nth)

    def number(self, of: str, unit: LengthUnit) -> float:
        (text,) = {text for name, _, text in self.measures if name == of}
        return parse_length(text, unit)

    def running(self, unit: LengthUnit) -> dict[tuple[str, int], dict[str, list[float]]]:
        """For each place of a feature its running values along x and y of its view."""
        found: dict[tuple[str, int], dict[str, list[float]]] = {}
        for names, axis, text in self.measures:
            for name in names.split(", "):
                match = re.fullmatch(r"(\w+)\.(\d+) (near|far|middle)", name)
                if match and axis in ("x", "y"):
                    place = found.setdefault((match[1], int(match[2])), {})
                    place.setdefault(axis, []).append(parse_length(text, unit))
        return found

    def table(self, *headings: str, before: float = 12.0) -> list[list[str]]:
        """The rows under headings; ``before`` says how far left of the first their cells begin."""
        heads = [t for t in self.texts if t[2] == headings[0]]
        found = []
        for x0, y, _ in heads:
            line = sorted((x, t) for x, ty, t in self.texts if abs(ty - y) < 0.1 and x >= x0)
            named = [(x, t) for x, t in line if t in headings][: len(headings)]
            if [t for _, t in named] == list(headings):
                found.append(list(self._rows(y, [x for x, _ in named], before)))
        if len(found) <= self.nth:
            raise LookupError(f"no table with {headings}")
        return found[self.nth]

    def _rows(self, y: float, starts: list[float], before: float) -> Iterator[list[str]]:
        below = sorted({round(ty, 2) for _, ty, _ in self.texts if ty < y - 1}, reverse=True)
        left, last = starts[0] - before, y - 0.6
        for level in below:
            cells = sorted((x, t) for x, ty, t in self.texts if abs(ty - level) < 0.1)
            cells = [(x, t) for x, t in cells if left < x < starts[-1] + 30.0]
            if not cells or last - level < 0.2:  # the row of before, told by what stands beside it
                continue
            if last - level > 4.8:
                return
            last = level
            yield [t for _, t in cells]

    def features(self) -> list[Row]:
        """The table of features; notes that stand beside it are passed over."""
        rows = self.table("what", "no.", "size", "deep")
        named = [r for r in rows if re.fullmatch(r"[MGRPHST]\d*", r[0])]
        return [Row(r[0], r[1], int(r[2]), r[3], r[4]) for r in named]

    def points(self) -> list[list[str]]:
        """The table of the outline's points: number, along, across, how it goes on, its edge."""
        rows = self.table("along", "from the outer edge", "then", "edge", before=20.0)
        return list({r[0]: r[:5] for r in rows if r[0].isdigit()}.values())


def read_sheets(dxf: bytes) -> dict[str, SheetRead]:
    """Every layout of a drawing by its name without the number."""
    document = ezdxf.read(io.StringIO(dxf.decode("utf-8")))  # type: ignore[attr-defined]
    dimensions: dict[int, list[Any]] = {}
    for entity in document.modelspace().query("DIMENSION"):
        point = entity.dxf.defpoint
        dimensions.setdefault(round(point.x / SLOT), []).append(entity)
    sheets = {}
    for layout in document.layouts:
        if layout.name == "Model":
            continue
        sheet = sheets.setdefault(re.sub(r"^\d+_", "", layout.name), SheetRead())
        for text in layout.query("TEXT"):
            at = text.dxf.align_point if text.dxf.get("halign", 0) else text.dxf.insert
            sheet.texts.append((at.x, at.y, text.dxf.text))
        for port in layout.query("VIEWPORT"):
            if port.dxf.id == 1:
                continue
            there = dimensions.get(round(port.dxf.view_center_point[0] / SLOT), [])
            sheet.views.append([(name_of(e), axis_of(e), e.dxf.text) for e in there])
            sheet.measures += sheet.views[-1]
    return sheets


def name_of(dimension: Any) -> str:
    return str(dimension.get_xdata("BEDMODEL")[0].value)


def axis_of(dimension: Any) -> str:
    """x or y of a running dimension, else "" (of other kinds the name says enough)."""
    if dimension.dimtype != 6:
        return ""
    return "x" if dimension.dxf.dimtype & 64 else "y"
