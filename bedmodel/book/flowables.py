"""Words, tables and pictures that draw nothing while the pages are only counted."""

from __future__ import annotations

import io
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Image, LongTable, Paragraph


class Counting(Canvas):  # type: ignore[misc]
    """Stands in for the book while it is laid out for the first time, to count its pages."""


class Words(Paragraph):  # type: ignore[misc]
    """A paragraph."""

    def draw(self) -> None:
        if not isinstance(self.canv, Counting):
            super().draw()


class Rows(LongTable):  # type: ignore[misc]
    """A table that breaks over pages."""

    def draw(self) -> None:
        if not isinstance(self.canv, Counting):
            super().draw()


class Shown(Image):  # type: ignore[misc]
    """A picture from the bytes of its file, so wide and so high (points)."""

    def __init__(self, data: bytes, width: float, height: float) -> None:
        super().__init__(io.BytesIO(data), width=width, height=height)

    def draw(self) -> Any:
        if not isinstance(self.canv, Counting):
            super().draw()
