"""Setting cards: what a jig is for, how it is set, and what to beware of, as short text."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

WIDE = 92  # letters in a line of a card
_INDENT = 14  # letters before a row's value

ROUTER_CAUTIONS = (
    "unplug the router before you change bits or reach near the cutter",
    "feed against the cutter's rotation, in passes of 6 mm (1/4 in) or less; never climb-cut by "
    "hand; eyes, ears and dust mask",
)
SAW_CAUTIONS = (
    "unplug the saw to set the blade; riving knife in, its guard on; eyes, ears and dust mask",
    "keep both hands behind the hold-downs, never over the saw line; wait for the blade to stop "
    "before you take the leg off",
)


@dataclass(frozen=True)
class Card:
    """One setting card: rows of a name and a value, then cautions."""

    name: str
    title: str
    rows: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]

    def text(self) -> str:
        """The card as plain lines, each at most ``WIDE`` letters."""
        lines = [self.title, "-" * len(self.title)]
        for name, value in self.rows:
            lines += textwrap.wrap(
                f"{name:<{_INDENT - 1}} {value}",
                WIDE,
                subsequent_indent=" " * _INDENT,
                break_long_words=False,
                drop_whitespace=True,
            )
        for caution in self.cautions:
            lines += textwrap.wrap(f"CAUTION: {caution}", WIDE, subsequent_indent="  ")
        return "\n".join(lines) + "\n"

    def record(self) -> dict[str, Any]:
        """The card as data for ``cards.json``."""
        return {
            "name": self.name,
            "title": self.title,
            "settings": dict(self.rows),
            "cautions": list(self.cautions),
        }
