"""The view of any CadQuery model on a page of its own: its parts, nothing of a bed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import cadquery as cq
import numpy as np

from bedmodel.errors import InputError
from bedmodel.exports.report.apart import Box, around
from bedmodel.exports.report.forms import Form, form_of, packed
from bedmodel.exports.report.page import model_html
from bedmodel.exports.report.words import counted, titled

Record = dict[str, Any]
WOOD = "#c2996b"
AWAY = 0.35  # share of a part's distance from the middle that it moves when taken apart


@dataclass(frozen=True)
class _Part:
    """One placed part; ``path`` from the model's own name to the part's."""

    path: tuple[str, ...]
    shape: cq.Shape
    place: tuple[float, ...]
    colour: str

    @property
    def group(self) -> str:
        return self.path[-2] if len(self.path) > 1 else self.path[0]


def any_model_html(thing: Any, title: str = "") -> bytes:
    """The page of an assembly, a workplane or a shape.

    Raises InputError for anything else, and for one that holds no faces.
    """
    parts = list(_parts(thing))
    if not parts:
        raise InputError("model", type(thing).__name__, "holds nothing to show", "give it a part")
    name = title or titled(parts[0].path[0])
    told = f"{counted(len(parts), 'part')}; sizes over all, in mm"
    return model_html(name, told, _data(parts))


def _parts(thing: Any) -> Iterator[_Part]:
    if isinstance(thing, cq.Assembly):
        for shape, path, place, colour in thing:
            if shape.Faces():
                solids = shape.Solids()
                # A workplane comes wrapped in a compound, each time in another.
                kept: cq.Shape = solids[0] if len(solids) == 1 else shape
                yield _Part(tuple(path.split("/")), kept, _matrix(place), _colour(colour))
        return
    shapes = thing.vals() if isinstance(thing, cq.Workplane) else [thing]
    found = [shape for shape in shapes if isinstance(shape, cq.Shape) and shape.Faces()]
    for number, shape in enumerate(found, start=1):
        name = "part" if len(found) == 1 else f"part_{number}"
        yield _Part(("model", name), shape, _matrix(cq.Location()), WOOD)


def _colour(colour: cq.Color | None) -> str:
    if colour is None:
        return WOOD
    red, green, blue = (round(255 * part) for part in colour.toTuple()[:3])
    return f"#{red:02x}{green:02x}{blue:02x}"


def _matrix(place: cq.Location) -> tuple[float, ...]:
    """A placement, column after column."""
    move = place.wrapped.Transformation()
    columns = [[move.Value(row, column) for row in (1, 2, 3)] for column in (1, 2, 3, 4)]
    ends = (0.0, 0.0, 0.0, 1.0)
    return tuple(
        round(value, 6) + 0.0
        for column, end in zip(columns, ends, strict=True)
        for value in (*column, end)
    )


def _data(parts: list[_Part]) -> Record:
    groups = list(dict.fromkeys(part.group for part in parts))
    kinds: list[_Part] = []
    kind_of = [_kind_number(part, kinds) for part in parts]
    forms = [form_of(kind.shape) for kind in kinds]
    boxes = [_box(forms[k], part.place) for k, part in zip(kind_of, parts, strict=True)]
    middle = around(boxes).middle
    return {
        "groups": [{"key": group, "title": titled(group)} for group in groups],
        "kinds": [_kind(kind, form) for kind, form in zip(kinds, forms, strict=True)],
        "pieces": [
            {
                "name": "/".join(part.path),
                "title": titled(part.path[-1]),
                "kind": kind,
                "group": part.group,
                "place": list(part.place),
                "apart": [
                    round(AWAY * (a - b), 1) + 0.0 for a, b in zip(box.middle, middle, strict=True)
                ],
            }
            for part, kind, box in zip(parts, kind_of, boxes, strict=True)
        ],
        "joints": [],
        "shows": {},
        "mattress": None,
    }


def _kind_number(part: _Part, kinds: list[_Part]) -> int:
    """Parts that are placements of one shape, in one colour, are of a kind."""
    for number, kind in enumerate(kinds):
        if kind.colour == part.colour and kind.shape.isSame(part.shape):
            return number
    kinds.append(part)
    return len(kinds) - 1


def _kind(part: _Part, form: Form) -> Record:
    box = part.shape.BoundingBox()
    size = (box.xlen, box.ylen, box.zlen)
    return {
        "name": part.path[-1],
        "title": titled(part.path[-1]),
        "size": " × ".join(f"{round(side, 1) + 0.0:g}" for side in size) + " mm",
        "stuff": "solid",
        "colour": part.colour,
        "metal": False,
        "mass": f"{part.shape.Volume() / 1000:.1f} cm³",
        "row": None,
        "item": part.path[-1],
        "boards": [],
        "marks": [],
        "notes": [],
        "files": [],
        "form": packed(form),
    }


def _box(form: Form, place: tuple[float, ...]) -> Box:
    turn = np.array(place).reshape(4, 4)
    at = form.corners @ turn[:3, :3] + turn[3, :3]
    low, high = ([float(c) for c in end] for end in (at.min(axis=0), at.max(axis=0)))
    return Box((low[0], low[1], low[2]), (high[0], high[1], high[2]))
