"""A sheet before it is written: figures in their places, and what is drawn on the paper itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bedmodel.drawing.curves import Point
from bedmodel.drawing.figure import Figure
from bedmodel.exports.paper.sheet import Box, Mark, Paper, Text


@dataclass(frozen=True)
class Placed:
    """A figure, and where its origin lies on the paper (mm from the lower left corner)."""

    figure: Figure
    at: Point

    @property
    def box(self) -> Box:
        return moved(self.figure.box, self.at)

    @property
    def texts(self) -> Iterator[Box]:
        for text in self.figure.texts:
            yield moved(text.box, self.at)


@dataclass(frozen=True)
class Page:
    """One sheet; ``marks`` have the name of their layer as role, words none.

    ``scale`` is what its title block states.
    """

    name: str
    title: str
    paper: Paper
    placed: tuple[Placed, ...]
    marks: tuple[Mark, ...]
    scale: str = ""

    @property
    def words(self) -> Iterator[Text]:
        for mark in self.marks:
            if isinstance(mark, Text):
                yield mark


def moved(box: Box, by: Point) -> Box:
    return Box(box.x0 + by[0], box.y0 + by[1], box.x1 + by[0], box.y1 + by[1])
