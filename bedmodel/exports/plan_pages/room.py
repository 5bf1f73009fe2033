"""Keep the words of a drawing apart: boxes that are taken, and places that are free."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from bedmodel.exports.paper.sheet import Box, Mark, Text
from bedmodel.exports.paper.type import ASCENT, DESCENT, MM_PER_POINT, drawable, text_width

CLEAR = 0.4  # mm between two words, or a word and a line
SIZES = (14.0, 12.0, 11.0, 10.0, 9.0)
_STEP = 1.0
_LEADING = 1.05


@dataclass
class Taken:
    """The boxes of one drawing that nothing more may be written on."""

    boxes: list[Box] = field(default_factory=list)

    def free(self, box: Box) -> bool:
        return not any(box.meets(each, CLEAR) for each in self.boxes)

    def take(self, box: Box) -> Box:
        self.boxes.append(box)
        return box


@dataclass(frozen=True)
class Words:
    """Lines of words as runs of (text, bold), to be set in a place together."""

    lines: tuple[tuple[tuple[str, bool], ...], ...]

    def width(self, size: float) -> float:
        return max(_line_width(runs, size) for runs in self.lines)

    def height(self, size: float) -> float:
        pitch = (ASCENT + DESCENT) * _LEADING * size * MM_PER_POINT
        return (len(self.lines) - 1) * pitch + (ASCENT + DESCENT) * size * MM_PER_POINT


def _line_width(runs: Sequence[tuple[str, bool]], size: float) -> float:
    gaps = (len(runs) - 1) * _blank(size)
    return sum(text_width(drawable(text), size, bold) for text, bold in runs) + gaps


def _blank(size: float) -> float:
    return 0.7 * size * MM_PER_POINT


def set_words(
    choices: Sequence[Words],
    place: Box,
    taken: Taken,
    role: str,
    colour: str,
    sizes: Sequence[float] = SIZES,
) -> list[Mark]:
    """Set the first choice that has room in a place, as large as it has; else nothing.

    The middle of the place is tried first.
    """
    inner = Box(place.x0 + CLEAR, place.y0 + 0.15, place.x1 - CLEAR, place.y1 - 0.15)
    for words in choices:
        for size in sizes:
            box = _find(words.width(size), words.height(size), inner, taken)
            if box is not None:
                taken.take(box)
                return list(_set(words, box, size, role, colour))
    return []


def _find(width: float, height: float, place: Box, taken: Taken) -> Box | None:
    if width > place.width or height > place.height:
        return None
    for y in _middle_out(place.y0, place.y1 - height):
        for x in _middle_out(place.x0, place.x1 - width):
            box = Box(x, y, x + width, y + height)
            if taken.free(box):
                return box
    return None


def _middle_out(low: float, high: float) -> Iterator[float]:
    middle, reach = (low + high) / 2, (high - low) / 2
    yield middle
    for k in range(1, int(reach / _STEP) + 1):
        yield middle - k * _STEP
        yield middle + k * _STEP


def _set(words: Words, box: Box, size: float, role: str, colour: str) -> Iterator[Text]:
    pitch = (ASCENT + DESCENT) * _LEADING * size * MM_PER_POINT
    y = box.y1 - ASCENT * size * MM_PER_POINT
    for runs in words.lines:
        x = box.x0 + (box.width - _line_width(runs, size)) / 2
        for text, bold in runs:
            text = drawable(text)
            yield Text(text, (x, y), size, bold, colour=colour, role=role)
            x += text_width(text, size, bold) + _blank(size)
        y -= pitch
