"""The numbered steps, each with its picture, settings, jigs and cautions."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import CondPageBreak, KeepTogether, Spacer

from bedmodel.book.contents import Contents
from bedmodel.book.document import Drawn, Story, heading
from bedmodel.book.lists import spoken
from bedmodel.book.style import POINTS, paragraph, text_width_of
from bedmodel.shop.steps import Step

_ROOMS = {"bedroom", "shop"}
_ROOM = 60.0  # mm a step wants before it begins at the foot of a page


def steps(book: Contents) -> Story:
    """From rough wood to the hung bed."""
    story: Story = [
        *heading("Step by step"),
        paragraph(
            "Read all steps once before the first cut. The parts of a step are drawn dark, what is "
            "already there pale.",
            "lead",
        ),
    ]
    for number, step in enumerate(book.steps, start=1):
        picture = book.step_pictures.get(number)
        told = _step(book, number, step)
        if picture:
            drawn = Drawn(picture, text_width_of(book.paper))
            story.append(KeepTogether([*told, Spacer(1, 4), drawn]))
        else:
            story += [CondPageBreak(_ROOM * POINTS), *told]
        story.append(Spacer(1, 14))
    return story


def _step(book: Contents, number: int, step: Step) -> list[Any]:
    found = [paragraph(f"{number}  {step.title}", "step")]
    where = f"{'in' if step.place in _ROOMS else 'at'} the {step.place}"
    told = ": ".join((where, *([", ".join(map(spoken, step.parts))] if step.parts else [])))
    found.append(paragraph(told, "lead"))
    found += [paragraph(_sentence(text), "item", "\u2022") for text in step.does]
    if step.settings:
        found.append(paragraph("Settings", "head"))
        found += [paragraph(spoken(text), "item", "\u2013") for text in step.settings]
    if step.jigs:
        found.append(paragraph(f"Jigs: {', '.join(step.jigs)}"))
    found += [paragraph(_sentence(text), "caution", "!") for text in step.cautions]
    return found


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
