"""Measure text and make it fit: the one font of all sheets, upright and bold.

Sizes are in points, widths in mm. The font is the one that reportlab brings with it, free
to be embedded in any document; it is measured without a sheet being written.
"""

from __future__ import annotations

import functools
import unicodedata
from typing import Any

MM_PER_POINT = 25.4 / 72
# Share of the size that the font's tallest letters stand above the base line and its
# deepest hang below it, read from its outlines.
ASCENT, DESCENT = 0.78, 0.24
REGULAR, BOLD = "BedmodelSans", "BedmodelSans-Bold"
FAMILY = "'DejaVu Sans', Verdana, Geneva, sans-serif"
ELLIPSIS = "\u2026"
_FILES = {REGULAR: "Vera.ttf", BOLD: "VeraBd.ttf"}
_LONGEST = 400  # characters of one line that are looked at
_STEP = 0.5  # points


def font_name(bold: bool) -> str:
    return BOLD if bold else REGULAR


@functools.cache
def load_fonts() -> None:
    """Tell reportlab the fonts, and to write plain bytes, once."""
    from reportlab import rl_config
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    for name, file in _FILES.items():
        registerFont(TTFont(name, file))
    # Its other way is a quarter longer, and slow to write.
    rl_config.useA85 = 0


@functools.cache
def _face(bold: bool) -> Any:
    from reportlab.pdfbase.pdfmetrics import getFont

    load_fonts()
    return getFont(font_name(bold)).face


@functools.lru_cache(maxsize=4096)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """The advance of a text (mm)."""
    face = _face(bold)
    widths, default = face.charWidths, face.defaultWidth
    total: float = sum(widths.get(ord(c), default) for c in text)
    return total / 1000 * size * MM_PER_POINT


@functools.lru_cache(maxsize=1024)
def drawable(text: str) -> str:
    """The text on one line, in letters that the font has; "?" for those it lacks.

    Marks that turn the direction of writing, line breaks and the like become blanks.
    """
    glyphs = _face(False).charToGlyph
    found = []
    for c in text[:_LONGEST]:
        if not c.isprintable():
            found.append(" ")
        elif ord(c) in glyphs:
            found.append(c)
        elif not unicodedata.combining(c):
            base = unicodedata.normalize("NFKD", c)[0]
            found.append(base if ord(base) in glyphs else "?")
    return " ".join("".join(found).split())


def fitted(
    text: str, width: float, size: float, least: float | None = None, bold: bool = False
) -> tuple[str, float]:
    """The text and the size in which it fits: smaller down to ``least``, then cut short."""
    text = drawable(text)
    least = size if least is None else min(least, size)
    while text_width(text, size, bold) > width:
        if size - _STEP < least:
            return _cut_short(text, width, size, bold), size
        size -= _STEP
    return text, size


def _cut_short(text: str, width: float, size: float, bold: bool) -> str:
    while text and text_width(text.rstrip() + ELLIPSIS, size, bold) > width:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS if text else ""


def wrapped(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than ``width``; a word that is wider is cut short."""
    lines: list[str] = []
    for word in drawable(text).split():
        if lines and text_width(f"{lines[-1]} {word}", size, bold) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(fitted(word, width, size, bold=bold)[0])
    return lines
